"""The word that a teacher has for an operation, or for a mass of one, comes in; the word of the readers goes out."""

from __future__ import annotations

from molewright.chem.formula import PLACEHOLDERS
from molewright.reading.yaml_text import Branch, Scalar

ALSO_CALLED = {
    "take": "measure",
    "pipette": "measure",
    "heat": "warm",
    "boil": "boil off",
    "acidify": "add",
    "collect": "collect gas",
    "bubble in": "lead in",
}
MASSES_TYPED = {
    "mass before": "full bottle",
    "mass of full bottle": "full bottle",
    "mass after": "by difference",
    "mass of emptied bottle": "by difference",
    **{f"relative atomic mass of {one}": f"atomic mass of {one}" for one in sorted(PLACEHOLDERS)},
}
_BY_VOLUME = {"measure": "take aliquot", "dilute": "make up"}  # with nothing but a volume after it


def usual_word(word: str, held: Branch | None = None) -> str:
    """The word that the readers have for an operation: "pipette: 25.0 cm3" takes an aliquot."""
    word = ALSO_CALLED.get(word, word)
    return _BY_VOLUME.get(word, word) if isinstance(held, Scalar) else word
