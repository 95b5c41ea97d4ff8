"""How fast the PDF renderer is: a class set of 30 papers and 30 schemes, beside reportlab's own paragraphs and tables, and HTML.

Run: python tests/speed/bench_pdf.py [--many | --small]. With --many it also draws 3000 documents and tells the peak memory again.
"""

from __future__ import annotations

import argparse
import io
import random
import resource
import subprocess
import sys
import time
from decimal import Decimal
from typing import Any

from molewright.chem.quantity import Quantity
from molewright.chem.units import Unit, parse_unit
from molewright.nodes.blocks import (
    Cell,
    ClosingLine,
    FrontBlock,
    Heading,
    Paragraph,
    Part,
    QuestionBlock,
    Sheet,
    Table,
    Working,
)
from molewright.nodes.inline import (
    Amount,
    Chem,
    Equation,
    Line,
    Maths,
    Over,
    Sign,
    Symbol,
    Term,
    Text,
)
from molewright.render import renderer
from molewright.render.pdf.spoken import plain

QUESTIONS = 10
_EQUATION = Equation(
    (Term("1", "CaCO3", "s"), Term("2", "HCl", "aq")),
    (Term("1", "CaCl2", "aq"), Term("1", "CO2", "g"), Term("1", "H2O", "l")),
)


def amount(hundredths: int, unit: str, places: int = 2, bold: bool = False) -> Amount:
    """A quantity from a whole number of smallest steps."""
    return Amount(Quantity(Decimal(hundredths).scaleb(-places), parse_unit(unit)), bold)


def _words(text: str) -> Line:
    return (Text(text),)


def _titres(rng: random.Random) -> Table:
    first = rng.randrange(2000, 2800, 5)
    titres = [first + 60, first, first + 5, first + rng.choice((0, 10))]

    def row(name: str, numbers: list[int]) -> tuple[Cell, ...]:
        cells = (Cell((_words(f"{number / 100:.2f}"),), align="centre") for number in numbers)
        return (Cell((_words(name),), head=True), *cells)

    heading = (Cell(()), *(Cell((_words(name),), align="centre") for name in ("Rough", "1", "2", "3")))
    return Table(widths=(2.4, 1, 1, 1, 1), heading=heading, rows=(row("Titre / cm³", titres),))


def question(number: int, rng: random.Random) -> QuestionBlock:
    """One question with a titre table, an equation and an answer rule."""
    mass, strength = rng.randrange(110, 190), rng.randrange(90, 120)
    stem = (
        Text("A sample of limestone of mass "),
        amount(mass, "g"),
        Text(" reacts with "),
        amount(500, "cm³", 1),
        Text(" of hydrochloric acid: "),
        _EQUATION,
        Text(" The rest needs "),
        amount(strength, "mol dm⁻³", 3),
        Text(" sodium hydroxide."),
    )
    demand = (Text("Calculate the amount, in mol, of "), Chem("HCl"), Text(" left over."))
    working = Working(height_mm=0, unit="mol", label=(Symbol("n", "HCl"), Text(" =")))
    return QuestionBlock(
        number=number,
        stem=(Paragraph(stem), _titres(rng)),
        parts=(Part("", demand, (working,), 3),),
        marks=0,
        reminder=(amount(mass, "g"),),
    )


def paper(seed: int) -> Sheet:
    """A question paper of ten questions on three pages; other numbers for every seed."""
    rng = random.Random(seed)
    front = FrontBlock(
        title="Back titration",
        subtitle="Amounts of substance",
        fields=("Name", "Class", "Date"),
        filled=(),
        marks="30 marks",
    )
    questions = tuple(question(number, rng) for number in range(1, QUESTIONS + 1))
    blocks = (front, *questions, ClosingLine("That was the last question."))
    return Sheet(
        title="Back titration",
        subject="Titration",
        kind="questions",
        code=f"K7-{seed:05d}",
        blocks=blocks,
        header="Set 7",
        version="A",
        turn_over=True,
    )


def scheme(seed: int) -> Sheet:
    """Its mark scheme on two pages: three lines of working a question."""
    rng = random.Random(seed)
    rows: list[tuple[Cell, ...]] = []
    for number in range(1, QUESTIONS + 1):
        strength, titre = rng.randrange(90, 120), rng.randrange(2000, 2800, 5)
        moles = strength * titre / 10**8
        lines = (
            Maths(
                (
                    Symbol("n", "NaOH"),
                    Sign("="),
                    Over(
                        (amount(strength, "mol dm⁻³", 3), Sign("×"), amount(titre, "cm³")),
                        (Text("1000"),),
                    ),
                    Sign("="),
                    Amount(Quantity(Decimal(f"{moles:.3e}"), Unit.MOL, True)),
                )
            ),
            Maths((Symbol("n", "HCl"), Sign("="), Symbol("n", "NaOH"), Sign("×"), amount(1000, "", 1))),
            Maths((Symbol("n"), Sign("="), Amount(Quantity(Decimal(f"{moles * 10:.3e}"), Unit.MOL, True), bold=True))),
        )
        for index, line in enumerate(lines, 1):
            first = _words(f"{number}") if index == 1 else ()
            guidance = _words(
                ("3 significant figures are enough", "carried forward from the line above", "right from 2.60 to 2.70")[
                    index - 1
                ]
            )
            mark = Cell((_words(f"{index}"),), align="centre")
            rows.append((Cell((first,)), Cell(((line,),)), mark, Cell((guidance,))))
    heading = tuple(Cell((_words(name),)) for name in ("Part", "What earns a mark", "Point", "For the marker"))
    table = Table(widths=(1, 5, 1, 3), heading=heading, rows=tuple(rows), whole=False)
    blocks = (Heading(1, _words("Mark scheme")), table)
    return Sheet(
        title="Mark scheme",
        subject="Titration",
        kind="scheme",
        code=f"K7-{seed:05d}",
        blocks=blocks,
        header="Set 7",
        version="A",
    )


