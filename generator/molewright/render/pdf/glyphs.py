"""The few characters that FiraGO lacks: drawn as paths, lowered small letters, or spaces of a width. Sets nothing."""

from __future__ import annotations

from dataclasses import dataclass

from molewright.errors import Mistake


@dataclass(frozen=True, slots=True)
class Drawn:
    """A path in thousandths of the size, stroked at `weight`, and its advance width."""

    width: float
    path: str
    weight: float = 62


_LONG_RIGHT = "90 333 m 1310 333 l S 1170 203 m 1310 333 l 1170 463 l S"
_LONG_LEFT = "1310 333 m 90 333 l S 230 203 m 90 333 l 230 463 l S"
_BOTH_WAYS = "90 413 m 1010 413 l 860 553 l S 1010 253 m 90 253 l 240 113 l S"
_SQUARE = "90 0 m 690 0 l 690 600 l 90 600 l h S"
_TICK = "90 300 m 270 90 l 640 640 l S"

DRAWN: dict[str, Drawn] = {
    "⇌": Drawn(1100, _BOTH_WAYS),
    "⇄": Drawn(1100, _BOTH_WAYS),
    "⟶": Drawn(1400, _LONG_RIGHT),
    "⟵": Drawn(1400, _LONG_LEFT),
    "☐": Drawn(780, _SQUARE, 55),
    "□": Drawn(780, _SQUARE, 55),
    "☑": Drawn(780, f"{_SQUARE} 200 300 m 340 130 l 590 500 l S", 55),
    "✓": Drawn(730, _TICK, 85),
    "✔": Drawn(730, _TICK, 120),
}

# Subscript letters: the small letter and how far it is lowered, in thousandths.
LOWERED: dict[str, tuple[str, float]] = {
    small: (letter, -150.0) for small, letter in zip("ₐₑₕᵢⱼₖₗₘₙₒₚᵣₛₜᵤᵥₓ", "aehijklmnoprstuvx", strict=True)
}

# Characters set with the glyph of another, which looks the same; they copy as themselves.
LIKE: dict[str, str] = {"\N{PRIME}": "\N{MODIFIER LETTER PRIME}"}

# Spaces that have no glyph, in thousandths of the size; they copy as an ordinary space.
SPACES: dict[str, float] = {
    "\u2002": 500,
    "\u2003": 1000,
    "\u2004": 333,
    "\u2005": 250,
    "\u2006": 167,
    "\u2007": 558,
    "\u2008": 240,
    "\u2009": 170,
    "\u200a": 80,
    "\u202f": 170,
}


def drawn(character: str) -> Drawn:
    """The drawing of a character. Raises Mistake where there is none."""
    found = DRAWN.get(character)
    if found is None:
        raise Mistake(f"there is no drawing of U+{ord(character):04X}", expected=" ".join(DRAWN))
    return found
