"""A paper as it will be printed: its sheets side by side, each by itself and as PDF; and one question for a whole room to see."""

from __future__ import annotations

from molewright.browser.asking import Answer, Asked
from molewright.browser.pages import page
from molewright.browser.question_pages import opened
from molewright.browser.workroom import Workroom
from molewright.order.choices import MARKING_SHEET
from molewright.papers.finished import SHEET_MAKERS
from molewright.papers.shown_questions import solved_steps
from molewright.render import as_paper, renderer

SHOWN = (("questions", "Question paper"), (MARKING_SHEET, "Marking sheet"), ("worked", "Worked solutions"))
KINDS = {"html": "text/html; charset=utf-8", "pdf": "application/pdf"}


def as_printed(room: Workroom, asked: Asked) -> Answer:
    """The sheets of a copy, side by side."""
    paper = opened(room, asked)
    at, _ = paper.copy(asked)
    return page("print", "As printed", head=paper.head, here="/print", copies=paper.copies(), copy=at, sheets=SHOWN)


def sheet(room: Workroom, asked: Asked) -> Answer:
    """One sheet of a copy, as HTML for a frame or as PDF."""
    paper = opened(room, asked)
    copies = paper.made.papers.copies
    copy = copies[min(asked.numbers["copy"], len(copies) - 1)]
    form = asked.words["form"]
    with room.alone():
        composed = SHEET_MAKERS[asked.words["sheet"]](paper.made.paper(copy).composer)
        content = as_paper(composed) if form == "html" else renderer(form).render(composed)
    return Answer(content=content, kind=KINDS[form], framed=form == "html")


def in_front(room: Workroom, asked: Asked) -> Answer:
    """One question, large, and as many steps of its solution as are open."""
    paper = opened(room, asked)
    at, copy = paper.copy(asked)
    shown = room.questions(paper.made, copy)
    number = min(max(asked.numbers.get("question", 1), 1), len(shown))
    with room.alone():
        steps = solved_steps(paper.made.paper(copy), number)
    open_ = asked.whole("open", 0, 99, 0)
    return page(
        "front",
        f"Question {number}",
        head=paper.head,
        here="/front",
        number=number,
        count=len(shown),
        shown=shown[number],
        at=f"/paper/{paper.kept.number}/front",
        copy=at,
        steps=len(steps),
        opened=steps[:open_],
    )
