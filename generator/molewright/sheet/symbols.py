"""A quantity of a question comes in; its symbol goes out: n(HCl, left over). No two of a question share one."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import replace

from molewright.chem.formula_scripts import with_scripts
from molewright.chem.units import Unit
from molewright.experiment.quantities import Name
from molewright.experiment.relations.variables import Variable
from molewright.nodes.inline import Chem, MathsItem, Symbol, Text
from molewright.question.check import Question
from molewright.sheet.names import Names
from molewright.sheet.symbols_apart import printed_names, word_apart

_LETTERS: dict[str, str] = {
    "mass": "m",
    "mass within": "m",
    "mass each": "m",
    "mass in volume": "m",
    "mass per gram": "m",
    "concentration": "c",
    "mass concentration": "ρ",
    "molar mass": "M",
    "volume": "V",
    "titre": "V",
}
"""The letter of a kind of quantity; any other is an amount, n."""
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
_TOGETHER = {"formed": "formed", "total": "in all"}
"""The same, where some of a substance is formed in a flask that held some of it before: three amounts of one formula."""

_OF_A_KIND: dict[str, Callable[[Variable], tuple[MathsItem, ...]]] = {
    "percentage": lambda _: (Text("percentage"),),
    "impurity": lambda _: (Text("percentage of impurities"),),
    "excess": lambda _: (Text("excess"),),
    "volume strength": lambda _: (Text("volume strength"),),
    "normality": lambda _: (Text("normality"),),
    "density": lambda _: (Text("density"),),
    "percentage by mass": lambda _: (Text("percentage by mass"),),
    "ratio": lambda _: (Text("ratio"),),
    "electrons": lambda _: (Text("electrons for each"),),
    "oxidation state": lambda one: (Text("oxidation state of "), Chem(one.subject)),
    "basicity": lambda one: (Text("moles of "), Chem(one.species), Text(" for each mole")),
    "pieces": lambda one: (Text(f"number of {one.subject}s"),),
    "molar difference": lambda _: (Text("difference of molar masses"),),
    "water": lambda _: (Text("x", italic=True),),
    "subscript": lambda _: (Text("x", italic=True),),
    "water mass": lambda _: (Symbol("M", "", "water"),),  # in grams for each mole of the hydrate
    "impurity mass": lambda _: (Symbol("m", "", "impurities"),),
    "supposed mass": lambda _: (Symbol("m", "", "supposed"),),
    "extra mass": lambda _: (Symbol("m", "", "extra"),),
    "metal mass": lambda one: (Symbol("m", one.species, "in 1 mol"),),
    "bottle mass": lambda one: (Symbol("m", "", "before" if one.stage == "full" else "after"),),
    "atomic mass": lambda one: (Symbol("A", one.subject, "", "r"),),
    "equilibrium constant": lambda _: (Symbol("K", "", "", "c"),),
    "conversion": lambda _: (Text("percentage that has reacted"),),
    "molar volume": lambda _: (Symbol("V", "", "", "m"),),
    "gas volume": lambda one: (Symbol("V", one.subject),),
    "factor": lambda _: (Text("factor"),),
    "pH": lambda _: (Text("pH"),),
    "pKa": lambda _: (Text("p"), Symbol("K", "", "", "a")),
    "ion concentration": lambda one: (Text("["), Chem(one.subject), Text("]")),
    "acid constant": lambda _: (Symbol("K", "", "", "a"),),
    "base constant": lambda _: (Symbol("K", "", "", "b"),),
    "ion product": lambda _: (Symbol("K", "", "", "w"),),
    "solubility product of two ions": lambda _: (Symbol("K", "", "", "sp"),),
    "solubility product of three ions": lambda _: (Symbol("K", "", "", "sp"),),
}
"""What stands for a quantity whose kind alone tells it, whatever else the question holds."""


class Symbols:
    """The symbols of one question's quantities."""

    def __init__(self, question: Question, names: Names) -> None:
        self.question = question
        self.names = names
        self.numbers = names.numbers
        self.bottles = names.bottles
        self.samples = names.samples
        self._shared: frozenset[Name] | None = None
        self._told: dict[Name, tuple[MathsItem, ...]] = {}

    def of(self, variable: Variable) -> tuple[MathsItem, ...]:
        """The symbol of a quantity: n(HCl, left over); a percentage is written in words. No two of a question share one."""
        found = self._told.get(variable.name)
        if found is None:
            found = self._told[variable.name] = self._of(variable)
        return found

    def _of(self, variable: Variable) -> tuple[MathsItem, ...]:
        alone = self._symbol_alone(variable)
        if variable.name not in self._sharing():
            return alone
        procedure = self.question.draw.variant.procedure
        samples = [act.sample for act in procedure.weighings if self.samples.of_the_scene(act)]
        word = word_apart(variable, procedure, samples)
        last = alone[-1]
        if not word:
            return alone
        if isinstance(last, Symbol):
            return (*alone[:-1], replace(last, note=f"{last.note}, {word}" if last.note else word))
        return (*alone, Text(f" {word}"))

    def _sharing(self) -> frozenset[Name]:
        """The printed quantities whose symbol would be that of another one as well."""
        if self._shared is None:
            routes = self.question.prepared.routes
            printed = printed_names(self.question.worked, routes, self.question.draw.given)
            alone = {name: self._symbol_alone(routes.system.variables[name]) for name in printed}
            counts = Counter(alone.values())
            self._shared = frozenset(name for name in printed if counts[alone[name]] > 1)
        return self._shared

    def _symbol_alone(self, variable: Variable) -> tuple[MathsItem, ...]:
        told = _OF_A_KIND.get(variable.kind)
        if told is not None:
            return told(variable)
        if variable.several:
            station = variable.stage if variable.stage != "both" else ""
            return (Symbol("n", "", f"both {station}".strip()),)
        of, note = self._within(variable)
        if variable.word:
            of, note = "", ", ".join(filter(None, (variable.subject, note)))
        return (Symbol(_LETTERS.get(variable.kind, "n"), of, note),)

    def _within(self, variable: Variable) -> tuple[str, str]:
        """What stands in the brackets of a symbol: a formula, and a note after it."""
        match variable.kind:
            case "titre":
                return self.names.titration(variable).titrant.solute, self._note(variable)
            case "mass":
                act = self.samples.weighed(variable)
                beside = act is not None and not self.samples.of_the_scene(act)
                return (act.contents[0].substance, "") if act is not None and beside else ("", "sample")
            case "volume":
                solution = self.bottles.of(variable)
                total = variable.stage == "total"
                note = variable.stage if total else self._told_apart(variable, self._note(variable))
                return solution.solute if solution else "", note
            case "mass in volume":
                solution = self.bottles.of(variable)
                assert solution is not None
                return variable.subject, f"in {solution.told_in_cm3} {self.numbers.unit(Unit.CM3)}"
            case "mass per gram":
                return variable.subject, "for each gram"
            case "mass each":
                return variable.subject, "each"
            case "concentration" | "mass concentration":
                solution = self.bottles.of(variable)
                mixed = variable.stage == "mixed"  # in a flask of which only one concentration is told
                called = solution.called if solution is not None else ""
                return self._counted(variable), called or ("" if mixed else self._told_apart(variable, variable.stage))
            case _:
                of_a_titre = variable.stage == "titre"
                return variable.subject, self.names.titration_name(variable) if of_a_titre else self._note(variable)

    def _counted(self, variable: Variable) -> str:
        """What a concentration counts: the ion, where the scene calls its solution by that and no salt is named."""
        solution = self.bottles.of(variable)
        by_ion = variable.kind == "concentration" and solution is not None and self.bottles.called_by_ion(solution)
        return solution.species if solution is not None and by_ion else variable.subject

    def _note(self, variable: Variable) -> str:
        """The station of a quantity, as its symbol tells it."""
        station = self.names.station(variable) if variable.stage == "added" else ""
        if station == "of one solute":
            return f"from {with_scripts(variable.bottle)}"
        if station == "measured":
            return with_scripts(variable.bottle)
        if variable.stage in _TOGETHER and self._comes_twice(variable):
            return _TOGETHER[variable.stage]
        note = _NOTES.get(variable.stage, variable.stage)
        return note.replace("1 dm³", f"1 {self.numbers.unit(Unit.DM3)}")

    def _told_apart(self, variable: Variable, note: str) -> str:
        """What stands after the formula of a strength or a volume: the bottle, where two hold the same solute."""
        solution = self.bottles.of(variable)
        if solution is not None and self.bottles.beside_another(solution):
            return "" if solution.name == self._counted(variable) else with_scripts(solution.name)
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
