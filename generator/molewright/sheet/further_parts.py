"""Further parts of a question come in; printed parts, rows of the mark scheme and worked lines go out. Solves nothing."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from fractions import Fraction
from typing import Any, assert_never

from molewright.chem.formula_scripts import with_scripts
from molewright.chem.quantity import Quantity, in_standard_form
from molewright.chem.reaction import Reaction
from molewright.chem.units import Unit
from molewright.experiment.quantities import Name
from molewright.further_parts.pieces import (
    Bottle,
    Chemical,
    FurtherPart,
    FurtherPoint,
    Letter,
    Lettered,
    Named,
    Piece,
    Quotient,
    Reacting,
    Reckoning,
    Rows,
    Said,
    Sample,
    Shown,
    Solved,
    Space,
    Strong,
)
from molewright.nodes.blocks import Block, Cell, Paragraph, Part, Table, Together, Working
from molewright.nodes.inline import (
    Amount,
    Chem,
    Inline,
    Line,
    Maths,
    MathsItem,
    Over,
    Sign,
    Symbol,
    Text,
)
from molewright.sheet.equations import equation, with_blanks
from molewright.sheet.further_figures import Write, burettes, course, curve, graph
from molewright.sheet.right_side import right_side
from molewright.sheet.wording import capitalised, fill, joined
from molewright.sheet.writer import Writer
from molewright.sheet.wrong_equations import wrong_equation_rows

SIGNS = frozenset("=×−+()≈")

DRAWN: dict[str, Callable[[Writer, Any, Write], Block]] = {
    "pH curve": curve,
    "burettes": burettes,
    "graph": graph,
    "course": course,
}
"""Who draws the figures of further parts, by kind: a Picture goes in, a block comes out."""


# ------------------------------------------------------------------ pieces


def line(writer: Writer, piece: Piece) -> Line:
    """A piece as part of a line of text."""
    match piece:
        case tuple():
            return joined([one for each in piece for one in line(writer, each)])
        case str():
            return (Text(writer.numbers.in_units(piece)),) if piece else ()
        case Said(key=key, slots=slots, written=written):
            filled: dict[str, str | Inline | Line] = {name: line(writer, held) for name, held in slots}
            return fill(key, filled, key) if written else writer.say(key, **filled)
        case Named(name=name):
            return writer.names.the(
                writer.question.system.variables[name], asked=name == writer.question.worked.plan.asked
            )
        case Sample():
            return (Text(writer.samples.name()),)
        case Bottle(solution=name):
            return writer.bottles.called(writer.bottles.named(name), strength=False)
        case Reckoning(pieces=pieces):
            return (Maths(_maths(writer, pieces)),)
        case Reacting(reaction=reaction, states=states, blanks=blanks):
            return (with_blanks(reaction) if blanks else equation(reaction, states),)
        case Solved():
            return (_solved(writer, piece),)
        case Quotient():
            return (Maths(_maths(writer, (piece,))),)
        case _:
            return tuple(item for item in _maths(writer, (piece,)) if not isinstance(item, Sign | Over))


def _maths(writer: Writer, pieces: tuple[Piece, ...]) -> tuple[MathsItem, ...]:
    items: list[MathsItem] = []
    for piece in pieces:
        match piece:
            case str():
                items.append(Sign(piece) if piece in SIGNS else Text(piece))
            case Quantity():
                items.append(writer.numbers.amount(piece))
            case Strong(piece=Quantity() as quantity):
                items.append(writer.numbers.amount(quantity, bold=True))
            case Strong(piece=str() as words):
                items.append(Text(writer.numbers.in_units(words), bold=True))
            case Chemical(formula=formula):
                items.append(Chem(formula))
            case Unit():
                items.append(Text(writer.numbers.unit(piece)))
            case Letter(letter=letter, subscript=subscript):
                items.append(Symbol(letter, subscript=subscript))
            case Lettered(name=name):
                items += writer.symbols.of(writer.question.system.variables[name])
            case Quotient(top=top, bottom=bottom):
                items.append(Over(_maths(writer, top), _maths(writer, bottom)))
            case Reckoning(pieces=inner):
                items += _maths(writer, inner)
            case _:
                items += [one for one in line(writer, piece) if isinstance(one, Text | Amount | Chem | Symbol)]
    return tuple(items)


def _solved(writer: Writer, piece: Solved) -> Maths:
    variables = writer.question.system.variables
    written: Mapping[Name, Quantity] = dict(piece.written)
    items: list[MathsItem] = [*writer.symbols.of(variables[piece.target]), Sign("=")]
    if piece.idle:
        other = next(name for name in piece.relation.names if name != piece.target)
        items += [*writer.symbols.of(variables[other]), Sign("=")]
    else:
        items += [*right_side(piece.relation, piece.target, written.__getitem__), Sign("=")]
    items.append(writer.numbers.amount(piece.found, bold=piece.bold and piece.rounded is None))
    if piece.rounded is not None:
        if piece.rounded.number != piece.found.number:
            items += [Sign("="), writer.numbers.amount(piece.rounded, bold=piece.bold)]
        else:
            items[-1] = writer.numbers.amount(piece.rounded, bold=piece.bold)
    return Maths(tuple(items))


def block(writer: Writer, shown: Shown) -> Block:
    """What stands between a demand and the space below it."""
    match shown:
        case Said():
            return Paragraph(line(writer, shown))
        case Reckoning():
            return Paragraph(line(writer, shown), indent_mm=6.0)
        case Reacting():
            return Paragraph(line(writer, shown), "centred")
        case Rows():
            return _table(writer, shown)
        case _:
            return DRAWN[shown.kind](writer, shown, line)


def _to_fill_in(shown: Shown) -> bool:
    """Whether it is a table with cells for the pupil, which would stand empty beside the working."""
    return isinstance(shown, Rows) and any(piece == "" for row in shown.rows for piece in row)


def _table(writer: Writer, rows: Rows) -> Table:
    heading = tuple(Cell((line(writer, piece),), head=True) for piece in rows.heading)
    body = tuple(
        tuple(
            Cell((line(writer, piece) or (Text(""),),), head=rows.headed and index == 0)
            for index, piece in enumerate(row)
        )
        for row in rows.rows
    )
    summary = "".join(piece.text for piece in line(writer, rows.summary) if isinstance(piece, Text))
    return Table(widths=rows.widths, heading=heading, rows=body, width=rows.width, summary=summary)


# ------------------------------------------------------------------ parts


def further_labels(writer: Writer, used: int) -> tuple[str, ...]:
    """The letters of the further parts, after so many parts of the calculation."""
    further_parts = writer.question.further_parts
    if not used and len(further_parts) == 1:
        return ("",)
    first = before(writer)
    places = (*range(first), *range(first + used, len(further_parts) + used))
    return tuple(f"({chr(ord('a') + place)})" for place in places)


def before(writer: Writer) -> int:
    """How many further parts stand before the calculation, which needs what they find."""
    return sum(part.first for part in writer.question.further_parts)


def further_parts(writer: Writer, labels: tuple[str, ...], scaffolded: bool) -> list[Part]:
    """The further parts as printed; a hint stands in them at the scaffolded level."""
    return [
        _part(writer, part, label, scaffolded)
        for part, label in zip(writer.question.further_parts, labels, strict=True)
    ]


def _part(writer: Writer, part: FurtherPart, label: str, scaffolded: bool) -> Part:
    blocks: list[Block] = [block(writer, shown) for shown in part.shown]
    if scaffolded and part.hint is not None:
        blocks.append(Paragraph(writer.words.line("hint", hint=line(writer, part.hint))))
    blocks += [_space(writer, space) for space in part.space]
    return Part(label, capitalised(line(writer, part.demand)), tuple(blocks), part.marks)


def _space(writer: Writer, space: Space) -> Working:
    unit = writer.numbers.unit(space.unit)
    return Working(
        height_mm=space.height_mm, rule_mm=space.rule_mm, unit=unit, label=line(writer, space.label), ruled=space.ruled
    )


# ------------------------------------------------------------------ mark scheme and worked solutions


def further_rows(writer: Writer, number: int, labels: tuple[str, ...]) -> list[tuple[Cell, ...]]:
    """One row a mark point, numbered on from those of the calculation."""
    rows: list[tuple[Cell, ...]] = []
    mark = -sum(part.marks for part in writer.question.further_parts if part.first)
    for part, label in zip(writer.question.further_parts, labels, strict=True):
        shown = f"{number}{label}"
        if not part.first:
            mark = max(mark, len(writer.question.points))
        for point in part.points:
            mark += 1
            last = point is part.points[-1]
            rows.append(_row(writer, part, point, shown, mark_name(writer, mark), last))
            shown = ""
    return rows


def mark_name(writer: Writer, number: int) -> str:
    """The number of a mark point of the calculation, in the order of the page, after what is read before it."""
    return f"{number + sum(part.marks for part in writer.question.further_parts if part.first)}"


def _row(writer: Writer, part: FurtherPart, point: FurtherPoint, label: str, mark: str, last: bool) -> tuple[Cell, ...]:
    guidance = [line(writer, one) for one in point.guidance]
    if last and part.accepted is not None:
        low, high = ends_of(part)
        if low.number == high.number:
            guidance.insert(0, writer.words.line("guide one", low=writer.numbers.amount(low, bold=True)))
        else:
            number = Text(low.number_text, bold=True)
            guidance.insert(
                0, writer.words.line("guide range", low=number, high=writer.numbers.amount(high, bold=True))
            )
    return (
        Cell(((Text(label, bold=True),),)),
        Cell(tuple(capitalised(line(writer, one)) for one in point.lines)),
        Cell(((Text(mark, bold=True),),), align="centre"),
        Cell(tuple(guidance) or ((Text(""),),)),
    )


def ends_of(part: FurtherPart) -> tuple[Quantity, Quantity]:
    """Both ends of what a part accepts, written as answers of their unit are: small amounts in standard form."""
    assert part.accepted is not None
    low, high = (Quantity(number, part.unit, in_standard_form(Fraction(number), part.unit)) for number in part.accepted)
    return low, high


def further_answers(writer: Writer, part: FurtherPart) -> Line:
    """The answers of a part in short, one after another."""
    answers: list[Inline] = []
    for one in _answers(writer, part, bold=False):
        answers += [*([Text("; ")] if answers else []), *one]
    return joined(answers)


def answers_apart(writer: Writer, part: FurtherPart) -> tuple[Line, ...]:
    """The answers of a part one by one, parted by semicolons; of several with a number at the end that one is bold."""
    *others, last = _answers(writer, part, bold=len(part.points) > 1)
    return (*(joined([*one, Text(";")]) for one in others), last)


def _answers(writer: Writer, part: FurtherPart, bold: bool) -> list[Line]:
    found: list[Line] = []
    for point in part.points[:1] if part.equation is not None else part.points:
        match point.answer:
            case Reaction() as reaction:
                found.append((equation(reaction, part.equation is None or part.equation.asked.states),))
            case str() as words:
                found.append(line(writer, with_scripts(words)))
            case Quantity() as number:
                found.append(line(writer, Strong(number) if bold and point is part.points[-1] else number))
            case _:
                assert_never(point.answer)
    return found


def further_wrong_rows(writer: Writer, labels: tuple[str, ...]) -> list[tuple[Cell, ...]]:
    """The common wrong answers of the further parts, with the slips behind them."""
    rows: list[tuple[Cell, ...]] = []
    for part, label in zip(writer.question.further_parts, labels, strict=True):
        rows += wrong_equation_rows(writer, part, label)
        for wrong in part.wrong:
            names = "; ".join(writer.numbers.in_units(name) for _, name in wrong.slips)
            where = f"Part {label}: " if label else ""
            rows.append(
                (
                    Cell(((writer.numbers.amount(wrong.answer, bold=True),),)),
                    Cell(((Text(f"{where}{names}." if where else f"{names[:1].upper()}{names[1:]}."),),)),
                    Cell(
                        ((Text(f"{wrong.marks} of {part.marks}" + (f" in {label}" if label else "")),),), align="centre"
                    ),
                )
            )
    return rows


def further_sketches(writer: Writer) -> list[Block]:
    """What a marker compares a drawn answer with."""
    return [block(writer, shown) for part in writer.question.further_parts for shown in part.answered]


def further_worked(writer: Writer, labels: tuple[str, ...]) -> list[Block]:
    """The further parts worked out, for pupils."""
    return [*_worked(writer, zip(writer.question.further_parts, labels, strict=True))]


def worked_parts(writer: Writer, parts: Sequence[FurtherPart]) -> list[Together]:
    """Some further parts worked out without their letters, where they are shown to the pupil."""
    return _worked(writer, ((part, "") for part in parts))


def _worked(writer: Writer, parts: Iterable[tuple[FurtherPart, str]]) -> list[Together]:
    blocks: list[Together] = []
    for part, label in parts:
        head = (Text(f"Part {label}. ", bold=True),) if label else ()
        lines: list[Block] = [Paragraph((*head, *capitalised(line(writer, part.demand))))]
        lines += [
            block(writer, shown) for shown in part.answered or part.shown if part.answered or not _to_fill_in(shown)
        ]
        lines += [Paragraph(capitalised(line(writer, one)), indent_mm=6.0) for one in part.explained]
        for point in part.points:
            shown = point.lines if point.worked else ()
            lines += [Paragraph(capitalised(line(writer, one)), indent_mm=6.0) for one in shown]
        blocks.append(Together(tuple(lines)))
    return blocks
