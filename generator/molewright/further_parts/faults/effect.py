"""A calculation and the bank of faults come in; a part goes out that asks for the effect of one fault. Every direction is computed.

The experiment is performed again with the fault on the true composition; the titres that would be read go through the same
derivation with the printed values, as a pupil's would, and the two answers are compared. So a fault of all the titrations of a
procedure (of a blank too) cancels where it cancels on the bench. What acts through an equilibrium moves the end point by the curve
or by a constant (curve_shifts.py, constant_shifts.py). Why the answer moves as it does is said in `titre_to_answer.py`.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from molewright.bank.definitions import LaboratoryFault
from molewright.bench.perform import BenchFault
from molewright.derivation.derive import derive
from molewright.derivation.evaluated import evaluate
from molewright.draw.refusal import Refusal
from molewright.experiment import quantities
from molewright.experiment.quantities import Name
from molewright.experiment.titres import READING_CM3
from molewright.further_parts.faults import constant_shifts, curve_shifts
from molewright.further_parts.faults.conditions import (
    faults_with_their_conditions,
    is_back,
    reagent_asked,
    unknown_in_burette,
)
from molewright.further_parts.faults.faulty_bench import of_a_bottle, read_titres
from molewright.further_parts.faults.titre_to_answer import Direction, direction, guide, link
from molewright.further_parts.pieces import (
    FAULT,
    Bottle,
    Calculation,
    Chemical,
    FurtherPart,
    FurtherPoint,
    Named,
    Piece,
    Said,
    Sample,
    Space,
    Strong,
    said,
)

OFTEN = 4  # of one kind of titration: so much more often than a fault of any glassware
UNSEEN_CM3 = READING_CM3 / 2  # an end point that moves by less is read as the same
UNSEEN_SHARE = Fraction(
    1, 2500
)  # of an answer: as much of two titrations that shift along their curves as does not quite cancel
EVERY_TIME = "gas added"
"""The change that is asked about for the very reason that it may show nothing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Effect:
    """What a fault does: to the last titre (an earlier one, where only that moves), to how many in all, and to the answer."""

    titre: Direction
    answer: Direction
    titre_cm3: Fraction
    answer_exact: Fraction
    moved: int = 1
    of_last: bool = True  # whether `titre` is the last one
    titres: tuple[tuple[Name, Fraction], ...] = ()  # every titre as read, by name


def effect(calculation: Calculation, fault: LaboratoryFault) -> Effect:
    """The effect of a fault on these numbers. Raises BenchFault where the experiment could not be done with it."""
    worked, procedure, right = calculation.worked, calculation.draw.variant.procedure, calculation.given
    there = {**_hidden(calculation), **right, worked.plan.asked: worked.exact}
    titres = {name: read for name, read in read_titres(procedure, there, fault).items() if name in right}
    shifts = _shifts(calculation, fault)
    titres |= {name: titres[name] + shift for name, shift in shifts.items() if name in titres}
    if any(read <= 0 for read in titres.values()):
        raise BenchFault("a titre", "none is left")
    answer = evaluate(worked.plan.expression, {**right, **titres})
    if shifts and abs(answer - worked.exact) < UNSEEN_SHARE * abs(worked.exact):
        answer = worked.exact
    moved = [name for name, read in titres.items() if read != right[name]]
    last = procedure.titrations[-1].titre
    shown = moved[0] if moved and last not in moved else last
    return Effect(
        titre=direction(titres[shown], right[shown]),
        answer=direction(answer, worked.exact),
        titre_cm3=titres[shown],
        answer_exact=answer,
        moved=len(moved),
        of_last=shown == last,
        titres=tuple(titres.items()),
    )


def _shifts(calculation: Calculation, fault: LaboratoryFault) -> dict[Name, Fraction]:
    """By how much equilibria move the end points, in cm³ to four places; what nobody would see is nothing."""
    found: dict[Name, float] = {}
    if curve_shifts.concerns(fault):
        found = curve_shifts.moved_by_curve(calculation, fault)
    elif constant_shifts.concerns(fault):
        found = constant_shifts.moved_by_constants(calculation, fault)
    exact = {name: Fraction(f"{shift:.4f}") for name, shift in found.items()}
    return {name: shift if abs(shift) >= UNSEEN_CM3 else Fraction(0) for name, shift in exact.items()}


def _shows(calculation: Calculation, fault: LaboratoryFault) -> bool:
    """Whether a fault that acts through an equilibrium does anything here: zinc ions are held by EDTA at any pH."""
    if not (curve_shifts.concerns(fault) or constant_shifts.concerns(fault)):
        return True
    try:
        shifts = _shifts(calculation, fault)
    except BenchFault:
        return False
    return any(shifts.values()) or EVERY_TIME in dict(fault.changes)


