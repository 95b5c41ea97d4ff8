"""A set for a class: who gets which paper, files that are joined, the answer file that the marker reads back."""

from __future__ import annotations

import csv
from dataclasses import replace
from io import BytesIO
from pathlib import Path

import pytest
from pypdf import PdfReader

from molewright.bank.definitions import Bank
from molewright.derivation.plans import Plans
from molewright.errors import Mistake
from molewright.marking.files import mark_answers, mark_set
from molewright.order.front import Front
from molewright.order.order import Order, Wanted
from molewright.order.order_file import ORDER_ENDING, read_order
from molewright.order.pupils import Pupil, pupil_codes
from molewright.papers.copies import SIGNS, copies, levels_of
from molewright.papers.record.again import order_of
from molewright.papers.record.reader import read_record
from molewright.papers.sets import PaperSet
from molewright.papers.summary import summary
from molewright.papers.writing import Told, write_papers
from molewright.question.own_numbers import numbers_of

LEVELS = ("scaffolded", "structured", "stretch")
NAMES = ("Ilsa Quern", "Bram Tollo", "Edda Voss", "Ada Holm", "=Max")


def never() -> int:
    raise AssertionError("a seed was drawn though one is written")


def at_levels(*levels: str) -> tuple[Pupil, ...]:
    return tuple(Pupil(name=name, level=level) for name, level in zip(NAMES, levels, strict=False))


THREE = at_levels("scaffolded", "structured", "stretch", "structured", "scaffolded")
PUPILS = tuple(Pupil(name=name) for name in NAMES)


def the(folder: Path, ending: str) -> Path:
    (path,) = folder.glob(f"*{ending}")
    return path


# ------------------------------------------------------------------ who gets what


def test_every_level_has_the_same_experiments_with_the_same_numbers(bank: Bank, plans: Plans) -> None:
    papers = PaperSet(bank, Order(seed=11), Wanted(pupils=THREE, numbers="shared"), plans)
    assert papers.levels == LEVELS
    made = {copy.level: papers.paper(copy) for copy in papers.copies}
    first, *others = ([numbers_of(question) for question in paper.questions] for paper in made.values())
    assert all(other == first for other in others)
    assert len({paper.code for paper in made.values()}) == 3
    signs = {paper.composer.question_paper().version for paper in made.values()}
    assert signs == {f"Version A · {SIGNS[level]}" for level in LEVELS}


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_totals_of_the_levels_are_comparable(seed: int, bank: Bank, plans: Plans) -> None:
    papers = PaperSet(bank, Order(seed=seed, levels=("structured", "exam", "stretch")), Wanted(), plans)
    totals = {copy.level: papers.paper(copy).composer.marks for copy in papers.copies}
    assert totals["structured"] == totals["exam"]
    assert totals["exam"] < totals["stretch"] <= 1.25 * totals["exam"]


def test_the_names_of_levels_stand_on_no_sheet_of_a_pupil(bank: Bank, plans: Plans, tmp_path: Path) -> None:
    wanted = Wanted(pupils=THREE, numbers="shared", forms=("text",), sheets=("questions",))
    write_papers(PaperSet(bank, Order(seed=11), wanted, plans), tmp_path)
    page = the(tmp_path, "questions.txt").read_text("utf-8").casefold()
    assert not any(level in page for level in LEVELS)


def test_a_pupil_added_late_changes_nobody_elses_numbers(bank: Bank, plans: Plans) -> None:
    def numbers(pupils: tuple[Pupil, ...]) -> dict[str, object]:
        papers = PaperSet(bank, Order(seed=12, count=2), Wanted(pupils=pupils), plans)
        assert all(copy.pupil for copy in papers.copies)
        return {
            copy.pupil.name: [numbers_of(question) for question in papers.paper(copy).questions]
            for copy in papers.copies
            if copy.pupil
        }

    before, after = numbers(PUPILS), numbers((Pupil(name="Zoë New"), *reversed(PUPILS)))
    assert before == {name: after[name] for name in before}
    assert len({str(one) for one in after.values()}) == 6


