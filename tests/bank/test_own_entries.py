"""People's own entries are read beside the banks: they add, they never replace, and what is wrong in them is told by file and line.

The entries are those of the guide in banks/README.md, so that the guide cannot go stale.
"""

from __future__ import annotations

import re
import shutil
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path

import pytest

from molewright.bank.definitions import Bank
from molewright.bank.readers.whole_bank import read_bank
from molewright.cli import main
from molewright.derivation.plans import Plans
from molewright.draw.stream import Stream
from molewright.errors import Mistake
from molewright.question.check import Questions
from shared.quantities import q

PAGE = (Path(__file__).resolve().parents[2] / "banks" / "README.md").read_text("utf-8")
GUIDE = PAGE.split("## Your own questions", 1)[1].split("\n## ", 1)[0]
FILES = dict(re.findall(r"in `my-entries/([\w./-]+\.yaml)`.*?```yaml\n(.*?)```", GUIDE, re.DOTALL))
SOUR = "archetypes/sour.yaml"
Own = Callable[..., Path]


@pytest.fixture
def own(tmp_path: Path) -> Own:
    """The guide's entries in a folder, with one text replaced: own("contexts.yaml", old, new); new files by their names."""

    def make(file: str = "", old: str = "", new: str = "", **more: str) -> Path:
        folder = tmp_path / "my-entries"
        for name, text in FILES.items():
            if name == file:
                assert text.count(old) == 1, f"'{old}' stands {text.count(old)} times in {file}"
                text = text.replace(old, new)
            (folder / name).parent.mkdir(parents=True, exist_ok=True)
            (folder / name).write_text(text, "utf-8")
        for name, text in more.items():
            (folder / f"{name}.yaml").write_text(text, "utf-8")
        return folder

    return make


def said(folder: Path) -> str:
    with pytest.raises(Mistake) as caught:
        read_bank(own=(folder,), whole=False)
    return str(caught.value).replace("\N{NO-BREAK SPACE}", " ")


# ------------------------------------------------------------------ the guide


def test_the_guide_names_its_files() -> None:
    assert set(FILES) == {"substances.yaml", "reactions.yaml", "ions.yaml", "contexts.yaml", "hazards.yaml", SOUR}


def test_what_the_guide_makes_is_not_in_the_banks(bank: Bank) -> None:
    assert "lactic-acid" not in bank.archetypes
    assert "C3H6O3" not in bank.substances


def test_the_entries_of_the_guide_stand_beside_the_banks(own: Own, bank: Bank) -> None:
    both = read_bank(own=(own(),), whole=False)
    assert both.own == {"lactic-acid"}
    assert set(both.archetypes) == {*bank.archetypes, "lactic-acid"}
    assert len(both.contexts) == len(bank.contexts) + 3
    assert len(both.archetypes["lactic-acid"].variants[0].contexts) == 3


def test_the_guide_draws_questions_whose_answers_are_right(own: Own, tmp_path: Path) -> None:
    """Worked from the printed numbers alone: 1:1, and 90.0 g mol⁻¹ for lactic acid (C 12.0, H 1.0, O 16.0)."""
    both = read_bank(own=(own(),), whole=False)
    questions = Questions(both, Plans(both.fingerprint, tmp_path))
    asked: set[str] = set()
    for number in range(40):
        question = questions.make(both.archetypes["lactic-acid"], Stream(f"guide/{number}"))
        given = {name: quantity.number for name, quantity in question.draw.given.items()}
        strength = (
            given[q("titre of NaOH")] * given[q("concentration of NaOH")] / given[q("volume of C3H6O3 in portion")]
        )
        per_dm3 = (
            strength if question.draw.ask.quantity.text.startswith("concentration") else strength * Decimal("90.0")
        )
        shown = question.worked.answer.number
        assert abs(shown - per_dm3) <= per_dm3 * Decimal("0.0051")
        asked.add(question.draw.ask.quantity)
    assert len(asked) == 2
    assert questions.tally.share_refused < 1 / 2


def test_the_indicator_of_ones_own_acid_is_judged_by_its_curve(own: Own, tmp_path: Path) -> None:
    """Lactic acid has pKa 3.86: methyl orange, 3.1 to 4.4, changes while half of it is still there."""
    both = read_bank(own=(own("reactions.yaml", "phenolphthalein", "methyl orange"),), whole=False)
    with pytest.raises(Mistake, match="indicator"):
        Questions(both, Plans(both.fingerprint, tmp_path)).make(both.archetypes["lactic-acid"], Stream("guide"))


