"""Wording with slots comes in; lines of inline nodes go out. Nothing in the wording is evaluated: a slot is a name in braces."""

from __future__ import annotations

import re
import zlib
from collections.abc import Mapping
from functools import lru_cache

from molewright.errors import Mistake, nearest
from molewright.nodes.inline import Inline, Line, Text

_SLOT = re.compile(r"\{([^{}]*)\}")

Filling = str | Inline | Line
_COUNTS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")


class Words:
    """The sentences of templates/wording.yaml; `pick` says which of several wordings a question takes."""

    def __init__(self, texts: Mapping[str, tuple[str, ...]]) -> None:
        self._texts = texts

    def has(self, key: str) -> bool:
        """Whether there is a wording of this name."""
        return key in self._texts

    def line(self, key: str, pick: int = 0, /, **slots: Filling) -> Line:
        """One wording with its slots filled. Raises Mistake for an unknown key or slot."""
        texts = self._texts.get(key)
        if not texts:
            raise Mistake(f"no wording '{key}' in wording.yaml", near=nearest(key, self._texts))
        return fill(texts[pick % len(texts)], slots, key)

    def text(self, key: str, **slots: str) -> str:
        """A wording that holds plain words only."""
        return "".join(piece.text for piece in self.line(key, 0, **slots) if isinstance(piece, Text))


class OwnWords:
    """The wordings that one question takes: of several, the same one each time."""

    def __init__(self, words: Words, seed: str) -> None:
        self.words = words
        self.has = words.has
        self._seed = seed

    def say(self, key: str, **slots: Filling) -> Line:
        """A wording, the same one each time for this question."""
        return self.words.line(key, zlib.crc32(f"{self._seed}/{key}".encode()), **slots)


def fill(template: str, slots: Mapping[str, Filling], key: str) -> Line:
    """A template with its slots filled; neighbouring plain words are joined."""
    line: list[Inline] = []
    for literal, name in _pieces(template):
        if literal:
            line.append(Text(literal))
        if name is not None:
            line.extend(_filling(name, slots, key))
    return joined(line)


@lru_cache(maxsize=2000)
def _pieces(template: str) -> tuple[tuple[str, str | None], ...]:
    pieces: list[tuple[str, str | None]] = []
    at = 0
    for match in _SLOT.finditer(template):
        pieces.append((template[at : match.start()], match[1]))
        at = match.end()
    pieces.append((template[at:], None))
    return tuple(pieces)


def _filling(name: str, slots: Mapping[str, Filling], key: str) -> Line:
    plain = name[:1].lower() + name[1:]
    filling = slots.get(name.replace(" ", "_"), slots.get(plain.replace(" ", "_")))
    if filling is None:
        raise Mistake(
            f"the wording '{key}' has a slot {{{name}}} that nothing fills",
            near=nearest(plain, slots),
            expected=f"one of: {', '.join(sorted(slots)) or 'none'}",
        )
    line: Line = (Text(filling),) if isinstance(filling, str) else filling if isinstance(filling, tuple) else (filling,)
    return capitalised(line) if name[:1].isupper() else line


def capitalised(line: Line) -> Line:
    """The line with a capital first letter, if it starts with words."""
    if line and isinstance(line[0], Text) and line[0].text:
        first = line[0]
        return (Text(first.text[0].upper() + first.text[1:], first.bold, first.italic), *line[1:])
    return line


def joined(pieces: list[Inline]) -> Line:
    """Neighbouring plain words as one."""
    line: list[Inline] = []
    for piece in pieces:
        last = line[-1] if line else None
        if (
            isinstance(piece, Text)
            and isinstance(last, Text)
            and (piece.bold, piece.italic) == (last.bold, last.italic)
        ):
            line[-1] = Text(last.text + piece.text, last.bold, last.italic)
        elif not (isinstance(piece, Text) and not piece.text):
            line.append(piece)
    return tuple(line)


def count_word(number: int) -> str:
    """A small number as a word."""
    return _COUNTS[number] if 0 <= number < len(_COUNTS) else str(number)
