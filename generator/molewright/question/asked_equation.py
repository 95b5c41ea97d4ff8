"""A checked question and a kind of equation come in; the question with the parts that ask for it goes out, before its calculation."""

from __future__ import annotations

from dataclasses import replace

from molewright.draw.chosen import Chosen
from molewright.draw.stream import Stream
from molewright.further_parts.equations.ask import ask_equation
from molewright.further_parts.equations.which import MARKS, Asked, EquationKind, picked_equation, possible_equations
from molewright.question.check import Question, Questions


def equation_kinds(questions: Questions, chosen: Chosen) -> tuple[EquationKind, ...]:
    """The kinds of equation that a question may ask for, whatever its numbers."""
    return tuple(dict.fromkeys(one.kind for one in _possible(questions, chosen)))


def drawn_equation(questions: Questions, chosen: Chosen) -> str:
    """The kind of equation that the seed of a line picks; "" where there is none."""
    found = picked_equation(_possible(questions, chosen), "", equation_seed(chosen.line))
    return found.kind if found is not None else ""


def with_equation(questions: Questions, question: Question, kind: str) -> Question:
    """The question with the parts for one kind; as it is where the kind cannot be asked in it."""
    possible = possible_equations(questions.bank, question.draw.variant, question.system)
    asked = picked_equation(possible, kind, equation_seed(question.draw.line)) if kind else None
    if asked is None:
        return question
    parts = ask_equation(questions.calculation(question, "equation"), asked)
    return replace(question, further_parts=(*parts, *question.further_parts))


def marks_for_equation(questions: Questions, chosen: Chosen, kind: str) -> int:
    """The marks that the parts for a kind add to a question, whatever its numbers."""
    asked = picked_equation(_possible(questions, chosen), kind, equation_seed(chosen.line)) if kind else None
    return MARKS[asked.kind] * len(asked.reactions) if asked is not None else 0


def _possible(questions: Questions, chosen: Chosen) -> tuple[Asked, ...]:
    return possible_equations(questions.bank, chosen.variant, questions.system(chosen.variant))


def equation_seed(line: str) -> Stream:
    """What is picked of equations, the same in all versions of a question."""
    return Stream(line).branch("equation")
