"""The pupils of a class come in; what tells each paper of theirs apart goes out: five figures that follow the pupil, not the place."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from molewright.order.choices import Look, Tint

_ALIKE = str.maketrans({**dict.fromkeys("’‘ʼʻ′`´＇", "'"), **dict.fromkeys("‐‑–−", "-")})
FIGURES = 5  # of the number in front of a pupil's own code


@dataclass(frozen=True, slots=True, kw_only=True)
class Pupil:
    """One pupil of a class list: the name as it is printed, the level, version, look and tint that the list gives ("" for none).

    `beside` tells two pupils of one name apart: what a further column of the list says of them.
    """

    name: str
    level: str = ""
    version: str = ""
    look: Look | Literal[""] = ""
    tint: Tint = ""
    beside: str = ""

    @property
    def key(self) -> str:
        """Whom the pupil's own numbers follow: the name without what two spellings of it may differ in, and what stands beside it."""
        return "/".join(filter(None, (key_of(self.name), key_of(self.beside))))


def key_of(name: str) -> str:
    """A name without what two spellings of it may differ in: capitals, spaces, and the kind of apostrophe or hyphen."""
    return " ".join(name.casefold().translate(_ALIKE).split())


def pupil_codes(pupils: Sequence[Pupil]) -> tuple[str, ...]:
    """Five figures for each pupil, which stand in front of the code of a paper with numbers of the pupil's own.

    They follow from the pupil's key, so that a pupil added to the list changes nobody else's numbers; where two would have the same,
    the later one in the list takes the next that is free.
    """
    taken: dict[str, str] = {}
    for pupil in pupils:
        number = int.from_bytes(hashlib.sha256(pupil.key.encode()).digest()[:8], "big")
        while (code := f"{number % 10**FIGURES:0{FIGURES}}") in taken:
            number += 1
        taken[code] = pupil.key
    return tuple(taken)
