"""The running matter of a page comes out as content: header, code, page n of N, "Turn over". All of it artifacts."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

from molewright.nodes.blocks import Sheet
from molewright.nodes.inline import Line, Text
from molewright.render.pdf.lines import natural_width, set_line
from molewright.render.pdf.look import (
    COLUMN,
    FOOTER_BASELINE,
    HEADER_DOWN,
    LEFT,
    PAGE_HEIGHT,
    PAGE_WIDTH,
    PUPIL_LOOKS,
    WIDE_COLUMN,
    Style,
)

_SMALL = Style(9.0, 11.0)
_CODE = Style(10.0, 12.0)
_LARGEST = 1.7  # times as large as usual: what the margins hold


def running_matter(sheet: Sheet, number: int, count: int) -> list[str]:
    """Header and footer of page `number` of `count`."""
    scale = min(_LARGEST, PUPIL_LOOKS[sheet.look].scale)
    small, code = _SMALL.scaled(scale), _CODE.scaled(scale)
    third = (WIDE_COLUMN if sheet.wide else COLUMN) / 3
    top = (PAGE_WIDTH if sheet.wide else PAGE_HEIGHT) - HEADER_DOWN
    header = _line(sheet.header, small, LEFT, 2 * third, top, "left")
    header += _line(sheet.version, small.heavier(), LEFT + 2 * third, third, top, "right")
    footer = _line(sheet.code, code, LEFT, third, FOOTER_BASELINE, "left")
    if sheet.turn_over and number % 2 and number < count:
        footer += _line("Turn over", code.heavier(), LEFT + third, third, FOOTER_BASELINE, "centre")
    pages = f"page {number} of {count}"
    footer += _line(pages, small, LEFT + 2 * third, third, FOOTER_BASELINE, "right")
    return [*_artifact("Header", header), *_artifact("Footer", footer)]


def blank_page() -> list[str]:
    """What stands on a page that is only there so that the next sheet begins on a right-hand one."""
    said = _line("This page is blank.", _SMALL, LEFT, COLUMN, PAGE_HEIGHT / 2, "centre")
    return ["/Artifact BMC", *said, "EMC"]


def _artifact(subtype: str, content: Sequence[str]) -> list[str]:
    if not content:
        return []
    return [f"/Artifact <</Type /Pagination /Subtype /{subtype}>> BDC", *content, "EMC"]


@lru_cache(maxsize=256)
def _line(text: str, style: Style, x: float, width: float, baseline: float, align: str) -> tuple[str, ...]:
    """One line, smaller if it must be; a text far too long for its place loses its end, never its place."""
    if not text.strip():
        return ()
    line: Line = (Text(text),)
    share = width / natural_width(line, style)
    if share < 1.0:
        style = style.at_size(round(max(6.5, style.size * share - 0.05), 1))
    for chunk in set_line(line, style, width, align, (), True)[:1]:
        inner = "\n".join(segment.content for segment in chunk.segments.written)
        return (f"q 1 0 0 1 {x:.2f} {baseline + chunk.first:.2f} cm\n{inner}\nQ",)
    return ()
