"""A calculation comes in; a part goes out with what several groups found for one sample. One value does not fit, because of a fault.

The values that fit scatter a little round the answer; the one that does not is the answer that the bench gives with a named fault.
A second fault is offered beside it that moves the answer the other way, so that only one of the two explains it.
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

from molewright.bank.definitions import LaboratoryFault
from molewright.bench.perform import BenchFault
from molewright.chem.quantity import Quantity, half_up
from molewright.chem.units import Unit
from molewright.draw.refusal import Refusal
from molewright.further_parts.faults.effect import Effect, effect, possible_faults, told
from molewright.further_parts.pieces import (
    Calculation,
    FurtherPart,
    FurtherPoint,
    Named,
    Piece,
    Quotient,
    Reckoning,
    Rows,
    Space,
    Strong,
    one_either_side,
    said,
    writing_lines,
)

FITTING = 4  # groups whose values fit
SCATTER_PERCENT = Fraction(3, 10)  # of the answer, to either side
NEAREST_PERCENT = Fraction(3, 2)  # a value nearer to the answer might be chance
FARTHEST_PERCENT = 15  # one farther off would be no puzzle
LEAST_GAP = 3  # how many times the spread of the others the odd value lies from the nearest of them
_TRIES = 40


def ask_class_values(calculation: Calculation) -> tuple[FurtherPart, ...]:
    """Which value does not fit, the mean of the others, and which of two faults explains it."""
    answer = calculation.worked.answer
    if len(calculation.draw.variant.procedure.titrations) != 1 or answer.scientific or answer.places < 0:
        raise Refusal("class values", "the answer is not a plain number of one titration")
    for _ in range(_TRIES):
        fitting = _fitting(calculation, answer)
        pair = _pair(calculation, answer, fitting)
        if pair is not None:
            return (_part(calculation, answer, fitting, *pair),)
    raise Refusal("class values", "no fault makes a value that stands clearly apart")


def _fitting(calculation: Calculation, answer: Quantity) -> tuple[Decimal, ...]:
    """Values about the answer, not all alike, whose mean has no more places than they have."""
    stream = calculation.stream
    last = Fraction(1, 10**answer.places)
    reach = max(1, int(abs(answer.exact) * SCATTER_PERCENT / 100 / last))
    while True:
        away = [stream.whole(-reach, reach) for _ in range(FITTING)]
        if len(set(away)) > 1 and sum(away) % FITTING == 0:
            return tuple(half_up(answer.exact + step * last, answer.places) for step in away)


def _pair(
    calculation: Calculation, answer: Quantity, fitting: tuple[Decimal, ...]
) -> tuple[Decimal, tuple[LaboratoryFault, Effect], LaboratoryFault] | None:
    """The odd value, the fault behind it, and another that moves the answer the other way."""
    stream = calculation.stream
    moved = [(fault, seen) for fault, seen in _effects(calculation) if seen.answer != "none"]
    far = [(fault, seen) for fault, seen in moved if _apart(seen.answer_exact, answer, fitting)]
    if not far:
        return None
    fault, seen = stream.pick(far)
    others = [other for other, way in moved if way.answer != seen.answer]
    if not others:
        return None
    return half_up(seen.answer_exact, answer.places), (fault, seen), stream.pick(others)


def _effects(calculation: Calculation) -> list[tuple[LaboratoryFault, Effect]]:
    found = []
    for fault in possible_faults(calculation):
        try:
            found.append((fault, effect(calculation, fault)))
        except BenchFault:
            continue
    return found


def _apart(odd: Fraction, answer: Quantity, fitting: tuple[Decimal, ...]) -> bool:
    """Whether a value stands clearly apart from those that fit, and is still believable."""
    factor = Fraction(half_up(odd, answer.places))
    spread = Fraction(max(fitting) - min(fitting))
    nearest = min(abs(factor - Fraction(one)) for one in fitting)
    believable = NEAREST_PERCENT <= abs(factor / answer.exact - 1) * 100 <= FARTHEST_PERCENT and factor > 0
    return believable and nearest >= LEAST_GAP * spread and not (answer.unit is Unit.PERCENT and factor >= 100)


def _part(calculation: Calculation, answer: Quantity, fitting: tuple[Decimal, ...], odd: Decimal,
          behind: tuple[LaboratoryFault, Effect], other: LaboratoryFault) -> FurtherPart:  # fmt: skip
    stream = calculation.stream
    values = stream.shuffled([*fitting, odd])
    fault, seen = behind
    faults = (fault, other) if stream.chance(50) else (other, fault)
    letter = "AB"[faults.index(fault)]
    mean = Quantity(half_up(Fraction(sum(fitting)) / FITTING, answer.places), answer.unit)
    rows = (tuple(Quantity(one, Unit.NONE).number_text for one in values),)
    heads: tuple[Piece, ...] = tuple(said("class group", number=str(at)) for at in range(1, len(values) + 1))
    total: list[Piece] = []
    for one in fitting:
        total += [*(["+"] if total else []), Quantity(one, Unit.NONE).number_text]
    moved = said(f"class {seen.answer}")
    return FurtherPart(
        kind="class values",
        demand=said("class values", quantity=Named(calculation.worked.plan.asked), unit=answer.unit,
             first=told(calculation, faults[0].told), second=told(calculation, faults[1].told)),
        points=(
            FurtherPoint((said("class odd", value=Strong(Quantity(odd, answer.unit))),), Quantity(odd, answer.unit)),
            FurtherPoint(
                (said("class fault", letter=Strong(letter), effect=moved, cause=told(calculation, fault.cause)),),
                f"fault {letter}",
                (said("guide class fault", other="AB".replace(letter, "")),),
            ),
            FurtherPoint(
                (Reckoning((Quotient(tuple(total), (str(FITTING),)), "=", Strong(mean))),),
                mean,
                (said("guide class mean"),),
            ),
        ),
        space=(writing_lines(2), Space(height_mm=14.0, rule_mm=45.0, unit=answer.unit)),
        shown=(Rows(heading=heads, rows=rows, widths=(1 / len(values),) * len(values), summary=said("class summary"), headed=False),),
        hint=said("hint class values"),
        accepted=one_either_side(mean),
        unit=answer.unit,
        explained=(said("class key"),),
    )  # fmt: skip
