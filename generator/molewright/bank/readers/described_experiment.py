"""A described experiment comes in as a file; its procedure, its numbers and the quantity asked for go out.

The file has the operations of the archetypes, with one quantity for every number:

    experiment: Quarry stone
    procedure:
      - weigh: {sample: limestone, contains: CaCO3, mass: 1.264 g}
      - add excess: {solution: HCl, volume: 50.0 cm3, concentration: 1.00 mol dm-3}
      - react: CaCO3 + 2HCl -> CaCl2 + CO2 + H2O
      - make up: 250 cm3
      - take aliquot: 25.0 cm3
      - titrate: {with: NaOH, concentration: 0.105 mol dm-3, titre: 24.80 cm3}
    asked: percentage of CaCO3 in limestone
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TypeVar

from molewright.bank.definitions import Ask, UnknownElements
from molewright.bank.readers.asked import Asked, find_asked, in_the_unit
from molewright.bank.readers.described import Chemicals, Described
from molewright.bank.readers.forms import Form
from molewright.bank.readers.operation_lines import each_text, line_of, parted, text_under
from molewright.bank.readers.operations import read_operations
from molewright.bank.readers.read_so_far import Key, ReadAgain, ReadInIons, ReadSoFar
from molewright.bank.readers.teachers_lines import in_the_readers_keys
from molewright.bank.readers.teachers_units import teachers_unit
from molewright.chem.conventions import CONVENTIONS, Convention
from molewright.chem.quantity import Quantity, half_up, parse_quantity
from molewright.chem.units import Unit
from molewright.errors import Mistake, Where, nearest
from molewright.experiment import acidity, quantities
from molewright.experiment.quantities import Name
from molewright.experiment.quantity_texts import find_name, texts_of
from molewright.experiment.relations.relating import relate
from molewright.experiment.relations.variables import System
from molewright.experiment.tellings import ON_PAPER
from molewright.experiment.titres import mean_titre
from molewright.reading.each_asked import ASKED, each_asked
from molewright.reading.fields import Fields, gathered
from molewright.reading.yaml_text import Branch, Keys, Listing, Scalar, read_tree

MOST_FIGURES = 8  # of an answer
MASSES = "relative atomic masses"
Told = TypeVar("Told")


@dataclass(frozen=True, slots=True, kw_only=True)
class Experiment:
    """A described experiment: its title, procedure and system, the quantities given, and what is asked."""

    title: str
    described: Described
    system: System
    given: Mapping[Name, Quantity]
    ask: Ask
    masses: Convention
    where: Where
    procedure: Branch  # its lines in the keys of the readers
    unknown_elements: UnknownElements = field(default_factory=UnknownElements)
    tolerances: Mapping[Name, Quantity] = field(default_factory=dict)  # by how much each reading may be out


def read_experiment(path: Path, chemicals: Chemicals) -> Experiment:
    """Read a described experiment. Raises Mistake with file:line."""
    asking = each_asked(read_tree(path, str(path)))
    if len(asking) > 1:
        raise Mistake(
            f"{len(asking)} quantities are asked for in this file",
            expected="one, where one answer is wanted",
            where=asking[0].where,
        )
    return build_experiment(asking[0], chemicals)


def read_experiments(path: Path, chemicals: Chemicals) -> tuple[Experiment, ...]:
    """Read a described experiment, or a list of them. Raises Mistake, or several at once, with file:line."""
    return gathered(
        lambda one: build_experiment(one, chemicals), each_asked(read_tree(path, str(path))), lambda one: one.where
    )


def build_experiment(tree: Branch, chemicals: Chemicals) -> Experiment:
    """An experiment from a tree that was read already."""
    typed = text_under(tree, ASKED) if isinstance(tree, Keys) else ""
    tree = in_the_readers_keys(tree, chemicals)
    fields = Fields(tree)
    title = fields.text("experiment", "Experiment")
    fields.require("procedure", ASKED)
    masses = _convention(fields)
    procedure = fields.branch("procedure")
    described, so_far = _operations(fields, chemicals)
    procedure = _as_read(procedure, so_far)
    given = {name: _one(name, choice.options, fields) for name, choice in described.choices.items()}
    for name, runs in described.runs.items():
        try:
            mean = mean_titre(tuple(one.run for one in runs))
        except Mistake as mistake:
            raise mistake.at(described.written[name].where.under(name.text)) from None
        given[name] = Quantity(half_up(mean, 2), Unit.CM3)
    own = _molar_masses(fields, so_far)
    unknown = frozenset(described.unknown) | frozenset(own)
    try:
        system = relate(described.procedure, unknown)
    except Mistake as mistake:
        raise mistake.at(fields.at("procedure")) from None
    if acidity.ION_PRODUCT in system.variables and acidity.ION_PRODUCT not in given:
        given[acidity.ION_PRODUCT] = acidity.USUAL_ION_PRODUCT
        described.notes.append(f"the {acidity.ION_PRODUCT} is taken as {acidity.USUAL_ION_PRODUCT}, as at 25 °C")
    try:
        meant = _as_a_mass(find_asked(fields.text(ASKED), system.variables, chemicals, typed), fields, system)
    except Mistake as mistake:
        raise mistake.at(fields.at(ASKED)) from None
    asked = meant.quantity
    told = texts_of(system.variables)
    for name in given:
        if name not in system.variables:
            raise Mistake(
                f"the {name} is given and this procedure has no use for it",
                where=fields.at("procedure"),
                expected=f"of: {', '.join(list(told.values())[:12])}",
                near=nearest(name.text, told.values()),
            )
    for substance, quantity in own.items():
        name = quantities.molar_mass(substance)
        if name not in system.variables:
            weighable = [one.subject for one in system.variables.values() if one.kind == "molar mass"]
            raise Mistake(
                f"the {name} is given, but no mass of {substance} is in this procedure",
                where=fields.at("molar masses"),
                expected=f"molar masses of {', '.join(weighable)}" if weighable else "no molar masses",
                near=nearest(substance, weighable),
            )
        given[name] = quantity
    unit = _unit(fields, system.variables[asked].unit, meant.unit)
    figures = fields.whole("figures", 0)
    if fields.has("figures") and not 1 <= figures <= MOST_FIGURES:
        raise Mistake(f"{figures} significant figures", expected=f"1 to {MOST_FIGURES}", where=fields.at("figures"))
    tolerances = _tolerances(fields, system, given)
    for key in ON_PAPER:  # these are for whoever prints it
        fields.has(key)
    fields.finish()
    return Experiment(
        title=title,
        described=described,
        system=system,
        given=given,
        ask=Ask(asked, unit, figures),
        procedure=procedure,
        masses=masses,
        where=fields.where,
        unknown_elements=chemicals.unknown_elements,
        tolerances=tolerances,
    )


def _convention(fields: Fields) -> Convention:
    """How relative atomic masses are rounded; where that of an element is given instead, it is told where that belongs."""
    try:
        return fields.one_of(MASSES, CONVENTIONS, "one place")
    except Mistake as mistake:
        mistake.do = "It says how they are rounded. That of an unknown element M stands where it is weighed: 'atomic mass of M: 52.0'."
        raise


def _operations(fields: Fields, chemicals: Chemicals) -> tuple[Described, ReadSoFar]:
    """The procedure, read again where an equation further down writes a substance in another form than the one supposed."""
    forms: dict[Key, Form] = {}
    ions: set[str] = set()
    while True:
        so_far = ReadSoFar(chemicals, {}, forms=forms, in_ions=frozenset(ions), teachers=True)
        try:
            read = read_operations(fields.branch("procedure"), so_far)
            read.notes[:0] = so_far.counting_told()
            return read, so_far
        except ReadAgain as again:
            if again.key not in forms:
                forms[again.key] = again.form
                continue
            substance = again.key[1]
            if substance in ions or chemicals.forms is None or not chemicals.forms.apart(substance):
                raise Mistake(
                    f"{substance} is written as {forms[again.key][1]} in one equation and as {again.form[1]} in another",
                    expected="one way of writing it in all equations of a description",
                    where=fields.at("procedure"),
                ) from None
            ions.add(substance)
            forms.clear()  # the equations that they were for are written otherwise from here
        except ReadInIons as again:
            ions.add(again.substance)
            forms.clear()


def _as_read(procedure: Branch, so_far: ReadSoFar) -> Branch:
    """The procedure with each equation as it was read, where one stood in whole formulae and another in ions."""
    if not so_far.in_ions or not isinstance(procedure, Listing):
        return procedure

    def read(text: str) -> str:
        return so_far.reaction(text).text

    lines = []
    for line in procedure.members:
        word, held = parted(line)
        if isinstance(held, Scalar) and word == "react":
            line = line_of(line, word, each_text(held, read))
        elif isinstance(held, Keys) and "reaction" in held.members:
            written = each_text(held.members["reaction"], read)
            line = line_of(line, word, replace(held, members={**held.members, "reaction": written}))
        lines.append(line)
    return replace(procedure, members=tuple(lines))


def _as_a_mass(meant: Asked, fields: Fields, system: System) -> Asked:
    """What is asked, as a mass concentration where its unit is one of masses: 'unit: g dm-3'."""
    if meant.unit or not fields.has("unit"):
        return meant
    try:
        return Asked(
            in_the_unit(meant.quantity, teachers_unit(fields.text("unit"), Unit.G_PER_DM3), system.variables).quantity,
            Unit.NONE,
        )
    except Mistake:
        return meant  # told where the unit is read


def _unit(fields: Fields, own: Unit, said: Unit) -> Unit:
    """The unit that the answer is wanted in, by its own key or in the words of what is asked; one of the asked quantity's kind."""
    key = "unit" if fields.has("unit") else ASKED
    if key == ASKED and not said:
        return Unit.NONE
    try:
        unit = teachers_unit(fields.text("unit"), own.base) if key == "unit" else said
    except Mistake as mistake:
        raise mistake.at(fields.at(key)) from None
    if unit.base is not own.base:
        raise Mistake(
            f"the unit '{unit}' for the asked quantity",
            expected=f"a unit of the kind '{own}'" if own else "no unit",
            where=fields.at(key),
        )
    return unit


