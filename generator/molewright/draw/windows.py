"""Numbers of a draw come in; the interval goes out in which titre and excess come out right, found by two looks at the bench."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from fractions import Fraction
from math import ceil, floor
from typing import Any

from molewright.bank.definitions import Archetype, Choice, Variant
from molewright.bench.perform import BenchFault, Readings, perform
from molewright.chem.quantity import Quantity
from molewright.draw.burette_runs import BURETTE_CM3
from molewright.draw.numbers import Source, bounds_of, step_of
from molewright.draw.refusal import Refusal
from molewright.experiment import quantities
from molewright.experiment.procedure import Procedure, Titrate
from molewright.experiment.quantities import Name

LEAST_GAP = 0.08  # between "subtract the volumes" and the right answer

NEAR_PIPETTE = (0.95, 1.05)  # titres that could be taken for the pipette's volume

LEAST_LEAN = 0.12  # between what is left over and what reacted

NUDGE = 1e-9  # of a step: a bound that is itself a step counts

Zone = tuple[float, float]


def look(procedure: Procedure, truth: Mapping[Name, Any]) -> Readings:
    try:
        return perform(procedure, truth)
    except BenchFault as fault:
        raise Refusal(fault.rule, fault.detail) from None
    except KeyError as missing:
        raise Refusal("a number for everything", f"nothing tells the {missing.args[0]}") from missing


def suited_strength(variant: Variant) -> Name | None:
    """The titrant's concentration where it may be suited to the rest: a range, in a back titration; otherwise None."""
    name = quantities.concentration(variant.procedure.titrations[-1].titrant.name)
    choice = variant.choices.get(name)
    return (
        name if variant.procedure.in_excess and choice is not None and not choice.fit and not choice.options else None
    )


def fit(
    archetype: Archetype,
    variant: Variant,
    suited: Name | None,
    truth: dict[Name, Fraction],
    source: Source,
    telling: bool = True,
) -> list[tuple[Name, Quantity]]:
    """Values of the fitted number and of the suited concentration that keep the windows of titre and excess.

    Where they are to be `telling`, they keep away from what would hide a mistake too: a titre like the pipette's volume, as much left
    over as reacted.

    The titre is a straight line in the fitted number and inverse to the titrant's concentration, so two looks at the bench
    tell every interval. The looks are on floats: they only say where to pick, and the windows are kept exactly afterwards.
    """
    name = variant.fitted
    low, high = bounds_of(variant.choices[name])
    procedure = _to_the_titre(variant.procedure)
    titration = procedure.titrations[-1].titre
    trial = {other: float(value) for other, value in truth.items()}
    if suited is not None:
        trial[suited] = 1.0
    trial[name] = 0.0
    offset = _offset(variant)
    blank = float(look(procedure, trial).titres[titration]) if offset else 0.0  # with nothing of it there
    trial[name] = low
    first = look(procedure, trial)
    slope = (float(first.titres[titration]) - blank) / low
    if slope == 0:
        raise Refusal("fit", f"the titre does not depend on the {name}")
    found: list[tuple[Name, Quantity]] = []
    least, most = low, high
    avoid: list[Zone] = []
    for share in map(float, first.used.values()):
        if share > 0:
            least = max(least, float(archetype.windows.used[0]) * low / share)
            most = min(most, float(archetype.windows.used[1]) * low / share)
            avoid.append((low / share / (2 + LEAST_LEAN), low / share * (1 + LEAST_LEAN) / (2 + LEAST_LEAN)))
    if least > most:
        raise Refusal("window", f"no {name} from {low:g} to {high:g} uses a fit share of the reagent")
    window = [float(end) for end in archetype.windows.titre]
    if suited is not None:
        ends = sorted((blank + slope * least, blank + slope * most))
        strength = _suit(variant, suited, truth, (ends[0] / window[1], ends[1] / window[0]), blank, source)
        found.append((suited, strength))
        slope, blank = slope / float(strength.in_base), blank / float(strength.in_base)
    if avoid and telling:
        _keep_apart(variant, truth, blank)
    reach = sorted((end - blank) / slope for end in window)
    avoid += [_zone((pipette * side - blank) / slope for side in NEAR_PIPETTE) for pipette in _pipettes(variant, truth)]
    least, most = max(least, reach[0]), min(most, reach[1])
    try:
        found.append((name, _within(least, most, variant.choices[name], avoid if telling else [], source, name)))
    except Refusal as refusal:
        told = f"{blank + slope * low:.2f} cm³ at its low end and {blank + slope * high:.2f} cm³ at its high end"
        raise Refusal(refusal.rule, f"{refusal.detail}: the titre would be {told}") from None
    return found


