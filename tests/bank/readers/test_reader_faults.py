"""Each fault of a bank is told with its file and line, what was found, what was expected and what it may have been meant for."""

from __future__ import annotations

import os
import re
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from molewright.bank.readers.folders import fingerprint
from molewright.bank.readers.whole_bank import read_bank
from molewright.derivation.plans import Plans
from molewright.draw.stream import Stream
from molewright.errors import Mistake, Mistakes
from molewright.question.check import Questions
from molewright.reading.fields import MOST_FAULTS

BankWith = Callable[..., Path]


@dataclass(frozen=True)
class Fault:
    """A spoilt entry: the change made to a file of the small bank, the line it must be told on, and words of the message."""

    file: str
    old: str
    new: str
    on: str  # words of the line that the message must name
    said: tuple[str, ...]


FAULTS: dict[str, Fault] = {
    "a slip of a ratio in a flask": Fault(
        "slips.yaml",
        "- slip: S01",
        "- {slip: S98, name: x, often: low, in: ratio, instead: source, place: [direct, flask]}\n- slip: S01",
        "S98",
        ("of kind 'ratio' has no place 'flask'", "dissolving, titration, direct"),
    ),
    "a slip of a scaling in a place misspelt": Fault(
        "slips.yaml",
        "- slip: S01",
        "- {slip: S98, name: x, often: low, in: scale, instead: source, place: [dilutoin]}\n- slip: S01",
        "S98",
        ("of kind 'scale' has no place 'dilutoin'", "nearest: dilution"),
    ),
    "a slip with a place of a kind that has none": Fault(
        "slips.yaml",
        "- slip: S01",
        "- {slip: S98, name: x, often: low, in: answer, instead: found * 2, place: [flask]}\n- slip: S01",
        "S98",
        ("only a ratio, a scale or a concentration has one",),
    ),
    "a substance twice": Fault(
        "substances.yaml",
        "- {formula: NaOH,",
        "- {formula: HCl, name: x}\n- {formula: NaOH,",
        "HCl, name: x",
        ("'HCl' stands twice",),
    ),
    "a raised count": Fault(
        "substances.yaml",
        "- {formula: NaOH,",
        "- {formula: KOH, name: x, gives: ² OH^-}\n- {formula: NaOH,",
        "KOH, name: x",
        ("cannot be read",),
    ),
    "a count without end": Fault(
        "substances.yaml",
        "- {formula: NaOH,",
        f"- {{formula: KOH, name: x, gives: {'9' * 3000} OH^-}}\n- {{formula: NaOH,",
        "KOH, name: x",
        ("1 to 999",),
    ),
    "a number with an underscore": Fault("materials.yaml", "low: 80.0", "low: 8_0", "8_0", ("is not a number",)),
    "a number without end": Fault(
        "materials.yaml", "low: 80.0", "low: 1e999999999", "1e999", ("is not an ordinary number",)
    ),
    "a direction override": Fault(
        "materials.yaml", "noun: crushed limestone", 'noun: "a\\u202Eb"', "noun", ("U+202E",)
    ),
    "more demanding than nine": Fault(
        "archetypes/all.yaml", "demand: 1\n", "demand: 1000000\n", "demand: 1000000", ("expected 1 to 9",)
    ),
    "variants without end": Fault(
        "archetypes/all.yaml",
        "{analyte: HCl, titrant: NaOH}",
        f"{{analyte: HCl, titrant: NaOH, a: [{', '.join(f'x{n}' for n in range(40))}], b: [{', '.join(f'x{n}' for n in range(40))}]}}",
        "a: [x0",
        ("more than 400 variants",),
    ),
    "an answer in a unit of another kind": Fault(
        "archetypes/all.yaml",
        "ask: [concentration of titrant]",
        "ask: [{quantity: concentration of titrant, unit: g}]",
        "unit: g}",
        ("a unit of the kind 'mol dm⁻³'",),
    ),
    "an answer in a list": Fault(
        "archetypes/all.yaml",
        "ask: [concentration of titrant]",
        "ask: [[]]",
        "ask: [[]]",
        ("a list where a text belongs",),
    ),
    "nothing asked for": Fault(
        "archetypes/all.yaml", "ask: [concentration of titrant]", "ask: []", "ask: []", ("nothing is asked for",)
    ),
    "an unknown element": Fault("substances.yaml", "{formula: NaOH,", "{formula: NqOH,", "NqOH", ("'Nq'", "nearest: ")),
    "an unbalanced equation": Fault(
        "reactions.yaml", "CaCO3(s) + 2HCl(aq)", "CaCO3(s) + HCl(aq)", "CaCO3(s) + HCl(aq)", ("does not balance", "Cl")
    ),
    "an equation without an arrow": Fault(
        "reactions.yaml",
        "HCl(aq) + NaOH(aq) -> NaCl(aq) + H2O(l)",
        "HCl(aq) + NaOH(aq)",
        "HCl(aq) + NaOH(aq)",
        ("expected",),
    ),
    "a misspelt key": Fault(
        "materials.yaml", "noun: crushed limestone", "nuon: crushed limestone", "nuon", ("'nuon'", "nearest: noun")
    ),
    "a missing key": Fault("materials.yaml", "  analyte: CaCO3\n", "", "- name: limestone", ("'analyte' is missing",)),
    "an analyte that is no substance": Fault(
        "materials.yaml", "analyte: CaCO3", "analyte: ZnCO3", "", ("no substance 'ZnCO3' in the banks", "limestone")
    ),
    "a repeated key": Fault(
        "materials.yaml", "  low: 80.0\n", "  low: 80.0\n  low: 81.0\n", "low: 81.0", ("'low' stands twice", "line 4")
    ),
    "a number that is none": Fault(
        "materials.yaml", "low: 80.0", "low: eighty", "eighty", ("'eighty' is not a number",)
    ),
    "a range that runs downwards": Fault(
        "materials.yaml", "high: 98.0", "high: 12.0", "- name: limestone", ("80.0 to 12.0",)
    ),
    "a purity above 99.9 per cent": Fault(
        "materials.yaml", "high: 98.0", "high: 101", "- name: limestone", ("101", "99.9")
    ),
    "an indicator that runs downwards": Fault(
        "indicators.yaml",
        "low: 8.2, high: 10.0",
        "low: 10.0, high: 8.2",
        "phenolphthalein",
        ("runs downwards", "low to high"),
    ),
    "an apparatus of no known kind": Fault(
        "apparatus.yaml", "kind: pipette", "kind: pippette", "pippette", ("nearest: pipette", "volumetric flask")
    ),
    "a capacity without unit": Fault(
        "apparatus.yaml", "capacity: 25.0 cm3", "capacity: 25.0", "25.0", ("has no unit", "25.0 cm3")
    ),
    "a unit that is none": Fault(
        "apparatus.yaml", "capacity: 25.0 cm3", "capacity: 25.0 cm", "25.0 cm", ("'cm' is not known",)
    ),
    "a hazard without source": Fault(
        "hazards.yaml", ', source: "CLP Annex VI, 10 %"', "", "least: 2.7", ("'source' is missing",)
    ),
    "a misspelt operation": Fault(
        "archetypes/all.yaml",
        "    - add excess: {solution: reagent, volume: 50.0 cm3, concentration: 0.600",
        "    - add exces: {solution: reagent, volume: 50.0 cm3, concentration: 0.600",
        "add exces:",
        ("'add exces'", "nearest: add excess"),
    ),
    "a misspelt key of an operation": Fault(
        "archetypes/all.yaml",
        "{solution: reagent, volume: 50.0 cm3, concentration: 0.600",
        "{solution: reagent, volum: 50.0 cm3, concentration: 0.600",
        "volum: 50.0",
        ("'volum'", "nearest: volume"),
    ),
    "a number without unit": Fault(
        "archetypes/all.yaml",
        "volume: 50.0 cm3, concentration: 0.600",
        "volume: 50.0, concentration: 0.600",
        "volume: 50.0,",
        ("no unit",),
    ),
    "a unit of another kind": Fault(
        "archetypes/all.yaml",
        "volume: 50.0 cm3, concentration: 0.600",
        "volume: 50.0 g, concentration: 0.600",
        "volume: 50.0 g",
        ("'g'", "a unit of the kind 'cm³'"),
    ),
    "a concentration in grams for one in moles": Fault(
        "archetypes/all.yaml",
        "concentration: 0.0180 to 0.0220 mol dm-3 by",
        "concentration: 0.0180 to 0.0220 g dm-3 by",
        "g dm-3",
        ("g dm⁻³", "a unit of the kind 'mol dm⁻³'"),
    ),
    "M for a unit": Fault(
        "archetypes/all.yaml", "0.0180 to 0.0220 mol dm-3 by", "0.0180 to 0.0220 M by", "0.0220 M", ("'M'", "mol dm-3")
    ),
    "a misspelt quantity": Fault(
        "archetypes/all.yaml",
        "ask: [water in analyte]",
        "ask: [watter in analyte]",
        "watter",
        ("'watter in Na2CO3.xH2O'", "nearest: water in Na2CO3.xH2O"),
    ),
    "a range that runs down": Fault(
        "archetypes/all.yaml",
        "fit 2.000 to 4.500 g",
        "fit 4.500 to 2.000 g",
        "4.500 to 2.000",
        ("4.500 to 2.000 g is empty",),
    ),
    "a step of nought": Fault(
        "archetypes/all.yaml", "4.500 g by 0.001", "4.500 g by 0.000", "4.500 g by 0.000", ("expected a step above 0",)
    ),
    "no number marked fit": Fault(
        "archetypes/all.yaml",
        "fit 2.000 to 4.500",
        "2.000 to 4.500",
        "2.000 to 4.500",
        ("0 numbers are marked 'fit'", "exactly one"),
    ),
    "two numbers marked fit": Fault(
        "archetypes/all.yaml",
        "concentration: 0.0180 to",
        "concentration: fit 0.0180 to",
        "weigh: {sample: garden",
        ("2 numbers are marked 'fit'",),
    ),
    "a window of the titre in the wrong unit": Fault(
        "archetypes/all.yaml",
        "  titre: 18 to 32 cm3\n  used:",
        "  titre: 18 to 32 g\n  used:",
        "18 to 32 g",
        ("the window '18 to 32 g'",),
    ),
    "a window that is one number": Fault(
        "archetypes/all.yaml", "  titre: 18 to 32 cm3\n  used:", "  titre: 18\n  used:", "titre: 18\n", ("expected",)
    ),
    "a topic that is none": Fault(
        "archetypes/all.yaml",
        "topic: redox",
        "topic: redocks",
        "redocks",
        ("'redocks' is not a known topic", "nearest: redox"),
    ),
    "a material that is none": Fault(
        "archetypes/all.yaml",
        "{material: limestone, reagent",
        "{material: limestoan, reagent",
        "limestoan",
        ("no material 'limestoan'", "nearest: limestone"),
    ),
    "a reaction that the banks do not hold": Fault(
        "archetypes/all.yaml",
        "{analyte: FeSO4.7H2O, titrant: KMnO4}",
        "{analyte: FeSO4.7H2O, titrant: NaOH}",
        "0.0180 to 0.0220",
        ("no reaction of Fe^2+ with NaOH",),
    ),
    "an equation of a procedure that does not balance": Fault(
        "archetypes/all.yaml",
        "1.20 mol dm-3 by 0.005}\n    - react: {excess: reagent}",
        "1.20 mol dm-3 by 0.005}\n    - react: {excess: reagent, reaction: CaCO3 + HCl -> CaCl2 + CO2 + H2O}",
        "CaCO3 + HCl ->",
        ("does not balance",),
    ),
    "a procedure without titration": Fault(
        "archetypes/all.yaml",
        "    - titrate: {with: titrant, concentration: 0.0180 to 0.0220 mol dm-3 by 0.0001}\n",
        "",
        "weigh: {sample: garden crystals",
        ("no titration", "titrate"),
    ),
    "an aliquot of what was never dissolved": Fault(
        "archetypes/all.yaml",
        "    - dissolve: dilute sulfuric acid\n    - make up: 250 cm3\n",
        "",
        "FeSO4.7H2O, titrant",
        ("volume is not known",),
    ),
    "an archetype whose analyte no context serves": Fault(
        "contexts.yaml", "serves: [FeSO4.7H2O]", "serves: [limestone]", "", ("no context serves",)
    ),
    "a context that serves what is not there": Fault(
        "contexts.yaml",
        "key: wet-lane, serves: [limestone]",
        "key: wet-lane, serves: [limestoan]",
        "",
        ("'limestoan'", "nearest: limestone", "wet-lane"),
    ),
    "an indicator that is not in the banks": Fault(
        "reactions.yaml",
        "[methyl orange, phenolphthalein]",
        "[methyl orage, phenolphthalein]",
        "",
        ("no indicator 'methyl orage'", "nearest: methyl orange"),
    ),
    "an anchor": Fault(
        "substances.yaml",
        "{formula: HCl,",
        "&acid {formula: HCl,",
        "&acid",
        ("an anchor or alias", "the text written out"),
    ),
    "an alias": Fault(
        "hazards.yaml", "- {solute: NaOH, least: 0,", "- *acid\n- {solute: NaOH, least: 0,", "*acid", ("lias",)
    ),
    "a tag": Fault(
        "substances.yaml",
        "name: hydrogen chloride",
        "name: !!python/object/apply:os.system [echo]",
        "!!python",
        ("a tag", "plain text"),
    ),
    "a tab": Fault(
        "materials.yaml",
        "  noun: crushed limestone",
        "\tnoun: crushed limestone",
        "",
        ("cannot be read as YAML", "indentation"),
    ),
    "an open bracket": Fault(
        "hazards.yaml", "- {solute: HCl, least: 0,", "- {solute: HCl, least: [0,", "", ("cannot be read as YAML",)
    ),
    "a list where a text belongs": Fault(
        "materials.yaml",
        "noun: crushed limestone",
        "noun: [crushed, limestone]",
        "noun:",
        ("a list where a text belongs",),
    ),
    "a key that is a list": Fault(
        "materials.yaml",
        "  noun: crushed limestone",
        "  [noun]: crushed limestone",
        "[noun]",
        ("a key that is not a text",),
    ),
    "an archetype of a key that stands already": Fault(
        "archetypes/all.yaml", "key: small-iron", "key: small-back", "", ("'small-back' stands twice",)
    ),
    "two strengths of one bottle": Fault(
        "archetypes/all.yaml",
        "{solution: analyte, concentration: fit 0.0800 to 0.130 mol dm-3 by 0.0001, volume: 25.0 cm3, into: portion}\n",
        "{solution: analyte, concentration: fit 0.0800 to 0.130 mol dm-3 by 0.0001, volume: 25.0 cm3, into: portion}\n"
        "    - measure: {solution: analyte, concentration: 0.5 mol dm-3, volume: 5.0 cm3, into: portion}\n",
        "0.5 mol dm-3",
        ("given twice", "bottle: ..."),
    ),
}


