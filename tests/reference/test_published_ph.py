"""pH values along a titration, and solubility products, as books print them (published_ph.json), described as experiments and solved.

Where the procedure brings more salt or acid than it starts with, the book's ratio formula holds as well; the last column is the pH of
all charges together, which the approximation must keep to within two units of the last figure.
"""

from __future__ import annotations

import json
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from molewright.bank.definitions import Bank
from molewright.chem.quantity import half_up
from molewright.derivation.plans import Plans
from molewright.errors import Where
from molewright.question.put_back import MOST_APART_PH
from molewright.solve.described import described, solve

ROWS: dict[str, dict[str, Any]] = json.loads((Path(__file__).parent / "published_ph.json").read_text("utf-8"))


@pytest.mark.parametrize("key", sorted(ROWS))
def test_a_published_ph_is_found(key: str, bank: Bank) -> None:
    row = ROWS[key]
    lines = "\n".join(f"  {line}" for line in row["procedure"])
    text = f"experiment: {key}\nprocedure:\n{lines}\nasked: {row['asked']}\n"
    worked = solve(described(text, Where(key), bank), Plans("test", None))
    printed = Decimal(row["printed"].replace("×10^", "E").replace(" ", ""))
    places = -int(printed.as_tuple().exponent)
    found = half_up(worked.exact, places)
    if "misprint" in row:  # the source is wrong, and the tool must not agree with it
        assert found != printed
        assert float(worked.exact) == pytest.approx(float(row["right"]), rel=1e-6)
        return
    assert found == printed, float(worked.exact)
    if worked.plan.asked.kind == "pH":
        assert abs(float(worked.exact) - row["by charge balance"]) < MOST_APART_PH
