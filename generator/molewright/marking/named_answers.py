"""An answer that may name an element or a substance comes in; its number, its name and what the name earns go out.

A teacher may type "38.9, K" into one cell, or the name alone into a row of its own; both are read alike. No spelling is guessed.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from fractions import Fraction

from molewright.answer.judge import Verdict
from molewright.errors import nearest
from molewright.experiment.identity import Candidate, nearest_candidate

_BEFORE = re.compile(
    r"^\s*(?:A\s*_?r?\s*(?:\(\s*[MX]\s*\))?|[MX](?:\s*\([A-Za-z0-9]{1,12}\))?)\s*(?:=|is\b)\s*", re.IGNORECASE
)
_AFTER = re.compile(
    r"(?:[\s,;:(\[=>→⇒∴–—-]|\b(?:so|it|is|m|x|hence|therefore|thus|which|and|metal|element|acid|salt|the)\b)+$", re.I
)
_FIRST = re.compile(r"^[\s,;:)\]=–—-]+")
_REASON = re.compile(r"\b(?:because|since|as|for|nearest|closest|nearer|closer)\b|;", re.I)
_LOWERED = str.maketrans("₀₁₂₃₄₅₆₇₈₉", "0123456789")
_AS_A_WORD = {"I": r"(?!\s+[a-z])"}  # "I think" names no iodine
MOST_LETTERS = 200


def split(text: str, among: Sequence[Candidate]) -> tuple[str, str]:
    """The number and the name of one cell: ("38.9", "K") of "38.9, K"; "" for what is not there."""
    plain = text.translate(_LOWERED)
    found = list(_pattern(among, _every).finditer(plain[:MOST_LETTERS]))
    if not found:
        return text, ""
    start, end = found[0].start(), found[-1].end()
    before, after = text[:start], text[end:]
    number = _AFTER.sub("", before) if re.search("[0-9]", before) else _FIRST.sub("", after)
    number = _BEFORE.sub("", number) if re.search("[0-9]", number) else ""
    return number.strip(), text[start:end].strip()


def alone(text: str, among: Sequence[Candidate]) -> bool:
    """Whether a cell names one of the candidates and holds no number."""
    number, name = split(text, among)
    return bool(name) and not number


def named_in(text: str, among: Sequence[Candidate]) -> tuple[Candidate, ...]:
    """The candidates that a text names, each once. What a reason compares with is not named; "na" alone is the symbol Na.

    Formula and name count before other spellings: "KBr, so X is bromine" names one.
    """
    plain = text.translate(_LOWERED)[:MOST_LETTERS]
    whole = plain.strip().strip(".").casefold()
    for one in among:
        if whole in {spelling.casefold() for spelling in _every(one)}:
            return (one,)
    for piece in (_REASON.split(plain)[0], plain):
        for spellings in (_own, _every):
            words = {match[0].casefold() for match in _pattern(among, spellings).finditer(piece)}
            found = tuple(one for one in among if words & {spelling.casefold() for spelling in spellings(one)})
            if found:
                return found
    return ()


def judge_name(
    text: str, among: Sequence[Candidate], exact: Fraction, own: Fraction | None = None
) -> tuple[Verdict, int, str]:
    """Verdict, marks and note for a name: right, or the candidate nearest to the pupil's own value (error carried forward)."""
    if not text.strip(" -–—/"):
        return "no answer", 0, ""
    named = named_in(text, among)
    if len(named) > 1:
        return "wrong", 0, "more than one of them is named"
    right = nearest_candidate(exact, among)
    if not named:
        word = "".join(re.findall(r"[^\W\d_]+", text)[:1])
        names = [spelling for one in among for spelling in _every(one) if _is_name(spelling)]
        meant = nearest(word, names, 1) if len(word) > 3 else ()
        if meant:
            return "not read", 0, f"perhaps {meant[0]} is meant"
        return "wrong", 0, f"none of {', '.join(one.formula for one in among)} is named"
    follows = right if own is None else nearest_candidate(own, among)
    if named[0] == follows:
        return ("right", 1, "") if follows == right else ("carried forward", 1, f"nearest to {_short(own)}")
    return "wrong", 0, f"{right.name} is right" if own is None else f"{follows.name} is nearest to {_short(own)}"


def _short(number: Fraction | None) -> str:
    return f"{float(number or 0):.4g}"


def _own(one: Candidate) -> tuple[str, ...]:
    return one.formula, one.name


def _every(one: Candidate) -> tuple[str, ...]:
    return one.formula, one.name, *one.also


def _is_name(spelling: str) -> bool:
    """Whether a spelling is a name, in any case, and no symbol or formula, which needs its capitals."""
    return not spelling[0].isupper() and not spelling.startswith("(")


def _pattern(among: Sequence[Candidate], spellings: Callable[[Candidate], tuple[str, ...]]) -> re.Pattern[str]:
    """Names in any case, symbols and formulae only with their capitals, each as a word of its own."""
    longest = sorted((spelling for one in among for spelling in spellings(one)), key=len, reverse=True)
    either = [
        rf"(?i:{re.escape(one)})" if _is_name(one) else re.escape(one) + _AS_A_WORD.get(one, "") for one in longest
    ]
    return re.compile(rf"(?<![A-Za-z])(?:{'|'.join(either)})(?![A-Za-z])")
