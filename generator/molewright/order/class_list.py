"""A class list comes in as a text file; names go out, cleaned, one for each line that is not empty."""

from __future__ import annotations

import unicodedata
from pathlib import Path

from molewright.errors import Mistake, Where, shortened
from molewright.machine.bounded_reading import read_at_most

MOST_BYTES = 1_000_000
MOST_PUPILS = 3000
MOST_LETTERS = 60


def read_class_list(path: Path) -> tuple[str, ...]:
    """The names in a file, one a line, in UTF-8. Raises Mistake with file:line for what is not a list of names."""
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
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as broken:
        line = raw[: broken.start].count(b"\n") + 1
        raise Mistake(
            f"byte {raw[broken.start]:#04x} is not UTF-8",
            expected="a text file in UTF-8",
            where=Where(str(path), line),
            do="Save it again as UTF-8 text.",
        ) from None
    names = [
        clean_name(line, Where(str(path), number)) for number, line in enumerate(text.splitlines(), 1) if line.strip()
    ]
    if not names:
        raise Mistake("the class list is empty", expected="one name on each line", where=where)
    if len(names) > MOST_PUPILS:
        raise Mistake(f"the class list holds {len(names)} names", expected=f"at most {MOST_PUPILS}", where=where)
    return tuple(names)


def clean_name(text: str, where: Where) -> str:
    """One name or title: single spaces, no control or direction characters, of a length that can be printed."""
    name = " ".join(text.split())
    if name.count(",") > 3 or name.count(";") > 3 or "\t" in text.strip():
        raise Mistake(
            f"{shortened(name)} looks like a row of a table",
            expected="one name on each line",
            where=where,
            do="Save only the column of names.",
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
