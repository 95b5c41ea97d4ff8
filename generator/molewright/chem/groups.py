"""Two formulae come in; whether the atoms of one stand together in the other goes out: SO4 in CuSO4.5H2O, CO3 in NaHCO3.

Reads formulae as they are written and knows no substance: that a group keeps its charge where it stands is for whoever asks to know.
"""

from __future__ import annotations

from functools import lru_cache

from molewright.chem.formula import PLACEHOLDERS, parse_formula
from molewright.chem.formula_tree import Atom, Group, Piece


@lru_cache(maxsize=4096)
def holds(whole: str, part: str) -> bool:
    """Whether all atoms of `part` stand in `whole` next to each other and in its order, as a bracket or within one.

    Of a single atom any number may stand there, but not before oxygen, with which it is another group: Cl in MgCl2, not in NaClO.
    """
    sought = parse_formula(part, PLACEHOLDERS).groups[0].pieces
    return any(_within(section.pieces, sought) for section in parse_formula(whole, PLACEHOLDERS).groups)


def _within(pieces: tuple[Piece, ...], sought: tuple[Piece, ...]) -> bool:
    if len(sought) == 1 and isinstance(sought[0], Atom):
        followed = zip(pieces, (*pieces[1:], None), strict=True)
        here = any(_is(one, sought[0].symbol) and not _is(after, "O") for one, after in followed)
    else:
        here = sought in (pieces[at : at + len(sought)] for at in range(len(pieces) - len(sought) + 1))
    return here or any(_within(one.pieces, sought) for one in pieces if isinstance(one, Group))


def _is(piece: Piece | None, symbol: str) -> bool:
    return isinstance(piece, Atom) and piece.symbol == symbol
