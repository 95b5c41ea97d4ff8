"""A formula that was read comes in as a tree; its text goes out in any script, by the one walk over the tree. Reads no text."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

CLOSING = {"(": ")", "[": "]"}


@dataclass(frozen=True, slots=True)
class Atom:
    """One symbol and how many of it."""

    symbol: str
    count: int


@dataclass(frozen=True, slots=True)
class Group:
    """A bracketed group and how many of it; `opening` is ( or [."""

    pieces: tuple[Piece, ...]
    count: int
    opening: str


Piece = Atom | Group


@dataclass(frozen=True, slots=True)
class Section:
    """What stands between two hydrate dots, with its leading count; None stands for the letter x."""

    pieces: tuple[Piece, ...]
    count: int | None = 1

    @property
    def is_water(self) -> bool:
        """Whether the section is H2O."""
        return self.pieces == _WATER


_WATER: tuple[Piece, ...] = (Atom("H", 2), Atom("O", 1))


@dataclass(frozen=True, slots=True, kw_only=True)
class Formula:
    """A formula read once. `text` is its one spelling (Na2CO3.10H2O, SO4^2-); str() is what a pupil reads."""

    text: str
    atoms: tuple[tuple[str, int], ...]  # in order of first appearance, known water included
    charge: int
    groups: tuple[Section, ...]
    water: int = 0
    unknown_water: bool = False
    placeholders: frozenset[str] = frozenset()  # those of its symbols that stand for an unknown element or group

    def count(self, symbol: str) -> int:
        """How many atoms of the symbol one formula unit holds."""
        return next((count for known, count in self.atoms if known == symbol), 0)

    @property
    def is_electron(self) -> bool:
        """Whether this is e-, which has a charge and no atoms."""
        return not self.groups

    def __str__(self) -> str:
        return write(self, UNICODE)


def _same(text: str) -> str:
    return text


@dataclass(frozen=True, slots=True, kw_only=True)
class Script:
    """How one form writes the pieces of a formula. Every function gets plain text: "Ca", "3", "2-", "("."""

    subscript: Callable[[str], str]
    superscript: Callable[[str], str]
    dot: str
    symbol: Callable[[str], str] = _same
    bracket: Callable[[str], str] = _same
    leading: Callable[[str], str] = _same  # the count after a hydrate dot
    unknown: str = "x"  # the unknown count after a hydrate dot
    electron: str = "e"
    between: str = ""


def write(formula: Formula, script: Script) -> str:
    """The formula in a script: the only walk over the tree that makes text."""
    written = write_sections(formula.groups, script) if formula.groups else script.electron
    if formula.charge:
        written += script.between + script.superscript(charge_text(formula.charge))
    return written


def write_sections(sections: tuple[Section, ...], script: Script) -> str:
    """What a formula is written as but for its charge."""
    found: list[str] = []
    for index, section in enumerate(sections):
        if index:
            found.append(script.dot)
        if section.count is None:
            found.append(script.unknown)
        elif section.count != 1:
            found.append(script.leading(str(section.count)))
        _write_pieces(section.pieces, script, found)
    return script.between.join(found)


def _write_pieces(pieces: tuple[Piece, ...], script: Script, found: list[str]) -> None:
    for piece in pieces:
        if isinstance(piece, Atom):
            found.append(script.symbol(piece.symbol))
        else:
            found.append(script.bracket(piece.opening))
            _write_pieces(piece.pieces, script, found)
            found.append(script.bracket(CLOSING[piece.opening]))
        if piece.count != 1:
            found.append(script.subscript(str(piece.count)))


def charge_text(charge: int) -> str:
    """A charge as its size, unless that is 1, and its sign: 2-, +."""
    size = abs(charge)
    return ("" if size == 1 else str(size)) + ("+" if charge > 0 else "-")


_LOW = str.maketrans("0123456789", "₀₁₂₃₄₅₆₇₈₉")
_HIGH = str.maketrans("0123456789+-", "⁰¹²³⁴⁵⁶⁷⁸⁹⁺⁻")

PLAIN = Script(subscript=_same, superscript=lambda charge: "^" + charge, dot=".")
UNICODE = Script(
    subscript=lambda count: count.translate(_LOW),
    superscript=lambda charge: charge.translate(_HIGH),
    dot="\N{MIDDLE DOT}",
)
