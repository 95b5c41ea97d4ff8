"""The plan of a class's practice comes in; finished files stand in a folder, one for each kind of sheet, or nothing does."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import closing
from pathlib import Path

from molewright.bank.definitions import Bank
from molewright.derivation.plans import Plans
from molewright.machine.files import Staging
from molewright.machine.workers import HERE, Workers
from molewright.marking.practice import Practices
from molewright.marking.practice_plan import Plan, PupilPlan
from molewright.marking.practice_plan_text import PLAN_ENDING, write_plan
from molewright.nodes.blocks import Sheet
from molewright.order.choices import CLASS_KEY, DATA_SHEET, METHOD_SHEET
from molewright.papers.answers import AnswerTable, places
from molewright.papers.finished import FinishedPaper, finished_sheets
from molewright.papers.joined_sheets import JoinedSheets
from molewright.papers.record.set_before import BEFORE, as_before
from molewright.papers.record.writer import RecordFiles, heading_of, record, recorded
from molewright.papers.writing import FILE_WORDS, require_fillable
from molewright.render import renderer
from molewright.sheet.class_key import KeyRow, class_key
from molewright.sheet.compose import Composer
from molewright.sheet.data_sheet import data_sheet
from molewright.sheet.method_card import method_sheet

_Progress = Callable[[int, int], None] | None
_OF_ALL = frozenset((DATA_SHEET, METHOD_SHEET))  # sheets that are made of all papers together


def write_practice(
    practices: Practices,
    folder: Path,
    overwrite: bool = False,
    progress: _Progress = None,
    workers: Workers = HERE,
) -> list[str]:
    """Write the sheets of every pupil's practice, the record that marks them, the table for their answers, and the plan.

    The names of the files. Whole or not at all, and the same whoever does the work. Where a data sheet or method cards of all practices
    are wanted, one process makes them, for these need every paper itself.
    """
    wanted, pupils = practices.plan.wanted, practices.plan.pupils
    require_fillable(wanted)
    with Staging(folder, overwrite) as staging:
        writing = _Writing(practices, staging)
        aside = staging.aside.resolve() if workers.shared else None
        maker = _PracticesFinished(practices, [] if _OF_ALL & set(wanted.sheets) else None, aside)
        with closing((HERE if maker.composers is not None else workers).done(maker, pupils)) as finished:
            for number, (one, paper) in enumerate(zip(pupils, finished, strict=True), 1):
                writing.add(one, paper)
                if progress:
                    progress(number, len(pupils))
        writing.finish(maker.composers or ())
    practices.questions.plans.keep()
    return staging.written


def write_plan_alone(plan: Plan, folder: Path, overwrite: bool = False) -> list[str]:
    """Write the plan and nothing else: papers are made of it when it has been looked through."""
    with Staging(folder, overwrite) as staging:
        staging.add(plan_name(plan), write_plan(plan).encode())
    return staging.written


def plan_name(plan: Plan) -> str:
    """What the file of a plan is called."""
    return f"practice-{plan.code}{PLAN_ENDING}"


class _PracticesFinished:
    """Makes and finishes the practices of a plan, one by one; in another process from the plan and the banks."""

    def __init__(
        self, practices: Practices, composers: list[Composer] | None = None, aside: Path | None = None
    ) -> None:
        """Those of the papers are gathered in `composers`, where there is such a list. `aside` is where files are written already."""
        self.practices = practices
        self.composers = composers
        self.aside = aside

    def made(self, one: PupilPlan) -> FinishedPaper:
        """The practice of a pupil, finished. Raises Mistake, with the place of the question in the plan, for what cannot be."""
        paper = self.practices.paper(one)
        if self.composers is not None:
            self.composers.append(paper.composer)
        wanted = self.practices.plan.wanted
        held = {**record(paper), BEFORE: [as_before(past) for past in one.before]}
        return FinishedPaper(
            code=paper.code,
            sheets=tuple(finished_sheets(paper, wanted.sheets, wanted, wanted.files != "separate", self.aside)),
            recorded=recorded(held),
            places=places(held),
        )

    def __reduce__(self) -> tuple[object, ...]:
        practices = self.practices
        return _again, (practices.plan, practices.bank, practices.questions.plans, self.aside)


def _again(plan: Plan, bank: Bank, plans: Plans, aside: Path | None) -> _PracticesFinished:
    return _PracticesFinished(Practices(plan, bank, plans), None, aside)


class _Writing:
    """Writes the practices of a class one by one."""

    def __init__(self, practices: Practices, staging: Staging) -> None:
        self.practices = practices
        self.plan: Plan = practices.plan
        self.bank: Bank = practices.bank
        self.staging = staging
        self.stem = f"practice-{self.plan.code}"
        self.joined: dict[tuple[str, str], JoinedSheets] = {}
        self.records: dict[str, RecordFiles] = {}
        self.table = AnswerTable()
        self.key: list[KeyRow] = []

    def add(self, one: PupilPlan, paper: FinishedPaper) -> None:
        """The paper of one pupil on its sheets, in its record, and in the table for the answers."""
        assert paper.recorded is not None, "every practice has its own record"
        self._record(one.code).add(paper.recorded)
        columns = paper.places
        self.table.add("", paper.code, [(one.pupil.name, one.pupil.beside)], columns)
        self.key.append(
            KeyRow(who=one.pupil.name, level="", answers=tuple((at.question, at.part, at.right) for at in columns))
        )
        for sheet in paper.sheets:
            if sheet.ready is not None:
                self._joined(sheet.form, sheet.name).add(sheet.ready, one.pupil.name)
            elif sheet.aside:
                self.staging.take(self._named(f"practice-{paper.code}", sheet.name, sheet.form), sheet.aside)
            else:
                self.staging.add(self._named(f"practice-{paper.code}", sheet.name, sheet.form), sheet.content)

    def _record(self, code: str) -> RecordFiles:
        """The record of all practices that follow one paper."""
        if code not in self.records:
            follows = next((one for one in self.plan.follows if code.startswith(one.rpartition("-P")[0] or one)), "")
            told = heading_of(code, self.bank, self.plan.masses, self.plan.style)
            told |= {"follows": follows} if follows else {}
            total = sum(one.code == code for one in self.plan.pupils)
            self.records[code] = RecordFiles(self.staging, f"practice-{code}", self.bank, told, total)
        return self.records[code]

    def _joined(self, form: str, name: str) -> JoinedSheets:
        if (form, name) not in self.joined:
            word = FILE_WORDS[name]
            title = f"{self.plan.wanted.title}: {word.replace('-', ' ')}"
            total = len(self.plan.pupils)
            self.joined[form, name] = JoinedSheets(self.staging, f"{self.stem}-{word}", form, title, total)
        return self.joined[form, name]

    def _named(self, stem: str, name: str, form: str) -> str:
        return f"{stem}-{FILE_WORDS[name]}{renderer(form).SUFFIX}"

    def finish(self, composers: Sequence[Composer]) -> None:
        """Write what belongs to the whole class; `composers` are those of all papers, where a sheet needs them."""
        for files in self.records.values():
            files.finish()
        for whole in self.joined.values():
            whole.finish()
        for name in self.plan.wanted.sheets:
            for form in self.plan.wanted.forms:
                sheet: Sheet | None = None
                if name == CLASS_KEY:
                    sheet = class_key(self.plan.wanted.title, self.plan.code, self.key)
                elif name == DATA_SHEET:
                    sheet = data_sheet(composers, self.plan.code)
                elif name == METHOD_SHEET:
                    sheet = method_sheet(composers, self.plan.code)
                if sheet is not None:
                    self.staging.add(self._named(self.stem, name, form), renderer(form).render(sheet))
        self.staging.add(f"{self.stem}-answers.csv", self.table.content())
        self.staging.add(f"{self.stem}-answers.xlsx", self.table.workbook())
        self.staging.add(plan_name(self.plan), write_plan(self.plan).encode())