def test_no_two_of_a_large_school_have_one_code() -> None:
    pupils = [Pupil(name=f"Pupil {number}") for number in range(3000)]
    codes = pupil_codes(pupils)
    assert len(set(codes)) == 3000
    assert all(len(code) == 5 and code.isdecimal() for code in codes)
    assert pupil_codes(pupils[:100]) == codes[:100]


def test_shared_numbers_go_by_the_version_of_the_list_or_in_turn(bank: Bank, plans: Plans) -> None:
    pupils = (Pupil(name="Ilsa", version="B"), Pupil(name="Bram"), Pupil(name="Edda"))
    wanted = Wanted(pupils=pupils, numbers="shared", versions=("A", "B"))
    assert [copy.version for copy in copies(Order(seed=1), wanted)] == ["B", "B", "A"]


def test_a_pupil_whose_level_is_not_made_is_told() -> None:
    order = Order(seed=1, levels=("structured", "exam"))
    with pytest.raises(Mistake, match="Ilsa Quern has the level stretch"):
        copies(order, Wanted(pupils=at_levels("stretch")))
    with pytest.raises(Mistake, match="does not say at which level Ilsa Quern works"):
        copies(order, Wanted(pupils=PUPILS))
    assert levels_of(Order(seed=1, level="exam"), Wanted(pupils=(*at_levels("structured"), Pupil(name="Ada")))) == (
        "structured",
        "exam",
    )


# ------------------------------------------------------------------ files


def test_a_class_at_three_levels_is_a_few_files(bank: Bank, plans: Plans, tmp_path: Path) -> None:
    papers = PaperSet(bank, Order(seed=11), Wanted(pupils=THREE, numbers="shared"), plans)
    told = write_papers(papers, tmp_path)
    assert len(told.files) <= 12
    assert sorted(told.files) == sorted(path.name for path in tmp_path.iterdir())
    assert len(told.pages) == len(THREE)


def test_a_joined_file_has_a_right_hand_page_and_a_bookmark_for_each_pupil(
    bank: Bank, plans: Plans, tmp_path: Path
) -> None:
    papers = PaperSet(bank, Order(seed=11), Wanted(pupils=THREE, numbers="shared"), plans)
    told = write_papers(papers, tmp_path)
    reader = PdfReader(BytesIO(the(tmp_path, "questions.pdf").read_bytes()))
    marks = [one for one in reader.outline if not isinstance(one, list)]
    assert [one.title for one in marks] == list(NAMES)
    starts = [reader.get_destination_page_number(one) for one in marks]
    assert all(page is not None and page % 2 == 0 for page in starts)  # counted from nought
    assert sum("This page is blank." in page.extract_text() for page in reader.pages) == told.blank
    assert len(reader.pages) == sum(told.pages) + told.blank
    for name, page in zip(NAMES, starts, strict=True):
        assert page is not None
        assert name in reader.pages[page].extract_text()
    root = reader.trailer["/Root"]["/StructTreeRoot"]["/K"].get_object()
    assert root["/S"] == "/Document"
    assert [kid.get_object()["/S"] for kid in root["/K"]] == ["/Part"] * len(THREE)


def test_every_mark_of_a_joined_file_is_owned(bank: Bank, plans: Plans, tmp_path: Path) -> None:
    write_papers(PaperSet(bank, Order(seed=11), Wanted(pupils=THREE, numbers="shared"), plans), tmp_path)
    reader = PdfReader(BytesIO(the(tmp_path, "questions.pdf").read_bytes()))
    numbers = reader.trailer["/Root"]["/StructTreeRoot"]["/ParentTree"]["/Nums"]
    owned = dict(zip(numbers[::2], numbers[1::2], strict=True))
    for page in reader.pages:
        owners = owned[page["/StructParents"]].get_object()
        content = page.get_contents()
        marks = content.get_data().count(b"/MCID ") if content is not None else 0
        assert len(owners) == marks
        assert all(one.get_object()["/Type"] == "/StructElem" for one in owners)


