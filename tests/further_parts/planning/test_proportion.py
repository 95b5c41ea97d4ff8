"""Plans of direct titrations follow from the first experiment by proportion, and are worth that and no more."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from fractions import Fraction

from further_parts.conftest import calculation_of
from molewright.bank.definitions import Bank
from molewright.chem.quantity import Quantity
from molewright.draw.refusal import Refusal
from molewright.draw.stream import Stream
from molewright.errors import Mistake
from molewright.further_parts.faults.conditions import is_back
from molewright.further_parts.pieces import Calculation, FurtherPart, Quotient, Reckoning, Strong
from molewright.further_parts.planning.one_number import FIGURES_SAID, ask_plan_excess, ask_plan_titre
from molewright.further_parts.planning.two_numbers import ask_plan_both
from molewright.question.check import Questions
from shared.banks import built_in
from shared.for_each import for_each

Calculate = Callable[..., Calculation]
KEYS = sorted(
    key
    for key, archetype in built_in().archetypes.items()
    if archetype.calculated
    and {"planning", "plan titre", "plan excess", "plan both"} & {*archetype.stretch, *archetype.further_parts}
)
MOST_MARKS = 4  # a percentage, two factors and their product; a chain back from the titre has 5 to 8
DRAWS = 4


def planned(key: str, bank: Bank, questions: Questions) -> Iterator[tuple[Calculation, FurtherPart]]:
    """The plans for a titre that some draws of a kind allow."""
    for number in range(DRAWS):
        calculation = calculation_of(
            questions, questions.make(bank.archetypes[key], Stream(f"proportion/{key}/{number}"))
        )
        for ask in (ask_plan_titre, ask_plan_excess, ask_plan_both):
            try:
                yield from ((calculation, part) for part in ask(calculation))
            except (Refusal, Mistake):  # these numbers allow no such plan
                continue


@for_each("key", KEYS, shares=2)
def test_a_plan_is_worth_what_it_takes_and_says_to_how_many_figures(key: str, bank: Bank, questions: Questions) -> None:
    for calculation, part in planned(key, bank, questions):
        if part.accepted is not None:
            assert dict(part.demand.slots)["figures"] == FIGURES_SAID
        if part.demand.key in ("plan mass", "plan strength") and not is_back(calculation.draw):
            assert part.marks <= MOST_MARKS


def value(piece: object) -> Fraction:
    match piece:
        case Quantity():
            return piece.exact
        case Strong(piece=Quantity() as quantity):
            return quantity.exact
        case Quotient(top=(top,), bottom=(bottom,)):
            return value(top) / value(bottom)
        case _:
            return Fraction(str(piece))


@for_each(
    ("key", "asked", "marks"),
    [
        ("direct-purity", "percentage", 3),
        ("direct-purity", "mass", 4),
        ("direct-solutions", "concentration", 3),
        ("standard-solution", "concentration", 3),
        ("ethanedioic-water", "water", 2),
        ("unknown-dibasic-acid", "molar mass", 2),
    ],
)
def test_each_line_of_a_proportion_comes_out(key: str, asked: str, marks: int, calculate: Calculate) -> None:
    (part,) = ask_plan_titre(calculate(key, asked))
    assert part.marks == marks
    assert part.hint is not None
    assert part.hint.key == "hint plan proportion"
    for point in part.points:
        (line,) = point.lines
        assert isinstance(line, Reckoning)
        found, comes = value(line.pieces[-1]), Fraction(1)
        for piece in line.pieces[:-2]:
            if isinstance(piece, Quantity | Quotient) or piece == "100":
                comes *= value(piece)
        assert abs(comes / found - 1) < Fraction(1, 150)


def test_a_back_titration_is_no_proportion(calculate: Calculate) -> None:
    (part,) = ask_plan_titre(calculate("back-portions", "percentage"))
    assert part.hint is not None
    assert part.hint.key == "hint plan"
    assert part.marks > MOST_MARKS
