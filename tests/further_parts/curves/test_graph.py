"""End points from graphs: readings against energy and ions counted here, ranges against lines that are fitted here."""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise
from statistics import linear_regression

import pypdf
import pytest

from molewright.answer.judge import Judge
from molewright.answer.printed import PrintedQuestion
from molewright.bank.definitions import Bank
from molewright.chem.conventions import UNIT_STYLES, UnitStyle
from molewright.draw.refusal import Refusal
from molewright.draw.stream import Stream
from molewright.further_parts.curves.conductivity import exchange
from molewright.further_parts.curves.graph import GraphPicture
from molewright.further_parts.pieces import FurtherPart
from molewright.marking.typed_answers import read_answer
from molewright.nodes.blocks import Sheet
from molewright.papers.making import Paper
from molewright.papers.record.writer import record
from molewright.question.check import Question, Questions
from molewright.render import latex, pdf, text
from molewright.sheet.compose import Composer, Setting
from molewright.sheet.parts import LEVELS, Level
from shared.for_each import for_each, for_every
from shared.mark_points import mark_points
from shared.quantities import q
from shared.records import record_of

HEAT = ("thermometric-titration", "thermometric-one-to-two", "thermometric-weak")
IONS = ("conductometric-titration-strong", "conductometric-weak", "conductometric-chloride")
KEYS = (*HEAT, *IONS)
SEEDS = range(8)
Make = Callable[[str, int], Question]


@pytest.fixture(scope="module")
def make(bank: Bank, questions: Questions) -> Make:
    kept: dict[tuple[str, int], Question] = {}

    def made(key: str, seed: int) -> Question:
        if (key, seed) not in kept:
            kept[key, seed] = questions.make(bank.archetypes[key], Stream(f"graphs {key} {seed}"))
        return kept[key, seed]

    return made


def reading(question: Question) -> FurtherPart:
    (part,) = (one for one in question.further_parts if one.reads)
    return part


def picture(part: FurtherPart, answered: bool = False) -> GraphPicture:
    (found,) = part.answered if answered else part.shown
    assert isinstance(found, GraphPicture)
    return found


def titre(question: Question) -> Decimal:
    return question.draw.given[reading(question).reads].number


def concentration(question: Question, role: str) -> float:
    substance = question.draw.variant.roles[role]
    return float(question.draw.truth[q(f"concentration of {substance}")])


def sheets(bank: Bank, question: Question, level: Level, style: UnitStyle = "dm3") -> tuple[Sheet, ...]:
    composer = Composer((question,), bank, Setting(title="Graphs", code="A-0000", levels=(level,), style=style))
    return composer.question_paper(), composer.mark_scheme(), composer.worked_solutions(), composer.answers()


def told(sheet: Sheet) -> str:
    return " ".join(text.render(sheet).decode().replace("\N{NO-BREAK SPACE}", " ").split())


# ------------------------------------------------------------------ every sheet


@pytest.mark.thorough
@for_every(style=UNIT_STYLES, level=LEVELS, key=KEYS)
def test_every_sheet_comes_out(bank: Bank, make: Make, key: str, level: Level, style: UnitStyle) -> None:
    question = make(key, 0)
    paper, scheme, worked, answers = sheets(bank, question, level, style)
    printed = told(paper)
    assert sum(map(int, re.findall(r"\[(\d+) marks?\]", printed))) == question.marks
    points = {str(number) for _, number in mark_points(scheme)}
    assert points == {str(number) for number in range(1, question.marks + 1)}
    other = "cm³" if style == "litre" else " mL"
    if level != "scaffolded":  # the hints on a calculation speak of cm³ and dm³
        assert not any(other in told(sheet) for sheet in (paper, worked, answers))
    pages = pypdf.PdfReader(io.BytesIO(pdf.render(paper)), strict=True).pages
    assert sum(len(page.extract_text()) for page in pages) > 300
    assert latex.render(scheme).startswith(b"% Made by")


