"""Places to write on come in; the text fields of a form that is filled in on screen go out, named so that a program finds them again.

The name of a field says whose answer it holds, in the words that the table of answers has over its columns (`papers/answers`):

    3(b)            the answer to part (b) of question 3; of a question of one part: 3
    3(b) 2          the second answer of a part that has several
    3(b) working    the space to work in above it
    3(b) gap 1      a blank in a sentence, a line of working or a table, counted through the part; where a part has no other place
                    for its answer, the last of its gaps is the answer and has the part's name
    3 gap 1         a blank that belongs to no one part: a table to be filled in before part (a)
    name, class     what is filled in at the front, in small letters

Answers in words are called as all others. ISO 32000-1, 12.7: each field is one widget annotation, in the structure tree as the only
content of a Form element. Every appearance is there and the typeface is embedded whole, so that a filled form still is what it
claims; there is no script, and no program is asked to draw anything anew.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from molewright.render.pdf.content import hexadecimal
from molewright.render.pdf.slabs import Blank
from molewright.render.pdf.tags import Element

FACE = "FT"  # the name of the typeface in the resources of the form
_MULTILINE = 1 << 12  # flags of a field (ISO 32000-1, table 228)
_PRINT = 4  # flag of an annotation
_EDGE = "0.6"  # grey of the frame round a space to work in
_LARGEST, _SMALLER, _LEAST = 11.0, 10.0, 7.0  # size of what is typed: on one line, on several, and at least

Kind = Literal["answer", "working", "gap", "front"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """One field on one page: its corners in points from the lower left one of the page, what it is called, what is said of it."""

    element: Element
    page: int
    box: tuple[float, float, float, float]
    part: str  # 3(b), 3, or "" at the front
    kind: Kind
    told: str  # what is wanted there: "answer in cm³"
    lines: bool = False
    scale: float = 1.0  # of the type of the page, against the usual
    name: str = ""

    @property
    def tooltip(self) -> str:
        """What a screen reader says: the question, the part, what is wanted."""
        told = f"{self.told} {self.name.rpartition(' ')[2]}" if self.told == "gap" else self.told
        if not self.part:
            return told
        number, _, label = self.part.partition("(")
        return f"Question {number}, part ({label}, {told}" if label else f"Question {number}, {told}"


def field(blank: Blank, page: int, part: str, corner: tuple[float, float], height: float, scale: float) -> Field:
    """The field of a blank whose slab begins at a corner (x of the page, top) and has a height."""
    left, top = corner[0] + blank.x, corner[1] - blank.y
    tall = blank.height or height
    return Field(
        element=blank.element.child("Form"),
        page=page,
        box=(left, top - tall, left + blank.width, top),
        part=part,
        kind=blank.kind,
        told=blank.told,
        lines=blank.lines,
        scale=scale,
    )


def named(fields: Sequence[Field]) -> list[Field]:
    """The fields of a whole sheet, each with a name of its own."""
    parts = {each.part for each in fields}
    answered = {each.part for each in fields if each.kind == "answer"}
    last_gap = {each.part: at for at, each in enumerate(fields) if each.kind == "gap"}
    for part, at in last_gap.items():
        if part and part not in answered and not any(other.startswith(f"{part}(") for other in parts):
            fields = [*fields[:at], replace(fields[at], kind="answer", told="answer"), *fields[at + 1 :]]
    used: Counter[str] = Counter()
    made: list[Field] = []
    for each in fields:
        stem = each.told.casefold() if each.kind == "front" else each.part
        stem = stem.replace(".", " ")  # a full stop parts the name of a field from that of the one above it
        if each.kind in ("working", "gap"):
            stem = f"{stem} {each.kind}".lstrip()
        used[stem] += 1
        counted = each.kind == "gap" or used[stem] > 1
        made.append(replace(each, name=f"{stem} {used[stem]}" if counted else stem))
    return made


def widget_dictionary(each: Field, page: int, appearance: int, key: int) -> str:
    """A field and its annotation, which are one dictionary; `key` leads from it to its element in the structure tree."""
    box = " ".join(f"{edge:.2f}" for edge in each.box)
    lines = f" /Ff {_MULTILINE} /MK <</BC [{_EDGE}]>> /BS <</W 0.5 /S /S>>" if each.lines else ""
    return (
        f"<</Type /Annot /Subtype /Widget /FT /Tx /T {hexadecimal(each.name)} /TU {hexadecimal(each.tooltip)} /F {_PRINT} "
        f"/Rect [{box}] /P {page} 0 R /StructParent {key} /DA (/{FACE} {_size(each):g} Tf 0 g) /AP <</N {appearance} 0 R>>{lines}>>"
    )


def empty_look(each: Field) -> tuple[str, str]:
    """How an empty field looks: the entries of a form XObject, and its content."""
    left, bottom, right, top = each.box
    wide, tall = right - left, top - bottom
    frame = f"q {_EDGE} G 0.5 w 0.25 0.25 {wide - 0.5:.2f} {tall - 0.5:.2f} re S Q\n" if each.lines else ""
    return f"/Type /XObject /Subtype /Form /BBox [0 0 {wide:.2f} {tall:.2f}]", f"{frame}/Tx BMC\nEMC"


def form_dictionary(numbers: Iterable[int], face: int) -> str:
    """The form of a document: its fields in order, and the typeface that is typed in."""
    held = " ".join(f"{number} 0 R" for number in numbers)
    return f"<</Fields [{held}] /DR <</Font <</{FACE} {face} 0 R>>>> /DA (/{FACE} {_LARGEST:g} Tf 0 g)>>"


def _size(each: Field) -> float:
    """Of what is typed: as large as the line allows."""
    most = (_SMALLER if each.lines else _LARGEST) * each.scale
    return round(max(_LEAST, min(most, 0.78 * (each.box[3] - each.box[1]))), 1)
