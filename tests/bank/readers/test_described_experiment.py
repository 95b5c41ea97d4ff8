"""Described experiments: every operation's words, the readings of a burette, and what is wrong with a description."""

from __future__ import annotations

import json
import textwrap
from fractions import Fraction
from pathlib import Path
from time import monotonic

import pytest

from molewright.bank.definitions import Bank
from molewright.bank.readers import described_experiment as module
from molewright.bank.readers.described import Chemicals, InWater
from molewright.bank.readers.described_experiment import Experiment, build_experiment, read_experiment
from molewright.bank.readers.operations import WORDS
from molewright.derivation.plans import Plans
from molewright.errors import Mistake
from molewright.experiment.equilibrium import Settle
from molewright.experiment.gas_volume import GasVolume
from molewright.experiment.metering import ReadPH
from molewright.experiment.procedure import (
    Add,
    Aliquot,
    Dissolve,
    MakeUp,
    Measure,
    Part,
    Pass,
    React,
    Remove,
    Strength,
    Titrate,
    Warm,
    Weigh,
)
from molewright.experiment.saturating import TellProduct
from molewright.reading.yaml_text import parse_tree
from molewright.solve.described import as_json, as_text, notes, solve
from shared.for_each import for_each
from shared.quantities import q

LIMESTONE = """\
experiment: Quarry stone
procedure:
  - weigh: {sample: limestone, contains: CaCO3, mass: 1.264 g}
  - add excess: {solution: HCl, volume: 50.0 cm3, concentration: 1.00 mol dm-3}
  - react: {excess: HCl}
  - make up: 250 cm3
  - take aliquot: 25.0 cm3
  - titrate: {with: NaOH, concentration: 0.105 mol dm-3, titre: 24.80 cm3}
asked: percentage of CaCO3 in limestone
"""


@pytest.fixture
def chemicals(small_bank: Bank) -> Chemicals:
    water = InWater(small_bank.acids, small_bank.ions, small_bank.solutes)
    return Chemicals(substances=small_bank.substances, reactions=small_bank.reactions, in_water=water)


def described(text: str, chemicals: Chemicals) -> Experiment:
    return build_experiment(parse_tree(text, "quarry.yaml"), chemicals)


def changed(old: str, new: str) -> str:
    assert LIMESTONE.count(old) == 1, old
    return LIMESTONE.replace(old, new)


def test_a_described_experiment_is_worked_out(chemicals: Chemicals) -> None:
    experiment = described(LIMESTONE, chemicals)
    worked = solve(experiment, Plans("x", None))
    assert worked.exact == Fraction(1199198, 12640)  # worked by hand: 1.199198 g in 1.264 g
    assert str(worked.answer) == "94.9\N{NO-BREAK SPACE}%"
    assert experiment.title == "Quarry stone"


def test_readings_are_averaged_as_a_marker_does(chemicals: Chemicals) -> None:
    text = LIMESTONE.replace(
        "titre: 24.80 cm3}", "readings: [rough 0.00 to 25.60, 0.50 to 25.25, 1.00 to 25.85, 0.00 to 25.40]}"
    )
    experiment = described(text, chemicals)
    assert str(experiment.given[q("titre of NaOH")].number) == "24.80"  # 24.75 and 24.85; 25.40 is not concordant


def test_a_sum_of_readings_that_is_a_chain_is_refused(chemicals: Chemicals) -> None:
    text = LIMESTONE.replace("titre: 24.80 cm3}", "readings: [0 to 24.60, 0 to 24.70, 0 to 24.80]}")
    with pytest.raises(Mistake, match="2 different sets"):
        described(text, chemicals)


def test_molar_masses_of_its_own_replace_those_of_the_data_sheet(chemicals: Chemicals) -> None:
    experiment = described(LIMESTONE + "molar masses: {CaCO3: 100.09 g mol-1}\n", chemicals)
    worked = solve(experiment, Plans("x", None))
    assert worked.exact == Fraction("0.01198") * Fraction("100.09") / Fraction("1.264") * 100


