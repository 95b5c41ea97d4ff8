"""A calculation comes in; a part goes out that plans the next experiment: a mass, a concentration or a volume. The bench checks it.

The plan is derived backwards from the titre wanted, by the same relations as every answer, and then performed: it must give that
titre. Other plans within the window would work, but they are not the answer to what is asked.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from math import ceil, floor

from molewright.answer.accepted import MOST_HALF_WIDTH
from molewright.bank.definitions import Ask, Choice
from molewright.chem.quantity import Quantity, half_up, last_place, to_figures
from molewright.chem.units import Unit
from molewright.derivation.evaluated import evaluate
from molewright.derivation.worked import Worked, base_factor, work_out
from molewright.draw.refusal import Refusal
from molewright.experiment import quantities
from molewright.experiment.procedure import Weigh
from molewright.experiment.quantities import Name
from molewright.experiment.quantity_kinds import Kind
from molewright.further_parts.faults.conditions import in_excess, is_back, unknown_in_burette
from molewright.further_parts.pieces import (
    Calculation,
    Chemical,
    FurtherPart,
    FurtherPoint,
    FurtherWrongAnswer,
    Lettered,
    Named,
    Piece,
    Quotient,
    Reckoning,
    Sample,
    Space,
    Strong,
    said,
)
from molewright.further_parts.planning.planned_bench import Planned, prove_excess, prove_titre, window_of
from molewright.further_parts.planning.proportion import by_proportion
from molewright.further_parts.planning.wrong_plans import wrong_plans
from molewright.further_parts.printed_working import page, step_line
from molewright.further_parts.uncertainty.working import named_slip
from molewright.slips.wrong_answers import WrongAnswer

AIM = Quantity(Decimal("25.00"), Unit.CM3)
"""The titre that is planned for where the experiment can have it."""
EXCESS = Fraction(3, 2)  # 50 % more than reacts
OTHER_SHARE = 4  # per cent at least between a percentage that was asked for and the one that a plan takes for granted
OTHER_STRENGTH = Fraction(4, 5)  # of the answer, for another sample: weaker, so that no titrant has to be made stronger
SUBSTANCE_OWN: frozenset[Kind] = frozenset({
    "water", "ratio", "electrons", "oxidation state", "molar mass", "molar volume", "molar difference", "atomic mass", "basicity",
})  # fmt: skip
"""Kinds of quantity that are of any sample the same."""
FIGURES = 3
FIGURES_SAID = said("figures", figures=str(FIGURES))
MM_A_MARK = 14.0


def ask_planning(calculation: Calculation) -> tuple[FurtherPart, ...]:
    """One of the plans that this experiment allows."""
    plans = [_plan_titre]
    if in_excess(calculation.draw) and known_share(calculation) is not None:
        plans.append(_plan_excess)
    return (calculation.line.pick(plans)(calculation),)


def ask_plan_titre(calculation: Calculation) -> tuple[FurtherPart, ...]:
    """The plan for a titre in the window, and no other."""
    return (replace(_plan_titre(calculation), kind="plan titre"),)


def ask_plan_excess(calculation: Calculation) -> tuple[FurtherPart, ...]:
    """The plan for an excess of 50 %, and no other."""
    if not in_excess(calculation.draw):
        raise Refusal("plan excess", "nothing is added in excess")
    return (replace(_plan_excess(calculation), kind="plan excess"),)


# ------------------------------------------------------------------ what is assumed


def sample_weighed(calculation: Calculation) -> Weigh | None:
    """The weighing of the sample, where it is weighed and not counted."""
    for operation in calculation.draw.variant.procedure.weighings:
        if operation.weighed and not operation.pieces:
            return operation
    return None


def known_share(calculation: Calculation) -> tuple[Name, Quantity] | None:
    """The percentage of the analyte in the next sample, a multiple of five, as one would know it beforehand; None for a trace.

    Where this sample's was asked for, the next one's is another of the material, so that nothing is given away; where the
    material allows no other, it is the pupil's own answer.
    """
    weighed = sample_weighed(calculation)
    if weighed is None:
        return None
    draw = calculation.draw
    asked = calculation.worked.plan.asked
    name = quantities.percentage(weighed.contents[0].substance, weighed.sample)
    if asked.kind == "percentage" and asked != name and answered(calculation, asked):  # of an element of it
        return asked, calculation.worked.answer
    exact = draw.truth.get(name)
    if exact is None:
        return None
    low, high = _range(draw.variant.choices[name]) if name in draw.variant.choices else (exact, exact)
    if not answered(calculation, name):
        rounded = min(Decimal(95), half_up(exact / 5, 0) * 5)
        return (name, Quantity(rounded, Unit.PERCENT)) if rounded else None  # a trace: nobody knows it beforehand
    others = [five for five in range(5, 100, 5) if low <= five <= high and abs(five - exact) >= OTHER_SHARE]
    if not others:
        return name, calculation.worked.answer
    return name, Quantity(Decimal(min(others, key=lambda five: (abs(five - exact), five))), Unit.PERCENT)


def answered(calculation: Calculation, name: Name) -> bool:
    """Whether the pupil has worked this quantity out in the parts before."""
    return name == calculation.worked.plan.asked and calculation.draw.archetype.calculated


def own_answer(calculation: Calculation, name: Name, taken: Quantity) -> bool:
    """Whether what is taken for granted is the pupil's own answer."""
    return answered(calculation, name) and taken == calculation.worked.answer


