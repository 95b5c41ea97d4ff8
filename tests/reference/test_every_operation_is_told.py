"""Every operation of every published example stands in the stem of its question, however it is told."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from molewright.bank.definitions import Bank
from molewright.derivation.plans import Plans
from molewright.experiment import quantities
from molewright.experiment.procedure import (
    Add,
    Aliquot,
    Dissolve,
    MakeUp,
    Measure,
    Operation,
    Pass,
    Remove,
    Titrate,
    Warm,
    Weigh,
)
from molewright.experiment.quantities import Name
from molewright.experiment.tellings import TELLINGS
from molewright.nodes.inline import Equation
from molewright.order.lines import OrderLine
from molewright.order.order import Order, Wanted
from molewright.papers.making import PaperMaker
from molewright.reading.quoting import flow_text
from molewright.reading.yaml_text import Keys, parse_tree
from molewright.render.text import render
from molewright.render.text.lines import plain_line
from molewright.sheet.compose import Composer, Setting
from molewright.sheet.telling.ways import possible
from molewright.sheet.writer import Writer
from shared.for_each import for_each
from sheet.conftest import every_node

HERE = Path(__file__).parent
FILES = {path.stem: path for path in (HERE / "worked_examples").rglob("*.yaml")}
AMMONIA = """
experiment: Lawn fertiliser
procedure:
  - weigh: {sample: fertiliser, contains: (NH4)2SO4, mass: 1.500 g}
  - add excess: {solution: NaOH, volume: 50.0 cm3, concentration: 0.500 mol dm-3}
  - react: (NH4)2SO4 + 2NaOH -> Na2SO4 + 2NH3 + 2H2O
  - boil off: NH3
  - titrate: {with: HCl, concentration: 0.250 mol dm-3, titre: 19.20 cm3}
asked: percentage of (NH4)2SO4 in fertiliser
"""
SILVER = """
experiment: Stock powder
procedure:
  - measure: {solution: NaCl, bottle: brine, volume: 25.0 cm3}
  - add excess: {solution: AgNO3, volume: 50.0 cm3, concentration: 0.100 mol dm-3}
  - react: Ag^+ + Cl^- -> AgCl
  - filter off: AgCl
  - titrate: {with: NH4SCN, concentration: 0.100 mol dm-3, titre: 19.20 cm3}
asked: concentration of NaCl
"""
COPPER = """
experiment: Copper in brass
procedure:
  - weigh: {sample: brass, contains: Cu, mass: 1.200 g}
  - dissolve: nitric acid
  - make up: 250.0 cm3
  - take aliquot: 25.0 cm3
  - add excess: {solution: KI, volume: 20 cm3, concentration: 1 mol dm-3}
  - react: 2Cu^2+ + 4I^- -> 2CuI + I2
  - titrate: {with: Na2S2O3, concentration: 0.0500 mol dm-3, titre: 25.70 cm3}
asked: percentage of Cu in brass
"""
VINEGAR = """
experiment: Vinegar
procedure:
  - measure: {solution: CH3COOH, called: vinegar, volume: 25.0 cm3}
  - make up: 250.0 cm3
  - take aliquot: 25.0 cm3
  - titrate: {with: NaOH, concentration: 0.100 mol dm-3, titre: 20.85 cm3, indicator: phenolphthalein}
asked: mass concentration of CH3COOH
"""
HARD = """
experiment: Hardness
procedure:
  - measure: {solution: CaCO3, volume: 100.0 cm3}
  - titrate: {with: EDTA, concentration: 0.0100 mol dm-3, titre: 27.35 cm3, indicator: Eriochrome Black T}
