"""Words come in; the bytes that show them in FiraGO, their width and the embedded font objects go out. Places nothing.

FiraGO (SIL Open Font Licence) comes from the package pymupdf-fonts. Its encoding is fixed: one core of common characters
and a further part for each block of 128 code points, so that a font object is made once a process and used in all papers.
"""

from __future__ import annotations

import io
import sys
import unicodedata
import zlib
from dataclasses import dataclass
from functools import lru_cache
from importlib import import_module
from types import ModuleType
from typing import Any

from molewright.errors import Mistake, shortened
from molewright.render.pdf.glyphs import DRAWN, LIKE, LOWERED, SPACES
from molewright.render.pdf.opentype import kerning, single_substitutions
from molewright.render.pdf.outlines import lean

REGULAR, BOLD, ITALIC = range(3)  # bold italic is the sum of the two
TABULAR = 4  # added to a face: figures of one width, for columns of readings
WIDE = 8  # added to a face: letters further apart
_FACES = 4
_FURTHER_APART = 60  # thousandths of the size, after each letter
_OF_A_PERSON = ("reportlab_mods", "reportlab_settings")
"""What reportlab would run from a person's home: a page looks alike everywhere, and a home that is no folder stops nothing."""
_MODULES = ("FiraGO_Regular", "FiraGO_Bold", "FiraGO_Italic", "FiraGO_BoldItalic")
_PRIVATE = (
    0xE000  # figures of one width have no code point: kept here inside a face, mapped back to figures for readers
)
_SAME_WIDTH = {digit: chr(_PRIVATE + int(digit)) for digit in "0123456789"}

_SIGNS = "–—‘’“”…•−→≈≤≥×÷·±°µ½¼¾₀₁₂₃₄₅₆₇₈₉₊₋⁰¹²³⁴⁵⁶⁷⁸⁹⁺⁻"
_GREEK = "Δβγνρ"  # those of the symbols in use: a further part for one letter would be as large as all of them
_CORE = "".join(map(chr, range(32, 127))) + "".join(chr(_PRIVATE + digit) for digit in range(10)) + _SIGNS + _GREEK
_CORE_CODES = {character: code for code, character in enumerate(_CORE, 32)}
_KERNED = "".join(map(chr, range(33, 127))) + "–‘’“”" + "".join(map(chr, range(0xC0, 0x100)))
_WORDS_KEPT = 12000  # measured words of all faces; then the store is emptied, so thousands of papers stay flat


@dataclass(frozen=True, slots=True, kw_only=True)
class TypeRun:
    """Characters of one font: its resource name, the inside of a TJ string, width and rise in thousandths of the size.

    `scale` is the size against the word's own; `drawn` names a character that is drawn because FiraGO lacks it.
    """

    font: str
    code: str
    width: float
    scale: float = 1.0
    rise: float = 0.0
    drawn: str = ""


class _Face:
    """One weight and slope, read once a process."""

    def __init__(self, index: int) -> None:
        for name in _OF_A_PERSON:
            sys.modules.setdefault(name, ModuleType(name))
        from reportlab.pdfbase.ttfonts import TTFontFace

        content: bytes = import_module(f"pymupdf_fonts.{_MODULES[index]}").fontbuffer
        self.index = index
        self.ttf: Any = TTFontFace(io.BytesIO(content))
        self.glyphs: dict[int, int] = self.ttf.charToGlyph
        tabular = single_substitutions(content, "tnum")
        for digit in range(10):  # a face without such figures shows its ordinary ones
            glyph = self.glyphs[ord("0") + digit]
            self.glyphs[_PRIVATE + digit] = tabular.get(glyph, glyph)
            self.ttf.charWidths[_PRIVATE + digit] = self.ttf.hmetrics[self.glyphs[_PRIVATE + digit]][0]
        for character, other in LIKE.items():
            if ord(character) not in self.glyphs and ord(other) in self.glyphs:
                self.glyphs[ord(character)] = self.glyphs[ord(other)]
                self.ttf.charWidths[ord(character)] = self.ttf.charWidths[ord(other)]
        letters = {self.glyphs[ord(letter)]: letter for letter in _KERNED if ord(letter) in self.glyphs}
        self.kerns = kerning(content, letters)
        self.words: dict[tuple[str, int], tuple[TypeRun, ...]] = {}
        self.codes: dict[str, tuple[str, str, float]] = {}  # of the characters of the core
        self.same_width = {digit: self._coded(private, digit) for digit, private in _SAME_WIDTH.items()}

    def coded(self, character: str, text: str) -> tuple[str, str, float]:
        """Font resource, escaped code and width of one character. Raises Mistake for one that cannot be set."""
        found = self.codes.get(character)
        if found is None:
            found = self._coded(character, text)
            if character in _CORE_CODES:
                self.codes[character] = found
        return found

    def _coded(self, character: str, text: str) -> tuple[str, str, float]:
        code_point = ord(character)
        if character in SPACES:
            wide = self.ttf.charWidths[32]
            return f"F{self.index}", f" ){wide - SPACES[character]:g}(", SPACES[character]
        width = self.ttf.charWidths.get(code_point)
        if code_point not in self.glyphs or width is None:
            raise _unsettable(character, text)
        code = _CORE_CODES.get(character)
        if code is None:
            block = code_point >> 7
            return f"F{self.index}B{block}", _escaped(128 + (code_point & 127)), width
        return f"F{self.index}", _escaped(code), width