def test_the_answer_has_the_unit_and_the_figures_asked_for(chemicals: Chemicals) -> None:
    text = LIMESTONE.replace("asked: percentage of", "asked: mass of") + "unit: mg\nfigures: 4\n"
    assert str(solve(described(text, chemicals), Plans("x", None)).answer.number) == "1199"


def test_the_convention_of_atomic_masses_is_kept(chemicals: Chemicals) -> None:
    whole = solve(described(LIMESTONE + "relative atomic masses: whole\n", chemicals), Plans("x", None))
    assert whole.exact == Fraction("0.01198") * 100 / Fraction("1.264") * 100


def test_every_word_for_an_operation_is_read(chemicals: Chemicals) -> None:
    text = """\
procedure:
  - weigh: {sample: salt, contains: NH4Cl, pure: yes, mass: 0.535 g}
  - dissolve: distilled water
  - react: NH4Cl + NaOH -> NaCl + NH3 + H2O
  - filter off: NaCl
  - measure: {solution: HCl, into: receiver, volume: 50.0 cm3, concentration: 0.500 mol dm-3}
  - drive over: {species: NH3, from: flask, into: receiver}
  - react: {reaction: NH3 + HCl -> NH4Cl, excess: HCl}
  - boil off: NH4Cl
  - dilute: {solution: H2SO4, into: other, volume: 25.0 cm3, concentration: 1.00 mol dm-3, to: 250 cm3}
  - take aliquot: {from: other, into: portion, volume: 25.0 cm3}
  - make up: {vessel: receiver, volume: 250 cm3}
  - add excess: {solution: HNO3, into: bin, volume: 5.0 cm3, concentration: 1.00 mol dm-3}
  - add: {what: a little water, vessel: portion}
  - warm: {to: about 30 °C, vessel: portion}
  - measure: {solution: CH3COOH, into: bottle, volume: 5.0 cm3, concentration: 1.00 mol dm-3}
  - measure: {solution: C2H5OH, into: bottle, volume: 5.0 cm3, concentration: 1.00 mol dm-3}
  - come to equilibrium: {reaction: CH3COOH + C2H5OH <=> CH3COOC2H5 + H2O, followed: CH3COOH, vessel: bottle, constant: 4.0}
  - titrate: {with: NaOH, vessel: portion, concentration: 0.500 mol dm-3, titre: 10.00 cm3}
  - tell strength: {solution: H2SO4, bottle: diluted, made in: other}
  - tell part: {solution: H2SO4, bottle: rest, of: H2SO4, without: diluted}
  - read pH: {vessel: bin}
  - measure: {solution: Ca(OH)2, into: jug, volume: 25.0 cm3, concentration: 0.0200 mol dm-3}
  - tell solubility product: Ca(OH)2
  - lead in: {species: CO2, into: cylinder, volume: 120 cm3, molar volume: 24.0 dm3 mol-1}
  - collect gas: {species: CO2, vessel: cylinder, volume: 120 cm3}
asked: amount of HCl left over in receiver
"""
    operations = described(text, chemicals).described.procedure.operations
    kinds = [type(operation) for operation in operations]
    assert kinds == [
        Weigh,
        Dissolve,
        React,
        Remove,
        Measure,
        Pass,
        React,
        Remove,
        Measure,
        MakeUp,
        Aliquot,
        MakeUp,
        Measure,
        Add,
        Warm,
        Measure,
        Measure,
        Settle,
        Titrate,
        Strength,
        Part,
        ReadPH,
        Measure,
        TellProduct,
        GasVolume,
        GasVolume,
    ]
    assert all(word in text for word in WORDS)
    assert [operation.by_boiling for operation in operations if isinstance(operation, Remove)] == [False, True]


