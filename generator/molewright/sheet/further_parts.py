"""Further parts of a question come in; printed parts, rows of the mark scheme and worked lines go out. Solves nothing."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from molewright.chem.quantity import Quantity
from molewright.further_parts.pieces import (
    Bottle,
    Chemical,
    ExtraPart,
    ExtraPoint,
    Letter,
    Lettered,
    Named,
    Piece,
    Quotient,
    Reckoning,
    Rows,
    Said,
    Sample,
    Shown,
    Solved,
    Space,
    Strong,
    Unit,
)
from molewright.nodes.tree import (
    Amount,
    Block,
    Cell,
    Chem,
    Inline,
    Line,
    Maths,
    MathsItem,
    Over,
    Paragraph,
    Part,
    Sign,
    Symbol,
    Table,
    Text,
    Together,
    Working,
)
from molewright.sheet.figures_of_parts import Writer, burettes, curve, graph
from molewright.sheet.voice import Voice
from molewright.sheet.wording import capitalised, fill, joined
from molewright.sheet.working_lines import right_side

SIGNS = frozenset("=×−+()≈")

DRAWN: dict[str, Callable[[Voice, Any, Writer], Block]] = {"pH curve": curve, "burettes": burettes, "graph": graph}
"""Who draws the figures of further parts, by kind: a Picture goes in, a block comes out."""


# ------------------------------------------------------------------ pieces


def line(voice: Voice, piece: Piece) -> Line:
    """A piece as part of a line of text."""
    match piece:
        case tuple():
            return joined([one for each in piece for one in line(voice, each)])
        case str():
            return (Text(voice.in_units(piece)),) if piece else ()
        case Said(key=key, slots=slots, written=written):
            filled: dict[str, str | Inline | Line] = {name: line(voice, held) for name, held in slots}
            return fill(key, filled, key) if written else voice.say(key, **filled)
        case Named(name=name):
            return voice.the(voice.question.system.variables[name], asked=name == voice.question.worked.plan.asked)
        case Sample():
            return (Text(voice.sample()),)
        case Bottle(solution=name):
            return voice.bottle(voice.solution(name), strength=False)
        case Reckoning(pieces=pieces):
            return (Maths(_maths(voice, pieces)),)
        case Solved():
            return (_solved(voice, piece),)
        case Quotient():
            return (Maths(_maths(voice, (piece,))),)
        case _:
            return tuple(item for item in _maths(voice, (piece,)) if not isinstance(item, Sign | Over))


def _maths(voice: Voice, pieces: tuple[Piece, ...]) -> tuple[MathsItem, ...]:
    items: list[MathsItem] = []
    for piece in pieces:
        match piece:
            case str():
                items.append(Sign(piece) if piece in SIGNS else Text(piece))
            case Quantity():
                items.append(voice.amount(piece))
            case Strong(piece=Quantity() as quantity):
                items.append(voice.amount(quantity, bold=True))
            case Strong(piece=str() as words):
                items.append(Text(voice.in_units(words), bold=True))
            case Chemical(formula=formula):
                items.append(Chem(formula))
            case Unit(unit=unit):
                items.append(Text(voice.unit(unit)))
            case Letter(letter=letter, subscript=subscript):
                items.append(Symbol(letter, subscript=subscript))
            case Lettered(name=name):
                items += voice.symbol(voice.question.system.variables[name])
            case Quotient(top=top, bottom=bottom):
                items.append(Over(_maths(voice, top), _maths(voice, bottom)))
            case Reckoning(pieces=inner):
                items += _maths(voice, inner)
            case _:
                items += [one for one in line(voice, piece) if isinstance(one, Text | Amount | Chem | Symbol)]
    return tuple(items)


def _solved(voice: Voice, piece: Solved) -> Maths:
    variables = voice.question.system.variables
    written: Mapping[str, Quantity] = dict(piece.written)
    items: list[MathsItem] = [*voice.symbol(variables[piece.target]), Sign("=")]
    if piece.idle:
        other = next(name for name in piece.relation.names if name != piece.target)
        items += [*voice.symbol(variables[other]), Sign("=")]
    else:
        items += [*right_side(piece.relation, piece.target, written.__getitem__), Sign("=")]
    items.append(voice.amount(piece.found, bold=piece.bold and piece.rounded is None))
    if piece.rounded is not None:
        if piece.rounded.number != piece.found.number:
            items += [Sign("="), voice.amount(piece.rounded, bold=piece.bold)]
        else:
            items[-1] = voice.amount(piece.rounded, bold=piece.bold)
    return Maths(tuple(items))


def block(voice: Voice, shown: Shown) -> Block:
    """What stands between a demand and the space below it."""
    match shown:
        case Said():
            return Paragraph(line(voice, shown))
        case Reckoning():
            return Paragraph(line(voice, shown), indent_mm=6.0)
        case Rows():
            return _table(voice, shown)
        case _:
            return DRAWN[shown.kind](voice, shown, line)


def _table(voice: Voice, rows: Rows) -> Table:
    heading = tuple(Cell((line(voice, piece),), head=True) for piece in rows.heading)
    body = tuple(
        tuple(
            Cell((line(voice, piece) or (Text(""),),), head=rows.headed and index == 0)
            for index, piece in enumerate(row)
        )
        for row in rows.rows
    )
    summary = "".join(piece.text for piece in line(voice, rows.summary) if isinstance(piece, Text))
    return Table(rows.widths, heading, body, width=rows.width, summary=summary)


# ------------------------------------------------------------------ parts


def extra_labels(voice: Voice, used: int) -> tuple[str, ...]:
    """The letters of the further parts, after so many parts of the calculation."""
    extras = voice.question.extras
    if not used and len(extras) == 1:
        return ("",)
    first = before(voice)
    places = (*range(first), *range(first + used, len(extras) + used))
    return tuple(f"({chr(ord('a') + place)})" for place in places)


def before(voice: Voice) -> int:
    """How many further parts stand before the calculation, which needs what they find."""
    return sum(part.first for part in voice.question.extras)


def extra_parts(voice: Voice, labels: tuple[str, ...], scaffolded: bool) -> list[Part]:
    """The further parts as printed; a hint stands in them at the scaffolded level."""
    return [_part(voice, part, label, scaffolded) for part, label in zip(voice.question.extras, labels, strict=True)]


def _part(voice: Voice, part: ExtraPart, label: str, scaffolded: bool) -> Part:
    blocks: list[Block] = [block(voice, shown) for shown in part.shown]
    if scaffolded and part.hint is not None:
        blocks.append(Paragraph(line(voice, part.hint), "note"))
    blocks += [_space(voice, space) for space in part.space]
    return Part(label, capitalised(line(voice, part.demand)), tuple(blocks), part.marks)


def _space(voice: Voice, space: Space) -> Working:
    unit = voice.unit(space.unit)
    return Working(space.height_mm, space.rule_mm, unit, line(voice, space.label), space.ruled)


# ------------------------------------------------------------------ mark scheme and worked solutions


def extra_rows(voice: Voice, number: int, labels: tuple[str, ...]) -> list[tuple[Cell, ...]]:
    """One row a mark point, numbered on from those of the calculation."""
    rows: list[tuple[Cell, ...]] = []
    mark = -sum(part.marks for part in voice.question.extras if part.first)
    for part, label in zip(voice.question.extras, labels, strict=True):
        shown = f"{number}{label}"
        if not part.first:
            mark = max(mark, len(voice.question.points))
        for point in part.points:
            mark += 1
            last = point is part.points[-1]
            rows.append(_row(voice, part, point, shown, mark_name(voice, mark), last))
            shown = ""
    return rows


def mark_name(voice: Voice, number: int) -> str:
    """The name of a mark point of the calculation: M1, M2, ... in the order of the page, after what is read before it."""
    return f"M{number + sum(part.marks for part in voice.question.extras if part.first)}"


def _row(voice: Voice, part: ExtraPart, point: ExtraPoint, label: str, mark: str, last: bool) -> tuple[Cell, ...]:
    guidance = [line(voice, one) for one in point.guidance]
    if last and part.accepted is not None:
        low, high = (Quantity(number, part.unit) for number in part.accepted)
        if low.number == high.number:
            guidance.insert(0, voice.words.line("guide one", low=voice.amount(low, bold=True)))
        else:
            number = Text(low.number_text, bold=True)
            guidance.insert(0, voice.words.line("guide range", low=number, high=voice.amount(high, bold=True)))
    return (
        Cell(((Text(label, bold=True),),)),
        Cell(tuple(capitalised(line(voice, one)) for one in point.lines)),
        Cell(((Text(mark, bold=True),),), align="centre"),
        Cell(tuple(guidance) or ((Text(""),),)),
    )


def extra_key(voice: Voice, labels: tuple[str, ...]) -> list[tuple[str, Line, Line, int]]:
    """For the answer key, part by part: label, answers in short, what to accept, marks."""
    rows = []
    for part, label in zip(voice.question.extras, labels, strict=True):
        answers: list[Inline] = []
        for point in part.points:
            answers += [*([Text("; ")] if answers else []), *line(voice, point.answer)]
        accept: Line = ()
        if part.accepted is not None:
            low, high = (Quantity(number, part.unit) for number in part.accepted)
            accept = (voice.amount(low),) if low == high else (Text(f"{low.number_text} to "), voice.amount(high))
        rows.append((label, joined(answers), accept, part.marks))
    return rows


def extra_wrong_rows(voice: Voice, labels: tuple[str, ...]) -> list[tuple[Cell, ...]]:
    """The common wrong answers of the further parts, with the slips behind them."""
    rows: list[tuple[Cell, ...]] = []
    for part, label in zip(voice.question.extras, labels, strict=True):
        for wrong in part.wrong:
            names = "; ".join(f"{voice.in_units(name)} ({key})" for key, name in wrong.slips)
            where = f"Part {label}: " if label else ""
            rows.append((
                Cell(((voice.amount(wrong.answer, bold=True),),)),
                Cell(((Text(f"{where}{names}." if where else f"{names[:1].upper()}{names[1:]}."),),)),
                Cell(((Text(f"{wrong.marks} of {part.marks}" + (f" in {label}" if label else "")),),), align="centre"),
            ))  # fmt: skip
    return rows


def extra_sketches(voice: Voice) -> list[Block]:
    """What a marker compares a drawn answer with."""
    return [block(voice, shown) for part in voice.question.extras for shown in part.answered]


def extra_worked(voice: Voice, labels: tuple[str, ...]) -> list[Block]:
    """The further parts worked out, for pupils."""
    blocks: list[Block] = []
    for part, label in zip(voice.question.extras, labels, strict=True):
        head = (Text(f"Part {label}. ", bold=True),) if label else ()
        lines: list[Block] = [Paragraph((*head, *capitalised(line(voice, part.demand))))]
        lines += [block(voice, shown) for shown in part.answered or part.shown]
        lines += [Paragraph(capitalised(line(voice, one)), indent_mm=6.0) for one in part.explained]
        for point in part.points:
            shown = point.lines if point.worked else ()
            lines += [Paragraph(capitalised(line(voice, one)), indent_mm=6.0) for one in shown]
        blocks.append(Together(tuple(lines)))
    return blocks
