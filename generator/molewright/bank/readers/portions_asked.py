"""What is asked comes in as a teacher's words; the portion that a mass is asked for, and the same in the words of quantities, go out.

A portion is so much of a solution ("one glass of 200 cm3 of juice") or one of what is counted ("one tablet").
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from molewright.bank.readers.operation_lines import keyed, line_of, parted, text_under, with_texts
from molewright.chem.quantity import parse_quantity
from molewright.errors import Mistake
from molewright.reading.yaml_text import Branch, Keys

POURING = ("measure", "dilute", "add excess", "tell strength")
POURED = ("measure", "dilute")
_VOLUME = r"[0-9.]+ ?(?:cm3|cm\^3|cm³|ml|mL|dm3|dm\^3|dm³|l|L)"
_OF_A_VOLUME = re.compile(
    r"(?:mass|amount in m?g) of (?:the )?(?P<what>.+?) in (?:(?:one|an?|each|the) )?(?:[a-z]+ (?:of|\() ?)?"
    rf"(?P<volume>{_VOLUME})\)?(?: [a-z]+)??(?: of (?:the )?(?P<name>.+))?"
)
_OF_A_PIECE = re.compile(
    r"(?P<before>mass of (?:the )?(?P<what>.+?)) (?:in (?:one|an?|each|every)|per|in each of the) (?P<piece>[a-z]+?)(?:s|es)?"
)


@dataclass(frozen=True, slots=True)
class Portion:
    """So much of a solution: what is in it, the volume in cm³ as a whole number, and the name of the solution where it is said."""

    what: str
    volume_cm3: int
    name: str


def portion_asked(question: str) -> Portion | None:
    """The portion of a solution that a mass is asked for; None for no such, or for no whole number of cm³."""
    match = _OF_A_VOLUME.fullmatch(question)
    if match is None:
        return None
    try:
        exact = parse_quantity(match["volume"]).in_base
    except Mistake:
        return None
    return Portion(match["what"], int(exact), match["name"] or "") if exact.denominator == 1 and exact > 0 else None


def with_portion(lines: Sequence[Branch], portion: Portion) -> tuple[list[Branch], str]:
    """The lines, the portion told where its solution is poured; and the name of that solution, "" where none is."""
    made, bottle = list(lines), ""
    for at, line in enumerate(lines):
        word, held = parted(line)
        if bottle or word not in POURED or not isinstance(held, Keys):
            continue
        called = text_under(held, "bottle") or text_under(held, "solution")
        if portion.name in ("", called, text_under(held, "solution")):
            bottle = called
            made[at] = line_of(line, word, with_texts(held, {"portion": f"{portion.volume_cm3} cm3"}))
    return made, bottle


def bottles(lines: Sequence[Branch]) -> Iterator[tuple[str, str]]:
    """The name of each bottle that is poured or run in, and its solute."""
    for word, held in keyed(lines):
        solute = text_under(held, "with" if word == "titrate" else "solution")
        yield text_under(held, "bottle") or solute, solute


def piece_asked(question: str) -> tuple[str, str]:
    """The piece that a mass is asked for, and the question in the words of quantities; ("", the question) for no such."""
    match = _OF_A_PIECE.fullmatch(question)
    return (match["piece"], f"{match['before']} in each {match['piece']}") if match is not None else ("", question)


def with_piece(lines: Sequence[Branch], piece: str) -> list[Branch]:
    """The lines, what is weighed counted in such pieces where it is called so: a tablet is one, of tablets the number is told."""
    made = list(lines)
    for at, line in enumerate(lines):
        word, held = parted(line)
        if word != "weigh" or not isinstance(held, Keys) or "pieces" in held.members:
            continue
        sample = text_under(held, "sample")
        if not re.search(rf"\b{re.escape(piece)}(?:s|es)?\b", sample):
            continue
        found = {"pieces": piece}
        if "number" not in held.members and sample.endswith(piece):
            found["number"] = "1"
        if "mass" not in held.members:
            found["counted only"] = "yes"
        made[at] = line_of(line, word, with_texts(held, found))
    return made


def each_counted(lines: Sequence[Branch]) -> list[Branch]:
    """The lines, what is weighed with a number of pieces counted in what its name says, whatever is asked: 5 of iron tablets."""
    made = list(lines)
    for at, line in enumerate(lines):
        word, held = parted(line)
        if word == "weigh" and isinstance(held, Keys) and "number" in held.members and "pieces" not in held.members:
            last = text_under(held, "sample").split()[-1:]
            piece = last[0].removesuffix("s") if last else ""
            if piece.isalpha() and piece.islower():
                made[at] = line_of(line, word, with_texts(held, {"pieces": piece}))
    return made
