"""Orders as texts: what is written is read back, and each fault of a text is told with its line."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from molewright.errors import Mistake
from molewright.order.choices import (
    ALL,
    ANSWER_SPACES,
    FADED,
    FIELDS,
    FILES,
    FORMS,
    FRONT_PAGES,
    LEVEL_CHOICES,
    LINE_LEVELS,
    LOOKS,
    MASSES,
    SHEET_CHOICES,
    SOME,
    TINTS,
    WHOSE_NUMBERS,
)
from molewright.order.front import Front
from molewright.order.lines import READINGS, OrderLine, OwnWords
from molewright.order.order import MOST_QUESTIONS, MOST_SEED, Order, Past, Wanted
from molewright.order.order_file import parse_order
from molewright.order.order_text import write_order
from molewright.reading.quoting import quoted
from molewright.reading.yaml_text import parse_tree
from shared.for_each import for_each

WORDS = st.text(st.characters(codec="utf-8", exclude_categories=["C", "Z"]), min_size=1, max_size=12)
TEXTS = st.lists(WORDS, min_size=1, max_size=4).map(" ".join)
PARAGRAPHS = st.lists(TEXTS, min_size=1, max_size=3).map("\n".join)
PAIRS = st.dictionaries(TEXTS, TEXTS, max_size=3)
NUMBERS = st.dictionaries(TEXTS, st.sampled_from(["1.264 g", "24.75 cm³", "0.100 mol dm⁻³", "95.0 %", "2"]), max_size=3)
MOVES = st.dictionaries(
    TEXTS, st.sampled_from(["no", "1.2 to 1.5 g by 0.1", "80 to 90 %", "[20.0 cm3, 25.0 cm3]"]), max_size=3
)
SEEDS = st.text("abcdefghijkmnpqrstuvwxyz23456789", min_size=1, max_size=12)


def never() -> int:
    raise AssertionError("a seed was drawn though one is written")


@st.composite
def lines(draw: st.DrawFn) -> OrderLine:
    if draw(st.booleans()):
        return OrderLine(
            words=OwnWords(
                text=draw(PARAGRAPHS),
                marks=draw(st.integers(1, 40)),
                answer=draw(PARAGRAPHS),
                lines=draw(st.integers(0, 60)),
            )
        )
    if draw(st.booleans()):
        return OrderLine(
            experiment=(
                ("experiment", quoted(draw(TEXTS))),
                ("procedure", "[{weigh: {mass: 1.264 g}}, {make up: 250 cm3}]"),
            ),
            opening=draw(st.just("") | TEXTS),
            own_stem=draw(st.just("") | PARAGRAPHS),
            moving=(moving := draw(st.sampled_from([None, True, False]))),
            moves=tuple(draw(MOVES).items()) if moving else (),
            as_written=("A",) if moving and draw(st.booleans()) else (),
            seed=draw(st.just("") | SEEDS),
            own_task=draw(st.just("") | TEXTS),
            level=draw(st.sampled_from(["", *LINE_LEVELS])),
            wording=draw(st.sampled_from(["", "0a1b2c3d"])),
        )
    kind = draw(st.booleans())
    drawn = draw(st.dictionaries(st.sampled_from(["A", "B", "01", "12345"]), NUMBERS.filter(bool), max_size=2))
    return OrderLine(
        kind=draw(TEXTS) if kind else "",
        topic="" if kind else draw(st.just("") | TEXTS),
        roles=tuple(sorted(draw(PAIRS).items())),
        scene=draw(st.just("") | TEXTS),
        asked=draw(st.just("") | TEXTS),
        level=draw(st.sampled_from(["", *LINE_LEVELS])),
        part=draw(st.just("") | TEXTS),
        equation=draw(st.just("") | TEXTS),
        indicator=draw(st.just("") | TEXTS),
        readings=draw(st.sampled_from(["", *READINGS])),
        seed=draw(st.just("") | SEEDS),
        wording=draw(st.sampled_from(["", "0a1b2c3d"])),
        numbers=tuple(draw(NUMBERS).items()),
        drawn=tuple((version, tuple(numbers.items())) for version, numbers in drawn.items()),
    )


@st.composite
def fronts(draw: st.DrawFn) -> Front:
    return Front(
        page=draw(st.sampled_from(FRONT_PAGES)),
        school=draw(st.just("") | TEXTS),
        fields=tuple(draw(st.lists(st.sampled_from(FIELDS), min_size=1, unique=True))),
        minutes=draw(st.integers(0, 300)),
        grid=draw(st.sampled_from([None, True, False])),
        instructions=tuple(draw(st.lists(TEXTS, max_size=3))),
        may_use=tuple(draw(st.lists(TEXTS, max_size=3))),
    )


@st.composite
def orders(draw: st.DrawFn) -> tuple[Order, Wanted]:
    held = tuple(draw(st.lists(lines(), max_size=4)))
    past = [
        Past(kind=draw(TEXTS), roles=tuple(sorted(draw(PAIRS).items())), asked=draw(TEXTS), scene=draw(TEXTS))
        for _ in range(draw(st.integers(0, 2)))
    ]
    several = draw(st.booleans())
    level = "mixed" if several else draw(st.sampled_from(LEVEL_CHOICES))
    marks = 0 if level == FADED else draw(st.integers(0, 400))  # a series has the marks that it has
    as_many_as_it_takes = bool(marks) and draw(st.booleans())
    order = Order(
        seed=draw(st.integers(0, MOST_SEED)),
        count=0 if as_many_as_it_takes else draw(st.integers(max(1, len(held)), MOST_QUESTIONS)),
        marks=marks,
        level=level,
        levels=LINE_LEVELS[:3] if several else (),
        masses=draw(st.sampled_from(MASSES)),
        style=draw(st.sampled_from(["dm3", "litre"])),
        equations=draw(st.sampled_from([SOME, ALL, "ionic equation"])),
        archetypes=tuple(dict.fromkeys(draw(st.lists(TEXTS, max_size=3)))),
        topics=tuple(draw(st.dictionaries(TEXTS, st.integers(1, 20), max_size=3)).items()),
        aim=draw(st.just("") | TEXTS),
        not_again=tuple(past),
        lines=held,
    )
    wanted = Wanted(
        title=draw(st.just("") | TEXTS),
        front=draw(fronts()),
        versions=tuple(dict.fromkeys(draw(st.lists(st.sampled_from("ABCXYZ"), min_size=1, max_size=4)))),
        forms=tuple(dict.fromkeys(draw(st.lists(st.sampled_from(FORMS), min_size=1)))),
        sheets=tuple(dict.fromkeys(draw(st.lists(st.sampled_from(SHEET_CHOICES), min_size=1)))),
        numbers=draw(st.sampled_from(WHOSE_NUMBERS)),
        files=draw(st.sampled_from(["", *FILES])),
        answer_space=draw(st.sampled_from(ANSWER_SPACES)),
        look=draw(st.sampled_from(LOOKS)),
        tint=draw(st.sampled_from(["", *TINTS])),
        fillable=draw(st.booleans()),
    )
    return order, wanted


@pytest.mark.thorough
@given(orders())
def test_what_is_written_is_read_back(made: tuple[Order, Wanted]) -> None:
    order, wanted = made
    assert parse_order(write_order(order, wanted, ["A note: [not read]"]), "x.order.yaml", never) == (order, wanted)


@pytest.mark.thorough
@given(
    st.text(st.characters(codec="utf-8", exclude_categories=["C"]), min_size=1, max_size=30)
    .map(lambda text: " ".join(text.split()))
    .filter(bool)
)
def test_a_text_is_quoted_where_it_must_be(text: str) -> None:
    tree = parse_tree(f"key: {quoted(text)}", "x")
    assert tree.members["key"].text == text  # type: ignore[union-attr]


def test_words_that_programs_take_for_something_else_stay_words() -> None:
    for word in (
        "yes",
        "no",
        "null",
        "1e3",
        "0x10",
        "12:30",
        "~",
        "1.0",
        "2026-12-01",
        "-",
        "?",
        "a: b",
        "a #b",
        "'",
        '"',
    ):
        tree = parse_tree(f"key: {quoted(word)}", "x")
        assert tree.members["key"].text == word  # type: ignore[union-attr]


def test_an_order_without_a_seed_gets_one() -> None:
    order, _ = parse_order("questions: 2", "x", lambda: 77)
    assert (order.seed, order.count) == (77, 2)


def test_as_many_questions_as_lines_where_no_number_is_written() -> None:
    assert parse_order("lines: [{kind: a}, {kind: b}]", "x", lambda: 1)[0].count == 2
    assert parse_order("title: x", "x", lambda: 1)[0].count == 6


def test_the_title_may_stand_in_the_front() -> None:
    assert parse_order("front: {title: Mock, page: cover}", "x", lambda: 1)[1].title == "Mock"


def test_topics_may_be_weighed_or_listed() -> None:
    assert parse_order("topics: {redox: 3, EDTA: 1}", "x", lambda: 1)[0].topics == (("redox", 3), ("EDTA", 1))
    assert parse_order("topics: [redox, EDTA]", "x", lambda: 1)[0].topics == (("redox", 1), ("EDTA", 1))


def test_a_question_in_words_of_ones_own_has_lines_for_its_marks() -> None:
    (line,) = parse_order("lines: [{question: Why?, marks: 3, answer: Because.}]", "x", lambda: 1)[0].lines
    assert line.words == OwnWords(text="Why?", marks=3, answer="Because.", lines=6)


def test_a_question_in_words_of_ones_own_may_have_paragraphs() -> None:
    text = "lines: [{question: [Look at the flask., Why?], marks: 1, answer: [Because., Or so.]}]"
    (line,) = parse_order(text, "x", lambda: 1)[0].lines
    assert line.words is not None
    assert (line.words.text, line.words.answer) == ("Look at the flask.\nWhy?", "Because.\nOr so.")


FAULTS = {
    "own words without end": (
        f"lines:\n  - question: [{', '.join(['long ' * 80] * 11)}]\n    marks: 2\n    answer: x",
        "x.order.yaml:2: line, question: the question has 4399 characters",
        "at most 4000",
    ),
    "an unknown key": ("questons: 4", "x.order.yaml:1: questons: the key 'questons' is not known here", "questions"),
    "too many marks": ("marks: 9000", "x.order.yaml:1: marks: 9000 for marks; expected 1 to 400", ""),
    "no level": ("level: easy", "x.order.yaml:1: level: 'easy' is not one of the levels", "mixed, scaffolded"),
    "a level of no line": ("lines:\n  - level: mixed", "x.order.yaml:2: line, level: 'mixed' is not a known level", ""),
    "a version of two letters": ("versions: [AB]", "x.order.yaml:1: versions: the version 'AB'", "[A, B]"),
    "no list": ("lines: {kind: a}", "x.order.yaml:1: lines: no list under 'lines'", "- "),
    "too many lines": ("lines: [" + "{kind: a}, " * 41 + "]", "x.order.yaml:1: lines: 41 entries", "at most 40"),
    "more lines than questions": (
        "questions: 1\nlines: [{kind: a}, {kind: b}]",
        "x.order.yaml:1: questions: 1 questions and 2 lines",
        "at least 2",
    ),
    "a kind and a topic": (
        "lines:\n  - kind: a\n    topic: b",
        "x.order.yaml:3: line, topic: a kind and a topic",
        "one of them",
    ),
    "a number of no unit": (
        "lines:\n  - numbers: {mass of x: 3 furlongs}",
        "x.order.yaml:2: line, numbers, mass of x",
        "furlongs",
    ),
    "a seed with spaces": ("lines:\n  - seed: a b", "x.order.yaml:2: line, seed: the seed 'a b'", "small letters"),
    "a form that is none": ("forms: [papyrus]", "x.order.yaml:1: forms: 'papyrus' is not one of the forms", "pdf"),
    "a weight of nothing": ("topics: {redox: 0}", "x.order.yaml:1: topics, redox: 0 for redox", "1 to 20"),
    "own words without an answer": ("lines:\n  - question: Why?\n    marks: 2", "the key 'answer' is missing", ""),
    "a front that is none": (
        "front: back",
        "x.order.yaml:1: front, page: 'back' is not a known page",
        "heading, cover",
    ),
    "a field that is none": (
        "front:\n  fields: [name, shoe size]",
        "x.order.yaml:2: front, fields: the field 'shoe size'",
        "candidate number",
    ),
    "a time without end": ("front: {minutes: 4000}", "x.order.yaml:1: front, minutes: 4000 for minutes", "1 to 300"),
    "two titles": ("title: a\nfront: {title: b}", "x.order.yaml:2: front, title: a title, and another", "one of them"),
    "a front of a list": ("front: [cover]", "x.order.yaml:1: front: no keys under 'front'", "cover"),
    "an alias": ("title: &a x\nlines: *a", "an anchor or alias", ""),
    "a path": ("class list: /etc/passwd", "x.order.yaml:1: class list: the key 'class list' is not known here", ""),
    "nothing": ("", "the file is empty", ""),
    "a list": ("- a", "no keys here", ""),
}


@for_each("fault", FAULTS)
def test_a_fault_is_told_with_its_line(fault: str) -> None:
    text, said, expected = FAULTS[fault]
    with pytest.raises(Mistake) as caught:
        parse_order(text, "x.order.yaml", lambda: 1)
    assert said in str(caught.value)
    assert expected in str(caught.value)


def test_all_faults_are_told_at_once() -> None:
    with pytest.raises(Mistake) as caught:
        parse_order("marks: 0\nlevel: easy\nlines:\n  - seed: A\n  - level: hard\n", "x", lambda: 1)
    assert [line.partition(": ")[0] for line in sorted(str(caught.value).splitlines())] == ["x:1", "x:2", "x:4", "x:5"]
