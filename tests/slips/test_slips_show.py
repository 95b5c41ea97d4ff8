"""Numbers are chosen so that mistakes show: over every archetype, common slips leave the accepted range and lie apart."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from itertools import combinations

import pytest

from molewright.bank.definitions import Bank
from molewright.derivation.plans import Plans
from molewright.derivation.worked import Worked, base_factor
from molewright.draw.chosen import Draw, choose
from molewright.draw.draw import draw, with_other_runs
from molewright.draw.refusal import Refusal
from molewright.draw.stream import Stream
from molewright.question import check
from molewright.question.check import Question, Questions
from molewright.slips.wrong_answers import distance, require_apart
from shared.banks import built_in
from shared.covering import covering
from shared.kinds import KEYS, each_kind

EACH = 8
APART = 0.02


PLAIN = [key for key in KEYS if not built_in().archetypes[key].further_parts]
Dozen = Callable[[str], Sequence[Question]]


@pytest.fixture(scope="module")
def drawn(dozen: Dozen) -> list[Question]:
    """Questions of kinds that together show every shape."""
    return [question for key in covering(PLAIN) for question in dozen(key)[:EACH]]


def gap(question: Question, one: float, other: float) -> float:
    """How far apart two answers lie, as a share; of two pH values their difference, for a pH has places and not figures."""
    if question.worked.steps[-1].variable.logarithmic:
        return abs(one - other)
    return abs(one - other) / abs(other)


def single(question: Question) -> list[tuple[str, str, bool, float]]:
    slips = question.mistakes.single
    return [(one.slips[0].key, one.slips[0].often, one.slips[0].near, float(one.exact)) for one in slips]


@each_kind(PLAIN)
def test_no_common_slip_ever_lands_in_the_accepted_range(key: str, dozen: Dozen) -> None:
    for question in dozen(key):
        accepted, factor = question.worked.accepted, float(base_factor(question.worked.answer))
        for slip, often, _, wrong in single(question):
            asked = question.worked.steps[-1].variable
            if asked.whole or asked.kind == "ratio":
                continue  # a whole number by its nature: what rounds to it is right
            inside = float(accepted.low.number) <= wrong * factor <= float(accepted.high.number)
            assert not (often == "high" and inside), (slip, wrong * factor, str(accepted))


@pytest.mark.thorough
def test_nearly_all_slips_lie_two_per_cent_from_the_right_answer(drawn: list[Question]) -> None:
    apart: Counter[bool] = Counter()
    for question in drawn:
        right = float(question.worked.exact)
        for _, _, near, wrong in single(question):
            if not near:  # small by nature: a rough run averaged, two-figure rounding
                apart[gap(question, wrong, right) >= APART] += 1
    assert apart[True] / sum(apart.values()) >= 0.95, apart


@pytest.mark.thorough
def test_most_pairs_of_slips_lie_two_per_cent_apart_where_algebra_allows(drawn: list[Question]) -> None:
    apart: Counter[bool] = Counter()
    for question in drawn:
        found = [(key, wrong) for key, often, near, wrong in single(question) if often != "low" and not near]
        for (one, first), (other, second) in combinations(found, 2):
            lie = gap(question, *sorted((first, second), key=abs))
            if one != other and lie > 1e-9:  # the same number by algebra can never be told apart
                apart[lie >= APART] += 1
    assert apart[True] / sum(apart.values()) >= 0.80, apart


@each_kind(PLAIN)
def test_every_common_slip_lies_two_per_cent_from_the_right_answer(key: str, dozen: Dozen) -> None:
    for question in dozen(key):
        right = float(question.worked.exact)
        if question.worked.steps[-1].variable.settled:
            continue  # a whole number or a ratio: what rounds to it is right
        for slip, often, near, wrong in single(question):
            if often == "high" and not near:
                assert gap(question, wrong, right) >= APART, (slip, wrong, right)


@pytest.mark.parametrize(("away", "refused"), [("0.003", True), ("0.018", True), ("0.022", False), ("0.1", False)])
@pytest.mark.parametrize("side", [1, -1])
def test_a_draw_in_which_a_common_slip_is_less_than_two_per_cent_away_is_refused(
    away: str, refused: bool, side: int, bank: Bank, monkeypatch: pytest.MonkeyPatch
) -> None:
    # two per cent: the second figure differs (common practice, no source)
    question = Questions(bank, Plans(bank.fingerprint, None)).make(bank.archetypes["back-portions"], Stream("apart"))
    table = question.prepared.slips
    commonest = [one.slip.often == "high" and not one.slip.near and one.slip.kind != "mean" for one in table.applied]
    at = commonest.index(True)
    facts = table.surroundings.facts(question.draw.runs)
    key, wrong = table.quick(question.given, facts)
    wrong[at] = key * (1 + side * float(away))
    monkeypatch.setattr(type(table), "quick", lambda *_: (key, wrong))
    exact = replace(question.worked.accepted, low=question.worked.answer, high=question.worked.answer)
    judged = replace(question.worked, accepted=exact)  # a narrow range, so that only the distance refuses
    if refused:
        with pytest.raises(Refusal) as caught:
            require_apart(table, question.draw, judged, question.given)
        assert caught.value.rule == "slip"
    else:
        assert require_apart(table, question.draw, judged, question.given) <= float(away) * 1.001


# ------------------------------------------------------------------ one mistake moved by hand


@dataclass(frozen=True)
class Moved:
    """A question whose commonest mistake may be made to give any answer."""

    key: float
    require: Callable[..., float]  # what require_apart says where the mistake gives this, and no other is made


@pytest.fixture
def moved(bank: Bank, questions: Questions, monkeypatch: pytest.MonkeyPatch) -> Moved:
    """A back titration, ten per cent either way of whose answer is taken for right."""
    question = questions.make(bank.archetypes["back-portions"], Stream("apart"))
    table = question.prepared.slips
    plain = [one.slip.often if not one.slip.near and one.slip.kind != "mean" else "" for one in table.applied]
    facts = table.surroundings.facts(question.draw.runs)
    key, wrong = table.quick(question.given, facts)
    answer = question.worked.answer
    low, high = (replace(answer, number=answer.number * Decimal(share)) for share in ("0.9", "1.1"))
    wide = replace(question.worked, accepted=replace(question.worked.accepted, low=low, high=high))

    def require(gives: float, often: str = "high", settled: bool = False) -> float:
        others = [float("nan")] * len(wrong)  # there is none
        others[plain.index(often)] = gives
        monkeypatch.setattr(type(table), "quick", lambda *_: (key, others))
        accepted = replace(wide.accepted, type="whole number" if settled else "number")
        return require_apart(table, question.draw, replace(wide, accepted=accepted), question.given)

    return Moved(key, require)


@pytest.mark.parametrize(("share", "refused"), [("0.89", False), ("0.91", True), ("1.09", True), ("1.11", False)])
def test_a_draw_in_which_a_common_slip_lands_in_the_accepted_range_is_refused(
    moved: Moved, share: str, refused: bool
) -> None:
    gives = moved.key * float(share)
    if refused:
        with pytest.raises(Refusal) as caught:
            moved.require(gives)
        assert caught.value.rule == "slip"
    else:
        assert moved.require(gives) == pytest.approx(0.11, rel=0.2)


def test_only_where_rounding_settles_the_answer_a_rarer_slip_beside_it_is_refused_too(moved: Moved) -> None:
    # 9.8 molecules of water are rounded to 10 as 10.1 are: nobody would see the mistake
    beside, apart = moved.key * 1.05, moved.key * 1.2
    with pytest.raises(Refusal, match="before rounding"):
        moved.require(beside, often="medium", settled=True)
    assert moved.require(beside, often="medium") == pytest.approx(0.05, rel=0.1)
    assert moved.require(apart, often="medium", settled=True) > APART


def test_a_slip_that_changes_the_last_figures_of_a_float_changes_nothing(moved: Moved) -> None:
    # a ratio of one to one ignored: worked in another order, the float differs in its sixteenth figure
    assert moved.require(moved.key * (1 + 1e-15)) == 1  # as where no mistake is made
    with pytest.raises(Refusal):
        moved.require(moved.key * (1 + 1e-9))


# ------------------------------------------------------------------ where equilibria widen what is right


def test_a_common_slip_must_show_beside_what_the_equilibria_lead_to_as_well(
    bank: Bank, questions: Questions, monkeypatch: pytest.MonkeyPatch
) -> None:
    question = questions.make(bank.archetypes["weak-acid-start-ph"], Stream("apart"))
    gives = next(one.exact for one in question.mistakes.single if one.slips[0].often == "high")

    def widened(_: object, worked: Worked, values: object) -> Worked:
        return replace(worked, accepted=worked.accepted.wider([gives]))

    assert questions.attempt(question.draw).worked.answer == question.worked.answer
    monkeypatch.setattr("molewright.question.check.with_equilibria", widened)
    with pytest.raises(Refusal) as caught:
        questions.attempt(question.draw)
    assert caught.value.rule == "slip"
    poor: list[Refusal] = []
    questions.judge(question.draw, poor=poor)
    assert [one.rule for one in poor] == ["slip"]


def test_two_ph_values_lie_as_far_apart_as_their_difference() -> None:
    assert distance(13.10, 13.00, logarithmic=True) == pytest.approx(0.1)
    assert distance(13.10, 13.00, logarithmic=False) == pytest.approx(0.1 / 13)
    assert distance(13.01, 13.00, logarithmic=True) < APART < distance(2.03, 2.00, logarithmic=True)


# ------------------------------------------------------------------ the first look


def test_the_first_look_refuses_nothing_that_would_not_be_refused_for_good(
    bank: Bank, questions: Questions, monkeypatch: pytest.MonkeyPatch
) -> None:
    kinds = [kind for kind in bank.archetypes.values() if not bank.topic_of(kind).only_by_name][::9]
    refused: list[Draw] = []
    for kind in kinds:
        for number in range(6):
            stream = Stream(f"first look/{kind.key}/{number}")
            chosen = choose(kind, stream)
            try:
                made = draw(kind, chosen, stream.branch("0"), questions.fixed(chosen.variant))
                questions.attempt(made)
            except Refusal as refusal:
                if refusal.rule in ("slip", "knife edge"):
                    refused.append(made)
    monkeypatch.setattr(check, "require_rounding_seen", lambda *_: None)
    for made in refused:
        with pytest.raises(Refusal):
            questions.attempt(made)
    assert len(refused) > 10


def test_with_other_readings_only_what_is_made_of_them_is_worked_again(bank: Bank, questions: Questions) -> None:
    made = (questions.make(bank.archetypes["back-portions"], Stream(f"readings/{number}")) for number in range(40))
    question = next(one for one in made if one.draw.runs)
    table, other = question.prepared.slips, with_other_runs(question.draw, 1)
    before = table.quick(question.given, table.surroundings.facts_on_floats(question.draw.runs))[1]
    facts = table.surroundings.facts_on_floats(other.runs)
    afresh = table.quick(question.given, facts)
    assert table.quick(question.given, facts, before) == afresh
    assert before != afresh[1]
