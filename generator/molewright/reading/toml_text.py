"""TOML text comes in; a tree of texts with their lines goes out, as `yaml_text` makes one. The only home of tomllib.

What TOML takes for a number, a date or a truth becomes its text again, and yes or no: whoever reads the tree asks for words.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from pathlib import Path

from molewright.errors import Mistake, Where
from molewright.machine.bounded_reading import read_at_most
from molewright.reading.yaml_text import MOST_DEPTH, Branch, Keys, Listing, Scalar

MOST_BYTES = 100_000
_PLACE = re.compile(r"^(.*?) \(at (?:line (\d+), column \d+|end of document)\)$")
_TABLE = re.compile(r"\s*\[\s*([^\[\]]+?)\s*\]\s*(?:#.*)?")
_KEY = re.compile(r"""\s*((?:[A-Za-z0-9_-]+|"[^"]*"|'[^']*')(?:\s*\.\s*(?:[A-Za-z0-9_-]+|"[^"]*"|'[^']*'))*)\s*=""")
_NAME = re.compile(r"""[A-Za-z0-9_-]+|"[^"]*"|'[^']*'""")


def read_toml(path: Path) -> Keys:
    """The tree of one file. Raises Mistake for a file that cannot be read, is too large, or is no TOML."""
    where = Where(str(path))
    try:
        raw = read_at_most(path, MOST_BYTES)
        if raw is None:
            raise Mistake("the file is too large", expected=f"at most {MOST_BYTES // 1000} kB", where=where)
        return parse_toml(raw.decode("utf-8-sig"), str(path))
    except OSError as broken:
        raise Mistake(
            f"the file cannot be read ({broken.strerror or broken})",
            where=where,
            do="Check its name and its permissions.",
        ) from None
    except UnicodeDecodeError as broken:
        line = broken.object[: broken.start].count(b"\n") + 1
        raise Mistake(
            f"byte {broken.start + 1} is not UTF-8",
            expected="a text file in UTF-8",
            where=Where(str(path), line),
            do="Save it again as UTF-8.",
        ) from None


def parse_toml(text: str, file: str) -> Keys:
    """The tree of a text; `file` is how the place is named in messages."""
    where = Where(file, 1)
    try:
        return _keys(tomllib.loads(text), dict(_lines(text)), (), where)
    except tomllib.TOMLDecodeError as broken:
        found = _PLACE.match(str(broken))
        line = (int(found[2]) if found[2] else text.count("\n") + 1) if found else None
        raise Mistake(
            f"the file cannot be read as TOML: {(found[1] if found else str(broken)).lower()}",
            expected="lines of 'key = \"text\"', and a name of several words in quotation marks",
            where=Where(file, line),
        ) from None
    except RecursionError:
        raise _too_deep(Where(file)) from None
    except ValueError:  # a whole number of thousands of figures, which Python reads and writes no more
        raise Mistake("a number without end", expected="a number that a person writes", where=Where(file)) from None


def _too_deep(where: Where) -> Mistake:
    return Mistake("lists or tables within others, deeper than any entry needs", where=where)


def _lines(text: str) -> Iterator[tuple[tuple[str, ...], int]]:
    """The line of each key, as far as it stands at the beginning of one: those of a table under the name of the table."""
    table: tuple[str, ...] = ()
    for number, line in enumerate(text.split("\n"), 1):
        headed = _TABLE.fullmatch(line.rstrip("\r"))
        if headed:
            table = _names(headed[1])
            yield table, number
        elif written := _KEY.match(line):
            names = (*table, *_names(written[1]))
            yield from ((names[:depth], number) for depth in range(len(table) + 1, len(names) + 1))


def _names(text: str) -> tuple[str, ...]:
    return tuple(name.strip("\"'") for name in _NAME.findall(text))


def _branch(held: object, lines: dict[tuple[str, ...], int], path: tuple[str, ...], where: Where) -> Branch:
    if len(path) > MOST_DEPTH:
        raise _too_deep(where)
    if isinstance(held, dict):
        return _keys(held, lines, path, where)
    placed = Where(where.file, where.line, ", ".join(path))
    if isinstance(held, list):
        return Listing(tuple(_branch(one, lines, (*path, str(at)), where) for at, one in enumerate(held, 1)), placed)
    if isinstance(held, bool):
        return Scalar("yes" if held else "no", placed)
    return Scalar(str(held), placed)


def _keys(held: Mapping[str, object], lines: dict[tuple[str, ...], int], path: tuple[str, ...], where: Where) -> Keys:
    wheres = {key: Where(where.file, lines.get((*path, key), where.line)) for key in held}
    members = {key: _branch(one, lines, (*path, key), wheres[key]) for key, one in held.items()}
    return Keys(members, wheres, where)
