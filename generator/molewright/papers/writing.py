"""Papers come in; their sheets in every form asked for, and the record that marks them, stand in a folder: all of them, or none."""

from __future__ import annotations

import re
import unicodedata
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing
from dataclasses import dataclass, field, replace
from functools import partial
from pathlib import Path

from molewright.errors import Mistake, Where
from molewright.experiment.quantity_texts import Numbers
from molewright.machine.files import Staging
from molewright.machine.workers import HERE, Workers
from molewright.nodes.blocks import Sheet
from molewright.order.choices import CLASS_KEY, DATA_SHEET, MARKING_SHEET, METHOD_SHEET
from molewright.order.order import Order, Wanted
from molewright.order.order_file import ORDER_ENDING, placed
from molewright.order.order_text import write_order
from molewright.papers.answers import EMPTY_ROWS, AnswerTable, PlaceOf
from molewright.papers.copies import Copy
from molewright.papers.finished import (
    CopyToMake,
    FinishedPaper,
    FinishedSheet,
    PapersFinished,
    copies_to_make,
    sheets_of,
)
from molewright.papers.joined_sheets import MOST_SHEETS, JoinedSheets
from molewright.papers.making import Paper
from molewright.papers.record.writer import RecordFiles, heading
from molewright.papers.sets import PaperSet
from molewright.reading.fields import Faults
from molewright.render import PAGED, counted, renderer
from molewright.sheet.class_key import KeyRow, class_key
from molewright.sheet.compose import Composer
from molewright.sheet.data_sheet import data_sheet
from molewright.sheet.marking_sheet import MarkedPaper, marking_sheet
from molewright.sheet.method_card import method_sheet
from molewright.version import VERSION

FILE_WORDS = {
    "questions": "questions",
    "scheme": "mark-scheme",
    "worked": "worked-solutions",
    "answers": "answers",
    MARKING_SHEET: "marking-sheet",
    CLASS_KEY: "class-key",
    DATA_SHEET: "data-sheet",
    METHOD_SHEET: "method-cards",
}
MOST_SLUG = 40  # letters of a title in a file's name


@dataclass(slots=True, kw_only=True)
class Told:
    """What a set comes to, for whoever prints it: its files, pages of each question paper and of each other sheet, by what it is
    called, and blank pages put in."""

    files: list[str] = field(default_factory=list)
    pages: list[int] = field(default_factory=list)
    other_pages: dict[str, list[int]] = field(default_factory=dict)
    blank: int = 0
    reworded: tuple[int, ...] = ()  # questions that do not read as they did when the order was written


def write_papers(
    papers: PaperSet,
    folder: Path,
    overwrite: bool = False,
    progress: Callable[[int, int], None] | None = None,
    workers: Workers = HERE,
) -> Told:
    """Make and write every paper of a set; what it comes to. Whole or not at all, and the same whoever does the work."""
    require_printable(papers.order, papers.wanted)
    require_fillable(papers.wanted)
    to_make = copies_to_make(papers.copies)
    with Staging(folder, overwrite) as staging:
        writing = _Writing(papers, staging)
        maker = PapersFinished(papers, writing.together, staging.aside.resolve() if workers.shared else None)
        with closing(workers.done(maker, to_make)) as finished:
            for number, (one, paper) in enumerate(zip(to_make, finished, strict=True), 1):
                writing.add(one, paper)
                if progress:
                    progress(number, len(to_make))
        told = writing.finish()
    papers.makers[papers.levels[0]].questions.plans.keep()
    return told


