"""Pupils who solve from the printed text get the marks that the printed rule gives, and their mistakes are named as what they are."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from fractions import Fraction
from pathlib import Path

import pytest

from molewright.answer.judge import Judged
from molewright.bank.definitions import Bank
from molewright.derivation.plans import Plans
from shared.pupil_classes import bounds_missed, run_classes
from shared.solving_pupils import Way, molar_mass, read_paper, understood
from shared.unlike_numbers import as_number, rounded, spelt

PAPER = """\
• Relative atomic masses: Ca 40.1, C 12.0, H 1.0, Cl 35.5, O 16.0.

1    A shell lay on the beach. 0.500 g of it was weighed into a flask. 50.0 cm³ of 0.200 mol dm⁻³ hydrochloric
     acid was added (an excess). What was left was titrated with 0.100 mol dm⁻³ sodium hydroxide solution. The
     mean titre was 10.00 cm³.

                 CaCO₃(s) + 2HCl(aq) → CaCl₂(aq) + CO₂(g) + H₂O(l)

     (a)  Calculate the amount of HCl left over after the reaction.   [1 mark]

     (b)  Calculate the total amount of HCl added.                    [1 mark]

     (c)  Use your answers to parts (a) and (b) to calculate the amount of HCl
          that reacted.                                               [1 mark]

     (d)  Use your answer to part (c) to calculate the amount of CaCO₃ in the
          shell.                                                      [1 mark]

     (e)  Use your answer to part (d) to calculate the percentage by mass of
          CaCO₃ in the shell.                                         [1 mark]
"""
# 1.000 mmol left of 10.00 mmol, 9.00 mmol reacted with 4.50 mmol, 0.4505 g of 0.500 g: 90.1 % (common practice, worked by hand)
PRINTED = {"a": "1.000 × 10⁻³ mol", "b": "0.01000 mol", "c": "9.00 × 10⁻³ mol", "d": "4.50 × 10⁻³ mol", "e": "90.1 %"}


def test_a_pupil_reads_a_paper_and_finds_how_each_part_is_worked() -> None:
    (read,) = read_paper(PAPER)
    known = understood(read, PRINTED)
    assert known is not None
    assert known["c"] == Way((), ("b",), "a")
    assert dict(known["d"].factors) == {"ratio": 0.5}
    assert known["e"].value({"d": 4.5e-3}) == pytest.approx(90.09, abs=0.01)
    assert understood(read, {**PRINTED, "d": "7.77 × 10⁻³ mol"}) is None


@pytest.mark.parametrize(
    ("formula", "mass"), [("CaCO3", 100.1), ("Ca(OH)2", 74.1), ("CaCl2·2H2O", 147.1), ("Ca²⁺", 40.1), ("NaCl", None)]
)
def test_a_molar_mass_is_added_up(formula: str, mass: float | None) -> None:
    found = molar_mass(formula, {"Ca": 40.1, "C": 12.0, "H": 1.0, "Cl": 35.5, "O": 16.0})
    assert found == (pytest.approx(mass) if mass else None)


@pytest.mark.parametrize("manner", range(4))
@pytest.mark.parametrize(("number", "figures"), [(0.0023746, 4), (27.30, 4), (94.9, 3), (0.1004, 3), (1.535e-3, 3)])
def test_a_spelling_means_the_rounded_number(number: float, figures: int, manner: int) -> None:
    told = spelt(number, figures, manner).replace("E", " × 10^").replace(" x ", " × ")
    power = Fraction(10) ** int(told.partition("^")[2] or 0) if "^" in told else None
    found = float(told.partition(" ×")[0]) * float(power) if power is not None else as_number(told)
    assert found == pytest.approx(rounded(number, figures), rel=1e-9)


def test_a_value_a_thousand_times_too_large_is_carried_on_with_its_own_three_figures(
    mark: Callable[[Mapping[int, str]], dict[int, Judged]],
) -> None:
    # the titre left in cm³: 2.60, 26.0, 0.0500 - 26.0 = -25.95, -26.0 / 2 = -13.0, -13.0 x 100.1 = -1301 (worked by hand)
    lines = {1: "2.60", 2: "26.0", 3: "0.0500", 4: "-25.95", 5: "-13.0", 6: "-1.30 x 10^3"}
    found = mark(lines)
    assert found[1].verdict == "slip"
    assert [found[number].verdict for number in (2, 4, 5, 6)] == ["carried forward"] * 4
    assert mark({**lines, 6: "-1.29 x 10^3"})[6].verdict != "carried forward"


@pytest.mark.thorough
def test_marks_are_those_of_the_printed_rule_and_mistakes_are_named(bank: Bank, tmp_path: Path) -> None:
    tally = run_classes(bank, Plans(bank.fingerprint, None), tmp_path, range(1, 9), 10)
    assert not bounds_missed(tally), "\n".join(tally.told())
    assert tally.counts["understood"] > tally.counts["printed"] / 2
