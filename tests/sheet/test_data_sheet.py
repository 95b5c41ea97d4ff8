"""The data sheet: every relative atomic mass by the convention of the paper, the constants that its questions use, the rules."""

from __future__ import annotations

from molewright.chem.conventions import UnitStyle
from molewright.chem.masses import atomic_mass, has_mass
from molewright.chem.periodic_table import element_places
from molewright.draw.stream import Stream
from molewright.nodes.blocks import ElementTable, Items, Sheet
from molewright.order.choices import MASSES
from molewright.question.check import Questions
from molewright.render import renderer
from molewright.render.text.lines import plain_line
from molewright.sheet.compose import Composer, Setting
from molewright.sheet.data_sheet import data_sheet, element_squares
from shared.for_each import for_each


def sheet(questions: Questions, *keys: str, style: UnitStyle = "dm3") -> Sheet:
    made = [questions.make(questions.bank.archetypes[key], Stream(f"data/{key}")) for key in keys]
    setting = Setting(title="Mock", code="7KQ2-M4XR", levels=tuple("exam" for _ in keys), style=style)
    return data_sheet([Composer(made, questions.bank, setting)], setting.code)


def told(made: Sheet) -> list[str]:
    return [
        plain_line(line).replace("\N{NO-BREAK SPACE}", " ")
        for block in made.blocks
        if isinstance(block, Items)
        for line in block.lines
    ]


@for_each("masses", MASSES)
def test_every_element_has_the_mass_that_the_paper_counts_with(masses: str) -> None:
    convention = next(one for one in MASSES if one == masses)
    held = {square.symbol: square.mass for square in element_squares(convention)}
    for symbol, _ in element_places():
        assert held[symbol] == (f"{atomic_mass(symbol, convention):f}" if has_mass(symbol) else "")


def test_no_two_elements_stand_in_one_square() -> None:
    places = [(square.row, square.column) for square in element_squares("one place")]
    assert len(set(places)) == len(places) == 118 + 2  # two squares say which series belongs there
    assert all(1 <= row <= 9 and 1 <= column <= 18 for row, column in places)


def test_the_molar_volume_of_gas_is_told_where_a_question_uses_it(questions: Questions) -> None:
    assert not any("gas" in line for line in told(sheet(questions, "direct-solutions")))
    (line,) = (line for line in told(sheet(questions, "direct-solutions", "volume-strength")) if "gas" in line)
    assert line in {
        f"Molar volume of gas: {volume} dm³ mol⁻¹ {conditions} (as the questions of this paper use it)."
        for volume, conditions in (("24.0", "at room temperature and pressure"), ("22.4", "at 0 °C and 1 atm"))
    }


def test_the_rule_for_concordant_titres_is_in_the_units_of_the_paper(questions: Questions) -> None:
    assert any("within 0.10 cm³" in line for line in told(sheet(questions, "direct-solutions")))
    litres = told(sheet(questions, "direct-solutions", style="litre"))
    assert any("within 0.10 mL" in line for line in litres)
    assert "Volumes: 1 L = 1000 mL." in litres


def test_as_text_a_period_is_read_by_atomic_number(questions: Questions) -> None:
    text = renderer("text").render(sheet(questions, "direct-solutions")).decode().replace("\N{NO-BREAK SPACE}", " ")
    sixth = " ".join(text[text.index("Period 6:") : text.index("Period 7:")].split())
    assert sixth.startswith("Period 6: Cs 132.9, Ba 137.3, La 138.9, Ce 140.1")
    assert "Lu 175.0, Hf 178.5" in sixth


def test_the_sheet_has_a_wide_page(questions: Questions) -> None:
    made = sheet(questions, "direct-solutions")
    assert made.wide
    assert any(isinstance(block, ElementTable) for block in made.blocks)
