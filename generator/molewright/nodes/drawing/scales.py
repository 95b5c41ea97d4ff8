"""Burettes and curves come in; the lines of their scales and the words that tell them go out. Draws nothing.

The words say where a meniscus stands by counting lines, never the reading: who hears them reads the scale as others do.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Iterable
from decimal import ROUND_HALF_UP, Decimal
from typing import Literal, NamedTuple

from molewright.chem.units import Unit
from molewright.nodes.figures import Axis, BuretteFigure, CurveFigure
from molewright.nodes.inline import Line, Text

_SPOKEN = {unit.text: unit.spoken for unit in Unit}
_TENTH = Decimal("0.1")
_FULL = 50  # cm³ that a burette is marked to
_ORDINALS = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth")
_STEEP = 0.8  # a change that is worth a value of its own in the words of a curve

Length = Literal["short", "middle", "long"]


class Division(NamedTuple):
    """One line of a burette's scale: its value, how long it is, and the number beside it or ""."""

    value: Decimal
    length: Length
    number: str


class Window(NamedTuple):
    """The piece of a burette that is seen, in cm³ from top to bottom; always with two numbered lines or the first one."""

    top: Decimal
    bottom: Decimal

    def divisions(self) -> list[Division]:
        """Its lines, from the top down; none above zero and none below the last."""
        first, last = max(0, _tenths(self.top)), min(10 * _FULL, _tenths(self.bottom))
        return [_division(tenths) for tenths in range(first, last + 1)]


def _tenths(value: Decimal) -> int:
    return int(value * 10)


