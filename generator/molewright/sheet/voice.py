"""One question comes in; the lines that its sheets are made of go out: what each quantity is called, its symbol, its working."""

from __future__ import annotations

import zlib
from collections import Counter
from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from molewright.bank.definitions import Bank, Indicator
from molewright.chem.formula_scripts import unicode_text
from molewright.chem.masses import relative_mass
from molewright.chem.quantity import Quantity, figures_to_show, finite_places, half_up, in_base_unit, to_figures
from molewright.chem.reaction import Reaction, Species
from molewright.derivation.worked import WorkedStep
from molewright.experiment import procedure as names
from molewright.experiment.procedure import Aliquot, Measure, Pass, React, Solution, Strength, Titrate, Weigh
from molewright.experiment.relations.variables import Relation, Variable
from molewright.nodes.tree import Amount, Chem, Equation, Gap, Inline, Line, Maths, MathsItem, Sign, Symbol, Term, Text
from molewright.question.check import Question
from molewright.sheet.symbols_apart import printed_names, word_apart
from molewright.sheet.wording import Words, capitalised
from molewright.sheet.working_lines import right_side

UnitStyle = Literal["dm3", "litre"]
UNIT_STYLES: tuple[UnitStyle, ...] = ("dm3", "litre")
_LITRE: dict[str, str] = {
    "cm³": "mL", "dm³": "L", "mol dm⁻³": "mol/L", "g dm⁻³": "g/L", "mg dm⁻³": "mg/L",
    "dm³ mol⁻¹": "L/mol",
}  # fmt: skip
_COUNTS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")
_LETTERS: dict[str, str] = {
    "amount": "n", "mass": "m", "mass within": "m", "mass each": "m", "concentration": "c", "molar mass": "M", "volume": "V",
    "titre": "V", "mass concentration": "ρ", "water mass": "m", "mass in volume": "m", "bottle mass": "m",
    "mass per gram": "m", "molar volume": "V", "supposed mass": "m",
    "extra mass": "m", "molar difference": "M", "impurity mass": "m",
}  # fmt: skip


_NOTES: dict[str, str] = {
    "added": "total",
    "titre": "",
    "sample": "",
    "flask": "",
    "formed": "",
    "total": "",
    "electrons": "",
    "aliquot": "portion",
}
"""What stands after the formula in a symbol, by station; a station that is not here speaks for itself."""
_IN_WORDS = {"percentage": "percentage", "impurity": "percentage of impurities", "excess": "excess"}
"""Kinds of quantity without a letter."""
_TOGETHER = {"formed": "formed", "total": "in all"}
"""The same, where some of a substance is formed in a flask that held some of it before: three amounts of one formula."""


def in_litres(text: str) -> str:
    """Plain words with mL, L, mol/L and g/L for cm³, dm³, mol dm⁻³ and g dm⁻³."""
    for unit in sorted(_LITRE, key=len, reverse=True):
        text = text.replace(unit, _LITRE[unit])
    return text


