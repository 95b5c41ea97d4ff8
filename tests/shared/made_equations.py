"""Known reactions come in; right and wrong ways to type their equations go out, each with what is true of it. Knows no reader.

What is right is changed only in its dress: order, multiples, fractions, arrows, scripts, charges, states, spaces, spectator ions. What
is wrong has one known mistake in its coefficients, species, charges, electrons or sides, each of which no dress undoes.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from random import Random

from molewright.answer.equations import AskedEquation
from molewright.chem.reaction import Reaction

Term = tuple[Fraction, str, str]
"""Coefficient, formula as the banks type it, state."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TypedVariant:
    """A text, the equation that was asked for, whether it is right, and the mistake in it."""

    text: str
    asked: AskedEquation
    right: bool
    mistake: str = ""


@dataclass(frozen=True, slots=True)
class Sides:
    """An equation as plain terms."""

    left: tuple[Term, ...]
    right: tuple[Term, ...]

    @property
    def every(self) -> tuple[Term, ...]:
        return (*self.left, *self.right)


def plain(reaction: Reaction) -> Sides:
    left, right = (
        tuple((Fraction(one.coefficient), one.formula.text, one.state) for one in side)
        for side in (reaction.left, reaction.right)
    )
    return Sides(left, right)


def made_equations(asked: Sequence[AskedEquation], count: int, seed: int) -> Iterator[TypedVariant]:
    """So many texts, about half of them right."""
    random = Random(seed)
    for _ in range(count):
        one = random.choice(asked)
        sides = plain(one.reaction)
        if random.random() < 0.5:
            yield TypedVariant(text=dressed(_right(sides, one, random), random, one.states), asked=one, right=True)
            continue
        mistakes = [made for made in (mistake(sides, one, random) for mistake in MISTAKES) if made is not None]
        wrong, told = random.choice(mistakes)
        yield TypedVariant(text=dressed(wrong, random, one.states), asked=one, right=False, mistake=told)


# ------------------------------------------------------------------ right ones


def _right(sides: Sides, asked: AskedEquation, random: Random) -> Sides:
    """The same equation, perhaps in ions, multiplied, in another order."""
    if asked.demand == "full" and asked.ions and random.random() < 0.3:
        sides = _in_ions(sides, asked, whole=random.random() < 0.4)
    if asked.same and random.random() < 0.2:
        sides = _oxonium(sides)
    return _times(sides, random)


def _in_ions(sides: Sides, asked: AskedEquation, whole: bool) -> Sides:
    given = dict(asked.ions)

    def split(side: tuple[Term, ...]) -> dict[tuple[str, str], Fraction]:
        found: dict[tuple[str, str], Fraction] = {}
        for count, formula, state in side:
            for times, part in given.get(formula, ((1, formula),)):
                key = part, "aq" if formula in given else state
                found[key] = found.get(key, Fraction(0)) + count * times
        return found

    left, right = split(sides.left), split(sides.right)
    if not whole:
        for key in [key for key in left if key in right]:
            less = min(left[key], right[key])
            left[key], right[key] = left[key] - less, right[key] - less
    made = [tuple((n, formula, state) for (formula, state), n in side.items() if n) for side in (left, right)]
    return Sides(made[0], made[1]) if all(made) else sides


def _oxonium(sides: Sides) -> Sides:
    """H3O+ for H+, with as much water on the other side."""
    protons = sum(count for count, formula, _ in sides.left if formula == "H+")
    if (
        not protons
        or any(formula == "H+" for _, formula, _ in sides.right)
        or any(f == "H2O" for _, f, _ in sides.left)
    ):
        return sides
    left = tuple((count, "H3O^+" if formula == "H+" else formula, state) for count, formula, state in sides.left)
    water = sum(count for count, formula, _ in sides.right if formula == "H2O")
    right = tuple(term for term in sides.right if term[1] != "H2O")
    return Sides(left, (*right, (water + protons, "H2O", "l")))


