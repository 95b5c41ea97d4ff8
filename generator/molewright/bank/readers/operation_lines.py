"""A line of a procedure, as a tree, comes in; its word, its texts, or the same line with other texts go out. Nothing is read here."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace

from molewright.reading.yaml_text import Branch, Keys, Listing, Scalar


def parted(line: Branch) -> tuple[str, Branch | None]:
    """The word of an operation and what it holds; nothing where it is not one word with what it holds."""
    if isinstance(line, Keys) and len(line.members) == 1:
        ((word, held),) = line.members.items()
        return word, held
    return "", None


def keyed(lines: Iterable[Branch]) -> Iterator[tuple[str, Keys]]:
    """The word of each line that has keys under it, and those."""
    for word, held in map(parted, lines):
        if isinstance(held, Keys):
            yield word, held


def line_of(line: Branch, word: str, held: Branch) -> Branch:
    """A line with another word, or with other things under it."""
    assert isinstance(line, Keys)
    return replace(line, members={word: held}, wheres={word: held.where})


def with_texts(held: Branch, texts: dict[str, str]) -> Keys:
    """What an operation holds with further texts under keys."""
    earlier = held if isinstance(held, Keys) else Keys({}, {}, held.where)
    members = {**earlier.members, **{key: Scalar(text, held.where) for key, text in texts.items()}}
    return replace(earlier, members=members)


def renamed(held: Keys, key: str, to: str) -> Keys:
    """The same with a key called otherwise, where it is there."""
    if key not in held.members:
        return held
    members = {to if one == key else one: branch for one, branch in held.members.items()}
    return replace(held, members=members, wheres={to if one == key else one: at for one, at in held.wheres.items()})


def text_under(held: Keys, key: str) -> str:
    """The text under a key, or under it as the only one of a list."""
    branch = held.members.get(key)
    if isinstance(branch, Listing) and len(branch.members) == 1:
        branch = branch.members[0]
    return " ".join(branch.text.split()) if isinstance(branch, Scalar) else ""


def each_text(branch: Branch, make: Callable[[str], str]) -> Branch:
    """A text, or each of a list, with what is made of it."""
    if isinstance(branch, Scalar):
        return replace(branch, text=make(branch.text))
    if isinstance(branch, Listing):
        return replace(branch, members=tuple(each_text(one, make) for one in branch.members))
    return branch
