"""One sheet that holds every kind of node, and short ways to make nodes, for what every renderer must do."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from typing import Any

from molewright import nodes
from molewright.chem.quantity import Quantity
from molewright.chem.units import parse_unit
from molewright.nodes.blocks import (
    Block,
    Cell,
    ClosingLine,
    ElementSquare,
    ElementTable,
    FrontBlock,
    Heading,
    Items,
    NewPage,
    Note,
    Paragraph,
    Part,
    QuestionBlock,
    Sheet,
    Table,
    Together,
    Working,
)
from molewright.nodes.figures import (
    Axis,
    BarFigure,
    BarPiece,
    BuretteFigure,
    BuretteView,
    CountChart,
    CountRow,
    CurveBand,
    CurveFigure,
    CurveMark,
    FlowBox,
    FlowFigure,
)
from molewright.nodes.inline import (
    Amount,
    Chem,
    Equation,
    Gap,
    Line,
    Maths,
    Over,
    Sign,
    Symbol,
    Term,
    Text,
)


def words(said: str, **type_: bool) -> Line:
    return (Text(said, **type_),)


def amount(number: str, unit: str = "", *, scientific: bool = False, bold: bool = False) -> Amount:
    return Amount(Quantity(Decimal(number), parse_unit(unit), scientific), bold)


def cell(*lines: str, **others: Any) -> Cell:
    return Cell(tuple(words(each) for each in lines), **others)


def sheet(*blocks: Block, **others: Any) -> Sheet:
    facts: dict[str, Any] = {"title": "Back titration", "subject": "Chemistry", "kind": "questions", "code": "A-7KQ2"}
    return Sheet(**(facts | others), blocks=blocks)


def inside(node: object) -> Iterator[object]:
    """The node and every node in it."""
    if isinstance(node, tuple | frozenset):
        for each in node:
            yield from inside(each)
    elif type(node).__module__.startswith(f"{nodes.__name__}."):
        yield node
        for name in type(node).__slots__:
            yield from inside(getattr(node, name))


EQUATION = Equation(
    (Term("1", "CaCO3", "s"), Term("2", "HCl", "aq")),
    (Term("1", "CaCl2", "aq"), Term("1", "CO2", "g"), Term("1", "H2O", "l")),
)
FRACTION = Over((amount("24.80"), Sign("×"), amount("0.105")), (amount("1000"),))
TITRES = Table(
    widths=(2, 1, 1),
    heading=(cell("Run"), cell("1", align="centre"), cell("2", align="right")),
    rows=(
        (cell("final reading / cm³", head=True), cell("25.30"), cell("9.85", align="right")),
        (cell("titre / cm³"), Cell(()), Cell(())),
    ),
    summary="readings of two runs",
)


BURETTES = BuretteFigure(
    (BuretteView(words("before"), Decimal("1.35")), BuretteView(words("after"), Decimal("24.60"))), "cm³"
)
CURVE = CurveFigure(
    across=Axis(name=words("volume added"), unit="cm³", low=Decimal(0), high=Decimal(50), step=Decimal(5), divided=5),
    up=Axis(name=words("pH"), unit="", low=Decimal(0), high=Decimal(14), step=Decimal(1), divided=2),
    points=((0.0, 2.9), (24.0, 6.1), (25.0, 8.7), (26.0, 11.3), (50.0, 12.5)),
    marks=(CurveMark(25.0, 8.7, words("end point")), CurveMark(27.0, 7.0, words("steep"), 10.5)),
    bands=(CurveBand(8.2, 10.0, words("phenolphthalein")),),
)
GRAPH = CurveFigure(
    across=Axis(name=words("volume added"), unit="cm³", low=Decimal(0), high=Decimal(30), step=Decimal(5), divided=5),
    up=Axis(name=words("temperature"), unit="°C", low=Decimal(17), high=Decimal(28), step=Decimal(1), divided=5),
    crosses=((Decimal("0.0"), Decimal("18.0")), (Decimal("12.5"), Decimal("25.0")), (Decimal("20.0"), Decimal("26.7"))),
    lines=(((0.0, 18.0), (19.5, 27.8)), ((15.5, 27.3), (28.0, 25.8))),
)


def everything() -> Sheet:
    """One sheet that holds every kind of node."""
    question = QuestionBlock(
        number=4,
        stem=(Paragraph((Text("A mass of "), amount("1.264", "g"), Text(" of "), Chem("CaCO3", "s"))), TITRES),
        parts=(
            Part(
                "(a)",
                words("Complete the table."),
                (Working(height_mm=24, unit="cm³", label=words("mean titre =")),),
                1,
            ),
            Part(
                "(b)",
                words("Explain why."),
                (Working(height_mm=24, rule_mm=0, ruled=True), Part("(i)", words("A nested part."))),
                2,
            ),
        ),
        marks=3,
    )
    return sheet(
        FrontBlock(
            title="Limestone",
            subtitle="Practice",
            fields=("Class",),
            filled=(("Name", "Ilsa Quern"),),
            marks="24",
            time="30 minutes",
            points=(words("Show working."),),
        ),
        FrontBlock(
            title="A cover", subtitle="", fields=("Name", "Candidate number"), above="Quernholm School", cover=True
        ),
        Heading(2, words("A section")),
        Paragraph((EQUATION,), tone="centred"),
        question,
        Paragraph((Maths((Symbol("n", "HCl", "left over"), Sign("="), FRACTION)),), indent_mm=9),
        Paragraph((Text("Fill in "), Gap(22, "mol dm⁻³"), Symbol("M", subscript="r"))),
        Paragraph(words("Wear eye protection."), tone="caution"),
        Items((words("first point"), words("second point"))),
        Note(words("A note"), (words("1.264 g weighed out"), words("made up to the mark"))),
        Together(
            (
                FlowFigure(
                    (FlowBox(words("Flask"), (words("acid"),)), FlowBox(words("Burette"), ())),
                    (words("pipette"),),
                    "flow",
                ),
                FlowFigure(
                    (FlowBox(words("Bottle"), (), ((Text("acid in it: "), Gap(16, "mol")),), "volumetric flask"),),
                    (),
                    tools=("pipette",),
                ),
            )
        ),
        CountChart(
            (CountRow(words("aliquot forgotten"), 12), CountRow(words("ratio upside down"), 5)),
            words("Slips"),
            "Two slips",
        ),
        BarFigure(words("total"), (BarPiece(0.25, words("reacted"), True), BarPiece(0.75, words("left over"))), "bar"),
        BURETTES,
        CURVE,
        GRAPH,
        ElementTable(
            (ElementSquare(1, 1, "H", "1.0"), ElementSquare(8, 4, "Ce", "140.1"), ElementSquare(5, 7, "Tc", "")),
            "Masses",
        ),
        NewPage(),
        ClosingLine("That was the last question."),
        header="Set one",
        version="Version B",
        spoken=(("ecf", "error carried forward"),),
    )
