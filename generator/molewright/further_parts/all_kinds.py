"""The kinds of further parts that an archetype may ask for with `and ask`, each with its maker. One visible dict, nothing else."""

from __future__ import annotations

from dataclasses import replace

from molewright.further_parts.curves.colours import ask_colour_change, reject_universal
from molewright.further_parts.curves.conductivity import ask_why_conductivity
from molewright.further_parts.curves.graph import ask_why_a_graph, read_conductivities, read_temperatures
from molewright.further_parts.curves.indicator_forms import ask_forms
from molewright.further_parts.curves.indicator_parts import choose_indicator, reject_indicator
from molewright.further_parts.curves.ph_curve import read_curve, sketch_curve
from molewright.further_parts.curves.rates import ask_course
from molewright.further_parts.curves.step_parts import choose_for_steps, read_constant, read_steps
from molewright.further_parts.curves.weak_with_weak import ask_weak_with_weak
from molewright.further_parts.describing.portion_and_titration import ask_portion, ask_titration
from molewright.further_parts.describing.standard_solution import ask_preparation
from molewright.further_parts.faults.class_values import ask_class_values
from molewright.further_parts.faults.effect import ask_fault
from molewright.further_parts.faults.what_somebody_did import ask_method
from molewright.further_parts.pieces import Calculation, FurtherPart, Maker
from molewright.further_parts.planning.one_number import ask_plan_excess, ask_plan_titre, ask_planning
from molewright.further_parts.planning.two_numbers import ask_plan_both
from molewright.further_parts.reading.burette import read_burette, read_further_run
from molewright.further_parts.reasoning.critique import ask_critique
from molewright.further_parts.reasoning.naming_the_substance import name_unknown
from molewright.further_parts.reasoning.why_back import ask_why_back
from molewright.further_parts.reasoning.why_portions import ask_kept_liquid, ask_why_portions
from molewright.further_parts.uncertainty.claim import ask_claim
from molewright.further_parts.uncertainty.percentages import ask_uncertainty
from molewright.further_parts.uncertainty.quadrature import ask_combined
from molewright.further_parts.uncertainty.reduce import ask_reduce

KINDS: dict[str, Maker] = {
    "burette reading": read_burette,
    "further run": read_further_run,
    "pH curve": read_curve,
    "sketch": sketch_curve,
    "indicator": choose_indicator,
    "unsuitable indicator": reject_indicator,
    "indicator forms": ask_forms,
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
    "course": ask_course,
    "why portions": ask_why_portions,
    "kept liquid": ask_kept_liquid,
    "step curve": read_steps,
    "step constant": read_constant,
    "step indicators": choose_for_steps,
    "weak with weak": ask_weak_with_weak,
}


def branched(calculation: Calculation, kind: str) -> Calculation:
    """The calculation with streams of a kind's own, so that adding one changes no other."""
    return replace(calculation, stream=calculation.stream.branch(kind), line=calculation.line.branch(kind))


def make_further_parts(kinds: tuple[str, ...], calculation: Calculation) -> tuple[FurtherPart, ...]:
    """The further parts of a question, kind by kind; each kind has a stream of its own, so that adding one changes no other."""
    found = list(name_unknown(calculation))  # asked for by no archetype: it comes with the calculation
    for kind in kinds:
        found += KINDS[kind](branched(calculation, kind))
    return tuple(sorted(found, key=lambda part: not part.first))
