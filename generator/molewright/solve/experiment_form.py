"""A described experiment comes in as fields of a form, operation by operation; its YAML goes out, and fields from YAML again.

A form shows what is usually told of an operation; whatever else its YAML tells is kept beside it. Works nothing out.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from molewright.bank.readers.operations import MOST_OPERATIONS, WORDS
from molewright.bank.readers.teachers_words import usual_word
from molewright.errors import Mistake, Where, shortened
from molewright.reading.fields import text_of
from molewright.reading.quoting import flow_text, listed, quoted
from molewright.reading.yaml_text import Branch, Keys, Listing, Scalar, parse_tree

_TOLD: Mapping[str, tuple[str, ...]] = {
    "weigh": ("sample", "contains", "mass", "percentage"),
    "dissolve": ("in",),
    "measure": ("solution", "volume", "concentration"),
    "add excess": ("solution", "volume", "concentration"),
    "add": ("what",),
    "warm": ("to",),
    "react": ("reaction", "excess"),
    "come to equilibrium": ("reaction", "followed", "constant"),
    "boil off": ("species",),
    "filter off": ("species",),
    "drive over": ("species", "into"),
    "collect gas": ("species", "volume", "molar volume"),
    "lead in": ("species", "volume", "molar volume"),
    "make up": ("volume",),
    "take aliquot": ("volume",),
    "dilute": ("solution", "volume", "concentration", "to"),
    "titrate": ("with", "concentration", "titre", "readings", "reaction", "indicators"),
    "tell strength": ("solution", "made in", "concentration"),
    "tell part": ("solution", "of", "without"),
    "read pH": ("vessel", "pH"),
    "tell solubility product": ("of",),
}
USUALLY_TOLD: Mapping[str, tuple[str, ...]] = {word: _TOLD.get(word, ()) for word in WORDS}
"""What a form asks of each operation, beside anything else; of one that is new here nothing yet."""
HEAD = ("experiment", "asked", "unit", "figures")
_SEVERAL = ("contains", "gives", "reaction", "readings", "indicators")  # keys under which commas part several texts
_WHERE = Where("the description")
_OPEN, _SHUT = "[{(", "]})"
_PARTING = ',;"[]{}()'


@dataclass(frozen=True, slots=True, kw_only=True)
class FormOperation:
    """One operation: its word, the text of each field, and what else is told of it, as `key: text` parted by commas."""

    word: str
    told: tuple[tuple[str, str], ...]
    more: str = ""

    def field(self, key: str) -> str:
        """The text of a field, "" where nothing is told."""
        return dict(self.told).get(key, "")


@dataclass(frozen=True, slots=True, kw_only=True)
class ExperimentForm:
    """A described experiment: what its head tells, its operations, and lines of YAML that no field shows."""

    head: tuple[tuple[str, str], ...] = ()
    operations: tuple[FormOperation, ...] = ()
    rest: str = ""

    def field(self, key: str) -> str:
        """What the head tells, "" where it tells nothing."""
        return dict(self.head).get(key, "")


def with_operation(form: ExperimentForm, word: str) -> ExperimentForm:
    """The form with one operation more at its end. Raises Mistake for a word that is none."""
    if word not in WORDS:
        raise Mistake(f"no operation {shortened(word)}", expected=f"one of: {', '.join(WORDS)}")
    if len(form.operations) >= MOST_OPERATIONS:
        raise Mistake(f"{len(form.operations) + 1} operations", expected=f"at most {MOST_OPERATIONS}")
    return replace(form, operations=(*form.operations, FormOperation(word=word, told=())))


def without_operation(form: ExperimentForm, at: int) -> ExperimentForm:
    """The form without one of its operations, counted from 0."""
    return replace(form, operations=(*form.operations[:at], *form.operations[at + 1 :]))


def raised(form: ExperimentForm, at: int) -> ExperimentForm:
    """The form with one of its operations a place further up."""
    if not 0 < at < len(form.operations):
        return form
    held = list(form.operations)
    held[at - 1 : at + 1] = held[at], held[at - 1]
    return replace(form, operations=tuple(held))


def as_yaml(form: ExperimentForm) -> str:
    """The YAML of a form, as `molewright solve` reads it. Raises Mistake for what is written in brackets and is no YAML."""
    lines = [f"{key}: {quoted(text.strip())}" for key, text in form.head if text.strip() and key != "asked"]
    lines.append("procedure:" if form.operations else "procedure: []")
    lines += [f"  - {one.word}: {{{', '.join(_told(one))}}}" for one in form.operations]
    lines += [f"asked: {quoted(text.strip())}" for key, text in form.head if text.strip() and key == "asked"]
    return "\n".join([*lines, *(line for line in form.rest.splitlines() if line.strip())]) + "\n"


def _told(one: FormOperation) -> Iterator[str]:
    for key, text in one.told:
        if text.strip():
            yield f"{quoted(key)}: {_value(key, text.strip())}"
    for text in _parted(one.more):
        key, colon, held = text.partition(":")
        if not colon or not key.strip():
            raise Mistake(f"{shortened(text)} beside '{one.word}'", expected="'key: text', several parted by commas")
        yield f"{quoted(key.strip())}: {_value(key.strip(), held.strip())}"


def _value(key: str, text: str) -> str:
    """A text as YAML on one line: in brackets or quotation marks it is YAML already; commas part a list where the key has several."""
    if text[:1] in ("[", "{", '"'):
        return flow_text(parse_tree(text, _WHERE.file))
    several = _parted(text) if key in _SEVERAL else [text]
    return listed(several) if len(several) > 1 else quoted(" ".join(text.split()))


def _parted(text: str) -> list[str]:
    """The pieces between commas that stand in no bracket and in no quotation marks."""
    pieces, deep, told = [""], 0, False
    for sign in text:
        told ^= sign == '"'
        deep += 0 if told else (sign in _OPEN) - (sign in _SHUT)
        if sign in ",;\n" and deep <= 0 and not told:
            pieces.append("")
        else:
            pieces[-1] += sign
    return [piece.strip() for piece in pieces if piece.strip()]


def from_yaml(text: str) -> ExperimentForm:
    """The form of a description. Raises Mistake, with its line, for what is no YAML or no list of operations."""
    tree = parse_tree(text, _WHERE.file)
    if not isinstance(tree, Keys):
        raise Mistake(
            "this is no description", expected="lines of 'key: text', one of them 'procedure:'", where=tree.where
        )
    procedure = tree.members.get("procedure")
    if procedure is not None and not isinstance(procedure, Listing):
        raise Mistake("the procedure is not a list", expected="lines of '- weigh: {...}'", where=procedure.where)
    rest = {key: held for key, held in tree.items() if key not in (*HEAD, "procedure")}
    return ExperimentForm(
        head=tuple((key, _plain(tree.members[key])) for key in HEAD if key in tree.members),
        operations=tuple(map(_operation, procedure.members if procedure is not None else ())),
        rest="\n".join(f"{quoted(key)}: {flow_text(held)}" for key, held in rest.items()),
    )


def _operation(member: Branch) -> FormOperation:
    if isinstance(member, Scalar):
        return FormOperation(word=usual_word(text_of(member)), told=())
    if not isinstance(member, Keys) or len(member.members) != 1:
        raise Mistake(
            "an operation is one word with its keys", expected="'- weigh: {sample: ..., mass: ...}'", where=member.where
        )
    word, held = next(iter(member.members.items()))
    word = usual_word(word, held)
    usual = USUALLY_TOLD.get(word, ())
    if not isinstance(held, Keys):
        return FormOperation(word=word, told=((usual[0], _plain(held)),) if usual else ())
    return FormOperation(
        word=word,
        told=tuple((key, _plain(one)) for key, one in held.items() if key in usual),
        more=", ".join(f"{key}: {_beside(one)}" for key, one in held.items() if key not in usual),
    )


def _beside(branch: Branch) -> str:
    """A text as it is typed after its key: bare, unless a sign in it would part it."""
    told = text_of(branch) if isinstance(branch, Scalar) else ""
    return told if told and not set(told) & set(_PARTING) else flow_text(branch)


def _plain(branch: Branch) -> str:
    """A text as it is typed: a list of texts parted by commas, anything deeper in brackets."""
    match branch:
        case Scalar():
            return text_of(branch)
        case Listing(members=members) if all(isinstance(one, Scalar) for one in members):
            return ", ".join(map(_plain, members))
        case _:
            return flow_text(branch)
