"""A calculation comes in; a part goes out that has its standard solution described, a mark a step. Performs and solves nothing.

The steps are those of the procedure: a solid weighed and dissolved, or a stronger solution measured, then made up to the mark. The
stem tells them in short; a mark is for what makes the concentration exact. What goes wrong without it is told by the bank of faults.
"""

from __future__ import annotations

from fractions import Fraction

from molewright.bank.definitions import LaboratoryFault
from molewright.chem.masses import relative_mass
from molewright.chem.quantity import Quantity, half_up
from molewright.draw.refusal import Refusal
from molewright.experiment import quantities
from molewright.experiment.procedure import Measure, Weigh
from molewright.experiment.quantities import Name
from molewright.further_parts.faults.faulty_standard import (
    Preparation,
    Strength,
    compared,
    preparation,
    strength_with,
    true_values,
)
from molewright.further_parts.pieces import (
    Bottle,
    Calculation,
    Chemical,
    FurtherPart,
    FurtherPoint,
    Piece,
    Said,
    Sample,
    Strong,
    said,
    writing_lines,
)

WATER_SHARE = Fraction(2, 5)  # of the flask, to dissolve in: leaves room for the washings; common practice, no source
WET = Fraction(
    99, 100
)  # of the stock in what is wet with water, as where a pipette is not rinsed: only the direction of its effect is used


def ask_preparation(calculation: Calculation) -> tuple[FurtherPart, ...]:
    """How the solution is prepared: a mark for each thing that makes its concentration exact."""
    made = preparation(calculation.draw.variant.procedure)
    if made is None:
        raise Refusal("describe", "no solution is made up to the mark from a solid or from a stronger solution")
    volume = _known(calculation, quantities.volume_made_up(made.made_up.vessel))
    if made.solid is not None:
        return (_from_solid(calculation, made, made.solid, volume),)
    assert made.stock is not None
    return (_from_stock(calculation, made, made.stock, volume),)


def _known(calculation: Calculation, name: Name) -> Quantity:
    """A number as the pupil has it: printed, or the answer just worked out. Raises Refusal where it is neither."""
    if name == calculation.worked.plan.asked and calculation.draw.archetype.calculated:
        return calculation.worked.answer
    found = calculation.draw.given.get(name)
    if found is None:
        raise Refusal("describe", f"the {name} is neither printed nor worked out")
    return found


# ------------------------------------------------------------------ from a solid


def _from_solid(calculation: Calculation, made: Preparation, solid: Weigh, volume: Quantity) -> FurtherPart:
    mass = _known(calculation, quantities.mass(solid.sample))
    calculated = quantities.mass(solid.sample) == calculation.worked.plan.asked
    what = _called(calculation, solid)
    water = Quantity(half_up(volume.exact * WATER_SHARE, 0), volume.unit)
    own_mass = (said("guide own mass"),) if calculated else ()
    points = (
        FurtherPoint(
            (said("describe weigh", mass=Strong(mass), solid=what, step=balance_step(calculation, mass)),),
            "weighed by difference",
            (
                *own_mass,
                said("guide weigh"),
                *_hydrate(calculation, made, solid),
                *_reason(calculation, made, "weigh back"),
            ),
        ),
        FurtherPoint(
            (said("describe dissolve", solvent=made.solvent, flask=volume, water=water),),
            "dissolved in a beaker in less than the flask holds",
            (said("guide dissolve"),),
        ),
        FurtherPoint(
            (said("describe transfer", flask=volume),),
            "poured through a funnel into the volumetric flask",
            (said("guide transfer"),),
        ),
        FurtherPoint(
            (said("describe washings"),),
            "washings of beaker, rod and funnel added",
            (said("guide washings"), *_reason(calculation, made, "rinse the beaker")),
        ),
        *_to_the_mark(calculation, made),
    )
    asked = (
        said("describe solid calculated", volume=volume, solid=what)
        if calculated
        else said("describe solid", volume=volume, solid=what, mass=mass)
    )
    return FurtherPart(
        kind="describe",
        demand=asked,
        points=points,
        space=(writing_lines(len(points)),),
        hint=said("hint describe solid"),
    )


def _called(calculation: Calculation, solid: Weigh) -> Piece:
    """What the solid is called: by its name where it is pure and known, else by the scene."""
    substance = solid.contents[0].substance
    known = solid.pure and len(solid.contents) == 1 and substance in calculation.bank.substances
    if known and not substance.endswith(".xH2O") and substance not in calculation.draw.variant.unknown:
        return calculation.bank.name_of(substance)
    return Sample()


