"""Further parts on the sheets: letters and mark numbers go on, every sheet has them, and a calculation not asked stays away."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from molewright.bank.definitions import Bank
from molewright.derivation.plans import Plans
from molewright.nodes.blocks import Part, QuestionBlock, Table
from molewright.order.order import Order, Wanted
from molewright.papers.making import PaperMaker
from molewright.papers.record.writer import record
from molewright.render.text import render
from molewright.render.text.lines import plain_line
from molewright.sheet.parts import LEVELS, Level
from shared.for_each import for_every
from shared.mark_points import mark_points
from shared.papers import write_papers

JUDGED = (
    "direct-purity-claim",
    "back-portions-combined",
    "back-portions-why",
    "direct-solutions-planning",
    "back-portions-fault",
    "back-portions-critique",
    "direct-purity-planning",
)
Compose = Callable[..., Any]


def blocks(sheet: Any) -> list[QuestionBlock]:
    return [block for block in sheet.blocks if isinstance(block, QuestionBlock)]


def labelled(block: QuestionBlock) -> list[str]:
    return [part.label for part in block.parts if isinstance(part, Part) and part.label]


@for_every(key=JUDGED, level=LEVELS)
def test_letters_go_on_without_a_gap(key: str, level: Level, compose: Compose) -> None:
    for block in blocks(compose(key, level, "dm3").paper):
        letters = labelled(block)
        assert letters == [f"({chr(ord('a') + index)})" for index in range(len(letters))]
        assert len(letters) != 1


@for_every(key=JUDGED, level=LEVELS)
def test_mark_numbers_go_on_and_end_at_the_marks_of_the_question(key: str, level: Level, compose: Compose) -> None:
    made = compose(key, level, "dm3")
    numbers = [number for _, number in mark_points(made.scheme)]
    assert numbers == [number for question in made.questions for number in range(1, question.marks + 1)]
    for question in made.questions:
        assert question.marks == len(question.points) + sum(part.marks for part in question.further_parts)


def test_the_calculation_is_not_asked_where_only_the_further_part_is(compose: Compose) -> None:
    for key in ("back-portions-fault", "back-portions-critique", "ph-curve"):
        made = compose(key, "structured", "dm3")
        assert all(not question.points for question in made.questions)
        assert "Use your answer" not in render(made.paper).decode()
        assert not re.search(r"^or +\|", render(made.scheme).decode(), re.MULTILINE)  # no row of another route


def test_every_sheet_speaks_of_the_further_part(compose: Compose) -> None:
    made = compose("back-portions-fault", "structured", "dm3")
    assert "Effect on the titre:" in render(made.paper).decode()
    assert "Effect on the titre:" in render(made.scheme).decode()
    assert "Effect on the titre:" in render(made.worked).decode()
    assert "titre too " in render(made.answers).decode() or "titre no effect" in render(made.answers).decode()


def test_a_hint_stands_at_the_scaffolded_level_only(compose: Compose) -> None:
    def told(level: Level) -> bool:
        text = " ".join(render(compose("direct-purity-claim", level, "dm3").paper).decode().split())
        return "both are uncertain" in text

    assert told("scaffolded")
    assert not told("structured")
    assert not told("exam")


def test_the_tolerances_are_printed_in_the_question(compose: Compose) -> None:
    text = render(compose("direct-purity-claim", "exam", "dm3").paper).decode().replace("\N{NO-BREAK SPACE}", " ")
    assert "± 0.05 cm³" in text
    assert "± 0.06 cm³" in text
    assert "± 0.0005 g" in text


def test_a_listed_wrong_answer_of_a_further_part_names_its_part(compose: Compose) -> None:
    tables = [
        block for block in compose("direct-purity-claim", "exam", "dm3").scheme.blocks if isinstance(block, Table)
    ]
    told = [plain_line(line) for table in tables for row in table.rows for cell in row for line in cell.lines]
    assert any(re.fullmatch(r"Part \(.\): burette uncertainty not doubled\.", line) for line in told)


def maker(bank: Bank, tmp_path: Path, *keys: str) -> PaperMaker:
    return PaperMaker(
        bank, Order(seed=7, count=len(keys), level="exam", archetypes=keys), Plans(bank.fingerprint, tmp_path)
    )


def test_the_record_holds_the_further_parts(bank: Bank, tmp_path: Path) -> None:
    made = maker(bank, tmp_path, "back-portions-fault", "direct-purity-claim")
    found = record(made.paper(Wanted(), "A"))
    direct = next(one for one in found["questions"] if one["archetype"] == "direct-purity-claim")
    fault = next(one for one in found["questions"] if one["archetype"] == "back-portions-fault")
    assert [part["kind"] for part in direct["further parts"]] == ["uncertainty", "uncertainty", "claim"]
    assert direct["marks in all"] == direct["marks"] + 5
    assert (fault["marks"], fault["points"], fault["marks in all"]) == (0, [], 3)
    assert fault["further parts"][0]["part"] == ""
    assert found["marks"] == direct["marks in all"] + fault["marks in all"]
    json.dumps(found)


def test_the_same_order_gives_the_same_further_parts(bank: Bank, tmp_path: Path) -> None:
    keys = ("back-portions-fault", "back-portions-critique", "direct-purity-claim", "back-portions-planning")
    one, other = (maker(bank, tmp_path, *keys).paper(Wanted(), "A") for _ in range(2))
    assert [question.further_parts for question in one.questions] == [
        question.further_parts for question in other.questions
    ]
    version = maker(bank, tmp_path, *keys).paper(Wanted(), "B")
    for first, second in zip(one.questions, version.questions, strict=True):
        if any(part.accepted is not None for part in first.further_parts):
            assert first.further_parts != second.further_parts  # the same is asked of other numbers
        assert first.form == second.form


def test_papers_of_further_parts_are_written_in_every_form(bank: Bank, tmp_path: Path) -> None:
    made = maker(bank, tmp_path / "plans", *JUDGED)
    written = write_papers(made, Wanted(forms=("pdf", "latex", "html", "text")), tmp_path / "out")
    assert sum(name.endswith(".pdf") for name in written) == 4


@pytest.mark.parametrize("key", ["back-portions-fault", "direct-purity-class"])
def test_no_number_of_a_fault_is_printed_for_pupils(key: str, compose: Compose) -> None:
    text = render(compose(key, "exam", "dm3").worked).decode()
    assert not re.search(r"\bF[0-9]{2}", text)
    assert "computed" not in text


def test_pupils_are_not_told_how_marks_are_given_for_reasons(compose: Compose) -> None:
    made = compose("back-portions-why", "exam", "dm3")
    assert "Another of these reasons" in render(made.scheme).decode()
    assert "of these reasons" not in render(made.worked).decode()


def test_no_value_of_a_class_is_bold_in_the_worked_solutions(compose: Compose, nodes_of: Callable[[Any], Any]) -> None:
    made = compose("direct-purity-class", "exam", "dm3")
    tables = [
        node for node in nodes_of(made.worked) if isinstance(node, Table) and node.summary == "What each group found"
    ]
    assert tables
    assert not any(cell.head for table in tables for row in table.rows for cell in row)
