"""Burette readings: runs with initial and final readings, the concordant set among them, and the mean as a marker takes it.

Readings are to 0.05 cm³ (half a division); concordant means within 0.10 cm³ of each other, all of them, not neighbour by
neighbour (common practice in post-16 practical work, no source). The rough run is never averaged.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import lcm

from molewright.errors import Mistake

CONCORDANT_CM3 = Fraction(1, 10)
READING_CM3 = Fraction(1, 20)
GRAPH_CM3 = Fraction(1, 2)  # what a volume is read to from squared paper


@dataclass(frozen=True, slots=True)
class Run:
    """One run: initial and final reading in cm³; the rough run is marked."""

    initial: Fraction
    final: Fraction
    rough: bool = False

    @property
    def titre(self) -> Fraction:
        """Final minus initial reading, in cm³."""
        return self.final - self.initial


def concordant_sets(runs: tuple[Run, ...]) -> list[tuple[int, ...]]:
    """Every largest set (by index) of at least two runs whose titres agree within 0.10 cm³, all with all."""
    parts, readings = in_wholes(runs)
    return concordant_wholes([final - initial for initial, final in readings], parts)


def concordant_wholes(titres: Sequence[int], parts: int) -> list[tuple[int, ...]]:
    """The same of titres in whole parts of a cm³, so many of which make one: they are compared ten times as fast as fractions."""
    order = sorted(range(len(titres)), key=titres.__getitem__)
    reach, one = parts * CONCORDANT_CM3.numerator, CONCORDANT_CM3.denominator
    windows: list[tuple[int, ...]] = []
    end = taken = 0
    for start, lowest in enumerate(order):
        while end < len(order) and (titres[order[end]] - titres[lowest]) * one <= reach:
            end += 1
        if end > taken and end - start >= 2:  # else it lies within the window before it
            windows.append(tuple(sorted(order[start:end])))
            taken = end
    return windows


def in_wholes(runs: tuple[Run, ...]) -> tuple[int, list[tuple[int, int]]]:
    """Into how many parts a cm³ is parted, and the initial and final reading of each run in whole numbers of those."""
    ends = [(run.initial, run.final) for run in runs]
    parts = lcm(*(reading.denominator for both in ends for reading in both))
    return parts, [
        (
            initial.numerator * (parts // initial.denominator),
            final.numerator * (parts // final.denominator),
        )
        for initial, final in ends
    ]


def chosen(runs: tuple[Run, ...]) -> tuple[int, ...]:
    """The indices of the runs that a marker averages. Raises Mistake where none or more than one set is concordant."""
    accurate = [index for index, run in enumerate(runs) if not run.rough]
    if len(accurate) == 1:
        return (accurate[0],)
    sets = concordant_sets(tuple(runs[index] for index in accurate))
    if len(sets) != 1:
        found = "no two accurate titres agree" if not sets else f"{len(sets)} different sets of titres agree"
        raise Mistake(
            f"{found} within 0.10 cm3",
            expected="one concordant set",
            do="Mark the rough run 'rough', or give the mean titre itself.",
        )
    return tuple(accurate[index] for index in sets[0])


def mean_titre(runs: tuple[Run, ...]) -> Fraction:
    """The mean of the concordant titres, exactly, in cm³."""
    used = chosen(runs)
    return sum((runs[index].titre for index in used), Fraction(0)) / len(used)


def nearest_reading(exact: Fraction, step: Fraction = READING_CM3) -> Fraction:
    """The nearest mark that a burette is read to, or another scale of that step, halves up."""
    above, below = 2 * exact.numerator * step.denominator, exact.denominator * step.numerator
    return Fraction((above + below) // (2 * below) * step.numerator, step.denominator)