def balance_step(calculation: Calculation, mass: Quantity) -> Quantity:
    """The smallest step of the coarsest balance in the bank that still shows every place of a mass."""
    steps = sorted(
        (piece.resolution for piece in calculation.bank.apparatus if piece.kind == "balance" and piece.resolution),
        key=lambda step: step.in_base,
    )
    if not steps:
        raise Refusal("describe", "the bank has no balance")
    last_place = Fraction(10) ** -mass.places * mass.unit.factor
    fine = [step for step in steps if step.in_base <= last_place]
    return fine[-1] if fine else steps[0]


def _hydrate(calculation: Calculation, made: Preparation, solid: Weigh) -> tuple[Said, ...]:
    """What comes of weighing out the mass that the salt has without its water, found by weighing out so much."""
    substance = solid.contents[0].substance
    salt, dot, water = substance.partition(".")
    whole = calculation.given.get(quantities.molar_mass(substance))
    if not dot or water.startswith("x") or not solid.pure or whole is None:
        return ()
    share = half_up(Fraction(relative_mass(salt, calculation.masses)) / whole, 6)
    effect = strength_with(
        calculation, made, LaboratoryFault(key="", told="", cause="", changes=(("weighed mass", share),))
    )
    return (
        (said("guide weighed hydrate", hydrate=Chemical(substance), salt=Chemical(salt), effect=effect),)
        if effect
        else ()
    )


# ------------------------------------------------------------------ from a stronger solution


def _from_stock(calculation: Calculation, made: Preparation, stock: Measure, volume: Quantity) -> FurtherPart:
    measured = _known(calculation, stock.volume)
    calculated = stock.volume == calculation.worked.plan.asked
    if measured.in_base > most_in(calculation, stock.apparatus):
        raise Refusal("describe", f"{measured} is more than the {stock.apparatus} holds")
    bottle, tool = Bottle(stock.solution.name), stock.apparatus
    own_volume = (said("guide own volume"),) if calculated else ()
    points = (
        FurtherPoint(
            (said(f"describe rinse {tool}", bottle=bottle),),
            f"{tool} rinsed with the solution that it is to hold",
            (said("guide rinse"), *_wet(calculation, made, stock)),
        ),
        FurtherPoint(
            (said(f"describe fill {tool}"),),
            "bottom of the meniscus at eye level",
            (said(f"guide fill {tool}"),),
        ),
        FurtherPoint(
            (said(f"describe deliver {tool}", measured=Strong(measured), flask=volume),),
            "run into the volumetric flask",
            (*own_volume, said("guide deliver")),
        ),
        *_to_the_mark(calculation, made),
    )
    asked = (
        said("describe stock calculated", volume=volume, bottle=bottle, tool=tool)
        if calculated
        else said("describe stock", volume=volume, bottle=bottle, measured=measured)
    )
    return FurtherPart(
        kind="describe",
        demand=asked,
        points=points,
        space=(writing_lines(len(points)),),
        hint=said("hint describe stock"),
    )


def most_in(calculation: Calculation, kind: str) -> Fraction:
    """What the largest apparatus of a kind in the bank holds, in cm³."""
    return max((one.capacity.in_base for one in calculation.bank.apparatus if one.kind == kind), default=Fraction(0))


def _wet(calculation: Calculation, made: Preparation, stock: Measure) -> tuple[Said, ...]:
    """Why it is rinsed with the stock: less of the stock is delivered from what is wet with water."""
    values = true_values(calculation)
    effect = compared(calculation, made, {**values, stock.volume: values[stock.volume] * WET})
    cause = said("cause wet", tool=stock.apparatus)
    return (said("guide reason", cause=cause, effect=effect),) if effect else ()


# ------------------------------------------------------------------ what both have


def _to_the_mark(calculation: Calculation, made: Preparation) -> tuple[FurtherPoint, ...]:
    past = _reason(calculation, made, "stop at the mark", "guide past")
    below = _reason(calculation, made, "fill to the mark", "guide below")
    return (
        FurtherPoint(
            (said("describe make up"),),
            "made up: the bottom of the meniscus on the mark",
            (said("guide make up"), *past, *below),
        ),
        FurtherPoint(
            (said("describe invert"),),
            "stoppered and inverted several times",
            (said("guide invert"), *_reason(calculation, made, "mix", "guide unmixed")),
        ),
    )


def _reason(calculation: Calculation, made: Preparation, step: str, wording: str = "guide reason") -> tuple[Said, ...]:
    """Why a step matters: the cause of the fault that is made without it, and what it does to the strength."""
    fault = calculation.bank.fault_without(step)
    effect: Strength = strength_with(calculation, made, fault) if fault is not None else ""
    if fault is None or not effect:
        return ()
    return (said(wording, cause=Said(fault.cause, (("sample", Sample()),), written=True), effect=effect),)
