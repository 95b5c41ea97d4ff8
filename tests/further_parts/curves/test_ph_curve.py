"""pH curves drawn, read and sketched, against the formulae and the tables of textbooks."""

from __future__ import annotations

import itertools
import math
import re
from decimal import Decimal

import pytest

from molewright.bank.definitions import Bank
from molewright.draw.stream import Stream
from molewright.further_parts.curves.course import follow, halves
from molewright.further_parts.curves.ph_curve import CurvePicture
from molewright.nodes.drawing.scales import value_at
from molewright.question.check import Questions
from shared.figures import SEEDS, Make, course_of, parts
from shared.for_each import for_each
from shared.quantities import q


@pytest.mark.parametrize(("key", "seed"), [*itertools.product(("ph-curve", "ph-curve-weak"), SEEDS)])
def test_the_answers_are_on_the_drawn_curve(bank: Bank, make: Make, key: str, seed: int) -> None:
    question = make(key, seed)
    start, end, steep, *half = parts(question, "pH curve")
    picture = start.shown[0]
    assert isinstance(picture, CurvePicture)
    assert start.accepted is not None
    assert end.accepted is not None
    assert start.accepted[0] <= Decimal(repr(picture.points[0][1])) <= start.accepted[1]
    titre = float(question.worked.exact)  # the titre is what the calculation would find
    assert float(end.accepted[0]) <= titre <= float(end.accepted[1])
    ph_there = value_at(picture.points, titre)
    low, high = (float(one) for one in re.findall(r"[\d.]+", str(steep.points[0].answer)))
    assert low < ph_there < high
    for part in half:
        assert part.accepted is not None
        assert float(part.accepted[0]) <= value_at(picture.points, titre / 2) <= float(part.accepted[1])


@for_each("seed", SEEDS)
def test_half_way_the_ph_is_the_pka_of_the_table(make: Make, seed: int) -> None:
    question = make("ph-curve-weak", seed)
    half = parts(question, "pH curve")[3]
    # LibreTexts General Chemistry (Averill), tables E1 and E2: ethanoic acid 4.756, ammonium ion 9.25
    pka = {"CH3COOH": 4.756, "NH3": 9.25}[question.draw.variant.roles["analyte"]]
    assert half.accepted is not None
    assert float(half.accepted[0]) <= pka <= float(half.accepted[1])
    assert float(str(half.points[1].answer)) == pytest.approx(pka, abs=0.1)


@for_each("seed", SEEDS)
def test_a_curve_starts_where_the_textbook_formula_says(bank: Bank, make: Make, seed: int) -> None:
    question = make("ph-curve", seed)
    analyte = question.draw.variant.roles["analyte"]
    strength = float(question.draw.truth[q(f"concentration of {analyte}")])
    # strong: pH = -lg c or 14 + lg c; weak: [H+] or [OH-] = root of K c (OpenStax, Chemistry 2e, 14.3)
    expected = {
        "HCl": -math.log10(strength), "NaOH": 14 + math.log10(strength), "KOH": 14 + math.log10(strength),
        "CH3COOH": (4.756 - math.log10(strength)) / 2, "NH3": 14 - (14 - 9.25 - math.log10(strength)) / 2,
    }[analyte]  # fmt: skip
    assert course_of(bank, question).titration.ph_at(0) == pytest.approx(expected, abs=0.03)


def test_the_steep_part_as_an_eye_sees_it_is_that_of_the_trade(bank: Bank, make: Make) -> None:
    # strong with strong pH 4 to 10, weak base 3 to 7, weak acid 7 to 10.5 (common practice, no source)
    rough = {"HCl": (4, 10), "NaOH": (4, 10), "KOH": (4, 10), "CH3COOH": (7, 10.5), "NH3": (3, 7)}
    for seed in SEEDS:
        question = make("ph-curve", seed)
        low, high = course_of(bank, question).steep_part()
        wanted = rough[question.draw.variant.roles["analyte"]]
        assert low == pytest.approx(wanted[0], abs=1.0)
        assert high == pytest.approx(wanted[1], abs=1.0)


@for_each("seed", SEEDS)
def test_the_range_accepted_for_the_steep_part_holds_the_printed_ends(bank: Bank, make: Make, seed: int) -> None:
    found = course_of(bank, make("ph-curve", seed))
    (low_from, low_to), (high_from, high_to) = found.accepted_ends()
    low, high = (halves(end) for end in found.steep_part())
    assert low_from <= low <= low_to < high_from <= high <= high_to


@for_each("seed", SEEDS)
def test_a_sketch_is_marked_by_start_end_point_steep_part_and_level(make: Make, seed: int) -> None:
    question = make("ph-curve-sketch", seed)
    (sketch,) = parts(question, "sketch")
    blank, drawn = sketch.shown[0], sketch.answered[0]
    assert isinstance(blank, CurvePicture)
    assert isinstance(drawn, CurvePicture)
    assert not blank.points
    assert not blank.spots
    assert [round(drawn.spots[1].volume_cm3, 6)] == [round(float(question.worked.exact), 6)]
    assert drawn.points[0][1] == pytest.approx(drawn.spots[0].ph, abs=0.001)
    assert sketch.marks == 4


def test_no_curve_is_drawn_for_an_acid_of_several_steps_or_a_carbonate(bank: Bank, questions: Questions) -> None:
    archetype = bank.archetypes["direct-one-to-two"]
    for seed in range(12):
        stream = Stream(f"several {seed}")
        question = questions.make(archetype, stream)
        found = follow(bank, question.draw)
        if question.draw.variant.roles["analyte"] in ("Na2CO3",):
            assert found is None
        elif found is not None:
            assert found.weak is None
