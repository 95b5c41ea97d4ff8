"""An archetype and a stream come in; plausible numbers for its operations go out, or a refusal that names its rule.

Draws by construction: every number but one is picked from its choice, and the one marked 'fit' is picked from the interval in
which titre and excess come out right, found by two looks at the bench (both depend on it in a straight line). Nothing is
derived here. The other way round, `draw_stated` says of numbers picked by somebody else whether a draw could come upon them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction
from typing import Literal

from molewright.bank.definitions import Archetype, Context, Variant
from molewright.bench.perform import Readings
from molewright.chem.quantity import Quantity, half_up
from molewright.chem.units import Unit
from molewright.draw.burette_runs import draw_runs
from molewright.draw.chosen import Chosen, Draw, hidden_by
from molewright.draw.numbers import Loosely, Partly, Picked, Source, Stated, values_of
from molewright.draw.refusal import Refusal
from molewright.draw.stream import Stream
from molewright.draw.windows import fit, keep_windows, look, suited_strength
from molewright.experiment import quantities
from molewright.experiment.end_points import of_last_flask
from molewright.experiment.quantities import Name
from molewright.experiment.titres import GRAPH_CM3, READING_CM3, Run, nearest_reading

PH_PLACES = 2  # of a meter (common practice, no source)
Keeps = Literal["all", "windows", "nothing"]
"""What the numbers of a draw keep: windows and what lets mistakes show, the windows alone, or neither."""


def draw(archetype: Archetype, chosen: Chosen, stream: Stream, fixed: Mapping[Name, Fraction]) -> Draw:
    """Draw one question's numbers. `fixed` holds the molar masses.

    Raises Refusal where no value of the fitted number keeps every window.
    """
    return _draw(archetype, chosen, Picked(stream), stream, fixed)


def draw_stated(
    archetype: Archetype,
    chosen: Chosen,
    numbers: Mapping[Name, Quantity],
    stream: Stream,
    fixed: Mapping[Name, Fraction],
) -> Draw:
    """The draw of these numbers, one for each name of `possible_numbers`; `stream` serves the burette readings only.

    Raises Refusal where `draw` would never come upon them.
    """
    return _draw(archetype, chosen, Stated(numbers), stream, fixed)


def draw_freely(archetype: Archetype, chosen: Chosen, stream: Stream, fixed: Mapping[Name, Fraction]) -> Draw:
    """Pick every number from all its values, each as likely as the others, the fitted one too; most often this is refused.

    Raises Refusal where `draw` would never come upon them.
    """
    numbers = {name: stream.pick(values) for name, values in possible_numbers(chosen).items()}
    return draw_stated(archetype, chosen, numbers, stream, fixed)


def draw_partly(
    archetype: Archetype,
    chosen: Chosen,
    numbers: Mapping[Name, Quantity],
    stream: Stream,
    fixed: Mapping[Name, Fraction],
    keeps: Keeps = "all",
) -> Draw:
    """Draw what is left open beside some numbers that somebody has fixed, so that it keeps all that a draw keeps, or less.

    Titres are told as they come out: one that is fixed is put in by whoever knows how to derive. Raises Refusal where nothing that is
    left open keeps it, or where the bench cannot do it at all.
    """
    source: Source = Loosely(numbers, stream) if keeps == "nothing" else Partly(numbers, Picked(stream))
    return _draw(archetype, chosen, source, stream, fixed, keeps)


def possible_numbers(chosen: Chosen) -> dict[Name, tuple[Quantity, ...]]:
    """Every value, as it is written and each once, of every number that a draw of this choice picks; the least first."""
    variant = chosen.variant
    if not variant.procedure.titrations:
        asked, meters = chosen.ask.quantity, variant.procedure.meters  # a meter tells of what is asked
        return {n: values_of(choice, False) for n, choice in variant.choices.items() if n != asked or meters}
    suited = suited_strength(variant)
    return {name: values_of(choice, choice.fit or name == suited) for name, choice in variant.choices.items()}


def _draw(
    archetype: Archetype,
    chosen: Chosen,
    source: Source,
    stream: Stream,
    fixed: Mapping[Name, Fraction],
    keeps: Keeps = "all",
) -> Draw:
    variant, ask = chosen.variant, chosen.ask
    given: dict[Name, Quantity] = {}
    truth: dict[Name, Fraction] = dict(fixed)
    if not variant.procedure.titrations:
        return _prepare(archetype, chosen, source, stream, truth)
    hidden = hidden_by(ask.quantity, variant)
    suited = suited_strength(variant)
    for name, choice in variant.choices.items():
        if not choice.fit and name != suited:
            quantity = source.one(name, choice)
            truth[name] = quantity.in_base
            given[name] = quantity
    _fits_the_scene(variant, chosen.context, given)
    if keeps != "nothing":
        fitted = fit(archetype, variant, suited, truth, source, telling=keeps == "all")
    else:
        bending = [name for name in (suited, variant.fitted) if name is not None]
        fitted = [(name, source.one(name, variant.choices[name])) for name in bending]
    for name, quantity in fitted:
        truth[name] = quantity.in_base
        given[name] = quantity
    _weigh_by_difference(variant, given, truth)
    readings = look(variant.procedure, truth)
    if keeps != "nothing":
        keep_windows(archetype, variant.procedure, readings)
    runs: tuple[Run, ...] = ()
    for titration in variant.procedure.titrations:
        name = titration.titre
        if name == ask.quantity:
            continue
        given[name] = printed_titre(archetype, variant, name, readings.titres[name])
        if titration is variant.procedure.titrations[-1] and chosen.table:
            runs = draw_runs(given[name].in_base, stream, chosen.line)
    given.update(_read_meters(ask.quantity, readings))
    given.pop(hidden, None)
    for name, choice in variant.choices.items():
        if choice.hidden:
            given.pop(name, None)
    return Draw(
        archetype=archetype,
        variant=variant,
        context=chosen.context,
        ask=ask,
        indicator=chosen.indicator,
        given=given,
        truth=truth,
        runs=runs,
        stream=stream,
        line=chosen.line,
        part=chosen.part,
    )


def _read_meters(asked: Name, readings: Readings) -> dict[Name, Quantity]:
    """What the pH meters show, as they are read; not where a pH is asked for."""
    if asked in readings.meters:
        return {}
    return {name: Quantity(half_up(Fraction(repr(ph)), PH_PLACES)) for name, ph in readings.meters.items()}


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
    """What a titre is read to: on a burette, or, for the last flask of some archetypes, on a graph."""
    graph = archetype.graph and name in {one.titre for one in of_last_flask(variant.procedure)}
    return GRAPH_CM3 if graph else READING_CM3


def _prepare(archetype: Archetype, chosen: Chosen, source: Source, stream: Stream, truth: dict[Name, Fraction]) -> Draw:
    """Draw the numbers of a solution that is prepared and not titrated: whatever is not asked for is picked.

    Where a meter is read, what is asked for is picked too and not printed: the meter tells of it.
    """
    given: dict[Name, Quantity] = {}
    asked, meters = chosen.ask.quantity, chosen.variant.procedure.meters
    for name, choice in chosen.variant.choices.items():
        if name != asked or meters:
            quantity = given[name] = source.one(name, choice)
            truth[name] = quantity.in_base
    _weigh_by_difference(chosen.variant, given, truth)
    if meters:
        given.update(_read_meters(asked, look(chosen.variant.procedure, truth)))
        given.pop(hidden_by(asked, chosen.variant), None)
    return Draw(
        archetype=archetype,
        variant=chosen.variant,
        context=chosen.context,
        ask=chosen.ask,
        indicator="",
        given=given,
        truth=truth,
        runs=(),
        stream=stream,
        line=chosen.line,
        part=chosen.part,
    )


def _weigh_by_difference(variant: Variant, given: dict[Name, Quantity], truth: dict[Name, Fraction]) -> None:
    """Print the two masses of the weighing bottle in the place of the sample's own, where that is how it was weighed."""
    for operation in variant.procedure.weighings:
        if operation.by_difference:
            mass = given.pop(quantities.mass(operation.sample), None)
            emptied = given.get(quantities.bottle_mass(operation.sample, True))
            if mass is not None and emptied is not None:
                full = Quantity(mass.number + emptied.number, mass.unit)
                given[quantities.bottle_mass(operation.sample, False)] = full
                truth[quantities.bottle_mass(operation.sample, False)] = full.in_base


def with_other_runs(made: Draw, attempt: int) -> Draw:
    """The same numbers with other burette readings about the same mean titre; how many, the versions share attempt by attempt."""
    line = f"{made.line}/{attempt}" if made.line else ""
    titration = made.variant.procedure.titrations[-1].titre
    return replace(
        made, runs=draw_runs(made.given[titration].in_base, made.stream.branch(f"runs {attempt}"), line, attempt)
    )