def _times(sides: Sides, random: Random) -> Sides:
    factor = random.choice([Fraction(1)] * 5 + [Fraction(2), Fraction(3), Fraction(1, 2), Fraction(5), Fraction(1, 4)])
    left, right = (tuple((count * factor, *rest) for count, *rest in side) for side in (sides.left, sides.right))
    return Sides(tuple(random.sample(left, len(left))), tuple(random.sample(right, len(right))))  # type: ignore[arg-type]


# ------------------------------------------------------------------ wrong ones

Mistake = Callable[[Sides, AskedEquation, Random], "tuple[Sides, str] | None"]


def _with(sides: Sides, at: int, term: Term | None) -> Sides:
    every = list(sides.every)
    middle = len(sides.left)
    put = [] if term is None else [term]
    left = (*every[:at], *put, *every[at + 1 : middle]) if at < middle else sides.left
    right = sides.right if at < middle else (*every[middle:at], *put, *every[at + 1 :])
    return Sides(tuple(left), tuple(right))


def _coefficient(sides: Sides, asked: AskedEquation, random: Random) -> tuple[Sides, str] | None:
    at = random.randrange(len(sides.every))
    count, formula, state = sides.every[at]
    other = random.choice([one for one in (count + 1, count - 1, count * 2, Fraction(1)) if one > 0 and one != count])
    return _with(sides, at, (other, formula, state)), "a coefficient"


def _all_ones(sides: Sides, asked: AskedEquation, random: Random) -> tuple[Sides, str] | None:
    if all(count == 1 for count, *_ in sides.every):
        return None
    left, right = (tuple((Fraction(1), f, s) for _, f, s in side) for side in (sides.left, sides.right))
    return Sides(left, right), "no coefficients"


def _left_out(sides: Sides, asked: AskedEquation, random: Random) -> tuple[Sides, str] | None:
    able = [at for at in range(len(sides.every)) if len(sides.left if at < len(sides.left) else sides.right) > 1]
    return (_with(sides, random.choice(able), None), "a species left out") if able else None


def _other_formula(sides: Sides, asked: AskedEquation, random: Random) -> tuple[Sides, str] | None:
    """A count in a formula that is one more; of an ion another charge."""
    at = random.randrange(len(sides.every))
    count, formula, state = sides.every[at]
    if formula == "e-":
        return None
    made = re.search(r"\^(\d)([+-])$", formula)
    if made and random.random() < 0.6:
        formula = f"{formula[: made.start()]}^{int(made[1]) + 1}{made[2]}"
    else:
        symbol = random.choice([m.end() for m in re.finditer(r"[A-Z][a-z]?(?![0-9a-z′])", formula)] or [0])
        if not symbol:
            return None
        formula = f"{formula[:symbol]}2{formula[symbol:]}"
        if re.search(r"2[+-]$", formula):  # Na2+ typed without ^ is the charge, as everybody reads it
            return None
    return _with(sides, at, (count, formula, state)), "a formula"


def _turned(sides: Sides, asked: AskedEquation, random: Random) -> tuple[Sides, str] | None:
    return Sides(sides.right, sides.left), "the wrong way round"


def _electrons(sides: Sides, asked: AskedEquation, random: Random) -> tuple[Sides, str] | None:
    if any(formula == "e-" for _, formula, _ in sides.every):
        left, right = ([term for term in side if term[1] != "e-"] for side in (sides.left, sides.right))
        return Sides(tuple(left), tuple(right)), "no electrons"
    number = Fraction(random.randint(1, 6))
    return replace(sides, left=(*sides.left, (number, "e-", ""))), "electrons left over"


def _stranger(sides: Sides, asked: AskedEquation, random: Random) -> tuple[Sides, str] | None:
    known = {formula for _, formula, _ in sides.every}
    other = random.choice(
        [one for one in ("H2", "O2", "SO2", "NaClO4", "P4O10", "Pb^2+", "HCO3^-") if one not in known]
    )
    at = random.randrange(len(sides.every))
    return _with(sides, at, (sides.every[at][0], other, sides.every[at][2])), "a strange species"


