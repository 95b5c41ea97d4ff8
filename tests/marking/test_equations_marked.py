"""Equations come back in a table, a workbook or a filled paper: judged, named in plain words, and carried forward."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pypdf
import pytest

from molewright.bank.definitions import Bank
from molewright.derivation.plans import Plans
from molewright.marking.files import slips_of
from molewright.marking.marked import MarkedPupil, mark_returned
from molewright.marking.report import class_report
from molewright.marking.returned import read_returned
from molewright.marking.strips import feedback_strips
from molewright.order.order import Wanted
from molewright.order.order_file import parse_order
from molewright.papers.making import PaperMaker
from molewright.papers.record.reader import read_record
from molewright.papers.sets import PaperSet
from molewright.papers.writing import write_papers
from molewright.render.text import render

TEXT = """
seed: 3
level: exam
lines:
  - {kind: direct-one-to-two, asked: concentration of H2SO4, readings: mean, equation: KIND,
     roles: {analyte: H2SO4, titrant: NaOH}}
"""


STEEL = """
seed: 3
level: exam
lines:
  - {kind: steel, readings: mean, equation: half-equations}
"""
ACCEPTS, GIVES = "MnO4- + 8H+ + 5e- -> Mn2+ + 4H2O", "Fe2+ -> Fe3+ + e-"


def paper_of(bank: Bank, folder: Path, kind: str, fillable: bool = False, text: str = TEXT) -> PaperMaker:
    order, _ = parse_order(text.replace("KIND", kind), "order.yaml", lambda: 1)
    forms = ("pdf",) if fillable else ("text",)
    papers = PaperSet(bank, order, Wanted(forms=forms, fillable=fillable), Plans(bank.fingerprint, folder / "plans"))
    write_papers(papers, folder)
    return next(iter(papers.makers.values()))


def marked(bank: Bank, folder: Path, answers: list[tuple[str, str, str]]) -> dict[str, MarkedPupil]:
    out = io.StringIO()
    table = csv.writer(out)
    table.writerow(["pupil", "question", "part", "answer"])
    table.writerows([name, 1, part, text] for name, part, text in answers)
    (folder / "answers.csv").write_text(out.getvalue(), "utf-8")
    return of(bank, folder, folder / "answers.csv")


def of(bank: Bank, folder: Path, path: Path) -> dict[str, MarkedPupil]:
    record = read_record(next(folder.glob("*-record.jsonl")))
    return {one.name: one for one in mark_returned(read_returned(path), record, slips_of(record, bank)).pupils}


def test_an_equation_is_judged_and_its_wrong_ratio_carried_forward(bank: Bank, tmp_path: Path) -> None:
    maker = paper_of(bank, tmp_path, "equation")
    question = maker.paper(Wanted(), "A").questions[0]
    right, twice = question.worked.answer, question.worked.exact * 2
    found = marked(
        bank,
        tmp_path,
        [
            ("Ada", "a", "2NaOH + H2SO4 → Na2SO4 + 2H2O"), ("Ada", "b", str(right)),
            ("Ben", "a", "NaOH + H2SO4 = Na2SO4 + H2O"), ("Ben", "b", f"{float(twice):.4g}"),
            ("Cy", "a", "NaOH + H2SO4 -> NaHSO4 + H2O"), ("Cy", "b", f"{float(twice):.4g}"),
            ("Dee", "a", "2NaOH + H2SO4 -> Na2SO4 + 2H2O"), ("Dee", "b", f"{float(twice):.4g}"),
            ("Ed", "a", "alkali and acid make salt"), ("Ed", "b", str(right)),
            ("Flo", "a", "NaOH + H2SO4 = Na2SO4 + H2O"), ("Flo", "b", str(right)),
        ],
    )  # fmt: skip
    points = len(question.points)
    assert {name: one.total for name, one in found.items()} == {
        "Ada": 2 + points, "Ben": 1 + points, "Cy": points, "Dee": 1 + points, "Ed": points, "Flo": 1 + points,
    }  # fmt: skip
    assert found["Ben"].answers[0].equation.startswith("it is not balanced: H 3 on the left and 2 on the right")
    assert found["Ben"].answers[1].verdict == "carried forward"
    assert "with the ratio of the equation in (a)" in found["Ben"].answers[1].note
    assert "a wrong product: NaHSO₄" in found["Cy"].answers[0].note
    assert found["Dee"].answers[1].verdict == "slip"
    assert found["Ed"].pending == {1: 2}
    assert found["Flo"].answers[1].verdict == "right"


def test_what_a_pupils_own_half_equations_make_is_carried_forward(bank: Bank, tmp_path: Path) -> None:
    question = paper_of(bank, tmp_path, "", text=STEEL).paper(Wanted(), "A").questions[0]
    three, simply = "MnO4- + 8H+ + 3Fe2+ -> Mn2+ + 4H2O + 3Fe3+", "MnO4- + 8H+ + Fe2+ -> Mn2+ + 4H2O + Fe3+"
    less = question.worked.exact * 3 / 5  # by the ratio of the pupil's own equation
    found = marked(
        bank,
        tmp_path,
        [
            ("Ada", "a", ACCEPTS), ("Ada", "b", GIVES), ("Ada", "c", "MnO4- + 8H+ + 5Fe2+ -> Mn2+ + 4H2O + 5Fe3+"),
            ("Ben", "a", "MnO4- + 8H+ + 3e- -> Mn2+ + 4H2O"), ("Ben", "b", GIVES), ("Ben", "c", three),
            ("Ben", "d", f"{float(less):.4g}"),
            ("Cy", "a", "MnO4- + 8H+ + 3e- -> Mn2+ + 4H2O"), ("Cy", "b", GIVES), ("Cy", "c", simply),
            ("Dee", "a", ""), ("Dee", "b", GIVES), ("Dee", "c", three),
            ("Ed", "a", "manganate takes electrons"), ("Ed", "b", GIVES), ("Ed", "c", three),
            ("Flo", "a", "MnO4- + 8H+ + 5e- -> Mn2+"), ("Flo", "b", GIVES), ("Flo", "c", "MnO4- + 8H+ + 5Fe2+ -> Mn2+ + 5Fe3+"),
            ("Gil", "a", "MnO4- + 8H+ -> Mn2+ + 4H2O + 5e-"), ("Gil", "b", GIVES), ("Gil", "c", three),
        ],
    )  # fmt: skip
    combined = {name: next(one for one in pupil.answers if one.part == "c") for name, pupil in found.items()}
    assert {name: (one.marks, one.pending) for name, one in combined.items()} == {
        "Ada": (2, 0), "Ben": (2, 0), "Cy": (1, 0), "Dee": (1, 0), "Ed": (1, 1), "Flo": (2, 0), "Gil": (1, 0),
    }  # fmt: skip
    assert combined["Ben"].verdict == combined["Flo"].verdict == "carried forward"
    assert combined["Ben"].note == "by the pupil's own half-equations"
    assert not combined["Ben"].equation
    assert found["Ben"].total == 0 + 1 + 2 + len(question.points)
    scheme = next(tmp_path.glob("*-mark-scheme.txt")).read_text("utf-8")
    assert "half-equation is" in scheme


BESIDE = """
seed: 3
level: exam
lines:
  - {kind: iron-beside-ethanedioate, asked: concentration of C2O4^2-, equation: complete equation}
