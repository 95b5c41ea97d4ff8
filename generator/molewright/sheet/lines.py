"""A step or a relation of a question comes in; its line of working or its reacting ratio goes out."""

from __future__ import annotations

from molewright.derivation.worked import WorkedStep
from molewright.experiment.quantities import Name
from molewright.experiment.relations.variables import Relation, Variable
from molewright.nodes.inline import Chem, Gap, Line, Maths, MathsItem, Sign, Text
from molewright.question.check import Question
from molewright.sheet.numbers import Numbers
from molewright.sheet.right_side import right_side
from molewright.sheet.symbols import Symbols

_NB = "\N{NO-BREAK SPACE}"


class Lines:
    """The lines of working of one question."""

    def __init__(self, question: Question, numbers: Numbers, symbols: Symbols) -> None:
        self.question = question
        self.numbers = numbers
        self.symbols = symbols

    def working(self, step: WorkedStep, final: bool, gaps: bool = False) -> Maths:
        """One step as a line of working: symbol = numbers = printed value, or with blanks for the pupil."""
        items: list[MathsItem] = [*self.symbols.of(step.variable), Sign("=")]
        if step.relation is not None and step.idle and not gaps:  # 1:1, so no arithmetic to show
            other = next(name for name in step.relation.names if name != step.variable.name)
            items += [*self.symbols.of(self.question.system.variables[other]), Sign("=")]
        elif step.relation is not None:
            items += [*self.right_side(step.relation, step.variable.name, gaps), Sign("=")]
        items += self._found(step, final, gaps)
        return Maths(tuple(items))

    def _found(self, step: WorkedStep, final: bool, gaps: bool) -> list[MathsItem]:
        worked = self.question.worked
        if gaps:
            return [Gap(26.0, self.numbers.unit(worked.answer.unit if final else step.shown.unit))]
        if step.variable.kind == "oxidation state":
            return [Text("+", bold=True), self.numbers.amount(worked.answer, bold=True)]
        if final and step.variable.simple:
            return [self.numbers.amount(step.shown), Sign("≈"), self.numbers.answer()]
        found: list[MathsItem] = [self.numbers.amount(step.shown, bold=not final)]
        if final and step.shown.number != worked.answer.number:
            found = [self.numbers.amount(step.shown), Sign("="), self.numbers.amount(worked.answer, bold=True)]
        elif final:
            found = [self.numbers.amount(worked.answer, bold=True)]
        return found

    def right_side(self, relation: Relation, target: Name, gaps: bool = False) -> tuple[MathsItem, ...]:
        """The right side of a step, solved for its target, with numbers in or with blanks."""
        return right_side(relation, target, self.numbers.written, gaps)

    def ratio(self, relation: Relation) -> Line:
        """ "1 mol CaCO₃ reacts with 2 mol HCl", from the relation's equation."""
        ties = [self.question.system.variables[name] for name in relation.names]
        if relation.reaction is None or len(ties) != 2:
            first, second = ties[0], ties[-1]
            return (
                Text(f"1{_NB}mol "),
                Chem(second.subject),
                Text(f" gives {relation.factor}{_NB}mol "),
                Chem(first.subject),
            )
        reaction = relation.reaction
        species = [s.formula.text for s in reaction.terms]
        each = [self._reacting(v, species) for v in ties]
        pair = [alike[0] for alike in each]
        counts = [reaction.coefficient(formula) for formula in pair]
        parts = [self._alike(alike, count) for alike, count in zip(each, counts, strict=True)]
        left = {member.formula.text for member in reaction.left}
        match pair[1] in left, pair[0] in left:
            case False, True:
                verb, rest = "come", " from"
            case False, False:
                verb, rest = "form", " together with"
            case True, True:
                verb, rest = "react", " with"
            case _:
                verb, rest = "give", ""
        return (*parts[1], Text(f" {verb}{'s' if counts[1] == 1 else ''}{rest} "), *parts[0])

    def _alike(self, formulae: tuple[str, ...], count: int) -> Line:
        """ "1 mol CaCO₃ or 1 mol MgCO₃"."""
        pieces = [
            (Text(f"{' or ' if number else ''}{count}{_NB}mol "), Chem(one)) for number, one in enumerate(formulae)
        ]
        return tuple(item for piece in pieces for item in piece)

    def _reacting(self, variable: Variable, species: list[str]) -> tuple[str, ...]:
        """The formula by which a variable's substance stands in an equation; both where it is two that react alike."""
        if variable.several:
            return variable.several
        if variable.subject in species:
            return (variable.subject,)
        for content in self.question.draw.variant.procedure.contents:
            if content.substance == variable.subject and content.species in species:
                return (content.species,)
        return (variable.subject,)