@for_every(level=LEVELS, key=KEYS)
def test_the_paper_tells_neither_the_titre_nor_an_indicator(bank: Bank, make: Make, key: str, level: Level) -> None:
    for seed in range(4):
        question = make(key, seed)
        paper = told(sheets(bank, question, level)[0])
        assert f"{titre(question)} cm³" not in paper
        assert "mean titre" not in paper
        assert "conical" not in paper
        assert f"using {question.draw.indicator}" not in paper
        assert not any(name in paper for name in bank.indicators if name != "starch")


@for_each("key", KEYS)
def test_the_same_seed_gives_the_same_graph(bank: Bank, questions: Questions, make: Make, key: str) -> None:
    again = questions.make(bank.archetypes[key], Stream(f"graphs {key} 1"))
    assert again.further_parts == make(key, 1).further_parts


# ------------------------------------------------------------------ readings


@for_every(seed=SEEDS, key=HEAT)
def test_every_corrected_rise_is_what_the_heat_of_neutralisation_makes_of_the_first_volume(
    make: Make, key: str, seed: int
) -> None:
    question = make(key, seed)
    end = float(titre(question))
    each = {"CH3COOH": 56.1, "NH3": 52.2}.get(question.draw.variant.roles["analyte"], 57.0)
    for volume, rise in picture(reading(question)).readings:
        moles = concentration(question, "titrant") * min(float(volume), end) / 1000
        share = (
            50 + float(volume)
        ) / 50  # a tenth of scatter and half a tenth of rounding, enlarged, and rounded again
        assert float(rise) == pytest.approx(1000 * each * moles / (4.18 * 50), abs=0.15 * share + 0.051)
        assert rise.as_tuple().exponent == -1
    assert picture(reading(question)).readings[0] == (Decimal("0.0"), Decimal("0.0"))


@for_every(seed=SEEDS, key=HEAT)
def test_a_ruler_through_all_crosses_finds_the_end_point_of_the_key(make: Make, key: str, seed: int) -> None:
    question = make(key, seed)
    end = float(titre(question))
    readings = [(float(x), float(y)) for x, y in picture(reading(question)).readings]
    sides = [[one for one in readings if one[0] < end], [one for one in readings if one[0] > end]]
    (slope, start), (far, other) = (linear_regression(*zip(*side, strict=True)) for side in sides)
    assert (other - start) / (slope - far) == pytest.approx(end, abs=0.31)
    assert abs(far) < slope / 15  # level after the end point


@for_every(seed=SEEDS, key=HEAT)
def test_the_lines_of_the_key_are_straight_and_the_range_is_one_of_reading(make: Make, key: str, seed: int) -> None:
    question = make(key, seed)
    part = reading(question)
    drawn = picture(part, answered=True)
    assert [len(line) for line in drawn.lines] == [2, 2]
    assert part.accepted is not None
    low, high = part.accepted
    assert low < titre(question) < high
    assert high - low <= Decimal("1.2")
    accepted = question.worked.accepted
    assert (accepted.high.exact - accepted.low.exact) / question.worked.exact < Fraction(1, 10)


@for_each("level", LEVELS)
def test_the_stem_tells_how_the_rise_was_corrected(bank: Bank, make: Make, level: Level) -> None:
    paper = told(sheets(bank, make("thermometric-titration", 0), level)[0])
    assert "multiplied by the total volume and divided by the volume at the start" in paper
    assert "two straight lines" in paper or "Draw a straight line of best fit" in paper


@for_each("seed", SEEDS)
def test_the_lowest_conductivity_of_a_strong_acid_or_alkali_is_that_of_the_salt(make: Make, seed: int) -> None:
    question = make("conductometric-titration-strong", seed)
    part, roles = reading(question), question.draw.variant.roles
    assert picture(part, answered=True).meeting is not None
    moles = concentration(question, "titrant") * float(titre(question)) / 1000
    per_mole = {"HCl": 76.3, "HNO3": 71.4, "NaOH": 50.1, "KOH": 73.5}
    portion = float(question.draw.given[q(f"volume of {roles['analyte']} in portion")].number)
    salt = moles * 1000 / (portion + 100) * (per_mole[roles["analyte"]] + per_mole[roles["titrant"]])
    _, height = picture(part, answered=True).meeting or (0.0, 0.0)
    assert height == pytest.approx(salt, rel=0.005)
    assert min(height for _, height in picture(part).readings) > Decimal(repr(salt)) * Decimal("0.97")