asked: mass concentration of CaCO3
unit: mg dm-3
"""


def told(text: str, bank: Bank, plans: Plans) -> Iterator[tuple[Writer, str]]:
    """The writer of the question that a description makes, and its paper, in every way of telling that does not read oddly."""
    tree = parse_tree(text, "by hand")
    assert isinstance(tree, Keys)
    held = tuple((key, flow_text(branch)) for key, branch in tree.members.items())
    line = OrderLine(experiment=held, level="exam")
    composer = PaperMaker(bank, Order(seed=1, count=1, lines=(line,)), plans).paper(Wanted(), "A").composer
    for telling in TELLINGS:
        made = Composer(composer.questions, bank, replace(composer.setting, tellings=(telling,)))
        writer = made.writers[0]
        if telling in possible(writer):
            yield writer, plain(render(made.question_paper()).decode())


def plain(text: str) -> str:
    """Words with single spaces: a table or a note breaks a line where it has to."""
    return re.sub(r"[\s|]+", " ", text).replace("\N{NO-BREAK SPACE}", " ")


def untold(writer: Writer, page: str) -> Iterator[str]:
    """The operations of which the page does not hold a word."""
    for act in writer.question.draw.variant.procedure.operations:
        if not all(any(one.casefold() in page.casefold() for one in words) for words in words_of(writer, act)):
            yield f"{act} in {page}"


def words_of(writer: Writer, act: Operation) -> Iterator[tuple[str, ...]]:
    """What has to be told of an operation: of each tuple one word at least."""
    for name in numbers_of(act):
        found = writer.numbers.given(name)
        if found is not None:
            yield (plain(plain_line((found,))),)
    match act:
        case MakeUp():
            yield ("made", "mark", "dilut", "water", "filled")
        case Titrate():
            yield ("titrat",)
        case Remove(by_boiling=True):
            yield ("boil", "warming", "heat", "no more gas", "gas was")
            yield (writer.bank.name_of(act.species), "gas", "steam")
        case Remove():
            yield ("filter",)
            yield (writer.bank.name_of(act.species),)
        case Pass():
            yield ("passed", "driven")
        case Add():
            yield (act.what.partition(", ")[0],)
        case Warm():
            yield (act.to,)
        case Dissolve():
            yield ("dissol",)
        case _:
            return


def numbers_of(act: Operation) -> tuple[Name, ...]:
    """The quantities that an operation is told with, where they are printed."""
    match act:
        case Weigh():
            return (quantities.mass(act.sample),) if act.weighed and not act.by_difference else ()
        case Measure():
            return act.volume, quantities.concentration(act.solution.name)
        case MakeUp():
            return (quantities.volume_made_up(act.vessel),)
        case Aliquot():
            return (quantities.volume_taken(act.into),)
        case Titrate():
            return act.titre, quantities.concentration(act.titrant.name)
        case _:
            return ()


@pytest.mark.thorough
@for_each("name", sorted(FILES), shares=2)
def test_every_operation_of_an_example_is_told_in_every_way(name: str, bank: Bank, plans: Plans) -> None:
    ways = list(told(FILES[name].read_text("utf-8"), bank, plans))
    assert ways
    assert not [one for writer, page in ways for one in untold(writer, page)]


@pytest.mark.parametrize("text", [COPPER, AMMONIA, SILVER, VINEGAR])
def test_all_equations_of_a_question_have_state_symbols_or_none_has(text: str, bank: Bank, plans: Plans) -> None:
    writer, _ = next(told(text, bank, plans))
    made = Composer((writer.question,), bank, Setting(title="By hand", code="A", levels=("exam",)))
    for sheet in (made.question_paper(), made.worked_solutions()):
        equations = [node for node in every_node(sheet) if isinstance(node, Equation)]
        assert equations
        assert len({bool(term.state) for one in equations for term in (*one.left, *one.right)}) == 1


CASES = {
    "ammonia": (AMMONIA, "boiling until all the ammonia had gone"),
    "silver chloride": (SILVER, "silver chloride"),
    "iodine that is set free": (COPPER, "iodine"),
    "vinegar": (VINEGAR, "the mass concentration of ethanoic acid in the vinegar"),
    "hard water": (HARD, "the mass concentration of calcium carbonate in the hard water"),
}


@pytest.mark.parametrize("case", CASES)
def test_what_is_done_is_told_and_what_is_titrated(case: str, bank: Bank, plans: Plans) -> None:
    text, said = CASES[case]
    ways = list(told(text, bank, plans))
    assert len(ways) > 1
    for writer, page in ways:
        assert not list(untold(writer, page))
        assert said in page
        assert "potassium iodide left over" not in page
        assert "the vinegar of" not in page
