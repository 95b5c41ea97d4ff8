"""What a question is worth and looks like comes in, and goes out as one value that the versions of a paper are compared by."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Form:
    """What a question is worth and looks like: marks of its calculation, burette runs, kinds and marks of its further parts."""

    marks: int
    runs: int
    parts: tuple[tuple[str, int], ...]
