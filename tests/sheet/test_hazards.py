"""What the teacher's copy says of dangers: by strength, printed or sought, by what is weighed, by what a stem tells."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest

from molewright.bank.definitions import Bank
from molewright.bank.readers.described_experiment import build_experiment
from molewright.chem.quantity import Quantity
from molewright.draw.stream import Stream
from molewright.experiment.quantities import concentration, mass_concentration
from molewright.question.check import Questions
from molewright.reading.yaml_text import parse_tree
from molewright.render.text import render
from molewright.render.text.lines import plain_line
from molewright.sheet.dangers import Dangers, told_in
from molewright.sheet.hazards import hazard_notes
from molewright.sheet.wording import Words
from molewright.sheet.writer import Writer
from molewright.solve.chemicals import chemicals_of
from molewright.survey.spread import unwarned
from shared.banks import built_in
from shared.for_each import for_each

Compose = Callable[..., Any]


def notes(compose: Compose, key: str) -> str:
    text = re.sub(r"\s+", " ", render(compose(key, "exam", "dm3").scheme).decode())
    return text.partition("Hazard notes")[2]


def test_a_printed_strength_has_its_note(compose: Compose) -> None:
    assert "mol dm⁻³ sodium hydroxide solution: irritates eyes and skin" in notes(compose, "direct-one-to-two")


def test_the_strength_that_is_sought_has_a_note_too(compose: Compose) -> None:
    # battery acid of 4 mol dm-3 and more: corrosive from 1.7 mol dm-3 (CLP Annex VI, 15 %)
    found = notes(compose, "diluted-battery-acid")
    assert re.search(r"about [2-9]\.\d (to [2-9]\.\d )?mol dm⁻³ sulfuric acid: corrosive", found), found


@for_each(
    ("key", "words"),
    [
        ("acyl-chloride", "acyl chloride RCOCl: corrosive"),
        ("barium-chloride-water", "toxic if swallowed"),
        ("copper-alloy", "concentrated nitric acid: corrosive"),
        ("saponification", "boiling under reflux:"),
        ("total-hardness", "buffer solution of pH 10: contains ammonia"),
        ("iodate-standard", "potassium iodate(V): keeps a fire going"),
        ("silver-alloy", "silver alloy: wear eye protection"),
        ("metal-in-acid", "hydrogen is given off"),
        ("steel", "in acid it gives off hydrogen"),
        ("back-portions-ammonium", "ammonia is given off"),
        ("back-portions-ammonium", "warmed or boiled alkali:"),
        ("nitrogen-absorbed", "sodium hydroxide solution: irritates eyes and skin; from 0.5 mol dm⁻³ corrosive"),
        ("nitrogen-absorbed", "ammonia is given off"),
        ("ethanedioic-by-manganate", "warmed or boiled acid:"),
        ("ethanedioic-by-manganate", "dilute sulfuric acid: wear eye protection; from 0.5 mol dm⁻³ irritates"),
        ("ethanol-by-dichromate", "sulfuric acid in excess, its strength not told: taken as corrosive"),
        ("zinc-ointment", "dilute hydrochloric acid: wear eye protection"),
        ("zinc-ointment", "warmed or boiled acid:"),
        ("unknown-dibasic-acid", "acid H₂A: an unknown acid, treated as one that irritates eyes"),
        ("name-the-dichloride", "metal chloride MCl₂: may be toxic if swallowed"),
        ("iron-in-ore", "zinc powder: catches fire easily"),
    ],
)
def test_what_is_weighed_or_told_has_a_note(key: str, words: str, compose: Compose) -> None:
    assert words in notes(compose, key)


def test_every_set_of_notes_hands_over_to_the_school(compose: Compose) -> None:
    assert "Your own school's risk assessment" in notes(compose, "copper-alloy")


@pytest.mark.parametrize(
    ("strength", "word"), [("0.499", "irritates eyes and skin"), ("0.500", "corrosive"), ("0.501", "corrosive")]
)
def test_a_note_holds_from_its_limit_upwards(
    strength: str, word: str, bank: Bank, questions: Questions, lines_of: Callable[[Any], Any]
) -> None:
    # sodium hydroxide is corrosive at 2 % (0.5 mol dm-3) and above: CLP Annex VI
    question = questions.make(bank.archetypes["direct-one-to-two"], Stream("limit"))
    name = concentration("NaOH")
    given = {**question.draw.given, name: Quantity(Decimal(strength), question.draw.given[name].unit)}
    changed = replace(question, draw=replace(question.draw, given=given))
    words = Words(bank.words)
    blocks = hazard_notes((changed,), bank, Writer(changed, bank, words), words)
    (note,) = {told for block in blocks for told in map(plain_line, lines_of(block)) if "sodium hydroxide" in told}
    assert f"sodium hydroxide solution: {word}" in note


def test_a_bottle_told_by_its_mass_concentration_has_the_note_of_its_strength(
    bank: Bank, questions: Questions, lines_of: Callable[[Any], Any]
) -> None:
    # 20 g dm⁻³ of sodium hydroxide, 40.0 g mol⁻¹: 0.50 mol dm⁻³, corrosive (CLP Annex VI, 2 %)
    question = questions.make(bank.archetypes["direct-one-to-two"], Stream("limit"))
    name = concentration("NaOH")
    given = {one: quantity for one, quantity in question.draw.given.items() if one != name}
    truth = {one: number for one, number in question.draw.truth.items() if one != name}
    truth[mass_concentration("NaOH")] = Fraction(20)
    changed = replace(question, draw=replace(question.draw, given=given, truth=truth))
    words = Words(bank.words)
    blocks = hazard_notes((changed,), bank, Writer(changed, bank, words), words)
    told = [told for block in blocks for told in map(plain_line, lines_of(block)) if "sodium hydroxide" in told]
    assert (
        told[0]
        .replace("\N{NO-BREAK SPACE}", " ")
        .startswith("about 0.50 mol dm⁻³ sodium hydroxide solution: corrosive")
    )


# ------------------------------------------------------------------ every danger of a kind

ON_THE_PAPER = {
    "an alkali boiled with an ammonium salt": ("NH3", "ammonia is given off"),
    "a metal in acid": ("H2", "hydrogen is given off"),
}


@for_each("key", built_in().archetypes)
def test_everything_in_a_bottle_poured_in_or_weighed_has_a_note(key: str, bank: Bank) -> None:
    assert unwarned(bank, bank.archetypes[key]) == ()


@for_each("key", built_in().archetypes)
def test_a_gas_that_burns_or_poisons_has_its_note(key: str, bank: Bank) -> None:
    dangers = Dangers(bank)
    for variant in bank.archetypes[key].variants:
        gases = {gas for deed in dangers.deeds(variant) for gas in deed.gases}
        for gas, words in ON_THE_PAPER.values():
            notes = [note.words for note in bank.hazards if note.freed == gas]
            assert all(words in note for note in notes)
            assert gas not in gases or notes


@for_each("key", built_in().archetypes)
def test_heated_acid_and_alkali_are_told(key: str, bank: Bank) -> None:
    dangers = Dangers(bank)
    for variant in bank.archetypes[key].variants:
        for deed in dangers.deeds(variant):
            if not re.search(r"\b(hot|warm|boil)", deed.words):
                continue
            beside = {note.beside for note in bank.hazards if note.beside and dangers.speaks_of(note, deed)}
            natures = dangers.reader.natures
            alkali = any(map(natures.gives_hydroxide_ions, deed.species))
            assert ("alkali" in beside) == alkali
            assert ("acid" in beside) == (any(map(natures.is_acid, deed.species)) and not alkali)


def test_tablets_warmed_in_alkali_are_no_warmed_acid(compose: Compose) -> None:
    found = notes(compose, "back-whole-tablets")
    assert "warmed or boiled alkali" in found
    assert "warmed or boiled acid" not in found


def test_what_has_no_note_is_told_whether_it_is_in_a_bottle_poured_in_or_weighed(bank: Bank) -> None:
    bare = replace(bank, hazards=())
    assert {"NH4Cl", "(NH4)2SO4", "HCl", "NaOH"} <= set(unwarned(bare, bank.archetypes["back-portions-ammonium"]))
    assert {"NaOH", "HCl"} <= set(unwarned(bare, bank.archetypes["nitrogen-absorbed"]))
    assert "KIO3" not in unwarned(bare, bank.archetypes["iodised-salt"])


def test_heat_that_the_stem_does_not_tell_is_not_told_of(bank: Bank) -> None:
    dangers = Dangers(bank)
    for variant in bank.archetypes[
        "two-carbonates"
    ].variants:  # barium carbonate first; magnesium carbonate alone is warmed
        assert not any("warm" in deed.words for deed in dangers.deeds(variant))


def test_what_is_hardly_in_a_material_is_not_told_of(compose: Compose) -> None:
    assert "keeps a fire going" not in notes(
        compose, "iodised-salt"
    )  # some 0.005 % of potassium iodate(V); CLP Annex I: 1 %
    assert "in acid it gives off" not in notes(compose, "iron-ore")  # its iron is no metal


DISSOLVED = """
experiment: A sample
procedure:
  - weigh: {{sample: {}, mass: 1.00 g}}
  - dissolve: dilute nitric acid
  - titrate: {{with: {}, concentration: 0.100 mol dm-3, titre: 22.4 cm3}}
{}
"""
FOUND = "asked: percentage of {0} in {1}"


@pytest.mark.parametrize(
    ("weighed", "titrant", "last", "told"),
    [
        ("metal chloride, contains: MClx", "AgNO3", "asked: x\nmolar masses: {M: 52.0}", {"MClx": ""}),
        ("iron tablets, contains: Fe", "KMnO4", "", {"iron tablets": ""}),
        ("silver alloy, contains: Ag", "KSCN", "", {"silver alloy": "wear eye protection"}),
        ("chalk, contains: CaCO3", "HCl", "", {"CaCO3": "wear eye protection"}),
        ("washing soda, contains: Na2CO3.xH2O", "HCl", "asked: x", {"Na2CO3.xH2O": "irritates eyes"}),
    ],
)
def test_a_note_is_of_what_is_weighed_and_not_of_an_element_in_it(
    weighed: str, titrant: str, last: str, told: dict[str, str], bank: Bank
) -> None:
    sample, contained = weighed.partition(",")[0], weighed.split("contains: ")[1].partition(",")[0]
    text = DISSOLVED.format(weighed, titrant, last or FOUND.format(contained, sample))
    procedure = build_experiment(parse_tree(text, "by hand"), chemicals_of(bank)).described.procedure
    variant = replace(bank.archetypes["direct-one-to-two"].variants[0], procedure=procedure, material=None)
    assert {what: note.words if note else "" for what, note in Dangers(bank).weighed(variant).items()} == told


def test_a_reagent_poured_in_is_no_word_of_what_became_of_it(bank: Bank) -> None:
    variant = bank.archetypes["calcium-and-magnesium"].variants[0]
    assert "Mg(OH)2" not in {solute for solute, _ in Dangers(bank).helpers(variant)}


@pytest.mark.parametrize(
    ("word", "text", "stands"),
    [("warm", "After gentle warming", True), ("hot", "a shot of acid", False), ("hot", "hot dilute acid", True)],
)
def test_words_are_found_from_the_beginning_of_a_word_on(word: str, text: str, stands: bool) -> None:
    assert told_in(word, text) == stands
