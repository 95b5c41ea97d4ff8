"""A marked class comes in; the plan of its practice goes out: an order a pupil, with what it is aimed at and why. Renders nothing.

Questions to practise the slip that was found, from much support to little, and an unlike one so that the method has to be chosen. Who
made no slip gets more demanding ones. The same answers give the same plan.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

from molewright.bank.definitions import Bank
from molewright.chem.conventions import CONVENTIONS, UNIT_STYLES, Convention, UnitStyle
from molewright.errors import Mistake, Where, nearest, shortened
from molewright.machine.same import Same
from molewright.marking.marked import MarkedClass, MarkedPupil
from molewright.marking.next_aim import Focus, excels, focus, marks_told
from molewright.marking.practice_questions import USUAL_WISH, Chooser, Next, PracticeChoice, Wish
from molewright.marking.table import name_of, place_words
from molewright.marking.taught import ground_of
from molewright.order.lines import OrderLine
from molewright.order.order import MOST_PAST, Past, Wanted
from molewright.order.pupils import Pupil, key_of
from molewright.papers.code import read_code
from molewright.papers.record.reader import Record, squashed
from molewright.papers.record.set_before import past_of

PRACTICE_SHEETS = ("questions", "scheme")
MOST_TITLE = 60
USUAL_PRACTICE = Wanted(sheets=PRACTICE_SHEETS, files="joined")


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedQuestion:
    """A question of a plan: its line, as an order tells it, and why it was chosen."""

    line: OrderLine
    why: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class PupilPlan:
    """One pupil's practice: whose, the code of the paper with its version, what it is aimed at, its questions.

    `before` are the questions of the papers that it follows; none of them is to come again.
    """

    pupil: Pupil
    code: str
    version: str
    aim: str
    questions: tuple[PlannedQuestion, ...]
    before: tuple[Past, ...] = ()
    where: Where | None = field(default=None, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """The practice of a class: what is wanted of its sheets, the conventions, and each pupil's part. `follows` are codes of papers."""

    wanted: Wanted
    masses: Convention
    style: UnitStyle
    follows: tuple[str, ...]
    pupils: tuple[PupilPlan, ...]

    @property
    def code(self) -> str:
        """The code that the files of the whole class are called by: that of the first pupil's paper."""
        return self.pupils[0].code


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What a person asks for beside the answers: pupils by name (none: all), what of every practice, topics, what was set elsewhere."""

    wish: Wish = USUAL_WISH
    pupils: tuple[str, ...] = ()
    topics: tuple[str, ...] = ()
    not_again: tuple[Past, ...] = ()
    wanted: Wanted = USUAL_PRACTICE


NOTHING_ASKED = Asked()


class Planner:
    """Makes the plan of a class."""

    def __init__(self, chooser: Chooser, asked: Asked = NOTHING_ASKED, class_list: Sequence[Pupil] = ()) -> None:
        self.bank = chooser.bank
        self.chooser = chooser
        self.asked = asked
        self._looks = {key_of(pupil.name): pupil for pupil in class_list}
        self._set: dict[tuple[Same, str], tuple[Past, ...]] = {}
        self.drawn: dict[OrderLine, PracticeChoice] = {}  # so that no question is drawn twice

    def plan(self, papers: Sequence[MarkedClass], progress: Callable[[int, int], None] | None = None) -> Plan:
        """The plan for the pupils of some marked papers. Raises Mistake for a pupil who is asked for and has no answers."""
        every = [(marked, pupil) for marked in papers for pupil in marked.pupils]
        wished = _named(self.asked.pupils, [pupil.name for _, pupil in every])
        chosen = [(marked, pupil) for marked, pupil in every if not wished or key_of(pupil.name) in wished]
        chosen.sort(key=lambda pair: self._place(pair[1]))
        found: list[PupilPlan] = []
        for number, (marked, pupil) in enumerate(chosen, 1):
            found.append(self.of(marked, pupil))
            if progress:
                progress(number, len(chosen))
        masses, style = conventions_of(papers[0].record)
        title = self.asked.wanted.title or f"{papers[0].title}: practice"[:MOST_TITLE]
        return Plan(
            wanted=replace(self.asked.wanted, title=title),
            masses=masses,
            style=style,
            follows=tuple(dict.fromkeys(marked.code for marked in papers)),
            pupils=tuple(found),
        )

    def _place(self, pupil: MarkedPupil) -> tuple[int, int]:
        """Where a pupil of several papers stands: in the order of the class list, else of the answers."""
        first = min((one.row.line for one in pupil.answers), default=0)
        return list(self._looks).index(key_of(pupil.name)) if key_of(pupil.name) in self._looks else 0, first

    def _past(self, record: Record, version: str) -> tuple[Past, ...]:
        """What was set in a version, which many pupils may have had."""
        key = Same(record), version
        if key not in self._set:
            self._set[key] = tuple(past_of(record.versions[version].read()))
        return self._set[key]

    def of(self, marked: MarkedClass, pupil: MarkedPupil) -> PupilPlan:
        """One pupil's part of the plan."""
        width = max(2, len(str(max(one.number for one in marked.pupils))))
        version = str(pupil.number).rjust(width, "0")
        code = practice_code(marked.code, self.bank)
        paper = marked.record.paper(pupil.version)
        before = tuple(dict.fromkeys((*self._past(marked.record, pupil.version), *self.asked.not_again)))
        shown = focus(pupil, marked)
        slip = shown.slip if shown.slip in {one.key for one in self.bank.slips} else ""
        stretch = not slip and excels(pupil, marked)
        printed = {one.number: one for one in paper.questions}
        worst = printed.get(shown.shown.row.question) if shown.shown else None
        chosen = self.chooser.choose(
            Next(
                seed=f"{code}/{version}",
                slip=slip,
                source=worst or next((one for one in paper.questions if one.archetype), None),
                stretch=stretch,
                ground=ground_of(pupil, paper, self.bank, self.asked.topics, before),
                wish=self.asked.wish,
            )
        )
        self.drawn.update((one.line, one) for one in chosen)
        return PupilPlan(
            pupil=self._looks.get(key_of(pupil.name), Pupil(name=pupil.name)),
            code=code,
            version=version,
            aim=_aim(marked, pupil, replace(shown, slip=slip), stretch),
            questions=tuple(PlannedQuestion(line=one.line, why=one.why) for one in chosen),
            before=before[-MOST_PAST:],
        )


