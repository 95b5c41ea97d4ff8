"""Blocks come in; slabs ready to be put on pages go out. One function a kind of block; places no slab on a page."""

from __future__ import annotations

from collections.abc import Iterable
from typing import assert_never

from molewright.nodes.blocks import (
    Block,
    ClosingLine,
    ElementTable,
    FrontBlock,
    Heading,
    Holder,
    Items,
    NewPage,
    Note,
    Paragraph,
    Part,
    QuestionBlock,
    Table,
    Together,
    Working,
)
from molewright.nodes.figures import BarFigure, BuretteFigure, CountChart, CurveFigure, FlowFigure
from molewright.nodes.inline import Line, Text
from molewright.render.pdf.content import bar
from molewright.render.pdf.elements import element_table
from molewright.render.pdf.figures import figure_slabs
from molewright.render.pdf.front import closing_line, front_block
from molewright.render.pdf.look import HAIRLINE, MM, ROOM
from molewright.render.pdf.questions import part, question_block, working
from molewright.render.pdf.slabs import Mark, Slab, Tie, height, tied
from molewright.render.pdf.spoken import plain
from molewright.render.pdf.tables import table
from molewright.render.pdf.tags import Element
from molewright.render.pdf.typesetting import Place, Typesetting, artifact, slabs_of, spaced

_FRAME_SIDE = 6.0  # between a frame and the words in it


def lay(blocks: Iterable[Block], setting: Typesetting, place: Place) -> list[Slab]:
    """The slabs of blocks in order; a heading holds on to what follows it, a NewPage forces the next slab over."""
    slabs: list[Slab] = []
    held = forced = False
    for block in blocks:
        if isinstance(block, NewPage):
            forced = True
            continue
        made = _laid(block, setting, place)
        if not made:
            continue
        if held:
            made[0].tie = max(made[0].tie, Tie.HELD)
        if forced:
            made[0].tie = Tie.FORCED
        held, forced = isinstance(block, Heading), False
        slabs += made
    return slabs


def _heading(block: Heading, setting: Typesetting, place: Place) -> list[Slab]:
    style = setting.look.headings[block.level - 1]
    chunks = setting.lines(block.line, style, place.width)
    slabs = slabs_of(chunks, place.owner.child(f"H{block.level}"), place.x)
    tied(slabs)
    spaced(slabs, (8.0, 14.0, 10.0)[block.level - 1], (8.0, 5.0, 3.0)[block.level - 1])
    if slabs and block.level <= 2:
        slabs[0].bookmarks = ((block.level - 1, plain(block.line)),)
    return slabs


def _paragraph(block: Paragraph, setting: Typesetting, place: Place) -> list[Slab]:
    look = setting.look
    indent = min(max(0.0, block.indent_mm) * MM, place.width * 0.6)
    x, width = place.x + indent, place.width - indent
    element = place.owner.child("P")
    if block.tone == "caution":
        return _framed(block, setting, x, width, element)
    style = {"note": look.small, "lead": look.body.heavier()}.get(block.tone, look.body)
    align = "centre" if block.tone == "centred" else "left"
    slabs = slabs_of(setting.lines(block.line, style, width, align), element, x)
    return spaced(slabs, 0.0, look.after)


def _framed(block: Paragraph, setting: Typesetting, x: float, width: float, element: Element) -> list[Slab]:
    """Small text in a ruled frame, open where the text runs over a page."""
    chunks = setting.lines(block.line, setting.look.small, width - 2 * _FRAME_SIDE)
    slabs = slabs_of(chunks, element, x + _FRAME_SIDE)
    return spaced(_in_a_frame(slabs, x, width), 4.0, setting.look.after + 2)


def _in_a_frame(slabs: list[Slab], x: float, width: float) -> list[Slab]:
    """The slabs with a ruled frame about them all, and no space between them."""
    for index, slab in enumerate(slabs):
        first, last = index == 0, index == len(slabs) - 1
        top, bottom = (4.5 if first else 0.0), (5.0 if last else 0.0)
        slab.marks = [mark._replace(y=mark.y + top) for mark in slab.marks]
        slab.height += top + bottom
        slab.first = None if slab.first is None else slab.first + top
        sides = [
            bar(0, -slab.height, HAIRLINE, slab.height),
            bar(width - HAIRLINE, -slab.height, HAIRLINE, slab.height),
        ]
        ends = [bar(0, -HAIRLINE, width, HAIRLINE)] * first + [bar(0, -slab.height, width, HAIRLINE)] * last
        slab.marks.insert(0, artifact(x, 0.0, "\n".join(sides + ends)))
    return slabs


def _note(block: Note, setting: Typesetting, place: Place) -> list[Slab]:
    """A title and short lines in a frame, on one page if one page can hold them."""
    style = setting.look.body
    x, width = place.x + _FRAME_SIDE, place.width - 2 * _FRAME_SIDE
    slabs = slabs_of(setting.lines(block.title, style.heavier(), width), place.owner.child("P"), x)
    slabs += _pointed(block.lines, "\N{EN DASH}", setting, place._replace(x=x, width=width))
    tied(slabs)
    return spaced(_in_a_frame(slabs, place.x, place.width), 2.0, setting.look.after + 2)


def _items(block: Items, setting: Typesetting, place: Place) -> list[Slab]:
    return spaced(_pointed(block.lines, "•", setting, place, 2.0), 0.0, setting.look.after)


def _pointed(lines: tuple[Line, ...], sign: str, setting: Typesetting, place: Place, below: float = 0.0) -> list[Slab]:
    """A list whose points have a sign before them."""
    style = setting.look.body
    indent = 1.35 * style.size
    bullet = setting.lines((Text(sign),), style, indent)[0].segments
    whole = place.owner.child("L")
    slabs: list[Slab] = []
    for line in lines:
        point = whole.child("LI")
        chunks = setting.lines(line, style, place.width - indent)
        made = slabs_of(chunks, point.child("LBody"), place.x + indent)
        if made:
            label = made[0].first or 0.0
            made[0].marks.insert(0, Mark(point.child("Lbl"), place.x, label - style.baseline, bullet))
            slabs += spaced(made, 0.0, below)
    return slabs


def _together(block: Together, setting: Typesetting, place: Place) -> list[Slab]:
    slabs = lay(block.blocks, setting, place)
    if height(slabs) <= min(place.room, ROOM):
        tied(slabs)
    return slabs


def _laid(block: Block, setting: Typesetting, place: Place) -> list[Slab]:
    match block:
        case Heading():
            return _heading(block, setting, place)
        case Paragraph():
            return _paragraph(block, setting, place)
        case Items() | Note():
            return _items(block, setting, place) if isinstance(block, Items) else _note(block, setting, place)
        case Table():
            return table(block, setting, place)
        case Working():
            return working(block, setting, place)
        case Part() | Together() | QuestionBlock():
            return _holder(block, setting, place)
        case FlowFigure() | BarFigure() | CountChart() | BuretteFigure() | CurveFigure():
            return figure_slabs(block, setting, place)
        case FrontBlock():
            return front_block(block, setting, place)
        case ClosingLine():
            return closing_line(block, setting, place)
        case ElementTable():
            return element_table(block, setting, place)
        case NewPage():
            return []  # it forces the next block over, and takes no room itself
        case _:
            assert_never(block)


def _holder(block: Holder, setting: Typesetting, place: Place) -> list[Slab]:
    match block:
        case Part():
            return part(block, setting, place)
        case Together():
            return _together(block, setting, place)
        case QuestionBlock():
            return question_block(block, setting, place)
        case _:
            assert_never(block)
