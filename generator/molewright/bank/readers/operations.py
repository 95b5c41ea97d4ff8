"""Operations as a person writes them come in ("weigh", "add excess", "titrate"); a Procedure and its numbers go out.

The same grammar serves the archetypes of the banks, where a number may be a choice, and a described experiment to be solved,
where it is one quantity. The opening comment of banks/archetypes tells the grammar with an example of each operation.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from molewright.bank.definitions import Choice, Material, MayBe, ReactionEntry, Substance
from molewright.bank.readers.choices import read_choice
from molewright.bank.readers.fields import Fields, counted, text_of
from molewright.bank.readers.unknown_choices import read_may_be
from molewright.bank.readers.yaml_text import Branch, Listing, Scalar
from molewright.bank.readers.yaml_text import Mapping as Keys
from molewright.chem.formula import parse_formula
from molewright.chem.quantity import Quantity, base_unit, parse_quantity
from molewright.chem.reaction import Reaction, parse_reaction, require_whole
from molewright.errors import Mistake, Where, nearest, shortened
from molewright.experiment import procedure as names
from molewright.experiment.procedure import (
    FLASK,
    PORTION,
    Add,
    Aliquot,
    Content,
    Dissolve,
    MakeUp,
    Measure,
    Operation,
    Pass,
    Procedure,
    React,
    Remove,
    Solution,
    Strength,
    Titrate,
    Warm,
    Weigh,
)

WORDS = (
    "weigh", "dissolve", "measure", "add excess", "add", "warm", "react", "boil off", "filter off", "drive over", "make up",
    "take aliquot", "dilute", "titrate", "tell strength",
)  # fmt: skip


POURED_WITH = ("pipette", "burette", "measuring cylinder", "volumetric flask", "bottle")
TOLD_IN_CM3 = (5, 10, 100)  # spoonfuls of a medicine, and what labels count in
_WORDS = re.compile(r"[a-z][a-z' -]*")  # no formula begins so

MOST_RUNS = 30  # of one titration
MOST_OPERATIONS = 100


@dataclass(frozen=True, slots=True)
class Chemicals:
    """What the operations look things up in: substances by formula and the reactions of the banks."""

    substances: Mapping[str, Substance]
    reactions: tuple[ReactionEntry, ...]
    _by_reactant: dict[str, list[ReactionEntry]] = field(init=False, compare=False, repr=False, default_factory=dict)

    def __post_init__(self) -> None:
        for entry in self.reactions:
            for formula in entry.reactants():
                self._by_reactant.setdefault(formula, []).append(entry)

    def reaction_of(self, one: str, other: str, solid: bool = False) -> tuple[ReactionEntry, ...]:
        """The first reaction of the banks between two substances, of the first as it is there; none where they hold no such."""
        found = [entry for entry in self._by_reactant.get(one, ()) if other in entry.reactants()]
        found.sort(key=lambda entry: (entry.state_of(one) == "s") != solid)  # the others keep their order
        return tuple(found[:1])


@dataclass(frozen=True, slots=True)
class ReadRun:
    """One run as a person wrote it down: initial and final reading, and whether it was the rough one."""

    initial: Quantity
    final: Quantity
    rough: bool


@dataclass(frozen=True, slots=True)
class Place:
    """Where a number stands in a description, or could: the operation, the key in it, and where that is written."""

    where: Where
    key: str
    at: Where | None = None


@dataclass(slots=True)
class Described:
    """A procedure as described: its operations, the numbers by name, and what the reader learnt on the way."""

    operations: list[Operation] = field(default_factory=list)
    choices: dict[str, Choice] = field(default_factory=dict)
    runs: dict[str, tuple[ReadRun, ...]] = field(default_factory=dict)
    unknown: set[str] = field(default_factory=set)
    used: list[ReactionEntry] = field(default_factory=list)
    indicators: tuple[str, ...] = ()
    may_be: MayBe | None = None
    written: dict[str, Place] = field(default_factory=dict)  # numbers by name
    unwritten: dict[str, Place] = field(default_factory=dict)  # numbers that have a key and were left out
    places: list[Where] = field(default_factory=list)  # of the operations, one for each
    helped: set[int] = field(
        default_factory=set
    )  # operations, by their place in the list, that react with something in plenty

    @property
    def procedure(self) -> Procedure:
        """The operations as a procedure."""
        return Procedure(tuple(self.operations))

    def at(self, name: str) -> Where | None:
        """Where a number is written; None for one that is not."""
        place = self.written.get(name)
        return place.at if place is not None else None


class OperationReader:
    """Reads one list of operations. `roles` are words that stand for a formula or a sample ("analyte", "reagent")."""

    def __init__(self, chemicals: Chemicals, roles: Mapping[str, str], material: Material | None = None) -> None:
        self.chemicals = chemicals
        self.roles = roles
        self.material = material
        self.placeholders: frozenset[str] = frozenset()
        self.made = Described()
        self.inside: dict[str, list[str]] = {}
        self.bottles: dict[str, Solution] = {}
        self.filled: dict[str, Where] = {}  # vessels that something was added to, with the last line that says so
        self.here = FLASK

    def read(self, branch: Branch) -> Described:
        """Read the whole list. Raises Mistake at the operation it fails on."""
        if not isinstance(branch, Listing):
            raise Mistake("the procedure is not a list", expected="lines of '- weigh: {...}'", where=branch.where)
        if len(branch.members) > MOST_OPERATIONS:
            raise Mistake(
                f"{len(branch.members)} operations", expected=f"at most {MOST_OPERATIONS}", where=branch.where
            )
        for member in branch.members:
            try:
                self._operation(member)
            except Mistake as mistake:
                raise mistake.at(member.where.under("procedure")) from None
            self.made.places += [member.where] * (len(self.made.operations) - len(self.made.places))
        for vessel, where in self.filled.items():
            if vessel not in self.inside:
                raise self._no_vessel(vessel, where)
        told = any(
            isinstance(operation, Strength) or (isinstance(operation, React) and operation.told)
            for operation in self.made.operations
        )
        if not self.made.procedure.titrations and not told:
            raise Mistake(
                "the procedure has no titration", expected="at least one '- titrate: {...}'", where=branch.where
            )
        return self.made

    def _operation(self, member: Branch) -> None:
        if isinstance(member, Scalar):
            word, fields = " ".join(member.text.split()), Fields(Keys({}, {}, member.where), member.text)
        elif isinstance(member, Keys) and len(member.members) == 1:
            word, held = next(iter(member.members.items()))
            self._require_operation(word)
            if not isinstance(held, Keys) and word in _SHORT:
                held = Keys({_SHORT[word]: held}, {_SHORT[word]: held.where}, held.where)
            fields = Fields(held, word)
        else:
            raise Mistake("an operation is one word with its keys", expected="'- weigh: {sample: ..., mass: ...}'")
        readers: dict[str, Callable[[Fields], None]] = {
            "weigh": self._weigh, "dissolve": self._dissolve, "measure": self._measure, "add excess": self._add_excess,
            "add": self._add, "warm": self._warm, "react": self._react, "boil off": self._boil, "filter off": self._filter,
            "drive over": self._drive,
            "make up": self._make_up, "take aliquot": self._aliquot, "dilute": self._dilute, "titrate": self._titrate,
            "tell strength": self._tell,
        }  # fmt: skip
        self._require_operation(word)
        readers[word](fields)
        fields.finish()

    def _require_operation(self, word: str) -> None:
        if word not in WORDS:
            raise Mistake(
                f"no operation {shortened(word)}", expected=f"one of: {', '.join(WORDS)}", near=nearest(word, WORDS)
            )

    # ------------------------------------------------------------ words and numbers

    def word(self, text: str) -> str:
        """A text with a role word replaced by what plays the role."""
        return self.roles.get(text, text)

    def formula(self, text: str) -> str:
        """One spelling of a formula, read from a role word, a formula, or a substance's name."""
        spelt = self.word(text)
        by_name = next((s.formula for s in self.chemicals.substances.values() if spelt in (s.name, s.solution)), None)
        if by_name:
            return by_name
        try:
            return parse_formula(spelt, self.placeholders).text
        except Mistake as mistake:
            raise (self._no_role(text) if _WORDS.fullmatch(spelt) else mistake) from None

    def _no_role(self, text: str) -> Mistake:
        """What is said of small words that are no role, no name and no formula."""
        known = [one.name for one in self.chemicals.substances.values()]
        if not self.roles:
            return Mistake(f"no substance {shortened(text)}", expected="a formula, or a name that the banks know",
                           near=nearest(text, known))  # fmt: skip
        return Mistake(
            f"no role {shortened(text)}",
            expected=f"a formula, a substance's name or one of the roles here: {', '.join(self.roles)}",
            near=nearest(text, [*self.roles, *known]),
            do="A role is filled in under 'variants'.",
        )

    def vessel(self, fields: Fields, key: str = "vessel") -> str:
        """A vessel that something was put into before; where none is named, the last one."""
        named = fields.text(key, self.here)
        if fields.has(key) and named not in self.inside:
            raise self._no_vessel(named, fields.at(key))
        return named

    def _no_vessel(self, named: str, where: Where) -> Mistake:
        there = ", ".join(self.inside)
        return Mistake(f"no vessel {shortened(named)}", expected=f"one of those here: {there or 'none yet'}",
                       near=nearest(named, self.inside), where=where)  # fmt: skip

    def number(self, fields: Fields, key: str, name: str, unit: str) -> None:
        """Keep the number that a key holds under its name; a number not written is one not known."""
        if not fields.has(key):
            self.made.unwritten.setdefault(name, Place(fields.where, key))
            return
        self.made.written.setdefault(name, Place(fields.where, key, fields.at(key)))
        branch = fields.branch(key)
        try:
            choice = read_choice(branch, unit, self.material)
        except Mistake as mistake:
            raise mistake.at(fields.at(key)) from None
        if name in self.made.choices and self.made.choices[name] != choice:
            raise Mistake(
                f"the {name} is given twice with different numbers",
                where=fields.at(key),
                do="Give a second bottle of the same solute a name of its own: 'bottle: ...'.",
            )
        self.made.choices[name] = choice

    def _told_in(self, fields: Fields) -> int:
        """The volume in cm³ whose content tells how strong a solution is: 'mass in 100 cm3: yes'."""
        told = [volume for volume in TOLD_IN_CM3 if fields.yes(f"mass in {volume} cm3")]
        if len(told) > 1:
            raise Mistake(
                "a strength told in two volumes", expected="one of 'mass in ... cm3: yes'", where=fields.where
            )
        return told[0] if told else 0

    def solution(self, fields: Fields, key: str) -> Solution:
        """The solution that a key names, with its strength."""
        solute = self.formula(fields.text(key))
        bottle = fields.text("bottle", solute)
        made_in = self.vessel(fields, "made in") if fields.has("made in") else ""
        known = self.chemicals.substances.get(solute)
        species, count = (known.gives or solute, known.count) if known else (solute, 1)
        if fields.has("gives"):
            count, species = counted(fields.text("gives"), self.formula)
        gas, breakdown = self._gas(fields, species)
        found = Solution(bottle, solute, species, count, made_in, gas, breakdown, self._told_in(fields))
        earlier = self.bottles.setdefault(bottle, found)
        if earlier != found and not (made_in or earlier.made_in):
            raise Mistake(f"two different solutions are called '{bottle}'", where=fields.where)
        self.number(fields, "concentration", names.concentration(bottle), "mol dm⁻³")
        self.number(fields, "mass concentration", names.mass_concentration(bottle), "g dm⁻³")
        self.number(fields, "volume strength", names.volume_strength(bottle), "")
        self.number(fields, "molar volume", names.MOLAR_VOLUME, "dm³ mol⁻¹")
        return earlier

    def _gas(self, fields: Fields, species: str) -> tuple[str, Reaction | None]:
        """The gas that a solution is measured by, and the reaction that gives it."""
        if not fields.has("breaks down"):
            return "", None
        reaction = parse_reaction(fields.text("breaks down"), self.placeholders)
        require_whole(reaction)
        gases = [member.formula.text for member in reaction.right if member.state == "g"]
        if len(gases) != 1 or not reaction.has(species):
            raise Mistake(
                f"the breakdown {reaction}",
                expected=f"{species} on the left and one gas, with its state symbol, on the right",
                where=fields.at("breaks down"),
            )
        return gases[0], reaction

    # ------------------------------------------------------------ operations

    def _weigh(self, fields: Fields) -> None:
        vessel = fields.text("into", self.here)
        self.placeholders |= frozenset(fields.texts("unknown", ()))
        sample = self.word(fields.text("sample"))
        pieces = self.word(fields.text("pieces", ""))
        pure = fields.yes("pure")
        contents: list[Content] = []
        for text in fields.texts("contains"):
            substance = self.formula(text)
            known = self.chemicals.substances.get(substance)
            plain = substance.removesuffix(".xH2O")
            species, count = (known.gives, known.count) if known and known.gives else (plain, 1)
            if any(substance == earlier.substance for earlier in contents):
                raise Mistake(f"{substance} stands twice", expected="each once", where=fields.at("contains"))
            contents.append(Content(substance, species, count))
            if any(symbol in self.placeholders for symbol, _ in parse_formula(substance, self.placeholders).atoms):
                self.made.unknown.add(substance)
        if fields.has("gives"):
            given = fields.texts("gives")
            if len(contents) != len(given):
                raise Mistake(
                    f"'gives' tells of {len(given)} substances, and {len(contents)} stand under 'contains'",
                    expected="what each of them gives, in the same order",
                    where=fields.at("gives"),
                )
            told = [counted(text, self.formula) for text in given]
            contents = [
                Content(content.substance, species, count)
                for content, (count, species) in zip(contents, told, strict=True)
            ]
        if fields.yes("molar mass unknown"):
            self.made.unknown.update(content.substance for content in contents)
        first = contents[0].substance
        self.number(fields, "mass", names.mass(sample), "g")
        self.number(fields, "percentage", names.percentage(first, sample), "%")
        self.number(fields, "mass within", names.mass_within(first, sample), "g")
        self.number(fields, "molar mass", names.molar_mass(first), "g mol⁻¹")
        if fields.has("may be"):
            self.made.may_be = read_may_be(
                fields, first, first in self.made.unknown, self.chemicals.substances, self.formula
            )
            self.made.choices[self.made.may_be.number] = self.made.may_be.choice
        self.number(fields, "water", names.water(first), "")
        if pieces:
            self.number(fields, "number", names.pieces(pieces), "")
            self.number(fields, "mass each", names.mass_each(first, pieces), "g")
        for symbol in sorted(self.placeholders):
            self.number(fields, f"atomic mass of {symbol}", names.atomic_mass(symbol), "")
        self.number(fields, "by difference", names.bottle_mass(sample, True), "g")
        self.number(fields, "full bottle", names.bottle_mass(sample, False), "g")
        weighed = not fields.yes("counted only")
        elements = fields.texts("elements", ())
        per_gram = fields.yes("per gram")
        self.made.operations.append(
            Weigh(
                sample,
                tuple(contents),
                vessel,
                pure,
                pieces,
                weighed,
                elements,
                per_gram,
                fields.yes("impurities"),
                fields.has("by difference"),
            )
        )
        self.number(fields, "mass per gram", names.mass_per_gram(first, sample), "mg g⁻¹")
        self.inside.setdefault(vessel, []).extend(content.species for content in contents)
        self.here = vessel

    def _dissolve(self, fields: Fields) -> None:
        self.made.operations.append(Dissolve(self.vessel(fields), fields.text("in", "distilled water")))

    def _put(self, fields: Fields, key: str, excess: bool) -> None:
        vessel = fields.text("into", self.here)
        self.placeholders |= frozenset(fields.texts("unknown", ()))
        solution = self.solution(fields, key)
        if self.placeholders and parse_formula(solution.solute, self.placeholders).placeholders:
            self.made.unknown.add(solution.solute)
        self.number(fields, "volume", names.volume_measured(solution.name, vessel), "cm³")
        apparatus = fields.one_of("with", POURED_WITH, "pipette")
        others: tuple[Solution, ...] = ()
        if fields.has("beside"):  # a second solute of the same bottle
            beside = Fields(fields.branch("beside"), "beside")
            others = (self.solution(beside, "solution"),)
            beside.finish()
        like = fields.text("like", "")
        self.made.operations.append(Measure(solution, vessel, apparatus, excess, others, like))
        self.inside.setdefault(vessel, []).extend(one.species for one in (solution, *others))
        self.here = vessel

    def _measure(self, fields: Fields) -> None:
        self._put(fields, "solution", False)

    def _add_excess(self, fields: Fields) -> None:
        self._put(fields, "solution", True)

    def _add(self, fields: Fields) -> None:
        vessel = fields.text("vessel", self.here)  # it may be the first thing there
        self.filled[vessel] = fields.at("vessel")
        self.made.operations.append(Add(fields.text("what"), vessel))

    def _warm(self, fields: Fields) -> None:
        self.made.operations.append(Warm(fields.text("to"), self.vessel(fields)))

    def _tell(self, fields: Fields) -> None:
        if not fields.has("made in"):
            raise Mistake("a strength of no vessel", expected="'made in: flask'", where=fields.where)
        self.made.operations.append(Strength(self.solution(fields, "solution")))

    def _reaction(self, fields: Fields, vessel: str, species: list[str], with_: str) -> tuple[Reaction, ...]:
        """The equations written, or the bank's for each species of the vessel that reacts with `with_`."""
        if fields.has("reaction"):
            found = []
            for text in fields.texts("reaction"):
                try:
                    reaction = parse_reaction(text, self.placeholders)
                    require_whole(reaction)
                except Mistake as mistake:
                    raise mistake.at(fields.at("reaction")) from None
                found.append(reaction)
                self.made.used.append(self._entry_for(reaction))
            return tuple(found)
        of = [self.formula(text) for text in fields.texts("of", tuple(species))]
        solid = self._undissolved(vessel)
        entries = [e for one in of if one != with_ for e in self.chemicals.reaction_of(one, with_, one in solid)]
        if not entries:
            raise Mistake(
                f"the banks hold no reaction of {' or '.join(of) or 'nothing'} with {with_ or 'it'}",
                expected="'reaction: <equation>' here, or an entry in the banks",
                where=fields.where,
                near=()
                if not with_ or with_ in self.chemicals.substances
                else nearest(with_, self.chemicals.substances),
            )
        self.made.used.extend(entries)
        return tuple(entry.reaction for entry in entries)

    def _undissolved(self, vessel: str) -> set[str]:
        """What was weighed into a vessel and meets the next solution as a solid."""
        found: set[str] = set()
        for operation in self.made.operations:
            match operation:
                case Weigh(vessel=into, contents=contents) if into == vessel:
                    found |= {content.species for content in contents}
                case Dissolve(vessel=into) | MakeUp(vessel=into) if into == vessel:
                    found.clear()
                case _:
                    pass
        return found

    def _entry_for(self, reaction: Reaction) -> ReactionEntry:
        return next((e for e in self.chemicals.reactions if e.reaction.is_like(reaction)), ReactionEntry(reaction))

    def _react(self, fields: Fields) -> None:
        vessel = self.vessel(fields)
        excess = ""
        if fields.has("excess"):
            named = self.formula(fields.text("excess"))
            bottle = next((b for b in self.bottles.values() if named in (b.solute, b.species)), None)
            excess = bottle.species if bottle else named
        elif fields.has("reaction"):  # what was added in excess is what is left over
            excess = self._in_excess(vessel, fields)
        present = list(dict.fromkeys(self.inside.get(vessel, [])))
        plenty = self.formula(fields.text("with")) if fields.has("with") else ""  # there in plenty, never measured
        if not excess and not plenty and not fields.has("reaction"):
            raise Mistake(
                "a reaction without an equation and without an excess",
                expected="'reaction:', 'excess:' or 'with:'",
                where=fields.where,
            )
        reactions = self._reaction(fields, vessel, [one for one in present if one != excess], excess or plenty)
        told = fields.has("more than reacts")
        if told and not excess:
            raise Mistake(
                "how much more than reacts, and no excess", expected="'excess: ...' beside it", where=fields.where
            )
        self.number(fields, "more than reacts", names.excess_share(excess), "%")
        if plenty:
            self.made.helped.add(len(self.made.operations))
        self.made.operations.append(React(reactions, vessel, excess, told))
        left = {member.formula.text for reaction in reactions for member in reaction.left}
        made = [member.formula.text for reaction in reactions for member in reaction.right]
        self.inside[vessel] = [one for one in present if one not in left or one == excess] + made

    def _in_excess(self, vessel: str, fields: Fields) -> str:
        """The species that 'add excess' put into a vessel, where an equation written here uses it up."""
        added = [act.solution.species for act in self.made.operations
                 if isinstance(act, Measure) and act.excess and act.vessel == vessel]  # fmt: skip
        used = {member.formula.text for text in fields.texts("reaction")
                for member in parse_reaction(text, self.placeholders).left}  # fmt: skip
        return next((species for species in reversed(added) if species in used), "")

    def _leave(self, fields: Fields, by_boiling: bool) -> None:
        vessel = self.vessel(fields)
        species = self.formula(fields.text("species"))
        there = self.inside.get(vessel, [])
        if species not in there:
            raise Mistake(
                f"no {species} is in {vessel} to be {'boiled' if by_boiling else 'filtered'} off",
                expected=f"one of: {', '.join(dict.fromkeys(there)) or 'nothing is there'}",
                where=fields.at("species"),
            )
        self.made.operations.append(Remove(species, vessel, by_boiling))
        self.inside[vessel] = [one for one in self.inside.get(vessel, []) if one != species]

    def _boil(self, fields: Fields) -> None:
        self._leave(fields, True)

    def _filter(self, fields: Fields) -> None:
        self._leave(fields, False)

    def _drive(self, fields: Fields) -> None:
        vessel, into = self.vessel(fields, "from"), fields.text("into")
        species = self.formula(fields.text("species"))
        self.made.operations.append(Pass(species, vessel, into))
        self.inside.setdefault(into, []).append(species)
        self.here = into

    def _make_up(self, fields: Fields) -> None:
        vessel = self.vessel(fields)
        self.number(fields, "volume", names.volume_made_up(vessel), "cm³")
        self.made.operations.append(MakeUp(vessel))

    def _aliquot(self, fields: Fields) -> None:
        vessel, into = self.vessel(fields, "from"), fields.text("into", PORTION)
        self.number(fields, "volume", names.volume_taken(into), "cm³")
        self.made.operations.append(Aliquot(vessel, into, fields.one_of("with", ("pipette", "burette"), "pipette")))
        self.inside[into] = list(self.inside.get(vessel, []))
        self.here = into

    def _dilute(self, fields: Fields) -> None:
        self._put(fields, "solution", False)
        self.number(fields, "to", names.volume_made_up(self.here), "cm³")
        self.made.operations.append(MakeUp(self.here))

    def _titrate(self, fields: Fields) -> None:
        vessel = self.vessel(fields)
        titrant = self.solution(fields, "with")
        present = list(dict.fromkeys(self.inside.get(vessel, [])))
        indicator, name = fields.text("indicator", ""), fields.text("name", "")
        sought = self.formula(fields.text("ratio of")) if fields.has("ratio of") else ""
        if sought:
            electrons = fields.whole("electrons", 0)
            element = fields.text("oxidation state of", "")
            if element and not electrons:
                raise Mistake("an oxidation state without electrons", expected="'electrons: 5' beside it",
                              where=fields.at("oxidation state of"))  # fmt: skip
            act = Titrate(titrant, (), vessel, indicator, name, sought, electrons, fields.yes("basicity"), element)
            self.number(fields, "ratio", names.found_ratio(act), "")
            self.number(fields, "oxidation state", names.oxidation_state(element, False), "")
            self.made.used.append(ReactionEntry(Reaction((), ())))
            reactions: tuple[Reaction, ...] = ()
        else:
            reactions = self._reaction(fields, vessel, present, titrant.species)
            act = Titrate(titrant, reactions, vessel, indicator, name)
        self.number(fields, "titre", names.titre(act), "cm³")
        if fields.has("readings"):
            self.made.runs[names.titre(act)] = _readings(fields)
            self.made.written[names.titre(act)] = Place(fields.where, "readings", fields.at("readings"))
        self.made.operations.append(act)
        self.made.indicators = fields.texts("indicators", ())
        left = {member.formula.text for reaction in reactions for member in reaction.left} | {sought}
        made = [member.formula.text for reaction in reactions for member in reaction.right]
        self.inside[vessel] = [one for one in present if one not in left] + made


