"""The text of an experiment comes in; what a question is made of goes out, worked and proved on the bench."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from fractions import Fraction

from molewright.bank.definitions import Ask, Bank
from molewright.bank.readers.described_experiment import Experiment
from molewright.chem.conventions import Convention
from molewright.chem.quantity import Quantity
from molewright.derivation.plans import Plans
from molewright.errors import Mistake, Where
from molewright.experiment.procedure import Dissolve, MakeUp, Measure, Operation, Procedure, Weigh
from molewright.experiment.quantities import Name
from molewright.experiment.solution import Solution
from molewright.experiment.titres import Run
from molewright.question.prepared import molar_masses
from molewright.solve.described import described, solve, truth_of
from molewright.solve.usual_figures import usual_ask


@dataclass(frozen=True, slots=True, kw_only=True)
class Proved:
    """An experiment that is sound: what is done, what is given and asked, the readings of its last titration, the truth behind it."""

    title: str
    experiment: Experiment
    given: Mapping[Name, Quantity]
    ask: Ask
    unknown: frozenset[str]
    runs: tuple[Run, ...]
    beside: Mapping[Name, Fraction]  # what follows from the givens and the bench needs beside the answer, in base units
    truth: Mapping[Name, Fraction]  # all of it, the answer too

    @property
    def procedure(self) -> Procedure:
        """What is done."""
        return self.experiment.described.procedure


def sought_solution(experiment: Proved, bank: Bank) -> tuple[Solution, str] | None:
    """The measured solution of unknown strength that is called in words of its own, and these: "bleach"; None where there is none.

    Such words are a bottle's, or what stands under `called`, unless the banks call a strength so ("total hardness").
    """
    for act in experiment.procedure.measures:
        solution = act.solution
        if act.excess or solution.made_in or any(name in experiment.given for name in solution.strengths):
            continue
        if solution.called and solution.called not in bank.strengths_called:
            return solution, solution.called
        if _in_words(solution):
            return solution, solution.name
    return None


def as_poured(procedure: Procedure, sought: Solution) -> Procedure:
    """A procedure in which what a solution is called is no longer what its strength is called."""

    def poured(act: Operation) -> Operation:
        return (
            replace(act, solution=replace(sought, called=""))
            if isinstance(act, Measure) and act.solution == sought
            else act
        )

    return Procedure(tuple(map(poured, procedure.operations)))


def _in_words(solution: Solution) -> bool:
    """Whether a bottle is called in small words, not by a formula."""
    return solution.name != solution.solute and solution.name.islower()


def with_dissolving(procedure: Procedure) -> Procedure:
    """A procedure that says what nobody writes down: what is weighed is dissolved before it is made up."""
    operations: list[Operation] = []
    for act, after in zip(procedure.operations, (*procedure.operations[1:], None), strict=True):
        operations.append(act)
        if isinstance(act, Weigh) and isinstance(after, MakeUp) and act.vessel == after.vessel:
            operations.append(Dissolve(act.vessel))
    return Procedure(tuple(operations))


def proved(text: str, where: Where, bank: Bank, plans: Plans, masses: Convention) -> Proved:
    """The experiment of a text, by a convention for relative atomic masses.

    Raises Mistake, at this place, where it is not understood, does not lead to an answer, or cannot be.
    """
    experiment = replace(described(text, where, bank), masses=masses)
    try:
        worked = solve(experiment, plans)
        known = {name: quantity.in_base for name, quantity in experiment.given.items()}
        truth = truth_of(experiment, plans, {**molar_masses(experiment.system, masses), **known})
    except Mistake as mistake:
        mistake.where = where.under(mistake.where.entry) if mistake.where and mistake.where.entry else where
        raise
    procedure = experiment.described.procedure
    read = experiment.described.runs.get(procedure.titrations[-1].titre, ()) if procedure.titrations else ()
    return Proved(
        title=experiment.title,
        experiment=experiment,
        given=experiment.given,
        ask=usual_ask(experiment, worked.plan),
        unknown=frozenset(experiment.described.unknown)
        | {name.subject for name in experiment.given if name.kind == "molar mass"},
        runs=tuple(one.run for one in read),
        beside={name: value for name, value in truth.items() if name not in experiment.given},
        truth={**truth, experiment.ask.quantity: worked.exact},
    )
