"""One archetype of the banks comes in as a tree; its definition goes out, its variants read when they are first wanted.

Roles are filled in and lists of roles multiplied out here; the operations themselves are read by bank.readers.operations.
"""

from __future__ import annotations

import itertools
from collections.abc import Collection, Iterator
from functools import partial
from typing import get_args

from molewright.bank.definitions import (
    FURTHER_PARTS,
    RUNS,
    Apparatus,
    Archetype,
    Ask,
    Context,
    Indicator,
    Material,
    ReactionEntry,
    Variant,
    Variants,
    Windows,
)
from molewright.bank.readers.courses import read_course
from molewright.bank.readers.described import Chemicals, Described
from molewright.bank.readers.operations import read_operations
from molewright.bank.readers.read_so_far import ReadSoFar
from molewright.bank.readers.soundness import nonsense
from molewright.chem.quantity import parse_quantity
from molewright.chem.units import Unit, parse_unit
from molewright.errors import Mistake, nearest, shortened
from molewright.experiment.procedure import Measure, Weigh
from molewright.experiment.quantities import Name
from molewright.experiment.quantity_kinds import UNITS
from molewright.experiment.quantity_texts import by_text
from molewright.experiment.relations.kinds import RelationKind
from molewright.experiment.relations.relating import relate
from molewright.experiment.relations.variables import System
from molewright.reading.fields import Fields, filled_texts_of, gathered, text_of
from molewright.reading.yaml_text import Branch, Keys, Listing

MOST_VARIANTS = 400  # of an archetype


