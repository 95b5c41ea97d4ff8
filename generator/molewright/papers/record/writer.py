"""Papers come in one by one; the record that marks them again without the banks goes out line by line. No pupil's name is in it."""

from __future__ import annotations

import json
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

from molewright.answer.accepted import AnswerType
from molewright.answer.equations import Table
from molewright.bank.definitions import Bank
from molewright.chem.conventions import Convention, UnitStyle
from molewright.chem.quantity import Quantity, half_up, to_figures
from molewright.chem.reaction import Species
from molewright.derivation.worked import WorkedStep, base_factor, type_of
from molewright.draw.chosen import Draw
from molewright.errors import shortened
from molewright.experiment.identity import Candidate
from molewright.experiment.quantities import Name
from molewright.experiment.quantity_texts import texts_of
from molewright.further_parts.pieces import EquationPart, FurtherPart, FurtherWrongAnswer
from molewright.machine.files import Staging
from molewright.order.order import USUAL_WISHES, Wanted
from molewright.order.order_text import write_order
from molewright.papers.making import Paper, PaperMaker
from molewright.papers.record.form import MOST_LETTERS, MOST_PAPERS, SCHEMA, SUFFIX, TEACHERS
from molewright.question.check import Question
from molewright.sheet.parts import Level, labels, labels_after
from molewright.sheet.teachers_question import TeachersQuestion
from molewright.version import VERSION

RECORD_FIGURES = 6  # of a wrong answer in the record: enough to tell it from any other


class RecordFiles:
    """Writes papers one by one into the files of a record: each file tells for itself what it is and what is said of slips."""

    def __init__(self, staging: Staging, stem: str, bank: Bank, heading: Mapping[str, Any], total: int) -> None:
        self._staging = staging
        self._stem = stem
        self._bank = bank
        self._heading = heading
        self._total = total
        self._done = 0
        self._lines = RecordLines(bank, heading)

    def add(self, paper: Recorded) -> None:
        """Write one paper."""
        if self._done and self._done % MOST_PAPERS == 0:
            self._staging.finish(self._name())
            self._lines = RecordLines(self._bank, self._heading)
        self._done += 1
        for line in self._lines.of_recorded(paper):
            self._staging.append(self._name(), line)

    def finish(self) -> None:
        """Nothing more is written."""
        self._staging.finish(self._name())

    def _name(self) -> str:
        """The file of the paper that is written: numbered where one file would not hold all papers."""
        number = f"-{(self._done + MOST_PAPERS - 1) // MOST_PAPERS}" if self._total > MOST_PAPERS else ""
        stem, dot, ending = SUFFIX.rpartition(".")
        return f"{self._stem}{stem}{number}{dot}{ending}"


class RecordLines:
    """The lines of one file of a record: its heading first, and each slip told before the first paper that names it."""

    def __init__(self, bank: Bank, heading: Mapping[str, Any]) -> None:
        self._bank = bank
        self._heading: Mapping[str, Any] | None = heading
        self._told: set[str] = set()

    def of(self, held: Mapping[str, Any]) -> Iterator[bytes]:
        """The lines that the document of a paper adds."""
        return self.of_recorded(recorded(held))

    def of_recorded(self, paper: Recorded) -> Iterator[bytes]:
        """The lines that a paper adds."""
        if self._heading is not None:
            yield _line(self._heading)
            self._heading = None
        facts = slip_facts(self._bank, paper.slips - self._told)
        if facts:
            self._told.update(facts)
            yield _line({"slips": facts})
        yield paper.line


@dataclass(frozen=True, slots=True)
class Recorded:
    """A paper as it stands in a record: its line, and the slips that it names."""

    line: bytes
    slips: frozenset[str]


def recorded(held: Mapping[str, Any]) -> Recorded:
    """The document of a paper as it stands in a record."""
    named = {key for question in held["questions"] for one in question["slips"] for key in one["slips"]}
    return Recorded(_line(held), frozenset(named))


def _line(document: Mapping[str, Any]) -> bytes:
    return (json.dumps(document, ensure_ascii=False, separators=(",", ":")) + "\n").encode()


