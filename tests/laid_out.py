"""Lays out every kind of question, in every level, sheet and look, and tells what is wrong with the pages: `python tests/laid_out.py`.

Nothing is wider than its column, no number stands apart from its unit, nothing is too small to read, no page runs over or is bare.
`--html` asks headless Chromium of the same sheets as HTML whether anything sticks out of a desk's or a telephone's screen.
`--look NAME` takes one look, `--every N` every Nth kind. Ends with 1 where anything is found.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from contextlib import ExitStack
from functools import partial
from pathlib import Path
from typing import Any

from molewright.bank.readers.whole_bank import read_bank
from molewright.derivation.plans import Plans
from molewright.draw.stream import Stream
from molewright.errors import Mistake
from molewright.nodes.blocks import Sheet
from molewright.order.choices import LOOKS
from molewright.papers.finished import SHEET_MAKERS
from molewright.question.check import Questions
from molewright.render import renderer
from molewright.sheet.compose import Composer, Setting
from molewright.sheet.parts import LEVELS

sys.path.insert(0, str(Path(__file__).parent))
from shared.chromium import DESK, TELEPHONE, chromium, sticks_out
from shared.laid_out import faults

_MAKERS: list[Questions] = []
_BROWSERS = ExitStack()
_PAGES: list[Any] = []


def maker() -> Questions:
    """The question maker of this process."""
    if not _MAKERS:
        bank = read_bank()
        _MAKERS.append(Questions(bank, Plans(bank.fingerprint, None)))
    return _MAKERS[0]


def sheets_of(seed: int, looks: tuple[str, ...], key: str) -> Iterator[tuple[str, Sheet]]:
    """Every sheet of one kind of question, and what it is. Raises Mistake for a kind that cannot be drawn."""
    made = maker()
    question = made.make(made.bank.archetypes[key], Stream(f"laid out/{key}/{seed}"))
    for level in LEVELS:
        for look in looks:
            setting = Setting(title="Laid out", code="-", levels=(level,), version="A", look=look)  # type: ignore[arg-type]
            composer = Composer((question,), made.bank, setting)
            for name, sheet in SHEET_MAKERS.items():
                yield f"{key}, {level}, {look}, {name}", sheet(composer)


def of_kind(seed: int, looks: tuple[str, ...], in_a_browser: bool, key: str) -> tuple[int, list[str]]:
    """Sheets laid out and faults found for one kind of question."""
    count, found = 0, []
    judge = _sticking_out if in_a_browser else faults
    try:
        for name, sheet in sheets_of(seed, looks, key):
            count += 1
            found += [f"{name}: {fault}" for fault in judge(sheet)]
    except Mistake as mistake:
        found.append(f"{key}: {mistake}")
    return count, found


def _sticking_out(sheet: Sheet) -> list[str]:
    """What sticks out of a desk's and of a telephone's screen, asked of the browser of this process."""
    if not _PAGES:
        _PAGES.append(_BROWSERS.enter_context(chromium()).new_page())
    page, found = _PAGES[0], []
    page.set_content(renderer("html").render(sheet).decode())
    for width in (DESK, TELEPHONE):
        page.set_viewport_size({"width": width, "height": 900})
        wider, *out = sticks_out(page)
        found += [f"at {width}: {told} sticks out by {wider} pixels" for told in out or (["the page"] if wider else [])]
    return found


def main() -> int:
    """Print every fault, then the count."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--look", choices=LOOKS)
    parser.add_argument("--html", action="store_true")
    parser.add_argument("--every", type=int, default=1)
    parser.add_argument("--only", action="append", default=[])
    parser.add_argument("--seed", type=int, default=1)
    chosen = parser.parse_args()
    looks = (chosen.look,) if chosen.look else LOOKS
    kinds = chosen.only or sorted(maker().bank.archetypes)[:: chosen.every]
    laid, wrong = 0, 0
    with ProcessPoolExecutor() as workers:
        for count, found in workers.map(partial(of_kind, chosen.seed, looks, chosen.html), kinds, chunksize=4):
            laid += count
            wrong += len(found)
            print(*found, sep="\n", end="\n" if found else "", flush=True)
    print(f"{laid} sheets laid out, {wrong} faults")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
