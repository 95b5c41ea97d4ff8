"""Wording with slots comes in; lines of inline nodes go out. Nothing in the wording is evaluated: a slot is a name in braces.

Two small matters of grammar are settled here, for they depend on what fills a slot: the verb that goes with one thing or several
("{sample: is, are}"), and the article before a number, by how the number is read aloud ("an 8.243 g sample").
"""

from __future__ import annotations

import re
import zlib
from collections.abc import Mapping, Sequence
from functools import lru_cache

from molewright.chem.units import units_kept
from molewright.errors import Mistake, nearest
from molewright.nodes.inline import Amount, Chem, Inline, Line, Text

_SLOT = re.compile(r"\{([^{}]*)\}")

# Eight, eighty and eight hundred; eleven and eighteen, which "110" and "1800" are not read as.
_READ_WITH_A_VOWEL = re.compile(r"8|1[18](?![0-9])")
_ARTICLE_AT_THE_END = re.compile(r"(?<![^\s(])([Aa]) $")
_ARTICLE_INSIDE = re.compile(r"(?<![^\s(])([Aa]) (?=8|1[18](?![0-9]))")
_NO_PLURALS = ("ss", "us", "is", "gas")  # singular words that end in s, but for those with no other word before them

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
        if literal is not None:
            line.append(literal)
        if name is not None:
            line.extend(_filling(name, slots, key))
    return joined(line)


@lru_cache(maxsize=2000)
def _pieces(template: str) -> tuple[tuple[Text | None, str | None], ...]:
    """Plain words, if any, and the slot after them, if any, one pair after the other."""
    pieces: list[tuple[Text | None, str | None]] = []
    at = 0
    for match in _SLOT.finditer(template):
        pieces.append((_plain(template[at : match.start()]), match[1]))
        at = match.end()
    pieces.append((_plain(template[at:]), None))
    return tuple(pieces)


def _plain(words: str) -> Text | None:
    return Text(words) if words else None


def _filling(name: str, slots: Mapping[str, Filling], key: str) -> Line:
    name, _, verbs = name.partition(": ")
    plain = name[:1].lower() + name[1:]
    filling = slots.get(name.replace(" ", "_"), slots.get(plain.replace(" ", "_")))
    if filling is None:
        raise Mistake(
            f"the wording '{key}' has a slot {{{name}}} that nothing fills",
            near=nearest(plain, slots),
            expected=f"one of: {', '.join(sorted(slots)) or 'none'}",
        )
    line: Line = (Text(filling),) if isinstance(filling, str) else filling if isinstance(filling, tuple) else (filling,)
    if verbs:
        one, several = verbs.split(", ")
        return (Text(several if means_several(_words(line)) else one),)
    return capitalised(line) if name[:1].isupper() else line


def _words(line: Line) -> str:
    return "".join(piece.text for piece in line if isinstance(piece, Text))


def means_several(name: str) -> bool:
    """Whether a name is one of several things: "the crystals", "sand and clay", and not "the brass" or "this sample of salts".

    A formula in brackets after it says nothing of that.
    """
    first = re.split(" (?:of|in|from|with) ", name)[0].removesuffix(" ()")
    return " and " in name or (first.endswith("s") and not first.endswith(_NO_PLURALS))


def capitalised(line: Line) -> Line:
    """The line with a capital first letter, if it starts with words: the n of n(HCl) stays small."""
    if line and isinstance(line[0], Text) and line[0].text and line[0].text[1:2] != "(":
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
    return _with_articles(line)


def listed(lines: Sequence[Line], last: str = " and ") -> Line:
    """Lines one after another, another word before the last."""
    pieces: list[Inline] = []
    for at, line in enumerate(lines):
        pieces += [*([Text(last if at == len(lines) - 1 else ", ")] if at else []), *line]
    return joined(pieces)


def listed_formulae(formulae: Sequence[str]) -> Line:
    """Formulae one after another, "and" before the last."""
    return listed([(Chem(one),) for one in formulae])


def _with_articles(line: list[Inline]) -> Line:
    """The line with "an" for "a" before a number that is read with a vowel, and every number on one line with its unit."""
    for index, piece in enumerate(line):
        if not isinstance(piece, Text):
            continue
        text = _kept(piece.text)
        after = line[index + 1] if index + 1 < len(line) else None
        if text.endswith(("a ", "A ")):
            read = str(after.quantity) if isinstance(after, Amount) else after.text if isinstance(after, Text) else ""
            text = _ARTICLE_AT_THE_END.sub(r"\1n ", text) if _READ_WITH_A_VOWEL.match(read) else text
        if text != piece.text:
            line[index] = Text(text, piece.bold, piece.italic)
    return tuple(line)


@lru_cache(maxsize=4096)
def _kept(text: str) -> str:
    """Plain words with the articles inside them, and with every number on one line with its unit."""
    return units_kept(_ARTICLE_INSIDE.sub(r"\1n ", text))


def count_word(number: int) -> str:
    """A small number as a word."""
    return _COUNTS[number] if 0 <= number < len(_COUNTS) else str(number)


def marks_told(marks: int) -> str:
    """A number of marks with its word: "1 mark", "7 marks"."""
    return "1 mark" if marks == 1 else f"{marks} marks"
