"""The banks come in; every equation that a pupil may be asked for goes out, with each demand that it can be asked by."""

from __future__ import annotations

from molewright.answer.equations import AskedEquation
from molewright.bank.definitions import Bank
from molewright.further_parts.equations.right_equation import ionic_equation, right_equation


def every_equation(bank: Bank) -> list[AskedEquation]:
    """Full equations without and with state symbols, ionic ones, half-equations."""
    found = []
    for entry in bank.reactions:
        found.append(right_equation(bank, entry.reaction, "full", 2))
        found.append(right_equation(bank, entry.reaction, "full", 3, states=True))
        if ionic_equation(bank, entry.reaction) is not None:
            found.append(right_equation(bank, entry.reaction, "ionic", 2))
        if entry.halves is not None:
            found += [
                right_equation(bank, half, "half", 1) for half in (entry.halves.oxidation, entry.halves.reduction)
            ]
    return found
