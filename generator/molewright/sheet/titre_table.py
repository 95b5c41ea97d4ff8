"""The runs of a question come in; the table of their burette readings goes out, with the titres or with blanks for them."""

from __future__ import annotations

from molewright.chem.quantity import half_up
from molewright.chem.units import Unit
from molewright.further_parts.reading.burette import BurettePicture
from molewright.nodes.blocks import Cell, Table
from molewright.nodes.inline import Text
from molewright.sheet.writer import Writer


def titre_table(writer: Writer, filled: bool, used: tuple[int, ...] = ()) -> Table:
    """Burette readings by run; the row of titres is left blank for the pupil unless `filled`.

    With `used`, the runs that the mean is of, nothing is left blank and a row tells them.
    """
    draw = writer.question.draw
    unit = writer.numbers.unit(Unit.CM3)
    head = (
        Cell(((Text(f"Burette reading / {unit}"),),), head=True),
        *(
            Cell(((Text("Rough" if run.rough else str(number)),),), head=True, align="centre")
            for number, run in enumerate(draw.runs)
        ),
    )

    read = None if used else _run_in_a_figure(writer)

    def row(label: str, readings: list[str]) -> tuple[Cell, ...]:
        return (Cell(((Text(label),),), head=True), *(Cell(((Text(text),),), align="centre") for text in readings))

    def two(exact: object) -> str:
        return str(half_up(exact, 2))  # type: ignore[arg-type]

    rows = [
        row("final", ["" if index == read else two(run.final) for index, run in enumerate(draw.runs)]),
        row("initial", ["" if index == read else two(run.initial) for index, run in enumerate(draw.runs)]),
        row(f"titre / {unit}", [two(run.titre) if filled else "" for run in draw.runs]),
    ]
    if not filled:
        rows.append(row(writer.words.text("tick row"), ["" for _ in draw.runs]))
    if used:
        kept, left_out = writer.words.text("run used"), writer.words.text("run left out")
        ticks = [kept if index in used else left_out for index in range(len(draw.runs))]
        rows.append(row(writer.words.text("used row"), ticks))
    share = 0.34 / 0.85
    widths = (share, *([(1 - share) / len(draw.runs)] * len(draw.runs)))
    return Table(widths=widths, heading=head, rows=tuple(rows), width=0.85, summary="Burette readings of each run")


def _run_in_a_figure(writer: Writer) -> int | None:
    """The run whose readings a pupil takes from a figure instead of the table."""
    question = writer.question
    shown = (picture for part in (*question.further_parts, *question.read) for picture in part.shown)
    return next((picture.run for picture in shown if isinstance(picture, BurettePicture)), None)
