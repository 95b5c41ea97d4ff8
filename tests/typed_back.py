"""Types what mark schemes print back in, and compares marks one by one: `python tests/typed_back.py --lines 100000`.

Every kind of question in every level, seed after seed, until so many lines were typed. Ends with 1 where any marks differ.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from pathlib import Path

from molewright.bank.readers.whole_bank import read_bank
from molewright.derivation.plans import Plans
from molewright.draw.stream import Stream
from molewright.errors import Mistake
from molewright.further_parts.equations.which import EQUATION_KINDS
from molewright.question.asked_equation import with_equation
from molewright.question.check import Questions
from molewright.sheet.parts import LEVELS

sys.path.insert(0, str(Path(__file__).parent))
from shared.typed_back import differences

_MAKERS: list[Questions] = []


def maker() -> Questions:
    """The question maker of this process."""
    if not _MAKERS:
        bank = read_bank()
        _MAKERS.append(Questions(bank, Plans(bank.fingerprint, None)))
    return _MAKERS[0]


def of_kind(seed: int, key: str) -> tuple[int, list[str]]:
    """Lines typed and differences found for one kind and seed, at every level, with its stretch part and with equations."""
    made = maker()
    try:
        question = made.make(made.bank.archetypes[key], Stream(f"typed back/{key}/{seed}"))
    except Mistake as mistake:
        return 0, [f"{key}, seed {seed}: {mistake}"]
    typed, found = 0, []
    with tempfile.TemporaryDirectory() as folder:
        equations = (with_equation(made, question, kind) for kind in EQUATION_KINDS[seed % 2 :: 2])
        asked = [(LEVELS[1 + at % 2], one) for at, one in enumerate(equations) if one is not question]
        for level, one in [*((level, question) for level in LEVELS), ("exam", made.stretched(question)), *asked]:
            count, wrong = differences(one, level, made.bank, Path(folder))
            typed += count
            found += wrong
    return typed, found


def main() -> int:
    """Print every difference, then the count."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--lines", type=int, default=100_000)
    parser.add_argument("--only", action="append", default=[])
    parser.add_argument("--first-seed", type=int, default=1)
    chosen = parser.parse_args()
    kinds = chosen.only or sorted(maker().bank.archetypes)
    typed, wrong, seed = 0, 0, chosen.first_seed
    with ProcessPoolExecutor() as workers:
        while typed < chosen.lines:
            for count, found in workers.map(partial(of_kind, seed), kinds, chunksize=4):
                typed += count
                wrong += len(found)
                print(*found, sep="\n", end="\n" if found else "", flush=True)
            seed += 1
    print(f"{typed} lines typed back in, {wrong} differ")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
