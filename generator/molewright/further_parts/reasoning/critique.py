"""A calculation comes in; a part goes out with a wrong solution to find the mistake in: one slip of the slip engine, worked on.

The wrong line is the slip's own algebra with the numbers of the question in it; every later line follows from its value.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction

from molewright.bank.algebra import Tree
from molewright.bank.definitions import Slip
from molewright.chem.quantity import Quantity, figures_to_show, to_figures
from molewright.chem.units import Unit
from molewright.derivation.worked import STEP_FIGURES, base_factor, shown_value
from molewright.draw.refusal import Refusal
from molewright.experiment.quantities import Name
from molewright.experiment.relations.variables import Relation
from molewright.further_parts.pieces import (
    Calculation,
    FurtherPart,
    FurtherPoint,
    Lettered,
    Named,
    Piece,
    Quotient,
    Reckoning,
    Rows,
    Space,
    Strong,
    said,
    writing_lines,
)
from molewright.further_parts.printed_working import as_written, molar_mass, page, step_line
from molewright.slips.mistaken_route import Applied
from molewright.slips.slip_words import Key

APART = Fraction(5, 100)  # the wrong answer must be plainly another one
_HANDY = (Fraction(1, 1000), Fraction(100000))


@dataclass(frozen=True, slots=True)
class Term:
    """A product of quantities: a plain number, what stands above the line and what stands below it."""

    number: Fraction = Fraction(1)
    powers: Mapping[Key, int] = field(default_factory=dict)  # of quantities, and of facts by their words

    def times(self, other: Term, sign: int = 1) -> Term:
        """The product, or with sign −1 the quotient; what stands above and below cancels."""
        powers = dict(self.powers)
        for name, power in other.powers.items():
            powers[name] = powers.get(name, 0) + sign * power
        number = self.number * (other.number if sign == 1 else 1 / other.number)
        return Term(number, {name: power for name, power in powers.items() if power})


Sum = tuple[tuple[int, Term], ...]
"""Terms with their signs."""


def ask_critique(calculation: Calculation) -> tuple[FurtherPart, ...]:
    """A wrong solution: which line, why, and the right answer."""
    found = [one for one in calculation.mistakes.table.applied if _serves(calculation, one)]
    if not found:
        raise Refusal("critique", "no slip gives a solution that can be printed")
    common = [one for one in found if one.slip.often == "high"]
    pool = common if common and calculation.stream.chance(70) else found
    return (_part(calculation, calculation.stream.pick(pool)),)


def _serves(calculation: Calculation, applied: Applied) -> bool:
    """Whether a slip is made in one line, can be written down, and leads to a believable answer that is plainly wrong."""
    slip, worked = applied.slip, calculation.worked
    if len(applied.finds) != 1 or applied.finds[0].index < 0 or slip.often == "low" or not slip.written:
        return False
    if any(step.relation is None for step in worked.steps):
        return False
    try:
        course = _course(calculation, applied)
    except ZeroDivisionError:
        return False
    wrong, right = course[worked.plan.asked], worked.exact
    if any(course[step.variable.name] <= 0 for step in worked.steps) or abs(wrong / right - 1) < APART:
        return False
    if not _HANDY[0] <= wrong * base_factor(worked.answer) < _HANDY[1]:
        return False
    return _wrong_side(calculation, applied, course) is not None


def _course(calculation: Calculation, applied: Applied) -> dict[Key, Fraction]:
    return calculation.mistakes.table.course(applied, calculation.mistakes.right)


# ------------------------------------------------------------------ the wrong line


def _wrong_side(calculation: Calculation, applied: Applied, course: Mapping[Key, Fraction]) -> tuple[Piece, ...] | None:
    """The right side of the wrong line, or None where the slip's algebra is no plain sum of products."""
    index = applied.finds[0].index
    step = calculation.worked.steps[index]
    target = step.variable.name
    for _, tree in applied.slip.instead:
        total = _terms(calculation, index, tree)
        if total is None:
            continue
        value = sum((sign * _worth(term, course) for sign, term in total), Fraction(0))
        if value == course[target]:
            return _printed(calculation, total, course)
    return None


def _worth(term: Term, course: Mapping[Key, Fraction]) -> Fraction:
    total = term.number
    for name, power in term.powers.items():
        total *= course[name] ** power
    return total


def _terms(calculation: Calculation, index: int, tree: Tree) -> Sum | None:
    head = tree[0]
    if head == "word":
        return _word(calculation, index, str(tree[1]))
    if head == "number":
        return ((1, Term(Fraction(tree[1]))),)
    left, right = (_terms(calculation, index, part) for part in tree[1:])
    if left is None or right is None:
        return None
    if head in "+-":
        turn = 1 if head == "+" else -1
        return (*left, *((turn * sign, term) for sign, term in right))
    if head == "/" and len(right) != 1:
        return None
    power = 1 if head == "*" else -1
    return tuple((a * b, one.times(other, power)) for a, one in left for b, other in right)


def _word(calculation: Calculation, index: int, word: str) -> Sum | None:
    relation = calculation.worked.steps[index].relation
    target = calculation.worked.steps[index].variable.name
    assert relation is not None
    spelt = calculation.mistakes.table.spelling(index)
    if word in ("found", "factor"):
        right = _right(relation, target)
        if word == "factor" and right is not None:
            return tuple((sign, term.times(Term(Fraction(1), {spelt("source"): 1}), -1)) for sign, term in right)
        return right
    return ((1, Term(Fraction(1), {spelt(word): 1})),)


