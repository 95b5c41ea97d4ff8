"""Burettes and curves come in; TikZ pictures in LaTeX go out, in black and white only. Measures in millimetres."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from molewright.nodes.figures import BuretteFigure, BuretteView, CurveFigure, CurveMark
from molewright.nodes.inline import Line, Text
from molewright.render.label_places import PlotArea, label_places
from molewright.render.latex.escape import escape_plain
from molewright.render.latex.lines import LineWriter, unit_text
from molewright.render.scales import axis_numbers, axis_unit, grid, told_burette, told_curve, window
from molewright.render.text.lines import plain_line, shown_width

_ROW_MOST = 4
_TENTH, _TUBE, _CELL, _OVER = 2.5, 15.0, 40.0, 2.5
_LINES = {"short": 0.36, "middle": 0.5, "long": 0.64}
_RISE, _THICK = 1.8, 0.75
_DOTS_EVERY = 2.1
_WIDE, _TALL, _NARROWER, _WORDS_MOST = 122.0, 80.0, 105.0, 32.0
_ARM = 0.9  # of a cross, along both axes
_LETTER, _ROW, _CLEAR = 1.6, 4.2, 1.0  # about what a letter and a row of small type take


def _described(words: str, picture: str) -> str:
    return f"\\leavevmode\\figureinwords{{{escape_plain(words)}}}{{%\n{picture}}}"


# ---------------------------------------------------------------- burettes


def burettes(node: BuretteFigure, writer: LineWriter) -> str:
    """Burettes seen close, side by side, up to four in a row."""
    if not node.views:
        return ""
    lines = [r"\begin{tikzpicture}[x=1mm, y=-1mm, font=\small]"]
    tall = 10 * _TENTH * float(window(Decimal(1)).bottom - window(Decimal(1)).top) + 2 * _OVER
    for place, view in enumerate(node.views):
        row, column = divmod(place, _ROW_MOST)
        lines += _burette(view, node.unit, column * _CELL, row * (tall + 14), tall, writer)
    words = node.alt or told_burette(node, [plain_line(view.label) for view in node.views])
    return _described(words, "\n".join([*lines, r"\end{tikzpicture}"]))


def _burette(view: BuretteView, unit: str, x: float, y: float, tall: float, writer: LineWriter) -> list[str]:
    piece = window(view.reading)
    right, foot = x + _TUBE, y + tall

    def depth(value: Decimal) -> float:
        return y + _OVER + 10 * _TENTH * float(value - piece.top)

    lines = [
        rf"  \node[anchor=south, align=center, text width={_CELL - 4:g}mm, font=\small\bfseries]"
        rf" at ({x + _TUBE / 2:.2f},{y - 2.5:.2f}) {{{writer.line(view.label)}}};",
        rf"  \node[anchor=west] at ({right + 0.5:.2f},{y:.2f}) {{{unit_text(unit)}}};",
    ]
    level = depth(view.reading)
    lines += _liquid(x, level, foot)
    for division in piece.divisions():
        at, reach = depth(division.value), right - _LINES[division.length] * _TUBE
        weight = 0.6 if division.length == "short" else 0.9
        lines.append(rf"  \draw[line width={weight}pt] ({right:.2f},{at:.2f}) -- ({reach:.2f},{at:.2f});")
        if division.number:
            lines.append(rf"  \node[anchor=west] at ({right + 0.5:.2f},{at:.2f}) {{{division.number}}};")
    lines.append(_meniscus(x, right, level))
    walls = f"({x:.2f},{y:.2f}) -- ({x:.2f},{foot:.2f}) ({right:.2f},{y:.2f}) -- ({right:.2f},{foot:.2f})"
    return [*lines, rf"  \draw[line width=0.9pt] {walls};"]


def _liquid(left: float, level: float, foot: float) -> list[str]:
    dots: list[str] = []
    y, row = level + 0.6 * _DOTS_EVERY, 0
    while y < foot - 0.4:
        x = left + _DOTS_EVERY * (0.5 + 0.5 * (row % 2))
        while x < left + 0.34 * _TUBE:
            dots.append(f"({x:.2f},{y:.2f}) circle[radius=0.16mm]")
            x += _DOTS_EVERY
        y, row = y + 0.55 * _DOTS_EVERY, row + 1
    return [rf"  \fill {' '.join(dots)};"] if dots else []


def _meniscus(left: float, right: float, level: float) -> str:
    """A dark crescent whose lower edge touches the reading in the middle of the tube."""
    rise = level - _RISE
    low, high = (level - 0.25 * rise) / 0.75, (level - _THICK - 0.25 * rise) / 0.75
    near, far = left + 0.22 * _TUBE, right - 0.22 * _TUBE
    return (
        rf"  \fill ({left:.2f},{rise:.2f}) .. controls ({near:.2f},{low:.2f}) and ({far:.2f},{low:.2f}) .."
        rf" ({right:.2f},{rise:.2f}) .. controls ({far:.2f},{high:.2f}) and ({near:.2f},{high:.2f}) .."
        rf" ({left:.2f},{rise:.2f});"
    )


# ---------------------------------------------------------------- curves


def curve(node: CurveFigure, writer: LineWriter) -> str:
    """A curve on squared paper, or blank axes to sketch on."""
    paper = PlotArea(node, _NARROWER if node.bands else _WIDE, _TALL)
    lines = [r"\begin{tikzpicture}[x=1mm, y=-1mm, font=\small]"]
    lines += [_band(paper, place, writer) for place in range(len(node.bands))]
    lines += _grid(paper)
    lines.append(rf"  \draw[line width=1.2pt] (0,-1.5) -- (0,{paper.tall:g}) -- ({paper.wide + 1.5:g},{paper.tall:g});")
    lines += [_stretched(paper, points, "1.5pt") for points in (node.points,) if points]
    lines += [_stretched(paper, points, "0.9pt") for points in node.lines if points]
    lines += _crosses(paper)
    lines += [_mark(paper, mark) for mark in node.marks]
    lines += _numbers(paper, writer)
    lines += _labels(paper, writer)
    names = (
        plain_line(_title(node.across.name, axis_unit(node.across))),
        plain_line(_title(node.up.name, axis_unit(node.up))),
    )
    labels = [mark.label for mark in node.marks] + [band.label for band in node.bands]
    said = {label: plain_line(label) for label in labels}
    words = node.alt or told_curve(node, *names, said)
    return _described(words, "\n".join([*lines, r"\end{tikzpicture}"]))


def _stretched(paper: PlotArea, points: Sequence[tuple[float, float]], weight: str) -> str:
    """A line from point to point that does not leave the paper."""
    path = " -- ".join(f"({paper.x(x):.2f},{paper.y(y):.2f})" for x, y in points)
    return (
        rf"  \begin{{scope}}\clip (0,0) rectangle ({paper.wide:g},{paper.tall:g});"
        rf" \draw[line width={weight}, line join=round] {path};\end{{scope}}"
    )


def _crosses(paper: PlotArea) -> list[str]:
    """The readings as slanting crosses: upright ones would be lost among the paper's lines."""
    strokes: list[str] = []
    for across, up in paper.node.crosses:
        x, y = paper.x(float(across)), paper.y(float(up))
        left, right, top, foot = x - _ARM, x + _ARM, y - _ARM, y + _ARM
        strokes.append(f"({left:.2f},{top:.2f}) -- ({right:.2f},{foot:.2f})")
        strokes.append(f"({left:.2f},{foot:.2f}) -- ({right:.2f},{top:.2f})")
    return [rf"  \draw[line width=0.9pt] {' '.join(strokes)};"] if strokes else []


