"""Marked papers of one class come in; the facility of every question, part and mark point goes out: of the marks that are settled, how
many in a hundred were earned. Questions of several levels that are one experiment stand together.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from molewright.answer.printed import PrintedQuestion
from molewright.chem.formula_scripts import with_scripts
from molewright.chem.quantity import half_up
from molewright.marking.marked import MarkedAnswer, MarkedClass, MarkedPupil

_WHOLE = 100


@dataclass(frozen=True, slots=True)
class Share:
    """Marks earned of those that are settled; those that are pending are left out."""

    earned: int
    settled: int

    @property
    def percent(self) -> int | None:
        """In per cent, half up; None where nothing is settled."""
        return int(half_up(Fraction(_WHOLE * self.earned, self.settled), 0)) if self.settled else None

    @property
    def told(self) -> str:
        """The per cents as they are printed."""
        return "–" if self.percent is None else str(self.percent)

    def __add__(self, other: Share) -> Share:
        return Share(self.earned + other.earned, self.settled + other.settled)


@dataclass(frozen=True, slots=True)
class PointShare:
    """The share of one mark point: its number, and what it finds."""

    number: int
    finds: str
    share: Share


@dataclass(frozen=True, slots=True)
class PartShare:
    """The share of one part ("" where there is one only), and of its mark points; of words there are none."""

    part: str
    share: Share
    points: tuple[PointShare, ...]


@dataclass(frozen=True, slots=True)
class QuestionShare:
    """The share of one question at one level, and of its parts."""

    level: str
    share: Share
    parts: tuple[PartShare, ...]

    @property
    def hardest(self) -> PointShare | None:
        """The mark point that fewest have earned; None where all have earned every one, or nothing is settled."""
        points = [one for part in self.parts for one in part.points if one.share.percent is not None]
        least = min(points, key=lambda one: one.share.percent or 0, default=None)
        return least if least is not None and least.share.earned < least.share.settled else None


@dataclass(frozen=True, slots=True)
class Experiment:
    """One experiment that was asked about: its number, what was sought, and its share at each level where it was set."""

    number: int
    asked: str
    levels: tuple[QuestionShare, ...]


def facility(classes: Sequence[MarkedClass]) -> tuple[Experiment, ...]:
    """Every experiment in the order of the papers. Levels that ask for something else under one number stand apart."""
    found: dict[tuple[int, str, str, str], tuple[str, list[QuestionShare]]] = {}
    for marked in classes:
        papers = {
            version: marked.record.paper(version) for version in dict.fromkeys(one.version for one in marked.pupils)
        }
        shown: dict[int, PrintedQuestion] = {}
        for paper in papers.values():
            for question in paper.questions:
                shown.setdefault(question.number, question)
        for number, question in shown.items():
            key = (number, question.archetype, question.context, question.asked)
            asked = with_scripts(question.asked)
            found.setdefault(key, (asked, []))[1].append(_question(marked, question))
    return tuple(
        Experiment(key[0], asked, tuple(levels))
        for key, (asked, levels) in sorted(found.items(), key=lambda one: one[0])
    )


def _question(marked: MarkedClass, question: PrintedQuestion) -> QuestionShare:
    points: dict[int, Share] = {}
    besides: dict[str, Share] = {}  # marks of a part that belong to no mark point of it
    for pupil in marked.pupils:
        mine = [one for one in pupil.answers if one.row.question == question.number]
        for number, share in _points(question, mine).items():
            points[number] = points.get(number, Share(0, 0)) + share
        for part, share in (*_words(pupil, question, mine), *_together(mine)):
            besides[part] = besides.get(part, Share(0, 0)) + share
    parts = tuple(_parts(question, points, besides))
    whole = Share(sum(one.share.earned for one in parts), sum(one.share.settled for one in parts))
    return QuestionShare(marked.record.level, whole, parts)


def _points(question: PrintedQuestion, mine: Sequence[MarkedAnswer]) -> dict[int, Share]:
    """What a pupil has of each mark point. What no answer stands for is not earned."""
    earned = {number for one in mine for number in one.earned}
    open_still = {number for one in mine for number in (one.stands_for if _not_parted(one) else one.waiting)} - earned
    return {
        point.number: Share(0, 0) if point.number in open_still else Share(int(point.number in earned), 1)
        for point in question.points
    }


def _not_parted(one: MarkedAnswer) -> bool:
    """Whether it has marks for several mark points, and nobody says for which of them."""
    return bool(one.stands_for) and (one.marks != len(one.earned) or one.out_of != len(one.stands_for))


def _together(mine: Sequence[MarkedAnswer]) -> Iterator[tuple[str, Share]]:
    """The marks of answers that are not parted by mark points, each in its part."""
    for one in mine:
        if _not_parted(one):
            yield one.part, Share(one.marks, one.out_of - one.pending)


def _words(pupil: MarkedPupil, question: PrintedQuestion, mine: Sequence[MarkedAnswer]) -> Iterator[tuple[str, Share]]:
    """What a pupil has of each further part; where nothing of a question was typed, or of a part in words, the paper may hold more."""
    given = {
        one.part for one in mine if one.stands_for and one.out_of > len(one.stands_for)
    }  # words that a mark for the part holds
    for part in question.further:
        if part.part in given:
            continue
        typed = next((one for one in mine if not one.stands_for and one.part == part.part and one.out_of), None)
        if typed is not None:
            yield part.part, Share(typed.marks, typed.out_of - typed.pending)
        else:
            open_to_all = not part.judged and question.number in pupil.marks
            yield part.part, Share(0, 0 if open_to_all else part.in_all)


def _parts(question: PrintedQuestion, points: Mapping[int, Share], besides: Mapping[str, Share]) -> Iterator[PartShare]:
    for label in sorted(question.parts):  # labels run in the order of the page
        here = [point for point in question.points if point.part == label]
        told = tuple(
            PointShare(one.number, _finds(one.finds, one.mean), points.get(one.number, Share(0, 0))) for one in here
        )
        share = besides.get(label, Share(0, 0))
        for one in told:
            share += one.share
        yield PartShare(label, share, told)


def _finds(quantity: str, mean: bool) -> str:
    """What a mark point finds, as it is printed."""
    return with_scripts(f"mean {quantity}" if mean else quantity)
