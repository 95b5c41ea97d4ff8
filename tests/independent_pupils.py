"""Classes of pupils who solve from the printed text, each with habits and slips of their own: `python tests/independent_pupils.py`.

What their answers are worth is counted by the rule that mark schemes print: a part is worth its mark if it follows from the pupil's own
answers before it; a right final answer pays for parts that were left empty. Marks are compared question by question. Then single
mistakes, described here in words, are made, and the names that the marker prints are looked at. Ends with 1 where a bound is missed.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from pathlib import Path

from molewright.bank.readers.whole_bank import read_bank
from molewright.derivation.plans import Plans

sys.path.insert(0, str(Path(__file__).parent))
from shared.pupil_classes import bounds_missed, run_classes


def main() -> int:
    """Print what was found, and every difference."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--classes", type=int, default=12)
    parser.add_argument("--first-seed", type=int, default=1)
    parser.add_argument("--questions", type=int, default=10)
    chosen = parser.parse_args()
    bank = read_bank()
    with tempfile.TemporaryDirectory() as folder:
        seeds = range(chosen.first_seed, chosen.first_seed + chosen.classes)
        tally = run_classes(bank, Plans(bank.fingerprint, None), Path(folder), seeds, chosen.questions)
    for line in tally.told():
        print(line)
    missed = bounds_missed(tally)
    for line in missed:
        print(line)
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main())