def _hidden(calculation: Calculation) -> dict[Name, Fraction]:
    """The numbers that nobody is told and that the bench needs: what a first titration finds for a second."""
    draw, system = calculation.draw, calculation.system
    hidden = [name for name, one in draw.variant.choices.items() if one.hidden and name != draw.ask.quantity]
    plans = [calculation.plans.find(system, tuple(draw.given), name) for name in hidden]
    return {plan.asked: derive(system, plan, calculation.given).answer for plan in plans}


def possible_faults(calculation: Calculation) -> list[LaboratoryFault]:
    """The faults that can be made in this question."""
    draw = calculation.draw
    weighed = {quantities.mass(act.sample) for act in draw.variant.procedure.weighings}
    if draw.ask.quantity.kind == "titre" or draw.ask.quantity in weighed:
        return []  # planned and not found: no fault of the practical work changes it
    if reagent_asked(draw) or (is_back(draw) and unknown_in_burette(draw)):
        return []
    found = faults_with_their_conditions(calculation.bank, draw)
    return [fault for fault in found if _shows(calculation, fault)]


def ask_fault(calculation: Calculation) -> tuple[FurtherPart, ...]:
    """The effect of one fault on the titre and on the answer, with the reason."""
    found = possible_faults(calculation)
    if not found:
        raise Refusal("fault", "no fault of the bank can be made in this question")
    named = [one for one in calculation.bank.faults if one.key == calculation.draw.part]
    if named and named[0] not in found:
        raise Refusal(FAULT, f"the fault {named[0].key} cannot be made in this question")
    fault = named[0] if named else calculation.line.weighted(found, [OFTEN if one.of_one_kind else 1 for one in found])
    try:
        seen = effect(calculation, fault)
    except BenchFault as broken:
        raise Refusal("fault", f"with {fault.key} the experiment cannot be done: {broken.detail}") from None
    return (_part(calculation, fault, seen),)


def _part(calculation: Calculation, fault: LaboratoryFault, seen: Effect) -> FurtherPart:
    asked = Named(calculation.worked.plan.asked)
    reason: list[Piece] = [told(calculation, fault.cause), *link(calculation, dict(seen.titres), seen.answer)]
    return FurtherPart(
        kind=FAULT,
        called=fault.key,
        demand=said(_demand(calculation, fault, seen), told=told(calculation, fault.told), quantity=asked),
        points=(
            FurtherPoint(
                (said("fault titre", effect=Strong(EFFECT_WORDS[seen.titre])),), f"titre {EFFECT_WORDS[seen.titre]}"
            ),
            FurtherPoint(
                (said("fault answer", quantity=asked, effect=Strong(EFFECT_WORDS[seen.answer])),),
                f"answer {EFFECT_WORDS[seen.answer]}",
                (said(f"guide fault {guide(calculation, seen.titre, seen.answer, seen.of_last)}"),),
            ),
            FurtherPoint((said("fault reason", reasons=_sentences(reason)),), "reason", (said("guide fault reason"),)),
        ),
        space=(
            Space(height_mm=2.0, rule_mm=60.0, label=said("fault titre label")),
            Space(height_mm=2.0, rule_mm=60.0, label=said("fault answer label")),
            Space(height_mm=17.0, ruled=True),
        ),
        hint=said("hint fault"),
        explained=(said("fault key"),),
    )


def _demand(calculation: Calculation, fault: LaboratoryFault, seen: Effect) -> str:
    """Where there are several titres, which of them is meant."""
    procedure = calculation.draw.variant.procedure
    if len(procedure.titrations) == 1:
        return "fault"
    if not seen.of_last:
        return "fault first"
    if of_a_bottle(fault):
        return "fault every"
    return "fault continued" if procedure.runs_on else "fault last"


EFFECT_WORDS: dict[Direction, str] = {"higher": "too high", "lower": "too low", "none": "no effect"}


def _sentences(reasons: list[Piece]) -> Piece:
    return tuple(piece for index, one in enumerate(reasons) for piece in ((". " if index else ""), one) if piece)


def told(calculation: Calculation, template: str, should: bool = False) -> Said:
    """A clause of the bank with the solutions and the sample of this question in its slots; as what should have been done instead."""
    procedure = calculation.draw.variant.procedure
    slots: dict[str, Piece] = {
        "titrant": Bottle(procedure.titrations[-1].titrant.name),
        "sample": Sample(),
        "was": "should have been" if should else "was",
        "were": "should have been" if should else "were",
        "indicator": calculation.draw.indicator,
        "analyte": Chemical(calculation.draw.variant.roles.get("analyte", "")),
    }
    for operation in procedure.reagents:
        slots["reagent"] = Bottle(operation.solution.name)
        slots["volatile"] = calculation.bank.name_of(operation.solution.solute)
    return Said(template, tuple(slots.items()), written=True)
