"""Questions come in; what the teacher's copy says of their dangers goes out: by concentration, by substance, by what is told.

Every note is the bank's (hazards.yaml) and defers to the school's own risk assessment. Nothing here judges a danger.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from fractions import Fraction

from molewright.bank.definitions import Bank
from molewright.chem.formula_scripts import unicode_text, with_scripts
from molewright.chem.quantity import Quantity, in_standard_form, to_figures
from molewright.chem.units import Unit
from molewright.experiment import quantities
from molewright.experiment.procedure import Add, Dissolve, Measure, React, Solution, Titrate
from molewright.nodes.blocks import Block, Heading, Items, Paragraph, Together
from molewright.nodes.inline import Line, Text
from molewright.question.check import Question
from molewright.sheet.wording import Words
from molewright.sheet.writer import Writer

_GLASSES = "wear eye protection"  # said of a printed strength; of one that is sought it would tell nobody anything
FIGURES = 2  # of a concentration that the question does not print: enough to tell which note holds


def hazard_notes(questions: tuple[Question, ...], bank: Bank, writer: Writer, words: Words) -> list[Block]:
    """The heading, the notes and the line that hands over to the school's own rules; nothing where there is no note."""
    lines = [*_bottles(questions, bank, writer), *_others(questions, bank, writer)]
    if not lines:
        return []
    foot = Paragraph(words.line("hazards foot"), "note")
    return [Together((Heading(2, words.line("hazards head")), Items(tuple(lines)), foot))]


def _bottles(questions: tuple[Question, ...], bank: Bank, writer: Writer) -> Iterator[Line]:
    """A note for each solution: by its printed concentration, or by the true one where that is what is sought."""
    found: dict[tuple[str, Decimal], tuple[Quantity, bool]] = {}
    for question in questions:
        for solution in _solutions(question):
            sought = quantities.concentration(solution.name)
            printed = question.draw.given.get(sought)
            true: Fraction | None = question.draw.truth.get(sought)
            strength = printed or (_about(true) if true is not None else None)
            if strength is not None:
                found.setdefault((solution.solute, strength.number), (strength, printed is None))
    said: dict[tuple[str, str], list[tuple[Quantity, bool]]] = {}
    for (solute, number), told in sorted(found.items()):
        notes = [note for note in bank.hazards if note.solute == solute and note.least <= number]
        floor = min(notes, key=lambda note: note.least, default=None)
        if floor is not None and not (told[1] and floor.words == _GLASSES and len(notes) == 1):
            said.setdefault((solute, max(notes, key=lambda note: note.least).words), []).append(told)
    for (solute, words), strengths in said.items():
        substance = bank.substances.get(solute)
        name = (substance.solution or substance.name) if substance else f"{unicode_text(solute)} solution"
        (least, _), (most, _) = strengths[0], strengths[-1]  # one line for all of which the same is said
        about = (Text("about "),) if any(hidden for _, hidden in strengths) else ()
        bare = writer.numbers.amount(Quantity(least.number, Unit.NONE, least.scientific))
        span = (bare, Text(" to ")) if least.number != most.number else ()
        yield (*about, *span, writer.numbers.amount(most), Text(f" {name}: {words}"))


def _about(true: Fraction) -> Quantity:
    return Quantity(to_figures(true, FIGURES), Unit.MOL_PER_DM3, in_standard_form(true, Unit.MOL_PER_DM3))


def _solutions(question: Question) -> Iterator[Solution]:
    for operation in question.draw.variant.procedure.operations:
        if isinstance(operation, Measure):
            yield from (operation.solution, *operation.others)
        elif isinstance(operation, Titrate):
            yield operation.titrant


def _others(questions: tuple[Question, ...], bank: Bank, writer: Writer) -> Iterator[Line]:
    """Notes of what is weighed, and of what a stem tells in words."""
    weighed = {
        content.substance
        for question in questions
        for operation in question.draw.variant.procedure.weighings
        for content in operation.contents
    }
    told = " ".join(text for question in questions for text in _told(question, bank))
    for note in bank.hazards:
        if note.weighed in weighed or (note.told and note.told in told):
            yield (
                Text(
                    writer.numbers.in_units(
                        f"{with_scripts(bank.name_of(note.weighed))}: {note.words}" if note.weighed else note.words
                    )
                ),
            )


def _told(question: Question, bank: Bank) -> Iterator[str]:
    if not question.draw.archetype.graph:  # a graph tells the end point instead
        yield question.draw.indicator
    for operation in question.draw.variant.procedure.operations:
        match operation:
            case Add(what=text) | Dissolve(solvent=text):
                yield text
            case React(reactions=reactions):
                yield from (entry.seen for entry in bank.reactions if entry.reaction in reactions)
            case _:
                pass
