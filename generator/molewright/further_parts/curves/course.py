"""A calculation comes in; the course of its titration goes out: the pH at every volume, the end, the steep part as an eye sees it.

Constants are those of the tables, with no correction for other ions, so that half-way the pH is the pKa that a pupil looks up.
Only one acid or base with one end point is followed; everything else is refused. Nothing is worded.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from molewright.bank.definitions import AcidFamily, Bank
from molewright.chem.curve import Steep, Titration
from molewright.chem.quantity import half_up
from molewright.draw.chosen import Draw
from molewright.draw.refusal import Refusal
from molewright.experiment.solution import Solution
from molewright.further_parts.pieces import Calculation
from molewright.plausibility.flask import LastFlask, last_flask
from molewright.plausibility.solutes import Solutes

BURETTE_CM3 = 50
POINTS = 160
LEAST_JUMP = 2.0  # of pH within 0.2 % on both sides; below it no steep part is seen on paper
# Slopes in pH per cm³ on paper of 122 by 80 mm: where an eye first calls the curve steep (about 75°), where it is nearly
# upright, and where everyone calls it upright (88°).
SEEN, _STEEP, _UPRIGHT = 1.5, 4.0, 12.0
_SCAN = 0.05  # of pH


@dataclass(frozen=True, slots=True, kw_only=True)
class Course:
    """One titration of one acid or base: who is in the flask and in the burette, where it ends, and the weak acid in it."""

    titration: Titration
    end_cm3: float
    steep: Steep
    species: str  # of what is titrated
    titrant: Solution
    weak: AcidFamily | None

    @property
    def rising(self) -> bool:
        """Whether alkali is run in."""
        return self.titration.rising

    def points(self) -> tuple[tuple[float, float], ...]:
        """The curve for drawing, to a thousandth: the same digits on every machine."""
        return drawn_points(self.titration)

    def steep_part(self, slope: float = _STEEP) -> tuple[float, float]:
        """The pH range round the end in which the curve is steeper than so much pH per cm³."""
        low, high = (self._reach(step, slope) for step in (-_SCAN, _SCAN))
        return low, high

    def _reach(self, step: float, slope: float) -> float:
        at = self.steep.ph
        volume = self.titration.volume_at(at)
        while 0 < at < 14:
            further = self.titration.volume_at(at + step)
            if not 0 < further < BURETTE_CM3 or abs(step) < slope * abs(further - volume):
                break
            at, volume = at + step, further
        return at

    def accepted_ends(self) -> tuple[tuple[Decimal, Decimal], tuple[Decimal, Decimal]]:
        """Between which pH values an eye may end the steep part, below and above, in halves."""
        (wide_low, wide_high), (near_low, near_high) = self.steep_part(SEEN), self.steep_part(_UPRIGHT)
        return (halves(wide_low, -0.25), halves(near_low, 0.25)), (halves(near_high, -0.25), halves(wide_high, 0.25))


def halves(value: float, lean: float = 0.0) -> Decimal:
    """The nearest half, after a lean to one side."""
    return half_up(Fraction(repr(round((value + lean) * 2, 6))), 0) / 2


def drawn_points(
    titration: Titration, across_cm3: int = BURETTE_CM3, points: int = POINTS
) -> tuple[tuple[float, float], ...]:
    """A titration curve over the whole burette, or over so much, close points where it is steep."""
    curve = titration.drawn(float(across_cm3), points)
    return tuple((round(x, 3), round(y, 3)) for x, y in zip(curve.volumes_cm3, curve.phs, strict=True))


def course(calculation: Calculation) -> Course:
    """The course of a question's last titration. Raises Refusal where it is none that a pupil's curve can show."""
    found = follow(calculation.bank, calculation.draw)
    if found is None:
        raise Refusal("curve", "no single acid or base with one end point is titrated")
    return found


def follow(bank: Bank, draw: Draw) -> Course | None:
    """The course of a draw's last titration, or None."""
    procedure = draw.variant.procedure
    last = procedure.titrations[-1]
    solutes = Solutes.of_tables(bank)
    flask = last_flask(procedure, draw.truth, solutes.held)
    if flask is None or not flask.titre_cm3 < BURETTE_CM3:
        return None
    acting = [one for one in flask.amounts if solutes.acts(one)]
    if len(acting) != 1 or not solutes.acts(last.titrant.species):
        return None
    titration = titration_of(solutes, flask, last.titrant.species)
    if any(solute.gas for solute in (*titration.flask, *titration.titrant)):
        return None
    seen = [part for part in titration.steep_parts() if part.height >= LEAST_JUMP]
    if len(seen) != 1 or abs(seen[0].equivalence_cm3 - flask.titre_cm3) > 0.05:
        return None
    return Course(
        titration=titration,
        end_cm3=flask.titre_cm3,
        steep=seen[0],
        species=acting[0],
        titrant=last.titrant,
        weak=_weak(bank, solutes, acting[0]),
    )


def titration_of(solutes: Solutes, flask: LastFlask, titrant: str) -> Titration:
    """What is in a flask, titrated with a species that is as strong in the burette as the titrant is."""
    there = {one: moles * 1000 / flask.volume_cm3 for one, moles in flask.amounts.items() if moles > 0}
    return Titration(
        flask=solutes.dissolved(there),
        flask_cm3=flask.volume_cm3,
        titrant=solutes.dissolved({titrant: flask.titrant}),
    )


def _weak(bank: Bank, solutes: Solutes, species: str) -> AcidFamily | None:
    """The acid family of what is titrated, where it is a weak acid with one stage or the base of one."""
    acting = [ion for count, ion in solutes.parts(species) or () for _ in range(count) if ion.protons or ion.acids]
    if len(acting) != 1 or len(acting[0].acids) != 1:
        return None
    found = bank.acids[acting[0].acids[0]]
    return found if len(found.pkas) == 1 else None


def read_off(value: float) -> Decimal:
    """A pH or a volume in cm³ as it can be read off squared paper: to one place."""
    return half_up(Fraction(repr(value)), 1)
