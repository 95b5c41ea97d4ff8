"""The kinds of further parts that an archetype may ask for with `and ask`, each with its maker. One visible dict, nothing else."""

from __future__ import annotations

from generator.question.judgement.extras import Calculation, ExtraPart, Maker

KINDS: dict[str, Maker] = {}


def make_extras(kinds: tuple[str, ...], calculation: Calculation) -> tuple[ExtraPart, ...]:
    """The further parts of a question, kind by kind; each kind has a stream of its own, so that adding one changes no other."""
    from dataclasses import replace

    found: list[ExtraPart] = []
    for kind in kinds:
        own = replace(calculation, stream=calculation.stream.branch(kind))
        found += KINDS[kind](own)
    return tuple(found)
