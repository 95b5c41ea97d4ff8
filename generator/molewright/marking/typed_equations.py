"""An equation as a pupil typed it comes in; it goes out as it was read, or why it cannot be read.

Any usual writing is read: arrows, sub- and superscripts plain, raised or after ^ and _, charges with and without ^, state symbols or
none, fractions, dots of hydrates. Where a + may be a charge or stand between two terms, and a figure may be a charge or a count,
every reading is tried, and the one in the species of the reaction is taken. Nothing is guessed: what has no reading, or two that are
judged differently, goes to the teacher.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache
from math import lcm

from molewright.answer.equation_sides import ELECTRON, Kind, kind_of
from molewright.answer.equations import AskedEquation, judge_equation
from molewright.answer.written import Unread
from molewright.chem.formula import parse_formula
from molewright.chem.reaction import MOST_COEFFICIENT, Reaction, Species
from molewright.errors import Mistake, shortened
from molewright.marking.typed_mole_ratios import read_ratio

MOST_LETTERS = 300
_MOST_READINGS = 64
_MOST_TERMS = 20

_BLANK = frozenset({"", "-", "–", "—", "/", "blank", "no answer"})
_RAISED = re.compile("[⁰¹²³⁴⁵⁶⁷⁸⁹⁺⁻]+")
_PLAIN = str.maketrans(
    "⁰¹²³⁴⁵⁶⁷⁸⁹⁺⁻₀₁₂₃₄₅₆₇₈₉₊₋−–﹣－＋⁄\N{NO-BREAK SPACE}\N{NARROW NO-BREAK SPACE}×",
    "0123456789+-0123456789+-----+/  *",
)
_MARKUP = re.compile(r"\\(?:ce|mathrm|text|,|;|quad|left|right)\b|\\[,; ]|\$|(?<!\^)[{}]|_")
_ARROW_WORDS = re.compile(
    r"\\(?:rightarrow|longrightarrow|to|rightleftharpoons)\b|\b(?:gives|yields|goes to|reacts to give)\b|&rarr;"
)
_ARROW = re.compile(r"<?[-=]{1,3}>|[→⟶⇒⟹⇌⇄⇋↔➔➝➞]|={1,3}")
_STATE = re.compile(r"\(\s*(aq|s|l|g)\s*\.?\)$|\[(aq|s|l|g)\]$", re.IGNORECASE)
_PARTS = {"½": (1, 2), "⅓": (1, 3), "⅔": (2, 3), "¼": (1, 4), "¾": (3, 4), "⅕": (1, 5), "⅖": (2, 5), "⅗": (3, 5), "⅘": (4, 5),
          "⅙": (1, 6), "⅚": (5, 6)}  # fmt: skip
_FRACTION = re.compile(r"\(?(?P<top>[0-9]{1,3})/(?P<bottom>[0-9]{1,3})\)?")
_DECIMAL = re.compile(r"[0-9]{0,3}[.,][0-9]{1,3}")
_WHOLE = re.compile(r"[0-9]{1,3}")
_NUMBERS = re.compile(r"[0-9½⅓⅔¼¾./]+(?:(?:\s*[,;:]\s*|\s+)[0-9½⅓⅔¼¾./]+)+")
_OPEN_PLUS = re.compile(r"\+")


@dataclass(frozen=True, slots=True)
class _Term:
    """A term before its coefficients are made whole; `times` below zero where it was subtracted."""

    times: Fraction
    species: Species


def read_equation(text: str, asked: AskedEquation) -> Reaction | Unread | None:
    """The equation in a text, or the numbers for the blanks of one; None for nothing written."""
    if len(text) > MOST_LETTERS:
        return Unread(f"longer than {MOST_LETTERS} letters")
    if " ".join(text.split()).casefold() in _BLANK:
        return None
    plain = _plain(text)
    if asked.demand == "ratio":
        return read_ratio(plain, asked)
    if asked.demand == "numbers":
        numbers = _numbers(plain, asked)
        if numbers is not None:
            return numbers
    found = list(dict.fromkeys(_readings(plain, asked)))
    if not found:
        return _unread(plain, asked)
    ours = _expected(asked)
    if not any(_share(one, ours) for one in found):
        return Unread("none of its formulae belongs to this reaction")
    most = max(_share(one, ours) for one in found)
    best = [one for one in found if _share(one, ours) == most]
    judged = {judge_equation(asked, one) for one in best}
    if len({(one.marks, one.right) for one in judged}) > 1:
        return Unread("it can be read in two ways")
    mended = _nearly(best[0], asked)
    return Unread(mended) if mended else best[0]


def _plain(text: str) -> str:
    """The text with raised figures after ^, lowered ones plain, and without marks of a typesetting program."""
    text = re.sub(r"</?su[bp]>", lambda tag: "^" if tag[0] == "<sup>" else " " if tag[0] == "</sup>" else "", text)
    text = _ARROW_WORDS.sub(" → ", text)
    text = re.sub(r"\^\{([^{}]*)\}", lambda inner: "^" + inner[1].replace(" ", ""), text)
    text = _MARKUP.sub("", text)
    text = _RAISED.sub(lambda run: "^" + run[0].translate(_PLAIN), text)
    text = text.translate(_PLAIN)
    text = re.sub(r"\^([+-])([1-9])(?![0-9])", r"^\2\1", text)  # SO4^-2
    text = re.sub(r"(?<=[A-Za-z0-9)\]]) +([1-9][+-])(?=\s|\(|$)", r"^\1", text)  # SO4 2-
    return (
        re.sub(r"\(([1-9]?[+-])\)|\[([1-9]?[+-])\]", lambda inner: "^" + (inner[1] or inner[2]), text)
        .strip()
        .rstrip(".")
    )


# ------------------------------------------------------------------ all readings


def _readings(plain: str, asked: AskedEquation) -> Iterator[Reaction]:
    """Every way to read an equation, up to a limit."""
    letters = _placeholders(asked)
    count = 0
    for left, right in _split_at_arrow(plain):
        for before in _side(left, letters):
            for after in _side(right, letters):
                made = _whole(before, after)
                if made is not None:
                    yield made
                count += 1
                if count >= _MOST_READINGS:
                    return


def _placeholders(asked: AskedEquation) -> frozenset[str]:
    """The letters that stand for elements nobody names."""
    return frozenset().union(*(one.formula.placeholders for one in asked.reaction.terms))


def _split_at_arrow(plain: str) -> Iterator[tuple[str, str]]:
    """Both sides; a minus before the arrow may be its own, or the charge of an electron or an anion."""
    arrows = list(_ARROW.finditer(plain))
    if len(arrows) != 1:
        return
    start, end = arrows[0].span()
    yield plain[:start], plain[end:]
    if plain[start] == "-" and end - start > 2 and start and not plain[start - 1].isspace():
        yield plain[: start + 1], plain[end:]


@lru_cache(maxsize=2048)
def _side(text: str, letters: frozenset[str]) -> tuple[tuple[_Term, ...], ...]:
    """Every way to read one side, as terms."""
    text = " ".join(text.split())
    if not text:
        return ()
    minus = re.split(r" - (?=[0-9]* ?e)", text)  # Fe^2+ - e-: an electron on the other side
    if len(minus) > 1:
        head = _side(minus[0], letters)
        taken = [_side(one, letters) for one in minus[1:]]
        if not head or not all(taken):
            return ()
        gone = tuple(replace(one[0][0], times=-one[0][0].times) for one in taken)
        return tuple((*one, *gone) for one in head)
    found: list[tuple[_Term, ...]] = []
    for cut in _cuts(text):
        each = [_term(piece.strip(), letters) for piece in cut]
        if all(each):
            found += _products(each)
        if len(found) >= _MOST_READINGS:
            break
    return tuple(found[:_MOST_READINGS])


def _products(each: list[tuple[_Term, ...]]) -> Iterator[tuple[_Term, ...]]:
    """Every choice of one reading for each term."""
    made: list[tuple[_Term, ...]] = [()]
    for choices in each:
        made = [(*one, choice) for one in made for choice in choices][:_MOST_READINGS]
    yield from made


def _cuts(text: str) -> Iterator[tuple[str, ...]]:
    """Every way to part a side into terms at its plus signs; one with a space before it is never a charge."""
    plus = [match.start() for match in _OPEN_PLUS.finditer(text)]
    sure = {at for at in plus if at and text[at - 1] == " "}
    open_ones = [at for at in plus if at not in sure and _may_part(text, at)]
    if len(plus) > _MOST_TERMS * 2 or len(open_ones) > 12:
        return
    for chosen in range(1 << len(open_ones)):
        cuts = sorted(sure | {at for bit, at in enumerate(open_ones) if chosen >> bit & 1})
        pieces, last = [], 0
        for at in cuts:
            pieces.append(text[last:at])
            last = at + 1
        pieces.append(text[last:])
        if all(piece.strip() for piece in pieces):
            yield tuple(pieces)


def _may_part(text: str, at: int) -> bool:
    """Whether something stands on both sides that a plus may part."""
    return 0 < at < len(text) - 1 and bool(re.match(r"\s*[0-9A-Ze(\[½⅓⅔¼¾.]", text[at + 1 :]))


@lru_cache(maxsize=4096)
def _term(text: str, letters: frozenset[str]) -> tuple[_Term, ...]:
    """Every reading of one term: coefficient, formula, state."""
    state = ""
    found = _STATE.search(text)
    if found:
        state = (found[1] or found[2]).casefold()
        text = text[: found.start()].rstrip()
    made = []
    for times, body in _coefficients(text):
        for formula in _formulae(body):
            try:
                read = parse_formula(formula, letters)
            except Mistake:
                continue
            made.append(_Term(times, Species(1, read, state)))
    return tuple(dict.fromkeys(made))


def _coefficients(text: str) -> Iterator[tuple[Fraction, str]]:
    """The number before a formula, and the formula; a sign of multiplication may stand between."""
    whole = _WHOLE.match(text)
    lead = text[: whole.end()] if whole else ""
    rest = text[len(lead) :].lstrip()
    if rest[:1] in _PARTS:
        top, bottom = _PARTS[rest[0]]
        yield Fraction(int(lead or 0)) + Fraction(top, bottom), _after_times(rest[1:])
        return
    for pattern in (_FRACTION, _DECIMAL):
        match = pattern.match(text)
        if match is None:
            continue
        if pattern is _FRACTION:
            number = Fraction(int(match["top"]), int(match["bottom"])) if int(match["bottom"]) else Fraction(0)
        else:
            number = Fraction(match[0].replace(",", "."))
        if number > 0:
            yield number, _after_times(text[match.end() :])
        return
    if lead:
        if not lead.startswith("0"):
            yield Fraction(int(lead)), _after_times(rest)
        return
    yield Fraction(1), text


def _after_times(text: str) -> str:
    return re.sub(r"^\s*(?:[*·.]|x(?=\s))?\s*", "", text)


def _formulae(body: str) -> Iterator[str]:
    """Every reading of a formula with a charge: SO42- as SO4^2- or SO42^-, Fe+3 and SO4-- as they are meant."""
    body = re.sub(r"\s+(?=[+-])|(?<=\^)\s+", "", body.strip())
    if body in ("e", "e-", "e^-", "e^1-", "e^-1"):
        yield "e-"
        return
    if "^" in body:
        base, _, charge = body.partition("^")
        charge = re.sub(r"^1(?=[+-]$)", "", charge)
        yield f"{base}^{charge}"
        return
    signs = re.search(r"(?<![+-])(\++|-+)$", body)
    if signs and len(signs[1]) > 1:
        yield f"{body[: signs.start()]}^{len(signs[1])}{signs[1][0]}"
        return
    turned = re.search(r"(?<=[A-Za-z0-9)\]])([+-])([1-9])$", body)
    if turned:
        yield f"{body[: turned.start()]}^{turned[2]}{turned[1]}"
        return
    bare = re.search(r"([0-9])([+-])$", body)
    if bare is None:
        yield body if body[-1:] not in ("+", "-") else f"{body[:-1]}^{body[-1]}"
        return
    base = body[: bare.start()]
    readings = [f"{body[:-1]}^{bare[2]}"]
    if bare[1] != "0" and base:
        own = bool(re.fullmatch(r"[A-Z][a-z]?", base)) or base[-1:].isdigit()  # Fe3+, SO42-; of HCO3- the 3 is a count
        readings.insert(0 if own else 1, f"{base}^{'' if bare[1] == '1' else bare[1]}{bare[2]}")
    yield from readings


def _whole(left: tuple[_Term, ...], right: tuple[_Term, ...]) -> Reaction | None:
    """The equation with whole coefficients; what was subtracted on one side stands on the other."""
    before = [one for one in left if one.times > 0] + [replace(one, times=-one.times) for one in right if one.times < 0]
    after = [one for one in right if one.times > 0] + [replace(one, times=-one.times) for one in left if one.times < 0]
    if not before or not after:
        return None
    common = lcm(*(one.times.denominator for one in (*before, *after)))
    if any(one.times * common > MOST_COEFFICIENT * 60 for one in (*before, *after)):
        return None
    made = [
        tuple(replace(one.species, coefficient=int(one.times * common)) for one in side) for side in (before, after)
    ]
    return Reaction(made[0], made[1])


# ------------------------------------------------------------------ which reading is meant


def _expected(asked: AskedEquation) -> frozenset[Kind]:
    """Everything that a right answer may hold, and what its salts are made of."""
    return frozenset((*asked.spelt, ELECTRON))


def _share(reaction: Reaction, ours: frozenset[Kind]) -> Fraction:
    """The share of its terms that belong to the reaction, electrons left out."""
    kinds = [kind_of(one.formula) for one in reaction.terms]
    counted = [kind for kind in kinds if kind != ELECTRON]
    return Fraction(sum(kind in ours for kind in counted), len(kinds)) if counted else Fraction(0)


def _nearly(reaction: Reaction, asked: AskedEquation) -> str:
    """Why a formula that is none of the reaction may only be mistyped: a small letter for a capital, a nought for an O."""
    ours = {_bare(text): text for text in asked.spelt.values()}
    known = _expected(asked)
    for one in reaction.terms:
        if kind_of(one.formula) in known:
            continue
        meant = ours.get(_bare(str(one.formula)))
        if meant:
            return f"perhaps {meant} is meant by {one.formula}"
    return ""


def _bare(text: str) -> str:
    return text.translate(_PLAIN).casefold().replace("0", "o")


def _unread(plain: str, asked: AskedEquation) -> Unread:
    """Why nothing could be read."""
    arrows = len(_ARROW.findall(plain))
    if arrows != 1:
        return Unread("no equation: it has no arrow" if not arrows else f"it has {arrows} arrows")
    letters = _placeholders(asked)
    for side in _ARROW.split(plain):
        for piece in re.split(r"\s\+\s|\s\+|\+\s", side):
            if piece.strip() and not _term(piece.strip(), letters):
                return Unread(f"{shortened(piece.strip(), 30)} is no formula")
    return Unread("it is no equation")


# ------------------------------------------------------------------ numbers for blanks


def _numbers(plain: str, asked: AskedEquation) -> Reaction | Unread | None:
    """The equation with numbers for its blanks, in the order of the page; None where there are not only numbers."""
    if not _NUMBERS.fullmatch(plain):
        return None
    held = []
    for text in re.split(r"[\s,;:]+", plain):
        made = list(_coefficients(text))
        if len(made) != 1 or made[0][1]:
            return None
        held.append(made[0][0])
    every = asked.reaction.terms
    if len(held) != len(every):
        return Unread(f"{len(held)} numbers for {len(every)} blanks")
    put = [_Term(number, replace(one, coefficient=1)) for number, one in zip(held, every, strict=True)]
    middle = len(asked.reaction.left)
    return _whole(tuple(put[:middle]), tuple(put[middle:]))
