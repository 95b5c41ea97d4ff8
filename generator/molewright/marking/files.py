"""What the commands call that read answers: a file of them comes in, marked; finished files stand in a folder, or nothing does."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from molewright.answer.printed import SlipFacts
from molewright.bank.definitions import Bank
from molewright.derivation.plans import Plans
from molewright.errors import Mistake, shortened
from molewright.machine.files import Staging
from molewright.machine.workbooks import workbook
from molewright.marking.changes import changes
from molewright.marking.lookup import LEAST_CODE, find_record
from molewright.marking.marked import MarkedClass, mark_returned
from molewright.marking.marked_answers import PREFIX
from molewright.marking.progress import MarkBook
from molewright.marking.progress_report import as_csv, book_sheet, book_sheets
from molewright.marking.report import class_report
from molewright.marking.report_workbook import report_sheets
from molewright.marking.returned import Returned, read_returned
from molewright.marking.returned_rows import Absent, Row
from molewright.marking.strips import feedback_strips
from molewright.marking.table import marked_table, marks_table
from molewright.order.choices import SUPPORT
from molewright.order.pupils import Pupil
from molewright.papers.code import split_code
from molewright.papers.record.reader import Record
from molewright.render import renderer


def mark_answers(
    answers: Path,
    bank: Bank,
    plans: Plans | None = None,
    given: Path | None = None,
    class_list: Sequence[Pupil] = (),
    tried: Callable[[str], object] = str,
) -> tuple[MarkedClass, tuple[str, ...]]:
    """The marked class, and notes on how the file was read. Raises Mistake for answers that do not fit their paper.

    `tried` raises Mistake for the name of a pupil that cannot be printed.
    """
    returned = read_returned(answers, tried, class_list)
    return _marked(returned, bank, plans or Plans.of_user(bank.fingerprint), given, class_list)


def _marked(
    returned: Returned, bank: Bank, plans: Plans, given: Path | None, class_list: Sequence[Pupil]
) -> tuple[MarkedClass, tuple[str, ...]]:
    """The answers to one paper, marked."""
    codes = list(dict.fromkeys(row.code for row in returned.rows if row.code))
    try:
        beside = returned.path / "papers" if returned.path.is_dir() else returned.path
        found = find_record(codes, given, beside, bank, plans)
    except Mistake as mistake:
        named = next((row for row in returned.rows if row.code and shortened(row.code) in str(mistake)), None)
        raise mistake.at(returned.where(named)) from None
    notes = list(returned.notes)
    if found.fingerprint != bank.fingerprint:
        notes.append(
            f"the paper was made with other banks ({found.fingerprint}) than these ({bank.fingerprint}); it is marked by its record"
        )
    marked = mark_returned(returned, found, slips_of(found, bank), _at_these_levels(class_list, returned))
    return marked, tuple(dict.fromkeys((*notes, *marked.notes)))


def _at_these_levels(class_list: Sequence[Pupil], returned: Returned) -> list[Pupil]:
    """The pupils of a class list who work at the level of those that have answered: nobody else has this paper."""
    answered = {row.key for row in returned.rows} | {one.key for one in returned.absent}
    levels = {pupil.level for pupil in class_list if pupil.key in answered}
    return [pupil for pupil in class_list if pupil.level in levels or pupil.key in answered or not levels]


def mark_set(
    answers: Path,
    bank: Bank,
    given: Path | None = None,
    class_list: Sequence[Pupil] = (),
    tried: Callable[[str], object] = str,
) -> tuple[tuple[MarkedClass, ...], tuple[str, ...]]:
    """The marked papers of a file: of a class at several levels there is one for each, told apart by the codes.

    Raises Mistake for answers that do not fit their paper, and for a pupil of whom no answer tells the paper.
    """
    returned = read_returned(answers, tried, class_list)
    papers = list(dict.fromkeys(filter(None, map(_paper_of, returned.rows))))
    plans = Plans.of_user(bank.fingerprint)
    if len(papers) < 2:
        marked, notes = _marked(returned, bank, plans, given, class_list)
        return (marked,), notes
    paper_of: dict[str, str] = {}
    for row in returned.rows:
        if _paper_of(row):
            paper_of.setdefault(row.key, _paper_of(row))
    found: list[MarkedClass] = []
    told = list(returned.notes)
    for paper in papers:
        rows = tuple(row for row in returned.rows if (_paper_of(row) or paper_of.get(row.key, "")) == paper)
        absent = tuple(one for one in returned.absent if _paper_of(one) == paper)
        here = replace(returned, rows=rows, notes=(), absent=absent)
        marked, more = _marked(here, bank, plans, given, class_list)
        found.append(marked)
        told += more
    lost = next((row for row in returned.rows if not _paper_of(row) and row.key not in paper_of), None)
    if lost is not None:
        raise Mistake(
            f"no row tells which paper {shortened(lost.pupil)} had",
            expected="a paper code, for the file has answers to several papers",
            where=returned.where(lost),
        )
    return tuple(sorted(found, key=_support)), tuple(dict.fromkeys(told))


def reported_together(papers: Sequence[MarkedClass]) -> tuple[tuple[MarkedClass, ...], ...]:
    """The papers that stand in one report: those of one title, each at a level of its own."""
    groups: dict[str, list[MarkedClass]] = {}
    for marked in papers:
        groups.setdefault(marked.title, []).append(marked)
    found: list[tuple[MarkedClass, ...]] = []
    for group in groups.values():
        levels = {marked.record.level for marked in group}
        found += [tuple(group)] if len(levels) == len(group) else [(marked,) for marked in group]
    return tuple(found)


def _support(marked: MarkedClass) -> tuple[int, str]:
    """Where the level of a paper stands, from much support to little: so the papers of a set are printed and called."""
    order = ("mixed", *SUPPORT)
    level = marked.record.level
    return (order.index(level) if level in order else len(order), marked.code)


def _paper_of(row: Row | Absent) -> str:
    """The letters of the code that a row names without its version; "" where it names a version at most."""
    _, letters = split_code(row.code)
    return letters if len(letters) >= LEAST_CODE else ""


def slips_of(found: Record, bank: Bank) -> Mapping[str, SlipFacts]:
    """What is said of each slip: by the record, and by the banks for those that the record only names."""
    own = {
        slip.key: SlipFacts(
            name=slip.name,
            often=slip.often,
            near=slip.near,
            first=slip.first,
            feedback=slip.feedback,
            practice=slip.practice,
            misunderstood=slip.misunderstood,
        )
        for slip in bank.slips
    }
    told = {
        key: replace(facts, misunderstood=facts.misunderstood or (own[key].misunderstood if key in own else ""))
        for key, facts in found.slips.items()
    }
    return {**own, **told}


def write_marks(
    classes: Sequence[MarkedClass], folder: Path, forms: Sequence[str] = ("pdf",), overwrite: bool = False
) -> list[str]:
    """Write the marked answers, the marks of each pupil, the class report and the feedback strips; the names of the files.

    The papers of several levels stand together in each, under the code of the first. What is there stays as it is if anything fails.
    """
    code = classes[0].code
    report, strips = class_report(classes), feedback_strips(classes)
    with Staging(folder, overwrite) as staging:
        staging.add(marked_name(classes), marked_table(classes))
        staging.add(f"marks-{code}.csv", marks_table(classes))
        staging.add(f"class-report-{code}.xlsx", workbook(report_sheets(classes)))
        for form in forms:
            made = renderer(form)
            staging.add(f"class-report-{code}{made.SUFFIX}", made.render(report))
            staging.add(f"feedback-{code}{made.SUFFIX}", made.render(strips))
    return staging.written


def marked_name(classes: Sequence[MarkedClass]) -> str:
    """What the table of marked answers is called."""
    return f"{PREFIX}{classes[0].code}.csv"


def what_changed(classes: Sequence[MarkedClass], folder: Path) -> tuple[str, ...]:
    """How the marked papers differ from those that stand in a folder, told line by line; () where none do."""
    return changes(classes, folder / marked_name(classes))


def write_book(book: MarkBook, folder: Path, forms: Sequence[str] = ("pdf",), overwrite: bool = False) -> list[str]:
    """Write the mark book as a sheet in every form, as a workbook, and as two tables; the names of the files."""
    sheet, (marks, things, papers) = book_sheet(book), book_sheets(book)
    with Staging(folder, overwrite) as staging:
        for form in forms:
            made = renderer(form)
            staging.add(f"mark-book{made.SUFFIX}", made.render(sheet))
        staging.add("mark-book.xlsx", workbook((marks, things, papers)))
        staging.add("mark-book-marks.csv", as_csv(marks.heading, marks.rows))
        staging.add("mark-book-misunderstood.csv", as_csv(things.heading, things.rows))
    return staging.written