class ArchetypeReader:
    """Reads one archetype after another; those that are like another must come after it."""

    def __init__(
        self,
        chemicals: Chemicals,
        built_in: Chemicals,
        indicators: dict[str, Indicator],
        materials: dict[str, Material],
        contexts: tuple[Context, ...],
        apparatus: tuple[Apparatus, ...],
        topics: Collection[str],
    ) -> None:
        self.chemicals = chemicals
        self.built_in = (
            built_in  # what the archetypes of the banks are read with: one's own reactions change none of them
        )
        self.indicators = indicators
        self.materials = materials
        self.contexts = contexts
        self.apparatus = apparatus
        self.topics = topics  # none: any heading is taken
        self.scenes = {context.key for context in contexts}
        self.trees: dict[str, tuple[Keys, Archetype]] = {}  # what was read, for entries that are like one of them

    def read(self, branch: Branch, own: bool = False) -> Archetype:
        """The archetype of an entry, one's own or of the banks. Raises Mistake at the key that is wrong."""
        model: Archetype | None = None
        if isinstance(branch, Keys) and is_like_another(branch):
            branch, model = self._inherited(branch)
        chemicals = self.chemicals if own else self.built_in
        fields = Fields(branch, gathers=True)
        made = fields.made(lambda fields: self._read(fields, model, chemicals))
        if model is None and isinstance(branch, Keys):
            self.trees[made.key] = (branch, made)
        return made

    def _inherited(self, branch: Keys) -> tuple[Keys, Archetype | None]:
        """The entry with every key of its model that it does not state itself; the model where their variants are the same."""
        key = text_of(branch.members["like"])
        if key not in self.trees:
            raise Mistake(
                f"no archetype '{key}' to be like",
                expected="the key of an archetype that is not like another",
                near=nearest(key, self.trees),
                where=branch.wheres["like"],
            )
        tree, model = self.trees[key]
        whole = Keys({**tree.members, **branch.members}, {**tree.wheres, **branch.wheres}, branch.where)
        return whole, None if STRUCTURE & set(branch.members) else model

    def _read(self, fields: Fields, model: Archetype | None, chemicals: Chemicals) -> Archetype:
        fields.has("like")
        key = fields.key("key")
        if key in self.topics:
            raise Mistake(
                f"the key '{key}' is a topic's name",
                expected="a key of its own",
                where=fields.at("key"),
                do="'molewright paper' takes keys and topics alike.",
            )
        fields.entry = key
        windows = Windows(
            _window(fields, "titre", Windows().titre, Unit.CM3), _window(fields, "used", Windows().used, Unit.NONE)
        )
        burette = max(
            (piece.capacity.in_base for piece in self.apparatus if piece.kind == "burette"), default=windows.titre[1]
        )
        if windows.titre[1] > burette:
            raise Mistake(
                f"titres up to {float(windows.titre[1]):g} cm³",
                expected=f"at most {float(burette):g} cm³, a full burette",
                where=fields.at("titre"),
            )
        listed = fields.branch("variants")
        if not isinstance(listed, Listing) or not listed.members:
            raise Mistake(
                "the variants are not a list", expected="lines of '- {material: ..., reagent: ...}'", where=listed.where
            )
        asks, operations = fields.branch("ask"), fields.branch("procedure")
        only = fields.texts("contexts", ())
        for scene in only:
            if scene not in self.scenes:
                raise Mistake(
                    f"no scene '{scene}' in the banks",
                    expected="the key of an entry of contexts.yaml",
                    near=nearest(scene, self.scenes),
                    where=fields.at("contexts"),
                )

        runs = fields.one_of("runs", RUNS, "either")
        further_parts, calculated = _further_parts(fields)
        archetype = Archetype(
            key=key,
            title=fields.name("title"),
            topic=fields.one_of("topic", self.topics) if self.topics else fields.name("topic"),
            demand=fields.whole("demand", least=1, most=9),
            variants=model.variants
            if model
            else Variants(partial(self._variants, key, listed, operations, asks, only, chemicals)),
            windows=windows,
            joined=_joined(fields),
            runs=runs if calculated else "mean",  # a table of readings is there to be worked with
            source=fields.text("source"),
            further_parts=further_parts,
            calculated=calculated,
            stretch=_stretch(fields),
            course=read_course(fields),
            where=fields.where,
        )
        if fields.wrong:
            fields.also(lambda: len(archetype.variants))
        return archetype

    def _variants(
        self, key: str, listed: Listing, operations: Branch, asks: Branch, only: tuple[str, ...], chemicals: Chemicals
    ) -> tuple[Variant, ...]:
        every = ((member.where.under(key), roles) for member in listed.members for roles in _products(member))
        given = list(itertools.islice(every, MOST_VARIANTS + 1))
        if len(given) > MOST_VARIANTS:
            raise Mistake(
                f"more than {MOST_VARIANTS} variants",
                expected="fewer roles, or fewer of each",
                where=given[MOST_VARIANTS][0],
            )
        return gathered(lambda one: self._variant(one[1], operations, asks, only, chemicals), given, lambda one: one[0])

    def _variant(
        self, roles: dict[str, str], operations: Branch, asks: Branch, only: tuple[str, ...], chemicals: Chemicals
    ) -> Variant:
        material = None
        if "material" in roles:
            if roles["material"] not in self.materials:
                raise Mistake(f"no material '{roles['material']}'", near=nearest(roles["material"], self.materials))
            material = self.materials[roles["material"]]
            roles = {"analyte": material.analyte, **roles}
            if material.pieces:
                roles = {"piece": material.pieces, **roles}
        described = read_operations(operations, ReadSoFar(chemicals, roles, material))
        system = relate(described.procedure, frozenset(described.unknown))
        fitted = [name for name, choice in described.choices.items() if choice.fit]
        if len(fitted) != (1 if described.procedure.titrations else 0):
            raise Mistake(
                f"{len(fitted)} numbers are marked 'fit'",
                expected="exactly one: the one that bends to the titre's window; none where nothing is titrated",
                where=operations.where,
            )
        self._require_sense(described, material)
        known = by_text(system.variables)
        found = gathered(
            lambda branch: self._ask(branch, roles, known, system), _members(asks), lambda branch: branch.where
        )
        if not found:
            raise Mistake("nothing is asked for", expected="'ask: [...]'", where=asks.where)
        contexts = tuple(c for c in self.contexts if self._serves(c, roles, only))
        if not contexts:
            raise Mistake(
                f"no context serves {', '.join(f'{k} {v}' for k, v in roles.items())}",
                expected="an entry in contexts.yaml that serves it",
            )
        used = described.used if described.procedure.titrations else []
        return Variant(
            roles=roles,
            procedure=described.procedure,
            choices=described.choices,
            unknown=frozenset(described.unknown),
            contexts=contexts,
            indicators=self._indicators(used[-1] if used else None, material, described.indicators),
            asks=found,
            material=material,
            may_be=described.may_be,
        )

    def _require_sense(self, described: Described, material: Material | None) -> None:
        """Refuse what no laboratory does, an indicator that nobody knows and a reagent that the material's entry lacks."""
        for fault in nonsense(described, self.apparatus, self.chemicals.substances):
            raise fault
        for name in (
            *described.indicators,
            *(one.indicator for one in described.procedure.titrations if one.indicator),
        ):
            if name not in self.indicators:
                raise Mistake(
                    f"no indicator {shortened(name)} in the banks",
                    expected="one that 'molewright banks indicators' lists",
                    near=nearest(name, self.indicators),
                    where=described.places[-1],
                )
        weighed = {act.vessel for act in described.operations if isinstance(act, Weigh)}
        for act, where in zip(described.operations, described.places, strict=True):
            if not (
                isinstance(act, Measure) and act.excess and act.vessel in weighed and material and material.reagents
            ):
                continue
            if act.solution.solute not in material.reagents:
                raise Mistake(
                    f"{act.solution.solute} is no reagent of the material '{material.name}'",
                    expected=f"one of its reagents: {', '.join(material.reagents)}",
                    where=where,
                    do="materials.yaml lists what dissolves it cleanly.",
                )

    def _serves(self, context: Context, roles: dict[str, str], only: tuple[str, ...]) -> bool:
        if context.key not in only if only else context.reserved:
            return False
        if "material" in roles:
            return roles["material"] in context.serves
        substance = self.chemicals.substances.get(roles.get("analyte", ""))
        own = {roles.get("analyte", ""), *(substance.calls if substance else ())}
        return bool(own & set(context.serves))

    def _indicators(
        self, entry: ReactionEntry | None, material: Material | None, listed: tuple[str, ...]
    ) -> tuple[str, ...]:
        fit = listed or (entry.indicators if entry else ())
        if material and material.indicators and not listed:
            fit = tuple(name for name in fit if name in material.indicators)
        return fit

    def _ask(self, branch: Branch, roles: dict[str, str], known: dict[str, Name], system: System) -> Ask:
        if isinstance(branch, Keys):
            fields = Fields(branch)
            text, unit = fields.text("quantity"), parse_unit(fields.text("unit", ""))
            figures, weight = fields.whole("figures", 3, 1, 6), fields.whole("weight", 1, 1, 100)
            fields.finish()
        else:
            text, unit, figures, weight = text_of(branch), Unit.NONE, 3, 1
        wanted = " ".join(roles.get(word, word) for word in text.split())
        name = known.get(wanted) or known.get(self.chemicals.by_formulae(wanted))
        if name is None:
            raise Mistake(
                f"'{wanted}' cannot be asked for here",
                expected="a quantity of the procedure",
                near=nearest(wanted, known),
                where=branch.where,
            )
        own = system.variables[name].unit
        if unit and unit.base is not own.base:
            raise Mistake(
                f"the unit '{unit}' for the {name}", expected=f"a unit of the kind '{own}'", where=branch.where
            )
        return Ask(name, unit, figures, weight)


