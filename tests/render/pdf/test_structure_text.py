"""What a reader of the structure tree finds: text that goes on after a fraction, in the order in which it is printed.

A mark within a mark is allowed by ISO 32000-1, 14.6, but readers lose what follows it in the outer one (poppler's
`pdfinfo -struct-text` does): so each piece of a line has a mark of its own, and what stands for it hangs in the tree.
"""

from __future__ import annotations

import io
import re
import shutil
import subprocess
from pathlib import Path
from typing import Any

import pypdf
import pytest

from molewright.nodes.blocks import Block, Cell, Paragraph, QuestionBlock, Sheet, Table
from molewright.nodes.inline import Equation, Maths, Over, Sign, Symbol, Term, Text
from molewright.render.pdf import render
from shared.every_node import everything

WITHIN = Over((Text("0.105"), Sign("×"), Over((Text("24.75"),), (Text("7"),))), (Text("1000"),))
WORKING = Maths((Symbol("n", "NaOH"), Sign("="), WITHIN, Sign("="), Text("2.60 mol")))
LINE = (Text("before Mr is "), WORKING, Text(" after the sum ⇌ goes on."))
CELL = Table(widths=(1.0,), heading=(Cell(((Text("head"),),), head=True),), rows=((Cell((LINE,)),),))
EQUATION = Equation((Term("1", "CaCO3", "s"), Term("2", "HCl", "aq")), (Term("1", "CO2", "g"),))


def made(*blocks: Block) -> bytes:
    spoken = (("Mr", "relative formula mass"),)
    return render(Sheet(title="T", subject="S", kind="questions", code="A-1", blocks=blocks, spoken=spoken))


def marks(page: Any) -> dict[int, str]:
    """The operators of each mark of a page, by its number."""
    content = page.get_contents().get_data().decode("latin-1")
    found = re.findall(r"<</MCID (\d+)[^\n]*>> BDC\n(.*?)\nEMC", content, re.DOTALL)
    return {int(number): shown for number, shown in found}


def shown(operators: str) -> str:
    """The letters that a mark shows, as far as they are those of its font."""
    return "".join(re.findall(r"\((.*?)(?<!\\)\)", " ".join(re.findall(r"\[(.*?)\]TJ", operators))))


def kids(element: Any) -> list[Any]:
    """Marks and elements right below an element, in order."""
    held = element.get("/K", [])
    return [kid.get_object() for kid in (held if isinstance(held, list) else [held])]


def told(element: Any, pieces: dict[int, str]) -> list[str]:
    """What each piece below an element shows or stands for, in the order of the tree."""
    found: list[str] = []
    for kid in kids(element):
        if isinstance(kid, int):
            found.append(str(element.get("/ActualText", element.get("/E", shown(pieces[kid])))))
        else:
            found += told(kid, pieces)
    return found


def paragraph(role: str, block: Block) -> list[str]:
    """The pieces of the last element of a role."""
    reader = pypdf.PdfReader(io.BytesIO(made(block)), strict=True)
    waiting, found = [reader.trailer["/Root"]["/StructTreeRoot"]], None
    while waiting:
        element = waiting.pop(0)
        found = element if element.get("/S") == role else found
        waiting += [kid for kid in kids(element) if not isinstance(kid, int)]
    assert found is not None
    return told(found, marks(reader.pages[0]))


@pytest.mark.parametrize(("role", "block"), [("/P", Paragraph(LINE)), ("/TD", CELL)])
def test_what_follows_a_fraction_stands_after_it_in_the_tree(role: str, block: Block) -> None:
    before, short, is_, start, fraction, rest, after, arrow, end = paragraph(role, block)
    assert (before, short, is_.strip()) == ("before ", "relative formula mass", "is")
    assert start.endswith("= ")
    assert (fraction, rest) == ("(0.105 × 24.75/7)/1000", " = 2.60 mol ")
    assert (after, arrow, end) == ("after the sum ", "⇌", " goes on. ")


def test_no_mark_lies_within_another() -> None:
    for page in pypdf.PdfReader(io.BytesIO(render(everything())), strict=True).pages:
        depth = 0
        for operator in re.findall(r"\b(BDC|BMC|EMC)\b", page.get_contents().get_data().decode("latin-1")):
            depth += 1 if operator != "EMC" else -1
            assert 0 <= depth <= 1
        assert depth == 0


@pytest.mark.skipif(
    shutil.which("pdfinfo") is None, reason="pdfinfo of poppler, a second reader, is not on this machine"
)
def test_a_second_reader_finds_all_of_a_line(tmp_path: Path) -> None:
    (tmp_path / "line.pdf").write_bytes(made(Paragraph(LINE), Paragraph((EQUATION,))))
    read = subprocess.run(["pdfinfo", "-struct-text", str(tmp_path / "line.pdf")], capture_output=True, check=True)
    found = " ".join(re.findall(r'"(.*)"', read.stdout.decode()))
    for piece in ("n(NaOH)", "24.75", "= 2.60 mol", "after the sum", "goes on.", "CO₂(g)"):
        assert piece in found


@pytest.mark.skipif(shutil.which("pdfinfo") is None, reason="pdfinfo of poppler is not on this machine")
def test_the_heading_of_a_question_reads_question_and_number(tmp_path: Path) -> None:
    content = made(QuestionBlock(number=7, stem=(Paragraph((Text("A stem."),)),), parts=(), marks=0))
    assert pypdf.PdfReader(io.BytesIO(content)).pages[0].extract_text().split()[:4] == ["Question", "7", "A", "stem."]
    (tmp_path / "question.pdf").write_bytes(content)
    read = subprocess.run(["pdfinfo", "-struct-text", str(tmp_path / "question.pdf")], capture_output=True, check=True)
    heading = read.stdout.decode().partition("H2")[2].partition("P (block)")[0]
    assert '"Question 7 "' in heading
