"""What stands after a number comes in; its unit and a power of ten go out, or None. A unit in no usual spelling is not guessed.

Millimoles in a cubic centimetre, or micromoles, are no printed units: they are read as a printed one and a power of ten. A letter
that means several things (M: mole, molar mass, mol dm⁻³) is read only where what is asked for settles it.
"""

from __future__ import annotations

import re
from functools import lru_cache

from molewright.chem.formula import parse_formula
from molewright.chem.units import Unit, parse_unit
from molewright.errors import Mistake

RAISED = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹⁻⁺", "0123456789-+")

_AMOUNT = {"mol": 0, "mole": 0, "moles": 0, "mols": 0}
_GRAMS = {"g": 0, "gm": 0, "gms": 0, "gram": 0, "grams": 0, "gramme": 0, "grammes": 0}
_LITRES = ("l", "litre", "litres", "liter", "liters", "ltr")
_SMALL = (("m", "milli", -3), ("µ", "micro", -6), ("u", "micro", -6))


def _amounts() -> dict[str, int]:
    found = dict(_AMOUNT)
    for short, long, power in _SMALL:
        found |= {prefix + word: power for word in _AMOUNT for prefix in (short, long)}
    return found


def _masses() -> dict[str, int]:
    found = dict(_GRAMS)
    for short, long, power in (*_SMALL, ("mc", "micro", -6), ("k", "kilo", 3)):
        found |= {long + word: power for word in _GRAMS if word.startswith("gram")}
        found[short + "g"] = power
    return found


def _volumes() -> dict[str, int]:
    found = {"cm3": 0, "cc": 0, "ccs": 0, "dm3": 3, "m3": 6} | dict.fromkeys(_LITRES, 3)
    found |= {"ml": 0, "mls": 0} | {"milli" + word: 0 for word in _LITRES if word.startswith("lit")}
    for prefix, short, power in (("centi", "cm", 0), ("deci", "dm", 3), ("", "m", 6)):
        found |= {f"cubic {prefix}{word}": power for word in ("metre", "metres", "meter", "meters")}
        found |= {f"{short} cubed": power, f"cubic {short}": power}
    return found


_SIZES = {"amount": _amounts(), "mass": _masses(), "volume": _volumes()}
_KIND = {word: (kind, power) for kind, several in _SIZES.items() for word, power in several.items()}
_BELOW = {  # what is divided by, written with a negative power
    **{f"{word}-3": ("volume", power) for word, power in (("cm", 0), ("dm", 3), ("m", 6))},
    **{f"{word}-1": _KIND[word] for word in ("l", "ml", "litre", "liter", "mol", "mole", "g", "kg")},
}
_MADE: dict[
    tuple[str, str], tuple[Unit, int]
] = {  # the printed unit, and how many powers of ten one base over another is of it
    ("amount", ""): (Unit.MOL, 0),
    ("mass", ""): (Unit.G, 0),
    ("volume", ""): (Unit.CM3, 0),
    ("amount", "volume"): (Unit.MOL_PER_DM3, 3),
    ("mass", "volume"): (Unit.G_PER_DM3, 3),
    ("mass", "amount"): (Unit.G_PER_MOL, 0),
    ("mass", "mass"): (Unit.MG_PER_G, 3),
    ("volume", "amount"): (Unit.DM3_PER_MOL, -3),
}
_ABOVE = "|".join(sorted(map(re.escape, _KIND), key=len, reverse=True))
_QUOTIENT = re.compile(
    rf"(?P<above>{_ABOVE})(?:\s?(?:/|\bper\b)\s?(?P<per>{_ABOVE})|\s?(?P<below>{'|'.join(sorted(_BELOW, key=len, reverse=True))}))?"
)
_PERCENT = re.compile(
    r"(?:wt ?)?(?:%|per ?cent|pct|percentage)"
    r"(?: ?\(?(?:by (?:mass|weight)|w ?/ ?w|m ?/ ?m|wt|mass|purity|pure(?: by mass)?)\)?)?"
)
_MOLAR = {"M": 0, "molar": 0, "Molar": 0, "mM": -3, "µM": -6, "uM": -6}
_PARTS = {
    "ppt": 0,
    "ppm": -3,
}  # parts in a thousand, in a million of a dilute solution: grams, milligrams in a cubic decimetre
_MEGA = re.compile(r"\bM[gG]\b")  # magnesium, a megagram or a mistyped mg
_FORMULA = re.compile(r"(?:\(?[A-Z][a-z]?[0-9]{0,3}\)?[0-9]{0,3}){1,12}(?:\^?[0-9]?[+-])?")
_STATE = re.compile(r" ?\((?:aq|s|l|g)\)$")
_WORDS = re.compile(r"(?:the |this )?[a-z]{2,20}(?: [a-z]{2,20}){0,3}(?: ?\([ivx]{1,4}\)(?: [a-z]{2,20})?)?", re.I)
_OTHERWISE = re.compile(r"impur|\b(?:not|without|left|lost|error|more|less|than|per|or|and|to|rest)\b", re.I)
_EACH = re.compile(
    r"(?:^| |(?<=[a-z0-9]))(?:(?:/ ?|per |in (?:each|one|a) |in every |an? )(?:tablet|pill|piece)|each)$"
)


