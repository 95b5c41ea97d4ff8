"""What two half-equations make, right or wrong, with their electrons balanced."""

from __future__ import annotations

import pytest

from molewright.answer.own_halves import put_together
from molewright.chem.reaction import parse_reaction


@pytest.mark.parametrize(
    ("one", "other", "made"),
    [
        ("MnO4^- + 8H^+ + 5e^- -> Mn^2+ + 4H2O", "Fe^2+ -> Fe^3+ + e^-", "MnO4^- + 8H^+ + 5Fe^2+ -> Mn^2+ + 4H2O + 5Fe^3+"),
        ("H2O2 -> O2 + 2H^+ + 2e^-", "MnO4^- + 8H^+ + 5e^- -> Mn^2+ + 4H2O", "5H2O2 + 6H^+ + 2MnO4^- -> 5O2 + 2Mn^2+ + 8H2O"),
        ("MnO4^- + 8H^+ + 3e^- -> Mn^2+ + 4H2O", "Fe^2+ -> Fe^3+ + 2e^-", "2MnO4^- + 16H^+ + 3Fe^2+ -> 2Mn^2+ + 8H2O + 3Fe^3+"),
    ],
)  # fmt: skip
def test_each_half_is_taken_as_often_as_the_electrons_ask_for(one: str, other: str, made: str) -> None:
    found = put_together(parse_reaction(one), parse_reaction(other))
    assert found is not None
    assert found.text == parse_reaction(made).text


@pytest.mark.parametrize("other", ["Fe^2+ + e^- -> Fe^3+", "Fe^2+ -> Fe^3+", "Mn^2+ + 4H2O -> MnO4^- + 8H^+ + 5e^-"])
def test_halves_that_make_nothing_are_not_followed(other: str) -> None:
    assert put_together(parse_reaction("MnO4^- + 8H^+ + 5e^- -> Mn^2+ + 4H2O"), parse_reaction(other)) is None