def _one(name: Name, options: tuple[Quantity, ...], fields: Fields) -> Quantity:
    if len(options) != 1:
        raise Mistake(f"the {name} is a choice of numbers", expected="one quantity", where=fields.at("procedure"))
    return options[0]


def _tolerances(fields: Fields, system: System, given: Mapping[Name, Quantity]) -> dict[Name, Quantity]:
    """By how much the numbers that are given may be out: 'titre of NaOH: 0.10 cm3'."""

    def one(words: str, own: Fields) -> tuple[Name, Quantity]:
        name = find_name(words, system.variables)
        if name not in given:
            raise Mistake(f"the {name} is not given", expected=f"one of: {', '.join(map(str, given))}")
        quantity = parse_quantity(own.text(words))
        if quantity.unit.base is not given[name].unit.base or not 0 < quantity.in_base < given[name].in_base:
            raise Mistake(f"{quantity} as the tolerance of {given[name]}", expected="less, in a unit of its kind")
        return name, quantity

    return _each_under(fields, "tolerances", "titre of NaOH: 0.10 cm3", one)


def _molar_masses(fields: Fields, so_far: ReadSoFar) -> dict[str, Quantity]:
    """Molar masses that the description states itself, instead of those of the convention."""

    def one(formula: str, own: Fields) -> tuple[str, Quantity]:
        quantity = parse_quantity(own.text(formula), unit_needed=False)
        if quantity.unit not in (Unit.NONE, Unit.G_PER_MOL) or quantity.number <= 0:
            raise Mistake(f"the molar mass {quantity}", expected="a number above zero, in g mol-1")
        return so_far.formula(formula), Quantity(quantity.number, Unit.G_PER_MOL)

    return _each_under(fields, "molar masses", "CaCO3: 100.09 g mol-1", one)


def _each_under(
    fields: Fields, key: str, example: str, read: Callable[[str, Fields], tuple[Told, Quantity]]
) -> dict[Told, Quantity]:
    """What is read of each line under a key, with the place of a fault; nothing where the key is not there."""
    if not fields.has(key):
        return {}
    branch = fields.branch(key)
    if not isinstance(branch, Keys):
        raise Mistake(f"the {key} are not keys", expected=f"lines of '{example}'", where=branch.where)
    own = Fields(branch, key)
    found = {}
    for words in branch.members:
        try:
            told, quantity = read(words, own)
        except Mistake as mistake:
            raise mistake.at(own.at(words)) from None
        found[told] = quantity
    return found
