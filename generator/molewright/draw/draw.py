"""An archetype and a stream come in; plausible numbers for its operations go out, or a refusal that names its rule.

Draws by construction: every number but one is picked from its choice, and the one marked 'fit' is picked from the interval in
which titre and excess come out right, found by two looks at the bench (both depend on it in a straight line). Nothing is
derived here. The other way round, `draw_stated` says of numbers picked by somebody else whether a draw could come upon them.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache
from math import ceil, floor
from typing import Any, Protocol

from molewright.bank.definitions import Archetype, Ask, Choice, Context, Variant
from molewright.bench.perform import BenchFault, Readings, perform
from molewright.chem.quantity import Quantity, half_up
from molewright.chem.units import Unit
from molewright.draw.stream import Stream
from molewright.experiment import quantities
from molewright.experiment.procedure import Aliquot, Measure, Procedure, Weigh
from molewright.experiment.quantities import Name
from molewright.experiment.quantity_kinds import Kind
from molewright.experiment.titres import GRAPH_CM3, READING_CM3, Run, concordant_sets, nearest_reading

BURETTE_CM3 = Fraction(50)
LEAST_GAP = 0.08  # between "subtract the volumes" and the right answer
NEAR_PIPETTE = (0.95, 1.05)  # titres that could be taken for the pipette's volume
LEAST_LEAN = 0.12  # between what is left over and what reacted


NUDGE = 1e-9  # of a step: a bound that is itself a step counts

Zone = tuple[float, float]
Steps = tuple[int, int]  # the first of some steps of a range, and how many


class Refusal(Exception):
    """A draw that would not make a good question: which rule refused it, and why."""

    def __init__(self, rule: str, detail: str = "") -> None:
        super().__init__(f"{rule}: {detail}")
        self.rule = rule
        self.detail = detail


@dataclass(frozen=True, slots=True)
class Chosen:
    """What the versions of a question share: material and reagents, asked quantity, scene, indicator, table or mean."""

    variant: Variant
    ask: Ask
    context: Context
    indicator: str
    table: bool


@dataclass(frozen=True, slots=True)
class Draw:
    """The numbers of one question: what is printed, the truth behind it, and the choices made."""

    archetype: Archetype
    variant: Variant
    context: Context
    ask: Ask
    indicator: str
    given: Mapping[Name, Quantity]  # by name, as printed
    truth: Mapping[Name, Fraction]  # by name, exact, hidden ones too
    runs: tuple[Run, ...]  # () where the mean titre itself is printed, or the titre is asked for
    stream: Stream


_MOST_TELLING: tuple[tuple[Kind, ...], ...] = (
    ("percentage", "impurity"),
    ("molar mass", "molar difference"),
    ("water",),
    ("electrons",),
    ("mass", "mass within", "mass each", "mass per gram", "bottle mass", "impurity mass"),
)
"""Kinds of number that the rest is worked out from, the most telling first."""


def hidden_by(ask: Name, variant: Variant) -> Name:
    """The number of the procedure that is left out of the print when this quantity is asked for."""
    if ask in variant.choices or ask.kind == "titre":
        return ask
    for solution in variant.procedure.solutions():  # another way to tell a strength
        strength = quantities.concentration(solution.name)
        if ask in solution.strengths and strength in variant.choices:
            return strength
    # A mass or amount asked for: what it would be worked out from is hidden, the most telling first.
    for told in _MOST_TELLING:
        for name, choice in variant.choices.items():
            if name.kind in told and not choice.fit and not choice.hidden:
                return name
    return variant.fitted


def choose(archetype: Archetype, stream: Stream) -> Chosen:
    """Pick what is not a number: variant, asked quantity, scene, indicator, and whether the readings are shown."""
    variant = stream.pick(archetype.variants)
    ask = stream.weighted(variant.asks, [ask.weight for ask in variant.asks])
    indicator = stream.pick(variant.indicators) if variant.indicators else ""
    table = archetype.runs == "table" or (archetype.runs == "either" and stream.chance(40))
    return Chosen(variant, ask, stream.pick(variant.contexts), indicator, table and repeats(variant))


def repeats(variant: Variant) -> bool:
    """Whether the last titration can be repeated: its flask holds a portion, not the whole weighed sample."""
    if not variant.procedure.titrations:
        return False
    vessel = variant.procedure.titrations[-1].vessel
    return not any(isinstance(op, Weigh) and op.vessel == vessel for op in variant.procedure.operations)


def given_names(chosen: Chosen) -> tuple[Name, ...]:
    """The names of the numbers that a question of this choice prints."""
    variant = chosen.variant
    left_out = {chosen.ask.quantity, *(name for name, choice in variant.choices.items() if choice.hidden)}
    if variant.procedure.titrations:
        left_out.add(hidden_by(chosen.ask.quantity, variant))
    titres = [titration.titre for titration in variant.procedure.titrations]
    found = [name for name in (*variant.choices, *titres) if name not in left_out]
    for operation in variant.procedure.operations:
        if isinstance(operation, Weigh) and operation.by_difference and quantities.mass(operation.sample) in found:
            found[found.index(quantities.mass(operation.sample))] = quantities.bottle_mass(operation.sample, False)
    return tuple(found)


class _Source(Protocol):
    """Where the numbers of a draw come from."""

    def one(self, name: Name, choice: Choice) -> Quantity:
        """A number of the choice."""

    def among(self, name: Name, choice: Choice, pieces: Sequence[Steps]) -> Quantity:
        """A number of the choice that is one of these steps. Raises Refusal where there is none."""


@dataclass(frozen=True, slots=True)
class _Picked:
    """Numbers picked from a stream, so that they keep the windows."""

    stream: Stream

    def one(self, name: Name, choice: Choice) -> Quantity:
        return pick_number(choice, self.stream)

    def among(self, name: Name, choice: Choice, pieces: Sequence[Steps]) -> Quantity:
        if not any(size for _, size in pieces):
            raise _no_number(name)
        at = self.stream.whole(0, sum(size for _, size in pieces) - 1)
        for first, size in pieces:
            if at < size:
                return choice.written((first + at) * _step(choice))
            at -= size
        raise AssertionError("unreachable")


@dataclass(frozen=True, slots=True)
class _Stated:
    """Numbers that are stated, and refused where a draw would not have come upon them."""

    numbers: Mapping[Name, Quantity]

    def one(self, name: Name, choice: Choice) -> Quantity:
        return self.numbers[name]

    def among(self, name: Name, choice: Choice, pieces: Sequence[Steps]) -> Quantity:
        stated = self.numbers[name]
        exponent = stated.number.as_tuple().exponent
        assert isinstance(exponent, int)
        step, reach = _step(choice), Fraction(10) ** exponent  # several steps may be written as one number
        for at in range(floor((stated.exact - reach) / step), ceil((stated.exact + reach) / step) + 1):
            if any(first <= at < first + size for first, size in pieces) and choice.written(at * step) == stated:
                return stated
        raise _no_number(name)


def draw(archetype: Archetype, chosen: Chosen, stream: Stream, fixed: Mapping[Name, Fraction]) -> Draw:
    """Draw one question's numbers. `fixed` holds the molar masses.

    Raises Refusal where no value of the fitted number keeps every window.
    """
    return _draw(archetype, chosen, _Picked(stream), stream, fixed)


def draw_stated(archetype: Archetype, chosen: Chosen, numbers: Mapping[Name, Quantity], stream: Stream,
                fixed: Mapping[Name, Fraction]) -> Draw:  # fmt: skip
    """The draw of these numbers, one for each name of `possible_numbers`; `stream` serves the burette readings only.

    Raises Refusal where `draw` would never come upon them.
    """
    return _draw(archetype, chosen, _Stated(numbers), stream, fixed)


def draw_freely(archetype: Archetype, chosen: Chosen, stream: Stream, fixed: Mapping[Name, Fraction]) -> Draw:
    """Pick every number from all its values, each as likely as the others, the fitted one too; most often this is refused.

    Raises Refusal where `draw` would never come upon them.
    """
    numbers = {name: stream.pick(values) for name, values in possible_numbers(chosen).items()}
    return draw_stated(archetype, chosen, numbers, stream, fixed)


def possible_numbers(chosen: Chosen) -> dict[Name, tuple[Quantity, ...]]:
    """Every value, as it is written and each once, of every number that a draw of this choice picks; the least first."""
    variant = chosen.variant
    if not variant.procedure.titrations:
        asked = chosen.ask.quantity
        return {name: _values(choice, False) for name, choice in variant.choices.items() if name != asked}
    suited = _suited(variant)
    return {name: _values(choice, choice.fit or name == suited) for name, choice in variant.choices.items()}


@lru_cache(maxsize=512)
def _values(choice: Choice, bends: bool) -> tuple[Quantity, ...]:
    """The values of a choice; a number that bends takes multiples of its step, any other starts at the low end."""
    if choice.options:
        each = {option.in_base: option for option in choice.options}
        return tuple(each[value] for value in sorted(each))
    low, high = _ends(choice)
    step = _step(choice)
    start, count = (ceil(low / step) * step, floor(high / step) - ceil(low / step)) if bends else (low, _last(choice))
    return tuple(dict.fromkeys(choice.written(start + at * step) for at in range(count + 1)))


def _draw(
    archetype: Archetype, chosen: Chosen, source: _Source, stream: Stream, fixed: Mapping[Name, Fraction]
) -> Draw:
    variant, ask = chosen.variant, chosen.ask
    given: dict[Name, Quantity] = {}
    truth: dict[Name, Fraction] = dict(fixed)
    if not variant.procedure.titrations:
        return _prepare(archetype, chosen, source, stream, truth)
    hidden = hidden_by(ask.quantity, variant)
    suited = _suited(variant)
    for name, choice in variant.choices.items():
        if not choice.fit and name != suited:
            quantity = source.one(name, choice)
            truth[name] = quantity.in_base
            given[name] = quantity
    _fits_the_scene(variant, chosen.context, given)
    for name, quantity in _fit(archetype, variant, suited, truth, source):
        truth[name] = quantity.in_base
        given[name] = quantity
    _weigh_by_difference(variant, given, truth)
    readings = _look(variant.procedure, truth)
    _keep_windows(archetype, readings)
    runs: tuple[Run, ...] = ()
    for titration in variant.procedure.titrations:
        name = titration.titre
        if name == ask.quantity:
            continue
        given[name] = printed_titre(archetype, variant, name, readings.titres[name])
        if titration is variant.procedure.titrations[-1] and chosen.table:
            runs = draw_runs(given[name].in_base, stream)
    given.pop(hidden, None)
    for name, choice in variant.choices.items():
        if choice.hidden:
            given.pop(name, None)
    return Draw(archetype, variant, chosen.context, ask, chosen.indicator, given, truth, runs, stream)


def _fits_the_scene(variant: Variant, context: Context, given: Mapping[Name, Quantity]) -> None:
    """Refuse an unknown that turns out to be what its scene rules out: colourless flames where they are coloured."""
    if context.rules_out and variant.may_be is not None:
        formula = variant.may_be.of(given[variant.may_be.number])
        if formula in context.rules_out:
            raise Refusal("scene", f"{formula} cannot be what the scene '{context.key}' tells of")


def printed_titre(archetype: Archetype, variant: Variant, name: Name, exact: Fraction) -> Quantity:
    """A titre as its apparatus is read."""
    division = division_cm3(archetype, variant, name)
    return Quantity(half_up(nearest_reading(exact, division), 1 if division == GRAPH_CM3 else 2), Unit.CM3)


def division_cm3(archetype: Archetype, variant: Variant, name: Name) -> Fraction:
    """What a titre is read to: on a burette, or, for the last titration of some archetypes, on a graph."""
    graph = archetype.graph and name == variant.procedure.titrations[-1].titre
    return GRAPH_CM3 if graph else READING_CM3


def _prepare(
    archetype: Archetype, chosen: Chosen, source: _Source, stream: Stream, truth: dict[Name, Fraction]
) -> Draw:
    """Draw the numbers of a solution that is prepared and not titrated: whatever is not asked for is picked."""
    given: dict[Name, Quantity] = {}
    for name, choice in chosen.variant.choices.items():
        if name != chosen.ask.quantity:
            quantity = given[name] = source.one(name, choice)
            truth[name] = quantity.in_base
    _weigh_by_difference(chosen.variant, given, truth)
    return Draw(archetype, chosen.variant, chosen.context, chosen.ask, "", given, truth, (), stream)


def _weigh_by_difference(variant: Variant, given: dict[Name, Quantity], truth: dict[Name, Fraction]) -> None:
    """Print the two masses of the weighing bottle in the place of the sample's own, where that is how it was weighed."""
    for operation in variant.procedure.operations:
        if isinstance(operation, Weigh) and operation.by_difference:
            mass = given.pop(quantities.mass(operation.sample), None)
            emptied = given.get(quantities.bottle_mass(operation.sample, True))
            if mass is not None and emptied is not None:
                full = Quantity(mass.number + emptied.number, mass.unit)
                given[quantities.bottle_mass(operation.sample, False)] = full
                truth[quantities.bottle_mass(operation.sample, False)] = full.in_base


