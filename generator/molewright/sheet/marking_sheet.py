"""The marked parts of papers come in; the marking sheet goes out: value, range, marks and likeliest slips, part by part.

One paper has a table of its own. Of several, levels stand side by side as columns of part labels (their numbers are the same), and
versions as columns of numbers, so that a mixed pile of scripts is marked from one sheet.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from molewright.chem.units import NO_BREAK
from molewright.nodes.blocks import Block, Cell, Heading, Paragraph, Sheet, Table
from molewright.nodes.inline import Amount, Chem, Inline, Line, Text
from molewright.sheet.marked_parts import LikelyWrong, MarkedPart, Place
from molewright.sheet.wording import Words, marks_told

MOST_WRONG, MOST_WRONG_ON_THE_WAY = 2, 1  # of a part: the full scheme has more
_LABEL, _WHAT, _LEAST = 0.1, 0.27, 0.155  # of the width: a column of labels, what a row tells, the least for a version


@dataclass(frozen=True, slots=True, kw_only=True)
class MarkedPaper:
    """One paper as it is marked: which version (or whose), at which level, its questions with their parts."""

    who: str
    level: str
    questions: tuple[tuple[int, tuple[MarkedPart, ...]], ...]

    def part(self, question: int, place: Place) -> MarkedPart | None:
        """The part at a place of a question, where this level has it."""
        parts = dict(self.questions).get(question, ())
        return next((part for part in parts if part.place == place), None)


def marking_blocks(papers: Sequence[MarkedPaper], words: Words) -> list[Block]:
    """The tables of some papers with what has to be known to read them."""
    levels = list(dict.fromkeys(paper.level for paper in papers))
    versions = list(dict.fromkeys(paper.who for paper in papers))
    if len(versions) == 1:
        key = words.line("marking key", example=_example(papers, words))
        return [Paragraph(key, "note"), _one_version(papers, levels, words)]
    blocks: list[Block] = [Paragraph(words.line("marking key versions"), "note")]
    most = most_versions(len(levels))
    for start in range(0, len(versions), most):
        shown = versions[start : start + most]
        blocks.append(_side_by_side([paper for paper in papers if paper.who in shown], levels, shown, words))
    return blocks


def _example(papers: Sequence[MarkedPaper], words: Words) -> str:
    """How marks are told, by the first of each kind that these papers print: 0/1 of a part on the way, 4/5 of a calculation."""
    printed = [wrong for paper in papers for _, parts in paper.questions for part in parts for wrong in _printed(part)]
    first = {wrong.kept == "0": wrong for wrong in reversed(printed)}
    told = [
        words.text(f"marking example {key}", earned=f"{first[lost].kept}/{first[lost].of}")
        for lost, key in ((True, "part"), (False, "whole"))
        if lost in first
    ]
    return words.text("marking example", examples=" or ".join(told)) if told else ""


def most_versions(levels: int) -> int:
    """How many versions stand side by side beside the labels of so many levels."""
    return max(1, int((1 - _LABEL * levels - _WHAT) / _LEAST))


def marking_sheet(title: str, code: str, papers: Sequence[MarkedPaper], words: Words) -> Sheet:
    """The joint marking sheet of a whole set."""
    named = f"{title}, marking sheet"
    told = Paragraph((Text(f"Paper code {code}. {_marks(papers)}."),), "note")
    return Sheet(
        title=named,
        subject="Titration calculations",
        kind="marking",
        code=code,
        blocks=(Heading(1, (Text(named),)), told, *marking_blocks(papers, words)),
        header=named,
    )


def _marks(papers: Sequence[MarkedPaper]) -> str:
    """The marks of a whole paper, level by level where there are several."""
    totals = {paper.level: sum(part.marks for _, parts in paper.questions for part in parts) for paper in papers}
    if len(totals) == 1:
        return f"Each paper: {marks_told(*totals.values())} in all"
    return "; ".join(f"{level}: {marks_told(total)} in all" for level, total in totals.items())


# ------------------------------------------------------------------ rows


def _places(papers: Sequence[MarkedPaper]) -> list[tuple[int, Place]]:
    """Every place of every question that any of the papers has, in the order of the page."""
    found = {(number, part.place) for paper in papers for number, parts in paper.questions for part in parts}
    return sorted(found)


def _labels(
    papers: Sequence[MarkedPaper], levels: Sequence[str], question: int, place: Place, marks: bool
) -> list[Cell]:
    """What the part is called, level by level, with its marks where these have no column of their own."""
    cells = []
    for level in levels:
        paper = next(one for one in papers if one.level == level)
        part = paper.part(question, place)
        told = f"{question}{part.label}" if part else ""
        line: Line = (Text(told, bold=True),)
        if part and marks:
            line = (*line, Text(f" [{part.marks}]"))
        cells.append(Cell((line,), head=True))
    return cells


def _opening(places: Sequence[int]) -> frozenset[int]:
    """The rows at which another question begins."""
    return frozenset(at for at in range(1, len(places)) if places[at] != places[at - 1])


def _one_version(papers: Sequence[MarkedPaper], levels: Sequence[str], words: Words) -> Table:
    rows: list[tuple[Cell, ...]] = []
    places = _places(papers)
    several = len(levels) > 1
    for question, place in places:
        part = next(found for paper in papers if (found := paper.part(question, place)) is not None)
        marks = () if several else (Cell(((Text(str(part.marks)),),), align="centre"),)
        rows.append(
            (
                *_labels(papers, levels, question, place, marks=several),
                Cell(_told(part)),
                Cell((part.accepted or words.line("marking words"),)),
                *marks,
                Cell(tuple(_wrong(wrong, words, not several) for wrong in _printed(part)) or ((Text(""),),)),
            )
        )
    head = [*(levels if several else ["Part"]), "Right", "Accepted", *([] if several else ["Marks"])]
    label = 0.1 if several else 0.07
    widths = [*(label for _ in levels), 0.215, 0.21, *([] if several else [0.08])]
    return Table(
        widths=(*widths, max(0.2, 1 - sum(widths))),
        heading=tuple(_head(text) for text in (*head, "Likely wrong, and what it earns")),
        rows=tuple(rows),
        whole=False,
        summary="Marking sheet",
        groups=_opening([question for question, _ in places]),
    )


def _loose(line: Line) -> Line:
    """A range that may break before and after its "to", as it must in a narrow column."""
    return tuple(Text(_with_breaks(one.text), one.bold) if isinstance(one, Text) else one for one in line)


def _with_breaks(words: str) -> str:
    return words.replace(f"{NO_BREAK}to{NO_BREAK}", " to ")


def _told(part: MarkedPart) -> tuple[Line, ...]:
    """The value of a part, all of it: of several answers each on a line of its own."""
    return part.answers or (part.value or (Text(""),),)


def _head(text: str) -> Cell:
    return Cell(((Text(text),),), head=True, align="centre" if text == "Marks" else "left")


def _wrong(wrong: LikelyWrong, words: Words, parts: bool) -> Line:
    number = Text(wrong.number, bold=True)
    return words.line("marking wrong", number=number, kept=_earned(wrong, words, parts), why=wrong.why)


def _printed(part: MarkedPart) -> tuple[LikelyWrong, ...]:
    """The wrong answers that are printed of a part: of one on the way the likeliest only, which most later ones follow from."""
    return part.wrong[: MOST_WRONG if all(wrong.kept != "0" for wrong in part.wrong) else MOST_WRONG_ON_THE_WAY]


def _earned(wrong: LikelyWrong, words: Words, parts: bool) -> str:
    """Marks as a marker writes them beside a sum, 5/6; with `parts` those that they are of are told, where it is not one alone."""
    earned = f"{wrong.kept}/{wrong.of}"
    return words.text("marking of parts", earned=earned, parts=wrong.parts) if parts and wrong.parts else earned


def _side_by_side(papers: Sequence[MarkedPaper], levels: Sequence[str], versions: Sequence[str], words: Words) -> Table:
    """Versions as columns: a row for the right values, and one for each likely mistake in the calculation or a part after it."""
    rows: list[tuple[Cell, ...]] = []
    questions: list[int] = []
    kept: set[int] = set()
    for question, place in _places(papers):
        level = next(level for level in levels if any(p.level == level and p.part(question, place) for p in papers))
        parts = {p.who: p.part(question, place) for p in papers if p.level == level}
        unit, values = _values([parts.get(who) for who in versions])
        told: list[Line] = [words.line("marking right", unit=unit) if unit else words.line("marking right bare")]
        rows.append((*_labels(papers, levels, question, place, marks=True), Cell(tuple(told)), *map(Cell, values)))
        questions.append(question)
        for key, wrong in _shared(list(parts.values())):
            numbers = [_number(parts.get(who), key, wrong) for who in versions]
            why = words.line("marking slip", why=wrong.why, kept=_earned(wrong, words, len(levels) == 1))
            kept.add(len(rows))
            rows.append((*(Cell(((Text(""),),)) for _ in levels), Cell((why,)), *(Cell((one,)) for one in numbers)))
            questions.append(question)
    share = (1 - _LABEL * len(levels) - _WHAT) / len(versions)
    several = len(levels) > 1
    head = (*(levels if several else ["Part"]), "", *versions)
    return Table(
        widths=(*(_LABEL for _ in levels), _WHAT, *(share for _ in versions)),
        heading=tuple(map(_head, head)),
        rows=tuple(rows),
        whole=False,
        summary="Marking sheet of several versions",
        keep_rows=frozenset(kept),
        groups=_opening(questions),
    )


def _values(parts: Sequence[MarkedPart | None]) -> tuple[str, list[tuple[Line, ...]]]:
    """The unit that the values share, told once, and what stands of each: the value, and below it what is accepted."""
    amounts = [_amount(part.value) if part else None for part in parts]
    units = {one.quantity.unit for one in amounts if one is not None}
    shared = len(units) == 1 and all(amounts)
    found: list[tuple[Line, ...]] = []
    for part, amount in zip(parts, amounts, strict=True):
        if part is None:
            found.append(((Text(""),),))
            continue
        told = ((Text(amount.quantity.number_text, bold=True),),) if shared and amount else _told(part)
        found.append((*told, _loose(part.accepted)) if part.accepted else told)
    (unit,) = units if shared else {None}
    return (unit.unbroken if unit else ""), found


def _amount(line: Line) -> Amount | None:
    """The amount that a value begins with, where only its substance follows."""
    first, *others = line or (Text(""),)
    return first if isinstance(first, Amount) and all(map(_beside, others)) else None


def _beside(piece: Inline) -> bool:
    return isinstance(piece, Chem) or piece == Text(" ")


def _shared(parts: Sequence[MarkedPart | None]) -> list[tuple[str, LikelyWrong]]:
    """The mistakes that a row is printed for: those that show in most versions, the likeliest first, and keep some mark.

    Of a part for the mean it is one that keeps none, for no later row tells it.
    """
    kept = [
        {wrong.key: wrong for wrong in part.wrong if wrong.kept != "0" or wrong.reading}
        for part in parts
        if part is not None
    ]
    most = MOST_WRONG_ON_THE_WAY if any(one.reading for found in kept for one in found.values()) else MOST_WRONG
    first = {key: wrong for found in reversed(kept) for key, wrong in found.items()}
    order = [key for found in kept for key in found]
    lacking = {key: sum(key not in found for found in kept) for key in first}
    return [(key, first[key]) for key in sorted(first, key=lambda key: (lacking[key], order.index(key)))[:most]]


def _number(part: MarkedPart | None, key: str, like: LikelyWrong) -> Line:
    """What a mistake gives in one version; its marks too where they are not those told for all."""
    found = next((wrong for wrong in part.wrong if wrong.key == key), None) if part else None
    if found is None:
        return (Text("–"),)
    return (Text(found.number if found.kept == like.kept else f"{found.number} ({found.kept})"),)
