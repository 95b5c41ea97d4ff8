"""A quantity of a question comes in; what it is called in a sentence goes out: "the amount of HCl left over"."""

from __future__ import annotations

from decimal import Decimal

from molewright.chem.quantity import Quantity
from molewright.chem.units import Unit
from molewright.experiment import quantities
from molewright.experiment.procedure import Pass, Strength, Titrate
from molewright.experiment.quantities import Name
from molewright.experiment.relations.variables import Variable
from molewright.nodes.inline import Amount, Chem, Inline, Line, Text
from molewright.question.check import Question
from molewright.sheet.bottles import Bottles
from molewright.sheet.meter_stages import stage_in
from molewright.sheet.numbers import Numbers
from molewright.sheet.samples import Samples
from molewright.sheet.wording import OwnWords

WHOLE = ("volumetric flask", "bottle")
"""What all of a solution is measured with, so that nothing is left for a second titration."""


class Names:
    """The quantities of one question, as its sheets call them."""

    def __init__(self, question: Question, own: OwnWords, numbers: Numbers, bottles: Bottles, samples: Samples) -> None:
        self.question = question
        self.own = own
        self.say = own.say
        self.numbers = numbers
        self.bottles = bottles
        self.samples = samples
        self._called: dict[tuple[Name, bool], Line] = {}  # each quantity is named in many sentences

    def the(self, variable: Variable, asked: bool = False) -> Line:
        """A quantity as it is called in a sentence: "the amount of HCl left over after the reaction"."""
        found = self._called.get((variable.name, asked))
        if found is None:
            found = self._called[variable.name, asked] = self._the(variable, asked)
        return found

    def _the(self, variable: Variable, asked: bool) -> Line:
        slots = self._slots(variable)
        key = f"the {variable.kind}"
        if variable.kind == "volume":
            key = self._volume(variable)
        elif variable.kind == "amount":
            key = f"the amount {self.station(variable)}"
            if variable.stage == "titre" and self.question.draw.ask.quantity.kind == "titre":
                key = "the amount needed"
            elif variable.stage == "titre" and self.titration_name(variable):
                key = f"the amount {self._named_titration(variable)}"
            elif variable.stage == "titre" and self.single_titre(self.titrations_of(variable)[0]):
                key = "the amount titre once"
        elif variable.kind == "mass" and self._weighed_pure(variable):
            key = "the mass to weigh" if self.to_a_strength() else "the mass weighed"
        elif variable.kind == "mass within" and (act := self.samples.weighed(variable)) is not None and act.per_gram:
            key = "the mass within reacted"
        elif variable.kind == "titre" and not asked:
            key = "the titre known once" if self.single_titre(self.titration(variable)) else "the titre known"
        elif variable.kind == "gas volume":
            key += f" {variable.stage}"
        elif variable.kind == "pH" or (variable.kind == "concentration" and variable.name.place):
            key += f" {stage_in(self.question.draw.variant.procedure, variable.name)}"
        elif variable.kind in ("concentration", "mass concentration"):
            key += self._strength(variable, slots)
        return self.say(key, **slots)

    def _strength(self, variable: Variable, slots: dict[str, str | Inline | Line]) -> str:
        """Which wording of a strength: by what it is called, of what is poured, of what is in the sample, or of a bottle; its slots."""
        solution = self.bottles.of(variable)
        if solution is None:
            return ""
        analysed = self.bottles.is_analysed(solution) and not solution.made_in
        if solution.called:
            slots["called"] = solution.called
        elif not solution.poured_as and (not analysed or self.bottles.says_itself(solution)):
            named = "" if analysed or solution.made_in else self.bottles.named_by_solute(solution)
            slots["solute"] = self.bottles.solute(solution)
            return f" by solute {named}" if named else ""
        slots["solute"] = self.bottles.solute(solution)
        if solution.called or solution.poured_as:
            return " called" if solution.called else " poured"
        if really := self.bottles.holds_instead(solution):
            slots["species"] = really
            return f" expressed {named}" if (named := self.bottles.named_by_solute(solution)) else " expressed"
        return " within"

    def _volume(self, variable: Variable) -> str:
        """The wording of a volume: of what is made up, taken or mixed, of what is needed, or of a solution."""
        if variable.stage in ("made up", "aliquot", "total"):
            return f"the volume {variable.stage}"
        if self.planned():
            return "the volume to add"
        return "the volume needed" if variable.name == self.question.draw.ask.quantity else "the volume"

    def ratio_of(self, variable: Variable) -> dict[str, str | Inline | Line]:
        """The two species of a reacting ratio, in the order in which it is asked for."""
        return {"first": Chem(variable.subject), "second": Chem(variable.species)}

    def _slots(self, variable: Variable) -> dict[str, str | Inline | Line]:
        solution = self.bottles.of(variable)
        slots: dict[str, str | Inline | Line] = {
            "sample": self.samples.name(),
            "piece": self.samples.piece(),
            "portion": self.numbers.given(quantities.volume_taken(variable.vessel)) or "titrated",
            "flask": self.flask(variable.vessel) or "flask",
        }
        unsaid = ("mass", "pieces", "volume", "titre", "concentration", "mass concentration", "equilibrium constant")
        if variable.kind not in unsaid or variable.name.place:
            slots["formula"] = self.formula(variable)
        if variable.kind == "amount" and variable.stage in ("titre", "portion"):
            slots["titration"] = self.titration_name(variable)
        if variable.species and variable.kind in ("amount", "basicity", "ratio"):
            slots["titrant"] = Chem(variable.species)
        if variable.kind == "titre":
            slots["bottle"] = self.bottles.called(self.titration(variable).titrant)
        elif solution is not None:
            slots["bottle"] = self.bottles.called(solution, strength=False)
        if variable.kind == "mass in volume" and solution is not None:
            slots["told_in"] = self.numbers.amount(Quantity(Decimal(solution.told_in_cm3), Unit.CM3))
        elif variable.stage == "from 1 dm³":
            slots["one"] = self.numbers.amount(Quantity(Decimal(1), Unit.DM3))
        if variable.bottle:
            poured = self.question.draw.variant.procedure.poured
            slots["solute"] = next(Chem(one.solute) for one in poured if one.name == variable.bottle)
        if variable.stage == "added":
            slots["volume"] = self._added(variable)
        if (act := self.samples.weighed(variable)) is not None and act.brought_by:
            slots["by"] = act.brought_by
        return slots

    def formula(self, variable: Variable) -> Inline | Line:
        """A formula, or several as they stand in a total: "CaCO3 and MgCO3"."""
        if variable.word:
            return Text(variable.subject)
        if not variable.several:
            return Chem(variable.subject)
        pieces: list[Inline] = []
        for one in variable.several:
            pieces += [*([Text(" and ")] if pieces else []), Chem(one)]
        return tuple(pieces)

    def _added(self, variable: Variable) -> Line:
        procedure = self.question.draw.variant.procedure
        for op in procedure.measures:
            if variable.name in (procedure.added(one, op.vessel) for one in (op.solution, *op.others)):
                start = self.numbers.given(op.volume) or Text("the measured volume")
                return (start, Text(" of "), *self.bottles.called(op.solution, strength=bool(variable.bottle)))
        return (Text("the portion"),)

    def station(self, variable: Variable) -> str:
        if variable.stage == "sample":
            return self._in_sample(variable)
        if variable.bottle:
            return "of one solute" if self._beside_another(variable.bottle) else "measured"
        if portion := self.in_a_portion(variable):
            return portion
        if told := self._planned_or_in_all(variable):
            return told
        if variable.stage == "flask" and self._spent(variable):
            return "from sample"
        if variable.stage == "left over" and self.flask(variable.vessel) is not None:
            return "left in flask"
        if variable.stage == "added" and not any(
            (reagent.vessel, reagent.solution.species) == (variable.vessel, variable.subject)
            for reagent in self.question.draw.variant.procedure.reagents
        ):
            return "measured"
        return variable.stage if self.own.has(f"the amount {variable.stage}") else "flask"

    def _beside_another(self, bottle: str) -> bool:
        """Whether a solute is measured out in one solution with another."""
        measures = self.question.draw.variant.procedure.measures
        return any(bottle in (one.name for one in (act.solution, *act.others)) for act in measures if act.others)

    def _planned_or_in_all(self, variable: Variable) -> str:
        """The station of an amount that nobody has yet, or of one that is in all of a solution portions are taken of; "" for others."""
        if self.planned():
            key = f"{variable.stage} planned"
        elif variable.stage in ("total", "formed") and self.flask(variable.vessel) is not None:
            key = f"{variable.stage} in flask"
        else:
            return ""
        return key if self.own.has(f"the amount {key}") else ""

    def _in_sample(self, variable: Variable) -> str:
        """How the amount of a substance in what is weighed is told."""
        act = self.samples.weighed(variable)
        if act is not None and act.per_gram:  # counted as the reagent that it takes up
            return "reacted"
        if act is not None and act.brought_by:
            return "brought"
        if self._weighed_pure(variable):
            return "needed" if self.to_a_strength() else "weighed"
        return "sample" if self.samples.belongs_to_the_scene(variable) else "weighed"

    def in_a_portion(self, variable: Variable) -> str:
        """The station of an amount that is told for one portion and not for the whole flask; "" for any other."""
        system = self.question.system.variables.values()
        if not self.question.draw.variant.procedure.portions_into(variable.vessel):
            return ""
        if variable.stage == "portion":
            alike = [one for one in system if (one.subject, one.stage) == (variable.subject, "portion")]
            return "portion named" if len(alike) > 1 and self.titration_name(variable) else ""
        return f"{variable.stage} in portion" if variable.stage in ("left over", "added", "reacted") else ""

    def _spent(self, variable: Variable) -> bool:
        """Whether what a sample gives has reacted before the solution is made up, so that it is not in the flask."""
        return any(
            act.vessel == variable.vessel
            and any(member.formula.text == variable.subject for one in act.reactions for member in one.left)
            for act in self.question.draw.variant.procedure.reacting
        )

    def _weighed_pure(self, variable: Variable) -> bool:
        act = self.samples.weighed(variable)
        return act is not None and act.pure and len(act.contents) == 1

    def to_a_strength(self) -> bool:
        """Whether a solution is made to a strength that is told, so that nothing has been weighed yet."""
        told = (op.solution for op in self.question.draw.variant.procedure.every(Strength))
        return any(self.bottles.strength(solution) is not None for solution in told)

    def planned(self) -> bool:
        """Whether the experiment is only planned: its reagent's excess is told, and nothing is titrated."""
        return any(op.told for op in self.question.draw.variant.procedure.reacting)

    def flask(self, vessel: str) -> Inline | None:
        """The made-up volume of a vessel that portions are taken from."""
        return self.numbers.given(quantities.volume_made_up(vessel)) or self._measured_whole(vessel)

    def _measured_whole(self, vessel: str) -> Amount | None:
        procedure = self.question.draw.variant.procedure
        measured = [act for act in procedure.measures if act.vessel == vessel] if procedure.portions_of(vessel) else []
        return self.numbers.given(measured[0].volume) if len(measured) == 1 else None

    def titration(self, variable: Variable) -> Titrate:
        return next(t for t in self.question.draw.variant.procedure.titrations if t.titre == variable.name)

    def titrations_of(self, variable: Variable) -> list[Titrate]:
        titrations = self.question.draw.variant.procedure.titrations
        return [one for one in titrations if one.delivered == variable.name]

    def titration_name(self, variable: Variable) -> str:
        """The name of the titration that an amount of titrant belongs to; "" for the only one."""
        found = self.titrations_of(variable)
        if not found and variable.stage == "portion":
            titrations = self.question.draw.variant.procedure.titrations
            found = [one for one in titrations if one.vessel == variable.vessel]
        return found[0].name if found else ""

    def _named_titration(self, variable: Variable) -> str:
        """How one of several titrations is told: by its name, or by its end point where two share a flask."""
        own = self.titrations_of(variable)[0]
        same = [one for one in self.question.draw.variant.procedure.titrations if one.vessel == own.vessel]
        if len(same) < 2:
            return "titre named"
        return "titre to the first" if own is same[0] else "titre after the first"

    def single_titre(self, titration: Titrate) -> bool:
        """Whether a titration is done once only, the whole sample being in the flask or a graph drawn: there is no mean titre."""
        archetype = self.question.draw.archetype
        once = archetype.graph or archetype.course  # a quenched sample is titrated at once, and is there once only
        if once and titration.vessel == self.question.draw.variant.procedure.titrations[-1].vessel:
            return True
        procedure, vessel = self.question.draw.variant.procedure, titration.vessel
        whole = (
            procedure.weighs_into(vessel)
            or any(act.into == vessel for act in procedure.every(Pass))
            or any(act.vessel == vessel and act.apparatus in WHOLE for act in procedure.measures)
        )
        return whole and not self.question.draw.runs
