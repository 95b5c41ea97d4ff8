"""Worked solutions put a redox equation together from its half-equations, and show that the electrons cancel."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from molewright.bank.definitions import Bank
from molewright.chem.half_equations import put_together
from molewright.chem.reaction import parse_reaction
from molewright.nodes.blocks import Together
from molewright.render.text.lines import plain_line
from molewright.sheet.compose import Composer, Setting
from molewright.sheet.equations import reactions
from molewright.sheet.half_equation_lines import full_equation
from molewright.sheet.writer import Writer
from shared.for_each import for_each

Compose = Callable[..., Any]


def said(block: Any) -> list[str]:
    """The lines of a block as text."""
    inner = block.blocks if isinstance(block, Together) else (block,)
    return [plain_line(one.line).replace("\N{NO-BREAK SPACE}", " ") for one in inner]


def writer_of(key: str, compose: Compose, bank: Bank) -> Writer:
    question = compose(key, "exam", "dm3").questions[0]
    return Composer((question,), bank, Setting(title="Practice", code="A", levels=("exam",))).writers[0]


def test_manganate_and_iron_are_added_five_to_one(compose: Compose, bank: Bank) -> None:
    writer = writer_of("iron-tablets", compose, bank)
    lines = said(full_equation(writer, reactions(writer)[-1]))
    assert "Reduction: MnO₄⁻(aq) + 8H⁺(aq) + 5e⁻ → Mn²⁺(aq) + 4H₂O(l) (× 1)" in lines
    assert "Oxidation: Fe²⁺(aq) → Fe³⁺(aq) + e⁻ (× 5)" in lines
    assert "5 electrons are lost and 5 are gained, so they cancel." in lines
    assert lines[-1] == "MnO₄⁻(aq) + 8H⁺(aq) + 5Fe²⁺(aq) → Mn²⁺(aq) + 4H₂O(l) + 5Fe³⁺(aq)"


def test_what_stands_on_both_sides_and_what_divides_all_is_told(compose: Compose, bank: Bank) -> None:
    peroxide = writer_of("peroxide", compose, bank)
    assert any("cancel too (H⁺)" in line for line in said(full_equation(peroxide, reactions(peroxide)[-1])))
    salt = writer_of("iodised-salt", compose, bank)
    lines = said(full_equation(salt, reactions(salt)[0]))
    assert any("10 electrons are lost" in line and "divided by 2" in line for line in lines)
    assert lines[-1] == "IO₃⁻(aq) + 5I⁻(aq) + 6H⁺(aq) → 3I₂(aq) + 3H₂O(l)"


def test_a_reaction_without_half_equations_is_printed_as_it_was(compose: Compose, bank: Bank) -> None:
    writer = writer_of("back-portions", compose, bank)
    assert all(len(said(full_equation(writer, reaction))) == 1 for reaction in reactions(writer))


@for_each(
    ("whole", "electrons"),
    [  # as textbooks of iodine and manganate titrations print them; the electrons by the changes of oxidation state
        ("IO3^-(aq) + 5I^-(aq) + 6H^+(aq) -> 3I2(aq) + 3H2O(l)", 10),
        ("2Cu^2+(aq) + 4I^-(aq) -> 2CuI(s) + I2(aq)", 2),
        ("C6H8O6(aq) + I2(aq) -> C6H6O6(aq) + 2I^-(aq) + 2H^+(aq)", 2),
        ("MnO(OH)2(s) + 2I^-(aq) + 4H^+(aq) -> Mn^2+(aq) + I2(aq) + 3H2O(l)", 2),
        ("SO2(aq) + I2(aq) + 2H2O(l) -> SO4^2-(aq) + 2I^-(aq) + 4H^+(aq)", 2),
        ("SO3^2-(aq) + I2(aq) + H2O(l) -> SO4^2-(aq) + 2I^-(aq) + 2H^+(aq)", 2),
        ("Cl2(aq) + 2I^-(aq) -> 2Cl^-(aq) + I2(aq)", 2),
        ("MnO2(s) + 2Fe^2+(aq) + 4H^+(aq) -> Mn^2+(aq) + 2Fe^3+(aq) + 2H2O(l)", 2),
        ("2Fe^3+(aq) + Zn(s) -> 2Fe^2+(aq) + Zn^2+(aq)", 2),
    ],
)
def test_the_banks_hold_redox_equations_as_two_halves(whole: str, electrons: int, bank: Bank) -> None:
    (entry,) = (one for one in bank.reactions if one.reaction.is_like(parse_reaction(whole)))
    assert entry.halves is not None
    assert entry.halves.electrons == electrons
    assert put_together(entry.halves.oxidation, entry.halves.reduction).whole == entry.reaction


def test_multiplied_half_equations_have_the_same_electrons_on_both_sides(bank: Bank) -> None:
    for halves in (entry.halves for entry in bank.reactions if entry.halves is not None):
        given = halves.oxidation.coefficient("e-") * halves.oxidation_times
        assert given == halves.reduction.coefficient("e-") * halves.reduction_times == halves.electrons