def _division(tenths: int) -> Division:
    length: Length = "long" if tenths % 10 == 0 else "middle" if tenths % 5 == 0 else "short"
    return Division(tenths * _TENTH, length, str(tenths // 10) if length == "long" else "")


def window(reading: Decimal) -> Window:
    """Two cubic centimetres round a reading, placed by the numbered lines so that it does not tell the reading."""
    whole = Decimal(int(reading))
    top = whole - (Decimal("0.7") if reading - whole < Decimal("0.5") else Decimal("0.2"))
    return Window(top, top + 2)


def standing(reading: Decimal) -> str:
    """Where the bottom of a meniscus stands, by the lines of the scale: "midway between ..."."""
    whole = int(reading)
    tenths, rest = divmod((reading - whole) * 10, 1)
    above = int(tenths)
    if not rest:
        return f"level with {_line(whole, above)}"
    where = "midway between" if rest == Decimal("0.5") else "between"
    if 0 < above < 9:
        return f"{where} the {_ORDINALS[above - 1]} and the {_ORDINALS[above]} line below the line numbered {whole}"
    if not above:
        return f"{where} the line numbered {whole} and the first line below it"
    return f"{where} {_line(whole, above)} and the line numbered {whole + 1}"


def _line(whole: int, small: int) -> str:
    numbered = f"the line numbered {whole}"
    return f"the {_ORDINALS[small - 1]} line below {numbered}" if small else numbered


def told_burette(node: BuretteFigure, words: Iterable[str]) -> str:
    """A burette figure in one paragraph; `words` are what stands above each burette."""
    each = "; ".join(
        f"{label or 'burette'}: the bottom of the meniscus is {standing(view.reading)}"
        for label, view in zip(words, node.views, strict=True)
    )
    return f"Burette seen close, its scale numbered downwards, ten divisions to 1 {node.unit}. {each}."


# ---------------------------------------------------------------- axes and curves


def axis_numbers(axis: Axis) -> list[tuple[float, str]]:
    """The numbered places of an axis, from low to high, as it writes them."""
    count = int((axis.high - axis.low) / axis.step)
    return [(float(axis.low + place * axis.step), str(axis.low + place * axis.step)) for place in range(count + 1)]


def grid(axis: Axis) -> list[tuple[float, bool]]:
    """Every line of the paper across an axis, and whether it belongs to a number."""
    count = int((axis.high - axis.low) / axis.step) * axis.divided
    low, step = float(axis.low), float(axis.step) / axis.divided
    return [(low + place * step, place % axis.divided == 0) for place in range(count + 1)]


def axis_unit(axis: Axis) -> str:
    """What follows the name of an axis: quantity / unit."""
    return f" / {axis.unit.replace(' ', chr(0xA0))}" if axis.unit else ""


def axis_title(axis: Axis) -> Line:
    """What stands beside an axis."""
    unit = axis_unit(axis)
    return (*axis.name, Text(unit)) if unit else axis.name


def value_at(points: tuple[tuple[float, float], ...], x: float) -> float:
    """The height of a curve at a place, straight between two of its points."""
    after = min(max(1, bisect_left(points, (x,))), len(points) - 1)
    (x0, y0), (x1, y1) = points[after - 1], points[after]
    return y0 if x1 == x0 else y0 + (y1 - y0) * (x - x0) / (x1 - x0)


def written(value: float, places: int = 1) -> str:
    """A value read off a curve."""
    return str(Decimal(repr(value)).quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP))


def readings(node: CurveFigure, every: bool) -> list[tuple[str, str]]:
    """The curve as pairs of written numbers: at every line of the paper, or where there is a number or much happens."""
    if not node.points:
        return []
    last = node.points[-1][0]
    lines = [(x, bold) for x, bold in grid(node.across) if node.points[0][0] <= x <= last]
    ys = [value_at(node.points, x) for x, _ in lines]
    kept = [
        every or bold or any(abs(ys[at] - ys[other]) > _STEEP for other in (at - 1, at + 1) if 0 <= other < len(ys))
        for at, (_, bold) in enumerate(lines)
    ]
    places, fine = (
        max(0, -int((axis.step / axis.divided).normalize().as_tuple().exponent)) for axis in (node.across, node.up)
    )
    return [(written(x, places), written(y, fine)) for (x, _), y, keep in zip(lines, ys, kept, strict=True) if keep]


def told_line(line: tuple[tuple[float, float], ...]) -> str:
    """A line by its ends, for a reader who sees the numbers stand side by side."""
    (x, y), (far_x, far_y) = line[0], line[-1]
    return f"line from {written(x)}, {written(y)} to {written(far_x)}, {written(far_y)}"


def told_value(axis: Axis, number: str, name: str) -> str:
    """A number read off an axis with its unit in words, or, where it has none, after the name of the axis."""
    plain = number.replace("-", "minus ")
    return f"{plain} {_SPOKEN.get(axis.unit, axis.unit)}" if axis.unit else f"{name} {plain}"


def told_curve(node: CurveFigure, said: Callable[[Line], str]) -> str:
    """A curve figure in one paragraph, reading by reading; `said` has the words of a line.

    Each pair stands with its units: a row of bare numbers is no use to whoever hears it.
    """
    across, up = node.across, node.up
    names = said(across.name), said(up.name)
    sides = zip((across, up), ("across", "upwards"), strict=True)
    ends = ", ".join(f"{said(axis_title(axis))} from {axis.low} to {axis.high} {way}" for axis, way in sides)

    def pair(x: str, y: str) -> str:
        return f"at {told_value(across, x, names[0])}: {told_value(up, y, names[1])}"

    def line(one: tuple[tuple[float, float], ...]) -> str:
        start, end = ((written(x), written(y)) for x, y in (one[0], one[-1]))
        return f"straight line, first {pair(*start)}, last {pair(*end)}"

    parts = [f"{'Curve' if node.points else 'Plotted points' if node.crosses else 'Blank axes to draw on'}, {ends}"]
    if node.crosses:
        parts.append("crosses " + ", ".join(pair(str(x), str(y)) for x, y in node.crosses))
    parts += [line(one) for one in node.lines if one]
    if node.points:
        parts.append("points " + ", ".join(pair(x, y) for x, y in readings(node, every=False)))
    parts += [f"marked: {said(mark.label)}" for mark in node.marks]
    parts += [f"strip from {written(band.low)} to {written(band.high)}: {said(band.label)}" for band in node.bands]
    return "; ".join(parts) + "."
