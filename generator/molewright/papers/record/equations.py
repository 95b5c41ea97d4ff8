"""What a record tells of an equation that was asked for comes in; the frozen equation that answers are judged by goes out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from molewright.answer.equations import DEMANDS, AskedEquation, Demand, Table
from molewright.answer.printed import PrintedEquation, RatioUse
from molewright.chem.formula import PLACEHOLDERS, parse_formula
from molewright.chem.reaction import MOST_COEFFICIENT, STATES, Reaction, Species

_MOST = 60  # of anything that is listed
_MOST_MARKS = 9


def read_equation_asked(held: Mapping[str, Any], marks: int) -> PrintedEquation:
    """The equation of a further part. Raises ValueError, or Mistake for a formula that cannot be read."""
    if not 1 <= marks <= _MOST_MARKS:
        raise ValueError("marks of an equation")
    asked = AskedEquation(
        reaction=Reaction(tuple(map(_term, _some(held["left"]))), tuple(map(_term, _some(held["right"])))),
        demand=_demand(held["demand"]),
        marks=marks,
        states=held.get("states") is True,
        ions=_table(held.get("ions", [])),
        same=_table(held.get("same", [])),
        beside=tuple(_formula(text) for text in _listed(held.get("beside", []))),
    )
    uses = tuple(RatioUse(*map(str, _four(one))) for one in _listed(held.get("uses", [])))
    return PrintedEquation(asked, uses)


def _term(held: object) -> Species:
    count, formula, state = _listed(held)
    if state not in ("", *STATES):
        raise ValueError("no state symbol")
    return Species(_count(count), parse_formula(str(formula), PLACEHOLDERS), str(state))


def _table(held: object) -> Table:
    return tuple(
        (_formula(whole), tuple((_count(count), _formula(part)) for count, part in map(_listed, _some(given))))
        for whole, given in map(_listed, _listed(held))
    )


def _demand(held: object) -> Demand:
    for known in DEMANDS:
        if held == known:
            return known
    raise ValueError("no demand of an equation")


def _formula(text: object) -> str:
    return parse_formula(str(text), PLACEHOLDERS).text


def _count(number: object) -> int:
    if not isinstance(number, int) or not 1 <= number <= MOST_COEFFICIENT:
        raise ValueError("no coefficient")
    return number


def _listed(held: object) -> Sequence[Any]:
    if not isinstance(held, list) or len(held) > _MOST:
        raise TypeError("a list is missing, or very long")
    return held


def _some(held: object) -> Sequence[Any]:
    found = _listed(held)
    if not found:
        raise ValueError("nothing on one side of an equation")
    return found


def _four(held: object) -> Sequence[Any]:
    found = _listed(held)
    if len(found) != 4:
        raise ValueError("no use of a ratio")
    return found
