"""A formula's text comes in; what a pupil reads, what a screen reader says and what mhchem sets go out."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import lru_cache

from molewright.chem.formula import PLACEHOLDERS, PRIME, parse_formula
from molewright.chem.formula_tree import UNICODE, Script, write
from molewright.errors import Mistake

_BRACKETS_SPOKEN = {
    "(": "open bracket",
    ")": "close bracket",
    "[": "open square bracket",
    "]": "close square bracket",
}
# A word with a number or a charge behind a letter: brackets around it belong to the sentence and change nothing when they are read.
_MAY_BE_FORMULA = re.compile(
    r"(?<![^\s(])\(*[A-Z][A-Za-z0-9()\[\].^+-]*(?<=[A-Za-z)\]])[0-9^+-][A-Za-z0-9()\[\].^+-]*(?<!\.)"
)


def _spoken_charge(charge: str) -> str:
    sign = "plus" if charge.endswith("+") else "minus"
    return f", {charge[:-1]} {sign} charge" if len(charge) > 1 else f", {sign} charge"


MHCHEM = Script(
    subscript=str,
    superscript=lambda charge: "^" + charge if len(charge) > 1 else charge,
    dot=".",
    symbol=lambda symbol: symbol.replace(PRIME, "$'$"),
    unknown="$x$",
)
SPOKEN = Script(
    subscript=str,
    superscript=_spoken_charge,
    dot="dot",
    symbol=lambda symbol: " ".join("prime" if letter == PRIME else letter for letter in symbol),
    bracket=_BRACKETS_SPOKEN.__getitem__,
    electron="electron",
    between=" ",
)


@lru_cache(maxsize=4096)
def unicode_text(text: str) -> str:
    """The formula as a pupil reads it: CaCO₃, SO₄²⁻, Na₂CO₃·10H₂O."""
    return write(parse_formula(text, PLACEHOLDERS), UNICODE)


def with_scripts(words: str) -> str:
    """Words with the formulae among them as a pupil reads them: "an unknown acid H2A" is "an unknown acid H₂A".

    What is no formula stays as it is; so does one without a number or a charge, which is written as it is typed.
    """
    return "".join(unicode_text(piece) if formula else piece for piece, formula in formulae_among(words))


def formulae_among(words: str) -> Iterator[tuple[str, bool]]:
    """The words piece by piece, each with whether it is a formula that has a number or a charge."""
    at = 0
    for found in _MAY_BE_FORMULA.finditer(words):
        try:
            parse_formula(found[0], PLACEHOLDERS)
        except Mistake:  # a word that only looks like one
            continue
        yield words[at : found.start()], False
        yield found[0], True
        at = found.end()
    yield words[at:], False


@lru_cache(maxsize=4096)
def spoken(text: str) -> str:
    """The formula for a screen reader, letter by letter: "S O 4, 2 minus charge"."""
    formula = parse_formula(text, PLACEHOLDERS)
    if formula.is_electron:
        return SPOKEN.electron
    return write(formula, SPOKEN).replace(" ,", ",")


@lru_cache(maxsize=4096)
def mhchem(text: str) -> str:
    r"""The inside of \ce{...} for LaTeX's mhchem: SO4^2-, Na2CO3.10H2O, Na2CO3.$x$H2O."""
    return write(parse_formula(text, PLACEHOLDERS), MHCHEM)
