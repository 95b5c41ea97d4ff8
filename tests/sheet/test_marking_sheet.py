"""The marking sheet: on one page for six questions, every part on it, versions and levels side by side with the numbers of each."""

from __future__ import annotations

import re

import pytest

from molewright.bank.definitions import Bank
from molewright.derivation.plans import Plans
from molewright.nodes.blocks import Paragraph, Table
from molewright.nodes.inline import Amount
from molewright.order.order import Order, Wanted
from molewright.papers.sets import PaperSet
from molewright.render import starts
from molewright.render.text.lines import plain_line
from molewright.sheet.marked_parts import MarkedPart
from molewright.sheet.marking_sheet import MarkedPaper, marking_blocks, most_versions
from molewright.sheet.wording import Words
from molewright.sheet.wrong_table import MOST_WRONG

NB = "\N{NO-BREAK SPACE}"


def cells(table: Table) -> list[list[str]]:
    return [
        [" | ".join(plain_line(line).replace(NB, " ") for line in cell.lines) for cell in row] for row in table.rows
    ]


def tables(papers: list[MarkedPaper], bank: Bank) -> list[Table]:
    return [block for block in marking_blocks(papers, Words(bank.words)) if isinstance(block, Table)]


@pytest.mark.parametrize("seed", [3, 13])
def test_six_questions_are_marked_from_one_page(seed: int, bank: Bank, plans: Plans) -> None:
    papers = PaperSet(bank, Order(seed=seed, count=6), Wanted(), plans)
    composer = papers.paper(papers.copies[0]).composer
    scheme = composer.mark_scheme()
    assert starts(scheme)["The marks one by one"] == 2
    wrong = [one for one in scheme.blocks if isinstance(one, Table) and one.summary.startswith("Common wrong")]
    further = {len(question.further_parts) for question in composer.questions}
    assert all(len(one.rows) <= MOST_WRONG for one in wrong) or further != {0}


def test_versions_stand_side_by_side_with_their_own_numbers(bank: Bank, plans: Plans) -> None:
    versions = "ABCDE"
    papers = PaperSet(bank, Order(seed=5, count=3), Wanted(versions=tuple(versions)), plans)
    marked = [
        MarkedPaper(who=copy.version, level="", questions=papers.paper(copy).composer.marked.questions)
        for copy in papers.copies
    ]
    made = tables(marked, bank)
    most = most_versions(1)
    assert len(made) == -(-len(versions) // most) > 1
    for at, paper in enumerate(marked):
        own = {row[0]: row for row in cells(*tables([paper], bank))}
        parts = {f"{number}{part.label}": part for number, each in paper.questions for part in each}
        label = ""
        for row in cells(made[at // most]):
            column = row[2 + at % most]
            if row[0]:  # a part: its value, and what is accepted below it
                label = row[0].partition(" ")[0]
                _, value, accepted, marks, _ = own[label]
                assert row[0] == f"{label} [{marks}]"
                assert value.startswith(column.partition(" | ")[0])
                assert column.endswith(accepted)
            else:
                wrong = {one.number.replace(NB, " "): one for one in parts[label].wrong}
                assert column == "–" or column.partition(" (")[0] in wrong


def test_levels_share_a_row_where_they_ask_for_the_same(bank: Bank, plans: Plans) -> None:
    papers = PaperSet(bank, Order(seed=4, count=4, levels=("structured", "stretch")), Wanted(), plans)
    marked = [
        MarkedPaper(who="A", level=copy.level, questions=papers.paper(copy).composer.marked.questions)
        for copy in papers.copies
    ]
    (table,) = tables(marked, bank)
    rows = cells(table)
    for column, paper in enumerate(marked):
        labels = [row[column] for row in rows if row[column]]
        assert labels == [f"{number}{part.label} [{part.marks}]" for number, parts in paper.questions for part in parts]
    assert any(row[0] and row[1] for row in rows)
    assert any(not row[0] or not row[1] for row in rows)
    assert len(table.groups) == 3


def marked(bank: Bank, plans: Plans, order: Order) -> list[tuple[int, tuple[MarkedPart, ...]]]:
    papers = PaperSet(bank, order, Wanted(), plans)
    return list(papers.paper(papers.copies[0]).composer.marked.questions)


def paper_of(bank: Bank, plans: Plans, order: Order) -> MarkedPaper:
    return MarkedPaper(who="A", level="", questions=tuple(marked(bank, plans, order)))


def test_every_answer_of_a_part_is_printed_whole_on_a_line_of_its_own(bank: Bank, plans: Plans) -> None:
    order = Order(seed=5, count=6, level="stretch")
    papers = PaperSet(bank, order, Wanted(), plans)
    composer = papers.paper(papers.copies[0]).composer
    further = [part for question in composer.questions for part in question.further_parts]
    told = [part for _, parts in marked(bank, plans, order) for part in parts if part.answers]
    assert [len(part.answers) for part in told] == [len(part.points) for part in further]
    assert max(len(part.answers) for part in told) >= 5
    numbers = [part for part in told if isinstance(part.answers[-1][0], Amount) and len(part.answers) > 1]
    assert numbers
    assert all(part.answers[-1][0].bold for part in numbers if isinstance(part.answers[-1][0], Amount))
    assert not any("…" in cell for row in cells(*tables([paper_of(bank, plans, order)], bank)) for cell in row)


def test_readings_are_accepted_as_numbers_and_a_bare_yes_is_not(bank: Bank, plans: Plans) -> None:
    order = Order(seed=12, archetypes=("burette-further-run",), count=1, level="exam")
    told = {row[0]: row[2] for row in cells(*tables([paper_of(bank, plans, order)], bank))}
    assert "both readings, to 0.05; " in " ".join(told.values())
    assert "only with the comparison" in told.values()


def test_marks_of_several_parts_say_of_which_and_mistakes_of_the_mean_stand_with_it(bank: Bank, plans: Plans) -> None:
    for _, parts in marked(bank, plans, Order(seed=3, count=6, level="exam")):
        for part in parts:
            assert all(bool(wrong.parts) == (wrong.of != part.marks) for wrong in part.wrong)
            assert all(
                wrong.key not in ("S06", "S59", "S60", "S62") or wrong.reading for wrong in part.wrong if wrong.parts
            )


@pytest.mark.parametrize("level", ["exam", "structured"])
def test_the_example_of_marks_is_one_that_the_sheet_prints(level: str, bank: Bank, plans: Plans) -> None:
    papers = PaperSet(bank, Order(seed=4, count=2, level=level), Wanted(), plans)
    key, table = marking_blocks([papers.paper(papers.copies[0]).composer.marked], Words(bank.words))
    assert isinstance(key, Paragraph)
    assert isinstance(table, Table)
    told, printed = plain_line(key.line), " ".join(cell for row in cells(table) for cell in row)
    examples = re.findall(r"[0-9]+/[0-9]+", told)
    assert examples
    assert all(f": {one}" in printed for one in examples)
    assert ("of the part alone" in told) is (": 0/" in printed)
