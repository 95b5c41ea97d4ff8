"""Answers that are marked: what each pupil has, what is pending and is settled here, and the files that come of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from molewright.browser.asking import Answer, Asked, go
from molewright.browser.jobs import Came, Progress, Work
from molewright.browser.marking_pages import Said, keep_given, said
from molewright.browser.pages import head_of, page, sentences
from molewright.browser.sittings import Sitting
from molewright.browser.taking_pages import FORM_WORDS
from molewright.browser.workroom import Workroom
from molewright.errors import Mistake, one_of
from molewright.marking import practice_plan
from molewright.marking.files import reported_together, write_book, write_marks
from molewright.marking.marked import MarkedAnswer, MarkedClass
from molewright.marking.marked_answers import PREFIX
from molewright.marking.practice import practices_for
from molewright.marking.practice_files import write_practice
from molewright.marking.practice_questions import Wish
from molewright.marking.progress import read_book
from molewright.order.choices import FORMS
from molewright.papers.answers import place_named

_MOST_QUESTIONS = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownAnswer:
    """One answer on the page."""

    place: str
    written: str
    right: str
    said: Said


def marked(room: Workroom, asked: Asked, wrong: tuple[str, ...] = ()) -> Answer:
    """What each pupil has, and what is pending."""
    kept = room.shelf.paper(asked.numbers["paper"])
    sitting = room.sittings.find(asked.numbers["sitting"])
    pupils = [
        (
            pupil.name,
            one.record.level,
            f"{pupil.total} of {sum(one.out_of.values())}",
            pupil.waiting,
            _answers(one, pupil.answers),
        )
        for one in sitting.papers
        for pupil in one.pupils
    ]
    return page(
        "marked",
        "Marked",
        head=head_of(kept, kept.state()),
        here="/mark",
        wrong=wrong,
        told=("Kept.",) if asked.has("done") else (),
        at=f"/paper/{kept.number}/marked/{sitting.number}",
        pupils=pupils,
        waiting=sitting.waiting(),
        absent=[name for one in sitting.papers for name in one.absent],
        notes=sitting.notes,
        forms=[(one, FORM_WORDS[one]) for one in FORMS],
    )


def _answers(paper: MarkedClass, answers: Sequence[MarkedAnswer]) -> list[ShownAnswer]:
    return [
        ShownAnswer(
            place=place_named(one.row.question, one.row.part),
            written=one.row.answer,
            right=one.right,
            said=said(paper, one),
        )
        for one in answers
    ]


def settle(room: Workroom, asked: Asked) -> Answer:
    """Take the marks that the teacher gives."""
    sitting = room.sittings.find(asked.numbers["sitting"])
    given = {
        (one.pupil, one.question, one.part): asked.text(f"m{at}").strip()
        for at, one in enumerate(sitting.waiting())
        if asked.text(f"m{at}").strip()
    }
    try:
        sitting.give(given)
        keep_given(room.shelf.paper(asked.numbers["paper"]), sitting.seats, given)
    except Mistake as mistake:
        return marked(room, asked, sentences(mistake))
    return go(f"/paper/{asked.numbers['paper']}/marked/{sitting.number}?done=yes")


def files(room: Workroom, asked: Asked) -> Answer:
    """Make the files of these answers: marks, report and strips; the mark book with earlier ones; or practice."""
    sitting = room.sittings.find(asked.numbers["sitting"])
    try:
        forms = tuple(one_of(one, FORMS, "form") for one in asked.several("form")) or ("pdf",)
        what = one_of(asked.text("what"), ("report", "book", "practice"), "choice")
        if what == "report":
            work = _report(sitting, forms)
        elif what == "book":
            work = _book(sitting, forms, asked.sent("earlier"))
        else:
            work = _practice(room, sitting, forms, asked.whole("questions", 1, _MOST_QUESTIONS, 0))
        job = room.begin(work, what, f"/marked/{sitting.number}")
    except Mistake as mistake:
        return marked(room, asked, sentences(mistake))
    return go(f"/paper/{asked.numbers['paper']}/made/{job.number}")


def _report(sitting: Sitting, forms: tuple[str, ...]) -> Work:
    def work(folder: Path, progress: Progress) -> Came:
        names = [name for classes in reported_together(sitting.papers) for name in write_marks(classes, folder, forms)]
        (folder / "answers.csv").write_bytes(sitting.answers.read_bytes())
        return Came(files=[*names, "answers.csv"], told=sitting.notes)

    return work


def _book(sitting: Sitting, forms: tuple[str, ...], earlier: tuple[bytes, ...]) -> Work:
    def work(folder: Path, progress: Progress) -> Came:
        tables = folder / "tables"
        for number, raw in enumerate(earlier, 1):
            (tables / f"{number:03}").mkdir(parents=True)
            (tables / f"{number:03}" / f"{PREFIX}sent.csv").write_bytes(raw)
        now = tables / f"{len(earlier) + 1:03}"
        for classes in reported_together(sitting.papers):
            write_marks(classes, now, ("text",))
        book = read_book(tables)
        return Came(files=write_book(book, folder, forms))

    return work


def _practice(room: Workroom, sitting: Sitting, forms: tuple[str, ...], count: int) -> Work:
    def work(folder: Path, progress: Progress) -> Came:
        wanted = replace(practice_plan.USUAL_PRACTICE, forms=forms)
        asked = practice_plan.Asked(wish=Wish(count=count), wanted=wanted)
        practices = practices_for(sitting.papers, room.bank, None, asked, sitting.class_list)
        return Came(files=write_practice(practices, folder, False, progress))

    return work
