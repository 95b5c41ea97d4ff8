"""Lines as a teacher types them come in; what a gas is driven into, and what only says what something becomes, go out as usual."""

from __future__ import annotations

from collections.abc import Callable, Container, Sequence
from itertools import pairwise

from molewright.bank.readers.forms import Forms
from molewright.bank.readers.operation_lines import line_of, parted, renamed, text_under, with_texts
from molewright.bank.readers.teachers_formulae import TeachersFormulae
from molewright.chem.formula import PLACEHOLDERS
from molewright.chem.reaction import HELPERS, is_balanced, parse_reaction
from molewright.errors import Mistake
from molewright.reading.yaml_text import Branch, Keys

RECEIVER = "receiver"  # what a gas is driven into, where nobody gives it a name


def driven(held: Keys, formulae: TeachersFormulae) -> Keys:
    """A gas that is driven over, with a receiver where none has a name: "into: H2SO4" tells what is in it."""
    held = renamed(held, "gas", "species")
    into = text_under(held, "into")
    if "solution" not in held.members and formulae.formula(formulae.spelt(into)) is not None:
        held = renamed(held, "into", "solution")
    return held if "into" in held.members else with_texts(held, {"into": RECEIVER})


def received(lines: Sequence[Branch], react: Callable[[str, str], bool]) -> list[Branch]:
    """The lines, a solution on the line before a gas is driven over in the receiver where it takes up that gas."""
    made = list(lines)
    for at, (line, after) in enumerate(pairwise(lines)):
        (word, held), (next_word, gas) = parted(line), parted(after)
        if next_word != "drive over" or word not in ("measure", "add excess"):
            continue
        if not isinstance(held, Keys) or not isinstance(gas, Keys) or {"into", "vessel"} & set(held.members):
            continue
        if react(text_under(gas, "species"), text_under(held, "solution")):
            made[at] = line_of(line, word, with_texts(held, {"into": text_under(gas, "into")}))
    return made


def only_becomes(text: str, put_in: Container[str], forms: Forms | None) -> bool:
    """Whether an equation only says what one substance that is put in becomes: N -> NH3, or a half-equation."""
    try:
        read = parse_reaction(text, PLACEHOLDERS)
    except Mistake:
        return False
    left, right = (
        [one.formula.text for one in side if one.formula.text not in HELPERS and not one.formula.is_electron]
        for side in (read.left, read.right)
    )
    half = any(one.formula.is_electron for one in read.terms)
    if forms is None or (len(left), len(right)) != (1, 1) or (is_balanced(read) and not half):
        return False
    return left[0] in put_in and forms.by_atoms(left[0], right[0]) is not None
