"""What somebody types who knows the README only is read as it is meant: bottles by name, bare charges, equations on their own lines."""

from __future__ import annotations

import json

import pytest
import yaml

from molewright.bank.definitions import Bank
from molewright.bank.readers.teachers_formulae import TeachersFormulae
from molewright.errors import Mistake
from molewright.experiment.procedure import Add, Remove, Warm
from molewright.machine import places
from molewright.solve.chemicals import chemicals_of
from shared.described import Work
from shared.for_each import for_each

IRON = """
procedure:
  - weigh: {sample: iron tablets, contains: Fe2+, mass: 1.863 g}
  - make up: 250.0 cm3
  - take aliquot: 25.0 cm3
  - titrate: {with: KMnO4, concentration: 0.00500 mol dm-3, titres: [14.25 cm3, 14.15 cm3, 14.20 cm3]}
  - react: MnO4- + 5Fe2+ + 8H+ -> Mn2+ + 5Fe3+ + 4H2O
asked: percentage of iron in iron tablets
"""
VINEGAR = """
procedure:
  - measure: {solution: vinegar, contains: CH3COOH, volume: 25.0 cm3}
  - make up: 250.0 cm3
  - take aliquot: 25.0 cm3
  - titrate: {with: NaOH, concentration: 0.100 mol dm-3, titre: 20.85 cm3}
asked: concentration of CH3COOH in vinegar
unit: g dm-3
"""
WATER = """
procedure:
  - measure: {solution: tap water, contains: Ca2+, volume: 100.0 cm3}
  - titrate: {with: EDTA, concentration: 0.0100 mol dm-3, titre: 27.35 cm3}
asked: hardness of tap water as CaCO3
unit: mg dm-3
"""
BLEACH = """
procedure:
  - measure: {solution: bleach, contains: NaClO, volume: 10.0 cm3}
  - make up: 250.0 cm3
  - take aliquot: 25.0 cm3
  - add excess: KI
  - react: ClO- + 2I- + 2H+ -> Cl- + I2 + H2O
  - titrate: {with: Na2S2O3, concentration: 0.100 mol dm-3, titre: 14.60 cm3}
  - react: I2 + 2S2O3^2- -> 2I- + S4O6^2-
asked: concentration of NaClO in bleach
"""
SODA = """
procedure:
  - weigh: {sample: hydrated sodium carbonate, contains: Na2CO3.xH2O, mass: 3.56 g}
  - make up: 250.0 cm3
  - take aliquot: 25.0 cm3
  - titrate: {with: HCl, concentration: 0.100 mol dm-3, titre: 24.90 cm3, indicator: methyl orange}
asked: x
"""
UNKNOWN = """
procedure:
  - weigh: {sample: carbonate, contains: M2CO3, mass: 1.728 g}
  - make up: 250.0 cm3
  - take aliquot: 25.0 cm3
  - titrate: {with: HCl, concentration: 0.100 mol dm-3, titre: 25.00 cm3}
  - react: M2CO3 + 2HCl -> 2MCl + CO2 + H2O
asked: relative atomic mass of M
"""
ASPIRIN = """
procedure:
  - weigh: {sample: aspirin tablets, contains: C9H8O4, mass: 1.250 g}
  - add excess: {solution: NaOH, volume: 25.0 cm3, concentration: 1.00 mol dm-3}
  - warm
  - react: C9H8O4 + 2NaOH -> C7H5O3Na + CH3COONa + H2O
  - make up: 250.0 cm3
  - take aliquot: 25.0 cm3
  - titrate: {with: HCl, concentration: 0.100 mol dm-3, titre: 13.20 cm3}
asked: percentage of aspirin in aspirin tablets
"""
FERTILISER = """
procedure:
  - weigh: {sample: fertiliser, contains: (NH4)2SO4, mass: 1.500 g}
  - add excess: {solution: NaOH, volume: 50.0 cm3, concentration: 0.500 mol dm-3}
  - react: (NH4)2SO4 + 2NaOH -> Na2SO4 + 2NH3 + 2H2O
  - boil
  - titrate: {with: HCl, concentration: 0.250 mol dm-3, titre: 19.20 cm3}
asked: percentage of (NH4)2SO4 in fertiliser
"""
STANDARD = """
procedure:
  - weigh: {sample: sodium carbonate, mass: 1.325 g}
  - make up: 250.0 cm3
  - pipette: 25.0 cm3
  - titrate: {against: dilute hydrochloric acid, titre: 24.70 cm3, indicator: methyl orange}
asked: concentration of the hydrochloric acid
"""
BROMIDE = """
procedure:
  - take: {sample: pond water, contains: Br-, volume: 25.0 cm3}
  - add excess: {solution: silver nitrate solution, volume: 50.0 cm3, concentration: 0.0500 mol dm-3}
  - react: Ag+ + Br- -> AgBr
  - titrate: {with: KSCN, concentration: 0.0500 mol dm-3, titre: 18.60 cm3}
  - react: Ag+ + SCN- -> AgSCN
asked: mass of bromide ions per dm3 of pond water
"""


