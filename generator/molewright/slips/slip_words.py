"""Words that a slip may use beside its own relation: the flask, the aliquot, the titre, wrong molar masses, other means.

A procedure, its relations and a plan come in; names of quantities by word, and facts that are no quantity of the procedure, go out.
"""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction
from typing import TypeAlias

from molewright.bank.algebra import words_of
from molewright.bank.definitions import Slip
from molewright.chem.conventions import Convention
from molewright.chem.formula import ELEMENTS, PLACEHOLDERS, parse_formula
from molewright.chem.formula_tree import Atom, Formula, Group, Piece
from molewright.chem.masses import atomic_mass, relative_mass
from molewright.chem.quantity import whole_half_up
from molewright.chem.reaction import Reaction
from molewright.chem.units import Unit
from molewright.derivation.derive import Plan
from molewright.experiment import quantities
from molewright.experiment.procedure import Aliquot, MakeUp, Measure, Procedure, Titrate, Weigh
from molewright.experiment.quantities import Name
from molewright.experiment.relations.variables import System
from molewright.experiment.titres import Run, chosen, in_wholes
from molewright.plausibility.natures import Natures

Key: TypeAlias = "Name | str"
"""What a value in a chain with a slip is kept under: the name of a quantity, or the word of a fact."""


ROUNDED_MEANS = frozenset({"mean_tenths", "mean_whole"})
"""Facts about the mean titre that are the same for every set of runs with that mean."""

# Words of which each titration has its own.
_OF_A_PORTION = frozenset({"titre", "pipette", "aliquot", "flask", "titre_before", "other_titre"})


