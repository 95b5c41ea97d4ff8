"""An archetype comes in; what its versions share goes out: material, asked quantity, scene, indicator, and what is printed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from molewright.bank.definitions import Archetype, Ask, Context, Variant
from molewright.chem.quantity import Quantity
from molewright.draw.stream import Stream
from molewright.experiment import acidity, quantities
from molewright.experiment.end_points import of_last_flask
from molewright.experiment.equilibrium import CONSTANT
from molewright.experiment.quantities import Name
from molewright.experiment.quantity_kinds import Kind
from molewright.experiment.titres import Run


@dataclass(frozen=True, slots=True, kw_only=True)
class Chosen:
    """What the versions of a question share: material and reagents, asked quantity, scene, indicator, table or mean."""

    variant: Variant
    ask: Ask
    context: Context
    indicator: str
    table: bool
    line: str = ""  # the seed of what else its versions share: how many runs, what is asked in further parts
    part: str = ""  # the kind of stretch part, or the key of the fault, that is asked for; "": it is picked


@dataclass(frozen=True, slots=True, kw_only=True)
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
    line: str = ""  # the seed of what the versions of the question share; "": it has no others
    part: str = ""  # the kind of stretch part, or the key of the fault, that is asked for; "": it is picked

    @property
    def to_find(self) -> frozenset[Name]:
        """The titres that no stem tells: the mean of a table, or whatever end points of the last flask stand on a graph."""
        procedure = self.variant.procedure
        acts = of_last_flask(procedure) if self.archetype.graph else procedure.titrations[-1:] if self.runs else ()
        return frozenset(one.titre for one in acts)


_CONSTANTS: tuple[Kind, ...] = ("acid constant", "pKa")
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
    if ask.kind in _CONSTANTS:  # told as pKa or as Ka
        return next((name for name in variant.choices if name.kind in _CONSTANTS), ask)
    if CONSTANT in variant.choices:
        return CONSTANT
    for solution in variant.procedure.solutions():  # another way to tell a strength
        strength = quantities.concentration(solution.name)
        if ask in solution.strengths and strength in variant.choices:
            return strength
    if not variant.procedure.titrations:
        return ask
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
    return Chosen(
        variant=variant,
        ask=ask,
        context=stream.pick(variant.contexts),
        indicator=indicator,
        table=table and repeats(variant),
        line=stream.seed,
    )


def repeats(variant: Variant) -> bool:
    """Whether the last titration can be repeated: its flask holds a portion, not the whole weighed sample."""
    if not variant.procedure.titrations:
        return False
    vessel = variant.procedure.titrations[-1].vessel
    return not variant.procedure.weighs_into(vessel)


def given_names(chosen: Chosen) -> tuple[Name, ...]:
    """The names of the numbers that a question of this choice prints."""
    variant = chosen.variant
    left_out = {chosen.ask.quantity, *(name for name, choice in variant.choices.items() if choice.hidden)}
    if variant.procedure.titrations or variant.procedure.meters:
        left_out.add(hidden_by(chosen.ask.quantity, variant))
    titres = [titration.titre for titration in variant.procedure.titrations]
    meters = [acidity.ph_in(act.vessel) for act in variant.procedure.meters]
    told = [] if chosen.ask.quantity in meters else meters
    found = [name for name in (*variant.choices, *titres, *told) if name not in left_out]
    for operation in variant.procedure.weighings:
        if operation.by_difference and quantities.mass(operation.sample) in found:
            found[found.index(quantities.mass(operation.sample))] = quantities.bottle_mass(operation.sample, False)
    return tuple(found)
