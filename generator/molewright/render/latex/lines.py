r"""Inline nodes come in; one line of LaTeX goes out, every word of it escaped. Knows nothing of pages.

Numbers keep the figures they were written with: siunitx gets the digits as text (\qty{0.100}{...}) and rounds nothing.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import assert_never

from molewright.chem.formula_scripts import mhchem
from molewright.chem.quantity import Quantity, mantissa
from molewright.errors import Mistake, shortened
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
from molewright.render.latex.escape import RAISED, escape, escape_plain

_FORMULA = re.compile(r"(?:[A-Za-z0-9()\[\].+-]|\^|\$x\$|\$'\$)+")  # all that may stand inside \ce{...}
_CHARGE = re.compile(r"(?:\^([0-9]*[+-])|([+-]))$")  # MnO4-: the 4 counts atoms
_COEFFICIENT = re.compile(r"[0-9]+(?:/[0-9]+)?")
_HALVES = {"½": "1/2", "¼": "1/4", "¾": "3/4"}
_STATES = ("", "s", "l", "g", "aq")

_UNIT = re.compile(r"[A-Za-zµ%°/ \u00a0·⁰¹²³⁴-⁹⁻]+|m?g/100 mL")
_UNIT_PIECE = re.compile(r"(?P<raised>[⁰¹²³⁴-⁹⁻]+)|(?P<degree>°C)|(?P<micro>µ)|(?P<between>[ \u00a0·]+)|(?P<percent>%)")
_SPACED_SIGNS = {
    "=": "=",
    "×": r"\texttimes{}",
    "\N{MINUS SIGN}": r"\textminus{}",
    "-": r"\textminus{}",
    "+": "+",
    "≈": r"\ensuremath{\approx}",
}


def _unit_piece(piece: re.Match[str]) -> str:
    match piece.lastgroup:
        case "raised":
            return "^{" + "".join(RAISED[letter] for letter in piece[0]).replace("\N{MINUS SIGN}", "-") + "}"
        case "degree":
            return r"\degreeCelsius "
        case "micro":
            return r"\micro "
        case "percent":
            return r"\percent "
        case _:
            return "."


def siunitx_unit(unit: str) -> str | None:
    """The unit in siunitx's writing (mol.dm^{-3}, mol/L), or None where the text is no unit."""
    if not _UNIT.fullmatch(unit):
        return None
    return _UNIT_PIECE.sub(_unit_piece, unit.strip()).strip()


def unit_text(unit: str) -> str:
    """A unit after a rule or a gap; words that are no unit are set as words that stay on the line."""
    if not unit.strip():
        return ""
    written = siunitx_unit(unit)
    return rf"~\unit{{{written}}}" if written else "~" + escape(unit).replace(" ", "~")


def quantity(given: Quantity) -> str:
    r"""\qty or \num with the figures as written: {0.100}, {2.604e-3}."""
    options = ""
    if given.scientific:
        digits, power = mantissa(given.number)
        number = f"{digits}e{power}"
        options = "[print-zero-exponent]" if power == 0 else ""
    else:
        number = format(given.number, "f")
    if not given.unit:
        return rf"\num{options}{{{number}}}"
    return rf"\qty{options}{{{number}}}{{{siunitx_unit(given.unit.text)}}}"


def formula(text: str, state: str = "", coefficient: str = "") -> str:
    r"""\ce{...} for a formula as typed, with coefficient and state symbol where there are any."""
    inside = mhchem(text)
    if not _FORMULA.fullmatch(inside) or "^^" in inside:  # mhchem() has read it as a formula already: the second lock
        raise Mistake(f"the formula {shortened(text)} cannot be printed by LaTeX", expected="a formula such as CaCO3")
    if state not in _STATES:
        raise Mistake(f"the state symbol {shortened(state)} is not known", expected="s, l, g or aq")
    inside = _CHARGE.sub(lambda charge: f"^{{{charge[1] or charge[2]}}}", inside)
    shown = f"({state})" if state else ""
    number = _HALVES.get(coefficient, coefficient)
    if number in ("", "1"):
        return rf"\ce{{{inside}{shown}}}"
    if _COEFFICIENT.fullmatch(number):
        return rf"\ce{{{number} {inside}{shown}}}"
    return rf"\mbox{{\textit{{{escape(coefficient)}}}\,\ce{{{inside}{shown}}}}}"


def _side(terms: Sequence[Term]) -> str:
    return r"\plus".join(formula(term.formula, term.state, term.coefficient) for term in terms)


def _symbol(node: Symbol) -> str:
    letter = rf"\textit{{{escape(node.letter)}}}"
    if node.subscript:
        letter += rf"\textsubscript{{{escape(node.subscript)}}}"
    within = [formula(node.of)] if node.of else []
    if node.note:
        within.append(escape(node.note).replace(" ", "~"))
    return rf"\mbox{{{letter}({'~'.join(within)})}}" if within else letter


