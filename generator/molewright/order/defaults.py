"""What a department has settled for all its papers comes in as a file; the head of an order goes out, or every fault with its line.

    title = "Homework"
    masses = "two places"
    sheets = ["questions", "scheme"]
    [front]
    school = "Quernholm School: chemistry"

The keys are those of the head of an order; what belongs to one paper alone (seed, kinds, topics, lines) is refused.
"""

from __future__ import annotations

from pathlib import Path

from molewright.order.head import Head, Reader, read_head
from molewright.reading.fields import Fields
from molewright.reading.toml_text import parse_toml, read_toml
from molewright.reading.yaml_text import Keys

NOBODY_SAID = Head()


def read_defaults(path: Path) -> Head:
    """The defaults that a file holds. Raises Mistake, or several at once, with file:line."""
    return _defaults(read_toml(path))


def parse_defaults(text: str, file: str) -> Head:
    """The defaults that a text holds; `file` is how the place is named in messages."""
    return _defaults(parse_toml(text, file))


def _defaults(tree: Keys) -> Head:
    fields = Fields(tree)
    read = Reader(fields)
    head = read_head(read, NOBODY_SAID)
    read.faults.attempt(fields.where, fields.finish)
    read.faults.raise_if_any()
    return head
