"""The kinds of further parts that an archetype may ask for with `and ask`, each with its maker. One visible dict, nothing else."""

from __future__ import annotations

from dataclasses import replace

from generator.question.judgement.claim import ask_claim
from generator.question.judgement.critique import ask_critique
from generator.question.judgement.curve import read_curve, sketch_curve
from generator.question.judgement.extras import Calculation, ExtraPart, Maker
from generator.question.judgement.faults import ask_fault
from generator.question.judgement.indicator import choose_indicator, reject_indicator
from generator.question.judgement.planning import ask_planning
from generator.question.judgement.reading import read_burette, read_further_run
from generator.question.judgement.uncertainty import ask_combined, ask_uncertainty
from generator.question.judgement.why_back import ask_why_back

KINDS: dict[str, Maker] = {
    "burette reading": read_burette,
    "further run": read_further_run,
    "pH curve": read_curve,
    "sketch": sketch_curve,
    "indicator": choose_indicator,
    "unsuitable indicator": reject_indicator,
    "uncertainty": ask_uncertainty,
    "combined uncertainty": ask_combined,
    "claim": ask_claim,
    "fault": ask_fault,
    "why back": ask_why_back,
    "planning": ask_planning,
    "critique": ask_critique,
}


def make_extras(kinds: tuple[str, ...], calculation: Calculation) -> tuple[ExtraPart, ...]:
    """The further parts of a question, kind by kind; each kind has a stream of its own, so that adding one changes no other."""
    found: list[ExtraPart] = []
    for kind in kinds:
        own = replace(calculation, stream=calculation.stream.branch(kind))
        found += KINDS[kind](own)
    return tuple(sorted(found, key=lambda part: not part.first))
