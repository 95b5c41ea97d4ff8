"""Classes of solving pupils: papers are drawn, printed, answered with habits and slips, marked, and held against the printed rule."""

from __future__ import annotations

import csv
import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Literal

from molewright.bank.definitions import Bank
from molewright.derivation.plans import Plans
from molewright.draw.stream import Stream
from molewright.marking.files import mark_answers
from molewright.marking.marked import MarkedClass, MarkedPupil
from molewright.order.order import Wanted
from molewright.papers.answers import places
from molewright.papers.choosing import new_order
from molewright.papers.making import Paper, PaperMaker
from molewright.papers.record.writer import record
from molewright.question.check import Questions
from molewright.render import renderer
from shared.records import write_record
from shared.solving_pupils import NEAR, Facts, Read, Way, read_paper, understood
from shared.unlike_numbers import rounded, spelt, unit_of

PUPILS = 28
CLEAR = 0.05  # a slip moves the number by more than any rounding does
SHARE_EQUAL, SHARE_NAMED, SHARE_WRONGLY_SURE = 0.99, 0.90, 0.02
Plan = Literal["right", "arithmetic", "swapped", "blank", "given up", "mistake", "final only", "final slipped"]
PLANS: tuple[Plan, ...] = (
    "right",
    "arithmetic",
    "swapped",
    "blank",
    "given up",
    "mistake",
    "final only",
    "final slipped",
)

