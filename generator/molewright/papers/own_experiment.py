"""A line of an order that holds a described experiment comes in; its question goes out, proved on the bench like any other.

The stem is written from the procedure, the scheme from the derivation; only what stands before the stem is the teacher's.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from molewright.bank.definitions import Archetype, Bank, Choice, Context, Material, Variant, Windows
from molewright.draw.chosen import Draw
from molewright.draw.refusal import Refusal
from molewright.draw.stream import Stream
from molewright.errors import Mistake, Where
from molewright.experiment.procedure import Procedure
from molewright.experiment.quantities import Name
from molewright.experiment.quantity_texts import texts_of
from molewright.order.lines import OrderLine
from molewright.papers.own_words import NamedWords, named_words
from molewright.question.check import Questions
from molewright.question.own_numbers import OwnQuestion
from molewright.reading.quoting import quoted
from molewright.solve.described import notes
from molewright.solve.proved import Proved, as_poured, proved, sought_solution, with_dissolving

BARE_TITRES = ("titre", "mean titre", "volume")  # keys of a titration that tell of no runs
KEY = "own-experiment"  # what such a question is called in records, in the place of a kind's key


def own_marks(questions: Questions, line: OrderLine) -> int:
    """The marks of a line that is not drawn from the banks: those that the teacher gives, or those of the experiment."""
    return line.words.marks if line.words is not None else experiment_question(questions, line).question.marks


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnExperiment:
    """The experiment of a line: proved, its words with their numbers named, and the question that it makes as it is written."""

    proved: Proved
    words: NamedWords
    made: OwnQuestion


def experiment_question(questions: Questions, line: OrderLine) -> OwnQuestion:
    """The question of a line as it is written, and what is unusual in it."""
    return own_experiment(questions, line).made


def own_experiment(questions: Questions, line: OrderLine, worded: str = "") -> OwnExperiment:
    """What a line holds. `worded` fixes in which words it is told: the versions of a question share them.

    Raises Mistake, at the line, where the experiment is not understood or cannot be.
    """
    where = line.where or Where("order")
    text = experiment_text(line)
    experiment = proved(text, where, questions.bank, questions.plans, questions.masses)
    words = named_words(tuple(line.own_stem.splitlines()), line.own_task, experiment.given, where)
    variant = _variant(questions.bank, experiment, line, words)
    written = experiment.experiment.described.written
    archetype = Archetype(
        key=KEY,
        title=experiment.title,
        topic="own experiments",
        demand=5,
        variants=(variant,),
        windows=Windows(),
        stated=frozenset(name for name, place in written.items() if place.key in BARE_TITRES),
    )
    made = Draw(
        archetype=archetype,
        variant=variant,
        context=variant.contexts[0],
        ask=experiment.ask,
        indicator=next(iter(variant.indicators), ""),
        given=dict(experiment.given),
        truth={**questions.fixed(variant), **experiment.truth},
        runs=experiment.runs,
        stream=Stream(f"molewright/experiment/{worded or text}"),
    )
    poor: list[Refusal] = []
    refused = questions.plausibility.refusal(made)
    try:
        question = questions.judge(made, poor=poor, beside=experiment.beside)
    except Refusal as refusal:
        raise Mistake(
            f"this experiment makes no question: {refusal.detail or refusal.rule}",
            expected="numbers that go together",
            where=where,
        ) from None
    told = [refused[1]] if refused is not None else []
    told += notes(experiment.experiment, question.worked)
    told += _left_out(experiment.experiment.described.indicators, variant.indicators)
    if line.own_stem:
        told += _untold(words.untold, experiment)
    unusual = (*told, *(refusal.detail for refusal in poor))
    return OwnExperiment(proved=experiment, words=words, made=OwnQuestion(question, unusual))


def _left_out(named: Sequence[str], told: Sequence[str]) -> Iterator[str]:
    """Which indicators of a description the question does not tell: one stands in it, and it has to be known to the banks."""
    for name in named:
        if name not in told:
            yield f"the indicator {name} is not told in the question: one that the banks hold can be"


def experiment_text(line: OrderLine) -> str:
    """The description that a line holds, as a text."""
    return "\n".join(f"{quoted(key)}: {held}" for key, held in line.experiment)


def _untold(names: Sequence[Name], experiment: Proved) -> Iterator[str]:
    """Which numbers a teacher's own words leave out, so that a pupil could not know them."""
    told = texts_of(experiment.given)
    read = experiment.procedure.titrations[-1].titre if experiment.runs else None  # that is read off the table
    for name in names:
        if name != read:
            yield f"the words do not tell the {told[name]}, {experiment.given[name]}"


def _variant(bank: Bank, experiment: Proved, line: OrderLine, words: NamedWords) -> Variant:
    """The one form of the experiment: each number is what is given."""
    found = sought_solution(experiment, bank)
    procedure = with_dissolving(experiment.procedure)
    sample, sought = "the solution", None
    if found is not None:
        sought, name = found
        sample = f"the {name}"
        procedure = as_poured(procedure, sought) if sought.called == name else procedure
    sample = next((f"the {act.sample}" for act in experiment.procedure.weighings), sample)
    stem = words.stem if line.own_stem else ()
    scene = Context(key=KEY, serves=(), opening=line.opening, sample=sample, words=stem, task=words.task)
    return Variant(
        roles={"analyte": sought.solute} if sought is not None else {},
        procedure=procedure,
        choices={name: Choice(options=(number,), unit=number.unit) for name, number in experiment.given.items()},
        unknown=experiment.unknown,
        contexts=(scene,),
        indicators=tuple(name for name in experiment.experiment.described.indicators if name in bank.indicators)[:1],
        asks=(experiment.ask,),
        material=_material(experiment.procedure),
    )


def _material(procedure: Procedure) -> Material | None:
    """What is weighed and holds the substance sought, called as the teacher calls it; of its range nothing is known."""
    for act in procedure.weighings:
        if not act.pure and act.contents:
            return Material(
                name=act.sample,
                noun=act.sample,
                analyte=act.contents[0].substance,
                low=Decimal("0.1"),
                high=Decimal("99.9"),
                indicators=(),
                reagents=(),
                pieces=act.pieces,
                source="a teacher's own experiment",
            )
    return None