def assumption(calculation: Calculation, name: Name, taken: Quantity) -> Piece:
    """What is taken for granted, in words."""
    if own_answer(calculation, name, taken):
        return said("use answer", quantity=Named(name))
    if name.kind == "percentage":
        weighed = sample_weighed(calculation)
        assert weighed is not None
        return said("take percentage", percentage=taken, analyte=Chemical(weighed.contents[0].substance))
    return said("take", quantity=Named(name), taken=taken)


def _assumed(calculation: Calculation) -> tuple[Name, Quantity]:
    """What the plan takes for granted: the percentage, or four fifths of the answer to two figures, for another sample.

    A whole number belongs to the substance and not to the sample: it is the pupil's own answer.
    """
    share = known_share(calculation)
    if share is not None:
        return share
    answer, asked = calculation.worked.answer, calculation.worked.plan.asked
    if not answered(calculation, asked):
        raise Refusal("planning", "nothing tells beforehand what is sought")
    if asked.kind in SUBSTANCE_OWN:
        return asked, answer
    return asked, Quantity(to_figures(answer.exact * OTHER_STRENGTH, 2), answer.unit, answer.scientific)


def _range(choice: Choice) -> tuple[Fraction, Fraction]:
    if choice.options:
        values = [option.in_base for option in choice.options]
        return min(values), max(values)
    return Fraction(choice.low or 0), Fraction(choice.high or 0)


# ------------------------------------------------------------------ a titre in the window


def _plan_titre(calculation: Calculation) -> FurtherPart:
    """A plan for the titre nearest to 25 cm³ that this experiment can have. Raises Refusal where it can have none."""
    refused: Refusal | None = None
    for aim in aims(*window_of(calculation.draw.archetype)):
        try:
            return _plan_for(calculation, aim)
        except Refusal as refusal:  # in a back titration a titre tells how much is used up: not every one will do
            refused = refused or refusal
    raise refused or Refusal("planning", "no whole titre to plan for")


def aims(low: Fraction, high: Fraction) -> list[Quantity]:
    """Whole titres in cm³ within a window, the nearest to 25.00 first."""
    whole = sorted(range(floor(low) + 1, ceil(high)), key=lambda titre: (abs(titre - AIM.exact), titre))
    return [Quantity(half_up(Fraction(titre), AIM.places), AIM.unit) for titre in whole]


