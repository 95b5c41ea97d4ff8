"""The judge: a draw comes in, a Question goes out, or a refusal. Nothing else makes a Question.

The derived answer, unrounded, is put back on the bench and must give the printed titres exactly; the chain of steps must equal
the one-line expression; the printed, rounded steps must lead into the accepted range; no answer may sit on a knife edge.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property, partial
from typing import TypeVar

from molewright.bank.definitions import Archetype, Ask, Bank, Variant
from molewright.chem.conventions import Convention
from molewright.chem.units import Unit
from molewright.derivation.plans import Plans
from molewright.derivation.routes.search import find_routes
from molewright.derivation.worked import (
    MarkPoint,
    Worked,
    mark_points,
    on_a_knife_edge,
    work_out,
)
from molewright.draw.chosen import Chosen, Draw, choose, given_names
from molewright.draw.draw import draw
from molewright.draw.refusal import Refusal, put_among
from molewright.draw.stream import Stream
from molewright.errors import CheckFailure, Mistake
from molewright.experiment.quantities import Name
from molewright.experiment.relations.relating import relate
from molewright.experiment.relations.variables import System
from molewright.further_parts.all_kinds import make_further_parts
from molewright.further_parts.pieces import Calculation, FurtherPart
from molewright.further_parts.reasoning.naming_the_substance import ASKED
from molewright.further_parts.stretch import make_stretch, stretch_wanted
from molewright.machine.same import Same
from molewright.plausibility.natures import Natures
from molewright.plausibility.rules import Plausibility
from molewright.plausibility.solutes import Solutes
from molewright.question.by_equilibria import with_equilibria
from molewright.question.form import Form
from molewright.question.prepared import Prepared, given_values, molar_masses
from molewright.question.put_back import confirm
from molewright.question.read_off_graphs import with_what_was_read
from molewright.question.refusals import Refusals, Tally, placing
from molewright.question.runs_that_show import WithRuns, judged_with_runs
from molewright.slips.mistaken_route import SlipTable
from molewright.slips.mistakes import Mistakes
from molewright.slips.slip_words import Surroundings
from molewright.slips.wrong_answers import require_apart, require_narrow, require_rounding_seen, unseen

Made = TypeVar("Made")

MOST_DRAWS = 200
WELL_APART = 0.005  # slips so far apart, relatively, differ in the third figure


@dataclass(frozen=True, kw_only=True)  # no slots: what is worked from it once is kept with it
class Question:
    """A checked question: the draw, what it was prepared from, the worked answer, how far apart its slips are, further parts."""

    draw: Draw
    prepared: Prepared
    worked: Worked
    masses: Convention
    separation: float
    further_parts: tuple[FurtherPart, ...] = ()
    added: int = 0  # how many of the further parts the stretch level added
    done: tuple[
        MarkPoint, ...
    ] = ()  # first mark points that are worked out for the pupil; those of `worked` are counted after them
    read: tuple[FurtherPart, ...] = ()  # parts before the calculation that are worked out for the pupil
    shown: Question | None = (
        None  # the whole question, whose solution is printed as an example: nothing of it earns a mark
    )

    @property
    def form(self) -> Form:
        """What the versions of a question have in common, so that they are worth the same."""
        parts = tuple((part.kind, part.marks) for part in self.further_parts)
        return Form(marks=len(self.points), runs=len(self.draw.runs), parts=parts)

    @property
    def system(self) -> System:
        """The relations of its procedure."""
        return self.prepared.system

    @property
    def marks(self) -> int:
        """Marks of the question: of its calculation, where that is asked for, and of the parts after it."""
        return len(self.points) + sum(part.marks for part in self.further_parts)

    def unstretched(self) -> Question:
        """The question without what the stretch level added."""
        return replace(self, further_parts=self.further_parts[: -self.added], added=0) if self.added else self

    def in_style(self, exam: bool) -> Question:
        """The question with those of its further parts that are printed in exam style, or below it: some stand in one of them only."""
        kept = tuple(part for part in self.further_parts if part.exam in (None, exam))
        return self if kept == self.further_parts else replace(self, further_parts=kept)

    @property
    def points(self) -> tuple[MarkPoint, ...]:
        """The mark points of its calculation; none where only the further parts are asked for."""
        return self.worked.points if self.draw.archetype.calculated and self.shown is None else ()

    @cached_property
    def given(self) -> Mapping[Name, Fraction]:
        """Every known quantity in base units: what is printed, and molar masses."""
        fixed = {name: self.draw.truth[name] for name in self.system.fixed}
        return {**fixed, **{name: quantity.in_base for name, quantity in self.draw.given.items()}}

    @property
    def replayed(self) -> dict[Name, Fraction]:
        """Every value that the bench replays the question from: the givens, hidden numbers and the answer."""
        hidden = self.prepared.hidden_values(self.given)
        return {**hidden, **self.given, self.draw.ask.quantity: self.worked.exact}

    @cached_property
    def mistakes(self) -> Mistakes:
        """What mistakes make of it."""
        return Mistakes(
            table=self.prepared.slips,
            runs=self.draw.runs,
            worked=self.worked,
            given=self.given,
            done=len(self.done),
        )


class Questions:
    """Makes checked questions from a bank: keeps plans, routes and molar masses from one question to the next."""

    def __init__(
        self,
        bank: Bank,
        plans: Plans,
        masses: Convention = "one place",
        plausibility: Plausibility | None = None,
    ) -> None:
        self.bank = bank
        self._plausibility = plausibility
        self._natures = Natures(Solutes(bank))
        self.plans = plans
        self.masses = masses
        self.tally = Tally()
        self._systems: dict[Same, System] = {}
        self._fixed: dict[Same, dict[Name, Fraction]] = {}
        self._prepared: dict[tuple[Same, Name, Unit, bool], Prepared] = {}

    @property
    def plausibility(self) -> Plausibility:
        """What judges whether a draw is believable chemistry; made from the bank when first needed."""
        if self._plausibility is None:
            self._plausibility = Plausibility(self.bank)
        return self._plausibility

    def system(self, variant: Variant) -> System:
        """The relations of a variant's procedure."""
        key = Same(variant)
        kept = self._systems.get(key)
        if kept is None:
            kept = self._systems[key] = relate(variant.procedure, variant.unknown)
        return kept

    def fixed(self, variant: Variant) -> Mapping[Name, Fraction]:
        """The molar masses that formulae tell, by the present convention."""
        key = Same(variant)
        kept = self._fixed.get(key)
        if kept is None:
            kept = self._fixed[key] = molar_masses(self.system(variant), self.masses)
        return kept

    def prepare(self, archetype: Archetype, made: Draw) -> Prepared:
        """Plan, routes and slips for the shape of a draw."""
        return self._prepare(archetype, made.variant, made.ask, bool(made.runs), tuple(made.given))

    def marks_of(self, archetype: Archetype, chosen: Chosen, stream: Stream, candidates: int = 1) -> int:
        """The marks that a chosen question will have below exam style with this stream, of further parts too, but not of an equation.

        Numbers are drawn only where further parts come with it: their marks may rest on them.
        """
        if archetype.further_parts or chosen.ask.quantity.kind in ASKED:
            return self.make(archetype, stream, chosen, candidates).in_style(exam=False).marks
        with placing(archetype):  # without routes and slips, for it may not be taken
            system = self.system(chosen.variant)
            plan = self.plans.find(system, given_names(chosen), chosen.ask.quantity)
        return len(mark_points(system, plan, archetype.joined, chosen.table))

    def prepared_for(self, archetype: Archetype, chosen: Chosen) -> Prepared:
        """Plan, routes and slips of a chosen question before any number is drawn."""
        return self._prepare(archetype, chosen.variant, chosen.ask, chosen.table, given_names(chosen))

    def _prepare(
        self, archetype: Archetype, variant: Variant, ask: Ask, table: bool, given: tuple[Name, ...]
    ) -> Prepared:
        key = (Same(variant), ask.quantity, ask.unit, table)
        kept = self._prepared.get(key)
        if kept is None:
            with placing(archetype):
                kept = self._prepared[key] = self._planned(archetype, variant, ask, table, given)
        return kept

    def _planned(
        self, archetype: Archetype, variant: Variant, ask: Ask, table: bool, given: tuple[Name, ...]
    ) -> Prepared:
        system = self.system(variant)
        plan = self.plans.find(system, given, ask.quantity)
        points = mark_points(system, plan, archetype.joined, table)
        around = Surroundings(variant.procedure, system, plan, self.masses, table, self._natures, ask.unit)
        slips = SlipTable(self.bank.slips, system, plan, around, points)
        hidden = tuple(
            self.plans.find(system, given, name)
            for name, choice in variant.choices.items()
            if choice.hidden and name != ask.quantity
        )
        return Prepared(system=system, plan=plan, routes=find_routes(system, plan), slips=slips, hidden=hidden)

    def make(
        self,
        archetype: Archetype,
        stream: Stream,
        chosen: Chosen | None = None,
        candidates: int = 1,
        form: Form | None = None,
        stretch: bool = False,
    ) -> Question:
        """Draw until a candidate's slips lie well apart, or so many pass, and take the one where they are furthest apart.

        With a form, numbers are drawn again until the question has it, and with `stretch` until they allow a further part; where
        none does, the first that passed is taken. Raises Mistake where none passes, with the refusals counted by rule and the place
        of the archetype.
        """
        fast = chosen or choose(archetype, stream)
        refused, plain = Refusals(), list[Question]()
        try:
            for best in self._candidates(archetype, stream, fast, candidates, refused, form):
                whole = self.stretched(best, form) if stretch else best
                plain.append(whole)
                if whole.form == form or (form is None and (whole.added or not stretch_wanted(archetype, stretch))):
                    return whole
        except Mistake as mistake:
            raise mistake.at(archetype.where) if archetype.where else mistake from None
        finally:
            self.tally.take_in(refused)
        if plain:
            return plain[0]
        raise refused.mistake(archetype, fast)

    def _candidates(
        self,
        archetype: Archetype,
        stream: Stream,
        chosen: Chosen,
        candidates: int,
        refused: Refusals,
        form: Form | None,
    ) -> Iterator[Question]:
        """Questions with their further parts, each the best of some draws; what was refused on the way is counted."""
        passed: list[Question] = []
        for attempt in range(MOST_DRAWS):
            try:
                made = draw(archetype, chosen, stream.branch(str(attempt)), self.fixed(chosen.variant))
                passed.append(self.attempt(made, form.runs if form else None))
            except Refusal as refusal:
                refused.add(refusal)
            else:
                self.tally.made += 1
            enough = len(passed) >= candidates or attempt >= MOST_DRAWS // 4
            if passed and (enough or passed[-1].separation >= WELL_APART):
                try:
                    best = self.with_further_parts(max(passed, key=lambda question: question.separation))
                except Refusal as refusal:
                    refused.add(refusal)
                else:
                    yield best
                passed.clear()

    def attempt(self, made: Draw, runs: int | None = None) -> Question:
        """The question of a draw without further parts, perhaps with another indicator or other burette readings. Raises Refusal.

        `runs` is how many there should be, where such can be found.
        """
        given = given_values(made, self.fixed(made.variant))
        require_rounding_seen(self.prepare(made.archetype, made).slips, made, given)  # what refuses oftenest
        believed = self.believable(made)
        return self._once_more(lambda: self._judged(believed, partial(judged_with_runs, runs=runs)))

    def believable(self, made: Draw) -> Draw:
        """The draw with an indicator that suits what is in its flask: its own, or another of the variant's. Raises Refusal."""
        first = self.plausibility.refusal(made)
        if first is None:
            return made
        for indicator in made.variant.indicators:
            if indicator != made.indicator:
                other = replace(made, indicator=indicator)
                if self.plausibility.refusal(other) is None:
                    return other
        raise Refusal(*first)

    def judge(
        self,
        made: Draw,
        further_parts: bool = True,
        poor: list[Refusal] | None = None,
        beside: Mapping[Name, Fraction] | None = None,
    ) -> Question:
        """The question of a draw, with its further parts. Raises Refusal for a poor one and CheckFailure for a wrong one.

        Where a list for what is `poor` is given, what only makes a question a poor one is put there and the question is made. `beside`
        holds what follows from the givens and the bench needs too, where more than the answer is unknown.
        """
        question = self._once_more(lambda: self._judged(made, lambda judge, one: judge(one), poor, beside or {}))
        return self.with_further_parts(question) if further_parts else question

    def _once_more(self, work: Callable[[], Made]) -> Made:
        """Do what rests on plans; where one that lay in the file proves wrong, forget the file and do it again, once."""
        try:
            return work()
        except CheckFailure:
            if not self.plans.start_anew():
                raise
            self._prepared.clear()
            return work()

    def _judged(self, made: Draw, with_runs: WithRuns, poor: list[Refusal] | None = None,
                beside: Mapping[Name, Fraction] | None = None) -> Question:  # fmt: skip
        """The question of a draw: worked and proved once, whatever burette readings `with_runs` has to try about its mean titre."""
        prepared, given = self.prepare(made.archetype, made), given_values(made, self.fixed(made.variant))
        worked = work_out(
            prepared.system, prepared.plan, given, made.ask, made.archetype.joined, bool(made.runs), prepared.routes
        )
        separation = 0.0
        with put_among(poor):
            if not worked.steps[-1].variable.settled and on_a_knife_edge(worked.exact, worked.answer):
                raise Refusal("knife edge", f"{float(worked.exact):.6g} rounds either way")
            require_narrow(worked)
            kept: list[float] = []
            made, separation = with_runs(
                lambda one: (one, require_apart(prepared.slips, one, worked, given, kept)), made
            )
        hidden = {**(beside or {}), **prepared.hidden_values(given)}
        confirm(made.variant.procedure, worked, given, hidden)
        wider = with_equilibria(made.variant.procedure, worked, {**hidden, **given})
        if wider is not worked and not poor:  # a mistake must show beside what else is right, too
            with put_among(poor):
                separation = require_apart(prepared.slips, made, wider, given)
        return Question(draw=made, prepared=prepared, worked=wider, masses=self.masses, separation=separation)

    def with_further_parts(self, question: Question) -> Question:
        """The question with the further parts that its archetype asks for, and the one that names an unknown."""
        made = question.draw
        named = question.worked.steps[-1].variable.kind in ASKED
        if not made.archetype.further_parts and not named:
            return question
        further_parts = self._once_more(
            lambda: make_further_parts(made.archetype.further_parts, self.calculation(question, "extras"))
        )
        worked = with_what_was_read(question.worked, question.given, further_parts)
        whole = replace(question, worked=worked, further_parts=further_parts)
        lost = (
            unseen(whole.mistakes.wrong) - unseen(question.mistakes.wrong)
            if worked is not question.worked
            else frozenset()
        )
        if lost:
            raise Refusal("slip", f"{', '.join(sorted(lost))} would not show beside a reading from the graph")
        return whole

    def stretched(self, question: Question, form: Form | None = None) -> Question:
        """The question with one further part that needs an idea of its own, where its archetype has one for these numbers.

        With a form, only the parts that give the question this form.
        """
        wanted = None if form is None else form.parts[len(question.further_parts) :]
        added = self._once_more(lambda: make_stretch(self.calculation(question, "stretch"), wanted))
        return replace(question, further_parts=(*question.further_parts, *added), added=len(added))

    def calculation(self, question: Question, branch: str) -> Calculation:
        """What further parts of a question are made from; each branch has a stream of its own."""
        made = question.draw
        return Calculation(
            bank=self.bank,
            draw=made,
            system=question.system,
            worked=question.worked,
            mistakes=question.mistakes,
            given=question.given,
            masses=self.masses,
            stream=made.stream.branch(branch),
            line=Stream(made.line or made.stream.seed).branch(branch),
            plans=self.plans,
            plausibility=self.plausibility,
        )
