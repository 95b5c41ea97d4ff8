"""Answers are typed or sent, judged, settled and taken away as the command would mark them; no name stays behind."""

from __future__ import annotations

import html
import io
import re
from pathlib import Path

import pytest

from molewright.cli import main
from molewright.marking.seats import Seat, seats
from molewright.papers.record.reader import read_record
from shared.pages import Pages, Visitor

CLASS = "name,level\nIlsa Quern,structured\nBram Tollo,exam\nEdda Voss,exam\n"
KINDS = ["back-portions", "direct-purity", "direct-portion-describe"]  # the last has marks that only a teacher can give


def folder_of(pages: Pages, paper: str) -> Path:
    return pages.pages.folder / f"paper-{int(paper.rpartition('/')[2]):03}"


def class_of(visitor: Visitor, levels: list[str], names: str) -> str:
    paper = visitor.new_paper(kind=KINDS, questions="3", level=levels)
    if names:
        got = visitor.post(f"{paper}/class", {"seen": visitor.get(paper).seen, "names": names, "numbers": "shared"})
        assert got.status == 303, got.text
    assert visitor.get(f"{paper}/mark").status == 200
    return paper


def taken(pages: Pages, paper: str, unnamed: int = 4) -> tuple[Seat, ...]:
    records = [read_record(path) for path in sorted((folder_of(pages, paper) / "printed-001").iterdir())]
    return seats(records, pages.pages.room.shelf.paper(int(paper.rpartition("/")[2])).pupils(), unnamed)


def right(seat: Seat, at: int) -> dict[str, str]:
    """Every answer that has a number, right."""
    return {f"a-{at}-{number}": one.right for number, one in enumerate(seat.places) if not one.teachers}


def said(page: str, name: str) -> str:
    found = re.search(rf'id="said-{name}">([^<]*)<', page)
    assert found is not None
    return html.unescape(found[1])


@pytest.fixture(scope="module")
def two_levels(pages: Pages) -> str:
    return class_of(pages.inside, ["structured", "exam"], CLASS)


def test_a_row_is_judged_while_it_is_typed_and_stays(pages: Pages, visitor: Visitor, two_levels: str) -> None:
    seat = taken(pages, two_levels)[0]
    typed = right(seat, 0)
    first, second = list(typed)[:2]
    typed[second] = "999"
    piece = visitor.post(f"{two_levels}/mark/row", {"row": "0", **typed}).text
    assert said(piece, first[2:]).startswith("✓")
    assert said(piece, second[2:]).startswith("✗")
    again = visitor.get(f"{two_levels}/mark").text
    assert said(again, second[2:]).startswith("✗")
    assert 'value="999"' in again
    names = [
        one.read_bytes() for one in folder_of(pages, two_levels).rglob("*") if one.is_file() and one.name != "class.csv"
    ]
    assert not any(b"Quern" in held for held in names)
    assert visitor.post(f"{two_levels}/mark/row", {"row": "7"}).status == 404


def test_a_class_is_marked_settled_and_taken_as_by_the_command(
    pages: Pages, visitor: Visitor, two_levels: str, tmp_path: Path
) -> None:
    cells: dict[str, str] = {}
    for at, seat in enumerate(taken(pages, two_levels)[:2]):
        cells |= right(seat, at)
        cells |= {f"a-{at}-{number}": "in my own words" for number, one in enumerate(seat.places) if one.teachers}
    marked = visitor.post(f"{two_levels}/mark", {"all": "yes", **cells})
    at = marked.headers["location"]
    page = visitor.follow(marked).text
    waiting = re.findall(r'<label for="(m\d+)">([^<]+)<', page)
    assert waiting
    assert "Edda Voss" in page.partition("Not there")[2]
    too_many = visitor.post(at, {waiting[0][0]: "99"})
    assert too_many.status == 400
    assert "whole number from 0 to" in too_many.text
    settled = visitor.follow(visitor.post(at, {name: "0" for name, _ in waiting})).text
    assert "Marks that only you can give" not in settled
    files = visitor.files_of(visitor.send(f"{at}/files", {"what": "report", "form": "text"}, []))
    (tmp_path / "answers.csv").write_bytes(files.pop("answers.csv"))
    folder = folder_of(pages, two_levels)
    line = [
        "mark",
        str(tmp_path / "answers.csv"),
        "--record",
        str(folder / "printed-001"),
        "--class-list",
        str(folder / "class.csv"),
    ]
    assert main([*line, "--form", "text", "--to", str(tmp_path / "out")]) == 0
    assert {one.name: one.read_bytes() for one in (tmp_path / "out").iterdir()} == files
    marks = next(content for name, content in files.items() if name.startswith("marks-")).decode("utf-8-sig")
    assert "Ilsa Quern" in marks
    book = visitor.files_of(visitor.send(f"{at}/files", {"what": "book", "form": "text"}, []))
    assert any(b"Bram Tollo" in content for content in book.values())
    practice = visitor.files_of(visitor.send(f"{at}/files", {"what": "practice", "form": "text", "questions": "1"}, []))
    assert any(name.endswith(".plan.yaml") for name in practice)


