"""Every figure as a picture: strokes and words keep to its box, in columns narrow and wide, and it is told in words."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from molewright.nodes.drawing.apparatus import apparatus_strokes, apparatus_width
from molewright.nodes.drawing.bars import label_columns, piece_spans
from molewright.nodes.drawing.pictures import in_words, pictures
from molewright.nodes.drawing.strokes import Box, Dots, Frame, Lines, Picture, Shape, Stroke, Words
from molewright.nodes.figures import (
    Apparatus,
    BarFigure,
    BuretteFigure,
    CountChart,
    CurveFigure,
    FlowBox,
    FlowFigure,
)
from molewright.nodes.inline import Gap, Text
from shared.for_each import for_each, for_every
from shared.pictures import APPARATUS, FIGURES, HalfEms, bar, bar_to_fill, chart, flow, flow_to_fill

NEARLY = 0.01
LETTERING = HalfEms()


def extent(stroke: Stroke) -> Box:
    """The room that is seen of a stroke."""
    match stroke:
        case Frame():
            return stroke.box
        case Lines():
            points = [point for piece in stroke.pieces for point in piece]
            if stroke.within is not None:
                return stroke.within
        case Dots():
            points = list(stroke.places)
        case Shape():
            points = [stroke.start, *(side[-1] for side in stroke.sides)]
    xs, ys = zip(*points, strict=True)
    return Box(min(xs), min(ys), max(xs) - min(xs), max(ys) - min(ys))


def strokes_of(picture: Picture) -> list[Stroke]:
    return [one for one in picture.items if not isinstance(one, Words) and one not in (Dots((), 0.9),)]


def words_of(picture: Picture) -> list[Words]:
    return [one for one in picture.items if isinstance(one, Words)]


def upright(words: Words) -> tuple[float, float]:
    """From where to where words reach."""
    tall = LETTERING.height(words)
    top = {"top": 0.0, "middle": tall / 2, "foot": tall, "astride": LETTERING.leading / 2}[words.hung]
    return words.y - top, words.y - top + tall


@for_every(name=FIGURES, width=[230.0, 300.0, 450.0, 700.0])
def test_every_stroke_lies_in_the_box_of_its_picture(name: str, width: float) -> None:
    made = pictures(FIGURES[name], LETTERING, width, 650.0)
    assert made
    for picture in made:
        assert picture.width == width
        assert strokes_of(picture)
        for stroke in strokes_of(picture):
            room = extent(stroke)
            assert room.x >= -NEARLY, stroke
            assert room.y >= -NEARLY, stroke
            assert room.x + room.wide <= width + NEARLY, stroke
            assert room.y + room.tall <= picture.height + NEARLY, stroke


@for_every(name=FIGURES, width=[300.0, 450.0, 700.0])
def test_words_keep_between_the_top_and_the_foot(name: str, width: float) -> None:
    for picture in pictures(FIGURES[name], LETTERING, width, 650.0):
        assert words_of(picture)
        for words in words_of(picture):
            top, foot = upright(words)
            assert top >= -NEARLY, words
            assert foot <= picture.height + NEARLY, words
            assert words.width > 0


@for_each("name", FIGURES)
def test_every_figure_is_told_in_words_of_its_own_or_in_those_given(name: str) -> None:
    for picture in pictures(FIGURES[name], LETTERING, 450.0, 650.0):
        assert len(picture.alt) > 10
    for picture in pictures(replace(FIGURES[name], alt="as told"), LETTERING, 450.0, 650.0):
        assert picture.alt == "as told"


def test_the_words_of_a_flow_tell_every_station_and_passage_in_order() -> None:
    (picture,) = pictures(flow(3), LETTERING, 450.0, 650.0)
    assert picture.alt == (
        "weighed bottle: holds portion w, then rinsed with water 0, beaker: holds portion b, "
        "then rinsed with water 1, volumetric flask: holds portion v"
    )


def test_where_there_is_nothing_there_is_no_picture() -> None:
    empty = (FlowFigure((), ()), BarFigure((), ()), CountChart(()), BuretteFigure((), "cm³"))
    assert [pictures(one, LETTERING, 450.0, 650.0) for one in empty] == [(), (), (), ()]


@for_each("name", FIGURES)
def test_what_no_page_holds_is_told_with_all_its_words(name: str) -> None:
    node = FIGURES[name]
    told = "".join(LETTERING.said(one.line) for one in in_words(node))
    if isinstance(node, CurveFigure):  # as tall as the page allows
        assert not told
        (low,), (high,) = (pictures(node, LETTERING, 450.0, room) for room in (200.0, 650.0))
        assert low.height < 200.0 < high.height
        return
    drawn = [
        LETTERING.said(line)
        for one in pictures(node, LETTERING, 450.0, inf)
        for w in words_of(one)
        for line, _ in w.lines
    ]
    if not isinstance(node, BuretteFigure):
        assert all(words in told for words in drawn)
    else:
        assert all(LETTERING.said(view.label) in told for view in node.views)


@given(st.lists(st.floats(0.01, 1.0), min_size=1, max_size=6), st.floats(300, 700))
def test_words_under_a_bar_keep_clear_of_each_other(shares: list[float], width: float) -> None:
    pieces = bar(*shares).pieces
    columns = label_columns(pieces, piece_spans(pieces, width), width, LETTERING)
    assert columns[0][0] >= -NEARLY
    assert columns[-1][0] + columns[-1][1] <= width + NEARLY
    assert all(x + wide + 8 <= after + NEARLY for (x, wide), (after, _) in pairwise(columns))


def test_words_stand_below_the_middle_of_a_wide_piece() -> None:
    pieces = bar(0.5, 0.5).pieces
    columns = label_columns(pieces, piece_spans(pieces, 400.0), 400.0, LETTERING)
    assert [x + wide / 2 for x, wide in columns] == pytest.approx([100.0, 300.0])


def test_bars_are_in_proportion_to_their_counts() -> None:
    (picture,) = pictures(chart(12, 6, 0), LETTERING, 450.0, 650.0)
    twelve, six = (one.box.wide for one in picture.items if isinstance(one, Frame))
    assert twelve == pytest.approx(2 * six)


@for_each("count", range(1, 8))
def test_every_box_of_a_flow_is_reached_by_one_arrow_and_boxes_do_not_meet(count: int) -> None:
    (picture,) = pictures(flow(count), LETTERING, 450.0, 650.0)
    boxes = [one.box for one in picture.items if isinstance(one, Frame)]
    heads = [one for one in picture.items if isinstance(one, Shape)]
    assert len(boxes) == count
    assert len(heads) == count - 1
    assert not any(one.meets(other) for place, one in enumerate(boxes) for other in boxes[:place])
    for head, box in zip(heads, boxes[1:], strict=True):
        ((x, y),) = head.sides[0]
        near = Box(box.x - 4, box.y - 4, box.wide + 8, box.tall + 8)
        assert near.holds(x, y)
        assert not box.holds(x, y)


def test_a_bold_title_is_no_other_line_than_the_plain_one() -> None:
    (picture,) = pictures(flow(1), LETTERING, 450.0, 650.0)
    assert words_of(picture)[0].lines == (((Text("weighed bottle"),), True), ((Text("holds portion w"),), False))


@for_each("what", APPARATUS)
def test_apparatus_keeps_to_its_height_and_width(what: Apparatus) -> None:
    wide = apparatus_width(what, 30.0)
    assert 0 < wide <= 36.0
    rooms = [extent(stroke) for stroke in apparatus_strokes(what, 100.0, 50.0, 30.0)]
    assert min(room.x for room in rooms) >= 100.0 - NEARLY
    assert max(room.x + room.wide for room in rooms) <= 100.0 + wide + NEARLY
    assert min(room.y for room in rooms) >= 50.0 - NEARLY
    assert max(room.y + room.tall for room in rooms) == pytest.approx(80.0, abs=1.0)  # they stand on one level


@pytest.mark.parametrize("width", [260.0, 453.0])
def test_every_blank_of_a_flow_stands_in_its_box_with_room_for_a_hand(width: float) -> None:
    (picture,) = pictures(flow_to_fill(4), LETTERING, width, 650.0)
    boxes = [one.box for one in picture.items if isinstance(one, Frame)]
    blanks = [one for one in words_of(picture) if any(isinstance(piece, Gap) for piece in one.lines[0][0])]
    assert len(blanks) == 6
    for words in blanks:
        top, foot = upright(words)
        (box,) = (box for box in boxes if box.holds(words.x, top) and box.holds(words.x + words.width, foot))
        over = [upright(one)[1] for one in words_of(picture) if one is not words and box.holds(one.x, upright(one)[0])]
        above = max(level for level in over if level <= top + NEARLY)
        assert top - above >= 0.4 * LETTERING.leading


def test_boxes_get_their_width_by_their_words_and_keep_to_the_column() -> None:
    few, many = (
        FlowBox((Text("a"),), (), (), "beaker"),
        FlowBox((Text("b"),), ((Text("many words " * 9),),), (), "beaker"),
    )
    (picture,) = pictures(FlowFigure((few, many), ((Text("on"),),)), LETTERING, 250.0, 650.0)
    narrow, wide = (one.box.wide for one in picture.items if isinstance(one, Frame))
    assert narrow < wide


def test_a_box_never_gets_wider_than_its_column() -> None:
    long = FlowBox((Text("x" * 90),), ((Text("y" * 90),),), (), "balance")
    (picture,) = pictures(FlowFigure((long, long), ((Text("on"),),)), LETTERING, 300.0, 650.0)
    assert max(one.box.x + one.box.wide for one in picture.items if isinstance(one, Frame)) <= 300.0 + NEARLY


def test_blanks_of_a_bar_stand_in_its_pieces_where_they_have_the_width() -> None:
    for share, inside in ((0.6, True), (0.1, False)):
        (picture,) = pictures(bar_to_fill(share), LETTERING, 453.0, 650.0)
        frames = [one.box for one in picture.items if isinstance(one, Frame)]
        labels = words_of(picture)[1:]
        held = [any(frame.holds(one.x + one.width / 2, one.y) for frame in frames) for one in labels]
        assert held == [inside, inside]
