"""Tolerances of the apparatus and a calculation come in; parts on percentage uncertainty go out. Words nothing.

School rule: the percentage uncertainties of the separate measurements are added. How the answer hangs on each is found from the
one-line expression by central differences in exact fractions (Eurachem/CITAC CG4, appendix E.2, does the same in a spreadsheet).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal, localcontext
from fractions import Fraction

from molewright.bank.definitions import Apparatus, Bank
from molewright.chem.quantity import Quantity, figures_to_show, half_up, to_figures
from molewright.chem.units import Unit
from molewright.derivation.derive import evaluate
from molewright.draw.chosen import Draw
from molewright.draw.refusal import Refusal
from molewright.experiment import quantities
from molewright.experiment.procedure import Aliquot, MakeUp, Measure, Titrate, Weigh
from molewright.experiment.quantities import Name
from molewright.further_parts.pieces import (
    Calculation,
    FurtherPart,
    FurtherPoint,
    FurtherWrongAnswer,
    Piece,
    Quotient,
    Reckoning,
    Rows,
    Space,
    Strong,
    said,
)

FIGURES = 2  # of a percentage uncertainty
MOST_FIGURES = 4  # of one in working, so that what is worked out from it rounds to the answer
_STEP = Fraction(1, 10**9)  # relative step of the differences: what they leave out is of the order of its square
_PLACES = 30  # of a square root

Measured = Callable[[Mapping[Name, Fraction]], Fraction]


@dataclass(frozen=True, slots=True, kw_only=True)
class Measurement:
    """One measured quantity: its name, what is printed of it, the apparatus, the uncertainty of one reading, how many readings."""

    name: Name
    quantity: Quantity
    apparatus: Apparatus
    each: Quantity
    readings: int
    kind: str  # "burette", "pipette", "volumetric flask", "balance", "measuring cylinder"

    @property
    def absolute(self) -> Fraction:
        """The uncertainty of the quantity: of all its readings."""
        return self.each.exact * self.readings

    @property
    def percentage(self) -> Fraction:
        """The percentage uncertainty, exactly."""
        return self.absolute / self.quantity.in_base * 100

    @property
    def percentage_shown(self) -> Quantity:
        """The percentage uncertainty as it is printed."""
        return self.percentage_to(FIGURES)

    def percentage_to(self, figures: int) -> Quantity:
        """The percentage uncertainty as it stands in working, to so many figures."""
        return Quantity(to_figures(self.percentage, figures), Unit.PERCENT)


# ------------------------------------------------------------------ what was measured, with what


def measurements(bank: Bank, draw: Draw) -> tuple[Measurement, ...]:
    """Everything that was measured and printed, in the order of the procedure, with class B tolerances.

    A burette's tolerance is shared by its two readings; a mass by difference has two readings, each to half of the last place.
    """
    found: list[Measurement] = []
    for operation in draw.variant.procedure.operations:
        match operation:
            case Weigh(sample=sample, weighed=True):
                found += _weighed(bank, draw, quantities.mass(sample))
            case Measure(solution=solution, vessel=vessel, apparatus=kind):
                found += _volume(bank, draw, quantities.volume_measured(solution.name, vessel), kind)
            case MakeUp(vessel=vessel):
                found += _volume(bank, draw, quantities.volume_made_up(vessel), "volumetric flask")
            case Aliquot(into=into, apparatus=kind):
                found += _volume(bank, draw, quantities.volume_taken(into), kind)
            case Titrate():
                found += _volume(bank, draw, operation.titre, "burette")
            case _:
                pass
    return tuple(found)


def _weighed(bank: Bank, draw: Draw, name: Name) -> list[Measurement]:
    mass = draw.given.get(name)
    if mass is None:
        return []
    for piece in bank.apparatus:
        if piece.kind == "balance" and piece.resolution and piece.tolerance and piece.resolution.places == mass.places:
            return [
                Measurement(name=name, quantity=mass, apparatus=piece, each=piece.tolerance, readings=2, kind="balance")
            ]
    raise Refusal("uncertainty", f"no balance of the bank reads a mass to {mass.places} places")


def _volume(bank: Bank, draw: Draw, name: Name, kind: str) -> list[Measurement]:
    volume = draw.given.get(name)
    if volume is None:
        return []
    for piece in bank.apparatus:
        if piece.kind != kind or piece.tolerance is None:
            continue
        if kind == "burette":
            each = Quantity(half_up(piece.tolerance.exact / 2, piece.tolerance.places), piece.tolerance.unit)
            return [Measurement(name=name, quantity=volume, apparatus=piece, each=each, readings=2, kind=kind)]
        if piece.capacity.in_base == volume.in_base:
            return [
                Measurement(name=name, quantity=volume, apparatus=piece, each=piece.tolerance, readings=1, kind=kind)
            ]
    raise Refusal("uncertainty", f"no {kind} of the bank measures {volume}")


# ------------------------------------------------------------------ combination


def sensitivity(measured: Measured, inputs: Mapping[Name, Fraction], name: Name) -> Fraction:
    """By how many per cent the outcome changes where one input changes by one per cent: (x/y) dy/dx."""
    step = inputs[name] * _STEP
    up = measured({**inputs, name: inputs[name] + step})
    down = measured({**inputs, name: inputs[name] - step})
    return (up - down) / (2 * step) * inputs[name] / measured(inputs)


def combined_relative(
    measured: Measured, inputs: Mapping[Name, Fraction], relative: Mapping[Name, Fraction]
) -> Fraction:
    """The relative standard uncertainty of an outcome from those of its independent inputs, in quadrature."""
    total = sum(((sensitivity(measured, inputs, name) * share) ** 2 for name, share in relative.items()), Fraction(0))
    return square_root(total)


def square_root(exact: Fraction) -> Fraction:
    """The square root of a fraction, to thirty places."""
    with localcontext() as context:
        context.prec = 2 * _PLACES
        root = (Decimal(exact.numerator) / Decimal(exact.denominator)).sqrt()
        return Fraction(root.quantize(Decimal(1).scaleb(-_PLACES)))


def outcome(calculation: Calculation) -> Measured:
    """The answer as a function of what is given."""
    return lambda values: evaluate(calculation.worked.plan.expression, values)


def used_measurements(calculation: Calculation) -> tuple[Measurement, ...]:
    """The measurements that the answer depends on: a mass that no step uses makes it no more uncertain."""
    measured = outcome(calculation)
    every = measurements(calculation.bank, calculation.draw)
    return tuple(one for one in every if sensitivity(measured, calculation.given, one.name))


def enough_figures(worked_out: Callable[[int], Fraction], exact: Fraction) -> int:
    """With how many figures percentages are written so that what they come to, as printed, rounds to the answer.

    Raises Refusal where that would be a long row of figures: the answer lies on the edge of a rounding.
    """
    for figures in range(FIGURES, MOST_FIGURES + 1):
        if to_figures(worked_out(figures), FIGURES) == to_figures(exact, FIGURES):
            return figures
    raise Refusal("uncertainty", f"{float(exact):.6g} % rounds either way")


def rounded_off(exact: Fraction) -> tuple[Piece, ...]:
    """A percentage before and after it is rounded, as the end of a line of working."""
    answer = Quantity(to_figures(exact, FIGURES), Unit.PERCENT)
    figures = figures_to_show(exact, FIGURES + 1, FIGURES)
    before = Quantity(to_figures(exact, figures), Unit.PERCENT)
    return ("=", Strong(answer)) if before.number == answer.number else ("=", before, "=", Strong(answer))


def total_percentage(calculation: Calculation) -> Fraction:
    """The percentage uncertainty of the whole by the school rule, exactly."""
    return sum((one.percentage for one in used_measurements(calculation)), Fraction(0))


# ------------------------------------------------------------------ parts


def ask_uncertainty(calculation: Calculation) -> tuple[FurtherPart, ...]:
    """The percentage uncertainty of the titre, of each other measurement, and of the whole as their sum."""
    found = used_measurements(calculation)
    titres = [one for one in found if one.kind == "burette"]
    others = [one for one in found if one.kind != "burette"]
    if len(titres) != 1 or not others:
        raise Refusal("uncertainty", "there is not one printed titre beside other measurements")
    titre = titres[0]
    return (_titre_part(calculation.bank, titre), _whole_part(calculation.bank, titre, others))


def tolerance(one: Measurement) -> Piece:
    """The printed uncertainty: "± 0.06 cm³"."""
    return ("±\N{NO-BREAK SPACE}", one.each)


def _reckoned(one: Measurement) -> Reckoning:
    top: tuple[Piece, ...] = (one.each.number_text,)
    if one.readings > 1:
        top = (str(one.readings), "×", one.each.number_text)
    return Reckoning((Quotient(top, (one.quantity.number_text,)), "×", "100", "=", Strong(one.percentage_shown)))


def _titre_part(bank: Bank, titre: Measurement) -> FurtherPart:
    shown = titre.percentage_shown
    half = Quantity(to_figures(titre.percentage / 2, FIGURES), Unit.PERCENT)
    one = Quantity(to_figures(titre.percentage, 1), Unit.PERCENT)
    return FurtherPart(
        kind="uncertainty",
        demand=said("uncertainty titre", each=tolerance(titre)),
        points=(
            FurtherPoint((_reckoned(titre),), shown, (said("guide two readings"), said("guide one figure", one=one))),
        ),
        space=(Space(height_mm=14.0, rule_mm=45.0, unit=Unit.PERCENT),),
        hint=said("hint two readings"),
        accepted=span((titre.percentage,)),
        unit=Unit.PERCENT,
        wrong=(FurtherWrongAnswer(half, (named_slip(bank, "one reading of a titre"),), 0),),
    )


def _whole_part(bank: Bank, titre: Measurement, others: list[Measurement]) -> FurtherPart:
    every = [*others, titre]
    total = sum((one.percentage for one in every), Fraction(0))
    printed = sum((Fraction(one.percentage_shown.number) for one in every), Fraction(0))
    one_figure = sum((Fraction(to_figures(one.percentage, 1)) for one in every), Fraction(0))
    answer = Quantity(to_figures(total, FIGURES), Unit.PERCENT)
    rows = tuple(_to_fill_in(one) for one in others)
    names_of = tuple(said(f"apparatus {one.kind}", quantity=one.quantity) for one in others)
    lines: tuple[Piece, ...] = tuple((named, ": ", _reckoned(one)) for named, one in zip(names_of, others, strict=True))
    figures = enough_figures(lambda many: sum((one.percentage_to(many).exact for one in every), Fraction(0)), total)
    terms = [one.percentage_to(figures) for one in every]
    sum_line = Reckoning(
        (*plus([one.number_text for one in terms]), *rounded_off(sum((one.exact for one in terms), Fraction(0))))
    )
    accepted = span((total, printed, one_figure))
    of_one = " of one" if len(others) == 1 else ""
    guidance = [said(f"guide every apparatus{of_one}")]
    guidance += [said("guide by difference")] if any(one.kind == "balance" for one in others) else []
    return FurtherPart(
        kind="uncertainty",
        demand=said(f"uncertainty whole{of_one}"),
        points=(
            FurtherPoint(lines, "; ".join(str(one.percentage_shown) for one in others), tuple(guidance)),
            FurtherPoint((sum_line,), answer, (said("guide add percentages"),)),
        ),
        space=(Space(height_mm=22.0, rule_mm=45.0, unit=Unit.PERCENT),),
        shown=(
            Rows(
                heading=(said("apparatus head"), said("tolerance head"), said("percentage head")),
                rows=rows,
                widths=(0.36, 0.34, 0.30),
                summary=said(f"apparatus summary{of_one}"),
            ),
        ),
        hint=said("hint add percentages"),
        accepted=accepted,
        unit=Unit.PERCENT,
        wrong=_whole_wrong(bank, titre, others, accepted),
    )


def _to_fill_in(one: Measurement) -> tuple[Piece, ...]:
    readings: Piece = (" ", said("each reading")) if one.readings > 1 else ""
    return (said(f"apparatus {one.kind}", quantity=one.quantity), (tolerance(one), readings), "")


def plus(texts: list[str]) -> list[Piece]:
    found: list[Piece] = []
    for text in texts:
        found += [*(["+"] if found else []), text]
    return found


def _whole_wrong(
    bank: Bank, titre: Measurement, others: list[Measurement], accepted: tuple[Decimal, Decimal]
) -> tuple[FurtherWrongAnswer, ...]:
    """Absolute uncertainties added; and the percentage of a mass, where only one of its readings is counted."""
    wrong = []
    added = to_figures(sum((one.absolute for one in (*others, titre)), Fraction(0)), FIGURES)
    if not accepted[0] <= added <= accepted[1]:
        wrong.append(
            FurtherWrongAnswer(Quantity(added, Unit.PERCENT), (named_slip(bank, "absolute uncertainties added"),), 0)
        )
    for one in others:
        if one.kind == "balance":
            half = Quantity(to_figures(one.percentage / 2, FIGURES), Unit.PERCENT)
            wrong.append(FurtherWrongAnswer(half, (named_slip(bank, "one reading of a mass"),), 1))
    return tuple(wrong)


def named_slip(bank: Bank, wrong: str) -> tuple[str, str]:
    """The key and the name of the bank's slip that gives a kind of wrong number; where it has none, what is wrong twice."""
    slip = bank.slip_seen_in(wrong)
    return (slip.key, slip.name) if slip is not None else (wrong, wrong)


def span(values: tuple[Fraction, ...]) -> tuple[Decimal, Decimal]:
    """From the smallest to the largest of these, each rounded to two figures."""
    rounded = [to_figures(value, FIGURES) for value in values]
    return min(rounded), max(rounded)
