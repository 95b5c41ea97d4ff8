"""A person's own numbers: printed as they are written, unusual ones told, and refused where the experiment cannot be."""

from __future__ import annotations

from fractions import Fraction

import pytest

from molewright.bank.definitions import Bank
from molewright.chem.quantity import parse_quantity
from molewright.derivation.plans import Plans
from molewright.draw.stream import Stream
from molewright.errors import Mistake, Where
from molewright.order.lines import OrderLine
from molewright.papers.line_choice import choose_for
from molewright.question.check import Questions
from molewright.question.own_numbers import OwnQuestion, named_numbers, numbers_of, with_numbers
from shared.for_each import for_each

HERE = Where("x.order.yaml", 2)
LIMESTONE = OrderLine(
    kind="back-portions", roles=(("material", "limestone"), ("reagent", "HCl"), ("titrant", "NaOH")), asked="percentage"
)
KEYS = ("back-portions", "direct-solutions", "standard-solution", "back-whole", "direct-purity")


def own(bank: Bank, plans: Plans, line: OrderLine, numbers: dict[str, str], seed: str = "1") -> OwnQuestion:
    questions = Questions(bank, plans)
    archetype = bank.archetypes[line.kind]
    chosen = choose_for(archetype, line, Stream("scene"))
    named = named_numbers(questions.system(chosen.variant), chosen, tuple(numbers.items()), HERE)
    return with_numbers(questions, archetype, chosen, named, Stream(seed), HERE)


def test_the_numbers_are_printed_as_they_are_written(bank: Bank, plans: Plans) -> None:
    made = own(bank, plans, LIMESTONE, {"mass of limestone": "1.264 g", "titre of NaOH": "24.75 cm3"}).question
    told = dict(numbers_of(made))
    assert told["mass of limestone"] == "1.264 g"
    assert told["titre of NaOH"] == "24.75 cm³"


def test_a_whole_experiment_gives_the_answer_that_is_worked_by_hand(bank: Bank, plans: Plans) -> None:
    """1.264 g of limestone in 50.0 cm³ of 1.00 mol dm⁻³ HCl, made up to 250 cm³; 25.0 cm³ take 24.80 cm³ of 0.105 mol dm⁻³ NaOH.

    HCl added 0.0500 mol, left over 10 × 0.105 × 0.02480 = 0.02604 mol; CaCO₃ half of 0.02396 mol, × 100.1 = 1.199198 g; 94.9 %.
    """
    numbers = {
        "mass of limestone": "1.264 g",
        "concentration of HCl": "1.00 mol dm-3",
        "volume of HCl": "50.0 cm3",
        "made-up volume": "250 cm3",
        "volume of aliquot": "25.0 cm3",
        "concentration of NaOH": "0.105 mol dm-3",
        "titre of NaOH": "24.80 cm3",
    }
    made = own(bank, plans, LIMESTONE, numbers)
    assert made.question.worked.exact == Fraction(1199198, 1264000) * 100
    assert str(made.question.worked.answer.number) == "94.9"
    assert dict(numbers_of(made.question)) == {
        key: str(parse_quantity(text)).replace("\xa0", " ") for key, text in numbers.items()
    }


@pytest.mark.thorough
def test_what_is_open_is_drawn_so_that_nothing_is_unusual_where_that_can_be(bank: Bank, plans: Plans) -> None:
    for seed in range(6):
        made = own(bank, plans, LIMESTONE, {"mass of limestone": "1.410 g"}, str(seed))
        assert made.unusual == ()
        made = own(bank, plans, LIMESTONE, {"titre of NaOH": "22.35 cm3"}, str(seed))
        assert made.unusual == ()
        assert dict(numbers_of(made.question))["titre of NaOH"] == "22.35 cm³"


def test_a_titre_like_the_pipettes_volume_is_told_and_the_rest_is_drawn_about_it(bank: Bank, plans: Plans) -> None:
    """With 24.75 cm³ beside a pipette of 25.0 cm³ a pupil who takes one for the other is hardly seen."""
    made = own(bank, plans, LIMESTONE, {"titre of NaOH": "24.75 cm3"})
    assert made.unusual
    assert 80 <= made.question.worked.exact <= 98  # what the banks say of limestone


UNUSUAL = {
    "a mass": ({"mass of limestone": "0.2 g"}, "the mass of limestone is drawn from"),
    "a titre": ({"titre of NaOH": "8.15 cm3"}, "the titre of NaOH is drawn from"),
    "a volume": ({"made-up volume": "2000 cm3"}, "the made-up volume is drawn from"),
}


@pytest.mark.parametrize("what", UNUSUAL)
def test_an_unusual_number_is_told_and_printed_all_the_same(what: str, bank: Bank, plans: Plans) -> None:
    numbers, said = UNUSUAL[what]
    made = own(bank, plans, LIMESTONE, numbers)
    assert any(said in sentence for sentence in made.unusual)
    told = dict(numbers_of(made.question))
    assert all(told[name].startswith(text.partition(" ")[0]) for name, text in numbers.items())


IMPOSSIBLE = {
    "no such quantity": ({"flour": "3 g"}, "no quantity 'flour'"),
    "what is asked for": ({"percentage of CaCO3": "92 %"}, "is what this question asks for"),
    "another unit": ({"mass of limestone": "3 cm3"}, "expected a number of: g, mg"),
    "nothing": ({"mass of limestone": "0 g"}, "expected a number above 0"),
    "more than a burette": ({"titre of NaOH": "90 cm3"}, "a titre of 90\N{NO-BREAK SPACE}cm³; expected at most 50 cm³"),
    "more left than added": (
        {
            "titre of NaOH": "49.0 cm3",
            "concentration of NaOH": "1.00 mol dm-3",
            "concentration of HCl": "0.100 mol dm-3",
        },
        "the experiment cannot be",
    ),
    "more than all of it": ({"mass of limestone": "0.0100 g", "titre of NaOH": "15.00 cm3"}, "comes out at"),
}


@pytest.mark.parametrize("what", IMPOSSIBLE)
def test_what_cannot_be_is_refused_with_its_line(what: str, bank: Bank, plans: Plans) -> None:
    numbers, said = IMPOSSIBLE[what]
    with pytest.raises(Mistake) as caught:
        own(bank, plans, LIMESTONE, numbers)
    assert said in str(caught.value)
    assert str(caught.value).startswith("x.order.yaml:2")


def test_a_unit_of_the_same_kind_is_printed_as_the_question_prints_it(bank: Bank, plans: Plans) -> None:
    made = own(bank, plans, LIMESTONE, {"mass of limestone": "1410 mg"}).question
    assert dict(numbers_of(made))["mass of limestone"] == "1.410 g"


@for_each("key", KEYS)
def test_the_numbers_of_a_drawn_question_make_it_again(key: str, bank: Bank, plans: Plans) -> None:
    """Nothing is unusual in what a draw has come upon, and the answer is the same."""
    questions = Questions(bank, plans)
    archetype = bank.archetypes[key]
    for seed in range(4):
        chosen = choose_for(archetype, OrderLine(), Stream(f"{key}/{seed}"))
        drawn = questions.make(archetype, Stream(f"{key}/{seed}/draw"), chosen)
        named = named_numbers(questions.system(chosen.variant), chosen, numbers_of(drawn), HERE)
        made = with_numbers(questions, archetype, chosen, named, Stream("again"), HERE)
        assert made.question.draw.given == drawn.draw.given
        assert made.question.worked.exact == drawn.worked.exact
        assert [one for one in made.unusual if "readings" not in one and "rough" not in one] == []
