"""A weighing of a salt whose formula has x for a number, FeClx, comes in; the same as two elements of a pure sample goes out."""

from __future__ import annotations

import re

from molewright.bank.readers.operation_lines import text_under
from molewright.chem.formula import ELEMENTS, PLACEHOLDERS
from molewright.reading.yaml_text import Keys, Listing, Scalar

Salt = tuple[str, str]
"""Its first element, which may be an unknown one, and its second, of which nobody knows how many there are."""
_WITH_X = re.compile(r"(?P<first>[A-Z][a-z]?)(?P<second>[A-Z][a-z]?)_?[xn]")


def content_of(held: Keys) -> str:
    """What a weighing is of: what it contains, or else its sample."""
    return text_under(held, "contains") or text_under(held, "sample")


def salt_with_x(text: str) -> Salt | None:
    """The two elements of FeClx or MCl_n; None for any other text."""
    match = _WITH_X.fullmatch(text)
    if match is None or match["second"] not in ELEMENTS:
        return None
    first = match["first"]
    return (first, match["second"]) if first in ELEMENTS or first in PLACEHOLDERS else None


def as_two_elements(held: Keys, salt: Salt) -> Keys:
    """What a weighing holds, its salt told as both elements and nothing else, with the formula that x is of."""
    first, second = salt
    known = text_under(held, "x")
    if known.isdecimal():  # nothing is open but what M is
        members = {key: branch for key, branch in held.members.items() if key != "x"}
        members["contains"] = Scalar(f"{first}{second}{known if known != '1' else ''}", held.where)
        return Keys(members, held.wheres, held.where)
    two = Listing((Scalar(first, held.where), Scalar(second, held.where)), held.where)
    members = {**held.members, "contains": two, "pure": Scalar("yes", held.where)}
    members["formula"] = Scalar(f"{first}{second}x", held.where)
    members.setdefault("sample", Scalar(f"{first}{second}x", held.where))
    if first not in ELEMENTS:
        members.setdefault("unknown", Scalar(first, held.where))
    return Keys(members, held.wheres, held.where)
