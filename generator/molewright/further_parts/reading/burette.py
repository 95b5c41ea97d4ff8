"""A calculation with a table of runs comes in; parts go out in which a run, of the table or a further one, is read from a picture.

Readings end in 0 or 5 in the second place (half a division). A further run either agrees with those that were averaged or lies
plainly outside: nobody can argue about whether it is concordant.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from molewright.chem.quantity import Quantity, half_up
from molewright.chem.units import Unit
from molewright.draw.burette_runs import BURETTE_CM3
from molewright.draw.refusal import Refusal
from molewright.draw.stream import Stream
from molewright.experiment.titres import CONCORDANT_CM3, READING_CM3, Run, chosen, nearest_reading
from molewright.further_parts.pieces import (
    Calculation,
    FurtherPart,
    FurtherPoint,
    Piece,
    Reckoning,
    Said,
    Space,
    Strong,
    said,
    writing_lines,
)

_AGREES_PERCENT = 50
_FURTHEST_READINGS = 12  # of a run that does not agree: 0.60 cm³ away
_NOT_AT_ZERO = (Fraction(1, 5), Fraction(6))  # where the burette may stand before the run, in cm³
_MOST_DRAWN = 200


@dataclass(frozen=True, slots=True)
class BurettePicture:
    """The facts of a figure of burettes: what stands above each, and the reading that is shown and never said."""

    views: tuple[tuple[Piece, Decimal], ...]
    run: int | None = None  # of the table, which then leaves these readings out
    kind: str = "burettes"


def read_burette(calculation: Calculation) -> tuple[FurtherPart, ...]:
    """One part before the calculation: the readings of a run that the table leaves out and the mean titre needs."""
    runs = calculation.draw.runs
    fit = [index for index in chosen(runs) if _hidden(runs, index)] if runs else []
    if not fit:
        raise Refusal("readings", "no run of the table is fit to be read from a figure")
    index = calculation.stream.pick(fit)
    run = runs[index]
    initial, final = _cm3(run.initial), _cm3(run.final)
    views: tuple[tuple[Piece, Decimal], ...] = (
        (said("run before", run=str(index)), initial.number),
        (said("run after", run=str(index)), final.number),
    )
    part = FurtherPart(
        kind="burette reading",
        demand=said("read run", run=str(index)),
        points=(
            FurtherPoint(
                (_read("label initial", initial), _read("label final", final)),
                f"{initial.number}; {final.number}",
                (*_guides(run), said("guide reading on")),
            ),
        ),
        space=_spaces("label initial", "label final"),
        shown=(BurettePicture(views, index),),
        hint=said("hint reading"),
        first=True,
    )
    return (part,)


def _hidden(runs: tuple[Run, ...], index: int) -> bool:
    """Whether nothing else in the table says the readings of a run, and one of them lies between two lines."""
    run = runs[index]
    others = {reading for other in runs if other is not run for reading in (other.initial, other.final)}
    halves = any((reading / READING_CM3) % 2 == 1 for reading in (run.initial, run.final))
    return halves and run.initial > 0 and not others & {run.initial, run.final}


def _guides(run: Run) -> tuple[Said, ...]:
    upwards = [_upwards(reading) for reading in (run.initial, run.final) if reading % 1 not in (0, Fraction(1, 2))]
    wrong = said("guide reading upwards", wrong=" and ".join(str(one.number) for one in upwards))
    return (said("guide reading places"), *((wrong,) if upwards else ()))


def _spaces(*labels: str) -> tuple[Space, ...]:
    return tuple(
        Space(height_mm=2.0 if place else 4.0, rule_mm=40.0, unit=Unit.CM3, label=(said(label), " ="))
        for place, label in enumerate(labels)
    )


def read_further_run(calculation: Calculation) -> tuple[FurtherPart, ...]:
    """Two parts: the readings of one more run with its titre, and whether it belongs with those averaged."""
    runs = calculation.draw.runs
    if not runs:
        raise Refusal("readings", "no table of runs to add a reading to")
    used = [runs[index].titre for index in chosen(runs)]
    run = further_run(used, calculation.stream)
    initial, final, titre = (_cm3(value) for value in (run.initial, run.final, run.titre))
    picture = BurettePicture(((said("reading before"), initial.number), (said("reading after"), final.number)))
    difference = (said("label titre"), "=", str(final.number), "−", str(initial.number), "=", Strong(titre))
    read = FurtherPart(
        kind="further run",
        demand=said("read burette"),
        points=(
            FurtherPoint(
                (_read("label initial", initial), _read("label final", final)),
                f"{initial.number}; {final.number}",
                _guides(run),
            ),
            FurtherPoint((Reckoning(difference),), titre, (said("guide reading titre"),)),
        ),
        space=_spaces("label initial", "label final", "label titre"),
        shown=(picture,),
        hint=said("hint reading"),
        accepted=(titre.number, titre.number),
        unit=Unit.CM3,
    )
    return read, _concordant(run, used)


def further_run(used: list[Fraction], stream: Stream) -> Run:
    """One more run on the same burette, agreeing with all titres that were averaged or with none of them."""
    mean = nearest_reading(sum(used, Fraction(0)) / len(used))
    agrees = stream.chance(_AGREES_PERCENT)
    for _ in range(_MOST_DRAWN):
        titre = mean + stream.whole(-_FURTHEST_READINGS, _FURTHEST_READINGS) * READING_CM3
        apart = [abs(titre - one) for one in used]
        if agrees != (max(apart) <= CONCORDANT_CM3) or (not agrees and min(apart) < 2 * CONCORDANT_CM3):
            continue
        least, most = _NOT_AT_ZERO
        initial = stream.whole(int(least / READING_CM3), int(most / READING_CM3)) * READING_CM3
        run = Run(initial, initial + titre)
        halves = [(reading / READING_CM3) % 2 == 1 for reading in (run.initial, run.final)]
        if run.final <= BURETTE_CM3 - 1 and any(halves) and run.initial % 1 and run.final % 1:
            return run
    raise Refusal("readings", f"no further run about {float(mean):.2f} cm³ fits a burette")


def _concordant(run: Run, used: list[Fraction]) -> FurtherPart:
    apart = max((abs(run.titre - one), one) for one in used)
    agrees = apart[0] <= CONCORDANT_CM3
    nearest = min((abs(run.titre - one), one) for one in used)
    titre = _cm3(run.titre)
    reason = (
        said("run agrees", titre=titre, limit=_cm3(CONCORDANT_CM3), others=_listed(used))
        if agrees
        else said("run differs", titre=titre, apart=_cm3(nearest[0]), other=_cm3(nearest[1]))
    )
    return FurtherPart(
        kind="further run",
        demand=said("run concordant"),
        points=(FurtherPoint((reason,), "yes" if agrees else "no", (said("guide concordant"),)),),
        space=(writing_lines(1),),
        shown=(),
        hint=said("hint concordant", limit=_cm3(CONCORDANT_CM3)),
    )


def _listed(titres: list[Fraction]) -> str:
    """Titres as a list in words, equal ones once."""
    texts = [str(_cm3(one).number) for one in sorted(set(titres))]
    return " and ".join(filter(None, (", ".join(texts[:-1]), texts[-1])))


def _read(key: str, quantity: Quantity) -> Piece:
    return (said(key), " = ", Strong(quantity))


def _upwards(reading: Fraction) -> Quantity:
    """What the reading becomes when the scale is read upwards from the numbered line below the meniscus."""
    whole = reading // 1
    return _cm3(whole + 1 + (1 - reading % 1))


def _cm3(value: Fraction) -> Quantity:
    return Quantity(half_up(value, 2), Unit.CM3)