class _Writing:
    """Writes the papers of a set one by one: sheets, records, the answer file, the order."""

    def __init__(self, papers: PaperSet, staging: Staging) -> None:
        self.papers = papers
        self.wanted = papers.wanted
        self.staging = staging
        self.stem = "-".join(filter(None, (_slug(papers.title), papers.code, later_versions(papers.wanted))))
        self.joined: dict[tuple[str, str], JoinedSheets] = {}
        self.table = AnswerTable()
        self.places: dict[tuple[str, str], tuple[PlaceOf, ...]] = {}  # of those who share their numbers
        self.key: dict[KeyRow, None] = {}
        self.marked: list[MarkedPaper] = []
        self.drawn: dict[str, tuple[Numbers, ...]] = {}
        self.wordings: tuple[str, ...] = ()
        self.told = Told()
        apart = Counter(copy.level for copy in papers.apart())
        self.apart = apart.total()
        self.records = {
            level: RecordFiles(
                staging, self._record_stem(level), maker.bank, heading(maker, papers.wanted), apart[level]
            )
            for level, maker in papers.makers.items()
            if apart[level]
        }

    def add(self, one: CopyToMake, paper: FinishedPaper) -> None:
        """The paper of one copy on its sheets, in its record, and in the answer file."""
        copy = one.copy
        if paper.recorded is not None:
            self.records[copy.level].add(paper.recorded)
            self.places[copy.numbers] = paper.places
        self.wordings = self.wordings or paper.wordings
        if paper.drawn:
            self.drawn.setdefault(copy.version, paper.drawn)
        if paper.marked is not None:
            self.marked.append(replace(paper.marked, who=self._who(copy), level=copy.level))
        for sheet in paper.sheets:
            self._sheet(copy, paper, sheet)
        self._rows(copy, paper)
        maker = self.papers.makers[copy.level]
        for told, sentences in (
            (maker.unusual, paper.unusual),
            (maker.idle_parts, paper.idle_parts),
            (maker.unstretched, paper.unstretched),
        ):
            told.update(dict.fromkeys(sentences))
        if self.papers.own_numbers:  # nobody else has them
            del self.places[copy.numbers]

    def _sheet(self, copy: Copy, paper: FinishedPaper, sheet: FinishedSheet) -> None:
        word, pages = FILE_WORDS[sheet.name], sheet.pages
        if sheet.ready is not None:
            whole = self.joined.get((sheet.form, sheet.name))
            if whole is None:
                whole = self.joined[sheet.form, sheet.name] = JoinedSheets(
                    self.staging,
                    f"{self.stem}-{word}",
                    sheet.form,
                    f"{self.papers.title}: {word.replace('-', ' ')}",
                    len(self.papers.copies) if sheet.name == "questions" else self.apart,
                )
            pages = whole.add(sheet.ready, self._bookmark(copy, sheet.name))
        else:
            file = f"{self._paper_stem(copy, paper)}-{word}{renderer(sheet.form).SUFFIX}"
            if sheet.aside:
                self.staging.take(file, sheet.aside)
            else:
                self.staging.add(file, sheet.content)
        self._count(sheet.form, sheet.name, pages)

    def _count(self, form: str, name: str, pages: int) -> None:
        if form in PAGED:
            called = FILE_WORDS[name].replace("-", " ")
            counted_so_far = self.told.pages if name == "questions" else self.told.other_pages.setdefault(called, [])
            counted_so_far.append(pages)

    def _bookmark(self, copy: Copy, name: str) -> str:
        """What a sheet of a joined file is found by: whose it is; on pupils' sheets nothing of the level but its sign."""
        named = copy.pupil.name if copy.pupil and (name == "questions" or self.papers.own_numbers) else ""
        level = copy.level if name != "questions" and len(self.papers.levels) > 1 else ""
        version = "" if named else f"version {copy.version}"
        return ", ".join(filter(None, (named, level, version)))

    def _paper_stem(self, copy: Copy, paper: FinishedPaper) -> str:
        level = copy.level if len(self.papers.levels) > 1 else ""
        name = copy.pupil.name if copy.pupil else ""
        return "-".join(filter(None, (_slug(self.papers.title), level, paper.code, _slug(name) if name else "")))

    def _record_stem(self, level: str) -> str:
        maker = self.papers.makers[level]
        named = level if len(self.papers.levels) > 1 else ""
        return "-".join(filter(None, (_slug(self.papers.title), named, maker.code, later_versions(self.wanted))))

    def _rows(self, copy: Copy, paper: FinishedPaper) -> None:
        columns = self.places[copy.numbers]
        level = copy.level if len(self.papers.levels) > 1 else ""
        names = [(copy.pupil.name, copy.pupil.beside)] if copy.pupil else [("", "")] * EMPTY_ROWS
        self.table.add(level, paper.code, names, columns)
        row = KeyRow(
            who=self._who(copy), level=copy.level, answers=tuple((one.question, one.part, one.right) for one in columns)
        )
        self.key[row] = None

    def _who(self, copy: Copy) -> str:
        """Whose numbers they are."""
        return copy.pupil.name if copy.pupil and self.papers.own_numbers else f"Version {copy.version}"

    @property
    def together(self) -> bool:
        """Whether there is a marking sheet of all papers: where it is asked for, and beside the schemes of several."""
        several = len(self.papers.levels) > 1 or len(self.wanted.versions) > 1
        return MARKING_SHEET in self.wanted.sheets or (
            several and "scheme" in self.wanted.sheets and not self.papers.own_numbers
        )

    def finish(self) -> Told:
        """Write what belongs to the whole set; what it comes to."""
        for files in self.records.values():
            files.finish()
        for (_, name), whole in self.joined.items():
            whole.finish()
            if name == "questions":
                self.told.blank += whole.blank_pages
        if CLASS_KEY in self.wanted.sheets:
            rows = list(self.key)
            for start in range(0, len(rows), MOST_SHEETS):  # as many as there are papers in a joined file
                number = f"-{start // MOST_SHEETS + 1}" if len(rows) > MOST_SHEETS else ""
                part = rows[start : start + MOST_SHEETS]
                self._one(CLASS_KEY, class_key(self.papers.title, self.papers.code, part), number)
        if self.marked:
            words = next(iter(self._composers())).words
            self._one(MARKING_SHEET, marking_sheet(self.papers.title, self.papers.code, self.marked, words))
        if DATA_SHEET in self.wanted.sheets:
            self._one(DATA_SHEET, data_sheet(self._composers(), self.papers.code))
        if METHOD_SHEET in self.wanted.sheets:
            self._one(METHOD_SHEET, method_sheet(self._composers(), self.papers.code))
        self.staging.add(f"{self.stem}-answers.csv", self.table.content())
        self.staging.add(f"{self.stem}-answers.xlsx", self.table.workbook())
        self.staging.add(f"{self.stem}{ORDER_ENDING}", self._order().encode())
        self.told.files = self.staging.written
        self.told.reworded = self.papers.reworded(self.wordings, self.papers.copies[0].version)
        return self.told

    def _composers(self) -> list[Composer]:
        """Those of the first paper of each level."""
        return [paper.composer for paper in self.papers.firsts().values()]

    def _one(self, name: str, sheet: Sheet, number: str = "") -> None:
        """A sheet that there is one of for the whole set, or several numbered ones of a large one."""
        for form in self.wanted.forms:
            content, pages = counted(form, sheet)
            self.staging.add(f"{self.stem}-{FILE_WORDS[name]}{number}{renderer(form).SUFFIX}", content)
            self._count(form, name, pages)

    def _order(self) -> str:
        """The settled order of the set: every line written out, so that it prints again and any of it can be changed."""
        notes = (
            f"The order of the papers {self.papers.code}, every question written out.",
            f"Made by molewright {VERSION} from the banks {self.papers.bank.fingerprint}.",
            "Change a line and run 'molewright paper' with this file: the other questions stay as they are.",
            "What may stand in it: order.schema.json (JSON Schema) among the templates.",
        )
        wanted = replace(self.wanted, title=self.papers.title)
        return write_order(self.papers.settled(self.drawn, self.wordings), wanted, notes)


