"""The folders of the banks come in; one checked Bank goes out. Every fault is gathered with its file and line, then raised once."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TypeVar, assert_never

from molewright.bank.definitions import (
    Apparatus,
    Archetype,
    Bank,
    Context,
    EdtaAcid,
    EdtaBuffer,
    EdtaEntry,
    EdtaIndicator,
    EdtaMetal,
    EquationFacts,
    Indicator,
    IonEntry,
    LaboratoryFault,
    Material,
    Precipitant,
    PrecipitationEntry,
    ReactionEntry,
    RedoxEntry,
    SoluteEntry,
    Substance,
    UnknownElements,
)
from molewright.bank.readers.archetypes import ArchetypeReader, is_like_another
from molewright.bank.readers.described import Chemicals, InWater
from molewright.bank.readers.edta import read_edta
from molewright.bank.readers.elements import read_family
from molewright.bank.readers.entries import (
    read_apparatus,
    read_context,
    read_hazard,
    read_indicator,
    read_material,
    read_reaction,
    read_substance,
    read_topic,
)
from molewright.bank.readers.equations import called_by_equations, read_equation_entry
from molewright.bank.readers.faults import read_back_reason, read_fault
from molewright.bank.readers.folders import Folders, fingerprint
from molewright.bank.readers.ions import faults_of, read_acid, read_ion_or_solute, read_sparing
from molewright.bank.readers.named_entries import Gathering
from molewright.bank.readers.precipitation import read_precipitation
from molewright.bank.readers.redox import read_redox
from molewright.bank.readers.slips import read_slip
from molewright.chem.formula import PLACEHOLDERS, parse_formula
from molewright.errors import Mistake, Where, nearest
from molewright.experiment.relations.kinds import FACTS, QUANTITIES, SLIP_ROLES
from molewright.machine import places
from molewright.reading.fields import Faults, texts_of
from molewright.reading.yaml_text import Branch, Keys, Scalar, read_tree

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
        self.entries = Gathering(self.folders, self.faults)
        self.own: set[str] = set()  # keys of archetypes
        self.unknown: dict[
            tuple[str, str], Mistake
        ] = {}  # what is said of a name that nothing is called by, once a file

    def read(self) -> Bank:
        substances = self.entries.by("substances.yaml", read_substance, lambda s: s.formula)
        self._check_names(substances)
        reactions = tuple(self._reactions())
        indicators = self.entries.by("indicators.yaml", read_indicator, lambda i: i.name)
        apparatus = tuple(self.entries.by("apparatus.yaml", read_apparatus, _measures).values())
        materials = self.entries.by("materials.yaml", read_material, lambda m: m.name)
        contexts = tuple(self.entries.by("contexts.yaml", read_context, lambda c: c.key).values())
        self._cross_check(reactions, indicators, materials, contexts, substances)
        ready = not self.faults.found  # what is refused so far would be told again of every archetype
        hazards = tuple(self.entries.added("hazards.yaml", read_hazard, lambda note: (note.of,), "notes for"))
        for note in hazards:
            if note.material and not self.entries.is_built_in("hazards.yaml", note.of):
                self._known(
                    "material",
                    note.material,
                    materials,
                    self.entries.places[("hazards.yaml", note.of)],
                    "materials.yaml",
                )
        words = self._wording()
        slips = tuple(
            self.entries.by(
                "slips.yaml", lambda fields: read_slip(fields, SLIP_ROLES, (*FACTS, *QUANTITIES)), lambda s: s.key
            ).values()
        )
        acids = self.entries.by("acids.yaml", read_acid, lambda a: a.name)
        sparing = tuple(
            self.entries.by("solubility_products.yaml", read_sparing, lambda salt: salt.solid.solid).values()
        )
        dissolved = self.entries.by("ions.yaml", read_ion_or_solute, _called).values()
        ions = {one.formula: one for one in dissolved if isinstance(one, IonEntry)}
        solutes = {one.formula: one for one in dissolved if isinstance(one, SoluteEntry)}
        for file, fault in faults_of(acids, ions, solutes, lambda called: self.entries.places[("ions.yaml", called)]):
            self.entries.keep(fault, file)
        wrongs = tuple(self.entries.by("faults.yaml", read_fault, lambda fault: fault.key).values())
        reasons = tuple(self.entries.added("back_reasons.yaml", read_back_reason, lambda r: r.analytes, "reasons for"))
        edta = tuple(self.entries.by("edta.yaml", read_edta, _called_by_edta).values())
        families = tuple(self.entries.by("elements.yaml", read_family, lambda family: family.name).values())
        precipitation = self.entries.by("precipitation.yaml", read_precipitation, _called_by_precipitation)
        written = self.entries.by("equations.yaml", read_equation_entry, called_by_equations)
        redox = self.entries.added("redox.yaml", read_redox, lambda entry: entry.species, "an entry for")
        by_species = {species: entry for entry in redox for species in entry.species}
        topics = self.entries.by("topics.yaml", read_topic, lambda topic: topic.name)
        for topic in topics.values():
            where = self.entries.places[("topics.yaml", topic.name)]
            for name in topic.rests_on:
                self._known("topic", name, set(topics), where.under("rests on"), "topics.yaml")
            own = not self.entries.is_built_in("topics.yaml", topic.name)
            for formula in sorted(topic.reagents) if own else ():
                self._known("substance", formula, substances, where.under("reagents"), "substances.yaml")
        archetypes: dict[str, Archetype] = {}
        if ready:
            elements = UnknownElements(families, ions)
            in_water = InWater(acids, ions, solutes)
            chemicals = Chemicals(
                substances=substances, reactions=reactions, unknown_elements=elements, in_water=in_water
            )
            built_in = self.entries.built_in("substances.yaml", substances)
            mine = Chemicals(
                substances=built_in, reactions=self.built_in_reactions, unknown_elements=elements, in_water=in_water
            )
            archetypes = self._archetypes(
                ArchetypeReader(chemicals, mine, indicators, materials, contexts, apparatus, topics)
            )
        if not archetypes and not self.faults.found:
            raise Mistake(
                "the banks hold no archetype",
                expected="at least one file in archetypes/",
                where=Where(str(self.folders.whole)),
            )
        self._spoken_of(wrongs, tuple(by_species.values()), {*substances, *ions, *solutes}, reactions, indicators)
        self._close(ready)
        self.faults.raise_if_any()
        return Bank(
            substances=substances,
            reactions=reactions,
            indicators=indicators,
            apparatus=apparatus,
            materials=materials,
            contexts=contexts,
            archetypes=archetypes,
            fingerprint=fingerprint(self.folders.whole, self.templates, *self.folders.own),
            words=words,
            hazards=hazards,
            slips=slips,
            acids=acids,
            sparing=sparing,
            ions=ions,
            solutes=solutes,
            faults=wrongs,
            back_reasons=reasons,
            own=frozenset(self.own),
            edta=edta,
            redox=by_species,
            families=families,
            topics=topics,
            precipitation=tuple(precipitation.values()),
            equations=EquationFacts.of(written.values()),
        )

    def _close(self, ready: bool) -> None:
        """Say at the end what the faults above kept from being checked."""
        if not self.faults.found:
            return
        if self.entries.left_out:
            told = ", ".join(sorted(self.entries.left_out))
            self.faults.found.append(
                Mistake(f"what rests on {told} was not checked", do="Mend what stands above first.")
            )
        if not ready:
            self.faults.found.append(
                Mistake("the kinds of question were not read yet", do="Mend what stands above first.")
            )

    def _archetypes(self, reader: ArchetypeReader) -> dict[str, Archetype]:
        """Every archetype by key; those that are like another are read last, whichever file they stand in."""
        archetypes: dict[str, Archetype] = {}
        entries = list(self.folders.archetypes())
        refused: set[str] = set()
        for found in sorted(entries, key=lambda one: is_like_another(one.branch)):
            branch = found.branch
            if _called_in(branch, "like") in refused:
                self.entries.left_out.add(_called_in(branch, "like"))
                continue
            made = self.faults.attempt(branch.where, lambda f=found: reader.read(f.branch, f.own))  # type: ignore[misc]
            if made is None:
                refused.add(_called_in(branch, "key"))
                continue
            if made.key in archetypes:
                self.entries.refuse_twice("archetypes", made.key, found, "the archetype ")
                continue
            self.entries.place("archetypes", made.key, found)
            archetypes[made.key] = made
            if found.own:
                self.own.add(made.key)
            if self.whole or found.own:
                self.faults.attempt(branch.where, lambda a=made: len(a.variants))  # type: ignore[misc]
        return archetypes

    def _reactions(self) -> Iterator[ReactionEntry]:
        """Every reaction; of one's own, none of substances for which the banks hold one, because the first is always taken."""
        known: set[frozenset[str]] = set()
        of_the_banks: list[ReactionEntry] = []
        for found, made in self.entries.each("reactions.yaml", read_reaction):
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
            self.entries.place("reactions.yaml", made.reaction.text, found)
            if not found.own:
                of_the_banks.append(made)
            yield made
        self.built_in_reactions = tuple(of_the_banks)

    def _check_names(self, substances: dict[str, Substance]) -> None:
        """One's own substance is called by no formula, and by no name of a substance of the banks: a procedure may name either."""
        banks = self.entries.built_in("substances.yaml", substances)
        of_the_banks = {call: formula for formula, one in banks.items() for call in one.calls[1:]}
        for formula, one in substances.items():
            if self.entries.is_built_in("substances.yaml", formula):
                continue
            also = [("also called", name) for name in one.also_called]
            for key, name in (("formula", formula), ("name", one.name), ("solution", one.solution), *also):
                if name in of_the_banks:
                    told = f"the {key} '{name}' of {formula} is that of {of_the_banks[name]} in the banks"
                elif key == "also called" and name in banks:
                    told = f"'{name}', which {formula} is also called, has an entry of its own in the banks"
                elif key in ("name", "solution") and name and _is_formula(name):
                    told = f"the {key} '{name}' of {formula} is a formula"
                else:
                    continue
                where = self.entries.places[("substances.yaml", formula)]
                self.faults.found.append(Mistake(told, expected=f"a {key} that stands for nothing else", where=where))

    def _wording(self) -> dict[str, tuple[str, ...]]:
        tree = self.faults.attempt(Where("wording.yaml"), lambda: read_tree(self.templates / "wording.yaml"))
        if not isinstance(tree, Keys):
            return {}
        words: dict[str, tuple[str, ...]] = {}
        for key, branch in tree.items():
            texts = self.faults.attempt(branch.where, lambda b=branch: texts_of(b))  # type: ignore[misc]
            words[key] = texts or ()
        return words

    def _cross_check(
        self,
        reactions: tuple[ReactionEntry, ...],
        indicators: dict[str, Indicator],
        materials: dict[str, Material],
        contexts: tuple[Context, ...],
        substances: dict[str, Substance],
    ) -> None:
        for entry in reactions:
            where = self.entries.places[("reactions.yaml", entry.reaction.text)].under(entry.reaction.text)
            for name in entry.indicators:
                self._known("indicator", name, indicators, where, "indicators.yaml")
        for material in materials.values():
            where = self.entries.places[("materials.yaml", material.name)].under(material.name)
            for name in material.indicators:
                self._known("indicator", name, indicators, where, "indicators.yaml")
            for formula in (material.analyte, *material.reagents):
                self._known("substance", formula, substances, where, "substances.yaml")
        served = {
            *materials,
            *substances,
            *(call for one in substances.values() for call in one.calls),
        }
        for context in contexts:
            where = self.entries.places[("contexts.yaml", context.key)].under(context.key)
            for name in context.serves:
                self._known("material or substance", name, served, where, "materials.yaml", "substances.yaml")
            for formula in context.rules_out:
                self._known("substance", formula, substances, where, "substances.yaml")

    def _spoken_of(
        self,
        wrongs: tuple[LaboratoryFault, ...],
        redox: tuple[RedoxEntry, ...],
        named: set[str],
        reactions: tuple[ReactionEntry, ...],
        indicators: dict[str, Indicator],
    ) -> None:
        """Species and indicators that people's own faults and entries of redox turn on: a misspelt one would never be there."""
        sides = (member for entry in reactions for member in (*entry.reaction.left, *entry.reaction.right))
        known = named | {member.formula.text for member in sides}
        for fault in wrongs:
            if self.entries.is_built_in("faults.yaml", fault.key):
                continue
            where = self.entries.places[("faults.yaml", fault.key)].under(fault.key)
            for species in (*fault.burette, *fault.flask, *fault.solid, *filter(None, (fault.gas,))):
                self._known("species", species, known, where, "reactions.yaml", "substances.yaml", "ions.yaml")
            for name in (*fault.used, *filter(None, (fault.indicator,))):
                self._known("indicator", name, indicators, where, "indicators.yaml")
        for entry in dict.fromkeys(redox):
            if self.entries.is_built_in("redox.yaml", entry.species[0]):
                continue
            where = self.entries.places[("redox.yaml", entry.species[0])].under(entry.species[0])
            spoiling = (what for what, _ in (*entry.spoilt_by, *entry.not_in))
            for species in (*entry.species, *entry.acids, *spoiling):
                self._known("species", species, known, where, "reactions.yaml", "substances.yaml", "ions.yaml")

    def _known(self, what: str, name: str, known: dict[str, T] | set[str], where: Where, *files: str) -> None:
        if name in known:
            return
        told = self.unknown.get((name, where.file))
        if told is not None:  # once a file: one thing is wrong
            told.do = (
                f"{told.do.removesuffix('.')}, {where.line}." if told.do else f"It is also named on line {where.line}."
            )
            return
        fault = Mistake(f"no {what} '{name}' in the banks", where=where, near=nearest(name, known))
        self.unknown[(name, where.file)] = fault
        self.entries.keep(fault, *files)


