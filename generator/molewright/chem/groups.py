"""Two formulae come in; whether the atoms of one stand together in the other goes out: SO4 in CuSO4.5H2O, CO3 in NaHCO3.

Reads formulae as they are written and knows no substance: that a group keeps its charge where it stands is for whoever asks to know.
"""

from __future__ import annotations

from functools import lru_cache

from molewright.chem.formula import PLACEHOLDERS, parse_formula
from molewright.chem.formula_tree import Group, Piece


@lru_cache(maxsize=4096)
def holds(whole: str, part: str) -> bool:
    """Whether all atoms of `part` stand in `whole` next to each other and in its order, as a bracket or within one."""
    sought = parse_formula(part, PLACEHOLDERS).groups[0].pieces
    return any(_within(section.pieces, sought) for section in parse_formula(whole, PLACEHOLDERS).groups)


def _within(pieces: tuple[Piece, ...], sought: tuple[Piece, ...]) -> bool:
    windows = (pieces[at : at + len(sought)] for at in range(len(pieces) - len(sought) + 1))
    return sought in windows or any(_within(one.pieces, sought) for one in pieces if isinstance(one, Group))
