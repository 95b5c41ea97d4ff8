"""Tables of texts come in and the bytes of a workbook (XLSX) go out, the same each time; and back again, within bounds.

The only home of openpyxl. Nothing in a workbook is worked out: a formula is read as the value that was kept beside it, or as its
own text; links to other files and macros are left alone.
"""

from __future__ import annotations

import io
import re
import warnings
import zipfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from molewright.errors import Mistake, Where, shortened

if TYPE_CHECKING:
    from openpyxl.worksheet.worksheet import Worksheet

BEGINNING = b"PK\x03\x04"
"""What every workbook begins with; so do others that are packed."""
OLD_BEGINNING = b"\xd0\xcf\x11\xe0"
"""What a workbook of before 2007 begins with, and one that is locked with a password."""
MOST_UNPACKED = 60_000_000  # bytes of all parts
MOST_PARTS = 2_000
MOST_ROWS = 20_000  # that hold anything, of a sheet
MOST_COLUMNS = 500
MOST_SHEETS = 50
_NAME_LETTERS = 31  # of a sheet's name, as spreadsheets have it
_WHOLE = "0"  # the format of a whole number
_TEXT = "@"  # the format of a cell that keeps what is typed
_WHEN = datetime(2000, 1, 1)  # noqa: DTZ001 - of no zone: it only has to be the same each time
_ZIP_WHEN = (1980, 1, 1, 0, 0, 0)
_SHADE = "FFE8E8E8"
_FIGURES = 15  # that spreadsheets show of a number


Value = str | int | None
"""What a cell holds: a text, a whole number, or nothing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """A column to be filled in: its width in letters; a whole number up to `most` goes into it, or, where that is None, a text.

    Folded ones lie behind a sign at the edge that opens them.
    """

    width: float
    most: int | None = None
    folded: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Page:
    """A sheet to be written: its name, the heading, the rows below it, and its columns; the first `still` of them stay in sight."""

    name: str
    heading: Sequence[str]
    rows: Sequence[Sequence[Value]]
    columns: Sequence[Column]
    still: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadPage:
    """A sheet that was read: its name, its rows with their numbers, and how many cells the spreadsheet had made numbers or dates."""

    name: str
    rows: tuple[tuple[int, list[str]], ...]
    numbers: int
    dates: int


# ------------------------------------------------------------------ writing


def workbook(pages: Sequence[Page]) -> bytes:
    """A workbook with these sheets; every cell keeps what is typed into it as text, but for those of marks."""
    from openpyxl import Workbook

    book = Workbook()
    book.remove(book.worksheets[0])
    names: set[str] = set()
    for page in pages:
        _write(book.create_sheet(_sheet_name(page.name, names)), page)
    book.properties.creator = "molewright"
    book.properties.created = book.properties.modified = _WHEN
    out = io.BytesIO()
    book.save(out)
    return _the_same_each_time(out.getvalue())


def _sheet_name(wanted: str, taken: set[str]) -> str:
    plain = re.sub(r"[\\/*?:\[\]]", " ", wanted)[:_NAME_LETTERS].strip("' ") or "answers"
    name, number = plain, 1
    while name.casefold() in taken:
        number += 1
        name = f"{plain[: _NAME_LETTERS - 4]} {number}"
    taken.add(name.casefold())
    return name


def _write(sheet: Worksheet, page: Page) -> None:
    from openpyxl.styles import Alignment, Font, PatternFill
    from openpyxl.utils import get_column_letter
    from openpyxl.worksheet.properties import Outline

    bold, shade = Font(name="Calibri", size=11, bold=True), PatternFill("solid", fgColor=_SHADE)
    for at, column in enumerate(page.columns, 1):
        shape = sheet.column_dimensions[get_column_letter(at)]
        shape.width = column.width
        if column.most is None:
            shape.number_format = _TEXT
        if column.folded:
            shape.outlineLevel, shape.hidden = 1, True
    for line, cells in enumerate((page.heading, *page.rows), 1):
        for at, value in enumerate(cells, 1):
            if value is None or (value == "" and line > 1):
                continue  # the column says what it is
            cell = sheet.cell(line, at, value)
            if isinstance(value, int):
                cell.number_format = _WHOLE
                continue
            cell.data_type, cell.number_format = "s", _TEXT  # a name that begins with = is no formula
            if line == 1:
                cell.font, cell.fill = bold, shade
                cell.alignment = Alignment(wrap_text=True, vertical="top")
    for at, column in enumerate(page.columns, 1):
        if column.most is not None and page.rows:
            _require_marks(sheet, get_column_letter(at), len(page.rows) + 1, column.most)
    sheet.freeze_panes = sheet.cell(2, page.still + 1).coordinate
    sheet.sheet_properties.outlinePr = Outline(summaryRight=False)


def _require_marks(sheet: Worksheet, letter: str, last: int, most: int) -> None:
    from openpyxl.worksheet.datavalidation import DataValidation

    rule = DataValidation("whole", operator="between", formula1="0", formula2=str(most), allow_blank=True)
    rule.error, rule.errorTitle, rule.showErrorMessage = f"A whole number from 0 to {most}.", "Marks", True
    rule.add(f"{letter}2:{letter}{last}")
    sheet.add_data_validation(rule)


def _the_same_each_time(content: bytes) -> bytes:
    """The same workbook with the dates of its parts, and of its last change, set."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(content)) as made, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as same:
        for name in made.namelist():
            part = made.read(name)
            if name == "docProps/core.xml":
                part = re.sub(rb"(<dcterms:modified[^>]*>)[^<]*", rb"\g<1>%sZ" % _WHEN.isoformat().encode(), part)
            held = zipfile.ZipInfo(name, _ZIP_WHEN)
            held.compress_type = zipfile.ZIP_DEFLATED
            same.writestr(held, part)
    return out.getvalue()


