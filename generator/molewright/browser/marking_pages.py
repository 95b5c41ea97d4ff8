"""Answers are typed into a grid and judged as they are typed, or sent as files; what is pending is settled; the files are taken."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from molewright.browser.asking import Answer, Asked, go
from molewright.browser.pages import head_of, page, piece, sentences
from molewright.browser.shelf import KeptPaper
from molewright.browser.workroom import Workroom
from molewright.errors import Mistake
from molewright.marking.marked import MarkedAnswer, MarkedClass
from molewright.marking.seats import Seat, as_table, seats, typed_rows
from molewright.marking.table import slip_words
from molewright.papers.record.reader import Record, read_record

UNNAMED, MOST_UNNAMED = 4, 60  # rows of each version where there is no class
MOST_SETS = 999  # of records that were kept of a paper
MOST_TYPED = 500  # characters of a cell


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """What is said of one answer: a sign and words, so that no colour has to be seen; whether a mark is to be given for it."""

    sign: str
    words: str
    open: bool
    lost: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """One place of the grid: its name in the form, where it is, what was typed, the mark given, what is said of it."""

    name: str
    heading: str
    answer: str
    given: str
    teachers: int
    marks: int
    said: Said


@dataclass(frozen=True, slots=True, kw_only=True)
class GridRow:
    """One pupil's row of the grid, with what it comes to."""

    number: int
    name: str
    code: str
    cells: tuple[Cell, ...]
    total: str


Typed = Mapping[tuple[str, int, str], tuple[str, str]]
_NOTHING = Said(sign="", words="", open=False, lost=False)


def grid(room: Workroom, asked: Asked, wrong: tuple[str, ...] = ()) -> Answer:
    """The grid of answers, each judged as far as it is typed."""
    kept, printed, taken = _taken(room, asked)
    state = kept.state()
    unnamed = asked.whole("rows", 1, MOST_UNNAMED, UNNAMED)
    cells = _by_code(kept)
    typed = _typed(cells, taken)
    papers, told = _judged(room, kept, printed, taken, typed)
    rows = [_row(at, seat, typed, papers) for at, seat in enumerate(taken)]
    return page(
        "mark",
        "Mark",
        head=head_of(kept, state),
        here="/mark",
        wrong=(*wrong, *told),
        folder=str(kept.folder),
        status=400 if wrong else 200,
        blocks=_blocks(taken, rows),
        unnamed=0 if state.wanted.pupils else unnamed,
        codes=sorted({seat.code for seat in taken}),
        set=asked.whole("set", 0, MOST_SETS, 0),
        earlier=_earlier(kept, cells, printed, taken),
    )


def _blocks(taken: Sequence[Seat], rows: Sequence[GridRow]) -> list[tuple[str, tuple[Cell, ...], list[GridRow]]]:
    """Rows below one heading: those of papers with the same places."""
    found: list[tuple[str, tuple[Cell, ...], list[GridRow]]] = []
    last: object = None
    for seat, row in zip(taken, rows, strict=True):
        shape = (seat.level, [(one.question, one.part, one.marks) for one in seat.places])
        if shape != last:
            found.append((seat.level, row.cells, []))
            last = shape
        found[-1][2].append(row)
    return found


def keep_grid(room: Workroom, asked: Asked) -> Answer:
    """Keep what is typed, and show it judged; or mark it all."""
    kept, printed, taken = _taken(room, asked)
    _keep(kept, asked, list(enumerate(taken)))
    if not asked.has("all"):
        rows, which = asked.whole("rows", 1, MOST_UNNAMED, UNNAMED), asked.whole("set", 0, MOST_SETS, 0)
        return go(f"/paper/{kept.number}/mark?rows={rows}" + (f"&set={which}" if which else ""))
    try:
        sitting = room.sittings.begin(printed, kept.pupils())
        sitting.take(list(typed_rows(taken, _typed(_by_code(kept), taken))))
        sitting.seats = taken
    except Mistake as mistake:
        return grid(room, asked, sentences(mistake))
    return go(f"/paper/{kept.number}/marked/{sitting.number}")


def judged_row(room: Workroom, asked: Asked) -> Answer:
    """One row, kept and judged while it is typed."""
    kept, printed, taken = _taken(room, asked)
    at = asked.whole("row", 0, len(taken) - 1, 0)
    _keep(kept, asked, [(at, taken[at])])
    typed = _typed(_by_code(kept), taken)
    papers, told = _judged(room, kept, printed, [taken[at]], typed)
    return piece("mark_row", row=_row(at, taken[at], typed, papers), told=told)


