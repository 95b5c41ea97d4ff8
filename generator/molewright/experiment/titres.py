"""Burette readings: runs with initial and final readings, the concordant set among them, and the mean as a marker takes it.

Readings are to 0.05 cm³ (half a division); concordant means within 0.10 cm³ of each other, all of them, not neighbour by
neighbour (common practice in post-16 practical work, no source). The rough run is never averaged.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

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


def concordant_sets(titres: tuple[Fraction, ...]) -> list[tuple[int, ...]]:
    """Every largest set (by index) of at least two titres that agree within 0.10 cm³, all with all."""
    order = sorted(range(len(titres)), key=lambda index: titres[index])
    windows: list[tuple[int, ...]] = []
    for start in range(len(order)):
        end = start
        while end + 1 < len(order) and titres[order[end + 1]] - titres[order[start]] <= CONCORDANT_CM3:
            end += 1
        window = tuple(sorted(order[start : end + 1]))
        if len(window) >= 2 and not any(set(window) <= set(other) for other in windows):
            windows.append(window)
    return windows


def chosen(runs: tuple[Run, ...]) -> tuple[int, ...]:
    """The indices of the runs that a marker averages. Raises Mistake where none or more than one set is concordant."""
    accurate = [index for index, run in enumerate(runs) if not run.rough]
    if len(accurate) == 1:
        return (accurate[0],)
    sets = concordant_sets(tuple(runs[index].titre for index in accurate))
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
    return (2 * exact / step + 1) // 2 * step
