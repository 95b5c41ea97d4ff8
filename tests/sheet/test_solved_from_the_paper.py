"""Every number that a solution uses stands on the question paper, follows from what stands there, or was found in a line before.

The mark scheme is read as a pupil would have to write it: line after line of working. A number in working is known if the question
paper prints it, if an earlier line found it, if it is a relative formula mass of which the paper prints every relative atomic mass,
or if it is a small whole number or a power of ten: what an equation, a formula or a change of units gives.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from decimal import Decimal
from typing import Any

from molewright.bank.definitions import Bank
from molewright.chem.formula import parse_formula
from molewright.chem.masses import relative_mass
from molewright.chem.quantity import Quantity, half_up
from molewright.nodes.blocks import Table
from molewright.nodes.figures import BuretteView, CurveFigure
from molewright.nodes.inline import Amount, Maths, Over, Sign, Symbol, Text
from molewright.question.check import Question, Questions
from molewright.sheet.compose import Composer, Setting
from molewright.sheet.parts import Level
from shared.covering import covering
from shared.every_node import inside
from shared.kinds import KEYS, each_kind

Dozen = Callable[[str], Sequence[Question]]
LARGEST_COUNT = 20  # a coefficient, an index, a number of pieces or of marks
POWERS = frozenset(map(Decimal, ("100", "1000", "0.5", "1.5")))
NUMBER = re.compile(r"\d+(?:\.\d+)?")


def numbers_in(text: str) -> set[Decimal]:
    return {Decimal(found) for found in NUMBER.findall(text.replace("\N{MINUS SIGN}", "-"))}


def printed(node: Any) -> set[Decimal]:
    """Every number that stands on a sheet, however it stands there."""
    found: set[Decimal] = set()
    for one in inside(node):
        match one:
            case Text(text=text):
                found |= numbers_in(text)
            case Amount(quantity=quantity):
                found |= {abs(quantity.number), in_base(quantity)}
            case Symbol(note=note):
                found |= numbers_in(note)
            case _:
                continue
    return found


def in_base(quantity: Quantity) -> Decimal:
    """What is printed in mg, used in g."""
    base = quantity.in_base
    return abs(Decimal(base.numerator) / Decimal(base.denominator))


def sides(items: tuple[Any, ...]) -> list[list[Any]]:
    """A line of working, parted at its signs of equality."""
    found: list[list[Any]] = [[]]
    for item in items:
        if isinstance(item, Sign) and item.sign in "=≈":
            found.append([])
        else:
            found[-1].append(item)
    return found


def is_result(side: list[Any]) -> bool:
    """Whether a side is a number alone, with what may stand round it."""
    return not any(isinstance(item, Over) or (isinstance(item, Sign) and item.sign in "×−+") for item in side)


def numbers_of(side: list[Any]) -> set[Decimal]:
    return printed(tuple(side)) if side else set()


def rows(scheme: Any) -> Iterator[Any]:
    """The rows of a mark scheme, in order."""
    for block in inside(scheme.blocks):
        if isinstance(block, Table) and len(block.heading) == 4:
            yield from block.rows


def formulae(question: Question) -> set[str]:
    """The formulae of which a relative mass may be worked out."""
    found = {name.subject for name in question.system.variables if name.kind in ("molar mass", "atomic mass")}
    return {formula for formula in found if _weighable(formula)}


def _weighable(formula: str) -> bool:
    try:
        relative_mass(formula, "one place")
    except Exception:
        return False
    return True


def masses_known(question: Question, paper: Any, masses: Any) -> set[Decimal]:
    """Relative formula masses of which every relative atomic mass stands on the paper."""
    text = " ".join(one.text for one in inside(paper.blocks) if isinstance(one, Text))
    shown = set(re.findall(r"\b([A-Z][a-z]?)\N{NO-BREAK SPACE}\d", text))
    return {
        relative_mass(formula, masses)
        for formula in formulae(question)
        if {symbol for symbol, _ in parse_formula(formula).atoms} <= shown
    }


def read_off(question: Question, paper: Any) -> set[Decimal]:
    """What is read from a figure, and titres as the differences of two readings that are printed or read."""
    views = [one for one in inside(paper.blocks) if isinstance(one, BuretteView)]
    found = {one.reading for one in views} | {abs(one.reading - other.reading) for one in views for other in views}
    for run in question.draw.runs:
        found.add(half_up(run.final - run.initial, 2))
    if any(isinstance(one, CurveFigure) for one in inside(paper.blocks)):
        named = (part.reads for part in question.further_parts if part.reads is not None)
        found |= {question.draw.given[name].number for name in named}
    return found


def unknown_numbers(question: Question, bank: Bank, level: Level) -> list[str]:
    """The numbers in the working of a question's mark scheme that come from nowhere, each with its line."""
    composer = Composer((question,), bank, Setting(title="x", code="", levels=(level,), masses=question.masses))
    paper, scheme = composer.question_paper(), composer.mark_scheme()
    known = printed(paper.blocks) | masses_known(question, paper, question.masses) | read_off(question, paper)
    known.add(in_base(question.worked.answer))  # a ratio is written as 5 : 4 and used as 1.25
    missing: list[str] = []
    results: list[Decimal] = []  # as they are printed: 0.32 is no 0.320, though a set takes them for one
    for row in rows(scheme):
        lines = [one for one in inside(row[1]) if isinstance(one, Maths)]
        known |= printed(
            tuple(one for one in row[1].lines if not any(isinstance(each, Maths) for each in one))
        )  # read off
        for line in lines:
            parts = sides(line.items)
            found = {number for side in parts if is_result(side) for number in numbers_of(side)}
            used = {number for side in parts if not is_result(side) for number in numbers_of(side)}
            lost = sorted(
                number
                for number in used - known - found
                if not plain(number) and not follows(number, [*known, *results])
            )
            missing += [f"{number} in {shown(line)}" for number in lost]
            known |= found
            results += found
    return missing


def plain(number: Decimal) -> bool:
    """A small whole number, as it is or in thousands, or what a share in per cent or half as much again gives."""
    whole = number / 1000 if number % 1000 == 0 else number
    return number in POWERS or (whole == whole.to_integral_value() and whole <= LARGEST_COUNT)


def follows(number: Decimal, known: Iterable[Decimal]) -> bool:
    """Whether a number was found with fewer figures (so that rounding does not mount up), or is so many portions of a dm³."""
    own = Decimal((0, (1,), int(number.as_tuple().exponent)))
    for one in known:
        unit = Decimal((0, (1,), int(one.as_tuple().exponent)))
        if (own < unit < 1 and abs(number - one) <= (unit + own) / 2) or (one and number * one == 1000):
            return True
    return False


def shown(line: Maths) -> str:
    return " ".join(
        getattr(one, "text", "")
        or getattr(one, "sign", "")
        or str(getattr(one, "quantity", ""))
        or getattr(one, "letter", "")
        for one in inside(line.items)
    )


@each_kind()
def test_every_number_of_a_solution_is_on_the_paper(key: str, bank: Bank, questions: Questions, dozen: Dozen) -> None:
    assert not unknown_numbers(questions.stretched(dozen(key)[0]), bank, "exam")


@each_kind(covering(KEYS))
def test_it_is_where_steps_are_asked_for_too(key: str, bank: Bank, dozen: Dozen) -> None:
    assert not unknown_numbers(dozen(key)[1], bank, "structured")