def _to_the_titre(procedure: Procedure) -> Procedure:
    """What is done until the last titre is read: what is mixed after it does not bend the titre."""
    done = procedure.operations
    while not isinstance(done[-1], Titrate):
        done = done[:-1]
    return procedure if len(done) == len(procedure.operations) else Procedure(done)


def _offset(variant: Variant) -> bool:
    """Whether something else than the fitted number needs titrant too: a reagent in excess, a second substance."""
    return (
        variant.procedure.in_excess
        or len(variant.procedure.titrations) > 1
        or any(operation.others for operation in variant.procedure.measures)
        or any(len(operation.contents) > 1 for operation in variant.procedure.weighings)
    )


def _suit(
    variant: Variant,
    suited: Name,
    truth: Mapping[Name, Fraction],
    reach: tuple[float, float],
    blank: float,
    source: Source,
) -> Quantity:
    """A concentration of the titrant within `reach`, where some titre of the window is met; `blank` is for 1 mol dm⁻³."""
    choice = variant.choices[suited]
    low, high = bounds_of(choice)
    volume = next((truth.get(reagent.volume) for reagent in variant.procedure.reagents), None)
    avoid: list[Zone] = []
    if volume:  # blank/c = volume is where subtracting volumes gives the right answer
        meeting, step = blank / float(volume), float(choice.step or 0)
        avoid.append((meeting * (1 - LEAST_GAP) - step, meeting / (1 - LEAST_GAP) + step))
    return _within(max(low, reach[0]), min(high, reach[1]), choice, avoid, source, suited)


def _pipettes(variant: Variant, truth: Mapping[Name, Fraction]) -> list[float]:
    """Volumes that a pupil may take for the titre: of the portion in the conical flask."""
    vessel = variant.procedure.titrations[-1].vessel
    found = map(truth.get, variant.procedure.portion_volumes(vessel))
    return [float(volume) for volume in found if volume]


def _zone(ends: Iterable[float]) -> Zone:
    low, high = sorted(ends)
    return low, high


def _within(least: float, most: float, choice: Choice, avoid: Sequence[Zone], source: Source, name: Name) -> Quantity:
    """A written number of the choice between least and most (base units), outside the zones to avoid."""
    step = float(step_of(choice)) * float(choice.unit.factor)
    pieces = [(least, most)]
    for start, end in avoid:
        pieces = [half for low, high in pieces for half in ((low, min(high, start)), (max(low, end), high))]
    counted = [(ceil(low / step - NUDGE), floor(high / step + NUDGE)) for low, high in pieces]
    return source.among(name, choice, [(low, max(0, high - low + 1)) for low, high in counted])


def _keep_apart(variant: Variant, truth: Mapping[Name, Fraction], blank: float) -> None:
    """Refuse numbers with which subtracting the volumes would give the right answer: the blank titre equals the volume added."""
    for operation in variant.procedure.reagents:
        volume = truth.get(operation.volume)
        if volume and abs(float(volume) / blank - 1) <= LEAST_GAP:
            raise Refusal("volumes", "subtracting the volumes would give the right answer")


def keep_windows(archetype: Archetype, procedure: Procedure, readings: Readings) -> None:
    """Refuse titres and excesses out of their windows, and end points of one flask that one burette does not reach without a refill."""
    low, high = archetype.windows.titre
    run_in: dict[tuple[str, str], Fraction] = {}
    for act in procedure.titrations:
        one = act.vessel, act.titrant.name
        run_in[one] = run_in.get(one, Fraction(0)) + readings.titres.get(act.titre, Fraction(0))
    for (vessel, _), volume in run_in.items():
        if volume > BURETTE_CM3:
            raise Refusal("titre", f"{float(volume):.2f} cm³ in all would be run into the {vessel}")
    for name, titre in readings.titres.items():
        if not low <= titre <= high:
            raise Refusal("titre", f"{name} would be {float(titre):.2f} cm³")
    for species, share in readings.used.items():
        if not archetype.windows.used[0] <= share <= archetype.windows.used[1]:
            raise Refusal("excess", f"{float(share):.0%} of the {species} would be used")
