"""What is put into a vessel comes in as a person writes it: weighed, measured, made up, taken; operations go out."""

from __future__ import annotations

from molewright.bank.readers.forms import usual_form
from molewright.bank.readers.read_so_far import BESIDE, ReadSoFar
from molewright.bank.readers.unknown_choices import read_may_be
from molewright.chem.formula import parse_formula
from molewright.errors import Mistake, nearest, shortened
from molewright.experiment import quantities
from molewright.experiment.procedure import (
    Add,
    Aliquot,
    Content,
    Dissolve,
    MakeUp,
    Measure,
    Part,
    Strength,
    Warm,
    Weigh,
)
from molewright.experiment.quantities import PORTION
from molewright.experiment.solution import Solution
from molewright.reading.fields import Fields, counted

DRAWN_WITH = ("pipette", "burette")
_BOTH = 2  # elements of a salt
_UNSAID = "speed up the reaction"  # how far something is warmed where nobody says it
POURED_WITH = ("pipette", "burette", "measuring cylinder", "volumetric flask", "bottle")


def weigh(so_far: ReadSoFar, fields: Fields) -> None:
    """Read a sample that is weighed, or counted: what it holds, and its numbers."""
    vessel = fields.text("into", so_far.here)
    so_far.placeholders |= frozenset(fields.texts("unknown", ()))
    sample = so_far.word(fields.text("sample"))
    pieces = so_far.word(fields.text("pieces", ""))
    pure = fields.yes("pure")
    contents: list[Content] = []
    for text in fields.texts("contains"):
        substance = so_far.formula(text)
        count, species = usual_form(so_far.chemicals.substances.get(substance), substance)
        if any(substance == earlier.substance for earlier in contents):
            raise Mistake(f"{substance} stands twice", expected="each once", where=fields.at("contains"))
        contents.append(Content(substance, species, count))
        if any(symbol in so_far.placeholders for symbol, _ in parse_formula(substance, so_far.placeholders).atoms):
            so_far.made.unknown.add(substance)
    if fields.has("gives"):
        given = fields.texts("gives")
        if len(contents) != len(given):
            raise Mistake(
                f"'gives' tells of {len(given)} substances, and {len(contents)} stand under 'contains'",
                expected="what each of them gives, in the same order",
                where=fields.at("gives"),
            )
        told = [counted(text, so_far.formula) for text in given]
        contents = [
            Content(content.substance, species, count) for content, (count, species) in zip(contents, told, strict=True)
        ]
    written = fields.has("gives")
    for at, content in enumerate(contents):
        count, species = so_far.given((sample, content.substance), (content.count, content.species), written)
        contents[at] = Content(content.substance, species, count)
    if fields.yes("molar mass unknown"):
        so_far.made.unknown.update(content.substance for content in contents)
    first = contents[0].substance
    so_far.number(fields, "mass", quantities.mass(sample))
    _shares(so_far, fields, sample, contents)
    so_far.number(fields, "mass within", quantities.mass_within(first, sample))
    so_far.number(fields, "molar mass", quantities.molar_mass(first))
    if fields.has("may be"):
        so_far.made.may_be = read_may_be(
            fields, first, first in so_far.made.unknown, so_far.chemicals.substances, so_far.formula
        )
        so_far.made.choices[so_far.made.may_be.number] = so_far.made.may_be.choice
    so_far.number(fields, "water", quantities.water(first))
    if pieces:
        so_far.number(fields, "number", quantities.pieces(pieces))
        so_far.number(fields, "mass each", quantities.mass_each(first, pieces))
    for symbol in sorted(so_far.placeholders):
        so_far.number(fields, f"atomic mass of {symbol}", quantities.atomic_mass(symbol))
    so_far.number(fields, "by difference", quantities.bottle_mass(sample, True))
    so_far.number(fields, "full bottle", quantities.bottle_mass(sample, False))
    unknown_number = _formula_with_x(so_far, fields, pure and len(contents) == _BOTH)
    weighed = not fields.yes("counted only")
    elements = tuple(so_far.word(one) for one in fields.texts("elements", ()))
    per_gram = fields.yes("per gram")
    so_far.made.operations.append(
        Weigh(
            sample=sample,
            contents=tuple(contents),
            vessel=vessel,
            pure=pure,
            pieces=pieces,
            weighed=weighed,
            elements=elements,
            per_gram=per_gram,
            rest=fields.yes("impurities"),
            brought_by=fields.text("brought by", ""),
            subscript=unknown_number,
            counted_as=fields.text("counted as", ""),
            by_difference=fields.has("by difference"),
        )
    )
    so_far.number(fields, "mass per gram", quantities.mass_per_gram(first, sample))
    _factor(so_far, fields)
    so_far.inside.setdefault(vessel, []).extend(content.species for content in contents)
    so_far.here = vessel


def _factor(so_far: ReadSoFar, fields: Fields) -> None:
    """Read by which factor something is counted."""
    if fields.has("factor") and not fields.has("counted as"):
        raise Mistake(
            "a factor, and nothing says what is counted by it",
            expected="'counted as: protein' beside it",
            where=fields.at("factor"),
        )
    so_far.number(fields, "factor", quantities.factor(fields.text("counted as", "")))


def _formula_with_x(so_far: ReadSoFar, fields: Fields, of_two: bool) -> str:
    """Read the formula of a salt of two elements that has x for a number; "" for none."""
    formula = fields.text("formula", "")
    if formula and not of_two:
        raise Mistake(
            f"the formula {formula} of what is no salt of two elements",
            expected="'contains: FeClx' alone, with x for the number of the second element",
            where=fields.at("formula"),
        )
    if formula:
        so_far.number(fields, "x", quantities.subscript(formula))
    return formula