def pick_number(choice: Choice, stream: Stream) -> Quantity:
    """One number of a choice, written with its figures."""
    if choice.options:
        return stream.pick(choice.options)
    return choice.written(_ends(choice)[0] + stream.whole(0, _last(choice)) * _step(choice))


def _ends(choice: Choice) -> tuple[Fraction, Fraction]:
    """The ends of a range in its own unit."""
    assert choice.low is not None
    assert choice.high is not None
    return Fraction(choice.low), Fraction(choice.high)


def _step(choice: Choice) -> Fraction:
    assert choice.step is not None
    return Fraction(choice.step)


def _last(choice: Choice) -> int:
    """The number of the last step of a range, its low end being number 0."""
    low, high = _ends(choice)
    return int((high - low) / _step(choice))


def _look(procedure: Procedure, truth: Mapping[Name, Any]) -> Readings:
    try:
        return perform(procedure, truth)
    except BenchFault as fault:
        raise Refusal(fault.rule, fault.detail) from None
    except KeyError as missing:
        raise Refusal("a number for everything", f"nothing tells the {missing.args[0]}") from missing


def _suited(variant: Variant) -> Name | None:
    """The titrant's concentration where it may be suited to the rest: a range, in a back titration; otherwise None."""
    name = quantities.concentration(variant.procedure.titrations[-1].titrant.name)
    choice = variant.choices.get(name)
    return (
        name if variant.procedure.in_excess and choice is not None and not choice.fit and not choice.options else None
    )


