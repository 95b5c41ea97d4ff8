"""The wrong answers of a question come in; those that somebody would write down go out, the likeliest first. Recognises nothing.

Sheets print what is left here; the record keeps every wrong answer, so that marking recognises the others all the same.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from fractions import Fraction

from molewright.bank.definitions import Slip
from molewright.chem.quantity import Quantity, half_up
from molewright.chem.units import Unit
from molewright.experiment.relations.variables import Variable
from molewright.slips.wrong_answers import WrongAnswer

MOST_TIMES = 1100  # of the right one: one prefix missed (cm³ for dm³, mg for g), and a tenth for what rounding adds
MOST_TIMES_A_COUNT = 10  # of a small whole number, which everybody sees to be one
MOST_TIMES_A_COMMON_COUNT = 100  # the same after one of the commonest mistakes: a factor forgotten makes x = 153
MOST_PERCENT = 200  # of a sample: pupils do write 121 %, and a ratio upside down gives up to twice the whole
_SIGNED = ("oxidation state",)  # kinds that may well be below nothing
_WEIGHT = {"high": 2, "medium": 1, "low": 0}


def would_be_written(wrong: Quantity, right: Quantity, asked: Variable, common: bool = False) -> bool:
    """Whether a pupil who comes to this wrong value would write it down as an answer. Both are in one unit.

    `common`: by one of the commonest mistakes.

    Pupils check little, but they see what cannot be at a glance, and look for their mistake before they write. Seen at a glance are:
    a sign (nothing is weighed, filled or counted below zero), so that -11.5 is left out; a percentage that is more than
    twice the whole, so that 87200 % is left out while 121 % stays, which many do write; a small whole number, or a ratio of two,
    that comes out more than ten times too large or too small (x = 123 in a hydrate), unless by a mistake so common that many
    look for it in vain; any other quantity that is further from the
    right one than a missed prefix brings it, a thousand times: 18600 cm³ for 18.6 cm³ is written, a million times is not.
    """
    number = wrong.number
    if number == 0 or (number < 0 and asked.kind not in _SIGNED):
        return False
    if wrong.unit is Unit.PERCENT and number > MOST_PERCENT:
        return False
    if not right.number:
        return True
    count = MOST_TIMES_A_COMMON_COUNT if common else MOST_TIMES_A_COUNT
    most = count if asked.settled else MOST_TIMES
    size, true = abs(number), abs(right.number)
    return true <= most * size and size <= most * true


def how_often(slips: Iterable[Slip], answers: Mapping[str, int]) -> Fraction:
    """How often slips that lead to one number are made, counted together, as the bank says of each.

    `answers` are how many different numbers each slip may lead to, by its key: it is made no oftener for that.
    """
    return sum((Fraction(_WEIGHT[slip.often], answers[slip.key]) for slip in slips), Fraction(0))


def likeliest(found: Iterable[WrongAnswer], right: Quantity, asked: Variable) -> tuple[WrongAnswer, ...]:
    """The wrong answers that show and would be written, the likeliest first; those of rare slips alone are not among them."""
    shown = [
        wrong
        for wrong in found
        if not wrong.hidden
        and wrong.slips[0].often != "low"
        and would_be_written(wrong.answer, right, asked, is_common(wrong.slips[0]))
        and not (
            asked.whole and half_up(Fraction(wrong.answer.number), 0) == right.number
        )  # rounded, it is the right one
    ]
    answers = Counter(slip.key for wrong in shown for slip in wrong.slips)
    ordered = sorted(shown, key=lambda wrong: (-how_often(wrong.slips, answers), wrong.slips[0].key))
    return tuple(_once_each(ordered))


def _once_each(ordered: Iterable[WrongAnswer]) -> Iterator[WrongAnswer]:
    """Without those whose mistakes were all named before: of several ways to make a mistake the likeliest is told."""
    named: set[str] = set()
    for wrong in ordered:
        mistakes = {slip.key for slip in _giving(wrong) if slip.often != "low"}
        if not mistakes <= named:
            yield wrong
        named |= mistakes


def _giving(wrong: WrongAnswer) -> Iterator[Slip]:
    """The mistakes that give just this value; others named beside it give one that is nearly the same."""
    for at, slip in enumerate(wrong.slips):
        if not wrong.apart or wrong.apart[at][0].number == wrong.answer.number:
            yield slip


def is_common(slip: Slip) -> bool:
    """Whether a mistake is among the commonest."""
    return slip.often == "high"
