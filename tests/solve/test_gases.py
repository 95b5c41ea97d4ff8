"""A gas that is driven over, its volume, and what is counted by a factor, in every way that somebody writes them."""

from __future__ import annotations

import pytest

from molewright.derivation.worked import Worked
from molewright.errors import Mistake
from molewright.solve.described import notes
from shared.described import Work


def told(worked: Worked) -> str:
    return worked.told.replace("\N{NO-BREAK SPACE}", " ")


FLOUR = """
procedure:
  - weigh: {{sample: flour, contains: {0}, mass: 1.25 g}}
{1}
  - titrate: {{with: NaOH, concentration: 0.200 mol dm-3, titre: 23.4 cm3}}
asked: percentage of nitrogen in flour
"""
ACID = "H2SO4, volume: 50.0 cm3, concentration: 0.100 mol dm-3"
TAKEN_UP = "  - react: 2NH3 + H2SO4 -> (NH4)2SO4"


@pytest.mark.parametrize(
    ("contains", "lines"),
    [
        ("N", f"  - react: N -> NH3\n  - drive over: {{gas: NH3, into: {ACID}}}\n{TAKEN_UP}"),
        ("N", f"  - react: N + 3H+ + 3e- -> NH3\n  - drive over: {{gas: NH3, into: {ACID}}}\n{TAKEN_UP}"),
        ("N", f"  - drive over: {{species: NH3, into: receiver, solution: {ACID}}}"),
        ("N", f"  - drive over: NH3\n  - add excess: {{solution: {ACID}}}\n{TAKEN_UP}"),
        ("N", f"  - add excess: {{solution: {ACID}}}\n  - drive over: NH3\n{TAKEN_UP}"),
        ("N", f"  - add excess: {{solution: {ACID}, into: receiver}}\n  - drive over: {{species: NH3, into: receiver}}\n{TAKEN_UP}"),
        ("NH3", f"  - add excess: {{solution: {ACID}}}\n{TAKEN_UP}"),
        ("NH3", f"  - add excess: {{solution: {ACID}}}"),
        ("(NH4)2SO4", f"  - drive over: NH3\n  - add excess: {{solution: {ACID}}}\n  - react: {{excess: H2SO4}}"),
    ],
)  # fmt: skip
def test_nitrogen_that_is_driven_over_as_ammonia_is_found(contains: str, lines: str, work: Work) -> None:
    """On paper: 5.00 − 2.34 = 2.66 mmol of acid took up 5.32 mmol of ammonia; 0.07448 g of nitrogen in 1.25 g: 5.96 %."""
    assert told(work(FLOUR.format(contains, lines))[1]) == "5.96 %"


def test_ammonia_caught_in_boric_acid_is_titrated_itself(work: Work) -> None:
    """On paper: 2.00 mmol of HCl, 28.0 mg of nitrogen in 1.25 g."""
    text = FLOUR.format("N", "  - drive over: {gas: NH3, into: H3BO3}")
    text = text.replace(
        "NaOH, concentration: 0.200 mol dm-3, titre: 23.4", "HCl, concentration: 0.100 mol dm-3, titre: 20.0"
    )
    assert told(work(text)[1]) == "2.24 %"


def test_everything_that_a_line_lacks_or_has_too_much_is_told_at_once(work: Work) -> None:
    with pytest.raises(Mistake) as refused:
        work(FLOUR.format("N", "  - drive over: {gass: NH3, too: receiver, speed: slow}"))
    assert all(key in str(refused.value) for key in ("'species'", "drive over: {species: NH3, into: receiver}"))
    with pytest.raises(Mistake) as refused:
        work(FLOUR.format("N", "  - drive over: {gas: NH3, too: receiver, speed: slow}"))
    assert all(f"the key {key} is not known here" in str(refused.value) for key in ("'too'", "'speed'"))
    with pytest.raises(Mistake) as refused:
        work("experiment: Nothing\nprocedur: []\n")
    assert "the key 'procedure' is missing" in str(refused.value)
    assert "the key 'asked' is missing" in str(refused.value)


def test_a_reagent_in_excess_without_a_line_for_its_reaction_reacts_as_the_banks_say_and_that_is_told(
    work: Work,
) -> None:
    experiment, _ = work(FLOUR.format("NH3", f"  - add excess: {{solution: {ACID}}}"))
    assert any("no line says what H2SO4 reacts with" in note for note in experiment.described.notes)


CHALK = """
procedure:
  - weigh: {{sample: chalk, contains: CaCO3, mass: 1.00 g{0}}}
  - add excess: dilute hydrochloric acid
  - react: CaCO3 + 2HCl -> CaCl2 + CO2 + H2O
  - collect gas: {{gas: CO2, molar volume: 24.0 dm3 mol-1{1}}}
asked: {2}
"""
AMMONIA = """
procedure:
  - lead in: {{gas: NH3, molar volume: 24.0 dm3 mol-1{0}}}
  - make up: 250 cm3
  - take aliquot: 25.0 cm3
  - titrate: {{with: HCl, concentration: 0.100 mol dm-3{1}}}
asked: {2}
"""


