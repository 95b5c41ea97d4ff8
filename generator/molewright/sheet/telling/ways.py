"""A question comes in; the way in which it is told goes out: sentences, a table beside them, a technician's note, a pupil's notebook.

The way is fixed by what the versions of a question share and by nothing that is drawn for one of them. A way that would be odd is
not taken: one without words for something that is done, a table with too few rows or with two of one name, a note of one line.
All that was done stands in a note or on a page of a notebook, a fact a line and in the order of the work; beside it is told chemistry.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import assert_never

from molewright.experiment.procedure import Aliquot, MakeUp, Measure, Weigh
from molewright.experiment.tellings import TELLINGS, Telling
from molewright.nodes.blocks import Block, Cell, Note, Paragraph, Table
from molewright.nodes.inline import Inline, Line, Text
from molewright.sheet.telling.procedure import tell
from molewright.sheet.wording import joined
from molewright.sheet.writer import Writer

LEAST_ROWS = 3  # of a table: fewer are read more easily in a sentence
LEAST_LINES = 2  # of a note or a page of a notebook
SHARES: Mapping[Telling, int] = {"prose": 7, "table": 1, "note": 1, "notebook": 1}
"""Of ten questions. Sentences take the least paper: a homework told in tables alone is more than half a page longer."""
PLAIN: tuple[Telling, ...] = ("prose", "table")  # what a weaker reader copes with


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """How a question is told. `titre_first`: its sentences begin with the result of its titration."""

    telling: Telling
    titre_first: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Opening:
    """What a stem begins with. With `readings_first` the table of burette readings stands after the first of the blocks."""

    way: Way
    blocks: tuple[Block, ...]
    readings_first: bool = False


def opened(writer: Writer, easy: bool = False) -> Opening:
    """The question's opening, told in the way that is asked for, or else in one of its own; `easy`: in a plain one, in order.

    Where a way would be odd the next is tried; sentences always do.
    """
    return writer.once(_opened, easy)


def _opened(writer: Writer, easy: bool) -> Opening:
    wish = _Wish(writer)
    ways = [way for way in wish.order if not easy or way in PLAIN]
    if writer.telling:
        ways = [writer.telling, "prose"]
    for telling in ways:
        made = told_in(writer, Way(telling=telling, titre_first=telling == "prose" and wish.titre_first and not easy))
        if made is not None:
            return made
    raise AssertionError("sentences always do")


def possible(writer: Writer) -> tuple[Telling, ...]:
    """The ways in which a question may be told without becoming odd."""
    return tuple(telling for telling in TELLINGS if told_in(writer, Way(telling=telling)) is not None)


class _Wish:
    """What a question would be told in, by the seed that its versions share."""

    def __init__(self, writer: Writer) -> None:
        draw = writer.question.draw
        number = int.from_bytes(hashlib.sha256(f"{draw.line or draw.stream.seed}/telling".encode()).digest()[:8], "big")
        number, first = divmod(number, 2)
        left, self.order = [telling for telling in TELLINGS for _ in range(SHARES[telling])], list[Telling]()
        while left:
            number, at = divmod(number, len(left))
            self.order.append(left[at])
            left = [telling for telling in left if telling != self.order[-1]]
        self.titre_first = bool(first and number % 2) and reads_backwards(writer)  # a quarter, where it reads well


def reads_backwards(writer: Writer) -> bool:
    """Whether a stem may begin with its one titre: it is printed, not read from a graph, and there is a way that led to it."""
    draw = writer.question.draw
    procedure = draw.variant.procedure
    one = len(procedure.titrations) == 1 and procedure.titrations[0].titre in draw.given and not draw.archetype.graph
    return one and len([act for act in procedure.operations if isinstance(act, Weigh | Measure | MakeUp | Aliquot)]) > 1


def told_in(writer: Writer, way: Way) -> Opening | None:
    """The question's opening, told in one way; None where that would be odd."""
    match way.telling:
        case "prose":
            return _prose(writer, way)
        case "table":
            return _table(writer, way) if _done(writer) else None
        case "note":
            return _note(writer, way) if _done(writer) else None
        case "notebook":
            return _notebook(writer, way) if _done(writer) else None
        case _:
            assert_never(way.telling)


def _done(writer: Writer) -> bool:
    """Whether something was done: of what is only planned nobody keeps a table, a note or a notebook."""
    return not (writer.names.planned() or writer.names.to_a_strength())


# ------------------------------------------------------------ the four ways