def heading(maker: PaperMaker, wanted: Wanted = USUAL_WISHES) -> dict[str, Any]:
    """The first line of the record of an order's papers; with what was wanted of them, they print again as they were."""
    order = maker.order
    kept = replace(wanted, title="", pupils=(), versions=USUAL_WISHES.versions, numbers=USUAL_WISHES.numbers)
    return {
        **heading_of(maker.code, maker.bank, order.masses, order.style),
        "seed": order.seed,
        "questions": order.count,
        "level": order.level,
        "archetypes": list(order.archetypes),
        "order": write_order(order.bare, kept),
    }


def heading_of(code: str, bank: Bank, masses: Convention, style: UnitStyle) -> dict[str, Any]:
    """What the first line of every record tells."""
    return {
        "schema": SCHEMA,
        "made by": f"molewright {VERSION}",
        "paper code": code,
        "banks": bank.fingerprint,
        "relative atomic masses": masses,
        "units": style,
    }


def slip_facts(bank: Bank, named: Collection[str]) -> dict[str, dict[str, Any]]:
    """What is said of every slip that a paper's record names: it marks without the banks."""
    return {
        slip.key: {
            "name": slip.name,
            "often": slip.often,
            "near": slip.near,
            **({"first": True} if slip.first else {}),
            "feedback": slip.feedback,
            "practice": slip.practice,
            **({"misunderstood": slip.misunderstood} if slip.misunderstood else {}),
        }
        for slip in bank.slips
        if slip.key in named
    }


def record(paper: Paper) -> dict[str, Any]:
    """Everything that marks a version again without the banks: givens, runs, steps, answers. No pupil's name."""
    setting = paper.composer.setting
    return {
        "code": paper.code,
        "version": paper.version,
        "title": setting.title,
        "marks": paper.composer.marks,
        "questions": sorted(
            [
                *(
                    _question_record(number, writer.question, level, labels(writer, level), labels_after(writer, level))
                    for number, writer, level in paper.composer.numbered
                ),
                *(_teachers_record(number, asked) for number, asked in paper.composer.teachers.items()),
            ],
            key=lambda one: int(one["question"]),
        ),
    }


def _teachers_record(number: int, asked: TeachersQuestion) -> dict[str, Any]:
    """A question in a teacher's own words: one part, whose marks only the teacher can give."""
    answer = {"type": "words", "answer": shortened(" ".join(asked.answer.split()), MOST_LETTERS)[1:-1]}
    part = {"kind": TEACHERS, "part": "", "answers": [answer], "accepted": [], "unit": "", "marks": asked.marks}
    return {
        "question": number,
        "points": [],
        "further parts": [part],
        "marks": 0,
        "marks in all": asked.marks,
        "slips": [],
    }


def _question_record(
    number: int, question: Question, level: Level, parts: dict[int, str], further: tuple[str, ...]
) -> dict[str, Any]:
    draw, worked = question.draw, question.worked
    texts = texts_of(question.system.variables)
    factor = base_factor(worked.answer)
    # the first point of the calculation is printed after the marks of what is read before it
    first = sum(part.marks for part in question.further_parts if part.first)
    return {
        "question": number,
        "archetype": draw.archetype.key,
        "topic": draw.archetype.topic,
        "roles": dict(draw.variant.roles),
        "context": draw.context.key,
        "level": level,
        "indicator": draw.indicator,
        "given": {texts[name]: str(quantity) for name, quantity in draw.given.items()},
        "runs": [
            [str(half_up(run.initial, 2)), str(half_up(run.final, 2)), "rough" if run.rough else "accurate"]
            for run in draw.runs
        ],
        "asked": texts[draw.ask.quantity],
        "titre": texts[draw.variant.procedure.titrations[-1].titre] if draw.variant.procedure.titrations else "",
        "figures": draw.ask.figures,
        "points": [
            {
                "mark point": point.number,
                "part": parts[point.number],
                "finds": [texts[step.variable.name] for step in point.steps] or ["mean titre"],
                "answers": [_answer(step) for step in point.steps] or [{"type": "number", "answer": mean_text(draw)}],
            }
            for point in question.points
        ],
        "further parts": [
            {
                "kind": part.kind,
                "part": label,
                "answers": _further_answers(part),
                "accepted": [str(number) for number in part.accepted or ()],
                "unit": part.unit.text,
                "marks": part.marks,
                **({"wrong": [_wrong_record(one) for one in part.wrong]} if part.wrong else {}),
                **({"reads": texts[part.reads]} if part.reads is not None else {}),
                **({"candidates": [_candidate(one) for one in part.candidates]} if part.candidates else {}),
                **({"equation": _equation_record(part.equation, texts)} if part.equation is not None else {}),
            }
            for part, label in zip(question.further_parts, further, strict=True)
        ],
        **({"marks before": first} if first else {}),
        "known": {texts[name]: str(exact) for name, exact in question.given.items()},
        "chain": [_chain_record(step, texts) for step in worked.steps],
        "exact": f"{worked.exact.numerator}/{worked.exact.denominator}",
        "type": worked.accepted.type,
        "answer": str(worked.answer),
        "accepted": [str(worked.accepted.low), str(worked.accepted.high)],
        **({"before rounding": [str(end) for end in worked.accepted.before]} if worked.accepted.before else {}),
        "marks": len(question.points),
        "marks in all": question.marks,
        "separation": round(question.separation, 4),
        "slips": [
            {
                "slips": [slip.key for slip in one.slips],
                "gives": str(to_figures(one.exact * factor, RECORD_FIGURES)),
                "loses": sorted(one.lost),
                "marks": one.marks,
            }
            for one in question.mistakes.every()
        ],
    }