def _escaped(code: int) -> str:
    # The solidus is escaped too, so that a font name can be found in a page's content by its solidus alone.
    if 32 <= code < 127 and chr(code) not in "()\\/":
        return chr(code)
    return f"\\{code:03o}"


_SHAPED = (("\u0590", "\u109f"), ("\u1100", "\u1cff"), ("\ua880", "\uab2f"), ("\uab70", "\uabff"))


@lru_cache(maxsize=4096)
def _settable(character: str) -> bool:
    """Whether the character may be set letter by letter from left to right."""
    category = unicodedata.category(character)
    if category[0] == "C" or category in ("Zl", "Zp", "Mc", "Me"):
        return False
    if category == "Mn" and not "\u0300" <= character <= "\u036f":
        return False
    if unicodedata.bidirectional(character) in (
        "R",
        "AL",
    ):  # Arabic has letters that are joined already, in blocks far off
        return False
    # Hebrew to Myanmar, Hangul to the Vedic signs, and Saurashtra to Meetei need their letters ordered, joined or stacked.
    return not any(first <= character <= last for first, last in _SHAPED)


def _unsettable(character: str, text: str) -> Mistake:
    name = unicodedata.name(character, "no name")
    found = f"the character U+{ord(character):04X} ({name}) in {shortened(text)}"
    if unicodedata.category(character)[0] == "C":
        return Mistake(f"{found} is a control character", do="Remove it.")
    return Mistake(
        f"{found} cannot be printed", expected="a character of the typeface FiraGO", do="Write it otherwise."
    )


@lru_cache(maxsize=4)
def _face(index: int) -> _Face:
    return _Face(index)


def runs(word: str, face: int) -> tuple[TypeRun, ...]:
    """The word as runs of one font each, kerned. Raises Mistake for a character that cannot be set."""
    held = _face(face % _FACES)
    found = held.words.get((word, face))
    if found is None:
        if len(held.words) > _WORDS_KEPT:
            held.words.clear()
        found = held.words[word, face] = _runs(word, held, bool(face & TABULAR), bool(face & WIDE))
    return found


def _runs(word: str, face: _Face, tabular: bool, wide: bool) -> tuple[TypeRun, ...]:
    made: list[TypeRun] = []
    codes: list[str] = []
    font, width, before = "", 0.0, ""
    text = word if word.isascii() else unicodedata.normalize("NFC", word).replace("\u00a0", " ")
    kerns = face.kerns
    for character in text:
        known = face.codes.get(character)  # a character of the core, met before
        if known is None and (character in DRAWN or character in LOWERED):
            if codes:
                made.append(TypeRun(font=font, code="".join(codes), width=width))
                codes, width = [], 0.0
            if character in DRAWN:
                made.append(TypeRun(font="", code="", width=DRAWN[character].width, drawn=character))
            else:
                letter, rise = LOWERED[character]
                small = face.coded(letter, word)
                made.append(TypeRun(font=small[0], code=small[1], width=small[2] * 0.65, scale=0.65, rise=rise))
            before = ""
            continue
        if known is None and not _settable(character):
            raise _unsettable(character, word)
        if tabular and character in _SAME_WIDTH:
            known = face.same_width[character]
            character = _SAME_WIDTH[character]
        its_font, code, its_width = known or face.coded(character, word)
        if codes and its_font != font:
            width += kerns.get(before + character, 0)  # the next run begins where this one ends
            made.append(TypeRun(font=font, code="".join(codes), width=width))
            codes, width, before = [], 0.0, ""
        kern = kerns.get(before + character) if before else None
        if kern:
            codes.append(f"){-kern}(")
            width += kern
        codes.append(f"{code}){-_FURTHER_APART}(" if wide else code)
        width += its_width + (_FURTHER_APART if wide else 0)
        font, before = its_font, character
    if codes:
        made.append(TypeRun(font=font, code="".join(codes), width=width))
    return tuple(made)