def reading(folder: Path) -> str:
    """What the reader says of a folder of banks, and that it says so by a Mistake."""
    with pytest.raises(Mistake) as caught:
        read_bank(folder)
    return str(caught.value)


@pytest.mark.parametrize("what", FAULTS)
def test_a_fault_is_told_with_file_line_and_remedy(what: str, bank_with: BankWith) -> None:
    fault = FAULTS[what]
    folder = bank_with(fault.file, fault.old, fault.new)
    said = reading(folder)
    for words in fault.said:
        assert words in said, said
    if fault.on:
        text = (folder / fault.file).read_text("utf-8")
        line = text[: text.index(fault.on)].count("\n") + 1
        assert f"{fault.file}:{line}:" in said or f"{fault.file}:{line} " in said, f"line {line} expected\n{said}"
    else:
        assert fault.file.removeprefix("archetypes/") in said or "all.yaml" in said
    assert "Traceback" not in said


def test_several_faults_are_told_together(bank_with: BankWith) -> None:
    folder = bank_with("materials.yaml", "low: 80.0", "low: eighty")
    text = (folder / "substances.yaml").read_text("utf-8")
    (folder / "substances.yaml").write_text(text.replace("NaOH", "NqOH"), "utf-8")
    with pytest.raises(Mistakes) as caught:
        read_bank(folder)
    assert len(caught.value.each) >= 2
    assert "eighty" in str(caught.value)
    assert "Nq" in str(caught.value)


