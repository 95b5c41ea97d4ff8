"""Worked answers: what is printed, what earns a mark, and that nobody who works properly falls outside the accepted range."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from decimal import ROUND_HALF_UP, Context, Decimal
from fractions import Fraction
from typing import Any

import pytest

from molewright.bank.definitions import Ask, Bank
from molewright.chem.quantity import in_standard_form, to_figures
from molewright.chem.units import Unit, parse_unit
from molewright.derivation.derive import plan
from molewright.derivation.worked import Worked, on_a_knife_edge, work_out
from molewright.draw.stream import Stream
from molewright.experiment.quantities import Name
from molewright.experiment.relations.relating import relate
from molewright.question.check import Question, Questions
from shared.for_each import for_each
from shared.kinds import each_kind
from shared.quantities import q

PERCENTAGE = q("percentage of CaCO3 in limestone")
Work = Callable[..., Worked]
Dozen = Callable[[str], Sequence[Question]]


@pytest.fixture(scope="module")
def work(all_by_hand: Any, describe: Any, molar: dict[Name, Fraction]) -> Work:
    """Work one of the experiments out, asking for one of its numbers."""

    def worked(example: str, ask: Ask, **options: Any) -> Worked:
        by_hand = all_by_hand[example]
        system = relate(describe(by_hand.lines))
        name, titre = by_hand.titre
        known = {**{one: molar[one] for one in system.fixed}, **by_hand.exact(), name: Fraction(titre)}
        known |= options.pop("instead", {})
        leave_out = ask.quantity if ask.quantity in known else options.pop("hide")
        del known[leave_out]
        the_plan = plan(system, set(known) - set(system.fixed), ask.quantity)
        return work_out(system, the_plan, known, ask, **options)

    return worked


@pytest.fixture(scope="module")
def limestone(work: Work) -> Worked:
    return work("limestone in portions", Ask(PERCENTAGE))


def by_hand_rounding_every_line_to(figures: int) -> Decimal:
    """1.264 g of limestone, worked on paper with every line rounded to so many figures."""
    paper = Context(prec=figures, rounding=ROUND_HALF_UP)
    titrant = paper.divide(paper.multiply(Decimal("0.105"), Decimal("24.80")), Decimal(1000))
    left = paper.multiply(titrant, Decimal(10))
    added = paper.divide(paper.multiply(Decimal("1.00"), Decimal("50.0")), Decimal(1000))
    analyte = paper.divide(paper.subtract(added, left), Decimal(2))
    mass = paper.multiply(analyte, Decimal("100.1"))
    return paper.divide(paper.multiply(mass, Decimal(100)), Decimal("1.264"))


def test_the_limestone_example_worked_by_hand_accepts_94_8_to_95_0(limestone: Worked) -> None:
    assert str(limestone.answer) == "94.9\N{NO-BREAK SPACE}%"
    assert (str(limestone.accepted.low.number), str(limestone.accepted.high.number)) == ("94.8", "95.0")


@pytest.mark.parametrize("figures", [3, 4, 5, 28])
def test_working_rounded_to_three_or_more_figures_is_accepted(limestone: Worked, figures: int) -> None:
    assert limestone.accepted.holds(by_hand_rounding_every_line_to(figures))


@for_each(
    "wrong",
    ["188", "190", "379", "103", "198", "99.8", "146", "105", "5.13", "94.1"],
)
def test_no_common_wrong_answer_of_the_limestone_example_is_accepted(limestone: Worked, wrong: str) -> None:
    # worked by hand: no scaling, ratio ignored or inverted, left over taken as reacted, volumes subtracted, rough run included
    assert not limestone.accepted.holds(Decimal(wrong))


def test_the_steps_of_the_limestone_example_are_printed_as_on_paper(limestone: Worked) -> None:
    shown = [str(step.shown).replace("\N{NO-BREAK SPACE}", " ") for step in limestone.steps]
    assert shown == [
        "2.604 × 10⁻³ mol", "2.604 × 10⁻³ mol", "2.604 × 10⁻² mol", "5.000 × 10⁻² mol", "2.396 × 10⁻² mol", "1.198 × 10⁻² mol",
        "1.199 g", "94.87 %",
    ]  # fmt: skip


def test_an_aliquot_scaled_back_titration_to_a_percentage_has_seven_marks(limestone: Worked) -> None:
    # common practice of published schemes: amount of titrant, scaled, total, reacted, analyte, mass, percentage
    assert limestone.marks == 7
    assert [point.steps[-1].variable.name for point in limestone.points] == [
        q("amount of NaOH in titre"),
        q("amount of HCl left over in flask"),
        q("amount of HCl added in flask"),
        q("amount of HCl reacted in flask"),
        q("amount of CaCO3 in limestone"),
        q("mass of CaCO3 in limestone"),
        PERCENTAGE,
    ]


def test_a_joined_step_shares_the_mark_of_the_next(work: Work) -> None:
    worked = work("limestone in portions", Ask(PERCENTAGE), joined=frozenset({"mass within"}))
    assert worked.marks == 6
    assert [step.variable.kind for step in worked.points[-1].steps] == ["mass within", "percentage"]


def test_a_direct_titration_has_three_marks_and_a_fourth_for_the_mean_titre(work: Work) -> None:
    # common practice: cV/1000, reacting ratio, concentration; before them the mean of the concordant titres
    ask = Ask(q("concentration of HCl"))
    assert work("an acid and an alkali", ask).marks == 3
    with_table = work("an acid and an alkali", ask, table=True)
    assert with_table.marks == 4
    assert with_table.points[0].steps == ()


def test_a_one_to_one_step_shares_the_mark_before_it_in_a_question_with_a_table_too(work: Work) -> None:
    # the mean titre; n = cV of the alkali and, 1:1, of the acid left over; added; reacted; analyte; mass; percentage
    worked = work("the whole sample", Ask(q("percentage of CaCO3 in chalk")), table=True)
    assert [len(point.steps) for point in worked.points] == [0, 2, 1, 1, 1, 1, 1]
    assert worked.points[1].steps[-1].variable.name == q("amount of HCl left over in flask")


def test_every_step_stands_in_exactly_one_mark_point_in_order(limestone: Worked) -> None:
    assert [step for point in limestone.points for step in point.steps] == list(limestone.steps)
    assert [point.number for point in limestone.points] == list(range(1, limestone.marks + 1))


def test_the_number_of_water_molecules_is_whole(work: Work) -> None:
    worked = work("water in washing soda", Ask(q("water in Na2CO3.xH2O")))
    assert str(worked.answer) == "10"
    assert worked.exact == 10


@pytest.mark.parametrize(("figures", "printed"), [(2, "95"), (3, "94.9"), (4, "94.87"), (5, "94.873")])
def test_the_answer_has_the_figures_asked_for(work: Work, figures: int, printed: str) -> None:
    assert work("limestone in portions", Ask(PERCENTAGE, figures=figures)).answer.number_text == printed


def test_the_last_line_has_the_figures_from_which_its_reader_rounds_to_the_answer(work: Work) -> None:
    # 24.00 cm3 of 0.09900625: 0.095046 on paper, 0.0950 to three figures; from 0.09505 a reader would come to 0.0951
    worked = work(
        "an acid and an alkali",
        Ask(q("concentration of HCl")),
        instead={q("concentration of NaOH"): Fraction("0.09900625")},
    )
    assert [step.shown.number_text for step in worked.steps][-1] == "0.095046"
    assert worked.answer.number_text == "0.0950"


def test_the_answer_is_printed_in_the_unit_asked_for(work: Work) -> None:
    worked = work("limestone in portions", Ask(q("mass of CaCO3 in limestone"), unit=Unit.MG), hide=PERCENTAGE)
    assert (str(worked.answer.number), worked.answer.unit) == ("1.20E+3", Unit.MG)
    assert worked.accepted.low.number <= Decimal("1199.198") <= worked.accepted.high.number
    assert worked.accepted.low.unit == worked.accepted.high.unit == Unit.MG


def test_the_number_of_water_molecules_is_accepted_as_itself_only(work: Work) -> None:
    accepted = work("water in washing soda", Ask(q("water in Na2CO3.xH2O"))).accepted
    assert {accepted.low.number, accepted.high.number} == {Decimal(10)}


def test_a_number_just_beside_a_rounding_boundary_is_on_a_knife_edge(work: Work) -> None:
    answer = work("limestone in portions", Ask(PERCENTAGE)).answer
    assert on_a_knife_edge(Fraction("94.8501"), answer)
    assert on_a_knife_edge(Fraction("94.8499"), answer)
    assert not on_a_knife_edge(Fraction("94.87"), answer)
    assert not on_a_knife_edge(Fraction("94.90"), answer)


# ------------------------------------------------------------------ over the built-in archetypes


every_kind = each_kind()


@every_kind
def test_a_pupil_who_rounds_every_line_is_accepted(key: str, dozen: Dozen) -> None:
    for question in dozen(key):
        worked = question.worked
        for figures in (3, 4, 6):
            paper = Context(prec=figures, rounding=ROUND_HALF_UP)
            values = {
                name: Decimal(q.in_base.numerator) / q.in_base.denominator for name, q in question.draw.given.items()
            }
            for name in question.system.fixed:
                exact = question.draw.truth[name]
                values[name] = Decimal(exact.numerator) / exact.denominator
            for step in worked.steps:
                if step.relation is None:
                    break
                values[step.variable.name] = on_paper(step.relation, step.variable.name, values, paper)
            else:
                answer = values[worked.plan.asked]
                if step.variable.whole:
                    answer = answer.to_integral_value(ROUND_HALF_UP)
                elif step.variable.simple:  # 2.49 is written as 5 : 2
                    ratio = Fraction(answer).limit_denominator(4)
                    answer = Decimal(ratio.numerator) / ratio.denominator
                if worked.answer.unit == step.variable.unit:
                    assert worked.accepted.holds(answer), f"{answer} to {figures} figures, {worked.accepted}"


def on_paper(relation: Any, target: str, values: dict[str, Decimal], paper: Context) -> Decimal:
    """One line of working with a calculator, rounded at its end."""
    own = Decimal(1)
    if relation.form == "sum":
        found = Decimal(0)
        for name, share in relation.quantities:
            part = Decimal(share.numerator) / share.denominator
            if name == target:
                own = part
            else:
                found += part * values[name]
        return paper.plus(-found / own)
    if relation.form == "logarithm":
        first, second = relation.names
        if target == second:
            return paper.power(10, -values[first])
        return (
            -values[second].log10().quantize(Decimal(1).scaleb(1 - paper.prec))
        )  # a pH has its figures after the point
    product = Fraction(relation.factor)  # exact, so that 7.89 ÷ 60.0 is 0.1315 and no hair less
    for name, power in relation.quantities:
        if name == target:
            own = Decimal(int(power))
        else:
            product *= Fraction(values[name]) ** int(power)
    product = 1 / product if own > 0 else product
    if abs(own) == 2:
        return paper.sqrt(Decimal(product.numerator) / product.denominator)
    return to_figures(product, paper.prec)


@every_kind
def test_the_accepted_range_holds_the_answer_and_is_narrow(key: str, dozen: Dozen) -> None:
    for question in dozen(key):
        worked = question.worked
        assert worked.accepted.holds(worked.answer.number)
        spread = float((worked.accepted.high.number - worked.accepted.low.number) / worked.answer.number)
        least_sure = bool(question.draw.archetype.graph)  # the titre is read from a graph
        metered = bool(question.draw.variant.procedure.meters)  # a quadratic equation leads elsewhere, and is right too
        small = worked.steps[-1].variable.kind in ("impurity", "impurity mass")  # what is left of a large difference
        most = 1.0 if small else 0.2 if least_sure or question.draw.ask.figures <= 2 else 0.1 if metered else 0.05
        assert spread < most, f"{worked.accepted}"


@every_kind
def test_the_answer_is_the_exact_value_rounded_half_up(key: str, dozen: Dozen) -> None:
    for question in dozen(key):
        worked = question.worked
        if worked.steps[-1].variable.whole or worked.answer.unit != worked.steps[-1].variable.unit:
            continue
        exact = Context(prec=60).divide(Decimal(worked.exact.numerator), Decimal(worked.exact.denominator))
        if worked.steps[-1].variable.logarithmic:
            assert worked.answer.number == exact.quantize(Decimal("0.01"), ROUND_HALF_UP)
            continue
        few = Context(prec=question.draw.ask.figures, rounding=ROUND_HALF_UP)
        assert worked.answer.number == few.plus(exact)
        assert worked.answer.figures == question.draw.ask.figures


@every_kind
def test_every_step_rests_only_on_what_is_printed_or_found_before_it(key: str, dozen: Dozen) -> None:
    for question in dozen(key):
        known = {*question.draw.given, *question.system.fixed}
        for step in question.worked.steps:
            if step.relation is not None:
                assert set(step.relation.names) - {step.variable.name} <= known
            known.add(step.variable.name)


@every_kind
def test_what_a_mark_point_finds_last_rests_on_all_that_it_finds_before(key: str, dozen: Dozen) -> None:
    """So that the part that asks for it asks for all of them; what is as much as another is asked for with that."""
    for question in dozen(key):
        for point in filter(lambda one: one.steps, question.worked.points):
            steps = {step.variable.name: step for step in point.steps}
            last = point.steps[-1].variable.name
            rested_on: set[Name] = set()
            waiting = [last]
            while waiting:
                relation = steps[waiting.pop()].relation
                used = set(relation.names) & set(steps) - rested_on if relation is not None else set()
                rested_on |= used
                waiting += used
            apart = [step for name, step in steps.items() if name not in rested_on and name != last]
            assert all(step.exact == steps[last].exact for step in apart)


@every_kind
def test_marks_are_one_a_mark_point_and_never_more_than_nine(key: str, dozen: Dozen) -> None:
    for question in dozen(key):
        worked = question.worked
        assert worked.marks == len(worked.points) <= 9
        assert question.marks >= 2
        assert [step for point in worked.points for step in point.steps] == list(worked.steps)


def test_a_ph_is_told_to_two_places(bank: Bank, questions: Questions) -> None:
    worked = questions.make(bank.archetypes["alkali-ph-from-titre"], Stream("places")).worked
    assert worked.steps[-1].variable.logarithmic
    assert worked.answer.places == 2


def test_the_mass_of_a_pure_sample_is_taken_as_it_is_and_earns_no_mark(
    small_bank: Bank, small_questions: Questions
) -> None:
    # the mass that was weighed is that of the substance: the first mark is for its amount, n = m/M
    question = small_questions.make(small_bank.archetypes["small-standard"], Stream("pure"))
    first = question.worked.points[0].steps[0]
    assert first.variable.kind == "amount"
    assert first.relation is not None
    assert set(first.relation.names) - {first.variable.name} <= {*question.draw.given, *question.system.fixed}
    masses = [step for step in question.worked.steps if step.variable.kind in ("mass", "mass within")]
    assert not masses


@pytest.mark.parametrize(
    ("number", "unit", "scientific"),
    [
        ("0.0002272", "mol dm⁻³", True),
        ("0.001", "mol dm⁻³", False),
        ("0.0999", "mol", True),
        ("0.1", "mol", False),
        ("0.0002272", "g", False),
    ],
)
def test_small_amounts_and_very_small_concentrations_are_in_standard_form(
    number: str, unit: str, scientific: bool
) -> None:
    assert in_standard_form(Fraction(number), parse_unit(unit)) == scientific
