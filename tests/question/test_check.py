"""The judge: a wrong plan, a wrong bench or a wrong print is caught before a question exists; refusals are counted."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from molewright.bank.definitions import Archetype, Bank
from molewright.bank.readers.whole_bank import read_bank
from molewright.bench.perform import BenchFault, Readings, perform
from molewright.derivation import plans as plans_module
from molewright.derivation.derive import Plan
from molewright.derivation.plans import Plans
from molewright.draw.draw import draw
from molewright.draw.refusal import Refusal
from molewright.draw.stream import Stream
from molewright.errors import CheckFailure, Mistake
from molewright.experiment.procedure import Procedure
from molewright.question import check as module
from molewright.question import put_back
from molewright.question.check import MOST_DRAWS, Question, Questions
from molewright.question.put_back import confirm
from molewright.question.refusals import Tally
from shared.quantities import q


@pytest.fixture
def back(small_bank: Bank) -> Archetype:
    return small_bank.archetypes["small-back"]


@pytest.fixture
def question(back: Archetype, small_questions: Questions) -> Question:
    """A back titration that asks for a percentage."""
    for seed in range(100):
        made = small_questions.make(back, Stream(f"judged/{seed}"))
        if made.draw.ask.quantity.text.startswith("percentage"):
            return made
    raise AssertionError("none in a hundred")


@pytest.fixture
def known(question: Question) -> dict[str, Fraction]:
    given = {name: quantity.in_base for name, quantity in question.draw.given.items()}
    return given | {name: question.draw.truth[name] for name in question.system.fixed}


def test_a_right_answer_is_confirmed(question: Question, known: dict[str, Fraction]) -> None:
    confirm(question.draw.variant.procedure, question.worked, known)


def test_an_answer_that_is_wrong_in_the_thirtieth_place_is_caught(
    question: Question, known: dict[str, Fraction]
) -> None:
    worked = replace(question.worked, exact=question.worked.exact + Fraction(1, 10**30))
    with pytest.raises(CheckFailure):
        confirm(question.draw.variant.procedure, worked, known)


def test_a_chain_and_an_expression_that_disagree_are_caught(question: Question, known: dict[str, Fraction]) -> None:
    doubled = ("*", ("number", 2, 1), question.worked.plan.expression)
    worked = replace(question.worked, plan=replace(question.worked.plan, expression=doubled))
    with pytest.raises(CheckFailure, match="disagree"):
        confirm(question.draw.variant.procedure, worked, known)


def test_a_corrupted_bench_is_caught(
    question: Question, known: dict[str, Fraction], monkeypatch: pytest.MonkeyPatch
) -> None:
    def off(procedure: Procedure, values: Any) -> Readings:
        readings = perform(procedure, values)
        readings.titres = {name: titre + Fraction(1, 10**9) for name, titre in readings.titres.items()}
        return readings

    monkeypatch.setattr(put_back, "perform", off)
    with pytest.raises(CheckFailure, match="put back on the bench"):
        confirm(question.draw.variant.procedure, question.worked, known)


def test_a_bench_that_forgets_the_scaling_is_caught_by_every_back_titration(
    back: Archetype, small_bank: Bank, monkeypatch: pytest.MonkeyPatch
) -> None:
    def forgetful(procedure: Procedure, values: Any) -> Readings:
        return perform(procedure, {**values, q("volume of aliquot"): values[q("volume of aliquot")] / 2})

    monkeypatch.setattr(put_back, "perform", forgetful)
    with pytest.raises(CheckFailure, match="put back on the bench"):
        Questions(small_bank, Plans("x", None)).make(back, Stream("forgetful"))


def wrong_plan(change: Callable[[Plan], Plan]) -> type[Plans]:
    class Wrong(Plans):
        def find(self, system: Any, given: Any, asked: str) -> Plan:
            return change(super().find(system, given, asked))

    return Wrong


def test_a_plan_with_a_wrong_expression_is_caught(back: Archetype, small_bank: Bank) -> None:
    plans = wrong_plan(lambda plan: replace(plan, expression=("number", 1, 1)))("x", None)
    with pytest.raises(CheckFailure, match="disagree"):
        Questions(small_bank, plans).make(back, Stream("wrong plan"))


def spoilt(file: Path) -> None:
    """Change every number in a file of plans."""
    text = file.read_text("utf-8")
    changed = re.sub(r'\["number", (-?\d+), (\d+)\]', r'["number", \1, \g<2>7]', text)
    assert changed != text
    file.write_text(changed, "utf-8")


@pytest.mark.parametrize("looked_through", [True, False], ids=["when it is read", "by the bench alone"])
def test_a_wrong_plan_file_is_started_anew_and_stops_nothing(
    back: Archetype, small_bank: Bank, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, looked_through: bool
) -> None:
    plans = Plans("x", tmp_path)
    right = Questions(small_bank, plans).make(back, Stream("damaged"))
    plans.keep()
    spoilt(tmp_path / "plans-x.json")
    if not looked_through:
        monkeypatch.setattr(plans_module, "_require_right", lambda *_: None)
    again = Plans("x", tmp_path)
    made = Questions(small_bank, again).make(back, Stream("damaged"))
    assert made.worked == right.worked
    again.keep()
    assert Questions(small_bank, Plans("x", tmp_path)).make(back, Stream("damaged")).worked == right.worked


def test_a_file_is_started_anew_but_once(back: Archetype, small_bank: Bank, tmp_path: Path) -> None:
    Plans("x", tmp_path).keep()
    (tmp_path / "plans-x.json").write_text('{"0": 1}', "utf-8")
    plans = wrong_plan(lambda plan: replace(plan, expression=("number", 1, 1)))("x", tmp_path)
    with pytest.raises(CheckFailure, match="disagree"):
        Questions(small_bank, plans).make(back, Stream("wrong plan"))


def test_a_printed_step_that_is_not_its_value_is_caught(question: Question, known: dict[str, Fraction]) -> None:
    steps = list(question.worked.steps)
    index = next(at for at, step in enumerate(steps) if step.relation and step.relation.kind == "balance")
    shown = replace(steps[index].shown, number=steps[index].shown.number * 2)
    steps[index] = replace(steps[index], shown=shown)
    with pytest.raises(CheckFailure, match="printed"):
        confirm(question.draw.variant.procedure, replace(question.worked, steps=tuple(steps)), known)


def test_an_accepted_range_that_misses_the_printed_working_is_caught(
    question: Question, known: dict[str, Fraction]
) -> None:
    accepted = question.worked.accepted
    low = replace(accepted.low, number=accepted.high.number + 1)
    high = replace(accepted.high, number=accepted.high.number + 2)
    worked = replace(question.worked, accepted=replace(accepted, low=low, high=high))
    with pytest.raises(CheckFailure, match="accepted range"):
        confirm(question.draw.variant.procedure, worked, known)


def test_a_corrupted_titre_is_caught(question: Question, known: dict[str, Fraction]) -> None:
    changed = {**known, q("titre of NaOH"): known[q("titre of NaOH")] + Fraction(1, 20)}
    with pytest.raises((CheckFailure, Refusal)):
        confirm(question.draw.variant.procedure, question.worked, changed)


def test_a_check_failure_is_never_the_users_mistake() -> None:
    assert not issubclass(CheckFailure, Mistake)
    assert not issubclass(BenchFault, Mistake)


# ------------------------------------------------------------------ refusals


def test_refusals_are_counted_by_rule(small_bank: Bank, back: Archetype, monkeypatch: pytest.MonkeyPatch) -> None:
    drawn: list[str] = []

    def reluctant(*arguments: Any) -> Any:
        drawn.append("")
        if len(drawn) <= 3:
            raise Refusal("window" if len(drawn) < 3 else "volumes")
        return draw(*arguments)

    monkeypatch.setattr(module, "draw", reluctant)
    questions = Questions(small_bank, Plans("x", None))
    questions.make(back, Stream("counted/0"))
    assert questions.tally.made == 1
    assert questions.tally.refused["window"] >= 2
    assert questions.tally.refused["volumes"] >= 1
    assert questions.tally.made + questions.tally.refused.total() == len(drawn)


def test_an_archetype_that_always_refuses_says_how_often_and_why(
    small_bank: Bank, back: Archetype, monkeypatch: pytest.MonkeyPatch
) -> None:
    def stubborn(*_: Any) -> Any:
        raise Refusal("titre", q("titre of NaOH would be 61.20 cm³"))

    monkeypatch.setattr(module, "draw", stubborn)
    with pytest.raises(Mistake) as caught:
        Questions(small_bank, Plans("x", None)).make(back, Stream("never"))
    assert f"always refused (titre {MOST_DRAWS} times)" in str(caught.value)
    assert "small-back" in caught.value.found
    assert "61.20" in caught.value.do


def test_an_impossible_window_in_a_bank_is_a_mistake_that_counts(bank_with: Callable[..., Path]) -> None:
    folder = bank_with("archetypes/all.yaml", "0.800 to 1.700 g by 0.001", "8.00 to 9.00 g by 0.001")
    spoilt = read_bank(folder)
    with pytest.raises(Mistake, match=rf"drawn {MOST_DRAWS} times and always refused \(.*{MOST_DRAWS} times\)"):
        Questions(spoilt, Plans("x", None)).make(spoilt.archetypes["small-back"], Stream("impossible"))


def test_a_tally_of_nothing_refuses_nothing() -> None:
    assert Tally().share_refused == 0.0


def test_a_share_is_of_all_draws() -> None:
    tally = Tally(made=3)
    tally.refused["window"] += 1
    assert tally.share_refused == 0.25


def test_an_answer_on_a_knife_edge_is_refused(
    small_bank: Bank, back: Archetype, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module, "on_a_knife_edge", lambda *_: True)
    with pytest.raises(Mistake, match=r"always refused \(knife edge 1\d\d times"):
        Questions(small_bank, Plans("x", None)).make(back, Stream("edge"))


@pytest.mark.parametrize("seen", [(0.001, 0.004, 0.002), (0.004, 0.001, 0.002), (0.001, 0.002, 0.004)])
def test_of_several_candidates_the_one_whose_slips_lie_furthest_apart_is_printed(
    small_bank: Bank, back: Archetype, monkeypatch: pytest.MonkeyPatch, seen: tuple[float, ...]
) -> None:
    waiting = iter(seen)
    monkeypatch.setattr(module, "require_apart", lambda *_: next(waiting))
    question = Questions(small_bank, Plans("x", None)).make(back, Stream("candidates"), candidates=len(seen))
    assert question.separation == max(seen)
    assert not list(waiting)


def test_a_candidate_whose_slips_lie_well_apart_ends_the_search(
    small_bank: Bank, back: Archetype, monkeypatch: pytest.MonkeyPatch
) -> None:
    waiting = iter((0.001, 0.006, 0.009))
    monkeypatch.setattr(module, "require_apart", lambda *_: next(waiting))
    question = Questions(small_bank, Plans("x", None)).make(back, Stream("candidates"), candidates=3)
    assert question.separation == 0.006
