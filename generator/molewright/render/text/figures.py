"""Burettes and curves come in; lines of plain text that tell the same go out. Never the reading that a pupil must find."""

from __future__ import annotations

from collections.abc import Sequence

from molewright.nodes.drawing.scales import axis_unit, readings, standing, told_line, written
from molewright.nodes.figures import Axis, BuretteFigure, CurveFigure
from molewright.render.text.lines import hung, plain_line, shown_width, wrapped


def burettes(node: BuretteFigure, width: int) -> list[str]:
    """Where each meniscus stands, by the lines of the scale."""
    if not node.views:
        return []
    lines = hung(
        "Figure:",
        f"burette seen close, its scale numbered downwards, ten divisions to 1\N{NO-BREAK SPACE}{node.unit}",
        width,
        hang=2,
    )
    if node.alt:
        lines = hung("Figure:", node.alt, width, hang=2)
    for view in node.views:
        words = f"the bottom of the meniscus is {standing(view.reading)}."
        lines += hung(f"{plain_line(view.label) or 'Burette'}:", words, width, hang=2)
    return lines


def curve(node: CurveFigure, width: int) -> list[str]:
    """The axes, then the curve as a table of values, then what is marked on it."""
    across, up = (plain_line(axis.name) + axis_unit(axis) for axis in (node.across, node.up))
    kind = "curve" if node.points else "plotted points" if node.crosses else "blank axes to draw on"
    lines = hung("Figure:", node.alt or f"{kind}: {up} against {across}", width, hang=2)
    if not node.points:
        lines += hung("Across:", _ends(node.across, across), width, hang=2)
        lines += hung("Upwards:", _ends(node.up, up), width, hang=2)
    lines += _rows(node, [(str(x), str(y)) for x, y in node.crosses], width)
    lines += _rows(node, readings(node, every=True), width)
    for drawn in node.lines:
        lines += hung("Drawn:", told_line(drawn), width, hang=2) if drawn else []
    for band in node.bands:
        lines += hung(
            f"{plain_line(band.label)}:", f"strip from {written(band.low)} to {written(band.high)}", width, hang=2
        )
    for mark in node.marks:
        lines += hung("Marked:", plain_line(mark.label), width, hang=2)
    return lines


def _rows(node: CurveFigure, pairs: Sequence[tuple[str, str]], width: int) -> list[str]:
    """Pairs of numbers in two rows, as many pairs beside each other as there is room for."""
    lines: list[str] = []
    cell = max((len(text) for pair in pairs for text in pair), default=1) + 1
    heads = [axis.unit or plain_line(axis.name) for axis in (node.across, node.up)]
    head = min(max(map(shown_width, heads)), width // 3)
    count = max(1, (width - head - 2) // cell)
    for start in range(0, len(pairs), count):
        row = pairs[start : start + count]
        for place, words in enumerate(heads):
            name = (wrapped(words, head) or [""])[0]
            lines.append(
                name + " " * (head - shown_width(name)) + " |" + "".join(pair[place].rjust(cell) for pair in row)
            )
    return lines


def _ends(axis: Axis, name: str) -> str:
    return f"{name}, from {axis.low} to {axis.high}, numbered every {axis.step}"
