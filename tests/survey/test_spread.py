"""What is found out about an archetype: the estimate against full counts, its error and the quartiles against textbooks."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from contextlib import suppress
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from itertools import product

import pytest

from molewright.bank.definitions import Archetype, Bank, Choice
from molewright.bench.perform import BenchFault, perform
from molewright.chem.quantity import Quantity, half_up, to_figures
from molewright.chem.units import Unit, parse_unit
from molewright.derivation.plans import Plans
from molewright.draw.chosen import Chosen, Draw, choose
from molewright.draw.draw import draw, draw_freely, draw_stated, possible_numbers
from molewright.draw.refusal import Refusal
from molewright.draw.stream import Stream
from molewright.question.check import Questions
from molewright.survey.counting import Estimate, estimate_distinct, hit_or_miss
from molewright.survey.lines import (
    FEW_SCENES,
    distinct,
    large,
    method_lines,
    mistakes,
    percent,
    reasons,
    refusals,
    stretch_parts,
    survey_lines,
)
from molewright.survey.spread import Distances, Survey, quartiles, survey, unlike
from shared.for_each import for_each
from shared.quantities import q

TRIES = 300
HIT, MISS = Fraction(1), Fraction(0)


# ------------------------------------------------------------------ archetypes small enough to be counted out


def narrowed(archetype: Archetype, choices: Mapping[str, Choice], asks: tuple[str, ...], scenes: int = 2) -> Archetype:
    """An archetype of one variant with other numbers to choose from."""
    variant = archetype.variants[0]
    assert set(choices) <= set(variant.choices)
    asked = tuple(ask for ask in variant.asks if ask.quantity in asks)
    assert len(asked) == len(asks)
    contexts = variant.contexts[:scenes]
    other = replace(variant, choices={**variant.choices, **choices}, asks=asked, contexts=contexts)
    return replace(archetype, variants=(other,), runs="mean")


def span(low: str, high: str, step: str, unit: str, fit: bool = False, hidden: bool = False) -> Choice:
    figures = 3 if "dm" in unit else None
    return Choice(
        options=(),
        low=Decimal(low),
        high=Decimal(high),
        step=Decimal(step),
        unit=parse_unit(unit),
        figures=figures,
        fit=fit,
        hidden=hidden,
    )


def direct(bank: Bank) -> Archetype:
    """25.0 cm³ of an acid: 100 and 3 concentrations, told to 0.05 cm³ where two concentrations often read alike."""
    return narrowed(
        bank.archetypes["small-direct"],
        {
            q("concentration of HCl"): span("0.0900", "0.0999", "0.0001", "mol dm⁻³", fit=True),
            q("concentration of NaOH"): span("0.0900", "0.100", "0.005", "mol dm⁻³"),
        },
        (q("concentration of HCl"), q("titre of NaOH")),
    )


def back(bank: Bank) -> Archetype:
    """A back titration in which the mass bends and the alkali is suited: 11 x 5 x 4 x 6 sets."""
    return narrowed(
        bank.archetypes["small-back"],
        {
            q("mass of limestone"): span("1.100", "1.300", "0.050", "g", fit=True),
            q("percentage of CaCO3 in limestone"): span("84.0", "85.0", "0.1", "%"),
            q("concentration of HCl"): span("0.880", "0.910", "0.010", "mol dm⁻³"),
            q("concentration of NaOH"): span("0.100", "0.125", "0.005", "mol dm⁻³"),
        },
        (q("percentage of CaCO3 in limestone"), q("concentration of HCl")),
        scenes=1,
    )


def two_hidden(bank: Bank) -> Archetype:
    """Two titrations for two concentrations, of which only one is asked for and neither is printed."""
    archetype = bank.archetypes["iron-and-iron"]
    variant = archetype.variants[0]
    ends = {
        q("concentration of Fe^2+"): ("0.0500", "0.0530", "0.0001"),
        q("concentration of Fe^3+"): ("0.0250", "0.0270", "0.0001"),
    }
    choices = {
        name: span(*ends[name], "mol dm⁻³", fit=variant.choices[name].fit, hidden=variant.choices[name].hidden)
        for name in ends
    }
    choices[q("concentration of KMnO4")] = Choice(options=(Quantity(Decimal("0.0130"), Unit.MOL_PER_DM3),))
    return narrowed(archetype, choices, (q("concentration of Fe^3+"),), scenes=1)


def written(choice: Choice) -> Iterator[Quantity]:
    """Every value of a choice, by counting up from its low end."""
    if choice.options:
        yield from choice.options
        return
    assert choice.low is not None
    assert choice.high is not None
    assert choice.step is not None
    number = choice.low
    while number <= choice.high:
        exact = Fraction(number)
        places = max(0, -int(choice.step.as_tuple().exponent))
        yield Quantity(to_figures(exact, choice.figures) if choice.figures else half_up(exact, places), choice.unit)
        number += choice.step


def printed_by_hand(questions: Questions, archetype: Archetype) -> set[frozenset[object]]:
    """Every question of an archetype of one variant, by performing each set of its numbers and keeping each rule, one by one.

    It shares no line with the drawing: windows and distances are put down again from what they are to do.
    """
    (variant,) = archetype.variants
    fixed = questions.fixed(variant)
    found: set[frozenset[object]] = set()
    values = {name: tuple(dict.fromkeys(written(choice))) for name, choice in variant.choices.items()}
    for numbers in product(*values.values()):
        given = dict(zip(values, numbers, strict=True))
        truth = {**fixed, **{name: quantity.in_base for name, quantity in given.items()}}
        try:
            readings = perform(variant.procedure, truth)
        except BenchFault:
            continue
        if not keeps_rules(archetype, truth, readings.titres, readings.used):
            continue
        for name, exact in readings.titres.items():
            given[name] = Quantity(half_up(Fraction(int(exact * 20 + Fraction(1, 2)), 20), 2), Unit.CM3)
        for ask in variant.asks:
            unseen = {name for name, choice in variant.choices.items() if choice.hidden} | {ask.quantity}
            shown = {name: quantity for name, quantity in given.items() if name not in unseen}
            made = Draw(
                archetype=archetype,
                variant=variant,
                context=variant.contexts[0],
                ask=ask,
                indicator=first(variant.indicators),
                given=shown,
                truth=truth,
                runs=(),
                stream=Stream("x"),
            )
            with suppress(Refusal):
                if passes(questions, questions.believable(made)):
                    found |= {frozenset({ask.quantity, scene.key, *shown.items()}) for scene in variant.contexts}
    return found


def first(indicators: tuple[str, ...]) -> str:
    return indicators[0] if indicators else ""


def keeps_rules(archetype: Archetype, truth: Mapping[str, Fraction], titres: Mapping[str, Fraction],
                used: Mapping[str, Fraction]) -> bool:  # fmt: skip
    low, high = archetype.windows.titre
    if not all(low <= one <= high for one in titres.values()):
        return False
    last = list(titres.values())[-1]
    if any(Fraction(95, 100) * pipette < last < Fraction(105, 100) * pipette for pipette in (Fraction(25),)):
        return False  # a titre that may be taken for the pipette's volume
    for share in used.values():
        if not archetype.windows.used[0] <= share <= archetype.windows.used[1]:
            return False
        if Fraction(100, 212) < share < Fraction(112, 212):
            return False  # what is left over may be taken for what reacted
        strength = truth[q("concentration of NaOH")]
        blank = 50 * truth[q("concentration of HCl")] / 10 / strength  # cm³, for a portion of a tenth
        if not blank / 50 < Fraction(92, 100) and not blank / 50 > Fraction(108, 100):
            return False  # subtracting the volumes would give the right answer
        meeting, step = blank * strength / 50, Fraction(5, 1000)
        if meeting * Fraction(92, 100) - step < strength < meeting / Fraction(92, 100) + step:
            return False
    return True


def passes(questions: Questions, made: Draw) -> bool:
    try:
        questions.judge(made)
    except Refusal:
        return False
    return True


@pytest.mark.thorough
@pytest.mark.parametrize("make", [direct, back])
def test_the_estimate_lies_within_four_standard_errors_of_the_full_count(
    make: Callable[[Bank], Archetype], small_bank: Bank
) -> None:
    archetype, questions = make(small_bank), fresh(small_bank)
    counted = printed_by_hand(questions, archetype)
    found = estimate_distinct(questions, archetype, TRIES)
    assert 30 < len(counted) < found.sets * 9 / 10
    assert 20 < found.passed < found.tries * 9 / 10
    assert abs(Decimal(len(counted)) - as_decimal(found.distinct)) <= 4 * found.error
    assert found.error < len(counted) // 5


def fresh(bank: Bank) -> Questions:
    """A question maker of a test's own: it knows variants by their identity, and those made here do not last."""
    return Questions(bank, Plans("narrowed", None))


