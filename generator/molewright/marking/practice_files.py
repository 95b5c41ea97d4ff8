"""The plan of a class's practice comes in; finished files stand in a folder, one for each kind of sheet, or nothing does."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from molewright.bank.definitions import Bank
from molewright.machine.files import Staging
from molewright.marking.practice import Practices
from molewright.marking.practice_plan import Plan, PupilPlan
from molewright.marking.practice_plan_text import PLAN_ENDING, write_plan
from molewright.nodes.blocks import Sheet
from molewright.order.choices import CLASS_KEY, DATA_SHEET, METHOD_SHEET
from molewright.papers.answers import AnswerTable, places
from molewright.papers.joined_sheets import JOINABLE, JoinedSheets
from molewright.papers.record.set_before import BEFORE, as_before
from molewright.papers.record.writer import RecordFiles, heading_of
from molewright.papers.writing import FILE_WORDS, require_fillable, sheets_of
from molewright.render import PAGED, renderer
from molewright.sheet.class_key import KeyRow, class_key
from molewright.sheet.compose import Composer
from molewright.sheet.data_sheet import data_sheet
from molewright.sheet.method_card import method_sheet

_Progress = Callable[[int, int], None] | None


def write_practice(
    practices: Practices, folder: Path, overwrite: bool = False, progress: _Progress = None
) -> list[str]:
    """Write the sheets of every pupil's practice, the record that marks them, the table for their answers, and the plan.

    The names of the files. Whole or not at all.
    """
    require_fillable(practices.plan.wanted)
    with Staging(folder, overwrite) as staging:
        writing = _Writing(practices, staging)
        for number, one in enumerate(practices.plan.pupils, 1):
            writing.add(one)
            if progress:
                progress(number, len(practices.plan.pupils))
        writing.finish()
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
        self.composers: list[Composer] = []

    def add(self, one: PupilPlan) -> None:
        """The paper of one pupil on its sheets, in its record, and in the table for the answers."""
        paper = self.practices.paper(one)
        document = self._record(one.code).add(paper, {BEFORE: [as_before(past) for past in one.before]})
        columns = places(document)
        self.table.add("", paper.code, [(one.pupil.name, one.pupil.beside)], columns)
        self.key.append(
            KeyRow(who=one.pupil.name, level="", answers=tuple((at.question, at.part, at.right) for at in columns))
        )
        if {DATA_SHEET, METHOD_SHEET} & set(self.plan.wanted.sheets):
            self.composers.append(paper.composer)
        for name, sheet in sheets_of(paper, self.plan.wanted.sheets):
            for form in self.plan.wanted.forms:
                typed = name == "questions" and form in PAGED and self.plan.wanted.fillable
                if form in JOINABLE and self.plan.wanted.files != "separate" and not typed:
                    self._joined(form, name).add(sheet, one.pupil.name)
                else:
                    self._one(f"practice-{paper.code}", name, form, replace(sheet, fillable=typed))

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
            self.joined[form, name] = JoinedSheets(self.staging, f"{self.stem}-{word}", form, title)
        return self.joined[form, name]

    def _one(self, stem: str, name: str, form: str, sheet: Sheet) -> None:
        made = renderer(form)
        self.staging.add(f"{stem}-{FILE_WORDS[name]}{made.SUFFIX}", made.render(sheet))

    def finish(self) -> None:
        """Write what belongs to the whole class."""
        for files in self.records.values():
            files.finish()
        for whole in self.joined.values():
            whole.finish()
        for name in self.plan.wanted.sheets:
            for form in self.plan.wanted.forms:
                if name == CLASS_KEY:
                    self._one(self.stem, name, form, class_key(self.plan.wanted.title, self.plan.code, self.key))
                elif name == DATA_SHEET:
                    self._one(self.stem, name, form, data_sheet(self.composers, self.plan.code))
                elif name == METHOD_SHEET:
                    self._one(self.stem, name, form, method_sheet(self.composers, self.plan.code))
        self.staging.add(f"{self.stem}-answers.csv", self.table.content())
        self.staging.add(f"{self.stem}-answers.xlsx", self.table.workbook())
        self.staging.add(plan_name(self.plan), write_plan(self.plan).encode())
