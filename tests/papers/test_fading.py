"""A series that fades teaches one kind on one sheet: worked example, twin, steps that open one after another, exam style elsewhere."""

from __future__ import annotations

import csv
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest

from molewright.bank.definitions import Bank
from molewright.cli import main
from molewright.derivation.plans import Plans
from molewright.errors import Mistake
from molewright.marking.files import mark_answers
from molewright.nodes.blocks import QuestionBlock
from molewright.order.choices import FADED, SERIES, STAGES
from molewright.order.lines import OrderLine, OwnWords
from molewright.order.order import Order, Wanted
from molewright.order.order_file import ORDER_ENDING, parse_order, read_order
from molewright.papers.changing import changed
from molewright.papers.code import read_code
from molewright.papers.fading import faded_order
from molewright.papers.making import Paper, PaperMaker
from molewright.papers.record.writer import record
from molewright.papers.sets import PaperSet
from molewright.papers.writing import write_papers
from molewright.question.check import Question
from molewright.question.fading import with_first_step_given, with_last_steps_open
from molewright.render import FORMS, renderer
from shared.banks import built_in
from shared.covering import covering
from shared.for_each import for_each, for_every
from shared.kinds import each_kind
from shared.records import record_schema
from shared.typed_back import differences

TAUGHT = [key for key, one in sorted(built_in().archetypes.items()) if one.calculated]
WITHOUT_STEPS = [key for key, one in sorted(built_in().archetypes.items()) if not one.calculated]
SEED = 5


def never() -> int:
    raise AssertionError("a seed was drawn though one is written")


def paper_of(bank: Bank, plans: Plans, key: str, version: str = "A") -> Paper:
    return PaperMaker(bank, faded_order(bank, [key], seed=SEED), plans).paper(Wanted(), version)


def plain(text: str) -> str:
    return " ".join(text.split())


def set_up(question: Question) -> tuple[object, ...]:
    draw = question.draw
    return draw.archetype.key, dict(draw.variant.roles), draw.context.key


def require_one_experiment(questions: Sequence[Question]) -> None:
    """The first four have one set-up and other numbers, the last is elsewhere in the topic."""
    *alike, last = questions
    assert all(set_up(one) == set_up(alike[0]) for one in alike)
    assert all(
        one.draw.ask == alike[0].draw.ask and one.draw.truth != other.draw.truth for one, other in pairwise(alike)
    )
    assert set_up(last) != set_up(alike[0])
    assert last.draw.archetype.topic == alike[0].draw.archetype.topic


# ------------------------------------------------------------------ every kind that has steps


@each_kind(covering(TAUGHT))
def test_every_kind_with_steps_is_taught_and_its_marks_add_up(key: str, bank: Bank, plans: Plans) -> None:
    paper = paper_of(bank, plans, key)
    require_one_experiment(paper.questions)
    composer = paper.composer
    example, twin, finish, go_on, exam = paper.questions
    assert example.marks == 0 < finish.marks <= go_on.marks <= twin.marks
    assert len(finish.points) >= 1
    assert len(finish.done) + len(finish.points) == len(twin.points)
    assert len(go_on.done) + len(go_on.points) == len(twin.points)
    assert exam.points
    assert not exam.done
    blocks = [block for block in composer.question_paper().blocks if isinstance(block, QuestionBlock)]
    assert [sum(part.marks for part in block.parts) for block in blocks] == [one.marks for one in paper.questions]
    assert sum(one.marks for one in paper.questions) == composer.marks
    for sheet in (composer.mark_scheme(), composer.worked_solutions(), composer.answers()):
        assert renderer("text").render(sheet)
    held = record(paper)
    record_schema().validate(held)
    assert sum(one["marks in all"] for one in held["questions"]) == held["marks"] == composer.marks