def class_set(start: int = 0) -> list[Sheet]:
    """30 papers and their 30 schemes."""
    return [make(seed) for seed in range(start, start + 30) for make in (paper, scheme)]


def baseline(sheets: list[Sheet]) -> float:
    """Seconds that reportlab's own paragraphs and tables take for the same words, untagged."""
    from reportlab.lib.styles import getSampleStyleSheet
    from reportlab.platypus import Paragraph as Words
    from reportlab.platypus import SimpleDocTemplate, Spacer
    from reportlab.platypus import Table as Grid
    from reportlab.platypus.tables import TableStyle

    style = getSampleStyleSheet()["Normal"]
    ruled = TableStyle([("GRID", (0, 0), (-1, -1), 0.5, "black")])

    def flow(blocks: tuple[Any, ...]) -> list[Any]:
        made: list[Any] = []
        for block in blocks:
            match block:
                case FrontBlock():
                    made += [Words(block.title, style), Words(block.subtitle, style)]
                case Heading() | Paragraph():
                    made.append(Words(plain(block.line), style))
                case QuestionBlock():
                    made += [*flow(block.stem), *flow(block.parts)]
                case Part():
                    made += [Words(plain(block.demand), style), *flow(block.blocks)]
                case Working():
                    made += [Spacer(1, block.height_mm), Words(plain(block.label) + block.unit, style)]
                case ClosingLine():
                    made.append(Words(block.text, style))
                case Table():
                    rows = [
                        [[Words(plain(line), style) for line in cell.lines] for cell in row]
                        for row in (block.heading, *block.rows)
                    ]
                    made.append(Grid(rows, style=ruled, repeatRows=1))
        return made

    begun = time.perf_counter()
    for sheet in sheets:
        SimpleDocTemplate(io.BytesIO()).build(flow(sheet.blocks))
    return time.perf_counter() - begun


def peak_mb() -> float:
    """The most memory this process has held so far, in MB."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--many", action="store_true", help="also draw 3000 documents")
    parser.add_argument("--small", action="store_true", help="draw a few documents, to see that it starts")
    parser.add_argument("--profile", action="store_true", help="say where the time goes")
    parser.add_argument("--one", action="store_true", help="draw one paper and say nothing")
    chosen = parser.parse_args()
    pdf = renderer("pdf")
    if chosen.one:
        pdf.render(paper(1))
        return
    begun = time.perf_counter()
    first = pdf.render(paper(99))
    cold = time.perf_counter() - begun
    pdf.render(scheme(99))
    sheets = class_set()[: 4 if chosen.small else None]
    begun = time.perf_counter()
    made = [pdf.render(sheet) for sheet in sheets]
    taken = time.perf_counter() - begun
    print(f"class set, {len(made)} documents: {taken:.3f} s, {taken / len(made) * 1000:.2f} ms a document")
    print(
        f"first document, fonts read: {cold * 1000:.0f} ms; "
        f"size {len(first) / 1024:.0f} and {len(made[1]) / 1024:.0f} KB"
    )
    written = renderer("html")
    written.render(scheme(99))
    begun = time.perf_counter()
    pages = [written.render(sheet) for sheet in sheets]
    told = (time.perf_counter() - begun) / len(pages) * 1000
    print(f"the same in HTML: {told:.2f} ms a document, size {len(pages[0]) / 1024:.0f} KB")
    print(f"a fresh process that draws one paper: {whole_process() * 1000:.0f} ms")
    print(f"peak memory: {peak_mb():.0f} MB")
    if chosen.profile:
        import cProfile
        import pstats

        profile = cProfile.Profile()
        fresh = class_set(200)
        profile.runcall(lambda: [pdf.render(sheet) for sheet in fresh])
        pstats.Stats(profile).sort_stats("tottime").print_stats(25)
    if chosen.many:
        for start in range(1000, 2500, 30):
            for sheet in class_set(start):
                pdf.render(sheet)
            if start in (1000, 1510):
                print(f"  {start - 970:4d} papers with schemes: peak {peak_mb():.0f} MB")
        print(f"peak memory after 3000 more documents: {peak_mb():.0f} MB")
    slow = baseline(sheets)
    print(f"reportlab's paragraphs and tables, same words, untagged: {slow:.3f} s, {slow / taken:.1f} times as long")


def whole_process() -> float:
    """Seconds of a fresh process that imports and draws one paper."""
    begun = time.perf_counter()
    subprocess.run([sys.executable, __file__, "--one"], check=True)
    return time.perf_counter() - begun


if __name__ == "__main__":
    main()