def _states(sides: Sides, asked: AskedEquation, random: Random) -> tuple[Sides, str] | None:
    if not asked.states:
        return None
    at = random.choice([at for at, term in enumerate(sides.every) if term[1] != "e-"])
    count, formula, state = sides.every[at]
    other = random.choice([one for one in ("s", "l", "g", "aq") if one != state])
    return _with(sides, at, (count, formula, other)), "a state symbol"


MISTAKES: tuple[Mistake, ...] = (
    _coefficient, _all_ones, _left_out, _other_formula, _turned, _electrons, _stranger, _states,
)  # fmt: skip


# ------------------------------------------------------------------ how it is typed

_LOW = str.maketrans("0123456789", "₀₁₂₃₄₅₆₇₈₉")
_HIGH = str.maketrans("0123456789+-", "⁰¹²³⁴⁵⁶⁷⁸⁹⁺⁻")
_ARROWS = (" -> ", "->", " → ", "→", " = ", "=", " => ", " --> ", " ⇌ ", " ⟶ ", " ==> ", " <=> ", " gives ")
_PLUSES = (" + ", " + ", "+", " +")


def dressed(sides: Sides, random: Random, states: bool) -> str:
    """The equation as somebody types it: one habit throughout."""
    write = random.choice((_bare, _caret, _unicode, _markup, _braces, _bracketed))
    show = states or random.random() < 0.4
    plus = random.choice(_PLUSES)
    gap = random.choice(("", "", " "))
    number = random.choice((_halves, _decimals, _slashes))

    def term(one: Term) -> str:
        count, formula, state = one
        body = random.choice(("e-", "e⁻", "e^-")) if formula == "e-" else write(formula)
        told = "" if count == 1 and random.random() < 0.9 else f"{number(count)}{gap}"
        return f"{told}{body}({state})" if show and state else f"{told}{body}"

    left, right = (plus.join(map(term, side)) for side in (sides.left, sides.right))
    return f"{left}{random.choice(_ARROWS)}{right}"


def _halves(count: Fraction) -> str:
    whole, part = divmod(count, 1)
    parts = {Fraction(1, 2): "½", Fraction(1, 4): "¼", Fraction(3, 4): "¾"}
    return f"{whole or ''}{parts[part]}" if part in parts else _slashes(count)


def _decimals(count: Fraction) -> str:
    return f"{float(count):g}" if (count * 4).denominator == 1 else _slashes(count)


def _slashes(count: Fraction) -> str:
    return str(count)


def _charge(formula: str) -> tuple[str, str]:
    made = re.fullmatch(r"(.*?)\^?(\d?[+-])", formula) if "^" in formula else re.fullmatch(r"(.*?)([+-])", formula)
    return (made[1], made[2]) if made else (formula, "")


def _bare(formula: str) -> str:
    body, charge = _charge(formula)
    return body + charge


def _caret(formula: str) -> str:
    body, charge = _charge(formula)
    return f"{body}^{charge}" if charge else body


def _unicode(formula: str) -> str:
    body, charge = _charge(formula)
    return re.sub(r"(?<=[A-Za-z)\]′])\d+", lambda run: run[0].translate(_LOW), body) + charge.translate(_HIGH)


def _markup(formula: str) -> str:
    body, charge = _charge(formula)
    low = re.sub(r"(?<=[A-Za-z)\]′])\d+", lambda run: f"<sub>{run[0]}</sub>", body)
    return f"{low}<sup>{charge}</sup>" if charge else low


def _braces(formula: str) -> str:
    body, charge = _charge(formula)
    low = re.sub(r"(?<=[A-Za-z)\]′])\d+", lambda run: f"_{{{run[0]}}}", body)
    return f"{low}^{{{charge}}}" if charge else low


def _bracketed(formula: str) -> str:
    body, charge = _charge(formula)
    return f"{body}({charge})" if charge else body
