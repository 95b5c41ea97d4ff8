"""Papers that were set before: what of them does not come again, and what is told where there is nothing else."""

from __future__ import annotations

import json
import os
from collections import defaultdict
from dataclasses import replace
from pathlib import Path

import pytest

from molewright.bank.definitions import Bank
from molewright.derivation.plans import Plans
from molewright.errors import Mistake
from molewright.order.order import Order, Past, Wanted
from molewright.order.order_file import ORDER_ENDING
from molewright.order.order_text import write_order
from molewright.papers import earlier_papers
from molewright.papers.choosing import new_order
from molewright.papers.earlier_papers import read_earlier, told_repeats
from molewright.papers.making import PaperMaker
from molewright.papers.record.writer import heading_of, record
from molewright.papers.settling import settle
from molewright.question.check import Questions
from shared.for_each import for_each
from shared.papers import write_papers

LEAST_SCENES = 16  # of a topic that is set for four weeks
WEEKS, A_WEEK = 4, 6
SEEDS = 4


@pytest.fixture(scope="module")
def questions(bank: Bank, plans: Plans) -> Questions:
    return Questions(bank, plans)


@pytest.fixture(scope="module")
def scenes_of(bank: Bank) -> dict[str, set[str]]:
    found: dict[str, set[str]] = defaultdict(set)
    for kind in bank.archetypes.values():
        found[kind.topic] |= {scene.key for variant in kind.variants for scene in variant.contexts}
    return found


def set_in(order: Order) -> tuple[Past, ...]:
    return tuple(Past(kind=one.kind, roles=one.roles, asked=one.asked, scene=one.scene) for one in order.lines)


def four_weeks(questions: Questions, names: list[str], a_week: int, seed: int) -> list[str]:
    past: tuple[Past, ...] = ()
    for week in range(WEEKS):
        order = new_order(questions.bank, names, a_week, WEEKS * seed + week, not_again=past)
        past += set_in(settle(questions, order)[0])
    return [one.scene for one in past]


@for_each("seed", list(range(SEEDS)), shares=2)
def test_four_weeks_of_homework_repeat_no_scene(seed: int, questions: Questions) -> None:
    scenes = four_weeks(questions, [], A_WEEK, seed)
    assert len(set(scenes)) == len(scenes) == WEEKS * A_WEEK


