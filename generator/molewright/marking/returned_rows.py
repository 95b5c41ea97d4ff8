"""What one row of returned answers is, as a frozen value, and the words that its columns may be called by. Reads nothing."""

from __future__ import annotations

import re
from dataclasses import dataclass

MOST_LETTERS = 200
MOST_ANSWER = 5_000_000  # a whole file: what is too long for an answer is told where it is read as one

COLUMNS: dict[str, tuple[str, ...]] = {
    "paper code": ("paper code", "paper", "code", "version", "paper version"),
    "pupil": ("pupil", "name", "pupil name", "student", "learner", "candidate"),
    "question": ("question", "q", "question number", "no", "number"),
    "part": ("part", "sub-part", "subpart", "letter"),
    "answer": ("answer", "answer as written", "written", "pupil answer", "response", "final answer"),
}
_LETTER = r"[a-z]|(?:mark\s*)?(?:point|p|m)\s*[0-9]{1,2}"  # version 0.2.0 printed the second mark point as M2
QUESTION = re.compile(rf"(?:question|q)?\s*\.?\s*([0-9]{{1,3}})(?:\.0)?\s*[.:,\-]?\s*\(?\s*({_LETTER})?\s*\)?", re.I)
PART = re.compile(rf"(?:part)?\s*\(?\s*({_LETTER})\s*\)?\s*\.?", re.I)


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One answer: its line, the code or version typed ("" for none), the pupil, question and part ("" for none), the answer."""

    line: int
    code: str
    pupil: str
    question: int
    part: str
    answer: str


def part_of(text: str) -> str:
    """A part as it is looked up: "b", or "point 2" for every way to write a mark point."""
    number = re.search("[0-9]+", text)
    return f"point {int(number[0])}" if number else text.casefold()
