"""A draw comes in; the conditions of banks/faults.yaml that hold for it go out, read from its procedure and the bank."""

from __future__ import annotations

from collections.abc import Iterator

from generator.bank.definitions import Bank
from generator.chem.formula import PLACEHOLDERS, parse_formula
from generator.question import procedure as names
from generator.question.draw import Draw
from generator.question.judgement.perturb import portion_volumes
from generator.question.procedure import MakeUp, Measure, React, Titrate, Weigh

STRONG_ALKALIS = frozenset({"NaOH", "KOH"})
STRONG_ACIDS = frozenset({"HCl", "HNO3", "H2SO4"})
WEAK_PKA = 4.0  # from here on methyl orange (3.1 to 4.4) changes before the last proton is gone
HYDROLYSED = frozenset({"Mg", "Zn", "Al", "Cu", "Fe", "Mn", "Ni", "Cr", "Pb"})  # hydroxides that come down below pH 10
GAS_LEAVES_ALONE = (
    6.2  # an indicator that has changed below this pH changes before carbon dioxide (pKa 6.35) takes up much alkali
)


def conditions(bank: Bank, draw: Draw) -> frozenset[str]:
    """The words of `needs` that hold for a question."""
    return frozenset({*_setting(draw), *_handling(draw), *_chemistry(bank, draw)})


def unknown_in_burette(draw: Draw) -> bool:
    """Whether the strength of the titrant is what is asked for."""
    titrant = draw.variant.procedure.titrations[-1].titrant.name
    return draw.ask.quantity in (names.concentration(titrant), names.mass_concentration(titrant))


def is_back(draw: Draw) -> bool:
    """Whether a reagent is added in known excess."""
    return any(isinstance(op, Measure) and op.excess for op in draw.variant.procedure.operations)


def _setting(draw: Draw) -> Iterator[str]:
    yield "back" if is_back(draw) else "direct"
    if unknown_in_burette(draw):
        if not is_back(draw):
            yield "unknown in burette"
    else:
        yield "not standardised"
        if not is_back(draw):
            yield "unknown in flask"


def _handling(draw: Draw) -> Iterator[str]:
    procedure = draw.variant.procedure
    if portion_volumes(procedure):
        yield "pipette"
    if any(isinstance(op, MakeUp) for op in procedure.operations):
        yield "made up"
    if any(isinstance(op, Weigh) and op.weighed and names.mass(op.sample) in draw.given for op in procedure.operations):
        yield "weighed"
    last = procedure.titrations[-1]
    if not any(isinstance(op, Weigh) and op.vessel == last.vessel for op in procedure.operations):
        yield "several runs"
    if draw.ask.quantity.startswith("percentage"):
        yield "percentage asked"
    if draw.ask.quantity.startswith("water in"):
        yield "hydrate"
    if draw.indicator:
        yield "colour indicator"


def _chemistry(bank: Bank, draw: Draw) -> Iterator[str]:
    last = draw.variant.procedure.titrations[-1]
    for operation in draw.variant.procedure.operations:
        if isinstance(operation, React):
            made = {member.formula.text for reaction in operation.reactions for member in reaction.right}
            if "CO2" in made and is_back(draw):
                yield "carbonate"
        if isinstance(operation, Measure) and operation.excess and operation.solution.solute == "HCl":
            yield "hydrochloric acid in excess"
    indicator = bank.indicators.get(draw.indicator)
    if indicator is not None and indicator.high is not None and float(indicator.high) <= GAS_LEAVES_ALONE:
        yield "carbon dioxide ignored"
    if last.titrant.solute in STRONG_ALKALIS:
        yield "alkali in burette"
    if last.titrant.solute in STRONG_ACIDS:
        yield "acid in burette"
    if not _elements(draw) & HYDROLYSED and "NH4" not in draw.variant.roles.get("analyte", ""):
        yield "phenolphthalein possible"
    yield from _reacting(bank, last)


def _elements(draw: Draw) -> set[str]:
    """The elements of what is analysed."""
    return {symbol for symbol, _ in parse_formula(draw.variant.roles.get("analyte", ""), PLACEHOLDERS).atoms}


def _reacting(bank: Bank, last: Titrate) -> Iterator[str]:
    titrant = last.titrant.species
    there = {member.formula.text for reaction in last.reactions for member in reaction.left} - {titrant}
    weak = {family.formula for family in bank.acids.values() if family.pkas[-1] >= WEAK_PKA}
    if there & weak:
        yield "weak acid in flask"
    for words, species in (
        ("sodium carbonate in flask", {"Na2CO3"}),
        ("iron(II) in flask", {"Fe^2+"}),
        ("ethanedioate in flask", {"H2C2O4", "C2O4^2-"}),
        ("iodine in flask", {"I2"}),
    ):
        if there & species:
            yield words
    for words, species in (
        ("manganate(VII) in burette", {"MnO4-"}),
        ("thiocyanate in burette", {"SCN-", "KSCN", "NH4SCN"}),
        ("silver in burette", {"Ag+", "AgNO3"}),
        ("EDTA in burette", {"H2Y^2-", "Y^4-", "EDTA"}),
    ):
        if titrant in species:
            yield words
