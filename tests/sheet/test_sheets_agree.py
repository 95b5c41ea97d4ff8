"""Question paper, mark scheme, worked solutions and answers agree: numbers, labels, marks, answers and data."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any, get_args

import pytest

from molewright.bank.definitions import Bank
from molewright.chem.conventions import UNIT_STYLES, UnitStyle
from molewright.draw.stream import Stream
from molewright.nodes.blocks import Heading, Paragraph, Part, QuestionBlock, Table
from molewright.question.check import Questions
from molewright.render.text.lines import plain_line
from molewright.sheet.compose import Composer, Setting
from molewright.sheet.parts import LEVELS, Level, calculation_parts
from molewright.sheet.wording import count_word
from shared.banks import built_in
from shared.composed_sheets import Turn, every_kind_once, every_sheet, every_sheet_at
from shared.quantities import q
from shared.stems import is_readings, said

Compose = Callable[[str, Level, UnitStyle], Any]
KEYS = sorted(built_in().archetypes)
every_level = pytest.mark.parametrize("level", LEVELS)
NB = "\N{NO-BREAK SPACE}"


def words(line: Any) -> str:
    return plain_line(line).replace(NB, " ")


def blocks_of(sheet: Any, kind: type) -> list[Any]:
    return [block for block in sheet.blocks if isinstance(block, kind)]


def scheme_tables(sheet: Any) -> list[Table]:
    return [table for table in blocks_of(sheet, Table) if len(table.heading) == 4]


def rows_of_marks(table: Table) -> list[Any]:
    """The rows that are worth a mark: those of another route are not."""
    return [row for row in table.rows if words(row[0].lines[0]) != "or"]


def marking_rows(scheme: Any, number: int) -> list[Any]:
    """The rows of a question in the marking sheet, which opens the scheme."""
    table = next(table for table in blocks_of(scheme, Table) if table.summary == "Marking sheet")
    return [row for row in table.rows if re.fullmatch(rf"{number}(\(.\))?", cell(row[0]))]


def cell(one: Any) -> str:
    return " | ".join(words(line) for line in one.lines)


def test_levels_and_styles_are_those_of_the_types() -> None:
    assert get_args(Level) == LEVELS
    assert get_args(UnitStyle) == UNIT_STYLES


@every_sheet
def test_marks_of_parts_add_up_to_the_question_and_the_paper(turn: Turn, compose: Compose) -> None:
    made = compose(*turn)
    blocks = blocks_of(made.paper, QuestionBlock)
    assert [block.number for block in blocks] == list(range(1, len(made.questions) + 1))
    for block, question in zip(blocks, made.questions, strict=True):
        assert sum(part.marks for part in block.parts) == block.marks == question.marks
    assert made.composer.marks == sum(block.marks for block in blocks)
    assert f"{made.composer.marks} marks" in str(made.paper.blocks[0])
    assert words(blocks_of(made.scheme, Paragraph)[-1].line)
    assert f"This paper: {made.composer.marks} marks in all" in words(blocks_of(made.scheme, Paragraph)[0].line)
    totals = [
        words(block.line) for block in blocks_of(made.scheme, Heading) if words(block.line).startswith("Question")
    ]
    assert len(totals) == len(made.questions)
    for total, question in zip(totals, made.questions, strict=True):
        assert total.endswith(f"({question.marks} mark{'s' * (question.marks > 1)})")


@every_sheet
def test_labels_of_parts_run_on_from_a(turn: Turn, compose: Compose) -> None:
    for block in blocks_of(compose(*turn).paper, QuestionBlock):
        found = [part.label for part in block.parts if part.marks]
        if found != [""]:
            assert found == [f"({chr(ord('a') + index)})" for index in range(len(found))]
        assert all(isinstance(part, Part) for part in block.parts)
        assert all(not part.label for part in block.parts if not part.marks)


@every_sheet
def test_the_scheme_has_a_row_for_each_mark_and_the_labels_of_the_paper(turn: Turn, compose: Compose) -> None:
    made = compose(*turn)
    papers, tables = blocks_of(made.paper, QuestionBlock), scheme_tables(made.scheme)
    assert len(papers) == len(tables)
    for block, table, question in zip(papers, tables, made.questions, strict=True):
        rows = rows_of_marks(table)
        assert question.marks == block.marks
        assert [cell(row[2]) for row in rows] == [f"{n}" for n in range(1, block.marks + 1)]
        printed: dict[str, int] = {}
        label = ""
        for row in rows:
            label = cell(row[0]) or label
            printed[label] = printed.get(label, 0) + 1
        assert printed == {f"{block.number}{part.label}": part.marks for part in block.parts if part.marks}


def marks_named(parts: str, printed: dict[str, int]) -> int:
    """The marks on the question paper of the parts that "(b) and (c)" or "(a) to (d)" names; of all where none is named."""
    labels = list(printed)
    ends = re.findall(r"\([a-z]\)", parts) or [labels[0], labels[-1]]
    return sum(printed[label] for label in labels[labels.index(ends[0]) : labels.index(ends[-1]) + 1])


@every_sheet
def test_marks_named_in_the_scheme_are_those_of_the_parts_they_name(turn: Turn, compose: Compose) -> None:
    made = compose(*turn)
    wrong = [one for one in blocks_of(made.scheme, Table) if one.summary.startswith("Common wrong answers")]
    for block, question in zip(blocks_of(made.paper, QuestionBlock), made.questions, strict=True):
        printed = {part.label: part.marks for part in block.parts if part.marks}
        mine = marking_rows(made.scheme, block.number)
        assert {cell(row[0]).removeprefix(str(block.number)): int(cell(row[3])) for row in mine} == printed
        if not question.points:
            continue
        for table in wrong:
            if table.summary == f"Common wrong answers to question {block.number}":
                for row in table.rows:
                    out_of = re.search(r" of (\d+)( in \([a-z]\))?$", cell(row[2]))
                    assert out_of
                    parts = out_of[2] or cell(table.heading[2])
                    assert int(out_of[1]) == marks_named(parts, printed)


@every_sheet
def test_the_answer_is_the_same_on_every_sheet_that_tells_it(turn: Turn, compose: Compose) -> None:
    _, level, _ = turn
    made = compose(*turn)
    answers = [words(node.line) for node in _nodes(made.worked) if isinstance(node, Paragraph)]
    for number, (question, writer) in enumerate(zip(made.questions, made.composer.writers, strict=True), 1):
        if not question.points:
            continue
        answer, accepted = words((writer.numbers.amount(question.worked.answer),)), question.worked.accepted
        if question.worked.steps[-1].variable.kind == "oxidation state":
            answer = f"+{answer}"
        low = accepted.low.number_text.replace(NB, " ")
        if question.worked.steps[-1].variable.simple:  # told in whole numbers, whatever its value is
            answer = low = question.worked.told.replace(NB, " ")
        label = calculation_parts(writer, level)[-1]
        row = next(row for row in marking_rows(made.scheme, number) if cell(row[0]) == f"{number}{label}")
        assert words(row[1].lines[0]).startswith(answer)
        assert low.partition(" × ")[0] in cell(row[2])
        told = next(cell(row[1]) for row in blocks_of(made.answers, Table)[0].rows if cell(row[0]) == str(number))
        assert f"{label} {answer}".strip() in told
        assert any(said.startswith(f"Answer: {answer}") for said in answers), f"no 'Answer: {answer}'"
        rows = rows_of_marks(scheme_tables(made.scheme)[number - 1])
        first = sum(part.marks for part in question.further_parts if part.first)  # what is read before the calculation
        last = next(one for one in rows if cell(one[2]) == f"{first + len(question.points)}")
        assert words(last[1].lines[-1]).endswith(answer)
        assert low in cell(last[3])
        assert (
            words((writer.numbers.amount(accepted.high),)) in cell(last[3])
            or accepted.low.number == accepted.high.number
        )


@every_sheet
def test_every_given_number_stands_in_the_stem(turn: Turn, compose: Compose) -> None:
    made = compose(*turn)
    for block, question, writer in zip(
        blocks_of(made.paper, QuestionBlock), made.questions, made.composer.writers, strict=True
    ):
        stem = said(block.stem)
        for name in question.draw.given:
            if name.text.startswith("titre") and question.draw.runs and name == list(question.draw.given)[-1]:
                continue  # in the table of readings
            if name in {part.reads for part in question.further_parts}:
                continue  # in the graph
            quantity = writer.numbers.given(name)
            if name.text.startswith("number of"):
                counted = count_word(int(question.draw.given[name].number))
                assert re.search(rf"\b{counted}\b", stem, re.IGNORECASE), f"{counted} pieces not in: {stem}"
            else:
                assert words((quantity,)) in stem, f"{name} = {words((quantity,))} not in: {stem}"


@every_kind_once
def test_nothing_hidden_is_told_in_the_stem(turn: Turn, compose: Compose) -> None:
    made = compose(*turn)
    for block, question in zip(blocks_of(made.paper, QuestionBlock), made.questions, strict=True):
        printed = said(block.stem)
        answer = str(question.worked.answer).replace(NB, " ")
        same = [name for name, quantity in question.draw.given.items() if str(quantity).replace(NB, " ") == answer]
        if not same and not question.worked.steps[-1].variable.whole:
            assert not re.search(rf"(?<![\d.]){re.escape(answer)}", printed)


@every_sheet
def test_the_readings_stand_in_the_table_and_the_mean_is_not_printed(turn: Turn, compose: Compose) -> None:
    made = compose(*turn)
    for block, question in zip(blocks_of(made.paper, QuestionBlock), made.questions, strict=True):
        tables = [one for one in block.stem if is_readings(one)]
        assert len(tables) == bool(question.draw.runs)
        for table in tables:
            final, initial, titre = ([cell(one) for one in row[1:]] for row in table.rows[:3])
            for run, last, first in zip(question.draw.runs, final, initial, strict=True):
                assert last in (f"{float(run.final):.2f}", "")  # left blank where it is to be read off a picture
                assert first in (f"{float(run.initial):.2f}", "")
                assert (last and first) or question.further_parts
            for run, one in zip(question.draw.runs, titre, strict=True):
                assert one in (f"{float(run.titre):.2f}", "")
            name = next(one for one in reversed(question.draw.given) if one.text.startswith("titre"))
            mean = str(question.draw.given[name].number)
            stem = said(block.stem)
            demands = " ".join(words(part.demand) for part in block.parts[: len(question.points)])
            assert mean not in stem
            assert mean not in demands
            assert mean not in words(block.reminder)


@every_sheet_at("structured")
def test_the_equations_of_the_stem_are_those_of_the_procedure(turn: Turn, compose: Compose) -> None:
    made = compose(*turn)
    for block, question in zip(blocks_of(made.paper, QuestionBlock), made.questions, strict=True):
        shown = sum("→" in words(one.line) for one in block.stem if isinstance(one, Paragraph))
        reactions = {
            reaction
            for operation in question.draw.variant.procedure.operations
            for reaction in getattr(operation, "reactions", ())
        }
        assert min(2, len(reactions)) <= shown <= len(reactions) + 1  # one more where a gas is told in volumes


@every_kind_once
def test_worked_solutions_number_their_steps_and_end_with_the_answer(turn: Turn, compose: Compose) -> None:
    made = compose(*turn)
    headings = [words(node.line) for node in _nodes(made.worked) if isinstance(node, Heading) and node.level == 2]
    assert headings == [f"Question {number}" for number in range(1, len(made.questions) + 1)]
    numbers: list[int] = []
    for node in _nodes(made.worked):
        if isinstance(node, Heading):
            numbers = []
        elif isinstance(node, Paragraph) and (match := re.match(r"Step (\d+)\. ", words(node.line))):
            numbers.append(int(match[1]))
            assert numbers == list(range(1, len(numbers) + 1))


def _nodes(sheet: Any) -> list[Any]:
    found: list[Any] = []
    waiting = list(sheet.blocks)
    while waiting:
        node = waiting.pop(0)
        found.append(node)
        waiting[:0] = list(getattr(node, "blocks", ()))
    return found


def test_the_four_sheets_carry_code_version_and_kind(compose: Compose) -> None:
    made = compose(KEYS[0], "exam", "dm3")
    assert [sheet.kind for sheet in made.sheets()] == ["questions", "scheme", "worked", "answers"]
    assert {sheet.code for sheet in made.sheets()} == {"A-0000-000"}
    assert {sheet.version for sheet in made.sheets()} == {"Version A"}


def test_a_scaffolded_question_does_not_print_the_mean_titre_that_it_asks_for(
    small_bank: Bank, small_questions: Questions
) -> None:
    for seed in range(20):
        question = small_questions.make(small_bank.archetypes["small-direct"], Stream(f"scaffold/{seed}"))
        if question.draw.runs:
            setting = Setting(title="Practice", code="A-0000-000", levels=("scaffolded",))
            block = next(
                b
                for b in Composer([question], small_bank, setting).question_paper().blocks
                if isinstance(b, QuestionBlock)
            )
            mean = str(question.draw.given[q("titre of NaOH")].number)
            titres = {f"{float(run.final):.2f}" for run in question.draw.runs} | {
                f"{float(run.initial):.2f}" for run in question.draw.runs
            }
            tables = [table for part in block.parts for table in part.blocks if isinstance(table, Table)]
            assert mean in titres or not any(mean in cell(one) for table in tables for row in table.rows for one in row)


def test_a_molar_mass_stands_in_working_as_it_does_in_its_sum(small_bank: Bank, small_questions: Questions) -> None:
    question = small_questions.make(small_bank.archetypes["small-standard"], Stream("zeros"))
    sheet = Composer(
        [question], small_bank, Setting(title="Practice", code="A-0000-000", levels=("exam",))
    ).worked_solutions()
    lines = [words(node.line) for node in _nodes(sheet) if isinstance(node, Paragraph)]
    assert any("= 106.0" in line for line in lines)
    assert any("/ 106.0 =" in line for line in lines)


def test_a_whole_number_is_accepted_as_itself_only(small_bank: Bank, small_questions: Questions) -> None:
    for seed in range(6):
        question = small_questions.make(small_bank.archetypes["small-hydrate"], Stream(f"whole/{seed}"))
        composer = Composer([question], small_bank, Setting(title="Practice", code="A-0000-000", levels=("exam",)))
        x = str(question.worked.answer)
        last = rows_of_marks(scheme_tables(composer.mark_scheme())[0])[-1]
        assert f"Right: {x}." in cell(last[3])
        assert cell(marking_rows(composer.mark_scheme(), 1)[-1][2]).startswith(f"{x} (")
