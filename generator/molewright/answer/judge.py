"""The answers to one question come in; what each earns and why goes out. Right by value, or carried forward from the pupil's own.

A right final answer earns every mark but those of parts that were themselves answered wrongly. An answer stands for its own
mark point and for those before it that were not shown. Numbers are exact; a pupil's rounding is a span.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import Literal

from molewright.answer.accepted import Accepted
from molewright.answer.kept_marks import kept_marks
from molewright.answer.printed import Further, Point, PrintedQuestion, SlipFacts, Slips
from molewright.answer.recognise import NOTHING, Explained, explain
from molewright.answer.spans import Span, exactly, right_by_itself, right_spans, run, run_on
from molewright.answer.written import LEAST_FIGURES, Reading, Unread, Written, half_unit

TWICE_ROUNDED = Fraction(5, 10000)  # to four figures in the working and to three in the answer
SECOND = "a further mistake, after one that was carried on"
ON_TOP = "marks for words are the teacher's"

Verdict = Literal[
    "right",
    "wrong unit",  # the number is right
    "carried forward",
    "rounded too far",
    "nearly right",
    "slip",
    "wrong",
    "no answer",
    "not read",
    "for the teacher",
    "teacher's mark",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """One answer judged: the verdict, the mark points earned and lost by it, those pending with the teacher, and what explains it."""

    verdict: Verdict
    earned: frozenset[int]
    lost: frozenset[int] = frozenset()
    pending: frozenset[int] = frozenset()
    explained: Explained = NOTHING
    note: str = ""


@dataclass(slots=True)
class _Own:
    """What a pupil has shown so far."""

    spans: dict[str, Span] = field(default_factory=dict)
    last: int = 0
    wrong: bool = False  # an answer before this one was wrong


class Judge:
    """Judges answers to one printed question; what is right in it is worked out once."""

    def __init__(self, question: PrintedQuestion, facts: Mapping[str, SlipFacts]) -> None:
        self.question = question
        self.facts = facts
        self.read = {
            part.reads: Span(*(end.in_base for end in part.accepted.ends))
            for part in question.further
            if part.reads and part.accepted is not None
        }
        self.right = right_spans(question.chain, question.known, self.read)
        self.steps = {step.finds: step for step in question.chain}
        self.exact = {**question.known, **{step.finds: step.exact for step in question.chain}}
        self.logarithmic = question.accepted.type == "logarithm"
        self.seen = tuple(one for one in question.slips if not question.accepted.holds(one.gives))

    def judge(self, answers: Mapping[int, Reading]) -> dict[int, Judged]:
        """What each answer earns, by the number of its mark point. The marks of the question are the points earned."""
        judged: dict[int, Judged] = {}
        if not answers:
            return judged
        own = _Own()
        blank: frozenset[int] = frozenset()
        unread: frozenset[int] = frozenset()  # points that only answers which were not read stand for
        for number in sorted(answers):
            reading = answers[number]
            if isinstance(reading, Written):
                found = self._one(self.question.points[number - 1], reading, own)
                gone = found.pending & blank  # nobody has written anything there
                judged[number] = replace(
                    found, lost=(found.lost - unread) | gone, pending=found.pending - gone - unread
                )
                unread -= found.earned
            elif reading is None:
                blank |= {number}
                judged[number] = Judged(verdict="no answer", earned=frozenset())
            else:
                group = frozenset(range(own.last + 1, number + 1)) - unread
                unread |= group
                judged[number] = Judged(verdict="not read", earned=frozenset(), pending=group, note=reading.why)
        last = self.question.points[-1].number
        if last in judged and judged[last].verdict in ("right", "wrong unit"):
            judged = self._all_but_wrong_parts(judged, last)
        shown = frozenset(point for one in judged.values() for point in one.earned | one.lost)
        return {
            number: replace(one, pending=one.pending - shown) if one.pending else one for number, one in judged.items()
        }

    def _all_but_wrong_parts(self, judged: dict[int, Judged], last: int) -> dict[int, Judged]:
        """A right final answer shows the whole route; only a part that was answered wrongly on its own line stays lost."""
        owners = {point.part: point.number for point in self.question.points}  # the last point of each part
        lost = {
            number
            for number, one in judged.items()
            if number != last and (one.verdict in ("wrong", "slip", "nearly right") or number in one.lost)
            and owners[self.question.points[number - 1].part] == number
        }  # fmt: skip
        spread = dict(judged)
        taken: set[int] = set()
        for number in sorted(judged):
            one = judged[number]
            if one.verdict not in ("no answer", "not read"):
                group = {point.number for point in self.question.points if point.number <= number} - taken
                taken |= group
                gone = frozenset({number} & lost) | (one.lost if number == last else frozenset())
                spread[number] = Judged(
                    verdict=one.verdict,
                    earned=frozenset(group) - gone,
                    lost=gone,
                    explained=one.explained,
                    note=one.note,
                )
        return spread

    def _one(self, point: Point, written: Written, own: _Own) -> Judged:
        group = frozenset(range(own.last + 1, point.number + 1))
        unit = self.question.unit_of(point)
        fitted = written.in_unit(unit)
        here = fitted or replace(written, unit=unit)
        final = point is self.question.points[-1]
        found = self._final(point, here, own, group) if final else self._step(point, here, own, group)
        own.last = point.number
        own.wrong |= found.verdict in ("wrong", "slip", "nearly right", "carried forward")
        own.spans[point.finds] = self._carried(point, here)
        if fitted is None:
            gone = found.lost | {point.number}
            note = f"the unit {written.unit} does not fit, {unit or 'none'} is asked for"
            verdict: Verdict = "wrong unit" if found.verdict == "right" else found.verdict
            return replace(
                found,
                verdict=verdict,
                earned=found.earned - gone,
                lost=gone,
                pending=found.pending - gone,
                note=note,
            )
        return found

    def _carried(self, point: Point, written: Written) -> Span:
        """What a pupil may have carried on with: 0.05 that stands for 0.0500 is not taken for 0.045 to 0.055."""
        base = self._base(point)
        exact = self.exact[point.finds] / base
        half = written.half
        least = half_unit(exact, LEAST_FIGURES)
        if abs(written.number - exact) <= least:
            half = min(half, least)
        return Span((written.number - half) * base, (written.number + half) * base)

    def _base(self, point: Point) -> Fraction:
        """How many base units one unit of the point's answer is."""
        return self.question.unit_of(point).factor

    # ------------------------------------------------------------ a step on the way

    def _step(self, point: Point, written: Written, own: _Own, group: frozenset[int]) -> Judged:
        exact = self.exact[point.finds]
        base = self._base(point)
        most = half_unit(exact / base, LEAST_FIGURES if point.mean else LEAST_FIGURES - 1)
        most = max(most, half_unit(written.number, LEAST_FIGURES))  # of a value far from it, three figures are its own
        half = min(written.half, most) if most else written.half
        shown = Span((written.number - half) * base, (written.number + half) * base)
        near = self._near(point)
        if near.meets(shown):
            return Judged(verdict="right", earned=group)
        rests = bool(own.last) and not self._rested(point.finds, own).isdisjoint(own.spans)
        if not (rests or point.mean) and self.right[point.finds].meets(shown):
            return Judged(
                verdict="right", earned=group
            )  # whose lines before it are not shown, may have rounded each of them
        if own.last and (self._follows(point, shown, own) or (rests and self._converted_first(point, shown, own))):
            return Judged(verdict="carried forward" if own.wrong else "right", earned=group)
        if rests and own.wrong:
            explained = self._second(point, shown, own, group)
            if explained.found != "none":
                return self._slip(explained, group, frozenset({point.number}), SECOND)
        ends = [run_on(self.question.chain, self.exact, point.finds, end) for end in shown]
        if written.figures >= LEAST_FIGURES - 1 and None not in ends:
            numbers = sorted(end / self._answer_base for end in ends if end is not None)
            explained = explain(Span(*numbers), self.seen, self.facts, group, logarithmic=self.logarithmic)
            if explained.found != "none":
                return self._slip(explained, group, frozenset({point.number}))
        return wrong_by(NOTHING, self.facts, group, frozenset({point.number}))

    def _slip(self, explained: Explained, group: frozenset[int], last: frozenset[int], note: str = "") -> Judged:
        found = wrong_by(explained, self.facts, group, last)
        return replace(found, note="; ".join(filter(None, (note, found.note))))

    def _near(self, point: Point) -> Span:
        """What is right whatever stands before it; of a mean its own value alone."""
        if point.mean:
            return exactly(self.exact[point.finds])
        return right_by_itself(self.steps[point.finds], self.right[point.finds])

    def _follows(self, point: Point, shown: Span, own: _Own) -> bool:
        reached = self._reached(point, own).get(point.finds)
        logarithmic = self.logarithmic and point is self.question.points[-1]
        return reached is not None and reached.moved(TWICE_ROUNDED, logarithmic).meets(shown)

    def _converted_first(self, point: Point, shown: Span, own: _Own) -> bool:
        """Whether a value follows from the two that were subtracted, each of them converted, and rounded, before the subtraction."""
        for name in self._rested(point.finds, own) & own.spans.keys():
            made = self.steps.get(name)
            if made is None or made.relation is None or made.relation.form != "sum" or not self.exact[name]:
                continue
            before = _Own({one: span for one, span in own.spans.items() if one != name}, own.last, own.wrong)
            reached = self._reached(point, before)
            found = reached.get(point.finds)
            factor = abs(self.exact[point.finds] / self.exact[name])
            rounding = sum(
                half_unit(abs(reached[part].low) * factor, LEAST_FIGURES) for part in made.rests_on if part in reached
            )
            if found is not None and Span(found.low - rounding, found.high + rounding).wider(TWICE_ROUNDED).meets(
                shown
            ):
                return True
        return False

    def _reached(self, point: Point, own: _Own) -> dict[str, Span]:
        """What the chain comes to at a point from the pupil's own values."""
        printed = {name: exactly(number) for name, number in self.question.known.items()}
        return run(self.question.chain, {**printed, **self.read, **own.spans}, point.finds)

    def _rested(self, finds: str, own: _Own) -> frozenset[str]:
        """All quantities that a step is worked from, as far back as the pupil's own."""
        found = set(self.steps[finds].rests_on) if finds in self.steps else set()
        left = list(found)
        while left:
            name = left.pop()
            if name not in own.spans and name in self.steps:
                more = set(self.steps[name].rests_on) - found
                found |= more
                left += more
        return frozenset(found)

    def _second(self, point: Point, shown: Span, own: _Own, group: frozenset[int]) -> Explained:
        """What explains a value that does not follow from the pupil's own: a further mistake, after one that was carried on.

        Where only products lie between, the first mistake is taken out again as a factor; at a sum, what was written may be one of
        its parts. The name is never more than possible.
        """
        reached = self._reached(point, own)
        chain, exact = self.question.chain, self.exact
        hidden = self._rested(point.finds, own) - own.spans.keys()
        between = [self.steps[name] for name in (*hidden, point.finds) if name in self.steps]
        sums = [step for step in between if step.relation is None or step.relation.form == "sum"]
        mine = reached.get(point.finds)
        if mine is None or mine.low <= 0 <= mine.high or sums not in ([], [self.steps[point.finds]]):
            return NOTHING
        tried = [Span(*sorted(end * exact[point.finds] / (mine.low + mine.high) * 2 for end in shown))]
        if sums:
            parts = sums[0].rests_on
            tried = [
                exactly(exact[name])
                for name in parts
                if name in reached and reached[name].wider(TWICE_ROUNDED).meets(shown)
            ]
        for one in tried:
            ends = [run_on(chain, exact, point.finds, end) for end in one]
            if None not in ends:
                numbers = sorted(end / self._answer_base for end in ends if end is not None)
                found = explain(Span(*numbers), self.seen, self.facts, group, logarithmic=self.logarithmic)
                if found.found != "none":
                    return replace(found, found="possible" if found.found == "unique" else found.found)
        return NOTHING

    @property
    def _answer_base(self) -> Fraction:
        return self._base(self.question.points[-1])

    # ------------------------------------------------------------ the final answer

    def _final(self, point: Point, written: Written, own: _Own, group: frozenset[int]) -> Judged:
        accepted, base = self.question.accepted, self._answer_base
        last = frozenset({point.number})
        found = right_or_rounded(accepted, written, group, last)
        if found is not None:
            return found
        if own.last and self._follows(point, Span(written.low * base, written.high * base), own):
            if own.wrong:
                return Judged(verdict="carried forward", earned=group)
            return Judged(verdict="rounded too far", earned=group - last, lost=last, note="rounded too early")
        full = accepted.short_of(written) <= 0
        if own.wrong and full and not self._rested(point.finds, own).isdisjoint(own.spans):
            explained = self._second(point, Span(written.low * base, written.high * base), own, group)
            if explained.found != "none":
                return self._slip(explained, group, last, SECOND)
        return wrong_alone(accepted, written, self.seen, self.facts, group, last)


