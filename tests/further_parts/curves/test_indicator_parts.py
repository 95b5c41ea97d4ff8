"""Indicators chosen by a curve, right and wrong ones, against the textbook."""

from __future__ import annotations

import itertools
import re
from decimal import Decimal

import pytest

from molewright.bank.definitions import Bank
from molewright.further_parts.pieces import Rows
from molewright.question.check import Question
from molewright.sheet.parts import LEVELS, Level
from shared.figures import SEEDS, Make, course_of, parts, sheets, told
from shared.for_each import for_each, for_every


def listed(question: Question) -> dict[str, tuple[float, float]]:
    table = parts(question, "indicator")[0].shown[0]
    assert isinstance(table, Rows)
    return {
        str(row[0]): (float(str(row[1]).split(" to ")[0]), float(str(row[1]).split(" to ")[1])) for row in table.rows
    }


@pytest.mark.parametrize(("key", "seed"), [*itertools.product(("indicator-choice", "ph-curve-weak"), SEEDS)])
def test_the_table_holds_a_right_and_a_wrong_one_and_none_between(bank: Bank, make: Make, key: str, seed: int) -> None:
    question = make(key, seed)
    right = str(parts(question, "indicator")[0].points[0].answer).replace(" or ", ", ").split(", ")
    steep = course_of(bank, question).steep_part(1.5)
    ranges = listed(question)
    assert set(right) < set(ranges)
    for name, (low, high) in ranges.items():
        inside = steep[0] <= low and high <= steep[1]
        outside = high < steep[0] + 1.5 or low > steep[1] - 1.5
        assert inside if name in right else outside and not inside


@for_each("seed", SEEDS)
def test_ethanoic_acid_and_ammonia_take_the_indicators_of_the_textbook(make: Make, seed: int) -> None:
    # OpenStax, Chemistry 2e, 14.7: phenolphthalein, not methyl orange, for CH3COOH with NaOH; for a weak base the other way
    question = make("indicator-choice", seed)
    right = str(parts(question, "indicator")[0].points[0].answer)
    unfit = "methyl orange" if question.draw.variant.roles["analyte"] == "CH3COOH" else "phenolphthalein"
    assert unfit not in right


@for_each("seed", SEEDS)
def test_the_colours_run_from_those_of_the_flask_to_the_other_side(bank: Bank, make: Make, seed: int) -> None:
    question = make("indicator-choice", seed)
    acid_in_flask = question.draw.variant.roles["analyte"] == "CH3COOH"
    for change in str(parts(question, "indicator")[1].points[0].answer).split("; "):
        name, colours = change.split(": ")
        indicator = bank.indicators[name]
        assert colours.split(" to ")[0] == (indicator.acid_colour if acid_in_flask else indicator.base_colour)


@for_every(key=["indicator-choice", "ph-curve-weak"], level=LEVELS)
def test_the_stem_does_not_give_away_the_indicator(bank: Bank, make: Make, key: str, level: Level) -> None:
    question = make(key, 1)
    paper, *_ = sheets(bank, question, level, "dm3")
    before = told(paper).partition("Table: Indicators")[0]
    assert not any(name in before for name in bank.indicators)


@for_each("seed", SEEDS)
def test_an_unsuitable_indicator_changes_outside_the_steep_part(bank: Bank, make: Make, seed: int) -> None:
    question = make("indicator-unsuitable", seed)
    (part,) = parts(question, "unsuitable indicator")
    slots = dict(part.demand.slots)
    low, high = float(str(slots["low"])), float(str(slots["high"]))
    found = course_of(bank, question)
    steep = found.steep_part()
    assert high < steep[0] or low > steep[1]
    assert str(slots["indicator"]) != question.draw.indicator
    changes_at = found.titration.volume_at((low + high) / 2)
    early = changes_at < found.end_cm3
    answer = str(part.points[1].answer)
    assert early == ("early" in answer or "before the start" in answer)


@for_every(seed=range(12), key=["ph-curve-weak", "indicator-choice"])
def test_the_printed_steep_part_holds_the_range_of_every_indicator_that_is_accepted(
    bank: Bank, make: Make, key: str, seed: int
) -> None:
    choice, _ = parts(make(key, seed), "indicator")
    reason = dict(choice.points[1].lines[0].slots)  # type: ignore[union-attr]
    low, high = (Decimal(str(reason[end])) for end in ("low", "high"))
    others = [
        dict(one.slots).get("names", "") for one in choice.points[0].guidance if one.key != "guide blunt indicators"
    ]
    named = re.split(r", | or ", " or ".join([str(choice.points[0].answer), *filter(None, map(str, others))]))
    for name in named:
        indicator = bank.indicators[name]
        assert indicator.low is not None
        assert indicator.high is not None
        assert low <= indicator.low < indicator.high <= high


def course_and(bank: Bank, question: Question, name: str) -> tuple[float, float, float]:
    """Where the change of an indicator begins and ends, less the volume at the end point, and how long it takes, in cm³."""
    found, indicator = course_of(bank, question), bank.indicators[name]
    assert indicator.low is not None
    assert indicator.high is not None
    first, last = sorted(found.titration.volume_at(float(end)) for end in (indicator.low, indicator.high))
    return first - found.end_cm3, last - found.end_cm3, last - first


@for_every(seed=range(12), key=["indicator-choice", "ph-curve-weak"])
def test_the_key_names_only_what_changes_within_two_drops_round_the_end(
    bank: Bank, make: Make, key: str, seed: int
) -> None:
    question = make(key, seed)
    choice, _ = parts(question, "indicator")
    guidance = {one.key: dict(one.slots) for point in choice.points for one in point.guidance}
    named = str(choice.points[0].answer).replace(" or ", ", ").split(", ")
    taken = [course_and(bank, question, name) for name in named]
    assert all(first >= -0.10 and last <= 0.10 and spread <= 0.10 for first, last, spread in taken)
    assert ("guide one drop" in guidance) == all(spread <= 0.05 for *_, spread in taken)
    assert ("guide one drop" in guidance) != ("guide two drops" in guidance)
    for name in filter(None, re.split(r", | or ", str(guidance.get("guide blunt indicators", {}).get("names", "")))):
        assert course_and(bank, question, name)[2] > 0.05
        assert name not in named


def test_phenol_red_is_no_key_for_ethanoic_acid(bank: Bank, make: Make) -> None:
    # its change begins at pH 6.8, where 0.9 % of an acid with pKa 4.76 is still there: about five drops before the end
    seen = 0
    for seed in range(25):
        question = make("indicator-choice", seed)
        if question.draw.variant.roles["analyte"] == "CH3COOH":
            choice, _ = parts(question, "indicator")
            told = {one.key: str(dict(one.slots).get("names", "")) for one in choice.points[0].guidance}
            assert "phenol red" not in f"{choice.points[0].answer} {told.get('guide other indicators', '')}"
            assert "phenol red" not in listed(question)
            assert course_and(bank, question, "phenol red")[0] < -0.10
            seen += 1
    assert seen > 5
    alone = [one for one in bank.reactions if {"CH3COOH"} & set(one.reactants())]
    assert not any("phenol red" in one.indicators for one in alone)


@for_each("seed", SEEDS)
def test_both_parts_of_one_question_print_one_steep_part(make: Make, seed: int) -> None:
    question = make("ph-curve-weak", seed)
    told = parts(question, "pH curve")[2].points[0].answer
    choice, _ = parts(question, "indicator")
    reason = dict(choice.points[1].lines[0].slots)  # type: ignore[union-attr]
    assert told == f"pH {reason['low']} to {reason['high']}"