def test_the_guides_commands_run(own: Own, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = own()
    assert main(["check", str(folder)]) == 0
    checked = capsys.readouterr().out
    assert "lactic-acid" in checked
    assert "direct-solutions" not in checked  # the banks themselves are checked without a folder
    assert (
        main(["paper", "lactic-acid", "--entries", str(folder), "--form", "text", "--to", str(tmp_path / "out")]) == 0
    )
    (paper,) = (tmp_path / "out").glob("*-questions.txt")
    assert "C₃H₆O₃" in paper.read_text("utf-8")
    (scheme,) = (tmp_path / "out").glob("*-scheme.txt")
    assert "lactic acid solution: irritates eyes" in " ".join(scheme.read_text("utf-8").split())


def test_the_guides_own_example_is_not_refused_more_often_than_the_guide_allows(
    own: Own, capsys: pytest.CaptureFixture[str]
) -> None:
    for draws in ((), ("--draws", "150")):  # what is told without an option, and a sample that is less a matter of luck
        assert main(["check", str(own()), *draws]) == 0
        told = " ".join(capsys.readouterr().out.split())
        share = re.search(r"refused (\d+) % of", told)
        assert share is not None
        assert int(share[1]) < 50


def test_what_the_banks_cannot_judge_is_told(own: Own, capsys: pytest.CaptureFixture[str]) -> None:
    folder = own()
    assert main(["check", str(folder), "--draws", "3"]) == 0
    assert "not judged" not in capsys.readouterr().out
    (folder / "ions.yaml").unlink()
    assert main(["check", str(folder), "--draws", "3"]) == 0
    assert "C3H6O3 not in ions.yaml" in capsys.readouterr().out


def test_a_bottle_without_a_hazard_note_is_told(own: Own, capsys: pytest.CaptureFixture[str]) -> None:
    folder = own()
    note = (folder / "hazards.yaml").read_text("utf-8")
    (folder / "hazards.yaml").unlink()
    assert main(["check", str(folder), "--draws", "3"]) == 0
    assert "no hazard note       for C₃H₆O₃: the teacher's copy will say nothing of it" in capsys.readouterr().out
    (folder / "hazards.yaml").write_text(note, "utf-8")
    assert main(["check", str(folder), "--draws", "3"]) == 0
    assert "no hazard note" not in capsys.readouterr().out


def test_a_note_of_a_material_that_nobody_knows_is_told_with_its_line(own: Own) -> None:
    folder = own()
    note = "- {material: seed oyl, words: wear eye protection, source: from memory}\n"
    (folder / "hazards.yaml").write_text(note, "utf-8")
    with pytest.raises(Mistake, match=r"hazards\.yaml:1.*no material 'seed oyl'.*nearest: seed oil"):
        read_bank(own=(folder,), whole=False)


def test_a_note_of_what_has_no_name_is_printed_all_the_same(own: Own, tmp_path: Path) -> None:
    """A procedure may name a formula of which substances.yaml has no entry."""
    folder = own(
        SOUR,
        "titrant: NaOH",
        "titrant: RbOH",
        hazards="- {solute: RbOH, least: 0, words: burns, source: from memory}\n",
    )
    with (folder / "reactions.yaml").open("a", encoding="utf-8") as file:
        file.write(
            "- equation: C3H6O3(aq) + RbOH(aq) -> RbC3H5O3(aq) + H2O(l)\n  indicators: [phenolphthalein]\n"
            "  source: from memory\n"
        )
    options = ["--entries", str(folder), "--form", "text", "--to", str(tmp_path / "out")]
    assert main(["paper", "lactic-acid", *options]) == 0
    (scheme,) = (tmp_path / "out").glob("*-mark-scheme.txt")
    assert "RbOH solution: burns" in scheme.read_text("utf-8")


def test_a_paper_of_own_entries_comes_again_by_its_code_with_them_only(
    own: Own, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = own()
    first, again = tmp_path / "first", tmp_path / "again"
    options = ["--form", "text", "--entries", str(folder)]
    assert main(["paper", "lactic-acid", "--questions", "2", "--to", str(first), *options]) == 0
    code = capsys.readouterr().out.split("paper code ")[1].strip()
    assert main(["paper", "--code", code, "--to", str(again), *options]) == 0
    assert {one.name: one.read_bytes() for one in first.iterdir()} == {
        one.name: one.read_bytes() for one in again.iterdir()
    }
    capsys.readouterr()
    assert main(["paper", "--code", code, "--to", str(tmp_path / "other")]) == 1
    assert "--entries" in capsys.readouterr().err


# ------------------------------------------------------------------ what is wrong is told


WRONG = {
    "a key that is misspelt": (("contexts.yaml", "sample: the whey", "smaple: the whey"), "nearest: smaple"),
    "an equation that does not balance": (("reactions.yaml", "H2O(l)", "2H2O(l)"), "my-entries/reactions.yaml:1"),
    "a quantity that is not there": (
        ("archetypes/sour.yaml", "quantity: mass concentration of analyte", "quantity: mass of analyte"),
        "my-entries/archetypes/sour.yaml:14",
    ),
    "a number no one can fit": (
        ("archetypes/sour.yaml", "concentration: fit 0.0600", "concentration: 0.0600"),
        "marked 'fit'",
    ),
    "a substance that nobody knows": (
        ("archetypes/sour.yaml", "titrant: NaOH", "titrant: NaHO"),
        "my-entries/archetypes/sour.yaml",
    ),
    "a scene that is not there": (
        ("archetypes/sour.yaml", "demand: 2", "demand: 2\n  contexts: [goat-way]"),
        "nearest: goat-whey",
    ),
    "an archetype of the banks": (
        ("archetypes/sour.yaml", "key: lactic-acid", "key: limewater"),
        "archetype 'limewater' already",
    ),
    "a substance of the banks": (("substances.yaml", "C3H6O3", "NaOH"), "the banks have 'NaOH' already"),
    "a reaction of the banks": (
        ("reactions.yaml", "C3H6O3(aq) + NaOH(aq) -> NaC3H5O3(aq) + H2O(l)", "HCl(aq) + NaOH(aq) -> NaCl(aq) + H2O(l)"),
        "would be taken",
    ),
}


@pytest.mark.parametrize("what", WRONG)
def test_a_fault_in_own_entries_is_told_with_its_file(what: str, own: Own) -> None:
    change, words = WRONG[what]
    told = said(own(*change))
    assert words in told
    assert "my-entries/" in told


# A file that is added to the guide's: what stands in it, and what is said. Nothing of one's own weakens or replaces the banks.
REPLACES = {
    "a milder hazard note": (
        "hazards.yaml",
        '- {solute: HCl, least: 2, words: nothing to fear, source: "from memory"}\n',
        "the banks have notes for HCl already",
    ),
    "an ion": ("ions.yaml", "- {ion: NH4^+}\n", "the banks have 'ion NH4+' already"),
    "a solute": ("ions.yaml", "- {solute: HCl, gives: [H^+, Cl^-]}\n", "the banks have 'solute HCl' already"),
    "an acid": (
        "acids.yaml",
        "- {name: ethanoic acid, formula: CH3COOH, pkas: [2.0], source: from memory}\n",
        "the banks have 'ethanoic acid' already",
    ),
    "a metal of EDTA": (
        "edta.yaml",
        "- {metal: Ca^2+, log k: 2.0, source: from memory}\n",
        "the banks have 'Ca^2+' already",
    ),
    "EDTA itself": (
        "edta.yaml",
        "- {acid: H4Y, pkas: [2.0], titrated as: H2Y^2-, source: here}\n",
        "the banks have 'EDTA' already",
    ),
    "a slip": ("slips.yaml", "- {slip: S21, name: x, often: low, unseen: never}\n", "the banks have 'S21' already"),
    "a fault": (
        "faults.yaml",
        "- {fault: F01, told: x, cause: x, changes: {titrant strength: 1}, source: from memory}\n",
        "the banks have 'F01' already",
    ),
    "a reason": (
        "back_reasons.yaml",
        "- {analytes: [CaCO3], reasons: [x, y], source: from memory}\n",
        "the banks have reasons for CaCO3 already",
    ),
    "an indicator": (
        "indicators.yaml",
        "- {name: methyl orange, low: 8, high: 9, acid colour: red, base colour: blue, source: from memory}\n",
        "the banks have 'methyl orange' already",
    ),
    "a pipette": (
        "apparatus.yaml",
        "- {name: my pipette, kind: pipette, capacity: 25 cm3, tolerance: 9 cm3, source: from memory}\n",
        "the banks have '25 cm³ pipette' already",
    ),
    "a solubility product": (
        "solubility_products.yaml",
        "- {name: x, solid: AgCl, cation: Ag^+, anion: Cl^-, cations: 1, anions: 1, pksp: 1, source: from memory}\n",
        "the banks have 'AgCl' already",
    ),
    "a wording": ("wording.yaml", "- {x: y}\n", "no file of the banks is called so"),
}


@pytest.mark.parametrize("what", REPLACES)
def test_own_entries_add_and_never_replace(what: str, own: Own) -> None:
    file, text, words = REPLACES[what]
    folder = own()
    before = (folder / file).read_text("utf-8") if file in FILES else ""
    (folder / file).write_text(before + text, "utf-8")
    told = said(folder)
    assert f"my-entries/{file}" in told
    assert words in told


def test_an_own_reaction_changes_no_archetype_of_the_banks(own: Own, bank: Bank) -> None:
    """Calcium ions and hydroxide are in the flask of every back titration of limestone."""
    folder = own()
    with (folder / "reactions.yaml").open("a", encoding="utf-8") as file:
        file.write("- equation: CaCl2(aq) + 2NaOH(aq) -> Ca(OH)2(s) + 2NaCl(aq)\n  source: from memory\n")
    both = read_bank(own=(folder,))
    assert all(both.archetypes[key] == archetype for key, archetype in bank.archetypes.items())


NAMED = {
    "a formula": ("name: lactic acid", "name: NaOH", "the name 'NaOH' of C3H6O3 is a formula"),
    "a substance of the banks": ("name: lactic acid", "name: sodium hydroxide", "is that of NaOH in the banks"),
    "a solution of the banks": (
        "solution: lactic acid solution",
        "solution: hydrochloric acid",
        "is that of HCl in the banks",
    ),
    "nothing": ("name: lactic acid", "name: ''", "name: an empty text"),
    "a name without end": (
        "name: lactic acid",
        "name: " + "x" * 101,
        "the name has 101 characters; expected at most 100",
    ),
}


@pytest.mark.parametrize("what", NAMED)
def test_an_own_substance_is_called_by_a_name_of_its_own(what: str, own: Own) -> None:
    old, new, words = NAMED[what]
    told = said(own("substances.yaml", old, new))
    assert "my-entries/substances.yaml:" in told
    assert words in told


@pytest.mark.parametrize("key", ["Lactic", "lactic acid", "-lactic", "x" * 61, "redox", "../x", "é"])
def test_a_key_is_one_plain_word_that_names_no_topic(key: str, own: Own) -> None:
    told = said(own("archetypes/sour.yaml", "key: lactic-acid", f"key: {key}"))
    assert "my-entries/archetypes/sour.yaml:1: key: the key" in told


def test_a_scene_has_a_key_of_the_same_kind(own: Own) -> None:
    assert "my-entries/contexts.yaml:1: key: the key" in said(own("contexts.yaml", "key: goat-whey", "key: Goat whey"))


def test_an_empty_text_is_told_where_it_stands(own: Own) -> None:
    assert "my-entries/contexts.yaml:6: sample: an empty text" in said(
        own("contexts.yaml", "sample: the whey", "sample: ''")
    )


# ------------------------------------------------------------------ nothing is passed over


STRANGE = {
    "substances.yml": "nearest: substances.yaml",
    "substances.yaml.txt": "nearest: substances.yaml",
    "substance.yaml": "nearest: substances.yaml",
    "archetype/mine.yaml": "nearest: archetypes",
    "archetypes/mine.yml": "nearest: archetypes/mine.yaml",
    "archetypes/deep/mine.yaml": "a folder that is not read",
    "notes.docx": "no file of the banks is called so",
}


@pytest.mark.parametrize("name", STRANGE)
def test_a_file_that_would_not_be_read_is_told(name: str, own: Own) -> None:
    folder = own()
    (folder / name).parent.mkdir(exist_ok=True)
    (folder / name).write_text("- {formula: C3H8O3, name: glycerol}\n", "utf-8")
    told = said(folder)
    assert (
        "my-entries/" + (name if name.count("/") < 2 and "archetype/" not in name else name.rpartition("/")[0]) in told
    )
    assert STRANGE[name] in told


def test_hidden_files_are_left_alone(own: Own) -> None:
    folder = own()
    (folder / ".notes.swp").write_bytes(b"\0")
    (folder / "archetypes" / "._sour.yaml").write_bytes(b"\0")
    assert read_bank(own=(folder,), whole=False).own == {"lactic-acid"}


@pytest.mark.parametrize("to", ["nowhere.yaml", "edta.yaml"])
def test_a_link_that_leads_nowhere_is_told(to: str, own: Own) -> None:
    folder = own()
    (folder / "edta.yaml").symlink_to(folder / to)
    told = said(folder)
    assert "my-entries/edta.yaml: a link that leads nowhere" in told


@pytest.mark.parametrize("name", ["edta.yaml", "archetypes/more.yaml"])
def test_a_link_that_leaves_the_folder_is_refused_and_not_read(name: str, own: Own, tmp_path: Path) -> None:
    (tmp_path / "outside.yaml").write_text("- {solute: Secret}\n", "utf-8")
    folder = own()
    (folder / name).symlink_to(tmp_path / "outside.yaml")
    told = said(folder)
    assert f"my-entries/{name}: a link that leaves the folder" in told
    assert "Secret" not in told


def test_a_folder_of_links_is_not_followed(own: Own, tmp_path: Path) -> None:
    folder = own()
    (folder / "archetypes").rename(tmp_path / "elsewhere")
    (folder / "archetypes").symlink_to(tmp_path / "elsewhere")
    assert "my-entries/archetypes: a link that leaves the folder" in said(folder)


def test_a_folder_that_cannot_be_read_is_told(own: Own, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = own()
    listed = Path.iterdir

    def iterdir(path: Path) -> object:
        if path == folder / "archetypes":
            raise PermissionError(13, "Permission denied")
        return listed(path)

    monkeypatch.setattr(Path, "iterdir", iterdir)
    told = said(folder)
    assert "my-entries/archetypes: the folder cannot be read (Permission denied)" in told


def test_entries_without_a_kind_of_question_are_checked_alone(own: Own, capsys: pytest.CaptureFixture[str]) -> None:
    folder = own()
    (folder / "archetypes" / "sour.yaml").unlink()
    (folder / "archetypes").rmdir()
    assert main(["check", str(folder)]) == 0
    printed = capsys.readouterr().out
    assert "no kind of question of your own" in printed
    assert printed.count("\n") <= 3


def test_a_file_of_another_name_is_not_passed_over(own: Own) -> None:
    told = said(own(substance="- {formula: C3H8O3, name: glycerol}\n"))
    assert "my-entries/substance.yaml" in told
    assert "nearest: substances.yaml" in told


def test_an_empty_folder_is_told(tmp_path: Path) -> None:
    (tmp_path / "archetypes").mkdir()
    assert "no entry is in this folder" in said(tmp_path)


def test_a_whole_set_of_banks_is_told_apart_from_own_entries(small_folder: Path) -> None:
    assert "--banks" in said(small_folder)


# ------------------------------------------------------------------ what no laboratory does


FIT = "fit 0.0600 to 0.140 mol dm-3 by 0.0005"
VOLUME = "volume: [25.0 cm3, 20.0 cm3]"
TITRATE = "    - titrate: {with: titrant,"
# Words of the message, and of the line that it must name.
NONSENSE = {
    "a pipette of any volume": (
        (SOUR, VOLUME, "volume: 33.3 cm3"),
        "no pipette of the banks measures 33.3 cm³",
        "33.3",
    ),
    "a pipette like a lake": (
        (SOUR, VOLUME, "volume: 1000000000 dm3"),
        "no pipette of the banks measures",
        "1000000000",
    ),
    "what a volumetric flask measures": (
        (SOUR, VOLUME, "volume: 250 cm3"),
        "Write 'with: measuring cylinder', 'with: volumetric flask' or 'with: bottle' where",
        "250",
    ),
    "what nothing measures": (
        (SOUR, "    - titrate:", "    - make up: 250 cm3\n    - take aliquot: 60.0 cm3\n    - titrate:"),
        "no pipette of the banks measures 60.0 cm³ (volume of aliquot); expected",
        "60.0",
    ),
    "a pipette of a range": ((SOUR, VOLUME, "volume: 20.0 to 25.0 cm3"), "measures a range from 20.0 cm³", "20.0 to"),
    "a burette of a litre": ((SOUR, VOLUME, "volume: 1000 cm3, with: burette"), "expected at most 50 cm³", "1000 cm3"),
    "a flask of any volume": (
        (SOUR, TITRATE, "    - make up: {volume: 333 cm3, vessel: portion}\n" + TITRATE),
        "no volumetric flask of the banks measures 333 cm³",
        "333",
    ),
    "a flask that is full already": (
        (
            SOUR,
            VOLUME + ", into: portion}",
            "volume: 100 cm3, into: flask}\n    - make up: 100 cm3\n    - take aliquot: 25.0 cm3",
        ),
        "is made up to 100 cm³ and holds 100 cm³ already",
        "make up: 100",
    ),
    "nothing added": ((SOUR, TITRATE, "    - add: ''\n" + TITRATE), "an empty text", "add: ''"),
    "gas where there is none": (
        (SOUR, TITRATE, "    - boil off: {species: CO2, vessel: portion}\n" + TITRATE),
        "no CO2 is in portion to be boiled off; expected one of: C3H6O3",
        "boil off",
    ),
    "a reactant that is nowhere": (
        (SOUR, "by 0.0005}\n  titre", "by 0.0005, reaction: C3H6O3 + NaOH + KCl -> NaC3H5O3 + H2O + KCl}\n  titre"),
        "KCl stands on both sides",
        "- titrate",
    ),
    "an acid that nobody added": (
        (
            SOUR,
            "by 0.0005}\n  titre",
            "by 0.0005, reaction: 2C3H6O3 + NaOH + KHCO3 -> NaC3H5O3 + KC3H5O3 + 2H2O + CO2}\n  titre",
        ),
        "no KHCO3 in portion",
        "- titrate",
    ),
    "a titrant that bends": (
        (
            SOUR,
            "concentration: fit 0.0600 to 0.140 mol dm-3 by 0.0005,\n                volume: [25.0 cm3, 20.0 cm3], into: portion}\n"
            "    - titrate: {with: titrant, concentration: ",
            "concentration: 0.0600 to 0.140 mol dm-3 by 0.0005,\n                volume: [25.0 cm3, 20.0 cm3], into: portion}\n"
            "    - titrate: {with: titrant, concentration: fit ",
        ),
        "the concentration of NaOH is marked 'fit'",
        "- titrate",
    ),
    "half a sentence": (
        ("contexts.yaml", "for lactic acid.\n  sample: the whey", "for lactic acid\n  sample: the whey"),
        "does not end with a full stop",
        "opening",
    ),
    "a scene with numbers": (
        ("contexts.yaml", "The goat dairy", "25.0 cm3 from the goat dairy"),
        "holds the number '25.0'",
        "opening",
    ),
    "no title": ((SOUR, "title: The acid in something sour", "title: ''"), "an empty text", "title"),
    "no source": ((SOUR, "  source: common practice, no source\n", ""), "the key 'source' is missing", "- key"),
    "a reaction without source": (
        ("reactions.yaml", "  source: common practice, no source\n", ""),
        "'source' is missing",
        "- eq",
    ),
    "a kind of step that is none": (
        (SOUR, "  demand: 2", "  demand: 2\n  one mark for: [masss]"),
        "nearest: mass",
        "masss",
    ),
    "an indicator that is none": (
        (SOUR, "by 0.0005}\n  titre", "by 0.0005, indicators: [phenolftalein]}\n  titre"),
        "no indicator 'phenolftalein' in the banks; expected one that 'molewright banks indicators' lists; nearest: phenolphthalein",
        "- titrate",
    ),
    "more than a burette": (
        (SOUR, "titre: 18 to 32 cm3", "titre: 55 to 70 cm3"),
        "at most 50 cm³, a full burette",
        "titre: 55",
    ),
    "no end of steps": (
        (SOUR, "0.0900 to 0.115 mol dm-3 by 0.0005", "0.0900 to 0.115 mol dm-3 by 0.00000001"),
        "has more than 1,000,000 steps",
        "- titrate",
    ),
    "a step that misses the end": (
        (SOUR, "0.0900 to 0.115 mol dm-3 by 0.0005", "0.0900 to 0.115 mol dm-3 by 0.002"),
        "the last is 0.114",
        "- titrate",
    ),
    "a step larger than its range": (
        (SOUR, "0.0900 to 0.115 mol dm-3 by 0.0005", "0.0900 to 0.115 mol dm-3 by 1"),
        "is larger than the range",
        "- titrate",
    ),
    "a reactant twice": (
        (
            "reactions.yaml",
            "C3H6O3(aq) + NaOH(aq) -> NaC3H5O3(aq) + H2O(l)",
            "C3H6O3(aq) + C3H6O3(aq) + 2NaOH(aq) -> 2NaC3H5O3(aq) + 2H2O(l)",
        ),
        "C3H6O3 stands twice on the left of the equation",
        "- equation",
    ),
    "electrons left over": (
        ("reactions.yaml", "C3H6O3(aq) + NaOH(aq) -> NaC3H5O3(aq) + H2O(l)", "Fe^2+(aq) -> Fe^3+(aq) + e^-"),
        "electrons are left over",
        "- equation",
    ),
}


@pytest.mark.parametrize("what", NONSENSE)
def test_what_no_laboratory_does_is_told_where_it_stands(what: str, own: Own) -> None:
    change, words, on = NONSENSE[what]
    folder = own(*change)
    told = said(folder)
    assert words in told
    text = (folder / change[0]).read_text("utf-8")
    line = text[: text.index(on)].count("\n") + 1
    assert f"my-entries/{change[0]}:{line}" in told


STONE = """
- key: stone-again
  title: Shells once more
  topic: back titration with an aliquot
  demand: 6
  variants:
    - {material: limestone, reagent: HCl, titrant: NaOH}
  procedure:
    - weigh: {sample: material, contains: analyte, mass: fit 0.800 to 1.700 g by 0.001, percentage: of the material}
    - add excess: {solution: reagent, volume: 50.0 cm3, concentration: 0.600 to 1.20 mol dm-3 by 0.005}
    - react: {excess: reagent}
    - make up: 250 cm3
    - take aliquot: 25.0 cm3
    - titrate: {with: titrant, concentration: 0.0850 to 0.125 mol dm-3 by 0.0005}
  ask: [percentage of analyte in material]
  source: common practice, no source
"""


def test_a_material_is_treated_with_its_own_reagents_only(own: Own) -> None:
    text = STONE.replace("reagent: HCl", "reagent: H2SO4").replace(
        "{excess: reagent}", "{excess: reagent, reaction: CaCO3 + H2SO4 -> CaSO4 + CO2 + H2O}"
    )
    folder = own()
    (folder / "archetypes" / "crust.yaml").write_text(text, "utf-8")
    told = said(folder)
    assert "my-entries/archetypes/crust.yaml:10" in told
    assert "H2SO4 is no reagent of the material 'limestone'; expected one of its reagents: HCl, HNO3" in told


def test_what_cannot_be_worked_out_is_told_with_folder_and_line(own: Own, capsys: pytest.CaptureFixture[str]) -> None:
    folder = own()
    (folder / "archetypes" / "stone.yaml").write_text(STONE.replace(", percentage: of the material", ""), "utf-8")
    for command in (["check", str(folder), "--draws", "2"], ["paper", "stone-again", "--entries", str(folder)]):
        assert main(command) == 1
        told = capsys.readouterr().err
        assert (
            "my-entries/archetypes/stone.yaml:2: stone-again: 'percentage of CaCO3 in limestone' cannot be worked out"
            in told
        )


def test_an_acid_has_at_most_six_stages(own: Own) -> None:
    acid = "- {name: x, formula: C3H6O3, pkas: [1, 2, 3, 4, 5, 6, 7], source: from memory}\n"
    assert "my-entries/acids.yaml:1" in said(own(acids=acid))
    assert "7 pKa values of x; expected at most 6" in said(own(acids=acid))


# ------------------------------------------------------------------ messages that lead on


LEADS = {
    "a role that is misspelt": (
        (SOUR, "solution: analyte,", "solution: analite,"),
        ("no role 'analite'", "nearest: analyte"),
    ),
    "a role that is left out": (
        (SOUR, "with: titrant,", "with: reagent,"),
        ("no role 'reagent'", "roles here: analyte, titrant"),
    ),
    "a vessel that is nowhere": (
        (SOUR, "with: titrant,", "with: titrant, vessel: porton,"),
        ("no vessel 'porton'", "one of those here: portion", "nearest: portion"),
    ),
    "a vessel that nothing else is put into": (
        (SOUR, TITRATE, "    - add: {what: distilled water, vessel: porton}\n" + TITRATE),
        ("add, vessel: no vessel 'porton'", "one of those here: portion"),
    ),
    "a fit without a range": ((SOUR, FIT, "fit 0.05 mol dm-3"), ("expected 'fit LOW to HIGH UNIT by STEP'",)),
    "a fit with a dash": ((SOUR, FIT, "fit 0.03 - 0.07"), ("expected 'fit LOW to HIGH UNIT by STEP'",)),
    "a window of one end": ((SOUR, "titre: 18 to 32 cm3", "titre: 18 cm3"), ("expected 'LOW to HIGH cm3'",)),
    "a share of one end": ((SOUR, "titre: 18 to 32 cm3", "used: x"), ("expected 'LOW to HIGH', as '0.30 to 0.70'",)),
    "a step of nothing": (
        (SOUR, "0.0900 to 0.115 mol dm-3 by 0.0005", "0.0900 to 0.115 mol dm-3 by 0"),
        ("expected a step above 0",),
    ),
    "a mass for a volume": ((SOUR, VOLUME, "volume: [25.0 cm3, 20.0 g]"), ("'20.0 g' has 'g'",)),
}


@pytest.mark.parametrize("what", LEADS)
def test_a_message_leads_on(what: str, own: Own) -> None:
    change, words = LEADS[what]
    told = said(own(*change))
    assert "my-entries/archetypes/sour.yaml:" in told
    for part in words:
        assert part in told
    assert "\N{REPLACEMENT CHARACTER}" not in told


def test_a_sign_that_yaml_forbids_is_told_by_its_line(own: Own) -> None:
    told = said(own("contexts.yaml", "sample: the whey", "sample: the \0whey"))
    assert "my-entries/contexts.yaml:6: the file cannot be read as YAML: the character U+0000" in told


def test_entries_given_for_whole_banks_are_told_apart(own: Own, capsys: pytest.CaptureFixture[str]) -> None:
    folder = own()
    assert main(["banks", "--banks", str(folder)]) == 1
    assert f"--entries {folder}" in capsys.readouterr().err


def test_one_root_cause_is_told_once(own: Own) -> None:
    """With a material file that is no YAML, nothing is said of the scenes that serve its materials."""
    folder = own(
        "contexts.yaml",
        "serves: [C3H6O3]\n  opening: >-\n    The goat",
        "serves: [sour milk]\n  opening: >-\n    The goat",
    )
    (folder / "materials.yaml").write_text("- name: [sour milk\n", "utf-8")
    told = said(folder).splitlines()
    assert len(told) == 3
    assert "my-entries/materials.yaml:" in told[0]
    assert "what rests on materials.yaml was not checked" in told[1]
    assert "the kinds of question were not read yet" in told[2]


def test_a_name_that_nothing_has_is_told_once_a_file(own: Own) -> None:
    folder = own()
    (folder / "substances.yaml").unlink()
    told = said(folder).splitlines()
    assert len(told) == 2
    assert "my-entries/contexts.yaml:1: goat-whey: no material or substance 'C3H6O3'" in told[0]
    assert told[0].endswith("It is also named on line 7, 12.")


def test_what_is_like_a_refused_archetype_is_left_out(own: Own) -> None:
    folder = own(SOUR, "demand: 2", "demand: 12")
    (folder / "archetypes" / "like.yaml").write_text(
        "- {key: more, like: lactic-acid, title: x, topic: redox}\n", "utf-8"
    )
    told = said(folder).splitlines()
    assert len(told) == 2
    assert "expected 1 to 9" in told[0]
    assert "what rests on lactic-acid was not checked" in told[1]


def test_a_reference_to_nothing_is_told_with_folder_and_line(own: Own) -> None:
    told = said(
        own(
            "contexts.yaml",
            "serves: [C3H6O3]\n  opening: >-\n    The goat",
            "serves: [sour milk]\n  opening: >-\n    The goat",
        )
    )
    assert "my-entries/contexts.yaml:1: goat-whey: no material or substance 'sour milk'" in told
    told = said(own("ions.yaml", "ion: C3H5O3^-, acid: lactic acid", "ion: C3H5O3^-, acid: lactid acid"))
    assert "my-entries/ions.yaml:2: C3H5O3-: no acid 'lactid acid'" in told
    told = said(own("reactions.yaml", "[phenolphthalein]", "[phenolftalein]"))
    assert "my-entries/reactions.yaml:1: C3H6O3(aq) + NaOH(aq)" in told


def test_faults_of_archetypes_are_told_together_with_others(own: Own) -> None:
    """What an archetype does not rest on does not keep it from being read."""
    told = said(
        own(SOUR, "demand: 2", "demand: 12", hazards="- {solute: HCl, least: 2, words: x, source: from memory}\n")
    )
    assert "my-entries/archetypes/sour.yaml:4" in told
    assert "my-entries/hazards.yaml:1" in told


UNDRAWN = {
    "a window out of reach": ("titre: 18 to 32 cm3", "titre: 45 to 48 cm3", "always refused"),
    "a strength that nobody told": (
        ", concentration: 0.0900 to 0.115 mol dm-3 by 0.0005}",
        "}",
        "Give it a number",
    ),
}


@pytest.mark.parametrize("what", UNDRAWN)
def test_what_cannot_be_drawn_is_told_with_folder_and_line(
    what: str, own: Own, capsys: pytest.CaptureFixture[str]
) -> None:
    old, new, words = UNDRAWN[what]
    assert main(["check", str(own(SOUR, old, new)), "--draws", "2"]) == 1
    told = capsys.readouterr().err
    assert "my-entries/archetypes/sour.yaml:1: lactic-acid: " in told
    assert words in told


# ------------------------------------------------------------------ entries from strangers


def test_own_entries_have_a_limit_of_size(own: Own) -> None:
    told = said(own(hazards="# " + "x" * 2_100_000 + "\n"))
    assert "too large" in told
    assert "my-entries/hazards.yaml" in told


@pytest.mark.parametrize(
    "opening", ["{person.__class__.__mro__}", "{{ 7 * 7 }}", "{% include '/etc/passwd' %}", "!!python/name:os.system"]
)
def test_what_looks_like_code_is_never_run(opening: str, own: Own, tmp_path: Path) -> None:
    """Either it is refused when it is read or composed, or it is printed as it stands."""
    folder = own(
        "contexts.yaml", "Before the curd is cut, a sample of the clear whey is\n    analysed for lactic acid.", opening
    )
    code = main(
        [
            "paper",
            "lactic-acid",
            "--questions",
            "6",
            "--entries",
            str(folder),
            "--form",
            "text",
            "--to",
            str(tmp_path / "out"),
        ]
    )
    printed = "".join(path.read_text("utf-8") for path in (tmp_path / "out").glob("*.txt")) if code == 0 else ""
    assert code in (0, 1)
    assert "49" not in "".join(line for line in printed.splitlines() if "goat dairy" in line)
    assert "root:" not in printed
    assert "class 'object'" not in printed


def test_files_named_in_an_entry_are_not_opened(own: Own, tmp_path: Path) -> None:
    secret = tmp_path / "secret.yaml"
    secret.write_text("- {formula: C3H8O3, name: glycerol}\n", "utf-8")
    told = said(own("archetypes/sour.yaml", "key: lactic-acid", f"key: lactic-acid\n  like: {secret}"))
    assert "glycerol" not in told
    assert "to be like" in told


def test_a_page_beside_the_files_of_a_bank_is_not_read_as_one(
    small_folder: Path, small_bank: Bank, tmp_path: Path
) -> None:
    """banks/README.md lies among the files of the banks, in a checkout and in the wheel."""
    folder = tmp_path / "banks"
    shutil.copytree(small_folder, folder)
    (folder / "README.md").write_text("- key: nothing\n", "utf-8")
    (folder / "archetypes" / "notes.md").write_text("key: nothing", "utf-8")
    assert read_bank(folder).fingerprint == small_bank.fingerprint