def right_or_rounded(
    accepted: Accepted, written: Written, group: frozenset[int], last: frozenset[int]
) -> Judged | None:
    """The verdict on a final answer that is right, or right but for its figures; None for any other."""
    if accepted.is_right(written):
        return Judged(verdict="right", earned=group)
    if accepted.short_of(written) != 1 or accepted.settled or not written.low <= accepted.exact <= written.high:
        return None
    note = "too few decimal places" if accepted.type == "logarithm" else "fewer than three figures"
    return Judged(verdict="rounded too far", earned=group - last, lost=last, note=note)


def wrong_alone(
    accepted: Accepted,
    written: Written,
    seen: Sequence[Slips],
    facts: Mapping[str, SlipFacts],
    group: frozenset[int],
    last: frozenset[int],
) -> Judged:
    """What a wrong final answer earns that follows from nothing shown before it: by the slips that explain it, or by being near.

    The mark scheme prints, beside each common wrong answer, what this pays for it.
    """
    written = written.before or written
    shown = written.to_at_most(accepted.answer.figures)
    short = accepted.short_of(written)
    if short <= 1 or accepted.settled:
        logarithmic = accepted.type == "logarithm"
        explained = explain(Span(shown.low, shown.high), seen, facts, group, logarithmic=logarithmic)
        if explained.found != "none":
            return wrong_by(explained, facts, group, last)
    if short <= 0 and accepted.is_near(written):
        return Judged(
            verdict="nearly right",
            earned=group - last,
            lost=last,
            note="close to the right answer: rounding or arithmetic",
        )
    return wrong_by(NOTHING, facts, group, last)


