"""A formula's text comes in; what a pupil reads, what a screen reader says and what mhchem sets go out."""

from __future__ import annotations

from functools import lru_cache

from molewright.chem.formula import PLACEHOLDERS, PRIME, parse_formula
from molewright.chem.formula_tree import UNICODE, Script, write

_BRACKETS_SPOKEN = {
    "(": "open bracket",
    ")": "close bracket",
    "[": "open square bracket",
    "]": "close square bracket",
}


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
