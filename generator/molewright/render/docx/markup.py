"""Plain text comes in; what may stand in the XML of a Word document goes out. Lets no control character through.

Unicode's raised and lowered figures (dm⁻³, CaCO₃) become ordinary ones that are raised or lowered, as a person types them in Word.
"""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache
from typing import Literal

from molewright.errors import Mistake, shortened

Level = Literal["", "sub", "sup"]

NAMESPACES = (
    'xmlns:w="http://schemas.openxmlformats.org/wordprocessingml/2006/main"'
    ' xmlns:m="http://schemas.openxmlformats.org/officeDocument/2006/math"'
    ' xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships"'
    ' xmlns:wp="http://schemas.openxmlformats.org/drawingml/2006/wordprocessingDrawing"'
    ' xmlns:a="http://schemas.openxmlformats.org/drawingml/2006/main"'
    ' xmlns:pic="http://schemas.openxmlformats.org/drawingml/2006/picture"'
)
TWIPS_A_POINT = 20
_SPACES = str.maketrans(dict.fromkeys("\n\r\t", " "))
_SUP = dict(zip("⁰¹²³⁴⁵⁶⁷⁸⁹⁺⁻⁼⁽⁾ⁿ", "0123456789+−=()n", strict=True))
_SUB = dict(zip("₀₁₂₃₄₅₆₇₈₉₊₋₌₍₎", "0123456789+−=()", strict=True)) | dict(
    zip("ₐₑₒₓₕₖₗₘₙₚₛₜᵢⱼᵣᵤᵥ", "aeoxhklmnpstijruv", strict=True)
)
_LEVELS = re.compile(f"(?P<sup>[{''.join(_SUP)}]+)|(?P<sub>[{''.join(_SUB)}]+)")
_TURNING = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")  # would show letters in another order


@lru_cache(maxsize=4096)
def escaped(text: str) -> str:
    """The text as character data or inside a quoted attribute. Raises Mistake for what no document can hold."""
    require(text)
    plain = text.translate(_SPACES)
    return plain.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;").replace('"', "&quot;")


def require(text: str) -> None:
    """Raises Mistake for a control character, half a character, or a sign that turns the order of letters round."""
    if text.isprintable():
        return
    for letter in text:
        kind = unicodedata.category(letter)
        nothing = kind == "Cn" and (0xFDD0 <= ord(letter) <= 0xFDEF or ord(letter) & 0xFFFE == 0xFFFE)
        if (kind == "Cc" and letter not in "\n\r\t") or kind == "Cs" or nothing or letter in _TURNING:
            name = unicodedata.name(letter, "no name")
            raise Mistake(
                f"the character U+{ord(letter):04X} ({name}) in {shortened(text)} is a control character",
                do="Remove it.",
            )


@lru_cache(maxsize=4096)
def levelled(text: str) -> tuple[tuple[Level, str], ...]:
    """The text in pieces, each with whether it is raised or lowered: dm⁻³ is "dm", then a raised "−3"."""
    pieces: list[tuple[Level, str]] = []
    end = 0
    for found in _LEVELS.finditer(text):
        if found.start() > end:
            pieces.append(("", text[end : found.start()]))
        if found["sup"]:
            pieces.append(("sup", "".join(map(_SUP.__getitem__, found["sup"]))))
        else:
            pieces.append(("sub", "".join(map(_SUB.__getitem__, found["sub"]))))
        end = found.end()
    if end < len(text):
        pieces.append(("", text[end:]))
    return tuple(pieces)


def twips(points: float) -> int:
    """A length in twentieths of a point."""
    return round(points * TWIPS_A_POINT)
