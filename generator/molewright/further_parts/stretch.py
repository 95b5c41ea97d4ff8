"""A checked calculation comes in; one further part goes out that needs an idea which is not in the stem: the stretch level.

Which kinds suit an archetype its entry says (`stretch`); which of them these numbers allow is found by trying. Nothing is
worded here.
"""

from __future__ import annotations

from dataclasses import replace

from molewright.bank.definitions import Archetype
from molewright.draw.refusal import Refusal
from molewright.errors import Mistake
from molewright.further_parts.all_kinds import KINDS, branched
from molewright.further_parts.pieces import FAULT, Calculation, FurtherPart

Form = tuple[tuple[str, int], ...]
"""Kinds and marks of parts."""
WITHOUT_TITRATION = ("describe",)
"""Kinds that can stand where a solution is only prepared."""


def stretch_kinds(archetype: Archetype) -> tuple[str, ...]:
    """The kinds of further part that stretch this archetype; none where it is made of further parts already."""
    return () if archetype.further_parts else archetype.stretch


def stretch_wanted(archetype: Archetype, stretch: bool) -> bool:
    """Whether a question of this kind should have a part of the stretch level."""
    return stretch and bool(stretch_kinds(archetype))


def make_stretch(calculation: Calculation, wanted: Form | None = None) -> tuple[FurtherPart, ...]:
    """The parts of the first kind, in an order of the question's line, that these numbers allow; none where none does.

    `wanted` are the kinds and marks that the parts must have, as they have in the other versions of the question.
    """
    for kind in _in_turn(calculation):
        found = stretched_by(kind, calculation)
        if found and (wanted is None or wanted == tuple((part.kind, part.marks) for part in found)):
            return tuple(replace(part, called=part.called or kind) for part in found)
    return ()


def _in_turn(calculation: Calculation) -> list[str]:
    """The kinds that are tried one after the other: all of them, or the one that is asked for by its name or by a fault."""
    kinds = calculation.line.shuffled(stretch_kinds(calculation.draw.archetype))
    wanted = calculation.draw.part
    if wanted and wanted not in kinds:
        wanted = FAULT if any(fault.key == wanted for fault in calculation.bank.faults) else wanted
    return [kind for kind in kinds if wanted in ("", kind)]


def stretched_by(kind: str, calculation: Calculation) -> tuple[FurtherPart, ...]:
    """The parts of one kind; none where these numbers do not allow it."""
    if not calculation.draw.variant.procedure.titrations and kind not in WITHOUT_TITRATION:
        return ()
    try:
        return KINDS[kind](branched(calculation, kind))
    except (Refusal, Mistake):  # a Mistake: what the part would plan for does not follow from what is printed
        return ()