def _fit(archetype: Archetype, variant: Variant, suited: Name | None, truth: dict[Name, Fraction], source: _Source
         ) -> list[tuple[Name, Quantity]]:  # fmt: skip
    """Values of the fitted number and of the suited concentration that keep the windows of titre and excess.

    The titre is a straight line in the fitted number and inverse to the titrant's concentration, so two looks at the bench
    tell every interval. The looks are on floats: they only say where to pick, and the windows are kept exactly afterwards.
    """
    name = variant.fitted
    low, high = _bounds(variant.choices[name])
    titration = variant.procedure.titrations[-1].titre
    trial = {other: float(value) for other, value in truth.items()}
    if suited is not None:
        trial[suited] = 1.0
    trial[name] = 0.0
    offset = _offset(variant)
    blank = float(_look(variant.procedure, trial).titres[titration]) if offset else 0.0  # with nothing of it there
    trial[name] = low
    first = _look(variant.procedure, trial)
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
    if avoid:
        _keep_apart(variant, truth, blank)
    reach = sorted((end - blank) / slope for end in window)
    avoid += [_zone((pipette * side - blank) / slope for side in NEAR_PIPETTE) for pipette in _pipettes(variant, truth)]
    least, most = max(least, reach[0]), min(most, reach[1])
    try:
        found.append((name, _within(least, most, variant.choices[name], avoid, source, name)))
    except Refusal as refusal:
        told = f"{blank + slope * low:.2f} cm³ at its low end and {blank + slope * high:.2f} cm³ at its high end"
        raise Refusal(refusal.rule, f"{refusal.detail}: the titre would be {told}") from None
    return found


