"""Sheets of every archetype at every level, composed once for the run, and a walk over their nodes."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import fields, is_dataclass
from functools import cache, cached_property
from typing import Any, TypeVar

import pytest

from molewright.bank.definitions import Archetype, Ask, Bank, Context, Variant
from molewright.chem.conventions import UnitStyle
from molewright.draw.chosen import Chosen
from molewright.draw.stream import Stream
from molewright.errors import Mistake
from molewright.experiment.procedure import Weigh
from molewright.nodes.blocks import Sheet
from molewright.nodes.inline import Amount, Chem, Equation, Gap, Maths, Symbol, Text
from molewright.question.check import Question, Questions
from molewright.render.text import render
from molewright.render.text.lines import plain_line
from molewright.sheet.compose import Composer, Setting
from molewright.sheet.parts import Level

Found = TypeVar("Found")
INLINES = (Text, Amount, Chem, Equation, Symbol, Gap, Maths)
MOST_FORMS = 3  # of an archetype


class Composed:
    """The questions of one archetype and their four sheets, each composed when it is first read."""

    def __init__(self, composer: Composer) -> None:
        self.composer = composer
        self.questions: tuple[Question, ...] = composer.questions

    @cached_property
    def paper(self) -> Sheet:
        return self.composer.question_paper()

    @cached_property
    def scheme(self) -> Sheet:
        return self.composer.mark_scheme()

    @cached_property
    def worked(self) -> Sheet:
        return self.composer.worked_solutions()

    @cached_property
    def answers(self) -> Sheet:
        return self.composer.answers()

    def sheets(self) -> tuple[Sheet, ...]:
        return (self.paper, self.scheme, self.worked, self.answers)


def every_node(value: Any) -> Iterator[Any]:
    """The value and all that it holds, in order."""
    yield value
    if is_dataclass(value) and not isinstance(value, type):
        for field in fields(value):
            yield from every_node(getattr(value, field.name))
    elif isinstance(value, tuple):
        for member in value:
            yield from every_node(member)


def every_line(value: Any) -> Iterator[tuple[Any, ...]]:
    """Every line of inlines in a sheet."""
    for node in every_node(value):
        if isinstance(node, tuple) and node and all(isinstance(piece, INLINES) for piece in node):
            yield node


def questions_of(key: str, bank: Bank, questions: Questions) -> tuple[Question, ...]:
    """Questions of an archetype: some of its forms and all of its asks, with a table of readings and without.

    Nothing is left out: a form that cannot be drawn is an error of every test that reads its sheets.
    """
    archetype = bank.archetypes[key]
    forms = archetype.variants[:: max(1, len(archetype.variants) // MOST_FORMS)]
    made = []
    for index in range(max(len(forms), *(len(form.asks) for form in forms))):
        variant = forms[index % len(forms)]
        ask, context = variant.asks[index % len(variant.asks)], variant.contexts[index % len(variant.contexts)]
        vessel = variant.procedure.titrations[-1].vessel if variant.procedure.titrations else ""
        repeated = vessel and not any(
            isinstance(op, Weigh) and op.vessel == vessel for op in variant.procedure.operations
        )
        tabled = archetype.runs == "table" or (archetype.runs == "either" and index % 2 == 0)
        table = tabled and bool(repeated) and ask.quantity.kind != "titre"
        made.append(first_made(archetype, variant, ask, context, table, questions, f"sheet/{index}"))
    return tuple(made)


def first_made(
    archetype: Archetype, variant: Variant, ask: Ask, context: Context, table: bool, questions: Questions, seed: str
) -> Question:
    """A question with the first indicator that passes; whether all of them do is for the tests of the banks."""
    for indicator in variant.indicators or ("",):
        try:
            return questions.make(
                archetype,
                Stream(seed),
                Chosen(variant=variant, ask=ask, context=context, indicator=indicator, table=table),
            )
        except Mistake as refused:
            last = refused
    raise last


@pytest.fixture(scope="session")
def compose(bank: Bank, questions: Questions) -> Callable[[str, Level, UnitStyle], Composed]:
    """The sheets of an archetype's questions at a level, in a unit style."""
    drawn = cache(lambda key: questions_of(key, bank, questions))

    @cache
    def made(key: str, level: Level, style: UnitStyle) -> Composed:
        all_of_it = drawn(key)
        setting = Setting(
            title="Practice",
            code="A-0000-000",
            levels=(level,) * len(all_of_it),
            version="A",
            style=style,
            fingerprint=bank.fingerprint,
        )
        return Composed(Composer(all_of_it, bank, setting))

    return made


def once_a_sheet(walk: Callable[[Any], Found]) -> Callable[[Any], Found]:
    """What is found in a composed sheet, found once for all tests of a run; a smaller piece is walked each time.

    A sheet is kept with what was found in it, so that its identity is nobody else's meanwhile.
    """
    kept: dict[int, tuple[Sheet, Found]] = {}

    def found(value: Any) -> Found:
        if not isinstance(value, Sheet):
            return walk(value)
        if id(value) not in kept:
            kept[id(value)] = (value, walk(value))
        return kept[id(value)][1]

    return found


@pytest.fixture(scope="session")
def lines_of() -> Callable[[Any], Iterable[tuple[Any, ...]]]:
    """Every line of a sheet or block."""
    return once_a_sheet(lambda value: tuple(every_line(value)))


@pytest.fixture(scope="session")
def said_of() -> Callable[[Any], tuple[str, ...]]:
    """Every line of a sheet as plain text, in the order of lines_of, with plain spaces."""
    return once_a_sheet(
        lambda value: tuple(plain_line(line).replace("\N{NO-BREAK SPACE}", " ") for line in every_line(value))
    )


@pytest.fixture(scope="session")
def text_of() -> Callable[[Sheet], str]:
    """A sheet in the form of plain text."""
    return once_a_sheet(lambda sheet: render(sheet).decode())


@pytest.fixture(scope="session")
def nodes_of() -> Callable[[Any], Iterable[Any]]:
    """Every node of a sheet or block."""
    return once_a_sheet(lambda value: tuple(every_node(value)))
