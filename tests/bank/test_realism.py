"""What is analysed is believable: ranges against published figures, hydrates that exist, materials that are what they are called."""

from __future__ import annotations

import re
from decimal import Decimal

from molewright.bank.definitions import Bank, Material
from molewright.chem.masses import relative_mass
from molewright.experiment.procedure import Dissolve
from molewright.experiment.saturating import TellProduct
from shared.banks import built_in
from shared.for_each import for_each

# Hydrates that are sold, mined or got by gentle drying, by the formula without its water: CRC Handbook, physical constants of inorganic
# compounds, from memory. Those with one molecule of water that only strong heating leaves are no crystals any more and are left out.
HYDRATES = {
    "Na2CO3": {1, 7, 10},
    "H2C2O4": {2},
    "FeSO4": {4, 7},
    "(NH4)2Fe(SO4)2": {6},
    "MgSO4": {6, 7},
    "CaCl2": {2, 4, 6},
    "BaCl2": {2},
    "CuSO4": {3, 5},
    "KAl(SO4)2": {12},
    "Ba(OH)2": {1, 8},
    "FeC2O4": {2},
}


def drawn_waters(bank: Bank) -> dict[str, set[int]]:
    found: dict[str, set[int]] = {}
    for archetype in bank.archetypes.values():
        for variant in archetype.variants:
            for name, choice in variant.choices.items():
                if name.kind == "water":
                    found.setdefault(name.subject.removesuffix(".xH2O"), set()).update(
                        int(one.number) for one in choice.options
                    )
    return found


def test_every_hydrate_that_is_drawn_exists(bank: Bank) -> None:
    assert drawn_waters(bank) == HYDRATES


def limits(bank: Bank, key: str, name: str) -> tuple[Decimal, Decimal]:
    choices = [
        choice
        for variant in bank.archetypes[key].variants
        for asked, choice in variant.choices.items()
        if asked.text.startswith(f"{name} of {variant.roles['analyte']}")
    ]
    return (
        min(one.low for one in choices if one.low is not None),
        max(one.high for one in choices if one.high is not None),
    )


def test_saline_is_as_salty_as_tears(bank: Bank) -> None:
    # 0.90 g of NaCl, 58.4 g mol⁻¹, in 100 cm³: European Pharmacopoeia, from memory
    low, high = limits(bank, "saline", "concentration")
    assert low < Decimal("9.0") / relative_mass("NaCl", "one place") < high
    assert high - low <= Decimal("0.025")


def test_sea_water_and_brines_beside_it_are_about_as_salty_as_the_sea(bank: Bank) -> None:
    # 19.4 g of chloride in 1 kg at a salinity of 35, density 1.02 kg dm⁻³: F. J. Millero and others, 2008, from memory
    low, high = limits(bank, "chloride-in-brine", "concentration")
    sea = Decimal("19.4") * Decimal("1.02") / relative_mass("Cl", "one place")
    assert low < sea < high
    assert Decimal("0.8") * sea < low
    assert high < Decimal("1.2") * sea


def test_washing_soda_holds_no_less_than_its_decahydrate(bank: Bank) -> None:
    share = 100 * relative_mass("Na2CO3", "one place") / relative_mass("Na2CO3.10H2O", "one place")
    assert share <= bank.materials["washing soda"].low <= share + 1
    assert "washing powder" not in bank.materials


def test_what_is_told_as_magnesium_carbonate_is_the_mineral(bank: Bank) -> None:
    named = {one.name for one in bank.materials.values() if one.analyte == "MgCO3"}
    assert named == {"magnesite"}  # climbing chalk is the basic carbonate
    assert not [one.key for one in bank.contexts if "climbing chalk" in one.opening]


def test_bronze_leaves_its_tin_behind(bank: Bank) -> None:
    assert "tin(IV) oxide" in bank.materials["bronze"].residue


def test_an_element_is_no_more_than_its_purest_ore_holds(bank: Bank) -> None:
    most = 100 * 2 * relative_mass("Fe", "one place") / relative_mass("Fe2O3", "one place")
    assert bank.materials["iron ore"].high < most


NAMED = re.compile(r"common practice|from memory|problem [0-9]|\b(1[89]|20)[0-9]{2}\b|FDA|CLP")


@for_each("material", built_in().materials.values(), list(built_in().materials))
def test_a_range_has_a_named_source_or_says_that_it_has_none(material: Material) -> None:
    assert NAMED.search(material.source)


@for_each("key", built_in().archetypes)
def test_so_has_a_kind_of_question(key: str, bank: Bank) -> None:
    assert NAMED.search(bank.archetypes[key].source)


SIDES = re.compile(r"\b(rain|too salty|saltier|still is|diluted|more salt|less salt)\b")


def test_no_scene_of_sea_water_promises_more_or_less_salt_than_is_drawn(bank: Bank) -> None:
    # the range reaches to both sides of the sea, so a scene after rain could come with water that is saltier than the sea
    scenes = [one for one in bank.contexts if "Cl-" in one.serves]
    assert scenes
    assert not [one.key for one in scenes if SIDES.search(one.opening)]


INSOLUBLE = re.compile(r"\b(sand|dirt|clay|grit|gravel|soot)\b")


def dissolved_whole(bank: Bank) -> set[str]:
    """The materials that are dissolved in water or acid and leave nothing behind."""
    procedures = [variant.procedure for one in bank.archetypes.values() for variant in one.variants]
    samples = {
        weighed.sample
        for procedure in procedures
        if any(isinstance(operation, Dissolve) for operation in procedure.operations)
        for weighed in procedure.weighings
    }
    return {name for name in samples & set(bank.materials) if not bank.materials[name].residue}


def test_what_is_dissolved_whole_is_not_told_to_hold_what_would_stay_behind(bank: Bank) -> None:
    whole = dissolved_whole(bank)
    assert "road salt" in whole
    scenes = [one for one in bank.contexts if whole & set(one.serves)]
    assert not [one.key for one in scenes if INSOLUBLE.search(one.opening)]


SATURATED = re.compile(
    r"saturated|solid (lies )?at the bottom|above (it|the solid)|left it to settle|until no more dissolves"
)


def test_who_reads_of_a_saturated_solution_gets_the_numbers_of_one(bank: Bank) -> None:
    """Only a kind whose product of ions is held to the tables of solubilities has a scene in which solid stays behind."""
    told = {scene.key for scene in bank.contexts if SATURATED.search(scene.opening)}
    assert {"settled-overnight", "solid-at-the-bottom"} <= told
    loose = {
        (archetype.key, scene.key)
        for archetype in bank.archetypes.values()
        for variant in archetype.variants
        if not list(variant.procedure.every(TellProduct))
        for scene in variant.contexts
        if scene.key in told
    }
    assert loose == set()