MISTAKES: Mapping[str, tuple[str, ...]] = {
    "cm³ not turned into dm³": ("dm³", "cm³"),
    "ratio ignored": ("ratio", "two together", "proton", "ions"),
    "ratio upside down": ("ratio", "upside down"),
    "portion taken for the whole": ("portion", "aliquot", "flask", "dilution"),
    "left over taken as reacted": ("left-over", "left over", "subtract"),
    "added taken as reacted": ("added", "subtract", "left over", "left-over", "total", "excess"),
    "rough titre in the mean": ("rough",),
}
"""Mistakes as a teacher would tell them, and words of which one stands in whatever names them rightly."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Answered:
    """What one pupil writes to one question, and what it is worth by the printed rule."""

    pupil: str
    question: int
    plan: Plan
    written: Mapping[str, str]
    worth: int
    mistake: str = ""
    at: str = ""  # the part that the slip is made in


@dataclass(slots=True)
class Tally:
    """What was found over all classes."""

    counts: Counter[str] = field(default_factory=Counter)
    differences: list[str] = field(default_factory=list)

    def told(self) -> Iterator[str]:
        """Every figure, and the differences before them."""
        yield from self.differences[:60]
        yield from (f"{what}: {number}" for what, number in sorted(self.counts.items()))
        for what, part, whole in (
            ("marks equal", "equal", "questions"),
            ("named among two", "named", "mistakes"),
            ("sure and wrong", "wrongly sure", "mistakes"),
            ("understood", "understood", "printed"),
        ):
            if self.counts[whole]:
                yield f"{what}: {self.counts[part]} of {self.counts[whole]} ({self.counts[part] / self.counts[whole]:.2%})"


def bounds_missed(tally: Tally) -> list[str]:
    """A sentence for each bound that does not hold."""
    of = tally.counts
    held = {
        "fewer than 99 % of marks are those of the printed rule": of["equal"] >= SHARE_EQUAL * of["questions"] > 0,
        "a mark is too high": not of["too high"],
        "fewer than 90 % of mistakes are among two names": of["named"] >= SHARE_NAMED * of["mistakes"] > 0,
        "more than 2 % of names are sure and wrong": of["wrongly sure"] <= SHARE_WRONGLY_SURE * of["mistakes"],
    }
    return [told for told, right in held.items() if not right]


def run_classes(bank: Bank, plans: Plans, folder: Path, seeds: Sequence[int], count: int) -> Tally:
    """So many classes, each with a paper of its own."""
    tally = Tally()
    questions = Questions(bank, plans)
    for seed in seeds:
        maker = PaperMaker(bank, replace(new_order(bank, (), count, seed), level="structured"), plans, questions)
        paper = maker.paper(Wanted(), "A")
        held = record(paper)
        at = folder / str(seed)
        at.mkdir()
        write_record(maker, at, [held], "class")
        answered = list(_class(paper, held, Stream(f"pupils/{seed}"), tally))
        if answered:
            _compare(_marked(at, held["code"], answered, bank, plans), answered, seed, tally)
    return tally


def _class(paper: Paper, held: Mapping[str, object], stream: Stream, tally: Tally) -> Iterator[Answered]:
    text = renderer("text").render(paper.composer.question_paper()).decode()
    printed: dict[int, dict[str, str]] = {}
    for place in places(held):
        printed.setdefault(place.question, {})[place.part] = place.right
    for read in read_paper(text):
        tally.counts["printed"] += 1
        known = understood(read, printed.get(read.number, {}))
        if known is None:
            continue
        tally.counts["understood"] += 1
        for number in range(PUPILS):
            pupil = _Pupil(
                f"Pupil {number}", stream.branch(f"{read.number}/{number}"), read, known, printed[read.number]
            )
            yield pupil.answered(PLANS[(number + read.number) % len(PLANS)])


class _Pupil:
    """One pupil at one question."""

    def __init__(
        self, name: str, stream: Stream, read: Read, known: Mapping[str, Way], printed: Mapping[str, str]
    ) -> None:
        self.name = name
        self.stream = stream
        self.read = read
        self.known = known
        self.printed = printed
        self.facts = Facts(read)
        self.figures = stream.pick([3, 4, 4, 5, 6])
        self.carries = self.figures > 3 and stream.chance(50)  # the calculator's value from step to step

    def answered(self, plan: Plan) -> Answered:
        """The question answered, with the slip that was planned where this question has room for it."""
        letters = list(self.known)
        mistake, at, wrong = "", "", None
        if plan in ("arithmetic", "swapped", "blank", "given up", "final slipped"):
            at = self.stream.pick(letters)
        if plan in ("mistake", "final only"):
            every = list(self._mistakes())
            if every:
                mistake, at, wrong = self.stream.pick(every)
            else:
                plan = "right"
        exact: dict[str, float] = {}
        written: dict[str, str] = {}
        worth: set[str] = set()
        for letter in letters:
            value = self.known[letter].value(exact)
            slipped = value
            if letter == at and plan in ("arithmetic", "final slipped"):
                slipped = value * self.stream.pick([0.5, 0.62, 1.3, 1.75, 2.4])
            elif letter == at and plan == "swapped":
                slipped = self._swapped(value)
            elif wrong is not None and letter == at:
                slipped = wrong.value(exact)
            clear = CLEAR / 3 if mistake == "rough titre in the mean" else CLEAR
            if abs(slipped / value - 1) > clear if value else slipped != value:
                value = slipped
            else:
                worth.add(letter)
            shown, written[letter] = self._written(letter, value)
            exact[letter] = value if self.carries else shown
        last, right = letters[-1], self._right()
        if plan in ("final only", "final slipped") and abs(exact[last] / right[last] - 1) <= NEAR:
            worth = set(letters)  # the slip was made where nothing comes of it: a right final answer earns all
        return self._with_blanks(plan, at, mistake, written, worth)

    def _right(self) -> dict[str, float]:
        """Every part without a slip and without rounding."""
        found: dict[str, float] = {}
        for letter, way in self.known.items():
            found[letter] = way.value(found)
        return found

    def _with_blanks(self, plan: Plan, at: str, mistake: str, written: dict[str, str], worth: set[str]) -> Answered:
        letters = list(written)
        blank: list[str] = []
        if plan == "blank" and at != letters[-1]:
            blank = [at]  # the right final answer pays for it
        elif plan in ("blank", "given up"):
            blank = letters[letters.index(at) :]
        elif plan in ("final only", "final slipped"):
            blank = letters[:-1]
        for letter in blank:
            written.pop(letter)
        paid = letters[-1] in written and worth == set(letters)
        earned = len(worth) if plan in ("final only", "final slipped") else len(worth if paid else worth - set(blank))
        return Answered(
            pupil=self.name,
            question=self.read.number,
            plan=plan,
            written=written,
            worth=earned,
            mistake=mistake,
            at=at,
        )

    def _mistakes(self) -> Iterator[tuple[str, str, Way]]:
        """Every mistake that the question has room for: what it is, where it is made, how the part is then worked."""
        for letter, way in self.known.items():
            if not way.sure:
                continue
            named = dict(way.factors)
            own = way.factors
            if "to dm³" in named:
                yield "cm³ not turned into dm³", letter, replace(way, factors=_but(own, "to dm³", 1.0))
            if "ratio" in named:
                yield "ratio ignored", letter, replace(way, factors=_but(own, "ratio", 1.0))
                yield "ratio upside down", letter, replace(way, factors=_but(own, "ratio", 1 / named["ratio"]))
            if "scale" in named and "amount" in self._text(letter):
                yield "portion taken for the whole", letter, replace(way, factors=_but(own, "scale", 1.0))
            if way.minus and re.search("react|used", self._text(letter)):
                yield "left over taken as reacted", letter, Way((), (way.minus,))
                yield "added taken as reacted", letter, Way((), way.uses)
            if "mean" in named and self.facts.mean is not None:
                near = [one for one in self.facts.runs if abs(one - self.facts.mean) <= 0.1]
                rough = (sum(near) + self.facts.runs[0]) / (len(near) + 1)
                if abs(rough / self.facts.mean - 1) > CLEAR / 3:
                    yield "rough titre in the mean", letter, Way((("mean", rough),))

    def _text(self, letter: str) -> str:
        return next(part.text for part in self.read.parts if part.letter == letter)

    def _swapped(self, value: float) -> float:
        """Two of its first figures the other way round."""
        mantissa, _, power = f"{value:.4e}".partition("e")
        digits = list(mantissa.replace(".", ""))
        digits[0], digits[1] = digits[1], digits[0]
        return float(f"{digits[0]}.{''.join(digits[1:])}e{power}")

    def _written(self, letter: str, value: float) -> tuple[float, str]:
        """The number as the pupil has it on paper, and as it is written there."""
        unit = unit_of(self.printed[letter])
        unit = f" {unit}" if self.stream.chance(50) and unit else ""
        if "mean of the concordant" in self._text(letter):
            return value, f"{value:.2f}{unit}"
        figures = 3 if letter == list(self.known)[-1] else self.figures
        return rounded(value, figures), f"{spelt(value, figures, self.stream.pick([0, 1, 2, 3]))}{unit}"


def _but(factors: Sequence[tuple[str, float]], name: str, number: float) -> tuple[tuple[str, float], ...]:
    return tuple((one, number if one == name else held) for one, held in factors)


def _marked(folder: Path, code: str, answered: Sequence[Answered], bank: Bank, plans: Plans) -> MarkedClass:
    with (folder / "answers.csv").open("w", newline="", encoding="utf-8") as file:
        out = csv.writer(file)
        out.writerow(["paper code", "pupil", "question", "part", "answer"])
        for one in answered:
            for letter, text in (one.written or {one.at: ""}).items():
                out.writerow([code, one.pupil, one.question, letter, text])
    (path,) = folder.glob("*-record*.jsonl")
    return mark_answers(folder / "answers.csv", bank, plans, path)[0]


def _compare(marked: MarkedClass, answered: Sequence[Answered], seed: int, tally: Tally) -> None:
    pupils = {pupil.name: pupil for pupil in marked.pupils}
    for one in answered:
        pupil = pupils[one.pupil]
        got, waiting = pupil.marks.get(one.question, 0), pupil.pending.get(one.question, 0)
        if one.plan in ("final only", "final slipped"):
            _final_only(one, got, waiting, tally)
        else:
            tally.counts["questions"] += 1
            tally.counts["equal"] += got == one.worth and not waiting
            tally.counts["too high"] += got > one.worth
            tally.counts["too low"] += got + waiting < one.worth
            tally.counts["pending"] += bool(waiting)
            if got != one.worth or waiting:
                tally.differences.append(
                    f"seed {seed}, question {one.question}, {one.pupil}, {one.plan} {one.mistake} in ({one.at}): "
                    f"{got} and {waiting} pending for {one.worth}: {dict(one.written)}"
                )
        if one.plan == "mistake":
            _named(one, marked, pupil, seed, tally)


def _final_only(one: Answered, got: int, waiting: int, tally: Tally) -> None:
    """Of a wrong final answer alone: whether the marks that it keeps are given, or wait for the teacher, or are lost."""
    if got != one.worth:
        tally.differences.append(
            f"{one.plan}, {one.mistake}: {dict(one.written)}: {got} and {waiting} pending for {one.worth}"
        )
    told = "kept" if got == one.worth else "waiting" if got <= one.worth <= got + waiting else "lost"
    tally.counts[f"{one.plan}: {told if got <= one.worth else 'too high'}"] += 1
    tally.counts["too high"] += got > one.worth


def _named(one: Answered, marked: MarkedClass, pupil: MarkedPupil, seed: int, tally: Tally) -> None:
    """Whether the mistake is among the first two names that are printed, and whether a name that is not it is printed as certain."""
    here = next(row for row in pupil.answers if row.row.question == one.question and row.row.part == one.at)
    names = [" and ".join(marked.slips[key].name for key in keys) for keys in here.explained.keys]
    words = MISTAKES[one.mistake]
    right = any(word in name.casefold() for name in names[:2] for word in words)
    tally.counts["mistakes"] += 1
    tally.counts["named"] += right
    tally.counts["wrongly sure"] += here.explained.found == "unique" and not right
    if not right:
        tally.counts[f"not named: {one.mistake}"] += 1
        tally.differences.append(
            f"seed {seed}, question {one.question}({one.at}), {one.mistake}: {one.written[one.at]} is called {names or 'nothing'} "
            f"({here.explained.found}, {here.verdict})"
        )
