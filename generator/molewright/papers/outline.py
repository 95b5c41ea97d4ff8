"""A set of papers comes in; what its maker wants to see of each question goes out, and what the whole comes to."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace

from molewright.bank.definitions import Bank
from molewright.chem.formula_scripts import with_scripts
from molewright.derivation.plans import Plans
from molewright.experiment.quantity_texts import Numbers, texts_of
from molewright.order.lines import OrderLine
from molewright.order.order import Order, Wanted
from molewright.papers.changing import with_numbers_fixed
from molewright.papers.copies import Copy
from molewright.papers.making import Paper, PaperMaker
from molewright.papers.own_experiment import KEY
from molewright.papers.sets import PaperSet
from molewright.papers.slots import FIRST
from molewright.question.check import Question
from molewright.render import counted

MOST_MISTAKES_TOLD = 3
OWN_TOPIC = "of your own"


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlined:
    """One question: its number, what it is, at which level, its marks, what it asks for, and the commonest mistakes that show in it."""

    number: int
    title: str
    topic: str
    level: str
    marks: int
    asked: str = ""
    shows: tuple[str, ...] = ()
    fixed: int = 0  # numbers of the teacher's own


@dataclass(frozen=True, slots=True, kw_only=True)
class Outline:
    """The questions of a paper, and its marks, minutes, and how many questions there are of each topic."""

    questions: tuple[Outlined, ...]
    marks: int
    minutes: int
    topics: tuple[tuple[str, int], ...]
    notes: tuple[str, ...]


def outline(papers: PaperSet, copy: Copy) -> Outline:
    """What stands on the paper of a copy, and what is to be known of the whole set. Raises Mistake for numbers that cannot be."""
    paper = papers.paper(copy)
    composer = paper.composer
    found = {
        number: Outlined(number=number, title=_one_line(asked.text), topic=OWN_TOPIC, level="", marks=asked.marks)
        for number, asked in composer.teachers.items()
    }
    for number, question, level in zip(composer.numbers, paper.questions, paper.levels, strict=True):
        found[number] = _outlined(papers.order.lines[number - 1], number, question, level)
    questions = tuple(found[number] for number in sorted(found))
    maker = papers.makers[copy.level]
    stretched = [f"without a stretch part, so in exam style as it stands: {key}" for key in maker.unstretched]
    return Outline(
        questions=questions,
        marks=composer.marks,
        minutes=composer.minutes,
        topics=tuple(Counter(one.topic for one in questions).items()),
        notes=(*(f"unusual, and printed all the same: {told}" for told in maker.unusual), *stretched),
    )


def pages(paper: Paper) -> int:
    """How many pages the question paper has as PDF."""
    return counted("pdf", paper.composer.question_paper())[1]


def _outlined(line: OrderLine, number: int, question: Question, level: str) -> Outlined:
    archetype = question.draw.archetype
    wrong = [slip.name for one in question.mistakes.wrong if not one.hidden for slip in one.slips]
    return Outlined(
        number=number,
        title=with_scripts(archetype.title),
        topic=OWN_TOPIC if archetype.key == KEY else archetype.topic,
        level=level,
        marks=question.marks,
        asked=_shown(question.draw.ask.quantity.text) if archetype.calculated else "",
        shows=tuple(dict.fromkeys(wrong))[:MOST_MISTAKES_TOLD],
        fixed=len(line.numbers),
    )


def _shown(name: str) -> str:
    """The name of a quantity with its figures raised and lowered."""
    return with_scripts(name).replace("cm3", "cm³").replace("dm3", "dm³")


def _one_line(text: str) -> str:
    return " ".join(text.split())


# ------------------------------------------------------------------ numbers of one's own


@dataclass(frozen=True, slots=True, kw_only=True)
class NumberField:
    """One number that a question tells: what it is of, as it is named and as it is shown, how it stands there now, its unit,
    and whether it is the teacher's own."""

    name: str
    shown: str
    number: str
    unit: str
    fixed: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Tried:
    """What own numbers come to: the answer, and what is unusual in them, a sentence each."""

    asked: str
    answer: str
    unusual: tuple[str, ...]


def number_fields(papers: PaperSet, number: int) -> tuple[NumberField, ...]:
    """The numbers that a question of the first paper tells; () for one in a teacher's own words."""
    question = _question(papers.paper(papers.copies[0]), number)
    if question is None:
        return ()
    fixed = dict(papers.order.lines[number - 1].numbers)
    told = texts_of(question.system.variables)
    return tuple(
        NumberField(
            name=told[name],
            shown=_shown(told[name]),
            number=quantity.number_text,
            unit=str(quantity.unit),
            fixed=told[name] in fixed,
        )
        for name, quantity in question.draw.given.items()
    )


def tried_numbers(bank: Bank, plans: Plans, order: Order, number: int, numbers: Numbers) -> Tried:
    """What these numbers come to in that question alone. Raises Mistake, with the number that it is, for what cannot be."""
    line = with_numbers_fixed(order, number, numbers).lines[number - 1]
    alone = Order(
        seed=order.seed,
        count=1,
        level=line.level or "structured",
        masses=order.masses,
        style=order.style,
        lines=(line,),
    )
    question, unusual = _tried(bank, plans, replace(alone, telling=order.telling))
    return Tried(asked=_shown(question.draw.ask.quantity.text), answer=question.worked.told, unusual=unusual)


def tried_experiment(bank: Bank, plans: Plans, line: OrderLine) -> tuple[str, ...]:
    """What is unusual in the question of an experiment, a sentence each. Raises Mistake where it makes none."""
    return _tried(bank, plans, Order(seed=0, count=1, level=line.level or "structured", lines=(line,)))[1]


def _tried(bank: Bank, plans: Plans, alone: Order) -> tuple[Question, tuple[str, ...]]:
    """The question of an order of one, and what is unusual in it."""
    maker = PaperMaker(bank, alone, plans)
    question = maker.paper(Wanted(), FIRST).questions[0]
    return question, tuple(sentence.removeprefix("question 1: ") for sentence in maker.unusual)


def _question(paper: Paper, number: int) -> Question | None:
    numbers = paper.composer.numbers
    return paper.questions[numbers.index(number)] if number in numbers else None