def _called_in(branch: Branch, key: str) -> str:
    """The text that an entry has under a key, before it is read; "" where there is none."""
    held = branch.members.get(key) if isinstance(branch, Keys) else None
    return held.text if isinstance(held, Scalar) else ""


def _is_formula(text: str) -> bool:
    try:
        parse_formula(text, PLACEHOLDERS)
    except Mistake:
        return False
    return True


def _measures(piece: Apparatus) -> str:
    """What a piece of apparatus is chosen by: its kind with what it holds, or with what it is read to."""
    size = piece.resolution if piece.kind == "balance" and piece.resolution else piece.capacity
    return f"{float(size.in_base):g} {size.unit.base} {piece.kind}"


def _called(one: IonEntry | SoluteEntry) -> str:
    """What an entry of ions.yaml is called; an ion and a solute may have one formula."""
    return f"ion {one.formula}" if isinstance(one, IonEntry) else f"solute {one.formula}"


def _called_by_edta(one: EdtaEntry) -> str:
    """What an entry of edta.yaml is called: there is one acid only."""
    match one:
        case EdtaAcid():
            return "EDTA"
        case EdtaMetal():
            return one.metal
        case EdtaBuffer():
            return f"buffer of {one.base}"
        case EdtaIndicator():
            return one.indicator
        case _:
            assert_never(one)


def _called_by_precipitation(one: PrecipitationEntry) -> str:
    """What an entry of precipitation.yaml is called."""
    return one.ion if isinstance(one, Precipitant) else one.indicator
