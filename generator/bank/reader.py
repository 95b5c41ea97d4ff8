"""The folders of the banks come in; one checked Bank goes out. Every fault is gathered with its file and line, then raised once."""

from __future__ import annotations

import hashlib
import itertools
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, TypeVar

from generator import places
from generator.bank.definitions import (
    EXTRAS,
    Apparatus,
    Archetype,
    Ask,
    Bank,
    Context,
    Hazard,
    Indicator,
    IonEntry,
    Material,
    ReactionEntry,
    SoluteEntry,
    Substance,
    Variant,
    Variants,
    Windows,
)
from generator.bank.fault_reader import read_back_reason, read_fault
from generator.bank.fields import Faults, Fields, counted, text_of, texts_of
from generator.bank.ions import faults_of, read_acid, read_ion_or_solute, read_sparing
from generator.bank.operations import Chemicals, OperationReader
from generator.bank.slip_reader import read_slip
from generator.bank.yaml_text import Branch, Listing, Mapping, read_tree
from generator.chem.formula import parse_formula
from generator.chem.quantity import base_unit, parse_quantity, parse_unit
from generator.chem.reaction import combine, parse_reaction, require_balance
from generator.errors import Mistake, Where, nearest
from generator.question.relations import FACTS, QUANTITIES, ROLES, Variable, relate

T = TypeVar("T")
MOST_ENTRIES = 3000  # of a file
MOST_VARIANTS = 400  # of an archetype
TOPICS = (
    "direct titration", "standard solutions", "back titration", "back titration with an aliquot", "redox", "iodine and thiosulfate",
    "EDTA", "silver", "water of crystallisation", "identification", "dilution", "practical judgement",
)  # fmt: skip


def read_bank(folder: Path | None = None, templates: Path | None = None, whole: bool = True) -> Bank:
    """Read the banks of a folder (the built-in ones by default) and the wording of the templates.

    Unless `whole`, an archetype's variants are read when they are first wanted: a paper needs few of them, and the built-in
    ones are checked in the tests. Raises Mistake, or Mistakes for several, each with file:line.
    """
    return _BankReader(folder or places.banks(), templates or places.templates(), whole).read()


def fingerprint(*folders: Path) -> str:
    """Eight characters that change when any bank or wording file does."""
    digest = hashlib.sha256()
    for folder in folders:
        for path in sorted(folder.rglob("*.yaml")):
            digest.update(path.relative_to(folder).as_posix().encode() + b"\0")
            digest.update((path.read_bytes() if path.is_file() else b"").replace(b"\r\n", b"\n") + b"\0")
    return digest.hexdigest()[:8]


def _require_folder(folder: Path) -> None:
    try:
        if folder.is_dir():
            return
        why = "it is a file" if folder.exists() else "there is none"
    except OSError as broken:
        why = broken.strerror or str(broken)
    raise Mistake(f"no folder of banks is here ({why})", expected="a folder that holds substances.yaml and the rest",
                  where=Where(str(folder)), do="Copy the folder 'banks' and change the copy.")  # fmt: skip