def _shares(so_far: ReadSoFar, fields: Fields, sample: str, contents: list[Content]) -> None:
    """Read the percentages of the first two substances of a sample."""
    for key, content in zip(("percentage", "percentage of the second"), contents, strict=False):
        so_far.number(fields, key, quantities.percentage(content.substance, sample))


def dissolve(so_far: ReadSoFar, fields: Fields) -> None:
    """Read what a sample is dissolved in."""
    so_far.made.operations.append(Dissolve(so_far.vessel(fields), fields.text("in", "distilled water")))


def _put(so_far: ReadSoFar, fields: Fields, key: str, excess: bool, into: str = "") -> None:
    vessel = into or fields.text("into", so_far.here)
    so_far.placeholders |= frozenset(fields.texts("unknown", ()))
    solution = so_far.solution(fields, key)
    if so_far.placeholders and parse_formula(solution.solute, so_far.placeholders).placeholders:
        so_far.made.unknown.add(solution.solute)
    so_far.number(fields, "volume", quantities.volume_measured(solution.name, vessel))
    apparatus = fields.one_of("with", POURED_WITH, "pipette")
    others: tuple[Solution, ...] = ()
    if fields.has(BESIDE):  # a second solute of the same bottle
        beside = Fields(fields.branch(BESIDE), BESIDE)
        others = (so_far.solution(beside, "solution"),)
        beside.finish()
    like = fields.text("like", "")
    so_far.made.operations.append(
        Measure(solution=solution, vessel=vessel, apparatus=apparatus, excess=excess, others=others, like=like)
    )
    so_far.inside.setdefault(vessel, []).extend(one.species for one in (solution, *others))
    so_far.here = vessel


def measure(so_far: ReadSoFar, fields: Fields) -> None:
    """Read a solution that is measured into a vessel."""
    _put(so_far, fields, "solution", False)


def add_excess(so_far: ReadSoFar, fields: Fields) -> None:
    """Read a solution of which more than enough is added."""
    _put(so_far, fields, "solution", True)


def catch(so_far: ReadSoFar, fields: Fields) -> None:
    """Read the solution that a gas is driven into: measured where a number of it is told, there in plenty where none is."""
    if any(fields.has(key) for key in ("volume", "concentration")):
        _put(so_far, fields, "solution", True, so_far.here)
        return
    solution = fields.text("solution")
    known = so_far.chemicals.substances.get(so_far.formula(solution))
    so_far.made.operations.append(Add(f"an excess of {known.poured if known else solution}", so_far.here))


def add(so_far: ReadSoFar, fields: Fields) -> None:
    """Read something added that nobody measures."""
    vessel = fields.text("vessel", so_far.here)  # it may be the first thing there
    so_far.filled[vessel] = fields.at("vessel")
    so_far.made.operations.append(Add(fields.text("what"), vessel))


def warm(so_far: ReadSoFar, fields: Fields) -> None:
    """Read how far a vessel is warmed; where nobody says it, only that it is."""
    to = fields.text("to", _UNSAID)
    so_far.made.operations.append(Warm(to if to != "gently" else _UNSAID, so_far.vessel(fields)))


def make_up(so_far: ReadSoFar, fields: Fields) -> None:
    """Read a vessel made up to the mark."""
    vessel = so_far.vessel(fields)
    so_far.number(fields, "volume", quantities.volume_made_up(vessel))
    so_far.made.operations.append(MakeUp(vessel))


def take_aliquot(so_far: ReadSoFar, fields: Fields) -> None:
    """Read a portion taken from a vessel."""
    vessel, into = so_far.vessel(fields, "from"), fields.text("into", PORTION)
    so_far.number(fields, "volume", quantities.volume_taken(into))
    so_far.made.operations.append(Aliquot(vessel, into, fields.one_of("with", DRAWN_WITH, "pipette")))
    so_far.inside[into] = list(so_far.inside.get(vessel, []))
    so_far.here = into


def dilute(so_far: ReadSoFar, fields: Fields) -> None:
    """Read a solution that is measured and made up to the mark."""
    _put(so_far, fields, "solution", False)
    so_far.number(fields, "to", quantities.volume_made_up(so_far.here))
    so_far.made.operations.append(MakeUp(so_far.here))


def tell_strength(so_far: ReadSoFar, fields: Fields) -> None:
    """Read a solution whose strength is told and nothing is done with."""
    if not fields.has("made in"):
        raise Mistake("a strength of no vessel", expected="'made in: flask'", where=fields.where)
    so_far.made.operations.append(Strength(so_far.solution(fields, "solution")))


def tell_part(so_far: ReadSoFar, fields: Fields) -> None:
    """Read that a solution's strength is what is left of another's when a third is taken away."""
    part = so_far.solution(fields, "solution")
    named = []
    for key in ("of", "without"):
        bottle = fields.text(key)
        if bottle not in so_far.bottles or bottle == part.name:
            raise Mistake(
                f"no other bottle {shortened(bottle)}",
                expected=f"one of those here: {', '.join(so_far.bottles)}",
                near=nearest(bottle, so_far.bottles),
                where=fields.at(key),
            )
        named.append(so_far.bottles[bottle])
    so_far.made.operations.append(Part(whole=named[0], rest=named[1], part=part))