@for_each(
    ("text", "told"),
    [
        (IRON, "10.6 %"),
        (IRON.replace("contains: Fe2+", "contains: Fe^2+").replace("of iron in", "of Fe2+ in"), "10.6 %"),
        (VINEGAR, "50.0 g dm⁻³"),
        (VINEGAR.replace("solution: vinegar", "sample: vinegar"), "50.0 g dm⁻³"),
        (VINEGAR.replace(", contains: CH3COOH", ""), "50.0 g dm⁻³"),
        (VINEGAR.replace("vinegar, contains: ", "", 1), "50.0 g dm⁻³"),
        (VINEGAR.replace("unit: g dm-3", "unit: mol dm-3"), "0.834 mol dm⁻³"),
        (WATER, "274 mg dm⁻³"),
        (WATER.replace("unit: mg dm-3", "unit: ppm"), "274 ppm"),
        (WATER.replace("as CaCO3\nunit: mg dm-3", "in mg dm-3 of CaCO3"), "274 mg dm⁻³"),
        (BLEACH, "0.730 mol dm⁻³"),
        (BLEACH.replace("add excess: KI", "add: KI"), "0.730 mol dm⁻³"),
        (BLEACH.replace("add excess: KI", "add excess: {solution: KI}"), "0.730 mol dm⁻³"),
        (SODA, "10"),
        (SODA.replace("hydrated sodium carbonate, contains: ", ""), "10"),
        (UNKNOWN, "39.1"),
        (UNKNOWN.replace("relative atomic mass of M", "molar mass of M2CO3"), "138 g mol⁻¹"),
        (ASPIRIN, "85.0 %"),
        (FERTILISER, "88.9 %"),
        (FERTILISER.replace("- boil", "- boil off"), "88.9 %"),
        (STANDARD.replace("titre:", "volume:"), "0.101 mol dm⁻³"),
        (STANDARD, "0.101 mol dm⁻³"),
        (BROMIDE, "5.02 g dm⁻³"),
    ],
)  # fmt: skip
def test_what_is_typed_at_the_first_try_is_read(text: str, told: str, work: Work) -> None:
    _, worked = work(text)
    assert worked.told.replace("\N{NO-BREAK SPACE}", " ") == told


@for_each(
    ("typed", "read"),
    [
        ("Fe2+", "Fe^2+"), ("Cu2+", "Cu^2+"), ("SO42-", "SO4^2-"), ("S2O32-", "S2O3^2-"), ("MnO4-", "MnO4-"), ("Cl-", "Cl-"),
        ("5Fe2+ + Sn2+(aq)", "5Fe^2+ + Sn^2+(aq)"), ("X2+", "X2+"), ("Fe^3+", "Fe^3+"),
    ],
)  # fmt: skip
def test_a_bare_charge_is_read_where_one_reading_is_known(typed: str, read: str, bank: Bank) -> None:
    assert TeachersFormulae(chemicals_of(bank)).in_an_equation(typed) == read


def test_a_reaction_in_the_flask_stays_one_though_a_titration_uses_the_same(work: Work) -> None:
    """Hydrochloric acid is put in, so what uses it up is no equation of the titration with it."""
    experiment, worked = work("""
procedure:
  - weigh: {sample: chalk, contains: CaCO3, mass: 1.264 g}
  - add excess: {solution: HCl, volume: 50.0 cm3, concentration: 1.00 mol dm-3}
  - react: CaCO3 + 2HCl -> CaCl2 + CO2 + H2O
  - titrate: {with: NaOH, concentration: 1.00 mol dm-3, titre: 26.04 cm3}
  - react: NaOH + HCl -> NaCl + H2O
asked: percentage of CaCO3 in chalk
""")
    assert len(experiment.described.procedure.reacting) == 1
    assert worked.told.startswith("94.9")


def test_what_is_added_boiled_and_warmed_is_told(work: Work) -> None:
    def done(text: str, kind: type) -> list[object]:
        return [one for one in work(text)[0].described.operations if isinstance(one, kind)]

    assert done(BLEACH, Add) == [Add("an excess of potassium iodide", "portion")]
    assert done(FERTILISER, Remove) == [Remove("NH3")]
    assert len(done(ASPIRIN, Warm)) == 1


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (VINEGAR.replace(", contains: CH3COOH", "").replace("CH3COOH in ", ""), "contains: NaOH"),
        (SODA.replace("asked: x", "asked: percentage of Na2CO3.xH2O in hydrated sodium carbonate"), "water"),
        (FERTILISER.replace(", volume: 50.0 cm3, concentration: 0.500 mol dm-3", ""), "volume"),
    ],
)  # fmt: skip
def test_what_is_not_said_is_asked_for(text: str, told: str, work: Work) -> None:
    with pytest.raises(Mistake) as refused:
        work(text)
    assert told in str(refused.value)


TWO_CARBONATES = """
experiment: Sodium and potassium carbonates
procedure:
  - weigh: {sample: mixture, contains: [Na2CO3, K2CO3], mass: 1.200 g}
  - make up: 250 cm3
  - take aliquot: 25.0 cm3
  - titrate: {with: HCl, concentration: 0.100 mol dm-3, titre: 20.0 cm3, indicator: methyl orange}
  - react: Na2CO3 + 2HCl -> 2NaCl + CO2 + H2O
  - react: K2CO3 + 2HCl -> 2KCl + CO2 + H2O
asked: percentage of Na2CO3 in mixture
"""


def test_both_equations_of_a_titration_of_two_are_its_own_and_the_two_are_all_of_it(work: Work) -> None:
    """By hand: n(HCl) for all 0.0200 mol; m / 106.0 + (1.200 g − m) / 138.2 = 0.0100 mol, so m = 0.599 g of 1.200 g, 49.9 %."""
    assert work(TWO_CARBONATES)[1].told.startswith("49.9")


def test_what_a_teacher_types_fits_the_schema_for_editors() -> None:
    from jsonschema import Draft202012Validator  # late: it takes longer to import than all else that tests collect

    held = json.loads((places.templates() / "schemas" / "experiment.schema.json").read_text("utf-8"))
    written = {name: text for name, text in globals().items() if name.isupper() and "procedure:" in str(text)}
    assert len(written) >= 11
    for name, text in written.items():
        tree = json.loads(json.dumps(yaml.safe_load(text), default=str))
        assert not [one.message[:300] for one in Draft202012Validator(held).iter_errors(tree)], name
