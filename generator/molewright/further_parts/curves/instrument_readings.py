"""A calculation comes in; the readings of a titration followed by a thermometer or a conductivity meter go out, with their lines.

Temperatures follow from heats of reaction, conductivities from the ions that are there; a small scatter comes from the stream.
Both are corrected for the volume added, which makes straight lines of what is proportional to the reaction.
Volumes are those of the printed titre, so that the true lines meet at it. Nothing is worded and nothing is marked.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from functools import partial

from molewright.bank.definitions import Bank
from molewright.chem.conductance import conductivity
from molewright.chem.equilibrium import PKW_25C, fractions, ph
from molewright.chem.heat import Cup
from molewright.chem.quantity import half_up
from molewright.draw.refusal import Refusal
from molewright.draw.stream import Stream
from molewright.experiment.solution import Solution
from molewright.further_parts.pieces import Calculation
from molewright.plausibility.flask import last_flask
from molewright.plausibility.solutes import Solutes

WATER_CM3 = 100.0  # added so that the electrodes are covered; the wording says so
PORTIONS_CM3 = (Decimal("2.0"), Decimal("2.5"), Decimal("3.0"))
CLEAR_CM3 = Decimal("0.5")  # of the end point: a reading there would give it away
PAST_CM3 = Decimal(12)  # how far beyond the end point readings go on
BURETTE_CM3 = Decimal(50)
NEAREST = 4  # readings on each side, through which a careless line may be drawn
MOST_APART_CM3 = Fraction(1)  # between what straight lines give and the titre, where ions bend the lines a little
MOST_APART_HEAT_CM3 = Fraction(3, 10)  # the same where only the scatter of the readings moves them
_BENT = Fraction(1, 4)  # of the way to the end point, in which a weak acid's own ions bend the line
_STRONGEST = 2.5  # pKa: a stage as strong as this is neutralised as a strong acid is
_SCATTERS = 40  # tried, until the lines through what is printed meet near the end point
_SETTLES_PKSP = 8.0  # of a solid of which no meter shows what is left in solution: 10⁻⁴ mol dm⁻³ and less

Reading = tuple[Decimal, Decimal]
Path = tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Followed:
    """Readings before and after the end point, the two true lines as drawn, where they meet, and what honest lines give."""

    titrant: Solution
    end_cm3: Decimal
    before: tuple[Reading, ...]
    after: tuple[Reading, ...]
    lines: tuple[Path, Path]
    meeting: float  # the height at which the true lines meet
    least: Fraction  # of the volumes that honest lines give
    most: Fraction
    bent: bool = False  # whether the line before the end point begins with a bend


def follow_heat(calculation: Calculation) -> Followed:
    """The titration in an insulated cup, each rise of temperature corrected for the volume added, so that both lines are straight.

    Raises Refusal where no heat of the reaction is known, or where every scatter would mislead a pupil's ruler.
    """
    found = Experiment(calculation)
    cup = Cup(found.volume_cm3, _start(calculation.stream), float(found.end_cm3), found.heat_kj(calculation.bank))

    def plotted(volume: Decimal, temperature: Decimal) -> Decimal:
        if not volume:  # what was read there is the start
            return Decimal("0.0")
        return half_up(Fraction(repr(cup.corrected(float(temperature), float(volume)))), 1)

    last = Refusal("graph", "no scatter was tried")
    for attempt in range(_SCATTERS):
        stream = calculation.stream.branch(f"scatter {attempt}")
        before, after = _readings(found, cup.at, stream, 1, partial(stream.pick, (-1, 0, 0, 1)), plotted)
        slope = Fraction(repr(cup.whole_rise_c)) / Fraction(found.end_cm3)
        lines = (
            _straight((Fraction(0), slope), 0.0, float(found.end_cm3) + 2.0),
            _straight((slope * Fraction(found.end_cm3), Fraction(0)), float(found.end_cm3) - 2.0, float(after[-1][0])),
        )
        try:
            return _judged(found, before, after, before, lines, cup.whole_rise_c, MOST_APART_HEAT_CM3)
        except Refusal as refusal:
            last = refusal
    raise last


def follow_conductance(calculation: Calculation) -> Followed:
    """The titration with a conductivity meter, each reading corrected for the volume added."""
    found = Experiment(calculation)
    beaker = _Beaker(calculation.bank, found)
    wide = max(beaker.at(0.0), beaker.at(float(found.end_cm3 + PAST_CM3)))
    most = max(1, round(wide / 2))  # about half a per cent of the scale, in the last place
    before, after = _readings(found, beaker.at, calculation.stream, 2, lambda: calculation.stream.whole(-most, most))
    used = tuple(one for one in before if not beaker.weak or one[0] >= Fraction(found.end_cm3) * _BENT)
    sides = [_fitted([(x, half_up(Fraction(repr(beaker.at(float(x)))), 6)) for x, _ in side]) for side in (used, after)]
    end, (height, slope) = float(found.end_cm3), sides[0]
    lines = (
        _straight(sides[0], float(used[0][0]), end + 3.0),
        _straight(sides[1], max(0.0, end - 3.0), float(after[-1][0])),
    )
    judged = _judged(found, before, after, used, lines, float(height + slope * Fraction(found.end_cm3)))
    return replace(judged, bent=len(used) < len(before))


# ------------------------------------------------------------------ what is mixed


class Experiment:
    """One solution in the vessel, one in the burette; amounts as the printed titre has them."""

    def __init__(self, calculation: Calculation) -> None:
        draw = calculation.draw
        last = draw.variant.procedure.titrations[-1]
        flask = last_flask(draw.variant.procedure, draw.truth, Solutes(calculation.bank).held)
        titre = draw.given.get(last.titre)
        if flask is None or titre is None or len(flask.amounts) != 1:
            raise Refusal("graph", "no single substance with a printed titre is titrated")
        ((species, moles),) = flask.amounts.items()
        portion = next((one for one in draw.variant.procedure.solutions() if one.species == species), None)
        self.flask = portion.solute if portion else species
        self.titrant = last.titrant
        self.end_cm3 = titre.number
        self.volume_cm3 = flask.volume_cm3
        self.moles = moles * float(titre.number) / flask.titre_cm3 / (portion.count if portion else 1)
        self.strength = flask.titrant / last.titrant.count  # mol dm⁻³

    def heat_kj(self, bank: Bank) -> float:
        """The heat of the whole reaction: by the water that its hydrogen ions and hydroxide ions could make."""
        protons, each = 0.0, next((ion.heat for ion in bank.ions.values() if ion.heat is not None), 0.0)
        for count, ion in Solutes(bank).parts(self.flask) or ():
            pkas = [bank.acids[name].pkas for name in ion.acids]
            protons += count * abs(ion.protons)
            weak = [heat for name in ion.acids if (heat := bank.acids[name].heat) is not None]
            if weak:
                protons, each = protons + count, weak[0]
            elif pkas and pkas[0][0] < _STRONGEST:  # the second stage of sulfuric acid
                protons += count
            elif pkas:
                protons = 0.0
                break
        if not protons or not each:
            raise Refusal("graph", f"no heat of reaction is known for {self.flask}")
        return self.moles * protons * each


class _Beaker:
    """The ions in the beaker after every volume added."""

    def __init__(self, bank: Bank, found: Experiment) -> None:
        self.found = found
        self.solutes = Solutes.of_tables(bank)
        self.limiting = {one.formula: one.limiting for one in bank.ions.values() if one.limiting is not None}
        self.solids = [
            (salt.cation, salt.anion)
            for salt in bank.sparing
            if salt.solid.pksp >= _SETTLES_PKSP and salt.solid.cations == salt.solid.anions == 1
        ]
        self.members: dict[tuple[str, int], str] = {}  # of each family the first that the bank names
        for ion in bank.ions.values():
            for name in ion.acids:
                self.members.setdefault((name, ion.lost), ion.formula)
        self.volume_cm3 = found.volume_cm3 + WATER_CM3
        self.weak = any(ion.acids for _, ion in self.solutes.parts(found.flask) or ())
        if any(self.solutes.parts(one) is None for one in (found.flask, found.titrant.solute)):
            raise Refusal("graph", "the ions of a solution are not known")

    def at(self, added_cm3: float) -> float:
        """The conductivity in mS cm⁻¹, as if nothing had been diluted by what was added."""
        whole = self.volume_cm3 + added_cm3
        mixture = {
            self.found.flask: 1000 * self.found.moles / whole,
            self.found.titrant.solute: self.found.strength * added_cm3 / whole,
        }
        found = conductivity(self.ions(mixture), self.limiting)
        if found is None:
            raise Refusal("graph", "the conductivity of an ion is not known")
        return found * whole / self.volume_cm3

    def ions(self, mixture: Mapping[str, float]) -> dict[str, float]:
        """Concentrations by ion, weak acids and bases at their equilibrium, sparingly soluble solids settled."""
        acidity = ph(self.solutes.dissolved(mixture))
        ions: dict[str, float] = {"H+": 10**-acidity, "OH-": 10 ** (acidity - PKW_25C)}
        for species, concentration in mixture.items():
            for count, ion in self.solutes.parts(species) or ():
                if ion.protons:
                    continue
                shares = {ion.formula: 1.0}
                if ion.acids:
                    pkas = self.solutes.pkas[ion.acids[0]]
                    held = fractions(pkas, acidity)
                    shares = {self.members[ion.acids[0], len(pkas) - many]: share for many, share in enumerate(held)}
                for formula, share in shares.items():
                    ions[formula] = ions.get(formula, 0.0) + count * concentration * share
        for cation, anion in self.solids:
            settled = min(ions.get(cation, 0.0), ions.get(anion, 0.0))
            for one in (cation, anion):
                if one in ions:
                    ions[one] -= settled
        return ions


# ------------------------------------------------------------------ readings


def _start(stream: Stream) -> float:
    """A room's temperature, to a fifth of a degree."""
    return 18 + stream.whole(0, 20) / 5


