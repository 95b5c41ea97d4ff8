"""The pH of a mixture: solutes with their pKa values come in, one pH that leaves no net charge goes out.

Never knows a substance by name, never corrects for activity, and never makes a number that is printed: its floats judge
whether a titration is plausible.

A solute is an acid family with n places for protons (one pKa each) that brings p protons along. Whatever ions came with
it, electroneutrality is then [H⁺] − [OH⁻] + Σ c (protons now held − p) = 0, so spectator ions need no entry. With p
above n the rest are given up wholly (HCl: n = 0, p = 1; H2SO4: n = 1, p = 2); with p below 0 they are hydroxide ions
(Ba(OH)2: n = 0, p = −2). A salt of a weak base and a weak acid is two solutes: NH4⁺ (n = 1, p = 1) and CH3COO⁻
(n = 1, p = 0).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import fsum

from molewright.errors import Mistake

# Ion product of water at 25 °C, 13.995 in IAPWS R11-07 (2007), to the two places that tables print.
PKW_25C = 14.00

_MOST_CONCENTRATED = 20.0  # mol dm⁻³; the strongest bench acids and alkalis are at 12 to 19
_MOST_STAGES = 8
_CLOSE_ENOUGH = 1e-9  # in pH

# The constants of one family at one concentration: overall constants β1, β2 ... of taking up 1, 2 ... protons.
Constants = tuple[float, ...]
Held = tuple[float, Constants, bool]  # concentration, constants, whether the full acid is a gas


@dataclass(frozen=True, slots=True)
class Solute:
    """One acid family in solution: its pKa values, how many protons it was added with, and its concentration.

    `gas` says that boiling drives off the fully protonated form (carbon dioxide).
    """

    pkas: tuple[float, ...]
    protons: int
    concentration: float  # mol dm⁻³
    gas: bool = False

    def __post_init__(self) -> None:
        if not 0 <= self.concentration <= _MOST_CONCENTRATED:
            raise Mistake(
                f"a concentration of {self.concentration} mol dm⁻³", expected=f"0 to {_MOST_CONCENTRATED:g} mol dm⁻³"
            )
        if len(self.pkas) > _MOST_STAGES or not all(-10 <= pka <= 20 for pka in self.pkas):
            raise Mistake(f"the pKa values {self.pkas}", expected=f"at most {_MOST_STAGES} values between -10 and 20")
        if list(self.pkas) != sorted(self.pkas):
            raise Mistake(
                f"the pKa values {self.pkas} are out of order", expected="the first, most acidic stage in front"
            )
        if not -_MOST_STAGES <= self.protons <= len(self.pkas) + _MOST_STAGES:
            raise Mistake(f"{self.protons} protons", expected="the protons that one formula unit brings along")
        if self.gas and not self.pkas:
            raise Mistake("a gas without pKa values", expected="those of the acid that it makes with water")

    @property
    def stages(self) -> int:
        """How many protons the family can hold."""
        return len(self.pkas)


def dissolved(
    pkas: tuple[float, ...], protons: int, amount_mol: float, volume_cm3: float, *, gas: bool = False
) -> Solute:
    """An amount of a solute in a volume of solution."""
    if not volume_cm3 > 0:
        raise Mistake(f"a volume of {volume_cm3} cm³", expected="more than nothing")
    return Solute(pkas, protons, 1000 * amount_mol / volume_cm3, gas)


def ph(solutes: Iterable[Solute], *, pkw: float = PKW_25C, gas_left: float | None = None) -> float:
    """The pH of the mixture. With `gas_left` (mol dm⁻³) more gas than that has been boiled off."""
    fixed, held = gathered(solutes)
    return balanced_ph(fixed, held, water_constant(pkw), gas_left)


def fractions(pkas: tuple[float, ...], at_ph: float) -> tuple[float, ...]:
    """The parts of a family with 0, 1, 2 ... protons at a pH; together 1."""
    hydrogen = math.pow(10, -at_ph)
    weights = [1.0, *(constant * hydrogen**held for held, constant in enumerate(overall(pkas), 1))]
    total = fsum(weights)
    return tuple(weight / total for weight in weights)


# ---------------------------------------------------------------- the charge balance, shared with the titration curve


def water_constant(pkw: float) -> float:
    """Kw from pKw, which lies between 12 (100 °C) and 15 (0 °C)."""
    if not 11 <= pkw <= 16:
        raise Mistake(f"a pKw of {pkw}", expected="about 14 (12 in boiling water, 15 in ice-cold water)")
    return math.pow(10, -pkw)


@lru_cache(maxsize=1024)
def overall(pkas: tuple[float, ...]) -> Constants:
    """Overall constants of protonation: the last pKa is the first proton taken up."""
    constants: list[float] = []
    exponent = 0.0
    for pka in reversed(pkas):
        exponent += pka
        constants.append(10.0**exponent)
    return tuple(constants)


def gathered(solutes: Iterable[Solute]) -> tuple[float, tuple[Held, ...]]:
    """The charge that never changes, and each family once with all its concentration."""
    fixed = 0.0
    families: dict[tuple[tuple[float, ...], bool], float] = {}
    for solute in solutes:
        fixed -= solute.concentration * solute.protons
        if solute.pkas and solute.concentration:
            family = (solute.pkas, solute.gas)
            families[family] = families.get(family, 0.0) + solute.concentration
    return fixed, tuple((concentration, overall(pkas), gas) for (pkas, gas), concentration in families.items())


def protons_held(constants: Constants, hydrogen: float) -> float:
    """Mean number of protons that a family holds."""
    whole, held, power = 1.0, 0.0, 1.0
    for count, constant in enumerate(constants, 1):
        power *= hydrogen
        weight = constant * power
        whole += weight
        held += count * weight
    return held / whole


def given_up_by_gas(constants: Constants, hydrogen: float) -> float:
    """Protons that the anions of the family have given up, for each molecule of the full acid beside them."""
    stages = len(constants)
    full = constants[-1] * hydrogen**stages
    return (
        fsum((stages - held) * constant * hydrogen**held for held, constant in enumerate((1.0, *constants[:-1]))) / full
    )


def balanced_ph(fixed: float, held: Sequence[Held], water: float, gas_left: float | None = None) -> float:
    """The pH at which the charges balance; boils off what gas there is above `gas_left`."""
    found = _root(fixed, held, 0.0, (), water, None)
    if gas_left is None:
        return found
    if not gas_left > 0:
        raise Mistake(f"{gas_left} mol dm⁻³ of gas left", expected="a little more than nothing, as 1.4e-5")
    closed, escaping = list(held), list[Constants]()
    while True:
        gases = {family: full_acid(family, 10.0**-found) for family in closed if family[2]}
        most = max(gases, key=lambda family: gases[family], default=None)
        if most is None or gases[most] <= gas_left:
            return found
        closed.remove(most)
        escaping.append(most[1])
        fixed += most[0] * len(most[1])  # its spectator ions stay behind
        found = _root(fixed, closed, gas_left, escaping, water, found)


def full_acid(family: Held, hydrogen: float) -> float:
    """Concentration of the fully protonated form."""
    concentration, constants, _ = family
    weights = [constant * hydrogen**held for held, constant in enumerate(constants, 1)]
    return concentration * weights[-1] / (1 + fsum(weights))


def _root(
    fixed: float,
    held: Sequence[Held],
    gas_left: float,
    escaping: Sequence[Constants],
    water: float,
    at_least: float | None,
) -> float:
    # One-stage families are most of what a laboratory has: a shorter line for them halves the time.
    singles = [(concentration, 1 / constants[0]) for concentration, constants, _ in held if len(constants) == 1]
    others = [(concentration, constants) for concentration, constants, _ in held if len(constants) > 1]

    def charge(at_ph: float) -> float:
        hydrogen = 10.0**-at_ph
        total = hydrogen - water / hydrogen + fixed
        for concentration, dissociation in singles:
            total += concentration * hydrogen / (hydrogen + dissociation)
        for concentration, constants in others:
            total += concentration * protons_held(constants, hydrogen)
        for constants in escaping:
            total -= gas_left * given_up_by_gas(constants, hydrogen)
        return float(total)

    # No family holds fewer than none or more than all of its protons: so the root lies between these two.
    neutral = math.sqrt(water)
    lowest = -math.log10(max(-fixed, 0.0) + neutral)
    all_held = fixed + fsum(concentration * len(constants) for concentration, constants, _ in held)
    highest = math.log10((max(all_held, 0.0) + neutral) / water)
    return bracketed_root(charge, lowest if at_least is None else at_least, highest)


def bracketed_root(falling: Callable[[float], float], low: float, high: float) -> float:
    """Where a falling function passes zero between low and high: inverse quadratic steps, halving where they fail.

    T. R. Chandrupatla, Advances in Engineering Software 28 (1997) 145-149: fewer steps than Brent's on curves as
    sharp as that of a strong acid with a strong base.
    """
    newest, at_newest = low, falling(low)
    across, at_across = high, falling(high)
    if at_newest <= 0:
        return low
    if at_across >= 0:
        return high
    part = 0.5
    while True:
        trial = newest + part * (across - newest)
        at_trial = falling(trial)
        if (at_trial > 0) == (at_newest > 0):
            oldest, at_oldest = newest, at_newest
        else:
            oldest, at_oldest, across, at_across = across, at_across, newest, at_newest
        newest, at_newest = trial, at_trial
        best, at_best = (newest, at_newest) if abs(at_newest) < abs(at_across) else (across, at_across)
        least_part = _CLOSE_ENOUGH / abs(across - oldest)
        if least_part > 0.5 or at_best == 0:
            return best
        where = (newest - across) / (oldest - across)
        height = (at_newest - at_across) / (at_oldest - at_across)
        if height * height < where and (1 - height) ** 2 < 1 - where:
            part = at_newest / (at_across - at_newest) * at_oldest / (at_across - at_oldest)
            part += (
                (oldest - newest)
                / (across - newest)
                * at_newest
                / (at_oldest - at_newest)
                * at_across
                / (at_oldest - at_across)
            )
        else:
            part = 0.5
        part = min(1 - least_part, max(least_part, part))
