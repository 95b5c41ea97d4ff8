"""The banks come in; what an experiment that somebody describes is read with goes out."""

from __future__ import annotations

from collections.abc import Iterator

from molewright.bank.definitions import Bank, Precipitant, ReactionEntry
from molewright.bank.readers.described import Chemicals, InWater
from molewright.bank.readers.forms import Forms
from molewright.chem.reaction import parse_reaction
from molewright.plausibility.end_point_equations import EndPointEquations


def chemicals_of(bank: Bank) -> Chemicals:
    """Substances and reactions, the ions that a substance gives, and the judge of what an indicator shows."""
    return Chemicals(
        substances=bank.substances,
        reactions=(*bank.reactions, *_precipitations(bank)),
        unknown_elements=bank.unknown_elements,
        in_water=InWater(bank.acids, bank.ions, bank.solutes),
        forms=Forms(
            substances=bank.substances,
            ions=bank.ions,
            solutes=bank.solutes,
            acids=bank.acids,
            written={one.formula: one.gives for one in bank.equations.instead if one.ionic},
            solids=frozenset(salt.solid.solid for salt in bank.sparing),
        ),
        end_points=EndPointEquations(bank),
        indicators=tuple(bank.indicators),
    )


def _precipitations(bank: Bank) -> Iterator[ReactionEntry]:
    """An equation for every sparingly soluble salt of an ion that people titrate with, as silver bromide."""
    run_in = {one.ion for one in bank.precipitation if isinstance(one, Precipitant)}
    for salt in bank.sparing:
        if salt.cation in run_in and salt.anion in bank.ions:
            counts = ((salt.solid.cations, salt.cation), (salt.solid.anions, salt.anion))
            ions = " + ".join(f"{count if count > 1 else ''}{ion}" for count, ion in counts)
            yield ReactionEntry(reaction=parse_reaction(f"{ions} -> {salt.solid.solid}(s)"), source=salt.source)
