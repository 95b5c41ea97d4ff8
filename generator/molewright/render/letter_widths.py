"""Words come in; about how wide they are in a sans typeface goes out, for forms that another program sets. Sets nothing."""

from __future__ import annotations

from functools import lru_cache
from math import fsum

# Widths of Helvetica in thousandths of the size, after its public metrics, from memory: letters of nearly one width together.
_WIDTHS = {
    230: "ijl|'`",
    280: "ftI.,:;!/[]\\ \N{NO-BREAK SPACE}·",
    333: "r()-–⁻⁺₀₁₂₃₄₅₆₇₈₉⁰¹²³⁴⁵⁶⁷⁸⁹",
    500: "cksvxyzJ",
    667: "ABEKPSVXYFTZL",
    722: "CDHNRUw",
    790: "GOQ",
    850: "mM%",
    1000: "W→—",
}
_WIDTH = {letter: width for width, letters in _WIDTHS.items() for letter in letters}
_OTHER = 580  # figures, most small letters, signs
_BOLD = 1.06


@lru_cache(maxsize=4096)
def ems(text: str, bold: bool = False) -> float:
    """About the width of a text, in sizes of its type."""
    return fsum(_WIDTH.get(letter, _OTHER) for letter in text) / 1000 * (_BOLD if bold else 1.0)
