"""Words come in; about how wide and tall LaTeX sets them in the small type of its figures goes out. Sets nothing.

LaTeX alone knows the true measures, so pictures name edges and middles, and it puts the words there itself.
"""

from __future__ import annotations

from collections.abc import Iterable
from math import ceil, fsum

from molewright.nodes.drawing.strokes import MM, Words
from molewright.nodes.inline import Gap, Inline, Line, Maths, Over
from molewright.render.letter_widths import ems
from molewright.render.text.lines import plain_line

SIZE, LEADING = 9.0, 11.0  # points; \figuretype of the preamble

_FRACTION = 2.3  # rows that a fraction takes


class SmallType:
    """The measures of a picture that LaTeX will set."""

    @property
    def leading(self) -> float:
        """From line to line."""
        return LEADING

    def width(self, line: Line, bold: bool = False) -> float:
        """Of the line when nothing breaks it."""
        return text_width(_measured(line), bold)

    def widest(self, line: Line, bold: bool = False) -> float:
        """Of the widest word of the line."""
        return max((text_width(word, bold) for word in _measured(line).split(" ")), default=0.0)

    def height(self, words: Words) -> float:
        """Of all their lines."""
        return fsum(self._rows(line, bold, words.width) * LEADING for line, bold in words.lines if line)

    def breaks(self, words: Words) -> bool:
        """Whether a line of theirs may need more than its column holds."""
        return any(self.width(line, bold) > 0.97 * words.width for line, bold in words.lines)

    def said(self, line: Line) -> str:
        """The line as words."""
        return plain_line(line)

    def _rows(self, line: Line, bold: bool, width: float) -> float:
        tall = _FRACTION if any(isinstance(one, Maths) and _has_fraction(one.items) for one in line) else 1.0
        rows, used = 1, 0.0
        space = text_width(" ", bold)
        for word in _measured(line).split(" "):
            wide = text_width(word, bold)
            if used and used + space + wide > width:
                rows, used = rows + 1, 0.0
            used += wide + (space if used else 0.0)
        return rows * tall


def text_width(text: str, bold: bool = False) -> float:
    """About the width of a text in points."""
    return ems(text, bold) * SIZE


def _measured(line: Line) -> str:
    """The line in plain text with as many dots for each blank as fill its width: its unit stands after them."""
    return "".join(map(_as_wide, line))


def _as_wide(inline: Inline) -> str:
    if not isinstance(inline, Gap):
        return plain_line((inline,))
    dots = ceil(inline.width_mm * MM / text_width("."))
    return "." * dots + plain_line((Gap(0.0, inline.unit),)).lstrip(".")


def _has_fraction(items: Iterable[object]) -> bool:
    return any(isinstance(one, Over) for one in items)
