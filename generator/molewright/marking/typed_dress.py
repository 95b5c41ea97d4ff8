"""An answer with words about it comes in; the values that stand in it, and what each is called, go out. Reads no number.

"c = 0.0950", "1.995 so x = 2", "0.09497 -> 0.0950 (3 s.f.)": what a number is called, how it was rounded and what leads from one to
the next is known by heart here; with any other word the whole answer is left to the teacher.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from molewright.chem.formula import parse_formula
from molewright.errors import Mistake

_COUNTS = r"(?:[0-9]{1,2}|one|two|three|four|five|six)"
_FIGURES = (
    r"""(?:s\.?\ ?f\.?|sig(?:nificant)?\.?\ ?f(?:ig(?:ure)?s?)?\.?|d\.?\ ?p\.?|dec(?:imal)?\.?\ pl(?:ace)?s?\.?)"""
)
_ROUNDED = r"(?:rounded|correct|given|all)"
_NOTE = re.compile(
    rf"""(?:[,;]?\s?\((?:{_ROUNDED}\ )?(?:to\ )?{_COUNTS}\ ?{_FIGURES}\)
         |[,;]?\ (?:{_ROUNDED}\ )?(?:to\ )?{_COUNTS}\ ?{_FIGURES}
         |[,;]?\s?\(?(?:{_ROUNDED}\ )?(?:to\ )?(?:the\ )?(?:nearest\ )?(?:whole\ (?:number|no\.?)|integer)\)?
         |[,;]?\s?\(?(?:crossed\ out|approx\.?|approximately|roughly|rounded|about|ish)\)?
         |\s?\(?[?!✓✔☑]+\)?
         |(?<=[0-9])\s?(?:\.{{3,}}|…)
         |(?<=\))\.
         )$""",
    re.VERBOSE | re.IGNORECASE,
)
_QUOTED = re.compile(r"""^["'“”‘’`«](.*)["'“”‘’`»]$""")
_LEADS = re.compile(
    r"""\s*(?:[-=]+>|[→⇒⟶∴≈≅≃~=;]|(?:(?<=[a-zA-Z\])%])|(?<=[a-zA-Z)][0-9]))\ ?:\ |\.\.\.\ (?=[a-zA-Z=])
         |,\ (?=[a-zA-Z\[(∴=])
         |,?\ ?(?<![a-z])(?:and\ )?(?:so|therefore|hence|thus|which\ is|that\ is|i\.e\.|ie|giving|gives
             |(?:which\ )?(?:is\ )?(?:rounds|rounded)(?:\ up|\ down)?\ to|approximately|approx\.?|about|roughly|around|circa|ca\.
             |is|are|equals)(?![a-z])
         )\s*""",
    re.VERBOSE | re.IGNORECASE,
)
_BESIDE = re.compile(
    r"""(?P<main>.*[^(\s^*])\s?\(\s?(?:from|=|was|rounded\ from|≈|~|or\ more\ exactly)?\s?(?P<held>[-+]?\.?[0-9][^()]*)\)""",
    re.VERBOSE,
)
_OPEN_POWER = re.compile(r"(?:[×xX*·⋅∙]|times)\s?10$")
_SYMBOL = re.compile(r"(?:[cCnNVvmMxXywp]|Mr|M_r|Ar|A_r|RFM|RMM|Mᵣ|Aᵣ)[0-9]?")
_WITH_SUBSTANCE = re.compile(
    r"(?:[cnVmM]|Mr|Ar)[ _]?(?:\((?P<held>[A-Za-z0-9()^+-]{1,20})\)|(?P<bare>[A-Z][A-Za-z0-9()]{1,15}))"
)
_IN_BRACKETS = re.compile(r"\[(?P<held>[A-Za-z0-9()^+-]{1,20})\]")
_HYDRATE = re.compile(r"[A-Z][A-Za-z0-9()]{1,15}\s?[.·⋅*∙•]\s?[xXn]\s?H2O")


def _words(text: str) -> frozenset[str]:
    return frozenset(text.split())


_WORKED_FROM = _words("n/V m/M m/Mr m/V m/n cV nM") | {
    "n / V",
    "m / M",
    "m / n",
    "c x V",
    "c × V",
    "n x M",
    "n × M",
    "n x Mr",
    "n × Mr",
}
_NAMES = _words(
    """answer answers ans final result value total conc conc. concentration concn amount moles mole mol number no. of in the mass
    volume vol titre mean average percentage percent % purity ratio molar relative formula atomic molecular uncertainty water waters
    per cent it this acid alkali base salt sample solution flask portion aliquot each tablet tablets metal compound"""
)
_ABOUT = _words("of in for from the an a")
_OTHERWISE = _words(
    """not log lg ln ph pka sqrt root minus plus less than over times half twice double inverse impurity impurities impure error
    lost left rest difference without excess"""
)
MOST_NAMES = 8


@dataclass(frozen=True, slots=True)
class Undressed:
    """The values of an answer as they stand, the last one the answer; what they are called; and one shown in brackets beside it."""

    values: tuple[str, ...]
    names: tuple[str, ...]
    beside: str = ""


def without_notes(plain: str) -> str:
    """The answer without quotation marks about it, and without ticks and words on its rounding behind it."""
    quoted = _QUOTED.match(plain)
    if quoted is not None:
        plain = quoted[1].strip()
    while True:
        shorter = _NOTE.sub("", plain).strip()
        if shorter == plain or not shorter:
            return plain
        plain = shorter


def undressed(plain: str) -> Undressed | None:
    """The values in an answer that has no notes behind it; None where a word in it is not known."""
    text = plain
    beside = _BESIDE.fullmatch(text)
    held = ""
    if beside is not None and not _OPEN_POWER.search(beside["main"]):
        text, held = beside["main"], without_notes(beside["held"].strip())
    values: list[str] = []
    names: list[str] = []
    for piece in _LEADS.split(text):
        bare = without_notes(piece.strip(" ,:"))
        if not bare:
            continue
        if is_name(bare):
            names.append(_as_called(bare))
            continue
        split = _name_before(bare)
        if split is not None:
            names.append(_as_called(split[0]))
            bare = split[1]
        values.append(bare)
    if not values:
        return None
    return Undressed(tuple(values), tuple(dict.fromkeys(filter(None, names))), held)


def _name_before(text: str) -> tuple[str, str] | None:
    """A name in words and the number right after it: "conc 0.0950", "Ans 0.0950". A symbol needs a sign of equality."""
    match = re.match(r"(?P<name>[A-Za-z][A-Za-z. ]{2,40}?) (?P<value>[-+]?\.?[0-9].*)$", text)
    return (match["name"], match["value"]) if match is not None and is_name(match["name"]) else None


def _as_called(name: str) -> str:
    return "" if name in _WORKED_FROM or re.match(r"(?i)(final )?(ans|result|value|it$)", name) else name.casefold()


def is_name(text: str) -> bool:
    """Whether a text calls a number something, and something that leaves it as it is: "c(HCl)", not "log c" and not "x/2"."""
    if text in _WORKED_FROM or _SYMBOL.fullmatch(text) or _HYDRATE.fullmatch(text):
        return True
    for pattern in (_WITH_SUBSTANCE, _IN_BRACKETS):
        match = pattern.fullmatch(text)
        if match is not None:
            inside = next(held for held in match.groups() if held)
            return _is_formula(inside) or inside.casefold() in _NAMES
    words = re.sub(r"\((?:aq|s|l|g)\)", "", text).split()
    if not 1 <= len(words) <= MOST_NAMES or any(word.casefold() in _OTHERWISE for word in words):
        return False
    after = False
    for word in words:
        known = word.casefold() in _NAMES or (_SYMBOL.fullmatch(word) is not None and len(words) > 1)
        if not known and not (after and re.fullmatch("[a-zA-Z]{2,20}", word)) and not _is_formula(word):
            return False
        after |= word.casefold() in _ABOUT
    return any(word.casefold() in _NAMES - _ABOUT or _SYMBOL.fullmatch(word) for word in words)


def _is_formula(text: str) -> bool:
    plain = re.sub(r"\^?[0-9]?[+-]$", "", text)
    if not re.match("[A-Z(]", plain):
        return False
    try:
        parse_formula(plain)
    except Mistake:
        return False
    return True
