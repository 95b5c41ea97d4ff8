"""What a person asks for comes in, checked; one frozen value goes out. Reads no file, draws nothing, knows no banks."""

from __future__ import annotations

from dataclasses import dataclass

from molewright.chem.conventions import Convention, UnitStyle
from molewright.errors import Mistake
from molewright.order.choices import SHEETS

DEFAULT_QUESTIONS = 6
MOST_QUESTIONS = 40
MOST_SEED = 32**5 - 1  # five letters of a code


@dataclass(frozen=True, slots=True, kw_only=True)
class Order:
    """What a paper is made from: seed, number of questions, level, conventions, and the archetypes asked for (none: a mixture)."""

    seed: int
    count: int = DEFAULT_QUESTIONS
    level: str = "mixed"
    masses: Convention = "one place"
    style: UnitStyle = "dm3"
    archetypes: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if not 0 <= self.seed <= MOST_SEED:
            raise Mistake(f"the seed {self.seed}", expected=f"0 to {MOST_SEED}")
        if not 1 <= self.count <= MOST_QUESTIONS:
            raise Mistake(f"{self.count} questions", expected=f"1 to {MOST_QUESTIONS}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """What a person asks for beside the order: title, versions or pupils, forms and sheets."""

    title: str = ""
    versions: tuple[str, ...] = ("A",)
    pupils: tuple[str, ...] = ()
    forms: tuple[str, ...] = ("pdf",)
    sheets: tuple[str, ...] = SHEETS
