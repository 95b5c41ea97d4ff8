"""A worked question comes in; what each common mistake would give goes out: answers, marks kept, and how far apart they are."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from math import isnan

from molewright.bank.definitions import Slip
from molewright.chem.quantity import Quantity, simplest_ratio, to_figures
from molewright.derivation.worked import Worked, base_factor
from molewright.draw.draw import Draw, Refusal
from molewright.slips.mistaken_route import SlipAnswer, SlipTable

APART = 0.02  # two answers this far apart, relatively, are told apart (common practice: the second figure differs)
WHOLE_FIGURES = 3  # of a wrong value for what is a whole number by nature: 5.43, which a pupil writes before rounding
_SAME = 0.005  # answers nearer than this share a line of the scheme


@dataclass(frozen=True, slots=True)
class WrongAnswer:
    """One wrong answer as it would be written, the slips that lead to it, and the fewest and most marks that they keep."""

    answer: Quantity
    slips: tuple[Slip, ...]
    marks: int
    most: int
    impossible: str = ""  # why nobody should have written it
    hidden: bool = False  # inside the accepted range: cannot be seen


def require_apart(table: SlipTable, made: Draw, worked: Worked, given: Mapping[str, Fraction]) -> float:
    """Refuse a draw in which a common slip is not seen; the smallest separation of the common slips.

    A slip that is small by nature (a rough run averaged, two-figure rounding) must leave the accepted range; any other common
    one must be 2 % away. The rule "readings" says that other runs about the same mean may do.
    """
    facts = table.surroundings.facts(made.runs)
    floats = {name: float(value) for name, value in given.items()}
    key, wrong = table.quick(floats, {word: float(value) for word, value in facts.items()})
    factor = float(base_factor(worked.answer))
    low, high = float(worked.accepted.low.number), float(worked.accepted.high.number)
    seen: list[float] = [key]
    for applied, answer in zip(table.applied, wrong, strict=True):
        if isnan(answer) or applied.slip.often == "low" or _changes_nothing(answer, key):
            continue
        common = applied.slip.often == "high"
        within = low <= answer * factor <= high or _same_ratio(worked, Fraction(answer * factor))
        if within and worked.steps[-1].variable.settled:
            continue  # rounded away: nobody would see it
        if applied.slip.near and made.archetype.graph:
            continue  # smaller than what a reading from a graph leaves open
        if common and applied.slip.kind == "mean" and within:
            raise Refusal("readings", f"{applied.slip.name} would not show")
        if common and (within or (not applied.slip.near and abs(answer / key - 1) < APART)):
            raise Refusal(
                "slip", f"{applied.slip.name} would give {answer * factor:.4g}, the right answer is {key * factor:.4g}"
            )
        if not applied.slip.near:
            seen.append(answer)
    return _separation(seen)


def _same_ratio(worked: Worked, found: Fraction) -> bool:
    """Whether a simple ratio is asked for and this value leads to the right one."""
    asked = worked.steps[-1].variable
    return asked.simple and found > 0 and simplest_ratio(found) == simplest_ratio(worked.exact)


def _changes_nothing(answer: float, key: float) -> bool:
    return abs(answer - key) <= 1e-12 * abs(key)


def _separation(answers: list[float]) -> float:
    ordered = sorted(answers)
    gaps = [abs(b - a) / max(abs(a), abs(b), 1e-300) for a, b in pairwise(ordered)]
    return min((gap for gap in gaps if gap > 1e-9), default=1.0)


def wrong_answers(
    table: SlipTable, made: Draw, worked: Worked, given: Mapping[str, Fraction]
) -> tuple[WrongAnswer, ...]:
    """The wrong answers of single slips, the commonest first; slips that cannot be told apart share one."""
    facts = table.surroundings.facts(made.runs)
    found = table.answers(given, facts, worked.marks)
    order = {"high": 0, "medium": 1, "low": 2}
    found.sort(key=lambda one: (order[one.slips[0].often], one.slips[0].key))
    groups: list[tuple[float, list[SlipAnswer]]] = []
    for one in found:
        answer = float(one.exact)
        for first, group in groups:
            if abs(first - answer) <= _SAME * max(abs(first), abs(answer)):
                group.append(one)
                break
        else:
            groups.append((answer, [one]))
    return tuple(_wrong(group, worked) for _, group in groups)


def _wrong(group: list[SlipAnswer], worked: Worked) -> WrongAnswer:
    exact = group[0].exact * base_factor(worked.answer)
    whole = worked.steps[-1].variable.whole
    figures = max(worked.answer.figures, WHOLE_FIGURES) if whole else worked.answer.figures
    answer = Quantity(to_figures(exact, figures), worked.answer.unit, worked.answer.scientific or _unhandy(exact))
    slips = tuple(dict.fromkeys(slip for one in group for slip in one.slips))
    low, high = worked.accepted.low, worked.accepted.high
    printed = low.number <= answer.number <= high.number  # rounded as it is printed, it would contradict "accept"
    hidden = printed or answer.number == worked.answer.number or low.exact <= exact <= high.exact
    hidden |= _same_ratio(worked, exact)
    return WrongAnswer(answer, slips, *_marks(group), _impossible(answer, worked), hidden)


def _marks(group: list[SlipAnswer]) -> tuple[int, int]:
    return min(one.marks for one in group), max(one.marks for one in group)


def _unhandy(exact: Fraction) -> bool:
    return bool(exact) and not Fraction(1, 1000) <= abs(exact) < 100000


def _impossible(answer: Quantity, worked: Worked) -> str:
    if answer.number < 0:
        return "below zero"
    if worked.answer.unit == "%" and answer.number > 100:
        return "above 100 %"
    return ""