def _title(name: Line, unit: str) -> Line:
    return (*name, Text(unit)) if unit else name


def _grid(paper: PlotArea) -> list[str]:
    upright = [
        (f"({paper.x(v):.2f},0) -- ({paper.x(v):.2f},{paper.tall:g})", bold) for v, bold in grid(paper.node.across)
    ]
    level = [(f"(0,{paper.y(v):.2f}) -- ({paper.wide:g},{paper.y(v):.2f})", bold) for v, bold in grid(paper.node.up)]
    found: list[str] = []
    for wanted, look in ((False, "line width=0.5pt, dash pattern=on 0.45pt off 2.4pt"), (True, "line width=0.5pt")):
        paths = [path for path, bold in (*upright, *level) if bold == wanted]
        found += [rf"  \draw[{look}] {' '.join(paths)};"] if paths else []
    return found


def _numbers(paper: PlotArea, writer: LineWriter) -> list[str]:
    node = paper.node
    lines = [
        rf"  \node[anchor=east] at (-0.5,{paper.y(value):.2f}) {{{text}}};" for value, text in axis_numbers(node.up)
    ]
    lines += [
        rf"  \node[anchor=north] at ({paper.x(value):.2f},{paper.tall + 0.5:.2f}) {{{text}}};"
        for value, text in axis_numbers(node.across)
    ]
    up, across = (writer.line(_title(axis.name, axis_unit(axis))) for axis in (node.up, node.across))
    lines.append(rf"  \node[anchor=south] at (0,-3) {{{up}}};")
    lines.append(rf"  \node[anchor=north east, inner sep=0pt] at ({paper.wide:g},{paper.tall + 6.5:.2f}) {{{across}}};")
    return lines


def _band(paper: PlotArea, place: int, writer: LineWriter) -> str:
    band = paper.node.bands[place]
    high, low = paper.y(band.high), paper.y(band.low)
    pattern = "north east lines" if place % 2 == 0 else "north west lines"  # neighbours lean to different sides
    return (
        rf"  \draw[pattern={pattern}] (0,{low:.2f}) rectangle ({paper.wide:g},{high:.2f});"
        rf" \node[anchor=west, text width={_WORDS_MOST:g}mm] at ({paper.wide + 0.5:g},{(low + high) / 2:.2f})"
        rf" {{{writer.line(band.label)}}};"
    )


def _mark(paper: PlotArea, mark: CurveMark) -> str:
    x, y = paper.x(mark.x), paper.y(mark.y)
    if mark.to_y is not None:
        return rf"  \draw[<->, line width=0.9pt] ({x:.2f},{y:.2f}) -- ({x:.2f},{paper.y(mark.to_y):.2f});"
    return (
        rf"  \draw[line width=0.9pt, dash pattern=on 3pt off 2pt] (0,{y:.2f}) -- ({x:.2f},{y:.2f}) --"
        rf" ({x:.2f},{paper.tall:g}); \fill ({x:.2f},{y:.2f}) circle[radius=0.7mm];"
    )


def _labels(paper: PlotArea, writer: LineWriter) -> list[str]:
    marks = paper.node.marks
    sizes = [_size(mark.label, 0.45 * paper.wide) for mark in marks]
    return [
        rf"  \node[anchor=north west, fill=white, inner sep=0.4mm, align=left, text width={room.wide:.2f}mm]"
        rf" at ({room.x:.2f},{room.y:.2f}) {{{writer.line(mark.label)}}};"
        for mark, room in zip(marks, label_places(paper, sizes, _CLEAR), strict=True)
    ]


def _size(label: Line, most: float) -> tuple[float, float]:
    """About how wide and tall words are in small type."""
    wide = shown_width(plain_line(label)) * _LETTER + 1.0
    rows: Sequence[int] = range(1 + int(wide / most))
    return min(wide, most), len(rows) * _ROW