def _heights(items: Sequence[MathsItem]) -> set[int]:
    """The places of brackets that have a fraction between them and so are set tall."""
    tall: set[int] = set()
    opened: list[int] = []
    for place, node in enumerate(items):
        if not isinstance(node, Sign):
            continue
        if node.sign == "(":
            opened.append(place)
        elif node.sign == ")" and opened:
            start = opened.pop()
            if any(isinstance(within, Over) for within in items[start:place]):
                tall |= {start, place}
    return tall


@dataclass(frozen=True, slots=True)
class LineWriter:
    """Writes lines for one sheet; `spoken` are its abbreviations and the words that a screen reader says for them."""

    spoken: tuple[tuple[str, str], ...] = ()
    _words: dict[str, str] = field(init=False)
    _abbreviation: re.Pattern[str] | None = field(init=False)

    def __post_init__(self) -> None:
        words = {short: full for short, full in self.spoken if short and full}
        longest_first = sorted(words, key=lambda short: (-len(short), short))
        pattern = "|".join(re.escape(short) for short in longest_first)
        object.__setattr__(self, "_words", words)
        object.__setattr__(self, "_abbreviation", re.compile(rf"(?<!\w)(?:{pattern})(?!\w)") if words else None)

    def line(self, nodes: Line) -> str:
        """Inline nodes one after the other."""
        return "".join(self.inline(node) for node in nodes)

    def words(self, text: str) -> str:
        """Escaped text, its abbreviations furnished with the words to be said for them."""
        if self._abbreviation is None:
            return escape(text)
        pieces: list[str] = []
        end = 0
        for found in self._abbreviation.finditer(text):
            said = escape_plain(self._words[found[0]])
            pieces.append(escape(text[end : found.start()]) + rf"\spoken{{{said}}}{{{escape(found[0])}}}")
            end = found.end()
        return "".join(pieces) + escape(text[end:])

    def inline(self, node: Inline | Sign | Over) -> str:
        """One inline node."""
        match node:
            case Text():
                written = self.words(node.text)
                if node.italic:
                    written = rf"\textit{{{written}}}"
                return rf"\textbf{{{written}}}" if node.bold else written
            case Amount():
                written = rf"\mbox{{{quantity(node.quantity)}}}"
                return rf"\textbf{{{written}}}" if node.bold else written
            case Chem():
                written = formula(node.formula, node.state)
                return rf"\textbf{{{written}}}" if node.bold else written
            case Equation():
                arrow = r"\settles" if node.both_ways else r"\yields"
                return f"{_side(node.left)}{arrow}{_side(node.right)}"
            case Symbol():
                return _symbol(node)
            case Gap():
                return rf"\gap{{{node.width_mm:g}mm}}{{{unit_text(node.unit)}}}"
            case Maths():
                return self._maths(node)
            case Over():
                return self._over(node, nested=False)
            case Sign():
                return self._sign(node, first=False)
            case _:
                assert_never(node)

    def _maths(self, node: Maths) -> str:
        """Stretches of working; between two of them a new line may start before "="."""
        stretches: list[list[MathsItem]] = [[]]
        for piece in node.items:
            if isinstance(piece, Sign) and piece.sign == "=" and stretches[-1]:
                stretches.append([])
            stretches[-1].append(piece)
        return r"\breakhere".join(rf"\unbroken{{{self._row(stretch)}}}" for stretch in stretches)

    def _row(self, items: Sequence[MathsItem], *, nested: bool = False) -> str:
        tall = _heights(items)
        pieces: list[str] = []
        for place, node in enumerate(items):
            if isinstance(node, Sign):
                opens = place > 0 and isinstance(before := items[place - 1], Sign) and before.sign != ")"
                pieces.append(self._sign(node, first=place == 0 or opens, tall=place in tall))
            elif isinstance(node, Over):
                pieces.append(self._over(node, nested=nested))
            else:
                pieces.append(self.inline(node))
        return "".join(pieces)

    def _sign(self, node: Sign, *, first: bool, tall: bool = False) -> str:
        if node.sign in ("(", ")"):
            return {"(": r"\bigopen{}", ")": r"\bigclose{}"}[node.sign] if tall else node.sign
        written = _SPACED_SIGNS.get(node.sign) or escape(node.sign)
        if first:  # a sign that opens has space before it only through what stands there
            return written if node.sign in "-\N{MINUS SIGN}+" else f"{written}~"
        return f"~{written}~"

    def _over(self, node: Over, *, nested: bool) -> str:
        command = "smallfraction" if nested else "fraction"
        top, bottom = (self._row(row, nested=True) for row in (node.top, node.bottom))
        return rf"\{command}{{{top}}}{{{bottom}}}"
