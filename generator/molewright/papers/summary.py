"""A set of papers comes in; what its maker wants to know goes out in lines: marks, minutes, pages, paper, what is missing."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from molewright.chem.formula_scripts import with_scripts
from molewright.order.choices import STRETCH
from molewright.papers.joined_sheets import JOINABLE
from molewright.papers.making import Paper
from molewright.papers.sets import PaperSet
from molewright.papers.writing import Told
from molewright.question.shown_slips import shows
from molewright.render import PAGED_LATER, starts

_WIDTH = 52  # of the kind in words
_LEVEL_WIDTH = 11
_OWN = "own words"  # what stands for the level of a question that the teacher wrote


def summary(papers: PaperSet, told: Told) -> Iterator[str]:
    """A table of the questions, level by level where the marks differ, and what the whole comes to."""
    first = papers.firsts()
    for level in papers.levels:
        if level in first:
            yield from _table(first[level], level if len(papers.levels) > 1 else "", "pdf" in papers.wanted.forms)
    yield from _aimed(papers, first)
    counted = first.get(papers.order.for_marks.level)
    if counted is not None and papers.order.marks not in (0, counted.composer.marks):
        yield f"{papers.order.marks} marks were asked for; what was changed in the order since makes it {counted.composer.marks}"
    yield from _pages_and_files(papers, told)
    if told.reworded:
        several = "questions" if len(told.reworded) > 1 else "question"
        yield (
            f"{several} {', '.join(map(str, told.reworded))}: worded otherwise than when the order was written, with the same numbers"
        )
    otherwise = counted.composer.told_otherwise if counted is not None else ()
    if otherwise:
        several = "questions" if len(otherwise) > 1 else "question"
        yield f"{several} {', '.join(map(str, otherwise))}: told in sentences, for the way that is asked for would be odd there"
    alike = [
        slot.place + 1 for slot in papers.makers[papers.levels[0]].slots if slot.own is not None and slot.moving is None
    ]
    if alike and len({copy.version for copy in papers.copies}) > 1:
        several = "questions" if len(alike) > 1 else "question"
        own = "an experiment of your own, the same in every version ('moves: yes' varies it)"
        yield f"{several} {', '.join(map(str, alike))}: {own}"
    for maker in papers.makers.values():
        yield from (f"unusual, and printed all the same: {sentence}" for sentence in maker.unusual)
        if STRETCH not in papers.levels:
            yield from maker.idle_parts
        if maker.unstretched:
            yield f"without a stretch part, so in exam style as it stands: {', '.join(maker.unstretched)}"


def _pages_and_files(papers: PaperSet, told: Told) -> Iterator[str]:
    """How many pages there are, form by form, and which files are not joined."""
    if told.pages:
        yield _paper(told, len(papers.copies))
    if told.other_pages:
        yield "; ".join(f"{name}: {_each(pages)}" for name, pages in told.other_pages.items())
    later = [form for form in papers.wanted.forms if form in PAGED_LATER]
    if later:
        yield f"pages of {' and '.join(later)}: not counted, the program that prints it makes them"
    apart = [form for form in papers.wanted.forms if form not in JOINABLE]
    if papers.wanted.files == "joined" and apart:
        yield f"not joined, a file for each paper: {', '.join(apart)}"
    if papers.wanted.fillable and papers.joined:
        yield "not joined, a file for each pupil to type in: question papers as pdf"


def _aimed(papers: PaperSet, first: Mapping[str, Paper]) -> Iterator[str]:
    """What the papers are aimed at, and in which questions an answer alone would not tell."""
    aim = papers.order.aim
    if not aim or not first:
        return
    slip = next((one for one in papers.bank.slips if one.key == aim), None)
    paper = next(iter(first.values()))
    hidden = [
        str(number)
        for number, question in zip(paper.composer.numbers, paper.questions, strict=True)
        if not shows(question, aim)
    ]
    told = f"; in question {', '.join(hidden)} the working tells it, not the answer" if hidden else ""
    yield f"aimed at: {slip.name if slip else 'a slip that the banks do not hold any more'} ({aim}){told}"


def _table(paper: Paper, level: str, paged: bool) -> Iterator[str]:
    on_page = starts(paper.composer.question_paper()) if paged else {}
    composer = paper.composer
    wide = max((_LEVEL_WIDTH, *map(len, paper.levels)))
    named = f"question, at the level {level}" if level else "question"
    yield f"{named:<{_WIDTH + 3}} {'level':<{wide}} marks{'  page' if on_page else ''}"
    rows = {number: (" ".join(asked.text.split()), _OWN, asked.marks) for number, asked in composer.teachers.items()}
    for number, question, how in zip(composer.numbers, paper.questions, paper.levels, strict=True):
        rows[number] = (with_scripts(question.draw.archetype.title), how, question.marks)
    for number, (title, how, marks) in sorted(rows.items()):
        title = title if len(title) <= _WIDTH else title[: _WIDTH - 1] + "…"
        page = f"{on_page.get(f'Question {number}', 0):>6}" if on_page else ""
        yield f"{number:>2} {title:<{_WIDTH}} {how:<{wide}} {marks:>5}{page}"
    yield f"{composer.marks} marks, about {composer.minutes} minutes"


def _paper(told: Told, copies: int) -> str:
    """Pages of a question paper, and the sheets of paper for all of them, printed on both sides where one has two."""
    sheets = _several(sum((pages + 1) // 2 for pages in told.pages), "sheet")
    several = f"; {sheets} of paper for {copies} papers" if copies > 1 else f"; {sheets} of paper"
    blank = (
        f", {_several(told.blank, 'blank page')} put in so that each begins on a right-hand page" if told.blank else ""
    )
    sides = ", printed on both sides" if max(told.pages) > 1 else ""
    return f"question paper: {_each(told.pages)}{several}{sides}{blank}"


def _each(pages: Sequence[int]) -> str:
    least, most = min(pages), max(pages)
    told = _several(most, "page") if least == most else f"{least} to {most} pages"
    return f"{told} each" if len(pages) > 1 else told


def _several(number: int, what: str) -> str:
    return f"{number} {what}{'' if number == 1 else 's'}"