def test_the_key_of_a_class_has_each_pupils_own_answers(bank: Bank, plans: Plans, tmp_path: Path) -> None:
    wanted = Wanted(pupils=PUPILS, forms=("text",), sheets=("questions", "class"))
    papers = PaperSet(bank, Order(seed=12, count=2, level="exam"), wanted, plans)
    told = write_papers(papers, tmp_path)
    assert not any("mark-scheme" in name for name in told.files)
    page = the(tmp_path, "class-key.txt").read_text("utf-8")
    for copy in papers.copies:
        (line, *_) = [line for line in page.splitlines() if copy.pupil and copy.pupil.name in line]
        answer = papers.paper(copy).questions[0].worked.answer
        assert answer.number_text in line


@pytest.mark.parametrize("files", ["joined", "separate"])
def test_files_are_joined_or_separate_as_asked(files: str, bank: Bank, plans: Plans, tmp_path: Path) -> None:
    wanted = Wanted(versions=("A", "B", "C"), files=files, sheets=("questions",))  # type: ignore[arg-type]
    told = write_papers(PaperSet(bank, Order(seed=12, count=2), wanted, plans), tmp_path)
    assert sum(name.endswith(".pdf") for name in told.files) == (1 if files == "joined" else 3)


def test_a_set_prints_again_from_its_order(bank: Bank, plans: Plans, tmp_path: Path) -> None:
    order = Order(seed=11, levels=LEVELS)
    write_papers(PaperSet(bank, order, Wanted(versions=("A", "B")), plans), tmp_path / "first")
    again, wanted = read_order(the(tmp_path / "first", ORDER_ENDING), never)
    assert again.levels == LEVELS
    write_papers(PaperSet(bank, again, wanted, plans), tmp_path / "again")
    first, second = (
        {path.name: path.read_bytes() for path in sorted((tmp_path / where).iterdir())} for where in ("first", "again")
    )
    assert first == second


# ------------------------------------------------------------------ the answer file


@pytest.mark.parametrize("numbers", ["own", "shared"])
def test_right_answers_typed_into_the_answer_file_earn_every_mark(
    numbers: str, bank: Bank, plans: Plans, tmp_path: Path
) -> None:
    wanted = Wanted(pupils=THREE, numbers=numbers, forms=("text",), sheets=("questions",))  # type: ignore[arg-type]
    papers = PaperSet(bank, Order(seed=11, count=3), wanted, plans)
    write_papers(papers, tmp_path)
    rows = list(csv.reader(the(tmp_path, "answers.csv").read_text("utf-8-sig").splitlines()))
    headings = [row for row in rows if row and row[0] == "level"]
    assert len(headings) >= 3
    filled: list[list[str]] = []
    for copy in papers.copies:
        paper = papers.paper(copy)
        (at,) = [at for at, row in enumerate(rows) if copy.pupil and row[2:3] and row[2].lstrip("'") == copy.pupil.name]
        heading = next(row for row in reversed(rows[:at]) if row and row[0] == "level")
        assert rows[at][:2] == [copy.level, paper.code]
        final = {f"{number}": question.worked.answer for number, question in enumerate(paper.questions, 1)}
        parts = {number: [cell for cell in heading if cell.partition("(")[0] == number] for number in final}
        last = {
            cells[len(cells) - 1 - len(paper.questions[int(number) - 1].further_parts)]: str(final[number])
            for number, cells in parts.items()
        }
        filled += [heading, [*rows[at][:3], *(last.get(cell, "") for cell in heading[3:])]]
    path = tmp_path / "filled.csv"
    with path.open("w", newline="", encoding="utf-8-sig") as file:
        csv.writer(file).writerows(filled)
    classes, notes = mark_set(path, bank, given=tmp_path)
    assert notes == ()
    assert len(classes) == len(papers.levels)
    assert sum(len(marked.pupils) for marked in classes) == len(THREE)
    for pupil in (pupil for marked in classes for pupil in marked.pupils):
        paper = papers.paper(next(copy for copy in papers.copies if copy.pupil and copy.pupil.name == pupil.name))
        assert pupil.marks == {number: len(question.points) for number, question in enumerate(paper.questions, 1)}


