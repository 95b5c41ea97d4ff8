"""A worked question comes in; what each common mistake would give goes out: answers, marks kept, and how far apart they are."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise
from math import floor, isnan, log10

from molewright.answer.judge import right_or_rounded, wrong_alone
from molewright.answer.printed import SlipFacts, Slips
from molewright.answer.written import LEAST_FIGURES, Written, as_written
from molewright.bank.definitions import Slip
from molewright.chem.quantity import Quantity, half_up, to_figures
from molewright.chem.units import Unit
from molewright.derivation.worked import KNIFE_EDGE_PERCENT, LOGARITHM_PLACES, Worked, base_factor
from molewright.draw.chosen import Draw
from molewright.draw.refusal import Refusal
from molewright.experiment.quantities import Name
from molewright.slips.mistaken_route import ROUNDED_FIGURES, SlipAnswer, SlipTable
from molewright.slips.slip_words import of_the_mean

TRACE = 1e-6  # of a unit of the last figure: more than floats of a few steps may err
MOST_READ = Fraction(9, 100)  # of the answer to either side, where a titre is read off a graph
APART = 0.02  # two answers at this distance are told apart (common practice: the second figure differs; of a pH, the last one by two)


@dataclass(frozen=True, slots=True, kw_only=True)
class WrongAnswer:
    """One wrong answer as it would be written, the slips that lead to it, and the fewest and most marks that they keep."""

    answer: Quantity
    slips: tuple[Slip, ...]
    marks: int
    most: int
    impossible: str = ""  # why nobody should have written it
    hidden: bool = False  # inside the accepted range: cannot be seen
    apart: tuple[tuple[Quantity, int], ...] = ()  # what each slip gives and keeps, where they do not keep the same


def distance(one: float, other: float, logarithmic: bool) -> float:
    """How far an answer lies from another: relatively, but of two logarithms their difference, for their figures are places."""
    return abs(one - other) if logarithmic else abs(one / other - 1)


def require_rounding_seen(table: SlipTable, made: Draw, given: Mapping[Name, Fraction]) -> None:
    """Refuse a draw on a knife edge, or in which rounding too early would not show however narrow the accepted range is.

    A first look that refuses most of what is refused at all, before anything is worked out that takes long. Nothing is refused here
    that would not be refused for good: one unit of the last figure is accepted to either side of the answer at least
    (`answer/accepted`), and so is what rounds to that; what a float cannot tell is left to `require_apart`.
    """
    asked = table.system.variables[made.ask.quantity]
    key, wrong = table.rounded_too_early(given, table.surroundings.facts_on_floats(made.runs))
    if asked.settled or not key or made.archetype.graph:
        return
    unit = float((made.ask.unit or asked.unit).factor)
    place = floor(log10(abs(key / unit)) - TRACE) - made.ask.figures + 1
    last = unit * 10.0 ** (-LOGARITHM_PLACES if asked.logarithmic else place)
    units = key / last
    answer = floor(units + 0.5)
    if abs(units - floor(units) - 0.5) < KNIFE_EDGE_PERCENT / 100 - TRACE:
        raise Refusal("knife edge", f"{key:.6g} rounds either way")
    for slip, found in wrong:
        if abs(found / last - answer) < 1.5 - TRACE and not _changes_nothing(found, key):
            raise Refusal(
                "slip", _not_shown(slip) if slip.kind == "mean" else _would_give(slip, found / unit, key / unit)
            )


def _not_shown(slip: Slip) -> str:
    return f"{slip.name} would not show"


def _would_give(slip: Slip, wrong: float, right: float) -> str:
    return f"{slip.name} would give {wrong:.4g}, the right answer is {right:.4g}"


def require_apart(
    table: SlipTable, made: Draw, worked: Worked, given: Mapping[Name, Fraction], kept: list[float] | None = None
) -> float:
    """Refuse a draw in which a common slip is not seen; the smallest separation of the common slips.

    A slip that is small by nature (two-figure rounding) must leave the accepted range, and so must every one of reading a burette,
    common or not; any other common one must be 2 % away (a pH 0.02). The rule "readings" says that other runs about that mean may do:
    for these, what every slip gives is `kept` in a list, so that only what is made of the readings is worked again.
    """
    key, wrong = table.quick(given, table.surroundings.facts_on_floats(made.runs), kept)
    if kept is not None:
        kept[:] = wrong
    factor = float(base_factor(worked.answer))
    low, high = map(float, worked.accepted.reach)
    settled, logarithmic = worked.accepted.settled, worked.accepted.type == "logarithm"
    seen: list[float] = [key]
    for applied, answer in zip(table.applied, wrong, strict=True):
        if isnan(answer) or applied.slip.often == "low" or _changes_nothing(answer, key):
            continue
        if applied.slip.near and made.archetype.graph:
            continue  # smaller than what a reading from a graph leaves open
        too_near = distance(answer, key, logarithmic) < APART
        within = low <= answer * factor < high
        _require_seen(applied.slip, (answer * factor, key * factor), within, too_near, settled)
        if not applied.slip.near:
            seen.append(answer)
    return _separation([10**one for one in seen] if logarithmic else seen)


def require_narrow(worked: Worked) -> None:
    """Refuse where rounding on the way would have much accepted that is not the answer."""
    if worked.accepted.too_wide:
        low, high = worked.accepted.ends
        raise Refusal("accepted range", f"rounding on the way would have {low} to {high} accepted for {worked.answer}")


def require_read_narrowly(worked: Worked) -> None:
    """Refuse where what may be read off a graph would have a tenth and more to either side accepted: a difference of like readings."""
    low, high = worked.accepted.ends
    if Fraction(high.number) - Fraction(low.number) > 2 * MOST_READ * abs(Fraction(worked.answer.number)):
        raise Refusal(
            "accepted range", f"the readings from the graph would have {low} to {high} accepted for {worked.answer}"
        )


def _require_seen(slip: Slip, answers: tuple[float, float], within: bool, too_near: bool, settled: bool) -> None:
    """Refuse where a slip's answer, beside the right one, is `within` what is taken for that, or is `too near` it."""
    wrong, right = answers
    common = slip.often == "high"
    if slip.kind == "mean" and within:
        raise Refusal("slip" if of_the_mean(slip) else "readings", _not_shown(slip))
    if settled and within:
        if slip.kind == "rounding":
            return  # two figures are enough for what is rounded to a whole number: nothing is wrong there
        if not slip.near:
            raise Refusal("slip", f"{slip.name} would give {wrong:.4g} before rounding")
    if common and (within or (not slip.near and too_near)):
        raise Refusal("slip", _would_give(slip, wrong, right))