def test_a_missing_file_is_told_by_its_name(bank_with: BankWith) -> None:
    folder = bank_with("hazards.yaml", "least: 2.7", "least: 2.7")
    (folder / "reactions.yaml").unlink()
    assert "reactions.yaml: the file cannot be read (No such file or directory)" in reading(folder)


def test_a_folder_that_is_not_there_is_told(tmp_path: Path) -> None:
    assert "no folder of banks is here (there is none)" in reading(tmp_path / "nowhere")


def test_banks_without_archetypes_are_told(bank_with: BankWith) -> None:
    folder = bank_with("hazards.yaml", "least: 2.7", "least: 2.7")
    (folder / "archetypes" / "all.yaml").unlink()
    assert "the banks hold no archetype" in reading(folder)


SPOILT: dict[str, tuple[bytes, str]] = {
    "empty": (b"", "the file is empty"),
    "only a comment": (b"# nothing\n", "the file is empty"),
    "not UTF-8": ("- {formula: HCl, name: chlorure d'hydrog\xe8ne}\n".encode("latin-1"), "is not UTF-8"),
    "UTF-16": ("- {formula: HCl}\n".encode("utf-16"), "is not UTF-8"),
    "three megabytes": (b"# " + b"x" * 3_000_000, "the file is too large"),
    "keys where a list belongs": (b"formula: HCl\n", "is not a list of entries"),
    "a text alone": (b"HCl\n", "is not a list of entries"),
    "deep nesting": (b"- " * 40 + b"x\n", "deeper than any entry needs"),
    "very deep nesting": (b"[" * 5000 + b"]" * 5000, ""),
    "a zero byte": (b"- {formula: H\x00Cl}\n", "cannot be read as YAML"),
    "two documents": (b"- {formula: HCl}\n---\n- {formula: HCl}\n", "cannot be read as YAML"),
    "an entry that is a text": (b"- HCl\n", "no keys here"),
    "a text without end": (b"- {formula: HCl, name: '" + b"x" * 5000 + b"'}\n", "a text of 5000 characters"),
}


