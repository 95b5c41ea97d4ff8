"""Worked examples of hardness and of salts of which both ions are oxidised, each described as an experiment and solved.

further_ways.json holds the answer of each as printed, with its source; where the source differs, what is right and why. Under "also"
stand further answers of the same example, by the quantity that is asked for.
"""

from __future__ import annotations

import json
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from molewright.bank.definitions import Bank
from molewright.chem.quantity import half_up
from molewright.chem.units import parse_unit
from molewright.derivation.plans import Plans
from molewright.errors import Where
from molewright.solve.described import described, solve

ROWS: dict[str, dict[str, Any]] = json.loads((Path(__file__).parent / "further_ways.json").read_text("utf-8"))
CASES = [
    (name, asked, printed, row)
    for name, row in ROWS.items()
    for asked, printed in {row["asked"]: row.get("right", row["printed"]), **row.get("also", {})}.items()
]


@pytest.mark.parametrize(("name", "asked", "printed", "row"), CASES, ids=[f"{case[0]}: {case[1]}" for case in CASES])
def test_published_example_of_a_further_way_is_solved(
    bank: Bank, name: str, asked: str, printed: str, row: dict[str, Any]
) -> None:
    lines = "\n".join(f"  - {line}" for line in row["procedure"])
    text = f"experiment: {name}\nprocedure:\n{lines}\nasked: {asked}\n"
    worked = solve(described(text, Where(name), bank), Plans(bank.fingerprint, None))
    unit = parse_unit(row["unit"]) if row["unit"] else worked.answer.unit
    places = max(0, -int(Decimal(printed).as_tuple().exponent))
    assert half_up(worked.exact / unit.factor, places) == Decimal(printed)


def test_what_differs_says_why() -> None:
    assert all(row["verdict"] == "agrees" or (row["right"] != row["printed"] and row["why"]) for row in ROWS.values())
