"""Colours at the end point: those of the published tables, in the order in which the flask shows them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from molewright.draw.refusal import Refusal
from molewright.further_parts.curves.colours import ask_colour_change, colours, reject_universal
from molewright.further_parts.pieces import Calculation, Said

Calculate = Callable[..., Calculation]

# Colours in acid and in alkali: tables of acid-base indicators in textbooks, common practice.
TABLE = {
    "phenolphthalein": ("colourless", "pink"),
    "thymol blue": ("yellow", "blue"),
    "phenol red": ("yellow", "red"),
    "methyl orange": ("red", "yellow"),
    "methyl red": ("red", "yellow"),
    "bromothymol blue": ("yellow", "blue"),
    "bromocresol green": ("yellow", "blue"),
}
ALKALIS = {"NaOH", "KOH"}


def with_indicator(calculation: Calculation, name: str) -> Calculation:
    return replace(calculation, draw=replace(calculation.draw, indicator=name))


@pytest.mark.parametrize("indicator", TABLE)
@pytest.mark.parametrize(
    ("key", "roles"),
    [
        ("direct-solutions", {"analyte": "HCl", "titrant": "NaOH"}),
        ("direct-purity", {"analyte": "Na2CO3", "titrant": "HCl"}),
    ],
)
def test_the_first_colour_is_that_of_what_is_in_the_flask(
    key: str, roles: dict[str, str], indicator: str, calculate: Calculate
) -> None:
    acid, alkaline = TABLE[indicator]
    before, after = colours(with_indicator(calculate(key, **roles), indicator))
    assert before == (acid if roles["titrant"] in ALKALIS else alkaline)
    assert after != before


def test_a_weak_acid_with_phenolphthalein_turns_from_colourless_to_pink(calculate: Calculate) -> None:
    calculation = with_indicator(calculate("diluted-liquid", analyte="CH3COOH"), "phenolphthalein")
    (part,) = ask_colour_change(calculation)
    assert part.points[0].answer == "colourless to pink"
    assert [line.key for line in part.points[0].guidance] == ["guide both colours", "guide colourless"]


def test_nothing_is_said_of_clear_where_no_colour_is_missing(calculate: Calculate) -> None:
    (part,) = ask_colour_change(with_indicator(calculate("direct-purity", titrant="HCl"), "methyl orange"))
    assert part.points[0].answer == "yellow to orange"
    assert [line.key for line in part.points[0].guidance] == ["guide both colours", "guide far colour"]
    assert dict(part.points[0].guidance[1].slots)["far"] == "red"


# Common practice, no source: each is in every textbook of the trade.
@pytest.mark.parametrize(
    ("key", "answer"),
    [
        ("bleach", "blue-black to colourless"),
        ("vitamin-tablets", "colourless to blue-black"),
        ("total-hardness", "wine-red to blue"),
        ("dichromate-iron", "green to purple"),
        ("silver-back", "colourless to red"),
    ],
)
def test_an_indicator_that_does_not_follow_ph_has_its_own_order(key: str, answer: str, calculate: Calculate) -> None:
    (part,) = ask_colour_change(calculate(key))
    assert part.points[0].answer == answer
    assert part.marks == 1


def test_where_the_stem_tells_the_colour_of_manganate_its_reason_is_asked(calculate: Calculate) -> None:
    (part,) = ask_colour_change(calculate("moss-treatment"))
    assert part.demand.key == "ask no indicator"
    told = [line.key for point in part.points for line in point.lines if isinstance(line, Said)]
    assert told == ["own colour goes", "own colour stays"]


def test_nothing_titrated_has_no_colour(calculate: Calculate) -> None:
    with pytest.raises(Refusal):
        ask_colour_change(calculate("mass-for-a-standard"))


def test_universal_indicator_is_refused_for_an_end_point_that_ph_shows(calculate: Calculate) -> None:
    calculation = calculate("direct-solutions")
    (part,) = reject_universal(calculation)
    indicator = calculation.bank.indicators[calculation.draw.indicator]
    told = dict(part.points[1].lines[0].slots)  # type: ignore[union-attr]
    assert (told["low"], told["high"]) == (str(indicator.low), str(indicator.high))
    assert part.marks == 2


@pytest.mark.parametrize("key", ["bleach", "total-hardness", "moss-treatment", "mass-for-a-standard"])
def test_nobody_thinks_of_universal_indicator_where_ph_shows_nothing(key: str, calculate: Calculate) -> None:
    with pytest.raises(Refusal):
        reject_universal(calculate(key))


def test_the_bank_has_no_universal_indicator_to_choose(calculate: Calculate) -> None:
    assert "universal indicator" not in calculate("direct-solutions").bank.indicators
