"""A calculation comes in; two parts go out that plan a titrant and a mass together: which of three strengths, then how much to weigh.

The titre for a rough mass is derived with each strength by the same relations as every answer; two of them must miss the window
clearly. Strengths and mass are then performed on the bench.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from molewright.bank.definitions import Ask
from molewright.bench.perform import perform
from molewright.chem.quantity import Quantity, half_up, to_figures
from molewright.chem.units import Unit
from molewright.derivation.evaluated import evaluate
from molewright.derivation.worked import Worked, work_out
from molewright.draw.refusal import Refusal
from molewright.errors import CheckFailure
from molewright.experiment import quantities
from molewright.experiment.quantities import Name
from molewright.further_parts.faults.conditions import is_back, unknown_in_burette
from molewright.further_parts.pieces import (
    Bottle,
    Calculation,
    FurtherPart,
    FurtherPoint,
    Lettered,
    Quotient,
    Reckoning,
    Said,
    Sample,
    Space,
    Strong,
    said,
)
from molewright.further_parts.planning.one_number import (
    AIM,
    FIGURES,
    FIGURES_SAID,
    MM_A_MARK,
    assumption,
    chain_points,
    known_share,
    nearly,
    sample_weighed,
)
from molewright.further_parts.planning.planned_bench import WINDOW, Planned, prove_titre, require_believable
from molewright.further_parts.printed_working import page

SHELF = tuple(Decimal(text) for text in (
    "0.00500", "0.0100", "0.0200", "0.0500", "0.100", "0.200", "0.500", "1.00", "2.00",
))  # fmt: skip
"""Strengths that solutions are kept in, mol dm⁻³; common practice, no source."""
CLEAR = Fraction(3)  # cm³ between the window and a titre that misses it
ROUGH_TITRES = (Decimal("21.5"), Decimal("22.0"), Decimal("22.5"), Decimal("27.5"), Decimal("28.0"), Decimal("28.5"))
NEAR_AIM = Fraction(1)  # cm³: nearer, the rough mass would be the answer
MOST_OF_DRAWN = 2  # times the mass that was drawn, which is known to dissolve


@dataclass(frozen=True, slots=True, kw_only=True)
class Shelf:
    """The strength that serves and the two that do not, the rough mass, and what each strength gives with it in cm³."""

    serves: Quantity
    weaker: Quantity
    stronger: Quantity
    rough: Quantity
    titres: Mapping[Decimal, Fraction]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Plan:
    """The names of what is planned and the values that stay."""

    mass: Name
    titrant: str
    strength: Name
    titre: Name
    share: tuple[Name, Quantity]
    kept: Mapping[Name, Quantity]  # printed numbers that stay, with the share that is assumed
    known: Mapping[Name, Fraction]  # molar masses


def ask_plan_both(calculation: Calculation) -> tuple[FurtherPart, ...]:
    """Two parts: the strength for a rough mass, then the mass for the titre wanted."""
    plan = _planned(calculation)
    shelf = _shelf(calculation, plan)
    return _choice(calculation, plan, shelf), _mass(calculation, plan, shelf)


def _planned(calculation: Calculation) -> _Plan:
    draw = calculation.draw
    weighed, share = sample_weighed(calculation), known_share(calculation)
    titrations = draw.variant.procedure.titrations
    if weighed is None or share is None or is_back(draw) or unknown_in_burette(draw) or len(titrations) != 1:
        raise Refusal("plan both", "not a sample of roughly known composition that is titrated directly")
    titrant = titrations[0].titrant.name
    mass, strength, titre = quantities.mass(weighed.sample), quantities.concentration(titrant), titrations[0].titre
    if mass not in draw.given or strength not in draw.given:
        raise Refusal("plan both", "the mass or the titrant's concentration is not printed")
    left_out = {mass, strength, titre, calculation.worked.plan.asked}
    kept = {name: quantity for name, quantity in draw.given.items() if name not in left_out}
    known = {name: calculation.given[name] for name in calculation.system.fixed}
    return _Plan(
        mass=mass,
        titrant=titrant,
        strength=strength,
        titre=titre,
        share=share,
        kept={**kept, share[0]: share[1]},
        known=known,
    )


def _exact(plan: _Plan, **more: Quantity) -> dict[Name, Fraction]:
    own = {getattr(plan, what): quantity.in_base for what, quantity in more.items()}
    return {**plan.known, **{name: quantity.in_base for name, quantity in plan.kept.items()}, **own}


def _shelf(calculation: Calculation, plan: _Plan) -> Shelf:
    """Three strengths and a rough mass of which one strength gives a good titre, and the others clearly do not."""
    drawn_strength = calculation.draw.given[plan.strength]
    drawn_mass = calculation.draw.given[plan.mass]
    one = min(SHELF[1:-1], key=lambda strength: max(strength / drawn_strength.number, drawn_strength.number / strength))
    at = SHELF.index(one)
    three = [Quantity(strength, drawn_strength.unit) for strength in SHELF[at - 1 : at + 2]]
    wanted = calculation.stream.pick(ROUGH_TITRES)
    ideal = _mass_for(calculation, plan, three[1], Quantity(wanted, Unit.CM3))
    rough = Quantity(to_figures(ideal, 2), drawn_mass.unit)
    titres = {
        strength.number: perform(
            calculation.draw.variant.procedure, _exact(plan, mass=rough, strength=strength)
        ).titres[plan.titre]
        for strength in three
    }
    weaker, serves, stronger = (titres[strength.number] for strength in three)
    if weaker < WINDOW[1] + CLEAR or stronger > WINDOW[0] - CLEAR:
        raise Refusal("plan both", "another strength on the shelf would do nearly as well")
    if not WINDOW[0] < serves < WINDOW[1] or abs(serves - AIM.in_base) < NEAR_AIM:
        raise Refusal("plan both", f"the rough mass gives a titre of {float(serves):.2f} cm³")
    if rough.in_base > MOST_OF_DRAWN * drawn_mass.in_base:
        raise Refusal("plan both", "so much of the sample may not dissolve")
    return Shelf(serves=three[1], weaker=three[0], stronger=three[2], rough=rough, titres=titres)


def _mass_for(calculation: Calculation, plan: _Plan, strength: Quantity, titre: Quantity) -> Fraction:
    given = {**plan.kept, plan.strength: strength, plan.titre: titre}
    found = calculation.plans.find(calculation.system, given, plan.mass)
    return evaluate(found.expression, _exact(plan, strength=strength, titre=titre))


# ------------------------------------------------------------------ the strength


def _choice(calculation: Calculation, plan: _Plan, shelf: Shelf) -> FurtherPart:
    worked, shown = _worked(calculation, plan, shelf)
    points = chain_points(worked, shown)
    unit = shelf.serves.unit
    points += [
        _rejected(plan, shelf, worked, shelf.weaker, "plan titre large"),
        _rejected(plan, shelf, worked, shelf.stronger, "plan titre small"),
        FurtherPoint(
            (said("plan strength chosen", strength=Strong(shelf.serves), least=_least(), most=_most()),),
            shelf.serves.number_text + f" {unit}",
            (said("guide plan chosen"),),
        ),
    ]
    return FurtherPart(
        kind="plan both",
        demand=said(
            "plan choose", titrant=Bottle(plan.titrant), rough=shelf.rough, sample=Sample(),
            assumed=assumption(calculation, *plan.share), weaker=shelf.weaker.number_text,
            serves=shelf.serves.number_text, stronger=shelf.stronger, least=_least(), most=_most(),
        ),
        points=tuple(points),
        space=(Space(height_mm=MM_A_MARK * len(points), rule_mm=65.0, unit=unit),),
        hint=said("hint plan choose"),
    )  # fmt: skip


def _worked(calculation: Calculation, plan: _Plan, shelf: Shelf) -> tuple[Worked, dict[Name, Quantity]]:
    """The titre for the rough mass with the strength that serves, and every quantity as it stands on the page."""
    given = {**plan.kept, plan.mass: shelf.rough, plan.strength: shelf.serves}
    found = calculation.plans.find(calculation.system, given, plan.titre)
    exact = _exact(plan, mass=shelf.rough, strength=shelf.serves)
    worked = work_out(
        calculation.system, found, exact, Ask(plan.titre, figures=FIGURES), calculation.draw.archetype.joined
    )
    if worked.exact != shelf.titres[shelf.serves.number]:
        raise CheckFailure(
            f"the titre of the rough mass is worked out as {worked.exact} cm³, and is another on the bench"
        )
    written = [
        Planned(name, one.in_base, one) for name, one in ((plan.mass, shelf.rough), (plan.strength, shelf.serves))
    ]
    require_believable(calculation, exact, *written)
    return worked, page(calculation, worked, given)


def _rejected(plan: _Plan, shelf: Shelf, worked: Worked, strength: Quantity, wording: str) -> FurtherPoint:
    """One of the strengths that do not serve, by the titre that it would give."""
    titre = Quantity(to_figures(shelf.titres[strength.number], FIGURES), Unit.CM3)
    needed = (worked.steps[-1].shown.number_text, "×", shelf.serves.number_text)
    line = Reckoning((Lettered(plan.titre), "=", Quotient(needed, (strength.number_text,)), "=", Strong(titre)))
    verdict: Said = said(wording, strength=strength, limit=_most() if wording.endswith("large") else _least())
    return FurtherPoint((line, verdict), titre, (said("guide plan rejected"),))


def _least() -> Quantity:
    return Quantity(half_up(WINDOW[0], 0), Unit.CM3)


def _most() -> Quantity:
    return Quantity(half_up(WINDOW[1], 0), Unit.CM3)


# ------------------------------------------------------------------ the mass


def _mass(calculation: Calculation, plan: _Plan, shelf: Shelf) -> FurtherPart:
    exact = _mass_for(calculation, plan, shelf.serves, AIM)
    answer = Quantity(to_figures(exact, FIGURES), shelf.rough.unit)
    values = _exact(plan, strength=shelf.serves)
    prove_titre(calculation, values, Planned(plan.mass, exact, answer), plan.titre, AIM.in_base)
    worked, _ = _worked(calculation, plan, shelf)
    scale = Quotient((AIM.number_text,), (worked.steps[-1].shown.number_text,))
    line = Reckoning((Lettered(plan.mass), "=", shelf.rough.number_text, "×", scale, "=", Strong(answer)))
    low, high = nearly(answer.number)
    return FurtherPart(
        kind="plan both",
        demand=said("plan mass exactly", sample=Sample(), titre=AIM, figures=FIGURES_SAID),
        points=(
            FurtherPoint(
                (said("plan proportional"),), "the titre is proportional to the mass", (said("guide proportional"),)
            ),
            FurtherPoint((line,), answer, (said("guide plan step"),)),
        ),
        space=(Space(height_mm=MM_A_MARK * 2, rule_mm=65.0, unit=answer.unit),),
        hint=said("hint plan exactly"),
        accepted=(low, high),
        unit=answer.unit,
    )
