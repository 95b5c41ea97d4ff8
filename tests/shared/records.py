"""Records of papers as they are written and read again, for tests that mark against them."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from molewright.bank.definitions import Bank
from molewright.errors import Where
from molewright.machine import places
from molewright.papers.making import PaperMaker
from molewright.papers.record.form import SUFFIX
from molewright.papers.record.reader import Record, as_read
from molewright.papers.record.writer import RecordLines, heading, heading_of

if TYPE_CHECKING:
    from jsonschema import Draft202012Validator


def write_record(maker: PaperMaker, folder: Path, held: Sequence[Mapping[str, Any]], stem: str = "x") -> Path:
    """The file of a record with these papers in it."""
    lines = RecordLines(maker.bank, heading(maker))
    path = folder / f"{stem}{SUFFIX}"
    path.write_bytes(b"".join(line for one in held for line in lines.of(one)))
    return path


def record_of(bank: Bank, held: Mapping[str, Any], code: str = "TEST-0000") -> Record:
    """The record of one paper, as it is written and read again."""
    lines = RecordLines(bank, heading_of(code, bank, "one place", "dm3"))
    return as_read(((0, line) for line in lines.of(held)), Where("the test"))


@cache
def record_schema() -> Draft202012Validator:
    """What every line of a record is held against."""
    from jsonschema import Draft202012Validator  # late: it takes longer to import than all else that tests collect

    path = places.templates() / "schemas" / "record.schema.json"
    return Draft202012Validator(json.loads(path.read_text("utf-8")))