@for_each("seed", SEEDS)
def test_a_weak_acid_or_base_conducts_little_at_first_and_better_with_all_that_is_added(make: Make, seed: int) -> None:
    readings = picture(reading(make("conductometric-weak", seed))).readings
    heights = [height for _, height in readings]
    assert heights[0] * 8 < heights[-1]
    assert heights[3:] == sorted(heights[3:])


@for_every(seed=SEEDS, key=KEYS)
def test_no_reading_lies_at_the_end_point_and_every_one_on_the_paper(
    bank: Bank, make: Make, key: str, seed: int
) -> None:
    question = make(key, seed)
    drawn = picture(reading(question))
    end = titre(question)
    assert end % Decimal("0.5") == 0
    for volume, height in drawn.readings:
        assert abs(volume - end) >= Decimal("0.5")
        assert 0 <= volume <= drawn.across_cm3 <= 50
        assert drawn.up.low <= height <= drawn.up.high
    meeting = picture(reading(question), answered=True).meeting
    assert meeting is not None
    assert float(drawn.up.low) < meeting[1] < float(drawn.up.high)
    assert meeting[0] == float(end)
    assert sum(volume > end for volume, _ in drawn.readings) >= 4
    assert sum(volume < end for volume, _ in drawn.readings) >= 4


@for_every(seed=SEEDS, key=KEYS)
def test_the_drawn_lines_cross_where_the_scheme_says(make: Make, key: str, seed: int) -> None:
    part = reading(make(key, seed))
    drawn = picture(part, answered=True)
    assert drawn.meeting is not None
    first, second = drawn.lines
    assert crossing(first, second) == pytest.approx(drawn.meeting[0], abs=0.25)


def crossing(first: tuple[tuple[float, float], ...], second: tuple[tuple[float, float], ...]) -> float:
    """Where two drawn lines cross, found by walking along in small steps."""

    def height(line: tuple[tuple[float, float], ...], x: float) -> float:
        for (x0, y0), (x1, y1) in pairwise(line):
            if x0 <= x <= x1:
                return y0 + (y1 - y0) * (x - x0) / (x1 - x0)
        raise AssertionError("off the line")

    start, stop = second[0][0], first[-1][0]
    places = [start + (stop - start) * step / 1000 for step in range(1001)]
    return min(places, key=lambda x: abs(height(first, x) - height(second, x)))


# ------------------------------------------------------------------ what is accepted


@for_every(seed=SEEDS, key=KEYS)
def test_straight_lines_through_the_crosses_are_accepted_and_half_a_division_beside_them(
    make: Make, key: str, seed: int
) -> None:
    question = make(key, seed)
    part, end = reading(question), float(titre(question))
    assert part.accepted is not None
    low, high = map(float, part.accepted)
    readings = [(float(x), float(y)) for x, y in picture(part).readings]
    weak = key == "conductometric-weak"
    before = [one for one in readings if one[0] < end and (not weak or one[0] >= end / 4)]
    after = [one for one in readings if one[0] > end]
    (slope, start), (far, other) = (linear_regression(*zip(*side, strict=True)) for side in (before, after))
    straight = (other - start) / (slope - far)
    half = 2.5 / picture(part).across_divided
    assert low <= straight - half + 0.01 < straight + half - 0.01 <= high
    assert low <= end - half < end + half <= high
    assert high - low <= 3.2  # a reading that is plainly beside the lines is not accepted


@for_every(seed=SEEDS, key=KEYS)
def test_the_range_of_the_answer_takes_in_what_every_accepted_reading_leads_to(make: Make, key: str, seed: int) -> None:
    question = make(key, seed)
    part, worked = reading(question), question.worked
    assert part.accepted is not None
    exact = worked.exact / Fraction(titre(question))  # the answer is a multiple of the titre
    for end in part.accepted:
        assert worked.accepted.low.exact <= exact * Fraction(end) <= worked.accepted.high.exact
    width = worked.accepted.high.exact - worked.accepted.low.exact
    assert width < Fraction(1, 4) * worked.exact


