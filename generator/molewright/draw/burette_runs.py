"""A mean titre comes in; runs on a burette go out, a rough one and accurate ones with just one concordant set."""

from __future__ import annotations

from fractions import Fraction

from molewright.draw.refusal import Refusal
from molewright.draw.stream import Stream
from molewright.experiment.titres import READING_CM3, Run, concordant_sets

BURETTE_CM3 = Fraction(50)
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
    shared = Stream(f"{line or stream.seed}/runs")
    count, one_away = shared.pick(_COUNTS), shared.chance(35)
    patterns = [pattern for pattern in _PATTERNS if len(pattern) == count]
    for _ in range(50):
        accurate = [mean + offset * READING_CM3 for offset in stream.pick(patterns)]
        accurate = stream.shuffled(accurate)
        if one_away:
            away = stream.whole(8, 14) * READING_CM3
            accurate.insert(stream.whole(0, len(accurate)), mean + (away if stream.chance(60) else -away))
        if stream.chance(85):
            rough = mean + stream.whole(12 + further, 24 + further) * READING_CM3
        else:
            rough = mean - stream.whole(12 + further, 20 + further) * READING_CM3
        titres = [rough, *accurate]
        if max(titres) >= BURETTE_CM3 - 1 or len(concordant_sets(tuple(accurate))) != 1:
            continue
        return _readings(titres, stream)
    raise Refusal("readings", f"no set of runs about {float(mean):.2f} cm³ fits a burette")


def _readings(titres: list[Fraction], stream: Stream) -> tuple[Run, ...]:
    runs: list[Run] = []
    for index, titre in enumerate(titres):
        previous = runs[-1].final if runs else Fraction(0)
        room = BURETTE_CM3 - titre
        if runs and previous <= room and stream.chance(50):
            initial = previous
        elif stream.chance(50):
            initial = Fraction(0)
        else:
            initial = stream.whole(LEAST_INITIAL, int(min(room, Fraction(5)) / READING_CM3)) * READING_CM3
        runs.append(Run(initial, initial + titre, rough=index == 0))
    return tuple(runs)
