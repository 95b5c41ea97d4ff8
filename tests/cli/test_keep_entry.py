"""`molewright solve --as-entry`: an experiment becomes a kind of question of one's own, which `check` passes and `paper` draws."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from molewright.cli import main

EXPERIMENTS = {
    "stone": """experiment: Stone from the hill
opening: Miri brought a stone from the hill.
procedure:
  - weigh: {sample: hill stone, contains: CaCO3, mass: 1.264 g}
  - add excess: {solution: HCl, volume: 50.0 cm3, concentration: 1.00 mol dm-3}
  - react: CaCO3 + 2HCl -> CaCl2 + CO2 + H2O
  - make up: 250 cm3
  - take aliquot: 25.0 cm3
  - titrate: {with: NaOH, concentration: 0.105 mol dm-3, readings: [rough 0.00 to 25.40, 0.00 to 24.75, 0.50 to 25.35]}
asked: percentage of CaCO3 in hill stone
moves: {mass of hill stone: 1.10 to 1.40 g by 0.001}
""",
    "wire": """experiment: Rusty wire
words: |
  A wire of {mass of wire} was dissolved in dilute sulfuric acid and made up to {made-up volume}.
  A portion of {volume of aliquot} took {titre of K2Cr2O7} of {concentration of K2Cr2O7} potassium dichromate(VI).
task: What percentage of the wire is iron?
procedure:
  - weigh: {sample: wire, contains: Fe, mass: 1.340 g}
  - add excess: H2SO4
  - react: Fe + H2SO4 -> FeSO4 + H2
  - make up: 250 cm3
  - take aliquot: 25.0 cm3
  - titrate: {with: K2Cr2O7, concentration: 0.0175 mol dm-3, titre: 21.80 cm3}
  - react: Cr2O72- + 14H+ + 6Fe2+ -> 2Cr3+ + 6Fe3+ + 7H2O
asked: percentage of iron in wire
""",
    "ointment": """experiment: Zinc in a cream
procedure:
  - weigh: {sample: cream for babies, contains: ZnO, mass: 1.500 g}
  - dissolve: dilute hydrochloric acid
  - add: a buffer of pH 10
  - titrate: {with: EDTA, concentration: 0.0500 mol dm-3, titre: 24.60 cm3, indicator: Eriochrome Black T}
asked: percentage of ZnO in cream for babies
""",
    "chloride": """experiment: Iron chloride
procedure:
  - weigh: {sample: iron chloride, contains: FeClx, mass: 0.406 g}
  - make up: 250 cm3
  - take aliquot: 25.0 cm3
  - titrate: {with: AgNO3, concentration: 0.0500 mol dm-3, titre: 15.00 cm3, indicator: potassium chromate}
asked: x
""",
    "crystals": """experiment: Crystals
procedure:
  - weigh: {sample: washing soda, contains: Na2CO3.xH2O, mass: 3.58 g, pure: yes}
  - make up: 250 cm3
  - take aliquot: 25.0 cm3
  - titrate: {with: HCl, concentration: 0.100 mol dm-3, titre: 25.00 cm3}
asked: water in Na2CO3.xH2O
""",
    "vinegar": """experiment: Vinegar
procedure:
  - measure: {solution: CH3COOH, bottle: vinegar, volume: 25.0 cm3}
  - make up: 250 cm3
  - take aliquot: 25.0 cm3
  - titrate: {with: NaOH, concentration: 0.100 mol dm-3, titre: 21.40 cm3}
