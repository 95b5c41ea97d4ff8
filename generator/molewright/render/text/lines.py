"""Inline nodes come in; plain words go out, and words broken into lines of a given width. Never markup.

A no-break space holds words together while lines are broken and is an ordinary space on the page.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence
from functools import lru_cache
from typing import assert_never

from molewright.chem.formula_scripts import unicode_text
from molewright.chem.units import NO_BREAK
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

COLUMNS = 78
_LOW = {
    **dict(zip("0123456789+-=()", "₀₁₂₃₄₅₆₇₈₉₊₋₌₍₎", strict=True)),
    **dict(zip("aeoxhklmnpstijruv", "ₐₑₒₓₕₖₗₘₙₚₛₜᵢⱼᵣᵤᵥ", strict=True)),
}
_SPACES = str.maketrans(dict.fromkeys("\n\r\t", " ") | {"\N{SOFT HYPHEN}": None, "\N{ZERO WIDTH SPACE}": None})
_TO_TRANSLATE = re.compile("[\n\r\t\N{SOFT HYPHEN}\N{ZERO WIDTH SPACE}]")


def plain_line(nodes: Line) -> str:
    """Inline nodes as words; formulae and units hold together by no-break spaces."""
    return _spaced("".join([_inline(node) for node in nodes]))


def _spaced(text: str) -> str:
    return text.translate(_SPACES) if _TO_TRANSLATE.search(text) else text


def _inline(node: Inline | Sign | Over) -> str:
    match node:
        case Text():
            return node.text
        case Amount():
            return str(node.quantity)
        case Chem():
            return _formula(node.formula, node.state)
        case Equation():
            left, right = (f" +{NO_BREAK}".join(map(_term, side)) for side in (node.left, node.right))
            return f"{left} {node.arrow}{NO_BREAK}{right}"
        case Symbol():
            return _symbol(node)
        case Gap():
            unit = f"{NO_BREAK}{node.unit.replace(' ', NO_BREAK)}" if node.unit else ""
            return "." * max(3, round(node.width_mm / 2.2)) + unit
        case Maths():
            return _row(node.items, breaking=True)
        case Over():
            return _over(node)
        case Sign():
            return node.sign
        case _:
            assert_never(node)


def _formula(formula: str, state: str) -> str:
    return unicode_text(formula) + (f"({state})" if state else "")


def _term(term: Term) -> str:
    coefficient = "" if term.coefficient == "1" else term.coefficient
    return coefficient + _formula(term.formula, term.state)


def _symbol(node: Symbol) -> str:
    low = node.subscript
    if low:
        low = "".join(_LOW[letter] for letter in low) if all(letter in _LOW for letter in low) else f"_{low}"
    within = NO_BREAK.join(
        part for part in (unicode_text(node.of) if node.of else "", node.note.replace(" ", NO_BREAK)) if part
    )
    return f"{node.letter}{low}({within})" if within else f"{node.letter}{low}"


def _row(items: Sequence[MathsItem], *, breaking: bool = False) -> str:
    """Signs with a space on each side, which a line may break at only before "="."""
    pieces: list[str] = []
    for place, node in enumerate(items):
        if not isinstance(node, Sign):
            pieces.append(_inline(node).replace(" ", NO_BREAK))
            continue
        if node.sign in ("(", ")"):
            pieces.append(node.sign)
            continue
        before = items[place - 1] if place else None
        opens = before is None or (isinstance(before, Sign) and before.sign != ")")
        if opens and node.sign != "=":  # a sign of the number, not between two
            pieces.append(node.sign)
            continue
        gap = "" if before is None else " " if node.sign == "=" and breaking else NO_BREAK
        pieces.append(f"{gap}{node.sign}{NO_BREAK}")
    return "".join(pieces)


def _over(node: Over) -> str:
    """(a + b) / c on the line: a side stands bare only where it is one piece without a space in it."""
    return f"{_side(node.top)}{NO_BREAK}/{NO_BREAK}{_side(node.bottom)}"


def _side(row: Sequence[MathsItem]) -> str:
    words = _row(row)
    return words if len(row) == 1 and NO_BREAK not in words else f"({words})"


# ---------------------------------------------------------------- lines of a width


def shown_width(text: str) -> int:
    """Columns that the text takes in a terminal."""
    return len(text) if text.isascii() else sum(map(_columns, text))


@lru_cache(maxsize=1024)
def _columns(letter: str) -> int:
    return 0 if unicodedata.combining(letter) else 2 if unicodedata.east_asian_width(letter) in "WF" else 1


def _pieces(word: str, width: int) -> list[str]:
    """A word cut so that no piece is wider than the line: at its no-break spaces if it has any, else anywhere."""
    if shown_width(word) <= width:
        return [word]
    if NO_BREAK in word:
        return [piece for part in word.split(NO_BREAK) for piece in _pieces(part, width)]
    found, piece = [], ""
    for letter in word:
        if piece and shown_width(piece + letter) > width:
            found.append(piece)
            piece = ""
        piece += letter
    return [*found, piece]


def _broken(text: str, first: int, width: int) -> list[str]:
    """Lines that still hold their no-break spaces, the first of its own width."""
    text = _spaced(text)
    if shown_width(text) <= first:
        return [text] if text.strip(" ") else []
    lines: list[str] = []
    used = 0  # columns of the last line
    for word in text.split(" "):
        room = width if lines else first
        wide = shown_width(word)
        for piece in _pieces(word, max(1, min(first, width))) if wide > room else [word]:
            if not piece:
                continue
            wide = wide if piece is word else shown_width(piece)
            room = first if len(lines) == 1 else width
            if lines and used + 1 + wide <= room:
                lines[-1] += " " + piece
                used += 1 + wide
            else:
                lines.append(piece)
                used = wide
    return lines


def _shown(line: str) -> str:
    return " ".join(line.replace(NO_BREAK, " ").split())


def wrapped(text: str, width: int) -> list[str]:
    """Lines of at most this width, broken at spaces; an empty text gives no line."""
    return [_shown(line) for line in _broken(text, width, width)]


def hung(label: str, text: str, width: int, *, hang: int) -> list[str]:
    """A label, then the text; lines after the first are indented by `hang`."""
    first = max(hang, shown_width(label) + 1)
    lines = [_shown(line) for line in _broken(text, width - first, width - hang)]
    if not lines:
        return [label]
    return [label + " " * (first - shown_width(label)) + lines[0], *(" " * hang + line for line in lines[1:])]


def pushed_right(text: str, width: int) -> list[str]:
    """Lines that end at the right edge."""
    return [" " * (width - shown_width(line)) + line for line in wrapped(text, width)]


def with_at_right(lines: Sequence[str], words: str, width: int) -> list[str]:
    """The lines with words at the right end of the last one, or on a line of their own where there is no room."""
    last = lines[-1] if lines else ""
    room = width - shown_width(last) - shown_width(words)
    if lines and room < 2:
        return [*lines, *pushed_right(words, width)]
    return [*lines[:-1], last + " " * room + words]