@pytest.mark.parametrize("what", SPOILT)
def test_a_spoilt_file_is_told_by_name_and_never_a_traceback(what: str, bank_with: BankWith) -> None:
    content, words = SPOILT[what]
    folder = bank_with("hazards.yaml", "least: 2.7", "least: 2.7")
    (folder / "substances.yaml").write_bytes(content)
    said = reading(folder)
    assert words in said
    assert "substances.yaml" in said


def test_a_byte_order_mark_and_windows_line_ends_change_nothing(bank_with: BankWith, small_folder: Path) -> None:
    folder = bank_with("hazards.yaml", "least: 2.7", "least: 2.7")
    for path in folder.rglob("*.yaml"):
        text = path.read_text("utf-8")
        path.write_bytes(text.replace("\n", "\r\n").encode("utf-8-sig" if path.name == "materials.yaml" else "utf-8"))
    assert read_bank(folder).archetypes == read_bank(small_folder).archetypes


# ------------------------------------------------------------------ fingerprint


def test_the_fingerprint_does_not_depend_on_line_ends(tmp_path: Path) -> None:
    (tmp_path / "a").mkdir()
    (tmp_path / "b").mkdir()
    (tmp_path / "a" / "x.yaml").write_bytes(b"- one\n- two\n")
    (tmp_path / "b" / "x.yaml").write_bytes(b"- one\r\n- two\r\n")
    assert fingerprint(tmp_path / "a") == fingerprint(tmp_path / "b")
    assert len(fingerprint(tmp_path / "a")) == 8