def _plan_for(calculation: Calculation, aim: Quantity) -> FurtherPart:
    """The mass, or where nothing is weighed the concentration of the titrant, that gives the titre wanted."""
    draw = calculation.draw
    procedure = draw.variant.procedure
    if len(procedure.titrations) > 1:
        raise Refusal("planning", "several titres rest on what would be planned")
    if procedure.settling:
        raise Refusal("planning", "at an equilibrium the titre is no simple multiple of what was put in")
    weighed = sample_weighed(calculation)
    titre = procedure.titrations[-1].titre
    if weighed is not None:
        wanted = quantities.mass(weighed.sample)
    elif unknown_in_burette(draw) or is_back(draw):
        raise Refusal("planning", "nothing is weighed and the titrant is not to choose")
    else:
        wanted = quantities.concentration(procedure.titrations[-1].titrant.name)
    if calculation.worked.plan.asked == titre:
        raise Refusal("planning", "the titre is what was asked for, of an experiment that is still to be done")
    assumed, taken = _assumed(calculation)
    given = {
        name: quantity
        for name, quantity in draw.given.items()
        if name != wanted and name != calculation.worked.plan.asked
    }
    given.update({assumed: taken, titre: aim})
    known = {name: calculation.given[name] for name in calculation.system.fixed}
    exact = {**known, **{name: quantity.in_base for name, quantity in given.items()}}
    if own_answer(calculation, assumed, taken):
        exact[assumed] = calculation.worked.exact  # carried on unrounded, as in every calculation
    plan = calculation.plans.find(calculation.system, given, wanted)
    worked = work_out(calculation.system, plan, exact, Ask(wanted, figures=FIGURES), draw.archetype.joined)
    accepted = accepted_plans(worked, evaluate(plan.expression, {**exact, assumed: taken.in_base}))
    prove_titre(calculation, exact, Planned(wanted, worked.exact, worked.answer), titre, aim.in_base)
    told = assumption(calculation, assumed, taken)
    if weighed is not None:
        demand = said("plan mass", titre=aim, assumed=told, sample=Sample(), figures=FIGURES_SAID)
    else:
        demand = said("plan strength", titre=aim, assumed=told, wanted=Named(wanted), figures=FIGURES_SAID)
    proportion = by_proportion(calculation, worked, (titre, aim), (assumed, taken))
    lines = list(proportion or chain_points(worked, page(calculation, worked, given)))
    last = lines[-1]
    least, most = (Quantity(half_up(end, 0), Unit.CM3) for end in window_of(draw.archetype))
    guidance = (*last.guidance, said("guide plan", least=least, most=most))
    lines[-1] = FurtherPoint(last.lines, worked.answer, guidance)
    return FurtherPart(
        kind="planning",
        demand=demand,
        points=tuple(lines),
        space=(Space(height_mm=MM_A_MARK * len(lines), rule_mm=65.0, unit=worked.answer.unit),),
        hint=said("hint plan proportion" if proportion else "hint plan"),
        accepted=accepted,
        unit=worked.answer.unit,
        wrong=_wrong(wrong_plans(calculation, worked, exact), accepted, worked.marks, len(lines)),
    )


def accepted_plans(worked: Worked, from_written: Fraction) -> tuple[Decimal, Decimal]:
    """All that is nearly the plan, and all that rounded working leads to; as far to the one side as to the other.

    `from_written` is the plan from what is assumed as it is written: an answer of the pupil's own is carried on or written.
    Raises Refusal where that reaches further than an answer's range may.
    """
    answer = worked.answer.number
    written = to_figures(from_written * base_factor(worked.answer), FIGURES)
    ends = (written, worked.accepted.low.number, worked.accepted.high.number)
    half = max(abs(end - answer) for end in (*nearly(answer), *ends))
    if half > max(abs(end - answer) for end in nearly(answer)):
        raise Refusal("planning", "rounding on the way would have plans accepted that are not near the right one")
    return answer - half, answer + half


