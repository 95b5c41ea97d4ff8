"""A mean titre comes in; runs on a burette go out, a rough one and accurate ones with just one concordant set."""

from __future__ import annotations

from fractions import Fraction
from functools import lru_cache
from math import lcm

from molewright.draw.refusal import Refusal
from molewright.draw.stream import Stream
from molewright.experiment.titres import READING_CM3, Run, concordant_wholes

BURETTE_CM3 = Fraction(50)
MOST_INITIAL_CM3 = 5
ROUGH_ABOVE, ROUGH_BELOW = (
    (14, 30),
    (14, 24),
)  # readings between a rough titre and the mean: in a mean it moves it visibly
LEAST_INITIAL = 6  # readings: who takes a final reading for a titre is seen

# Concordant titres about their mean in readings of 0.05 cm³, chosen so that the mean is itself a reading.
_PATTERNS: tuple[tuple[int, ...], ...] = ((0, 0), (-1, 1), (-1, 0, 1), (0, 0, 0), (-1, 1), (-1, 0, 1))


_COUNTS = tuple(map(len, _PATTERNS))


def draw_runs(mean: Fraction, stream: Stream, line: str = "", further: int = 0) -> tuple[Run, ...]:
    """A rough run and accurate runs around the mean titre, with exactly one concordant set, on a 50 cm³ burette.

    How many there are is told by `line`, which the versions of a question share: a run more is work more. `further` are so many
    readings that the rough run lies further off, where it would hide nearer.
    """
    patterns, one_away = _shared(f"{line or stream.seed}/runs")
    parts = lcm(mean.denominator, READING_CM3.denominator)  # of a cm³: whole numbers of them are worked with
    middle, reading = int(mean * parts), parts // READING_CM3.denominator
    for _ in range(50):
        accurate = [middle + offset * reading for offset in stream.pick(patterns)]
        accurate = stream.shuffled(accurate)
        if one_away:
            away = stream.whole(8, 14) * reading
            accurate.insert(stream.whole(0, len(accurate)), middle + (away if stream.chance(60) else -away))
        if stream.chance(85):
            rough = middle + stream.whole(12 + further, 24 + further) * reading
        else:
            rough = middle - stream.whole(12 + further, 20 + further) * reading
        titres = [rough, *accurate]
        if max(titres) >= (int(BURETTE_CM3) - 1) * parts or len(concordant_wholes(accurate, parts)) != 1:
            continue
        return _readings(titres, parts, stream)
    raise Refusal("readings", f"no set of runs about {float(mean):.2f} cm³ fits a burette")


@lru_cache(maxsize=4096)
def _shared(seed: str) -> tuple[tuple[tuple[int, ...], ...], bool]:
    """What the versions of a question share: the patterns with one number of runs, and whether one run more lies far off."""
    shared = Stream(seed)
    count, one_away = shared.pick(_COUNTS), shared.chance(35)
    return tuple(pattern for pattern in _PATTERNS if len(pattern) == count), one_away


def _readings(titres: list[int], parts: int, stream: Stream) -> tuple[Run, ...]:
    runs: list[Run] = []
    reading, previous = parts // READING_CM3.denominator, 0
    for index, titre in enumerate(titres):
        room = int(BURETTE_CM3) * parts - titre
        if runs and previous <= room and stream.chance(50):
            initial = previous
        elif stream.chance(50):
            initial = 0
        else:
            initial = stream.whole(LEAST_INITIAL, min(room, MOST_INITIAL_CM3 * parts) // reading) * reading
        previous = initial + titre
        runs.append(Run(_cm3(initial, parts), _cm3(previous, parts), rough=index == 0))
    return tuple(runs)


@lru_cache(maxsize=4096)
def _cm3(whole: int, parts: int) -> Fraction:
    return Fraction(whole, parts)
