"""A marked class comes in; for each pupil a short paper aimed at the slip that was found goes out, and why each question is on it.

Three questions: one with support on the slip, one with less support on the same slip in another setting, and an unlike one so
that the method has to be chosen. Who made no slip gets more demanding ones. The same answers give the same papers.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from molewright.bank.definitions import Bank
from molewright.chem.conventions import Convention, UnitStyle
from molewright.derivation.plans import Plans
from molewright.draw.stream import Stream
from molewright.errors import Mistake
from molewright.marking.marked import MarkedClass, MarkedPupil
from molewright.marking.next_aim import excels, focus
from molewright.marking.practice_questions import Chooser, PracticeChoice
from molewright.marking.table import name_of
from molewright.papers.code import read_code
from molewright.papers.making import Paper
from molewright.papers.record.reader import squashed
from molewright.question.check import Questions
from molewright.sheet.compose import Composer, Setting


@dataclass(frozen=True, slots=True)
class Practice:
    """One pupil's practice: what it is aimed at, its questions, and the paper."""

    pupil: MarkedPupil
    aim: str
    chosen: tuple[PracticeChoice, ...]
    paper: Paper


class Practices:
    """Makes the practice papers of a class."""

    def __init__(self, marked: MarkedClass, bank: Bank, plans: Plans, masses: Convention, style: UnitStyle) -> None:
        self.marked = marked
        self.bank = bank
        self.style: UnitStyle = style
        self.questions = Questions(bank, plans, masses)
        self.code = practice_code(marked.code, bank)
        self.chooser = Chooser(bank, self.questions)

    def each(self) -> Iterator[Practice]:
        """The practice of every pupil, in the order of the list."""
        width = max(2, len(str(max(pupil.number for pupil in self.marked.pupils))))
        for pupil in self.marked.pupils:
            yield self._practice(pupil, str(pupil.number).rjust(width, "0"))

    def _practice(self, pupil: MarkedPupil, version: str) -> Practice:
        chosen_focus = focus(pupil, self.marked)
        paper = self.marked.record.paper(pupil.version)
        stream = Stream(f"molewright/practice/1/{self.code}/{version}")
        if chosen_focus.slip and chosen_focus.slip in {slip.key for slip in self.bank.slips}:
            aim = name_of(self.marked, chosen_focus.slip)
            chosen = self.chooser.on_slip(paper, chosen_focus, stream)
        elif excels(pupil, self.marked):
            aim = "something more demanding: nearly every mark was earned"
            chosen = self.chooser.stretch(paper, stream)
        else:
            aim = "the question that cost most marks: no single slip explains the answers"
            chosen = self.chooser.on_worst(paper, chosen_focus, stream)
        setting = Setting(
            title=f"{self.marked.title}: practice"[:60],
            code=f"{version}-{self.code}",
            levels=tuple(one.level for one in chosen),
            version=version,
            style=self.style,
            masses=self.questions.masses,
            pupil=pupil.name,
            fingerprint=self.bank.fingerprint,
        )
        made = tuple(one.question for one in chosen)
        return Practice(
            pupil,
            aim,
            tuple(chosen),
            Paper(code=setting.code, version=version, questions=made, composer=Composer(made, self.bank, setting)),
        )


def practice_code(code: str, bank: Bank) -> str:
    """The code of the practice that follows a paper: that paper's code with "-P1", and "-P2" after that.

    No such code may be taken for one from which a paper is made again: it would be another paper.
    """
    stem, _, last = code.rpartition("-P")
    number = int(last) + 1 if stem and last.isdecimal() else 1
    stem = stem if number > 1 else code
    known = tuple(sorted(bank.archetypes))
    while True:
        made = f"{stem}-P{number}"
        try:
            read_code(squashed(made), known, bank.fingerprint)
        except (Mistake, IndexError, ValueError):
            return made
        number += 1


def listed(practices: Sequence[Practice]) -> str:
    """What was chosen for each pupil and why, in plain text."""
    lines = []
    for one in practices:
        lines.append(f"{one.pupil.number}  {one.pupil.name}  (paper {one.paper.code})")
        lines.append(f"   aimed at: {one.aim}")
        for number, chosen in enumerate(one.chosen, 1):
            kind = chosen.question.draw.archetype
            lines.append(f"   {number}. {chosen.level}: {kind.title} [{kind.key}]. Why: {chosen.why}.")
        lines.append("")
    return "\n".join(lines)
