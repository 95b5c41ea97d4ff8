"""Returned answers and the record of their paper come in; every pupil's marks go out, answer by answer and question by question.

An answer to a question that the paper does not have, or given twice, is refused with its line before anything is marked.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain

from molewright.answer.judge import Judge, Verdict
from molewright.answer.printed import Further, Point, PrintedPaper, PrintedQuestion, SlipFacts
from molewright.answer.recognise import NOTHING, Explained
from molewright.answer.written import Reading
from molewright.chem.quantity import Quantity, in_standard_form, to_figures
from molewright.errors import Mistake, nearest, raise_all, shortened
from molewright.marking.answer_places import Place, place_of, read_at, with_name
from molewright.marking.further_answers import Halves, halves_before, judge_further_answer
from molewright.marking.own_equations import judged_by_own_equation
from molewright.marking.returned import MOST_MISTAKES, Returned
from molewright.marking.returned_rows import Absent, Row, person_name
from molewright.marking.teachers_marks import Given, given_in, given_of, left_to_judge
from molewright.marking.version_fit import better_version
from molewright.order.pupils import Pupil, pupil_codes
from molewright.papers.answers import place_named
from molewright.papers.record.reader import Record

_STEP_FIGURES = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class MarkedAnswer:
    """One answer marked: its row, the part it is counted in, marks of how many, the right answer, and what explains it.

    `pending` of the marks are neither given nor lost: only the teacher can tell. `stands_for` are the mark points that it decides,
    `earned` and `waiting` those of them that are earned and pending; of a further part there are none. `equation` says what is
    wrong in an equation.
    """

    row: Row
    part: str
    verdict: Verdict
    marks: int
    pending: int
    out_of: int
    right: str
    explained: Explained = NOTHING
    note: str = ""
    stands_for: frozenset[int] = frozenset()
    earned: frozenset[int] = frozenset()
    waiting: frozenset[int] = frozenset()
    equation: str = ""

    @property
    def lost(self) -> int:
        """Marks that are surely not earned."""
        return self.out_of - self.marks - self.pending


@dataclass(frozen=True, slots=True, kw_only=True)
class MarkedPupil:
    """One pupil: number in the list, name, version, the answers marked, and the marks of every question answered.

    Marks that are `pending` come on top of them as the teacher gives them.
    """

    number: int
    name: str
    version: str
    answers: tuple[MarkedAnswer, ...]
    marks: Mapping[int, int]
    pending: Mapping[int, int]

    @property
    def total(self) -> int:
        """Marks of all questions."""
        return sum(self.marks.values())

    @property
    def waiting(self) -> int:
        """Marks of all questions that are pending."""
        return sum(self.pending.values())


@dataclass(frozen=True, slots=True, kw_only=True)
class MarkedClass:
    """A marked class: the paper, its questions with their marks, the pupils in order, and names without any answer.

    `misfits` are the notes on pupils whose answers are those to another version.
    """

    record: Record
    title: str
    out_of: Mapping[int, int]
    pupils: tuple[MarkedPupil, ...]
    absent: tuple[str, ...]
    notes: tuple[str, ...]
    misfits: tuple[str, ...]
    slips: Mapping[str, SlipFacts]

    @property
    def code(self) -> str:
        """The code of the paper."""
        return self.record.code

    def slip_name(self, key: str) -> str:
        """A slip by its name; by its key where neither record nor banks know it."""
        return (self.slips[key].name if key in self.slips else "") or key


def mark_returned(
    returned: Returned, record: Record, slips: Mapping[str, SlipFacts], class_list: Sequence[Pupil] = ()
) -> MarkedClass:
    """Mark every answer. Raises Mistake, or several at once, for rows that do not fit the paper or the class list."""
    names = _names(returned, class_list)
    versions = _versions(returned, record, names, class_list)
    wrong: list[Mistake] = []
    placed: dict[str, dict[tuple[int, str], tuple[Row, Place]]] = {key: {} for key in names}
    for row in returned.rows:
        key = row.key
        try:
            paper = record.paper(versions[key])
            place = place_of(row, paper)
            if row.given:
                given_of(row, place, next(one for one in paper.questions if one.number == row.question))
            slot = (row.question, f"point {place.number}" if isinstance(place, Point) else place.part)
            before = placed[key].get(slot)
            if before is not None:
                raise Mistake(
                    f"{row.name} answers question {place_named(row.question, row.part)} twice, here and on line {before[0].line}",
                    expected="one row for each answer of a pupil",
                    do="Of two pupils of one name, a column 'told apart by' beside it says which is meant.",
                )
            placed[key][slot] = (row, place)
        except Mistake as mistake:
            wrong.append(mistake.at(returned.where(row)))
            if len(wrong) >= MOST_MISTAKES:
                break
    raise_all(wrong)
    judges: dict[tuple[str, int], Judge] = {}
    marked = [
        _pupil(number, name, record.paper(versions[key]), list(placed[key].values()), judges, slips)
        for key, (number, name) in names.items()
    ]
    misfits = _misfits(returned, record, names, versions)
    first = record.paper(next(iter(versions.values())))
    away = {pupil.key: person_name(pupil.name, pupil.beside) for pupil in class_list if pupil.key not in names}
    away |= {one.key: one.name for one in returned.absent if one.key not in away}
    out_of = {question.number: question.marks for question in first.questions}
    return MarkedClass(
        record=record,
        title=first.title,
        out_of=out_of,
        pupils=tuple(marked),
        absent=tuple(away.values()),
        notes=(*returned.notes, *misfits),
        misfits=tuple(misfits),
        slips=slips,
    )


# ------------------------------------------------------------------ who, and which version


def _names(returned: Returned, class_list: Sequence[Pupil]) -> dict[str, tuple[int, str]]:
    """Every pupil with answers: number and name, in the order of the class list, or of the answers without one."""
    listed = {pupil.key: (number, person_name(pupil.name, pupil.beside)) for number, pupil in enumerate(class_list, 1)}
    found: dict[str, tuple[int, str]] = {}
    wrong: dict[str, Mistake] = {}
    every: Iterator[Row | Absent] = chain(returned.rows, returned.absent)
    for row in every:
        key = row.key
        if class_list and key not in listed:
            wrong.setdefault(
                key,
                Mistake(
                    f"{shortened(row.pupil)} is not in the class list",
                    expected="a name as it stands there",
                    near=nearest(row.pupil, [pupil.name for pupil in class_list]),
                    where=returned.where(row),
                ),
            )
        elif key not in found and isinstance(row, Row):
            found[key] = listed.get(key, (len(found) + 1, row.name))
    raise_all(list(wrong.values())[:MOST_MISTAKES])
    return dict(sorted(found.items(), key=lambda pair: pair[1][0]))


def _versions(
    returned: Returned, record: Record, names: Mapping[str, tuple[int, str]], class_list: Sequence[Pupil]
) -> dict[str, str]:
    """The version of every pupil: as typed in one of the rows, or as it follows from the class list, or the only one."""
    found: dict[str, tuple[str, int]] = {}
    wrong: list[Mistake] = []
    known: dict[str, str] = {}
    for row in returned.rows:
        if not row.code:
            continue
        key = row.key
        try:
            if row.code not in known:
                known[row.code] = record.find(row.code)
            version = known[row.code]
            if key in found and found[key][0] != version:
                raise Mistake(
                    f"{row.name} has version {version} here and version {found[key][0]} on line {found[key][1]}",
                    expected="one paper for each pupil",
                )
            found.setdefault(key, (version, row.line))
        except Mistake as mistake:
            wrong.append(mistake.at(returned.where(row)))
            if len(wrong) >= MOST_MISTAKES:
                break
    raise_all(wrong)
    versions = {key: version for key, (version, _) in found.items()}
    listed = {
        pupil.key: code if code in record.versions else pupil.version
        for pupil, code in zip(class_list, pupil_codes(class_list), strict=True)
    }
    for key, (_, name) in names.items():
        if key not in versions:
            try:
                versions[key] = record.find(listed.get(key, ""))
            except Mistake as mistake:
                first = next(row for row in returned.rows if row.key == key)
                mistake.found = f"no version is known for {shortened(name)}: {mistake.found}"
                raise mistake.at(returned.where(first)) from None
    return {key: versions[key] for key in names}


def _misfits(
    returned: Returned, record: Record, names: Mapping[str, tuple[int, str]], versions: Mapping[str, str]
) -> list[str]:
    """A note on every pupil whose answers are those to another version of the paper, as far as that can be seen."""
    if len(record.versions) < 2:
        return []
    rows: dict[str, list[Row]] = {key: [] for key in names}
    for row in returned.rows:
        rows[row.key].append(row)
    told = []
    for key, (_, name) in names.items():
        better = better_version(rows[key], record, versions[key])
        if better is not None:
            version, right, mine, tried = better
            told.append(
                f"the answers of {name} were marked as version {versions[key]}, where {mine} of {tried} are right; "
                f"in version {version} {right} would be: check the paper code"
            )
    return told


# ------------------------------------------------------------------ marks


def _pupil(number: int, name: str, paper: PrintedPaper, placed: Sequence[tuple[Row, Place]],
           judges: dict[tuple[str, int], Judge], slips: Mapping[str, SlipFacts]) -> MarkedPupil:  # fmt: skip
    answers: list[MarkedAnswer] = []
    marks: dict[int, int] = {}
    pending: dict[int, int] = {}
    for question in paper.questions:
        mine = [(row, place) for row, place in placed if row.question == question.number]
        if not mine:
            continue
        judge = judges.get((paper.version, question.number))
        if judge is None:
            judge = judges[paper.version, question.number] = Judge(question, slips)
        made = _question(question, judge, mine)
        marks[question.number] = sum(one.marks for one in made)
        pending[question.number] = sum(one.pending for one in made) + _untyped(question, mine)
        answers += made
    answers.sort(key=lambda one: one.row.line)
    return MarkedPupil(
        number=number, name=name, version=paper.version, answers=tuple(answers), marks=marks, pending=pending
    )


def _untyped(question: PrintedQuestion, mine: Sequence[tuple[Row, Place]]) -> int:
    """Marks of parts in words of which nothing was typed: the paper may hold an answer all the same."""
    typed = [place for _, place in mine]
    given = [part for one in given_in(question, mine) for part in one.further]
    return sum(part.marks for part in question.further if not part.judged and part not in typed and part not in given)


def _question(question: PrintedQuestion, judge: Judge, mine: Sequence[tuple[Row, Place]]) -> list[MarkedAnswer]:
    mine = with_name(question, mine)
    given = given_in(question, mine)
    readings = {
        place.number: read_at(question, row, place)
        for row, place in mine
        if isinstance(place, Point) and not (row.given and row.blank)
    }
    judged = left_to_judge(judged_by_own_equation(judge, mine, readings), given)
    shown = {number for one in judged.values() for number in (*one.earned, *one.lost, *one.pending)}
    made = []
    waiting = {point.number for point in question.points} - shown - {point for one in given for point in one.points}
    by_row = {one.row: one for one in given}
    own = readings.get(question.points[-1].number) if question.points else None
    typed = {place.part: row for row, place in mine if isinstance(place, Further)}
    for row, place in sorted(mine, key=lambda pair: pair[1].number if isinstance(pair[1], Point) else 99):
        one = by_row.get(row)
        if one is not None:
            explained = (
                judged[place.number].explained if isinstance(place, Point) and place.number in judged else NOTHING
            )
            made.append(_given(question, place, one, explained))
        elif isinstance(place, Further):
            done = any(place in other.further for other in given)
            made.append(_further(question, row, place, own, done, halves_before(question, place, typed)))
        else:
            found = judged[place.number]
            stood = found.earned | found.lost | found.pending
            if not stood:  # there is no answer: the points up to here that no other answer shows
                stood = frozenset(number for number in waiting if number <= place.number)
                waiting -= stood
            made.append(
                MarkedAnswer(
                    row=row,
                    part=place.part,
                    verdict=found.verdict,
                    marks=len(found.earned),
                    pending=len(found.pending),
                    out_of=len(stood),
                    right=_right_at(question, place),
                    explained=found.explained,
                    note=found.note,
                    stands_for=stood,
                    earned=found.earned,
                    waiting=found.pending,
                )
            )
    return made


def _given(question: PrintedQuestion, place: Place, given: Given, explained: Explained) -> MarkedAnswer:
    """An answer with the mark that the teacher gave for it, whatever is written there."""
    return MarkedAnswer(
        row=given.row,
        part=place.part,
        verdict="teacher's mark",
        marks=given.marks,
        pending=0,
        out_of=given.out_of,
        right=_right_at(question, place),
        explained=explained,
        stands_for=given.points,
        earned=given.points if given.marks == given.out_of else frozenset(),
    )


def _further(
    question: PrintedQuestion, row: Row, part: Further, own: Reading, done: bool, halves: Halves
) -> MarkedAnswer:
    """An answer to a further part; its marks are `done` where the teacher gave them beside another answer of the part."""
    found = judge_further_answer(question, row, part, own, halves)
    return MarkedAnswer(
        row=row,
        part=part.part,
        verdict=found.verdict,
        marks=0 if done else found.marks,
        pending=0 if done else found.pending,
        out_of=0 if done else part.in_all,
        right=part.told,
        explained=NOTHING,
        note=found.note,
        equation=found.note if part.equation is not None and found.verdict == "wrong" else "",
    )


def _right_at(question: PrintedQuestion, place: Place) -> str:
    if isinstance(place, Further):
        return place.told
    return question.accepted.told if place is question.points[-1] else str(right_answer(question, place))


def right_answer(question: PrintedQuestion, point: Point) -> Quantity:
    """The right answer at a mark point: of the last as the mark scheme prints it, of one on the way to four figures."""
    if point is question.points[-1]:
        return question.answer
    unit = question.unit_of(point)
    if point.mean:
        return Quantity(to_figures(question.known[point.finds], _STEP_FIGURES), unit)
    exact = next(step.exact for step in question.chain if step.finds == point.finds) / unit.factor
    return Quantity(to_figures(exact, _STEP_FIGURES), unit, in_standard_form(exact, unit))