def rendered(paper: Paper, wanted: Wanted) -> Iterator[tuple[str, str, bytes]]:
    """Every sheet that is wanted of a paper, in every form: its name, the ending of its file, its bytes."""
    for name, sheet in sheets_of(paper, wanted.sheets):
        for form in wanted.forms:
            made = renderer(form)
            yield name, made.SUFFIX, made.render(sheet)


def printable(forms: Sequence[str]) -> Callable[[str], None]:
    """What tries a name or a title in every form that it is to be printed in. It raises Mistake for one that cannot be."""
    made = [renderer(form) for form in forms]

    def tried(text: str) -> None:
        for one in made:
            one.require_text(text)

    return tried


def require_printable(order: Order, wanted: Wanted) -> None:
    """Try the words that a teacher wrote in every form that is wanted. Raises Mistake, or several at once, each at its line."""
    tried = printable(wanted.forms)
    faults = Faults()
    for entry, texts in (("title", (wanted.title,)), ("front", wanted.front.texts)):
        for text in texts:
            faults.attempt(Where("order", entry=entry), partial(tried, text))
    for line in order.lines:
        if line.words is not None:
            for key, text in (("question", line.words.text), ("answer", line.words.answer)):
                for one in text.splitlines():
                    faults.attempt(placed(line).under(key), partial(tried, one))
    faults.attempt(Where("order", entry="look"), lambda: _require_look(wanted))
    faults.raise_if_any()


