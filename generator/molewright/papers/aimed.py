"""An order that is aimed at a slip comes in; questions in which the slip can be made and would show go out, from easy to demanding."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from molewright.bank.definitions import Archetype, Bank, Slip
from molewright.draw.stream import Stream
from molewright.errors import Mistake
from molewright.order.lines import OrderLine
from molewright.order.order import MOST_QUESTIONS, Order
from molewright.papers.choosing import find_archetypes, plain_kinds
from molewright.papers.exact_marks import USUAL_MARKS, Looking, for_marks
from molewright.papers.line_choice import Avoided, archetype_of, choose_for, scenes_left, stream_of, written
from molewright.papers.marks_of_lines import drawn_first
from molewright.papers.slots import Slot, line_seed, placed
from molewright.question.check import Questions
from molewright.question.shown_slips import can_be_made, shows

FEW = 2  # questions of a kind that are looked at first
TRIES = 8  # and at most, of a kind or for one place
SPARE = 2  # kinds that are found for each question, where there are so many


def aimed_at(questions: Questions, order: Order, slip: Slip, looking: Looking | None = None) -> tuple[Slot, ...]:
    """The questions of a paper on one slip. Those that a line of the order fixes stay as they are.

    Raises Mistake where the slip can be made in no kind that is asked for.
    """
    aimed = _Aimed(questions, order, slip)
    if order.marks:
        kinds = tuple(one.key for one in aimed.kinds(order.count or round(order.marks / USUAL_MARKS)))
        narrowed = replace(order, archetypes=kinds, topics=())
        return for_marks(questions, narrowed, aimed.suits, looking)
    return aimed.slots()


class _Aimed:
    """Looks for questions in which one slip shows."""

    def __init__(self, questions: Questions, order: Order, slip: Slip) -> None:
        self.questions = questions
        self.order = order
        self.slip = slip
        self.stream = Stream(f"molewright/aim/{order.seed}/{slip.key}")
        self.apart = True  # whether its wrong answer has to lie apart from those of all other slips

    def kinds(self, count: int) -> list[Archetype]:
        """Kinds in which the slip shows, more than there are questions where there are so many; the least demanding first."""
        most = min(MOST_QUESTIONS, SPARE * max(1, count))
        shown: list[Archetype] = []
        made: list[Archetype] = []
        for asked in _asked_for(self.questions.bank, self.order):
            shown, made = self._looked_through(asked, most)
            if shown or made:
                break
        self.apart = bool(shown)
        if not shown and not made:
            raise Mistake(
                f"the slip '{self.slip.name}' can be made in no kind of question that is asked for",
                expected="other kinds or topics, or none named",
            )
        return sorted(shown or made[:most], key=lambda one: (one.demand, one.key))

    def _looked_through(self, asked: Sequence[Archetype], most: int) -> tuple[list[Archetype], list[Archetype]]:
        """Of some kinds those in which the slip shows, no more than `most`, and others in which it can be made."""
        possible = [kind for kind in self.stream.shuffled(asked) if self._could_be_made(kind)]
        shown: list[Archetype] = []
        made: list[Archetype] = []
        for turns in (range(FEW), range(FEW, TRIES)):  # more of a kind only where a few show it nowhere
            for kind in possible if not shown else ():
                found = [self._held(kind, turn) for turn in turns]
                if any(found):
                    shown.append(kind)
                elif False in found and kind not in made:
                    made.append(kind)
                if len(shown) >= most:
                    break
        return shown, made

    def _could_be_made(self, kind: Archetype) -> bool:
        """Whether any of its experiments has a relation of the kind that the slip is made in: asked first, for it is cheap."""
        if self.slip.kind in ("mean", "answer", "rounding"):
            return True
        systems = map(self.questions.system, kind.variants)
        return any(relation.kind == self.slip.kind for system in systems for relation in system.relations)

    def _held(self, kind: Archetype, turn: int) -> bool | None:
        """Whether the slip shows in a question of a kind; None where it cannot be made in it, or it cannot be drawn."""
        line = OrderLine(kind=kind.key, seed=line_seed(self.order.seed, f"look/{kind.key}/{turn}"))
        chosen = choose_for(kind, line, stream_of(line), Avoided.before(self.order))
        try:
            question = drawn_first(self.questions, Slot(place=0, line=line, archetype=kind, chosen=chosen))
        except Mistake:
            return None
        return shows(question, self.slip.key) if can_be_made(question, self.slip.key) else None

    def suits(self, slot: Slot) -> bool:
        """Whether the slip shows in a question; where it shows in no kind, whether it can be made."""
        question = drawn_first(self.questions, slot)
        return (shows if self.apart else can_be_made)(question, self.slip.key)

    def slots(self) -> tuple[Slot, ...]:
        """The questions, each with a scene of its own while there are such."""
        order = self.order
        lines = [*order.lines, *[OrderLine()] * (order.count - len(order.lines))]
        left = [at for at, line in enumerate(lines) if line.from_banks and not line.kind]
        every = self.kinds(len(left))
        kinds = self._spread(every, len(left))
        avoided = Avoided.before(order)
        asked: list[tuple[int, Archetype, OrderLine]] = []
        waiting = iter(kinds)
        for at, line in enumerate(lines):
            if line.from_banks:
                fixed = archetype_of(self.questions.bank, line) if line.kind else None
                asked.append((at, fixed, line) if fixed else (at, *self._line(at, line, next(waiting), every, avoided)))
        return placed(self.questions.bank, order, asked)

    def _spread(self, kinds: Sequence[Archetype], count: int) -> list[Archetype]:
        """So many kinds, evenly from the least to the most demanding; again from the first where there are fewer."""
        if len(kinds) >= count:
            return [kinds[at * len(kinds) // count] for at in range(count)]
        return sorted((kinds[at % len(kinds)] for at in range(count)), key=lambda one: (one.demand, one.key))

    def _line(
        self, at: int, line: OrderLine, kind: Archetype, every: Sequence[Archetype], avoided: Avoided
    ) -> tuple[Archetype, OrderLine]:
        """The kind and the line of a place: the first question of the kind in which the slip shows, its scene still open.

        Where it shows in none of those that are looked at, another kind is taken, the nearest in demand.
        """
        fallback: tuple[Archetype, OrderLine] | None = None
        others = sorted((one for one in every if one is not kind), key=lambda one: abs(one.demand - kind.demand))
        for one in (kind, *others):
            for slot in self._tried(at, line, one, avoided):
                found = one, replace(slot.line, scene=line.scene, level=line.level)
                fallback = fallback or found
                if self.suits(slot):
                    avoided.take(one, slot.chosen)
                    return found
        assert fallback is not None
        return fallback

    def _tried(self, at: int, line: OrderLine, kind: Archetype, avoided: Avoided) -> Iterator[Slot]:
        for turn in range(TRIES):
            seed = line.seed or line_seed(self.order.seed, f"aim/{at}/{kind.key}/{turn}")
            named = replace(line, kind=kind.key, topic="", seed=seed)
            chosen = choose_for(kind, named, stream_of(named), avoided)
            yield Slot(place=at, line=replace(written(line, kind, chosen), seed=seed), archetype=kind, chosen=chosen)


def _asked_for(bank: Bank, order: Order) -> Iterator[list[Archetype]]:
    """The kinds that a paper may be made of: of its topics or kinds, else of a mixture; with a fresh scene, where there are such.

    Where none are named, those of topics that come only by name follow: a slip that is made in no others names them.
    """
    names = [topic for topic, _ in order.topics] or list(order.archetypes)
    if names:
        yield _fresh(order, [bank.archetypes[key] for key in sorted(find_archetypes(bank, names))])
        return
    mixture = plain_kinds(bank)
    yield _fresh(order, mixture)
    by_name = [one for one in bank.archetypes.values() if not one.further_parts and one not in mixture]
    yield _fresh(order, by_name)


def _fresh(order: Order, kinds: Sequence[Archetype]) -> list[Archetype]:
    calculated = sorted((one for one in kinds if one.calculated), key=lambda one: one.key)
    past = Avoided.before(order)
    fresh = [one for one in calculated if scenes_left(one, OrderLine(), past)] if order.not_again else calculated
    return fresh or calculated