# ------------------------------------------------------------------ reading


def read_workbook(content: bytes, where: Where) -> tuple[ReadPage, ...]:
    """The sheets of a workbook that are not hidden. Raises Mistake for what is none, and for what is larger than any class needs."""
    formulas = _require_bounded(content, where)
    from openpyxl import load_workbook

    def opened(values: bool) -> Any:
        return load_workbook(io.BytesIO(content), read_only=True, data_only=values, keep_links=False)

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of what a workbook holds beside its cells
            kept = opened(True)
            told = opened(False) if formulas else None
            sheets = [sheet for sheet in kept.worksheets if sheet.sheet_state == "visible"][:MOST_SHEETS]
            return tuple(_read(sheet, told[sheet.title] if told else None, where) for sheet in sheets)
    except Mistake:
        raise
    except Exception as broken:  # of whatever kind: the bytes come from outside, and the library says no kinds
        raise Mistake(
            f"the workbook cannot be read ({type(broken).__name__})",
            expected="a workbook as spreadsheets save it (.xlsx)",
            where=where,
            do="Save it again as .xlsx, or as 'CSV UTF-8'.",
        ) from None


def _require_bounded(content: bytes, where: Where) -> bool:
    """Whether any cell holds a formula. What is packed is never unpacked beyond the size that it tells of itself."""
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as packed:
            parts = packed.infolist()
            if len(parts) > MOST_PARTS or sum(part.file_size for part in parts) > MOST_UNPACKED:
                raise Mistake(
                    "the workbook is too large when it is unpacked",
                    expected=f"at most {MOST_UNPACKED // 1_000_000} MB",
                    where=where,
                )
            if "xl/workbook.xml" not in packed.namelist():
                raise Mistake(
                    "it is packed, but no workbook (.xlsx)",
                    expected="a workbook as .xlsx, or a table as CSV",
                    where=where,
                    do="Open it in the spreadsheet and save it as .xlsx, or as 'CSV UTF-8'.",
                )
            formulas = False
            for part in parts:
                if not part.filename.endswith((".xml", ".rels")):
                    continue
                text = packed.read(part)
                if any("<!DOCTYPE".encode(coding) in text for coding in ("utf-8", "utf-16-le", "utf-16-be")):
                    raise Mistake(f"{shortened(part.filename)} in it defines words of its own", where=where,
                                  expected="a workbook as spreadsheets save it")  # fmt: skip
                formulas |= "/worksheets/" in part.filename and re.search(rb"<(?:\w+:)?f[\s/>]", text) is not None
            return formulas
    except (zipfile.BadZipFile, OSError, RuntimeError, NotImplementedError, EOFError, ValueError) as broken:
        raise Mistake(
            f"the workbook is damaged ({broken})" if str(broken) else "the workbook is damaged",
            expected="a workbook as it was saved (.xlsx)",
            where=where,
        ) from None
    except Exception as broken:
        if isinstance(broken, Mistake):
            raise
        raise Mistake(f"the workbook is damaged ({type(broken).__name__})", where=where) from None  # zlib.error