STRUCTURE = frozenset({"variants", "procedure", "ask", "contexts", "one mark for"})
"""Keys with which an entry that is like another has variants of its own."""


STRETCH = ("planning", "fault", "combined uncertainty", "why back")
"""Kinds of further part that need an idea which is not in the stem; an archetype that names none has them all tried."""


def is_like_another(branch: Branch) -> bool:
    """Whether an entry takes its keys from another archetype."""
    return isinstance(branch, Keys) and "like" in branch.members


def _further_parts(fields: Fields) -> tuple[tuple[str, ...], bool]:
    """The kinds of further parts, and whether the calculation is asked for as well."""
    alone = fields.has("ask only")
    key = "ask only" if alone else "and ask"
    if alone and fields.has("and ask"):
        raise Mistake("both 'and ask' and 'ask only'", expected="one of them", where=fields.at("ask only"))
    found = fields.texts(key, ())
    for kind in found:
        if kind not in FURTHER_PARTS:
            raise Mistake(
                f"no further part '{kind}'",
                expected=f"one of: {', '.join(FURTHER_PARTS)}",
                near=nearest(kind, FURTHER_PARTS),
                where=fields.at(key),
            )
    if "critique" in found and not alone:
        raise Mistake(
            "'critique' beside the calculation that it would give away",
            expected="'ask only: [critique]'",
            where=fields.at(key),
        )
    if len(set(found)) != len(found):
        raise Mistake("a further part is asked for twice", expected="each kind once", where=fields.at(key))
    return found, not alone