class _BankReader:
    def __init__(self, folder: Path, templates: Path, whole: bool) -> None:
        self.whole = whole
        self.folder = folder
        self.templates = templates
        self.faults = Faults()

    def read(self) -> Bank:
        _require_folder(self.folder)
        substances = self._by("substances.yaml", _substance, lambda s: s.formula)
        reactions = tuple(self._all("reactions.yaml", _reaction))
        indicators = self._by("indicators.yaml", _indicator, lambda i: i.name)
        apparatus = tuple(self._all("apparatus.yaml", _apparatus))
        materials = self._by("materials.yaml", _material, lambda m: m.name)
        contexts = tuple(self._by("contexts.yaml", _context, lambda c: c.key).values())
        hazards = tuple(self._all("hazards.yaml", _hazard))
        words = self._wording()
        slips = tuple(
            self._by(
                "slips.yaml", lambda fields: read_slip(fields, ROLES, (*FACTS, *QUANTITIES)), lambda s: s.key
            ).values()
        )
        acids = {a.name: a for a in self._all_if_any("acids.yaml", read_acid)}
        sparing = tuple(self._all_if_any("solubility_products.yaml", read_sparing))
        dissolved = tuple(self._all_if_any("ions.yaml", read_ion_or_solute))
        ions = {one.formula: one for one in dissolved if isinstance(one, IonEntry)}
        solutes = {one.formula: one for one in dissolved if isinstance(one, SoluteEntry)}
        self.faults.found += faults_of(acids, ions, solutes)
        self._cross_check(reactions, indicators, materials, contexts, substances)
        self.faults.raise_if_any()
        chemicals = Chemicals(substances, reactions)
        wrongs = tuple(self._all_if_any("faults.yaml", read_fault))
        reasons = tuple(self._all_if_any("judgement.yaml", read_back_reason))
        archetypes = self._archetypes(_ArchetypeReader(chemicals, indicators, materials, contexts))
        if not archetypes and not self.faults.found:
            raise Mistake(
                "the banks hold no archetype",
                expected="at least one file in archetypes/",
                where=Where(str(self.folder)),
            )
        self.faults.raise_if_any()
        return Bank(
            substances,
            reactions,
            indicators,
            apparatus,
            materials,
            contexts,
            archetypes,
            fingerprint(self.folder, self.templates),
            words,
            hazards,
            slips,
            acids=acids,
            sparing=sparing,
            ions=ions,
            solutes=solutes,
            faults=wrongs,
            back_reasons=reasons,
        )

    def _archetypes(self, reader: _ArchetypeReader) -> dict[str, Archetype]:
        """Every archetype by key; those that are like another are read last, whichever file they stand in."""
        archetypes: dict[str, Archetype] = {}
        paths = sorted((self.folder / "archetypes").glob("*.yaml"))
        entries = [branch for path in paths for branch in self._entries(path, f"archetypes/{path.name}")]
        for branch in sorted(entries, key=is_like_another):
            made = self.faults.attempt(branch.where, lambda b=branch: reader.read(b))  # type: ignore[misc]
            if made is None:
                continue
            if made.key in archetypes:
                self.faults.found.append(Mistake(f"the archetype '{made.key}' stands twice", where=branch.where))
            archetypes[made.key] = made
            if self.whole:
                self.faults.attempt(branch.where, lambda a=made: len(a.variants))  # type: ignore[misc]
        return archetypes

    def _entries(self, path: Path, shown: str) -> Iterator[Branch]:
        tree = self.faults.attempt(Where(shown), lambda: read_tree(path, shown))
        if tree is None:
            return
        if not isinstance(tree, Listing):
            self.faults.found.append(
                Mistake("the file is not a list of entries", expected="lines of '- ...'", where=tree.where)
            )
            return
        if len(tree.members) > MOST_ENTRIES:
            self.faults.found.append(
                Mistake(f"{len(tree.members)} entries in a file", expected=f"at most {MOST_ENTRIES}", where=tree.where)
            )
            return
        yield from tree.members

    def _by(self, name: str, make: Callable[[Fields], T], key: Callable[[T], str]) -> dict[str, T]:
        """The entries of a file by their key; one that stands twice is a fault, for the second would silently win."""
        found: dict[str, T] = {}

        def fresh(fields: Fields) -> T:
            made = make(fields)
            if key(made) in found:
                raise Mistake(f"'{key(made)}' stands twice", expected="one entry for each", where=fields.where)
            return made

        for made in self._all(name, fresh):
            found[key(made)] = made
        return found

    def _all(self, name: str, make: Callable[[Fields], T]) -> Iterator[T]:
        path = self.folder / name
        for branch in self._entries(path, name):

            def one(branch: Branch = branch) -> T:
                fields = Fields(branch)
                made = make(fields)
                fields.finish()
                return made

            made = self.faults.attempt(branch.where, one)
            if made is not None:
                yield made

    def _all_if_any(self, name: str, make: Callable[[Fields], T]) -> Iterator[T]:
        """A file that a bank of one's own may do without: what is not known there is not judged."""
        if (self.folder / name).exists():
            yield from self._all(name, make)

    def _wording(self) -> dict[str, tuple[str, ...]]:
        tree = self.faults.attempt(Where("wording.yaml"), lambda: read_tree(self.templates / "wording.yaml"))
        if not isinstance(tree, Mapping):
            return {}
        words: dict[str, tuple[str, ...]] = {}
        for key, branch in tree.items():
            texts = self.faults.attempt(branch.where, lambda b=branch: texts_of(b))  # type: ignore[misc]
            words[key] = texts or ()
        return words

    def _cross_check(self, reactions: tuple[ReactionEntry, ...], indicators: dict[str, Indicator], materials: dict[str, Material],
                     contexts: tuple[Context, ...], substances: dict[str, Substance]) -> None:  # fmt: skip
        for entry in reactions:
            for name in entry.indicators:
                self._known("indicator", name, indicators, Where("reactions.yaml", None, entry.reaction.text))
        for material in materials.values():
            where = Where("materials.yaml", None, material.name)
            for name in material.indicators:
                self._known("indicator", name, indicators, where)
            self._known("substance", material.analyte, substances, where)
        served = {
            *materials,
            *substances,
            *(s.name for s in substances.values()),
            *(s.solution for s in substances.values()),
        }
        for context in contexts:
            for name in context.serves:
                self._known("material or substance", name, served, Where("contexts.yaml", None, context.key))

    def _known(self, what: str, name: str, known: dict[str, T] | set[str], where: Where) -> None:
        if name not in known:
            self.faults.found.append(
                Mistake(f"no {what} '{name}' in the banks", where=where, near=nearest(name, known))
            )