def as_decimal(number: Fraction) -> Decimal:
    return Decimal(number.numerator) / Decimal(number.denominator)


@pytest.mark.thorough
def test_the_estimate_holds_where_two_numbers_are_hidden(bank: Bank) -> None:
    archetype, questions = two_hidden(bank), fresh(bank)
    (variant,) = archetype.variants
    chosen = Chosen(
        variant=variant,
        ask=variant.asks[0],
        context=variant.contexts[0],
        indicator=first(variant.indicators),
        table=False,
    )
    possible = possible_numbers(chosen)
    counted: set[frozenset[object]] = set()
    sets = 0
    for numbers in product(*possible.values()):
        try:
            told = dict(zip(possible, numbers, strict=True))
            stated = draw_stated(archetype, chosen, told, Stream("x"), questions.fixed(variant))
            made = questions.believable(stated)
        except Refusal:
            continue
        if passes(questions, made):
            counted.add(frozenset(made.given.items()))
            sets += 1
    found = estimate_distinct(questions, archetype, TRIES)
    assert sets > len(counted) > 50, "some sets are to print alike"
    assert abs(Decimal(len(counted)) - as_decimal(found.distinct)) <= 4 * found.error
    assert abs(Decimal(sets) - as_decimal(found.distinct)) > 4 * found.error, "sets that print alike would count twice"


