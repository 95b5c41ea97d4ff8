"""Whoever's archetype is always refused is told what to do by the rule that refused it."""

from __future__ import annotations

import ast
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

import molewright
from molewright.bank.definitions import FURTHER_PARTS
from molewright.bank.readers.whole_bank import read_bank
from molewright.derivation.plans import Plans
from molewright.draw.stream import Stream
from molewright.errors import Mistake
from molewright.plausibility.remedies import REMEDIES, remedy
from molewright.question.check import Questions

PACKAGE = Path(molewright.__file__).resolve().parent
FURTHER = PACKAGE / "further_parts"
VERDICTS = ("rules", "added", "redox", "precipitation", "edta")  # modules that give a rule and its reason as two texts


def rules(path: Path, calls: tuple[str, ...] = ("Refusal", "BenchFault")) -> Iterator[str]:
    """The names of rules in the source: the first argument of a refusal, the first of two texts of a verdict."""
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in calls:
            firsts = node.args[:1]
        elif (
            path.parent.name == "plausibility"
            and path.stem in VERDICTS
            and isinstance(node, ast.Return | ast.Yield)
            and isinstance(node.value, ast.Tuple)
        ):
            firsts = node.value.elts[:1]
        else:
            continue
        for one in ast.walk(firsts[0]):
            if isinstance(one, ast.Constant) and one.value and one.value != "H2SO4":
                yield str(one.value)


@pytest.mark.thorough
def test_every_rule_has_its_remedy() -> None:
    found = {rule for path in PACKAGE.rglob("*.py") if FURTHER not in path.parents for rule in rules(path)}
    assert {"window", "knife edge", "indicator", "reagent in excess", "buffer", "salt"} <= found
    assert {rule for rule in found if rule not in REMEDIES} == set()


def test_every_rule_of_a_further_part_says_to_leave_it_out() -> None:
    # what the bench does not allow there is refused by the part that asked for it, under the part's own name
    found = {rule for path in FURTHER.rglob("*.py") for rule in rules(path, ("Refusal",))}
    assert found >= {"planning", "graph", "uncertainty"}
    assert {rule for rule in found - set(REMEDIES) if "further part" not in remedy(rule)} == set()
    assert not set(FURTHER_PARTS) & (set(REMEDIES) - {"indicator"})


def test_where_the_window_refuses_the_titres_at_both_ends_are_told(bank_with: Callable[..., Path]) -> None:
    """25.0 cm³ of 1.0 to 2.0 mol dm⁻³ acid against 0.085 to 0.125 mol dm⁻³ alkali: 200 cm³ at the very least."""
    folder = bank_with("archetypes/all.yaml", "fit 0.0800 to 0.130 mol", "fit 1.0000 to 2.0000 mol")
    bank = read_bank(folder)
    with pytest.raises(Mistake) as caught:
        Questions(bank, Plans("x", None)).make(bank.archetypes["small-direct"], Stream("far"))
    told = str(caught.value)
    assert "archetypes/all.yaml:1: small-direct: the archetype" in told
    assert "at its low end and" in told
    assert "range marked 'fit'" in told