def sent(room: Workroom, asked: Asked) -> Answer:
    """Answers that were sent as files, marked."""
    kept = room.shelf.paper(asked.numbers["paper"])
    try:
        sitting = room.sittings.begin(_printed(room, kept), kept.pupils())
        sitting.read(asked.sent("answers"))
    except Mistake as mistake:
        return grid(room, asked, sentences(mistake))
    return go(f"/paper/{kept.number}/marked/{sitting.number}")


def as_it_is_now(room: Workroom, asked: Asked) -> Answer:
    """Mark from now on by the paper as it is, not as it was when its files were taken last."""
    kept = room.shelf.paper(asked.numbers["paper"])
    room.record(kept)
    return go(f"/paper/{kept.number}/mark")


# ------------------------------------------------------------------ records, seats, what was typed


def _printed(room: Workroom, kept: KeptPaper, number: int = 0) -> Path:
    """The records that answers are marked by: of an earlier set, of the files that were taken last, or of the paper as it is."""
    if number and number not in kept.printed_sets():
        raise Mistake(f"there is no set {number} of these papers", expected="one whose files were taken")
    return kept.printed_sets()[number] if number else kept.printed() or room.record(kept)


def _records(printed: Path) -> list[Record]:
    return [read_record(path) for path in sorted(printed.iterdir())]


def _seats(printed: Path, kept: KeptPaper, unnamed: int) -> tuple[Seat, ...]:
    return seats(_records(printed), kept.pupils(), unnamed)


def _taken(room: Workroom, asked: Asked) -> tuple[KeptPaper, Path, tuple[Seat, ...]]:
    kept = room.shelf.paper(asked.numbers["paper"])
    printed = _printed(room, kept, asked.whole("set", 0, MOST_SETS, 0))
    return kept, printed, _seats(printed, kept, asked.whole("rows", 1, MOST_UNNAMED, UNNAMED))


def _key(seat: Seat, question: int, part: str, what: str) -> str:
    """Where a cell is kept: answers belong to the paper they were written on, which its code names."""
    return f"{seat.code}|{seat.key}|{question}|{part}|{what}"


def _keep(kept: KeptPaper, asked: Asked, taken: Sequence[tuple[int, Seat]]) -> None:
    """Keep the cells of these seats that were sent; the others stay as they were."""
    fresh: dict[str, str] = {}
    for at, seat in taken:
        for number, place in enumerate(seat.places):
            for what in ("a", "g"):
                if asked.has(f"{what}-{at}-{number}"):
                    typed = asked.text(f"{what}-{at}-{number}")[:MOST_TYPED]
                    fresh[_key(seat, place.question, place.part, what)] = typed
    kept.keep_typed(fresh, _old_keys(kept, kept.typed()))


def keep_given(kept: KeptPaper, taken: Sequence[Seat], given: Mapping[tuple[str, int, str], str]) -> None:
    """Keep marks that the teacher gave to what was typed, by pupil, question and part, as those are that stand in the grid."""
    fresh = {
        _key(seat, place.question, place.part, "g"): given[_name(seat), place.question, place.part]
        for seat in taken
        for place in seat.places
        if (_name(seat), place.question, place.part) in given
    }
    kept.keep_typed(fresh, _old_keys(kept, kept.typed()))


def _old_keys(kept: KeptPaper, typed: Mapping[str, str]) -> dict[str, str]:
    """The key of today for each of these cells that was kept by the folder of its records, as cells were once."""
    found: dict[str, str] = {}
    folders = {key.partition("|")[0] for key in typed}
    for printed in kept.printed_sets().values():
        if printed.name in folders:
            codes = {seat.key: seat.code for seat in _seats(printed, kept, MOST_UNNAMED)}
            for key in typed:
                folder, _, rest = key.partition("|")
                if folder == printed.name and (code := codes.get(rest.partition("|")[0])):
                    found[key] = f"{code}|{rest}"
    return found


def _by_code(kept: KeptPaper) -> dict[str, str]:
    """Every cell that is kept, by the code of its paper, its seat and its place."""
    typed = kept.typed()
    old = _old_keys(kept, typed)
    return {
        **{old[key]: text for key, text in typed.items() if key in old},
        **{key: text for key, text in typed.items() if key not in old},
    }


