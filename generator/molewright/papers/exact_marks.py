"""An order that names a total of marks comes in; questions that add up to it go out, or the nearest totals that can be had.

The paper is chosen as one without a total would be; then as few questions as will do are exchanged for another of the same topic, for
another material or asked quantity, or, in a mixture of levels, take a further part, until the marks add up.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import count

from molewright.bank.definitions import Archetype
from molewright.draw.stream import Stream
from molewright.errors import Mistake
from molewright.order.choices import MIXED, STRETCH
from molewright.order.lines import OrderLine
from molewright.order.order import MOST_QUESTIONS, Order
from molewright.papers.adding_up import Option, Sums
from molewright.papers.choosing import find_archetypes, levels, plain_kinds, select
from molewright.papers.line_choice import Avoided, choose_for, quantity_asked, scenes_left, stream_of, written
from molewright.papers.marks_of_lines import marks_of
from molewright.papers.own_experiment import own_marks
from molewright.papers.part_choice import part_of_line
from molewright.papers.slots import Slot, line_seed, placed
from molewright.question.check import Questions

USUAL_MARKS = 5.5  # of a question, before any is looked at
WIDTHS = (2, 5, 12)  # how many questions are looked at for each place, more only where fewer do not add up
WITH_STRETCH = 12  # the width from which on further parts are tried,
STRETCHED = 5  # in so many of the questions that are looked at for a place: each of them has to be drawn
ATTEMPTS = 4  # selections, where the first does not add up
NEARBY = (0, -1, 1, -2, 2)  # numbers of questions about the likely one
MOST_OTHERS = 6  # kinds that a question may be exchanged for
AIMS = 6  # totals that are aimed at, where questions change their marks with their places
MOST_NEAR = 8  # totals below, and above, of which it is tried whether they can be had
ENOUGH = (
    200  # questions that are looked at before a total is held to be out of reach: few questions are soon looked through
)
SCATTER = 2  # marks of one question, by which another selection may have more in a question than the one looked at

Suits = Callable[[Slot], bool]
Looking = Callable[[int, int], None]
"""Told while it is searched: how many questions were looked at, and how many there may be at most. It may raise to stop the search."""


@dataclass(slots=True, kw_only=True)
class Place:
    """A place of the paper that is drawn: what the order says of it, the kinds that may stand there, and what was looked at."""

    at: int
    level: str
    asked: OrderLine
    kinds: tuple[Archetype, ...]
    options: dict[tuple[int, str], Option] = field(default_factory=dict)
    looked: int = 0

    @property
    def open(self) -> bool:
        """Whether the order says nothing of it, so that it stands where its demand puts it."""
        return self.asked == OrderLine()


def for_marks(
    questions: Questions, order: Order, suits: Suits | None = None, looking: Looking | None = None
) -> tuple[Slot, ...]:
    """The questions of a paper of exactly `order.marks`, as many as the order says or as it takes (`order.count` 0).

    `suits` says which questions may stand on it. Raises Mistake, with the nearest totals, where none adds up; at once where the total
    lies well beyond what so many questions come to.
    """
    search = _Search(questions, order, suits, looking)
    for attempt in range(ATTEMPTS):
        for width in WIDTHS:
            for number in search.numbers(attempt):
                found = search.paper(number, attempt, width, order.marks) if search.may_reach(number, width) else None
                if found is not None:
                    return found
    raise search.nothing_adds_up()


class _Search:
    """Looks for the questions of one order."""

    def __init__(self, questions: Questions, order: Order, suits: Suits | None, looking: Looking | None) -> None:
        self.questions = questions
        self.order = order
        self.suits = suits
        self.stream = Stream(f"molewright/marks/{order.seed}/{order.marks}")
        self.words = sum(own_marks(questions, line) for line in order.lines if not line.from_banks)
        self._looking = looking
        self._looks = 0
        self._spans: dict[tuple[int, int], tuple[int, int]] = {}  # by number and width: the least and the largest total
        self._reached: dict[int, tuple[int, int]] = {}  # totals that were met, and of which number and attempt
        self._places: dict[tuple[int, int], list[Place]] = {}
        self._marks: dict[
            tuple[OrderLine, str], int
        ] = {}  # of a line at a level: other numbers of questions ask for them again
        self._groups = [find_archetypes(questions.bank, [topic]) for topic, _ in order.topics]

    def numbers(self, attempt: int) -> Iterator[int]:
        """How many questions there could be: the number that is asked for, or about as many as the marks need, the likeliest first."""
        if self.order.count:
            yield self.order.count
            return
        turns = 0 if self.order.aim else len(self.order.topics) or len(self.order.archetypes)
        least = min(MOST_QUESTIONS, max(1, turns, len(self.order.lines)))
        likely = self._within(self.order.marks / USUAL_MARKS, least)
        options = [next(iter(place.options.values())) for place in self._looked_at(likely, attempt, 1) if place.options]
        if options:
            mean = sum(option.marks for option in options) / len(options)
            own = len([line for line in self.order.lines if not line.from_banks])
            likely = self._within((self.order.marks - self.words) / mean + own, least)
        yield from dict.fromkeys(self._within(likely + by, least) for by in NEARBY)

    def _within(self, number: float, least: int) -> int:
        return min(MOST_QUESTIONS, max(least, round(number)))

    def may_reach(self, number: int, width: int) -> bool:
        """Whether so many questions may come to the marks: not where as many or more, looked at as widely, fell well short of them.

        Nor where as many or fewer went well beyond them. "Well" is the scatter of a sum over so many questions, and that of each of
        them together while few were looked at.
        """
        total = self.order.marks
        for (other, seen), (least, most) in self._spans.items():
            scatter = SCATTER * (other if self._looks < ENOUGH else math.sqrt(other))
            short = most + scatter < total and number <= other
            beyond = least - scatter > total and number >= other
            if seen >= width and (short or beyond):
                return False
        return True

    def paper(self, number: int, attempt: int, width: int, total: int) -> tuple[Slot, ...] | None:
        """The questions of a paper with so many of them, where they add up to the total.

        A question may have other marks where its demand puts it: then what is aimed at is moved by as much.
        """
        places = self._looked_at(number, attempt, width)
        sums = Sums([tuple(place.options.values()) for place in places])
        totals = {one + self.words for one in sums.totals}
        if not totals:  # nothing suits a place
            return None
        met = {*totals, *self._spans.get((number, width), ())}  # of every selection that was looked at as widely
        self._spans[number, width] = min(met), max(met)
        for one in totals:
            self._reached.setdefault(one, (number, attempt))
        aim, aimed = total, set[int]()
        while aim not in aimed and len(aimed) < AIMS:
            aimed.add(aim)
            picked = sums.picked(aim - self.words)
            if picked is None:
                return None
            slots, marks = self._in_place(number, places, picked)
            if marks == total:
                return slots
            aim += total - marks
        return None

    # ------------------------------------------------------------ what could stand where

    def _looked_at(self, number: int, attempt: int, width: int) -> list[Place]:
        """The places of a paper of so many questions, each with what could stand there."""
        places = self._places.get((number, attempt))
        if places is None:
            places = self._places[number, attempt] = self._chosen(number, attempt)
        avoided = Avoided.before(self.order)
        for place in places:
            refused: Mistake | None = None
            stretched = STRETCHED if width >= WITH_STRETCH > place.looked and self._may_stretch(place) else 0
            for at, (archetype, turn) in enumerate(_pairs(place, width)):
                if at < place.looked and at >= stretched:
                    continue
                self._told(number)
                try:
                    self._look(place, archetype, turn, at < stretched, avoided)
                except Mistake as mistake:
                    refused = refused or mistake
            place.looked = max(place.looked, width)
            if not place.options and refused is not None:
                raise refused
            first = next((option.line for option in place.options.values()), None)
            if first is not None:  # what is looked at for the next places is another experiment, while there is one
                avoided.experiments.add((first.kind, first.roles, quantity_asked(first)))
        return places

    def _chosen(self, number: int, attempt: int) -> list[Place]:
        bank = self.questions.bank
        whole = replace(self.order, count=number)
        kinds = select(bank, self.stream.branch(str(attempt)), whole)
        lines = (*whole.lines, *[OrderLine()] * (number - len(whole.lines)))
        drawn = [at for at, line in enumerate(lines) if line.from_banks]
        level_of = levels(whole.for_marks)
        used = {kind.key for kind in kinds}
        others = [self._others(kind) if lines[at] == OrderLine() else [] for at, kind in zip(drawn, kinds, strict=True)]
        dealt: list[list[Archetype]] = [[kind] for kind in kinds]
        for _ in range(MOST_OTHERS):
            for mine, left in zip(dealt, others, strict=True):
                fresh = next((one for one in left if one.key not in used), None)
                if fresh is not None:
                    used.add(fresh.key)
                    mine.append(fresh)
        return [
            Place(at=at, level=lines[at].level or level_of[at], asked=lines[at], kinds=tuple(mine))
            for at, mine in zip(drawn, dealt, strict=True)
        ]

    def _others(self, kind: Archetype) -> list[Archetype]:
        """What a kind may be exchanged for, the nearest in demand first: kinds that were asked for in the same breath."""
        bank = self.questions.bank
        if self.order.topics:
            keys: Sequence[str] = next((group for group in self._groups if kind.key in group), ())
        elif self.order.archetypes:
            keys = self.order.archetypes
        else:
            keys = [one.key for one in plain_kinds(bank) if one.topic == kind.topic]
        past = Avoided.before(self.order)
        others = (bank.archetypes[key] for key in keys if key != kind.key)
        return sorted(
            (one for one in others if scenes_left(one, OrderLine(), past)),
            key=lambda one: (abs(one.demand - kind.demand), self.stream.branch(one.key).seed),
        )

    def _may_stretch(self, place: Place) -> bool:
        """Whether what stands there may take a further part: where nobody said of what level the paper shall be."""
        return place.open and place.level == "exam" and self.order.level == MIXED and not self.order.levels

    def _told(self, number: int) -> None:
        """Tell whoever waits how far it is. Raises what they raise to have it stopped."""
        self._looks += 1
        if self._looking is not None:
            most = number * max(WIDTHS) * ATTEMPTS * (1 if self.order.count else len(NEARBY))
            self._looking(self._looks, max(most, self._looks))

    def _look(self, place: Place, archetype: Archetype, turn: int, stretched: bool, avoided: Avoided) -> None:
        """Look at one question more for a place, and keep it where none of its marks is there yet."""
        seed = place.asked.seed or line_seed(self.order.seed, f"marks/{place.at}/{archetype.key}/{turn}")
        named = replace(place.asked, kind=archetype.key, seed=seed)
        part = part_of_line(self.questions.bank, archetype, named)
        chosen = replace(choose_for(archetype, named, stream_of(named), avoided), part=part)
        line = written(replace(place.asked, seed=seed), archetype, chosen)
        slot = Slot(place=place.at, line=line, archetype=archetype, chosen=chosen)
        if self.suits is not None and not self.suits(slot):
            return
        for level in (place.level, STRETCH) if stretched else (place.level,):
            marks = self._marks.get((line, level))
            if marks is None:
                marks = self._marks[line, level] = marks_of(self.questions, self.order, slot, level)
            kept = replace(line, scene=place.asked.scene, level=STRETCH if level != place.level else place.asked.level)
            place.options.setdefault((marks, kept.level), Option(archetype=archetype, line=kept, marks=marks))

    # ------------------------------------------------------------ what adds up

    def _in_place(self, number: int, places: Sequence[Place], picked: Sequence[Option]) -> tuple[tuple[Slot, ...], int]:
        """The questions in their order, and their marks there: demand rises over those left open."""
        pairs = list(zip(places, picked, strict=True))
        rising = iter(_rising([pair for pair in pairs if pair[0].open]))
        standing = [(place, next(rising) if place.open else option) for place, option in pairs]
        whole = replace(self.order, count=number)
        asked = [(place.at, option.archetype, option.line) for place, option in standing]
        slots = placed(self.questions.bank, whole, asked)
        level_of = levels(whole.for_marks)
        marks = sum(
            marks_of(self.questions, whole, slot, option.line.level or level_of[slot.place])
            for slot, (_, option) in zip(slots, standing, strict=True)
        )
        return slots, marks + self.words

    # ------------------------------------------------------------ where none adds up

    def nothing_adds_up(self) -> Mistake:
        """What is told where no paper has the marks asked for: the totals nearest to them, each of which can be had."""
        marks = self.order.marks
        below = self._nearest(sorted((one for one in self._reached if one < marks), reverse=True))
        above = self._nearest(sorted(one for one in self._reached if one > marks))
        near = [str(one) for one in (below, above) if one is not None]
        told = (
            "the nearest totals" if len(near) == 2 else "the largest total" if above is None else "the smallest total"
        )
        asked = f" in {self.order.count} questions" if self.order.count else ""
        return Mistake(
            f"no paper of {marks} marks{asked} can be put together from what is asked for",
            expected=f"{' or '.join(near)} marks, {told} found" if near else "other kinds of question",
            do=self._remedy(above is None),
        )

    def _nearest(self, totals: Sequence[int]) -> int | None:
        """The first of some totals that can be had: questions may not keep their marks where their demand puts them."""
        for total in totals[:MOST_NEAR]:
            number, attempt = self._reached[total]
            looked = max(place.looked for place in self._places[number, attempt])
            if self.paper(number, attempt, looked, total) is not None:
                return total
        return None

    def _remedy(self, short: bool) -> str:
        """What to ask for instead; `short` where the total is more than so many questions come to."""
        order = self.order
        ways = ["name more kinds or topics"] if order.topics or order.archetypes else []
        if order.count and not (short and order.count == MOST_QUESTIONS):
            ways.append(f"ask for {'more' if short else 'another number of'} questions")
        else:
            ways.append("ask for fewer marks" if short else "ask for another total")
        if short and STRETCH not in (order.level, *order.levels):
            ways.append("take the level stretch, which has further parts")
        told = ", or ".join(ways)
        return f"{told[:1].upper()}{told[1:]}."


def _rising(pairs: Sequence[tuple[Place, Option]]) -> list[Option]:
    """The options of open places as their demand rises; those with a further part among the last, which are in exam style."""
    ordered = sorted((option for _, option in pairs), key=lambda one: (one.archetype.demand, one.line.level == STRETCH))
    styled = sum(place.level == "exam" for place, _ in pairs)
    plain = [one for one in ordered if one.line.level != STRETCH]
    early = plain[: len(ordered) - styled]
    return [*early, *(one for one in ordered if one not in early)]


def _pairs(place: Place, width: int) -> Iterator[tuple[Archetype, int]]:
    """Kinds for a place and which of their questions, so many: kinds and further questions of a kind by turns."""
    found = 0
    for total in count():
        for number in range(min(total + 1, len(place.kinds))):
            if found == width:
                return
            found += 1
            yield place.kinds[number], total - number
