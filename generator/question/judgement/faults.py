"""A calculation and the bank of faults come in; a part goes out that asks for the effect of one fault. Every direction is computed.

The experiment is performed again with the fault on the true composition; the titre that would be read goes through the same
derivation with the printed values, as a pupil's would, and the two answers are compared.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from generator.bank.definitions import LaboratoryFault
from generator.question import procedure as names
from generator.question.bench import BenchFault
from generator.question.derive import evaluate
from generator.question.draw import Refusal
from generator.question.judgement.conditions import conditions, is_back, unknown_in_burette
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
from generator.question.judgement.perturb import read_titre
from generator.question.procedure import Measure

Direction = Literal["higher", "lower", "none"]


@dataclass(frozen=True, slots=True)
class Effect:
    """What a fault does: to the titre that is read, and to the answer that is worked out from it."""

    titre: Direction
    answer: Direction
    titre_cm3: Fraction
    answer_exact: Fraction


def effect(calculation: Calculation, fault: LaboratoryFault) -> Effect:
    """The effect of a fault on these numbers. Raises BenchFault where the experiment could not be done with it."""
    draw, worked = calculation.draw, calculation.worked
    procedure = draw.variant.procedure
    name = names.titre(procedure.titrations[-1])
    right = calculation.given[name]
    titre = read_titre(procedure, {**calculation.given, worked.plan.asked: worked.exact}, fault)
    answer = evaluate(worked.plan.expression, {**calculation.given, name: titre})
    return Effect(_direction(titre, right), _direction(answer, worked.exact), titre, answer)


def _direction(found: Fraction, right: Fraction) -> Direction:
    return "higher" if found > right else "lower" if found < right else "none"


def possible_faults(calculation: Calculation) -> list[LaboratoryFault]:
    """The faults that can be made in this question."""
    if calculation.draw.ask.quantity.startswith("titre"):
        return []
    held = conditions(calculation.bank, calculation.draw)
    return [fault for fault in calculation.bank.faults if set(fault.needs) <= held]


def ask_fault(calculation: Calculation) -> tuple[ExtraPart, ...]:
    """The effect of one fault on the titre and on the answer, with the reason."""
    found = possible_faults(calculation)
    if not found:
        raise Refusal("fault", "no fault of the bank can be made in this question")
    fault = calculation.stream.pick(found)
    try:
        seen = effect(calculation, fault)
    except BenchFault as broken:
        raise Refusal("fault", f"with {fault.key} the experiment cannot be done: {broken.detail}") from None
    return (_part(calculation, fault, seen),)


def _part(calculation: Calculation, fault: LaboratoryFault, seen: Effect) -> ExtraPart:
    asked = Named(calculation.worked.plan.asked)
    reason: list[Piece] = [told(calculation, fault.cause)]
    if seen.titre != "none":
        reason.append(said(f"fault link {_kind(calculation)} {seen.titre}"))
    return ExtraPart(
        "fault",
        said("fault", told=told(calculation, fault.told), quantity=asked),
        (
            ExtraPoint((said("fault titre", effect=Strong(_WORDS[seen.titre])),), f"titre {_WORDS[seen.titre]}"),
            ExtraPoint(
                (said("fault answer", quantity=asked, effect=Strong(_WORDS[seen.answer])),),
                f"answer {_WORDS[seen.answer]}",
                (said(f"guide fault {_kind(calculation)}"),),
            ),
            ExtraPoint((said("fault reason", reasons=_sentences(reason)),), "reason", (said("guide fault reason"),)),
        ),
        (Space(2.0, 60.0, label=said("fault titre label")), Space(2.0, 60.0, label=said("fault answer label")),
         Space(17.0, ruled=True)),
        hint=said("hint fault"),
        explained=(said("fault key", number=fault.key),),
    )  # fmt: skip


_WORDS: dict[Direction, str] = {"higher": "too high", "lower": "too low", "none": "no effect"}


def _sentences(reasons: list[Piece]) -> Piece:
    return tuple(piece for index, one in enumerate(reasons) for piece in ((". " if index else ""), one) if piece)


def _kind(calculation: Calculation) -> str:
    """In which way the answer hangs on the titre: it rises with it (flask), falls (burette), or counts what is left (back)."""
    if is_back(calculation.draw):
        return "back"
    if unknown_in_burette(calculation.draw):
        return "burette"
    asked = calculation.draw.ask.quantity
    return "water" if asked.startswith("water") else "molar" if asked.startswith("molar") else "flask"


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