WRONG: dict[str, tuple[str, str]] = {
    "no procedure": (changed("procedure:\n", "procedur:\n"), "the key 'procedure' is missing; expected"),
    "nothing asked": (changed("asked: percentage of CaCO3 in limestone\n", ""), "the key 'asked' is missing"),
    "a quantity that is not there": (changed("asked: percentage of CaCO3", "asked: percentage of CaO"), "no quantity"),
    "a choice of numbers": (
        changed("mass: 1.264 g", "mass: 1.2 to 1.3 g by 0.1"),
        "is a choice of numbers; expected one quantity",
    ),
    "an unknown operation": (changed("- make up: 250 cm3", "- mak up: {volume: 250 cm3}"), "no operation 'mak up'"),
    "an unknown key": (changed("titre: 24.80 cm3", "titer: 24.80 cm3"), "nearest: titre"),
    "eleven figures": (LIMESTONE + "figures: 11\n", "11 significant figures; expected 1 to 8"),
    "an unknown convention": (LIMESTONE + "relative atomic masses: two place\n", "nearest: two places"),
    "a key too many": (LIMESTONE + "colour: red\n", "'colour' is not known here"),
    "readings that run backwards": (changed("titre: 24.80 cm3", "readings: [25.00 to 24.00]"), "runs backwards"),
    "a reading alone": (changed("titre: 24.80 cm3", "readings: [25.00]"), "expected initial to final"),
    "no readings": (changed("titre: 24.80 cm3", "readings: []"), "not a list"),
    "an unbalanced equation": (
        changed("{excess: HCl}", "{excess: HCl, reaction: CaCO3 + HCl -> CaCl2 + CO2 + H2O}"),
        "balance",
    ),
    "an unknown element": (changed("contains: CaCO3", "contains: CqCO3"), "'Cq'"),
    "an operation of two words": (
        changed("- make up: 250 cm3", "- {make up: 250 cm3, dissolve: water}"),
        "an operation is one word",
    ),
    "readings below zero": (changed("titre: 24.80 cm3", "readings: [-5.00 to 24.80]"), "begins below zero"),
    "readings in grams": (changed("titre: 24.80 cm3", "readings: [0.00 to 24.80 g]"), "is in g; expected cm3"),
    "readings beside a titre": (
        changed("titre: 24.80 cm3", "titre: 30.00 cm3, readings: [0 to 24.80]"),
        "both 'titre' and 'readings'",
    ),
    "readings without end": (
        changed("titre: 24.80 cm3", f"readings: [{', '.join(['0.00 to 24.80'] * 10_000)}]"),
        "10000 runs",
    ),
    "readings that disagree": (
        changed("titre: 24.80 cm3", "readings: [0.00 to 25.40, 0.00 to 20.00]"),
        "no two accurate titres agree",
    ),
    "a power of ten without end": (changed("mass: 1.264 g", "mass: 1e999999999 g"), "is out of all bounds"),
    "a power of ten out of all bounds": (changed("mass: 1.264 g", "mass: 1e-999 g"), "is out of all bounds"),
    "a list with less than nothing": (changed("mass: 1.264 g", "mass: [-1.2 g]"), "is not above zero"),
    "figures without end": (LIMESTONE + "figures: 1e999999999\n", "is not an ordinary number"),
    "a unit of another kind": (LIMESTONE + "unit: g\n", "expected a unit of the kind '%'"),
    "an empty sample": (changed("contains: CaCO3", "contains: []"), "an empty list"),
    "a substance twice": (changed("contains: CaCO3", "contains: [CaCO3, CaCO3]"), "CaCO3 stands twice"),
    "a reactant in two terms": (
        changed("react: {excess: HCl}", "react: {excess: HCl, reaction: CaCO3 + HCl + HCl -> CaCl2 + CO2 + H2O}"),
        "quarry.yaml:5: react, reaction: HCl stands twice on the left",
    ),
    "electrons left over": (
        changed("react: {excess: HCl}", "react: {excess: HCl, reaction: Fe^2+ -> Fe^3+ + e^-}"),
        "electrons are left over",
    ),
    "a substance on both sides": (
        changed("react: {excess: HCl}", "react: {excess: HCl, reaction: CaCO3 + 2HCl + H2O -> CaCl2 + CO2 + 2H2O}"),
        "H2O stands on both sides",
    ),
    "a name that nobody knows": (changed("with: NaOH", "with: sodium hydroxid"), "no substance 'sodium hydroxid'"),
    "a vessel that is nowhere": (
        changed("with: NaOH", "with: NaOH, vessel: porton"),
        "no vessel 'porton'; expected one of those here",
    ),
    "a gas that is not there": (
        changed("  - make up", "  - boil off: SO2\n  - make up"),
        "no SO2 is in flask to be boiled off; expected one of: HCl, CaCl2, CO2, H2O",
    ),
    "an empty name": (changed("sample: limestone", "sample: ''"), "weigh, sample: an empty text"),
    "a raised count": (changed("contains: CaCO3", "contains: CaCO3, gives: ² CaCO3"), "cannot be read"),
    "a count of nothing": (changed("contains: CaCO3", "contains: CaCO3, gives: 0 CaCO3"), "1 to 999"),
    "a number without a use": (changed("concentration: 1.00 mol dm-3", "volume strength: 20"), "has no use for it"),
    "a direction override": (changed("sample: limestone", 'sample: "lime\\u202Estone"'), "U+202E"),
    "operations without end": (
        changed("  - make up", "  - dissolve: water\n" * 200 + "  - make up"),
        "expected at most 100",
    ),
    "a procedure that is no list": (LIMESTONE.replace("  - ", "  x").replace("xweigh", "weigh"), "list"),
}


