"""Experiments worked by hand, each as the lines a person writes and the true numbers behind them.

The amounts were worked on paper from M(CaCO3) = 100.1, M(MgCO3) = 84.3, M(Na2CO3) = 106.0, M(H2O) = 18.0 and
M(FeSO4.7H2O) = 277.9 g mol-1 (relative atomic masses to one place).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction

import pytest

from molewright.bank.definitions import Bank, Variant
from molewright.bank.readers.described import Chemicals, Described
from molewright.bank.readers.operations import read_operations
from molewright.bank.readers.read_so_far import ReadSoFar
from molewright.chem.masses import relative_mass
from molewright.draw.chosen import Draw
from molewright.draw.stream import Stream
from molewright.experiment import quantities
from molewright.experiment.procedure import Procedure
from molewright.experiment.quantities import Name
from molewright.reading.yaml_text import parse_tree
from shared.quantities import q

Describe = Callable[[str], Procedure]


@dataclass(frozen=True)
class ByHand:
    """An experiment on paper: operations, true values, and the mean titre that they must give."""

    lines: str
    values: dict[Name, str]
    titre: tuple[Name, str]

    def exact(self) -> dict[Name, Fraction]:
        return {name: Fraction(number) for name, number in self.values.items()}


MOLAR = {
    q("molar mass of CaCO3"): "100.1",
    q("molar mass of MgCO3"): "84.3",
    q("molar mass of Na2CO3"): "106.0",
    q("molar mass of H2O"): "18.0",
    q("molar mass of FeSO4.7H2O"): "277.9",
    q("molar mass of HCl"): "36.5",
    q("molar mass of NaOH"): "40.0",
    q("molar mass of H2SO4"): "98.1",
    q("molar mass of KMnO4"): "158.0",
}

BY_HAND: dict[str, ByHand] = {
    # 24.80 cm3 of 0.105: 2.604e-3 mol; x 10 = 2.604e-2 left of 5.00e-2; 2.396e-2 reacted; 1.198e-2 mol CaCO3; 1.199198 g
    "limestone in portions": ByHand(
        """
        - weigh: {sample: limestone, contains: CaCO3}
        - add excess: {solution: HCl}
        - react: {excess: HCl}
        - make up
        - take aliquot
        - titrate: {with: NaOH}
        """,
        {
            q("mass of limestone"): "1.264",
            q("percentage of CaCO3 in limestone"): "1199198/12640",
            q("concentration of HCl"): "1.00",
            q("volume of HCl"): "50.0",
            q("made-up volume"): "250",
            q("volume of aliquot"): "25.0",
            q("concentration of NaOH"): "0.105",
        },
        (q("titre of NaOH"), "24.80"),
    ),
    # 0.2002 g is 2.00e-3 mol CaCO3; 4.00e-3 of 7.50e-3 mol HCl reacts; 3.50e-3 left; in 0.140: 25.00 cm3
    "the whole sample": ByHand(
        """
        - weigh: {sample: chalk, contains: CaCO3}
        - add excess: {solution: HCl}
        - react: {excess: HCl}
        - titrate: {with: NaOH}
        """,
        {
            q("mass of chalk"): "0.2275",
            q("percentage of CaCO3 in chalk"): "88",
            q("concentration of HCl"): "0.300",
            q("volume of HCl"): "25.0",
            q("concentration of NaOH"): "0.140",
        },
        (q("titre of NaOH"), "25.00"),
    ),
    # 0.843 g is 1.00e-2 mol MgCO3; 1.00e-2 of 2.00e-2 mol H2SO4 left; 1.00e-3 in a portion; 2.00e-3 mol NaOH in 0.0800: 25.00
    "a diprotic acid in excess": ByHand(
        """
        - weigh: {sample: rock, contains: MgCO3, pure: yes}
        - add excess: {solution: H2SO4}
        - react: {excess: H2SO4}
        - make up
        - take aliquot
        - titrate: {with: NaOH}
        """,
        {
            q("mass of rock"): "0.843",
            q("concentration of H2SO4"): "0.400",
            q("volume of H2SO4"): "50.0",
            q("made-up volume"): "250",
            q("volume of aliquot"): "25.0",
            q("concentration of NaOH"): "0.0800",
        },
        (q("titre of NaOH"), "25.00"),
    ),
    # 2.779 g of pure crystals is 1.00e-2 mol Fe2+; 1.00e-3 in a portion; a fifth of it MnO4-: 2.00e-4 in 0.0100: 20.00 cm3
    "iron by manganate(VII)": ByHand(
        """
        - weigh: {sample: crystals, contains: FeSO4.7H2O, pure: yes}
        - dissolve: dilute sulfuric acid
        - make up
        - take aliquot
        - titrate: {with: KMnO4}
        """,
        {
            q("mass of crystals"): "2.779",
            q("made-up volume"): "250",
            q("volume of aliquot"): "25.0",
            q("concentration of KMnO4"): "0.0100",
        },
        (q("titre of KMnO4"), "20.00"),
    ),
    # M = 106.0 + 10 x 18.0 = 286.0; 2.860 g is 1.00e-2 mol; 1.00e-3 in a portion; 2.00e-3 mol HCl in 0.100: 20.00 cm3
    "water in washing soda": ByHand(
        """
        - weigh: {sample: washing soda, contains: Na2CO3.xH2O, pure: yes}
        - dissolve: distilled water
        - make up
        - take aliquot
        - titrate: {with: HCl}
        """,
        {
            q("mass of washing soda"): "2.860",
            q("water in Na2CO3.xH2O"): "10",
            q("made-up volume"): "250",
            q("volume of aliquot"): "25.0",
            q("concentration of HCl"): "0.100",
        },
        (q("titre of HCl"), "20.00"),
    ),
    # 25.0 cm3 of 0.0960 is 2.40e-3 mol HCl, 1:1 with NaOH; in 0.100: 24.00 cm3
    "an acid and an alkali": ByHand(
        """
        - measure: {solution: HCl, into: portion}
        - titrate: {with: NaOH}
        """,
        {
            q("concentration of HCl"): "0.0960",
            q("volume of HCl in portion"): "25.0",
            q("concentration of NaOH"): "0.100",
        },
        (q("titre of NaOH"), "24.00"),
    ),
    # 2 tablets of 0.300 g: 0.600 g MgCO3, 7.1174e-3 mol; 8.00e-3 H2SO4 was there; what is left, doubled, divided by ten, in 0.0100
    "tablets that are only counted": ByHand(
        """
        - weigh: {sample: tablets, contains: MgCO3, pieces: tablet, counted only: yes}
        - add excess: {solution: H2SO4}
        - react: {excess: H2SO4}
        - make up
        - take aliquot
        - titrate: {with: NaOH}
        """,
        {
            q("number of tablets"): "2",
            q("mass of MgCO3 in each tablet"): "0.300",
            q("concentration of H2SO4"): "0.160",
            q("volume of H2SO4"): "50.0",
            q("made-up volume"): "250",
            q("volume of aliquot"): "25.0",
            q("concentration of NaOH"): "0.0100",
        },
        (
            q("titre of NaOH"),
            str((Fraction(8, 1000) - Fraction(6000, 843) / 1000) * 2 / 10 * 1000 / Fraction("0.0100")),
        ),
    ),
}


@pytest.fixture(scope="session")
def describe(small_bank: Bank) -> Describe:
    """A procedure from lines as a person writes them."""

    def read(lines: str) -> Procedure:
        chemicals = Chemicals(substances=small_bank.substances, reactions=small_bank.reactions)
        made: Described = read_operations(parse_tree(lines, "by hand"), ReadSoFar(chemicals, {}))
        return made.procedure

    return read


@pytest.fixture(params=list(BY_HAND))
def by_hand(request: pytest.FixtureRequest) -> ByHand:
    """Each experiment worked by hand."""
    return BY_HAND[request.param]


@pytest.fixture(scope="session")
def all_by_hand() -> dict[str, ByHand]:
    """All experiments worked by hand, by name."""
    return BY_HAND


@pytest.fixture(scope="session")
def molar() -> dict[Name, Fraction]:
    """Molar masses in g mol-1, relative atomic masses to one place."""
    return {name: Fraction(number) for name, number in MOLAR.items()}


MASSES = ("FeSO4.7H2O", "NaCl", "ZnSO4.7H2O", "MgSO4.7H2O", "BaCl2.2H2O", "NH4Cl", "FeCl2", "Na2CO3", "CaCO3")


def described(bank: Bank, lines: str, values: dict[str, str], indicator: str = "") -> Draw:
    """The draw of an experiment in the words of the banks, with its true numbers, for rules that judge a draw."""
    found = read_operations(
        parse_tree(lines, "by hand"), ReadSoFar(Chemicals(substances=bank.substances, reactions=bank.reactions), {})
    )
    variant = Variant(
        roles={},
        procedure=found.procedure,
        choices={},
        unknown=frozenset(),
        contexts=(),
        indicators=(indicator,) if indicator else (),
        asks=(),
    )
    exact = {name: Fraction(number) for name, number in values.items()}
    exact |= {quantities.molar_mass(one): Fraction(relative_mass(one, "one place")) for one in MASSES}
    return Draw(
        archetype=None,
        variant=variant,
        context=None,
        ask=None,
        indicator=indicator,
        given={},
        truth=exact,
        runs=(),
        stream=Stream("none"),
    )  # type: ignore[arg-type]
