"""A planned experiment comes in; nothing goes out where it can be done so, a refusal where it cannot. It plans nothing.

What is planned is put back on the bench twice: unrounded it must give exactly what is demanded, for a plan that lay in a file may be
wrong; as it is written it must obey every rule that a drawn question obeys.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from fractions import Fraction

from molewright.bank.definitions import Archetype, Choice
from molewright.bench.perform import BenchFault, Readings, perform
from molewright.chem.quantity import Quantity
from molewright.draw.refusal import Refusal
from molewright.draw.windows import keep_windows
from molewright.errors import CheckFailure
from molewright.experiment.quantities import Name
from molewright.further_parts.pieces import Calculation

WINDOW = (
    Fraction(20),
    Fraction(30),
)  # cm³; common practice: large enough to be precise, within one filling of the burette
LEAST_WIDE = Fraction(2)  # cm³ that a window must leave to choose from
REACH = 2  # times beyond the range that a question draws from: further off, balance and glassware no longer suit (common practice)


@dataclass(frozen=True, slots=True)
class Planned:
    """A planned number: whose it is, exactly (in base units), and as it is written."""

    name: Name
    exact: Fraction
    written: Quantity


def window_of(archetype: Archetype) -> tuple[Fraction, Fraction]:
    """The titres in cm³ that serve a plan: a good titre that this kind of question could have, or any that it has."""
    low, high = archetype.windows.titre
    both = max(low, WINDOW[0]), min(high, WINDOW[1])
    return both if both[1] - both[0] >= LEAST_WIDE else (low, high)


def prove_titre(
    calculation: Calculation, values: Mapping[Name, Fraction], planned: Planned, titre: Name, aim: Fraction
) -> None:
    """Prove a number that was planned for a titre. Raises Refusal or CheckFailure; `values` hold what it was planned from."""
    found = _performed(calculation, {**values, planned.name: planned.exact}).titres[titre]
    if found != aim:
        raise CheckFailure(f"the {planned.name} planned for a titre of {aim} cm³ gives {found} cm³")
    written = {**values, planned.name: planned.written.in_base}
    readings = _performed(calculation, written)
    low, high = window_of(calculation.draw.archetype)
    if not low <= readings.titres[titre] <= high:
        raise Refusal("planning", f"the plan would give a titre of {float(readings.titres[titre]):.2f} cm³")
    try:
        keep_windows(calculation.draw.archetype, calculation.draw.variant.procedure, readings)
    except Refusal as refusal:
        raise _refused(refusal.rule, refusal.detail) from None
    require_believable(calculation, written, planned)


def prove_excess(
    calculation: Calculation, values: Mapping[Name, Fraction], planned: Planned, species: str, used: Fraction
) -> None:
    """Prove a volume of reagent of which this share is to be used up. Raises Refusal or CheckFailure."""
    there = {**calculation.draw.truth, **values}
    found = _performed(calculation, {**there, planned.name: planned.exact}).used[species]
    if found != used:
        raise CheckFailure(f"of the planned {planned.name} a share of {found} is used up, not {used}")
    written = {**there, planned.name: planned.written.in_base}
    _performed(calculation, written)
    require_believable(calculation, written, planned)


def require_believable(calculation: Calculation, values: Mapping[Name, Fraction], *planned: Planned) -> None:
    """Refuse a plan far from what this kind of question draws, and one whose chemistry is not believable."""
    draw = calculation.draw
    for one in planned:
        choice = draw.variant.choices.get(one.name)
        if choice is not None and not _within_reach(choice, one.written.in_base):
            raise Refusal("planning", f"a {one.name} of {one.written} is far from what this experiment is done with")
    given = {name: quantity for name, quantity in draw.given.items() if name not in {one.name for one in planned}}
    given.update((one.name, one.written) for one in planned)
    refused = calculation.plausibility.refusal(replace(draw, given=given, truth={**draw.truth, **values}, runs=()))
    if refused is not None:
        raise _refused(*refused)


def _within_reach(choice: Choice, exact: Fraction) -> bool:
    if choice.options:
        values = [option.in_base for option in choice.options]
        low, high = min(values), max(values)
    else:
        low, high = (Fraction(end or 0) * choice.unit.factor for end in (choice.low, choice.high))
    return low / REACH <= exact <= high * REACH


def _refused(rule: str, detail: str) -> Refusal:
    return Refusal("planning", f"the plan breaks the rule '{rule}': {detail}")


def _performed(calculation: Calculation, values: Mapping[Name, Fraction]) -> Readings:
    try:
        return perform(calculation.draw.variant.procedure, values)
    except BenchFault as fault:
        raise Refusal("planning", fault.detail) from None
    except KeyError as unknown:
        raise Refusal("planning", f"the {unknown.args[0]} is not known beforehand") from None
