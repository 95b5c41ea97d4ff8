"""The marked papers of one class come in; what the teacher should look at goes out, short: by reason and by place."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from molewright.answer.judge import ON_TOP
from molewright.marking.marked import MarkedAnswer, MarkedClass, MarkedPupil
from molewright.marking.report_cells import NO_BREAK, as_written, cell, counted
from molewright.marking.table import pupils_of, slip_words
from molewright.nodes.blocks import Block, Cell, Heading, Paragraph, Table
from molewright.nodes.inline import Line, Text
from molewright.papers.answers import place_named

MOST_WRITTEN = 18  # answers told for one reason
NOT_READ, IN_WORDS, SEVERAL, UNIT, TEACHERS, UNKNOWN = (
    "not read: say what is meant",
    "pupils whose words are yours to mark",
    "several mistakes fit, and earn differently",
    "a matter of the unit",
    "for the teacher",
    "pupils who are wrong in a way that no known mistake gives",
)
_COUNTED = (UNKNOWN, IN_WORDS)  # the working decides, and it is on the papers: here only how many there are
_LEAST = "Marks here are the least that the answer itself shows; working may earn more."
_REASONS = (NOT_READ, TEACHERS, SEVERAL, UNIT, UNKNOWN, IN_WORDS)  # the most pressing first

_Spots = dict[str, dict[str, list[str]]]
"""Who wrote what, by reason and by place."""


def to_look_at(classes: Sequence[MarkedClass]) -> list[Block]:
    """The table of what to look at, the most pressing reasons first; [] where nothing is."""
    spots = _spots(classes)
    if not spots:
        return []
    rows = tuple((cell(reason), _places(reason, spots[reason])) for reason in _REASONS if reason in spots)
    return [
        Heading(2, (Text("Answers to look at"),)),
        Paragraph((Text(_LEAST),), "note"),
        Table(
            widths=(0.24, 0.76),
            heading=(cell("Why"), cell("Where, who, and what is written")),
            rows=rows,
            whole=False,
            summary="Answers to look at",
        ),
    ]


def _spots(classes: Sequence[MarkedClass]) -> _Spots:
    """Everything to look at, the places in the order of the paper."""
    found: _Spots = {}
    for marked, pupil in pupils_of(classes):
        for reason, place, told in _of_pupil(marked, pupil):
            found.setdefault(reason, {}).setdefault(place, []).append(told)
    return {
        reason: dict(sorted(places.items(), key=lambda pair: _in_order(pair[0]))) for reason, places in found.items()
    }


def _places(reason: str, places: Mapping[str, Sequence[str]]) -> Cell:
    """One run of places with who wrote what there; where that is for later, with how many did."""
    if reason in _COUNTED:
        told = [(place, str(len(who))) for place, who in places.items()]
        return Cell((_run(told, ""),))
    told, left = [], MOST_WRITTEN
    for place, written in places.items():
        if left > 0:
            told.append((place, ", ".join(written[:left])))
        left -= len(written)
    more = f"; and {counted(-left, 'answer')} more: see the sheet 'To look at' of the workbook" if left < 0 else ""
    return Cell((_run(told, more),))


def _run(told: Sequence[tuple[str, str]], more: str) -> Line:
    """Places with what is told of each, one after another."""
    pieces: list[Text] = []
    for number, (place, words) in enumerate(told, 1):
        between = f"{more}." if number == len(told) else "; "
        pieces += [Text(f"{place}:{NO_BREAK}", bold=True), Text(words + between)]
    return tuple(pieces)


def _in_order(place: str) -> tuple[int, str]:
    digits = place[: len(place) - len(place.lstrip("0123456789"))]
    return int(digits), place


def _of_pupil(marked: MarkedClass, pupil: MarkedPupil) -> Iterator[tuple[str, str, str]]:
    for one in pupil.answers:
        reason = reason_to_look(one)
        if reason:
            yield reason, place_named(one.row.question, one.part), _told(marked, pupil, one, reason)
    for question in marked.record.paper(pupil.version).questions:
        if question.number not in pupil.marks:
            continue
        typed = {one.part for one in pupil.answers if one.row.question == question.number and not one.stands_for}
        for part in question.further:
            if not part.judged and part.part not in typed:
                yield IN_WORDS, place_named(question.number, part.part), pupil.name


def reason_to_look(one: MarkedAnswer) -> str:
    """Why a person should look at an answer; "" where number and slip say enough."""
    if one.verdict == "teacher's mark" or one.equation:  # what is wrong in an equation is told in a table of its own
        return ""
    if one.verdict == "not read":
        return NOT_READ
    if "unit" in one.note:
        return UNIT
    if one.note == ON_TOP or (one.verdict == "for the teacher" and not one.stands_for):
        return IN_WORDS
    if one.verdict == "for the teacher" or "teacher" in one.note:
        return TEACHERS
    if one.verdict == "wrong":
        return UNKNOWN
    if len({slip.marks for slip in one.explained.slips}) > 1:  # which slip it was decides the marks
        return SEVERAL
    return ""


def _told(marked: MarkedClass, pupil: MarkedPupil, one: MarkedAnswer, reason: str) -> str:
    """Who wrote what, and what it may be where that decides the marks."""
    if reason == IN_WORDS:
        return pupil.name
    more = slip_words(marked, one, 2) if reason == SEVERAL else one.note if reason in (TEACHERS, UNIT) else ""
    written = f"{pupil.name} {as_written(one.row.answer)}"
    return f"{written} ({more})" if more else written