@dataclass(frozen=True, slots=True, kw_only=True)
class Embedded:
    """The parts of one font that are the same in every document: dictionary entries and two packed streams."""

    name: str
    font: str
    descriptor: str
    outlines: bytes
    to_unicode: bytes
    outline_length: int


@lru_cache(maxsize=24)
def embedded(resource: str) -> Embedded:
    """The embedded subset behind a resource name that `runs` gave out: F0, F1B4."""
    index, _, block = resource[1:].partition("B")
    face = _face(int(index))
    subset = _core_subset() if not block else [0] * 128 + [(int(block) << 7) + low for low in range(128)]
    subset = [code if code in face.glyphs and (not block or _settable(chr(code))) else 0 for code in subset]
    ttf = face.ttf
    tag = "".join(chr(65 + int(figure)) for figure in f"{int(block or 0):05d}{face.index}")
    return _embedded(face, subset, lean(ttf.makeSubset(subset)), tag)


@lru_cache(maxsize=1)
def typed() -> Embedded:
    """What a person types in: the regular face in the encoding of all programs (WinAnsi), whole, as nobody knows what comes.

    The signs that the encoding lacks are embedded with it, for programs that write them by their glyphs. Line ends count as spaces.
    """
    face = _face(REGULAR)
    subset = [0] * 32 + [ord(bytes([code]).decode("cp1252", "replace")) for code in range(32, 256)]
    for code, other in ((0x7F, "•"), (0xA0, " "), (0xAD, "-")):
        subset[code] = ord(other)  # ISO 32000-1, annex D.2, notes 3, 5 and 6
    subset = [ord("•") if character == 0xFFFD else character for character in subset]
    further = [ord(sign) for sign in _SIGNS + _GREEK if ord(sign) not in subset]
    outlines = lean(face.ttf.makeSubset([*subset, *further]), [*subset, *further])
    return _embedded(face, subset, outlines, "WINANS", symbols=False)


def _embedded(face: _Face, subset: list[int], outlines: bytes, tag: str, symbols: bool = True) -> Embedded:
    ttf = face.ttf
    encoding = "" if symbols else "/Encoding/WinAnsiEncoding"
    name = f"{tag}+{ttf.name.decode('ascii')}"
    widths = " ".join(f"{ttf.charWidths.get(code, 0) if code else 0:g}" for code in subset[32:])
    box = " ".join(f"{edge:g}" for edge in ttf.bbox)
    return Embedded(
        name=name,
        font=f"/Type/Font/Subtype/TrueType/BaseFont/{name}/FirstChar 32/LastChar {len(subset) - 1}/Widths[{widths}]{encoding}",
        descriptor=(
            f"/Type/FontDescriptor/FontName/{name}/Flags {int(ttf.flags) & ~36 | (4 if symbols else 32)}/FontBBox[{box}]"
            f"/ItalicAngle {ttf.italicAngle:g}/Ascent {ttf.ascent:g}/Descent {ttf.descent:g}"
            f"/CapHeight {ttf.capHeight:g}/StemV {ttf.stemV:g}/MissingWidth 0"
        ),
        outlines=zlib.compress(outlines, 9),
        to_unicode=zlib.compress(_to_unicode(name, subset if symbols else _with_line_ends(subset)).encode("ascii"), 9),
        outline_length=len(outlines),
    )


def _with_line_ends(subset: list[int]) -> list[int]:
    return [code if code in (0x0A, 0x0D) else character for code, character in enumerate(subset)]


def _core_subset() -> list[int]:
    return [0] * 32 + [ord(character) for character in _CORE]


def _to_unicode(name: str, subset: list[int]) -> str:
    """The map from codes back to characters, so that copied and searched text is the text that was set."""
    shown = {
        code: ord("0") + character - _PRIVATE if _PRIVATE <= character < _PRIVATE + 10 else character
        for code, character in enumerate(subset)
        if character
    }
    pairs = [f"<{code:02X}> <{character:04X}>" for code, character in shown.items()]
    chunks = [pairs[first : first + 100] for first in range(0, len(pairs), 100)]  # a section may hold 100 at most
    body = "\n".join("\n".join([f"{len(chunk)} beginbfchar", *chunk, "endbfchar"]) for chunk in chunks)
    return (
        "/CIDInit /ProcSet findresource begin\n12 dict begin\nbegincmap\n"
        "/CIDSystemInfo <</Registry (Adobe) /Ordering (UCS) /Supplement 0>> def\n"
        f"/CMapName /{name} def\n/CMapType 2 def\n1 begincodespacerange\n<00> <FF>\nendcodespacerange\n"
        f"{body}\nendcmap\nCMapName currentdict /CMap defineresource pop\nend\nend"
    )