def conventions_of(record: Record) -> tuple[Convention, UnitStyle]:
    """The masses and units of a paper, which its practice keeps."""
    masses = next((one for one in CONVENTIONS if one == record.masses), CONVENTIONS[0])
    return masses, next((one for one in UNIT_STYLES if one == record.style), UNIT_STYLES[0])


def _aim(marked: MarkedClass, pupil: MarkedPupil, shown: Focus, stretch: bool) -> str:
    """What a practice is aimed at, in a sentence."""
    if shown.slip and shown.shown is not None:
        sure = shown.shown.explained.found == "unique"
        often = f", seen {shown.times} times" if shown.times > 1 else ""
        may = "" if sure else "perhaps "
        return f"{name_of(marked, shown.slip)} ({may}in {place_words(shown.shown)}{often})"
    if stretch:
        return f"something more demanding, after marks of {marks_told(pupil, marked)}"
    if shown.shown is not None:
        return f"{place_words(shown.shown)}, which cost most marks: no single slip explains the answers"
    return f"the ground of the paper: {marks_told(pupil, marked)} marks, and nothing is known to be wrong"


def _named(names: Sequence[str], known: Sequence[str]) -> set[str]:
    keys = {key_of(name) for name in known}
    for name in names:
        if key_of(name) not in keys:
            raise Mistake(
                f"there are no answers of {shortened(name)}",
                expected="the name of a pupil as it stands in the answers",
                near=nearest(name, known),
                where=Where("command line", entry="--pupil"),
            )
    return {key_of(name) for name in names}


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