@pytest.mark.parametrize("make", [direct, back])
def test_what_is_drawn_is_what_a_free_draw_may_come_upon(make: Callable[[Bank], Archetype], small_bank: Bank) -> None:
    archetype = make(small_bank)
    fixed = fresh(small_bank).fixed(archetype.variants[0])
    drawn, free = set(), set()
    for number in range(2500):
        stream = Stream(f"both/{number}")
        chosen = choose(archetype, stream)
        with suppress(Refusal):
            drawn.add(frozenset(draw(archetype, chosen, stream.branch("fit"), fixed).truth.items()))
        with suppress(Refusal):
            free.add(frozenset(draw_freely(archetype, chosen, stream.branch("free"), fixed).truth.items()))
    assert len(drawn) > 50
    assert len(free) > 50
    assert free <= set_of_all(archetype, fixed)
    assert drawn <= set_of_all(archetype, fixed)
    assert len(drawn & free) > len(free) / 2


def set_of_all(archetype: Archetype, fixed: Mapping[str, Fraction]) -> set[frozenset[tuple[str, Fraction]]]:
    (variant,) = archetype.variants
    chosen = Chosen(variant=variant, ask=variant.asks[0], context=variant.contexts[0], indicator="", table=False)
    possible = possible_numbers(chosen)
    found = set()
    for numbers in product(*possible.values()):
        told = dict(zip(possible, numbers, strict=True))
        with suppress(Refusal):
            found.add(frozenset(draw_stated(archetype, chosen, told, Stream("x"), fixed).truth.items()))
    return found