def without_effect(wanted: Wanted) -> tuple[str, ...]:
    """What is asked of the sheets and shows on none of them, in sentences: nobody shall wait for it in vain."""
    tints = {pupil.tint or wanted.tint for pupil in wanted.pupils} or {wanted.tint}
    looks = {pupil.look or wanted.look for pupil in wanted.pupils} or {wanted.look}
    pupils = set(wanted.sheets) & {"questions", "worked", "answers"}
    told = []
    if looks - {"usual"} and not (pupils and set(wanted.forms) - {"text", "latex"}):
        told.append("a look shows on pupils' sheets as PDF, DOCX or HTML, and none of these is made")
    if tints - {""} and not (pupils and set(wanted.forms) & {"html", "docx"}):
        told.append(
            "a tint shows on pupils' sheets as HTML or DOCX, and none of these is made; a PDF has the colour of its paper"
        )
    if wanted.answer_space != "normal" and "questions" not in wanted.sheets:
        told.append(f"the answer space {wanted.answer_space} shows on question papers, and none is made")
    return tuple(told)


def _require_look(wanted: Wanted) -> None:
    """Raises Mistake for a look in a form whose size of type is set by whoever typesets it."""
    looks = dict.fromkeys((wanted.look, *(pupil.look or wanted.look for pupil in wanted.pupils)))
    asked = [look for look in looks if look != "usual"]
    if asked and "latex" in wanted.forms:
        raise Mistake(
            f"the look {asked[0]}, and the form latex",
            expected="another form for a look",
            do="Take pdf, docx or html; in LaTeX the size of type is set where the file is typeset.",
        )


def require_fillable(wanted: Wanted) -> None:
    """Raises Mistake where fields to type in are wanted and there is no file that could have them."""
    if not wanted.fillable:
        return
    where = Where("order", entry="fillable")
    if "pdf" not in wanted.forms or "questions" not in wanted.sheets:
        found = "sheets" if "pdf" in wanted.forms else "forms"
        named = ", ".join(wanted.sheets if found == "sheets" else wanted.forms)
        raise Mistake(
            f"fields to type in, and of {found}: {named}",
            expected="question papers as PDF",
            do="Ask for them as well, or leave the fields out.",
            where=where,
        )
    if wanted.answer_space == "none":
        raise Mistake("fields to type in, and no answer space", expected="answer space to put them in", where=where)
    if wanted.files == "joined":
        raise Mistake(
            "fields to type in, and joined files",
            expected="a file for each pupil, who sends it back",
            do="Leave 'files' (--files) out: the question papers are separate then, and what else can be joined is.",
            where=where,
        )


def later_versions(wanted: Wanted) -> str:
    """What the files of a whole set have in their names where its versions do not begin with A: a version that is made later, for
    those who were absent, stands beside the first ones and replaces nothing."""
    usual = tuple(chr(ord("A") + at) for at in range(len(wanted.versions)))
    if wanted.versions == usual or (wanted.pupils and wanted.numbers == "own"):
        return ""
    return "".join(wanted.versions) if all(len(version) == 1 for version in wanted.versions) else ""


def _slug(text: str) -> str:
    plain = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode()
    whole = re.sub(r"[^a-z0-9]+", "-", plain.casefold()).strip("-")
    if len(whole) > MOST_SLUG:  # cut between words, where there is a place to cut
        whole = whole[:MOST_SLUG].rpartition("-")[0] or whole[:MOST_SLUG]
    return whole or "paper"