def _prose(writer: Writer, way: Way) -> Opening:
    told = tell(writer, titre_told=way.titre_first)
    first, *later = told.stages
    if not way.titre_first:
        return Opening(way=way, blocks=tuple(_paragraphs((_scene(writer, *first), *later))))
    runs = bool(writer.question.draw.runs)
    scene, after = _scene(writer, _result(writer)), (writer.say("told from the start"), *first)
    blocks = _paragraphs((scene, after, *later) if runs else ((*scene, *after), *later))
    return Opening(way=way, blocks=tuple(blocks), readings_first=runs)


def _table(writer: Writer, way: Way) -> Opening | None:
    told = tell(writer, "table")
    names = [row.what for row in told.rows]
    if told.lacking or len(names) < LEAST_ROWS or len(set(names)) < len(names):
        return None
    first, *later = told.stages
    *before, last = (_scene(writer, *first), *later)
    rows = [(Cell((row.what,), head=True), Cell(((row.amount,),), align="centre")) for row in told.rows]
    table = Table(
        widths=(0.68, 0.32),
        heading=(
            Cell((writer.words.line("data head quantity"),), head=True),
            Cell((writer.words.line("data head value"),), head=True, align="centre"),
        ),
        rows=tuple(rows),
        width=0.85,
        summary=writer.words.text("data summary"),
    )
    lead = writer.say("data lead readings" if writer.question.draw.runs else "data lead")
    return Opening(way=way, blocks=(*_paragraphs((*before, (*last, lead))), table))


def _note(writer: Writer, way: Way) -> Opening | None:
    """All that was done as a technician's note, from the first step to the titre; None where it would be odd."""
    if len(writer.question.draw.variant.procedure.titrations) > 1:
        return None  # one titration beside another is too much for a note
    told = tell(writer, "note")
    lines = tuple(line for stage in told.stages for line in stage)
    if told.lacking or len(lines) < LEAST_LINES or _technicians(writer, lines):
        return None
    note = Note(writer.words.line("note title"), lines)
    return Opening(way=way, blocks=(*_paragraphs((_scene(writer),)), note, *_paragraphs((told.remarks,))))


def _notebook(writer: Writer, way: Way) -> Opening | None:
    """A page for each stage of the work, in the order in which it was done."""
    told = tell(writer, "notebook")
    stages = [stage for stage in told.stages if stage]
    if told.lacking or sum(map(len, stages)) < LEAST_LINES:
        return None
    scene = _scene(writer)
    if _technicians(writer, (*scene, *(line for stage in stages for line in stage))):
        return None
    day = writer.say("notebook title")
    pages: list[Block] = []
    for index, stage in enumerate(stages):
        when = writer.words.line("notebook when", index)
        title = writer.words.line("notebook stage title", day=day, when=when) if len(stages) > 1 else day
        pages.append(Note(title, stage))
    return Opening(way=way, blocks=(*_paragraphs((scene,)), *pages, *_paragraphs((told.remarks,))))


# ------------------------------------------------------------ pieces


def _scene(writer: Writer, *sentences: Line) -> tuple[Line, ...]:
    """The scene, and sentences that follow it."""
    return ((Text(writer.question.draw.context.opening),), *sentences)


def _result(writer: Writer) -> Line:
    """What the titration came to, for a stem that begins with it. Of no solution yet: none has been named."""
    draw, (titration,) = writer.question.draw, writer.question.draw.variant.procedure.titrations
    if draw.runs:
        return writer.say("readings first")
    titre = writer.numbers.amount(draw.given[titration.titre])
    if writer.names.single_titre(titration):
        return writer.say("titre first once", titre=titre)
    if titration.titre in draw.archetype.stated:
        return writer.say("titre first alone", titre=titre)
    return writer.say("titre first", titre=titre, limit=writer.numbers.concordant())


def _technicians(writer: Writer, lines: Iterable[Line]) -> bool:
    """Whether it is told there that a technician did something, as what is corrosive is handled."""
    name = writer.words.text("work of the technician")
    return any(isinstance(piece, Text) and name in piece.text for line in lines for piece in line)


def _paragraphs(stages: Iterable[tuple[Line, ...]]) -> list[Paragraph]:
    return [Paragraph(_running(stage)) for stage in stages if stage]


def _running(sentences: tuple[Line, ...]) -> Line:
    line: list[Inline] = []
    for sentence in sentences:
        if line:
            line.append(Text(" "))
        line.extend(sentence)
    return joined(line)