class Surroundings:
    """The words of one procedure and plan."""

    def __init__(
        self,
        procedure: Procedure,
        system: System,
        plan: Plan,
        masses: Convention,
        table: bool,
        natures: Natures,
        unit: Unit | None = None,
    ) -> None:
        """`unit` is the one that the answer is asked for in, where that is not the one it is worked in."""
        self.procedure = procedure
        self.system = system
        self.plan = plan
        self.table = table
        self.natures = natures
        self.titre = procedure.titrations[-1].titre if procedure.titrations else None
        self.used = [system.relations[step.relation] for step in plan.steps]
        self.words: dict[str, Name | None] = dict(self._quantities())  # None: a fact
        self.constants = self._constants(masses) | self._prefix(unit)
        self._float_constants = {word: float(value) for word, value in self.constants.items()}
        self.words.update(dict.fromkeys(self.constants))
        self._dilutions = self._portions_made_up()
        self._portions = {one.titre: self._of_the_portion(one) for one in procedure.titrations}
        if table:
            self.words.update(
                dict.fromkeys(("mean_with_rough", "mean_accurate", "mean_final", "mean_tenths", "mean_whole"))
            )

    def _quantities(self) -> dict[str, Name]:
        found = {"titre": self.titre} if self.titre is not None else {}
        for operation in self.procedure.operations:
            match operation:
                case MakeUp(vessel=vessel):
                    found["flask"] = quantities.volume_made_up(vessel)
                case Aliquot(vessel=vessel, into=into):
                    if quantities.volume_held(vessel) in self.system.variables:
                        found["flask"] = quantities.volume_held(vessel)
                    found["aliquot"] = quantities.volume_taken(into)
                case Measure():
                    self._measured(operation, found)
                case Weigh(sample=sample, pieces=piece, weighed=weighed):
                    found.update({"sample_mass": quantities.mass(sample)} if weighed else {})
                    found.update({"pieces": quantities.pieces(piece)} if piece else {})
                case _:
                    pass
        for relation in self.used:
            if relation.kind == "hydrate":
                found["molar_salt"] = relation.names[1]
        if "aliquot" in found and "flask" not in found and "excess_volume" in found:
            found["flask"] = found["excess_volume"]
        if self.procedure.titrations:
            found.update(self._pipetted(self.procedure.titrations[-1].vessel))
        return self._followed(found)

    def _followed(self, found: Mapping[str, Name]) -> dict[str, Name]:
        """Those of some words whose quantities the chain works with and does not ask for."""
        targets = {step.target for step in self.plan.steps} | {
            name for relation in self.used for name in relation.names
        }
        return {
            word: name
            for word, name in found.items()
            if name in self.system.variables and name != self.plan.asked and name in targets
        }

    def _pipetted(self, vessel: str) -> dict[str, Name]:
        """The volume of the one pipette that filled a vessel; none where a bottle or a cylinder did."""
        with_pipette = [
            *(quantities.volume_taken(act.into) for act in self.procedure.portions_into(vessel) if _pipette(act)),
            *(act.volume for act in self.procedure.poured_into(vessel) if _pipette(act)),
        ]
        return {"pipette": with_pipette[-1]} if with_pipette else {}

    def _of_the_portion(self, titration: Titrate) -> dict[str, Name]:
        """The titre of one of several titrations, the pipette's volume, the aliquot and the flask that it was taken of."""
        found = {"titre": titration.titre, **self._pipetted(titration.vessel)}
        for act in self.procedure.portions_into(titration.vessel):
            found["aliquot"] = quantities.volume_taken(act.into)
            held = quantities.volume_held(act.vessel)
            found["flask"] = held if held in self.system.variables else quantities.volume_made_up(act.vessel)
        return {**self._followed(found), **self._other_end_point(titration)}

    def _other_end_point(self, titration: Titrate) -> dict[str, Name]:
        """The titre of the other one of two end points of one flask, under its own word where it came before."""
        here = [one for one in self.procedure.titrations if one.vessel == titration.vessel]
        if len(here) != 2 or self.plan.asked in {one.titre for one in here}:
            return {}
        at = here.index(titration)
        other = here[1 - at].titre
        return {"other_titre": other, **({"titre_before": other} if at else {})}

    def of_two_end_points(self) -> bool:
        """Whether one flask is titrated on from a first end point to a second."""
        vessels = [one.vessel for one in self.procedure.titrations]
        return len(set(vessels)) < len(vessels)

    def _portions_made_up(self) -> dict[Name, Name]:
        """What each flask is made up to, with the one volume of liquid that was put into it before the water."""
        found = {}
        for act in self.procedure.made_up:
            volumes = self.procedure.portion_volumes(act.vessel)
            if len(volumes) == 1 and not self.procedure.weighs_into(act.vessel):
                found[quantities.volume_made_up(act.vessel)] = volumes[0]
        return found

    def portion(self, relation: int) -> dict[str, Name | None]:
        """All words as they stand in one relation: titre, pipette and flask are those of its own titration or dilution."""
        names = self.system.relations[relation].names
        if self.place(relation) in ("bottle", "diluted"):
            flask, taken = next(pair for pair in self._dilutions.items() if names[2] in pair)
            others = {word: name for word, name in self.words.items() if word not in ("flask", "bottle_volume")}
            return {**others, **self._followed({"flask": flask, "bottle_volume": taken})}
        for words in self._portions.values() if len(self._portions) > 1 else ():
            if words.keys() & {"titre", "aliquot"} and {words.get("titre"), words.get("aliquot")} & set(names):
                others = {word: name for word, name in self.words.items() if word not in _OF_A_PORTION}
                return {**others, **words}
        return self.words

    def _measured(self, act: Measure, found: dict[str, Name]) -> None:
        """The words for what is measured: the reagent in excess, or the volume of a bottle."""
        if act.excess:
            if (act.solution.species, act.vessel) not in self.procedure.shared:  # else no single bottle is the reagent
                found["excess_volume"] = act.volume
                found["excess_strength"] = quantities.concentration(act.solution.name)
            return
        if any(act.vessel == titration.vessel for titration in self.procedure.titrations):
            return
        if "bottle_volume" not in found or quantities.volume_made_up(act.vessel) in self.system.variables:
            found["bottle_volume"] = act.volume

    def _constants(self, masses: Convention) -> dict[str, Fraction]:
        found: dict[str, Fraction] = {}
        for index, relation in enumerate(self.used):
            if relation.kind == "ratio" and self.place(self.plan.steps[index].relation) == "dissolving":
                found["alpha"] = relation.factor
            elif relation.kind == "ratio" and self.place(self.plan.steps[index].relation) == "titration":
                found["beta"] = 1 / relation.factor
            elif relation.kind == "molar mass":
                substance = self.system.variables[relation.names[2]].subject
                found.update(_wrong_masses(substance, masses, self.system.fixed))
                found.update(self._mass_of_the_ion(substance, masses))
            if relation.kind == "ratio" and relation.reaction is not None:
                counts = [member.coefficient for member in relation.reaction.left]
                found.setdefault("coefficient", Fraction(max(counts)))
                found.setdefault("subscript", Fraction(_subscript(relation.reaction.left[0].formula.text)))
        if "alpha" in found and "beta" in found:
            found["other_factor"] = found["alpha"]
        return found

    def _prefix(self, unit: Unit | None) -> dict[str, Fraction]:
        """How many of the unit asked for make one that is worked in: 1000 where a mass in g is asked for in mg."""
        worked = self.system.variables[self.plan.asked].unit
        if unit is None or unit.base is not worked.base or unit.factor >= worked.factor:
            return {}
        return {"prefix": worked.factor / unit.factor}

    def _mass_of_the_ion(self, substance: str, masses: Convention) -> dict[str, Fraction]:
        """The molar mass of what a weighed salt gives and is titrated as, where that is another: Fe²⁺ of its sulfate."""
        if quantities.molar_mass(substance) not in self.system.fixed:
            return {}
        for content in self.procedure.contents:
            if content.substance == substance and "^" in content.species and content.count == 1:
                return {"molar_ion": Fraction(relative_mass(content.species, masses))}
        return {}

    def place(self, relation: int) -> str:
        """Where a ratio, a scaling or a concentration belongs.

        A ratio: dissolving, titration (of what is left) or direct. A scaling: flask or dilution. A concentration:
        bottle, of a volume that is made up; diluted, of what it is made up to; "" where nothing is diluted.
        """
        found = self.system.relations[relation]
        match found.kind:
            case "scale":
                return "dilution" if self.procedure.poured_into(self._made_up(found.names[2])) else "flask"
            case "concentration":
                return self._diluted(found.names[2])
            case _ if found.reaction in self.procedure.equations:
                return "dissolving"
            case _:
                return "titration" if any(one.kind == "balance" for one in self.used) else "direct"

    def _diluted(self, volume: Name) -> str:
        if volume in self._dilutions.values():
            return "bottle"
        return "diluted" if volume in self._dilutions else ""

    def about(self, relation: int) -> set[str]:
        """What a ratio's equation is about: a dibasic acid (with an alkali, two to one), redox, and every species on its left."""
        reaction = self.system.relations[relation].reaction
        if reaction is None:
            return set()
        found = {member.formula.text for member in reaction.left}
        if any(map(self.natures.is_oxidant, found)):
            found.add("redox")
        return found | {"dibasic acid"} if self._takes_two(reaction) else found

    def _takes_two(self, reaction: Reaction) -> bool:
        """Whether each of an acid reacts with two hydroxide ions."""
        acids = [one.coefficient for one in reaction.left if self.natures.is_acid(one.formula.text)]
        alkali = sum(one.coefficient * self.natures.hydroxides(one.formula.text) for one in reaction.left)
        return len(acids) == 1 and alkali == 2 * acids[0]

    def beside_a_known_one(self) -> bool:
        """Whether a second solute of the same bottle stands in the chain with a strength that is told."""
        found = {step.target for step in self.plan.steps}
        needed = {name for relation in self.used for name in relation.names}
        others = (quantities.concentration(one.name) for act in self.procedure.measures for one in act.others)
        return any(name in needed and name not in found for name in others)

    def _made_up(self, volume: Name) -> str:
        """The vessel that was made up to this volume; "" where none was."""
        flasks = (op.vessel for op in self.procedure.made_up)
        return next((vessel for vessel in flasks if quantities.volume_made_up(vessel) == volume), "")

    def facts(self, runs: tuple[Run, ...]) -> dict[str, Fraction]:
        """The facts for one question's numbers."""
        return {**self.constants, **{word: Fraction(*pair) for word, pair in _means(runs).items()}}

    def facts_on_floats(self, runs: tuple[Run, ...]) -> dict[str, float]:
        """The same as floats."""
        return {**self._float_constants, **{word: up / down for word, (up, down) in _means(runs).items()}}


