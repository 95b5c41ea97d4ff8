"""What a pupil works on next comes in; the questions of a practice go out, each with its line and why it was chosen.

A question is taken for a slip only if the slip can be made in it and its wrong answer lies apart from the right one and from
what every other slip gives, so that the next marking can tell. Nothing leaves the pupil's ground, and nothing that was set comes
again. Nothing is rendered here.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import partial

from molewright.answer.printed import PrintedQuestion
from molewright.bank.definitions import Archetype, Bank, Context, Variant
from molewright.draw.stream import Stream
from molewright.errors import Mistake
from molewright.marking.taught import USUAL_DEMAND, Ground, Taught, demand_of
from molewright.order.choices import STRETCH
from molewright.order.lines import OrderLine
from molewright.papers.line_choice import choose_for, stream_of, written
from molewright.papers.marks_of_lines import drawn_first
from molewright.papers.slots import Slot, line_seed, sheet_level
from molewright.question.check import Question, Questions
from molewright.question.shown_slips import has_room, shows

TRIES = 4  # draws of a kind in which a slip is looked for
MOST_LOOKED = 14  # kinds looked through for one slip
MOST_QUESTIONS = 12  # of a practice
USUAL_QUESTIONS, USUAL_STRETCH = 3, 2
_FEW = 6  # kinds of which one is picked


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """What is wished for of every practice: how many questions (0: as usual) or about how many marks, and the level ("": it rises)."""

    count: int = 0
    marks: int = 0
    level: str = ""


USUAL_WISH = Wish()


@dataclass(frozen=True, slots=True, kw_only=True)
class Next:
    """What one pupil's practice is made from: its seed, the slip ("" for none), the question it comes from, the pupil's ground."""

    seed: str
    slip: str
    source: PrintedQuestion | None
    stretch: bool
    ground: Ground
    wish: Wish


@dataclass(frozen=True, slots=True, kw_only=True)
class PracticeChoice:
    """A question of a practice, its line as an order tells it, and why it was chosen."""

    question: Question
    line: OrderLine
    why: str

    @property
    def marks(self) -> int:
        """Its marks as it is printed."""
        return self.question.in_style(sheet_level(self.line.level) == "exam").marks


@dataclass(slots=True)
class _Taken:
    """What one pupil has had, on earlier papers and on this practice: scenes, kinds with their materials; the kinds of this one."""

    scenes: set[str]
    materials: set[tuple[str, tuple[tuple[str, str], ...]]]
    kinds: list[str] = field(default_factory=list)

    def left(self, kind: Archetype) -> list[tuple[Variant, list[Context]]]:
        """The variants of a kind whose material was not set in it yet, each with the scenes that were not set."""
        found = []
        for variant in kind.variants:
            scenes = [scene for scene in variant.contexts if scene.key not in self.scenes]
            if scenes and (kind.key, tuple(sorted(variant.roles.items()))) not in self.materials:
                found.append((variant, scenes))
        return found

    def take(self, line: OrderLine) -> None:
        self.scenes.add(line.scene)
        self.materials.add((line.kind, line.roles))
        self.kinds.append(line.kind)


class Chooser:
    """Chooses questions from a bank; remembers in which kinds a slip cannot be made or does not show."""

    def __init__(self, bank: Bank, questions: Questions) -> None:
        self.bank = bank
        self.questions = questions
        self.taught = Taught(bank)
        self._never: set[tuple[str, str]] = set()  # kind and slip that cannot be made in it
        self._hidden: set[tuple[str, str]] = set()  # and those in which another slip gives the same number

    def choose(self, asked: Next) -> list[PracticeChoice]:
        """The questions of one practice, one at least. Raises Mistake where no kind of the banks can be drawn."""
        past = asked.ground.past
        taken = _Taken({one.scene for one in past}, {(one.kind, one.roles) for one in past})
        chosen: list[PracticeChoice] = []
        marks = 0
        usual = USUAL_STRETCH if asked.stretch else USUAL_QUESTIONS
        most = asked.wish.count or (MOST_QUESTIONS if asked.wish.marks else usual)
        for one in self._in_turn(asked, taken):
            over = marks + one.marks - asked.wish.marks
            if asked.wish.marks and chosen and over > asked.wish.marks - marks:
                break  # without it the practice is nearer to the marks that are wished for
            chosen.append(one)
            taken.take(one.line)
            marks += one.marks
            if len(chosen) >= most or (asked.wish.marks and marks >= asked.wish.marks):
                break
        return chosen or [self._anything(asked)]

    def _in_turn(self, asked: Next, taken: _Taken) -> Iterator[PracticeChoice]:
        """One question after another, each chosen when those before it are taken, until there is nothing more."""
        if asked.stretch:
            yield from self._stretching(asked, taken)
        elif asked.slip and asked.source is not None:
            yield from self._on_slip(asked, asked.source, taken)
        else:
            yield from self._on_worst(asked, taken)

    # ------------------------------------------------------------ three aims

    def _on_slip(self, asked: Next, source: PrintedQuestion, taken: _Taken) -> Iterator[PracticeChoice]:
        near = self._near(asked, source)
        why = "The slip shows in it, and no other slip gives its wrong answer"
        suits: Callable[[Question, str], bool] = shows
        first = self._showing(asked, near, taken, "scaffolded", suits)
        if first is None:
            why = "The slip can be made in it; another slip gives the same number, so look at the working"
            suits = _always
            first = self._showing(asked, near, taken, "scaffolded", suits)
        if first is None:
            yield from self._on_worst(asked, taken)
            return
        own = first.line.kind == source.archetype
        yield replace(first, why=f"{why}; it is the kind of question it was made in." if own else f"{why}.")
        for level in ("structured", "exam", "exam", "exam", "exam"):
            others = [one for one in near if one.key not in taken.kinds] + [
                one for one in near if one.key in taken.kinds
            ]
            again = self._showing(asked, others, taken, level, suits)
            if again is not None:
                where = "another scene" if again.line.kind in taken.kinds else "another kind of question"
                yield replace(again, why=f"The same slip can be made in it: {where}, less support.")
            yield from self._unlike(asked, source, taken)

    def _on_worst(self, asked: Next, taken: _Taken) -> Iterator[PracticeChoice]:
        near = self._near(asked, asked.source)
        topic = asked.source.topic if asked.source else ""
        levels = ("scaffolded", "structured", "structured", "exam", "exam", "exam")
        for at, level in enumerate(levels):
            fresh = [one for one in near if one.key not in taken.kinds] or near
            found = self._first_drawn(asked, fresh, taken, level)
            if found is None:
                return
            kind = self.bank.archetypes[found.line.kind]
            if kind.key == (asked.source.archetype if asked.source else ""):
                why = "Like the question that cost most marks, with support."
            elif kind.topic == topic:
                why = "The topic of the question that cost most marks" + (
                    ", with support." if not at else ", less support."
                )
            else:
                why = f"What the paper rests on: {kind.topic}."
            yield replace(found, why=why)
            if at:
                yield from self._unlike(asked, asked.source, taken)

    def _stretching(self, asked: Next, taken: _Taken) -> Iterator[PracticeChoice]:
        """The most demanding kinds within reach, those first that the pupil has not met; from so few one is picked at a time."""
        ground = asked.ground
        met = {past.kind for past in ground.past}
        reach = min(ground.managed, ground.most - 1)
        pool = sorted(self._allowed(asked), key=lambda one: (one.key in met, one.demand < reach, -one.demand, one.key))
        stream = Stream(f"molewright/stretch/{asked.seed}")
        while pool:
            kind = stream.pick(pool[:_FEW])
            pool.remove(kind)
            found = self._first_drawn(asked, [kind], taken, STRETCH if kind.stretch else "exam")
            if found is None:
                continue
            rise = kind.demand - ground.managed
            told = "One step on" if rise > 0 else "The same ground again, with a part that needs an idea of its own"
            yield replace(found, why=f"{told} ({kind.demand} of 9 in demand, where {ground.managed} was managed).")

    def _unlike(self, asked: Next, source: PrintedQuestion | None, taken: _Taken) -> Iterator[PracticeChoice]:
        """A question of another topic, so that the method has to be chosen; none where the ground has none."""
        demand = demand_of(self.bank, source) if source else USUAL_DEMAND
        fresh = [one for one in self._allowed(asked) if one.key not in taken.kinds]
        other = [one for one in fresh if source is None or one.topic != source.topic] or fresh
        near = sorted(other, key=lambda one: (abs(one.demand - demand), one.key))[:_FEW]
        order = Stream(f"molewright/unlike/{asked.seed}/{len(taken.kinds)}").shuffled(near)
        found = self._first_drawn(asked, order, taken, "exam")
        if found is not None:
            yield replace(found, why="Unlike the others, so that the method has to be chosen.")

    # ------------------------------------------------------------ kinds

    def _allowed(self, asked: Next) -> list[Archetype]:
        """The kinds on a pupil's ground that are not too demanding; of topics that have none such, the least demanding."""
        ground = asked.ground
        lying = [one for one in self.bank.archetypes.values() if one.calculated and self.taught.lies_on(one, ground)]
        within = [one for one in lying if one.demand <= ground.most]
        least = min((one.demand for one in lying), default=0)
        return within or [one for one in lying if one.demand == least]

    def _near(self, asked: Next, source: PrintedQuestion | None) -> list[Archetype]:
        """The kinds allowed, that of a printed question first, then its topic, then those about as demanding."""
        demand = demand_of(self.bank, source) if source else asked.ground.most
        key, topic = (source.archetype, source.topic) if source else ("", "")
        return sorted(
            self._allowed(asked),
            key=lambda one: (one.key != key, one.topic != topic, abs(one.demand - demand), one.key),
        )

    # ------------------------------------------------------------ questions

    def _drawn(
        self, asked: Next, kind: Archetype, taken: _Taken, level: str, turn: int, slip: str = ""
    ) -> PracticeChoice | None:
        """A question of a kind that repeats nothing; None where there is none, or the slip has no room in it."""
        left = taken.left(kind)
        if not left:
            return None
        seed = line_seed(asked.seed, f"{len(taken.kinds)}/{kind.key}/{turn}")
        stream = Stream(f"molewright/practice/2/{seed}")
        variant, scenes = stream.pick(left)
        level = asked.wish.level or level
        line = OrderLine(
            kind=kind.key,
            roles=tuple(sorted(variant.roles.items())),
            scene=stream.pick(scenes).key,
            level=level,
            seed=seed,
        )
        chosen = choose_for(kind, line, stream_of(line))
        if slip and not has_room(self.questions.prepared_for(kind, chosen), slip):
            return None
        line = written(line, kind, chosen)
        slot = Slot(place=0, line=line, archetype=kind, chosen=chosen)
        return PracticeChoice(question=drawn_first(self.questions, slot, level == STRETCH), line=line, why="")

    def _first_drawn(self, asked: Next, kinds: Sequence[Archetype], taken: _Taken, level: str) -> PracticeChoice | None:
        """A question of the first kind that still has something that was not set before."""
        for kind in kinds:
            try:
                found = self._drawn(asked, kind, taken, level, 0)
            except Mistake:
                continue  # it cannot be drawn: another can
            if found is not None:
                return found
        return None

    def _showing(
        self, asked: Next, order: Sequence[Archetype], taken: _Taken, level: str, suits: Callable[[Question, str], bool]
    ) -> PracticeChoice | None:
        """A question in which the slip can be made and that suits; None where there is none.

        A kind that failed for one pupil is not searched again for the next.
        """
        slip = asked.slip
        failed = self._never | self._hidden if suits is shows else self._never
        for kind in [one for one in order if (one.key, slip) not in failed][:MOST_LOOKED]:
            room = False
            for turn in range(TRIES if taken.left(kind) else 0):
                try:
                    found = self._drawn(asked, kind, taken, level, turn, slip)
                except Mistake:
                    continue
                room |= found is not None
                if found is not None and suits(found.question, slip):
                    return found
            else:
                if taken.left(kind):
                    (self._hidden if room else self._never).add((kind.key, slip))
        return None

    def _anything(self, asked: Next) -> PracticeChoice:
        """A question where all that is fresh is used up: of the ground all the same, though it was set before."""
        none = _Taken(set(), set())
        find = partial(self._first_drawn, taken=none, level="structured")
        found = find(asked, self._near(asked, asked.source)) or find(asked, list(self.bank.archetypes.values()))
        if found is None:
            raise Mistake("no kind of question can be drawn", expected="banks with a kind that is calculated")
        return replace(found, why="All that was taught has been set: this was set before, with other numbers.")


def _always(question: Question, slip: str) -> bool:
    return True
