"""What one row of returned answers is, as a frozen value, and the words that its columns may be called by. Reads nothing."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache

from molewright.order.class_list import BESIDE
from molewright.order.pupils import key_of

MOST_LETTERS = 200
MOST_ANSWER = 5_000_000  # a whole file: what is too long for an answer is told where it is read as one

COLUMNS: dict[str, tuple[str, ...]] = {
    "paper code": ("paper code", "paper", "code", "version", "paper version"),
    "pupil": ("pupil", "name", "pupil name", "student", "learner", "candidate"),
    "question": ("question", "q", "question number", "no", "number"),
    "part": ("part", "sub-part", "subpart", "letter"),
    "answer": ("answer", "answer as written", "written", "pupil answer", "response", "final answer"),
    "teacher's marks": ("teacher's marks", "teacher's mark", "teachers marks", "marks given", "mark given"),
}
TOLD_APART = ("told apart by", *(word for word in BESIDE if word not in COLUMNS["question"]))
"""Columns that tell two pupils of one name apart."""
_LETTER = r"[a-z]|(?:mark\s*)?(?:point|p|m)\s*[0-9]{1,2}"  # version 0.2.0 printed the second mark point as M2
QUESTION = re.compile(rf"(?:question|q)?\s*\.?\s*([0-9]{{1,3}})(?:\.0)?\s*[.:,\-]?\s*\(?\s*({_LETTER})?\s*\)?", re.I)
PART = re.compile(rf"(?:part)?\s*\(?\s*({_LETTER})\s*\)?\s*\.?", re.I)
MARKS = re.compile(r"(?:teacher'?s\s+)?marks?\s+(?:for\s+)?(?P<place>.+?)(?:\s+(?:of|out of|/)\s*[0-9]{1,3})?", re.I)
_ABSENT = frozenset({"abs", "abs.", "absent", "(abs)", "(absent)"})
_BLANK = frozenset({"", "-", "–", "—", "−"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Named:
    """Somebody named in a returned file; `beside` tells two pupils of one name apart."""

    pupil: str
    beside: str = ""

    @property
    def key(self) -> str:
        """Who it is, in whatever spelling."""
        return person_key(self.pupil, self.beside)

    @property
    def name(self) -> str:
        """Who it is, as that is told."""
        return person_name(self.pupil, self.beside)


@dataclass(frozen=True, slots=True, kw_only=True)
class Row(Named):
    """One answer: its line (and sheet or paper), code or version typed ("" for none), pupil, question, part ("" for none), answer.

    `given` is the mark that a teacher typed for the part ("" for none). `gaps` are what was typed into the blanks before the last,
    whose own is the answer.
    """

    line: int
    code: str
    question: int
    part: str
    answer: str
    given: str = ""
    sheet: str = ""
    gaps: tuple[str, ...] = ()

    @property
    def blank(self) -> bool:
        """Whether no answer is written."""
        return self.answer.strip() in _BLANK

    @property
    def says_nothing(self) -> bool:
        """Whether neither an answer nor a mark is written."""
        return self.blank and not self.given


@dataclass(frozen=True, slots=True, kw_only=True)
class Absent(Named):
    """A pupil who has a place in the table and wrote nothing."""

    line: int
    code: str
    sheet: str = ""


def is_absent(text: str) -> bool:
    """Whether a cell says that the pupil was not there."""
    return text.strip().casefold() in _ABSENT


@lru_cache(maxsize=8192)
def person_key(name: str, beside: str) -> str:
    """Who is meant, in whatever spelling; the same as `Pupil.key` of a class list."""
    return "/".join(filter(None, (key_of(name), key_of(beside))))


def person_name(name: str, beside: str) -> str:
    """A name, with what tells it from another like it."""
    return f"{name} ({beside})" if beside else name


def part_of(text: str) -> str:
    """A part as it is looked up: "b", or "point 2" for every way to write a mark point."""
    number = re.search("[0-9]+", text)
    return f"point {int(number[0])}" if number else text.casefold()
