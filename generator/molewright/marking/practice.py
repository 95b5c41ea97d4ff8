"""The plan of a class's practice comes in; each pupil's paper goes out, its questions drawn as their lines tell."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from molewright.bank.definitions import Bank
from molewright.derivation.plans import Plans
from molewright.errors import Mistake, Where
from molewright.marking.marked import MarkedClass
from molewright.marking.practice_plan import NOTHING_ASKED, Asked, Plan, Planner, PupilPlan, conventions_of
from molewright.marking.practice_questions import Chooser, PracticeChoice
from molewright.order.choices import NONE, STRETCH
from molewright.order.lines import OrderLine
from molewright.order.order import MOST_SEED, Order
from molewright.order.pupils import Pupil
from molewright.papers.code import versioned
from molewright.papers.making import Paper
from molewright.papers.marks_of_lines import drawn_first
from molewright.papers.settling import settle
from molewright.papers.slots import Slot, line_seed, sheet_level
from molewright.question.check import Question, Questions
from molewright.sheet.compose import Composer, Setting


class Practices:
    """Makes the papers of a plan. What was drawn while it was made need not be drawn again: `drawn` holds it by line."""

    def __init__(
        self,
        plan: Plan,
        bank: Bank,
        plans: Plans | None = None,
        questions: Questions | None = None,
        drawn: Mapping[OrderLine, PracticeChoice] | None = None,
    ) -> None:
        self.plan = plan
        self.bank = bank
        self.questions = questions or Questions(bank, plans or Plans.of_user(bank.fingerprint), plan.masses)
        self._drawn = drawn or {}

    def paper(self, one: PupilPlan) -> Paper:
        """The practice of one pupil. Raises Mistake, with the place of the question in the plan, for what cannot be."""
        made: list[Question] = []
        levels: list[str] = []
        lines = [question.line for question in one.questions]
        if all(line in self._drawn for line in lines):
            made = [self._drawn[line].question for line in lines]
            levels = [line.level for line in lines]
        else:
            for slot in self._settled(one, lines):
                made.append(self._question(slot, slot.line.level, one.where))
                levels.append(slot.line.level)
        wanted = self.plan.wanted
        setting = Setting(
            title=wanted.title,
            code=versioned(one.code, one.version),
            levels=tuple(map(sheet_level, levels)),
            version=one.version,
            style=self.plan.style,
            masses=self.questions.masses,
            pupil=one.pupil.name,
            answer_space=wanted.answer_space,
            look=one.pupil.look or wanted.look,
            tint=one.pupil.tint or wanted.tint,
            fingerprint=self.bank.fingerprint,
        )
        composer = Composer(made, self.bank, setting)
        return Paper(
            code=setting.code,
            version=one.version,
            questions=composer.questions,
            composer=composer,
            levels=tuple(levels),
        )

    def _settled(self, one: PupilPlan, lines: list[OrderLine]) -> tuple[Slot, ...]:
        """What the lines of a pupil stand for; what they leave open is drawn, and nothing that was set before while there is else."""
        order = Order(
            seed=_seed(one),
            count=len(lines),
            level="structured",
            masses=self.plan.masses,
            style=self.plan.style,
            lines=tuple(replace(line, drawn=()) for line in lines),
            not_again=one.before,
            equations=NONE,
        )
        try:
            return settle(self.questions, order)[1]
        except Mistake as mistake:
            raise mistake.at(one.where or Where("plan")) from None

    def _question(self, slot: Slot, level: str, where: Where | None) -> Question:
        try:
            return drawn_first(self.questions, slot, level == STRETCH)
        except Mistake as mistake:
            mistake.where = slot.line.where or where or mistake.where  # the line in the plan, not the kind in the banks
            raise


def practices_for(
    papers: Sequence[MarkedClass],
    bank: Bank,
    plans: Plans | None = None,
    asked: Asked = NOTHING_ASKED,
    class_list: Sequence[Pupil] = (),
) -> Practices:
    """The practice that follows marked papers, planned. Raises Mistake for a pupil who is asked for and has no answers."""
    plans = plans or Plans.of_user(bank.fingerprint)
    questions = Questions(bank, plans, conventions_of(papers[0].record)[0])
    planner = Planner(Chooser(bank, questions), asked, class_list)
    plan = planner.plan(papers)
    return Practices(plan, bank, plans, questions, planner.drawn)


def _seed(one: PupilPlan) -> int:
    """A number that follows from whose paper it is: the same plan gives the same papers."""
    letters = line_seed(f"{one.code}/{one.version}", "plan")
    return int.from_bytes(letters.encode(), "big") % (MOST_SEED + 1)
