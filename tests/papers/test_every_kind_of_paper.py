"""One paper of every archetype: its code makes it again, to the byte, its record fits the schema, its solutions show the flow.

What lxml reads in its sheets of HTML are the numbers of the record; its scheme and answers hold the same numbers in Word as in plain
text.
"""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Mapping
from io import BytesIO
from itertools import cycle
from typing import Any, get_args
from zipfile import ZipFile

from lxml import etree
from lxml import html as foreign

from molewright.bank.definitions import Bank
from molewright.derivation.plans import Plans
from molewright.nodes.blocks import Sheet, Table
from molewright.nodes.figures import Figure
from molewright.order.choices import STRETCH
from molewright.order.order import Order, Wanted
from molewright.papers.code import read_code
from molewright.papers.making import PaperMaker
from molewright.papers.record.writer import RecordLines, heading, record
from molewright.render import renderer
from molewright.sheet.compose import Composer
from molewright.sheet.parts import Level
from shared.covering import covering
from shared.every_node import inside
from shared.kinds import KEYS, each_kind
from shared.records import record_schema

NUMBER = re.compile(r"\d+(?:\.\d+)?")
LEVEL_OF = dict(zip(KEYS, cycle((*get_args(Level), STRETCH)), strict=False))
_RAISED = re.compile("[⁰¹²³⁴-⁹⁻]+")
_LEVEL = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹⁻", "0123456789−")


def sheets(composer: Composer) -> tuple[Sheet, ...]:
    return composer.question_paper(), composer.mark_scheme(), composer.worked_solutions(), composer.answers()


def order_of(key: str) -> Order:
    return Order(seed=2611, count=1, level=LEVEL_OF[key], archetypes=(key,))


@each_kind()
def test_a_paper_has_its_code_its_record_its_flow_and_its_numbers(key: str, bank: Bank, plans: Plans) -> None:
    maker = PaperMaker(bank, order_of(key), plans)
    again, _ = read_code(maker.code, maker.known, bank.fingerprint)
    assert again == order_of(key)
    paper = maker.paper(Wanted(), "A")
    held = record(paper)
    for line in RecordLines(bank, heading(maker)).of(held):
        record_schema().validate(json.loads(line))
    made = sheets(paper.composer)
    assert "FlowFigure(" in repr(made[2].blocks)
    require_numbers(held["questions"][0], *(read_in_html(sheet) for sheet in made))


@each_kind(covering(KEYS))
def test_the_code_of_a_paper_makes_it_again_from_nothing_kept(key: str, bank: Bank, plans: Plans) -> None:
    one = PaperMaker(bank, order_of(key), plans)
    order, _ = read_code(one.code, one.known, bank.fingerprint)
    two = PaperMaker(bank, order, Plans("none", None))
    for first, second in zip(*(sheets(each.paper(Wanted(), "A").composer) for each in (one, two)), strict=True):
        assert renderer("text").render(first) == renderer("text").render(second)


@each_kind(covering(KEYS))
def test_scheme_and_answers_hold_the_same_numbers_in_word_as_in_plain_text(key: str, bank: Bank, plans: Plans) -> None:
    for sheet in sheets(PaperMaker(bank, order_of(key), plans).paper(Wanted(), "A").composer):
        document = renderer("docx").render(sheet)
        drawn = any(isinstance(each, Figure) for each in inside(sheet.blocks))  # the text form tells figures in numbers
        if sheet.kind in ("scheme", "answers") and not drawn:
            assert numbers_in_word(document, sheet) == Counter(NUMBER.findall(renderer("text").render(sheet).decode()))


def numbers_in_word(document: bytes, sheet: Sheet) -> Counter[str]:
    """Numbers of a Word file that are neither raised nor lowered, and those that stand at the edges of its page or are only told."""
    held = [sheet.header, sheet.version, sheet.code]
    held += [one.summary for one in inside(sheet.blocks) if isinstance(one, Table)]
    with ZipFile(BytesIO(document)) as packed:
        root = etree.fromstring(packed.read("word/document.xml"))
    runs = "//w:r[not(w:rPr/w:vertAlign)]/w:t | //m:r[not(ancestor::m:sub or ancestor::m:sup)]/m:t"
    held += [one.text for one in root.xpath(runs, namespaces=root.nsmap)]
    return Counter(NUMBER.findall(" ".join(held)))


def read_in_html(sheet: Sheet) -> str:
    """The words of a sheet as lxml reads them in its HTML, without spaces, raised figures behind "^"."""
    page = foreign.document_fromstring(renderer("html").render(sheet).decode()).find(".//main")
    for raised in page.iter("sup"):
        raised.text = f"^{raised.text}"
    for raised in page.iter("msup"):
        raised[1].text = f"^{raised[1].text}"
    for one in page.iter("td", "th", "p", "li", "summary", "br", "math", "figure"):
        one.tail = f"|{one.tail or ''}"  # what stands side by side is no one number
    return "".join("".join(page.itertext()).split())


def require_numbers(question: Mapping[str, Any], questions: str, scheme: str, worked: str, key: str) -> None:
    """What the pupil is told, what a marker pays and what a solution finds, as the record has it."""
    if "given" not in question:
        return
    given = [on_page(one) for one in question["given"].values() if one.split()[0] not in ("1", "1000")]
    assert given
    assert [one for one in given if one not in scheme + questions + worked] == []
    for first, last, _ in question["runs"]:
        assert first in questions or "figure" in questions
        assert last in questions or "figure" in questions
    found = [
        on_page(one["answer"]) for point in question["points"] for one in point["answers"] if one["type"] == "number"
    ]
    assert [one for one in found[:-1] if one not in scheme] == []  # the last is printed as the answer is
    if question["points"] and question["type"] != "ratio":  # printed as 5 : 4, kept as 1.25
        answer = on_page(question["answer"])
        assert answer in key
        assert answer in worked


def on_page(written: str) -> str:
    """A quantity of the record as it is read in HTML."""
    return _RAISED.sub(lambda found: f"^{found[0].translate(_LEVEL)}", "".join(written.split()))
