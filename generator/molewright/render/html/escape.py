"""Plain text comes in; the same as HTML goes out, nothing in it read as markup. Refuses nothing: HTML shows every letter."""

from __future__ import annotations

import re
from functools import lru_cache

from molewright.render.latex.escape import LOWERED, RAISED

_MARKUP = str.maketrans({"&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;", "'": "&#39;"})
_SCRIPTS = re.compile(f"([{''.join(RAISED)}]+)|([{''.join(LOWERED)}]+)")
_RAISED, _LOWERED = str.maketrans(RAISED), str.maketrans(LOWERED)
_PLAIN_IN_CSS = re.compile(r"[^A-Za-z0-9 .-]")


@lru_cache(maxsize=8192)
def escape(text: str) -> str:
    """HTML that shows the text as it is, in an element or in a quoted attribute."""
    return text.translate(_MARKUP)


@lru_cache(maxsize=8192)
def words(text: str) -> str:
    """The same with raised and lowered figures as elements: screen readers pass over the letters that stand for them."""
    return _SCRIPTS.sub(_script, text.translate(_MARKUP))


def _script(found: re.Match[str]) -> str:
    if found[1]:
        return f"<sup>{found[1].translate(_RAISED)}</sup>"
    return f"<sub>{found[2].translate(_LOWERED)}</sub>"


def runs(text: str) -> list[tuple[str, int]]:
    """The text in pieces, raised (1), lowered (-1) or neither (0), as plain characters without markup."""
    found: list[tuple[str, int]] = []
    end = 0
    for one in _SCRIPTS.finditer(text):
        if one.start() > end:
            found.append((text[end : one.start()], 0))
        found.append((one[1].translate(_RAISED), 1) if one[1] else (one[2].translate(_LOWERED), -1))
        end = one.end()
    if text[end:]:
        found.append((text[end:], 0))
    return found


def css_string(text: str) -> str:
    """A string of a style sheet in its quotation marks."""
    return '"' + _PLAIN_IN_CSS.sub(lambda sign: f"\\{ord(sign[0]):x} ", text) + '"'