def _answer(step: WorkedStep) -> dict[str, str]:
    return {"type": type_of(step.variable), "answer": str(step.shown)}


def _further_answers(part: FurtherPart) -> list[dict[str, str]]:
    """The answers of a further part with their types: a name before its reason, a number, an equation, or words."""
    if part.equation is not None:
        return [{"type": "equation", "answer": part.equation.asked.told}]
    found: list[dict[str, str]] = []
    for at, point in enumerate(part.points):
        kind: AnswerType = "words"
        if part.candidates:
            kind = "name" if at == 0 else "words"
        elif not point.in_words and (part.accepted or isinstance(point.answer, Quantity)):
            kind = "number"
        found.append({"type": kind, "answer": str(point.answer)})
    return found


def _equation_record(equation: EquationPart, texts: Mapping[Name, str]) -> dict[str, Any]:
    """What an equation is judged by, and the steps that use its ratio."""
    asked = equation.asked
    return {
        "left": [_term(one) for one in asked.reaction.left],
        "right": [_term(one) for one in asked.reaction.right],
        "demand": asked.demand,
        **({"states": True} if asked.states else {}),
        **({"ions": _table(asked.ions)} if asked.ions else {}),
        **({"same": _table(asked.same)} if asked.same else {}),
        **({"beside": list(asked.beside)} if asked.beside else {}),
        **(
            {"uses": [[texts[one], texts[other], of, per] for one, other, of, per in equation.uses]}
            if equation.uses
            else {}
        ),
    }


def _term(one: Species) -> list[Any]:
    return [one.coefficient, one.formula.text, one.state]


def _table(table: Table) -> list[Any]:
    return [[whole, [[count, part] for count, part in given]] for whole, given in table]


def _wrong_record(one: FurtherWrongAnswer) -> dict[str, Any]:
    """A listed wrong answer of a further part, which keeps some of its marks."""
    return {
        "slips": [key for key, _ in one.slips],
        "gives": str(to_figures(one.answer.exact, RECORD_FIGURES)),
        "loses": [],
        "marks": one.marks,
    }


def _candidate(one: Candidate) -> list[str]:
    return [one.formula, one.name, str(one.mass), *one.also]


def _chain_record(step: WorkedStep, texts: Mapping[Name, str]) -> dict[str, Any]:
    """One step so that it can be worked again from a pupil's own values: Π quantity^power × factor = 1, or Σ share × quantity = 0."""
    relation = step.relation
    return {
        "finds": texts[step.variable.name],
        "unit": step.variable.unit.text,
        "exact": str(step.exact),
        **({} if step.also is None else {"also": str(step.also)}),
        "form": relation.form if relation else "",
        "factor": str(relation.factor) if relation else "1",
        "quantities": [[texts[name], str(power)] for name, power in relation.quantities] if relation else [],
    }


def mean_text(draw: Draw) -> str:
    """The mean titre as printed."""
    return str(draw.given[draw.variant.procedure.titrations[-1].titre])
