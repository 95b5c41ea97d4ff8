"""Titration curves: flask and titrant come in; pH at any volume, volume at any pH and the steep parts go out.

Never chooses an indicator and never makes a number that is printed.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field
from math import fsum

from molewright.chem.equilibrium import (
    PKW_25C,
    Held,
    Solute,
    balanced_ph,
    full_acid,
    gathered,
    given_up_by_gas,
    protons_held,
    water_constant,
)
from molewright.errors import Mistake

_SAME_VOLUME_CM3 = 1e-6
_HALF_A_TENTH_CM3 = 0.05  # a burette is read to the nearest 0.05 cm³, about one drop
_PART_PERCENT = 0.2


@dataclass(frozen=True, slots=True)
class Curve:
    """Points of a titration curve in order of volume."""

    volumes_cm3: tuple[float, ...]
    phs: tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Steep:
    """The part of a curve round one equivalence point: the pH at it, and those a little before and a little after."""

    titration: Titration = field(repr=False)
    equivalence_cm3: float
    ph: float
    low: float
    high: float

    @property
    def height(self) -> float:
        """The pH jump; under about 1 no indicator shows it."""
        return self.high - self.low


@dataclass(frozen=True, slots=True, kw_only=True)
class Titration:
    """A flask of solutes in a volume, and the solutes of the titrant run into it. Volumes are taken to add up.

    `gas_left` (mol dm⁻³) says that acid is run in and the flask boiled before each reading. What was
    boiled off before an alkali is run in is gone: leave it out of the flask.
    """

    flask: tuple[Solute, ...]
    flask_cm3: float
    titrant: tuple[Solute, ...]
    pkw: float = PKW_25C
    gas_left: float | None = None
    _fixed: tuple[float, float] = field(init=False, repr=False, compare=False)
    _held: tuple[tuple[Held, ...], tuple[Held, ...]] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        if not 0 < self.flask_cm3 < math.inf:
            raise Mistake(f"a flask volume of {self.flask_cm3} cm³", expected="more than nothing")
        if not any(solute.concentration for solute in self.titrant):
            raise Mistake("a titrant with nothing in it", expected="at least one solute")
        in_flask, in_titrant = gathered(self.flask), gathered(self.titrant)
        object.__setattr__(self, "_fixed", (in_flask[0], in_titrant[0]))
        object.__setattr__(self, "_held", (in_flask[1], in_titrant[1]))
        if self.gas_left is not None and (self.rising or any(gas for _, _, gas in in_titrant[1])):
            raise Mistake(
                "a titration boiled as alkali or a gas is run in",
                expected="acid as the titrant",
                do="Leave what was boiled off out of the flask, and gas_left with it.",
            )

    # ------------------------------------------------------------ the curve, both ways round

    def ph_at(self, volume_cm3: float) -> float:
        """The pH after a volume of titrant."""
        if not 0 <= volume_cm3 < math.inf:
            raise Mistake(f"{volume_cm3} cm³ of titrant", expected="0 cm³ or more")
        there = self.flask_cm3 / (self.flask_cm3 + volume_cm3)
        added = 1 - there
        held = [(there * concentration, constants, gas) for concentration, constants, gas in self._held[0]]
        if volume_cm3:
            held += [(added * concentration, constants, gas) for concentration, constants, gas in self._held[1]]
        fixed = there * self._fixed[0] + added * self._fixed[1]
        return balanced_ph(fixed, held, water_constant(self.pkw), self.gas_left)

    @property
    def rising(self) -> bool:
        """Whether the pH rises as titrant runs in."""
        return self._titrant_ph > self.ph_at(0)

    @property
    def _titrant_ph(self) -> float:
        return balanced_ph(self._fixed[1], self._held[1], water_constant(self.pkw))

    def volume_at(self, at_ph: float) -> float:
        """The volume at which the pH passes `at_ph`: 0 where it has before the start, infinite where it never does."""
        start, end = self.ph_at(0), self._titrant_ph
        if (at_ph <= start) if end > start else (at_ph >= start):
            return 0.0
        # At a given pH every charge is proportional to a volume, so the balance is linear in the volume sought.
        hydrogen = 10.0**-at_ph
        water = hydrogen - water_constant(self.pkw) / hydrogen
        in_flask, in_titrant = (
            water + fixed + fsum(family[0] * protons_held(family[1], hydrogen) for family in held)
            for fixed, held in zip(self._fixed, self._held, strict=True)
        )
        volume = self._linear(in_flask, in_titrant)
        if self.gas_left is None:
            return volume
        for family in self._held[0]:
            there = self.flask_cm3 / (self.flask_cm3 + volume)
            if family[2] and there * full_acid(family, hydrogen) > self.gas_left:
                concentration, constants, _ = family
                in_flask += concentration * (len(constants) - protons_held(constants, hydrogen))
                in_flask -= self.gas_left * given_up_by_gas(constants, hydrogen)
                in_titrant -= self.gas_left * given_up_by_gas(constants, hydrogen)
                volume = self._linear(in_flask, in_titrant)
        return volume

    def _linear(self, in_flask: float, in_titrant: float) -> float:
        volume = -self.flask_cm3 * in_flask / in_titrant if in_titrant else math.inf
        return volume if volume >= 0 else math.inf

    def curve(self, volumes_cm3: Iterable[float]) -> Curve:
        """The pH at each of the volumes, sorted."""
        volumes = tuple(sorted(volumes_cm3))
        return Curve(volumes, tuple(self.ph_at(volume) for volume in volumes))

    def drawn(self, to_cm3: float, points: int = 100) -> Curve:
        """A curve for drawing: half the points even in volume, half even in pH so that the steep part is smooth."""
        if points < 4 or to_cm3 <= 0 or not math.isfinite(to_cm3):
            raise Mistake(f"{points} points up to {to_cm3} cm³", expected="at least 4 points, and a volume")
        even = points - points // 2
        first, last = self.ph_at(0), self.ph_at(to_cm3)
        known = {to_cm3 * place / (even - 1): 0.0 for place in range(even)}
        known = {volume: self.ph_at(volume) for volume in known}
        for place in range(1, points // 2 + 1):
            at_ph = first + (last - first) * place / (points // 2 + 1)
            volume = self.volume_at(at_ph)
            if 0 < volume < to_cm3:
                known[volume] = at_ph
        volumes = tuple(sorted(known))
        return Curve(volumes, tuple(known[volume] for volume in volumes))

    # ------------------------------------------------------------ equivalence points

    def equivalence_volumes(self) -> tuple[float, ...]:
        """The volumes at which titrant and flask have exchanged all protons of one stage, the smallest first.

        Between two neighbouring pKa values every family is taken to hold its protons fully or not at all; the
        same linear balance then gives a volume. Whether anything can be seen there is for `steep` to tell.
        """
        levels = sorted({pka for solute in (*self.flask, *self.titrant) if solute.concentration for pka in solute.pkas})
        volumes: list[float] = []
        for cut in [-math.inf, *levels]:
            in_flask, in_titrant = (_surplus(solutes, cut) for solutes in (self.flask, self.titrant))
            volume = -self.flask_cm3 * in_flask / in_titrant if in_titrant else 0.0
            if volume > _SAME_VOLUME_CM3 and all(abs(volume - other) > _SAME_VOLUME_CM3 for other in volumes):
                volumes.append(volume)
        return tuple(sorted(volumes))

    def steep(
        self,
        equivalence_cm3: float,
        *,
        within_cm3: float = _HALF_A_TENTH_CM3,
        within_percent: float = _PART_PERCENT,
    ) -> Steep:
        """The pH spanned from just before to just after a volume: by `within_cm3` or `within_percent`, the larger."""
        half = max(within_cm3, within_percent / 100 * equivalence_cm3)
        before, after = self.ph_at(max(equivalence_cm3 - half, 0.0)), self.ph_at(equivalence_cm3 + half)
        return Steep(
            titration=self,
            equivalence_cm3=equivalence_cm3,
            ph=self.ph_at(equivalence_cm3),
            low=min(before, after),
            high=max(before, after),
        )

    def steep_parts(self) -> tuple[Steep, ...]:
        """The steep part at every equivalence point, in order of volume."""
        return tuple(self.steep(volume) for volume in self.equivalence_volumes())


def _surplus(solutes: tuple[Solute, ...], cut: float) -> float:
    """Protons brought along beyond those that places with a pKa above the cut hold, in mol dm⁻³; below 0 they lack."""
    return fsum(solute.concentration * (solute.protons - sum(pka > cut for pka in solute.pkas)) for solute in solutes)
