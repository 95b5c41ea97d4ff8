"""The kinds of further parts that an archetype may ask for with `and ask`, each with its maker. One visible dict, nothing else."""

from __future__ import annotations

from dataclasses import replace

from generator.question.judgement.claim import ask_claim
from generator.question.judgement.class_values import ask_class_values
from generator.question.judgement.colours import ask_colour_change, reject_universal
from generator.question.judgement.combined import ask_combined
from generator.question.judgement.conducting import ask_why_conductivity
from generator.question.judgement.critique import ask_critique
from generator.question.judgement.curve import read_curve, sketch_curve
from generator.question.judgement.extras import Calculation, ExtraPart, Maker
from generator.question.judgement.faults import ask_fault
from generator.question.judgement.graph import ask_why_a_graph, read_conductivities, read_temperatures
from generator.question.judgement.handling import ask_portion, ask_titration
from generator.question.judgement.indicator import choose_indicator, reject_indicator
from generator.question.judgement.method import ask_method
from generator.question.judgement.naming import name_unknown
from generator.question.judgement.planning import ask_plan_excess, ask_plan_titre, ask_planning
from generator.question.judgement.planning_both import ask_plan_both
from generator.question.judgement.preparing import ask_preparation
from generator.question.judgement.reading import read_burette, read_further_run
from generator.question.judgement.reduce import ask_reduce
from generator.question.judgement.uncertainty import ask_uncertainty
from generator.question.judgement.why_back import ask_why_back

KINDS: dict[str, Maker] = {
    "burette reading": read_burette,
    "further run": read_further_run,
    "pH curve": read_curve,
    "sketch": sketch_curve,
    "indicator": choose_indicator,
    "unsuitable indicator": reject_indicator,
    "thermometric graph": read_temperatures,
    "conductometric graph": read_conductivities,
    "why a graph": ask_why_a_graph,
    "why conductivity": ask_why_conductivity,
    "uncertainty": ask_uncertainty,
    "combined uncertainty": ask_combined,
    "reduce uncertainty": ask_reduce,
    "claim": ask_claim,
    "class values": ask_class_values,
    "fault": ask_fault,
    "why back": ask_why_back,
    "planning": ask_planning,
    "plan titre": ask_plan_titre,
    "plan excess": ask_plan_excess,
    "plan both": ask_plan_both,
    "describe": ask_preparation,
    "describe portion": ask_portion,
    "describe titration": ask_titration,
    "colour change": ask_colour_change,
    "universal indicator": reject_universal,
    "critique": ask_critique,
    "method": ask_method,
}


def make_extras(kinds: tuple[str, ...], calculation: Calculation) -> tuple[ExtraPart, ...]:
    """The further parts of a question, kind by kind; each kind has a stream of its own, so that adding one changes no other."""
    found: list[ExtraPart] = list(name_unknown(calculation))  # asked for by no archetype: it comes with the calculation
    for kind in kinds:
        own = replace(calculation, stream=calculation.stream.branch(kind))
        found += KINDS[kind](own)
    return tuple(sorted(found, key=lambda part: not part.first))
