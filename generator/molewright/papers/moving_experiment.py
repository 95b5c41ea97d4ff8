"""A described experiment whose numbers may move and the name of a version come in; its question with other numbers goes out.

The truth is moved and performed on the bench (`solve/other_numbers`); then the text with the new numbers is proved and judged as if
somebody had written it, so that nothing is printed of a version that is not printed of an experiment.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from molewright.chem.quantity import Quantity
from molewright.draw.stream import Stream
from molewright.errors import Mistake, Where
from molewright.experiment.quantities import Name
from molewright.experiment.quantity_texts import texts_of
from molewright.order.lines import OrderLine
from molewright.papers.own_experiment import OwnExperiment, experiment_text, own_experiment
from molewright.question.check import Questions
from molewright.question.own_numbers import OwnQuestion, numbers_of
from molewright.solve.moves import Moves, moves_of, told_moves
from molewright.solve.other_numbers import numbers_named, other_numbers, renumbered

MOST_PROVED = 40  # sets of numbers of which the least unusual is taken
FIRST_PROVED = 8  # of them, after which one that is not more unusual than what is written will do


@dataclass(frozen=True, slots=True, kw_only=True)
class MovingExperiment:
    """An experiment of a line, what of it may move, and the line itself with that written out."""

    line: OrderLine
    own: OwnExperiment
    moves: Moves

    def question(self, questions: Questions, version: str, stream: Stream) -> OwnQuestion:
        """The question of a version: as it is written, as it was drawn before, or with numbers of its own from a stream."""
        kept = self.line.drawn_for(version)
        if version in self.line.as_written or (kept and dict(kept) == dict(numbers_of(self.own.made.question))):
            return self.own.made
        if kept:
            return self._with(questions, numbers_named(self.own.proved, kept), stream)
        return self._best(questions, stream)

    def _best(self, questions: Questions, stream: Stream) -> OwnQuestion:
        """The first numbers that make a question with nothing unusual in it, or the least unusual of many."""
        unusual = len(self.own.made.unusual)
        best: OwnQuestion | None = None
        for tried, numbers in enumerate(self._numbers(stream)):
            try:
                found = self._with(questions, numbers, stream)
            except Mistake:
                continue  # such numbers cannot be: more than all of a sample, below nothing
            if found.question.form != self.own.made.question.form:
                continue
            if best is None or len(found.unusual) < len(best.unusual):
                best = found
            if not best.unusual or tried >= MOST_PROVED or (tried >= FIRST_PROVED and len(best.unusual) <= unusual):
                break
        if best is None:
            raise Mistake(
                "no numbers within these ranges make a question",
                expected="wider ranges, or titres that these numbers lead to",
                where=(self.line.where or Where("order")).under("moves"),
            )
        return best

    def _numbers(self, stream: Stream) -> Iterator[dict[Name, str]]:
        """Sets of numbers, none of them as it is written."""
        for numbers in other_numbers(self.own.proved, self.moves, stream):
            if any(numbers[name] != written for name, written in self.own.proved.given.items()):
                yield {name: _written(number) for name, number in numbers.items()}

    def _with(self, questions: Questions, numbers: dict[Name, str], stream: Stream) -> OwnQuestion:
        words = self.own.words
        line = replace(
            self.line,
            experiment=renumbered(self.line.experiment, self.own.proved, numbers, stream.branch("runs")),
            own_stem="\n".join(words.stem) if self.line.own_stem else "",
            own_task=words.task,
        )
        return own_experiment(questions, line, experiment_text(self.line)).made


def moving_experiment(line: OrderLine, own: OwnExperiment) -> MovingExperiment:
    """The experiment with what may move settled and written out. Raises Mistake, at the line, where it cannot be moved so."""
    where = (line.where or Where("order")).under("moves")
    moves = moves_of(own.proved, line.moves, where)
    names = texts_of(own.proved.given)
    moved = [name for name in own.words.untold if name in moves.choices or name in moves.titres]
    read = own.proved.procedure.titrations[-1].titre if own.proved.runs else None
    lacking = [names[name] for name in moved if name != read]
    if line.own_stem and lacking:
        raise Mistake(
            f"the words do not tell what moves: {', '.join(lacking)}",
            expected=f"'{{{lacking[0]}}}' where the number belongs, or the number as the procedure has it",
            where=(line.where or Where("order")).under("words"),
        )
    return MovingExperiment(line=replace(line, moves=told_moves(own.proved, moves)), own=own, moves=moves)


def _written(number: Quantity) -> str:
    """A number as a description has it."""
    return f"{number.number_text} {number.unit}".strip()
