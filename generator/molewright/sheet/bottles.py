"""A solution comes in; what it is called goes out: by strength and name, or by the scene's word for what is analysed."""

from __future__ import annotations

from molewright.bank.definitions import Bank
from molewright.chem.formula_scripts import unicode_text
from molewright.experiment import quantities
from molewright.experiment.relations.variables import Variable
from molewright.experiment.solution import Solution
from molewright.nodes.inline import Amount, Line, Text
from molewright.question.check import Question
from molewright.sheet.numbers import Numbers
from molewright.sheet.wording import OwnWords

SOLUTION_OF, HARD = "solution of ", "hard "
"""How a solution's name begins that is named after an ion, or after what its strength is told as."""


class Bottles:
    """The solutions of one question, as its sheets call them."""

    def __init__(self, question: Question, bank: Bank, own: OwnWords, numbers: Numbers) -> None:
        self.question = question
        self.bank = bank
        self.say = own.say
        self.numbers = numbers

    def named(self, name: str) -> Solution:
        """The solution of a bottle's name."""
        return next(s for s in self.question.draw.variant.procedure.solutions() if s.name == name)

    def of(self, variable: Variable) -> Solution | None:
        """The solution whose strength or volume a variable is, or of whose gas it is the amount; None where it is none's."""
        name = variable.name
        return next(
            (
                solution
                for solution in self.question.draw.variant.procedure.solutions()
                if name in solution.strengths
                or (name.kind == "volume" and name.subject == solution.name)
                or (solution.gas and name == solution.gas_amount)
            ),
            None,
        )

    def beside_another(self, solution: Solution) -> bool:
        """Whether another bottle brings the same species to the same vessel, so that its formula does not tell it."""
        procedure = self.question.draw.variant.procedure
        return any(
            solution in (act.solution, *act.others) and (solution.species, act.vessel) in procedure.shared
            for act in procedure.measures
        )

    def is_analysed(self, solution: Solution) -> bool:
        """Whether a solution is the one that the scene is about."""
        draw = self.question.draw
        if draw.variant.material is not None:
            return False
        analyte = draw.variant.roles.get("analyte")
        if solution.solute == analyte and self.beside_another(solution):  # the scene is about one bottle of them
            alike = [one for one in draw.variant.procedure.solutions() if one.solute == analyte and not one.made_in]
            asked = [one for one in alike if self.of(self.question.system.variables[draw.ask.quantity]) == one]
            return solution == (asked or alike)[0]
        beside = (op.others for op in draw.variant.procedure.measures if op.solution.solute == analyte)
        return solution.solute == analyte or any(solution in others for others in beside)

    def strength(self, solution: Solution) -> Amount | None:
        """The printed concentration of a solution, or None where it is hidden."""
        return self.numbers.given(quantities.concentration(solution.name)) or self.numbers.given(
            quantities.mass_concentration(solution.name)
        )

    def _solution(self, solution: Solution) -> str:
        substance = self.bank.substances.get(solution.solute)
        if substance is None:
            return f"{unicode_text(solution.solute)} solution"
        return substance.solution or f"{substance.name} solution"

    def dissolved(self, solution: Solution) -> Line:
        """What another bottle holds beside its own solute: "0.105 mol dm⁻³ sodium hydroxide"."""
        found = self.strength(solution)
        assert found is not None
        return (found, Text(f" {self._solution(solution).removesuffix(' solution')}"))

    def by_name(self, solution: Solution, strength: bool = True) -> Line:
        """A solution by its chemical name: "0.105 mol dm⁻³ sodium hydroxide solution"."""
        name = self._solution(solution)
        if not strength:
            return (Text(f"the {name}"),)
        found = self.strength(solution)
        if found:
            return (found, Text(f" {name}"))
        if name.startswith(HARD):
            return (Text(name),)  # how hard it is is asked, and told as something that it need not hold
        article = "a " if name.startswith(SOLUTION_OF) else ""
        return (Text(f"{article}{name} of unknown concentration"),)

    def unnumbered(self, solution: Solution) -> Line:
        """A solution by its chemical name alone, without an article: "sodium hydroxide solution"."""
        first, *rest = self.by_name(solution, strength=False)
        return (Text(first.text.removeprefix("the ")), *rest) if isinstance(first, Text) else (first, *rest)

    def called(self, solution: Solution, strength: bool = True) -> Line:
        """A solution as the stem calls it: by its strength and name, or by the scene's word for what is analysed."""
        if solution.made_in:
            diluted_on = any(op.into == solution.made_in for op in self.question.draw.variant.procedure.aliquots)
            return self.say("second solution") if diluted_on else self.by_name(solution, strength=False)
        if solution.poured_as:
            return (Text(solution.poured_as),)
        if self.is_analysed(solution):
            return (Text(self.question.draw.context.sample),)
        return self.by_name(solution, strength)

    def called_again(self, solution: Solution) -> Line:
        """A solution that was named before: "the same hydrochloric acid", or the scene's word for what is analysed."""
        if self.is_analysed(solution) or solution.made_in or solution.poured_as:
            return self.called(solution)
        return self.say("same bottle", bottle=self.unnumbered(solution))

    def solute(self, solution: Solution) -> str:
        substance = self.bank.substances.get(solution.solute)
        if substance is None:
            return unicode_text(solution.solute)
        if substance.solution.startswith((SOLUTION_OF, HARD)):
            return substance.name
        bottle = substance.solution.partition(" (")[0]  # without the formula of its ion
        return bottle.removesuffix(" solution").removesuffix(" suspension") or substance.name

    def holds_instead(self, solution: Solution) -> str:
        """What is in a solution whose strength is told as that of a solid which is not: "calcium ions" of hard water; "" else."""
        solid = any(salt.solid.solid == solution.solute for salt in self.bank.sparing)
        return self.bank.name_of(solution.species) if solid and solution.species != solution.solute else ""

    def named_by_solute(self, solution: Solution) -> str:
        """What a strength is of, where a solution's own name does not tell it: "hard", or "solution" of an ion; "" else."""
        substance = self.bank.substances.get(solution.solute)
        named = substance.solution if substance else ""
        return next((one.split()[0] for one in (SOLUTION_OF, HARD) if named.startswith(one)), "")

    def called_by_ion(self, solution: Solution) -> bool:
        """Whether the scene calls a solution by the ion in it and not by its salt: "the iron(II) solution"."""
        ion = self.bank.name_of(solution.species).removesuffix(" ions")
        said = self.question.draw.context.sample
        return (
            self.is_analysed(solution)
            and solution.species != solution.solute
            and ion in said
            and self.solute(solution) not in said
        )

    def says_itself(self, solution: Solution) -> bool:
        """Whether the scene's word for a solution already says what is in it: "the acid", "the sodium hydroxide solution"."""
        if any(op.others for op in self.question.draw.variant.procedure.measures):
            return False
        said = self.question.draw.context.sample.removeprefix("the ")
        return said.split()[-1] in ("acid", "alkali", "solution", "reagent") or self.solute(solution) in said
