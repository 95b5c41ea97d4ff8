"""A line of a figure comes in; the clear height that it needs above it, so that a hand can write on its blanks, goes out."""

from __future__ import annotations

from molewright.nodes.drawing.strokes import Lettering
from molewright.nodes.inline import Gap, Line, Maths

_CLEAR = 0.45  # of the leading, above a line that is as tall: about 7 mm in all, as between ruled lines


def has_blank(line: Line) -> bool:
    """Whether there is something to fill in."""
    return any(
        isinstance(piece, Gap) or (isinstance(piece, Maths) and any(isinstance(one, Gap) for one in piece.items))
        for piece in line
    )


def room_to_write(line: Line, lettering: Lettering) -> float:
    """What is kept clear above a line with a blank, in points; nothing above any other."""
    return _CLEAR * lettering.leading if has_blank(line) else 0.0