def _read(sheet: Any, told: Any, where: Where) -> ReadPage:
    """One sheet, row by row, however far its empty rows go."""
    rows: list[tuple[int, list[str]]] = []
    numbers = dates = 0
    texts = _rows(told) if told is not None else None
    empty: Sequence[Any] | None = None
    unfilled: Sequence[Any] = ()
    for line, cells in enumerate(_rows(sheet), 1):
        formulas = next(texts, ()) if texts is not None else ()
        if cells is empty and formulas is unfilled:
            continue  # of rows that a file leaves out the library gives one and the same, and there may be a million
        found = [_text_of(cell) for cell in cells]
        for at, cell in enumerate(formulas):
            if cell.data_type == "f" and at < len(found) and not found[at]:
                found[at] = str(cell.value)  # nobody has worked it out, and nobody will
        if not any(found):
            empty, unfilled = cells, formulas
            continue
        if len(rows) >= MOST_ROWS:
            raise Mistake(f"more than {MOST_ROWS} rows", expected="the answers of a school",
                          where=Where(where.file, None, f"sheet {shortened(sheet.title, 40)}"))  # fmt: skip
        numbers += sum(_dropped_zeros(cell) for cell in cells)
        dates += sum(isinstance(cell.value, date | time | timedelta) for cell in cells)
        while found and not found[-1]:
            found.pop()
        rows.append((line, found))
    return ReadPage(name=sheet.title, rows=tuple(rows), numbers=numbers, dates=dates)


def _rows(sheet: Any) -> Iterator[Sequence[Any]]:
    sheet.reset_dimensions()  # what a file says of its own size is not to be relied on
    rows: Iterator[Sequence[Any]] = sheet.iter_rows(max_col=MOST_COLUMNS + 1)
    return rows


def _dropped_zeros(cell: Any) -> bool:
    """Whether a cell is a number of which nobody knows with how many zeros it was typed."""
    if isinstance(cell.value, bool) or not isinstance(cell.value, int | float):
        return False
    return cell.number_format == "General" and "." in _text_of(cell)


def _text_of(cell: Any) -> str:
    """What a cell shows, as near as can be told."""
    value = cell.value
    match value:
        case None:
            return ""
        case str():
            return value
        case bool():
            return str(value).upper()
        case int() | float():
            return _number(value, cell.number_format)
        case timedelta():
            minutes = int(value.total_seconds() // 60)
            return f"{minutes // 60}:{minutes % 60:02}"
        case time():
            return f"{value.hour}:{value.minute:02}"  # 5:2 has become 05:02, and a ratio is read from that
        case date():
            return f"{value.day} {value:%B %Y} (the spreadsheet has made a date of it)"
        case _:
            return str(value)


_PLACES = re.compile(r"(?:#,##)?#?0(?:\.(?P<places>0+))?(?P<percent>%)?(?:E\+0+)?")


def _number(value: float, shape: str) -> str:
    """A number as its format shows it, where that is one of the plain ones; as many figures as spreadsheets show otherwise."""
    plain = f"{value:.{_FIGURES}g}"
    found = _PLACES.fullmatch(shape)
    if found is None or (found["places"] is None and not found["percent"] and "E" not in shape):
        text = f"{Decimal(plain):f}" if 1e-5 <= abs(value) < 1e15 or not value else plain
        return _per_cent(text) if shape.endswith("%") else text
    places = len(found["places"] or "")
    if "E" in shape:
        return f"{Decimal(plain):.{max(places, len(Decimal(plain).normalize().as_tuple().digits) - 1)}E}"
    shown = Decimal(plain) * (100 if found["percent"] else 1)
    exact = max(places, -int(shown.normalize().as_tuple().exponent))  # no figure that is held is left out
    return f"{shown:.{exact}f}{'%' if found['percent'] else ''}"


def _per_cent(text: str) -> str:
    return f"{(Decimal(text) * 100).normalize():f}%"
