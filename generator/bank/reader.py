"""The folders of the banks come in; one checked Bank goes out. Every fault is gathered with its file and line, then raised once."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TypeVar

from generator import places
from generator.bank.archetype_reader import ArchetypeReader, is_like_another
from generator.bank.definitions import (
    Archetype,
    Bank,
    Context,
    Indicator,
    IonEntry,
    Material,
    ReactionEntry,
    SoluteEntry,
    Substance,
)
from generator.bank.edta_reader import read_edta
from generator.bank.entries import (
    read_apparatus,
    read_context,
    read_hazard,
    read_indicator,
    read_material,
    read_reaction,
    read_substance,
)
from generator.bank.fault_reader import read_back_reason, read_fault
from generator.bank.fields import Faults, Fields, texts_of
from generator.bank.folders import Folders, Found, fingerprint
from generator.bank.ions import faults_of, read_acid, read_ion_or_solute, read_sparing
from generator.bank.operations import Chemicals
from generator.bank.slip_reader import read_slip
from generator.bank.yaml_text import Mapping, read_tree
from generator.errors import Mistake, Where, nearest
from generator.question.relations import FACTS, QUANTITIES, ROLES

T = TypeVar("T")


def read_bank(
    folder: Path | None = None, templates: Path | None = None, whole: bool = True, own: tuple[Path, ...] = ()
) -> Bank:
    """Read the banks of a folder (the built-in ones by default), the wording of the templates, and beside them `own` entries.

    Unless `whole`, an archetype's variants are read when they are first wanted: a paper needs few of them, and the built-in
    ones are checked in the tests; people's own are always read at once. Raises Mistake, or Mistakes for several, each with
    file:line.
    """
    return _BankReader(folder or places.banks(), templates or places.templates(), whole, own).read()


class _BankReader:
    def __init__(self, folder: Path, templates: Path, whole: bool, own: tuple[Path, ...]) -> None:
        self.whole = whole
        self.templates = templates
        self.faults = Faults()
        self.folders = Folders(folder, own, self.faults)
        self.own: set[str] = set()  # keys

    def read(self) -> Bank:
        substances = self._by("substances.yaml", read_substance, lambda s: s.formula)
        reactions = tuple(self._reactions())
        indicators = self._by("indicators.yaml", read_indicator, lambda i: i.name)
        apparatus = tuple(self._all("apparatus.yaml", read_apparatus))
        materials = self._by("materials.yaml", read_material, lambda m: m.name)
        contexts = tuple(self._by("contexts.yaml", read_context, lambda c: c.key).values())
        hazards = tuple(self._all("hazards.yaml", read_hazard))
        words = self._wording()
        slips = tuple(
            self._by(
                "slips.yaml", lambda fields: read_slip(fields, ROLES, (*FACTS, *QUANTITIES)), lambda s: s.key
            ).values()
        )
        acids = self._by("acids.yaml", read_acid, lambda a: a.name)
        sparing = tuple(self._all("solubility_products.yaml", read_sparing))
        dissolved = tuple(self._all("ions.yaml", read_ion_or_solute))
        ions = {one.formula: one for one in dissolved if isinstance(one, IonEntry)}
        solutes = {one.formula: one for one in dissolved if isinstance(one, SoluteEntry)}
        self.faults.found += faults_of(acids, ions, solutes)
        self._cross_check(reactions, indicators, materials, contexts, substances)
        self.faults.raise_if_any()
        wrongs = tuple(self._all("faults.yaml", read_fault))
        reasons = tuple(self._all("judgement.yaml", read_back_reason))
        edta = tuple(self._all("edta.yaml", read_edta))
        archetypes = self._archetypes(
            ArchetypeReader(Chemicals(substances, reactions), indicators, materials, contexts)
        )
        if not archetypes and not self.faults.found:
            raise Mistake(
                "the banks hold no archetype",
                expected="at least one file in archetypes/",
                where=Where(str(self.folders.whole)),
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
            fingerprint(self.folders.whole, self.templates, *self.folders.own),
            words,
            hazards,
            slips,
            acids=acids,
            sparing=sparing,
            ions=ions,
            solutes=solutes,
            faults=wrongs,
            back_reasons=reasons,
            own=frozenset(self.own),
            edta=edta,
        )

    def _archetypes(self, reader: ArchetypeReader) -> dict[str, Archetype]:
        """Every archetype by key; those that are like another are read last, whichever file they stand in."""
        archetypes: dict[str, Archetype] = {}
        entries = list(self.folders.archetypes())
        for found in sorted(entries, key=lambda one: is_like_another(one.branch)):
            branch = found.branch
            made = self.faults.attempt(branch.where, lambda b=branch: reader.read(b))  # type: ignore[misc]
            if made is None:
                continue
            if made.key in archetypes:
                self.faults.found.append(Mistake(f"the archetype '{made.key}' stands twice", where=branch.where,
                                                 expected="a key of its own for each"))  # fmt: skip
            archetypes[made.key] = made
            if found.own:
                self.own.add(made.key)
            if self.whole or found.own:
                self.faults.attempt(branch.where, lambda a=made: len(a.variants))  # type: ignore[misc]
        return archetypes

    def _by(self, name: str, make: Callable[[Fields], T], key: Callable[[T], str]) -> dict[str, T]:
        """The entries of a file by their key; one that stands twice is a fault, for the second would silently win."""
        found: dict[str, T] = {}

        def fresh(fields: Fields) -> T:
            made = make(fields)
            if key(made) in found:
                raise Mistake(
                    f"'{key(made)}' stands twice",
                    expected="one entry for each: your own add to the banks and replace none",
                    where=fields.where,
                )
            return made

        for made in self._all(name, fresh):
            found[key(made)] = made
        return found

    def _all(self, name: str, make: Callable[[Fields], T]) -> Iterator[T]:
        for _, made in self._each(name, make):
            yield made

    def _each(self, name: str, make: Callable[[Fields], T]) -> Iterator[tuple[Found, T]]:
        for found in self.folders.entries(name):

            def one(found: Found = found) -> T:
                fields = Fields(found.branch)
                made = make(fields)
                fields.finish()
                return made

            made = self.faults.attempt(found.branch.where, one)
            if made is not None:
                yield found, made

    def _reactions(self) -> Iterator[ReactionEntry]:
        """Every reaction; of one's own, none of substances for which the banks hold one, because the first is always taken."""
        known: set[frozenset[str]] = set()
        for found, made in self._each("reactions.yaml", read_reaction):
            reactants = frozenset(made.reactants())
            if found.own and reactants in known:
                self.faults.found.append(
                    Mistake(
                        f"the banks already hold a reaction of {' with '.join(made.reactants())}, and it would be taken",
                        expected="a reaction of other substances",
                        where=found.branch.where,
                        do="Write yours in the procedure instead: 'reaction: ...' under react or titrate.",
                    )
                )
            known.add(reactants)
            yield made

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
            for formula in context.rules_out:
                self._known("substance", formula, substances, Where("contexts.yaml", None, context.key))

    def _known(self, what: str, name: str, known: dict[str, T] | set[str], where: Where) -> None:
        if name not in known:
            self.faults.found.append(
                Mistake(f"no {what} '{name}' in the banks", where=where, near=nearest(name, known))
            )
