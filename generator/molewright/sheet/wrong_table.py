"""A question comes in; the table of its common wrong answers goes out: what probably happened, and the marks that are kept."""

from __future__ import annotations

from molewright.nodes.blocks import Cell, Table
from molewright.nodes.inline import Text
from molewright.sheet.further_parts import further_wrong_rows
from molewright.sheet.parts import Level, calculation_parts, labels_after, named_parts
from molewright.sheet.writer import Writer
from molewright.slips.wrong_answers import WrongAnswer

MOST_WRONG = 6  # of one calculation: a marker reads them for every script that is not right


def wrong_table(writer: Writer, number: int, level: Level) -> Table | None:
    """The common wrong answers with the slips behind them and the marks they keep; None where there is none."""
    rows = [_row(writer, wrong) for wrong in writer.likely_wrong[:MOST_WRONG]]
    rows += further_wrong_rows(writer, labels_after(writer, level))
    if not rows:
        return None
    parts = named_parts(calculation_parts(writer, level)) if writer.question.points else ""
    kept = writer.words.text("marks kept parts", parts=parts) if parts else writer.words.text("marks kept")
    heading = (writer.words.text("wrong head", number=str(number)), writer.words.text("wrong why"), kept)
    return Table(
        widths=(0.22, 0.53, 0.25),
        heading=tuple(Cell(((Text(text),),), head=True) for text in heading),
        rows=tuple(rows),
        whole=False,
        summary=f"Common wrong answers to question {number}",
        continued=(Text(f"Question {number} continued"),),
    )


def _row(writer: Writer, wrong: WrongAnswer) -> tuple[Cell, ...]:
    names = "; ".join(named_causes(writer, wrong)) + "."
    if wrong.apart:
        names += f" {writer.words.text('wrong alone', kept=str(wrong.marks))}"
    shown = (
        Text(wrong_number(writer, wrong), bold=True)
        if _unrounded(writer, wrong)
        else writer.numbers.amount(wrong.answer, bold=True)
    )
    return (
        Cell(((shown,),)),
        Cell(((Text(names[:1].upper() + names[1:]),),)),
        Cell(((Text(f"{kept(wrong)} of {writer.question.worked.marks}"),),), align="centre"),
    )


def named_causes(writer: Writer, wrong: WrongAnswer) -> tuple[str, ...]:
    """The mistakes behind a wrong answer; where they keep different marks, with those, and what each gives if that differs."""
    names = [writer.numbers.in_units(slip.name) for slip in wrong.slips]
    if not wrong.apart:
        return tuple(names)
    return tuple(
        writer.words.text("wrong keeps", why=name, kept=str(marks))
        if gives.number == wrong.answer.number
        else writer.words.text("wrong gives and keeps", why=name, number=gives.number_text, kept=str(marks))
        for name, (gives, marks) in zip(names, wrong.apart, strict=True)
    )


def _unrounded(writer: Writer, wrong: WrongAnswer) -> bool:
    """Whether a whole number, or a ratio, is asked for and what is found is none until it is rounded."""
    settled = writer.question.worked.accepted.settled
    return settled and wrong.answer.number != wrong.answer.number.to_integral_value()


def wrong_number(writer: Writer, wrong: WrongAnswer) -> str:
    """A wrong answer without its unit: as it is found, which is told where it would be rounded."""
    text = wrong.answer.number_text
    return writer.words.text("wrong before rounding", number=text) if _unrounded(writer, wrong) else text


def kept(wrong: WrongAnswer) -> str:
    """The marks that a wrong answer keeps: the fewest that its mistakes leave, and the most where they leave different ones."""
    return str(wrong.marks) if wrong.marks == wrong.most else f"{wrong.marks} or {wrong.most}"