# ------------------------------------------------------------------ entries


def _substance(fields: Fields) -> Substance:
    formula = parse_formula(fields.text("formula"), _PLACEHOLDERS).text
    gives, count = fields.text("gives", ""), 1
    if gives:
        count, gives = counted(gives, lambda text: parse_formula(text, _PLACEHOLDERS).text)
    return Substance(formula, fields.text("name"), fields.text("solution", ""), gives, count, fields.text("source", ""))


_PLACEHOLDERS = frozenset({"M", "X", "A", "R"})


def _reaction(fields: Fields) -> ReactionEntry:
    if fields.has("oxidation"):  # two half-equations instead of the whole
        halves = (parse_reaction(fields.text(key), _PLACEHOLDERS) for key in ("oxidation", "reduction"))
        reaction = combine(*halves)
    else:
        reaction = parse_reaction(fields.text("equation"), _PLACEHOLDERS)
    require_balance(reaction)
    return ReactionEntry(reaction, fields.text("seen", ""), fields.texts("indicators", ()), fields.text("source", ""))


def _indicator(fields: Fields) -> Indicator:
    ranged = fields.has("low")
    return Indicator(
        fields.text("name"),
        fields.decimal("low") if ranged else None,
        fields.decimal("high") if ranged else None,
        fields.text("acid colour"),
        fields.text("base colour"),
        fields.text("middle colour", ""),
        fields.text("article", ""),
        fields.text("source"),
        fields.decimal("stop") if fields.has("stop") else None,
    )


def _apparatus(fields: Fields) -> Apparatus:
    return Apparatus(
        fields.text("name"),
        fields.one_of("kind", ("pipette", "burette", "volumetric flask", "measuring cylinder", "balance")),  # type: ignore[arg-type]
        fields.quantity("capacity"),
        fields.quantity("resolution") if fields.has("resolution") else None,
        fields.quantity("tolerance") if fields.has("tolerance") else None,
        fields.text("source"),
    )


def _material(fields: Fields) -> Material:
    return Material(
        fields.text("name"),
        fields.text("noun", fields.text("name")),
        parse_formula(fields.text("analyte"), _PLACEHOLDERS).text,
        fields.decimal("low"),
        fields.decimal("high"),
        fields.texts("indicators", ()),
        fields.texts("reagents", ()),
        fields.text("pieces", ""),
        fields.text("residue", ""),
        fields.text("source"),
    )


def _context(fields: Fields) -> Context:
    return Context(fields.text("key"), fields.texts("serves"), fields.text("opening"), fields.text("sample"),
                   fields.text("person", ""))  # fmt: skip


def _hazard(fields: Fields) -> Hazard:
    return Hazard(
        parse_formula(fields.text("solute"), _PLACEHOLDERS).text,
        fields.decimal("least"),
        fields.text("words"),
        fields.text("source"),
    )


