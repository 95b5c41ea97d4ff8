"""A folder of papers that were filled in on screen comes in; rows of answers go out, and the papers that could not be read.

The fields are named as `render/pdf` names them: 3(b) is the answer to part (b) of question 3, "3(b) 2" a second one of that part,
"name" the pupil; spaces for working are for the teacher's eyes.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

from molewright.errors import Mistake, Where, shortened
from molewright.machine.bounded_reading import read_at_most
from molewright.machine.filled_forms import FilledForm, read_form
from molewright.marking.returned_rows import Absent, Row
from molewright.order.class_list import MOST_PUPILS, clean_name

MOST_BYTES = 20_000_000  # of a paper
NAME = "name"
_ANSWER = re.compile(r"(?P<question>[0-9]{1,3})(?:\((?P<part>[a-z)(]{1,8})\))?(?: [0-9]{1,2})?")
_GAP = re.compile(r"(?P<question>[0-9]{1,3})\((?P<part>[a-z)(]{1,8})\) gap (?P<at>[0-9]{1,2})")
_COEFFICIENT = re.compile(r"[0-9]{1,2}")
_CODE = re.compile(r"\b([0-9A-Z]{1,5}(?:-[0-9A-Z]{1,4}){2,14})\s+(?:Turn over\s+)?page [0-9]+ of [0-9]+")
_PRINTED_NAME = re.compile(r"^Name (.+)$", re.MULTILINE)


@dataclass(slots=True)
class Papers:
    """What a folder of filled papers holds: answers, papers with nothing in them, and the files that could not be read, with why."""

    rows: list[Row] = field(default_factory=list)
    blank: list[Absent] = field(default_factory=list)
    unreadable: list[str] = field(default_factory=list)


def read_forms(folder: Path, tried: Callable[[str], object]) -> Papers:
    """The answers on the filled papers of a folder. Raises Mistake where none of them could be read."""
    where = Where(str(folder))
    files = sorted(path for path in folder.iterdir() if path.suffix.casefold() == ".pdf")
    if not files:
        raise Mistake("no filled papers (.pdf) lie in this folder", where=where,
                      expected="the papers that pupils typed into, or the name of a file of answers")  # fmt: skip
    if len(files) > MOST_PUPILS:
        raise Mistake(f"more than {MOST_PUPILS} papers", expected="the papers of a school", where=where)
    found = Papers()
    for number, path in enumerate(files, 1):
        try:
            form = _form(path)
            pupil = _pupil(form, where)
            tried(pupil)
            code = _code(form)
            rows = list(_rows(form, number, path.name, pupil, code))
        except Mistake as mistake:
            found.unreadable.append(f"{path.name}: {mistake.found}")
            continue
        if rows:
            found.rows += rows
        else:
            found.blank.append(Absent(line=number, code=code, pupil=pupil, sheet=path.name))
    if not found.rows:
        told = f" ({'; '.join(found.unreadable[:6])})" if found.unreadable else ""
        raise Mistake(f"no paper in this folder holds an answer that can be read{told}", where=where)
    return found


def _form(path: Path) -> FilledForm:
    try:
        content = read_at_most(path, MOST_BYTES)
    except OSError as broken:
        raise Mistake(f"it cannot be read ({broken.strerror or broken})") from None
    if content is None:
        raise Mistake(f"it is larger than {MOST_BYTES // 1_000_000} MB")
    return read_form(content)


def _pupil(form: FilledForm, where: Where) -> str:
    """The name that was typed, or the one that is printed at the front of a pupil's own paper."""
    name = form.typed.get(NAME, "")
    if NAME not in form.typed and form.pages:
        printed = _PRINTED_NAME.search(form.pages[0])
        labels = [one for one in form.typed if re.fullmatch("[a-z ]+", one)]  # of what else is filled in beside it
        ends = re.compile(rf"\s+(?:{'|'.join(map(re.escape, labels))})\b.*" if labels else r"\Z", re.IGNORECASE)
        name = ends.sub("", printed[1]).strip() if printed else ""
    if not name:
        raise Mistake("no name stands on it")
    return clean_name(name, where)


def _code(form: FilledForm) -> str:
    """The paper's code, as it stands at the foot of each page."""
    codes = {code for page in form.pages for code in _CODE.findall(page)}
    if len(codes) != 1:
        raise Mistake("pages of several papers" if codes else "no paper code stands at the foot of its pages")
    return str(codes.pop())


def _rows(form: FilledForm, number: int, file: str, pupil: str, code: str) -> Iterator[Row]:
    """An answer for each part; what stands on several lines of a part is read together."""
    answers: dict[tuple[int, str], list[str]] = {}
    for name, text in form.typed.items():
        place = _ANSWER.fullmatch(name)
        if place is not None and text:
            answers.setdefault((int(place["question"]), place["part"] or ""), []).append(text)
    gaps = _gaps(form)
    for (question, part), texts in answers.items():
        yield Row(
            line=number,
            code=code,
            pupil=pupil,
            question=question,
            part=part,
            answer="; ".join(texts),
            sheet=file,
            gaps=gaps.get((question, part), ()),
        )


def _gaps(form: FilledForm) -> dict[tuple[int, str], tuple[str, ...]]:
    """What was typed into the blanks of each part, where it is nothing but numbers for an equation; an empty one stands for 1."""
    found: dict[tuple[int, str], dict[int, str]] = {}
    for name, text in form.typed.items():
        place = _GAP.fullmatch(name)
        if place is not None:
            found.setdefault((int(place["question"]), place["part"]), {})[int(place["at"])] = text
    return {
        place: tuple(held[at] or "1" for at in sorted(held))
        for place, held in found.items()
        if any(held.values()) and all(_COEFFICIENT.fullmatch(text) for text in held.values() if text)
    }


def told(unreadable: list[str]) -> list[str]:
    """A note on the papers that could not be read."""
    listed = "; ".join(shortened(one, 120)[1:-1] for one in unreadable)
    return (
        [f"{len(unreadable)} filled {'paper' if len(unreadable) == 1 else 'papers'} not read: {listed}"]
        if unreadable
        else []
    )
