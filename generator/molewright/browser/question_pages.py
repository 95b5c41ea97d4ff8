"""The questions of a paper, and what can be done to one: drawn anew, moved, removed, added, put in one's own words or numbers."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from molewright.browser.asking import Answer, Asked, go
from molewright.browser.pages import Head, head_of, page, piece, sentences
from molewright.browser.papers_pages import find_among, topic_words
from molewright.browser.shelf import Changed, KeptPaper, State
from molewright.browser.workroom import Made, Workroom
from molewright.errors import Mistake
from molewright.experiment.quantity_texts import Numbers
from molewright.order.lines import OrderLine, OwnWords
from molewright.order.order import Order
from molewright.order.order_file import own_words
from molewright.papers.changing import (
    CHANGES,
    added,
    at_level,
    changed,
    drawn_line,
    moved,
    next_level,
    removed,
    replaced,
    with_numbers_fixed,
)
from molewright.papers.choosing import fresh_seed
from molewright.papers.copies import Copy
from molewright.papers.outline import NumberField, Tried, number_fields, tried_numbers

_DONE = {
    "numbers": "other numbers for question {}",
    "scene": "another scene for question {}",
    "kind": "another kind for question {}",
    "more": "more support in question {}",
    "less": "less support in question {}",
    "each": "question {} as each level has it",
    "up": "question {} moved up",
    "down": "question {} moved down",
    "remove": "question {} removed",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Opened:
    """A paper that a page is about: where it is kept, what it is now, and it made."""

    kept: KeptPaper
    state: State
    made: Made

    @property
    def head(self) -> Head:
        """What the page tells of it."""
        return head_of(self.kept, self.state)

    def copy(self, asked: Asked) -> tuple[int, Copy]:
        """The copy that is looked at, by its number from 0; the first where none is named."""
        copies = self.made.papers.copies
        at = asked.whole("copy", 0, len(copies) - 1, 0)
        return at, copies[at]

    def copies(self) -> list[tuple[int, str]]:
        """Every copy by its number, in words."""
        papers = self.made.papers
        levels = len(papers.levels) > 1
        told = []
        for at, one in enumerate(papers.copies):
            who = one.pupil.name if one.pupil else f"version {one.version}"
            told.append((at, f"{who}, {one.level}" if levels else who))
        return told


def opened(room: Workroom, asked: Asked) -> Opened:
    """The paper of a request. Raises Mistake where there is none, or where its order cannot be printed any more."""
    kept = room.shelf.paper(asked.numbers["paper"])
    state = kept.state()
    return Opened(kept=kept, state=state, made=room.made(kept, state))


def questions(room: Workroom, asked: Asked, wrong: tuple[str, ...] = ()) -> Answer:
    """The questions of a paper, one below the other."""
    paper = opened(room, asked)
    at, copy = paper.copy(asked)
    outline = room.outline(paper.made, copy)
    count = room.pages(paper.made, copy)
    lines = paper.made.papers.order.lines
    return page(
        "questions",
        "Questions",
        head=paper.head,
        here="",
        wrong=wrong,
        folder=str(paper.kept.folder),
        status=409 if wrong else 200,
        outline=outline,
        pages=f"{count} page{'s' if count != 1 else ''}",
        shown=room.questions(paper.made, copy),
        copies=paper.copies(),
        copy=at,
        open=asked.whole("open", 0, len(lines), 0) or asked.whole("number", 0, 999, 0),
        from_banks=[number for number, line in enumerate(lines, 1) if line.from_banks],
        in_words=[number for number, line in enumerate(lines, 1) if line.words is not None],
        described=[number for number, line in enumerate(lines, 1) if line.experiment],
        several_levels=bool(paper.state.order.levels),
    )


def change(room: Workroom, asked: Asked) -> Answer:
    """Change one question in one of the plain ways."""
    number, what = asked.whole("number", 1, 999, 0), asked.text("what")

    def done(order: Order) -> Order:
        if what not in _DONE:
            raise Mistake(f"'{what[:20]}' is nothing that is done to a question", expected=", ".join(_DONE))
        if what in CHANGES:
            return changed(room.bank, order, what, number, str(fresh_seed()))
        match what:
            case "more" | "less":
                return at_level(order, number, next_level(order, number, -1 if what == "more" else 1))
            case "each":
                return at_level(order, number, "")
            case "up" | "down":
                return moved(order, number, number + (-1 if what == "up" else 1))
            case _:
                return removed(order, number)

    then = {"up": number - 1, "down": number + 1}.get(what, number)
    return _changed(room, asked, _DONE.get(what, "").format(number), done, then)


def _changed(room: Workroom, asked: Asked, what: str, change_of: Callable[[Order], Order], then: int) -> Answer:
    """Change the paper's order; show it at a question, or say on it what could not be done."""
    kept = room.shelf.paper(asked.numbers["paper"])
    try:
        with room.alone():
            state = kept.seen(asked.text("seen"))
            room.change(kept, state.stamp, what, change_of(state.order))
    except Mistake as mistake:
        return questions(room, asked, sentences(mistake))
    copy = asked.whole("copy", 0, 10_000, 0)
    beside = f"&copy={copy}" if copy else ""
    return go(f"/paper/{kept.number}?open={then}{beside}#q{then}")


def undo(room: Workroom, asked: Asked) -> Answer:
    """Take the last step back."""
    return _stepped(room, asked, KeptPaper.undo)


def redo(room: Workroom, asked: Asked) -> Answer:
    """Do again what was taken back."""
    return _stepped(room, asked, KeptPaper.redo)


