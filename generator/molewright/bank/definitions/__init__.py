"""What the banks state goes out, as frozen values that check themselves and know no file; one module a sort of definition."""

from molewright.bank.definitions.archetypes import (
    FURTHER_PARTS,
    GRAPHS,
    RUNS,
    Archetype,
    Context,
    Topic,
    Variant,
    Variants,
)
from molewright.bank.definitions.choices import MOST_STEPS, Ask, Choice, MayBe, Windows
from molewright.bank.definitions.elements import ElementFamily, UnknownElements
from molewright.bank.definitions.equations import (
    Balancing,
    EquationEntry,
    EquationFacts,
    KnownFormulae,
    SpeciesName,
    WrittenInstead,
)
from molewright.bank.definitions.ions import (
    MOST_STAGES,
    AcidFamily,
    EdtaAcid,
    EdtaBuffer,
    EdtaEntry,
    EdtaIndicator,
    EdtaMetal,
    IonEntry,
    SoluteEntry,
    SparingSalt,
)
from molewright.bank.definitions.laboratory import BOTTLED_FORMS, PIECE_KINDS, Apparatus, Bottled, Indicator
from molewright.bank.definitions.mistakes import OFTEN, PLACES, BackReason, LaboratoryFault, Slip
from molewright.bank.definitions.precipitation import Precipitant, PrecipitationEntry, PrecipitationIndicator
from molewright.bank.definitions.redox import Made, OwnColour, RedoxEntry, Warmth
from molewright.bank.definitions.substances import BESIDE, Beside, Hazard, Material, ReactionEntry, Substance
from molewright.bank.definitions.whole_bank import Bank

__all__ = [
    "BESIDE",
    "BOTTLED_FORMS",
    "FURTHER_PARTS",
    "GRAPHS",
    "MOST_STAGES",
    "MOST_STEPS",
    "OFTEN",
    "PIECE_KINDS",
    "PLACES",
    "RUNS",
    "AcidFamily",
    "Apparatus",
    "Archetype",
    "Ask",
    "BackReason",
    "Balancing",
    "Bank",
    "Beside",
    "Bottled",
    "Choice",
    "Context",
    "EdtaAcid",
    "EdtaBuffer",
    "EdtaEntry",
    "EdtaIndicator",
    "EdtaMetal",
    "ElementFamily",
    "EquationEntry",
    "EquationFacts",
    "Hazard",
    "Indicator",
    "IonEntry",
    "IonsBeside",
    "KnownFormulae",
    "LaboratoryFault",
    "Made",
    "Material",
    "MayBe",
    "OwnColour",
    "Precipitant",
    "PrecipitationEntry",
    "PrecipitationIndicator",
    "ReactionEntry",
    "RedoxEntry",
    "Slip",
    "SoluteEntry",
    "SparingSalt",
    "SpeciesName",
    "Substance",
    "Topic",
    "UnknownElements",
    "Variant",
    "Variants",
    "Warmth",
    "Windows",
    "WrittenInstead",
]