@lru_cache(maxsize=2048)
def unit_after(rest: str, asked: Unit) -> tuple[Unit, int] | None:
    """The unit that a text means and the power of ten of it; (NONE, 0) of no text. `asked` is the unit that is asked for, or NONE."""
    text = rest.strip().rstrip(".").strip()
    if not text:
        return Unit.NONE, 0
    if text[0] in "([" and text[-1] == {"(": ")", "[": "]"}[text[0]] and not set(text[1:-1]) & set("()[]"):
        text = text[1:-1].strip()
    for short in _shorter(text):
        found = _unit(short, asked)
        if found is not None:
            return found
    return None


def _shorter(text: str) -> list[str]:
    """The text, without "each", and without what it is of: "mol of NaOH", "g CaCO3"."""
    found = [text]
    each = _EACH.sub("", text).strip()
    if each and each != text:
        found.append(each)
    before, of, what = each.partition(" of ")
    if of and not _OTHERWISE.search(what) and (_substance(what) or _WORDS.fullmatch(what)):
        found.append(before)
    elif not of and " " in each:
        before, _, what = _STATE.sub("", each).rpartition(" ")
        if _substance(what):
            found.append(before)
    return found


def _substance(text: str) -> bool:
    plain = _STATE.sub("", text)
    if not _FORMULA.fullmatch(plain):
        return False
    try:
        parse_formula(re.sub(r"\^?[0-9]?[+-]$", "", plain))
    except Mistake:
        return False
    return True


def _unit(text: str, asked: Unit) -> tuple[Unit, int] | None:
    plain = " ".join(re.sub(r"\*\*|[·⋅∙*^]", " ", text.translate(RAISED)).split())
    plain = re.sub(r"\( ?(-[13]) ?\)", r"\1", plain)
    plain = re.sub(r"(?<=[a-zA-Z]) (?=-?[0-9])", "", plain)
    if asked.base is Unit.MOL_PER_DM3 and plain in _MOLAR:
        return Unit.MOL_PER_DM3, _MOLAR[plain]
    if asked.base is Unit.G_PER_DM3 and plain in _PARTS:
        return Unit.G_PER_DM3, _PARTS[plain]
    if asked.base is Unit.PERCENT and plain.startswith("%"):
        return (Unit.PERCENT, 0) if _PERCENT.fullmatch(plain.casefold()) else None  # % w/v is another quantity
    found = [one for one in (_known(plain), _made(plain)) if one is not None]
    return next((one for one in found if one[0].base is asked.base), found[0] if found else None)


def _known(plain: str) -> tuple[Unit, int] | None:
    """A unit as it is printed, or in another of its spellings."""
    try:
        return parse_unit(plain), 0
    except Mistake:
        return None


def _made(plain: str) -> tuple[Unit, int] | None:
    """A unit that is put together of what stands above and below the stroke: 1 g cm⁻³ is 10³ g dm⁻³ where that is asked for."""
    if _MEGA.search(plain):
        return None
    folded = plain.casefold().replace("μ", "µ")
    if _PERCENT.fullmatch(folded):
        return Unit.PERCENT, 0
    match = _QUOTIENT.fullmatch(" ".join(re.sub(r"(?<=mol)\.| ?\. ?(?=[a-z])", " ", folded).split()))
    if match is None:
        return None
    kind, power = _KIND[match["above"]]
    below, less = _KIND[match["per"]] if match["per"] else _BELOW[match["below"]] if match["below"] else ("", 0)
    made = _MADE.get((kind, below))
    return None if made is None else (made[0], made[1] + power - less)