def _as_read(_: Decimal, reading: Decimal) -> Decimal:
    return reading


def _readings(
    found: Experiment,
    at: Callable[[float], float],
    stream: Stream,
    places: int,
    scatter: Callable[[], int],
    plotted: Callable[[Decimal, Decimal], Decimal] = _as_read,
) -> tuple[tuple[Reading, ...], tuple[Reading, ...]]:
    """What is plotted after every portion, from readings scattered in their last place.

    None lies so near the end point that it gives it away.
    """
    for portion in stream.shuffled(PORTIONS_CM3):
        count = int(min(found.end_cm3 + PAST_CM3, BURETTE_CM3) / portion)
        volumes = [portion * number for number in range(count + 1)]
        if min(abs(volume - found.end_cm3) for volume in volumes) >= CLEAR_CM3:
            break
    else:
        raise Refusal("graph", f"every series of portions comes upon {found.end_cm3} cm³")
    step = Fraction(1, 10**places)
    readings = [
        (one, plotted(one, half_up(Fraction(repr(at(float(one)))) + scatter() * step, places))) for one in volumes
    ]
    before = tuple(one for one in readings if one[0] < found.end_cm3)
    after = tuple(one for one in readings if one[0] > found.end_cm3)
    if min(len(before), len(after)) < NEAREST:
        raise Refusal("graph", "too few readings for a line")
    return before, after


