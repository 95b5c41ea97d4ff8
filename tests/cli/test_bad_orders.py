"""Orders and options that cannot be: a sentence that says where and what, no file, and never a fault of ours."""

from __future__ import annotations

from pathlib import Path

import pytest

from molewright.cli import main

ORDERS = {
    "kinds: [back-hole]\n": "x.order.yaml:1: kinds: no archetype 'back-hole' in the banks",
    "questions: 2\ntopics: [redox titration, cookery]\n": "x.order.yaml:2: topics: no archetype 'cookery' in the banks",
    "topics: [back]\n": "x.order.yaml:1: topics: 'back' could be 2 topics",
    "lines:\n  - topic: cookery\n": "x.order.yaml:2: line, topic: no archetype 'cookery'",
    "lines: ["
    + "{kind: back-whole}, " * 10_000
    + "]\n": "x.order.yaml:1: lines: 10000 entries under 'lines'; expected at most 40",
    "lines:\n  - kind: back-whole\n    numbers: {titre: 90 cm3}\n": "x.order.yaml:2: line, numbers, titre: a titre of 90",
    "lines:\n  - kind: back-whole\n    numbers: {titre: -4 cm3}\n": "x.order.yaml:2: line, numbers, titre: -4 cm3",
    "lines:\n  - kind: back-whole\n    numbers: {titre: 4 g}\n": "x.order.yaml:2: line, numbers, titre: 4 g for the titre",
    "lines:\n  - kind: direct-expected-titre\n    numbers: {purity: 130 %}\n": "x.order.yaml:2: line, numbers, purity:",
    "lines:\n  - kind: back-whole\n    roles: {reagent: milk}\n": "x.order.yaml:2: line, roles: 'milk' is not among",
    "lines:\n  - kind: back-whole\n    scene: moon\n": "x.order.yaml:2: line, scene: the kind 'back-whole' is not set",
    "lines:\n  - kind: back-whole\n    indicator: beetroot\n": "x.order.yaml:2: line, indicator: the indicator 'beetroot'",
    "level: [exam, easy]\n": "x.order.yaml:1: level: 'easy' is not one of the levels",
    "marks: 3\nquestions: 9\n": "no paper of 3 marks in 9 questions",
    "front: {school: \u05d0}\nquestions: 1\n": "order: front: the character U+05D0",
    "class list: names.csv\n": "x.order.yaml:1: class list: the key 'class list' is not known here",
    "title: !!python/name:os.system x\n": "x.order.yaml:1: a tag",
}
OPTIONS = {
    ("--questions", "10000"): "10000 questions; expected 1 to 40",
    ("--level", "easy"): "command line: --level: the level 'easy'",
    ("--numbers", "shared"): "command line: --numbers: 'shared' for numbers, and no class",
    (
        "--class-list",
        "names.csv",
        "--versions",
        "AB",
    ): "command line: --versions: versions, and numbers of each pupil's own",
    (
        "--class-list",
        "twice.csv",
    ): "twice.csv:2: 'Ada Holm' stands here and on line 1; expected pupils that can be told apart",
    ("--class-list", "levels.csv"): "levels.csv:2: the level 'easy'",
    (
        "--class-list",
        "levels-not-made.csv",
        "--level",
        "exam,scaffolded",
    ): "class list: Bram Tollo has the level stretch",
    ("--marks", "40", "--code", "A-7KQ2-M4XR"): "command line: --code: a code together with",
    ("x.order.yaml", "--seed", "4"): "command line: 'x.order.yaml' together with --seed",
    ("--not-again", "rubbish"): "there is no paper in rubbish",
    ("back-hole",): "no archetype 'back-hole' in the banks",
}


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Where we are: class lists, and a folder of a hundred files of rubbish."""
    monkeypatch.chdir(tmp_path)
    for name, text in (
        ("names.csv", "Ada Holm\nBram Tollo\n"),
        ("twice.csv", "Ada Holm\nAda Holm\n"),
        ("levels.csv", "name,level\nAda Holm,easy\n"),
        ("levels-not-made.csv", "name,level\nAda Holm,exam\nBram Tollo,stretch\n"),
    ):
        (tmp_path / name).write_text(text, "utf-8")
    (tmp_path / "rubbish").mkdir()
    for number in range(100):
        (tmp_path / "rubbish" / f"{number}.order.yaml").write_bytes(bytes([number, 200, 7, 10, number]))
    return tmp_path


def told(arguments: tuple[str, ...], folder: Path, capsys: pytest.CaptureFixture[str]) -> str:
    assert main(["paper", *arguments, "--to", "papers"]) == 1
    assert not (folder / "papers").exists()
    return capsys.readouterr().err


@pytest.mark.parametrize("text", ORDERS, ids=lambda text: text[:40].replace("\n", " "))
def test_an_order_that_cannot_be_is_told_with_its_place(
    text: str, folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (folder / "x.order.yaml").write_text(text, "utf-8")
    assert ORDERS[text] in told(("x.order.yaml",), folder, capsys)


@pytest.mark.parametrize("options", OPTIONS, ids=" ".join)
def test_options_that_cannot_be_are_told(
    options: tuple[str, ...], folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert OPTIONS[options] in told(options, folder, capsys)


def test_several_names_that_the_banks_do_not_hold_are_told_at_once(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (folder / "x.order.yaml").write_text("kinds: [back-hole, blech]\nlines:\n  - topic: cookery\n", "utf-8")
    assert len(told(("x.order.yaml",), folder, capsys).splitlines()) == 3
