"""One paper of every archetype: its code makes it again, to the byte, and its record fits the schema, its solutions show the flow."""

from __future__ import annotations

import json
from itertools import cycle, islice
from typing import get_args

from molewright.bank.definitions import Bank
from molewright.derivation.plans import Plans
from molewright.nodes.blocks import Sheet
from molewright.order.choices import STRETCH
from molewright.order.order import Order, Wanted
from molewright.papers.code import read_code
from molewright.papers.making import PaperMaker
from molewright.papers.record.writer import RecordLines, heading, record
from molewright.render import renderer
from molewright.sheet.compose import Composer
from molewright.sheet.parts import Level
from shared.banks import built_in
from shared.for_each import for_each
from shared.records import record_schema

KEYS = sorted(built_in().archetypes)
EACH_WITH_A_LEVEL = list(zip(KEYS, islice(cycle((*get_args(Level), STRETCH)), len(KEYS)), strict=True))


def sheets(composer: Composer) -> tuple[Sheet, ...]:
    return composer.question_paper(), composer.mark_scheme(), composer.worked_solutions(), composer.answer_key()


@for_each(("key", "level"), EACH_WITH_A_LEVEL, KEYS, shares=16)
def test_the_code_of_a_paper_makes_it_again_with_the_flow_drawn(key: str, level: str, bank: Bank) -> None:
    order = Order(seed=2611, count=1, level=level, archetypes=(key,))
    maker = PaperMaker(bank, order, Plans("none", None))
    again, _ = read_code(maker.code, maker.known, bank.fingerprint)
    assert again == order
    paper = maker.paper(Wanted(), "A")
    for line in RecordLines(bank, heading(maker)).of(record(paper)):
        record_schema().validate(json.loads(line))
    one = sheets(paper.composer)
    two = sheets(PaperMaker(bank, again, Plans("other", None)).paper(Wanted(), "A").composer)
    for first, second in zip(one, two, strict=True):
        assert renderer("text").render(first) == renderer("text").render(second)
    assert "FlowFigure(" in repr(one[2].blocks)
