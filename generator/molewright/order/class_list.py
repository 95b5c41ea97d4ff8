"""A class list comes in as a text file; pupils go out, their names cleaned, after each was tried on what it is to be printed in.

One name a line; or a table with a heading row that says which columns hold names, levels, versions: what other columns hold is let
be, but tells two pupils of one name apart.
"""

from __future__ import annotations

import csv
import re
import unicodedata
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Literal

from molewright.errors import Mistake, Where, Word, nearest, one_of, raise_all, shortened
from molewright.machine.bounded_reading import read_at_most
from molewright.order.choices import LOOKS, SUPPORT, TINTS
from molewright.order.pupils import Pupil

MOST_BYTES = 1_000_000
MOST_PUPILS = 3000
MOST_LETTERS = 60
MOST_MISTAKES = 12  # told at once
SEPARATORS = (",", ";", "\t")
NAME, FORENAME, SURNAME = "name", "forename", "surname"
LEVEL, VERSION, LOOK, TINT = "level", "version", "look", "tint"
HEADINGS = {
    NAME: ("name", "names", "full name", "pupil name", "student name", "pupil", "pupils", "student", "students"),
    FORENAME: ("forename", "forenames", "first name", "given name", "given names", "preferred name"),
    SURNAME: ("surname", "last name", "family name"),
    LEVEL: ("level", "support"),
    VERSION: ("version", "paper version"),
    LOOK: ("look", "print"),
    TINT: ("tint", "paper colour"),
}
NAMING = (NAME, FORENAME, SURNAME)
"""What a heading row may call the columns that are read."""
BESIDE = (
    "set", "class", "form", "group", "year", "year group", "tutor", "tutor group", "house", "gender", "sex", "number", "no", "id",
    "email", "date of birth",
)  # fmt: skip
"""What else a heading row often holds: enough to know one by that names no pupils."""
_COULD_BE_NAMES = (
    "pupil",
    "pupils",
    "student",
    "students",
)  # somebody may be called so: alone or beside another heading only


def read_class_list(path: Path, tried: Callable[[str], object] = str) -> tuple[Pupil, ...]:
    """The pupils in a file, in UTF-8. `tried` raises Mistake for a name that cannot be printed.

    Raises Mistake, or several at once, with file:line for what is not a list of names, and for each name that is none.
    """
    lines = [(number, line) for number, line in enumerate(_text(path).splitlines(), 1) if line.strip()]
    where = Where(str(path))
    if not lines:
        raise Mistake("the class list is empty", expected="one name on each line", where=where)
    first = Where(where.file, lines[0][0])
    heading = _heading(lines[0][1], first)
    pupils: list[tuple[Pupil, tuple[str, ...], Where]] = []
    wrong: list[Mistake] = []
    for number, line in lines[1:] if heading else lines:
        here = Where(where.file, number)
        try:
            pupil, beside = (
                heading.pupil(line, here) if heading else (Pupil(name=clean_name(_unquoted(line, here), here)), ())
            )
            pupils.append((pupil, beside, here))
            if len(pupils) > MOST_PUPILS:
                raise Mistake(f"the class list holds more than {MOST_PUPILS} names", expected=f"at most {MOST_PUPILS}")
            tried(pupil.name)
        except Mistake as mistake:
            wrong.append(mistake.at(here))
            if len(wrong) >= MOST_MISTAKES:
                break
    raise_all(wrong)
    if not pupils:
        raise Mistake("the class list holds a heading and no name", expected="one row for each pupil", where=where)
    return _told_apart(pupils)


def _told_apart(pupils: Sequence[tuple[Pupil, tuple[str, ...], Where]]) -> tuple[Pupil, ...]:
    """The pupils, each with what tells it from others of its name. Raises Mistake for two that nothing tells apart."""
    several = Counter(pupil.key for pupil, _, _ in pupils)
    found: dict[str, tuple[Pupil, Where]] = {}
    for pupil, beside, where in pupils:
        told = replace(pupil, beside=" ".join(beside)) if several[pupil.key] > 1 else pupil
        if told.key in found:
            raise Mistake(
                f"{shortened(pupil.name)} stands here and on line {found[told.key][1].line}",
                expected="pupils that can be told apart",
                where=where,
                do="Put a column beside the names that tells the two apart, as their sets, or their numbers.",
            )
        found[told.key] = (told, where)
    return tuple(pupil for pupil, _ in found.values())


def _text(path: Path) -> str:
    where = Where(str(path))
    try:
        raw = read_at_most(path, MOST_BYTES)
    except OSError as broken:
        raise Mistake(
            f"the class list cannot be read ({broken.strerror or broken})",
            where=where,
            do="Check its name and its permissions.",
        ) from None
    if raw is None:
        raise Mistake("the class list is too large", expected=f"at most {MOST_BYTES // 1000} kB of names", where=where)
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise Mistake("the class list is UTF-16", expected="UTF-8", where=where, do="Save it again as UTF-8 text.")
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as broken:
        line = raw[: broken.start].count(b"\n") + 1
        raise Mistake(
            f"byte {raw[broken.start]:#04x} is not UTF-8",
            expected="a text file in UTF-8",
            where=Where(str(path), line),
            do="Save it again as UTF-8 text.",
        ) from None


