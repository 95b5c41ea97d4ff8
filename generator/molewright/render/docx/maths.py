"""Lines of working come in; native equations (OMML) go out, broken before "=" where their room is too narrow. Computes nothing.

Numbers and signs are set as mathematics, words, units and formulae as upright text in it. A sign that opens or closes a row has
nothing on one side and is upright text too: some programs show a question mark for the missing side.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from math import fsum
from typing import assert_never

from molewright.chem.formula_scripts import unicode_text
from molewright.chem.units import NO_BREAK
from molewright.nodes.inline import Amount, Chem, Gap, MathsItem, Over, Sign, Symbol, Text
from molewright.render.docx.lettering import BOLD, REGULAR, text_width
from molewright.render.docx.markup import escaped, levelled
from molewright.render.text.lines import plain_line

MATHS_FACE = "Cambria Math"
_FACE = f'<w:rFonts w:ascii="{MATHS_FACE}" w:hAnsi="{MATHS_FACE}" w:cs="{MATHS_FACE}"/>'
_RELATIONS, _OPERATIONS = "=≈", "×−+-"
_ROUND_SIGN = 0.55  # the space round a sign, in ems
_DOTS_MM = 4.0  # that one sign of three dots takes; its width in ems
_DOTS_WIDE = 1.05
_MEASURED_AT = 12.0  # some programs set every equation in type of this size, whatever the size of the words beside it
_PIECES = re.compile(r"(?P<number>\d+(?:[.,]\d+)*)|(?P<times>[\s\u00a0\u2009]*×[\s\u00a0\u2009]*)|[^\d×]+")


def equation(items: Sequence[MathsItem], bold: bool = False) -> str:
    """One equation that stands in a line."""
    return f"<m:oMath>{_row(items, bold)}</m:oMath>"


def displayed(items: Sequence[MathsItem], align: str, bold: bool = False) -> str:
    """One equation that has a line to itself: its fractions are of full size."""
    side = {"left": "left", "centre": "center", "right": "right"}[align]
    return f'<m:oMathPara><m:oMathParaPr><m:jc m:val="{side}"/></m:oMathParaPr>{equation(items, bold)}</m:oMathPara>'


# ---------------------------------------------------------------- breaking


def broken(items: Sequence[MathsItem], width: float, size: float) -> list[Sequence[MathsItem]]:
    """The lines of working that a column of a width in points needs, in type of a size: broken before "=", else before a sign."""
    size = max(size, _MEASURED_AT)
    if _wide(items, size) <= width:
        return [items]
    pieces: list[Sequence[MathsItem]] = []
    for piece in stretches(items, _RELATIONS):
        pieces += [piece] if _wide(piece, size) <= width else stretches(piece, _RELATIONS + _OPERATIONS)
    lines: list[list[MathsItem]] = []
    for piece in pieces:
        if lines and _wide((*lines[-1], *piece), size) <= width:
            lines[-1] += piece
        else:
            lines.append(list(piece))
    return list(lines)


def stretches(items: Sequence[MathsItem], signs: str = _RELATIONS) -> list[Sequence[MathsItem]]:
    """Cut before each sign that stands outside brackets, unless there is nothing or an operator before it."""
    pieces: list[Sequence[MathsItem]] = []
    start = depth = 0
    for place, node in enumerate(items):
        if not isinstance(node, Sign):
            continue
        depth += (node.sign == "(") - (node.sign == ")")
        before = items[place - 1]
        between = not isinstance(before, Sign) or before.sign == ")"
        if node.sign in signs and depth <= 0 and place > start and between:
            pieces.append(items[start:place])
            start = place
    pieces.append(items[start:])
    return pieces


def _wide(items: Sequence[MathsItem], size: float) -> float:
    """About the width in points; rather too wide."""
    return fsum(_wide_one(node, size) for node in items)


def _wide_one(node: MathsItem, size: float) -> float:
    match node:
        case Over():
            return max(_wide(node.top, size), _wide(node.bottom, size)) + 0.3 * size
        case Sign():
            return size * (text_width(node.sign) + (0.0 if node.sign in "()" else _ROUND_SIGN))
        case Gap():
            return size * (text_width(f" {node.unit}") + len(_dots(node)) * _DOTS_WIDE)
        case Amount() | Chem() | Text():
            return size * text_width(plain_line((node,)), BOLD if node.bold else REGULAR)
        case Symbol():
            return size * text_width(plain_line((node,)))
        case _:
            assert_never(node)


# ---------------------------------------------------------------- writing


def _row(items: Sequence[MathsItem], bold: bool) -> str:
    made: list[str] = []
    place = 0
    while place < len(items):
        node = items[place]
        if isinstance(node, Sign):
            end = _closing(items, place)
            if node.sign == "(" and end and any(isinstance(one, Over) for one in items[place:end]):
                made.append(f"<m:d><m:e>{_row(items[place + 1 : end], bold)}</m:e></m:d>")
                place = end
            else:
                made.append(_sign(node.sign, place == 0, place + 1 == len(items), bold))
        else:
            made.append(_piece(node, bold))
        place += 1
    return "".join(made)


def _closing(items: Sequence[MathsItem], start: int) -> int:
    """The place of the bracket that closes the one at `start`; 0 for none."""
    depth = 0
    for place in range(start, len(items)):
        node = items[place]
        if isinstance(node, Sign):
            depth += (node.sign == "(") - (node.sign == ")")
            if depth == 0:
                return place
    return 0


def _sign(sign: str, first: bool, last: bool, bold: bool) -> str:
    shown = "−" if sign == "-" else sign
    if shown in "()":
        return _upright(shown, bold)
    if first and last:
        return _upright(shown, bold)
    if first:
        return _upright(shown if shown in "−+" else shown + NO_BREAK, bold)
    return _upright(NO_BREAK + shown, bold) if last else _mathematics(shown, bold)


def _piece(node: MathsItem, bold: bool) -> str:
    match node:
        case Text():
            if node.italic:
                return _mathematics(node.text, bold or node.bold, "i")
            return _mixed(node.text.replace(" ", NO_BREAK), bold or node.bold)
        case Amount():
            return _mixed(str(node.quantity).replace(" ", NO_BREAK), bold or node.bold)
        case Chem():
            return _scripted(unicode_text(node.formula) + (f"({node.state})" if node.state else ""), bold or node.bold)
        case Symbol():
            return _symbol(node, bold)
        case Over():
            return f"<m:f><m:num>{_row(node.top, bold)}</m:num><m:den>{_row(node.bottom, bold)}</m:den></m:f>"
        case Gap():
            unit = f"{NO_BREAK}{node.unit.replace(' ', NO_BREAK)}" if node.unit else ""
            above = _upright(NO_BREAK, bold)  # an empty limit above the dots: room to write in
            dots = f"<m:limUpp><m:e>{_upright(_dots(node), bold)}</m:e><m:lim>{above}</m:lim></m:limUpp>"
            return dots + (_scripted(unit, bold) if unit else "")
        case Sign():  # a row writes its signs itself, for it knows what stands beside them
            return _mathematics(node.sign, bold)
        case _:
            assert_never(node)


def _dots(node: Gap) -> str:
    return "…" * max(1, round(node.width_mm / _DOTS_MM))


def _symbol(node: Symbol, bold: bool) -> str:
    letter = _mathematics(node.letter, bold, "i")
    if node.subscript:
        letter = f"<m:sSub><m:e>{letter}</m:e><m:sub>{_upright(node.subscript, bold)}</m:sub></m:sSub>"
    within = NO_BREAK.join(filter(None, (unicode_text(node.of) if node.of else "", node.note.replace(" ", NO_BREAK))))
    return letter + (_scripted(f"({within})", bold) if within else "")


def _mixed(text: str, bold: bool) -> str:
    """Numbers as mathematics, what stands between them as text; figures raised behind a number are its power."""
    return _levelled(text, bold, numbers=True)


def _scripted(text: str, bold: bool) -> str:
    """A formula, or a unit: upright text with lowered and raised figures."""
    return _levelled(text, bold, numbers=False)


def _levelled(text: str, bold: bool, *, numbers: bool) -> str:
    made: list[str] = []
    pieces = list(levelled(text))
    place = 0
    while place < len(pieces):
        level, words = pieces[place]
        behind: list[tuple[str, str]] = []
        while place + 1 < len(pieces) and pieces[place + 1][0] and len(behind) < 2:
            place += 1
            behind.append(pieces[place])
        if level:
            words, behind = "\N{ZERO WIDTH SPACE}", [(level, words), *behind][:2]
        made.append(_with_scripts(words, behind, bold, numbers))
        place += 1
    return "".join(made)


def _with_scripts(words: str, behind: list[tuple[str, str]], bold: bool, numbers: bool) -> str:
    """Words, the last piece of which carries what is raised and lowered behind it."""
    runs = _runs(words, bold, numbers)
    if not behind:
        return "".join(runs)
    *before, base = runs
    made = "".join(before)
    given = {level: _upright(text, bold) for level, text in behind}
    if len(behind) == 2 and len(given) == 2:
        return (
            f"{made}<m:sSubSup><m:e>{base}</m:e><m:sub>{given['sub']}</m:sub><m:sup>{given['sup']}</m:sup></m:sSubSup>"
        )
    for level, text in behind:
        kind = "sSub" if level == "sub" else "sSup"
        base = f"<m:{kind}><m:e>{base}</m:e><m:{level}>{_upright(text, bold)}</m:{level}></m:{kind}>"
    return made + base


def _runs(words: str, bold: bool, numbers: bool) -> list[str]:
    """Runs of the words; the last holds one word alone, so that what is raised behind it is raised behind that word."""
    pieces = list(_PIECES.finditer(words)) if numbers else []
    made: list[str] = []
    for found in pieces:
        if found["number"]:
            made.append(_mathematics(found[0], bold))
        elif found["times"] and made:
            made.append(_mathematics("×", bold))
        else:
            made += _apart(found[0], bold)
    return made if pieces else _apart(words, bold)


def _apart(words: str, bold: bool) -> list[str]:
    before, space, last = words.rpartition(NO_BREAK)
    return [_upright(part, bold) for part in (before + space, last) if part]


def _upright(text: str, bold: bool) -> str:
    heavy = "<w:b/>" if bold else ""
    return f'<m:r><m:rPr><m:nor/></m:rPr><w:rPr>{_FACE}{heavy}</w:rPr><m:t xml:space="preserve">{escaped(text)}</m:t></m:r>'


def _mathematics(text: str, bold: bool, style: str = "p") -> str:
    kind = {"p": "b", "i": "bi"}[style] if bold else style
    heavy = "<w:b/>" if bold else ""
    return (
        f'<m:r><m:rPr><m:sty m:val="{kind}"/></m:rPr><w:rPr>{_FACE}{heavy}</w:rPr>'
        f'<m:t xml:space="preserve">{escaped(text)}</m:t></m:r>'
    )