def nearly(plan: Decimal) -> tuple[Decimal, Decimal]:
    """The range about a plan: as many units of its last figure to both sides as lie within one per cent of it, one at least."""
    unit = Decimal(1).scaleb(last_place(plan))
    half = max(unit, abs(plan) * MOST_HALF_WIDTH // unit * unit)
    return plan - half, plan + half


def _wrong(
    found: tuple[WrongAnswer, ...], accepted: tuple[Decimal, Decimal], chain: int, marks: int
) -> tuple[FurtherWrongAnswer, ...]:
    """Wrong plans as the scheme lists them, each with as many of the part's marks lost as of its chain's; none that is accepted."""
    return tuple(
        FurtherWrongAnswer(
            one.answer, tuple((slip.key, slip.name) for slip in one.slips), max(0, marks - (chain - one.marks))
        )
        for one in found
        if not accepted[0] <= one.answer.number <= accepted[1]
    )


def chain_points(worked: Worked, shown: Mapping[Name, Quantity]) -> list[FurtherPoint]:
    """A chain of steps as mark points. Raises Refusal for two equations that have to be solved together: no chain."""
    if any(step.relation is None for step in worked.steps):
        raise Refusal("planning", "two equations would have to be solved together")
    found: list[FurtherPoint] = []
    for point in worked.points:
        lines = tuple(
            step_line(step, shown, step.shown, worked.answer if step is worked.steps[-1] else None)
            for step in point.steps
        )
        earlier = (said("guide plan step"),) if found else ()
        found.append(FurtherPoint(lines, point.steps[-1].shown, earlier))
    return found


# ------------------------------------------------------------------ half as much again


def _plan_excess(calculation: Calculation) -> FurtherPart:
    """The volume of the reagent that is half as much again as reacts."""
    draw = calculation.draw
    weighed, share = sample_weighed(calculation), known_share(calculation)
    reagent = draw.variant.procedure.reagents[0]
    volume_name = quantities.volume_measured(reagent.solution.name, reagent.vessel)
    reacting = quantities.amount(reagent.solution.species, reagent.vessel, "reacted")
    strength = draw.given.get(quantities.concentration(reagent.solution.name))
    mass = draw.given.get(quantities.mass(weighed.sample)) if weighed else None
    if (
        share is None
        or weighed is None
        or mass is None
        or strength is None
        or reacting not in calculation.system.variables
    ):
        raise Refusal("planning", "the mass or the reagent's concentration is not printed")
    if reagent.solution.count != 1:
        raise Refusal("planning", "the reagent's concentration does not count what reacts")
    given = {quantities.mass(weighed.sample): mass, share[0]: share[1]}
    known = {name: calculation.given[name] for name in calculation.system.fixed}
    exact = {**known, **{name: quantity.in_base for name, quantity in given.items()}}
    plan = calculation.plans.find(calculation.system, given, reacting)
    worked = work_out(calculation.system, plan, exact, Ask(reacting, figures=FIGURES + 1), draw.archetype.joined)
    volume = worked.exact * EXCESS / strength.in_base * 1000
    answer = Quantity(to_figures(volume, FIGURES), Unit.CM3)
    planned = Planned(volume_name, volume, answer)
    prove_excess(calculation, exact, planned, reagent.solution.species, 1 / EXCESS)
    points = chain_points(worked, page(calculation, worked, given))
    shown = Quantity(worked.answer.number, Unit.NONE, True)
    last = Reckoning((Lettered(volume_name), "=",
                      Quotient((shown, "×", "1.5", "×", "1000"), (strength.number_text,)), "=", Strong(answer)))  # fmt: skip
    low, high = nearly(answer.number)
    wrong = _wrong(
        tuple(_enlarged(one, strength) for one in wrong_plans(calculation, worked, exact)),
        (low, high),
        len(points) + 1,
        len(points) + 1,
    )
    just = FurtherWrongAnswer(
        Quantity(to_figures(volume / EXCESS, FIGURES), Unit.CM3),
        (named_slip(calculation.bank, "an excess that is none"),),
        len(points),
    )
    points.append(FurtherPoint((last,), answer, (said("guide plan excess"),)))
    return FurtherPart(
        kind="planning",
        demand=said("plan excess", mass=mass, sample=Sample(), assumed=assumption(calculation, *share), strength=strength,
             volume=Named(volume_name), figures=FIGURES_SAID),
        points=tuple(points),
        space=(Space(height_mm=MM_A_MARK * len(points), rule_mm=65.0, unit=Unit.CM3),),
        hint=said("hint excess"),
        accepted=(low, high),
        unit=Unit.CM3,
        wrong=(just, *wrong),
    )  # fmt: skip


def _enlarged(one: WrongAnswer, strength: Quantity) -> WrongAnswer:
    """A wrong amount that reacts, carried forward to the volume of the reagent: the last mark is kept."""
    volume = one.answer.exact * EXCESS / strength.in_base * 1000
    return replace(one, answer=Quantity(to_figures(volume, FIGURES), Unit.CM3), marks=one.marks + 1, most=one.most + 1)
