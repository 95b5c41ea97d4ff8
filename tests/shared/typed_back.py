"""A question and its mark scheme come in; every answer that the scheme prints is typed back in, and marks that differ go out.

The cells of the scheme and of its marking sheet are read (wrong answers, the marks beside them, both ends of every range), written into
a file of answers as a teacher would, and marked against the paper's record as it is written and read again.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from molewright.bank.definitions import Bank
from molewright.chem.quantity import Quantity
from molewright.derivation.worked import base_factor
from molewright.marking.files import slips_of
from molewright.marking.marked import mark_returned
from molewright.marking.returned import read_returned
from molewright.nodes.blocks import Table
from molewright.papers.making import Paper
from molewright.papers.record.writer import record
from molewright.question.check import Question
from molewright.render.text.lines import plain_line
from molewright.sheet.compose import Composer, Setting
from molewright.sheet.further_parts import further_answers
from molewright.sheet.parts import LEVELS, Level, labels, labels_after
from molewright.sheet.wrong_table import wrong_table
from shared.records import record_of

NB = "\N{NO-BREAK SPACE}"


@dataclass(frozen=True)
class Typed:
    """An answer as somebody types it from the scheme: the part, the text, the marks that the scheme prints for it, and what it is."""

    part: str
    text: str
    marks: int
    what: str


def typed_lines(question: Question, composer: Composer, level: Level) -> Iterator[Typed]:
    """Every single answer that the scheme prints, with its marks; `composer` holds this question alone."""
    writer = composer.writers[0]
    named = labels(writer, level)
    after = labels_after(writer, level)
    if question.points:
        last, marks = named[question.points[-1].number], len(question.points)
        accepted = question.worked.accepted
        yield Typed(last, accepted.told, marks, "the right answer")
        for end in dict.fromkeys([accepted.low, accepted.high, *(accepted.before or ())]):
            yield Typed(last, str(end), marks, "an end of the range")
        for family, value in route_answers(question):
            yield Typed(last, str(value), marks, f"by route {family}, rounded on the way")
    for part, label in zip(question.further_parts, after, strict=True):
        if part.equation is not None:
            yield Typed(label, plain_line(further_answers(writer, part)), part.marks, "the right equation")
        for number in dict.fromkeys(part.accepted or ()):
            words = sum(point.in_words for point in part.points)
            yield Typed(
                label, str(Quantity(number, part.unit)), max(1, part.marks - words), "an end of a further range"
            )
    table = wrong_table(writer, 1, level)
    for row in table.rows if table else ():
        text, why, kept = (plain_line(cell.lines[0]) for cell in row)
        label = next((one for one in after if one and f" in {one}" in kept), None)
        if label is None:
            label = after[0] if not question.points else named[question.points[-1].number]
        number = text.removesuffix(" before rounding")
        yield Typed(label, number, int(kept.split()[0]), f"a wrong answer ({why})")


def carried_lines(question: Question, composer: Composer, level: Level) -> Iterator[tuple[list[Typed], int]]:
    """Every wrong equation with the answer that the scheme says it leads to, which earns all marks of the calculation."""
    writer = composer.writers[0]
    named = labels(writer, level)
    for part, label in zip(question.further_parts, labels_after(writer, level), strict=True):
        for wrong in part.equation.wrong if part.equation is not None else ():
            if wrong.leads_to is not None and question.points:
                text = part.equation.asked.written(wrong.reaction) if part.equation else ""
                last = Typed(named[question.points[-1].number], str(wrong.leads_to), 0, f"what {text} leads to")
                yield [Typed(label, text, 0, "a wrong equation"), last], wrong.marks + len(question.points)


def marking_lines(composer: Composer) -> Iterator[tuple[list[Typed], int]]:
    """What the marking sheet prints, part by part, with the marks that it prints for it; `composer` holds this question alone.

    An answer on the way is typed after the right ones of the parts before it, which earn their marks; a last one is typed alone.
    """
    (table,) = (block for block in composer.marking_sheet().blocks if isinstance(block, Table))
    ((_, parts),) = composer.marked.questions
    earlier: list[Typed] = []
    last = max((part.place for part in parts if part.place[0] == 1), default=None)
    whole = sum(part.marks for part in parts if part.place[0] == 1)
    for part, row in zip(parts, table.rows, strict=True):
        label, right, accepted, marks, *_ = (plain_line(cell.lines[0]).replace(NB, " ") for cell in row)
        assert label == f"1{part.label}"
        on_the_way = part.place[0] == 1 and part.place != last
        shown, before = (earlier, len(earlier)) if on_the_way else ([], 0)
        earns = whole if part.place == last else int(marks)
        for text in ends_printed(accepted) if part.place[0] == 1 else ():
            yield [*shown, Typed(part.label, text, 0, "what the marking sheet accepts")], before + earns
        for line in row[4].lines if part.wrong else ():
            found = re.fullmatch(
                r"(.+?)(?: before rounding)?: (\d+)(?: or \d+)?/(\d+)(?: of \(.\) (?:and|to) \(.\))?, (.+)",
                plain_line(line).replace(NB, " "),
            )
            assert found, plain_line(line)
            assert int(found[3]) == (whole if part.place == last else part.marks)
            typed = Typed(part.label, found[1], 0, f"a wrong answer of the marking sheet ({found[4]})")
            yield [*shown, typed], before + int(found[2])
        if on_the_way:
            earlier = [*earlier, *(Typed(part.label, right, 0, "a right part") for _ in range(int(marks)))]


def ends_printed(accepted: str) -> list[str]:
    """The numbers of a range as the marking sheet prints it: "(1.35 to 1.37) × 10⁻³", "21.40 or 21.4", "7 (6.93 to 7.01 ...)"."""
    power = re.fullmatch(r"\((.+) to (.+)\)( × 10\S+)", accepted)
    if power:
        return [f"{power[1]}{power[3]}", f"{power[2]}{power[3]}"]
    return re.split(r" to | or | \(", accepted.removesuffix(" before rounding)"))


def route_answers(question: Question) -> Iterator[tuple[str, Quantity]]:
    """The answer by every other route that holds, exactly worked, to the figures asked for."""
    routes = question.prepared.routes
    for route in routes.routes:
        if route.holds(question.given):
            values = routes.values(question.given, route)
            exact = values[question.worked.plan.asked] * base_factor(question.worked.answer)
            number = question.worked.answer.number
            shown = Quantity(number, question.worked.answer.unit, question.worked.answer.scientific)
            assert question.worked.accepted.holds(exact), f"route {route.family} leads elsewhere"
            yield route.family, shown


def all_parts(question: Question, composer: Composer, level: Level) -> tuple[list[Typed], int]:
    """The right answer of every part of the calculation, and the marks for all of them together."""
    writer = composer.writers[0]
    named = labels(writer, level)
    shown: dict[str, str] = {}
    for point in question.points:
        text = str(point.steps[-1].shown) if point.steps else None
        shown[named[point.number]] = text or str(
            question.draw.given[question.draw.variant.procedure.titrations[-1].titre]
        )
    if question.points:
        shown[named[question.points[-1].number]] = question.worked.accepted.told
    return [Typed(part, text, 0, "a right part") for part, text in shown.items()], len(question.points)


def differences(question: Question, level: Level, bank: Bank, folder: Path) -> tuple[int, list[str]]:
    """How many lines were typed, and every one whose marks are not those that the scheme prints."""
    assert level in LEVELS
    setting = Setting(
        title="Typed back", code="A-TEST-0000", levels=(level,), version="A", fingerprint=bank.fingerprint
    )
    composer = Composer((question,), bank, setting)
    question = composer.questions[0]  # with the parts of this level
    held = record(Paper(code=setting.code, version="A", questions=(question,), composer=composer))
    read = record_of(bank, held)
    assert read.paper("A").marks == held["marks"], "the marks of the paper are not those that it prints"
    pupils = [[one] for one in typed_lines(question, composer, level)]
    expected = [one[0].marks for one in pupils]
    parts, marks = all_parts(question, composer, level)
    if parts:
        pupils.append(parts)
        expected.append(marks)
    for lines, printed in (*marking_lines(composer), *carried_lines(question, composer, level)):
        pupils.append(lines)
        expected.append(printed)
    if not pupils:  # everything is answered in words
        return 0, []
    out = io.StringIO()
    table = csv.writer(out)
    table.writerow(["pupil", "question", "part", "answer"])
    for number, typed in enumerate(pupils):
        table.writerows([f"p{number}", 1, one.part, one.text] for one in {one.part: one for one in typed}.values())
    path = folder / "typed.csv"
    path.write_text(out.getvalue(), "utf-8")
    marked = mark_returned(read_returned(path), read, slips_of(read, bank))
    found = {pupil.name: pupil.total for pupil in marked.pupils}
    where = f"{question.draw.archetype.key}, {level}"
    return len(pupils), [
        f"{where}: {typed[-1].what} '{typed[-1].text}' in part '{typed[-1].part}': "
        f"{found[f'p{number}']} marks where the scheme prints {printed}"
        for number, (typed, printed) in enumerate(zip(pupils, expected, strict=True))
        if found[f"p{number}"] != printed
    ]