def test_the_filled_in_table_is_marked_and_rubbish_is_refused(pages: Pages, visitor: Visitor, two_levels: str) -> None:
    take = {
        "seen": visitor.get(two_levels).seen,
        "sheet": "questions",
        "form": "text",
        "look": "usual",
        "space": "normal",
    }
    files = visitor.files_of(visitor.post(f"{two_levels}/take", take))
    name, table = next(one for one in files.items() if one[0].endswith(".xlsx"))
    import openpyxl

    book = openpyxl.load_workbook(io.BytesIO(table))
    sheet = book.worksheets[0]
    heading = [cell.value for cell in sheet[1]]
    sheet.cell(2, heading.index("1(a)") + 1 if "1(a)" in heading else 4).value = "1.23"
    filled = io.BytesIO()
    book.save(filled)
    got = visitor.send(f"{two_levels}/mark/sent", {}, [("answers", "../../" + name, filled.getvalue())])
    assert got.status == 303, got.text
    assert "1.23" in visitor.follow(got).text
    for rubbish in (
        b"",
        b"PK\x03\x04 rubbish",
        b"%PDF-1.7 with nothing in it",
        b"pupil,question\nIlsa,1\n",
        b"x\n" * 1500,
    ):
        bad = visitor.send(f"{two_levels}/mark/sent", {}, [("answers", "answers.csv", rubbish)])
        assert bad.status == 400
        assert "could not be done" in bad.text


def test_a_tutor_with_one_pupil_needs_no_class_and_no_file(pages: Pages, visitor: Visitor) -> None:
    paper = class_of(visitor, ["structured"], "")
    seat = taken(pages, paper)[0]
    marked = visitor.post(f"{paper}/mark", {"all": "yes", "rows": "4", **right(seat, 0)})
    page = visitor.follow(marked).text
    assert "Pupil 1" in page
    assert "Pupil 2" not in page


def test_filled_papers_are_marked(pages: Pages, visitor: Visitor) -> None:
    import pypdf

    paper = class_of(visitor, ["structured"], "Ilsa Quern\nBram Tollo")
    take = {
        "seen": visitor.get(paper).seen,
        "sheet": "questions",
        "form": "pdf",
        "look": "usual",
        "space": "normal",
        "fillable": "yes",
    }
    files = visitor.files_of(visitor.post(f"{paper}/take", take))
    filled = []
    for name, content in files.items():
        if name.endswith(".pdf"):
            writer = pypdf.PdfWriter(clone_from=io.BytesIO(content))
            fields = [one for one in (pypdf.PdfReader(io.BytesIO(content)).get_fields() or {}) if one.startswith("1(")]
            for page in writer.pages:
                writer.update_page_form_field_values(page, {fields[-1]: "1.00"}, auto_regenerate=False)
            out = io.BytesIO()
            writer.write(out)
            filled.append(("answers", name, out.getvalue()))
    got = visitor.send(f"{paper}/mark/sent", {}, filled)
    assert got.status == 303, got.text
    page = visitor.follow(got).text
    assert "Ilsa Quern" in page
    assert "Bram Tollo" in page


