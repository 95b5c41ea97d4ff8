"""What a browser sends comes in; one frozen value with checked readings of it goes out. Knows no web server."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from molewright.errors import Mistake

MOST_SENT = 5_000_000  # bytes of one request, files and all
MOST_ROWS = 1000  # of a table that is typed, pasted or sent
MOST_FIELDS = 40_000  # of one form: a class of 1,000 has no grid that is larger
MOST_FILES = 100
MOST_TEXT = 400_000  # characters of one field: a class list
TOO_LARGE = f"That is too large: at most {MOST_SENT // 1_000_000} MB are taken at once. Nothing was done."
_WHOLE = 9  # digits of a whole number


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """One request: the numbers in its address, what stands behind the question mark, the fields of a form, the files sent.

    Of a file only its bytes are kept: what it was called is never asked.
    """

    numbers: Mapping[str, int] = field(default_factory=dict)
    words: Mapping[str, str] = field(default_factory=dict)  # in its address, each one of a few
    query: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    fields: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    files: Mapping[str, tuple[bytes, ...]] = field(default_factory=dict)

    def several(self, name: str) -> tuple[str, ...]:
        """Every text of a name, in a form or in the address."""
        return self.fields.get(name, ()) or self.query.get(name, ())

    def text(self, name: str) -> str:
        """The text of a name, "" where nothing is said. Raises Mistake for one that is too long."""
        found = next(iter(self.several(name)), "").replace("\r\n", "\n")
        if len(found) > MOST_TEXT:
            raise Mistake(f"{len(found)} characters", expected=f"at most {MOST_TEXT}")
        return found

    def whole(self, name: str, least: int, most: int, otherwise: int) -> int:
        """A whole number. Raises Mistake for what is none, and for one out of its bounds."""
        text = self.text(name).strip()
        if not text:
            return otherwise
        if not (text.isascii() and text.isdigit() and len(text) <= _WHOLE and least <= int(text) <= most):
            raise Mistake(f"'{text[:20]}' for the {name}", expected=f"a whole number from {least} to {most}")
        return int(text)

    def has(self, name: str) -> bool:
        """Whether a box is ticked or a button pressed."""
        return bool(self.several(name))

    def sent(self, name: str) -> tuple[bytes, ...]:
        """The files of a field, those without a byte left out."""
        return tuple(one for one in self.files.get(name, ()) if one)


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """What is sent back: the bytes, their kind, the status, and where to go instead of all that."""

    content: bytes = b""
    kind: str = "text/html; charset=utf-8"
    status: int = 200
    to: str = ""
    file_name: str = ""  # of a file that is to be kept
    framed: bool = False  # a sheet, which stands in a frame that may do nothing
    again_in_s: int = 0  # the page asks for itself again


def gathered(pairs: Iterable[tuple[str, str]]) -> dict[str, tuple[str, ...]]:
    """Names and texts, each name with all of its texts."""
    found: dict[str, tuple[str, ...]] = {}
    for key, text in pairs:
        found[key] = (*found.get(key, ()), text)
    return found


def require_rows(text: str, most: int) -> None:
    """Raises Mistake for a table of more rows than may be."""
    rows = sum(bool(line.strip()) for line in text.splitlines())
    if rows > most:
        raise Mistake(f"{rows} rows", expected=f"at most {most}")


def go(to: str) -> Answer:
    """Ask for another page: after a form was taken, so that a page asked for again does nothing twice."""
    return Answer(status=303, to=to)