def wrong_by(
    explained: Explained, facts: Mapping[str, SlipFacts], group: frozenset[int], last: frozenset[int]
) -> Judged:
    """A wrong answer with the marks that it keeps, loses or leaves pending by what explains it."""
    kept = kept_marks(explained, facts, group, last)
    return Judged(
        verdict="wrong" if explained.found == "none" else "slip",
        earned=kept.earned,
        lost=kept.lost,
        pending=kept.pending,
        explained=explained,
        note=kept.note,
    )


def judge_further(part: Further, reading: Reading) -> tuple[Verdict, int, str]:
    """Verdict, marks and note for a part after the calculation: by its accepted numbers, or left to the teacher."""
    if reading is None:
        return "no answer", 0, ""
    if part.accepted is None:
        return "for the teacher", 0, "this part is answered in words"
    if isinstance(reading, Unread):
        return "not read", 0, reading.why
    fitted = reading.in_unit(part.unit)
    if fitted is None:
        return "wrong", 0, f"the unit {reading.unit} does not fit, {part.unit or 'none'} is asked for"
    on_top = ON_TOP if part.words else ""
    if part.accepted.is_right(fitted):
        return "right", part.marks, on_top
    for wrong in part.wrong:
        if abs(fitted.number - wrong.gives) <= fitted.half:
            return "slip", wrong.marks, on_top
    return "wrong", 0, "there may be marks for its working"
