"""A teacher's own words for an experiment: printed as they stand, their formulae set, every given number of theirs known by name."""

from __future__ import annotations

import pytest

from molewright.bank.definitions import Bank
from molewright.derivation.plans import Plans
from molewright.errors import Mistake, Where
from molewright.experiment.quantity_texts import by_text
from molewright.nodes.blocks import Paragraph
from molewright.nodes.inline import Amount, Chem, Equation
from molewright.order.order import Wanted
from molewright.order.order_file import parse_order
from molewright.papers.making import PaperMaker
from molewright.papers.own_words import named_words
from molewright.render.text import render

CRYSTALS = """
seed: 5
lines:
  - experiment: Washing soda
    words:
      - 3.58 g of the crystals, Na2CO3.xH2O, were dissolved and made up to 250 cm3.
      - Portions of 25.0 cm3 needed 25.00 cm3 of hydrochloric acid, 0.100 mol/dm3.
      - Na2CO3 + 2HCl -> 2NaCl + CO2 + H2O
    task: Calculate x in Na2CO3.xH2O.
    procedure:
      - weigh: {sample: crystals, contains: Na2CO3.xH2O, mass: 3.58 g, pure: yes}
      - make up: 250 cm3
      - take aliquot: 25.0 cm3
      - titrate: {with: HCl, concentration: 0.100 mol dm-3, titre: 25.00 cm3}
    asked: water in Na2CO3.xH2O
"""


def made(bank: Bank, plans: Plans, text: str, units: str = "dm3") -> PaperMaker:
    return PaperMaker(bank, parse_order(f"units: {units}{text}", "x.order.yaml", lambda: 0)[0], plans)


def stem_of(maker: PaperMaker) -> list[Paragraph]:
    paper = maker.paper(Wanted(), "A").composer.question_paper()
    (block,) = (one for one in paper.blocks if hasattr(one, "stem"))
    return [one for one in block.stem if isinstance(one, Paragraph)]


def test_the_words_are_the_stem_and_the_task_the_demand(bank: Bank, plans: Plans) -> None:
    maker = made(bank, plans, CRYSTALS)
    page = " ".join(render(maker.paper(Wanted(), "A").composer.question_paper()).decode().split())
    assert "3.58 g of the crystals, Na₂CO₃·xH₂O, were dissolved and made up to 250 cm³." in page
    assert "0.100 mol dm⁻³. Na₂CO₃ + 2HCl → 2NaCl + CO₂ + H₂O Calculate x in Na₂CO₃·xH₂O." in page
    assert page.count("→") == 1
    assert not maker.unusual


def test_formulae_numbers_and_equations_are_set_as_such_in_any_units(bank: Bank, plans: Plans) -> None:
    first, second, third = stem_of(made(bank, plans, CRYSTALS, units="litre"))
    assert Chem("Na2CO3.xH2O") in first.line
    told = [str(one.quantity).replace("\N{NO-BREAK SPACE}", " ") for one in second.line if isinstance(one, Amount)]
    assert told == ["25.0 mL", "25.00 mL", "0.100 mol/L"]
    assert isinstance(third.line[0], Equation)


def test_a_number_that_the_words_tell_otherwise_is_told_of(bank: Bank, plans: Plans) -> None:
    maker = made(bank, plans, CRYSTALS.replace("words:\n      - 3.58 g", "words:\n      - 3.85 g"))
    maker.paper(Wanted(), "A")
    assert any("do not tell the mass of crystals, 3.58" in one for one in maker.unusual)


def test_a_name_in_braces_is_a_number_and_one_that_is_none_is_refused(bank: Bank, plans: Plans) -> None:
    named = CRYSTALS.replace("words:\n      - 3.58 g", "words:\n      - '{mass of crystals}").replace(
        "250 cm3.", "250 cm3.'", 1
    )
    (mass, volume) = (one for one in stem_of(made(bank, plans, named))[0].line if isinstance(one, Amount))
    assert (mass.quantity.number_text, volume.quantity.number_text) == ("3.58", "250")
    with pytest.raises(Mistake, match="no quantity 'mass of salt'"):
        made(bank, plans, named.replace("{mass of crystals}", "{mass of salt}"))


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("25.0 cm3 of it needed 24.8 cm3", ""),
        ("25.0cm³ of it needed 24.80 cm3", "titre of NaOH"),  # 24.8 is given, and 24.80 is another way to write it
        ("25 cm3 of it needed 24.8 cm3", "volume of HCl"),
        ("125.0 cm3 of it needed 24.8 cm3", "volume of HCl"),
        ("25.0 of it, in cm3, needed 24.8 cm3", ""),
    ],
)
def test_a_number_is_found_as_it_is_written_and_no_part_of_another(words: str, told: str) -> None:
    from molewright.chem.quantity import parse_quantity
    from molewright.experiment import quantities

    given = {
        quantities.volume_measured("HCl", "flask"): parse_quantity("25.0 cm3"),
        quantities.titre("NaOH", ""): parse_quantity("24.8 cm3"),
    }
    found = named_words((words,), "", given, Where("x"))
    names = {name: text for text, name in by_text(given).items()}
    assert [names[name] for name in found.untold] == ([told] if told else [])
