"""One question comes in; the lines that its sheets are made of go out: what each quantity is called, its symbol, its working."""

from __future__ import annotations

import zlib
from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from generator.bank.definitions import Bank, Indicator
from generator.chem.formula import unicode_text
from generator.chem.masses import relative_mass
from generator.chem.quantity import Quantity, finite_places, half_up, to_figures
from generator.chem.reaction import Reaction, Species
from generator.question import procedure as names
from generator.question.check import Question
from generator.question.procedure import Measure, Solution, Titrate, Weigh
from generator.question.relations import Relation, Variable
from generator.question.worked import WorkedStep
from generator.sheet.nodes import (
    Amount,
    Chem,
    Equation,
    Gap,
    Inline,
    Line,
    Maths,
    MathsItem,
    Sign,
    Symbol,
    Term,
    Text,
)
from generator.sheet.words import Words, capitalised
from generator.sheet.working import right_side

UnitStyle = Literal["dm3", "litre"]
UNIT_STYLES: tuple[UnitStyle, ...] = ("dm3", "litre")
_LITRE: dict[str, str] = {
    "cm³": "mL", "dm³": "L", "mol dm⁻³": "mol/L", "g dm⁻³": "g/L", "mg dm⁻³": "mg/L",
}  # fmt: skip
_COUNTS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")
_LETTERS: dict[str, str] = {
    "amount": "n", "mass": "m", "mass within": "m", "mass each": "m", "concentration": "c", "molar mass": "M", "volume": "V",
    "titre": "V", "mass concentration": "ρ", "water mass": "m",
}  # fmt: skip


_NOTES: dict[str, str] = {"added": "total", "titre": "", "sample": "", "flask": "", "formed": "", "total": ""}
"""What stands after the formula in a symbol, by station; a station that is not here speaks for itself."""


