"""Tables of marked answers of one class come in, paper after paper; what each pupil earned and misunderstood over time goes out.

Nothing is kept anywhere but in the tables: the mark book is made from them again each time.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal

from molewright.errors import Mistake, Where
from molewright.marking.marked_answers import PREFIX, MarkedRow, read_marked
from molewright.order.pupils import key_of

MOST_TABLES = 200
_DEPTHS = ("", "*/", "*/*/")

State = Literal["seen", "perhaps", "right", "not told", ""]
"""What a paper tells of a thing and a pupil: misunderstood, perhaps so, done right, nothing, or that the pupil did not sit it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sitting:
    """One pupil's paper: marks, those pending, of how many; what was misunderstood, surely and perhaps; what was done right."""

    marks: int
    pending: int
    out_of: int
    seen: frozenset[str]
    perhaps: frozenset[str]
    right: frozenset[str]

    def state(self, thing: str) -> State:
        """What the paper tells of a thing."""
        if thing in self.seen:
            return "seen"
        if thing in self.perhaps:
            return "perhaps"
        return "right" if thing in self.right else "not told"


@dataclass(frozen=True, slots=True)
class MarkedPaper:
    """One paper of the class: what it is called in the book, and who sat it."""

    label: str
    sittings: Mapping[str, Sitting]


@dataclass(frozen=True, slots=True)
class Trail:
    """One thing that a pupil has misunderstood, paper by paper."""

    thing: str
    states: tuple[State, ...]

    @property
    def seen(self) -> tuple[int, ...]:
        """The papers in which it was seen, the first being 1."""
        return tuple(number for number, state in enumerate(self.states, 1) if state in ("seen", "perhaps"))

    @property
    def perhaps(self) -> tuple[int, ...]:
        """Those of them in which it is not sure."""
        return tuple(number for number in self.seen if self.states[number - 1] == "perhaps")

    @property
    def gone(self) -> int:
        """The first paper after the last sight of it in which it was done right; 0 where there is none yet."""
        later = (number for number, state in enumerate(self.states, 1) if state == "right" and number > self.seen[-1])
        return next(later, 0)


@dataclass(frozen=True, slots=True)
class MarkBook:
    """The papers in order of time, and the pupils by name; each by the key that the papers know them by."""

    papers: tuple[MarkedPaper, ...]
    pupils: Mapping[str, str]
    notes: tuple[str, ...] = ()

    def trails(self, key: str) -> tuple[Trail, ...]:
        """All that a pupil has misunderstood: what is still there first, the longest first."""
        sat = [paper.sittings.get(key) for paper in self.papers]
        things = dict.fromkeys(thing for one in sat if one for thing in (*sorted(one.seen), *sorted(one.perhaps)))
        trails = [Trail(thing, tuple(one.state(thing) if one else "" for one in sat)) for thing in things]
        return tuple(sorted(trails, key=lambda trail: (trail.gone != 0, -len(trail.seen), trail.thing)))

    def things(self) -> tuple[str, ...]:
        """Everything that anybody has misunderstood: what most pupils have first."""
        having: dict[str, set[str]] = {}
        for paper in self.papers:
            for key, one in paper.sittings.items():
                for thing in one.seen | one.perhaps:
                    having.setdefault(thing, set()).add(key)
        return tuple(sorted(having, key=lambda thing: (-len(having[thing]), thing)))


def read_book(folder: Path) -> MarkBook:
    """The mark book of the tables in a folder and the folders in it. Raises Mistake where there is none, or one that cannot be read.

    Papers stand in the order of their folders, as a person counts them (week 2 before week 10); those in one folder in the order in
    which they were marked.
    """
    paths = _tables(folder)
    if not paths:
        raise Mistake(
            "no marked answers lie in this folder",
            expected=f"files {PREFIX}….csv as 'molewright mark' writes them, in it or in folders in it",
            where=Where(str(folder)),
            do="Mark the papers first: molewright mark ANSWERS --to FOLDER.",
        )
    read = [(path, read_marked(path)) for path in paths]
    notes = []
    once: dict[tuple[MarkedRow, ...], Path] = {}
    for path, rows in read:
        if rows in once:
            notes.append(f"{path} holds the same as {once[rows]} and is left out")
        elif not rows:
            notes.append(f"{path} holds no answers and is left out")
        else:
            once[rows] = path
    labels = _labels(folder, once)
    papers = tuple(MarkedPaper(labels[path], _sittings(rows)) for rows, path in once.items())
    pupils: dict[str, str] = {}
    for rows in once:
        for row in rows:
            pupils.setdefault(key_of(row.pupil), row.pupil)
    return MarkBook(papers, dict(sorted(pupils.items())), tuple(notes))


