"""Types known values in many spellings and reads them back: `python tests/spellings.py --count 100000`.

None may be read as another number than it means; ends with 1 where one is. Tells how many are read, and with --unread which are not.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from molewright.answer.written import Written
from molewright.marking.typed_answers import Asked, read_answer

sys.path.insert(0, str(Path(__file__).parent))
from shared.made_spellings import made_spellings


def main() -> int:
    """Print what is misread, then the counts."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--count", type=int, default=100_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--unread", type=int, default=0, metavar="N", help="show so many of those that are not read")
    chosen = parser.parse_args()
    meant = read = misread = 0
    for one in made_spellings(chosen.count, chosen.seed):
        found = read_answer(one.text, Asked(one.unit, one.type))
        here = found.in_unit(one.unit) if isinstance(found, Written) else None
        meant += one.means is not None
        if here is not None and here.number == one.means:
            read += 1
        elif here is not None:
            misread += 1
            print(f"misread: {one.text!r} ({one.unit or one.type}) means {one.means}, read as {here.number}")
        elif one.means is not None and chosen.unread > 0:
            chosen.unread -= 1
            print(f"not read: {one.text!r} ({one.unit or one.type}): {found}")
    print(
        f"{chosen.count} spellings, {meant} of one number: {read} read, {meant - read} left to the teacher, {misread} misread"
    )
    return 1 if misread else 0


if __name__ == "__main__":
    sys.exit(main())
