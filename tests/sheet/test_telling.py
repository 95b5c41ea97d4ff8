"""The ways of telling a stem: each holds every number and every instruction that the question needs, and nothing that is not given."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from molewright.bank.definitions import Bank
from molewright.draw.stream import Stream
from molewright.errors import Mistake
from molewright.experiment.end_points import of_last_flask
from molewright.experiment.procedure import Add, Dissolve, Remove, Warm
from molewright.experiment.quantities import MOLAR_VOLUME
from molewright.experiment.tellings import TELLINGS, Telling
from molewright.further_parts.pieces import INDICATOR_CHOICE
from molewright.nodes.blocks import Note
from molewright.nodes.inline import Amount, Text
from molewright.order.order import Order, Wanted
from molewright.order.order_file import parse_order
from molewright.order.order_text import write_order
from molewright.papers.making import PaperMaker
from molewright.question.check import Question, Questions
from molewright.render.text.lines import plain_line
from molewright.sheet.compose import Composer, Setting
from molewright.sheet.stem import stem
from molewright.sheet.telling.procedure import tell
from molewright.sheet.telling.ways import PLAIN, Way, opened, possible, reads_backwards, told_in
from molewright.sheet.writer import Writer
from shared.banks import built_in
from shared.composed_sheets import Turn, every_kind_once
from shared.every_node import inside
from shared.for_each import for_each
from shared.stems import is_readings, said

KEYS = sorted(built_in().archetypes)
NUMBER = re.compile(r"\d+(?:\.\d+)?")
FILTERED = ("filter", "distilled water", "crushed", "boil")  # what is told in sentences is told in every way
COUNTED = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")
NB = "\N{NO-BREAK SPACE}"


def ways_of(writer: Writer) -> dict[Telling, Writer]:
    """What writes the question in each way that suits it."""
    return {
        telling: Writer(writer.question, writer.bank, writer.words, telling=telling) for telling in possible(writer)
    }


def stem_of(writer: Writer) -> tuple[Any, ...]:
    return stem(writer, (), complete_table=True)


def shown(question: Question) -> dict[Any, Any]:
    """The given quantities that a stem must print: all but a titre that is to be found in a table or a graph."""
    draw = question.draw
    procedure = draw.variant.procedure
    acts = of_last_flask(procedure) if draw.archetype.graph else procedure.titrations[-1:] if draw.runs else ()
    found = {one.titre for one in acts}
    return {name: quantity for name, quantity in draw.given.items() if name not in found}


def text_numbers(blocks: Any) -> set[str]:
    readings = [block for block in blocks if not is_readings(block)]
    return {number for one in inside(tuple(readings)) if isinstance(one, Text) for number in NUMBER.findall(one.text)}


@every_kind_once
def test_every_way_tells_every_number_and_all_that_matters_and_nothing_else(
    turn: Turn, compose: Callable[..., Any]
) -> None:
    for asked in compose(*turn).composer.writers:
        made = {telling: (writer, stem_of(writer)) for telling, writer in ways_of(asked).items()}
        plain = text_numbers(made["prose"][1])
        for telling, (writer, blocks) in made.items():
            words = re.sub(r"\s+", " ", said(blocks)).casefold()
            require_numbers(writer, blocks, words)
            assert text_numbers(blocks) <= plain, telling
            assert telling != "notebook" or "technician" not in words
            missing = [one for one in needed(writer.question) if one.replace(NB, " ").casefold() not in words]
            assert not missing, (telling, missing)
            require_done(writer, words)
            assert not re.search(r"excess of \d|, an excess, \d|excess of [^.;]*, \d", words), (
                telling
            )  # as if that were the excess
            plainly = said(made["prose"][1]).casefold()
            assert all(one in words for one in (*FILTERED, *residue_of(writer)) if one in plainly), telling


@every_kind_once
def test_notes_and_tables_keep_the_order_of_the_work_and_a_note_holds_all_of_it(
    turn: Turn, compose: Callable[..., Any]
) -> None:
    for asked in compose(*turn).composer.writers:
        for telling, writer in ways_of(asked).items():
            opening = opened(writer)
            assert not opening.way.titre_first or telling == "prose"
            notes = [block for block in opening.blocks if isinstance(block, Note)]
            assert bool(notes) == (telling in ("note", "notebook"))
            beside = said(tuple(block for block in opening.blocks if not isinstance(block, Note)))
            if notes:
                jotted = [plain_line(line) for note in notes for line in note.lines]
                scene = writer.question.draw.context.opening.replace(NB, " ")
                assert beside.startswith(scene)
                assert not re.search(r"titrated|mean titre|readings|was added|weighed", beside.removeprefix(scene)), (
                    beside
                )
                titrated = [at for at, line in enumerate(jotted) if "itrat" in line]
                told = [
                    at
                    for at, line in enumerate(jotted)
                    if re.search(r"itre[ :(]|of the titres|readings:|; another", line)
                ]
                assert bool(titrated) == bool(writer.question.draw.variant.procedure.titrations)
                assert not told or titrated[0] <= told[0]
            if telling == "table":
                values = [one.quantity for one in inside(opening.blocks[-1]) if isinstance(one, Amount)]
                done = [row.amount.quantity for row in tell(writer, "table").rows]
                assert values == done


@every_kind_once
def test_no_solution_is_spoken_of_as_known_before_it_is_named(turn: Turn, compose: Callable[..., Any]) -> None:
    for asked in compose(*turn).composer.writers:
        scene = asked.question.draw.context.opening.replace(NB, " ").casefold()
        for backwards in (False, True):
            for telling, writer in ways_of(asked).items():
                if telling != "prose" and backwards:
                    continue
                told = told_in(writer, Way(telling=telling, titre_first=backwards and reads_backwards(writer)))
                words = re.sub(r"\s+", " ", said(told.blocks)).casefold().removeprefix(scene)
                for solution in writer.question.draw.variant.procedure.solutions():
                    name = plain_line(writer.bottles.unnumbered(solution)).replace(NB, " ").casefold()
                    if solution.made_in or writer.bottles.is_analysed(solution) or name in scene or name not in words:
                        continue
                    before = words[: words.index(name)]
                    assert not before.endswith((" the ", " the same ")), (telling, name)


@every_kind_once
def test_jottings_say_what_was_rinsed_filtered_or_transferred(turn: Turn, compose: Callable[..., Any]) -> None:
    for asked in compose(*turn).composer.writers:
        for telling, writer in ways_of(asked).items():
            words = said(opened(writer).blocks)
            assert not re.search(
                r"(?i)rinsed all of it|transferred it\b|(?<!was )filtered into|needed to reach the end point:", words
            )
            if telling == "notebook":
                lines = [line for line in words.splitlines() if line.startswith("Added")]
                assert not any(re.search(r", and [^,]* (was|were) |which [^,]* (was|were) ", line) for line in lines), (
                    lines
                )


def residue_of(writer: Writer) -> tuple[str, ...]:
    """What stays undissolved and is filtered off."""
    material = writer.question.draw.variant.material
    return (material.residue.casefold(),) if material and material.residue else ()


def require_numbers(writer: Writer, blocks: Any, words: str) -> None:
    """Every given quantity is printed, a counted one as a word; no other amount is."""
    amounts = [one.quantity for one in inside(blocks) if isinstance(one, Amount)]
    for name, quantity in shown(writer.question).items():
        counted = name.kind in ("pieces", "oxidation state")
        spelt = rf"\b{COUNTED[int(quantity.number)]}\b|\+{quantity.number}\b" if counted else "(?!)"
        assert writer.numbers.amount(quantity).quantity in amounts or re.search(spelt, words), (writer.telling, name)
    known = {writer.numbers.amount(quantity).quantity for quantity in writer.question.draw.given.values()}
    assert not set(amounts) - known - {writer.numbers.concordant().quantity}, writer.telling


def needed(question: Question) -> list[str]:
    """The words without which the chemistry would be another: what is added, how warm, in what it is dissolved, the indicator."""
    draw, procedure = question.draw, question.draw.variant.procedure
    found = [act.what.partition(", ")[0] for act in procedure.every(Add)]
    found += [act.to for act in procedure.every(Warm)] + [act.solvent for act in procedure.every(Dissolve)]
    chosen = draw.archetype.graph or INDICATOR_CHOICE in draw.archetype.further_parts  # by nobody, or by the pupil
    names = () if chosen else (procedure.indicator(act, draw.indicator) for act in procedure.titrations)
    return [*found, *filter(None, names)]


def require_done(writer: Writer, words: str) -> None:
    """What was in excess is called so; what was made up was; portions are spoken of where there are any."""
    procedure = writer.question.draw.variant.procedure
    assert words.count("excess") >= sum(not act.like for act in procedure.reagents) or writer.names.planned()
    if procedure.made_up:
        assert re.search(r"\bmark\b|ma[dk]e (it |all of the solution )?(up|into)|diluted|volume was|of solution", words)
    if procedure.aliquots and procedure.titrations:
        assert re.search(r"portion|in each conical flask|of this solution", words), writer.telling


@pytest.mark.thorough
@pytest.mark.parametrize("key", ["back-portions", "direct-purity", "copper-crystals"])
def test_versions_are_told_in_one_way_and_papers_in_several(key: str, bank: Bank) -> None:
    met: Counter[Telling] = Counter()
    for seed in range(16):
        maker = PaperMaker(bank, Order(seed=seed, count=1, level="exam", archetypes=(key,)))
        ways = {opened(paper.composer.writers[0]).way for paper in maker.papers(Wanted(versions=("A", "B", "C")))}
        assert len(ways) == 1
        met[ways.pop().telling] += 1
    assert len(met) >= 2


def test_every_way_is_taken_and_sentences_most_often(bank: Bank, questions: Questions) -> None:
    question = questions.make(bank.archetypes["back-portions"], Stream("shares"))
    met: Counter[tuple[Telling, bool]] = Counter()
    for number in range(300):
        other = replace(question, draw=replace(question.draw, line=f"line {number}"))
        writer = Composer((other,), bank, Setting(title="x", code="", levels=("exam",))).writers[0]
        way = opened(writer).way
        met[way.telling, way.titre_first] += 1
    ways = Counter({telling: met[telling, False] + met[telling, True] for telling in TELLINGS})
    assert min(ways.values()) >= 10
    assert 100 <= ways["prose"] == max(ways.values())
    assert 20 <= met["prose", True] <= ways["prose"] // 2
    assert not any(
        met[telling, True] for telling in TELLINGS if telling != "prose"
    )  # the others keep the order of the work


def test_a_weaker_reader_gets_a_plain_way_unless_another_is_asked_for(bank: Bank, questions: Questions) -> None:
    found = set()
    for number in range(12):
        question = questions.make(bank.archetypes["back-portions"], Stream(f"plain/{number}"))
        for wish in (None, "notebook"):
            setting = Setting(title="x", code="", levels=("scaffolded",), tellings=(wish,))
            way = opened(Composer((question,), bank, setting).writers[0], easy=True).way
            assert way.telling == wish if wish else way.telling in PLAIN and not way.titre_first
            found.add(way.telling)
    assert found == {*PLAIN, "notebook"}


def test_what_would_be_odd_is_told_in_sentences_and_that_is_said(bank: Bank, questions: Questions) -> None:
    odd = {"mass-for-a-standard": "notebook", "thermometric-weak": "note", "burette-readings": "table"}
    for key, telling in odd.items():
        question = questions.make(bank.archetypes[key], Stream("odd"))
        setting = Setting(title="x", code="", levels=("exam",), tellings=(telling,))  # type: ignore[arg-type]
        composer = Composer((question,), bank, setting)
        assert opened(composer.writers[0]).way.telling == "prose"
        assert composer.told_otherwise == (1,)


def test_an_order_fixes_the_way_of_the_paper_and_of_a_question(bank: Bank) -> None:
    text = "seed: 7\nlevel: exam\ntelling: note\nlines:\n  - kind: back-portions\n    telling: table\n  - kind: direct-purity\n"
    order, wanted = parse_order(text, "an.order.yaml", lambda: 1)
    maker = PaperMaker(bank, order)
    composer = maker.paper(wanted, "A").composer
    assert [opened(writer).way.telling for writer in composer.writers] == ["table", "note"]
    again, _ = parse_order(write_order(maker.order, wanted), "again.order.yaml", lambda: 1)
    assert (
        PaperMaker(bank, again).paper(wanted, "A").composer.question_paper().blocks == composer.question_paper().blocks
    )
    assert not order.short


def test_a_way_that_there_is_not_is_told_with_the_nearest() -> None:
    for text in ("telling: tabel\n", "lines:\n  - kind: back-portions\n    telling: notebok\n"):
        with pytest.raises(Mistake) as caught:
            parse_order(f"seed: 7\n{text}", "an.order.yaml", lambda: 1)
        assert caught.value.near


@for_each(
    "key",
    [
        "measure portion", "aliquot", "aliquot after reaction", "make up", "make up alone", "make up filtered",
        "make up alone filtered", "dilute", "titrate aliquot", "titrate whole", "titrate left", "titrate left in each",
        "titrate portion", "titrate formed", "calculate", "calculate using", "ask", "mean",
    ],
)  # fmt: skip
def test_portions_making_up_titrating_and_demands_have_six_wordings(key: str, bank: Bank) -> None:
    assert len(set(bank.words[key])) >= 6


def test_every_molar_volume_of_a_gas_in_the_banks_has_its_conditions(bank: Bank) -> None:
    chosen = [
        choice
        for archetype in bank.archetypes.values()
        for variant in archetype.variants
        if (choice := variant.choices.get(MOLAR_VOLUME))
    ]
    told = {option.number_text for choice in chosen for option in choice.options}
    assert told
    assert all(f"gas conditions {number}" in bank.words for number in told), told


FILTERING = sorted(
    key
    for key, one in built_in().archetypes.items()
    if any(isinstance(op, Remove) and not op.by_boiling for op in one.variants[0].procedure.operations)
)


@for_each("key", FILTERING)
def test_a_solid_is_filtered_off_once(key: str, compose: Callable[..., Any]) -> None:
    for asked in compose(key, "exam", "dm3").composer.writers:
        for writer in ways_of(asked).values():
            told = said(stem_of(writer)).lower()
            assert len(re.findall(r"filtered off|filtering", told)) == 1, told
