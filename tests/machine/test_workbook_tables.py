"""Workbooks of tables: texts stay texts, numbers numbers, and the bytes are the same each time."""

from __future__ import annotations

import io
import time
import zipfile

import pytest
from openpyxl import load_workbook

from molewright.machine.workbook_tables import table_page
from molewright.machine.workbooks import workbook

SHEET = table_page("A: b/c", ("text", "number"), [("=1+1", 7), ("007", 0), ("", None), ("a\x00b", -3)])


def test_texts_stay_texts_and_numbers_numbers() -> None:
    book = load_workbook(io.BytesIO(workbook([SHEET])))
    page = book["A  b c"]
    assert [tuple(cell.value for cell in row) for row in page.iter_rows(min_row=2)] == [
        ("=1+1", 7),
        ("007", 0),
        (None, None),
        ("ab", -3),
    ]
    assert (page["A2"].data_type, page["A2"].number_format) == ("s", "@")
    assert page.freeze_panes == "A2"


def test_the_bytes_do_not_tell_when_they_were_made(monkeypatch: pytest.MonkeyPatch) -> None:
    first = workbook([SHEET])
    later = time.time() + 400_000_000
    monkeypatch.setattr(time, "time", lambda: later)
    assert workbook([SHEET]) == first
    with zipfile.ZipFile(io.BytesIO(first)) as packed:
        assert {entry.date_time[0] for entry in packed.infolist()} == {1980}
        assert packed.read("docProps/core.xml").count(b"2000-01-01T00:00:00Z") == 2
