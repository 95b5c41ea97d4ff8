"""A checked calculation comes in; one further part goes out that needs an idea which is not in the stem: the stretch level.

Which kinds suit an archetype its entry says (`stretch`); which of them these numbers allow is found by trying. Nothing is
worded here.
"""

from __future__ import annotations

from dataclasses import replace

from molewright.bank.definitions import Archetype
from molewright.draw.refusal import Refusal
from molewright.errors import Mistake
from molewright.further_parts.all_kinds import KINDS
from molewright.further_parts.pieces import Calculation, FurtherPart

WITHOUT_TITRATION = ("describe",)
"""Kinds that can stand where a solution is only prepared."""


def stretch_kinds(archetype: Archetype) -> tuple[str, ...]:
    """The kinds of further part that stretch this archetype; none where it is made of further parts already."""
    return () if archetype.further_parts else archetype.stretch


def make_stretch(calculation: Calculation) -> tuple[FurtherPart, ...]:
    """The parts of the first kind, in an order of the question's own, that these numbers allow; none where none does."""
    titrated = bool(calculation.draw.variant.procedure.titrations)
    for kind in calculation.stream.shuffled(stretch_kinds(calculation.draw.archetype)):
        if not titrated and kind not in WITHOUT_TITRATION:
            continue
        try:
            return KINDS[kind](replace(calculation, stream=calculation.stream.branch(kind)))
        except (Refusal, Mistake):  # a Mistake: what the part would plan for does not follow from what is printed
            continue
    return ()
