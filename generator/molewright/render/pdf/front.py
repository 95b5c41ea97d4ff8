"""The head of a paper and its closing line come in; slabs go out."""

from __future__ import annotations

from collections.abc import Sequence

from molewright.nodes.blocks import ClosingLine, FrontBlock, Items
from molewright.nodes.inline import Line, Text
from molewright.render.pdf.content import bar, dots
from molewright.render.pdf.lines import Chunk, natural_width
from molewright.render.pdf.look import HEAVY, Style
from molewright.render.pdf.slabs import Blank, Mark, Slab, Tie, tied
from molewright.render.pdf.typesetting import Place, Typesetting, artifact, slabs_of, spaced

_FIELD_LINE = 22.0
_FIELDS_IN_A_ROW = 3
_TYPED = 15.0  # height of a field to type in
_BETWEEN_NAMES, _MOST_LABEL = 12.0, 0.6  # the space between two fields; the share of a field that its label may take
_ABOVE_A_COVER, _BELOW_A_TITLE, _BETWEEN_FIELDS = 54.0, 28.0, 8.0  # of a cover, which has a page to itself


def front_block(block: FrontBlock, setting: Typesetting, place: Place) -> list[Slab]:
    """Title, topic, fields to fill in, marks and time, and the rules to follow, closed by a rule."""
    look = setting.look
    slabs = _headed(block, setting, place)
    names = [*dict.fromkeys((*(name for name, _ in block.filled), *block.fields))]
    filled = dict(block.filled)
    in_a_row = 1 if block.cover else _in_a_row(names, setting.look.body, place.width)
    for start in range(0, len(names), in_a_row):
        row = _fields(names[start : start + in_a_row], filled, setting, place)
        slabs += spaced(row, 0.0, _BETWEEN_FIELDS) if block.cover else row
    if names:
        slabs[-1].below = _BELOW_A_TITLE if block.cover else 6.0
    slabs += _allowed(block, setting, place)
    if block.points:
        slabs += setting.lay((Items(block.points),), setting, place)
    rule = artifact(place.x, 0.0, bar(0, -HEAVY, place.width, HEAVY))
    slabs.append(Slab(height=HEAVY, marks=[rule], above=5.0 * look.gaps, below=12.0 * look.gaps))
    for slab in slabs:
        slab.tie = Tie.FREE
    tied(slabs)
    return slabs


def _headed(block: FrontBlock, setting: Typesetting, place: Place) -> list[Slab]:
    look = setting.look
    school = setting.lines((Text(block.above),), look.body.heavier(), place.width) if block.above else ()
    title = setting.lines((Text(block.title),), look.headings[0], place.width)
    topic = setting.lines((Text(block.subtitle),), look.body, place.width) if block.subtitle else ()
    slabs = spaced(slabs_of(school, place.owner.child("P"), place.x), 0.0, 4.0)
    slabs += spaced(slabs_of(title, place.owner.child("H1"), place.x), 0.0, 2.0)
    slabs += spaced(slabs_of(topic, place.owner.child("P"), place.x), 0.0, 8.0)
    if block.cover and slabs:  # no space is kept above the first strip of a page, so an empty one keeps it
        slabs[-1].below = _BELOW_A_TITLE
        slabs.insert(0, Slab(height=_ABOVE_A_COVER))
    return slabs


def _allowed(block: FrontBlock, setting: Typesetting, place: Place) -> list[Slab]:
    """The time at the left, the marks at the right, on one line."""
    style = setting.look.body.heavier()
    sides = [
        (setting.lines((Text(text),), style, place.width / 2 - 6, align), x)
        for text, align, x in ((block.time, "left", place.x), (block.marks, "right", place.x + place.width / 2 + 6))
        if text
    ]
    if not any(chunks for chunks, _ in sides):
        return []
    element = place.owner.child("P")
    marks = [Mark(element, x, 0.0, chunks[0].segments) for chunks, x in sides if chunks]
    tall = max(chunks[0].height for chunks, _ in sides if chunks)
    over = [chunk for chunks, _ in sides for chunk in chunks[1:]]
    return [Slab(height=tall, marks=marks, above=4.0, below=4.0), *slabs_of(over, element, place.x)]


def _fields(names: Sequence[str], filled: dict[str, str], setting: Typesetting, place: Place) -> list[Slab]:
    """One row of fields: the first takes as much as two others."""
    style = setting.look.body
    element = place.owner.child("P")
    x = place.x
    placed: list[tuple[float, Chunk]] = []  # x and text; the last baselines stand on the rules
    rules: list[tuple[float, float]] = []
    open_to_type: list[tuple[float, float, str]] = []  # x, width and name of the fields that nothing stands in
    over: list[Chunk] = []  # what is longer than any name: set below the row rather than lost
    for index, name in enumerate(names):
        width = _width(len(names), index, place.width)
        label = setting.lines((Text(name),), style, width * _MOST_LABEL)
        start = label[0].width + 5.0 if label else 0.0
        given = (Text(filled.get(name, "")),)
        text = setting.lines(given, _fitting(given, style.heavier(), width - start - 6.0), width - start - 6.0)
        placed += [(x, chunk) for chunk in label[:1]]
        placed += [(x + start + 3.0, chunk) for chunk in text[:1]]
        over += [*label[1:], *text[1:]]
        rules.append((x + start, max(0.0, width - start - 0.8)))
        if not text:
            open_to_type.append((*rules[-1], name))
        x += width + _BETWEEN_NAMES
    baseline = max([_FIELD_LINE - 6.0, *(chunk.last for _, chunk in placed)])
    marks = [Mark(element, at, baseline - chunk.last, chunk.segments) for at, chunk in placed]
    marks += [artifact(at, baseline + 1.6, dots(0.4, 0.0, width)) for at, width in rules]
    slab = Slab(height=baseline + 6.0, marks=marks, first=baseline)
    if setting.fillable:
        tall = _TYPED * setting.look.scale
        top = baseline + 1.0 - tall
        slab.blanks = tuple(Blank(element, at, top, wide, tall, name, "front") for at, wide, name in open_to_type)
    return [slab, *slabs_of(over, element, place.x)]


def _width(count: int, index: int, width: float) -> float:
    """Of one of so many fields in a row: the first takes as much as two others."""
    share = (width - _BETWEEN_NAMES * (count - 1)) / (count + 1 if count > 1 else 1)
    return share * (2 if index == 0 and count > 1 else 1)


def _in_a_row(names: Sequence[str], style: Style, width: float) -> int:
    """How many fields stand side by side: so few that each has its label on one line, and two at least."""
    for count in range(_FIELDS_IN_A_ROW, 2, -1):
        rows = [names[start : start + count] for start in range(0, len(names), count)]
        if all(
            natural_width((Text(name),), style) <= _MOST_LABEL * _width(len(row), index, width)
            for row in rows
            for index, name in enumerate(row)
        ):
            return count
    return 2


def _fitting(line: Line, style: Style, width: float) -> Style:
    """The style made smaller for a long name; a very long one takes more lines as well."""
    share = max(0.75, min(1.0, width / max(1.0, natural_width(line, style))))
    return style if share == 1.0 else style.at_size(round(style.size * share, 1))


def closing_line(block: ClosingLine, setting: Typesetting, place: Place) -> list[Slab]:
    """A centred bold line that stays with what it closes."""
    chunks = setting.lines((Text(block.text),), setting.look.body.heavier(), place.width, "centre")
    slabs = slabs_of(chunks, place.owner.child("P"), place.x)
    tied(slabs)
    if slabs:
        slabs[0].tie = Tie.HELD
    return spaced(slabs, 16.0, 0.0)
