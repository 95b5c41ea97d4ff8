"""A settled order prints the same papers again, and a change of one question leaves every other to the byte."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from molewright.bank.definitions import Bank
from molewright.derivation.plans import Plans
from molewright.draw.stream import Stream
from molewright.errors import Mistake
from molewright.marking.files import mark_answers
from molewright.order.lines import OrderLine
from molewright.order.order import Order, Past, Wanted
from molewright.order.order_file import ORDER_ENDING, parse_order, read_order
from molewright.order.pupils import Pupil
from molewright.papers.changing import CHANGES, changed
from molewright.papers.choosing import find_topic
from molewright.papers.code import is_proof, read_code
from molewright.papers.making import PaperMaker
from molewright.papers.record.again import order_of
from molewright.papers.record.reader import read_record
from molewright.papers.sets import PaperSet
from molewright.papers.summary import summary
from molewright.papers.writing import Told
from molewright.question.own_numbers import numbers_of
from shared.for_each import for_each
from shared.papers import write_papers

SEED = 20261
WANTED = Wanted(versions=("A", "B"), forms=("text",))


def never() -> int:
    raise AssertionError("a seed was drawn though one is written")


def files(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in sorted(folder.iterdir())}


def again(folder: Path) -> tuple[Order, Wanted]:
    (path,) = folder.glob(f"*{ORDER_ENDING}")
    return read_order(path, never)


def written(bank: Bank, plans: Plans, order: Order, wanted: Wanted, folder: Path) -> dict[str, bytes]:
    write_papers(PaperMaker(bank, order, plans), wanted, folder)
    return files(folder)


# ------------------------------------------------------------------ the same again


@pytest.mark.thorough
@pytest.mark.parametrize("level", ["mixed", "scaffolded", "stretch"])
def test_the_order_beside_a_paper_prints_it_again_to_the_byte(
    level: str, bank: Bank, plans: Plans, tmp_path: Path
) -> None:
    first = written(bank, plans, Order(seed=SEED, level=level), WANTED, tmp_path / "first")
    order, wanted = again(tmp_path / "first")
    assert order.settled
    assert written(bank, plans, order, wanted, tmp_path / "again") == first


def test_the_record_prints_its_papers_again(bank: Bank, plans: Plans, tmp_path: Path) -> None:
    first = written(bank, plans, Order(seed=SEED, count=4), WANTED, tmp_path / "first")
    (path,) = (tmp_path / "first").glob("*-record.jsonl")
    order, wanted = order_of(read_record(path), never)
    made = written(bank, plans, order, replace(wanted, forms=("text",)), tmp_path / "again")
    assert made == first


def test_the_record_of_a_class_prints_papers_without_names(bank: Bank, plans: Plans, tmp_path: Path) -> None:
    wanted = Wanted(
        pupils=(Pupil(name="Ilsa Quern"), Pupil(name="Ada Holm")),
        forms=("text",),
        sheets=("answers",),
        files="separate",
    )
    written(bank, plans, Order(seed=SEED, count=2), wanted, tmp_path / "first")
    (path,) = (tmp_path / "first").glob("*-record.jsonl")
    order, said = order_of(read_record(path), never)
    made = written(bank, plans, order, replace(said, forms=("text",), sheets=("answers",)), tmp_path / "again")
    keys = [text for name, text in made.items() if name.endswith("answers.txt")]
    assert len(keys) == 2
    assert all(b"Ilsa" not in text and b"Ada" not in text for text in keys)
    first = [text for name, text in files(tmp_path / "first").items() if name.endswith("answers.txt")]
    assert [text.splitlines()[4:-1] for text in keys] == [text.splitlines()[4:-1] for text in first]


def test_numbers_that_the_seed_would_not_give_are_printed_all_the_same(
    bank: Bank, plans: Plans, tmp_path: Path
) -> None:
    """As after the banks have grown: another seed stands for draws that come out otherwise."""
    written(bank, plans, Order(seed=SEED, count=4), WANTED, tmp_path / "first")
    order, wanted = again(tmp_path / "first")
    other = replace(order, lines=tuple(replace(line, seed="other") for line in order.lines))
    for version in wanted.versions:
        kept = PaperMaker(bank, order, plans).paper(wanted, version).questions
        made = PaperMaker(bank, other, plans).paper(wanted, version).questions
        assert [numbers_of(one) for one in made] == [numbers_of(one) for one in kept]
        assert [one.worked.answer for one in made] == [one.worked.answer for one in kept]


def test_what_reads_otherwise_is_told(bank: Bank, plans: Plans, tmp_path: Path) -> None:
    """As after the words of the banks have changed: the same numbers, and a sentence that names the questions."""
    written(bank, plans, Order(seed=SEED, count=4), WANTED, tmp_path / "first")
    order, wanted = again(tmp_path / "first")
    marks = [line.wording for line in order.lines]
    assert all(marks)
    assert len(set(marks)) == 4
    assert PaperSet(bank, order, wanted, plans).reworded(marks, "A") == ()
    other = [f"{number:08x}" if number in (1, 3) else mark for number, mark in enumerate(marks)]
    papers = PaperSet(bank, order, wanted, plans)
    assert papers.reworded(other, "A") == (2, 4)
    assert papers.reworded(other, "C") == ()
    told = Told(reworded=(2, 4))
    assert any(line.startswith("questions 2, 4: worded otherwise") for line in summary(papers, told))
    changed_order = changed(bank, order, "numbers", 1, "x")
    assert [bool(line.wording) for line in changed_order.lines] == [False, True, True, True]


@pytest.mark.thorough
def test_a_version_made_later_touches_no_other_and_is_marked_with_them(
    bank: Bank, plans: Plans, tmp_path: Path
) -> None:
    """For those who were absent: its record is read as one with the first."""
    first = written(bank, plans, Order(seed=SEED, count=2), WANTED, tmp_path)
    order, wanted = again(tmp_path)
    both = written(bank, plans, order, replace(wanted, versions=("E",)), tmp_path)
    assert {name: both[name] for name in first} == first
    assert len([name for name in both if "-E" in name]) == len(both) - len(first)
    code = PaperMaker(bank, order, plans).code
    answers = tmp_path / "returned.csv"
    answers.write_text(f"code,pupil,question,answer\nA-{code},Ilsa,1,1\nE-{code},Bram,1,1\n", "utf-8")
    marked, _ = mark_answers(answers, bank, plans, given=tmp_path)
    assert [pupil.version for pupil in marked.pupils] == ["A", "E"]


# ------------------------------------------------------------------ codes


def test_a_settled_order_keeps_the_code_of_its_settings(bank: Bank, plans: Plans, tmp_path: Path) -> None:
    asked = Order(seed=SEED, count=3)
    written(bank, plans, asked, WANTED, tmp_path)
    settled = PaperMaker(bank, again(tmp_path)[0], plans)
    assert settled.code == PaperMaker(bank, asked, plans).code
    assert read_code(settled.code, settled.known, bank.fingerprint)[0] == asked


def test_a_changed_order_has_a_code_that_makes_nothing_again(bank: Bank, plans: Plans) -> None:
    order = PaperMaker(bank, Order(seed=SEED, count=3), plans).order
    codes = {PaperMaker(bank, changed(bank, order, "numbers", 2, str(seed)), plans).code for seed in range(20)}
    assert len(codes) == 20
    known = tuple(sorted(bank.archetypes))
    for code in codes:
        assert is_proof(code)
        assert is_proof(f"B-{code.lower()}")
        with pytest.raises(Mistake, match="order file that was written beside the paper"):
            read_code(code, known, bank.fingerprint)
    assert not is_proof(PaperMaker(bank, Order(seed=SEED, count=3), plans).code)


def test_a_title_and_what_was_drawn_do_not_change_the_code(bank: Bank, plans: Plans, tmp_path: Path) -> None:
    order = changed(bank, PaperMaker(bank, Order(seed=SEED, count=2), plans).order, "numbers", 1, "x")
    written(bank, plans, order, replace(WANTED, title="One title"), tmp_path)
    assert PaperMaker(bank, again(tmp_path)[0], plans).code == PaperMaker(bank, order, plans).code


# ------------------------------------------------------------------ one question changed


@for_each("what", CHANGES)
def test_a_change_leaves_every_other_question_to_the_byte(what: str, bank: Bank, plans: Plans) -> None:
    before = PaperMaker(bank, Order(seed=SEED), plans)
    pages = before.paper(Wanted(), "A").composer.question_paper().blocks
    for number in (1, 4, 6):
        after = PaperMaker(bank, changed(bank, before.order, what, number, "7"), plans)
        others = after.paper(Wanted(), "A").composer.question_paper().blocks
        differing = [at for at, (one, other) in enumerate(zip(pages[2:8], others[2:8], strict=True), 1) if one != other]
        assert differing == [number]


def test_other_numbers_are_of_the_same_kind_in_the_same_scene(bank: Bank, plans: Plans) -> None:
    order = PaperMaker(bank, Order(seed=SEED), plans).order
    line, other = order.lines[2], changed(bank, order, "numbers", 3, "1").lines[2]
    assert replace(other, seed=line.seed) == line
    assert other.seed != line.seed


def test_another_scene_keeps_the_numbers(bank: Bank, plans: Plans) -> None:
    before = PaperMaker(bank, Order(seed=SEED), plans)
    after = PaperMaker(bank, changed(bank, before.order, "scene", 5, "1"), plans)
    one, other = (maker.paper(Wanted(), "A").questions[4] for maker in (before, after))
    assert one.draw.given == other.draw.given
    assert one.draw.context != other.draw.context
    assert other.draw.context.key not in {line.scene for line in before.order.lines}


def test_another_kind_is_of_the_same_topic_at_the_same_level(bank: Bank, plans: Plans) -> None:
    order = PaperMaker(bank, Order(seed=SEED), plans).order
    line, other = order.lines[3], changed(bank, order, "kind", 4, "1").lines[3]
    assert other.kind not in {one.kind for one in order.lines}
    assert bank.archetypes[other.kind].topic == bank.archetypes[line.kind].topic
    assert other.level == line.level


@pytest.mark.parametrize("number", [0, 7, -1])
def test_a_question_that_is_none_is_told(number: int, bank: Bank, plans: Plans) -> None:
    with pytest.raises(Mistake, match="expected 1 to 6"):
        changed(bank, PaperMaker(bank, Order(seed=SEED), plans).order, "numbers", number, "1")


def test_a_line_draws_the_same_wherever_it_stands(bank: Bank, plans: Plans) -> None:
    order = PaperMaker(bank, Order(seed=SEED), plans).order
    turned = PaperMaker(bank, replace(order, lines=order.lines[::-1]), plans)
    forward = PaperMaker(bank, order, plans).paper(Wanted(), "B").questions
    backward = turned.paper(Wanted(), "B").questions[::-1]
    assert [(one.draw.given, one.draw.runs) for one in forward] == [(one.draw.given, one.draw.runs) for one in backward]


# ------------------------------------------------------------------ what a line fixes


def lines_of(bank: Bank, plans: Plans, text: str) -> tuple[OrderLine, ...]:
    order, _ = parse_order(text, "x.order.yaml", lambda: SEED)
    return PaperMaker(bank, order, plans).order.lines


def test_what_a_line_fixes_is_kept_and_the_rest_is_drawn(bank: Bank, plans: Plans) -> None:
    line = "{kind: back-portions, roles: {material: limestone}, readings: table}"
    text = f"questions: 4\nlines: [{{topic: redox, level: scaffolded}}, {{scene: cave-path}}, {line}]"
    first, second, third, fourth = lines_of(bank, plans, text)
    assert bank.archetypes[first.kind].topic == find_topic(bank, "redox")
    assert first.level == "scaffolded"
    assert second.scene == "cave-path"
    assert (third.kind, dict(third.roles)["material"], third.readings) == ("back-portions", "limestone", "table")
    assert fourth.settled


NOT_THERE = {
    "a kind": ("{kind: back-portionz}", "no archetype 'back-portionz' in the banks", "back-portions"),
    "a role": ("{kind: back-portions, roles: {flour: x}}", "has no 'flour'", "material"),
    "a material": ("{kind: back-portions, roles: {material: limestine}}", "'limestine' is not among", "limestone"),
    "a scene": ("{kind: back-portions, scene: the-moon}", "not set in the scene 'the-moon'", "cave-path"),
    "a quantity": ("{kind: back-portions, asked: colour}", "no quantity 'colour'", "percentage"),
    "an indicator": ("{kind: back-portions, indicator: ink}", "the indicator 'ink' does not serve", "one of"),
    "a table": ("{kind: back-whole, readings: table}", "a table of readings where the whole sample", "mean"),
    "a topic": ("{topic: cookery}", "no archetype 'cookery' in the banks", "topic"),
    "all of it together": ("{scene: cave-path, indicator: starch}", "no kind of question has all", "fewer"),
}


@for_each("what", NOT_THERE)
def test_what_the_banks_do_not_hold_is_told_with_its_line(what: str, bank: Bank, plans: Plans) -> None:
    line, said, instead = NOT_THERE[what]
    with pytest.raises(Mistake) as caught:
        lines_of(bank, plans, f"lines:\n  - {line}\n")
    assert said in str(caught.value)
    assert instead in str(caught.value)
    assert str(caught.value).startswith("x.order.yaml:2") or what == "a topic"


def test_nothing_comes_again_while_there_is_another(bank: Bank, plans: Plans) -> None:
    first = PaperMaker(bank, Order(seed=SEED, count=2, archetypes=("back-portions",)), plans).order.lines
    past = tuple(Past(kind=one.kind, roles=one.roles, asked=one.asked, scene=one.scene) for one in first)
    for seed in range(20):
        lines = PaperMaker(
            bank, Order(seed=seed, count=2, archetypes=("back-portions",), not_again=past), plans
        ).order.lines
        assert not {one.scene for one in lines} & {one.scene for one in past}
        assert not {(one.kind, one.roles, one.asked) for one in lines} & {one.experiment for one in past}


def test_topics_come_as_often_as_they_weigh(bank: Bank, plans: Plans) -> None:
    topics = (("redox", 3), ("EDTA", 1), ("back titration", 2))
    for seed in range(5):
        lines = PaperMaker(bank, Order(seed=seed, count=6, topics=topics), plans).order.lines
        had = [bank.archetypes[line.kind].topic for line in lines]
        assert {topic: had.count(topic) for topic, _ in topics} == dict(topics)
        assert len({line.kind for line in lines}) == 6


def test_a_topic_is_found_by_its_first_letters(bank: Bank) -> None:
    assert find_topic(bank, "red") == "redox"
    assert find_topic(bank, "Back titration with") == "back titration with an aliquot"
    assert find_topic(bank, "back titration") == "back titration"
    with pytest.raises(Mistake, match="could be"):
        find_topic(bank, "back")


def test_the_stream_of_a_choice_is_the_lines_own(bank: Bank, plans: Plans) -> None:
    """Two orders that hold one line draw the same question from it, whatever else is in them."""
    line = OrderLine(kind="back-portions", seed="abc23")
    one = PaperMaker(bank, Order(seed=1, count=1, lines=(line,)), plans)
    other = PaperMaker(bank, Order(seed=2, count=3, lines=(line,)), plans)
    assert one.order.lines[0] == replace(other.order.lines[0], level=one.order.lines[0].level)
    assert Stream("x").whole(0, 9) == Stream("x").whole(0, 9)
