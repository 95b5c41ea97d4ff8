"""What an unknown substance may be: each fault of the list is told with its line, and a scene never meets what it rules out."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from molewright.bank.definitions import Bank
from molewright.bank.readers.whole_bank import read_bank
from molewright.derivation.plans import Plans
from molewright.draw.chosen import choose
from molewright.draw.stream import Stream
from molewright.errors import Mistake
from molewright.question.check import Questions
from shared.quantities import q

ENTRY = """- key: own-halide
  title: A halide of one's own
  topic: identification
  demand: 6
  variants:
    - {analyte: KX, titrant: AgNO3}
  procedure:
    - weigh: {sample: analyte, contains: analyte, unknown: [X], pure: yes, mass: fit 0.600 to 2.600 g by 0.001,
              may be: [KCl, KBr]}
    - dissolve
    - make up: 250 cm3
    - take aliquot: 25.0 cm3
    - titrate: {with: titrant, of: [X^-], concentration: 0.0400 to 0.0500 mol dm-3 by 0.0005, indicators: [dichlorofluorescein]}
  ask: [molar mass of analyte]
  source: common practice, no source
"""


def own(folder: Path, old: str, new: str) -> Bank:
    assert old in ENTRY
    (folder / "archetypes").mkdir()
    (folder / "archetypes" / "halide.yaml").write_text(ENTRY.replace(old, new), encoding="utf-8")
    return read_bank(whole=False, own=(folder,))


@pytest.mark.thorough
@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("[KCl, KBr]", "[KCl, NaBr]", "KX cannot be NaBr"),
        ("[KCl, KBr]", "[KCl, KF]", "no name of KF"),
        ("[KCl, KBr]", "[KCl]", "two or more"),
        ("[KCl, KBr]", "[KCl, KCl]", "at least 5 % above"),
        ("may be: [KCl, KBr]", "molar mass: [74.6 g mol-1], may be: [KCl, KBr]", "both 'molar mass' and 'may be'"),
        ("contains: analyte, unknown: [X]", "contains: KCl", "nothing in it is unknown"),
    ],
)
def test_a_list_that_cannot_be_is_told_with_its_line(old: str, new: str, said: str, tmp_path: Path) -> None:
    with pytest.raises(Mistake, match=said) as told:
        own(tmp_path, old, new)
    assert told.value.where is not None
    assert told.value.where.file.endswith("halide.yaml")
    assert told.value.where.line == 1 + ENTRY[: ENTRY.index("may be")].count("\n")


def test_the_molar_masses_follow_from_the_formulae(tmp_path: Path) -> None:
    (variant,) = own(tmp_path, "own-halide", "own-halides").archetypes["own-halides"].variants
    # CIAAW, Abridged Standard Atomic Weights 2021: 39.1 + 35.5 and 39.1 + 79.9
    assert [str(option.number) for option in variant.choices[q("molar mass of KX")].options] == ["74.6", "119.0"]


@pytest.fixture(scope="module")
def questions(bank: Bank, tmp_path_factory: pytest.TempPathFactory) -> Questions:
    return Questions(bank, Plans(bank.fingerprint, tmp_path_factory.mktemp("plans")))


@pytest.mark.parametrize(
    ("key", "scene", "never", "others"),
    [
        ("name-the-dichloride", "firework-salt", "MgCl2", {"CaCl2", "SrCl2"}),  # magnesium ions colour no flame
        ("name-the-dichloride", "dried-brine", "MgCl2", {"CaCl2", "SrCl2"}),  # its hydrate hydrolyses when it is dried
        ("name-the-dichloride", "white-lumps", "", {"MgCl2", "CaCl2", "SrCl2"}),
        ("name-the-hydroxide-back", "sugar-syrup", "Mg(OH)2", {"Ca(OH)2", "Sr(OH)2"}),
        ("unknown-monobasic-acid", "driftwood-fungus", "H2NSO3H", {"HOCH2COOH", "C6H5CH(OH)COOH", "C6H8O6"}),
    ],
)
def test_a_scene_never_meets_what_it_rules_out(
    key: str, scene: str, never: str, others: set[str], bank: Bank, questions: Questions
) -> None:
    archetype = bank.archetypes[key]
    there = next(one for one in bank.contexts if one.key == scene)
    found = set()
    for number in range(40):
        stream = Stream(str(number))
        chosen = replace(choose(archetype, stream), context=there)
        made = questions.make(archetype, stream, chosen).draw
        may_be = made.variant.may_be
        assert may_be is not None
        drawn = made.truth[may_be.number]
        found.add(
            next(
                one.formula
                for one, option in zip(may_be.substances, may_be.choice.options, strict=True)
                if option.in_base == drawn
            )
        )
    assert found == others
    assert never not in found