def _stepped(room: Workroom, asked: Asked, step: Callable[[KeptPaper, str], State]) -> Answer:
    kept = room.shelf.paper(asked.numbers["paper"])
    try:
        step(kept, asked.text("seen"))
    except Mistake as mistake:
        return questions(room, asked, sentences(mistake))
    return go(f"/paper/{kept.number}")


# ------------------------------------------------------------------ one more question


def add(room: Workroom, asked: Asked) -> Answer:
    """What may be added, and where."""
    paper = opened(room, asked)
    return page(
        "add",
        "Add a question",
        head=paper.head,
        here="",
        after=asked.numbers["after"],
        topics=topic_words(room),
        find=asked.text("find"),
        found=find_among(room, asked.text("find")),
    )


def added_one(room: Workroom, asked: Asked) -> Answer:
    """Add a question of a topic or a kind."""
    after = asked.numbers["after"]

    def done(order: Order) -> Order:
        return added(order, after, drawn_line(room.bank, order, asked.text("name"), str(fresh_seed())))

    return _changed(
        room, asked, f"a question added after {after}" if after else "a question added first", done, after + 1
    )


# ------------------------------------------------------------------ in one's own words


def words(room: Workroom, asked: Asked, wrong: tuple[str, ...] = ()) -> Answer:
    """A question in one's own words: a new one, or one that stands on the paper."""
    paper = opened(room, asked)
    number = asked.numbers.get("question", 0)
    line = paper.state.order.lines[number - 1] if 1 <= number <= paper.state.order.count else OrderLine()
    held = line.words or OwnWords(text="", marks=2, answer="", lines=4)
    typed = {"text": held.text, "answer": held.answer, "marks": held.marks, "lines": held.lines}
    if wrong:
        typed = {key: asked.text(key) for key in typed}
    heading = f"Question {number} in your own words" if number else "A question in your own words"
    return page("words", heading, head=paper.head, here="", wrong=wrong, heading=heading, words=typed)  # fmt: skip


def keep_words(room: Workroom, asked: Asked) -> Answer:
    """Keep a question in one's own words."""
    number, after = asked.numbers.get("question", 0), asked.numbers.get("after", 0)
    kept = room.shelf.paper(asked.numbers["paper"])
    try:
        order = kept.seen(asked.text("seen")).order
        line = OrderLine(
            words=own_words(
                text=asked.text("text"),
                answer=asked.text("answer"),
                marks=asked.text("marks"),
                lines=asked.text("lines"),
            )
        )
        with room.alone():
            now = replaced(order, number, line) if number else added(order, after, line)
            what = f"the words of question {number}" if number else "a question in your own words"
            room.change(kept, asked.text("seen"), what, now)
    except Changed as mistake:
        return questions(room, asked, sentences(mistake))
    except Mistake as mistake:
        return words(room, asked, sentences(mistake))
    return go(f"/paper/{kept.number}?open={number or after + 1}#q{number or after + 1}")


# ------------------------------------------------------------------ with one's own numbers


def numbers(room: Workroom, asked: Asked) -> Answer:
    """The numbers of a question, each with a field for one's own."""
    paper = opened(room, asked)
    number = asked.numbers["question"]
    fields = _fields(room, paper, number)
    typed = tuple(one.number if one.fixed else "" for one in fields)
    return _numbers_page(room, paper, number, typed, None, "")


def keep_numbers(room: Workroom, asked: Asked) -> Answer:
    """Try one's own numbers, or keep them."""
    paper = opened(room, asked)
    number = asked.numbers["question"]
    typed, tried, refused = _tried(room, paper, asked, number)
    if asked.text("do") != "keep" or refused:
        return _numbers_page(room, paper, number, typed, tried, refused)
    fixed = _fixed(_fields(room, paper, number), typed)
    return _changed(
        room,
        asked,
        f"your own numbers in question {number}",
        lambda order: with_numbers_fixed(order, number, fixed),
        number,
    )


def numbers_told(room: Workroom, asked: Asked) -> Answer:
    """What the numbers come to that are being typed."""
    _, tried, refused = _tried(room, opened(room, asked), asked, asked.numbers["question"])
    return piece("numbers_told", tried=tried, refused=refused)


def _fields(room: Workroom, paper: Opened, number: int) -> tuple[NumberField, ...]:
    with room.alone():
        found = number_fields(paper.made.papers, number)
    if not found or not paper.state.order.lines[number - 1].from_banks:
        raise Mistake(f"question {number} tells no numbers that could be yours", expected="a question from the banks")
    return found


def _tried(room: Workroom, paper: Opened, asked: Asked, number: int) -> tuple[tuple[str, ...], Tried | None, str]:
    """What was typed, what it comes to, and why it cannot be ("" where it can)."""
    fields = _fields(room, paper, number)
    typed = tuple(asked.text(f"n{at}").strip() for at in range(1, len(fields) + 1))
    try:
        with room.alone():
            order = paper.made.papers.order
            return typed, tried_numbers(room.bank, room.plans, order, number, _fixed(fields, typed)), ""
    except Mistake as mistake:
        return typed, None, " ".join(sentences(mistake))


def _fixed(fields: tuple[NumberField, ...], typed: tuple[str, ...]) -> Numbers:
    """The numbers that are typed, each with the unit beside its field unless it was typed with one."""
    return tuple(
        (one.name, text if any(map(str.isalpha, text)) or "%" in text else f"{text} {one.unit}".strip())
        for one, text in zip(fields, typed, strict=True)
        if text
    )


def _numbers_page(
    room: Workroom, paper: Opened, number: int, typed: tuple[str, ...], tried: Tried | None, refused: str
) -> Answer:
    return page(
        "numbers",
        "Your own numbers",
        head=paper.head,
        here="",
        status=422 if refused else 200,
        number=number,
        fields=_fields(room, paper, number),
        typed=typed,
        tried=tried,
        refused=refused,
    )
