"""Formulae, quantities, symbols and lines of working come in; boxes with real text go out. Breaks no line.

Spacing follows the usual rules of mathematical typesetting: wide around relations, less around operators, none inside
brackets.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from math import inf
from typing import assert_never

from molewright.nodes.inline import (
    Amount,
    Chem,
    Equation,
    Gap,
    Maths,
    MathsItem,
    Over,
    Sign,
    Symbol,
    Term,
    Text,
)
from molewright.render.pdf.boxes import Box, Spoken, Stroke, moved, row, shrunk, space_box, unbroken_box, word_box
from molewright.render.pdf.fonts import BOLD, ITALIC, REGULAR, TABULAR, WIDE
from molewright.render.pdf.look import AXIS, MM, PUPIL, ROOM, RULE, Style
from molewright.render.pdf.spoken import plain, said, shown_formula

RELATION, OPERATION, THIN = 0.28, 0.22, 0.14  # gaps in ems
_RELATIONS, _OPERATIONS = "=≈→", "×−+÷-"
_SMALLEST = 7.0  # nested fractions stop shrinking here
_LEAST_GAP = 2.5  # ems: four figures by hand
_THIN_SPACE = "\u2009"


def face_of(style: Style, bold: bool = False, italic: bool = False) -> int:
    """The face of a style, made heavier or sloped."""
    if style.wide_set:
        return (BOLD if bold or style.bold else REGULAR) + WIDE
    return (BOLD if bold or style.bold else REGULAR) + (ITALIC if italic else REGULAR)


def amount_box(amount: Amount, style: Style) -> Box:
    """A number and its unit, thin spaces around the multiplication sign."""
    quantity = amount.quantity
    text = str(quantity)
    if quantity.scientific:
        text = text.replace("\u00a0×\u00a0", f"{_THIN_SPACE}×{_THIN_SPACE}")
    return unbroken_box(text, face_of(style, amount.bold) + (TABULAR if style.tabular else 0), style.size)


def chem_box(chem: Chem, style: Style) -> Box:
    """A formula with its state symbol."""
    text = shown_formula(chem.formula) + (f"({chem.state})" if chem.state else "")
    return word_box(text, face_of(style, chem.bold), style.size)


@lru_cache(maxsize=2048)
def symbol_box(symbol: Symbol, style: Style) -> Box:
    """An italic letter, its upright subscript, and in upright brackets what it belongs to."""
    size = style.size
    boxes = [(0.0, word_box(symbol.letter, face_of(style, italic=True), size))]
    if symbol.subscript:
        boxes.append((0.01 * size, word_box(symbol.subscript, face_of(style), round(size * 0.68, 2), -0.16 * size)))
    inside = "\u00a0".join(filter(None, (shown_formula(symbol.of) if symbol.of else "", symbol.note)))
    if inside:
        boxes.append((0.04 * size, word_box(f"({inside})", face_of(style), size)))
    made = row(boxes)
    return boxes[0][1] if len(boxes) == 1 else made


def gap_box(gap: Gap, style: Style, most: float = inf) -> Box:
    """A dotted rule to write on, and the unit after it; where both are wider than may be, the rule is shorter."""
    size = style.size
    width = max(0.0, gap.width_mm) * MM * max(1.0, size / PUPIL.body.size)
    unit = word_box(gap.unit.replace(" ", "\u00a0"), face_of(style), size) if gap.unit else None
    if unit is not None:
        width = max(min(width, most - unit.width - 0.28 * size), min(width, _LEAST_GAP * size))
    rule: Stroke = ("dots", 0.4, -1.6, (max(0.0, width - 0.8),))
    boxes = [(0.0, Box(width, size * 1.15, 0.34 * size, (rule,)))]
    return row(boxes if unit is None else [*boxes, (0.28 * size, unit)])


def equation_boxes(equation: Equation, style: Style) -> list[Box]:
    """The pieces between which an equation may break, in order; the caller puts a space between them and says whose they are."""
    face, size = face_of(style), style.size
    boxes: list[Box] = []
    for before, terms in (("", equation.left), (equation.arrow, equation.right)):
        for index, term in enumerate(terms):
            sign = before if index == 0 else "+"
            boxes.append(word_box(f"{sign}\u00a0{_term_text(term)}" if sign else _term_text(term), face, size))
    return boxes


def _term_text(term: Term) -> str:
    coefficient = "" if term.coefficient == "1" else term.coefficient
    return coefficient + shown_formula(term.formula) + (f"({term.state})" if term.state else "")


def maths_boxes(maths: Maths, style: Style, width: float) -> list[Box]:
    """The line of working as one box if the width allows it, else broken before '=', else before any operator."""
    items = maths.items
    spoken = Spoken(said(items))
    held = [_piece_box(piece, style) for piece in items]
    if len(items) < 2 or _natural(items, held, style) <= width or _overtall(held):
        whole = items_box(items, style, held)
        if whole.up + whole.down > ROOM / 3:  # fractions within fractions without end
            whole = shrunk(whole, whole.width * ROOM / 3 / (whole.up + whole.down))
        if whole.width <= width or len(items) < 2:
            return [whole._replace(spoken=spoken)]

    def set_box(span: slice) -> Box:
        return items_box(items[span], style, held[span])

    spans = _split(items, _RELATIONS, slice(0, len(items)))
    set_boxes = [set_box(span) for span in spans]
    first = set_boxes[0].width + RELATION * style.size
    hang = first if len(spans) > 1 and first < 0.4 * width else 1.6 * style.size
    boxes: list[Box] = []
    for span, box in zip(spans, set_boxes, strict=True):
        fits = box.width + hang <= width
        for part in (box,) if fits else map(set_box, _split(items, _RELATIONS + _OPERATIONS, span)):
            boxes.append(part._replace(spoken=spoken, hang=hang if boxes else 0.0))
    return boxes


def _natural(items: Sequence[MathsItem], held: Sequence[Box], style: Style) -> float:
    """How wide the row of them is when nothing breaks it."""
    x = 0.0
    for gap, box in zip(_gaps(items, style.size), held, strict=True):
        x += gap + box.width if gap else box.width
    return x


def _overtall(held: Sequence[Box]) -> bool:
    return max([box.up for box in held]) + max([box.down for box in held]) > ROOM / 3


def _split(items: Sequence[MathsItem], signs: str, within: slice) -> list[slice]:
    """Cut before each sign that stands outside brackets and is not the first of its piece."""
    pieces: list[slice] = []
    start, depth = within.start, 0
    for index in range(within.start, within.stop):
        piece = items[index]
        if isinstance(piece, Sign):
            depth += (piece.sign == "(") - (piece.sign == ")")
            if piece.sign in signs and depth <= 0 and index > start and not _is_operator(items[index - 1]):
                pieces.append(slice(start, index))
                start = index
    pieces.append(slice(start, within.stop))
    return pieces


def _is_operator(piece: MathsItem) -> bool:
    return isinstance(piece, Sign) and piece.sign in _RELATIONS + _OPERATIONS


def items_box(items: Sequence[MathsItem], style: Style, held: Sequence[Box] = ()) -> Box:
    """Mathematical pieces in a row, spaced; brackets grow with what they hold. `held` are their boxes, where they are made."""
    boxes = list(held) or [_piece_box(piece, style) for piece in items]
    _grow_brackets(items, boxes, style)
    return row(zip(_gaps(items, style.size), boxes, strict=True), space_box(face_of(style), style.size))


def _gaps(items: Sequence[MathsItem], size: float) -> list[float]:
    """The space before each."""
    return [_gap(*around, size) for around in zip((None, None, *items), (None, *items), items, strict=False)]


def _gap(earlier: MathsItem | None, before: MathsItem | None, piece: MathsItem, size: float) -> float:
    """The space between two neighbours. A sign that has nothing to its left (−2) stands close to what follows."""
    if before is None:
        return 0.0
    if isinstance(piece, Sign) and piece.sign in _RELATIONS:
        return RELATION * size
    if isinstance(before, Sign):
        if before.sign in _RELATIONS:
            return RELATION * size
        if before.sign in _OPERATIONS:
            alone = earlier is None or (isinstance(earlier, Sign) and earlier.sign != ")")
            return 0.0 if alone else OPERATION * size
        if before.sign == "(":
            return 0.0
    if isinstance(piece, Sign):
        if piece.sign in _OPERATIONS:
            return OPERATION * size
        return 0.0 if piece.sign == ")" else THIN * size
    if (isinstance(piece, Text) and piece.text[:1] in "  ,;:") or (
        isinstance(before, Text) and before.text[-1:] in "  "
    ):
        return 0.0
    return THIN * size


def _piece_box(piece: MathsItem, style: Style) -> Box:
    match piece:
        case Text(text=text, bold=bold, italic=italic):
            return word_box(text.replace(" ", "\u00a0"), face_of(style, bold, italic), style.size)
        case Amount():
            return amount_box(piece, style)
        case Chem():
            return chem_box(piece, style)
        case Symbol():
            return symbol_box(piece, style)
        case Sign(sign=sign):
            return word_box(sign.replace("-", "−"), face_of(style), style.size)
        case Over():
            return over_box(piece, style)
        case Gap():
            return gap_box(piece, style)
        case _:
            assert_never(piece)


def over_box(over: Over, style: Style) -> Box:
    """A fraction: two rows of real text with a bar on the axis between them; copies as (top)/(bottom)."""
    size = style.size
    inner = style.at_size(max(min(_SMALLEST, size), round(size * 0.94, 2)))
    top, bottom = items_box(over.top, inner), items_box(over.bottom, inner)
    width = max(top.width, bottom.width) + 0.2 * size
    axis = AXIS * size
    above, below = 0.11 * size, 0.2 * size  # figures have no descender, so the lower gap is the larger for equal looks
    side = 0.06 * size
    up, down = axis + RULE / 2 + above + top.down, axis - RULE / 2 - below - bottom.up
    strokes: list[Stroke] = [("says", 0.0, 0.0, (plain((over,)),))]
    strokes += moved(top.strokes, side + (width - top.width) / 2, up)
    strokes += moved(space_box(face_of(inner), inner.size).strokes, side + (width + top.width) / 2, up)
    strokes += moved(bottom.strokes, side + (width - bottom.width) / 2, down)
    strokes += [("bar", side, axis - RULE / 2, (width, RULE)), ("end", 0.0, 0.0, ())]
    return Box(width + 2 * side, up + top.up, bottom.down - down, tuple(strokes))


def _grow_brackets(items: Sequence[MathsItem], boxes: list[Box], style: Style) -> None:
    opened: list[int] = []
    for index, piece in enumerate(items):
        if not isinstance(piece, Sign):
            continue
        if piece.sign == "(":
            opened.append(index)
        elif piece.sign == ")" and opened:
            start = opened.pop()
            inside = boxes[start + 1 : index]
            up = max((box.up for box in inside), default=0.0)
            down = max((box.down for box in inside), default=0.0)
            if up > style.size:
                boxes[start], boxes[index] = (_tall(boxes[at], up, down, style.size) for at in (start, index))


def _tall(bracket: Box, up: float, down: float, size: float) -> Box:
    """A bracket stretched to hold a fraction, its strokes still of about the same weight."""
    top, bottom = 0.845 * size, -0.145 * size  # of the bracket in FiraGO
    stretch = (up + down) / (top - bottom)
    y = -down - bottom * stretch
    strokes: list[Stroke] = []
    for kind, x, _, rest in bracket.strokes:
        strokes.append((kind, x, y, (*rest[:-1], stretch) if kind == "text" else rest))
    return Box(bracket.width, up, down, tuple(strokes))
