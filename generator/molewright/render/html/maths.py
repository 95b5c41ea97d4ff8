"""Rows of working come in; MathML Core goes out, every number and word of it as text. Knows nothing of lines round it."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import assert_never

from molewright.chem.formula_scripts import unicode_text
from molewright.chem.quantity import MINUS, TIMES, Quantity, mantissa
from molewright.nodes.inline import Amount, Chem, Gap, MathsItem, Over, Sign, Symbol, Text
from molewright.render.html.escape import escape, runs
from molewright.render.html.look import mm

_NB = "\N{NO-BREAK SPACE}"
TO_SCROLL = 'tabindex="0" role="group" aria-label="{}, may be scrolled"'  # what is wider than a narrow screen


def stretches(items: Sequence[MathsItem]) -> list[list[MathsItem]]:
    """The row in pieces that stay on one line: each but the first begins with "="."""
    found: list[list[MathsItem]] = [[]]
    for piece in items:
        if isinstance(piece, Sign) and piece.sign == "=" and found[-1]:
            found.append([])
        found[-1].append(piece)
    return found


@lru_cache(maxsize=4096)
def _words(text: str) -> str:
    """Words, with raised and lowered figures as scripts of what stands before them."""
    pieces: list[str] = []
    base, scripts = "", {}
    for written, raised in [*runs(text), ("", 0)]:
        if raised and raised not in scripts:
            scripts[raised] = f"<mtext>{escape(written)}</mtext>"
            continue
        if base or scripts:
            pieces.append(_scripted(f"<mtext>{escape(base)}</mtext>", scripts))
        base, scripts = (written, {}) if not raised else ("", {raised: f"<mtext>{escape(written)}</mtext>"})
    return "".join(pieces)


def _scripted(words: str, scripts: Mapping[int, str]) -> str:
    """Words with their scripts, which stand at one height whether or not a letter reaches below the line."""
    base = f'<mpadded height="0.7em" depth="0">{words}</mpadded>' if scripts else words
    if len(scripts) == 2:
        return f"<msubsup>{base}{scripts[-1]}{scripts[1]}</msubsup>"
    if not scripts:
        return base
    ((raised, written),) = scripts.items()
    return f"<msup>{base}{written}</msup>" if raised > 0 else f"<msub>{base}{written}</msub>"


@lru_cache(maxsize=4096)
def _quantity(given: Quantity) -> str:
    unit = _words(f"{_NB}{given.unit.unbroken}") if given.unit else ""
    if not given.scientific:
        return f"<mn>{given.number_text}</mn>{unit}"
    digits, power = mantissa(given.number)
    raised = str(power).replace("-", MINUS)
    number = digits.replace("-", MINUS)
    return f"<mn>{number}</mn><mo>{TIMES}</mo><msup><mn>10</mn><mn>{raised}</mn></msup>{unit}"


@lru_cache(maxsize=4096)
def _formula(text: str, state: str) -> str:
    return _words(f"{unicode_text(text)}{f'({state})' if state else ''}")


@lru_cache(maxsize=4096)
def _symbol(node: Symbol) -> str:
    letter = f'<mi mathvariant="normal" class="letter">{escape(node.letter)}</mi>'
    if node.subscript:
        letter = f"<msub>{letter}<mtext>{escape(node.subscript)}</mtext></msub>"
    inside = " ".join(filter(None, (unicode_text(node.of) if node.of else "", node.note)))
    return letter + _words(f"({inside})".replace(" ", _NB)) if inside else letter


def _heights(items: Sequence[MathsItem]) -> set[int]:
    """The places of brackets that have a fraction between them and so are set tall."""
    tall: set[int] = set()
    if not any(isinstance(one, Over) for one in items):
        return tall
    opened: list[int] = []
    for place, node in enumerate(items):
        if isinstance(node, Sign) and node.sign == "(":
            opened.append(place)
        elif isinstance(node, Sign) and node.sign == ")" and opened:
            start = opened.pop()
            if any(isinstance(within, Over) for within in items[start:place]):
                tall |= {start, place}
    return tall


def _sign(sign: str, *, first: bool, opens: bool, tall: bool) -> str:
    shown = escape(MINUS if sign == "-" else sign)
    if sign in ("(", ")"):
        return f'<mo class="tall">{shown}</mo>' if tall else f'<mo stretchy="false">{shown}</mo>'
    if first and sign not in f"-{MINUS}+":  # "=" that opens a line: the space before it stands between the stretches
        return f'<mo form="infix" lspace="0" rspace="0.28em">{shown}</mo>'
    return f'<mo form="prefix">{shown}</mo>' if first or opens else f'<mo form="infix">{shown}</mo>'


@dataclass(frozen=True, slots=True)
class Working:
    """Writes rows of working; `said` writes the words among them."""

    said: Callable[[str], str]

    def row(self, items: Sequence[MathsItem]) -> str:
        """A row, without the element round it."""
        tall = _heights(items)
        pieces: list[str] = []
        for place, node in enumerate(items):
            match node:
                case Sign(sign=sign):
                    before = items[place - 1] if place else None
                    opens = isinstance(before, Sign) and before.sign != ")"
                    pieces.append(_sign(sign, first=place == 0, opens=opens, tall=place in tall))
                case Over():
                    top, bottom = (f"<mrow>{self.row(one)}</mrow>" for one in (node.top, node.bottom))
                    pieces.append(f"<mfrac>{top}{bottom}</mfrac>")
                case Text():
                    pieces.append(_strong(self._text(node), node.bold))
                case Amount():
                    pieces.append(_strong(_quantity(node.quantity), node.bold))
                case Chem():
                    pieces.append(_strong(_formula(node.formula, node.state), node.bold))
                case Symbol():
                    pieces.append(_symbol(node))
                case Gap():
                    pieces.append(_gap(node))
                case _:
                    assert_never(node)
        return "".join(pieces)

    def _text(self, node: Text) -> str:
        """Words, their outer spaces kept; a number among signs is a number."""
        bare = node.text.strip(" ")
        if bare.replace(".", "", 1).isdecimal() and bare == node.text:
            return f"<mn>{bare}</mn>"
        said = self.said(bare) if bare else ""
        start, end = (_NB if found else "" for found in (node.text.startswith(" "), bare and node.text.endswith(" ")))
        if "<abbr" in said:
            return f"<mtext><span>{start}{said}{end}</span></mtext>"
        written = _words(f"{start}{bare}{end}".replace(" ", _NB))
        return f'<mrow class="letter">{written}</mrow>' if node.italic else written


def _gap(node: Gap) -> str:
    unit = _words(f"{_NB}{node.unit.replace(' ', _NB)}") if node.unit else ""
    return f"<mtext><span>{blank(node)}</span></mtext>{unit}"


def blank(node: Gap) -> str:
    """A dotted rule of its width, told as a blank."""
    return f'<span class="gap" style="width:{mm(node.width_mm)}"><span class="told">blank</span></span>'


def _strong(written: str, bold: bool) -> str:
    return f'<mrow class="strong">{written}</mrow>' if bold else written