@pytest.mark.parametrize(
    ("text", "answer"),
    [
        # 0.920 g of 100.1 g mol-1 gives 9.191 mmol of gas, 24.0 cm3 a mmol
        (CHALK.format(", percentage: 92.0 %", "", "volume of CO2 given off"), "221 cm³"),
        (CHALK.format(", percentage: 92.0 %", "", "volume of CO2 in dm3"), "0.221 dm³"),
        (CHALK.format(", percentage: 92.0 %", "", "volume of carbon dioxide"), "221 cm³"),
        # 216 cm3 is 9.00 mmol, 0.9009 g of 1.00 g
        (CHALK.format("", ", volume: 216 cm3", "percentage of CaCO3 in chalk"), "90.1 %"),
        (CHALK.format("", ", volume: 0.216 dm3", "mass of CaCO3 in chalk"), "0.901 g"),
        # 480 cm3 is 20.0 mmol, 2.00 mmol in a portion
        (AMMONIA.format(", volume: 480 cm3", "", "titre of HCl"), "20.0 cm³"),
        (AMMONIA.format("", ", titre: 20.00 cm3", "volume of NH3 led in"), "480 cm³"),
    ],
)  # fmt: skip
def test_a_volume_of_gas_is_given_or_found(text: str, answer: str, work: Work) -> None:
    assert told(work(text)[1]) == answer


def test_what_a_gas_lacks_is_told_with_its_line(work: Work) -> None:
    with pytest.raises(
        Mistake, match="the molar volume of gas\\. Write 'molar volume: \\.\\.\\.' at 'collect gas' on line 6"
    ):
        work(
            CHALK.replace("molar volume: 24.0 dm3 mol-1", "vessel: flask").format(
                "", ", volume: 216 cm3", "mass of CaCO3 in chalk"
            )
        )
    with pytest.raises(Mistake, match="no CO2 is in flask to be collected"):
        work(
            CHALK.replace("  - react: CaCO3 + 2HCl -> CaCl2 + CO2 + H2O\n", "").format(
                "", "", "volume of CO2 given off"
            )
        )


BOUND, FREED = "  - dissolve: hot concentrated acid\n", "  - add: an excess of sodium hydroxide solution\n"


@pytest.mark.parametrize(
    ("contains", "before", "missing"),
    [
        ("N", "", ["'- dissolve: ...'", "'- add: ...'"]),
        ("N", BOUND, ["'- add: ...'"]),
        ("N", BOUND + FREED, []),
        ("(NH4)2SO4", "", ["'- add: ...'"]),
        ("(NH4)2SO4", FREED, []),
        ("NH3", "", []),
    ],
)
def test_steps_that_nobody_tells_before_a_gas_is_driven_over_are_named(
    contains: str, before: str, missing: list[str], work: Work
) -> None:
    experiment, worked = work(FLOUR.format(contains, before + f"  - drive over: {{gas: NH3, into: {ACID}}}"))
    told = [one for one in notes(experiment, worked) if "missing before the NH3 is driven over" in one]
    assert bool(told) == bool(missing)
    assert [one for one in ("'- dissolve: ...'", "'- add: ...'") if one in "".join(told)] == missing


PROTEIN = FLOUR.replace("asked: percentage of nitrogen in flour", "asked: {2}")
DRIVEN = f"  - drive over: {{gas: NH3, into: {ACID}}}"


@pytest.mark.parametrize(
    ("contains", "asked", "answer"),
    [
        # 0.07448 g of nitrogen, 5.70 times that of 1.25 g
        ("N, factor: 5.70", "percentage of protein in flour", "34.0 %"),
        ("N, counted as: protein, factor: 5.70", "mass of protein in flour", "0.425 g"),
        ("N, counted as: protein, factor: 5.70", "percentage of N in flour", "5.96 %"),
        ("NH3, elements: N, counted as: protein, factor: 5.70", "percentage of protein in flour", "34.0 %"),
    ],
)  # fmt: skip
def test_protein_is_counted_by_a_factor_of_its_nitrogen(contains: str, asked: str, answer: str, work: Work) -> None:
    line = DRIVEN if contains.startswith("N,") else f"  - add excess: {{solution: {ACID}}}"
    assert told(work(PROTEIN.format(contains, line, asked))[1]) == answer


def test_an_equation_is_spoken_of_where_one_is_written(work: Work) -> None:
    written = "  - react: 2NH3 + H2SO4 -> (NH4)2SO4\n"
    for lines, told in ((DRIVEN, "1 NH3"), (f"{DRIVEN}\n{written}", "1 NH3, as the equation has it")):
        experiment, worked = work(FLOUR.format("N", lines))
        assert f"each N is counted as {told}" in list(notes(experiment, worked))


def test_a_factor_says_what_is_counted_by_it(work: Work) -> None:
    with pytest.raises(Mistake, match="'counted as: protein' beside it"):
        work(PROTEIN.format("N, factor: 5.70", DRIVEN, "mass of flour"))