def test_a_pupil_of_whom_no_row_tells_the_paper_is_told(bank: Bank, plans: Plans, tmp_path: Path) -> None:
    papers = PaperSet(bank, Order(seed=11, count=2, levels=("structured", "exam")), Wanted(forms=("text",)), plans)
    write_papers(papers, tmp_path)
    one, other = (maker.code for maker in papers.makers.values())
    path = tmp_path / "filled.csv"
    path.write_text(
        f"code,pupil,question,answer\nA-{one},Ilsa,1,1\nA-{other},Bram,1,1\n,Bram,2,1\n,Edda,1,1\n", "utf-8"
    )
    with pytest.raises(Mistake, match=":5: no row tells which paper 'Edda' had"):
        mark_set(path, bank, given=tmp_path)


def test_an_answer_file_that_nobody_has_filled_in_is_told(bank: Bank, plans: Plans, tmp_path: Path) -> None:
    write_papers(PaperSet(bank, Order(seed=12, count=2), Wanted(forms=("text",)), plans), tmp_path)
    with pytest.raises(Mistake, match="holds a heading and no answer"):
        mark_answers(the(tmp_path, "answers.csv"), bank, plans)


# ------------------------------------------------------------------ what is told


def test_the_summary_tells_questions_marks_pages_and_paper(bank: Bank, plans: Plans, tmp_path: Path) -> None:
    papers = PaperSet(bank, Order(seed=11), Wanted(pupils=THREE, numbers="shared"), plans)
    told = write_papers(papers, tmp_path)
    lines = list(summary(papers, told))
    for level in LEVELS:
        assert any(level in line for line in lines)
    assert sum(line.endswith("minutes") for line in lines) == 3
    (paper,) = [line for line in lines if line.startswith("question paper:")]
    assert f"{sum((pages + 1) // 2 for pages in told.pages)} sheets of paper for {len(THREE)} papers" in paper


@pytest.mark.parametrize(("pages", "both"), [([1], False), ([1, 1], False), ([2], True), ([1, 3], True)])
def test_only_a_paper_of_more_than_one_page_is_printed_on_both_sides(
    pages: list[int], both: bool, bank: Bank, plans: Plans
) -> None:
    papers = PaperSet(bank, Order(seed=12, count=1), Wanted(), plans)
    (line,) = [line for line in summary(papers, Told(pages=pages)) if line.startswith("question paper:")]
    assert ("printed on both sides" in line) is both


@pytest.mark.parametrize("files", ["joined", "separate"])
def test_pages_are_told_of_every_sheet_of_a_form_that_has_pages(
    files: str, bank: Bank, plans: Plans, tmp_path: Path
) -> None:
    sheets = ("questions", "scheme", "answers", "class")
    wanted = Wanted(versions=("A", "B"), files=files, forms=("pdf", "latex", "text"), sheets=sheets)  # type: ignore[arg-type]
    papers = PaperSet(bank, Order(seed=4, count=2), wanted, plans)
    told = write_papers(papers, tmp_path)
    counted = {"questions": told.pages, **told.other_pages}
    assert set(counted) == {"questions", "mark scheme", "answers", "class key", "marking sheet"}
    for name, pages in counted.items():
        held = [len(PdfReader(path).pages) for path in tmp_path.glob(f"*-{name.replace(' ', '-')}.pdf")]
        blank = sum(held) - sum(pages)
        assert blank == 0 or (files == "joined" and blank == 1)
    lines = list(summary(papers, told))
    assert any("mark scheme: " in line and "answers: 1 page each" in line for line in lines)
    assert "pages of latex: not counted, the program that prints it makes them" in lines
    assert not any("text" in line for line in lines)


