"""The first page, and what is done from it: a new paper, one that begins with an order or a record, and the papers there are."""

from __future__ import annotations

import re
import time
from dataclasses import replace
from urllib.parse import parse_qsl, urlencode

from molewright.bank.definitions import Bank
from molewright.browser.asking import Answer, Asked, gathered, go
from molewright.browser.jobs import SEARCH, Job
from molewright.browser.pages import page, sentences
from molewright.browser.workroom import Workroom
from molewright.errors import Mistake
from molewright.order.choices import FADED, MIXED, SUPPORT
from molewright.order.head import Head, with_levels
from molewright.order.order import MOST_MARKS, MOST_QUESTIONS, Order, Past, Wanted
from molewright.order.order_file import parse_order
from molewright.papers.choosing import fresh_seed, new_order
from molewright.papers.earlier_papers import read_earlier
from molewright.papers.fading import faded_order
from molewright.papers.record.again import order_of
from molewright.papers.record.reader import read_record
from molewright.survey.finding import Kind, topics_of

LEVEL_WORDS = (
    ("scaffolded", "scaffolded: led step by step"),
    ("structured", "structured: in parts"),
    ("exam", "exam: one demand"),
    ("stretch", "stretch: exam, and a further part"),
)
SOON_S = 1.0  # that a page lets somebody wait before it tells how far it is
_ASKED = (
    "topic",
    "kind",
    "find",
    "aim",
    "fresh",
    "questions",
    "marks",
    "versions",
    "level",
)  # what the first page asks
_FADED = (FADED, "faded: one kind as a series, from a worked example on")


def start(room: Workroom, asked: Asked, wrong: tuple[str, ...] = (), told: tuple[str, ...] = ()) -> Answer:
    """The first page: what a new paper shall be, and the papers that there are."""
    find = asked.text("find")
    chosen = asked.several("kind")
    found = find_among(room, find)
    kept_too = [one for one in room.kinds.every if one.key in chosen and one not in found] if chosen else []
    return page(
        "start",
        "Put a paper together",
        wrong=wrong,
        told=told,
        folder=str(room.shelf.folder),
        topics=topic_words(room),
        chosen_topics=asked.several("topic"),
        find=find,
        found=(*kept_too, *found),
        chosen_kinds=chosen,
        mistakes=[slip.name for slip in room.bank.slips if not slip.unseen],
        levels=(*LEVEL_WORDS, _FADED),
        chosen_levels=asked.several("level"),
        asked={key: asked.text(key) for key in _ASKED},
        kept=[_shelved(one, now=time.time()) for one in _readable(room)],
    )


def topic_words(room: Workroom) -> tuple[tuple[str, str], ...]:
    """Every topic, with the number of its kinds."""
    return tuple((topic, f"{topic} ({count})") for topic, count in topics_of(room.bank))


def new(room: Workroom, asked: Asked) -> Answer:
    """Make a new paper; go to its questions."""
    told = [(key, text) for key in _ASKED for text in asked.several(key) if text]
    try:
        with room.alone():
            past = _past(room) if asked.has("fresh") else ()
            order = _asked_order(room.bank, asked, room.usual, past)
        named = asked.text("versions").strip()
        wanted = room.usual.wanted
        wanted = replace(wanted, versions=versions_of(named)) if named else wanted
        job = room.new_paper(order, wanted, f"?{urlencode(told)}")
    except Mistake as mistake:
        return start(room, asked, sentences(mistake))
    return _begun(room, job)


def _begun(room: Workroom, job: Job) -> Answer:
    """What is soon done is shown at once; of what takes longer it is told how far it is."""
    job.thread.join(timeout=SOON_S)
    if not job.over:
        return go(f"/looking/{job.number}")
    room.jobs.let_go(job)
    return _came(room, job)


def _came(room: Workroom, job: Job) -> Answer:
    """The paper that came of a job, or what was asked for with the sentences that say why it cannot be had."""
    if job.came.leads_to:
        return go(job.came.leads_to)
    back = Asked(query=gathered(parse_qsl(job.back.removeprefix("?"))))
    if job.stopped:
        return start(room, back, told=("It was stopped. No paper was made.",))
    if isinstance(job.wrong, Mistake):
        return start(room, back, sentences(job.wrong))
    assert job.wrong is not None
    raise job.wrong


def looking(room: Workroom, asked: Asked) -> Answer:
    """How far the search for a paper is; the paper, or why there is none, once it is over."""
    job = _search(room, asked)
    if job.over:
        return _came(room, job)
    return page("looking", "The paper is being put together", folder=str(room.shelf.folder), job=job, again_in_s=1)


