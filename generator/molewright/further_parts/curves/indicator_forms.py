"""A calculation comes in; parts on how its indicator works go out: a weak acid whose two forms have two colours.

The pK of the indicator is the bank's. The pH of which the ratio of the forms is asked lies beside it, and the colour follows from the
ratio.
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

from molewright.bank.definitions import Indicator
from molewright.chem.powers import ten_to_minus
from molewright.chem.quantity import Quantity, to_figures
from molewright.chem.units import Unit
from molewright.draw.refusal import Refusal
from molewright.further_parts.curves.colours import indicator_of
from molewright.further_parts.pieces import (
    Calculation,
    FurtherPart,
    FurtherPoint,
    FurtherWrongAnswer,
    Letter,
    Piece,
    Quotient,
    Reckoning,
    Said,
    Space,
    Strong,
    one_either_side,
    said,
    writing_lines,
)
from molewright.plausibility.rules import Plausibility

KIND = "indicator forms"
CHANGED_OVER = "forms of an indicator changed over"
_PK: Piece = ("p", Letter("K", "In"))
_BESIDE = tuple(Decimal(tenths) / 10 for tenths in (-15, -14, -13, -12, -6, -5, -4, -3, 3, 4, 5, 6, 12, 13, 14, 15))
_ONE_SEEN = 10  # how many times the other form one must be for its colour alone to be seen (common practice, no source)
_FIGURES = 2
_CONSTANT_FIGURES = 3


def ask_forms(calculation: Calculation) -> tuple[FurtherPart, ...]:
    """Three parts: why the flask has its first colour, the ratio of both forms at a pH, and the colour seen there."""
    indicator = calculation.bank.indicators.get(indicator_of(calculation))
    if indicator is None or indicator.pk is None:
        raise Refusal(KIND, "no pK of the indicator is known")
    before, _ = Plausibility(calculation.bank).colour_change(calculation.draw)
    if before not in (indicator.acid_colour, indicator.base_colour):
        raise Refusal(KIND, "the flask does not tell what the indicator does in it")
    ph = indicator.pk + calculation.stream.pick(_beside(indicator))
    ratio = ten_to_minus(Fraction(indicator.pk)) / ten_to_minus(Fraction(ph))
    return (_why(indicator, before), _ratio(calculation, indicator, ph, ratio), _colour(indicator, ratio))


def _beside(indicator: Indicator) -> tuple[Decimal, ...]:
    """How far from the pK the pH may lie: where one form has no colour, the other is seen until its range is left."""
    if "colourless" not in (indicator.acid_colour, indicator.base_colour):
        return _BESIDE
    assert indicator.pk is not None
    assert indicator.low is not None
    assert indicator.high is not None
    low, high = indicator.low - indicator.pk, indicator.high - indicator.pk
    acid = indicator.acid_colour == "colourless"
    return tuple(one for one in _BESIDE if not (low < one < -1 if acid else 1 < one < high))


def _why(indicator: Indicator, before: str) -> FurtherPart:
    acid = before == indicator.acid_colour
    key = "forms acid" if acid else "forms base"
    return FurtherPart(
        kind=KIND,
        demand=said(
            "forms why", indicator=indicator.name, acid=indicator.acid_colour, base=indicator.base_colour, before=before
        ),
        points=(
            FurtherPoint((said("forms equation"),), "HIn ⇌ H⁺ + In⁻", (said("guide forms equation"),)),
            FurtherPoint(
                (said(key, colour=Strong(before)),),
                f"{'many' if acid else 'few'} hydrogen ions, so it is mostly {'HIn' if acid else 'In⁻'}",
                (said("guide forms why"),),
            ),
        ),
        space=(writing_lines(2),),
        hint=said("hint forms why"),
    )


def _ratio(calculation: Calculation, indicator: Indicator, ph: Decimal, ratio: Fraction) -> FurtherPart:
    assert indicator.pk is not None
    answer = Quantity(to_figures(ratio, _FIGURES))
    constant, hydrogen = (
        Quantity(to_figures(ten_to_minus(Fraction(one)), _CONSTANT_FIGURES), Unit.NONE, scientific=True)
        for one in (indicator.pk, ph)
    )
    forms: Piece = Quotient((said("form base"),), (said("form acid"),))
    turned = Quantity(to_figures(1 / ratio, _FIGURES))
    slip = calculation.bank.slip_seen_in(CHANGED_OVER)
    return FurtherPart(
        kind=KIND,
        demand=said("forms ratio", indicator=indicator.name, constant=_PK, pk=str(indicator.pk), ph=str(ph)),
        points=(
            FurtherPoint(
                (Reckoning((forms, "=", Quotient((Letter("K", "In"),), (said("form hydrogen"),)))),),
                "the ratio is KIn divided by the concentration of hydrogen ions",
                (said("guide forms expression", constant=_PK),),
            ),
            FurtherPoint(
                (
                    Reckoning((Letter("K", "In"), "=", constant)),
                    Reckoning((said("form hydrogen"), "=", hydrogen)),
                    Reckoning((forms, "=", Quotient((constant,), (hydrogen,)), "=", Strong(answer))),
                ),
                answer,
                (said("guide forms ratio"),),
            ),
        ),
        space=(Space(height_mm=16.0, rule_mm=45.0, label=said("label forms")),),
        hint=said("hint forms ratio", constant=_PK),
        accepted=one_either_side(answer),
        wrong=(FurtherWrongAnswer(turned, ((slip.key, slip.name),), 0),) if slip is not None else (),
    )


def _colour(indicator: Indicator, ratio: Fraction) -> FurtherPart:
    one_coloured = "colourless" in (indicator.acid_colour, indicator.base_colour)
    if ratio >= _ONE_SEEN:
        colour, reason = indicator.base_colour, said("forms mostly base")
    elif ratio <= Fraction(1, _ONE_SEEN):
        colour, reason = indicator.acid_colour, said("forms mostly acid")
    elif one_coloured:
        colour, reason = _of_one(indicator, ratio)
    else:
        colour, reason = _between(indicator), said("forms both")
    return FurtherPart(
        kind=KIND,
        demand=said("forms colour"),
        points=(FurtherPoint((_because(colour, reason),), colour, (said("guide forms colour"),)),),
        space=(writing_lines(1),),
        hint=said("hint forms colour of one" if one_coloured else "hint forms colour"),
    )


def _of_one(indicator: Indicator, ratio: Fraction) -> tuple[str, Said]:
    """Of an indicator with one coloured form: pale where less than half of it is that form."""
    base = indicator.acid_colour == "colourless"
    seen, form = (indicator.base_colour, "form base alone") if base else (indicator.acid_colour, "form acid alone")
    most = ratio > 1 if base else ratio < 1
    key = "forms mostly coloured" if most else "forms partly coloured"
    return seen if most else f"pale {seen}", said(key, form=said(form))


def _between(indicator: Indicator) -> str:
    return indicator.middle_colour or f"between {indicator.acid_colour} and {indicator.base_colour}"


def _because(colour: str, reason: Said) -> Said:
    return said("forms seen", colour=Strong(colour), reason=reason)