def test_a_set_has_one_data_sheet_whoever_is_in_it(bank: Bank, plans: Plans, tmp_path: Path) -> None:
    wanted = Wanted(pupils=THREE, numbers="shared", sheets=("questions", "data"), forms=("pdf", "text"))
    told = write_papers(PaperSet(bank, Order(seed=11, count=2), wanted, plans), tmp_path)
    assert sum("data-sheet" in name for name in told.files) == 2
    assert len(PdfReader(the(tmp_path, "data-sheet.pdf")).pages) == 1


def test_the_front_of_a_set_stands_in_its_settled_order_and_prints_again(
    bank: Bank, plans: Plans, tmp_path: Path
) -> None:
    front = Front(
        page="cover",
        school="Quernholm",
        fields=("name", "candidate number"),
        minutes=45,
        instructions=("Write in ink.",),
    )
    papers = PaperSet(bank, Order(seed=11, count=2), Wanted(front=front, sheets=("questions", "data")), plans)
    write_papers(papers, tmp_path / "first")
    order, wanted = read_order(the(tmp_path / "first", ORDER_ENDING), never)
    assert wanted.front == front
    write_papers(PaperSet(bank, order, wanted, plans), tmp_path / "again")
    for ending in ("questions.pdf", "data-sheet.pdf", ORDER_ENDING):
        assert the(tmp_path / "first", ending).read_bytes() == the(tmp_path / "again", ending).read_bytes()


@pytest.mark.parametrize(
    ("wanted", "said"),
    [
        (Wanted(title="\N{HEBREW LETTER ALEF}"), "order: title: "),
        (Wanted(front=Front(school="\N{HEBREW LETTER ALEF}")), "order: front: "),
        (Wanted(front=Front(may_use=("a calculator", "\N{HEBREW LETTER ALEF}"))), "order: front: "),
    ],
)
def test_words_that_cannot_be_printed_are_told_with_their_place(
    wanted: Wanted, said: str, bank: Bank, plans: Plans, tmp_path: Path
) -> None:
    with pytest.raises(Mistake) as caught:
        write_papers(PaperSet(bank, Order(seed=11, count=1), wanted, plans), tmp_path)
    assert str(caught.value).startswith(said)
    assert not list(tmp_path.glob("*"))


def test_a_record_prints_its_papers_again_with_their_front(bank: Bank, plans: Plans, tmp_path: Path) -> None:
    front = Front(page="cover", school="Quernholm", minutes=45)
    wanted = Wanted(front=front, sheets=("questions",))
    write_papers(PaperSet(bank, Order(seed=11, count=2), wanted, plans), tmp_path / "first")
    order, found = order_of(read_record(the(tmp_path / "first", "-record.jsonl")), never)
    assert found.front == front
    write_papers(PaperSet(bank, order, replace(found, sheets=("questions",)), plans), tmp_path / "again")
    first, again = (the(tmp_path / folder, "questions.pdf").read_bytes() for folder in ("first", "again"))
    assert first == again


def test_what_cannot_be_joined_is_told(bank: Bank, plans: Plans, tmp_path: Path) -> None:
    wanted = Wanted(files="joined", forms=("latex", "html", "text", "docx"), sheets=("questions",))
    papers = PaperSet(bank, Order(seed=11, count=1), wanted, plans)
    told = write_papers(papers, tmp_path)
    assert "not joined, a file for each paper: latex, html, docx" in list(summary(papers, told))


def test_beside_schemes_of_several_versions_lies_one_marking_sheet_of_all(
    bank: Bank, plans: Plans, tmp_path: Path
) -> None:
    for sheets, versions, there in ((("scheme",), "AB", True), (("answers",), "AB", False), (("marking",), "A", True)):
        folder = tmp_path / f"{sheets[0]}{versions}"
        wanted = Wanted(versions=tuple(versions), forms=("text",), sheets=sheets)
        write_papers(PaperSet(bank, Order(seed=3, count=1), wanted, plans), folder)
        found = [path.read_text("utf-8") for path in folder.glob("*-marking-sheet.txt")]
        assert len(found) == there
        assert all(f"Version {version}" in text for text in found for version in versions if versions == "AB")
