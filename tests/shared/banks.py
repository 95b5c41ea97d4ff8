"""The built-in banks go out, read once however many tests ask for them; files of banks that stay as they are, are parsed once too."""

from __future__ import annotations

from functools import cache, lru_cache
from pathlib import Path

from molewright.bank.definitions import Bank
from molewright.bank.readers.whole_bank import read_bank
from molewright.reading.yaml_text import MOST_BYTES, Branch, parse_tree, read_tree


@cache
def built_in() -> Bank:
    """The built-in banks, read whole: what is wrong in them fails here."""
    return read_bank()


def tree_of(path: Path, shown: str | None = None) -> Branch:
    """What read_tree gives, of a text that was parsed before without parsing it again: trees are never changed.

    Hundreds of tests read the banks beside a few entries of their own.
    """
    try:
        readable = path.is_file() and path.stat().st_size <= MOST_BYTES
        text = path.read_bytes().decode("utf-8-sig") if readable else None
    except (OSError, UnicodeDecodeError):
        text = None
    return read_tree(path, shown) if text is None else _tree(text, shown or path.name)


_tree = lru_cache(maxsize=256)(parse_tree)
