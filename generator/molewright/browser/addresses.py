"""Every address of the pages: what is read there, what is sent there. Nothing but numbers and plain words stands in one."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from molewright.browser import (
    class_pages,
    experiment_pages,
    marked_pages,
    marking_pages,
    papers_pages,
    question_pages,
    sheet_pages,
    taking_pages,
)
from molewright.browser.asking import Answer, Asked
from molewright.browser.workroom import Workroom

View = Callable[[Workroom, Asked], Answer]


@dataclass(frozen=True, slots=True)
class Address:
    """A place: its path with numbers {so:int} and words {so}, what shows it, what takes a form that is sent there."""

    path: str
    show: View | None = None
    take: View | None = None


_LOOKING = "/looking/{job:int}"
_PAPER = "/paper/{paper:int}"
_QUESTION = f"{_PAPER}/question/{{question:int}}"
_AFTER = f"{_PAPER}/add/{{after:int}}"
_SITTING = f"{_PAPER}/marked/{{sitting:int}}"
_JOB = f"{_PAPER}/made/{{job:int}}"

WORDS = {"sheet": tuple(name for name, _ in sheet_pages.SHOWN), "form": tuple(sheet_pages.KINDS)}
"""What a word in an address may be."""

ADDRESSES = (
    Address("/", papers_pages.start),
    Address("/new", None, papers_pages.new),
    Address("/open", None, papers_pages.begin_with),
    Address(_LOOKING, papers_pages.looking),
    Address(f"{_LOOKING}/stop", None, papers_pages.stop_looking),
    Address(_PAPER, question_pages.questions),
    Address(f"{_PAPER}/change", None, question_pages.change),
    Address(f"{_PAPER}/undo", None, question_pages.undo),
    Address(f"{_PAPER}/redo", None, question_pages.redo),
    Address(_AFTER, question_pages.add, question_pages.added_one),
    Address(f"{_AFTER}/words", question_pages.words, question_pages.keep_words),
    Address(f"{_QUESTION}/words", question_pages.words, question_pages.keep_words),
    Address(f"{_AFTER}/experiment", experiment_pages.experiment, experiment_pages.done),
    Address(f"{_AFTER}/experiment/told", None, experiment_pages.told),
    Address(f"{_QUESTION}/experiment", experiment_pages.experiment, experiment_pages.done),
    Address(f"{_QUESTION}/experiment/told", None, experiment_pages.told),
    Address(f"{_QUESTION}/numbers", question_pages.numbers, question_pages.keep_numbers),
    Address(f"{_QUESTION}/numbers/told", None, question_pages.numbers_told),
    Address(f"{_PAPER}/head", taking_pages.head, taking_pages.keep_head),
    Address(f"{_PAPER}/class", class_pages.the_class, class_pages.keep_class),
    Address(f"{_PAPER}/class/empty", class_pages.asked_once_more, class_pages.empty),
    Address(f"{_PAPER}/print", sheet_pages.as_printed),
    Address(f"{_PAPER}/sheet/{{sheet}}/{{form}}/{{copy:int}}", sheet_pages.sheet),
    Address(f"{_PAPER}/take", taking_pages.take, taking_pages.make),
    Address(_JOB, taking_pages.made),
    Address(f"{_JOB}/stop", None, taking_pages.stop),
    Address(f"{_JOB}/file/{{file:int}}", taking_pages.file),
    Address(f"{_JOB}/all", taking_pages.every_file),
    Address(f"{_PAPER}/mark", marking_pages.grid, marking_pages.keep_grid),
    Address(f"{_PAPER}/mark/row", None, marking_pages.judged_row),
    Address(f"{_PAPER}/mark/now", None, marking_pages.as_it_is_now),
    Address(f"{_PAPER}/mark/sent", None, marking_pages.sent),
    Address(_SITTING, marked_pages.marked, marked_pages.settle),
    Address(f"{_SITTING}/files", None, marked_pages.files),
    Address(f"{_PAPER}/front", sheet_pages.in_front),
    Address(f"{_PAPER}/front/{{question:int}}", sheet_pages.in_front),
)
