"""Papers to be marked: the hand-worked limestone question, papers of drawn questions, and their records."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path

import pytest

from molewright.answer.judge import Judge, Judged
from molewright.answer.printed import PrintedQuestion, SlipFacts
from molewright.bank.definitions import Bank
from molewright.chem.quantity import parse_quantity
from molewright.draw.chosen import Draw
from molewright.draw.stream import Stream
from molewright.marking.files import slips_of
from molewright.marking.typed_answers import read_answer
from molewright.papers.making import Paper
from molewright.papers.record.reader import Record
from molewright.papers.record.writer import record
from molewright.question import check
from molewright.question.check import Question, Questions
from molewright.sheet.compose import Composer, Setting
from molewright.sheet.parts import Level
from shared.quantities import q
from shared.records import record_of

LIMESTONE = {
    q("mass of limestone"): "1.264 g",
    q("concentration of HCl"): "1.00 mol dm-3",
    q("volume of HCl"): "50.0 cm3",
    q("made-up volume"): "250 cm3",
    q("volume of aliquot"): "25.0 cm3",
    q("concentration of NaOH"): "0.105 mol dm-3",
    q("titre of NaOH"): "24.80 cm3",
}

AsRecord = Callable[[Sequence[Question], Level], Record]
Mark = Callable[[Mapping[int, str]], dict[int, Judged]]


@pytest.fixture(scope="session")
def as_marked(bank: Bank) -> AsRecord:
    """The record of a paper of these questions, as it is written and read again."""

    def made(questions: Sequence[Question], level: Level) -> Record:
        setting = Setting(
            title="Titration homework",
            code="A-TEST-0000",
            levels=(level,) * len(questions),
            version="A",
            fingerprint=bank.fingerprint,
        )
        held = record(
            Paper(
                code=setting.code, version="A", questions=tuple(questions), composer=Composer(questions, bank, setting)
            )
        )
        return record_of(bank, held)

    return made


@pytest.fixture(scope="session")
def limestone(bank: Bank, questions: Questions) -> Question:
    """1.264 g of limestone by back titration: 94.9 %, seven marks (common practice, worked by hand)."""
    archetype = replace(bank.archetypes["back-portions"], joined=frozenset())
    roles = {"analyte": "CaCO3", "material": "limestone", "reagent": "HCl", "titrant": "NaOH"}
    variant = next(one for one in archetype.variants if dict(one.roles) == roles)
    ask = next(one for one in variant.asks if one.quantity == q("percentage of CaCO3 in limestone"))
    given = {name: parse_quantity(text) for name, text in LIMESTONE.items()}
    truth = {**questions.fixed(variant), **{name: quantity.in_base for name, quantity in given.items()}}
    context, indicator = variant.contexts[0], variant.indicators[0] if variant.indicators else ""
    made = Draw(
        archetype=archetype,
        variant=variant,
        context=context,
        ask=ask,
        indicator=indicator,
        given=given,
        truth=truth,
        runs=(),
        stream=Stream("limestone"),
    )
    with pytest.MonkeyPatch.context() as patch:  # a titre so near the pipette's volume is refused for a paper, rightly
        patch.setattr(check, "require_apart", lambda *_: 1.0)
        return questions.judge(made)


@pytest.fixture(scope="session")
def printed_limestone(limestone: Question, as_marked: AsRecord) -> PrintedQuestion:
    return as_marked([limestone], "structured").paper("A").questions[0]


@pytest.fixture(scope="session")
def facts(bank: Bank, as_marked: AsRecord, limestone: Question) -> Mapping[str, SlipFacts]:
    return slips_of(as_marked([limestone], "structured"), bank)


@pytest.fixture
def mark(printed_limestone: PrintedQuestion, facts: Mapping[str, SlipFacts]) -> Mark:
    """Mark answers to the limestone question, given by mark point as a pupil writes them."""

    def marked(answers: Mapping[int, str]) -> dict[int, Judged]:
        return Judge(printed_limestone, facts).judge({number: read_answer(text) for number, text in answers.items()})

    return marked


@pytest.fixture
def answers_file(tmp_path: Path) -> Callable[..., Path]:
    """A file of answers."""

    def write(text: str | bytes, name: str = "answers.csv") -> Path:
        path = tmp_path / name
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return path

    return write