def _changes_nothing(answer: float, key: float) -> bool:
    return abs(answer - key) <= 1e-12 * abs(key)


def _separation(answers: list[float]) -> float:
    ordered = sorted(answers)
    gaps = [abs(b - a) / max(abs(a), abs(b), 1e-300) for a, b in pairwise(ordered)]
    return min((gap for gap in gaps if gap > 1e-9), default=1.0)


def wrong_answers(
    singles: Iterable[SlipAnswer], worked: Worked, told: Callable[[Quantity, Slip], bool] = lambda *_: True
) -> tuple[WrongAnswer, ...]:
    """The wrong answers of single slips, the commonest first; slips that lead to the same written number share one.

    Those that are not `told` are left out before what they would earn is worked out.
    """
    order = {"high": 0, "medium": 1, "low": 2}
    found = sorted(singles, key=lambda one: (order[one.slips[0].often], one.slips[0].key))
    rule = _Rule(found, worked)
    rows: dict[tuple[Decimal, bool], WrongAnswer] = {}
    for one, exact in zip(found, rule.exact, strict=True):
        answer = rule.written(exact, one.slips[0].kind == "rounding")
        if not told(answer, one.slips[0]):
            continue
        read = as_written(answer)
        hidden = rule.is_right(read)
        if (answer.number, hidden) not in rows:
            rows[answer.number, hidden] = rule.row(one, answer, None if hidden else read)
    return tuple(rows.values())


def unseen(found: Iterable[WrongAnswer]) -> frozenset[str]:
    """The common mistakes, but for those that are small by nature, whose answers lie inside the accepted range."""
    hidden = (slip for wrong in found if wrong.hidden for slip in wrong.slips)
    return frozenset(slip.key for slip in hidden if slip.often == "high" and not slip.near)