def test_a_number_that_two_steps_write_alike_is_one_value(small_bank: Bank) -> None:
    # 0.0995, 0.100, 0.1005 and 0.101 mol dm⁻³ to three figures: 0.1005 is written 0.101.
    archetype = narrowed(
        small_bank.archetypes["small-direct"],
        {q("concentration of HCl"): span("0.0995", "0.1020", "0.0005", "mol dm⁻³", fit=True)},
        (q("concentration of HCl"),),
    )
    variant = archetype.variants[0]
    possible = possible_numbers(
        Chosen(variant=variant, ask=variant.asks[0], context=variant.contexts[0], indicator="", table=False)
    )
    assert [str(one.number) for one in possible[q("concentration of HCl")]] == ["0.0995", "0.100", "0.101", "0.102"]


def test_every_number_of_a_question_is_among_the_possible_ones(bank: Bank, questions: Questions) -> None:
    for key in ("back-portions", "direct-expected-titre", "back-blank", "mass-for-a-standard", "iron-and-iron"):
        archetype = bank.archetypes[key]
        for number in range(10):
            made = questions.make(archetype, Stream(f"possible/{key}/{number}")).draw
            possible = possible_numbers(
                Chosen(variant=made.variant, ask=made.ask, context=made.context, indicator=made.indicator, table=False)
            )
            for name, values in possible.items():
                assert made.truth[name] in {value.in_base for value in values}, name
                assert len(set(values)) == len(values)
                assert list(values) == sorted(values, key=lambda value: value.in_base)


def test_an_estimate_is_the_same_every_time(small_bank: Bank, small_questions: Questions) -> None:
    archetype = small_bank.archetypes["small-back"]
    assert estimate_distinct(small_questions, archetype, 40) == estimate_distinct(small_questions, archetype, 40)


def test_rarer_hits_are_tried_for_longer(small_bank: Bank, small_questions: Questions) -> None:
    rare, common = small_bank.archetypes["small-back"], small_bank.archetypes["small-direct"]
    tried = [estimate_distinct(small_questions, archetype, 400) for archetype in (rare, common)]
    assert tried[0].passed / tried[0].tries < tried[1].passed / tried[1].tries
    assert tried[0].tries > tried[1].tries
    assert all(60 <= one.tries <= 400 for one in tried)


def test_scenes_multiply_the_questions(small_bank: Bank) -> None:
    once = narrowed(small_bank.archetypes["small-direct"], {}, (q("concentration of HCl"),), scenes=1)
    scenes = once.variants[0].contexts * 3
    thrice = replace(once, variants=(replace(once.variants[0], contexts=scenes),))
    single, several = (estimate_distinct(fresh(small_bank), archetype, 60) for archetype in (once, thrice))
    assert several.sets == 3 * single.sets
    assert several.distinct == 3 * single.distinct


# ------------------------------------------------------------------ the standard error


@pytest.mark.parametrize(
    ("yes", "asked", "times", "margin"),
    [
        # OpenStax, Introductory Statistics (2013), section 8.3, "A population proportion", the worked examples:
        (421, 500, "1.96", "0.032"),  # mobile phones, 95 % confidence
        (300, 500, "1.645", "0.036"),  # registered voters, 90 % confidence
    ],
)
def test_the_error_is_that_of_a_proportion_in_a_textbook(yes: int, asked: int, times: str, margin: str) -> None:
    found = hit_or_miss([HIT] * yes + [MISS] * (asked - yes), sets=1)
    assert found.distinct == Fraction(yes, asked)
    assert half_up(Fraction(found.error * Decimal(times)), 3) == Decimal(margin)


