"""Curves with several steps: each curve against a geochemical library that knows no titration, the steps that an eye sees, the keys."""

from __future__ import annotations

from fractions import Fraction

import phreeqpython
import pytest

from molewright.bank.definitions import Bank
from molewright.chem.curve import Titration
from molewright.chem.equilibrium import Solute
from molewright.draw.stream import Stream
from molewright.experiment import quantities
from molewright.experiment.end_points import of_last_flask
from molewright.further_parts.curves.course import SEEN
from molewright.further_parts.curves.steps import slope, steps_of
from molewright.question.check import Question, Questions
from shared.for_each import for_each

CURVES = (
    "two-step-acid-curve",
    "two-step-acid-constant",
    "two-step-acid-indicators",
    "two-step-carbonate-curve",
    "two-acids-by-curve",
    "hydroxide-and-carbonate-by-curve",
)
IDEAL = "-gamma 1e8 0"  # an ion of that size feels no others: a coefficient of 1, as in the curves here
READ_TO = 0.02


def made(questions: Questions, key: str, seed: int) -> Question:
    return questions.make(questions.bank.archetypes[key], Stream(f"steps {key} {seed}"))


def by_the_library(families: list[tuple[tuple[float, ...], float]], sodium: float, chloride: float) -> float:
    """The pH of acids given as pKa values and mol dm⁻³, brought in as the ions that hold no proton."""
    masters, species, amounts = "", "", ""
    for at, (pkas, strength) in enumerate(families):
        base = f"Weak{'abc'[at]}"
        charge = len(pkas)
        masters += f"  {base} {base}{-charge:+d} 0 59 59\n"
        species += f"  {base}{-charge:+d} = {base}{-charge:+d}\n  log_k 0\n  {IDEAL}\n"
        beta = 0.0
        for held, pka in enumerate(reversed(pkas), 1):
            beta += pka
            left = held - charge
            sign = f"{left:+d}" if left else ""
            species += f"  {held}H+ + {base}{-charge:+d} = H{held}{base}{sign}\n  log_k {beta:.6f}\n  {IDEAL}\n"
        amounts += f"  {base} {strength:.9f}\n"
    text = f"""
SOLUTION_MASTER_SPECIES
{masters}SOLUTION_SPECIES
  H+ = H+
  {IDEAL}
  H2O = OH- + H+
  log_k -14.0
  {IDEAL}
  Na+ = Na+
  {IDEAL}
  Cl- = Cl-
  {IDEAL}
{species}SOLUTION 1
  temp 25
  units mol/kgw
  pH 7 charge
  Na {sodium:.9f}
  Cl {chloride:.9f}
{amounts}END
"""
    library = phreeqpython.PhreeqPython()
    library.ip.run_string(text)
    found = library.ip.get_solution_ph(1) if hasattr(library.ip, "get_solution_ph") else library.get_solution(1).pH
    return float(found)


@for_each("key", CURVES, shares=2)
def test_a_curve_is_that_of_the_library(key: str, questions: Questions) -> None:
    found = steps_of(questions.calculation(made(questions, key, 1), "extras"))
    curve = found.titration
    last = found.ends_cm3[-1]
    for volume in (0.0, last * 0.27, last * 0.5, last * 0.77, last * 1.1):
        whole = curve.flask_cm3 + volume
        parts = [(one, curve.flask_cm3 / whole) for one in curve.flask] + [
            (one, volume / whole) for one in curve.titrant
        ]
        families: dict[tuple[float, ...], float] = {}
        fixed = 0.0  # of charges that no family holds
        for solute, share in parts:
            strength = solute.concentration * share
            families[solute.pkas] = families.get(solute.pkas, 0.0) + strength if solute.pkas else 0.0
            fixed += strength * (len(solute.pkas) - solute.protons)
        held = [(pkas, strength) for pkas, strength in families.items() if pkas and strength]
        expected = by_the_library(held, max(fixed, 0.0), max(-fixed, 0.0))
        assert curve.ph_at(volume) == pytest.approx(expected, abs=READ_TO), (key, volume)


def test_two_weak_stages_near_each_other_make_one_step(bank: Bank) -> None:
    def seen(name: str) -> int:
        acid = bank.acids[name]
        flask = (Solute(acid.pkas, len(acid.pkas), 0.06),)
        titration = Titration(flask=flask, flask_cm3=20.0, titrant=(Solute((), -1, 0.12),))
        return sum(slope(titration, one) >= SEEN for one in titration.equivalence_volumes())

    assert [seen(one) for one in ("phosphoric acid", "maleic acid", "phosphonic acid")] == [2, 2, 2]
    near = (
        "ethanedioic acid",
        "propanedioic acid",
        "butanedioic acid",
        "tartaric acid",
        "citric acid",
        "phthalic acid",
    )
    assert [seen(one) for one in near] == [1] * len(near)


def test_hydrochloric_acid_beside_ethanoic_acid_shows_one_step_only() -> None:
    flask = (Solute((), 1, 0.05), Solute((4.756,), 1, 0.05))
    titration = Titration(flask=flask, flask_cm3=20.0, titrant=(Solute((), -1, 0.1),))
    assert [slope(titration, one) >= SEEN for one in titration.equivalence_volumes()] == [False, True]


@for_each("key", CURVES, shares=2)
def test_what_is_read_leads_to_the_key(key: str, questions: Questions) -> None:
    """Worked here from volumes and strengths alone, by another way than the chain of the question."""
    question = made(questions, key, 2)
    draw = question.draw
    acts = of_last_flask(draw.variant.procedure)
    volumes = [Fraction(draw.given[act.titre].number) for act in acts]
    strength = draw.truth[quantities.concentration(acts[0].titrant.name)]
    (portion,) = (one for one in draw.variant.procedure.measures)
    poured = draw.truth[portion.volume]
    if len(acts) == 2:
        found = (
            strength * (volumes[0] - volumes[1]) / poured
        )  # what is left of the first titre when the second is taken off
    else:
        found = strength * volumes[0] / 2 / poured
    if draw.ask.quantity.kind == "mass concentration":
        found *= draw.truth[quantities.molar_mass(draw.ask.quantity.subject)]
    assert found == question.worked.exact


@for_each("key", CURVES, shares=2)
def test_steps_stand_on_the_paper_and_read_as_printed(key: str, questions: Questions) -> None:
    for seed in range(3):
        question = made(questions, key, seed)
        found = steps_of(questions.calculation(question, "extras"))
        assert len(found.ends_cm3) == 2
        for end in found.ends_cm3:
            assert 4 < end < 28
            assert slope(found.titration, end) >= SEEN / 2  # the printed volume, a tenth beside the steepest place
        read = {part.reads for part in question.further_parts if part.reads}
        assert read == {one.titre for one in found.acts}


def test_no_indicator_shows_a_weak_acid_with_a_weak_base(questions: Questions) -> None:
    for seed in range(4):
        question = made(questions, "weak-with-weak", seed)
        why, how = (one for one in question.further_parts if one.kind == "weak with weak")
        assert (why.marks, how.marks) == (2, 1)
        (picture,) = why.shown
        points = picture.points  # type: ignore[union-attr]
        end = float(question.draw.given[question.draw.variant.procedure.titrations[-1].titre].number)
        near = [height for volume, height in points if abs(volume - end) <= 0.5]
        assert max(near) - min(near) < 2  # of pH, where a strong titrant has six and more