_SHORT = {"add": "what", "warm": "to", "make up": "volume", "take aliquot": "volume", "dissolve": "in",
          "react": "reaction", "boil off": "species",
          "filter off": "species"}  # fmt: skip


def _readings(fields: Fields) -> tuple[ReadRun, ...]:
    branch = fields.branch("readings")
    if not isinstance(branch, Listing) or not branch.members:
        raise Mistake(
            "the burette readings are not a list", expected="lines of '- 0.50 to 25.35'", where=fields.at("readings")
        )
    if len(branch.members) > MOST_RUNS:
        raise Mistake(f"{len(branch.members)} runs", expected=f"at most {MOST_RUNS}", where=fields.at("readings"))
    if fields.has("titre"):
        raise Mistake("both readings and a titre", expected="one of them", where=fields.at("readings"))
    return tuple(_run(member) for member in branch.members)


def _run(member: Branch) -> ReadRun:
    text = text_of(member)
    rough = text.startswith("rough ")
    first, _, last = text.removeprefix("rough ").partition(" to ")
    if not last:
        raise Mistake(
            f"the run '{text}'",
            expected="initial to final, as '0.50 to 25.35' or 'rough 0.00 to 25.60'",
            where=member.where,
        )
    final = parse_quantity(last, unit_needed=False)
    initial = parse_quantity(first, unit_needed=False)
    unit = final.unit or "cm³"
    initial, final = Quantity(initial.number, initial.unit or unit), Quantity(final.number, unit)
    for reading in (initial, final):
        if base_unit(reading.unit)[0] != "cm³":
            raise Mistake(f"the run {shortened(text)} is in {reading.unit}", expected="cm3", where=member.where)
    if initial.number < 0:
        raise Mistake(f"the run {shortened(text)} begins below zero", expected="0.00 or more", where=member.where)
    if initial.in_base >= final.in_base:
        raise Mistake(
            f"the run '{text}' runs backwards", expected="the initial reading below the final one", where=member.where
        )
    return ReadRun(initial, final, rough)