@for_each("what", WRONG)
def test_what_is_wrong_is_told_with_the_file(what: str, chemicals: Chemicals) -> None:
    text, said = WRONG[what]
    with pytest.raises(Mistake) as caught:
        described(text, chemicals)
    assert said in str(caught.value)
    assert "quarry.yaml" in str(caught.value)


IMPOSSIBLE: dict[str, tuple[str, str]] = {
    "too large a titre": ("titre: 24.80 cm3", "titre: 49.80 cm3"),
    "too little acid": ("concentration: 1.00 mol", "concentration: 0.0100 mol"),
}


@for_each("what", IMPOSSIBLE)
def test_numbers_that_contradict_the_experiment_are_the_users_mistake(what: str, chemicals: Chemicals) -> None:
    old, new = IMPOSSIBLE[what]
    with pytest.raises(Mistake, match="these numbers cannot come from this experiment"):
        solve(described(LIMESTONE.replace(old, new), chemicals), Plans("x", None))


def test_a_quantity_that_is_not_there_is_told_with_its_line(chemicals: Chemicals) -> None:
    with pytest.raises(Mistake) as caught:
        described(changed("asked: percentage of CaCO3 in limestone", f"asked: {'x' * 3000}"), chemicals)
    assert str(caught.value.where) == "quarry.yaml:9: asked"
    assert len(str(caught.value)) < 1500


@pytest.mark.parametrize(("mass", "share"), [("0.900", "133.2"), ("1.190", "100.8"), ("1.199", "")])
def test_more_than_the_whole_sample_is_said_beside_the_answer(mass: str, share: str, chemicals: Chemicals) -> None:
    """1.198 × 10⁻² mol of CaCO₃ of 100.1 g mol⁻¹ is 1.19920 g: 100.02 % of 1.199 g, which the readings may well give."""
    experiment = described(changed("1.264", mass), chemicals)
    worked = solve(experiment, Plans("x", None))
    note = f"comes to more than 100 % ({share} %)"
    assert (note in " ".join(as_text(experiment, worked).split())) == bool(share)
    assert (note in as_json(experiment, worked)) == bool(share)


def test_a_mass_within_that_is_more_than_the_sample_is_said(chemicals: Chemicals) -> None:
    text = changed("mass: 1.264 g", "mass: 1.000 g").replace("asked: percentage", "asked: mass")
    experiment = described(text, chemicals)
    assert list(notes(experiment, solve(experiment, Plans("x", None))))