asked: mass concentration of vinegar
""",
}
Said = tuple[int, str, str]


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Callable[..., Said]:
    """Run a command in a folder that holds the experiments; its exit code and what it said."""
    monkeypatch.chdir(tmp_path)
    for name, text in EXPERIMENTS.items():
        (tmp_path / f"{name}.yaml").write_text(text, "utf-8")

    def command(*arguments: str) -> Said:
        code = main(arguments)
        out, err = capsys.readouterr()
        return code, out.replace("\N{NO-BREAK SPACE}", " "), err

    return command


def test_what_is_kept_is_checked_and_drawn(run: Callable[..., Said]) -> None:
    files = [f"{name}.yaml" for name in EXPERIMENTS]
    code, out, err = run("solve", *files, "--as-entry", "my-entries")
    assert (code, err) == (0, ""), err
    assert out.splitlines()[-2:] == ["molewright check my-entries", "molewright paper vinegar --entries my-entries"]
    code, out, err = run("check", "my-entries", "--draws", "10")
    assert (code, err) == (0, ""), err
    assert "every entry is sound" in out
    keys = ("stone-from-the-hill", "rusty-wire", "zinc-in-a-cream", "iron-chloride", "crystals", "vinegar")
    code, _, err = run(
        "paper",
        *keys,
        "--entries",
        "my-entries",
        "--form",
        "text",
        "--seed",
        "3",
        "--level",
        "exam",
        "--telling",
        "prose",
    )
    assert (code, err) == (0, ""), err
    (paper,) = Path("out").glob("*-questions.txt")
    page = " ".join(paper.read_text("utf-8").split())
    assert "Miri brought a stone from the hill." in page
    assert "the vinegar" in page
    assert "was dissolved in dilute sulfuric acid and made up to 250 cm³" in page  # in the teacher's own words
    assert "What percentage of the wire is iron?" in page
    assert "value of x in FeClx" in page
    (scheme,) = Path("out").glob("*-mark-scheme.txt")
    assert "x = " in scheme.read_text("utf-8")


def test_the_file_says_what_may_be_changed_and_keeps_the_teachers_ranges(run: Callable[..., Said]) -> None:
    assert run("solve", "stone.yaml", "--as-entry", "my-entries")[0] == 0
    text = Path("my-entries/archetypes/stone-from-the-hill.yaml").read_text("utf-8")
    assert "mass: fit 1.10 to 1.40 g by 0.001" in text
    assert "banks/README.md" in text
    assert "# 1, easy, to 9" in text
    assert "titre: 24" not in text
    assert "readings: [" not in text


def test_what_is_there_is_added_to_and_a_kind_is_replaced_only_where_that_is_asked_for(
    run: Callable[..., Said],
) -> None:
    scene = "# mine\n- key: a-lab\n  serves: [HCl]\n  opening: In the laboratory stands a bottle.\n  sample: the acid"
    Path("my-entries").mkdir()
    Path("my-entries/contexts.yaml").write_text(scene, "utf-8")
    code, out, _ = run("solve", "vinegar.yaml", "--as-entry", "my-entries")
    assert code == 0
    assert "contexts.yaml (added to)" in out
    assert Path("my-entries/contexts.yaml").read_text("utf-8").startswith(f"{scene}\n- key: vinegar")
    Path("vinegar.yaml").write_text(EXPERIMENTS["vinegar"].replace("21.40", "23.40"), "utf-8")
    before = {path: path.read_bytes() for path in Path("my-entries").rglob("*.yaml")}
    code, _, err = run("solve", "vinegar.yaml", "--as-entry", "my-entries")
    assert code == 1
    assert "vinegar.yaml: this file is there already. Say --replace" in err
    assert before == {path: path.read_bytes() for path in Path("my-entries").rglob("*.yaml")}
    code, out, _ = run("solve", "vinegar.yaml", "--as-entry", "my-entries", "--replace")
    assert code == 0
    assert "vinegar.yaml (replaced)" in out
    assert Path("my-entries/contexts.yaml").read_text("utf-8").count("key: vinegar") == 1


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("volume: 25.0 cm3}", "volume: 23.7 cm3}", "no pipette of the banks measures 23.7 cm³"),
        ("CH3COOH", "C9H11NO2", "the banks do not hold C9H11NO2"),
        ("concentration: 0.100 mol dm-3", "concentration: 0.00100 mol dm-3", "can be kept as no entry"),
    ],
)
def test_what_no_entry_could_say_is_told_and_nothing_is_written(
    old: str, new: str, said: str, run: Callable[..., Said]
) -> None:
    text = EXPERIMENTS["vinegar"].replace(old, new)
    if "C9H11NO2" in text:
        text = text.replace("titre: 21.40 cm3", "titre: 21.40 cm3, reaction: C9H11NO2 + NaOH -> NaC9H10NO2 + H2O")
    Path("vinegar.yaml").write_text(text, "utf-8")
    code, _, err = run("solve", "vinegar.yaml", "--as-entry", "my-entries")
    assert code == 1
    assert said in err.replace("\N{NO-BREAK SPACE}", " ")
    assert not Path("my-entries").exists()