@pytest.mark.thorough
def test_four_weeks_of_a_topic_repeat_no_scene(questions: Questions, scenes_of: dict[str, set[str]]) -> None:
    large = {topic: scenes for topic, scenes in scenes_of.items() if len(scenes) >= LEAST_SCENES}
    assert large
    for topic, known in large.items():
        a_week = min(A_WEEK, len(known) // WEEKS)
        for seed in range(SEEDS):
            scenes = four_weeks(questions, [topic], a_week, seed)
            assert len(set(scenes)) == len(scenes) == WEEKS * a_week, (topic, seed)


def test_no_experiment_comes_again_while_there_is_another(questions: Questions) -> None:
    first, _ = settle(questions, new_order(questions.bank, ["redox"], 6, 1))
    second, _ = settle(questions, new_order(questions.bank, ["redox"], 6, 2, not_again=set_in(first)))
    assert not {one.experiment for one in set_in(first)} & {one.experiment for one in set_in(second)}


@pytest.mark.thorough
def test_marks_and_earlier_papers_hold_together(bank: Bank, questions: Questions) -> None:
    past: tuple[Past, ...] = ()
    for week in range(3):
        maker = PaperMaker(bank, new_order(bank, [], None, week, 30, past), questions=questions)
        assert maker.paper(Wanted(), "A").composer.marks == 30
        past += set_in(maker.order)
    assert len({one.scene for one in past}) == len(past)


@pytest.fixture
def written(bank: Bank, plans: Plans, tmp_path: Path) -> tuple[Path, Order]:
    maker = PaperMaker(bank, Order(seed=7), plans)
    folder = tmp_path / "year" / "week 1"
    write_papers(maker, Wanted(forms=("text",)), folder)
    return folder, maker.order


def test_an_order_a_record_and_their_folder_tell_the_same(written: tuple[Path, Order]) -> None:
    folder, order = written
    (path,) = folder.glob(f"*{ORDER_ENDING}")
    (record,) = folder.glob("*-record.jsonl")
    for named in (path, record, folder, folder.parent):
        found = read_earlier([named])
        assert (set(found.past), found.notes) == (set(set_in(order)), ())
    path.unlink()
    assert set(read_earlier([folder]).past) == set(set_in(order))


def test_what_is_no_paper_is_passed_over_in_a_folder_and_told(written: tuple[Path, Order]) -> None:
    folder, order = written
    (folder / f"rubbish{ORDER_ENDING}").write_bytes(b"\xff\x00[")
    (folder / "rubbish.jsonl").write_text("[[[[", "utf-8")
    (folder / "letter.txt").write_text("Dear all", "utf-8")
    found = read_earlier([folder])
    assert set(found.past) == set(set_in(order))
    (note,) = found.notes
    assert note.startswith("2 files are no papers and were passed over in ")
    assert "rubbish" in note


def test_what_is_named_and_is_no_paper_is_refused(tmp_path: Path) -> None:
    rubbish = tmp_path / "rubbish.jsonl"
    rubbish.write_text("[[[[", "utf-8")
    undrawn = tmp_path / f"undrawn{ORDER_ENDING}"
    undrawn.write_text("questions: 3\n", "utf-8")
    for path, told in (
        (rubbish, "not JSON"),
        (undrawn, "has not been made into a paper"),
        (tmp_path / f"nothing{ORDER_ENDING}", "no such file or folder"),
        (tmp_path, "there is no paper in"),
    ):
        with pytest.raises(Mistake, match=told):
            read_earlier([path])
    if hasattr(os, "mkfifo"):
        os.mkfifo(tmp_path / "pipe.jsonl")
        with pytest.raises(Mistake, match="no such file"):
            read_earlier([tmp_path / "pipe.jsonl"])


def test_of_very_many_papers_the_last_are_taken_and_this_is_told(
    questions: Questions, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(earlier_papers, "MOST_PAPERS", 2)
    made = [settle(questions, Order(seed=seed, count=2))[0] for seed in range(4)]
    for number, order in enumerate(made):
        path = tmp_path / f"{number}{ORDER_ENDING}"
        path.write_text(write_order(order, Wanted()), "utf-8")
        os.utime(path, (number, number))
    found = read_earlier([tmp_path])
    assert set(found.past) == {*set_in(made[2]), *set_in(made[3])}
    assert found.notes == (f"4 papers in {tmp_path}: the 2 written last are not to come again",)


def test_a_folder_without_end_is_looked_through_no_further(
    written: tuple[Path, Order], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(earlier_papers, "MOST_ENTRIES", 3)
    folder, _ = written
    for number in range(9):
        (folder / f"{number}.txt").touch()
    try:
        notes = read_earlier([folder]).notes
    except Mistake as mistake:  # none of the papers was among the first
        notes = (str(mistake),)
    assert any("more than 3 files" in note or "there is no paper" in note for note in notes)


def test_repeats_are_told_by_topic_and_only_where_there_are_any(
    questions: Questions, scenes_of: dict[str, set[str]]
) -> None:
    bank = questions.bank
    order, slots = settle(questions, new_order(bank, ["silver"], 4, 3))
    assert not list(told_repeats(bank, order, slots))
    known = scenes_of["silver"]
    left = slots[0].chosen.context.key
    past = tuple(Past(kind="", roles=(), asked="", scene=scene) for scene in sorted(known) if scene != left)
    order, slots = settle(questions, replace(new_order(bank, ["silver"], 4, 3), not_again=past))
    (sentence,) = told_repeats(bank, order, slots)
    assert sentence.startswith(f"silver: 1 of {len(known)} scenes have not been set yet; questions ")
    assert sentence.endswith(" are in a scene of an earlier paper")


def test_a_folder_that_is_not_there_yet_or_holds_no_paper_is_the_first_week(tmp_path: Path) -> None:
    (tmp_path / "empty").mkdir()
    (tmp_path / "empty" / "notes.txt").write_text("nothing", "utf-8")
    for folder in (tmp_path / "out", tmp_path / "empty"):
        found = read_earlier([folder])
        assert found.past == ()
        (note,) = found.notes
        assert note.endswith("yet: nothing was set before")


def test_what_was_practised_does_not_come_again_either(bank: Bank, plans: Plans, tmp_path: Path) -> None:
    """The record of a practice tells no order; what was set stands in its papers."""
    maker = PaperMaker(bank, Order(seed=3, count=3), plans)
    held = record(maker.paper(Wanted(), "01"))
    heading_alone = heading_of("X-P1", bank, "one place", "dm3")
    path = tmp_path / "practice-record.jsonl"
    path.write_text("\n".join(json.dumps(line) for line in (heading_alone, held)) + "\n", "utf-8")
    found = read_earlier([tmp_path])
    assert {past.scene for past in found.past} == {line.scene for line in maker.order.lines}
    assert {past.experiment for past in found.past} == {(one.kind, one.roles, one.asked) for one in maker.order.lines}