def of_the_mean(slip: Slip) -> bool:
    """Whether what a slip makes of the mean titre follows from that mean alone, whatever the runs are."""
    return all(words_of(tree) <= ROUNDED_MEANS for _, tree in slip.instead)


def _pipette(act: Measure | Aliquot) -> bool:
    return act.apparatus == "pipette"


def _means(runs: tuple[Run, ...]) -> dict[str, tuple[int, int]]:
    """What a pupil may take for the mean titre, as two whole numbers; nothing where no runs are told."""
    if not runs:
        return {}
    used = chosen(runs)
    parts, readings = in_wholes(runs)
    titres = [final - initial for initial, final in readings]
    agreed = [titres[index] for index in used]
    rough = [titre for titre, run in zip(titres, runs, strict=True) if run.rough]
    accurate = [titre for titre, run in zip(titres, runs, strict=True) if not run.rough]
    mean, under = sum(agreed), len(agreed) * parts
    return {
        "mean_with_rough": (sum(rough) + mean, (len(rough) + len(agreed)) * parts),
        "mean_accurate": (sum(accurate), len(accurate) * parts),
        "mean_final": (sum(readings[index][1] for index in used), under),
        "mean_tenths": (whole_half_up(mean, under, 1), 10),
        "mean_whole": (whole_half_up(mean, under, 0), 1),
    }