class _ArchetypeReader:
    def __init__(self, chemicals: Chemicals, indicators: dict[str, Indicator], materials: dict[str, Material],
                 contexts: tuple[Context, ...]) -> None:  # fmt: skip
        self.chemicals = chemicals
        self.indicators = indicators
        self.materials = materials
        self.contexts = contexts
        self.trees: dict[str, tuple[Mapping, Archetype]] = {}  # what was read, for entries that are like one of them

    def read(self, branch: Branch) -> Archetype:
        model: Archetype | None = None
        if isinstance(branch, Mapping) and is_like_another(branch):
            branch, model = self._inherited(branch)
        made = self._read(branch, model)
        if model is None and isinstance(branch, Mapping):
            self.trees[made.key] = (branch, made)
        return made

    def _inherited(self, branch: Mapping) -> tuple[Mapping, Archetype | None]:
        """The entry with every key of its model that it does not state itself; the model where their variants are the same."""
        key = text_of(branch.members["like"])
        if key not in self.trees:
            raise Mistake(f"no archetype '{key}' to be like", expected="the key of an archetype that is not like another",
                          near=nearest(key, self.trees), where=branch.wheres["like"])  # fmt: skip
        tree, model = self.trees[key]
        whole = Mapping({**tree.members, **branch.members}, {**tree.wheres, **branch.wheres}, branch.where)
        return whole, None if STRUCTURE & set(branch.members) else model

    def _read(self, branch: Branch, model: Archetype | None) -> Archetype:
        fields = Fields(branch)
        fields.has("like")
        key = fields.text("key")
        fields.entry = key
        windows = Windows(_window(fields, "titre", Windows().titre, "cm³"), _window(fields, "used", Windows().used, ""))
        listed = fields.branch("variants")
        if not isinstance(listed, Listing) or not listed.members:
            raise Mistake(
                "the variants are not a list", expected="lines of '- {material: ..., reagent: ...}'", where=listed.where
            )
        asks, operations = fields.branch("ask"), fields.branch("procedure")
        only = fields.texts("contexts", ())

        def read_variants() -> tuple[Variant, ...]:
            found: list[Variant] = []
            for member in listed.members:
                for roles in _products(member):
                    if len(found) >= MOST_VARIANTS:
                        raise Mistake(f"more than {MOST_VARIANTS} variants", expected="fewer roles, or fewer of each",
                                      where=member.where.under(key))  # fmt: skip
                    try:
                        found.append(self._variant(roles, operations, asks, only))
                    except Mistake as mistake:
                        raise mistake.at(member.where.under(key)) from None
            return tuple(found)

        runs: Any = fields.one_of("runs", ("table", "mean", "either"), "either")
        extras, calculated = _extras(fields)
        archetype = Archetype(
            key,
            fields.text("title"),
            fields.one_of("topic", TOPICS),
            fields.whole("demand", least=1, most=9),
            model.variants if model else Variants(read_variants),
            windows,
            frozenset(fields.texts("one mark for", ())),
            runs if calculated else "mean",  # a table of readings is there to be worked with
            fields.text("source", ""),
            extras,
            calculated,
        )
        fields.finish()
        return archetype

    def _variant(self, roles: dict[str, str], operations: Branch, asks: Branch, only: tuple[str, ...]) -> Variant:
        material = None
        if "material" in roles:
            if roles["material"] not in self.materials:
                raise Mistake(f"no material '{roles['material']}'", near=nearest(roles["material"], self.materials))
            material = self.materials[roles["material"]]
            roles = {"analyte": material.analyte, **roles}
            if material.pieces:
                roles = {"piece": material.pieces, **roles}
        described = OperationReader(self.chemicals, roles, material).read(operations)
        system = relate(described.procedure, frozenset(described.unknown))
        fitted = [name for name, choice in described.choices.items() if choice.fit]
        if len(fitted) != (1 if described.procedure.titrations else 0):
            raise Mistake(
                f"{len(fitted)} numbers are marked 'fit'",
                expected="exactly one: the one that bends to the titre's window; none where nothing is titrated",
                where=operations.where,
            )
        found = tuple(self._ask(branch, roles, system.variables) for branch in _members(asks))
        if not found:
            raise Mistake("nothing is asked for", expected="'ask: [...]'", where=asks.where)
        contexts = tuple(c for c in self.contexts if self._serves(c, roles, only))
        if not contexts:
            raise Mistake(
                f"no context serves {', '.join(f'{k} {v}' for k, v in roles.items())}",
                expected="an entry in contexts.yaml that serves it",
            )
        return Variant(
            roles,
            described.procedure,
            described.choices,
            frozenset(described.unknown),
            contexts,
            self._indicators(described.used[-1] if described.used else None, material, described.indicators),
            found,
            material,
            tuple(entry.seen for entry in described.used if entry.seen),
        )

    def _serves(self, context: Context, roles: dict[str, str], only: tuple[str, ...]) -> bool:
        if only and context.key not in only:
            return False
        if "material" in roles:
            return roles["material"] in context.serves
        substance = self.chemicals.substances.get(roles.get("analyte", ""))
        own = {roles.get("analyte", "")} | ({substance.name, substance.solution} if substance else set())
        return bool(own & set(context.serves))

    def _indicators(
        self, entry: ReactionEntry | None, material: Material | None, listed: tuple[str, ...]
    ) -> tuple[str, ...]:
        fit = listed or (entry.indicators if entry else ())
        if material and material.indicators and not listed:
            fit = tuple(name for name in fit if name in material.indicators)
        return fit

    def _ask(self, branch: Branch, roles: dict[str, str], known: dict[str, Variable]) -> Ask:
        if isinstance(branch, Mapping):
            fields = Fields(branch)
            text, unit = fields.text("quantity"), fields.text("unit", "")
            unit = parse_unit(unit)
            figures, weight = fields.whole("figures", 3, 1, 6), fields.whole("weight", 1, 1, 100)
            fields.finish()
        else:
            text, unit, figures, weight = text_of(branch), "", 3, 1
        name = " ".join(roles.get(word, word) for word in text.split())
        if name not in known:
            raise Mistake(
                f"'{name}' cannot be asked for here",
                expected="a quantity of the procedure",
                near=nearest(name, known),
                where=branch.where,
            )
        own = known[name].unit
        if unit and base_unit(unit)[0] != base_unit(own)[0]:
            raise Mistake(
                f"the unit '{unit}' for the {name}", expected=f"a unit of the kind '{own}'", where=branch.where
            )
        return Ask(name, unit, figures, weight)


