"""YAML text comes in; a tree of texts with their lines goes out. The only home of yaml.

Every scalar stays the text that was written (0.100 keeps its zeros, NO stays NO, 12:30 is no number); a repeated key is a
mistake; tags, anchors and aliases are refused, because a bank is a table and never a program.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from molewright.errors import Mistake, Where, shortened
from molewright.machine.bounded_reading import read_at_most

_CLEVER = re.compile(r"[&*!]")
MOST_BYTES = 2_000_000
MOST_DEPTH = 12


@dataclass(frozen=True, slots=True)
class Scalar:
    """A text and the place it stands."""

    text: str
    where: Where


@dataclass(frozen=True, slots=True)
class Listing:
    """A list and the place it starts."""

    members: tuple[Branch, ...]
    where: Where


@dataclass(frozen=True, slots=True)
class Keys:
    """Keys with what they hold, in order, and the place it starts."""

    members: dict[str, Branch]
    wheres: dict[str, Where]
    where: Where

    def items(self) -> Iterator[tuple[str, Branch]]:
        """Keys and branches in the order written."""
        return iter(self.members.items())


Branch = Scalar | Listing | Keys


def read_tree(path: Path, shown: str | None = None) -> Branch:
    """The tree of one file. Raises Mistake for a file that cannot be read, is too large, or is not plain YAML."""
    name = shown or path.name
    try:
        raw = read_at_most(path, MOST_BYTES)
        if raw is None:
            raise Mistake("the file is too large", expected=f"at most {MOST_BYTES // 1000} kB", where=Where(name))
        text = raw.decode("utf-8-sig")
    except OSError as broken:
        raise Mistake(
            f"the file cannot be read ({broken.strerror or broken})",
            where=Where(str(path)),
            do="Check its name and its permissions.",
        ) from broken
    except UnicodeDecodeError as broken:
        raise Mistake(
            f"byte {broken.start + 1} is not UTF-8",
            expected="a text file in UTF-8",
            where=Where(name),
            do="Save it again as UTF-8.",
        ) from broken
    return parse_tree(text, name)


def parse_tree(text: str, file: str) -> Branch:
    """The tree of a text; `file` is how the place is named in messages."""
    import yaml

    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    try:
        if _CLEVER.search(text):  # most files have no such sign anywhere, and looking twice at each takes half the time
            for event in yaml.parse(text, Loader=loader):
                _refuse_cleverness(event, file)
        node = yaml.compose(text, Loader=loader)
    except yaml.YAMLError as broken:
        line, problem = _problem(broken, text)
        raise Mistake(
            f"the file cannot be read as YAML: {problem}",
            expected="lines of 'key: text' and '- entry'",
            where=Where(file, line),
            do="Look at the indentation, the quotes and the brackets there.",
        ) from broken
    except RecursionError as broken:
        raise Mistake("lists within lists without end", where=Where(file)) from broken
    if node is None:
        raise Mistake("the file is empty", where=Where(file))
    return _branch(node, file, 0)


def _problem(broken: Any, text: str) -> tuple[int | None, str]:
    """The line of what YAML cannot read, and what it is."""
    mark = getattr(broken, "problem_mark", None)
    offset, sign = getattr(broken, "position", None), getattr(broken, "character", None)
    if mark is not None:
        return mark.line + 1, getattr(broken, "problem", None) or "not YAML"
    if isinstance(offset, int) and isinstance(sign, int):  # in bytes, as the reader in C counts
        return text.encode()[:offset].count(b"\n") + 1, f"the character U+{sign:04X}"
    return None, "not YAML"


def _refuse_cleverness(event: Any, file: str) -> None:
    import yaml

    where = Where(file, event.start_mark.line + 1)
    if isinstance(event, yaml.AliasEvent) or getattr(event, "anchor", None):
        raise Mistake("an anchor or alias (& or *)", expected="the text written out", where=where)
    if getattr(event, "tag", None):
        raise Mistake(f"a tag ({shortened(str(event.tag))})", expected="plain text", where=where)


def _branch(node: Any, file: str, depth: int) -> Branch:
    where = Where(file, node.start_mark.line + 1)
    if depth > MOST_DEPTH:
        raise Mistake("lists within lists deeper than any entry needs", where=where)
    if node.id == "scalar":
        return Scalar(node.value, where)
    if node.id == "sequence":
        return Listing(tuple(_branch(member, file, depth + 1) for member in node.value), where)
    members: dict[str, Branch] = {}
    wheres: dict[str, Where] = {}
    for key, held in node.value:
        here = Where(file, key.start_mark.line + 1)
        if key.id != "scalar":
            raise Mistake("a key that is not a text", expected="key: text", where=here)
        if key.value in members:
            raise Mistake(
                f"the key {shortened(key.value)} stands twice",
                expected="each key once",
                where=here,
                do=f"It stands first on line {wheres[key.value].line}.",
            )
        members[key.value] = _branch(held, file, depth + 1)
        wheres[key.value] = here
    return Keys(members, wheres, where)
