"""The bytes of a table as text come in, in any coding and with any separator that spreadsheets write; its rows go out with their lines.

UTF-8 with or without its mark, UTF-16 with its mark ("Unicode text"), and what is neither as cp1252, which is told; comma,
semicolon or tab. What is none of them is refused with its line.
"""

from __future__ import annotations

import codecs
import csv
import io
import re
from collections.abc import Iterator
from pathlib import Path

from molewright.errors import Mistake, Where, shortened

SEPARATORS = (",", ";", "\t")
_WINDOWS = "cp1252"  # what spreadsheets on Windows call CSV in western Europe


def records_of(raw: bytes, path: Path) -> tuple[Iterator[tuple[int, list[str]]], list[str]]:
    """The rows with the line that each begins on, and notes on how they were read. Raises Mistake with file:line."""
    text, notes = _text(raw, path)
    separator, text, skipped = _separator(text, path)
    return _records(text, separator, path, skipped), notes


def _text(raw: bytes, path: Path) -> tuple[str, list[str]]:
    notes: list[str] = []
    coding = "utf-8-sig"
    if raw.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        coding = "utf-16"
        notes.append("read as UTF-16, as its first two bytes say")
    try:
        text = raw.decode(coding)
    except UnicodeDecodeError as broken:
        text = _of_windows(raw, broken, coding, path)
        line = raw[: broken.start].count(b"\n") + 1
        notes.append(f"read as {_WINDOWS}, for line {line} is not UTF-8: please look whether its letters are right")
    at = text.find("\0")
    if at >= 0:
        raise Mistake(
            "a NUL character", expected="plain text", where=Where(str(path), text.count("\n", 0, at) + 1),
            do="Save the table again as 'CSV UTF-8'.",
        )  # fmt: skip
    return text, notes


def _of_windows(raw: bytes, broken: UnicodeDecodeError, coding: str, path: Path) -> str:
    """The text in the coding of Windows; five bytes stand for nothing there, and control characters for something else."""
    try:
        if coding != "utf-16":
            return raw.decode(_WINDOWS)
    except UnicodeDecodeError as other:
        broken = other
    line = raw[: broken.start].count(b"\n") + 1
    raise Mistake(
        f"byte {raw[min(broken.start, len(raw) - 1)]:#04x} is "
        + ("not UTF-16" if coding == "utf-16" else f"neither UTF-8 nor {_WINDOWS}"),
        expected="a table saved as CSV in UTF-8",
        where=Where(str(path), line),
        do="Save it again as 'CSV UTF-8'.",
    ) from None


def _separator(text: str, path: Path) -> tuple[str, str, int]:
    """The separator of the heading line, the text from there on, and the lines before it."""
    begin = text.rfind("\n", 0, len(text) - len(text.lstrip())) + 1  # of the first line that holds anything
    skipped, text = text.count("\n", 0, begin), text[begin:]
    named = re.match(r"sep=([,;\t])[^\S\n]*(?:\n|$)", text)  # spreadsheets write such a line
    if named:
        return named[1], text[named.end() :], skipped + 1
    heading = re.sub(r'"[^"\n]*"', "", text.partition("\n")[0])
    counts = {separator: heading.count(separator) for separator in SEPARATORS}
    most = max(counts.values())
    if not most and heading.strip():
        raise Mistake(
            f"the heading {shortened(heading.strip())} is one column",
            expected="columns pupil, question, answer, separated by comma, semicolon or tab",
            where=Where(str(path), skipped + 1),
        )
    return next(separator for separator in SEPARATORS if counts[separator] == most), text, skipped


def _records(text: str, separator: str, path: Path, skipped: int) -> Iterator[tuple[int, list[str]]]:
    """The rows with the line that each begins on."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    while True:
        line = reader.line_num + 1 + skipped
        try:
            cells = next(reader)
        except StopIteration:
            return
        except csv.Error as broken:
            too_long = "field limit" in str(broken)
            raise Mistake(
                "a cell without end" if too_long else f"the row cannot be read ({broken})",
                expected="a quotation mark that is opened to be closed"
                if too_long
                else "cells with a separator or a quotation mark inside in quotation marks",
                where=Where(str(path), line),
            ) from None
        yield line, cells
