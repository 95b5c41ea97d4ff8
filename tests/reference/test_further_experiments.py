"""Published worked examples in the words of a teacher: each is solved as it stands, and nobody says what a substance gives.

further_experiments.json holds the answer of each as printed, with its source; where the source differs, what is right and why. The
older collection is solved here once more with everything left out that the banks know by themselves.
"""

from __future__ import annotations

import json
import re
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from molewright.bank.definitions import Bank
from molewright.bank.readers.described import Chemicals
from molewright.bank.readers.described_experiment import build_experiment
from molewright.chem.quantity import half_up
from molewright.derivation.plans import Plans
from molewright.derivation.worked import base_factor
from molewright.reading.yaml_text import Keys, Listing, Scalar, parse_tree
from molewright.solve.chemicals import chemicals_of
from molewright.solve.described import solve
from shared.for_each import for_each

HERE = Path(__file__).parent
ROWS: dict[str, dict[str, Any]] = json.loads((HERE / "further_experiments.json").read_text("utf-8"))
FILE = HERE / "further_experiments.yaml"
OLDER = sorted((HERE / "worked_examples").glob("*.yaml"))
# What a substance is counted as is a choice of theirs, which no equation tells: an acid by its protons, a fat by its acid value.
MUST_SAY = {
    "acid-value-factor",
    "palacky-3-3-tetroxalate",
    "talbot-14-tetroxalate-carbonate",
    "talbot-26-direct-reading-normality",
    "talbot-52-tetroxalate-as-acid",
}


@pytest.fixture(scope="module")
def chemicals(bank: Bank) -> Chemicals:
    return chemicals_of(bank)


def _each() -> dict[str, Keys]:
    tree = parse_tree(FILE.read_text("utf-8"), FILE.name)
    assert isinstance(tree, Listing)
    found = {}
    for member in tree.members:
        assert isinstance(member, Keys)
        name = member.members["experiment"]
        assert isinstance(name, Scalar)
        found[name.text] = member
    return found


def _answer(tree: Any, chemicals: Chemicals, plans: Plans) -> Fraction:
    worked = solve(build_experiment(tree, chemicals), plans)
    return worked.exact * base_factor(worked.answer)


def test_every_example_has_its_published_answer() -> None:
    assert _each().keys() == ROWS.keys()
    for name, row in ROWS.items():
        assert row["source"], name
        assert ("right" in row) == ("why" in row) == (row["verdict"] != "agrees"), name


@for_each("name", ROWS)
def test_published_example_is_solved_as_a_teacher_writes_it(name: str, chemicals: Chemicals, plans: Plans) -> None:
    row = ROWS[name]
    printed = row.get("right", row["printed"])
    exact = _answer(_each()[name], chemicals, plans) * Fraction(row.get("times", 1))
    places = max(0, -int(Decimal(printed).as_tuple().exponent))
    assert half_up(exact, places) == Decimal(printed)


@for_each("path", OLDER, names=[path.stem for path in OLDER], shares=2)
def test_nobody_need_say_what_a_substance_gives(path: Path, chemicals: Chemicals, plans: Plans) -> None:
    text = path.read_text("utf-8")
    bare = re.sub(r",? ?\bgives: (\[[^\]]*\]|[^,}\n]+)", "", text)
    bare = re.sub(r"\n +(?=\n)", "", bare)
    if path.stem in MUST_SAY:
        assert bare != text
        return
    exact = _answer(parse_tree(text, path.name), chemicals, plans)
    assert _answer(parse_tree(bare, path.name), chemicals, plans) == exact