def test_an_ordinary_sample_has_no_note(chemicals: Chemicals) -> None:
    experiment = described(LIMESTONE, chemicals)
    worked = solve(experiment, Plans("x", None))
    assert not list(notes(experiment, worked))
    assert "Note" not in as_text(experiment, worked)


@for_each("figures", range(1, 9))
def test_an_answer_may_have_any_figures_up_to_eight(figures: int, chemicals: Chemicals) -> None:
    worked = solve(described(LIMESTONE + f"figures: {figures}\n", chemicals), Plans("x", None))
    assert str(worked.answer.number.normalize()) == f"{94.873259494:.{figures}g}".replace("9e+01", "9E+1")


def test_a_kept_plan_that_is_wrong_is_made_again(tmp_path: Path, chemicals: Chemicals) -> None:
    experiment = described(LIMESTONE, chemicals)
    plans = Plans("x", tmp_path)
    right = solve(experiment, plans)
    plans.keep()
    kept = json.loads((tmp_path / "plans-x.json").read_text("utf-8"))
    for steps, _ in kept.values():
        steps[-1][2] = ["number", 7, 5]
    (tmp_path / "plans-x.json").write_text(json.dumps(kept), "utf-8")
    assert solve(experiment, Plans("x", tmp_path)).exact == right.exact


def test_a_quantity_given_twice_over_is_told(chemicals: Chemicals) -> None:
    text = LIMESTONE.replace("mass: 1.264 g}", "mass: 1.264 g, percentage: 94.0 %}").replace(
        "asked: percentage of CaCO3 in limestone", "asked: amount of HCl in portion"
    )
    with pytest.raises(Mistake, match="too much is given") as caught:
        solve(described(text, chemicals), Plans("x", None))
    told = caught.value.found.partition("from the others: ")[2].split(", ")
    assert {"mass of limestone", "percentage of CaCO3 in limestone", "titre of NaOH", "made-up volume"} <= set(told)
    assert not any(name.startswith(("amount", "molar mass")) for name in told)  # nobody gave those


LACKING: dict[str, tuple[str, str, str, str]] = {
    "a volume": (
        "volume: 50.0 cm3, ",
        "quarry.yaml:4: add excess",
        "one more number: the volume of HCl",
        "'volume: ...' at 'add excess' on line 4",
    ),
    "a mass": (
        ", mass: 1.264 g",
        "quarry.yaml:3: weigh",
        "one more number: the mass of limestone",
        "'mass: ...' at 'weigh' on line 3",
    ),
    "a flask": (
        ": 250 cm3",
        "quarry.yaml:6: make up",
        "one more number: the made-up volume",
        "'volume: ...' at 'make up' on line 6",
    ),
    "a titre": (
        ", titre: 24.80 cm3",
        "quarry.yaml:8: titrate",
        "one more number: the titre of NaOH",
        "'titre: ...' at 'titrate' on line 8",
    ),
}


@for_each("what", LACKING)
def test_number_that_is_missing_is_told_with_its_operation_and_key(what: str, chemicals: Chemicals) -> None:
    left_out, where, expected, do = LACKING[what]
    with pytest.raises(Mistake, match="cannot be worked out from what is given") as caught:
        solve(described(changed(left_out, ""), chemicals), Plans("x", None))
    assert str(caught.value.where) == where
    assert caught.value.expected.startswith(expected)
    assert caught.value.do == f"Write {do}."


def test_two_numbers_that_are_missing_are_told_together(chemicals: Chemicals) -> None:
    text = changed(", mass: 1.264 g", "").replace(", concentration: 1.00 mol dm-3", "")
    with pytest.raises(Mistake) as caught:
        solve(described(text, chemicals), Plans("x", None))
    assert caught.value.expected == "two more numbers: the mass of limestone and the concentration of HCl"
    assert (
        caught.value.do == "Write 'mass: ...' at 'weigh' on line 3 and 'concentration: ...' at 'add excess' on line 4."
    )