def test_answers_go_with_the_names_they_were_typed_for(pages: Pages, visitor: Visitor) -> None:
    paper = class_of(visitor, ["structured"], "Ilsa Quern\nBram Tollo")
    visitor.post(f"{paper}/mark/row", {"row": "0", "a-0-0": "1.23"})
    held = folder_of(pages, paper) / "typed-answers.json"
    assert b"1.23" in held.read_bytes()
    assert visitor.post(f"{paper}/class/empty", {"seen": visitor.get(paper).seen}).status == 303
    assert b"1.23" not in held.read_bytes()


def test_answers_belong_to_the_paper_they_were_typed_for(pages: Pages, visitor: Visitor) -> None:
    paper = class_of(visitor, ["structured"], "Ilsa Quern\nBram Tollo")
    visitor.post(f"{paper}/mark/row", {"row": "0", "a-0-0": "1.23"})
    visitor.post(f"{paper}/change", {"seen": visitor.get(paper).seen, "what": "remove", "number": "3"})
    assert visitor.follow(visitor.post(f"{paper}/mark/now", {})).text.count('value="1.23"') == 0
    now = visitor.get(f"{paper}/mark").text
    assert "1 answer was typed for another set" in now
    assert "mark?set=1" in now
    visitor.post(f"{paper}/mark", {"set": "1", "a-1-0": "4.56"})
    earlier = visitor.get(f"{paper}/mark?set=1").text
    assert 'value="1.23"' in earlier
    assert 'value="4.56"' in earlier
    visitor.post(f"{paper}/undo", {"seen": visitor.get(paper).seen})
    again = visitor.follow(visitor.post(f"{paper}/mark/now", {})).text
    assert 'value="1.23"' in again
    assert "typed for another set" not in again
    assert visitor.get(f"{paper}/mark?set=9").status == 404


def test_answers_kept_by_the_folder_of_their_records_show_still(pages: Pages, visitor: Visitor) -> None:
    paper = class_of(visitor, ["structured"], "Ilsa Quern")
    seat = taken(pages, paper)[0]
    held = folder_of(pages, paper) / "typed-answers.json"
    place = seat.places[0]
    held.write_text(f'{{"printed-001|{seat.key}|{place.question}|{place.part}|a": "1.23"}}')
    assert 'value="1.23"' in visitor.get(f"{paper}/mark").text
    visitor.post(f"{paper}/mark/row", {"row": "0", "a-0-1": "4.56"})
    assert b"printed-001" not in held.read_bytes()
    assert 'value="1.23"' in visitor.get(f"{paper}/mark").text


def test_marks_given_to_typed_answers_stay_and_files_lead_back_to_them(pages: Pages, visitor: Visitor) -> None:
    paper = class_of(visitor, ["structured"], "Ilsa Quern")
    seat = taken(pages, paper)[0]
    words = {f"a-0-{number}": "in my own words" for number, one in enumerate(seat.places) if one.teachers}
    at = visitor.post(f"{paper}/mark", {"all": "yes", **right(seat, 0), **words}).headers["location"]
    waiting = re.findall(r'<label for="(m\d+)">', visitor.get(at).text)
    assert waiting
    visitor.post(at, dict.fromkeys(waiting, "1"))
    assert len(re.findall(r'name="g-[^"]+" value="1"', visitor.get(f"{paper}/mark").text)) == len(waiting)
    again = visitor.follow(visitor.post(f"{paper}/mark", {"all": "yes", **right(seat, 0)})).text
    assert "Marks that only you can give" not in again
    job = visitor.send(f"{at}/files", {"what": "report", "form": "text"}, [])
    visitor.files_of(job)
    made = visitor.follow(job).text
    assert f'href="{at}">Back' in made
    assert re.search(r'/mark" aria-current="page"', made)
    assert "-report.zip" in visitor.get(f"{job.headers['location']}/all").headers["content-disposition"]


def test_a_mark_that_cannot_be_is_told_with_its_pupil_and_part(pages: Pages, visitor: Visitor) -> None:
    paper = class_of(visitor, ["structured"], "Ilsa Quern")
    at, place = next((at, one) for at, one in enumerate(taken(pages, paper)[0].places) if one.teachers)
    refused = visitor.post(f"{paper}/mark", {"all": "yes", f"a-0-{at}": "words", f"g-0-{at}": "99"})
    assert refused.status == 400
    assert f"'99' for Ilsa Quern, {place.question}({place.part})" in html.unescape(refused.text)