@each_kind(covering(TAUGHT))
def test_what_the_scheme_prints_of_the_steps_left_open_the_marker_pays(
    key: str, bank: Bank, plans: Plans, tmp_path: Path
) -> None:
    (whole,) = (
        PaperMaker(bank, Order(seed=SEED, count=1, level="structured", archetypes=(key,)), plans)
        .paper(Wanted(), "A")
        .questions
    )
    for question in (with_last_steps_open(whole), with_first_step_given(whole)):
        _, wrong = differences(question, "structured", bank, tmp_path)
        assert not wrong


@each_kind(covering(TAUGHT)[::6])
def test_a_settled_series_prints_again_to_the_byte(key: str, bank: Bank, plans: Plans, tmp_path: Path) -> None:
    wanted = Wanted(versions=("A", "B"), forms=("text",))
    first, again = tmp_path / key / "first", tmp_path / key / "again"
    write_papers(PaperSet(bank, faded_order(bank, [key], seed=SEED), wanted, plans), first)
    (path,) = first.glob(f"*{ORDER_ENDING}")
    order, said = read_order(path, never)
    assert order.settled
    assert [line.level for line in order.lines] == list(SERIES)
    write_papers(PaperSet(bank, order, said, plans), again)
    assert {one.name: one.read_bytes() for one in again.iterdir()} == {
        one.name: one.read_bytes() for one in first.iterdir()
    }


# ------------------------------------------------------------------ what stands on the sheets


