"""An entry with several faults is mended once: all that is wrong is told in one reading, and nothing that follows from one."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from molewright.bank.readers.entries import read_indicator, read_material, read_substance
from molewright.bank.readers.whole_bank import read_bank
from molewright.errors import Mistake
from molewright.reading.fields import Fields
from molewright.reading.yaml_text import parse_tree
from shared.for_each import for_each

ENTRIES: dict[str, tuple[Callable[[Fields], object], str, tuple[str, ...]]] = {
    "all keys of a material": (
        read_material,
        "name: pond lime\nanalyte: Xx2\nlow: many\nhigh: few\nsolid: perhaps\n",
        ("the key 'source' is missing", "2: analyte", "3: low", "4: high", "5: solid"),
    ),
    "two keys that are not there": (
        read_indicator,
        "name: litmus\nacid colour: red\n",
        ("the key 'base colour' is missing", "the key 'source' is missing"),
    ),
    "a formula and a count": (
        read_substance,
        "formula: 2\nname: ''\ngives: 1 Sn2+\n",
        ("1: formula", "2: name", "3: gives: 'Sn2+' can be read in two ways"),
    ),
    "keys that are not known": (
        read_substance,
        "formula: HCl\nname: acid\nsolutoin: acid\nvolatile: often\nnmae: acid\n",
        ("3: solutoin", "4: volatile", "5: nmae"),
    ),
    "one fault": (read_substance, "formula: HCl\nname: acid\nsolutoin: acid\n", ("3: solutoin",)),
}


@for_each("what", ENTRIES)
def test_every_key_of_an_entry_that_is_wrong_is_told_in_one_reading(what: str) -> None:
    make, text, said = ENTRIES[what]
    with pytest.raises(Mistake) as caught:
        Fields(parse_tree(text, "mine.yaml"), gathers=True).made(make)
    lines = str(caught.value).splitlines()
    assert len(lines) == len(said), lines
    assert [words in line for words, line in zip(said, lines, strict=True)] == [True] * len(said), lines


def test_what_only_follows_from_a_fault_is_not_told() -> None:
    def make(fields: Fields) -> object:
        low, high = fields.decimal("low"), fields.decimal("high")
        if low > high:
            raise Mistake("low above high")
        return low

    with pytest.raises(Mistake, match=r"mine\.yaml:2: high: .* is not a number$|is not a number; expected") as caught:
        Fields(parse_tree("low: 7\nhigh: seven\n", "mine.yaml"), gathers=True).made(make)
    assert "above" not in str(caught.value)
    with pytest.raises(Mistake, match="low above high"):
        Fields(parse_tree("low: 7\nhigh: 6\n", "mine.yaml"), gathers=True).made(make)


def test_a_fault_that_is_not_gathered_is_raised_at_once() -> None:
    with pytest.raises(Mistake, match="'low' is missing"):
        Fields(parse_tree("high: seven\n", "mine.yaml")).decimal("low")


KIND = """\
- key: my-acid
  title: An acid
  topic: direct titration
  demand: 12
  runs: often
  variants:
    - {analyte: HCl, titrant: NaOH}
    - {analyte: HNO3, titrant: NaHO}
    - {analyte: Nonsense, titrant: NaOH}
  procedure:
    - measure: {solution: analyte, concentration: fit 0.0600 to 0.140 mol dm-3 by 0.0005, volume: 25.0 cm3, into: portion}
    - titrate: {with: titrant, concentration: 0.0900 to 0.115 mol dm-3 by 0.0005}
  titre: 18 to 32 cm3
  ask: [concentration of analyt, mass concentration of analyte, concentration of nothing]
"""


@pytest.mark.thorough
def test_a_kind_of_question_is_mended_once(tmp_path: Path) -> None:
    (tmp_path / "archetypes").mkdir()
    (tmp_path / "archetypes" / "mine.yaml").write_text(KIND, "utf-8")
    with pytest.raises(Mistake) as caught:
        read_bank(own=(tmp_path,))
    lines = str(caught.value).splitlines()
    for words in ("mine.yaml:4: my-acid, demand", "mine.yaml:5: my-acid, runs", "the key 'source' is missing",
                  "'concentration of analyt'", "'concentration of nothing'", "NaHO", "Nonsense"):  # fmt: skip
        assert sum(words in line for line in lines) == 1, (words, lines)
