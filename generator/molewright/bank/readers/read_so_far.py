"""The words of an operation come in; the formula, vessel, solution or number that each means goes out, by what was read so far."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from molewright.bank.definitions import Material
from molewright.bank.readers.choices import read_choice
from molewright.bank.readers.described import Chemicals, Described, Place, Spot
from molewright.bank.readers.forms import Form
from molewright.bank.readers.in_ions import in_ions
from molewright.bank.readers.teachers_units import in_a_known_unit
from molewright.chem.formula import parse_formula
from molewright.chem.quantity import parse_quantity
from molewright.chem.reaction import Reaction, Species, parse_reaction, require_whole
from molewright.chem.units import Unit
from molewright.errors import Mistake, Where, nearest, shortened
from molewright.experiment import quantities
from molewright.experiment.quantities import FLASK, Name
from molewright.experiment.quantity_kinds import UNITS
from molewright.experiment.solution import Solution
from molewright.reading.fields import Fields, counted
from molewright.reading.yaml_text import Scalar

BESIDE = "beside"  # the key under which a second solute of a bottle stands
MOST_EQUIVALENTS = 12
MOST_PORTION_CM3 = 100_000
TOLD_IN_CM3 = (5, 10, 100)  # spoonfuls of a medicine, and what labels count in
_WORDS = re.compile(r"[a-z][a-z' -]*")  # no formula begins so
_ROLE_WORD = re.compile(r"(?<![A-Za-z])[a-z]{3,}(?![A-Za-z])")  # in an equation: longer than a state symbol


Key = tuple[str, str]  # a bottle or a sample, and the substance in it


class ReadAgain(Exception):
    """An equation further down writes a substance in another form: the list is to be read again with it."""

    def __init__(self, key: Key, form: Form) -> None:
        super().__init__(f"{key[1]} as {form[0]} {form[1]}")
        self.key = key
        self.form = form


class ReadInIons(Exception):
    """One equation writes a substance whole and another in ions: the list is to be read again with it in ions everywhere."""

    def __init__(self, substance: str) -> None:
        super().__init__(substance)
        self.substance = substance


@dataclass(frozen=True, slots=True)
class Source:
    """A substance of a bottle or a sample, and the species that it is taken to bring; `fixed` where the description says which."""

    key: Key
    species: str
    fixed: bool


def _whole_cm3(text: str) -> int:
    volume = parse_quantity(text)
    exact = volume.to(Unit.CM3).exact
    if exact.denominator != 1 or not 1 <= exact <= MOST_PORTION_CM3:
        raise Mistake(f"the portion {volume}", expected=f"a whole number of cm3, 1 to {MOST_PORTION_CM3}")
    return int(exact)


class ReadSoFar:
    """What has been read of one list of operations. `roles` are words that stand for a formula or a sample ("analyte", "reagent").

    `forms` are what equations further down write instead of what the banks prefer, `in_ions` the substances that are written in ions
    in every equation. `teachers`: somebody describes an experiment, in the units of a classroom.
    """

    def __init__(
        self,
        chemicals: Chemicals,
        roles: Mapping[str, str],
        material: Material | None = None,
        forms: Mapping[Key, Form] | None = None,
        in_ions: frozenset[str] = frozenset(),
        teachers: bool = False,
    ) -> None:
        self.chemicals = chemicals
        self.teachers = teachers
        self.forms = forms or {}
        self.in_ions = in_ions
        self.sources: list[Source] = []
        self.counted: list[tuple[str, int, str]] = []  # substances, and how many of what each is counted as
        self.in_equations: set[str] = set()  # species of the equations that are written there
        self.formed: set[str] = set()  # species that some reaction made
        self.roles = roles
        self.material = material
        self.placeholders: frozenset[str] = frozenset()
        self.made = Described()
        self.inside: dict[str, list[str]] = {}
        self.bottles: dict[str, Solution] = {}
        self.filled: dict[str, Where] = {}  # vessels that something was added to, with the last line that says so
        self.here = FLASK
        self.operation = 0  # which one is read

    def given(self, key: Key, preferred: Form, fixed: bool) -> Form:
        """The form in which a substance is counted, which is kept as a source of its species."""
        count, species = preferred if fixed else self.forms.get(key, preferred)
        known = self.chemicals.forms
        if key in self.forms and not fixed and known is not None and (count, species) not in known.of(key[1]):
            self.counted.append((key[1], count, species))
        self.sources.append(Source(key, species, fixed))
        return count, species

    def counting_told(self) -> Iterator[str]:
        """What is to be said of substances that are counted as others: by an equation that is written there, or by their formulae."""
        for substance, count, species in self.counted:
            why = ", as the equation has it" if species in self.in_equations else ""
            yield f"each {substance} is counted as {count} {species}{why}"

    def word(self, text: str) -> str:
        """A text with a role word replaced by what plays the role."""
        return self.roles.get(text, text)

    def formula(self, text: str) -> str:
        """One spelling of a formula, read from a role word, a formula, or a substance's name."""
        spelt = self.word(text)
        by_name = self.chemicals.called(spelt)
        if by_name:
            return by_name
        try:
            read = parse_formula(spelt, self.placeholders).text
            return self.chemicals.called(read) or read
        except Mistake as mistake:
            raise (self._no_role(text) if _WORDS.fullmatch(spelt) else mistake) from None

    def _no_role(self, text: str) -> Mistake:
        """What is said of small words that are no role, no name and no formula."""
        known = [call for one in self.chemicals.substances.values() for call in (one.name, *one.also_called)]
        if not self.roles:
            return Mistake(
                f"no substance {shortened(text)}",
                expected="a formula, or a name that the banks know",
                near=nearest(text, known),
                do=f"Write what is in it beside its name: 'solution: {shortened(text)[1:-1]}, contains: NaOH', with its formula."
                if self.teachers
                else "",
            )
        return Mistake(
            f"no role {shortened(text)}",
            expected=f"a formula, a substance's name or one of the roles here: {', '.join(self.roles)}",
            near=nearest(text, [*self.roles, *known]),
            do="A role is filled in under 'variants'.",
        )

    def reaction(self, text: str) -> Reaction:
        """An equation, with role words replaced, each substance in it by the formula that the banks know it by."""
        played = _ROLE_WORD.sub(lambda found: self.word(found[0]), text)
        read = parse_reaction(played, self.placeholders)
        known = replace(read, left=tuple(map(self._known, read.left)), right=tuple(map(self._known, read.right)))
        self.in_equations.update(one.formula.text for one in known.terms)
        forms = self.chemicals.forms
        return in_ions(known, self.in_ions, forms) if forms is not None and self.in_ions else known

    def _known(self, member: Species) -> Species:
        known = self.chemicals.called(member.formula.text)
        return replace(member, formula=parse_formula(known, self.placeholders)) if known else member

    def vessel(self, fields: Fields, key: str = "vessel") -> str:
        """A vessel that something was put into before; where none is named, the last one."""
        named = fields.text(key, self.here)
        if fields.has(key) and named not in self.inside:
            raise self.no_vessel(named, fields.at(key))
        return named

    def no_vessel(self, named: str, where: Where) -> Mistake:
        there = ", ".join(self.inside)
        return Mistake(
            f"no vessel {shortened(named)}",
            expected=f"one of those here: {there or 'none yet'}",
            near=nearest(named, self.inside),
            where=where,
        )

    def number(self, fields: Fields, key: str, name: Name) -> None:
        """Keep the number that a key holds under its name; a number not written is one not known."""
        within = fields.entry if fields.entry == BESIDE else ""
        self.made.spots.setdefault(name, []).append(Spot(self.operation, within, key))
        if not fields.has(key):
            self.made.unwritten.setdefault(name, Place(fields.where, key))
            return
        self.made.written.setdefault(name, Place(fields.where, key, fields.at(key)))
        branch = fields.branch(key)
        if isinstance(branch, Scalar) and branch.text in self.roles:  # each variant has its own
            branch = Scalar(self.roles[branch.text], branch.where)
        try:
            if self.teachers and isinstance(branch, Scalar):
                branch = replace(branch, text=in_a_known_unit(branch.text, UNITS[name.kind], name.subject))
            choice = read_choice(branch, UNITS[name.kind], self.material)
        except Mistake as mistake:
            raise mistake.at(fields.at(key)) from None
        if name in self.made.choices and not self.made.choices[name].is_like(choice):
            raise Mistake(
                f"the {name} is given twice with different numbers",
                where=fields.at(key),
                do="Give a second bottle of the same solute a name of its own: 'bottle: ...'.",
            )
        self.made.choices[name] = choice

    def _told_in(self, fields: Fields) -> int:
        """The volume in cm³ whose content tells how strong a solution is: 'mass in 100 cm3: yes'."""
        told = [volume for volume in TOLD_IN_CM3 if fields.yes(f"mass in {volume} cm3")]
        if fields.has("portion"):
            told.append(fields.read("portion", _whole_cm3, 1))
        if len(told) > 1:
            raise Mistake(
                "a strength told in two volumes",
                expected="one of 'mass in ... cm3: yes' and 'portion: ...'",
                where=fields.where,
            )
        return told[0] if told else 0

    def solution(self, fields: Fields, key: str) -> Solution:
        """The solution that a key names, with its strength."""
        solute = self.formula(fields.text(key))
        bottle = fields.text("bottle", solute)
        made_in = self.vessel(fields, "made in") if fields.has("made in") else ""
        known = self.chemicals.substances.get(solute)
        count, species = (known.count, known.gives or solute) if known else (1, solute)
        if fields.has("gives"):
            count, species = counted(fields.text("gives"), self.formula)
        count, species = self.given((bottle, solute), (count, species), fields.has("gives"))
        gas, breakdown = self._gas(fields, species)
        found = Solution(
            name=bottle,
            solute=solute,
            species=species,
            count=count,
            made_in=made_in,
            gas=gas,
            breakdown=breakdown,
            told_in_cm3=self._told_in(fields),
            equivalents=fields.whole("equivalents", 0, least=1, most=MOST_EQUIVALENTS),
            by_mass=any((fields.yes("by mass"), fields.has("density"), fields.has("percentage by mass"))),
            called=fields.text("called", ""),
            poured_as=fields.text("poured as", ""),
        )
        earlier = self.bottles.setdefault(bottle, found)
        again = replace(found, called=earlier.called, poured_as=earlier.poured_as)  # said once
        if not found.equivalents and not found.by_mass:
            again = replace(again, equivalents=earlier.equivalents, by_mass=earlier.by_mass)
        if fields.has("normality") and not earlier.equivalents:
            raise Mistake(
                f"a normality of {solute}, and nothing says how many protons or electrons one stands for",
                expected="'equivalents: 2' beside it, or what is right",
                where=fields.at("normality"),
            )
        if earlier != again and not (made_in or earlier.made_in):
            raise Mistake(f"two different solutions are called '{bottle}'", where=fields.where)
        self.number(fields, "concentration", quantities.concentration(bottle))
        self.number(fields, "mass concentration", quantities.mass_concentration(bottle))
        self.number(fields, "volume strength", quantities.volume_strength(bottle))
        self.number(fields, "normality", quantities.normality(bottle))
        self.number(fields, "density", quantities.density(bottle))
        self.number(fields, "percentage by mass", quantities.percentage_by_mass(bottle))
        self.number(fields, "molar volume", quantities.MOLAR_VOLUME)
        return earlier

    def _gas(self, fields: Fields, species: str) -> tuple[str, Reaction | None]:
        """The gas that a solution is measured by, and the reaction that gives it."""
        if not fields.has("breaks down"):
            return "", None
        reaction = self.reaction(fields.text("breaks down"))
        require_whole(reaction)
        gases = [member.formula.text for member in reaction.right if member.state == "g"]
        if len(gases) != 1 or not reaction.has(species):
            raise Mistake(
                f"the breakdown {reaction}",
                expected=f"{species} on the left and one gas, with its state symbol, on the right",
                where=fields.at("breaks down"),
            )
        return gases[0], reaction