def test_the_error_grows_with_the_sets_and_shrinks_with_the_root_of_the_tries() -> None:
    few, many = (hit_or_miss([HIT, MISS, MISS, MISS] * times, sets=800) for times in (5, 20))
    assert few.distinct == many.distinct == 200
    assert few.error == pytest.approx(2 * many.error)
    assert hit_or_miss([HIT, MISS, MISS, MISS] * 5, sets=8000).error == pytest.approx(10 * few.error)


def test_sets_that_print_alike_share_one_count() -> None:
    found = hit_or_miss([Fraction(1, 2)] * 4 + [HIT] * 2 + [MISS] * 4, sets=100)
    assert (found.passed, found.distinct) == (6, Fraction(40))


@pytest.mark.parametrize("tries", [30, 100, 400])
def test_where_nothing_passes_the_bound_is_that_of_the_binomial(tries: int) -> None:
    # The exact bound is the share p with which nothing passes in one series of twenty: (1 - p) to the power of the tries = 0.05.
    exact = 1 - 0.05 ** (1 / tries)
    assert float(hit_or_miss([MISS] * tries, sets=1).most) == pytest.approx(exact, rel=0.06)


# ------------------------------------------------------------------ spread and distances


def test_the_quartiles_are_the_hinges_of_eleven_numbers() -> None:
    # J. W. Tukey, Exploratory Data Analysis (1977), chapter 2: the hinges are the medians of both halves, the middle one in each:
    # of 6, 7, 15, 36, 39, 40 and of 40, 41, 42, 43, 47, 49.
    numbers = [Fraction(number) for number in (6, 7, 15, 36, 39, 40, 41, 42, 43, 47, 49)]
    assert quartiles(numbers) == (Fraction(51, 2), Fraction(40), Fraction(85, 2))


def test_the_quartiles_of_one_number_are_that_number() -> None:
    assert quartiles([Fraction(7, 3)]) == (Fraction(7, 3),) * 3


def surveyed(questions: Questions, archetype: Archetype, count: int = 25) -> Survey:
    drawn = [questions.make(archetype, Stream(f"surveyed/{archetype.key}/{number}")) for number in range(count)]
    return survey(questions, archetype, drawn, count, {"slip": 5}, 40)


def test_answers_of_one_kind_and_unit_are_spread_together(small_bank: Bank, small_questions: Questions) -> None:
    archetype = small_bank.archetypes["small-back"]
    drawn = [small_questions.make(archetype, Stream(f"spread/{number}")) for number in range(40)]
    found = survey(small_questions, archetype, drawn, 40, {}, 1)
    assert {spread.name for spread in found.answers} == {"percentage", "mass", "concentration", "titre"}
    for spread in found.answers:
        answers = [
            question.worked.answer.number for question in drawn if question.draw.ask.quantity.what == spread.name
        ]
        assert (spread.least.number, spread.most.number) == (min(answers), max(answers))
        lower, middle, upper = (quartile.number for quartile in spread.quartiles)
        assert spread.least.number <= lower <= middle <= upper <= spread.most.number
        below = sum(answer <= lower for answer in answers)
        assert len(answers) / 4 - 1 <= below <= len(answers) / 4 + 2
    (titres,) = found.titres
    assert Decimal(18) <= titres.least.number <= titres.most.number <= Decimal(32)
    assert all(quartile.places == 2 for quartile in titres.quartiles)


def test_each_stage_has_its_own_spread_of_titres(bank: Bank, questions: Questions) -> None:
    found = surveyed(questions, bank.archetypes["back-blank"])
    assert [spread.name for spread in found.titres] == ["blank", "second"]
    assert found.titres[0].quartiles[1].number > found.titres[1].quartiles[1].number, "a blank takes more"


