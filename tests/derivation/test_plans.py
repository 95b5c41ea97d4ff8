"""Plans kept between runs: shared by shape, and never worth more than planning anew."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from molewright.bank.algebra import ROOT
from molewright.derivation import plans as module
from molewright.derivation.derive import Plan, plan
from molewright.derivation.plans import Plans, shape
from molewright.experiment.relations.relating import relate
from molewright.experiment.relations.variables import System
from shared.quantities import q

ASKED = q("percentage of CaCO3 in limestone")


def find(plans: Plans, limestone: tuple[System, tuple[str, ...]]) -> Plan:
    system, known = limestone
    return plans.find(system, known, ASKED)


@pytest.fixture
def limestone(all_by_hand: Any, describe: Any) -> tuple[System, tuple[str, ...]]:
    """A system and what is given in it."""
    example = all_by_hand["limestone in portions"]
    known = (*(name for name in example.values if name != ASKED), q("titre of NaOH"))
    return relate(describe(example.lines)), known


@pytest.fixture
def counted(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """What was planned with sympy."""
    made: list[str] = []

    def counting(system: System, given: Any, asked: str) -> Plan:
        made.append(asked)
        return plan(system, given, asked)

    monkeypatch.setattr(module, "plan", counting)
    return made


def test_a_plan_is_made_once_in_a_process(limestone: Any, counted: list[str]) -> None:
    plans = Plans("bank", None)
    assert find(plans, limestone) == find(plans, limestone)
    assert counted == [ASKED]


def test_a_kept_plan_is_the_plan_that_was_made(limestone: Any, counted: list[str], tmp_path: Path) -> None:
    first = Plans("bank", tmp_path / "not" / "there")
    made = find(first, limestone)
    first.keep()
    assert find(Plans("bank", tmp_path / "not" / "there"), limestone) == made
    assert counted == [ASKED]
    assert [path.name for path in (tmp_path / "not" / "there").iterdir()] == ["plans-bank.json"]


def test_what_was_only_read_is_not_written_again(limestone: Any, tmp_path: Path) -> None:
    first = Plans("bank", tmp_path)
    find(first, limestone)
    first.keep()
    kept = (tmp_path / "plans-bank.json").stat().st_mtime_ns
    again = Plans("bank", tmp_path)
    find(again, limestone)
    again.keep()
    assert (tmp_path / "plans-bank.json").stat().st_mtime_ns == kept


def test_a_plan_that_the_package_carries_is_not_made_again_and_not_kept_again(
    limestone: Any, counted: list[str], tmp_path: Path
) -> None:
    first = Plans("bank", None)
    made = find(first, limestone)
    (tmp_path / "plans.json").write_bytes(first.content())
    carried = Plans("bank of another day", tmp_path / "kept", tmp_path / "plans.json")
    assert find(carried, limestone) == find(carried, limestone) == made
    carried.keep()
    assert not (tmp_path / "kept").exists()
    assert counted == [ASKED]


def test_a_carried_plan_that_is_wrong_is_made_anew(limestone: Any, counted: list[str], tmp_path: Path) -> None:
    first = Plans("bank", None)
    made = find(first, limestone)
    ((key, right),) = json.loads(first.content()).items()
    wrong = [right[0], ["*", ["number", 9, 10], right[1]]]
    kept, carried = tmp_path / "plans-bank.json", tmp_path / "plans.json"
    kept.write_text(json.dumps({key: wrong}), "utf-8")
    carried.write_text(json.dumps({key: right}), "utf-8")
    both = Plans("bank", tmp_path, carried)
    assert find(both, limestone) == find(both, limestone) == made
    assert counted == [ASKED]
    carried.write_text(json.dumps({key: wrong}), "utf-8")
    assert find(Plans("bank", tmp_path, carried), limestone) == made
    assert counted == [ASKED, ASKED]


def test_what_proved_wrong_is_not_looked_up_again(limestone: Any, counted: list[str], tmp_path: Path) -> None:
    first = Plans("bank", None)
    find(first, limestone)
    (tmp_path / "plans.json").write_bytes(first.content())
    carried = Plans("bank", None, tmp_path / "plans.json")
    find(carried, limestone)
    assert carried.start_anew()
    find(carried, limestone)
    assert counted == [ASKED, ASKED]


@pytest.mark.parametrize(
    "damage",
    [b"", b"{", b"[1, 2]", b"null", b"\xff\xfe", b'{"0": 1}', b"\x00" * 100, b"[" * 200_000, b'{"\\ud800": 1}'],
    ids=["empty", "cut short", "a list", "null", "not UTF-8", "other keys", "zeros", "deep nesting", "half a letter"],
)
def test_a_damaged_file_is_planned_anew(limestone: Any, counted: list[str], tmp_path: Path, damage: bytes) -> None:
    (tmp_path / "plans-bank.json").write_bytes(damage)
    plans = Plans("bank", tmp_path)
    assert find(plans, limestone).asked == ASKED
    assert counted == [ASKED]
    plans.keep()
    assert find(Plans("bank", tmp_path), limestone).asked == ASKED
    assert counted == [ASKED]


@pytest.mark.parametrize(
    "entry", [None, [], [[]], [[[999, 0, None]], ["quantity", 0]], [[[0]], ["quantity", 0]], "text", 7]
)
def test_a_damaged_entry_is_planned_anew(limestone: Any, counted: list[str], tmp_path: Path, entry: Any) -> None:
    system, known = limestone
    key = shape(system, known, ASKED)
    (tmp_path / "plans-bank.json").write_text(json.dumps({key: entry}), "utf-8")
    found = find(Plans("bank", tmp_path), limestone)
    assert found.steps[-1].target == ASKED
    assert counted == [ASKED]


SPOILT: dict[str, Callable[[list[Any]], object]] = {
    "another relation": lambda steps: steps[0].__setitem__(1, steps[-1][1]),
    "a relation that is none": lambda steps: steps[0].__setitem__(1, -1),
    "a target that is none": lambda steps: steps[0].__setitem__(0, -1),
    "the same step twice": lambda steps: steps.insert(0, steps[0]),
    "a step left out": lambda steps: steps.pop(0),
    "no last step": lambda steps: steps.pop(),
    "a power without end": lambda steps: steps[-1].__setitem__(2, ["^", ["number", 3, 1], 10**9]),
    "a quantity that is not known": lambda steps: steps[0].__setitem__(2, ["quantity", steps[-1][0]]),
    "a number over zero": lambda steps: steps[0].__setitem__(2, ["number", 1, 0]),
    "a text for a number": lambda steps: steps[0].__setitem__(2, ["number", "1", "2"]),
    "an expression without end": lambda steps: steps[0].__setitem__(2, nested(300)),
    "a word that is none": lambda steps: steps[0].__setitem__(2, ["open", "file"]),
}


WRONG: dict[str, Callable[[list[Any]], object]] = {
    "another number": lambda kept: kept.__setitem__(1, ["*", ["number", 9, 10], kept[1]]),
    "no number at all": lambda kept: kept.__setitem__(1, ["number", 1, 1]),
    "division by nothing": lambda kept: kept.__setitem__(1, ["^", ["number", 0, 1], -1]),
    "powers within powers": lambda kept: kept.__setitem__(1, ["^", ["^", ["number", 3, 1], 20], 20]),
    "powers within powers within": lambda kept: kept.__setitem__(1, ["^", ["+", ["^", ["number", 3, 1], 5]], 5]),
    "a last step of its own": lambda kept: (
        kept[0][-1].__setitem__(2, ["number", 7, 5]),
        kept.__setitem__(1, ["number", 7, 5]),
    ),
    "a step that nothing needs": lambda kept: kept[0].insert(len(kept[0]) - 1, unneeded(kept)),
}


def unneeded(kept: list[Any]) -> list[Any]:
    """A step to a quantity that is reached by no other: the last but one of its numbers that is free."""
    taken = {step[0] for step in kept[0]}
    free = max(number for number in range(60) if number not in taken)
    return [free, 0, ["number", 1, 1]]


@pytest.mark.parametrize("what", WRONG)
def test_a_kept_plan_that_is_sound_in_form_but_wrong_is_planned_anew(
    limestone: Any, counted: list[str], tmp_path: Path, what: str
) -> None:
    first = Plans("bank", tmp_path)
    made = find(first, limestone)
    first.keep()
    file = tmp_path / "plans-bank.json"
    kept = json.loads(file.read_text("utf-8"))
    for one in kept.values():
        WRONG[what](one)
    file.write_text(json.dumps(kept), "utf-8")
    counted.clear()
    assert find(Plans("bank", tmp_path), limestone) == made
    assert counted == [ASKED]


@pytest.mark.parametrize(
    ("powers", "anew"), [((20,), False), ((5, 4), False), ((-20,), False), ((21,), True), ((7, 3), True)]
)
def test_a_kept_expression_may_have_powers_up_to_twenty(
    limestone: Any, counted: list[str], tmp_path: Path, powers: tuple[int, ...], anew: bool
) -> None:
    first = Plans("bank", tmp_path)
    made = find(first, limestone)
    first.keep()
    file = tmp_path / "plans-bank.json"
    kept = json.loads(file.read_text("utf-8"))
    for one in kept.values():
        times: list[Any] = ["number", 1, 1]  # which changes no number
        for power in powers:
            times = ["^", times, power]
        one[1] = ["*", one[1], times]
    file.write_text(json.dumps(kept), "utf-8")
    counted.clear()
    assert find(Plans("bank", tmp_path), limestone).steps == made.steps
    assert counted == ([ASKED] if anew else [])


BESIDE: dict[str, object] = {
    "*": ["number", 1, 1],
    "+": ["number", 0, 1],
    "^": 1,
    ROOT: 2,
}  # what leaves a number 1 as it is


@pytest.mark.parametrize(("depth", "anew"), [(38, False), (45, True)])
@pytest.mark.parametrize("head", BESIDE)
def test_a_kept_expression_may_have_forty_brackets_within_brackets(
    limestone: Any, counted: list[str], tmp_path: Path, head: str, depth: int, anew: bool
) -> None:
    first = Plans("bank", tmp_path)
    find(first, limestone)
    first.keep()
    file = tmp_path / "plans-bank.json"
    kept = json.loads(file.read_text("utf-8"))
    for one in kept.values():
        times: list[Any] = ["number", 1, 1]  # which changes no number
        for _ in range(depth):
            times = [head, times, BESIDE[head]]
        one[1] = ["*", one[1], times]
    file.write_text(json.dumps(kept), "utf-8")
    counted.clear()
    find(Plans("bank", tmp_path), limestone)
    assert counted == ([ASKED] if anew else [])


def nested(depth: int) -> list[Any]:
    found: list[Any] = ["number", 1, 1]
    for _ in range(depth):
        found = ["^", found, 1]
    return found


@pytest.mark.parametrize("what", SPOILT)
def test_a_kept_plan_that_cannot_be_run_is_planned_anew(
    limestone: Any, counted: list[str], tmp_path: Path, what: str
) -> None:
    first = Plans("bank", tmp_path)
    made = find(first, limestone)
    first.keep()
    file = tmp_path / "plans-bank.json"
    kept = json.loads(file.read_text("utf-8"))
    for steps, _ in kept.values():
        SPOILT[what](steps)
    file.write_text(json.dumps(kept), "utf-8")
    counted.clear()
    assert find(Plans("bank", tmp_path), limestone) == made
    assert counted == [ASKED]


def test_nothing_is_left_beside_a_file_that_cannot_be_replaced(limestone: Any, tmp_path: Path) -> None:
    (tmp_path / "plans-bank.json").mkdir()
    plans = Plans("bank", tmp_path)
    find(plans, limestone)
    plans.keep()
    assert [path.name for path in tmp_path.iterdir()] == ["plans-bank.json"]


def test_a_folder_that_cannot_be_written_is_done_without(limestone: Any, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    plans = Plans("bank", tmp_path / "file")
    find(plans, limestone)
    plans.keep()
    assert (tmp_path / "file").read_text() == "in the way"


def test_a_file_of_too_many_plans_is_started_anew(
    limestone: Any, counted: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module, "_MOST", 1)
    first = Plans("bank", tmp_path)
    find(first, limestone)
    first.keep()
    find(Plans("bank", tmp_path), limestone)
    assert counted == [ASKED, ASKED]


def test_the_plans_of_other_banks_are_left_alone(limestone: Any, counted: list[str], tmp_path: Path) -> None:
    for fingerprint in ("old", "new"):
        plans = Plans(fingerprint, tmp_path)
        find(plans, limestone)
        plans.keep()
    assert counted == [ASKED, ASKED]
    assert sorted(path.name for path in tmp_path.iterdir()) == ["plans-new.json", "plans-old.json"]


def test_procedures_of_the_same_shape_share_a_plan(all_by_hand: Any, describe: Any, counted: list[str]) -> None:
    lines = all_by_hand["limestone in portions"].lines
    example = all_by_hand["limestone in portions"]
    plans = Plans("bank", None)
    for rock, analyte in (("limestone", "CaCO3"), ("magnesite", "MgCO3")):
        asked = q(f"percentage of {analyte} in {rock}")
        renamed = {q(name.text.replace("limestone", rock).replace("CaCO3", analyte)) for name in example.values} - {
            asked
        }
        system = relate(describe(lines.replace("limestone", rock).replace("CaCO3", analyte)))
        found = plans.find(system, {*renamed, q("titre of NaOH")}, asked)
        assert found.steps[-1].target == found.asked == asked
    assert len(counted) == 1


def test_another_ratio_or_another_given_is_another_shape(all_by_hand: Any, describe: Any, limestone: Any) -> None:
    system, known = limestone
    lines = all_by_hand["limestone in portions"].lines.replace("CaCO3", "MgCO3").replace("HCl", "H2SO4")
    other = relate(describe(lines))
    renamed = tuple(q(name.text.replace("CaCO3", "MgCO3").replace("HCl", "H2SO4")) for name in known)
    shapes = {
        shape(system, known, ASKED),
        shape(other, renamed, q("percentage of MgCO3 in limestone")),
        shape(system, known[1:], ASKED),
        shape(system, known, q("mass of CaCO3 in limestone")),
    }
    assert len(shapes) == 4
    assert shape(system, reversed(known), ASKED) in shapes
