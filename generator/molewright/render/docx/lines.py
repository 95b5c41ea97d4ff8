"""Inline nodes come in; runs of a Word paragraph go out, every word of them escaped. Knows nothing of paragraphs."""

from __future__ import annotations

import re
from collections.abc import Sequence
from math import inf
from typing import assert_never

from molewright.chem.units import NO_BREAK
from molewright.nodes.drawing.strokes import MM
from molewright.nodes.inline import Amount, Chem, Equation, Gap, Inline, Line, Maths, Symbol, Text
from molewright.render.docx.lettering import text_width
from molewright.render.docx.markup import escaped, levelled
from molewright.render.docx.maths import broken, equation, stretches
from molewright.render.pdf.look import PUPIL
from molewright.render.text.lines import plain_line

TAB = "<w:r><w:tab/></w:r>"
_LEVEL = {"sub": '<w:vertAlign w:val="subscript"/>', "sup": '<w:vertAlign w:val="superscript"/>', "": ""}
_LOOK = re.compile(r"<w:r>(?:<w:rPr>((?:<w:b/>)?(?:<w:i/>)?)(.*?)</w:rPr>)?(?=<w:t)")
_BOLD, _ITALIC, _DOTTED = "<w:b/>", "<w:i/>", '<w:u w:val="dotted"/>'


def runs(line: Line, size: float, bold: bool = False, room: float = inf) -> str:
    """The line in type of a size in points, all of it bold where that is asked for; no equation in it is wider than its room."""
    return "".join(_inline(node, size, bold, room) for node in line)


def written(text: str, bold: bool = False, italic: bool = False) -> str:
    """Words as runs, with raised and lowered figures."""
    look = (_BOLD if bold else "") + (_ITALIC if italic else "")
    return "".join(_run(piece, look + _LEVEL[level]) for level, piece in levelled(text))


def upright(body: str) -> str:
    """The same paragraphs without a sloped letter, in words and in equations. Words themselves hold no mark-up."""
    for sloped, straight in ((_ITALIC, ""), ('<m:sty m:val="i"/>', '<m:sty m:val="p"/>'), ('m:val="bi"', 'm:val="b"')):
        body = body.replace(sloped, straight)
    return body


def sized(content: str, size: float) -> str:
    """The same runs in type of a size, whatever their style says. Words themselves hold no mark-up."""
    return _LOOK.sub(rf'<w:r><w:rPr>\1<w:sz w:val="{round(2 * size)}"/>\2</w:rPr>', content)


def _run(text: str, look: str = "") -> str:
    return f'<w:r>{f"<w:rPr>{look}</w:rPr>" if look else ""}<w:t xml:space="preserve">{escaped(text)}</w:t></w:r>'


def _inline(node: Inline, size: float, bold: bool, room: float) -> str:
    match node:
        case Text():
            return written(node.text, bold or node.bold, node.italic)
        case Amount() | Chem():
            return written(plain_line((node,)), bold or node.bold)
        case Equation():
            return written(plain_line((node,)), bold)
        case Symbol():
            return written(node.letter, bold, True) + written(plain_line((node,))[len(node.letter) :], bold)
        case Gap():
            return _gap(node, size, bold)
        case Maths():
            pieces = (one for piece in stretches(node.items) for one in broken(piece, room, size))
            return _run(" ").join(equation(piece, bold) for piece in pieces)
        case _:
            assert_never(node)


def _gap(node: Gap, size: float, bold: bool) -> str:
    """A dotted rule to write on: spaces that never break, underlined."""
    count = max(3, round(node.width_mm * MM * max(1.0, size / PUPIL.body.size) / (size * text_width(" "))))
    unit = unit_behind(node)
    return _run(NO_BREAK * count, _DOTTED) + (written(unit, bold) if unit else "")


def unit_behind(node: Gap) -> str:
    """The unit after a gap, held to it; "" for none."""
    return f"{NO_BREAK}{node.unit.replace(' ', NO_BREAK)}" if node.unit else ""


def only_maths(line: Sequence[Inline]) -> Maths | None:
    """The line of working that is all there is in a line."""
    return line[0] if len(line) == 1 and isinstance(line[0], Maths) else None
