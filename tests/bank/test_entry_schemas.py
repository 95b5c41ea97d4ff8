"""The schemas for editors: every file of the banks and every experiment of the tests fits, and a wrong key does not."""

from __future__ import annotations

import json
import re
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
import yaml

from molewright.bank.readers.folders import NEEDED, OPTIONAL
from molewright.bank.readers.operations import WORDS
from molewright.bank.readers.teachers_words import ALSO_CALLED
from molewright.experiment.tellings import ON_PAPER
from molewright.machine import places
from shared.for_each import for_each

if TYPE_CHECKING:
    from jsonschema import Draft202012Validator

BANKS = places.banks()
SCHEMAS = places.templates() / "schemas"
EXPERIMENTS = sorted((Path(__file__).parents[1] / "reference" / "worked_examples").rglob("*.yaml"))
FILES = [BANKS / name for name in (*NEEDED, *OPTIONAL) if (BANKS / name).exists()]
KINDS = sorted((BANKS / "archetypes").glob("*.yaml"))


@cache
def schema(name: str) -> Draft202012Validator:
    from jsonschema import Draft202012Validator  # late: it takes longer to import than all else that tests collect

    held = json.loads((SCHEMAS / f"{name}.schema.json").read_text("utf-8"))
    Draft202012Validator.check_schema(held)
    return Draft202012Validator(held)


def held_of(text: str) -> list[Any]:
    """A text as each of two readers of YAML has it: every value a text; numbers and truths made of some."""
    loaders: list[Any] = [yaml.CBaseLoader, yaml.CSafeLoader]
    return [json.loads(json.dumps(yaml.load(text, Loader=loader), default=str)) for loader in loaders]


def faults(name: str, text: str) -> list[str]:
    return [
        f"{list(one.path)}: {one.message[:200]}" for held in held_of(text) for one in schema(name).iter_errors(held)
    ]


def test_every_experiment_of_the_tests_fits() -> None:
    assert {path.name: faults("experiment", path.read_text("utf-8")) for path in EXPERIMENTS} == {
        path.name: [] for path in EXPERIMENTS
    }


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name)
def test_every_file_of_the_banks_fits(path: Path) -> None:
    assert faults(f"entries/{path.stem}", path.read_text("utf-8")) == []


@pytest.mark.parametrize("path", KINDS, ids=lambda path: path.name)
def test_every_kind_of_question_fits(path: Path) -> None:
    assert faults("entries/archetypes", path.read_text("utf-8")) == []


def test_the_entries_of_the_guide_fit() -> None:
    guide = (BANKS / "README.md").read_text("utf-8")
    told = re.findall(r"in `my-entries/([\w./-]+)\.yaml`.*?```yaml\n(.*?)```", guide, re.DOTALL)
    assert len(told) == 6
    for name, text in told:
        assert faults(f"entries/{name.partition('/')[0]}", text) == []


def test_each_file_that_entries_may_stand_in_has_a_schema() -> None:
    named = {path.name.removesuffix(".schema.json") for path in (SCHEMAS / "entries").iterdir()}
    assert named == {*(Path(name).stem for name in (*NEEDED, *OPTIONAL)), "archetypes"}


def test_the_schema_names_the_operations_and_keys_of_the_reader() -> None:
    for name in ("experiment", "entries/archetypes"):
        procedure = schema(name).schema["$defs"]["procedure"]
        short, long = procedure["items"]["anyOf"]
        words = (*WORDS, *ALSO_CALLED) if name == "experiment" else WORDS
        assert (tuple(short["enum"]), tuple(long["properties"])) == (words, words)
    assert set(ON_PAPER) <= set(schema("experiment").schema["$defs"]["experiment"]["properties"])


STONE = """experiment: Stone
procedure:
  - weigh: {sample: stone, contains: CaCO3, mass: 1.264 g}
  - titrate: {with: HCl, concentration: 0.100 mol dm-3, titre: 24.80 cm3}
asked: percentage of CaCO3 in stone
"""
WRONG = {
    "an operation that is none": ("weigh:", "wigh:"),
    "a key of no operation": ("mass:", "maß:"),
    "a key that belongs to another": ("titre:", "sample:"),
    "nothing asked": ("asked:", "question:"),
    "two operations in one": ("  - titrate:", "    titrate:"),
    "keys where a text belongs": ("1.264 g", "{of: 1.264 g}"),
    "another convention": ("experiment: Stone", "relative atomic masses: three places"),
}


@for_each("fault", WRONG)
def test_a_wrong_experiment_does_not_fit(fault: str) -> None:
    assert faults("experiment", STONE) == []
    old, new = WRONG[fault]
    assert faults("experiment", STONE.replace(old, new))


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("substances", "- {formula: HCl, nmae: acid}"),
        ("contexts", "- {key: a-lab, serves: [HCl], opening: In a lab.}"),
        ("materials", "- {name: chalk, analyte: CaCO3, low: 1, high: 2, source: mine, colour: white}"),
        ("archetypes", "- {key: mine, title: Mine}"),
        ("archetypes", "- {key: mine, like: other, procedure: [{wigh: {}}]}"),
    ],
)
def test_a_wrong_entry_does_not_fit(name: str, text: str) -> None:
    assert faults(f"entries/{name}", text)