def stop_looking(room: Workroom, asked: Asked) -> Answer:
    """Stop the search."""
    job = _search(room, asked)
    job.stop()
    job.thread.join(timeout=SOON_S)
    return go(f"/looking/{job.number}")


def _search(room: Workroom, asked: Asked) -> Job:
    """The search that an address is of. Raises Mistake where it is of a job that makes files, or of none."""
    job = room.jobs.find(asked.numbers["job"])
    if job.called != SEARCH:
        raise Mistake("no paper is looked for under this number", expected="the number of a search", do="Begin anew.")
    return job


def _past(room: Workroom) -> tuple[Past, ...]:
    """What was set in the papers on the shelf."""
    return read_earlier([room.shelf.folder]).past if any(True for _ in room.shelf.papers()) else ()


def _asked_order(bank: Bank, asked: Asked, usual: Head, past: tuple[Past, ...]) -> Order:
    """The order that the first page asks for, as is usual where it says nothing; nothing of `past` while there is anything else."""
    names = (*asked.several("topic"), *asked.several("kind"))
    count = asked.whole("questions", 1, MOST_QUESTIONS, 0) or None
    marks = asked.whole("marks", 1, MOST_MARKS, 0)
    levels = asked.several("level")
    if levels == (FADED,):
        made = replace(
            faded_order(bank, names, count, None), not_again=past, marks=marks, aim=asked.text("aim").strip()
        )
    else:
        count = count or (usual.count or None if not (names or marks) else None)
        made = new_order(bank, names, count, None, marks, past, asked.text("aim").strip())
    made = replace(made, masses=usual.masses, style=usual.style, telling=usual.telling, equations=usual.equations)
    return with_levels(made, levels_of(levels) if levels else usual.levels)


def levels_of(ticked: tuple[str, ...]) -> tuple[str, ...]:
    """The levels that are ticked, from much support to little; a mixture where none is. Raises Mistake for what is no level."""
    for level in ticked:
        if level not in (*SUPPORT, FADED, MIXED):
            raise Mistake(f"the level '{level[:20]}'", expected=", ".join(SUPPORT))
    if FADED in ticked:
        return tuple(dict.fromkeys(ticked))
    return tuple(level for level in SUPPORT if level in ticked) or (MIXED,)


def versions_of(text: str) -> tuple[str, ...]:
    """The versions that are named, A where none is. Raises Mistake for what are no letters."""
    letters = re.sub(r"[\s,]+", "", text).upper()
    if not re.fullmatch("[A-Z]*", letters):
        raise Mistake(f"the versions '{text[:20]}'", expected="letters, as AB")
    return tuple(dict.fromkeys(letters)) or ("A",)


def begin_with(room: Workroom, asked: Asked) -> Answer:
    """Make a paper of an order or a record that was sent; go to its questions."""
    try:
        sent = asked.sent("order")
        if not sent:
            raise Mistake("no file was sent", expected="an order, or the record of a paper")
        with room.alone():
            order, wanted = _sent_order(room, sent[0])
        job = room.new_paper(order, wanted, "")
    except Mistake as mistake:
        return start(room, asked, sentences(mistake))
    return _begun(room, job)


def _sent_order(room: Workroom, raw: bytes) -> tuple[Order, Wanted]:
    """The order of a file: a record is JSON, an order is not."""
    if raw.lstrip()[:1] == b"{":
        place = room.jobs.new_place() / "sent-record.jsonl"
        place.write_bytes(raw)
        try:
            return order_of(read_record(place), fresh_seed)
        finally:
            place.unlink()
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise Mistake("this file is no text in UTF-8", expected="an order (.order.yaml) or a record (.jsonl)") from None
    return parse_order(text, "the file", fresh_seed)


def _readable(room: Workroom) -> list[tuple[int, str, int, float]]:
    """The papers on the shelf that can be read: number, title, questions, when they were changed."""
    found: list[tuple[int, str, int, float]] = []
    for kept in room.shelf.papers():
        try:
            state = kept.state()
        except Mistake:
            found.append((kept.number, f"Paper {kept.number}, which cannot be read", 0, kept.changed_at()))
            continue
        found.append((kept.number, state.wanted.title or f"Paper {kept.number}", state.order.count, kept.changed_at()))
    return found


def _shelved(one: tuple[int, str, int, float], now: float) -> dict[str, object]:
    number, title, count, changed = one
    when = time.strftime("%H:%M" if now - changed < 12 * 3600 else "%d %B %Y", time.localtime(changed))
    told = f"paper {number}, {count} question{'s' if count != 1 else ''}"
    return {"number": number, "title": title, "count": told, "when": when}


def find_among(room: Workroom, text: str) -> tuple[Kind, ...]:
    """The kinds that plain words find; without a word none, and none is looked for."""
    return room.kinds.find(text) if text.strip() else ()