def left_open(found: Sequence[SlipAnswer], done: int, marks: int) -> list[SlipAnswer]:
    """The slips that can still be made where the first mark points are worked out, with the `marks` of the others that they keep.

    Nobody rounds every step to two figures where some are printed.
    """
    if not done:
        return list(found)
    return [
        replace(one, lost=frozenset(number - done for number in one.lost), marks=max(0, marks - len(one.lost)))
        for one in found
        if all(number > done for number in one.lost) and all(slip.kind != "rounding" for slip in one.slips)
    ]


class _Rule:
    """What a paper's rule pays for the wrong answers of its slips, each as it would be written."""

    def __init__(self, found: Sequence[SlipAnswer], worked: Worked) -> None:
        self.worked = worked
        self.factor = base_factor(worked.answer)
        self.slips = {one.slips[0].key: one.slips[0] for one in found}
        self.facts = {
            key: SlipFacts(name=slip.name, often=slip.often, near=slip.near, first=slip.first)
            for key, slip in self.slips.items()
        }
        self.exact = [one.exact * self.factor for one in found]  # in the unit of the answer
        self.seen = tuple(
            Slips((one.slips[0].key,), exact, one.lost, one.marks)
            for one, exact in zip(found, self.exact, strict=True)
            if not worked.accepted.holds(exact)
        )
        self.points = frozenset(point.number for point in worked.points)
        self.last = frozenset({worked.points[-1].number})

    def is_right(self, written: Written) -> bool:
        """Whether what a slip gives cannot be seen once it is written."""
        return right_or_rounded(self.worked.accepted, written, self.points, self.last) is not None

    def row(self, one: SlipAnswer, answer: Quantity, written: Written | None) -> WrongAnswer:
        """The row of the scheme for what one slip gives, as it is read; None where it is hidden."""
        if written is None:
            return WrongAnswer(answer=answer, slips=one.slips, marks=one.marks, most=one.marks, hidden=True)
        judged = wrong_alone(self.worked.accepted, written, self.seen, self.facts, self.points, self.last)
        singles = [slips for slips in judged.explained.slips if len(slips.keys) == 1]
        named = dict.fromkeys([*(key for slips in singles for key in slips.keys), one.slips[0].key])
        most = max((slips.marks for slips in singles), default=0)
        kept = len(judged.earned)
        if kept < min((slips.marks for slips in singles), default=0):  # another that is as near keeps fewer
            named |= dict.fromkeys(key for slips in judged.explained.near for key in slips.keys)
        slips = tuple(self.slips[key] for key in named)
        fitting = [*singles, *(slips for slips in judged.explained.near if len(slips.keys) == 1)]
        return WrongAnswer(
            answer=answer,
            slips=slips,
            marks=kept,
            most=max(kept, most),
            impossible=_impossible(answer, self.worked),
            apart=self._apart(slips, fitting, answer) if kept < most else (),
        )

    def _apart(
        self, slips: Sequence[Slip], fitting: Sequence[Slips], answer: Quantity
    ) -> tuple[tuple[Quantity, int], ...]:
        """What each slip gives, as it would be written, and keeps: the way of making it that fits the answer, by the fewest marks."""
        found: list[tuple[Quantity, int]] = []
        for slip in slips:
            ways = [one for one in fitting if one.keys == (slip.key,)]
            if not ways:
                return ()
            given = min(ways, key=lambda one: (one.marks, abs(one.gives - Fraction(answer.number))))
            found.append((self.written(given.gives, slip.kind == "rounding"), given.marks))
        return tuple(found)

    def written(self, exact: Fraction, too_early: bool) -> Quantity:
        """A wrong value as a pupil would write it: to the figures asked for, or as it is before it is rounded to a whole number.

        Who rounds `too_early` has no more than two figures to write.
        """
        answer = self.worked.answer
        figures = LEAST_FIGURES if self.worked.accepted.settled else answer.figures
        if self.worked.accepted.type == "logarithm":
            return Quantity(half_up(exact, ROUNDED_FIGURES - 1 if too_early else answer.places))
        number = to_figures(exact, min(figures, ROUNDED_FIGURES) if too_early else figures)
        return Quantity(number, answer.unit, answer.scientific or _unhandy(exact))


def _unhandy(exact: Fraction) -> bool:
    return bool(exact) and not Fraction(1, 1000) <= abs(exact) < 100000


def _impossible(answer: Quantity, worked: Worked) -> str:
    if answer.number < 0:
        return "below zero"
    if worked.answer.unit is Unit.PERCENT and answer.number > 100:
        return "above 100 %"
    return ""