def test_the_distance_is_to_the_nearest_common_mistake(small_bank: Bank, small_questions: Questions) -> None:
    archetype = small_bank.archetypes["small-back"]
    question = small_questions.make(archetype, Stream("nearest"))
    found = survey(small_questions, archetype, [question], 1, {}, 1).distances
    right, accepted = question.worked.exact, question.worked.accepted
    single = [one for one in question.mistakes.every() if len(one.slips) == 1]
    common = [one.exact for one in single if one.slips[0].often != "low" and not one.slips[0].near]
    factor = question.worked.answer.exact / right
    outside = [
        wrong for wrong in common
        if not accepted.low.exact <= Fraction(to_figures(wrong * factor, question.worked.answer.figures)) <= accepted.high.exact
    ]  # fmt: skip
    assert outside
    assert found is not None
    assert float(found.nearest) == pytest.approx(float(min(abs(wrong / right - 1) for wrong in outside)), abs=0.01)
    assert found.nearest == found.least
    assert found.apart in (0, 1)


def test_samples_differ_in_substances_where_they_can(bank: Bank, questions: Questions) -> None:
    archetype = bank.archetypes["back-portions"]
    drawn = [questions.make(archetype, Stream(f"unlike/{number}")) for number in range(30)]
    picked = unlike(drawn)
    assert len(picked) == 3
    assert len({id(question.draw.variant) for question in picked}) == 3
    assert len({question.draw.context.key for question in picked}) == 3
    assert len({question.draw.ask.quantity.what for question in picked}) == 2
    assert unlike(drawn[:2]) == tuple(drawn[:2])


# ------------------------------------------------------------------ lines


def estimate(passed: int, tries: int, sets: int) -> Estimate:
    return hit_or_miss([HIT] * passed + [MISS] * (tries - passed), sets)


@pytest.mark.parametrize(
    ("found", "words"),
    [
        (estimate(100, 400, 4000), "about 1,000, standard error 9 % (100 of 400 sets of numbers passed)"),
        (estimate(0, 400, 4000), "fewer than 30, with 95 % confidence (none of 400 sets of numbers passed)"),
        (estimate(400, 400, 250), "about 250, standard error less than 1 % (400 of 400 sets of numbers passed)"),
    ],
)
def test_an_estimate_is_told_with_its_uncertainty(found: Estimate, words: str) -> None:
    assert distinct(found) == words


@for_each(
    ("count", "words"),
    [
        ("3", "3"), ("0.4", "1"), ("97.5", "98"), ("1449", "1,400"), ("99600", "100,000"), ("550000", "550,000"),
        ("1250000", "1.3 million"), ("26400000000", "26 thousand million"), ("4.1e13", "41 million million"),
        ("999999", "1,000,000"),
    ],
)  # fmt: skip
def test_a_large_number_is_told_to_two_figures(count: str, words: str) -> None:
    assert large(Fraction(Decimal(count))) == words


def test_shares_are_told_half_up() -> None:
    assert [percent(Fraction(share, 1000)) for share in (0, 14, 99, 125, 1000)] == [
        "0 %",
        "1.4 %",
        "9.9 %",
        "13 %",
        "100 %",
    ]


def test_refusals_are_told_by_rule_the_commonest_first() -> None:
    assert refusals(75, {"readings": 5, "slip": 20}) == "25 % of 100 draws (slip 20, readings 5)"
    assert refusals(40, {}) == "0 % of 40 draws"


def test_the_commonest_refusals_are_told_with_their_reason_and_what_to_do() -> None:
    refused = {"strength": 24, "slip": 16, "readings": 3, "window": 2}
    said = {"strength": "KMnO4 at 0.5 mol dm⁻³ is stronger", "slip": "11 for 10.98", "readings": "none fits"}
    assert reasons(refused, said) == [
        "strength, for example: KMnO4 at 0.5 mol dm⁻³ is stronger. Take weaker solutions.",
        "slip, for example: 11 for 10.98. Change the numbers that the mistake turns on, so that it leads to another answer.",
    ]
    assert reasons({}, {}) == []
    assert mistakes(None) == "none leads to another number"