def _offset(variant: Variant) -> bool:
    """Whether something else than the fitted number needs titrant too: a reagent in excess, a second substance."""
    return (
        variant.procedure.in_excess
        or len(variant.procedure.titrations) > 1
        or any(
            (isinstance(operation, Measure) and operation.others)
            or (isinstance(operation, Weigh) and len(operation.contents) > 1)
            for operation in variant.procedure.operations
        )
    )


def _suit(variant: Variant, suited: Name, truth: Mapping[Name, Fraction], reach: tuple[float, float], blank: float,
          source: _Source) -> Quantity:  # fmt: skip
    """A concentration of the titrant within `reach`, where some titre of the window is met; `blank` is for 1 mol dm⁻³."""
    choice = variant.choices[suited]
    low, high = _bounds(choice)
    volume = next((truth.get(op.volume) for op in variant.procedure.operations
                   if isinstance(op, Measure) and op.excess), None)  # fmt: skip
    avoid: list[Zone] = []
    if volume:  # blank/c = volume is where subtracting volumes gives the right answer
        meeting, step = blank / float(volume), float(choice.step or 0)
        avoid.append((meeting * (1 - LEAST_GAP) - step, meeting / (1 - LEAST_GAP) + step))
    return _within(max(low, reach[0]), min(high, reach[1]), choice, avoid, source, suited)


