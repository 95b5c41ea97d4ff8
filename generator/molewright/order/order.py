"""What a person asks for comes in, checked; one frozen value goes out. Reads no file, draws nothing, knows no banks."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from molewright.chem.conventions import Convention, UnitStyle
from molewright.errors import Mistake, Where
from molewright.experiment.tellings import Telling
from molewright.order.choices import FADED, SHEETS, SOME, STRETCH, AnswerSpace, Files, Look, Tint, WhoseNumbers
from molewright.order.front import USUAL_FRONT, Front
from molewright.order.lines import OrderLine
from molewright.order.pupils import Pupil

DEFAULT_QUESTIONS = 6
MOST_QUESTIONS = 40
MOST_MARKS = 400
MOST_PAST = 4000  # questions that must not come again
MOST_SEED = 32**5 - 1  # five letters of a code


@dataclass(frozen=True, slots=True, kw_only=True)
class Past:
    """A question that was set already: its kind, what played which role, what was asked, and its scene."""

    kind: str
    roles: tuple[tuple[str, str], ...]
    asked: str
    scene: str

    @property
    def experiment(self) -> tuple[str, tuple[tuple[str, str], ...], str]:
        """What makes it the same question in another scene."""
        return self.kind, self.roles, self.asked


@dataclass(frozen=True, slots=True, kw_only=True)
class Order:
    """What a paper is made from: seed, number of questions or of marks, level, conventions, the kinds asked for, its lines.

    Without kinds or topics it is a mixture. `topics` have weights. Where `marks` are named, a `count` of 0 leaves the number of
    questions to them. `lines` fix questions one by one, those that are left open and
    those that there are not enough of are drawn. `not_again` are questions that must not come again while there are others.
    """

    seed: int
    count: int = DEFAULT_QUESTIONS
    marks: int = 0
    level: str = "mixed"
    levels: tuple[str, ...] = ()  # where the same questions are wanted at several
    masses: Convention = "one place"
    style: UnitStyle = "dm3"
    telling: Telling | None = None  # in which way its questions are told, but for those that say it themselves
    equations: str = SOME  # how many of its questions ask for an equation, or which kind of equation they ask for
    archetypes: tuple[str, ...] = ()
    topics: tuple[tuple[str, int], ...] = ()
    aim: str = ""  # the key of a slip
    not_again: tuple[Past, ...] = ()
    lines: tuple[OrderLine, ...] = ()
    wheres: tuple[tuple[str, Where], ...] = field(default=(), compare=False)  # where its keys are written

    def where(self, key: str) -> Where:
        """Where a key is written, for what is found wrong with it later."""
        return dict(self.wheres).get(key, Where("order", entry=key))

    def __post_init__(self) -> None:
        if FADED in self.levels:
            raise Mistake(f"the level {FADED} beside others", expected=f"{FADED} alone: it is a series of its own")
        if not 0 <= self.seed <= MOST_SEED:
            raise Mistake(f"the seed {self.seed}", expected=f"0 to {MOST_SEED}")
        if not (1 if not self.marks else 0) <= self.count <= MOST_QUESTIONS:
            raise Mistake(f"{self.count} questions", expected=f"1 to {MOST_QUESTIONS}")
        if self.marks and not 1 <= self.marks <= MOST_MARKS:
            raise Mistake(f"{self.marks} marks", expected=f"1 to {MOST_MARKS}")
        if len(self.not_again) > MOST_PAST:
            raise Mistake(
                f"{len(self.not_again)} questions that are not to come again",
                expected=f"at most {MOST_PAST}",
                do="Name fewer of the earlier papers.",
            )
        if len(self.lines) > (self.count or MOST_QUESTIONS):
            raise Mistake(f"{len(self.lines)} lines for {self.count} questions", expected="at most one line a question")

    @property
    def short(self) -> bool:
        """Whether a code that is typed by hand can hold all of it."""
        more = (
            self.marks,
            self.topics,
            self.aim,
            self.not_again,
            self.lines,
            self.levels,
            self.telling,
            self.equations != SOME,
        )
        return not any(more)

    @property
    def settled(self) -> bool:
        """Whether every question is fixed."""
        return 0 < len(self.lines) == self.count and all(line.settled for line in self.lines)

    def at(self, level: str) -> Order:
        """The order for one of its levels."""
        return replace(self, level=level, levels=()) if self.levels else self

    @property
    def for_marks(self) -> Order:
        """The order at the level whose marks are those that it names: its own, or the first of several that adds no further part."""
        return self.at(next((level for level in self.levels if level != STRETCH), self.level))

    @property
    def bare(self) -> Order:
        """The order without what was drawn for each version, and without what was not to come again: what its questions rest on."""
        return replace(self, lines=tuple(replace(line, drawn=(), wording="") for line in self.lines), not_again=())

    @property
    def asked(self) -> Order:
        """The order without its lines: what a person would say to have it drawn."""
        return replace(self, lines=())


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """What a person asks for beside the order: title, versions, pupils, forms and sheets.

    `numbers` are each pupil's own, or shared by all who have the same level and version. `files` are joined, a file for each kind of
    sheet, or separate; "" leaves it to what is made: joined for a class and for several levels. `answer_space` is the room to
    write in on a question paper; "none" has the answers written elsewhere. `look` and `tint` are those of what pupils get, where
    a class list says nothing else. `fillable` question papers have fields to type in, as PDF.
    """

    title: str = ""
    front: Front = USUAL_FRONT
    versions: tuple[str, ...] = ("A",)
    pupils: tuple[Pupil, ...] = ()
    numbers: WhoseNumbers = "own"
    files: Files = ""
    answer_space: AnswerSpace = "normal"
    look: Look = "usual"
    tint: Tint = ""
    forms: tuple[str, ...] = ("pdf",)
    sheets: tuple[str, ...] = SHEETS
    fillable: bool = False


USUAL_WISHES = Wanted()
