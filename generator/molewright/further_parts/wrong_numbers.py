"""What common mistakes make of a further part's number comes in; the wrong answers that its scheme prints go out, with their slips.

A wrong number that would be accepted, or that another mistake gives as well, is left out. Nothing is worded.
"""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal
from fractions import Fraction

from molewright.bank.definitions import Bank
from molewright.chem.quantity import Quantity, in_standard_form, to_figures
from molewright.chem.units import Unit
from molewright.further_parts.pieces import FurtherWrongAnswer

_FIGURES = 3

Wrong = tuple[str, Fraction, int]
"""The kind of wrong number as slips.yaml has it under `seen in`, the number in the unit of the part, the marks that it keeps."""


def wrong_numbers(
    bank: Bank, accepted: tuple[Decimal, Decimal], unit: Unit, found: Iterable[Wrong]
) -> tuple[FurtherWrongAnswer, ...]:
    """The wrong answers of a part whose number is accepted between these ends, the likeliest first as they were told."""
    low, high = accepted
    kept: dict[Decimal, FurtherWrongAnswer] = {}
    for kind, exact, marks in found:
        slip = bank.slip_seen_in(kind)
        number = to_figures(exact, _FIGURES)
        if slip is None or number <= 0 or low <= number <= high:
            continue
        written = Quantity(number, unit, in_standard_form(exact, unit))
        kept.setdefault(number, FurtherWrongAnswer(written, ((slip.key, slip.name),), marks))
    return tuple(kept.values())
