"""The codes on returned answers come in; the record of their paper goes out: from a file, or made again in memory from its code."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator, Sequence
from functools import partial
from pathlib import Path
from typing import Any

from molewright.bank.definitions import Bank
from molewright.derivation.plans import Plans
from molewright.errors import Mistake, Where, shortened
from molewright.machine import places
from molewright.order.order import Order, Wanted
from molewright.papers.code import read_code, versioned
from molewright.papers.making import PaperMaker
from molewright.papers.record.form import PATTERNS, SUFFIX
from molewright.papers.record.reader import Held, Record, joined, read_record, squashed
from molewright.papers.record.writer import record

MOST_FILES = 500
_FURTHER = re.compile(r"-record-(?!1\.)[0-9]+\.jsonl$")
LEAST_CODE = 7  # letters; what is shorter is a version


def find_record(codes: Sequence[str], given: Path | None, beside: Path, bank: Bank, plans: Plans) -> Record:
    """The record of the paper that these codes (as typed, some of them versions only) belong to.

    `given` is a record or a folder with records; without it, records are looked for beside the answers and where papers go.
    """
    whole = next((code for code in codes if len(squashed(code)) >= LEAST_CODE), "")
    if given is not None:
        if given.is_dir():
            below = [path for depth in ("", "*/", "*/*/") for path in _records_in(given, depth)]
            return _chosen(sorted(set(below))[:MOST_FILES], whole, given)
        return read_record(given)
    near = [path for folder in (beside.parent, places.papers()) if folder.is_dir() for path in _records_in(folder)]
    if whole:
        found = _matching(sorted(set(near))[:MOST_FILES], whole)
        return found if found is not None else rebuilt(codes, bank, plans)
    if len(near) == 1:
        return read_record(near[0])
    raise Mistake(
        "the answers do not name their paper",
        expected="a column 'paper code' with the code printed on each page",
        where=Where(str(beside)),
        do="Or name the record of the paper with --record.",
    )


def _records_in(folder: Path, depth: str = "") -> Iterator[Path]:
    """The records in a folder: of a numbered one its first file, which stands for all."""
    for pattern in PATTERNS:
        yield from (path for path in folder.glob(f"{depth}{pattern}") if not _FURTHER.search(path.name))


def _chosen(paths: Sequence[Path], code: str, folder: Path) -> Record:
    if not paths:
        raise Mistake(
            "no record of a paper lies in this folder", expected=f"a file …{SUFFIX}", where=Where(str(folder))
        )
    if code:
        found = _matching(paths, code)
        if found is None:
            raise Mistake(
                f"no record of the paper {shortened(code)} lies in this folder",
                where=Where(str(folder)),
                do="Check the code, or leave --record out: the paper is then made again from its code.",
            )
        return found
    if len(paths) > 1:
        raise Mistake(
            f"{len(paths)} records lie in this folder: {', '.join(path.name for path in paths[:4])}{' ...' if len(paths) > 4 else ''}",
            expected="one, or a paper code in the answers",
            where=Where(str(folder)),
            do="Name the one that these answers belong to: --record FILE.",
        )
    return read_record(paths[0])


def _matching(paths: Iterable[Path], code: str) -> Record | None:
    """The record whose paper this code names; records whose file name tells the code are read first.

    A version that was made later has a record of its own beside the first: they are read as one. Raises Mistake where two files hold
    other papers of one code: which of them marks the answers is not guessed.
    """
    asked = squashed(code)
    ordered = sorted(paths, key=lambda path: squashed(path.name.partition("-record")[0])[-5:] != asked[-5:])
    parts: list[Record] = []
    for path in ordered:
        try:
            found = read_record(path)
        except Mistake:
            continue  # another file of that name: what is sought may still be there
        own = squashed(found.code)
        if not own or not (found.code == parts[0].code if parts else asked.endswith(own)):
            continue
        other = next((part for part in parts if _contradict(part, found)), None)
        if other is not None:
            raise Mistake(
                f"two records of the paper {found.code}, {other.where.file} and {found.where.file}, hold different papers",
                expected="one record of a paper",
                do="Name the one that these answers belong to: --record FILE.",
            )
        held = {version for part in parts for version in part.versions}
        if not held & found.versions.keys():
            parts.append(found)
    return joined(parts) if parts else None


def _contradict(one: Record, other: Record) -> bool:
    """Whether two records of one code are not parts, or copies, of one."""
    both = one.versions.keys() & other.versions.keys()
    if one.fingerprint != other.fingerprint:
        return True
    return any(one.versions[version].read() != other.versions[version].read() for version in both)


def rebuilt(codes: Sequence[str], bank: Bank, plans: Plans) -> Record:
    """The record of a paper made again from its code, in memory: only the versions that the codes name."""
    known = tuple(sorted(bank.archetypes))
    maker: PaperMaker | None = None
    asked: Order | None = None  # as the first code tells it; the maker settles what that leaves open
    versions: dict[str, None] = {}
    for code in dict.fromkeys(codes):
        if len(squashed(code)) < LEAST_CODE:
            versions[code.strip().upper()] = None
            continue
        order, version = read_code(code, known, bank.fingerprint)
        if maker is None:
            maker, asked = PaperMaker(bank, order, plans), order
        elif order != asked:
            raise Mistake(
                f"the answers name two papers, {maker.code} and {shortened(code)}",
                expected="the answers of one paper in a file",
            )
        versions[version or "A"] = None
    assert maker is not None
    if len(versions) > 1:
        versions.pop("", None)
    held = {
        one or "A": Held(versioned(maker.code, one or "A"), partial(_made_again, maker, one or "A")) for one in versions
    }
    where = Where(f"the paper {maker.code}, made again from its code")
    return Record(
        code=maker.code,
        fingerprint=bank.fingerprint,
        versions=held,
        slips={},
        where=where,
        masses=maker.order.masses,
        style=maker.order.style,
        level=maker.order.level,
    )


def _made_again(maker: PaperMaker, version: str) -> Any:
    """One paper's record, as it would be read from a file."""
    return json.loads(json.dumps(record(maker.paper(Wanted(), version))))
