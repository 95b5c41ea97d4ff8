"""A mixture that comes to equilibrium on the bench: published amounts of ester, a root that is exact, and what starts it backwards."""

from __future__ import annotations

from fractions import Fraction

import pytest

from molewright.bench.settle import settle
from molewright.chem.reaction import parse_reaction
from molewright.errors import Mistake
from molewright.experiment.equilibrium import CONSTANT, Settle

ESTER = Settle(reaction=parse_reaction("CH3COOH + C2H5OH <=> CH3COOC2H5 + H2O"), followed="CH3COOH")


def mixture(acid: str, alcohol: str, ester: str = "0", water: str = "0") -> dict[str, Fraction]:
    return dict(zip((*ESTER.left, *ESTER.right), map(Fraction, (acid, alcohol, ester, water)), strict=True))


# moles of acid and of alcohol, and of the ester that forms with a constant of 4. Senapati (Advanced Engineering Chemistry, FOSSEE
# companion, ch. 3 problem 25) prints 0.634 for the first, of whose own equation 0.845 is the root; Berthelot found 0.858 (from memory);
# the last is from Kuriacose and Rajaram (FOSSEE companion, ex. 5.47).
@pytest.mark.parametrize(("acid", "alcohol", "formed"), [("2", "1", 0.845), ("1", "2", 0.845), ("1", "5", 0.945)])
def test_published_amount_of_ester_forms(acid: str, alcohol: str, formed: float) -> None:
    amounts = mixture(acid, alcohol)
    settle(ESTER, amounts, {CONSTANT: Fraction(4)})
    assert float(amounts["CH3COOC2H5"]) == pytest.approx(formed, abs=5e-4)
    assert amounts["H2O"] == amounts["CH3COOC2H5"]


def test_root_that_is_a_fraction_is_found_exactly() -> None:
    amounts = mixture("0.2", "0.25", water="0.5")
    ended = mixture("3/25", "17/100", "2/25", "29/50")
    constant = ended["CH3COOC2H5"] * ended["H2O"] / (ended["CH3COOH"] * ended["C2H5OH"])
    settle(ESTER, amounts, {CONSTANT: constant})
    assert amounts == ended


def test_constant_of_one_and_a_mixture_that_holds_too_much_product_settle_too() -> None:
    even = mixture("1", "3")
    settle(ESTER, even, {CONSTANT: Fraction(1)})
    assert even == mixture("1/4", "9/4", "3/4", "3/4")
    backwards = mixture("0", "0", "1", "1")
    settle(ESTER, backwards, {CONSTANT: Fraction(4)})
    assert backwards == mixture("1/3", "1/3", "2/3", "2/3")


@pytest.mark.parametrize("known", [ESTER.reached("H2O"), ESTER.turned])
def test_an_amount_at_equilibrium_tells_all_the_others(known: object) -> None:
    amounts = mixture("1", "1")
    settle(ESTER, amounts, {known: Fraction(2, 3)})  # type: ignore[dict-item]
    assert amounts == mixture("1/3", "1/3", "2/3", "2/3")


@pytest.mark.parametrize("equation", ["H2 + I2 <=> 2HI", "N2O4 <=> 2NO2", "2H2 + O2 <=> 2H2O"])
def test_equilibrium_whose_volume_would_not_cancel_is_refused(equation: str) -> None:
    with pytest.raises(Mistake, match="equilibrium"):
        Settle(reaction=parse_reaction(equation), followed=equation.split()[0].lstrip("2"))
