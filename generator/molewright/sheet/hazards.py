"""Questions come in; what the teacher's copy says of their dangers goes out: by concentration, by substance, by what is told.

Every note is the bank's (hazards.yaml) and defers to the school's own risk assessment. Nothing here judges a danger.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from fractions import Fraction

from molewright.bank.definitions import Bank, Hazard
from molewright.chem.formula import PLACEHOLDERS, parse_formula
from molewright.chem.formula_scripts import unicode_text, with_scripts
from molewright.chem.masses import relative_mass
from molewright.chem.quantity import Quantity, in_standard_form, to_figures
from molewright.chem.units import Unit
from molewright.experiment import quantities
from molewright.experiment.procedure import Measure, Titrate
from molewright.experiment.solution import Solution
from molewright.nodes.blocks import Block, Heading, Items, Paragraph, Together
from molewright.nodes.inline import Line, Text
from molewright.question.check import Question
from molewright.sheet.dangers import Dangers, told_in
from molewright.sheet.wording import Words
from molewright.sheet.writer import Writer

_GLASSES = "wear eye protection"  # said of a printed strength; of one that is sought it would tell nobody anything
DILUTE = Decimal(2)  # mol dm⁻³: bottles that say "dilute" hold no more; common practice, no source
FIGURES = 2  # of a concentration that the question does not print: enough to tell which note holds


def hazard_notes(questions: tuple[Question, ...], bank: Bank, writer: Writer, words: Words) -> list[Block]:
    """The heading, the notes and the line that hands over to the school's own rules; nothing where there is no note."""
    dangers = Dangers(bank)
    lines = [*_bottles(questions, bank, writer), *_helpers(questions, dangers, writer)]
    lines += [*_weighed(questions, dangers, writer), *_done(questions, dangers, writer)]
    if not lines:
        return []
    foot = Paragraph(words.line("hazards foot"), "note")
    return [Together((Heading(2, words.line("hazards head")), Items(tuple(lines)), foot))]


def _bottles(questions: tuple[Question, ...], bank: Bank, writer: Writer) -> Iterator[Line]:
    """A note for each solution: by its printed concentration, or by the true one where that is what is sought."""
    found: dict[tuple[str, Decimal], tuple[Quantity, bool]] = {}
    for question in questions:
        for solution in _solutions(question):
            printed = question.draw.given.get(quantities.concentration(solution.name))
            strength = printed or _true_strength(question, solution)
            if strength is not None:
                found.setdefault((solution.solute, strength.number), (strength, printed is None))
    said: dict[tuple[str, str], list[tuple[Quantity, bool]]] = {}
    for (solute, number), told in sorted(found.items()):
        notes = [note for note in bank.hazards if note.solute == solute and note.least <= number]
        floor = min(notes, key=lambda note: note.least, default=None)
        if floor is not None and not (told[1] and floor.words == _GLASSES and len(notes) == 1):
            said.setdefault((solute, max(notes, key=lambda note: note.least).words), []).append(told)
    for (solute, words), strengths in said.items():
        name = with_scripts(bottle_name(bank, solute))
        (least, _), (most, _) = strengths[0], strengths[-1]  # one line for all of which the same is said
        about = (Text("about "),) if any(hidden for _, hidden in strengths) else ()
        bare = writer.numbers.amount(Quantity(least.number, Unit.NONE, least.scientific))
        span = (bare, Text(" to ")) if least.number != most.number else ()
        yield (*about, *span, writer.numbers.amount(most), Text(f" {name}: {words}"))


def bottle_name(bank: Bank, solute: str) -> str:
    """The words for the bottle of a solute; its formula where the banks have none."""
    substance = bank.substances.get(solute)
    return (substance.solution or substance.name) if substance else f"{unicode_text(solute)} solution"


def _true_strength(question: Question, solution: Solution) -> Quantity | None:
    """What a bottle holds though it is not printed in mol dm⁻³: by its true concentration, or by its mass concentration."""
    truth = question.draw.truth
    true: Fraction | None = truth.get(quantities.concentration(solution.name))
    by_mass = truth.get(quantities.mass_concentration(solution.name))
    if true is None and by_mass is not None and not parse_formula(solution.solute, PLACEHOLDERS).placeholders:
        true = by_mass / Fraction(relative_mass(solution.solute, "one place"))
    return _about(true) if true is not None else None


def _about(true: Fraction) -> Quantity:
    return Quantity(to_figures(true, FIGURES), Unit.MOL_PER_DM3, in_standard_form(true, Unit.MOL_PER_DM3))


def _solutions(question: Question) -> Iterator[Solution]:
    for operation in question.draw.variant.procedure.operations:
        if isinstance(operation, Measure):
            yield from (operation.solution, *operation.others)
        elif isinstance(operation, Titrate):
            yield operation.titrant


def _helpers(questions: tuple[Question, ...], dangers: Dangers, writer: Writer) -> Iterator[Line]:
    """What is poured in by name, with no strength: every note that may hold, unless the bank speaks of the very words."""
    told = [note for note in dangers.bank.hazards if note.told and not note.beside]
    said: dict[str, None] = {}
    for question in questions:
        for solute, text in dangers.helpers(question.draw.variant):
            name = bottle_name(dangers.bank, solute)
            dilute = told_in(f"dilute {name}", text)
            own = [words for note in told for words in note.told if told_in(words, text) and name in words]
            notes = [one for one in dangers.bank.hazards if one.solute == solute]
            if not own and notes:
                most = DILUTE if dilute else None
                said.setdefault(f"{'dilute ' if dilute else ''}{name}: {_at_any_strength(notes, most)}")
    yield from ((Text(writer.numbers.in_units(one)),) for one in said)


def _at_any_strength(notes: list[Hazard], most: Decimal | None) -> str:
    """The notes of a solute one after the other, each with the strength from which it holds."""
    held = sorted((note for note in notes if most is None or note.least <= most), key=lambda note: note.least)
    return "; ".join(f"from {note.least} mol dm⁻³ {note.words}" if note.least else note.words for note in held)


def _weighed(questions: tuple[Question, ...], dangers: Dangers, writer: Writer) -> Iterator[Line]:
    """What is weighed; one line for all of which the same is said."""
    said: dict[str, dict[str, None]] = {}
    for question in questions:
        for what, note in dangers.weighed(question.draw.variant).items():
            if note is not None:
                said.setdefault(note.words, {}).setdefault(with_scripts(dangers.bank.name_of(what)))
    for words, names in said.items():
        yield (Text(writer.numbers.in_units(f"{', '.join(names)}: {words}")),)


def _done(questions: tuple[Question, ...], dangers: Dangers, writer: Writer) -> Iterator[Line]:
    """What the bank says of words that tell a step, and of gases that are given off."""
    deeds = [
        deed
        for question in questions
        for deed in dangers.deeds(
            question.draw.variant, "" if question.draw.archetype.graph else question.draw.indicator
        )
    ]
    for note in dangers.bank.hazards:
        if (note.freed or note.told) and any(dangers.speaks_of(note, deed) for deed in deeds):
            yield (Text(writer.numbers.in_units(note.words)),)