STRUCTURE = frozenset({"variants", "procedure", "ask", "contexts", "one mark for"})
"""Keys with which an entry that is like another has variants of its own."""


def is_like_another(branch: Branch) -> bool:
    """Whether an entry takes its keys from another archetype."""
    return isinstance(branch, Mapping) and "like" in branch.members


def _extras(fields: Fields) -> tuple[tuple[str, ...], bool]:
    """The kinds of further parts, and whether the calculation is asked for as well."""
    alone = fields.has("ask only")
    key = "ask only" if alone else "and ask"
    if alone and fields.has("and ask"):
        raise Mistake("both 'and ask' and 'ask only'", expected="one of them", where=fields.at("ask only"))
    found = fields.texts(key, ())
    for kind in found:
        if kind not in EXTRAS:
            raise Mistake(f"no further part '{kind}'", expected=f"one of: {', '.join(EXTRAS)}",
                          near=nearest(kind, EXTRAS), where=fields.at(key))  # fmt: skip
    if "critique" in found and not alone:
        raise Mistake(
            "'critique' beside the calculation that it would give away",
            expected="'ask only: [critique]'",
            where=fields.at(key),
        )
    if len(set(found)) != len(found):
        raise Mistake("a further part is asked for twice", expected="each kind once", where=fields.at(key))
    return found, not alone


def _members(branch: Branch) -> tuple[Branch, ...]:
    return branch.members if isinstance(branch, Listing) else (branch,)


def _products(member: Branch) -> Iterator[dict[str, str]]:
    if not isinstance(member, Mapping):
        raise Mistake(
            "a variant without roles", expected="'{material: ..., reagent: ..., titrant: ...}'", where=member.where
        )
    lists = [texts_of(branch) for branch in member.members.values()]
    for chosen in itertools.product(*lists):
        yield dict(zip(member.members, chosen, strict=True))


def _window(fields: Fields, key: str, default: tuple, unit: str) -> tuple:  # type: ignore[type-arg]
    if not fields.has(key):
        return default
    text = fields.text(key)
    low, _, high = text.partition(" to ")
    try:
        upper = parse_quantity(high, unit_needed=bool(unit))
        lower = parse_quantity(low, unit_needed=False)
    except Mistake as mistake:
        raise mistake.at(fields.at(key)) from None
    if upper.unit != unit or not 0 < lower.number < upper.number:
        raise Mistake(f"the window '{text}'", expected=f"'low to high {unit}' with low < high", where=fields.at(key))
    return (lower.exact, upper.exact)
