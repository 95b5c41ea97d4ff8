"""An order that names a total of marks comes in; questions that add up to it go out, or the nearest totals that can be had.

The paper is chosen as one without a total would be; then as few questions as will do are exchanged for another of the same topic, for
another material or asked quantity, or, in a mixture of levels, take a further part, until the marks add up.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import count

from molewright.bank.definitions import Archetype
from molewright.draw.stream import Stream
from molewright.errors import Mistake
from molewright.order.choices import MIXED, STRETCH
from molewright.order.lines import OrderLine
from molewright.order.order import MOST_QUESTIONS, Order
from molewright.papers.choosing import find_archetypes, levels, plain_kinds, select
from molewright.papers.line_choice import Avoided, choose_for, quantity_asked, scenes_left, stream_of, written
from molewright.papers.marks_of_lines import marks_of
from molewright.papers.own_experiment import own_marks
from molewright.papers.part_choice import part_of_line
from molewright.papers.slots import Slot, line_seed, placed
from molewright.question.check import Questions

USUAL_MARKS = 5.5  # of a question, before any is looked at
WIDTHS = (2, 5, 12)  # how many questions are looked at for each place, more only where fewer do not add up
WITH_STRETCH = 12  # the width from which on further parts are tried
ATTEMPTS = 4  # selections, where the first does not add up
NEARBY = (0, -1, 1, -2, 2)  # numbers of questions about the likely one
MOST_OTHERS = 6  # kinds that a question may be exchanged for

Suits = Callable[[Slot], bool]


@dataclass(frozen=True, slots=True, kw_only=True)
class Option:
    """A question that could stand in a place: its kind, its line with all but the scene, and its marks there."""

    archetype: Archetype
    line: OrderLine
    marks: int


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


def for_marks(questions: Questions, order: Order, suits: Suits | None = None) -> tuple[Slot, ...]:
    """The questions of a paper of exactly `order.marks`, as many as the order says or as it takes (`order.count` 0).

    `suits` says which questions may stand on it. Raises Mistake, with the nearest totals, where none adds up.
    """
    search = _Search(questions, order, suits)
    for attempt in range(ATTEMPTS):
        for width in WIDTHS:
            for number in search.numbers(attempt):
                found = search.paper(number, attempt, width)
                if found is not None:
                    return found
    raise search.nothing_adds_up()


class _Search:
    """Looks for the questions of one order."""

    def __init__(self, questions: Questions, order: Order, suits: Suits | None) -> None:
        self.questions = questions
        self.order = order
        self.suits = suits
        self.stream = Stream(f"molewright/marks/{order.seed}/{order.marks}")
        self.words = sum(own_marks(questions, line) for line in order.lines if not line.from_banks)
        self.reached: set[int] = set()  # totals that can be had
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

    def paper(self, number: int, attempt: int, width: int) -> tuple[Slot, ...] | None:
        """The questions of a paper with so many of them, where they add up."""
        places = self._looked_at(number, attempt, width)
        picked = self._adding_up(places, self.order.marks - self.words)
        return None if picked is None else self._in_place(number, places, picked)

    # ------------------------------------------------------------ what could stand where

    def _looked_at(self, number: int, attempt: int, width: int) -> list[Place]:
        """The places of a paper of so many questions, each with what could stand there."""
        places = self._places.get((number, attempt))
        if places is None:
            places = self._places[number, attempt] = self._chosen(number, attempt)
        avoided = Avoided.before(self.order)
        for place in places:
            refused: Mistake | None = None
            for archetype, turn in list(_pairs(place, width))[place.looked :]:
                try:
                    self._look(place, archetype, turn, width, avoided)
                except Mistake as mistake:
                    refused = refused or mistake
            place.looked = width
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

    def _look(self, place: Place, archetype: Archetype, turn: int, width: int, avoided: Avoided) -> None:
        """Look at one question more for a place, and keep it where none of its marks is there yet."""
        seed = place.asked.seed or line_seed(self.order.seed, f"marks/{place.at}/{archetype.key}/{turn}")
        named = replace(place.asked, kind=archetype.key, seed=seed)
        part = part_of_line(self.questions.bank, archetype, named)
        chosen = replace(choose_for(archetype, named, stream_of(named), avoided), part=part)
        line = written(replace(place.asked, seed=seed), archetype, chosen)
        slot = Slot(place=place.at, line=line, archetype=archetype, chosen=chosen)
        if self.suits is not None and not self.suits(slot):
            return
        stretched = width >= WITH_STRETCH and place.open and self.order.level == MIXED and not self.order.levels
        for level in (place.level, STRETCH) if stretched and place.level == "exam" else (place.level,):
            marks = self._marks.get((line, level))
            if marks is None:
                marks = self._marks[line, level] = marks_of(self.questions, self.order, slot, level)
            kept = replace(line, scene=place.asked.scene, level=STRETCH if level != place.level else place.asked.level)
            place.options.setdefault((marks, kept.level), Option(archetype=archetype, line=kept, marks=marks))

    # ------------------------------------------------------------ what adds up

    def _adding_up(self, places: Sequence[Place], total: int) -> list[Option] | None:
        """One question for each place so that their marks come to the total, as few as can be exchanged; None where none do."""
        costs: dict[int, int] = {0: 0}
        ways: list[dict[int, tuple[Option, int]]] = []
        for place in places:
            reached: dict[int, int] = {}
            way: dict[int, tuple[Option, int]] = {}
            for cost, option in enumerate(place.options.values()):
                for before, spent in costs.items():
                    now = before + option.marks
                    if now not in reached or spent + cost < reached[now]:
                        reached[now], way[now] = spent + cost, (option, before)
            costs = reached
            ways.append(way)
        self.reached |= {marks + self.words for marks in costs}
        if total not in costs:
            return None
        picked: list[Option] = []
        for way in reversed(ways):
            option, total = way[total]
            picked.append(option)
        return picked[::-1]

    def _in_place(self, number: int, places: Sequence[Place], picked: Sequence[Option]) -> tuple[Slot, ...] | None:
        """The questions in their order: demand rises over those left open. None where the marks changed with the place."""
        pairs = list(zip(places, picked, strict=True))
        rising = iter(
            sorted(
                (option for place, option in pairs if place.open),
                key=lambda one: (one.archetype.demand, one.line.level == STRETCH),
            )
        )
        standing = [(place, next(rising) if place.open else option) for place, option in pairs]
        whole = replace(self.order, count=number)
        asked = [(place.at, option.archetype, option.line) for place, option in standing]
        slots = placed(self.questions.bank, whole, asked)
        level_of = levels(whole.for_marks)
        if any(
            place.open and option.line.level == STRETCH and level_of[place.at] != "exam" for place, option in standing
        ):
            return None
        marks = sum(
            marks_of(self.questions, whole, slot, option.line.level or level_of[slot.place])
            for slot, (_, option) in zip(slots, standing, strict=True)
        )
        return slots if marks + self.words == self.order.marks else None

    def nothing_adds_up(self) -> Mistake:
        """What is told where no paper has the marks asked for: the totals nearest to them."""
        marks = self.order.marks
        below = max((one for one in self.reached if one < marks), default=None)
        above = min((one for one in self.reached if one > marks), default=None)
        near = [str(one) for one in (below, above) if one is not None]
        asked = f" in {self.order.count} questions" if self.order.count else ""
        return Mistake(
            f"no paper of {marks} marks{asked} can be put together from what is asked for",
            expected=f"{' or '.join(near)} marks, the nearest {'total' if len(near) == 1 else 'totals'} that can be had",
            do="Name more kinds or topics, or another number of questions.",
        )


def _pairs(place: Place, width: int) -> Iterator[tuple[Archetype, int]]:
    """Kinds for a place and which of their questions, so many: kinds and further questions of a kind by turns."""
    found = 0
    for total in count():
        for number in range(min(total + 1, len(place.kinds))):
            if found == width:
                return
            found += 1
            yield place.kinds[number], total - number
