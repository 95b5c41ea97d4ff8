"""The files of a record come in, line by line; the papers in them go out, each read when it is asked for.

Records of version 0.2.0 are read too. What is no record, or one of another schema, is refused by name.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import InvalidOperation
from functools import partial
from glob import escape
from pathlib import Path
from typing import Any

from molewright.answer.printed import PrintedPaper, SlipFacts
from molewright.errors import Mistake, Where, nearest, shortened
from molewright.machine.bounded_reading import lines_at_most, read_at_most
from molewright.papers.record.documents import read_paper, read_slip
from molewright.papers.record.form import MOST_LINE, MOST_PAPERS, SCHEMA, SUFFIX

MOST_BYTES = 200_000_000
MOST_FILES = 20  # of a numbered record
MOST_KEPT = 100  # papers read that are kept: answers come sorted by pupil, or a class at a time
_MOST_HEADING = 100_000
_HALF_LETTER = re.compile(rb"\\u[dD][89a-fA-F]")
_NUMBERED = re.compile(r"(.+-record)-([1-9][0-9]{0,3})(\.jsonl)")


@dataclass(frozen=True, slots=True)
class Held:
    """One paper of a record: its code, and how its document is read when it is asked for."""

    code: str
    read: Callable[[], Any]


@dataclass(slots=True, kw_only=True)
class Record:
    """The record of a paper in all its versions; a version is read when it is asked for, and the last ones read are kept."""

    code: str
    fingerprint: str
    versions: Mapping[str, Held]
    slips: Mapping[str, SlipFacts]
    where: Where
    masses: str = "one place"
    style: str = "dm3"
    order: str = ""  # the text of the settled order; "" in records of 0.2.0 and of practices
    level: str = ""  # at which the paper was made; "" where the record does not tell
    _read: dict[str, PrintedPaper] = field(default_factory=dict)

    def paper(self, version: str) -> PrintedPaper:
        """One version."""
        found = self._read.pop(version, None) or self._checked(version)
        self._read[version] = found  # the last one read stands last
        if len(self._read) > MOST_KEPT:
            del self._read[next(iter(self._read))]
        return found

    def _checked(self, version: str) -> PrintedPaper:
        with_place = self.where.under(f"version {version}" if version else "the paper")
        try:
            return read_paper(self.versions[version].read())
        except Mistake as mistake:
            raise mistake.at(with_place) from None
        except (
            KeyError,
            TypeError,
            ValueError,
            IndexError,
            AttributeError,
            ZeroDivisionError,
            InvalidOperation,
            OverflowError,
        ) as broken:
            raise Mistake(
                f"the record is damaged ({type(broken).__name__}: {shortened(str(broken))})",
                where=with_place,
                do="Use the file as it was written beside the paper.",
            ) from None

    def find(self, text: str) -> str:
        """The version that a code or a version as typed means. Raises Mistake where there is none, or more than one."""
        asked = squashed(text)
        for version, held in self.versions.items():
            if asked == squashed(held.code) or text.strip().casefold() == version.casefold():
                return version
        numbers = [version for version in self.versions if version.isdecimal()]
        if asked.isdecimal() and len(asked) <= 4:
            same = [version for version in numbers if int(version) == int(asked)]
            if same:
                return same[0]
        if asked in ("", squashed(self.code)):
            if len(self.versions) == 1:
                return next(iter(self.versions))
            raise Mistake(
                f"the paper has {len(self.versions)} versions and {shortened(text)} does not say which",
                expected=f"a code with its version, such as {next(iter(self.versions.values())).code}",
            )
        codes = [held.code for held in self.versions.values()]
        known = codes if len(asked) > 4 else [version for version in self.versions if version]
        raise Mistake(
            f"the paper code {shortened(text)} is not in the record of {self.code}",
            expected="a code or a version of this paper",
            near=nearest(text.strip(), known),
        )


def squashed(code: str) -> str:
    """A code without what people add or misread: spaces, hyphens, I, L, O and U."""
    return re.sub(r"[\s\-–−]+", "", code).upper().translate(str.maketrans("ILOU", "110V"))


def read_record(path: Path) -> Record:
    """The record in a file, with the files numbered beside it. Raises Mistake for what is none."""
    named = _NUMBERED.fullmatch(path.name)
    if named is None:
        return _in_file(path)
    stem, _, ending = named.groups()
    found = {
        int(one.name[len(stem) + 1 : -len(ending)]): one
        for one in path.parent.glob(f"{escape(stem)}-*{ending}")
        if _NUMBERED.fullmatch(one.name)
    }
    return joined([_in_file(found[number]) for number in sorted(found)][:MOST_FILES])


def joined(parts: Sequence[Record]) -> Record:
    """One record of several files. Raises Mistake where they are not of one paper, or where one is missing."""
    first = parts[0]
    versions = {version: held for part in parts for version, held in part.versions.items()}
    for part in parts:
        if (part.code, part.fingerprint) != (first.code, first.fingerprint):
            raise Mistake(
                f"this is the record of {part.code}, and {first.where.file} that of {first.code}",
                where=part.where,
                expected="numbered files of one record in a folder",
            )
    if len(versions) < sum(len(part.versions) for part in parts):
        raise Mistake("a version stands in two files of the record", where=first.where)
    slips = {key: facts for part in parts for key, facts in part.slips.items()}
    return Record(
        code=first.code,
        fingerprint=first.fingerprint,
        versions=versions,
        slips=slips,
        where=first.where,
        masses=first.masses,
        style=first.style,
        order=first.order,
        level=first.level,
    )


def _in_file(path: Path) -> Record:
    where = Where(str(path))
    try:
        if path.is_file():
            return as_read(lines_at_most(path, MOST_BYTES, MOST_LINE), where, path)
        raw = read_at_most(path, MOST_BYTES)  # a pipe can be read once only: its lines are held
        if raw is None:
            raise _too_large(where)
        return as_read(((0, line) for line in raw.splitlines(keepends=True)), where)
    except OSError as broken:
        raise Mistake(f"the record cannot be read ({broken.strerror or broken})", where=where) from None


def _too_large(where: Where) -> Mistake:
    return Mistake("the record is too large", expected=f"at most {MOST_BYTES // 1_000_000} MB", where=where)


def order_in(path: Path) -> str:
    """The text of the order in a record, "" in that of a practice: its first line alone is read. Raises Mistake for no record."""
    where = Where(str(path))
    try:
        first = next(lines_at_most(path, MOST_BYTES, MOST_LINE), (0, b""))[1]
    except OSError as broken:
        raise Mistake(f"the record cannot be read ({broken.strerror or broken})", where=where) from None
    heading = _document(first, where) if first and len(first) < _MOST_HEADING else None
    if not isinstance(heading, dict) or "schema" not in heading:
        raise Mistake("this is not the record of a paper", expected=f"the file …{SUFFIX}", where=where)
    return str(heading.get("order", ""))


def as_read(lines: Iterable[tuple[int, bytes | None]], where: Where, path: Path | None = None) -> Record:
    """A record from its lines, each with the place in its file where it begins; without a file, the lines themselves are kept.

    A line that is None was too long. Raises Mistake for what is no record. No paper but one stands in memory at a time.
    """
    waiting = iter(lines)
    at, first = next(waiting, (0, b""))
    heading = _document(first, where) if first is not None and len(first) < _MOST_HEADING else None
    if not isinstance(heading, dict) or "schema" not in heading:
        raw = (
            read_at_most(path, MOST_BYTES) if path else b"".join([first or b"", *(line or b"" for _, line in waiting)])
        )
        return _of_old_form(raw, where)
    if heading["schema"] != SCHEMA:
        raise Mistake(
            f"the record has the schema number {shortened(str(heading['schema']))}",
            expected=f"{SCHEMA}",
            where=where,
            do="Mark it with the version of molewright that wrote it.",
        )
    versions: dict[str, Held] = {}
    slips: dict[str, SlipFacts] = {}
    for at, line in waiting:
        if line is None:
            raise _too_large(where)
        if not line.strip():
            continue
        document = _document(line, where)
        if isinstance(document, dict) and isinstance(document.get("slips"), dict) and "questions" not in document:
            slips.update((str(key), read_slip(held)) for key, held in document["slips"].items())
        else:
            version = _version(document, where)
            read = partial(_line_in, path, at, len(line), where) if path else partial(_document, line, where)
            if version in versions:
                raise Mistake(f"the version {shortened(version)} stands twice in the record", where=where)
            versions[version] = Held(str(document.get("code", "")), read)
            if len(versions) > MOST_PAPERS:
                raise Mistake(f"more than {MOST_PAPERS} papers in a file of the record", where=where)
    return _whole(heading, versions, slips, where)


def _of_old_form(raw: bytes | None, where: Where) -> Record:
    """A record of version 0.2.0: one document, all papers in it."""
    if raw is None:
        raise _too_large(where)
    whole = _document(raw, where)
    if not isinstance(whole, dict) or not isinstance(whole.get("versions"), list) or "paper code" not in whole:
        raise Mistake("this is not the record of a paper", expected=f"the file …{SUFFIX}", where=where)
    versions: dict[str, Held] = {}
    for held in whole["versions"]:
        versions[_version(held, where)] = Held(str(held.get("code", "")), partial(_old, held))
    facts = whole.get("slips", {})
    slips = {str(key): read_slip(held) for key, held in facts.items()} if isinstance(facts, dict) else {}
    return _whole(whole, versions, slips, where)


def _old(held: Any) -> Any:
    return held


def _document(line: bytes, where: Where) -> Any:
    """One JSON document. Raises Mistake for what is none, or holds half a letter, which no coding can write."""
    try:
        document = json.loads(line)
        if _HALF_LETTER.search(line):
            json.dumps(document, ensure_ascii=False).encode()
    except (ValueError, RecursionError) as broken:
        raise Mistake(
            f"this is not JSON ({shortened(str(broken))})", expected=f"the file …{SUFFIX} of a paper", where=where
        ) from None
    return document


def _line_in(path: Path, at: int, length: int, where: Where) -> Any:
    """A line of a file, read again. What has changed since is as damaged as what never was a line."""
    try:
        with path.open("rb") as stream:
            stream.seek(at)
            return _document(stream.read(length), where)
    except OSError as broken:
        raise Mistake(f"the record cannot be read ({broken.strerror or broken})", where=where) from None


def _version(held: Any, where: Where) -> str:
    if not isinstance(held, dict) or not isinstance(held.get("questions"), list):
        raise Mistake("a version in the record is damaged", where=where)
    return str(held.get("version", ""))


def _whole(
    heading: Mapping[str, Any], versions: Mapping[str, Held], slips: Mapping[str, SlipFacts], where: Where
) -> Record:
    if not versions:
        raise Mistake("the record holds no version", where=where)
    for code in (heading.get("paper code"), *(held.code for held in versions.values())):  # files are called by it
        if not isinstance(code, str) or not re.fullmatch(r"[0-9A-Z-]{0,200}", code):
            raise Mistake(
                f"the paper code {shortened(str(code))} in the record",
                where=where,
                expected="capital letters, digits and hyphens",
            )
    masses, style = str(heading.get("relative atomic masses", "")), str(heading.get("units", ""))
    return Record(
        code=str(heading["paper code"]),
        fingerprint=str(heading.get("banks", "")),
        versions=versions,
        slips=slips,
        where=where,
        masses=masses,
        style=style,
        order=str(heading.get("order", "")),
        level=str(heading.get("level", "")),
    )
