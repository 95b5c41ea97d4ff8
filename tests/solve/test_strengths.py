"""A solution told by its normality, or by its density and percentage by mass: published figures, and each number hidden in turn."""

from __future__ import annotations

from fractions import Fraction

import pytest

from molewright.chem.quantity import half_up
from molewright.errors import Mistake
from shared.described import Work
from shared.for_each import for_each

# 20.00 cm³ of 0.1000 N acid, 0.05000 mol dm⁻³, is 1.000 mmol; of 1.06 g cm⁻³ and 10.00 % 1 cm³ holds 0.1060 g, 1 mmol, of soda
HIDDEN = {
    "normality of H2SO4": (", normality: 0.1000 N", Fraction("0.1")),
    "titre of H2SO4": (", titre: 20.00 cm3", Fraction(20)),
    "density of Na2CO3": (", density: 1.06 g/mL", Fraction("1.06")),
    "percentage by mass of Na2CO3": (", percentage by mass: 10.00 %", Fraction(10)),
    "volume of Na2CO3": (", volume: 1.000 cm3", Fraction(1)),
}
WHOLE = """
procedure:
  - measure: {solution: Na2CO3, by mass: yes, density: 1.06 g/mL, percentage by mass: 10.00 %, volume: 1.000 cm3}
  - titrate: {with: H2SO4, equivalents: 2, normality: 0.1000 N, titre: 20.00 cm3}
asked: """


@for_each("asked", HIDDEN)
def test_each_number_is_found_again_and_put_back_on_the_bench(asked: str, work: Work) -> None:
    left_out, number = HIDDEN[asked]
    assert work(WHOLE.replace(left_out, "") + asked)[1].exact == number


@for_each(
    ("solute", "density", "share", "times", "places", "printed"),
    [
        # Talbot, An Introductory Course of Quantitative Chemical Analysis, 6th ed., table of strengths: normality; 1920 atomic weights
        ("HCl", "1.12", "23.81", 1, 1, "7.3"),
        ("HCl", "1.20", "39.80", 1, 1, "13.1"),
        ("HNO3", "1.42", "69.96", 1, 1, "15.8"),
        ("H2SO4", "1.18", "24.74", 2, 1, "6.0"),  # 5.95: the book, which cut it off, has 5.9
        ("NH3", "0.96", "9.91", 1, 1, "5.6"),
        # OpenStax, Chemistry 2e, density and percentage by mass: 5.0 % glucose, 1.029 g/mL
        ("C6H12O6", "1.029", "5.0", 1, 2, "0.29"),
    ],
)
def test_published_strength_follows_from_density_and_percentage(
    solute: str, density: str, share: str, times: int, places: int, printed: str, work: Work
) -> None:
    _, worked = work(f"""
procedure:
  - measure: {{solution: {solute}, density: {density} g cm-3, percentage by mass: {share} %, volume: 10.0 cm3}}
  - measure: {{solution: HCl, bottle: acid, volume: 10.0 cm3, concentration: 1.00 M, into: beaker}}
  - titrate: {{with: NaOH, vessel: beaker, concentration: 1.00 M}}
asked: concentration of {solute}
""")
    assert str(half_up(worked.exact * times, places)) == printed


def test_mass_in_half_a_litre_of_concentrated_acid(work: Work) -> None:
    # OpenStax, Chemistry 2e: 0.500 L of 37.2 % hydrochloric acid of 1.19 g/mL holds 221 g
    _, worked = work("""
procedure:
  - measure: {solution: HCl, density: 1.19 g/mL, percentage by mass: 37.2 %, volume: 0.500 L}
  - titrate: {with: NaOH, concentration: 12.0 M}
asked: mass concentration of HCl
""")
    assert str(half_up(worked.exact / 2, 0)) == "221"


@pytest.mark.parametrize(
    ("written", "told"),
    [
        ("normality: 0.1 N", "nothing says how many protons or electrons"),
        ("concentration: 0.1 N", "Write 'normality: 0.1 N, equivalents: 2' in its place"),
        ("normality: 0.1 N, equivalents: 0", "expected 1 to 12"),
        ("normality: 0.1 M, equivalents: 2", "a unit of the kind 'N'"),
    ],
)
def test_normality_needs_its_equivalents(written: str, told: str, work: Work) -> None:
    with pytest.raises(Mistake, match=told):
        work(f"""
procedure:
  - measure: {{solution: Na2CO3, volume: 20 cm3}}
  - titrate: {{with: H2SO4, titre: 9 cm3, {written}}}
asked: concentration of Na2CO3
""")
