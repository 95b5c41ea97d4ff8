"""A paper comes in; all that is written of it goes out as plain values, so that one process can make it and another write it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from molewright.bank.definitions import Bank
from molewright.derivation.plans import Plans
from molewright.experiment.quantity_texts import Numbers
from molewright.machine.files import write_aside
from molewright.nodes.blocks import Sheet
from molewright.order.choices import MARKING_SHEET
from molewright.order.order import Order, Wanted
from molewright.papers.answers import PlaceOf, places
from molewright.papers.copies import Copy
from molewright.papers.joined_sheets import JOINABLE
from molewright.papers.making import Paper
from molewright.papers.record.writer import Recorded, record, recorded
from molewright.papers.sets import PaperSet
from molewright.papers.wordings import wordings
from molewright.question.own_numbers import numbers_of
from molewright.render import PAGED, ReadyPages, counted, ready
from molewright.sheet.compose import Composer
from molewright.sheet.marking_sheet import MarkedPaper


@dataclass(frozen=True, slots=True, kw_only=True)
class FinishedSheet:
    """One sheet in one form: the bytes of a file of its own with their pages, or made `ready` to be joined with others.

    `aside` is the name that the file has where it is written already, in a folder that is shared.
    """

    name: str
    form: str
    content: bytes = b""
    aside: str = ""
    pages: int = 0
    ready: ReadyPages | bytes | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class FinishedPaper:
    """All that is written of one copy. Of those who share their numbers only the first has more than the question paper with a name."""

    code: str
    sheets: tuple[FinishedSheet, ...]
    recorded: Recorded | None = None
    places: tuple[PlaceOf, ...] = ()  # that answers are written in
    marked: MarkedPaper | None = None  # for the marking sheet of all papers
    drawn: tuple[Numbers, ...] = ()
    wordings: tuple[str, ...] = ()
    unusual: tuple[str, ...] = ()  # what its maker has come to tell
    idle_parts: tuple[str, ...] = ()
    unstretched: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class CopyToMake:
    """A copy, and whether it is the first of those with its numbers."""

    copy: Copy
    first: bool


def copies_to_make(copies: Sequence[Copy]) -> list[CopyToMake]:
    """Every copy in its order."""
    seen: set[tuple[str, str]] = set()
    made = []
    for copy in copies:
        made.append(CopyToMake(copy, copy.numbers not in seen))
        seen.add(copy.numbers)
    return made


class PapersFinished:
    """Makes and finishes the papers of a set, one by one; in another process it does so from its banks, its order and its plans."""

    def __init__(self, papers: PaperSet, together: bool, aside: Path | None = None) -> None:
        """`together`: what a marker needs of each paper is wanted for a marking sheet of all. `aside`: files are written there."""
        self.papers = papers
        self.together = together
        self.aside = aside

    def made(self, one: CopyToMake) -> FinishedPaper:
        """The paper of a copy, finished. Raises Mistake for numbers that cannot be."""
        papers, copy = self.papers, one.copy
        paper = papers.paper(copy)
        names = [name for name in papers.wanted.sheets if name != MARKING_SHEET and (one.first or name == "questions")]
        sheets = tuple(finished_sheets(paper, names, papers.wanted, papers.joined, self.aside))
        maker = papers.makers[copy.level]
        shared = (
            one.first and not papers.own_numbers
        )  # numbers of pupils' own follow from the seed, and stand in the record
        held = record(paper) if one.first else None
        return FinishedPaper(
            code=paper.code,
            sheets=sheets,
            recorded=None if held is None else recorded(held),
            places=() if held is None else places(held),
            marked=paper.composer.marked if one.first and self.together else None,
            drawn=tuple(map(numbers_of, paper.questions)) if shared else (),
            wordings=wordings(paper) if one.first else (),
            unusual=tuple(maker.unusual),
            idle_parts=tuple(maker.idle_parts),
            unstretched=tuple(maker.unstretched),
        )

    def __reduce__(self) -> tuple[object, ...]:
        papers = self.papers
        plans = papers.makers[papers.levels[0]].questions.plans
        return _again, (papers.bank, papers.asked, papers.wanted, plans, self.together, self.aside)


def _again(
    bank: Bank, asked: Order, wanted: Wanted, plans: Plans, together: bool, aside: Path | None
) -> PapersFinished:
    return PapersFinished(PaperSet(bank, asked, wanted, plans), together, aside)


SHEET_MAKERS: dict[str, Callable[[Composer], Sheet]] = {
    "questions": Composer.question_paper,
    "scheme": Composer.mark_scheme,
    "worked": Composer.worked_solutions,
    MARKING_SHEET: Composer.marking_sheet,
    "answers": Composer.answers,
}
"""What composes each sheet of one paper."""


def sheets_of(paper: Paper, names: Sequence[str]) -> Iterator[tuple[str, Sheet]]:
    """The sheets of a paper by name; the key of a class, data and method cards are no sheets of one paper."""
    for name in names:
        if name in SHEET_MAKERS:
            yield name, SHEET_MAKERS[name](paper.composer)


def finished_sheets(
    paper: Paper, names: Sequence[str], wanted: Wanted, joined: bool, aside: Path | None = None
) -> Iterator[FinishedSheet]:
    """Those sheets of a paper in every form that is wanted; where they are `joined`, ready for that in the forms that can be.

    A file of its own is written `aside`, where there is such a folder.
    """
    for name, sheet in sheets_of(paper, names):
        for form in wanted.forms:
            typed = name == "questions" and form in PAGED and wanted.fillable
            if joined and form in JOINABLE and not typed:
                yield FinishedSheet(name=name, form=form, ready=ready(form, sheet))
            else:
                content, pages = counted(form, replace(sheet, fillable=typed))
                there = "" if aside is None else write_aside(aside, content)
                yield FinishedSheet(name=name, form=form, content=b"" if there else content, aside=there, pages=pages)