def _earlier(
    kept: KeptPaper, cells: Mapping[str, str], printed: Path, taken: Sequence[Seat]
) -> list[tuple[int, tuple[str, ...], int]]:
    """Other sets whose papers answers were typed for: the number of the set, its codes, how many answers there are."""
    counts = Counter(key.partition("|")[0] for key in cells if key.endswith("|a"))
    for seat in taken:
        counts.pop(seat.code, None)
    found: list[tuple[int, tuple[str, ...], int]] = []
    for number, folder in reversed(kept.printed_sets().items()) if counts else ():
        if folder != printed:
            versions = [one for record in _records(folder) for one in record.versions.values()]
            here = {one.code: counts.pop(one.code) for one in versions if one.code in counts}
            if here:
                found.append((number, tuple(here), sum(here.values())))
    return found


def _typed(cells: Mapping[str, str], taken: Sequence[Seat]) -> dict[tuple[str, int, str], tuple[str, str]]:
    """What is kept, of all cells, in those of these papers: answer and mark by seat, question and part."""
    found: dict[tuple[str, int, str], tuple[str, str]] = {}
    papers = {seat.key: seat.code for seat in taken}
    for key, text in cells.items():
        paper, seat, question, part, what = (key.split("|") + [""] * 5)[:5]
        if paper == papers.get(seat) and question.isdigit():
            answer, given = found.get((seat, int(question), part), ("", ""))
            found[seat, int(question), part] = (text, given) if what == "a" else (answer, text)
    return found


# ------------------------------------------------------------------ what is said of an answer


def _judged(
    room: Workroom, kept: KeptPaper, printed: Path, taken: Sequence[Seat], typed: Typed
) -> tuple[tuple[MarkedClass, ...], tuple[str, ...]]:
    """The papers marked as far as they are typed, and what could not be."""
    rows = list(typed_rows(taken, typed))
    if not any(row.answer or row.given for row in rows):
        return (), ()
    place = room.jobs.new_place() / "answers.csv"
    try:
        place.write_bytes(as_table(rows))
        papers, _ = room.mark(place, printed, kept.pupils())
    except Mistake as mistake:
        return (), sentences(mistake)
    finally:
        place.unlink(missing_ok=True)
        place.parent.rmdir()
    return papers, ()


def _row(at: int, seat: Seat, typed: Typed, papers: Sequence[MarkedClass]) -> GridRow:
    """One row with what is said of it."""
    found: dict[tuple[int, str], Said] = {}
    total = ""
    for marked in papers:
        for pupil in marked.pupils:
            if pupil.name == _name(seat):
                found = {(one.row.question, one.row.part): said(marked, one) for one in pupil.answers}
                total = f"{pupil.total} of {sum(marked.out_of.values())}" + (
                    f", {pupil.waiting} pending" if pupil.waiting else ""
                )
    cells = []
    for number, place in enumerate(seat.places):
        answer, given = typed.get((seat.key, place.question, place.part), ("", ""))
        cells.append(
            Cell(
                name=f"{at}-{number}",
                heading=place.heading,
                answer=answer,
                given=given,
                teachers=place.teachers,
                marks=place.marks,
                said=found.get((place.question, place.part), _NOTHING),
            )
        )
    return GridRow(number=at, name=_name(seat), code=seat.code, cells=tuple(cells), total=total)


def _name(seat: Seat) -> str:
    return f"{seat.pupil.name} ({seat.pupil.beside})" if seat.pupil.beside else seat.pupil.name


def said(marked: MarkedClass, one: MarkedAnswer) -> Said:
    """What is said of one answer."""
    if one.pending:
        return Said(sign="?", words=f"{one.pending} for you to give", open=True, lost=False)
    slip = slip_words(marked, one)
    if one.out_of and one.marks == one.out_of:
        return Said(sign="✓", words=f"{one.marks} of {one.out_of}", open=one.verdict == "teacher's mark", lost=False)
    words = f"{one.marks} of {one.out_of}" if one.out_of else one.verdict
    told = "; ".join(filter(None, (words, slip or one.note)))
    return Said(sign="✗" if one.lost else "–", words=told, open=one.verdict == "teacher's mark", lost=bool(one.lost))
