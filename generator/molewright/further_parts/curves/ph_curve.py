"""A calculation comes in; parts on its pH curve go out: reading it, and sketching it on blank axes. The curve is computed.

What may be read off squared paper is accepted, and no more: half a division in volume, 0.2 in pH, and for the ends of the
steep part every pH between where an eye first calls it steep and where it stands upright.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from molewright.bank.definitions import AcidFamily
from molewright.chem.quantity import Quantity, half_up
from molewright.chem.units import Unit
from molewright.further_parts.curves.course import BURETTE_CM3, Course, course, halves, read_off
from molewright.further_parts.curves.suitable_indicators import printed_steep
from molewright.further_parts.pieces import (
    Bottle,
    Calculation,
    Chemical,
    FurtherPart,
    FurtherPoint,
    Letter,
    Piece,
    Quotient,
    Reckoning,
    Said,
    Space,
    Strong,
    said,
)

_PH_READ = Decimal("0.2")
_VOLUME_READ = Decimal("0.5")  # cm³, half a division of the paper
_WEAK_START, _STRONG_START = Decimal(1), Decimal("0.5")  # how far a sketch may start from the pH
PKA: Piece = ("p", Letter("K", "a"))


@dataclass(frozen=True, slots=True)
class Spot:
    """A place to point out on a curve: a point, or with `to_ph` the stretch from one pH to another."""

    volume_cm3: float
    ph: float
    label: Piece
    to_ph: float | None = None


@dataclass(frozen=True, slots=True)
class Strip:
    """The range of an indicator."""

    name: str
    low: Decimal
    high: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class CurvePicture:
    """The facts of a curve: its points (none for blank axes), the solution in the burette, what is pointed out."""

    titrant: str
    points: tuple[tuple[float, float], ...] = ()
    spots: tuple[Spot, ...] = ()
    strips: tuple[Strip, ...] = ()
    across_cm3: int = BURETTE_CM3
    divided: int = 5  # small divisions between two numbers, which are 5 cm³ apart
    burette: str = ""  # what is in it, where no solution of the procedure is
    kind: str = "pH curve"


def read_curve(calculation: Calculation) -> tuple[FurtherPart, ...]:
    """The parts that read a curve: start, end point, steep part, and for a weak acid or base the pKa half-way."""
    found = course(calculation)
    picture = CurvePicture(titrant=found.titrant.name, points=found.points())
    start = read_off(found.titration.ph_at(0))
    ph_space = (Space(height_mm=6.0, rule_mm=45.0, label="pH ="),)
    volume = read_off(found.end_cm3)
    parts = [
        FurtherPart(
            kind="pH curve",
            demand=said("curve start", titrant=Bottle(found.titrant.name)),
            points=(FurtherPoint((Reckoning(("pH", "=", Strong(str(start)))),), str(start)),),
            space=ph_space,
            shown=(picture,),
            hint=said("hint curve start"),
            accepted=(start - _PH_READ, start + _PH_READ),
        ),
        FurtherPart(
            kind="pH curve",
            demand=said("curve end", titrant=Bottle(found.titrant.name)),
            points=(FurtherPoint((Strong(Quantity(volume, Unit.CM3)),), Quantity(volume, Unit.CM3)),),
            space=(Space(height_mm=6.0, rule_mm=45.0, unit=Unit.CM3),),
            shown=(),
            hint=said("hint curve end"),
            accepted=(volume - _VOLUME_READ, volume + _VOLUME_READ),
            unit=Unit.CM3,
        ),
        _steep(found, printed_steep(calculation, found)),
    ]
    if found.weak is not None:
        parts.append(_half_way(found, found.weak))
    return tuple(parts)


def _steep(found: Course, ends: tuple[Decimal, Decimal]) -> FurtherPart:
    low, high = ends
    (low_from, low_to), (high_from, high_to) = found.accepted_ends()
    return FurtherPart(
        kind="pH curve",
        demand=said("curve steep"),
        points=(
            FurtherPoint(
                (said("scheme steep", low=Strong(str(low)), high=Strong(str(high))),),
                f"pH {low} to {high}",
                (
                    said("guide steep low", least=str(low_from), most=str(low_to)),
                    said("guide steep high", least=str(high_from), most=str(high_to)),
                ),
            ),
        ),
        space=(
            Space(height_mm=4.0, rule_mm=35.0, label=said("label from pH")),
            Space(height_mm=1.0, rule_mm=35.0, label=said("label to pH")),
        ),
        shown=(),
        hint=said("hint curve steep"),
    )


def _half_way(found: Course, family: AcidFamily) -> FurtherPart:
    volume = read_off(found.end_cm3)
    half = half_up(Fraction(volume) / 2, 2) if volume % Decimal("0.2") else half_up(Fraction(volume) / 2, 1)
    there = read_off(found.titration.ph_at(float(found.end_cm3) / 2))
    return FurtherPart(
        kind="pH curve",
        demand=said("curve half", constant=PKA, acid=(family.with_article, ", ", Chemical(family.formula))),
        points=(
            FurtherPoint(
                (
                    Reckoning(
                        (
                            said("half the end"), "=", Quotient((str(volume),), ("2",)), "=",
                            Strong(Quantity(half, Unit.CM3)),
                        )
                    ),
                ),
                Quantity(half, Unit.CM3),
                (said("guide curve half"),),
            ),
            FurtherPoint((_equals(there, rising=found.rising),), str(there), (said("guide half pH"),)),
        ),
        space=(Space(height_mm=16.0, rule_mm=45.0, label=(PKA, " =")),),
        shown=(),
        hint=said("hint curve half", constant=PKA),
        accepted=(there - _PH_READ, there + _PH_READ),
    )  # fmt: skip


def _equals(there: Decimal, *, rising: bool) -> Said:
    return said("scheme half acid" if rising else "scheme half base", constant=PKA, ph=Strong(str(there)))


def _text(ph: float) -> str:
    return str(read_off(ph))


# ------------------------------------------------------------------ sketching


def sketch_curve(calculation: Calculation) -> tuple[FurtherPart, ...]:
    """One part: the curve sketched on blank axes, a mark each for start, upright part, its range, and levelling off."""
    found = course(calculation)
    titration = found.titration
    start, end = titration.ph_at(0), titration.ph_at(BURETTE_CM3)
    volume = read_off(found.end_cm3)
    low, high = (halves(edge) for edge in found.steep_part())
    (low_from, low_to), (high_from, high_to) = found.accepted_ends()
    near = _STRONG_START if found.weak is None else _WEAK_START
    spots = (
        Spot(0.0, start, said("spot start", ph=_text(start))),
        Spot(found.end_cm3, titration.ph_at(found.end_cm3), said("spot end", volume=Quantity(volume, Unit.CM3))),
        Spot(found.end_cm3 + 2.0, float(low), said("spot steep", low=str(low), high=str(high)), float(high)),
    )
    known: tuple[Piece, ...] = ()
    if found.weak is not None:
        pka = str(half_up(Fraction(repr(found.weak.pkas[0])), 2))
        known = (" ", said("sketch constant", constant=PKA, acid=found.weak.with_article, number=pka))
    drawn = CurvePicture(titrant=found.titrant.name, points=found.points(), spots=spots)
    return (
        FurtherPart(
            kind="sketch",
            demand=said("sketch curve", unit=Unit.CM3, titrant=Bottle(found.titrant.name), known=known),
            points=(
                _sketched("sketch start", _text(start), "guide sketch start", start, near, ph=_text(start)),
                FurtherPoint(
                    (said("sketch upright", volume=Strong(Quantity(volume, Unit.CM3))),),
                    Quantity(volume, Unit.CM3),
                    (said("guide sketch upright"),),
                ),
                FurtherPoint(
                    (said("sketch range", low=Strong(str(low)), high=Strong(str(high))),),
                    f"pH {low} to {high}",
                    (
                        said("guide steep low", least=str(low_from), most=str(low_to)),
                        said("guide steep high", least=str(high_from), most=str(high_to)),
                    ),
                ),
                _sketched("sketch level", _text(end), "guide sketch level", end, Decimal(1), ph=_text(end)),
            ),
            space=(),
            shown=(CurvePicture(titrant=found.titrant.name),),
            hint=said("hint sketch"),
            answered=(drawn,),
        ),
    )


def _sketched(key: str, answer: str, guide: str, value: float, near: Decimal, *, ph: str) -> FurtherPoint:
    """A point of a sketch that lies near a pH: between the halves that hold all within `near`."""
    least, most = halves(value - float(near)), halves(value + float(near))
    within = said(guide, least=str(max(Decimal(0), least)), most=str(min(Decimal(14), most)))
    return FurtherPoint((said(key, ph=Strong(ph)),), f"pH {answer}", (within,))