def _right(relation: Relation, target: Name) -> Sum | None:
    """The right side of the right line."""
    factor, others = relation.alone(target)
    if relation.form == "sum":
        return tuple((1 if share > 0 else -1, Term(abs(share), {name: 1})) for name, share in others)
    return ((1, Term(factor, {name: int(power) for name, power in others})),)


def _printed(calculation: Calculation, total: Sum, course: Mapping[Key, Fraction]) -> tuple[Piece, ...]:
    """The sum with numbers in; one quantity alone stands by its symbol."""
    if len(total) == 1 and total[0][1].number == 1 and list(total[0][1].powers.values()) == [1]:
        name = next(iter(total[0][1].powers))
        if isinstance(name, Name) and name in calculation.system.variables and name not in calculation.draw.given:
            return (Lettered(name),)
    pieces: list[Piece] = []
    for sign, term in sorted(total, key=lambda one: one[0] < 0):
        if pieces or sign < 0:
            pieces.append("−" if sign < 0 else "+")
        pieces += _fraction(calculation, term, course)
    return tuple(pieces)


def _fraction(calculation: Calculation, term: Term, course: Mapping[Key, Fraction]) -> list[Piece]:
    numbers = {name: _number(calculation, name, course) for name in term.powers}
    above = [numbers[name] for name, power in term.powers.items() for _ in range(power)]
    below = [numbers[name] for name, power in term.powers.items() for _ in range(-power)]
    hundred = term.number == 100 and bool(below)
    number = Fraction(1) if hundred else term.number
    if number.numerator != 1 or not above:
        above.append(str(number.numerator))
    if number.denominator != 1:
        below.append(str(number.denominator))
    top, bottom = _product(above), _product(below)
    found: list[Piece] = [Quotient(tuple(top), tuple(bottom))] if bottom else top
    return [*found, "×", "100"] if hundred else found


def _product(numbers: list[Piece]) -> list[Piece]:
    return [piece for index, number in enumerate(numbers) for piece in (["×", number] if index else [number])]


def _number(calculation: Calculation, name: Key, course: Mapping[Key, Fraction]) -> Piece:
    given = _of_quantity(calculation, name, course) if isinstance(name, Name) else as_written(course[name])
    return Quantity(given.number, Unit.NONE, given.scientific)


def _of_quantity(calculation: Calculation, name: Name, course: Mapping[Key, Fraction]) -> Quantity:
    given = calculation.draw.given.get(name)
    if given is None and name in calculation.system.fixed and course[name] == calculation.given[name]:
        given = molar_mass(calculation, name)
    if given is None:
        variable = calculation.system.variables.get(name)
        found = any(step.variable.name == name for step in calculation.worked.steps)
        given = shown_value(variable, course[name]) if variable is not None and found else as_written(course[name])
    return given


# ------------------------------------------------------------------ the part


def _part(calculation: Calculation, applied: Applied) -> FurtherPart:
    worked = calculation.worked
    course = _course(calculation, applied)
    wrong_at = applied.finds[0].index
    shown = page(calculation, worked, calculation.draw.given)
    right_line: Piece = ""
    lines: list[Piece] = []
    for index, step in enumerate(worked.steps):
        name = step.variable.name
        last = step is worked.steps[-1]
        if index == wrong_at:
            right_line = step_line(step, shown, step.shown, worked.answer if last else None)
        answer = _rounded(calculation, course[name]) if last else None
        figures = figures_to_show(course[name], STEP_FIGURES, answer.figures) if answer is not None else STEP_FIGURES
        shown[name] = shown_value(step.variable, course[name], figures)
        if index == wrong_at:
            side = _wrong_side(calculation, applied, course)
            assert side is not None
            ends = _ends(shown[name], answer)
            lines.append(Reckoning((Lettered(name), "=", *side, *ends)))
        else:
            lines.append(step_line(step, shown, shown[name], answer, bold=False))
    return _laid_out(calculation, applied.slip, wrong_at + 1, tuple(lines), right_line)


def _ends(found: Quantity, answer: Quantity | None) -> tuple[Piece, ...]:
    if answer is None:
        return ("=", found)
    return ("=", answer) if answer.number == found.number else ("=", found, "=", answer)


def _rounded(calculation: Calculation, exact: Fraction) -> Quantity:
    answer = calculation.worked.answer
    return Quantity(to_figures(exact * base_factor(answer), answer.figures), answer.unit, answer.scientific)


def _laid_out(
    calculation: Calculation, slip: Slip, number: int, lines: tuple[Piece, ...], right_line: Piece
) -> FurtherPart:
    worked = calculation.worked
    rows = tuple((said("line number", number=str(index)), one) for index, one in enumerate(lines, 1))
    low, high = worked.accepted.low, worked.accepted.high
    label = said("answer label")
    return FurtherPart(
        kind="critique",
        demand=said("critique", quantity=Named(worked.plan.asked)),
        points=(
            FurtherPoint((Strong(f"line {number}"),), f"line {number}"),
            FurtherPoint((Strong(slip.name),), slip.name, (said("guide critique"),)),
            FurtherPoint(
                (right_line, (label, " ", Strong(worked.answer))), worked.answer, (said("guide critique answer"),)
            ),
        ),
        space=(
            Space(height_mm=2.0, rule_mm=30.0, label=said("line label")),
            writing_lines(1),
            Space(height_mm=24.0, rule_mm=65.0, unit=worked.answer.unit, label=label),
        ),
        shown=(
            Rows(
                heading=(said("line head"), said("working head")),
                rows=rows,
                widths=(0.10, 0.90),
                summary=said("working summary"),
                width=0.9,
            ),
        ),
        hint=said("hint critique"),
        accepted=(low.number, high.number),
        unit=worked.answer.unit,
        explained=(slip.feedback,) if slip.feedback else (),
    )
