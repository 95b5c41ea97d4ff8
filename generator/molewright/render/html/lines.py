"""Inline nodes come in; a line of HTML goes out, every word of it escaped, working as MathML Core. Knows nothing of blocks."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from typing import assert_never

from molewright.chem.formula_scripts import unicode_text
from molewright.chem.quantity import MINUS, Quantity
from molewright.nodes.inline import (
    Amount,
    Chem,
    Equation,
    Gap,
    Inline,
    Line,
    Maths,
    MathsItem,
    Over,
    Sign,
    Symbol,
    Term,
    Text,
)
from molewright.render.html.escape import escape, words
from molewright.render.html.look import LOOKS, Look
from molewright.render.html.maths import TO_SCROLL, Working, blank, stretches
from molewright.render.letter_widths import ems

_NB = "\N{NO-BREAK SPACE}"


@lru_cache(maxsize=4096)
def formula(text: str, state: str = "") -> str:
    """A formula that never breaks, with its state symbol."""
    return f'<span class="chem">{words(unicode_text(text))}{f"({escape(state)})" if state else ""}</span>'


@lru_cache(maxsize=4096)
def quantity(given: Quantity) -> str:
    """A number and its unit, never parted."""
    return f'<span class="amount">{words(str(given))}</span>'


def gap(node: Gap) -> str:
    """A dotted rule of its width, told as a blank, and its unit."""
    unit = f"{_NB}{words(node.unit.replace(' ', _NB))}" if node.unit else ""
    return f'<span class="amount">{blank(node)}{unit}</span>'


def symbol(node: Symbol) -> str:
    """An italic letter and upright words; breaks between the words only."""
    lowered = f"<sub>{escape(node.subscript)}</sub>" if node.subscript else ""
    within = [*([formula(node.of)] if node.of else []), *([words(node.note)] if node.note else [])]
    inside = f"({' '.join(within)})" if within else ""
    return f"<i>{escape(node.letter)}</i>{lowered}{inside}"


def equation(node: Equation) -> str:
    """Terms that never break; a line may start with a plus or with the arrow."""
    signs = ["", *["+ "] * (len(node.left) - 1), f"{node.arrow} ", *["+ "] * (len(node.right) - 1)]
    terms = zip(signs, (*node.left, *node.right), strict=True)
    return " ".join(f'<span class="chem">{sign}{_term(term)}</span>' for sign, term in terms)


@lru_cache(maxsize=4096)
def _term(term: Term) -> str:
    coefficient = "" if term.coefficient == "1" else term.coefficient
    state = f"({term.state})" if term.state else ""
    return f"{escape(coefficient)}{words(unicode_text(term.formula))}{escape(state)}"


@dataclass(frozen=True, slots=True)
class LineWriter:
    """Writes lines for one sheet; `spoken` are its abbreviations and the words that they stand for."""

    spoken: tuple[tuple[str, str], ...] = ()
    look: Look = LOOKS["usual"]
    _meant: dict[str, str] = field(init=False)
    _abbreviation: re.Pattern[str] | None = field(init=False)

    def __post_init__(self) -> None:
        meant = {short: full for short, full in self.spoken if short and full}
        longest_first = sorted(meant, key=lambda short: (-len(short), short))
        pattern = "|".join(map(re.escape, longest_first))
        object.__setattr__(self, "_meant", meant)
        object.__setattr__(self, "_abbreviation", re.compile(rf"(?<!\w)(?:{pattern})(?!\w)") if meant else None)

    def line(self, nodes: Line) -> str:
        """Inline nodes one after the other."""
        return "".join(map(self.inline, nodes))

    def words(self, text: str) -> str:
        """Escaped text, its abbreviations furnished with what they stand for."""
        if self._abbreviation is None:
            return words(text)
        pieces: list[str] = []
        end = 0
        for found in self._abbreviation.finditer(text):
            full = escape(self._meant[found[0]])
            pieces.append(f'{words(text[end : found.start()])}<abbr title="{full}">{escape(found[0])}</abbr>')
            end = found.end()
        return "".join(pieces) + words(text[end:])

    def inline(self, node: Inline) -> str:
        """One inline node."""
        match node:
            case Text():
                written = self.words(node.text)
                if node.italic:
                    written = f"<i>{written}</i>"
                return f"<b>{written}</b>" if node.bold else written
            case Amount():
                return f"<b>{quantity(node.quantity)}</b>" if node.bold else quantity(node.quantity)
            case Chem():
                return f"<b>{formula(node.formula, node.state)}</b>" if node.bold else formula(node.formula, node.state)
            case Equation():
                return equation(node)
            case Symbol():
                return symbol(node)
            case Gap():
                return gap(node)
            case Maths():
                return self._maths(node)
            case _:
                assert_never(node)

    def _maths(self, node: Maths) -> str:
        """Stretches of working; a new line may start before "="."""
        return " ".join(self._stretch(one) for one in stretches(node.items))

    def _stretch(self, items: Sequence[MathsItem]) -> str:
        wide = _wide(items) > self.look.phone_ems
        if wide and not any(isinstance(one, Over) for one in items):
            return self._in_words(items)
        written = f"<math><mrow>{Working(self.words).row(items)}</mrow></math>"
        return f'<span class="wide" {TO_SCROLL.format("Formula")}>{written}</span>' if wide else written

    def _in_words(self, items: Sequence[MathsItem]) -> str:
        """A long stretch without a fraction as ordinary words, which break where they must."""
        pieces: list[str] = []
        for place, node in enumerate(items):
            match node:
                case Sign(sign=sign):
                    shown = escape(MINUS if sign == "-" else sign)
                    pieces.append(shown if sign in "()" else f" {shown}{_NB}" if place else f"{shown}{_NB}")
                case Over():
                    raise AssertionError("a fraction is no words")
                case Text() | Amount() | Chem() | Symbol() | Gap():
                    pieces.append(self.inline(node))
                case _:
                    assert_never(node)
        return "".join(pieces)


@lru_cache(maxsize=4096)
def _quantity_width(given: Quantity) -> float:
    return ems(str(given), True)


@lru_cache(maxsize=4096)
def _symbol_width(node: Symbol) -> float:
    return ems(f"{node.letter}{node.subscript}({node.of} {node.note})")


def _wide(items: Sequence[MathsItem]) -> float:
    """About the width of a row of working, in sizes of its type."""
    total = 0.0
    for node in items:
        match node:
            case Over():
                total += 0.4 + max(_wide(node.top), _wide(node.bottom))
            case Sign():
                total += 1.1
            case Gap():
                total += node.width_mm / 4.5 + ems(node.unit)
            case Text():
                total += ems(node.text, node.bold)
            case Amount():
                total += _quantity_width(node.quantity)
            case Chem():
                total += ems(node.formula + node.state, node.bold)
            case Symbol():
                total += _symbol_width(node)
            case _:
                assert_never(node)
    return total
