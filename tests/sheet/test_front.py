"""The front of a paper: a heading as ever, or a cover of its own; its fields, time, table of marks and sentences."""

from __future__ import annotations

from dataclasses import replace
from io import BytesIO
from itertools import pairwise

import pytest
from pypdf import PdfReader

from molewright.draw.stream import Stream
from molewright.nodes.blocks import Block, FrontBlock, NewPage, Paragraph, QuestionBlock, Sheet, Table, Together
from molewright.nodes.inline import Text
from molewright.order.choices import FIELDS
from molewright.order.front import Front
from molewright.order.order import MOST_QUESTIONS
from molewright.question.check import Questions
from molewright.render import renderer
from molewright.render.text.lines import plain_line
from molewright.sheet.compose import Composer, Setting
from molewright.sheet.front import MOST_IN_A_BAND, MOST_IN_A_NARROW_BAND, MOST_WIDE, marks_grid
from shared.for_each import for_each, for_every

SETTING = Setting(title="Mock", code="7KQ2-M4XR", levels=("structured", "exam"), version="A")


@pytest.fixture(scope="module")
def composer(questions: Questions) -> Composer:
    """Two questions, one of which needs relative atomic masses."""
    made = [
        questions.make(questions.bank.archetypes[key], Stream(f"front/{key}"))
        for key in ("back-whole", "direct-solutions")
    ]
    return Composer(made, questions.bank, SETTING)


def paper(composer: Composer, front: Front | None, pupil: str = "") -> Sheet:
    setting = replace(SETTING, front=front, pupil=pupil)
    return Composer(composer.questions, composer.bank, setting).question_paper()


def front_of(sheet: Sheet) -> FrontBlock:
    found = sheet.blocks[0]
    assert isinstance(found, FrontBlock)
    return found


def before_the_first_question(sheet: Sheet) -> list[Block]:
    blocks: list[Block] = []
    for block in sheet.blocks:
        if isinstance(block, QuestionBlock):
            break
        blocks += block.blocks if isinstance(block, Together) else (block,)
    return blocks


def test_a_paper_that_asks_nothing_of_its_front_is_as_one_with_the_usual_heading(composer: Composer) -> None:
    assert paper(composer, None) == paper(composer, Front())
    assert front_of(paper(composer, None)).fields == ("Name", "Class", "Date")


def test_a_cover_has_a_page_to_itself_and_a_heading_has_none(composer: Composer) -> None:
    cover = before_the_first_question(paper(composer, Front(page="cover")))
    assert isinstance(cover[-1], NewPage)
    assert front_of(paper(composer, Front(page="cover"))).cover
    heading = before_the_first_question(paper(composer, Front()))
    assert not any(isinstance(block, NewPage) for block in heading)


def test_school_fields_and_time_stand_where_they_are_asked_for(composer: Composer) -> None:
    front = front_of(paper(composer, Front(school="Quernholm", fields=("name", "candidate number"), minutes=50)))
    assert (front.above, front.fields, front.time) == ("Quernholm", ("Name", "Candidate number"), "50 minutes")


def test_the_name_of_a_pupil_is_printed_and_not_asked_for_again(composer: Composer) -> None:
    front = front_of(paper(composer, Front(fields=("date", "name")), pupil="Ilsa Quern"))
    assert (front.fields, front.filled) == (("Date",), (("Name", "Ilsa Quern"),))


def test_own_sentences_stand_after_ours_and_what_may_be_used_instead(composer: Composer) -> None:
    usual = [plain_line(point) for point in front_of(paper(composer, None)).points]
    asked = Front(instructions=("Write in ink.",), may_use=("a calculator", "the data sheet"))
    own = [plain_line(point) for point in front_of(paper(composer, asked)).points]
    allowed = "You may use: a calculator, the data sheet. Marks stand in brackets."
    assert own == [usual[0], allowed, "Write in ink.", usual[2]]


@for_every(page=["heading", "cover"], grid=[None, True, False])
def test_a_cover_has_a_table_of_marks_and_a_heading_if_it_is_asked_for(
    composer: Composer, page: str, grid: bool | None
) -> None:
    front = Front(page="cover" if page == "cover" else "heading", grid=grid)
    tables = [block for block in before_the_first_question(paper(composer, front)) if isinstance(block, Table)]
    assert len(tables) == (grid if grid is not None else page == "cover")


def test_the_table_of_marks_has_the_marks_of_each_question_and_of_all(composer: Composer) -> None:
    sheet = paper(composer, Front(page="cover"))
    (table,) = (block for block in before_the_first_question(sheet) if isinstance(block, Table))
    marks = [str(block.marks) for block in sheet.blocks if isinstance(block, QuestionBlock)]
    total = str(sum(map(int, marks)))
    heading, worth, earned = (
        [plain_line(line) for cell in row for line in cell.lines] for row in (table.heading, *table.rows)
    )
    assert heading == ["Question", "1", "2", "all"]
    assert worth == ["Marks", *marks, total]
    assert earned == ["Earned"]
    assert front_of(sheet).marks == f"{total} marks"


@for_each("count", [1, 9, 10, 11, 20, 21, 27, 40])
def test_many_questions_stand_in_bands_of_nearly_one_length(count: int) -> None:
    tables = [block for block in marks_grid(range(1, count + 1)) if isinstance(block, Table)]
    numbers = [plain_line(cell.lines[0]) for table in tables for cell in table.heading[1:]]
    assert numbers == [*map(str, range(1, count + 1)), "all"]
    most = MOST_IN_A_BAND if count <= MOST_WIDE else MOST_IN_A_NARROW_BAND
    assert all(len(table.heading) - 1 <= most + 1 for table in tables)
    assert all(one.width >= other.width - 0.2 for one, other in pairwise(tables))
    assert all(table.width <= 1 for table in tables)


def test_the_cover_of_forty_questions_is_one_page(composer: Composer) -> None:
    sheet = paper(composer, Front(page="cover", fields=FIELDS, school="Quernholm", instructions=("Write in ink.",) * 4))
    cover = [block for block in before_the_first_question(sheet) if not isinstance(block, Table)]
    grid = marks_grid([5] * MOST_QUESTIONS)
    blocks = (cover[0], *grid, *cover[1:], Paragraph((Text("What follows."),)))
    pages = PdfReader(BytesIO(renderer("pdf").render(replace(sheet, blocks=blocks)))).pages
    assert [("What follows." in page.extract_text()) for page in pages] == [False, True]
