"""Records of papers come in; the answers of a believable class go out: pupils with habits, lines left out, some unreadable."""

from __future__ import annotations

import csv
import json
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from molewright.draw.stream import Stream

HABITS = ("S01", "S02", "S03", "S11", "S12", "S16", "S21", "S22", "S33", "S36", "S42", "S43", "S47", "S64", "S66")
UNREADABLE = ("see working", "1.2 or 1.3", "?")

Who = Sequence[tuple[str, str]]
"""Pupils by name, each with the whole code of the paper."""


def papers_in(folder: Path) -> dict[str, Any]:
    """The papers of all records in a folder, by their codes."""
    found = {}
    for path in sorted(folder.glob("*-record*.jsonl")):
        for line in path.read_text("utf-8").splitlines():
            document = json.loads(line)
            if isinstance(document.get("questions"), list):
                found[document["code"]] = document
    return found


def write_answers(
    papers: Mapping[str, Any], who: Who, path: Path, cured: frozenset[str] = frozenset(), seed: str = "1"
) -> None:
    """The answers of a class, one row each. Whoever is `cured` has lost the habit."""
    rows: list[tuple[str, ...]] = [("paper code", "pupil", "question", "part", "answer")]
    for name, code in who:
        rows += [
            (code, name, *row) for row in _answers(papers[code], Stream(name), Stream(f"{name}/{seed}"), name in cured)
        ]
    with path.open("w", newline="", encoding="utf-8-sig") as file:
        csv.writer(file).writerows(rows)


def _answers(paper: Mapping[str, Any], pupil: Stream, day: Stream, cured: bool) -> Iterator[tuple[str, str, str]]:
    habits = (pupil.pick(HABITS), pupil.pick(HABITS))
    strong = 45 + pupil.whole(0, 50)
    for question in paper["questions"]:
        points = question["points"]
        slips = [one for one in question["slips"] if len(one["slips"]) == 1 and one["loses"]]
        mine = [] if cured else [one for one in slips if one["slips"][0] in habits]
        slip = day.pick(mine) if mine else None if day.chance(strong) else day.pick(slips) if slips else None
        lost = min(slip["loses"]) if slip else len(points) + 1
        ends = {str(point["part"]).strip("() "): point for point in points}
        for part, point in ends.items():
            yield str(question["question"]), part, _written(question, point, point is points[-1], slip, lost, day)


def _written(
    question: Mapping[str, Any],
    point: Mapping[str, Any],
    last: bool,
    slip: Mapping[str, Any] | None,
    lost: int,
    day: Stream,
) -> str:
    """What stands on one line: blank, a scrawl, the right value, the slip's last value, or nothing between the slip and it."""
    if day.chance(3):
        return day.pick(UNREADABLE)
    if last and slip:
        unit = str(question["answer"]).partition("\u00a0")[2]
        return f"{float(slip['gives']):.4g} {unit}".strip()
    if point["mark point"] >= lost or day.chance(4):
        return ""
    return str(question["answer"] if last else point["answers"][-1]["answer"])
