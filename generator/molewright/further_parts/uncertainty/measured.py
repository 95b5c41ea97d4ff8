"""A procedure and the tolerances of its apparatus come in; everything that was measured goes out, each with its uncertainty."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from molewright.bank.definitions import Apparatus, Bank
from molewright.chem.quantity import Quantity, half_up, to_figures
from molewright.chem.units import Unit
from molewright.draw.chosen import Draw
from molewright.draw.refusal import Refusal
from molewright.experiment import quantities
from molewright.experiment.procedure import Aliquot, MakeUp, Measure, Titrate, Weigh
from molewright.experiment.quantities import Name

FIGURES = 2  # of a percentage uncertainty


@dataclass(frozen=True, slots=True, kw_only=True)
class Measurement:
    """One measured quantity: its name, what is printed of it, the apparatus, the uncertainty of one reading, how many readings."""

    name: Name
    quantity: Quantity
    apparatus: Apparatus
    each: Quantity
    readings: int
    kind: str  # "burette", "pipette", "volumetric flask", "balance", "measuring cylinder"

    @property
    def absolute(self) -> Fraction:
        """The uncertainty of the quantity: of all its readings."""
        return self.each.exact * self.readings

    @property
    def percentage(self) -> Fraction:
        """The percentage uncertainty, exactly."""
        return self.absolute / self.quantity.in_base * 100

    @property
    def percentage_shown(self) -> Quantity:
        """The percentage uncertainty as it is printed."""
        return self.percentage_to(FIGURES)

    def percentage_to(self, figures: int) -> Quantity:
        """The percentage uncertainty as it stands in working, to so many figures."""
        return Quantity(to_figures(self.percentage, figures), Unit.PERCENT)


# ------------------------------------------------------------------ what was measured, with what


def measurements(bank: Bank, draw: Draw) -> tuple[Measurement, ...]:
    """Everything that was measured and printed, in the order of the procedure, with class B tolerances.

    A burette's tolerance is shared by its two readings; a mass by difference has two readings, each to half of the last place.
    """
    found: list[Measurement] = []
    for operation in draw.variant.procedure.operations:
        match operation:
            case Weigh(sample=sample, weighed=True):
                found += _weighed(bank, draw, quantities.mass(sample))
            case Measure(solution=solution, vessel=vessel, apparatus=kind):
                found += _volume(bank, draw, quantities.volume_measured(solution.name, vessel), kind)
            case MakeUp(vessel=vessel):
                found += _volume(bank, draw, quantities.volume_made_up(vessel), "volumetric flask")
            case Aliquot(into=into, apparatus=kind):
                found += _volume(bank, draw, quantities.volume_taken(into), kind)
            case Titrate():
                found += _volume(bank, draw, operation.titre, "burette")
            case _:
                pass
    return tuple(found)


def _weighed(bank: Bank, draw: Draw, name: Name) -> list[Measurement]:
    mass = draw.given.get(name)
    if mass is None:
        return []
    for piece in bank.apparatus:
        if piece.kind == "balance" and piece.resolution and piece.tolerance and piece.resolution.places == mass.places:
            return [
                Measurement(name=name, quantity=mass, apparatus=piece, each=piece.tolerance, readings=2, kind="balance")
            ]
    raise Refusal("uncertainty", f"no balance of the bank reads a mass to {mass.places} places")


def _volume(bank: Bank, draw: Draw, name: Name, kind: str) -> list[Measurement]:
    volume = draw.given.get(name)
    if volume is None:
        return []
    for piece in bank.apparatus:
        if piece.kind != kind or piece.tolerance is None:
            continue
        if kind == "burette":
            each = Quantity(half_up(piece.tolerance.exact / 2, piece.tolerance.places), piece.tolerance.unit)
            return [Measurement(name=name, quantity=volume, apparatus=piece, each=each, readings=2, kind=kind)]
        if piece.capacity.in_base == volume.in_base:
            return [
                Measurement(name=name, quantity=volume, apparatus=piece, each=piece.tolerance, readings=1, kind=kind)
            ]
    raise Refusal("uncertainty", f"no {kind} of the bank measures {volume}")
