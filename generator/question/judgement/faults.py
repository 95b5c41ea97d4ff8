"""A calculation and the bank of faults come in; a part goes out that asks for the effect of one fault. Every direction is computed.

The experiment is performed again with the fault on the true composition; the titres that would be read go through the same
derivation with the printed values, as a pupil's would, and the two answers are compared. So a fault of all the titrations of a
procedure (of a blank too) cancels where it cancels on the bench.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from generator.bank.definitions import LaboratoryFault
from generator.question import procedure as names
from generator.question.bench import BenchFault
from generator.question.derive import derive, evaluate
from generator.question.draw import Refusal
from generator.question.judgement.conditions import conditions, is_back, reagent_asked, unknown_in_burette
from generator.question.judgement.extras import (
    Bottle,
    Calculation,
    Chemical,
    ExtraPart,
    ExtraPoint,
    Named,
    Piece,
    Said,
    Sample,
    Space,
    Strong,
    said,
)
from generator.question.judgement.perturb import of_last_run_only, read_titres
from generator.question.procedure import Measure

Direction = Literal["higher", "lower", "none"]

TELLING = frozenset({
    "hydrate", "iron(II) in flask", "ethanedioate in flask", "iodine in flask", "acid and iodide in flask", "starch",
    "manganate(VII) in burette", "silver chloride in flask", "chromate indicator", "buffer of pH 10",
})  # fmt: skip
"""Conditions of one kind of titration: where one holds, its own faults come up more often than those of any glassware."""
OFTEN = 4


@dataclass(frozen=True, slots=True)
class Effect:
    """What a fault does: to the last titre, to how many titres in all, and to the answer that is worked out from them."""

    titre: Direction
    answer: Direction
    titre_cm3: Fraction
    answer_exact: Fraction
    moved: int = 1


def effect(calculation: Calculation, fault: LaboratoryFault) -> Effect:
    """The effect of a fault on these numbers. Raises BenchFault where the experiment could not be done with it."""
    draw, worked = calculation.draw, calculation.worked
    procedure = draw.variant.procedure
    right = calculation.given
    there = {**_hidden(calculation), **right, worked.plan.asked: worked.exact}
    titres = {name: read for name, read in read_titres(procedure, there, fault).items() if name in right}
    answer = evaluate(worked.plan.expression, {**right, **titres})
    last = names.titre(procedure.titrations[-1])
    moved = sum(read != right[name] for name, read in titres.items())
    return Effect(_direction(titres[last], right[last]), _direction(answer, worked.exact), titres[last], answer, moved)


def _hidden(calculation: Calculation) -> dict[str, Fraction]:
    """The numbers that nobody is told and that the bench needs: what a first titration finds for a second."""
    draw, system = calculation.draw, calculation.system
    hidden = [name for name, one in draw.variant.choices.items() if one.hidden and name != draw.ask.quantity]
    plans = [calculation.plans.find(system, tuple(draw.given), name) for name in hidden]
    return {plan.asked: derive(system, plan, calculation.given).answer for plan in plans}


def _direction(found: Fraction, right: Fraction) -> Direction:
    return "higher" if found > right else "lower" if found < right else "none"


def possible_faults(calculation: Calculation) -> list[LaboratoryFault]:
    """The faults that can be made in this question."""
    draw = calculation.draw
    if draw.ask.quantity.startswith("titre") or reagent_asked(draw) or (is_back(draw) and unknown_in_burette(draw)):
        return []
    held = conditions(calculation.bank, draw)
    return [fault for fault in calculation.bank.faults if set(fault.needs) <= held]


def ask_fault(calculation: Calculation) -> tuple[ExtraPart, ...]:
    """The effect of one fault on the titre and on the answer, with the reason."""
    found = possible_faults(calculation)
    if not found:
        raise Refusal("fault", "no fault of the bank can be made in this question")
    fault = calculation.stream.weighted(found, [OFTEN if TELLING & set(one.needs) else 1 for one in found])
    try:
        seen = effect(calculation, fault)
    except BenchFault as broken:
        raise Refusal("fault", f"with {fault.key} the experiment cannot be done: {broken.detail}") from None
    return (_part(calculation, fault, seen),)


def _part(calculation: Calculation, fault: LaboratoryFault, seen: Effect) -> ExtraPart:
    asked = Named(calculation.worked.plan.asked)
    reason: list[Piece] = [told(calculation, fault.cause), *_link(calculation, seen)]
    return ExtraPart(
        "fault",
        said(_demand(calculation, fault), told=told(calculation, fault.told), quantity=asked),
        (
            ExtraPoint((said("fault titre", effect=Strong(_WORDS[seen.titre])),), f"titre {_WORDS[seen.titre]}"),
            ExtraPoint(
                (said("fault answer", quantity=asked, effect=Strong(_WORDS[seen.answer])),),
                f"answer {_WORDS[seen.answer]}",
                (said(f"guide fault {_turning(calculation, seen)}"),),
            ),
            ExtraPoint((said("fault reason", reasons=_sentences(reason)),), "reason", (said("guide fault reason"),)),
        ),
        (Space(2.0, 60.0, label=said("fault titre label")), Space(2.0, 60.0, label=said("fault answer label")),
         Space(17.0, ruled=True)),
        hint=said("hint fault"),
        explained=(said("fault key", number=fault.key),),
    )  # fmt: skip


def _demand(calculation: Calculation, fault: LaboratoryFault) -> str:
    """Where there are several titres, which of them is meant."""
    if len(calculation.draw.variant.procedure.titrations) == 1:
        return "fault"
    return "fault last" if of_last_run_only(fault) else "fault every"


def _link(calculation: Calculation, seen: Effect) -> list[Piece]:
    """From the titre to the answer, in words."""
    if seen.titre == "none":
        return []
    if seen.moved > 1:
        return [said("fault link cancels" if seen.answer == "none" else f"fault link every {seen.titre}")]
    return [said(f"fault link {_kind(calculation)} {seen.titre}")]


def _turning(calculation: Calculation, seen: Effect) -> str:
    """Whether the answer moves with the titre or against it, and why; "flask" where only ecf is to be said."""
    kind = "back molar" if _kind(calculation) == "back" and _divides(calculation) else _kind(calculation)
    moves = "none" not in (seen.titre, seen.answer)
    return kind if moves and (seen.titre == seen.answer) != (kind in TURNING) else "flask"


TURNING = frozenset({"back", "burette", "water", "molar"})
"""Kinds of question in which the answer falls where the titre rises."""


_WORDS: dict[Direction, str] = {"higher": "too high", "lower": "too low", "none": "no effect"}


def _sentences(reasons: list[Piece]) -> Piece:
    return tuple(piece for index, one in enumerate(reasons) for piece in ((". " if index else ""), one) if piece)


def _kind(calculation: Calculation) -> str:
    """In which way the answer hangs on the titre: it rises with it (flask), falls (burette), or counts what is left (back)."""
    if is_back(calculation.draw):
        return "back"
    if unknown_in_burette(calculation.draw):
        return "burette"
    if calculation.draw.ask.quantity.startswith("water"):
        return "water"
    return "molar" if _divides(calculation) else "flask"


def _divides(calculation: Calculation) -> bool:
    """Whether the amount that is found divides a mass: the answer falls where the amount rises."""
    return calculation.draw.ask.quantity.startswith(("water", "molar", "relative atomic"))


def told(calculation: Calculation, template: str) -> Said:
    """A clause of the bank with the solutions and the sample of this question in its slots."""
    procedure = calculation.draw.variant.procedure
    slots: dict[str, Piece] = {
        "titrant": Bottle(procedure.titrations[-1].titrant.name),
        "sample": Sample(),
        "indicator": calculation.draw.indicator,
        "analyte": Chemical(calculation.draw.variant.roles.get("analyte", "")),
    }
    for operation in procedure.operations:
        if isinstance(operation, Measure) and operation.excess:
            slots["reagent"] = Bottle(operation.solution.name)
    return Said(template, tuple(slots.items()), written=True)