class Voice:
    """Speaks of one question: lines for its quantities, in the unit style of the paper."""

    def __init__(self, question: Question, bank: Bank, words: Words, style: UnitStyle = "dm3") -> None:
        self.question = question
        self.bank = bank
        self.words = words
        self.style = style
        self.steps: Mapping[str, WorkedStep] = {step.variable.name: step for step in question.worked.steps}
        self._seed = question.draw.stream.seed

    def say(self, key: str, **slots: str | Inline | Line) -> Line:
        """A wording, the same one each time for this question."""
        return self.words.line(key, zlib.crc32(f"{self._seed}/{key}".encode()), **slots)

    # ------------------------------------------------------------ quantities

    def unit(self, unit: str) -> str:
        """A unit in the paper's style."""
        return _LITRE.get(unit, unit) if self.style == "litre" else unit

    def amount(self, quantity: Quantity, bold: bool = False) -> Amount:
        """A quantity in the paper's style."""
        return Amount(Quantity(quantity.number, self.unit(quantity.unit), quantity.scientific), bold)

    def given(self, name: str) -> Amount | None:
        """A printed quantity, or None where it is hidden."""
        quantity = self.question.draw.given.get(name)
        return None if quantity is None else self.amount(quantity)

    def written(self, name: str) -> Quantity:
        """A quantity as it stands in working: printed in the question, found in a step, or a molar mass."""
        if name in self.question.draw.given:
            return self.question.draw.given[name]
        if name in self.steps:
            return self.steps[name].shown
        variable = self.question.system.variables.get(name)
        if variable is not None and name in self.question.system.fixed:
            return Quantity(relative_mass(variable.subject, self.question.masses))
        return Quantity(_plain(self.question.draw.truth[name]), "")

    def sample(self) -> str:
        """What the sample is called in this scene: "the shell"."""
        return self.question.draw.context.sample

    def is_analysed(self, solution: Solution) -> bool:
        """Whether a solution is the one that the scene is about."""
        draw = self.question.draw
        return draw.variant.material is None and solution.solute == draw.variant.roles.get("analyte")

    def strength(self, solution: Solution) -> Amount | None:
        """The printed concentration of a solution, or None where it is hidden."""
        return self.given(names.concentration(solution.name)) or self.given(names.mass_concentration(solution.name))

    def named_bottle(self, solution: Solution, strength: bool = True) -> Line:
        """A solution by its chemical name: "0.105 mol dm⁻³ sodium hydroxide solution"."""
        substance = self.bank.substances.get(solution.solute)
        name = f"{unicode_text(solution.solute)} solution"
        if substance:
            name = substance.solution or f"{substance.name} solution"
        if not strength:
            return (Text(f"the {name}"),)
        found = self.strength(solution)
        return (found, Text(f" {name}")) if found else (Text(f"{name} of unknown concentration"),)

    def bottle(self, solution: Solution, strength: bool = True) -> Line:
        """A solution as the stem calls it: by its strength and name, or by the scene's word for what is analysed."""
        if self.is_analysed(solution):
            return (Text(self.sample()),)
        if solution.made_in:
            return (Text("this solution"),)
        return self.named_bottle(solution, strength)

    def solution(self, name: str) -> Solution:
        """The solution of a bottle's name."""
        return next(s for s in self.question.draw.variant.procedure.solutions() if s.name == name)

    def of_solution(self, variable: Variable) -> Solution | None:
        """The solution whose strength or volume a variable is."""
        for solution in self.question.draw.variant.procedure.solutions():
            if (
                variable.name.endswith(f"concentration of {solution.name}")
                or f"volume of {solution.name}" in variable.name
            ):
                return solution
        return None

    # ------------------------------------------------------------ names

    def the(self, variable: Variable, asked: bool = False) -> Line:
        """A quantity as it is called in a sentence: "the amount of HCl left over after the reaction"."""
        slots = self._slots(variable)
        key = f"the {variable.kind}"
        if variable.kind == "amount":
            key = f"the amount {self._station(variable)}"
            if variable.stage == "titre" and self.question.draw.ask.quantity.startswith("titre"):
                key = "the amount needed"
        elif variable.kind == "volume" and variable.stage in ("made up", "aliquot"):
            key = f"the volume {variable.stage}"
        elif variable.kind == "titre" and not asked:
            key = "the titre known"
        elif variable.kind in ("concentration", "mass concentration"):
            solution = self.of_solution(variable)
            if solution is not None and self.is_analysed(solution) and not self._says_itself(solution):
                key += " within"
                slots["solute"] = self._solute(solution)
        return self.say(key, **slots)

    def _solute(self, solution: Solution) -> str:
        substance = self.bank.substances.get(solution.solute)
        if substance is None:
            return unicode_text(solution.solute)
        return substance.solution.removesuffix(" solution") or substance.name

    def _says_itself(self, solution: Solution) -> bool:
        """Whether the scene's word for a solution already says what is in it: "the acid", "the sodium hydroxide solution"."""
        said = self.sample().removeprefix("the ")
        return said.split()[-1] in ("acid", "alkali", "solution", "reagent") or self._solute(solution) in said

    def _station(self, variable: Variable) -> str:
        if variable.stage == "left over" and self._flask(variable.vessel) is not None:
            return "left in flask"
        if variable.stage == "added" and not any(
            isinstance(op, Measure) and op.excess and op.vessel == variable.vessel
            for op in self.question.draw.variant.procedure.operations
        ):
            return "measured"
        return variable.stage if self.words.has(f"the amount {variable.stage}") else "flask"

    def _flask(self, vessel: str) -> Amount | None:
        """The made-up volume of a vessel that portions are taken from."""
        return self.given(names.volume_made_up(vessel)) or self._measured_whole(vessel)

    def _measured_whole(self, vessel: str) -> Amount | None:
        taken = any(isinstance(op, names.Aliquot) and op.vessel == vessel
                    for op in self.question.draw.variant.procedure.operations)  # fmt: skip
        for op in self.question.draw.variant.procedure.operations:
            if taken and isinstance(op, Measure) and op.vessel == vessel:
                return self.given(names.volume_measured(op.solution.name, vessel))
        return None

    def _slots(self, variable: Variable) -> dict[str, str | Inline | Line]:
        material = self.question.draw.variant.material
        solution = self.of_solution(variable)
        slots: dict[str, str | Inline | Line] = {
            "sample": self.sample(),
            "piece": material.pieces if material and material.pieces else "piece",
            "portion": self.given(names.volume_taken(variable.vessel)) or "",
            "flask": self._flask(variable.vessel) or "flask",
        }
        if variable.kind not in ("mass", "pieces", "volume", "titre", "concentration", "mass concentration"):
            slots["formula"] = Chem(variable.subject)
        if variable.kind == "titre":
            slots["bottle"] = self.bottle(self._titration(variable).titrant)
        elif solution is not None:
            slots["bottle"] = self.bottle(solution, strength=False)
        if variable.stage == "added":
            slots["volume"] = self._added(variable)
        return slots

    def _titration(self, variable: Variable) -> Titrate:
        return next(t for t in self.question.draw.variant.procedure.titrations if names.titre(t) == variable.name)

    def _added(self, variable: Variable) -> Line:
        for op in self.question.draw.variant.procedure.operations:
            if isinstance(op, Measure) and op.solution.species == variable.subject and op.vessel == variable.vessel:
                volume = self.given(names.volume_measured(op.solution.name, op.vessel))
                return (
                    (volume, Text(" of "), *self.bottle(op.solution, strength=False))
                    if volume
                    else (Text("the portion"),)
                )
        return (Text("the portion"),)

    def indicator(self) -> Indicator | None:
        """The indicator of the titration."""
        return self.bank.indicators.get(self.question.draw.indicator)

    # ------------------------------------------------------------ mathematics

    def symbol(self, variable: Variable) -> tuple[MathsItem, ...]:
        """The symbol of a quantity: n(HCl, left over); a percentage is written in words."""
        if variable.kind == "percentage":
            return (Text("percentage"),)
        if variable.kind == "water":
            return (Text("x", italic=True),)
        if variable.kind == "pieces":
            return (Text(f"number of {variable.subject}s"),)
        of = variable.subject if variable.kind not in ("mass", "volume", "titre", "pieces") else ""
        note = _NOTES.get(variable.stage, variable.stage)
        if variable.stage == "added" and self._station(variable) == "measured":
            note = ""
        if variable.kind == "titre":
            of = self._titration(variable).titrant.solute
        elif variable.kind == "mass":
            return (Symbol("m", "", "sample"),)
        elif variable.kind == "volume":
            solution = self.of_solution(variable)
            of = solution.solute if solution else ""
            note = "" if variable.stage == "added" else note
        elif variable.kind in ("mass each", "concentration", "mass concentration"):
            note = "each" if variable.kind == "mass each" else variable.stage
        return (Symbol(_LETTERS.get(variable.kind, "n"), of, note),)

    def working(self, step: WorkedStep, final: bool, gaps: bool = False) -> Maths:
        """One step as a line of working: symbol = numbers = printed value, or with blanks for the pupil."""
        items: list[MathsItem] = [*self.symbol(step.variable), Sign("=")]
        if step.relation is not None and step.idle and not gaps:  # 1:1, so no arithmetic to show
            other = next(name for name in step.relation.names if name != step.variable.name)
            items += [*self.symbol(self.question.system.variables[other]), Sign("=")]
        elif step.relation is not None:
            items += [*self.numbers(step.relation, step.variable.name, gaps), Sign("=")]
        items += self._found(step, final, gaps)
        return Maths(tuple(items))

    def _found(self, step: WorkedStep, final: bool, gaps: bool) -> list[MathsItem]:
        worked = self.question.worked
        if gaps:
            return [Gap(26.0, self.unit(worked.answer.unit if final else step.shown.unit))]
        found: list[MathsItem] = [self.amount(step.shown, bold=not final)]
        if final and step.shown.number != worked.answer.number:
            found = [self.amount(step.shown), Sign("="), self.amount(worked.answer, bold=True)]
        elif final:
            found = [self.amount(worked.answer, bold=True)]
        return found

    def numbers(self, relation: Relation, target: str, gaps: bool = False) -> tuple[MathsItem, ...]:
        """The right side of a step, solved for its target, with numbers in or with blanks."""
        return right_side(relation, target, self.written, gaps)

    # ------------------------------------------------------------ small lines

    def ratio_line(self, relation: Relation) -> Line:
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
        species = [s.formula.text for s in (*reaction.left, *reaction.right)]
        pair = [self._reacting(v, species) for v in ties]
        parts = [(Text(f"{reaction.coefficient(one)}{_NB}mol "), Chem(one)) for one in pair]
        link = " reacts with " if all(one in {m.formula.text for m in reaction.left} for one in pair) else " goes with "
        return (*parts[1], Text(link), *parts[0])

    def _reacting(self, variable: Variable, species: list[str]) -> str:
        """The formula by which a variable's substance stands in an equation."""
        if variable.subject in species:
            return variable.subject
        for op in self.question.draw.variant.procedure.operations:
            if isinstance(op, Weigh):
                for content in op.contents:
                    if content.substance == variable.subject and content.species in species:
                        return content.species
        return variable.subject

    def the_capital(self, variable: Variable) -> Line:
        """The name of a quantity at the start of a sentence."""
        return capitalised(self.the(variable))

    def exact_text(self, figures: int = 5) -> Quantity:
        """The exact answer to five figures, in the answer's unit."""
        worked = self.question.worked
        factor = 1 / Quantity(_plain(Fraction(1)), worked.answer.unit).in_base
        return Quantity(to_figures(worked.exact * factor, figures), worked.answer.unit, worked.answer.scientific)


_NB = "\N{NO-BREAK SPACE}"


def _plain(exact: Fraction) -> Decimal:
    places = finite_places(exact)
    return half_up(exact, 6 if places is None else places)


def equation(reaction: Reaction) -> Equation:
    """A reaction as a node, with its state symbols."""

    def side(members: tuple[Species, ...]) -> tuple[Term, ...]:
        return tuple(Term("" if m.coefficient == 1 else str(m.coefficient), m.formula.text, m.state) for m in members)

    return Equation(side(reaction.left), side(reaction.right))


def count_word(number: int) -> str:
    """A small number as a word."""
    return _COUNTS[number] if 0 <= number < len(_COUNTS) else str(number)
