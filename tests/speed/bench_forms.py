"""Default homeworks of six questions in every form: milliseconds of one core a sheet, kind by kind. Imports are not counted.

Run: python tests/speed/bench_forms.py [--small].
"""

from __future__ import annotations

import sys
import time
from math import fsum

from molewright.bank.readers.whole_bank import read_bank
from molewright.derivation.plans import Plans
from molewright.nodes.blocks import Sheet
from molewright.order.order import Order, Wanted
from molewright.papers.making import PaperMaker
from molewright.render import FORMS, renderer

SEEDS = range(1, 3 if "--small" in sys.argv else 17)


def sheets() -> list[dict[str, Sheet]]:
    """The four sheets of each homework."""
    bank = read_bank()
    plans = Plans("none", None)
    made = []
    for seed in SEEDS:
        composer = PaperMaker(bank, Order(seed=seed, count=6), plans).paper(Wanted(), "A").composer
        made.append(
            {
                "questions": composer.question_paper(),
                "scheme": composer.mark_scheme(),
                "worked": composer.worked_solutions(),
                "answers": composer.answers(),
            }
        )
    return made


def main() -> None:
    """Print the figures: the first homework warms each form up."""
    first, *others = sheets()
    kinds = list(first)
    print(f"{'ms of one core a sheet':24}" + "".join(f"{kind:>12}" for kind in (*kinds, "all")))
    for form in FORMS:
        render = renderer(form).render
        for sheet in first.values():
            render(sheet)
        spent: dict[str, list[float]] = {kind: [] for kind in kinds}
        for held in others:
            for kind, sheet in held.items():
                begun = time.process_time()
                render(sheet)
                spent[kind].append((time.process_time() - begun) * 1000)
        means = [fsum(each) / len(each) for each in spent.values()]
        print(f"{form:24}" + "".join(f"{mean:12.1f}" for mean in (*means, fsum(means) / len(means))))


if __name__ == "__main__":
    main()
