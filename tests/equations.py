"""Types the equations of the banks, right and wrong, and has them judged: `python tests/equations.py --count 10000`.

No right one may be judged wrong, and no wrong one right; ends with 1 where one is. Tells how many are left to the teacher.
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from pathlib import Path

from molewright.answer.equations import judge_equation
from molewright.chem.reaction import Reaction
from molewright.marking.typed_equations import read_equation

sys.path.insert(0, str(Path(__file__).parent))
from shared.asked_equations import every_equation
from shared.banks import built_in
from shared.made_equations import made_equations


def main() -> int:
    """Print what is misjudged, then the counts."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--count", type=int, default=10_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--unread", type=int, default=0, metavar="N", help="show so many of those that are not read")
    chosen = parser.parse_args()
    counts: Counter[str] = Counter()
    for one in made_equations(every_equation(built_in()), chosen.count, chosen.seed):
        read = read_equation(one.text, one.asked)
        truth = "right" if one.right else "wrong"
        if not isinstance(read, Reaction):
            counts[f"{truth}, left to the teacher"] += 1
            if chosen.unread > 0:
                chosen.unread -= 1
                print(f"not read: {one.text!r}: {read} ({one.mistake or 'right'})")
            continue
        judged = judge_equation(one.asked, read)
        counts[truth] += 1
        if judged.right != one.right:
            counts["misjudged"] += 1
            print(f"misjudged: {one.text!r} for {one.asked.reaction} ({one.mistake or 'right'}): {judged}")
    told = ", ".join(f"{number} {what}" for what, number in sorted(counts.items()))
    print(f"{chosen.count} typed equations: {told}; {counts['misjudged']} misjudged")
    return 1 if counts["misjudged"] or counts["right, left to the teacher"] else 0


if __name__ == "__main__":
    sys.exit(main())
