"""Inlines come in; the words a screen reader says, and the plain text of a line, go out. Draws nothing."""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache
from typing import assert_never

from molewright.chem.formula_scripts import spoken, unicode_text
from molewright.chem.quantity import Quantity, mantissa
from molewright.chem.units import Unit
from molewright.nodes.inline import (
    Amount,
    Chem,
    Equation,
    Gap,
    Inline,
    Maths,
    MathsItem,
    Over,
    Sign,
    Symbol,
    Term,
    Text,
)

_UNITS = {unit.text: unit.spoken for unit in Unit}
_SIGNS = {
    "=": "equals",
    "×": "times",
    "−": "minus",
    "-": "minus",
    "+": "plus",
    "≈": "is about",
    "(": "open bracket",
    ")": "close bracket",
}
_STATES = {"s": "solid", "l": "liquid", "g": "gas", "aq": "aqueous"}


@lru_cache(maxsize=2048)
def shown_formula(formula: str) -> str:
    """The formula with its real subscripts and superscripts."""
    return unicode_text(formula)


@lru_cache(maxsize=2048)
def said_formula(formula: str) -> str:
    """The formula letter by letter, in words."""
    return spoken(formula)


def said_quantity(quantity: Quantity) -> str:
    """A number and its unit in words: 2.60 times 10 to the minus 3 moles."""
    number = format(quantity.number, "f").replace("-", "minus ")
    if quantity.scientific:
        digits, power = mantissa(quantity.number)
        raised = f"minus {-power}" if power < 0 else str(power)
        number = f"{digits} times 10 to the {raised}".replace("-", "minus ")
    return f"{number} {quantity.unit.spoken}".strip()


def said(items: Iterable[Inline | MathsItem]) -> str:
    """A line of working or an equation in words."""
    return " ".join(filter(None, (_said(piece) for piece in items)))


def _said(piece: Inline | MathsItem) -> str:
    match piece:
        case Text(text=text):
            return " ".join(text.split())
        case Amount(quantity=quantity):
            return said_quantity(quantity)
        case Chem(formula=formula, state=state):
            return _with_state(said_formula(formula), state)
        case Symbol():
            return _said_symbol(piece)
        case Sign(sign=sign):
            return _SIGNS.get(sign, sign)
        case Over(top=top, bottom=bottom):
            return f"fraction {said(top)} over {said(bottom)} end of fraction"
        case Gap(unit=unit):
            return f"blank {_UNITS.get(unit, unit)}".strip()
        case Maths(items=items):
            return said(items)
        case Equation(left=left, right=right):
            verb = "is in equilibrium with" if piece.both_ways else "gives"
            return f"{_said_side(left)} {verb} {_said_side(right)}"
        case _:
            assert_never(piece)


def _said_symbol(symbol: Symbol) -> str:
    words = symbol.letter + (f" sub {symbol.subscript}" if symbol.subscript else "")
    inside = " ".join(filter(None, (said_formula(symbol.of) if symbol.of else "", symbol.note)))
    return f"{words} of {inside}" if inside else words


def _said_side(terms: tuple[Term, ...]) -> str:
    return " plus ".join(
        f"{term.coefficient} {_with_state(said_formula(term.formula), term.state)}".strip() for term in terms
    )


def _with_state(words: str, state: str) -> str:
    return f"{words}, {_STATES.get(state, state)}" if state else words


def plain(items: Iterable[Inline | MathsItem]) -> str:
    """The text of a line without any layout, as for a bookmark; fractions on one line."""
    return "".join(_plain(piece) for piece in items)


def _plain(piece: Inline | MathsItem) -> str:
    match piece:
        case Text(text=text):
            return text
        case Amount(quantity=quantity):
            return str(quantity)
        case Chem(formula=formula, state=state):
            return shown_formula(formula) + (f"({state})" if state else "")
        case Symbol(letter=letter, of=of, note=note, subscript=subscript):
            inside = " ".join(filter(None, (shown_formula(of) if of else "", note)))
            return letter + subscript + (f"({inside})" if inside else "")
        case Sign(sign=sign):
            return sign if sign in "()" else f" {sign} "
        case Over(top=top, bottom=bottom):
            return f"{_bracketed(top)}/{_bracketed(bottom)}"
        case Gap(unit=unit):
            return f"…… {unit}".strip()
        case Maths(items=items):
            return plain(items)
        case Equation(left=left, right=right):
            return f"{_plain_side(left)} {piece.arrow} {_plain_side(right)}"
        case _:
            assert_never(piece)


def _bracketed(items: tuple[MathsItem, ...]) -> str:
    text = plain(items).strip()
    return text if len(items) == 1 and not isinstance(items[0], Over) else f"({text})"


def _plain_side(terms: tuple[Term, ...]) -> str:
    return " + ".join(
        (term.coefficient if term.coefficient != "1" else "")
        + shown_formula(term.formula)
        + (f"({term.state})" if term.state else "")
        for term in terms
    )
