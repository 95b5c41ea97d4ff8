"""What a line of text is made of: a closed set of frozen nodes. Knows no output and draws nothing.

A renderer must handle every member of Inline, and of MathsItem inside a line of working, and nothing else. Text in nodes is
plain: no markup of any kind, already cleaned of control characters.
"""

from __future__ import annotations

from dataclasses import dataclass

from molewright.chem.quantity import Quantity


@dataclass(frozen=True, slots=True)
class Text:
    """Plain words. Breaks at spaces; U+00A0 never breaks. May hold Unicode sub- and superscripts (CaCO₃, dm⁻³)."""

    text: str
    bold: bool = False
    italic: bool = False


@dataclass(frozen=True, slots=True)
class Amount:
    """A number with its unit; never broken across lines."""

    quantity: Quantity
    bold: bool = False


@dataclass(frozen=True, slots=True)
class Chem:
    """A chemical formula as typed in the banks ("CaCO3", "SO4^2-", "Na2CO3.10H2O"), with its state ("aq") if shown."""

    formula: str
    state: str = ""
    bold: bool = False


@dataclass(frozen=True, slots=True)
class Term:
    """One side's member of an equation: coefficient (1 is not written), formula, state symbol ("" for none)."""

    coefficient: str
    formula: str
    state: str = ""


@dataclass(frozen=True, slots=True)
class Equation:
    """A balanced equation; breaks only before the arrow or a plus, and only if it must."""

    left: tuple[Term, ...]
    right: tuple[Term, ...]
    both_ways: bool = False  # an equilibrium

    @property
    def arrow(self) -> str:
        """What stands between its sides."""
        return "⇌" if self.both_ways else "→"


@dataclass(frozen=True, slots=True)
class Symbol:
    """A quantity symbol: italic letter, and what it belongs to in brackets, upright: n(NaOH), M(CaCO₃)."""

    letter: str
    of: str = ""  # a formula as typed ("NaOH") or "" for none
    note: str = ""  # upright words after the formula inside the bracket: "left over"
    subscript: str = ""  # upright subscript: M with subscript r


@dataclass(frozen=True, slots=True)
class Sign:
    """An operator between mathematical inlines: one of = × − + ≈ ( )."""

    sign: str


@dataclass(frozen=True, slots=True)
class Over:
    """A typeset fraction."""

    top: tuple[MathsItem, ...]
    bottom: tuple[MathsItem, ...]


@dataclass(frozen=True, slots=True)
class Gap:
    """A blank for the pupil to fill in: a dotted rule of this width, with a unit after it where one is printed."""

    width_mm: float = 22.0
    unit: str = ""


MathsItem = Text | Amount | Chem | Symbol | Sign | Over | Gap


@dataclass(frozen=True, slots=True)
class Maths:
    """A line of working. Breaks only before '=' and only if it must; fractions are real text."""

    items: tuple[MathsItem, ...]


Inline = Text | Amount | Chem | Equation | Symbol | Gap | Maths
Line = tuple[Inline, ...]