def test_what_is_missing_is_told_in_time_where_nearly_everything_is(chemicals: Chemicals) -> None:
    measured = "".join(f"  - measure: {{solution: HCl, bottle: b{number}}}\n" for number in range(80))
    text = f"procedure:\n{measured}  - titrate: {{with: NaOH, vessel: flask}}\nasked: titre\n"
    begun = monotonic()
    with pytest.raises(Mistake, match="cannot be worked out"):
        solve(described(text, chemicals), Plans("x", None))
    assert monotonic() - begun < 20


@pytest.mark.parametrize(
    ("told", "key"), [("titre: 24.80 cm3", "titre"), ("readings: [0.00 to 24.80, 0.10 to 24.90]", "readings")]
)
def test_asked_quantity_that_is_given_is_told_at_its_place(told: str, key: str, chemicals: Chemicals) -> None:
    text = changed("titre: 24.80 cm3", told).replace("asked: percentage of CaCO3 in limestone", "asked: titre of NaOH")
    with pytest.raises(Mistake, match="the titre of NaOH is asked for and given") as caught:
        solve(described(text, chemicals), Plans("x", None))
    assert str(caught.value.where) == "quarry.yaml:8: titrate"
    assert f"'{key}: ...'" in caught.value.do


MISUSES: dict[str, tuple[str, str, str]] = {
    "a unit of another kind": ("volume: 50.0 cm3", "volume: 50.0 g", "Write it in cm³, dm³, mL, L, m³."),
    "a decimal comma": ("mass: 1.264 g", "mass: 1,264 g", "a decimal point: a comma ends the number."),
    "a formula of no element": ("contains: CaCO3", "contains: CaQO3", "expected the symbol of an element"),
    "a titrant nobody knows": ("with: NaOH", "with: NaOH2", "nearest: NaOH"),
    "readings that disagree": (
        "titre: 24.80 cm3",
        "readings: [0.00 to 24.80, 0.10 to 29.90]",
        "quarry.yaml:8: titrate",
    ),
}


@for_each("what", MISUSES)
def test_message_of_a_misuse_says_what_to_do(what: str, chemicals: Chemicals) -> None:
    old, new, said = MISUSES[what]
    with pytest.raises(Mistake) as caught:
        described(changed(old, new), chemicals)
    assert said in str(caught.value)
    assert caught.value.where is not None
    assert caught.value.where.line is not None


def test_portion_larger_than_its_flask_is_told_with_both_volumes(chemicals: Chemicals) -> None:
    with pytest.raises(Mistake, match=r"the rule 'aliquot smaller than its flask': 300 cm³ of 250 cm³"):
        solve(described(changed("take aliquot: 25.0 cm3", "take aliquot: 300 cm3"), chemicals), Plans("x", None))


def test_a_file_is_read(tmp_path: Path, chemicals: Chemicals) -> None:
    (tmp_path / "quarry.yaml").write_text(LIMESTONE, "utf-8")
    assert read_experiment(tmp_path / "quarry.yaml", chemicals).title == "Quarry stone"


def test_the_example_in_the_opening_of_the_module_is_worked_out(chemicals: Chemicals) -> None:
    example = textwrap.dedent(str(module.__doc__).split("number:\n\n")[1])
    assert example.startswith("experiment: ")
    assert solve(described(example, chemicals), Plans("x", None)).exact == Fraction(1199198, 12640)


def test_a_misspelt_operation_with_one_number_tells_the_nearest(chemicals: Chemicals) -> None:
    with pytest.raises(Mistake, match="no operation 'mak up'") as caught:
        described(changed("- make up: 250 cm3", "- mak up: 250 cm3"), chemicals)
    assert caught.value.near == ("make up",)


def test_an_unknown_unit_of_the_answer_is_told_with_the_file(chemicals: Chemicals) -> None:
    with pytest.raises(Mistake) as caught:
        described(LIMESTONE + "unit: stones\n", chemicals)
    assert "quarry.yaml:10" in str(caught.value)
