"""The class report of a believable class of 28 at three levels, and of one at a single level: what it counts, groups and leaves out."""

from __future__ import annotations

import io
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import pytest
from openpyxl import load_workbook
from pypdf import PdfReader

from molewright.bank.definitions import Bank
from molewright.chem.quantity import half_up
from molewright.derivation.plans import Plans
from molewright.machine.workbooks import workbook
from molewright.marking.facility import facility
from molewright.marking.files import mark_set, reported_together
from molewright.marking.marked import MarkedClass
from molewright.marking.misunderstood import behind, behind_answer, misunderstood
from molewright.marking.report import class_report
from molewright.marking.report_workbook import report_sheets
from molewright.marking.strips import done_well, feedback_strips, look_again
from molewright.nodes.blocks import Table, Together
from molewright.nodes.figures import CountChart
from molewright.order.class_list import read_class_list
from molewright.order.order import Order, Wanted
from molewright.papers.copies import SIGNS
from molewright.papers.sets import PaperSet
from molewright.papers.writing import write_papers
from molewright.render import renderer
from shared.believable_class import papers_in, write_answers

DEMO = Path(__file__).resolve().parents[1] / "demo"
MOST_PAGES = 3
pytestmark = pytest.mark.thorough


@dataclass(frozen=True)
class Case:
    """A marked class."""

    classes: tuple[MarkedClass, ...]


@pytest.fixture(scope="module", params=["three levels", "one level"])
def case(request: pytest.FixtureRequest, bank: Bank, plans: Plans, tmp_path_factory: pytest.TempPathFactory) -> Case:
    """28 pupils and six questions."""
    folder = tmp_path_factory.mktemp("class")
    pupils = read_class_list(DEMO / "class.csv")
    levels = ("scaffolded", "structured", "stretch") if request.param == "three levels" else ("exam",)
    order = Order(seed=7, count=6, levels=levels if len(levels) > 1 else (), level=levels[0])
    shown = {pupil.key: pupil.level if len(levels) > 1 else levels[0] for pupil in pupils}
    papers = PaperSet(bank, order, Wanted(forms=("text",), numbers="shared", title="Chalk and vinegar"), plans)
    write_papers(papers, folder)
    codes = {copy.level: papers.paper(copy).code for copy in papers.copies}
    who = [(f"{pupil.name} {pupil.beside}".strip(), codes[shown[pupil.key]]) for pupil in pupils]
    write_answers(papers_in(folder), who, folder / "answers-typed.csv")
    classes, _ = mark_set(folder / "answers-typed.csv", bank, given=folder)
    (together,) = reported_together(classes)
    assert sum(len(marked.pupils) for marked in together) == len(pupils) == 28
    return Case(together)


def blocks(classes: tuple[MarkedClass, ...]) -> Iterator[object]:
    for block in class_report(classes).blocks:
        yield from block.blocks if isinstance(block, Together) else (block,)


def words(pages: PdfReader) -> str:
    return " ".join(" ".join(page.extract_text() for page in pages.pages).split())


def test_the_report_of_a_class_has_at_most_three_pages(case: Case) -> None:
    pages = PdfReader(io.BytesIO(renderer("pdf").render(class_report(case.classes))))
    assert len(pages.pages) <= MOST_PAGES
    text = words(pages)
    for marked in case.classes:
        assert marked.code in text
        assert all(pupil.name in text for pupil in marked.pupils)


def test_facility_is_what_the_marks_say(case: Case) -> None:
    """The shares of points and parts, counted from mark points, add up to the marks of the pupils, question by question."""
    by_level = {marked.record.level: marked for marked in case.classes}
    for one in facility(case.classes):
        for level in one.levels:
            marked = by_level[level.level]
            earned = sum(pupil.marks.get(one.number, 0) for pupil in marked.pupils)
            settled = sum(marked.out_of[one.number] - pupil.pending.get(one.number, 0) for pupil in marked.pupils)
            assert (level.share.earned, level.share.settled) == (earned, settled)
            assert level.share.percent == half_up(Fraction(100 * earned, settled), 0)
            assert sum(part.share.settled for part in level.parts) == settled


def test_levels_of_one_experiment_stand_side_by_side(case: Case) -> None:
    found = facility(case.classes)
    assert [len(one.levels) for one in found] == [len(case.classes)] * 6
    table = next(one for one in blocks(case.classes) if isinstance(one, Table) and one.summary.startswith("Facility"))
    assert len(table.rows) == 6 * len(case.classes)