@pytest.mark.parametrize("change", ["content", "name", "another file"])
def test_the_fingerprint_changes_with_any_file(tmp_path: Path, change: str) -> None:
    (tmp_path / "x.yaml").write_bytes(b"- one\n")
    before = fingerprint(tmp_path)
    if change == "content":
        (tmp_path / "x.yaml").write_bytes(b"- One\n")
    elif change == "name":
        (tmp_path / "x.yaml").rename(tmp_path / "y.yaml")
    else:
        (tmp_path / "z.yaml").write_bytes(b"")
    assert fingerprint(tmp_path) != before


def test_the_fingerprint_does_not_depend_on_the_place(tmp_path: Path) -> None:
    for folder in ("a", "b"):
        (tmp_path / folder / "deep").mkdir(parents=True)
        (tmp_path / folder / "deep" / "x.yaml").write_bytes(b"- one\n")
    assert fingerprint(tmp_path / "a") == fingerprint(tmp_path / "b")


# ------------------------------------------------------------------ without end


def test_a_file_of_entries_without_end_is_refused(bank_with: BankWith, small_folder: Path) -> None:
    more = "".join(f"- {{formula: Qq{number}, name: x}}\n" for number in range(10_000))
    folder = bank_with("substances.yaml", "- {formula: NaOH,", more + "- {formula: NaOH,")
    assert "expected at most 3000" in reading(folder)