def _stretch(fields: Fields) -> tuple[str, ...]:
    """The kinds of further part of which the stretch level adds one."""
    found = fields.texts("stretch", STRETCH)
    if found == ("none",):
        return ()
    for kind in found:
        if kind not in FURTHER_PARTS:
            raise Mistake(
                f"no further part '{kind}'",
                expected=f"none, or some of: {', '.join(FURTHER_PARTS)}",
                near=nearest(kind, FURTHER_PARTS),
                where=fields.at("stretch"),
            )
    return found


def _joined(fields: Fields) -> frozenset[str]:
    """The kinds of step that share a mark with the step after them: what they find, or how they find it."""
    kinds = dict.fromkeys((*UNITS, *get_args(RelationKind)))
    found = fields.texts("one mark for", ())
    for kind in found:
        if kind not in kinds:
            told, some = f"no kind of step {shortened(kind)}", f"some of: {', '.join(kinds)}"
            raise Mistake(told, expected=some, near=nearest(kind, kinds), where=fields.at("one mark for"))
    return frozenset(found)


def _members(branch: Branch) -> tuple[Branch, ...]:
    return branch.members if isinstance(branch, Listing) else (branch,)


def _products(member: Branch) -> Iterator[dict[str, str]]:
    if not isinstance(member, Keys):
        raise Mistake(
            "a variant without roles", expected="'{material: ..., reagent: ..., titrant: ...}'", where=member.where
        )
    lists = [_placed_texts(branch) for branch in member.members.values()]
    for chosen in itertools.product(*lists):
        yield dict(zip(member.members, chosen, strict=True))


def _placed_texts(branch: Branch) -> tuple[str, ...]:
    try:
        return filled_texts_of(branch)
    except Mistake as mistake:
        raise mistake.at(branch.where) from None


def _window(fields: Fields, key: str, default: tuple, unit: Unit) -> tuple:  # type: ignore[type-arg]
    if not fields.has(key):
        return default
    text = fields.text(key)
    low, between, high = text.partition(" to ")
    if not between:
        example = "18 to 32 cm3" if unit else "0.30 to 0.70"
        raise Mistake(
            f"the window {shortened(text)}",
            expected=f"'LOW to HIGH{' cm3' if unit else ''}', as '{example}'",
            where=fields.at(key),
        )
    try:
        upper = parse_quantity(high, unit_needed=bool(unit))
        lower = parse_quantity(low, unit_needed=False)
    except Mistake as mistake:
        raise mistake.at(fields.at(key)) from None
    if upper.unit is not unit or not 0 < lower.number < upper.number:
        raise Mistake(f"the window '{text}'", expected=f"'low to high {unit}' with low < high", where=fields.at(key))
    return (lower.exact, upper.exact)