def test_misconceptions_are_counted_once_a_pupil_by_what_lies_behind_them(case: Case) -> None:
    things = misunderstood(case.classes)
    assert things
    assert list(things) == sorted(things, key=lambda one: (-one.pupils, -one.marks, one.words))
    for one in things:
        having = [
            [sure for answer in pupil.answers for told, sure in [behind_answer(marked, answer)] if one.words in told]
            for marked in case.classes
            for pupil in marked.pupils
        ]
        assert (len(one.sure), len(one.perhaps)) == (
            sum(any(each) for each in having),
            sum(bool(each) and not any(each) for each in having),
        )
    slips = {
        key
        for marked in case.classes
        for pupil in marked.pupils
        for answer in pupil.answers
        for key in sum(answer.explained.keys[:1], ())
    }
    assert len(things) < len(slips)


def test_slips_of_one_kind_that_nobody_can_tell_apart_are_sure_as_what_is_misunderstood(case: Case) -> None:
    shared = [
        (marked, one)
        for marked in case.classes
        for pupil in marked.pupils
        for one in pupil.answers
        if one.explained.found == "shared"
    ]
    assert shared
    for marked, one in shared:
        behinds = {tuple(dict.fromkeys(behind(marked, key) for key in keys)) for keys in one.explained.keys}
        assert behind_answer(marked, one)[1] == (len(behinds) == 1)


def test_bars_tell_their_numbers_and_run_to_a_hundred(case: Case) -> None:
    totals, bars = (one for one in blocks(case.classes) if isinstance(one, CountChart))
    assert sum(row.count for row in totals.rows) == 28
    assert (bars.most, bars.sign.strip()) == (100, "%")
    assert all(f"{row.count} %" in bars.alt for row in bars.rows)


def test_the_workbook_holds_every_mark_and_is_the_same_each_time(case: Case) -> None:
    content = workbook(report_sheets(case.classes))
    assert content == workbook(report_sheets(case.classes))
    book = load_workbook(io.BytesIO(content))
    assert book.sheetnames == ["Marks", "Facility", "Misunderstood", "To look at"]
    heading, *rows = book["Marks"].iter_rows(values_only=True)
    at = {name: place for place, name in enumerate(heading)}
    totals = sorted((pupil.name, pupil.total, pupil.waiting) for marked in case.classes for pupil in marked.pupils)
    assert sorted((row[at["pupil"]], row[at["total"]], row[at["pending"]]) for row in rows) == totals


# ------------------------------------------------------------------ strips


def test_a_strip_tells_its_own_pupil_and_nobody_else(case: Case) -> None:
    sheet = feedback_strips(case.classes)
    (table,) = (one for one in sheet.blocks if isinstance(one, Table))
    strips = [" ".join(piece.text for cell in row for line in cell.lines for piece in line) for row in table.rows]  # type: ignore[union-attr]
    names = sorted((pupil.name for marked in case.classes for pupil in marked.pupils), key=str.casefold)
    assert len(strips) == len(names) == 28
    levels = {pupil.name: marked.record.level for marked in case.classes for pupil in marked.pupils}
    for name, strip in zip(names, strips, strict=True):
        assert strip.startswith(f"{name} ")
        others = [other for other in names if other not in name and name not in other]
        assert not any(other in strip for other in others)
        assert "Done well: " in strip
        assert "Look again: " in strip or "Next: " in strip
        assert not any(level in strip for level in SIGNS)  # the sign of a level, never its rank
        assert (f"{SIGNS[levels[name]]} ·" in strip) == (len(case.classes) > 1)


def test_what_was_done_well_is_true_and_what_to_look_at_again_names_its_line(case: Case) -> None:
    for marked in case.classes:
        for pupil in marked.pupils:
            told = done_well(marked, pupil, {})
            full = [number for number, marks in pupil.marks.items() if marks == marked.out_of[number]]
            assert told.startswith("all of question ") == bool(full)
            if full:
                assert int(told.split()[3].rstrip(",")) in full
            label, said = look_again(marked, pupil)
            assert said
            if label == "Look again":
                assert said.startswith("question ")
                assert "the line for" in said


def test_strips_stand_several_to_a_page(case: Case) -> None:
    assert len(PdfReader(io.BytesIO(renderer("pdf").render(feedback_strips(case.classes)))).pages) <= 5