def _tables(folder: Path) -> list[Path]:
    """The tables in the order of time, as far as folders and files tell it."""
    found = {path for depth in _DEPTHS for path in folder.glob(f"{depth}{PREFIX}*.csv")}
    seen = [path for path in found if not any(part.startswith(".") for part in path.relative_to(folder).parts)]
    if len(seen) > MOST_TABLES:
        raise Mistake(
            f"{len(seen)} tables of marked answers",
            expected=f"at most {MOST_TABLES}, those of one class",
            where=Where(str(folder)),
        )
    return sorted(
        seen, key=lambda path: (_counted(path.relative_to(folder).parent), path.stat().st_mtime_ns, path.name)
    )


def _counted(path: Path) -> list[tuple[int, int, str]]:
    """A path as a person counts: numbers by what they are worth."""
    pieces = re.findall(r"[0-9]+|[^0-9]+", path.as_posix().casefold())
    return [(0, int(piece), "") if piece.isdecimal() else (1, 0, piece) for piece in pieces]


def _labels(folder: Path, tables: Mapping[tuple[MarkedRow, ...], Path]) -> dict[Path, str]:
    """What each paper is called: its folder with its title, told apart by the code where two would be alike."""
    told: dict[Path, str] = {}
    for rows, path in tables.items():
        below = path.relative_to(folder).parent.as_posix()
        told[path] = rows[0].title if below == "." else f"{below}: {rows[0].title}"
    every = list(told.values())
    return {
        path: label if every.count(label) == 1 else f"{label} ({path.stem.removeprefix(PREFIX)})"
        for path, label in told.items()
    }


@dataclass(slots=True, kw_only=True)
class _Question:
    """One pupil's answers to one question so far."""

    marks: int = 0
    pending: int = 0
    out_of: int = 0
    seen: set[str] = field(default_factory=set)
    perhaps: set[str] = field(default_factory=set)
    could: set[str] = field(default_factory=set)
    unread: bool = False

    @property
    def right(self) -> set[str]:
        """What was done right: all that could have shown, where no mark was lost and everything could be read."""
        full = self.marks > 0 and self.marks + self.pending == self.out_of and not self.unread
        return self.could - self.seen - self.perhaps if full else set()


def _sittings(rows: Sequence[MarkedRow]) -> dict[str, Sitting]:
    questions: dict[str, dict[int, _Question]] = {}
    whole: dict[str, MarkedRow] = {}
    for row in rows:
        key = key_of(row.pupil)
        whole[key] = row
        one = questions.setdefault(key, {}).setdefault(row.question, _Question())
        one.marks += row.marks
        one.pending += row.pending
        one.out_of += row.out_of
        one.unread |= row.judged == "not read"
        (one.seen if row.sure else one.perhaps).update(row.things)
        one.could.update(row.could_show)
    return {key: _sitting(tuple(each.values()), whole[key]) for key, each in questions.items()}


def _sitting(questions: Sequence[_Question], whole: MarkedRow) -> Sitting:
    def every(sets: Iterator[set[str]]) -> frozenset[str]:
        return frozenset(thing for held in sets for thing in held)

    return Sitting(
        marks=sum(one.marks for one in questions),
        pending=whole.all_pending,
        out_of=whole.all_marks,
        seen=every(one.seen for one in questions),
        perhaps=every(one.perhaps for one in questions),
        right=every(one.right for one in questions),
    )
