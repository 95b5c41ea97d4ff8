"""Papers that were filled in on screen: whose they are, what stands in their fields, and which could not be read."""

from __future__ import annotations

import io
import re
from collections.abc import Mapping
from pathlib import Path

import pypdf
import pytest
from reportlab.pdfgen.canvas import Canvas

from molewright.bank.definitions import Bank
from molewright.derivation.plans import Plans
from molewright.errors import Mistake
from molewright.marking.files import mark_set
from molewright.marking.returned import read_returned
from molewright.order.order import Order, Wanted
from molewright.order.pupils import Pupil
from molewright.papers.sets import PaperSet
from molewright.papers.writing import write_papers

CODE = "A-2VFD-71EN-5QMR-W"


def filled(
    typed: Mapping[str, str], front: str = "Name Class Date", foot: str = f"{CODE} Turn over page 1 of 2"
) -> bytes:
    """A paper with fields of these names, and what was typed into them."""
    out = io.BytesIO()
    canvas = Canvas(out, invariant=1)
    canvas.drawString(50, 800, "Titration homework")
    canvas.drawString(50, 780, front)
    for at, (name, text) in enumerate(typed.items()):
        canvas.acroForm.textfield(name=name, value=text, x=50, y=740 - 20 * at, width=200, height=16)
    canvas.drawString(50, 30, foot)
    canvas.save()
    return out.getvalue()


def write(folder: Path, papers: Mapping[str, bytes]) -> Path:
    for name, content in papers.items():
        (folder / name).write_bytes(content)
    return folder


def test_answers_are_read_from_the_fields_of_their_parts(tmp_path: Path) -> None:
    typed = {"name": "Bo O'Tarn", "class": "11X", "1 working": "n = cV", "1": "0.0950", "2(b)": "lower", "2(b) 2": "less acid",
             "2(c) gap 1": "5", "3(a)": ""}  # fmt: skip
    found = read_returned(write(tmp_path, {"b.pdf": filled(typed)}))
    assert [(row.code, row.pupil, row.question, row.part, row.answer) for row in found.rows] == [
        (CODE, "Bo O'Tarn", 1, "", "0.0950"), (CODE, "Bo O'Tarn", 2, "b", "lower; less acid"),
    ]  # fmt: skip
    assert found.notes == ()
    assert str(found.where(found.rows[0])) == str(tmp_path / "b.pdf")


def test_a_pupils_own_paper_tells_its_name_in_print(tmp_path: Path) -> None:
    paper = filled({"class": "11X", "date": "", "1": "5"}, "Name Ada Holm Class Date", "51912-2VFD-7YR1-28 page 1 of 1")
    (row,) = read_returned(write(tmp_path, {"a.pdf": paper})).rows
    assert (row.pupil, row.code) == ("Ada Holm", "51912-2VFD-7YR1-28")


BAD = {
    "nobody.pdf": (filled({"name": " ", "1": "5"}), "no name stands on it"),
    "scan.pdf": (filled({}), "it has no fields: a scan"),
    "torn.pdf": (filled({"name": "Ada", "1": "5"})[:300], "it cannot be read as a PDF"),
    "other.pdf": (filled({"name": "Ada", "1": "5"}, foot="a form of somebody else"), "no paper code"),
    "words.PDF": (b"just words", "it cannot be read as a PDF"),
}


def test_papers_that_cannot_be_read_are_listed_and_the_others_marked(
    tmp_path: Path, caplog: pytest.LogCaptureFixture, capsys: pytest.CaptureFixture[str]
) -> None:
    good = {"ilsa.pdf": filled({"name": "Ilsa", "1": "5"}), "bram.pdf": filled({"name": "Bram", "1": ""})}
    found = read_returned(write(tmp_path, {**good, **{name: content for name, (content, _) in BAD.items()}}))
    assert [row.pupil for row in found.rows] == ["Ilsa"]
    assert [one.name for one in found.absent] == ["Bram"]
    (note,) = found.notes
    assert note.startswith("5 filled papers not read: ")
    for name, (_, why) in BAD.items():
        assert f"{name}: {why}" in note
    assert not caplog.records
    assert capsys.readouterr() == ("", "")


def test_a_folder_in_which_no_paper_can_be_read_is_refused(tmp_path: Path) -> None:
    with pytest.raises(Mistake, match=r"no filled papers \(\.pdf\) lie in this folder"):
        read_returned(tmp_path)
    with pytest.raises(Mistake, match=r"no paper in this folder holds an answer.*scan\.pdf: it has no fields"):
        read_returned(write(tmp_path, {"scan.pdf": filled({})}))


@pytest.mark.thorough
def test_the_fillable_papers_of_a_class_typed_into_earn_the_marks_of_their_answers(bank: Bank, tmp_path: Path) -> None:
    order = Order(seed=5, count=2, level="structured", archetypes=("back-portions", "direct-purity"))
    wanted = Wanted(pupils=(Pupil(name="Ada Holm"), Pupil(name="Bo O’Tarn")), fillable=True, sheets=("questions",))
    papers = PaperSet(bank, order, wanted, Plans(bank.fingerprint, tmp_path / "plans"))
    write_papers(papers, tmp_path / "out")
    (tmp_path / "back").mkdir()
    for path in (tmp_path / "out").glob("*questions.pdf"):
        made = pypdf.PdfWriter(clone_from=path)
        ada = "ada" in path.name
        copy = papers.copies[0 if ada else 1]
        finals = {
            max(
                name
                for name in pypdf.PdfReader(path).get_fields() or {}
                if re.fullmatch(rf"{number}(\([a-z]\))?", name)
            ): str(question.worked.answer)
            for number, question in enumerate(papers.paper(copy).questions, 1)
        }
        for page in made.pages:
            made.update_page_form_field_values(page, finals if ada else {}, auto_regenerate=False)
        made.write(tmp_path / "back" / path.name)
    (marked,), notes = mark_set(tmp_path / "back", bank, given=tmp_path / "out", class_list=wanted.pupils)
    assert notes == ()
    assert [(one.name, one.total) for one in marked.pupils] == [("Ada Holm", sum(marked.out_of.values()))]
    assert marked.absent == ("Bo O’Tarn",)
