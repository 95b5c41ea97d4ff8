"""A question and a unit style come in; its quantities go out as they are printed: given, found in working, or the answer."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction

from molewright.chem.conventions import UnitStyle
from molewright.chem.masses import relative_mass
from molewright.chem.quantity import Quantity, figures_to_show, finite_places, half_up, in_base_unit, to_figures
from molewright.derivation.worked import WorkedStep
from molewright.experiment.quantities import Name
from molewright.nodes.inline import Amount, Text
from molewright.question.check import Question
from molewright.sheet.unit_styles import in_litres, in_style


class Numbers:
    """The quantities of one question, in the unit style of the paper."""

    def __init__(self, question: Question, style: UnitStyle) -> None:
        self.question = question
        self.style = style
        self.steps: Mapping[Name, WorkedStep] = {step.variable.name: step for step in question.worked.steps}

    def unit(self, unit: str) -> str:
        """A unit in the paper's style."""
        return in_style(unit, self.style)

    def in_units(self, text: str) -> str:
        """Plain words with their units in the paper's style."""
        return in_litres(text) if self.style == "litre" else text

    def amount(self, quantity: Quantity, bold: bool = False) -> Amount:
        """A quantity in the paper's style."""
        return Amount(Quantity(quantity.number, self.unit(quantity.unit), quantity.scientific), bold)

    def answer(self) -> Text | Amount:
        """The answer of the question, in bold."""
        worked = self.question.worked
        return (
            Text(worked.told, bold=True) if worked.steps[-1].variable.simple else self.amount(worked.answer, bold=True)
        )

    def given(self, name: Name) -> Amount | None:
        """A printed quantity, or None where it is hidden."""
        quantity = self.question.draw.given.get(name)
        return None if quantity is None else self.amount(quantity)

    def written(self, name: Name) -> Quantity:
        """A quantity as it stands in working: printed in the question, found in a step, or a molar mass."""
        if name in self.question.draw.given:
            return in_base_unit(self.question.draw.given[name])
        if name in self.steps:
            return self.steps[name].shown
        variable = self.question.system.variables.get(name)
        if variable is not None and name in self.question.system.fixed:
            return Quantity(relative_mass(variable.subject, self.question.masses))
        return Quantity(_plain(self.question.draw.truth[name]), "")

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
