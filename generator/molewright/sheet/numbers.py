"""A question and a unit style come in; its quantities go out as they are printed: given, found in working, or the answer."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction

from molewright.chem.conventions import UnitStyle
from molewright.chem.masses import relative_mass
from molewright.chem.quantity import Quantity, figures_to_show, finite_places, half_up, to_figures
from molewright.chem.units import Unit, units_kept, words_in_litres
from molewright.derivation.worked import WorkedStep
from molewright.experiment.quantities import Name
from molewright.experiment.titres import CONCORDANT_CM3
from molewright.nodes.inline import Amount, Text
from molewright.question.check import Question


class Numbers:
    """The quantities of one question, in the unit style of the paper."""

    def __init__(self, question: Question, style: UnitStyle) -> None:
        self.question = question
        self.style = style
        self.steps: Mapping[Name, WorkedStep] = {step.variable.name: step for step in question.worked.steps}

    def unit(self, unit: Unit) -> str:
        """A unit as it is printed, in the paper's style."""
        return unit.in_style(self.style).text

    def in_units(self, text: str) -> str:
        """Plain words with their units in the paper's style, each kept with its number."""
        return units_kept(words_in_litres(text) if self.style == "litre" else text)

    def amount(self, quantity: Quantity, bold: bool = False) -> Amount:
        """A quantity in the paper's style."""
        return Amount(Quantity(quantity.number, quantity.unit.in_style(self.style), quantity.scientific), bold)

    def answer(self, bold: bool = True) -> Text | Amount:
        """The answer of the question."""
        worked = self.question.worked
        return Text(worked.told, bold=bold) if worked.steps[-1].variable.simple else self.amount(worked.answer, bold)

    def concordant(self) -> Amount:
        """How closely concordant titres agree, in cm³."""
        return self.amount(Quantity(half_up(CONCORDANT_CM3, 2), Unit.CM3))

    def given(self, name: Name) -> Amount | None:
        """A printed quantity, or None where it is hidden."""
        quantity = self.question.draw.given.get(name)
        return None if quantity is None else self.amount(quantity)

    def written(self, name: Name) -> Quantity:
        """A quantity as it stands in working: printed in the question, found in a step, or a molar mass."""
        given = self.question.draw.given.get(name)
        if given is not None:
            return given.to(given.unit.base)
        if name in self.steps:
            return self.steps[name].shown
        variable = self.question.system.variables.get(name)
        if variable is not None and name in self.question.system.fixed:
            return Quantity(relative_mass(variable.subject, self.question.masses))
        return Quantity(_plain(self.question.draw.truth[name]), Unit.NONE)

    def exact_text(self, figures: int = 5) -> Quantity:
        """The exact answer to five figures or as many as show how it is rounded, in the answer's unit."""
        worked = self.question.worked
        factor = 1 / Quantity(_plain(Fraction(1)), worked.answer.unit).in_base
        exact = worked.exact * factor
        if not worked.steps[-1].variable.whole:
            figures = figures_to_show(exact, figures, self.question.draw.ask.figures)
        return Quantity(to_figures(exact, figures), worked.answer.unit, worked.answer.scientific)


def _plain(exact: Fraction) -> Decimal:
    places = finite_places(exact)
    return half_up(exact, 6 if places is None else places)
