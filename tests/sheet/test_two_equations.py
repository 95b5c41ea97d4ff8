"""A mixture of two is worked out by two equations as well: in the mark scheme as another route, in the worked solutions after it."""

from __future__ import annotations

import re
from collections.abc import Callable
from fractions import Fraction
from typing import Any

from molewright.chem.formula_scripts import unicode_text
from molewright.nodes.blocks import Table
from molewright.render.text import render
from molewright.sheet.mixture_lines import CHAIN, mixture_points
from shared.for_each import for_each, for_every

Compose = Callable[..., Any]
MIXTURES = ("dolomite-mixture", "two-carbonates", "salt-substitute")
NUMBER = r"(\d+(?:\.\d+)?(?: × 10[⁻⁰¹²³⁴⁵⁶⁷⁸⁹]+)?)"
SMALL = str.maketrans("⁻⁰¹²³⁴⁵⁶⁷⁸⁹", "-0123456789")


def read(sheet: Any) -> str:
    return render(sheet).decode().replace("\N{NO-BREAK SPACE}", " ")


def number(text: str) -> Fraction:
    plain, _, power = text.partition(" × 10")
    return Fraction(plain) * Fraction(10) ** int(power.translate(SMALL) or 0)


@for_each("key", MIXTURES)
def test_the_printed_equations_lead_to_the_printed_amount(key: str, compose: Compose) -> None:
    made = compose(key, "exam", "dm3")
    text = " ".join(read(made.worked).split())
    lines = re.findall(
        rf"\(1\) {NUMBER}x \+ {NUMBER}y = {NUMBER} \(2\) x \+ y = {NUMBER} \(1\) − {NUMBER} × \(2\): {NUMBER}x = "
        rf"{NUMBER} − {NUMBER} = {NUMBER} x = {NUMBER} / {NUMBER} = {NUMBER} mol",
        text,
    )
    assert len(lines) == len(made.questions)
    for line in lines:
        heavy, light, mass, both, times, left, _, taken, rest, top, bottom, x = map(number, line)
        assert (times, left, top, bottom) == (light, heavy - light, rest, heavy - light)
        assert abs(taken / (light * both) - 1) < Fraction(1, 1000)
        assert abs((mass - taken) / rest - 1) < Fraction(
            1, 100
        )  # the rest is carried on with more figures than are printed
        assert abs(rest / left / x - 1) < Fraction(1, 1000)


@for_each("key", MIXTURES)
def test_the_equations_stand_in_the_scheme_for_the_marks_of_the_chain(key: str, compose: Compose) -> None:
    made = compose(key, "exam", "dm3")
    tables = [block for block in made.scheme.blocks if isinstance(block, Table) and len(block.heading) == 4]
    for table, writer in zip(tables, made.composer.writers, strict=True):
        row = table.rows[-1]
        points = mixture_points(writer)
        kinds = {step.relation.kind for point in points for step in point.steps if step.relation}
        assert set(CHAIN) <= kinds
        assert row[2].lines[0][0].text == ", ".join(f"{point.number}" for point in points)
        assert len(points) == 3  # one for each equation and one for solving them (common practice)
        assert len(row[1].lines) == 6


def test_no_other_question_has_two_equations(compose: Compose) -> None:
    made = compose("back-portions", "exam", "dm3")
    assert "Let x" not in read(made.worked)
    assert "Let x" not in read(made.scheme)


@for_every(key=["dolomite-mixture", "two-carbonates"], level=["exam", "structured"])
def test_both_solids_stand_with_their_equation_and_in_the_ratio(key: str, level: str, compose: Compose) -> None:
    made = compose(key, level, "dm3")
    paper, scheme = (" ".join(read(sheet).split()) for sheet in (made.paper, made.scheme))
    for question in made.questions:
        solids = [unicode_text(question.draw.variant.roles[role]) for role in ("analyte", "other")]
        acid = unicode_text(question.draw.variant.roles["reagent"])
        assert all(f"{solid}(s) + 2{acid}(aq) →" in paper for solid in solids)
        assert "1 mol " + " or 1 mol ".join(solids) in re.sub(r" \| [^|]*\| +\| ", " ", scheme)
