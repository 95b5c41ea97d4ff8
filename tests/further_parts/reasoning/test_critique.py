"""Wrong solutions: one line is wrong, the others follow, and the wrong line is the one that is asked for."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from fractions import Fraction

from molewright.chem.quantity import Quantity
from molewright.derivation.worked import base_factor
from molewright.draw.stream import Stream
from molewright.further_parts.pieces import (
    Calculation,
    FurtherPart,
    Named,
    Piece,
    Quotient,
    Reckoning,
    Rows,
    Solved,
    Strong,
)
from molewright.further_parts.reasoning.critique import APART, ask_critique
from shared.for_each import for_each

Calculate = Callable[..., Calculation]
CASES = (("back-portions", "percentage"), ("direct-purity", "percentage"), ("direct-one-to-two", "concentration"),
         ("diluted-liquid", "mass concentration"))  # fmt: skip


def critiques(calculation: Calculation) -> Iterator[FurtherPart]:
    for number in range(25):
        yield from ask_critique(replace(calculation, stream=Stream(f"critique/{number}")))


def lines(part: FurtherPart) -> list[Piece]:
    (rows,) = part.shown
    assert isinstance(rows, Rows)
    return [row[1] for row in rows.rows]


def number(piece: Piece) -> Fraction:
    """The value of a printed number, fraction or plain text of digits."""
    match piece:
        case Quantity():
            return piece.exact
        case Strong(piece=Quantity() as quantity):
            return quantity.exact
        case Quotient(top=top, bottom=bottom):
            return value(top) / value(bottom)
        case str():
            return Fraction(piece)
        case _:
            raise AssertionError(f"no number: {piece}")


def value(pieces: tuple[Piece, ...]) -> Fraction:
    """What a printed right side comes to, by the order of operations: a small calculator that knows nothing of slips."""
    total, product, sign = Fraction(0), Fraction(1), 1
    for piece in (*pieces, "+"):
        if piece in ("+", "−"):
            total += sign * product
            product, sign = Fraction(1), 1 if piece == "+" else -1
        elif piece != "×":
            product *= number(piece)
    return total


@for_each(("key", "asked"), CASES)
def test_the_wrong_line_is_the_only_one_that_is_not_a_relation_of_the_experiment(
    key: str, asked: str, calculate: Calculate
) -> None:
    for part in critiques(calculate(key, asked)):
        printed = lines(part)
        wrong = [index for index, line in enumerate(printed, 1) if isinstance(line, Reckoning)]
        assert [f"line {index}" for index in wrong] == [part.points[0].answer]
        assert all(isinstance(line, Solved) for index, line in enumerate(printed, 1) if index not in wrong)


@for_each(("key", "asked"), CASES)
def test_the_printed_numbers_of_every_line_come_to_what_it_finds(key: str, asked: str, calculate: Calculate) -> None:
    for part in critiques(calculate(key, asked)):
        for line in lines(part):
            if isinstance(line, Solved):
                written = {name: quantity.exact for name, quantity in line.written}
                assert abs(line.relation.solved(line.target, written) / line.found.exact - 1) < Fraction(1, 500)
            elif isinstance(line, Reckoning):
                signs = [at for at, piece in enumerate(line.pieces) if piece == "="]
                side = line.pieces[signs[0] + 1 : signs[1]]
                if all(isinstance(piece, str | Quantity | Quotient) for piece in side):
                    assert abs(value(side) / number(line.pieces[signs[1] + 1]) - 1) < Fraction(1, 500)


@for_each(("key", "asked"), CASES)
def test_the_wrong_answer_is_plainly_another_and_the_right_one_is_asked(
    key: str, asked: str, calculate: Calculate
) -> None:
    calculation = calculate(key, asked)
    for part in critiques(calculation):
        assert part.points[-1].answer == calculation.worked.answer
        last = lines(part)[-1]
        shown = last.rounded or last.found if isinstance(last, Solved) else number(last.pieces[-1])  # type: ignore[union-attr]
        wrong = shown.exact if isinstance(shown, Quantity) else shown
        right = calculation.worked.exact * base_factor(calculation.worked.answer)
        assert abs(wrong / right - 1) > APART / 2


def test_several_kinds_of_mistake_occur(calculate: Calculate) -> None:
    found = {str(part.points[1].answer) for part in critiques(calculate("back-portions", "percentage"))}
    assert len(found) >= 5


def test_slips_whose_line_nobody_would_write_are_left_out(calculate: Calculate) -> None:
    calculation = calculate("back-portions", "percentage")
    names = {slip.name for slip in calculation.bank.slips if not slip.written}
    assert len(names) == 5
    assert not names & {str(part.points[1].answer) for part in critiques(calculation)}


@for_each(("key", "asked"), CASES)
def test_the_demand_says_what_the_student_was_asked_to_find(key: str, asked: str, calculate: Calculate) -> None:
    calculation = calculate(key, asked)
    for part in critiques(calculation):
        assert dict(part.demand.slots)["quantity"] == Named(calculation.worked.plan.asked)