class _Heading:
    """A heading row: what separates its columns ("" where there is one only), and where the names stand."""

    def __init__(self, separator: str, cells: list[str], where: Where) -> None:
        self.separator = separator
        self.width = len(cells)
        self.columns: dict[str, int] = {}
        for at, cell in enumerate(cells):
            column = next((column for column, spellings in HEADINGS.items() if cell in spellings), None)
            if column is not None and column in self.columns:
                raise Mistake(f"two columns hold a {column}", expected="each once", where=where)
            if column is not None:
                self.columns[column] = at
            elif cell not in BESIDE and (near := nearest(cell, (LEVEL, VERSION, LOOK, TINT), alike=0.8)):
                raise Mistake(
                    f"the column {shortened(cell)}", expected="a column that is known", near=near, where=where
                )
        if not self.columns.keys() & set(NAMING):
            raise Mistake(
                f"the heading row names no pupils ({', '.join(map(shortened, cells[:6]))})",
                expected="a column 'name', or 'forename' and 'surname'",
                where=where,
            )

    def pupil(self, line: str, where: Where) -> tuple[Pupil, tuple[str, ...]]:
        """The pupil of a row, whose name stands there whole or as forename and surname, and what its other columns hold."""
        cells = _cells(line, self.separator, where) if self.separator else [_unquoted(line, where)]
        if len(cells) > self.width and any(map(str.strip, cells[self.width :])):
            raise Mistake(
                f"{len(cells)} cells below a heading of {self.width}",
                expected="a cell that holds a separator in quotation marks",
                where=where,
            )
        held = {column: cells[at].strip() for column, at in self.columns.items() if at < len(cells)}
        given = held.get(NAME, "") if SURNAME in held and FORENAME not in held else held.get(FORENAME, "")
        joined = f"{given} {held.get(SURNAME, '')}".strip()
        name = clean_name(joined if SURNAME in held or not held.get(NAME) else held[NAME], where)
        if not name:
            raise Mistake("no pupil is named in this row", expected="a name below its heading", where=where)
        pupil = Pupil(
            name=name,
            level=_one_of(held.get(LEVEL, ""), SUPPORT, LEVEL, where),
            version=_version(held.get(VERSION, ""), where),
            look=_one_of(held.get(LOOK, ""), LOOKS, LOOK, where),
            tint=_one_of(held.get(TINT, ""), TINTS, TINT, where),
        )
        return pupil, tuple(cell.strip() for at, cell in enumerate(cells) if at not in self.columns.values())


def _one_of(text: str, choices: Sequence[Word], what: str, where: Where) -> Word | Literal[""]:
    if not text:
        return ""
    found = text.casefold()
    return one_of(found if found in choices else text, choices, what, where)


def _version(text: str, where: Where) -> str:
    found = text.upper()
    if found and not re.fullmatch(r"[A-Z]", found):
        raise Mistake(f"the version {shortened(text)}", expected="one letter, as A", where=where)
    return found


def _heading(line: str, where: Where) -> _Heading | None:
    """The heading row that a line is, if it is one: a lone word for names, or a row whose words are those of headings."""
    lone = _word(line)
    if any(lone in spellings for spellings in HEADINGS.values()):
        return _Heading("", [lone], where)
    for separator in SEPARATORS:
        if separator not in line:
            continue
        cells = [_word(cell) for cell in line.split(separator)]
        known = [cell for cell in cells if cell in BESIDE or any(cell in several for several in HEADINGS.values())]
        sure = [cell for cell in known if cell not in BESIDE and cell not in _COULD_BE_NAMES]
        if sure or len(known) > 1:
            return _Heading(separator, cells, where)
    return None


def _word(cell: str) -> str:
    return " ".join(cell.replace("_", " ").replace('"', " ").split()).strip(":.").casefold()


def _unquoted(line: str, where: Where) -> str:
    """The name of a line that holds nothing else: a spreadsheet puts one with a comma in quotation marks."""
    return line if '"' not in line else ",".join(_cells(line, ",", where))


def _cells(line: str, separator: str, where: Where) -> list[str]:
    try:
        return next(iter(csv.reader([line], delimiter=separator, strict=True)), [])
    except csv.Error as broken:
        raise Mistake(
            f"the row cannot be read ({broken})",
            expected="a cell that holds a separator or a quotation mark in quotation marks",
            where=where,
        ) from None


def clean_name(text: str, where: Where, what: Literal["name", "title"] = "name") -> str:
    """One name or title: single spaces, no control or direction characters, of a length that can be printed."""
    name = " ".join(text.split())
    if what == "title" and len(text.strip().splitlines()) > 1:
        raise Mistake(f"the title {shortened(name)} has several lines", expected="one line", where=where)
    if what == "name" and (name.count(",") > 3 or name.count(";") > 3 or "\t" in text.strip()):
        raise Mistake(
            f"{shortened(name)} looks like a row of a table",
            expected="one name on each line",
            where=where,
            do="Put a heading row above that names the columns, as 'surname,forename,set', or save only the names.",
        )
    if len(name) > MOST_LETTERS:
        raise Mistake(f"{shortened(name)} has {len(name)} letters", expected=f"at most {MOST_LETTERS}", where=where)
    for letter in name:
        if unicodedata.category(letter) in ("Cc", "Cf", "Cs", "Co", "Cn"):
            raise Mistake(
                f"the character U+{ord(letter):04X} in {shortened(name)} cannot be printed",
                where=where,
                expected="letters, digits and ordinary signs",
            )
    return unicodedata.normalize("NFC", name)
