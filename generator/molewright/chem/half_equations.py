"""Two half-equations come in; how often each is taken, what cancels, and the full equation go out.

Balance is counted by `reaction`; nothing is guessed: electrons on the wrong side are refused.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import gcd, lcm

from molewright.chem.reaction import Reaction, Species, require_balance
from molewright.errors import Mistake, shortened


@dataclass(frozen=True, slots=True, kw_only=True)
class Halves:
    """An oxidation and a reduction put together: `whole` = (both, each so many times) / `divisor`, without what cancels."""

    oxidation: Reaction
    reduction: Reaction
    oxidation_times: int
    reduction_times: int
    electrons: int  # that the one gives and the other takes, so many times each
    cancelled: tuple[str, ...]  # formulae that stand on both sides beside the electrons: hydrogen ions, water
    divisor: int  # of every coefficient afterwards, where all share a factor
    whole: Reaction


def put_together(oxidation: Reaction, reduction: Reaction) -> Halves:
    """Two half-equations with all that a pupil writes down to add them.

    Terms of the reduction come first, as an oxidising agent is usually written first. Raises Mistake where one has its electrons
    on the wrong side, does not balance, or undoes the other.
    """
    given = _electrons_of("oxidation", oxidation, oxidation.right, oxidation.left, "right")
    taken = _electrons_of("reduction", reduction, reduction.left, reduction.right, "left")
    shared = lcm(given, taken)
    net: dict[str, int] = {}  # left positive, right negative
    kinds: dict[str, list[Species]] = {}
    sides: dict[str, set[bool]] = {}
    for half, times in ((reduction, shared // taken), (oxidation, shared // given)):
        for sign, side in ((times, half.left), (-times, half.right)):
            for species in side:
                text = species.formula.text
                net[text] = net.get(text, 0) + sign * species.coefficient
                kinds.setdefault(text, []).append(species)
                sides.setdefault(text, set()).add(sign > 0)
    divisor = gcd(*net.values())
    if not divisor:
        raise Mistake(
            f"{shortened(oxidation.text, 120)} and {shortened(reduction.text, 120)} undo each other",
            expected="half-equations of two different couples",
        )
    whole: dict[bool, list[Species]] = {True: [], False: []}
    for text, count in net.items():
        if count:
            state = next((species.state for species in kinds[text] if species.state), "")
            whole[count > 0].append(Species(abs(count) // divisor, kinds[text][0].formula, state))
    both = tuple(text for text, where in sides.items() if len(where) == 2 and not kinds[text][0].formula.is_electron)
    full = Reaction(tuple(whole[True]), tuple(whole[False]))
    return Halves(
        oxidation=oxidation,
        reduction=reduction,
        oxidation_times=shared // given,
        reduction_times=shared // taken,
        electrons=shared,
        cancelled=both,
        divisor=divisor,
        whole=full,
    )


def _electrons_of(
    name: str, half: Reaction, with_electrons: tuple[Species, ...], without: tuple[Species, ...], side: str
) -> int:
    electrons = sum(species.coefficient for species in with_electrons if species.formula.is_electron)
    if not electrons or any(species.formula.is_electron for species in without):
        raise Mistake(
            f"the half-equation of the {name}, {shortened(half.text, 120)}, does not have e- on the {side} only",
            expected=f"electrons on the {side}",
        )
    require_balance(half)
    return electrons
