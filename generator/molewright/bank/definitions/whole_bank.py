"""Definitions of every sort come in; the one value that holds everything that the banks state goes out."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from molewright.bank.definitions.archetypes import Archetype, Context, Topic
from molewright.bank.definitions.elements import ElementFamily, UnknownElements
from molewright.bank.definitions.equations import EquationFacts
from molewright.bank.definitions.ions import AcidFamily, EdtaEntry, IonEntry, SoluteEntry, SparingSalt
from molewright.bank.definitions.laboratory import Apparatus, Indicator
from molewright.bank.definitions.mistakes import BackReason, LaboratoryFault, Slip
from molewright.bank.definitions.precipitation import PrecipitationEntry
from molewright.bank.definitions.redox import RedoxEntry
from molewright.bank.definitions.substances import Hazard, Material, ReactionEntry, Substance
from molewright.chem.half_equations import Halves
from molewright.chem.reaction import Reaction
from molewright.experiment.procedure import Measure, Titrate


@dataclass(frozen=True, slots=True, kw_only=True)
class Bank:
    """Everything that the banks state, and the fingerprint of the files it was read from."""

    substances: Mapping[str, Substance]
    reactions: tuple[ReactionEntry, ...]
    indicators: Mapping[str, Indicator]
    apparatus: tuple[Apparatus, ...]
    materials: Mapping[str, Material]
    contexts: tuple[Context, ...]
    archetypes: Mapping[str, Archetype]
    fingerprint: str
    words: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    hazards: tuple[Hazard, ...] = ()
    slips: tuple[Slip, ...] = ()
    acids: Mapping[str, AcidFamily] = field(default_factory=dict)
    sparing: tuple[SparingSalt, ...] = ()
    ions: Mapping[str, IonEntry] = field(default_factory=dict)
    solutes: Mapping[str, SoluteEntry] = field(default_factory=dict)
    faults: tuple[LaboratoryFault, ...] = ()
    back_reasons: tuple[BackReason, ...] = ()
    own: frozenset[str] = frozenset()  # keys of the archetypes that come from people's own entries
    edta: tuple[EdtaEntry, ...] = ()
    topics: Mapping[str, Topic] = field(default_factory=dict)
    families: tuple[ElementFamily, ...] = ()
    precipitation: tuple[PrecipitationEntry, ...] = ()
    equations: EquationFacts = field(default_factory=EquationFacts)
    redox: Mapping[str, RedoxEntry] = field(default_factory=dict)  # by each of an entry's species

    @property
    def strengths_called(self) -> frozenset[str]:
        """What the banks call the strength of a solution, where it has a name of its own: "total hardness"."""
        variants = (variant for archetype in self.archetypes.values() for variant in archetype.variants)
        return frozenset(one.called for variant in variants for one in variant.procedure.solutions() if one.called)

    def name_of(self, formula: str) -> str:
        """The name of a substance, or its formula where the banks have no name."""
        found = self.substances.get(formula)
        return found.name if found else formula

    def entry_of(self, reaction: Reaction) -> ReactionEntry | None:
        """What is said of a reaction, in whatever order its terms are written; None where nothing is."""
        same = (
            entry for entry in self.reactions if entry.reaction is reaction
        )  # as nearly always: to compare terms takes its time
        return next(same, None) or next((entry for entry in self.reactions if entry.reaction.is_like(reaction)), None)

    def halves_of(self, reaction: Reaction) -> Halves | None:
        """The half-equations of a reaction; None where nothing is said of any."""
        entry = self.entry_of(reaction)
        return entry.halves if entry is not None else None

    def topic_of(self, archetype: Archetype) -> Topic:
        """The heading that a kind of question stands under."""
        return self.topics.get(archetype.topic, Topic(name=archetype.topic))

    def below(self, topics: Iterable[str]) -> frozenset[str]:
        """These headings and all that is taught before them."""
        found: set[str] = set()
        waiting = list(topics)
        while waiting:
            topic = waiting.pop()
            if topic not in found:
                found.add(topic)
                waiting += self.topics[topic].rests_on if topic in self.topics else ()
        return frozenset(found)

    def needs(self, archetype: Archetype) -> tuple[frozenset[str], ...]:
        """What has to be taught before a kind of question: of each group of headings, one at least.

        Beside its own heading these are the headings whose reagents it uses, and one of the back titrations where it is one.
        """
        used: set[str] = set()
        excess = False
        for operation in archetype.variants[0].procedure.operations:
            match operation:
                case Titrate(titrant=solution) | Measure(solution=solution, excess=True):
                    used.add(solution.solute)
                    excess |= isinstance(operation, Measure)
                case _:
                    continue
        named = [topic.name for topic in self.topics.values() if topic.reagents & used]
        back = frozenset(topic.name for topic in self.topics.values() if topic.back)
        return (
            frozenset((archetype.topic,)),
            *(frozenset((name,)) for name in named),
            *((back,) if excess and back else ()),
        )

    @property
    def unknown_elements(self) -> UnknownElements:
        """What an unknown element of a formula may be."""
        return UnknownElements(self.families, self.ions)

    def fault_without(self, step: str) -> LaboratoryFault | None:
        """The fault that is made where a step of a description is left out."""
        return next((fault for fault in self.faults if fault.without == step), None)

    def slip_seen_in(self, wrong: str) -> Slip | None:
        """The slip that gives a kind of wrong number in a further part."""
        return next((slip for slip in self.slips if slip.seen_in == wrong), None)