def _bounds(choice: Choice) -> tuple[float, float]:
    """The ends of a range in base units."""
    factor = float(choice.unit.factor)
    low, high = _ends(choice)
    return float(low) * factor, float(high) * factor


def _pipettes(variant: Variant, truth: Mapping[Name, Fraction]) -> list[float]:
    """Volumes that a pupil may take for the titre: of the portion in the conical flask."""
    vessel = variant.procedure.titrations[-1].vessel
    found = [truth.get(quantities.volume_taken(op.into)) for op in variant.procedure.operations
             if isinstance(op, Aliquot) and op.into == vessel]  # fmt: skip
    found += [truth.get(op.volume) for op in variant.procedure.operations
              if isinstance(op, Measure) and op.vessel == vessel and not op.excess]  # fmt: skip
    return [float(volume) for volume in found if volume]


def _zone(ends: Iterable[float]) -> Zone:
    low, high = sorted(ends)
    return low, high


def _within(least: float, most: float, choice: Choice, avoid: Sequence[Zone], source: _Source, name: Name) -> Quantity:
    """A written number of the choice between least and most (base units), outside the zones to avoid."""
    step = float(_step(choice)) * float(choice.unit.factor)
    pieces = [(least, most)]
    for start, end in avoid:
        pieces = [half for low, high in pieces for half in ((low, min(high, start)), (max(low, end), high))]
    counted = [(ceil(low / step - NUDGE), floor(high / step + NUDGE)) for low, high in pieces]
    return source.among(name, choice, [(low, max(0, high - low + 1)) for low, high in counted])


def _no_number(name: Name) -> Refusal:
    return Refusal("window", f"no {name} keeps the titre and the excess in their windows")


def _keep_apart(variant: Variant, truth: Mapping[Name, Fraction], blank: float) -> None:
    """Refuse numbers with which subtracting the volumes would give the right answer: the blank titre equals the volume added."""
    for operation in variant.procedure.operations:
        if isinstance(operation, Measure) and operation.excess:
            volume = truth.get(operation.volume)
            if volume and abs(float(volume) / blank - 1) <= LEAST_GAP:
                raise Refusal("volumes", "subtracting the volumes would give the right answer")


def _keep_windows(archetype: Archetype, readings: Readings) -> None:
    low, high = archetype.windows.titre
    for name, titre in readings.titres.items():
        if not low <= titre <= high:
            raise Refusal("titre", f"{name} would be {float(titre):.2f} cm³")
    for species, share in readings.used.items():
        if not archetype.windows.used[0] <= share <= archetype.windows.used[1]:
            raise Refusal("excess", f"{float(share):.0%} of the {species} would be used")


# ------------------------------------------------------------------ burette readings


def with_other_runs(made: Draw, attempt: int) -> Draw:
    """The same numbers with other burette readings about the same mean titre."""
    titration = made.variant.procedure.titrations[-1].titre
    return replace(made, runs=draw_runs(made.given[titration].in_base, made.stream.branch(f"runs {attempt}")))


# Concordant titres about their mean in readings of 0.05 cm³, chosen so that the mean is itself a reading.
_PATTERNS: tuple[tuple[int, ...], ...] = ((0, 0), (-1, 1), (-1, 0, 1), (0, 0, 0), (-1, 1), (-1, 0, 1))


def draw_runs(mean: Fraction, stream: Stream) -> tuple[Run, ...]:
    """A rough run and accurate runs around the mean titre, with exactly one concordant set, on a 50 cm³ burette."""
    for _ in range(50):
        accurate = [mean + offset * READING_CM3 for offset in stream.pick(_PATTERNS)]
        accurate = stream.shuffled(accurate)
        if stream.chance(35):
            away = stream.whole(8, 14) * READING_CM3
            accurate.insert(stream.whole(0, len(accurate)), mean + (away if stream.chance(60) else -away))
        if stream.chance(85):
            rough = mean + stream.whole(12, 24) * READING_CM3
        else:
            rough = mean - stream.whole(12, 20) * READING_CM3
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
            initial = stream.whole(1, int(min(room, Fraction(5)) / READING_CM3)) * READING_CM3
        runs.append(Run(initial, initial + titre, rough=index == 0))
    return tuple(runs)
