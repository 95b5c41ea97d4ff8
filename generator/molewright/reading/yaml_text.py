"""YAML text comes in; a tree of texts with their lines goes out. The only home of yaml.

Every scalar stays the text that was written (0.100 keeps its zeros, NO stays NO, 12:30 is no number); a repeated key is a
mistake; tags, anchors and aliases are refused, because a bank is a table and never a program.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from molewright.errors import Mistake, Where, shortened
from molewright.machine.bounded_reading import read_at_most

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


def each_of(tree: Branch) -> tuple[Branch, ...]:
    """What a file holds that is one thing or a list of such. Raises Mistake for an empty list."""
    if not isinstance(tree, Listing):
        return (tree,)
    if not tree.members:
        raise Mistake("an empty list", expected="one entry at least, each under a '- '", where=tree.where)
    return tree.members


def parse_tree(text: str, file: str) -> Branch:
    """The tree of a text; `file` is how the place is named in messages.

    It is put together from what the parser tells piece by piece: PyYAML's own composer calls itself for each list within a list
    and, up to 6.0.3, takes the whole process down where they do not end.
    """
    import yaml

    growing = _Growing(file)
    try:
        for event in yaml.parse(text, Loader=getattr(yaml, "CSafeLoader", yaml.SafeLoader)):
            growing.take(event)
    except yaml.YAMLError as broken:
        line, problem = _problem(broken, text)
        raise Mistake(
            f"the file cannot be read as YAML: {problem}",
            expected="lines of 'key: text' and '- entry'",
            where=Where(file, line),
            do="Look at the indentation, the quotes and the brackets there.",
        ) from broken
    if growing.whole is None:
        raise Mistake("the file is empty", where=Where(file))
    return growing.whole


class _Growing:
    """What has been read of a file: a tree, and the lists and keys that are still open, never more than MOST_DEPTH."""

    def __init__(self, file: str) -> None:
        import yaml

        self.whole: Branch | None = None
        self._file = file
        self._open: list[_List | _Table] = []
        self._takers: dict[type, Callable[[Any, Where], None]] = {
            yaml.ScalarEvent: lambda event, where: self._put(Scalar(event.value, where)),
            yaml.SequenceStartEvent: lambda event, where: self._begin(_List(where)),
            yaml.MappingStartEvent: lambda event, where: self._begin(_Table(where)),
            yaml.SequenceEndEvent: self._end,
            yaml.MappingEndEvent: self._end,
            yaml.DocumentStartEvent: self._require_one,
            yaml.AliasEvent: self._refuse_anchor,
        }

    def take(self, event: Any) -> None:
        """One thing that the parser tells. Raises Mistake for an anchor, an alias, a tag, a key that stands twice, and for too deep."""
        taker = self._takers.get(type(event))
        if taker is None:
            return
        where = Where(self._file, event.start_mark.line + 1)
        if getattr(event, "anchor", None):
            self._refuse_anchor(event, where)
        tag = getattr(event, "tag", None)
        if tag:
            raise Mistake(f"a tag ({shortened(str(tag))})", expected="plain text", where=where)
        taker(event, where)

    def _refuse_anchor(self, _: Any, where: Where) -> None:
        raise Mistake("an anchor or alias (& or *)", expected="the text written out", where=where)

    def _require_one(self, _: Any, where: Where) -> None:
        if self.whole is not None:
            raise Mistake(
                "the file cannot be read as YAML: a second document begins ('---')", expected="one", where=where
            )

    def _begin(self, opened: _List | _Table) -> None:
        if len(self._open) > MOST_DEPTH:
            raise Mistake("lists within lists deeper than any entry needs", where=opened.where)
        if self._open and self._open[-1].wants_key:
            raise Mistake("a key that is not a text", expected="key: text", where=opened.where)
        self._open.append(opened)

    def _end(self, *_: object) -> None:
        self._put(self._open.pop().closed())

    def _put(self, branch: Branch) -> None:
        if self._open:
            self._open[-1].put(branch)
        else:
            self.whole = branch


class _List:
    """A list whose end has not come yet."""

    wants_key = False

    def __init__(self, where: Where) -> None:
        self.where = where
        self.members: list[Branch] = []

    def put(self, branch: Branch) -> None:
        """One member more."""
        self.members.append(branch)

    def closed(self) -> Listing:
        """The list, whole."""
        return Listing(tuple(self.members), self.where)


class _Table:
    """Keys whose end has not come yet; `key` waits for what it holds."""

    def __init__(self, where: Where) -> None:
        self.where = where
        self.members: dict[str, Branch] = {}
        self.wheres: dict[str, Where] = {}
        self.key: str | None = None

    @property
    def wants_key(self) -> bool:
        """Whether a key comes next."""
        return self.key is None

    def put(self, branch: Branch) -> None:
        """A key, or what the last one holds. Raises Mistake for a key that stands twice."""
        if self.key is not None:
            self.members[self.key] = branch
            self.key = None
            return
        assert isinstance(branch, Scalar)
        if branch.text in self.members:
            raise Mistake(
                f"the key {shortened(branch.text)} stands twice",
                expected="each key once",
                where=branch.where,
                do=f"It stands first on line {self.wheres[branch.text].line}.",
            )
        self.key, self.wheres[branch.text] = branch.text, branch.where

    def closed(self) -> Keys:
        """The keys, all of them."""
        return Keys(self.members, self.wheres, self.where)


def _problem(broken: Any, text: str) -> tuple[int | None, str]:
    """The line of what YAML cannot read, and what it is."""
    mark = getattr(broken, "problem_mark", None)
    offset, sign = getattr(broken, "position", None), getattr(broken, "character", None)
    if mark is not None:
        return mark.line + 1, getattr(broken, "problem", None) or "not YAML"
    if isinstance(offset, int) and isinstance(sign, int):  # in bytes, as the reader in C counts
        return text.encode()[:offset].count(b"\n") + 1, f"the character U+{sign:04X}"
    return None, "not YAML"