def _subscript(formula: str) -> int:
    return max((count for _, count in parse_formula(formula, PLACEHOLDERS).atoms), default=1)


def _wrong_masses(substance: str, masses: Convention, fixed: tuple[Name, ...]) -> dict[str, Fraction]:
    """Molar masses that a pupil may use by mistake: bracket or small number missed, water left out, atomic numbers added."""
    if quantities.molar_mass(substance) not in fixed:
        return {}
    formula = parse_formula(substance)
    right = relative_mass(formula, masses)
    found: dict[str, Fraction] = {}
    missed = sum((_without_brackets(one.pieces, masses) * one.count for one in formula.groups if one.count), Decimal(0))
    if missed != right:
        found["molar_bracket"] = Fraction(missed)
    found.update(_without_a_number(formula, right, masses))
    if formula.water:
        found["molar_anhydrous"] = Fraction(right - formula.water * relative_mass("H2O", masses))
    found["molar_numbers"] = Fraction(sum(count * (ELEMENTS.index(symbol) + 1) for symbol, count in formula.atoms))
    return found


def _without_a_number(formula: Formula, right: Decimal, masses: Convention) -> dict[str, Fraction]:
    """The molar mass without the first small number behind a symbol, without the last, and without any, as far as these differ."""
    salts = [section for section in formula.groups if not section.is_water and section.count]
    missing = [lost * (section.count or 0) for section in salts for lost in _counted_once(section.pieces, masses)]
    if not missing:
        return {}
    found = {"molar_first": Fraction(right - missing[0])}
    if len(missing) > 1:
        found |= {
            "molar_last": Fraction(right - missing[-1]),
            "molar_plain": Fraction(right - sum(missing, Decimal(0))),
        }
    return found


def _counted_once(pieces: tuple[Piece, ...], masses: Convention) -> list[Decimal]:
    """What is lost where one symbol after another is counted once instead of as often as its small number says."""
    lost: list[Decimal] = []
    for piece in pieces:
        if isinstance(piece, Atom):
            lost += [atomic_mass(piece.symbol, masses) * (piece.count - 1)] if piece.count > 1 else []
        else:
            lost += [one * piece.count for one in _counted_once(piece.pieces, masses)]
    return lost


def _without_brackets(pieces: tuple[Piece, ...], masses: Convention) -> Decimal:
    total = Decimal(0)
    for piece in pieces:
        if isinstance(piece, Atom):
            total += atomic_mass(piece.symbol, masses) * piece.count
        elif isinstance(piece, Group):
            total += _without_brackets(piece.pieces, masses)
    return total
