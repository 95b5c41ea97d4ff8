"""Files of described experiments come in; the lines of an order that print them go out, or every fault with its line.

A file holds one experiment, or a list of them. Whether they are sound is asked when the order is settled.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from molewright.chem.conventions import CONVENTIONS, Convention
from molewright.errors import Mistake
from molewright.order.lines import OrderLine
from molewright.order.order import MOST_QUESTIONS
from molewright.order.order_file import experiment_line
from molewright.reading.each_asked import each_asked
from molewright.reading.fields import Faults, Fields
from molewright.reading.yaml_text import Branch, Keys, read_tree

MASSES_KEY = "relative atomic masses"


@dataclass(frozen=True, slots=True)
class DescribedLines:
    """The lines, and the convention for relative atomic masses that all of them name; None where none does."""

    lines: tuple[OrderLine, ...]
    masses: Convention | None


def read_experiments(paths: Sequence[Path]) -> DescribedLines:
    """The experiments of some files, in their order. Raises Mistake, or several at once, with file:line."""
    faults = Faults()
    found: list[tuple[OrderLine, Convention | None]] = []
    for path in paths:
        for branch in each_asked(read_tree(path, str(path))):
            line = faults.attempt(branch.where, lambda branch=branch: _line(branch))  # type: ignore[misc]
            found += [line] if line is not None else []
    faults.raise_if_any()
    if len(found) > MOST_QUESTIONS:
        raise Mistake(f"{len(found)} experiments", expected=f"at most {MOST_QUESTIONS} on one paper")
    named = {masses or "one place" for _, masses in found}
    if len(named) > 1:
        raise Mistake(
            f"these experiments name several conventions for relative atomic masses: {', '.join(sorted(named))}",
            expected="one for all that stands on a paper",
            do=f"Write the same under '{MASSES_KEY}', or name one with --masses.",
        )
    return DescribedLines(tuple(line for line, _ in found), next((masses for _, masses in found if masses), None))


def _line(branch: Branch) -> tuple[OrderLine, Convention | None]:
    fields = Fields(branch)
    fields.branch("procedure")
    masses: Convention | None = fields.one_of(MASSES_KEY, CONVENTIONS) if fields.has(MASSES_KEY) else None
    assert isinstance(branch, Keys)
    kept = {key: held for key, held in branch.items() if key != MASSES_KEY}
    line = experiment_line(Fields(replace(branch, members=kept)))
    return line, masses