def test_faults_without_end_are_told_as_far_as_they_are_read(bank_with: BankWith) -> None:
    more = "".join(f"- {{formula: Qq{number}, name: x}}\n" for number in range(2900))
    folder = bank_with("substances.yaml", "- {formula: NaOH,", more + "- {formula: NaOH,")
    with pytest.raises(Mistakes) as caught:
        read_bank(folder)
    assert len(caught.value.each) == MOST_FAULTS


@pytest.mark.skipif(not Path("/dev/zero").exists(), reason="no device without an end")
def test_what_is_no_file_is_left_out_of_the_fingerprint(tmp_path: Path) -> None:
    (tmp_path / "a.yaml").write_text("- {formula: HCl}\n")
    (tmp_path / "b.yaml").symlink_to("/dev/zero")
    (tmp_path / "c.yaml").symlink_to(tmp_path / "none")
    (tmp_path / "d.yaml").mkdir()
    os.mkfifo(tmp_path / "e.yaml")
    assert len(fingerprint(tmp_path)) == 8


def test_a_slip_whose_factor_has_no_source_is_left_out(bank_with: BankWith, tmp_path: Path) -> None:
    """In a sum there is no other end that a factor could lead from."""
    slip = "- {slip: S98, name: x, often: low, in: answer, instead: found / (factor - factor)}\n"
    folder = bank_with("slips.yaml", "- slip: S01", slip + "- slip: S01")
    bank = read_bank(folder)
    questions = Questions(bank, Plans("x", tmp_path))
    for archetype in bank.archetypes.values():
        made = questions.make(archetype, Stream(archetype.key))
        assert all("S98" not in [one.key for one in answer.slips] for answer in made.mistakes.every())


@pytest.mark.parametrize("change", ["capacity: -10.0 cm3", "capacity: 10.0 g"])
def test_apparatus_holds_something_of_its_kind(bank_with: BankWith, change: str, small_folder: Path) -> None:
    text = (small_folder / "apparatus.yaml").read_text("utf-8")
    line = next(line for line in text.splitlines() if "capacity: " in line and "pipette" in line)
    old = re.search(r"capacity: [0-9.]+ cm3", line)
    assert old is not None
    folder = bank_with("apparatus.yaml", line, line.replace(old[0], change))
    assert "expected more than nothing, in cm³" in reading(folder)