@for_every(seed=SEEDS, key=KEYS)
def test_no_common_slip_hides_in_the_wider_range(make: Make, key: str, seed: int) -> None:
    question = make(key, seed)
    for wrong in question.mistakes.wrong:
        if any(slip.often == "high" and not slip.near for slip in wrong.slips) and wrong.hidden:
            narrow = abs(wrong.answer.number / question.worked.answer.number - 1)
            assert narrow < Decimal("0.01"), wrong  # it changes nothing


# ------------------------------------------------------------------ why


@pytest.mark.parametrize(
    ("flask", "titrant", "shape", "gone", "come"),
    [
        ("HCl", "NaOH", "falls", "H+", "Na+"),
        ("KOH", "HNO3", "falls", "OH-", "NO3-"),
        ("NaCl", "AgNO3", "level", "Cl-", "NO3-"),
        ("CH3COOH", "KOH", "rises", "CH3COOH", "K+"),
        ("NH3", "HCl", "rises", "NH3", "Cl-"),
    ],
)
def test_what_leaves_the_solution_and_what_takes_its_place(
    bank: Bank, flask: str, titrant: str, shape: str, gone: str, come: str
) -> None:
    found = exchange(bank, flask, titrant)
    assert (found.shape, found.gone, found.come) == (shape, gone, come)
    assert found.formed == {"CH3COOH": "CH3COO-", "NH3": "NH4+"}.get(flask, "")


def test_an_acid_that_gives_three_kinds_of_ion_is_not_asked_about(bank: Bank) -> None:
    with pytest.raises(Refusal):
        exchange(bank, "H2SO4", "Na2CO3")


@for_every(seed=SEEDS, key=IONS)
def test_the_readings_go_the_way_that_is_to_be_explained(make: Make, key: str, seed: int) -> None:
    question = make(key, seed)
    (part,) = (one for one in question.further_parts if one.kind == "why conductivity")
    drawn = picture(reading(question), answered=True)
    (x0, y0), (x1, y1) = drawn.lines[0][0], drawn.lines[0][-1]
    (u0, v0), (u1, v1) = drawn.lines[1][0], drawn.lines[1][-1]
    before, after = (y1 - y0) / (x1 - x0), (v1 - v0) / (u1 - u0)
    assert after > 0
    shape = part.demand.key.removeprefix("why conductivity ")
    expected = "level" if abs(before) < after / 10 else "falls" if before < 0 else "rises"
    assert shape == expected
    assert part.marks == 2


# ------------------------------------------------------------------ marking


def test_steps_from_an_accepted_reading_are_marked_right(bank: Bank, make: Make) -> None:
    for key in ("thermometric-titration", "conductometric-weak"):
        made = make(key, 2)
        part = reading(made)
        assert part.accepted is not None
        setting = Setting(
            title="Graphs", code="A-TEST-0000", levels=("structured",), version="A", fingerprint=bank.fingerprint
        )
        held = record(
            Paper(code=setting.code, version="A", questions=(made,), composer=Composer((made,), bank, setting))
        )
        (printed,) = record_of(bank, held).paper("A").questions
        strength = made.draw.given[q(f"concentration of {made.draw.variant.roles['titrant']}")].number

        def first(volume: Decimal, strength: Decimal = strength, printed: PrintedQuestion = printed) -> str:
            answer = read_answer(f"{float(strength * volume / 1000):.4g} mol")
            return Judge(printed, {}).judge({1: answer})[1].verdict

        low, high = part.accepted
        assert [first(low), first(titre(made)), first(high)] == ["right"] * 3
        assert first(low - 2) != "right"
        assert first(high + 2) != "right"


@for_each("key", KEYS)
def test_only_the_graph_makes_an_archetype_one_of_graphs(make: Make, key: str) -> None:
    question = make(key, 0)
    assert question.draw.archetype.graph
    assert not question.draw.runs
    assert replace(question.draw.archetype, further_parts=()).graph == ""
