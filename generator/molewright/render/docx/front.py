"""The head of a paper comes in; the lines of it go out: school, title, topic, fields to fill in, time and marks."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import fsum
from typing import NamedTuple

from molewright.nodes.blocks import FrontBlock
from molewright.render.docx.lettering import BOLD
from molewright.render.docx.lines import TAB, written
from molewright.render.docx.look import PageLook
from molewright.render.docx.markup import twips

_IN_A_ROW = 3
_LEAST_RULE = 60.0  # to write on, in points
_BETWEEN = 12.0  # two fields
_ABOVE_A_COVER = 54.0


class FrontLine(NamedTuple):
    """One paragraph of it: style, runs, further properties."""

    style: str
    content: str
    more: str = ""


def front_lines(node: FrontBlock, look: PageLook) -> Iterator[FrontLine]:
    """The lines in order; rules to follow come after them."""
    space = f'<w:spacing w:before="{twips(_ABOVE_A_COVER)}" w:after="{twips(28)}"/>' if node.cover else ""
    if node.above:
        yield FrontLine("School", written(node.above), space)
    yield FrontLine("heading 1", written(node.title), "" if node.above else space)
    if node.subtitle:
        yield FrontLine("Topic", written(node.subtitle))
    filled = dict(node.filled)
    names = [*dict.fromkeys((*filled, *node.fields))]
    for row in [[name] for name in names] if node.cover else _rows(names, look):
        yield _fields(row, filled, look)
    if node.time or node.marks:
        marks = f"{node.marks} marks in all" if node.marks.isdecimal() else node.marks
        yield FrontLine("Time and marks", written(node.time) + (TAB + written(marks) if marks else ""))


def _rows(names: Sequence[str], look: PageLook) -> list[list[str]]:
    """Three fields side by side, fewer where a label leaves no room to write."""
    rows: list[list[str]] = []
    for name in names:
        row = [*rows[-1], name] if rows else [name]
        least = _LEAST_RULE * look.type.scale
        if (
            rows
            and len(row) <= _IN_A_ROW
            and all(_label(one, look) + least <= wide for one, wide in zip(row, _widths(len(row), look), strict=True))
        ):
            rows[-1] = row
        else:
            rows.append([name])
    return rows


def _label(name: str, look: PageLook) -> float:
    return look.type.body.size * look.ems(f"{name} ")


def _widths(count: int, look: PageLook) -> list[float]:
    """The first takes as much as two others."""
    share = (look.column - _BETWEEN * (count - 1)) / (count + 1 if count > 1 else 1)
    return [share * 2 if place == 0 and count > 1 else share for place in range(count)]


def _fields(row: Sequence[str], filled: dict[str, str], look: PageLook) -> FrontLine:
    """Labels, each with a dotted rule behind it, or with what is filled in and a rule for the rest."""
    stops: list[str] = []
    content: list[str] = []
    left = 0.0
    for place, (name, wide) in enumerate(zip(row, _widths(len(row), look), strict=True)):
        given = filled.get(name, "")
        used = _label(name, look) + look.type.body.size * look.ems(f"{given} ", BOLD)
        content += [written(f"{name} "), written(given, True)]
        if used < wide - 10:  # a name that fills its field needs no rule
            content.append(TAB)
            stops.append(f'<w:tab w:val="left" w:leader="dot" w:pos="{twips(left + wide)}"/>')
        left = fsum((left, wide, _BETWEEN))
        if place + 1 < len(row):
            content.append(TAB)
            stops.append(f'<w:tab w:val="left" w:pos="{twips(left)}"/>')
    return FrontLine("Fields", "".join(content), f"<w:tabs>{''.join(stops)}</w:tabs>")
