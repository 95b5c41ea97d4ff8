"""An answer that may name an element comes in; the number in it, the element and what the name earns go out. Guesses no spelling.

A teacher may type "38.9, K" into one cell, or the name alone into a row of its own; both are read alike.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from fractions import Fraction

from generator.errors import nearest as alike
from generator.marking.judge import Verdict
from generator.question.identity import Element, nearest

_BEFORE = re.compile(r"^\s*(?:A\s*_?r?\s*(?:\(\s*[MX]\s*\))?|[MX])\s*(?:=|is\b)\s*", re.IGNORECASE)
_AFTER = re.compile(
    r"(?:[\s,;:(\[=>→⇒∴–—-]|\b(?:so|it|is|m|x|hence|therefore|thus|which|and|metal|element|the)\b)+$", re.I
)
_FIRST = re.compile(r"^[\s,;:)\]=–—-]+")
MOST_LETTERS = 200


def split(text: str, among: Sequence[Element]) -> tuple[str, str]:
    """The number and the element of one cell: ("38.9", "K") of "38.9, K"; "" for what is not there."""
    found = list(_names(among).finditer(text[:MOST_LETTERS]))
    if not found:
        return text, ""
    start, end = found[0].start(), found[-1].end()
    before, after = text[:start], text[end:]
    number = _AFTER.sub("", before) if re.search("[0-9]", before) else _FIRST.sub("", after)
    number = _BEFORE.sub("", number) if re.search("[0-9]", number) else ""
    return number.strip(), text[start:end].strip()


def alone(text: str, among: Sequence[Element]) -> bool:
    """Whether a cell names an element and holds no number."""
    number, name = split(text, among)
    return bool(name) and not number


def element_in(text: str, among: Sequence[Element]) -> tuple[Element, ...]:
    """The elements that a text names, each once. The whole text may be a symbol without its capital: "na"."""
    plain = text.strip().strip(".()").casefold()
    whole = [one for one in among if plain in (one.symbol.casefold(), one.name)]
    if whole:
        return tuple(whole)
    words = {match[0] for match in _names(among).finditer(text[:MOST_LETTERS])}
    return tuple(one for one in among if one.symbol in words or one.name in {word.casefold() for word in words})


def judge_name(
    text: str, among: Sequence[Element], exact: Fraction, own: Fraction | None = None
) -> tuple[Verdict, int, str]:
    """Verdict, marks and note for a name: right, or the element nearest to the pupil's own value (error carried forward)."""
    if not text.strip(" -–—/"):
        return "no answer", 0, ""
    named = element_in(text, among)
    if len(named) > 1:
        return "wrong", 0, "more than one element is named"
    right = nearest(exact, among)
    if not named:
        word = "".join(re.findall(r"[^\W\d_]+", text)[:1])
        meant = alike(word, [one.name for one in among], 1) if len(word) > 3 else ()
        if meant:
            return "not read", 0, f"perhaps {meant[0]} is meant"
        return "wrong", 0, f"none of {', '.join(one.symbol for one in among)} is named"
    follows = right if own is None else nearest(own, among)
    if named[0] == follows:
        return ("right", 1, "") if follows == right else ("carried forward", 1, f"nearest to {_short(own)}")
    return "wrong", 0, f"{right.name} is right" if own is None else f"{follows.name} is nearest to {_short(own)}"


def _short(number: Fraction | None) -> str:
    return f"{float(number or 0):.4g}"


def _names(among: Sequence[Element]) -> re.Pattern[str]:
    """Names in any case, symbols only with their capital, each as a word of its own."""
    names = "|".join(one.name for one in among)
    symbols = "|".join(sorted((one.symbol for one in among), key=len, reverse=True))
    return re.compile(rf"(?<![A-Za-z])(?:(?i:{names})|(?:{symbols}))(?![A-Za-z])")
