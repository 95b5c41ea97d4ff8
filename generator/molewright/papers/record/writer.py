"""Papers come in; the record that marks them again without the banks goes out. No pupil's name is in it."""

from __future__ import annotations

import json
from typing import Any

from molewright import __version__
from molewright.bank.definitions import Bank
from molewright.chem.quantity import half_up, to_figures
from molewright.derivation.worked import WorkedStep, base_factor
from molewright.draw.draw import Draw
from molewright.experiment.identity import Candidate
from molewright.experiment.procedure import titre
from molewright.papers.making import Paper, PaperMaker
from molewright.question.check import Question
from molewright.sheet.parts import Level, labels, labels_after

RECORD_FIGURES = 6  # of a wrong answer in the record: enough to tell it from any other


def as_file(whole: dict[str, Any]) -> bytes:
    """A record as it is written."""
    return (json.dumps(whole, ensure_ascii=False, separators=(",", ":")) + "\n").encode()


def whole_record(maker: PaperMaker, records: list[dict[str, Any]]) -> dict[str, Any]:
    """The record of all versions of a paper, with what is said of each slip that it names."""
    order = maker.order
    return {
        "made by": f"molewright {__version__}",
        "paper code": maker.code,
        "banks": maker.bank.fingerprint,
        "seed": order.seed,
        "questions": order.count,
        "level": order.level,
        "archetypes": list(order.archetypes),
        "relative atomic masses": order.masses,
        "units": order.style,
        "slips": slip_facts(maker.bank, records),
        "versions": records,
    }


def slip_facts(bank: Bank, records: list[dict[str, Any]]) -> dict[str, dict[str, Any]]:
    """Name, frequency, feedback and practice of every slip in the records: they mark without the banks."""
    named = {
        key for one in records for question in one["questions"] for slip in question["slips"] for key in slip["slips"]
    }
    return {
        slip.key: {"name": slip.name, "often": slip.often, "near": slip.near, "feedback": slip.feedback,
                   "practice": slip.practice}
        for slip in bank.slips if slip.key in named
    }  # fmt: skip


def record(paper: Paper) -> dict[str, Any]:
    """Everything that marks a version again without the banks: givens, runs, steps, answers. No pupil's name."""
    setting = paper.composer.setting
    return {
        "code": paper.code,
        "version": paper.version,
        "title": setting.title,
        "marks": paper.composer.marks,
        "questions": [
            _question_record(number, question, level, labels(writer, level), labels_after(writer, level))
            for number, (question, writer, level) in enumerate(
                zip(paper.questions, paper.composer.writers, setting.levels, strict=True), 1
            )
        ],
    }


def _question_record(
    number: int, question: Question, level: Level, parts: dict[int, str], further: tuple[str, ...]
) -> dict[str, Any]:
    draw, worked = question.draw, question.worked
    # M1 of the calculation is printed after the marks of what is read before it
    first = sum(part.marks for part in question.further_parts if part.first)
    return {
        "question": number,
        "archetype": draw.archetype.key,
        "topic": draw.archetype.topic,
        "roles": dict(draw.variant.roles),
        "context": draw.context.key,
        "level": level,
        "indicator": draw.indicator,
        "given": {name: str(quantity) for name, quantity in draw.given.items()},
        "runs": [
            [str(half_up(run.initial, 2)), str(half_up(run.final, 2)), "rough" if run.rough else "accurate"]
            for run in draw.runs
        ],
        "asked": draw.ask.quantity,
        "titre": titre(draw.variant.procedure.titrations[-1]) if draw.variant.procedure.titrations else "",
        "figures": draw.ask.figures,
        "points": [
            {
                "mark point": point.number,
                "part": parts[point.number],
                "finds": [step.variable.name for step in point.steps] or ["mean titre"],
                "answers": [str(step.shown) for step in point.steps] or [mean_text(draw)],
            }
            for point in question.points
        ],
        "further parts": [
            {
                "kind": part.kind,
                "part": label,
                "answers": [str(point.answer) for point in part.points],
                "accepted": [str(number) for number in part.accepted or ()],
                "unit": part.unit,
                "marks": part.marks,
                **({"reads": part.reads} if part.reads else {}),
                **({"candidates": [_candidate(one) for one in part.candidates]} if part.candidates else {}),
            }
            for part, label in zip(question.further_parts, further, strict=True)
        ],
        **({"marks before": first} if first else {}),
        "known": {name: str(exact) for name, exact in question.given.items()},
        "chain": [_chain_record(step) for step in worked.steps],
        "exact": f"{worked.exact.numerator}/{worked.exact.denominator}",
        "answer": str(worked.answer),
        "accepted": [str(worked.accepted.low), str(worked.accepted.high)],
        "marks": len(question.points),
        "marks in all": question.marks,
        "separation": round(question.separation, 4),
        "slips": [
            {
                "slips": [slip.key for slip in one.slips],
                "gives": str(to_figures(one.exact * base_factor(worked.answer), RECORD_FIGURES)),
                "loses": sorted(one.lost),
                "marks": one.marks,
            }
            for one in question.slip_answers()
        ],
    }


def _candidate(one: Candidate) -> list[str]:
    return [one.formula, one.name, str(one.mass), *one.also]


def _chain_record(step: WorkedStep) -> dict[str, Any]:
    """One step so that it can be worked again from a pupil's own values: Π quantity^power × factor = 1, or Σ share × quantity = 0."""
    relation = step.relation
    return {
        "finds": step.variable.name,
        "unit": step.variable.unit,
        "exact": str(step.exact),
        "form": relation.form if relation else "",
        "factor": str(relation.factor) if relation else "1",
        "quantities": [[name, str(power)] for name, power in relation.quantities] if relation else [],
    }


def mean_text(draw: Draw) -> str:
    """The mean titre as printed."""
    return str(draw.given[titre(draw.variant.procedure.titrations[-1])])
