"""Archetypes that are like another: what they take from it, what they may change, and how mistakes are told."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from molewright.bank.definitions import FURTHER_PARTS, Bank
from molewright.bank.readers.whole_bank import read_bank
from molewright.errors import Mistake
from molewright.further_parts.all_kinds import KINDS
from shared.for_each import for_each
from shared.quantities import q

LIKE = """
- key: small-direct-more
  like: small-direct
  title: The same with more
  topic: practical judgement
  demand: 4
"""


@pytest.fixture
def with_entry(small_folder: Path, tmp_path: Path) -> Callable[[str], Bank]:
    def read(lines: str) -> Bank:
        for path in small_folder.rglob("*.yaml"):
            copy = tmp_path / path.relative_to(small_folder)
            copy.parent.mkdir(parents=True, exist_ok=True)
            copy.write_bytes(path.read_bytes())
        (tmp_path / "archetypes" / "aaa-first.yaml").write_text(lines, "utf-8")
        return read_bank(tmp_path)

    return read


def test_an_entry_takes_what_it_does_not_state_from_its_model(with_entry: Callable[[str], Bank]) -> None:
    bank = with_entry(LIKE + "  and ask: [uncertainty]\n")
    model, made = bank.archetypes["small-direct"], bank.archetypes["small-direct-more"]
    assert made.variants == model.variants
    assert made.windows == model.windows
    assert made.runs == model.runs == "table"
    assert made.demand == 4
    assert (made.further_parts, made.calculated) == (("uncertainty",), True)


def test_an_entry_may_have_variants_of_its_own(with_entry: Callable[[str], Bank]) -> None:
    bank = with_entry(LIKE + "  ask: [titre of titrant]\n")
    made = bank.archetypes["small-direct-more"]
    assert [ask.quantity for ask in made.variants[0].asks] == [q("titre of NaOH")]
    assert len(bank.archetypes["small-direct"].variants[0].asks) == 3


def test_without_the_calculation_there_is_no_table_of_readings(with_entry: Callable[[str], Bank]) -> None:
    made = with_entry(LIKE + "  ask only: [fault]\n").archetypes["small-direct-more"]
    assert (made.further_parts, made.calculated, made.runs) == (("fault",), False, "mean")


@for_each(
    ("lines", "told"),
    [
        (LIKE.replace("like: small-direct", "like: small-derict"), "nearest: small-direct"),
        (LIKE + "  and ask: [uncertanty]\n", "nearest: uncertainty"),
        (LIKE + "  and ask: [fault, fault]\n", "asked for twice"),
        (LIKE + "  and ask: [fault]\n  ask only: [claim]\n", "both 'and ask' and 'ask only'"),
        (LIKE + "  and ask: [critique]\n", "would give away"),
        (LIKE.replace("small-direct-more", "small-direct"), "stands twice"),
        (LIKE + "  and aks: [fault]\n", "is not known here"),
    ],
)
def test_a_mistake_is_told_with_its_place(lines: str, told: str, with_entry: Callable[[str], Bank]) -> None:
    with pytest.raises(Mistake) as caught:
        with_entry(lines)
    assert told in str(caught.value)
    assert "aaa-first.yaml:" in str(caught.value)


def test_every_kind_of_further_part_has_its_maker() -> None:
    assert set(FURTHER_PARTS) == set(KINDS)


@pytest.mark.parametrize(
    ("file", "old", "new", "told"),
    [
        (
            "faults.yaml",
            "changes: {made-up volume: 0.99}",
            "changes: {mode-up volume: 0.99}",
            "nearest: made-up volume",
        ),
        ("faults.yaml", "needs: [several runs]", "needs: [several rusn]", "nearest: several runs"),
        ("faults.yaml", "changes: {rough titre: 0.80}", "changes: {rough titre: much}", "is not a number"),
        ("faults.yaml", "4H^+(aq) + 3e- ->", "4H^+(aq) + 2e- ->", "does not balance"),
        ("faults.yaml", "10Cl^-(aq) + 2MnO4", "8Cl^-(aq) + 2MnO4", "does not balance"),
        ("faults.yaml", "{reduced less: 0.10}", "{lost from flask: 0.10}", "do not go together"),
        ("faults.yaml", "{oxidised beside: 0.05}", "{lost from flask: 0.05}", "do not go together"),
        ("back_reasons.yaml", "analytes: [C9H8O4, HOOCC6H4OCOCH3]", "analytes: [C9H8O4, Xy3]", "back_reasons.yaml:"),
    ],
)
def test_a_mistake_in_faults_or_reasons_is_told_with_its_place(
    file: str, old: str, new: str, told: str, bank_with: Callable[..., Path]
) -> None:
    with pytest.raises(Mistake) as caught:
        read_bank(bank_with(file, old, new))
    assert told in str(caught.value)
    assert f"{file}:" in str(caught.value)
