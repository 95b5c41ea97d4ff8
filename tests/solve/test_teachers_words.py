"""What a teacher writes is read: phrases asked for, units of a classroom, listed titres, arrows, several quantities, figures."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from molewright.cli import main
from molewright.errors import Mistake
from molewright.solve.described import as_text, notes
from shared.described import Work
from shared.for_each import for_each

LIMESTONE = """
procedure:
  - weigh: {sample: limestone, contains: CaCO3, mass: 1.264 g}
  - add excess: {solution: HCl, volume: 50.0 cm3, concentration: 1.00 mol dm-3}
  - react: {excess: HCl}
  - make up: 250 cm3
  - take aliquot: 25.0 cm3
  - titrate: {with: NaOH, concentration: 0.105 mol dm-3, titre: 24.80 cm3}
asked: """
ACID = """
procedure:
  - measure: {solution: HCl, volume: 25.00 cm3}
  - titrate: {with: NaOH, concentration: 0.1000 mol dm-3, titre: 24.80 cm3}
asked: """
SODA = """
procedure:
  - weigh: {sample: crystals, contains: Na2CO3.xH2O, pure: yes, mass: 2.860 g}
  - make up: 250 cm3
  - take aliquot: 25.0 cm3
  - titrate: {with: HCl, concentration: 0.100 mol dm-3, titre: 20.00 cm3}
asked: """
NEEDED = """
procedure:
  - measure: {solution: HCl, volume: 25.00 cm3, concentration: 0.1000 mol dm-3}
  - titrate: {with: NaOH, concentration: 0.1250 mol dm-3}
asked: """


@for_each(
    ("experiment", "asked", "told"),
    [
        (LIMESTONE, "percentage purity of limestone", "94.9 %"),
        (LIMESTONE, "What is the percentage purity of the limestone?", "94.9 %"),
        (LIMESTONE, "percentage by mass of calcium carbonate in the limestone", "94.9 %"),
        (LIMESTONE, "moles of CaCO3", "1.20 × 10⁻² mol"),
        (LIMESTONE, "mass of calcium carbonate", "1.20 g"),
        (LIMESTONE, "mass of CaCO3 in mg", "1200 mg"),
        (ACID, "molarity of HCl", "0.09920 mol dm⁻³"),
        (ACID, "concentration of hydrochloric acid", "0.09920 mol dm⁻³"),
        (ACID, "Calculate the concentration of the hydrochloric acid in mol/L.", "0.09920 mol/L"),
        (ACID, "concentration of HCl in M", "0.09920 mol/L"),
        (ACID, "concentration of HCl in g/L", "3.621 g/L"),
        (ACID, "mass concentration of HCl in mg/100 mL", "362.1 mg/100 mL"),
        (ACID, "moles of HCl", "2.480 × 10⁻³ mol"),
        (NEEDED, "volume of NaOH", "20.00 cm³"),
        (NEEDED, "volume of sodium hydroxide in mL", "20.00 mL"),
        (SODA, "x in Na2CO3.xH2O", "10"),
        (SODA, "x", "10"),
        (SODA, "Mr of Na2CO3.xH2O", "286 g mol⁻¹"),
    ],
)  # fmt: skip
def test_words_of_a_classroom_are_read(experiment: str, asked: str, told: str, work: Work) -> None:
    _, worked = work(experiment + asked)
    assert worked.told.replace("\N{NO-BREAK SPACE}", " ") == told


@pytest.mark.parametrize("asked", ["purity of the acid", "colour of limestone", "concentration of CaCO3 in mol/L"])
def test_words_that_mean_nothing_here_are_refused_with_what_is_there(asked: str, work: Work) -> None:
    with pytest.raises(Mistake, match="no quantity") as refused:
        work(LIMESTONE + asked)
    assert "percentage of CaCO3 in limestone" in refused.value.do


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ("0.1000 M", "0.1000 mol/L"),
        ("100.0 mM", "100.0 mmol/L"),
        ("0.1000 mol L^-1", "0.1000 mol/L"),
        ("0.1000 mol·dm-3", "0.1000 mol dm⁻³"),
        ("0.1000 mol.dm^-3", "0.1000 mol dm⁻³"),
        ("0.1000 mol dm^{-3}", "0.1000 mol dm⁻³"),
    ],
)
def test_units_of_a_classroom_are_read(written: str, meant: str, work: Work) -> None:
    experiment, worked = work(ACID.replace("0.1000 mol dm-3", f'"{written}"') + "concentration of HCl")
    given = next(one for name, one in experiment.given.items() if name.kind == "concentration")
    assert str(given).replace("\N{NO-BREAK SPACE}", " ") == meant
    assert str(worked.answer.number) == "0.09920"


@pytest.mark.parametrize(
    ("written", "asked", "told"),
    [
        ("0.40 % w/v", "concentration of NaOH", "0.10 mol dm⁻³"),
        ("0.40 g/100 mL", "concentration of NaOH", "0.10 mol dm⁻³"),
        ("400 mg/100 mL", "concentration of NaOH", "0.100 mol dm⁻³"),
        ("4.0 mg/mL", "concentration of NaOH", "0.10 mol dm⁻³"),
        ("4000 ppm", "concentration of NaOH", "0.1000 mol dm⁻³"),
    ],
)
def test_strengths_by_mass_are_read(written: str, asked: str, told: str, work: Work) -> None:
    text = f"""
procedure:
  - measure: {{solution: NaOH, volume: 25.00 cm3, mass concentration: {written}}}
  - titrate: {{with: HCl, titre: 25.00 cm3, concentration: 0.1 M}}