class Voice:
    """Speaks of one question: lines for its quantities, in the unit style of the paper."""

    def __init__(self, question: Question, bank: Bank, words: Words, style: UnitStyle = "dm3") -> None:
        self.question = question
        self.bank = bank
        self.words = words
        self.style = style
        self.steps: Mapping[str, WorkedStep] = {step.variable.name: step for step in question.worked.steps}
        self._seed = question.draw.stream.seed
        self._shared: frozenset[str] | None = None

    def say(self, key: str, **slots: str | Inline | Line) -> Line:
        """A wording, the same one each time for this question."""
        return self.words.line(key, zlib.crc32(f"{self._seed}/{key}".encode()), **slots)

    # ------------------------------------------------------------ quantities

    def unit(self, unit: str) -> str:
        """A unit in the paper's style."""
        return _LITRE.get(unit, unit) if self.style == "litre" else unit

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

    def ratio_of(self, variable: Variable) -> dict[str, str | Inline | Line]:
        """The two species of a reacting ratio, in the order in which it is asked for."""
        return {"first": Chem(variable.subject), "second": Chem(variable.species)}

    def given(self, name: str) -> Amount | None:
        """A printed quantity, or None where it is hidden."""
        quantity = self.question.draw.given.get(name)
        return None if quantity is None else self.amount(quantity)

    def written(self, name: str) -> Quantity:
        """A quantity as it stands in working: printed in the question, found in a step, or a molar mass."""
        if name in self.question.draw.given:
            return in_base_unit(self.question.draw.given[name])
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
        if draw.variant.material is not None:
            return False
        analyte = draw.variant.roles.get("analyte")
        if solution.solute == analyte and self._beside_another(solution):  # the scene is about one bottle of them
            alike = [one for one in draw.variant.procedure.solutions() if one.solute == analyte and not one.made_in]
            asked = [one for one in alike if draw.ask.quantity.endswith(f" of {one.name}")]
            return solution == (asked or alike)[0]
        beside = (
            op.others
            for op in draw.variant.procedure.operations
            if isinstance(op, Measure) and op.solution.solute == analyte
        )
        return solution.solute == analyte or any(solution in others for others in beside)

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
        if solution.made_in:
            diluted_on = any(
                isinstance(op, Aliquot) and op.into == solution.made_in
                for op in self.question.draw.variant.procedure.operations
            )
            return self.say("second solution") if diluted_on else self.named_bottle(solution, strength=False)
        if self.is_analysed(solution):
            return (Text(self.sample()),)
        return self.named_bottle(solution, strength)

    def bottle_again(self, solution: Solution) -> Line:
        """A solution that was named before: "the same hydrochloric acid", or the scene's word for what is analysed."""
        if self.is_analysed(solution) or solution.made_in:
            return self.bottle(solution)
        first, *rest = self.named_bottle(solution, strength=False)
        named = (Text(first.text.removeprefix("the ")), *rest) if isinstance(first, Text) else (first, *rest)
        return self.say("same bottle", bottle=named)

    def weighed_noun(self, act: Weigh) -> str:
        """What is weighed, as the stem calls it: the material, the substance, or the scene's word where that must not be told."""
        variant = self.question.draw.variant
        substance = act.contents[0].substance
        scene = self.of_the_scene(act)
        if substance in variant.unknown or substance.endswith(".xH2O"):
            return self.sample()
        if variant.material and scene:
            return variant.material.noun
        return self.sample() if len(act.contents) > 1 and scene else self.bank.name_of(substance)

    def solution(self, name: str) -> Solution:
        """The solution of a bottle's name."""
        return next(s for s in self.question.draw.variant.procedure.solutions() if s.name == name)

    def of_solution(self, variable: Variable) -> Solution | None:
        """The solution whose strength or volume a variable is; of two, the one with the longer name: weak, weaker."""
        found = [
            solution
            for solution in self.question.draw.variant.procedure.solutions()
            if variable.name in names.strengths(solution)
            or f"{variable.name} ".replace(",", " ").startswith(f"volume of {solution.name} ")
            or (solution.gas and variable.name == names.gas_amount(solution))
        ]
        return max(found, key=lambda solution: len(solution.name), default=None)

    def _beside_another(self, solution: Solution) -> bool:
        """Whether another bottle brings the same species to the same vessel, so that its formula does not tell it."""
        procedure = self.question.draw.variant.procedure
        return any(
            isinstance(op, Measure)
            and solution in (op.solution, *op.others)
            and (solution.species, op.vessel) in procedure.shared
            for op in procedure.operations
        )

    # ------------------------------------------------------------ names

    def the(self, variable: Variable, asked: bool = False) -> Line:
        """A quantity as it is called in a sentence: "the amount of HCl left over after the reaction"."""
        slots = self._slots(variable)
        key = f"the {variable.kind}"
        if variable.kind == "amount":
            key = f"the amount {self._station(variable)}"
            if variable.stage == "titre" and self.question.draw.ask.quantity.startswith("titre"):
                key = "the amount needed"
            elif variable.stage == "titre" and self.titration_name(variable):
                key = f"the amount {self._named_titration(variable)}"
            elif variable.stage == "titre" and self.single_titre(self._titrations_of(variable)[0]):
                key = "the amount titre once"
        elif variable.kind == "mass" and self._weighed_pure(variable):
            key = "the mass to weigh" if self._to_a_strength() else "the mass weighed"
        elif variable.kind == "volume" and variable.stage in ("made up", "aliquot", "total"):
            key = f"the volume {variable.stage}"
        elif variable.kind == "mass within" and (act := self.weighed(variable)) is not None and act.per_gram:
            key = "the mass within reacted"
        elif variable.kind == "volume" and self.planned():
            key = "the volume to add"
        elif variable.kind == "titre" and not asked:
            key = "the titre known once" if self.single_titre(self._titration(variable)) else "the titre known"
        elif variable.kind in ("concentration", "mass concentration"):
            solution = self.of_solution(variable)
            if (
                solution is not None
                and self.is_analysed(solution)
                and not self._says_itself(solution)
                and not solution.made_in
            ):
                key += " within"
                slots["solute"] = self._solute(solution)
        return self.say(key, **slots)

    def _solute(self, solution: Solution) -> str:
        substance = self.bank.substances.get(solution.solute)
        if substance is None:
            return unicode_text(solution.solute)
        if substance.solution.startswith(("solution of ", "hard ")):  # named after an ion, or after what it is told as
            return substance.name
        return substance.solution.removesuffix(" solution").removesuffix(" suspension") or substance.name

    def _says_itself(self, solution: Solution) -> bool:
        """Whether the scene's word for a solution already says what is in it: "the acid", "the sodium hydroxide solution"."""
        if any(isinstance(op, Measure) and op.others for op in self.question.draw.variant.procedure.operations):
            return False
        said = self.sample().removeprefix("the ")
        return said.split()[-1] in ("acid", "alkali", "solution", "reagent") or self._solute(solution) in said

    def _named_titration(self, variable: Variable) -> str:
        """How one of several titrations is told: by its name, or by its end point where two share a flask."""
        own = self._titrations_of(variable)[0]
        same = [one for one in self.question.draw.variant.procedure.titrations if one.vessel == own.vessel]
        if len(same) < 2:
            return "titre named"
        return "titre to the first" if own is same[0] else "titre after the first"

    def single_titre(self, titration: Titrate) -> bool:
        """Whether a titration is done once only, the whole sample being in the flask or a graph drawn: there is no mean titre."""
        if self.question.draw.archetype.graph and titration is self.question.draw.variant.procedure.titrations[-1]:
            return True
        operations = self.question.draw.variant.procedure.operations
        whole = any(
            (isinstance(op, Weigh) and op.vessel == titration.vessel)
            or (isinstance(op, Pass) and op.into == titration.vessel)
            or (
                isinstance(op, Measure)
                and op.vessel == titration.vessel
                and op.apparatus in ("volumetric flask", "bottle")
            )
            for op in operations
        )
        return whole and not self.question.draw.runs

    def _weighed_pure(self, variable: Variable) -> bool:
        act = self.weighed(variable)
        return act is not None and act.pure and len(act.contents) == 1

    def _to_a_strength(self) -> bool:
        """Whether a solution is made to a strength that is told, so that nothing has been weighed yet."""
        told = (op.solution for op in self.question.draw.variant.procedure.operations if isinstance(op, Strength))
        return any(self.strength(solution) is not None for solution in told)

    def planned(self) -> bool:
        """Whether the experiment is only planned: its reagent's excess is told, and nothing is titrated."""
        return any(isinstance(op, React) and op.told for op in self.question.draw.variant.procedure.operations)

    def _in_sample(self, variable: Variable) -> str:
        """How the amount of a substance in what is weighed is told."""
        act = self.weighed(variable)
        if act is not None and act.per_gram:  # counted as the reagent that it takes up
            return "reacted"
        if self._weighed_pure(variable):
            return "needed" if self._to_a_strength() else "weighed"
        return "sample" if self._of_the_scene(variable) else "weighed"

    def in_a_portion(self, variable: Variable) -> str:
        """The station of an amount that is told for one portion and not for the whole flask; "" for any other."""
        system = self.question.system.variables.values()
        operations = self.question.draw.variant.procedure.operations
        if not any(isinstance(op, Aliquot) and op.into == variable.vessel for op in operations):
            return ""
        if variable.stage == "portion":
            alike = [one for one in system if (one.subject, one.stage) == (variable.subject, "portion")]
            return "portion named" if len(alike) > 1 and self.titration_name(variable) else ""
        return f"{variable.stage} in portion" if variable.stage in ("left over", "added", "reacted") else ""

    def _spent(self, variable: Variable) -> bool:
        """Whether what a sample gives has reacted before the solution is made up, so that it is not in the flask."""
        return any(
            isinstance(op, React)
            and op.vessel == variable.vessel
            and any(member.formula.text == variable.subject for one in op.reactions for member in one.left)
            for op in self.question.draw.variant.procedure.operations
        )

    def _station(self, variable: Variable) -> str:
        if variable.stage == "sample":
            return self._in_sample(variable)
        if variable.bottle:
            return "measured"
        if portion := self.in_a_portion(variable):
            return portion
        if variable.stage == "flask" and self._spent(variable):
            return "from sample"
        if variable.stage == "left over" and self._flask(variable.vessel) is not None:
            return "left in flask"
        if variable.stage == "added" and not any(
            isinstance(op, Measure)
            and op.excess
            and op.vessel == variable.vessel
            and variable.subject == op.solution.species
            for op in self.question.draw.variant.procedure.operations
        ):
            return "measured"
        return variable.stage if self.words.has(f"the amount {variable.stage}") else "flask"

    def _flask(self, vessel: str) -> Amount | None:
        """The made-up volume of a vessel that portions are taken from."""
        return self.given(names.volume_made_up(vessel)) or self._measured_whole(vessel)

    def _measured_whole(self, vessel: str) -> Amount | None:
        taken = any(isinstance(op, Aliquot) and op.vessel == vessel
                    for op in self.question.draw.variant.procedure.operations)  # fmt: skip
        measured = [op for op in self.question.draw.variant.procedure.operations
                    if taken and isinstance(op, Measure) and op.vessel == vessel]  # fmt: skip
        return self.given(measured[0].volume) if len(measured) == 1 else None

    def titration_name(self, variable: Variable) -> str:
        """The name of the titration that an amount of titrant belongs to; "" for the only one."""
        found = self._titrations_of(variable)
        if not found and variable.stage == "portion":
            titrations = self.question.draw.variant.procedure.titrations
            found = [one for one in titrations if one.vessel == variable.vessel]
        return found[0].name if found else ""

    def _titrations_of(self, variable: Variable) -> list[Titrate]:
        titrations = self.question.draw.variant.procedure.titrations
        return [one for one in titrations if names.titrant_amount(one) == variable.name]

    def weighed(self, variable: Variable) -> Weigh | None:
        """The weighing that a substance, an element or a sample's mass belongs to."""
        for op in self.question.draw.variant.procedure.operations:
            if (
                isinstance(op, Weigh)
                and variable.vessel in ("", op.vessel)
                and variable.subject in (op.sample, *op.elements, *(c.substance for c in op.contents))
            ):
                return op
        return None

    def of_the_scene(self, act: Weigh) -> bool:
        """Whether what is weighed is what the scene is about, and not a standard beside it."""
        draw = self.question.draw
        weighings = [op for op in draw.variant.procedure.operations if isinstance(op, Weigh)]
        if draw.variant.material is not None:
            return act.sample == draw.variant.material.name or len(weighings) == 1
        measured = any(self.is_analysed(one) and not one.made_in for one in draw.variant.procedure.solutions())
        return not measured and (len(weighings) == 1 or act.sample == draw.variant.roles.get("analyte"))

    def _of_the_scene(self, variable: Variable) -> bool:
        act = self.weighed(variable)
        return act is None or self.of_the_scene(act)

    def _formula(self, text: str) -> Inline | Line:
        """A formula, or several as they stand in a total: "CaCO3 and MgCO3"."""
        if " and " not in text:
            return Chem(text)
        pieces: list[Inline] = []
        for one in text.split(" and "):
            pieces += [*([Text(" and ")] if pieces else []), Chem(one)]
        return tuple(pieces)

    def _slots(self, variable: Variable) -> dict[str, str | Inline | Line]:
        material = self.question.draw.variant.material
        solution = self.of_solution(variable)
        slots: dict[str, str | Inline | Line] = {
            "sample": self.sample(),
            "piece": material.pieces if material and material.pieces else "piece",
            "portion": self.given(names.volume_taken(variable.vessel)) or "titrated",
            "flask": self._flask(variable.vessel) or "flask",
        }
        if variable.kind not in ("mass", "pieces", "volume", "titre", "concentration", "mass concentration"):
            slots["formula"] = self._formula(variable.subject)
        if variable.kind == "amount" and variable.stage in ("titre", "portion"):
            slots["titration"] = self.titration_name(variable)
        if variable.species and variable.kind in ("amount", "basicity", "ratio"):
            slots["titrant"] = Chem(variable.species)
        if variable.kind == "titre":
            slots["bottle"] = self.bottle(self._titration(variable).titrant)
        elif solution is not None:
            slots["bottle"] = self.bottle(solution, strength=False)
        if variable.kind == "mass in volume" and solution is not None:
            slots["told_in"] = self.amount(Quantity(Decimal(solution.told_in_cm3), "cm³"))
        elif variable.stage == "from 1 dm³":
            slots["one"] = self.amount(Quantity(Decimal(1), "dm³"))
        if variable.stage == "added":
            slots["volume"] = self._added(variable)
        return slots

    def _titration(self, variable: Variable) -> Titrate:
        return next(t for t in self.question.draw.variant.procedure.titrations if names.titre(t) == variable.name)

    def _added(self, variable: Variable) -> Line:
        procedure = self.question.draw.variant.procedure
        for op in procedure.operations:
            if isinstance(op, Measure) and variable.name in (
                procedure.added(one, op.vessel) for one in (op.solution, *op.others)
            ):
                start = self.given(op.volume) or Text("the measured volume")
                return (start, Text(" of "), *self.bottle(op.solution, strength=bool(variable.bottle)))
        return (Text("the portion"),)

    def indicator(self) -> Indicator | None:
        """The indicator of the titration."""
        return self.bank.indicators.get(self.question.draw.indicator)

    # ------------------------------------------------------------ mathematics

    def symbol(self, variable: Variable) -> tuple[MathsItem, ...]:
        """The symbol of a quantity: n(HCl, left over); a percentage is written in words. No two of a question share one."""
        alone = self._symbol_alone(variable)
        if variable.name not in self._sharing():
            return alone
        operations = self.question.draw.variant.procedure.operations
        samples = [op.sample for op in operations if isinstance(op, Weigh) and self.of_the_scene(op)]
        word = word_apart(variable, self.question.draw.variant.procedure, samples)
        last = alone[-1]
        if not word:
            return alone
        if isinstance(last, Symbol):
            return (*alone[:-1], replace(last, note=f"{last.note}, {word}" if last.note else word))
        return (*alone, Text(f" {word}"))

    def _sharing(self) -> frozenset[str]:
        """The printed quantities whose symbol would be that of another one as well."""
        if self._shared is None:
            routes = self.question.prepared.routes
            printed = printed_names(self.question.worked, routes, self.question.draw.given)
            alone = {name: self._symbol_alone(routes.system.variables[name]) for name in printed}
            counts = Counter(alone.values())
            self._shared = frozenset(name for name in printed if counts[alone[name]] > 1)
        return self._shared

    def _symbol_alone(self, variable: Variable) -> tuple[MathsItem, ...]:
        if variable.kind in _IN_WORDS:
            return (Text(_IN_WORDS[variable.kind]),)
        if variable.kind == "oxidation state":
            return (Text("oxidation state of "), Chem(variable.subject))
        if variable.kind == "impurity mass":
            return (Symbol("m", "", "impurities"),)
        if variable.kind == "water":
            return (Text("x", italic=True),)
        if variable.kind == "water mass":
            return (Symbol("M", "", "water"),)  # in grams for each mole of the hydrate
        if variable.kind in ("volume strength", "ratio", "electrons"):
            return (Text("electrons for each" if variable.kind == "electrons" else variable.kind),)
        if variable.kind == "basicity":
            return (Text("moles of "), Chem(variable.species), Text(" for each mole"))
        if variable.kind == "atomic mass":
            return (Symbol("A", variable.subject, "", "r"),)
        if variable.kind == "molar volume":
            return (Symbol("V", "", "", "m"),)
        if variable.kind == "molar difference":
            return (Text("difference of molar masses"),)
        if " and " in variable.subject:
            station = variable.stage if variable.stage != "both" else ""
            return (Symbol("n", "", f"both {station}".strip()),)
        if variable.kind == "metal mass":
            return (Symbol("m", variable.species, "in 1 mol"),)
        if variable.kind == "pieces":
            return (Text(f"number of {variable.subject}s"),)
        of = variable.subject if variable.kind not in ("mass", "volume", "titre", "pieces") else ""
        note = _NOTES.get(variable.stage, variable.stage).replace("1 dm³", f"1 {self.unit('dm³')}")
        if variable.stage == "added" and self._station(variable) == "measured":
            note = variable.bottle
        elif variable.stage in _TOGETHER and self._comes_twice(variable):
            note = _TOGETHER[variable.stage]
        if variable.kind == "titre":
            of = self._titration(variable).titrant.solute
        elif variable.kind == "mass":
            act = self.weighed(variable)
            if act is not None and not self.of_the_scene(act):
                return (Symbol("m", act.contents[0].substance),)
            return (Symbol("m", "", "sample"),)
        elif variable.kind == "volume":
            solution = self.of_solution(variable)
            of = solution.solute if solution else ""
            note = variable.stage if variable.stage == "total" else self._told_apart(variable, note)
        elif variable.stage == "titre":
            note = self.titration_name(variable)
        elif variable.kind == "mass in volume":
            solution = self.of_solution(variable)
            assert solution is not None
            note = f"in {solution.told_in_cm3} {self.unit('cm³')}"
        elif variable.kind == "mass per gram":
            note = "for each gram"
        elif variable.kind == "bottle mass":
            of, note = "", "before" if variable.stage == "full" else "after"
        elif variable.kind in ("supposed mass", "extra mass"):
            of, note = ("", "supposed") if variable.kind == "supposed mass" else ("", "extra")
        elif variable.kind in ("mass each", "concentration", "mass concentration"):
            note = "each" if variable.kind == "mass each" else self._told_apart(variable, variable.stage)
        return (Symbol(_LETTERS.get(variable.kind, "n"), of, note),)

    def _told_apart(self, variable: Variable, note: str) -> str:
        """What stands after the formula of a strength or a volume: the bottle, where two hold the same solute."""
        solution = self.of_solution(variable)
        if solution is not None and self._beside_another(solution):
            return solution.name
        return "" if variable.stage == "added" else note

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
        if step.variable.kind == "oxidation state":
            return [Text("+", bold=True), self.amount(worked.answer, bold=True)]
        if final and step.variable.simple:
            return [self.amount(step.shown), Sign("≈"), self.answer()]
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
        each = [self._reacting(v, species) for v in ties]
        pair = [alike[0] for alike in each]
        parts = [self._alike(alike, reaction.coefficient(alike[0])) for alike in each]
        left = {member.formula.text for member in reaction.left}
        link = " comes from " if pair[1] not in left else " reacts with " if pair[0] in left else " gives "
        return (*parts[1], Text(link), *parts[0])

    def _alike(self, formulae: tuple[str, ...], count: int) -> Line:
        """ "1 mol CaCO₃ or 1 mol MgCO₃"."""
        pieces = [
            (Text(f"{' or ' if number else ''}{count}{_NB}mol "), Chem(one)) for number, one in enumerate(formulae)
        ]
        return tuple(item for piece in pieces for item in piece)

    def _reacting(self, variable: Variable, species: list[str]) -> tuple[str, ...]:
        """The formula by which a variable's substance stands in an equation; both where it is two that react alike."""
        if " and " in variable.subject:
            return tuple(variable.subject.split(" and "))
        if variable.subject in species:
            return (variable.subject,)
        for op in self.question.draw.variant.procedure.operations:
            if isinstance(op, Weigh):
                for content in op.contents:
                    if content.substance == variable.subject and content.species in species:
                        return (content.species,)
        return (variable.subject,)

    def _comes_twice(self, variable: Variable) -> bool:
        """Whether a substance is formed in a vessel that held some of it before, so that its amount has a total."""
        here = {"total", "formed", "added"}
        stages = {
            one.stage
            for one in self.question.system.variables.values()
            if (one.kind, one.subject, one.vessel) == (variable.kind, variable.subject, variable.vessel)
        }
        return here <= stages

    def the_capital(self, variable: Variable) -> Line:
        """The name of a quantity at the start of a sentence."""
        return capitalised(self.the(variable))

    def exact_text(self, figures: int = 5) -> Quantity:
        """The exact answer to five figures or as many as show how it is rounded, in the answer's unit."""
        worked = self.question.worked
        factor = 1 / Quantity(_plain(Fraction(1)), worked.answer.unit).in_base
        exact = worked.exact * factor
        if not worked.steps[-1].variable.whole:
            figures = figures_to_show(exact, figures, self.question.draw.ask.figures)
        return Quantity(to_figures(exact, figures), worked.answer.unit, worked.answer.scientific)


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
