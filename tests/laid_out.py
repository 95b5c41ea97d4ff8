"""Lays out every kind of question, in every level, sheet and look, and tells what is wrong with the pages: `python tests/laid_out.py`.

Nothing is wider than its column, no number stands apart from its unit, nothing is too small to read, no page runs over or is bare.
`--look NAME` takes one look, `--every N` every Nth kind. Ends with 1 where anything is found.
"""

from __future__ import annotations

import argparse
import sys
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from pathlib import Path

from molewright.bank.readers.whole_bank import read_bank
from molewright.derivation.plans import Plans
from molewright.draw.stream import Stream
from molewright.errors import Mistake
from molewright.order.choices import LOOKS
from molewright.papers.writing import SHEET_MAKERS
from molewright.question.check import Questions
from molewright.sheet.compose import Composer, Setting
from molewright.sheet.parts import LEVELS

sys.path.insert(0, str(Path(__file__).parent))
from shared.laid_out import faults

_MAKERS: list[Questions] = []


def maker() -> Questions:
    """The question maker of this process."""
    if not _MAKERS:
        bank = read_bank()
        _MAKERS.append(Questions(bank, Plans(bank.fingerprint, None)))
    return _MAKERS[0]


def of_kind(seed: int, looks: tuple[str, ...], key: str) -> tuple[int, list[str]]:
    """Sheets laid out and faults found for one kind of question."""
    made = maker()
    try:
        question = made.make(made.bank.archetypes[key], Stream(f"laid out/{key}/{seed}"))
    except Mistake as mistake:
        return 0, [f"{key}: {mistake}"]
    count, found = 0, []
    for level in LEVELS:
        for look in looks:
            setting = Setting(title="Laid out", code="-", levels=(level,), version="A", look=look)  # type: ignore[arg-type]
            composer = Composer((question,), made.bank, setting)
            for name, sheet in SHEET_MAKERS.items():
                count += 1
                found += [f"{key}, {level}, {look}, {name}: {fault}" for fault in faults(sheet(composer))]
    return count, found


def main() -> int:
    """Print every fault, then the count."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--look", choices=LOOKS)
    parser.add_argument("--every", type=int, default=1)
    parser.add_argument("--only", action="append", default=[])
    parser.add_argument("--seed", type=int, default=1)
    chosen = parser.parse_args()
    looks = (chosen.look,) if chosen.look else LOOKS
    kinds = chosen.only or sorted(maker().bank.archetypes)[:: chosen.every]
    laid, wrong = 0, 0
    with ProcessPoolExecutor() as workers:
        for count, found in workers.map(partial(of_kind, chosen.seed, looks), kinds, chunksize=4):
            laid += count
            wrong += len(found)
            print(*found, sep="\n", end="\n" if found else "", flush=True)
    print(f"{laid} sheets laid out, {wrong} faults")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