asked: {asked}
"""
    with pytest.raises(Mistake, match="too much is given"):
        work(text)
    _, worked = work(text.replace("titre: 25.00 cm3, ", "titre: 25.00 cm3, ").replace(", concentration: 0.1 M", ""))
    assert worked.told.replace("\N{NO-BREAK SPACE}", " ") == told


def test_parts_per_million_of_a_solid_are_milligrams_in_a_kilogram(work: Work) -> None:
    _, worked = work(LIMESTONE.replace("1.264 g", "500 g") + "percentage of CaCO3 in limestone\nunit: ppm")
    assert worked.told.replace("\N{NO-BREAK SPACE}", " ") == "2400 mg kg⁻¹"


def test_normality_is_asked_back(work: Work) -> None:
    with pytest.raises(Mistake, match=r"0\.1000 N of NaOH is a normality") as refused:
        work(ACID.replace("0.1000 mol dm-3", "0.1000 N") + "concentration of HCl")
    assert "for 2 it is 0.05000 mol dm-3" in refused.value.do
    assert "equivalents: 2" in refused.value.do


# ------------------------------------------------------------------ titres


@pytest.mark.parametrize(
    ("titres", "mean", "said"),
    [
        ("mean titre: 24.85 cm3", "24.85", ""),
        ("titres: [rough 25.40, 24.85, 24.90, 24.85 cm3]", "24.87", "24.85, 24.90 and 24.85 cm³"),
        ("titres: [24.85 cm3]", "24.85", ""),
    ],
)
def test_titres_are_listed_or_their_mean_told(titres: str, mean: str, said: str, work: Work) -> None:
    experiment, worked = work(ACID.replace("titre: 24.80 cm3", titres) + "concentration of HCl")
    given = next(one for name, one in experiment.given.items() if name.kind == "titre")
    assert given.number_text == mean
    assert said in " ".join(notes(experiment, worked))


@pytest.mark.parametrize(
    ("titres", "told"),
    [
        ("titres: [24.85, 25.40, 26.10]", "no two accurate titres agree"),
        ("titres: [24.85 g]", "expected a volume above zero"),
        ("titres: [24.85, 24.90], mean titre: 24.9 cm3", "both 'mean titre' and 'titres'"),
    ],
)
def test_titres_that_tell_nothing_are_refused(titres: str, told: str, work: Work) -> None:
    with pytest.raises(Mistake, match=told):
        work(ACID.replace("titre: 24.80 cm3", titres) + "concentration of HCl")


@pytest.mark.parametrize(
    ("arrow", "told", "do"),
    [
        ("=>", "has '=>': another arrow", "Write 'HCl + NaOH -> NaCl + H2O'."),
        ("-->", "has '-->': another arrow", "Write 'HCl + NaOH -> NaCl + H2O'."),
        ("⟶", "has '⟶': another arrow", "Write 'HCl + NaOH -> NaCl + H2O'."),
        ("⇌", "has an arrow both ways", "Write ->;"),
        ("<=>", "has an arrow both ways", "Write ->;"),
    ],
)
def test_other_arrows_get_a_clear_word(arrow: str, told: str, do: str, work: Work) -> None:
    with pytest.raises(Mistake, match=told) as refused:
        work(ACID.replace("titre:", f'reaction: "HCl + NaOH {arrow} NaCl + H2O", titre:') + "concentration of HCl")
    assert do in refused.value.do


# ------------------------------------------------------------------ figures


@pytest.mark.parametrize(
    ("text", "told", "reason"),
    [
        (ACID + "concentration of HCl", "0.09920", "as the volume of HCl, 25.00 cm³, has no more"),
        (
            ACID.replace("0.1000", "0.10") + "concentration of HCl",
            "0.099",
            "as the concentration of NaOH, 0.10 mol dm⁻³",
        ),
        (
            ACID.replace("0.1000", "0.1") + "concentration of HCl",
            "0.099",
            "has 1, and an answer is given to 2 at least",
        ),
        (ACID + "concentration of HCl\nfigures: 3", "0.0992", ""),
    ],
)
def test_figures_are_those_of_the_number_with_the_fewest(text: str, told: str, reason: str, work: Work) -> None:
    experiment, worked = work(text)
    assert str(worked.answer.number) == told
    shown = " ".join(as_text(experiment, worked).replace("\N{NO-BREAK SPACE}", " ").split())
    assert reason in shown
    assert bool(reason) == ("significant figures" in shown)


# ------------------------------------------------------------------ several quantities


def test_several_quantities_are_asked_for_in_one_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "acid.yaml"
    path.write_text(ACID + "[molarity of HCl, mass concentration of HCl, moles of NaOH]\n", "utf-8")
    assert main(["solve", str(path), "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert [one["rounded answer"] for one in found] == ["0.09920", "3.621", "0.002480"]
    assert main(["solve", str(path)]) == 0
    assert capsys.readouterr().out.count("Answer: ") == 3


@pytest.mark.quick
@pytest.mark.parametrize("line", ["weigh: {sample: ore, mass: 1.264 g}", "measure: {solution: ore, volume: 25.0 cm3}"])
def test_a_thing_of_which_nobody_says_what_is_in_it_is_told(work: Work, line: str) -> None:
    titration = "titrate: {with: NaOH, concentration: 0.105 mol dm-3, titre: 24.80 cm3}"
    with pytest.raises(Mistake):
        work(f"procedure:\n  - {line}\n  - {titration}\nasked: percentage of foo in ore\n")
