"""The class of a paper: its list, typed or sent, kept in its own file and emptied with one button."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

from molewright.browser.asking import MOST_ROWS, Answer, Asked, go, require_rows
from molewright.browser.pages import head_of, page, sentences
from molewright.browser.shelf import State
from molewright.browser.workroom import Workroom
from molewright.errors import Mistake, one_of
from molewright.order.choices import SUPPORT, WHOSE_NUMBERS
from molewright.papers.changing import at_levels


def the_class(room: Workroom, asked: Asked, wrong: tuple[str, ...] = ()) -> Answer:
    """The list as it was typed, and where it is."""
    kept = room.shelf.paper(asked.numbers["paper"])
    state = kept.state()
    return page(
        "class",
        "The class",
        head=head_of(kept, state),
        here="/class",
        wrong=wrong,
        told=_told(state, asked.text("done")),
        folder=str(kept.folder),
        names=asked.text("names") if wrong else kept.class_text(),
        numbers=state.wanted.numbers if state.wanted.pupils else "shared",
        class_file=str(kept.class_file),
        count=len(state.wanted.pupils),
    )


def _told(state: State, done: str) -> tuple[str, ...]:
    """What was done, and of a class how many it has at each level."""
    if done == "gone":
        return ("The names are gone.",)
    if done != "kept":
        return ()
    pupils, order = state.wanted.pupils, state.order
    counts = Counter(pupil.level or (order.levels[0] if order.levels else order.level) for pupil in pupils)
    each = f": {', '.join(f'{count} {level}' for level, count in counts.items())}" if pupils else ""
    return (f"The class is kept{each}.",)


def keep_class(room: Workroom, asked: Asked) -> Answer:
    """Keep a list; the levels that it gives are those of the paper."""
    kept = room.shelf.paper(asked.numbers["paper"])
    before = kept.class_text()
    try:
        kept.seen(asked.text("seen"))
        text = _sent(asked) or asked.text("names")
        require_rows(text, MOST_ROWS)
        with room.alone():
            state = kept.set_class(asked.text("seen"), text)
            try:
                wanted = replace(state.wanted, numbers=one_of(asked.text("numbers"), WHOSE_NUMBERS, "numbers"))
                named = {pupil.level for pupil in wanted.pupils if pupil.level}
                levels = tuple(level for level in SUPPORT if level in named)
                order = state.order
                if levels and not named <= set(order.levels or (order.level,)):
                    order = at_levels(order, levels)
                room.change(kept, state.stamp, "levels and numbers of the class", order, wanted)
            except Mistake:
                kept.set_class(state.stamp, before)
                raise
    except Mistake as mistake:
        return the_class(room, asked, sentences(mistake))
    return go(f"/paper/{kept.number}/class?done=kept")


def _sent(asked: Asked) -> str:
    """The text of a file that was sent, "" where none was."""
    for raw in asked.sent("list"):
        try:
            return raw.decode("utf-8-sig")
        except UnicodeDecodeError:
            raise Mistake("the file is no text in UTF-8", do="Save it again as UTF-8 text.") from None
    return ""


def asked_once_more(room: Workroom, asked: Asked) -> Answer:
    """Whether all names shall be gone: it cannot be taken back."""
    kept = room.shelf.paper(asked.numbers["paper"])
    state = kept.state()
    return page(
        "empty", "Empty the class list?", head=head_of(kept, state), here="/class", count=len(state.wanted.pupils)
    )


def empty(room: Workroom, asked: Asked) -> Answer:
    """Let all names be gone."""
    kept = room.shelf.paper(asked.numbers["paper"])
    try:
        kept.set_class(asked.text("seen"), "")
    except Mistake as mistake:
        return the_class(room, asked, sentences(mistake))
    return go(f"/paper/{kept.number}/class?done=gone")