"""


def test_a_wrong_ratio_is_carried_forward_where_two_substances_share_the_titrant(bank: Bank, tmp_path: Path) -> None:
    question = paper_of(bank, tmp_path, "", text=BESIDE).paper(Wanted(), "A").questions[0]
    iron, one_to_one = "MnO4- + 8H+ + 5Fe2+ -> Mn2+ + 4H2O + 5Fe3+", "MnO4- + 8H+ + C2O4^2- -> Mn2+ + 4H2O + 2CO2"
    alike = "MnO4- + 8H+ + Fe2+ -> Mn2+ + 4H2O + Fe3+"
    right = "2MnO4- + 16H+ + 5C2O4^2- -> 2Mn2+ + 8H2O + 10CO2"
    found = marked(
        bank,
        tmp_path,
        [
            ("Ada", "a", iron), ("Ada", "b", right), ("Ada", "c", str(question.worked.answer)),
            ("Ben", "a", iron), ("Ben", "b", one_to_one), ("Ben", "c", f"{float(question.worked.exact) * 2 / 5:.4g}"),
            ("Cy", "a", alike), ("Cy", "b", right), ("Cy", "c", str(question.worked.answer)),  # what iron takes is taken away again
        ],
    )  # fmt: skip
    points = len(question.points)
    assert {name: one.total for name, one in found.items()} == {"Ada": 2 + points, "Ben": 1 + points, "Cy": 1 + points}
    assert found["Ben"].answers[-1].verdict == "carried forward"


def test_report_and_strips_name_what_is_wrong_in_an_equation(bank: Bank, tmp_path: Path) -> None:
    paper_of(bank, tmp_path, "equation")
    marked(bank, tmp_path, [("Ben", "a", "NaOH + H2SO4 = Na2SO4 + H2O"), ("Cy", "a", "NaOH + H2SO4 -> NaHSO4 + H2O")])
    record = read_record(next(tmp_path.glob("*-record.jsonl")))
    one = mark_returned(read_returned(tmp_path / "answers.csv"), record, slips_of(record, bank))
    report = " ".join(render(class_report([one])).decode().split())
    assert "What is wrong in the equation" in report
    assert "a wrong product, as: NaHSO₄" in report
    strips = " ".join(render(feedback_strips([one])).decode().split())
    assert "Your equation: question 1(a): it is not balanced" in strips


@pytest.mark.parametrize(
    ("numbers", "marks"), [(("1", "2", "1", "2"), 1), (("2", "4", "2", "4"), 1), (("1", "1", "1", "1"), 0)]
)
def test_numbers_typed_into_the_blanks_of_a_filled_paper_are_one_equation(
    bank: Bank, tmp_path: Path, numbers: tuple[str, ...], marks: int
) -> None:
    paper_of(bank, tmp_path, "complete equation", fillable=True)
    (path,) = tmp_path.glob("*questions*.pdf")
    reader = pypdf.PdfReader(path)
    fields = list(reader.get_fields() or {})
    gaps = sorted(name for name in fields if name.startswith("1(a) gap"))
    assert len(gaps) == 3
    assert "1(a)" in fields
    writer = pypdf.PdfWriter(clone_from=reader)
    typed = {"name": "Gus", **dict(zip((*gaps, "1(a)"), numbers, strict=True))}
    for page in writer.pages:
        writer.update_page_form_field_values(page, typed, auto_regenerate=False)
    filled = tmp_path / "filled"
    filled.mkdir()
    with (filled / "gus.pdf").open("wb") as stream:
        writer.write(stream)
    (pupil,) = of(bank, tmp_path, filled).values()
    assert pupil.answers[0].marks == marks
