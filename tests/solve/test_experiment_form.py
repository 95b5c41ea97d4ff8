"""The form of an experiment and its YAML say the same, whichever was written first."""

from __future__ import annotations

from pathlib import Path

from molewright.bank.definitions import Bank
from molewright.bank.readers.operations import READERS
from molewright.errors import Where
from molewright.solve.described import described
from molewright.solve.experiment_form import USUALLY_TOLD, as_yaml, from_yaml
from shared.for_each import for_each
from test_map import TESTS

EXAMPLES = sorted((TESTS / "reference" / "worked_examples").glob("*.yaml"))


def sense(text: str, bank: Bank) -> tuple[object, ...]:
    """What a description means: what is done, what is given, what is asked."""
    found = described(text, Where("here"), bank)
    return found.described.procedure, found.given, found.ask, found.masses, found.title


@for_each("path", EXAMPLES)
def test_what_a_form_shows_means_what_the_yaml_means(path: Path, bank: Bank) -> None:
    text = path.read_text("utf-8")
    assert sense(as_yaml(from_yaml(text)), bank) == sense(text, bank)


@for_each("taken", ["take: 25.0 cm3", "pipette: 25.0 cm3", "measure: 25.0 cm3", "take aliquot: 25.0 cm3"])
def test_a_form_knows_the_words_of_a_classroom(taken: str, bank: Bank) -> None:
    text = f"""
procedure:
  - pipette: {{solution: HCl, volume: 20.0 cm3}}
  - dilute: 250 cm3
  - {taken}
  - titrate: {{with: NaOH, concentration: 0.105 mol dm-3, titre: 24.80 cm3}}
asked: concentration of HCl
"""
    form = from_yaml(text)
    assert [one.word for one in form.operations] == ["measure", "make up", "take aliquot", "titrate"]
    assert sense(as_yaml(form), bank) == sense(text, bank)


def test_every_operation_has_fields() -> None:
    assert list(USUALLY_TOLD) == list(READERS)