@pytest.mark.parametrize("key", ["back-portions", "basicity", "mass-for-a-standard", "ph-curve", "back-blank"])
def test_the_lines_are_plain_words_that_fit_a_terminal(key: str, bank: Bank, questions: Questions) -> None:
    archetype = bank.archetypes[key]
    found = surveyed(questions, archetype, 6)
    lines = list(survey_lines(found, bank))
    assert lines[0] == f"{key}: {archetype.title}"
    assert all(line.startswith("  ") or not line for line in lines[1:])
    assert max(map(len, [*lines, *method_lines()])) <= 80
    told = "\n".join(lines)
    assert not set("{}<>\\") & set(told)
    assert "None" not in told
    assert "Fraction" not in told
    for label in ("distinct questions", "refused", "answers", "commoner mistakes", "stretch part"):
        assert sum(line.startswith(f"  {label}") for line in lines) == 1
    for question in found.samples:
        assert f"scene '{question.draw.context.key}'" in told
        assert question.draw.context.opening.split()[0] in told
    assert stretch_parts(found.stretched, found.tried) in " ".join(told.split())


def test_a_stretch_part_that_cannot_come_is_told_as_such(bank: Bank, questions: Questions) -> None:
    """Nothing is titrated where a solution is only prepared, so that no titre can be planned."""
    archetype = replace(bank.archetypes["mass-for-a-standard"], stretch=("planning", "describe"))
    found = surveyed(questions, archetype, 4)
    assert found.stretched == {"planning": 0, "describe": 4}
    assert stretch_parts(found.stretched, found.tried) == (
        "describe (in all of 4); never planning: these numbers do not allow it"
    )
    assert stretch_parts({}, 4) == "none"
    assert stretch_parts({"fault": 3}, 4) == "fault (in 3 of 4)"


def test_what_comes_at_the_stretch_level_is_among_what_is_told(bank: Bank, questions: Questions) -> None:
    archetype = bank.archetypes["back-portions"]
    found = surveyed(questions, archetype, 6)
    drawn = [questions.make(archetype, Stream(f"surveyed/{archetype.key}/{number}")) for number in range(6)]
    came = sum(len(questions.stretched(one).further_parts) > len(one.further_parts) for one in drawn)
    assert 0 < max(found.stretched.values()) <= came <= min(sum(found.stretched.values()), found.tried)


def test_few_scenes_are_told(bank: Bank, questions: Questions) -> None:
    plenty = surveyed(questions, bank.archetypes["back-portions"], 2)
    assert len(plenty.scenes) >= FEW_SCENES
    assert not any(line.startswith("  few scenes") for line in survey_lines(plenty, bank))
    few = replace(plenty, scenes=plenty.scenes[:2])
    told = " ".join(" ".join(survey_lines(few, bank)).split())
    assert f"few scenes 2 only ({', '.join(few.scenes)}): papers with more questions of this kind" in told


def test_mistakes_that_share_a_number_are_not_said_to_be_told_apart() -> None:
    every = Fraction(1)
    told = mistakes(
        Distances(nearest=Fraction(1, 10), least=Fraction(1, 20), hidden=Fraction(0), apart=every, shared=every)
    )
    assert "numbers that differ do so by the third figure in 100 % of questions" in told
    assert told.endswith("in 100 % two mistakes give one and the same number, and the scheme names both")


def test_a_sample_shows_every_number_that_a_pupil_is_given(small_bank: Bank) -> None:
    archetype = replace(small_bank.archetypes["small-back"], runs="mean")
    found = surveyed(fresh(small_bank), archetype, 4)
    told = " ".join(" ".join(survey_lines(found, small_bank)).split())
    for question in found.samples:
        for name, quantity in question.draw.given.items():
            assert quantity.number_text in told, name
        last = question.draw.variant.procedure.titrations[-1].titre
        assert (last in question.draw.given) != (question.draw.ask.quantity == last)