def _judged(found: Experiment, before: tuple[Reading, ...], after: tuple[Reading, ...], used: Sequence[Reading],
            lines: tuple[Path, Path], meeting: float, most_apart: Fraction = MOST_APART_CM3) -> Followed:  # fmt: skip
    end = Fraction(found.end_cm3)
    volumes = [end, _meeting(used, after), _meeting(used[-NEAREST:], after[:NEAREST])]
    if max(volumes) - end > most_apart or end - min(volumes) > most_apart:
        raise Refusal(
            "graph", f"straight lines would meet at {float(volumes[1]):.1f} cm³ and not at {found.end_cm3} cm³"
        )
    return Followed(
        titrant=found.titrant,
        end_cm3=found.end_cm3,
        before=before,
        after=after,
        lines=lines,
        meeting=round(meeting, 3),
        least=min(volumes),
        most=max(volumes),
    )


# ------------------------------------------------------------------ lines


def _fitted(points: Sequence[Reading]) -> tuple[Fraction, Fraction]:
    """Height at 0 and slope of the straight line of least squares."""
    xs, ys = [Fraction(x) for x, _ in points], [Fraction(y) for _, y in points]
    middle, level = sum(xs, Fraction(0)) / len(xs), sum(ys, Fraction(0)) / len(ys)
    slope = sum(((x - middle) * (y - level) for x, y in zip(xs, ys, strict=True)), Fraction(0)) / sum(
        ((x - middle) ** 2 for x in xs), Fraction(0)
    )
    return level - slope * middle, slope


def _meeting(before: Sequence[Reading], after: Sequence[Reading]) -> Fraction:
    """The volume at which the straight lines through two sets of readings meet."""
    (height, slope), (other, far) = _fitted(before), _fitted(after)
    if slope == far:
        raise Refusal("graph", "the two lines would be parallel")
    return (other - height) / (slope - far)


def _straight(fitted: tuple[Fraction, Fraction], start: float, end: float) -> Path:
    height, slope = map(float, fitted)
    return tuple((round(x, 3), round(height + slope * x, 3)) for x in (start, end))
