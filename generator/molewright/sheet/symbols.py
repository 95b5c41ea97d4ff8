"""A quantity of a question comes in; its symbol goes out: n(HCl, left over). No two of a question share one."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

from molewright.experiment.procedure import Weigh
from molewright.experiment.relations.variables import Variable
from molewright.nodes.inline import Chem, MathsItem, Symbol, Text
from molewright.question.check import Question
from molewright.sheet.names import Names
from molewright.sheet.symbols_apart import printed_names, word_apart

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


class Symbols:
    """The symbols of one question's quantities."""

    def __init__(self, question: Question, names: Names) -> None:
        self.question = question
        self.names = names
        self.numbers = names.numbers
        self.bottles = names.bottles
        self.samples = names.samples
        self._shared: frozenset[str] | None = None

    def of(self, variable: Variable) -> tuple[MathsItem, ...]:
        """The symbol of a quantity: n(HCl, left over); a percentage is written in words. No two of a question share one."""
        alone = self._symbol_alone(variable)
        if variable.name not in self._sharing():
            return alone
        operations = self.question.draw.variant.procedure.operations
        samples = [op.sample for op in operations if isinstance(op, Weigh) and self.samples.of_the_scene(op)]
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
        note = _NOTES.get(variable.stage, variable.stage).replace("1 dm³", f"1 {self.numbers.unit('dm³')}")
        if variable.stage == "added" and self.names.station(variable) == "measured":
            note = variable.bottle
        elif variable.stage in _TOGETHER and self._comes_twice(variable):
            note = _TOGETHER[variable.stage]
        if variable.kind == "titre":
            of = self.names.titration(variable).titrant.solute
        elif variable.kind == "mass":
            act = self.samples.weighed(variable)
            if act is not None and not self.samples.of_the_scene(act):
                return (Symbol("m", act.contents[0].substance),)
            return (Symbol("m", "", "sample"),)
        elif variable.kind == "volume":
            solution = self.bottles.of(variable)
            of = solution.solute if solution else ""
            note = variable.stage if variable.stage == "total" else self._told_apart(variable, note)
        elif variable.stage == "titre":
            note = self.names.titration_name(variable)
        elif variable.kind == "mass in volume":
            solution = self.bottles.of(variable)
            assert solution is not None
            note = f"in {solution.told_in_cm3} {self.numbers.unit('cm³')}"
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
        solution = self.bottles.of(variable)
        if solution is not None and self.bottles.beside_another(solution):
            return solution.name
        return "" if variable.stage == "added" else note

    def _comes_twice(self, variable: Variable) -> bool:
        """Whether a substance is formed in a vessel that held some of it before, so that its amount has a total."""
        here = {"total", "formed", "added"}
        stages = {
            one.stage
            for one in self.question.system.variables.values()
            if (one.kind, one.subject, one.vessel) == (variable.kind, variable.subject, variable.vessel)
        }
        return here <= stages