@pytest.fixture(scope="module")
def folder(bank: Bank, plans: Plans, tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("faded")
    wanted = Wanted(forms=("text",), title="Faded")
    write_papers(PaperSet(bank, faded_order(bank, ["back-portions"], seed=SEED), wanted, plans), made)
    return made


def page(folder: Path, word: str) -> str:
    (path,) = folder.glob(f"*-{word}.txt")
    return path.read_text("utf-8")


def test_the_solution_of_the_example_stands_on_the_question_paper_and_no_other_answer(
    folder: Path, bank: Bank, plans: Plans
) -> None:
    text = plain(page(folder, "questions"))
    questions = paper_of(bank, plans, "back-portions").questions
    example, _, rest = text.partition("Answer: ")
    assert "Worked example" in example
    assert rest.startswith(plain(questions[0].worked.accepted.told))
    for step in questions[0].worked.steps[:-1]:
        assert f"= {plain(str(step.shown))}" in example
    given = [step for question in questions for point in question.done for step in point.steps]
    for step in given:
        assert f"= {plain(str(step.shown))}" in rest
    shown = {step.shown for step in given}
    for question in questions[1:]:
        for step in (step for point in question.points for step in point.steps if step.shown not in shown):
            assert f"= {plain(str(step.shown))}" not in rest


def test_given_steps_are_worked_with_the_numbers_of_their_question(bank: Bank, plans: Plans) -> None:
    paper = paper_of(bank, plans, "back-portions")
    blocks = [block for block in paper.composer.question_paper().blocks if isinstance(block, QuestionBlock)]
    for block, question in list(zip(blocks, paper.questions, strict=True))[2:4]:
        given = [part for part in block.parts if part.alone]
        assert len(given) == sum(len(point.steps) or 1 for point in question.done)
        assert all(not part.marks and not part.label for part in given)
        assert next(part.label for part in block.parts if part.marks) == "(a)"


def test_hints_stand_only_where_the_last_steps_are_open(bank: Bank, plans: Plans) -> None:
    paper = paper_of(bank, plans, "back-portions")
    text = renderer("text").render(paper.composer.question_paper()).decode()
    third = text.partition("Question 2: ")[2].partition("Question 3: ")[0]
    others = text.replace(third, "")
    assert "Mass = amount × molar mass." in third or "Percentage = " in third
    assert "Mass = amount × molar mass." not in others
    assert "Percentage = " not in others


def test_the_scheme_tells_the_demand_of_each(folder: Path) -> None:
    text = plain(page(folder, "mark-scheme"))
    places = [
        text.index(f"Demand: {word}") for word in ("to follow", "to imitate", "to finish", "to go on", "to transfer")
    ]
    assert places == sorted(places)
    assert "Question 1: 0 marks" not in text


def test_mark_points_of_given_steps_are_not_marked(folder: Path, bank: Bank, plans: Plans, tmp_path: Path) -> None:
    (table,) = folder.glob("*-answers.csv")
    _, code_row = list(csv.reader(table.read_text("utf-8-sig").splitlines()))[:2]
    heading = next(csv.reader(table.read_text("utf-8-sig").splitlines()))
    assert not [one for one in heading if one.startswith("1(") or one == "1"]
    paper = paper_of(bank, plans, "back-portions")
    third = paper.questions[2]
    last = chr(ord("a") + len(third.points) - 1)
    answers = tmp_path / "answers.csv"
    answers.write_text(
        f"paper code,pupil,question,part,answer\n{code_row[1]},Ada,3,{last},{third.worked.accepted.told}\n", "utf-8"
    )
    (held,) = folder.glob("*.jsonl")
    marked, _ = mark_answers(answers, bank, plans, given=held)
    assert marked.pupils[0].marks == {3: len(third.points)}
    assert marked.out_of[1] == 0


@for_every(key=["thermometric-weak", "burette-readings", "dolomite-mixture", "acyl-chloride-why"], form=FORMS)
def test_graphs_readings_and_two_equations_are_shown_in_every_form(
    key: str, form: str, bank: Bank, plans: Plans
) -> None:
    composer = paper_of(bank, plans, key).composer
    for sheet in (
        composer.question_paper(),
        composer.mark_scheme(),
        composer.worked_solutions(),
        composer.answers(),
    ):
        assert renderer(form).render(sheet)


def test_a_reading_that_is_given_is_not_asked_for(bank: Bank, plans: Plans) -> None:
    _, twin, finish, go_on, exam = paper_of(bank, plans, "thermometric-titration").questions
    assert any(part.first for part in twin.further_parts)
    assert any(part.first for part in exam.further_parts)
    for question in (finish, go_on):
        assert question.read
        assert not any(part.first for part in question.further_parts)


# ------------------------------------------------------------------ what is asked, versions, changes


def test_the_code_makes_the_series_again(bank: Bank, plans: Plans) -> None:
    maker = PaperMaker(bank, faded_order(bank, ["direct-purity"], seed=77), plans)
    order, _ = read_code(maker.code, tuple(sorted(bank.archetypes)), bank.fingerprint)
    again = PaperMaker(bank, order, plans)
    assert again.order == maker.order
    assert again.paper(Wanted(), "C").composer.question_paper() == maker.paper(Wanted(), "C").composer.question_paper()


def test_every_version_is_worth_the_same(bank: Bank, plans: Plans) -> None:
    maker = PaperMaker(bank, faded_order(bank, ["back-portions-why"], seed=SEED), plans)
    marks = {tuple(question.marks for question in maker.paper(Wanted(), version).questions) for version in "ABCD"}
    assert len(marks) == 1


def test_a_topic_lends_one_of_its_kinds(bank: Bank, plans: Plans) -> None:
    kinds = {faded_order(bank, ["redox"], seed=seed).archetypes for seed in range(8)}
    assert len(kinds) > 2
    assert all(len(one) == 1 and bank.archetypes[one[0]].topic == "redox" for one in kinds)
    order, _ = parse_order("level: faded\ntopics: [redox]\n", "x", lambda: 4)
    lines = PaperMaker(bank, order, plans).order.lines
    assert len({line.kind for line in lines[:4]}) == 1


def test_the_first_line_fixes_the_series_and_each_its_own_question(bank: Bank, plans: Plans) -> None:
    text = "level: faded\nlines:\n  - {kind: back-portions, roles: {material: limestone}, numbers: {mass of limestone: 1.264 g}}\n"
    order, _ = parse_order(text, "x", lambda: 4)
    assert order.count == len(SERIES)
    maker = PaperMaker(bank, order, plans)
    assert {dict(line.roles)["material"] for line in maker.order.lines[:4]} == {"limestone"}
    masses = [
        {plain(str(one)) for one in question.draw.given.values()} for question in maker.paper(Wanted(), "A").questions
    ]
    assert "1.264 g" in masses[0]
    assert not any("1.264 g" in one for one in masses[1:])


def test_one_question_of_a_settled_series_may_be_changed(bank: Bank, plans: Plans) -> None:
    before = PaperMaker(bank, faded_order(bank, ["back-portions"], seed=SEED), plans)
    after = PaperMaker(bank, changed(bank, before.order, "numbers", 3, "1"), plans)
    one, other = (maker.paper(Wanted(), "A").questions for maker in (before, after))
    assert [old.draw.given == new.draw.given for old, new in zip(one, other, strict=True)] == [
        True,
        True,
        False,
        True,
        True,
    ]


@for_each("stage", STAGES)
def test_a_stage_may_stand_in_any_order(stage: str, bank: Bank, plans: Plans) -> None:
    order = Order(seed=3, count=2, level="exam", lines=(OrderLine(kind="direct-purity", level=stage),))
    paper = PaperMaker(bank, order, plans).paper(Wanted(), "A")
    first, second = paper.questions
    assert first.done or first.shown is not None
    assert second.points
    assert paper.composer.marks == first.marks + second.marks
    assert renderer("text").render(paper.composer.mark_scheme())


# ------------------------------------------------------------------ refused


REFUSED = {
    "a mixture": ("level: faded", "0 kinds or topics at the level faded"),
    "two kinds": ("level: faded\nkinds: [back-portions, direct-purity]", "2 kinds or topics"),
    "two topics": ("level: faded\ntopics: [redox, EDTA]", "2 kinds or topics"),
    "another number": (
        "level: faded\nquestions: 6\nkinds: [back-portions]",
        "6 questions at the level faded; expected 5",
    ),
    "a total of marks": ("level: faded\nmarks: 20\nkinds: [back-portions]", "a total of marks at the level faded"),
    "an aim": ("level: faded\naim: S01\nkinds: [back-portions]", "an aim at the level faded"),
    "several levels": ("level: [faded, exam]\nkinds: [back-portions]", "the level faded beside others"),
    "own words": (
        "level: faded\nlines: [{question: Why?, marks: 1, answer: So.}]",
        "a question of your own in a series",
    ),
    "a kind without steps": (f"level: faded\nkinds: [{WITHOUT_STEPS[0]}]", "has no steps that could be shown"),
}


@for_each("case", REFUSED)
def test_what_is_no_series_is_refused_in_a_sentence(case: str, bank: Bank, plans: Plans) -> None:
    text, said = REFUSED[case]
    with pytest.raises(Mistake) as caught:
        PaperMaker(bank, parse_order(text, "x.order.yaml", lambda: 1)[0], plans)
    assert said in str(caught.value)
    assert "expected" in str(caught.value)


def test_a_settled_series_of_two_kinds_is_refused(bank: Bank, plans: Plans) -> None:
    order = PaperMaker(bank, faded_order(bank, ["back-portions"], seed=SEED), plans).order
    mixed = changed(bank, order, "kind", 3, "1")
    with pytest.raises(Mistake, match="question 3 of a series that fades is of the kind"):
        PaperMaker(bank, mixed, plans)
    words = OrderLine(words=OwnWords(text="Why?", marks=1, answer="So.", lines=1))
    with pytest.raises(Mistake, match="a question of your own"):
        PaperMaker(bank, replace(order, lines=(words, *order.lines[1:])), plans)


def test_the_command_makes_one(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    options = ["paper", "direct-purity", "--level", FADED, "--seed", "3", "--form", "text", "--to", str(tmp_path)]
    assert main(options) == 0
    told = capsys.readouterr().out
    assert "last steps open" in told
    assert main([*options, "--marks", "20"]) == 1
    assert main([*options[:1], "--level", FADED, "--to", str(tmp_path)]) == 1
    assert "0 kinds or topics at the level faded" in capsys.readouterr().err
