"""An equation that is asked for and one that was read come in; what is right in it, what is wrong and its marks go out.

Judged by balance of atoms and charge and by species, never by text: multiples, any order of terms and any way to spell a
formula are the same equation. What the scheme prints of a wrong equation is what this pays for it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property
from math import gcd
from typing import Literal, assert_never, get_args

from molewright.answer.equation_sides import (
    ELECTRON,
    Kind,
    Side,
    Splits,
    cancelled,
    kind_of,
    kind_written,
    out_of_balance,
    proportional,
    sides_of,
)
from molewright.chem.formula import PLACEHOLDERS, parse_formula
from molewright.chem.formula_scripts import unicode_text
from molewright.chem.formula_tree import PLAIN, Formula, write_sections
from molewright.chem.reaction import Reaction

Demand = Literal["full", "ionic", "half", "numbers", "ratio"]
"""What is asked for: an equation with or without its spectator ions, an ionic one without them, a half-equation, numbers only.

A reacting ratio is held as an equation with one species on each side.
"""
DEMANDS: tuple[Demand, ...] = get_args(Demand)
Table = tuple[tuple[str, tuple[tuple[int, str], ...]], ...]
_MOST_TOLD = 3  # species of one fault
_MOST_ELEMENTS = 2


@dataclass(frozen=True, kw_only=True)
class AskedEquation:
    """An equation that is asked for: the right one as it is printed, what counts as right, and its marks.

    `ions` are salts and strong acids that may be written as their ions, and `same` what stands for other species (H3O+). `beside` are
    ions that may be written beside those of an equation that is printed in ions: K+ of KMnO4, sulfate.
    With `states` the state symbols earn the last mark. Of two marks the first is for the species.
    """

    reaction: Reaction
    demand: Demand
    marks: int
    states: bool = False
    ions: Table = ()
    same: Table = ()
    beside: tuple[str, ...] = ()

    @cached_property
    def whole(self) -> tuple[Side, Side]:
        """The right sides as printed."""
        return sides_of(self.reaction)

    @cached_property
    def dissolved(self) -> tuple[Side, Side]:
        """The right sides with everything that is there as ions written so, spectators too."""
        return self.in_ions(self.whole)

    @cached_property
    def net(self) -> tuple[Side, Side]:
        """The right sides without spectator ions."""
        return cancelled(*self.dissolved)

    @cached_property
    def spectators(self) -> frozenset[Kind]:
        """The ions that may stand on both sides."""
        left, right = self.dissolved
        return frozenset((*(left.keys() & right.keys()), *(kind_written(text) for text in self.beside)))

    @cached_property
    def spelt(self) -> dict[Kind, str]:
        """How the species that may occur are written."""
        texts = [one.formula for one in self.reaction.terms]
        found = {kind_of(formula): str(formula) for formula in texts}
        return {**self._named(self.same), **self._named((*self.ions, *self._salts)), **found}

    @cached_property
    def _salts(self) -> Table:
        """What ions of an ionic equation and those beside them make together."""
        here = {
            one.formula.text for one in self.reaction.terms if one.formula.charge and kind_of(one.formula) != ELECTRON
        }
        ions = [parse_formula(text, PLACEHOLDERS) for text in dict.fromkeys((*sorted(here), *self.beside))]
        made = [
            salt_of(cation, anion)
            for cation in ions
            for anion in ions
            if cation.charge > 0 > anion.charge and not {cation.text, anion.text} <= here
        ]
        return tuple(made) if self.beside else ()

    def _named(self, table: Table) -> dict[Kind, str]:
        read = (parse_formula(text, PLACEHOLDERS) for whole, given in table for text in (whole, *(p for _, p in given)))
        return {kind_of(formula): str(formula) for formula in read}

    @cached_property
    def _ions(self) -> Splits:
        return Splits.of((*self.ions, *self._salts))

    @cached_property
    def _same(self) -> Splits:
        return Splits.of(self.same)

    @property
    def told(self) -> str:
        """The right answer as a key prints it."""
        return self.written(self.reaction)

    def written(self, answer: Reaction) -> str:
        """An answer as it is typed from the page, right or wrong: an equation, or the two numbers of a ratio."""
        if self.demand == "ratio":
            return f"{answer.left[0].coefficient} : {answer.right[0].coefficient}"
        return str(answer)

    def as_ratio(self, ratio: Fraction) -> Reaction:
        """A ratio of the two species that are asked about, as ratios are held."""
        first, second = self.reaction.left[0], self.reaction.right[0]
        return Reaction(
            (replace(first, coefficient=ratio.numerator),), (replace(second, coefficient=ratio.denominator),)
        )

    def read(self, reaction: Reaction) -> tuple[Side, Side]:
        """The sides of an equation as it is judged: what only spells other species out, as H3O+ does, as these."""
        left, right = sides_of(reaction)
        plain = self._same.split(left), self._same.split(right)
        if plain == (left, right):
            return left, right
        brought = {kind for given in self._same.parts.values() for _, kind in given}
        both = {kind: min(plain[0].get(kind, 0), plain[1].get(kind, 0)) for kind in brought}
        return _without(plain[0], both), _without(plain[1], both)

    def may_be_written(self, kind: Kind) -> bool:
        """Whether a species that the equation does not show stands for ions of it, or is an electron, which is told apart."""
        return kind == ELECTRON or kind in self._ions.parts

    def in_ions(self, sides: tuple[Side, Side]) -> tuple[Side, Side]:
        """Sides with every salt and strong acid as its ions."""
        return self._ions.split(sides[0]), self._ions.split(sides[1])


def salt_of(cation: Formula, anion: Formula) -> tuple[str, tuple[tuple[int, str], ...]]:
    """What two ions make, as a formula, and how many of each are in it."""
    shared = gcd(cation.charge, anion.charge)
    counts = -anion.charge // shared, cation.charge // shared
    written = "".join(_in_brackets(ion, count) for ion, count in zip((cation, anion), counts, strict=True))
    return written, ((counts[0], cation.text), (counts[1], anion.text))


def _in_brackets(ion: Formula, count: int) -> str:
    body = write_sections(ion.groups, PLAIN)
    single = len(ion.atoms) == 1 and ion.atoms[0][1] == 1
    return body if count == 1 else f"{body}{count}" if single else f"({body}){count}"


def _without(side: Side, less: Side) -> Side:
    return {kind: count - less.get(kind, 0) for kind, count in side.items() if count > less.get(kind, 0)}


@dataclass(frozen=True, slots=True, kw_only=True)
class JudgedEquation:
    """What an equation earns, and each fault of it in plain words; none of an equation that is right."""

    marks: int
    faults: tuple[str, ...] = ()

    @property
    def right(self) -> bool:
        """Whether nothing is wrong in it."""
        return not self.faults

    @property
    def told(self) -> str:
        """The faults in one sentence."""
        return "; ".join(self.faults)


def judge_equation(asked: AskedEquation, typed: Reaction) -> JudgedEquation:
    """Marks and faults of an equation as it was read."""
    if asked.demand == "ratio":
        return _judge_ratio(asked, typed)
    sides = asked.read(typed)
    states = tuple(_wrong_states(asked, typed)) if asked.states else ()
    if _is_right(asked, sides):
        return JudgedEquation(marks=asked.marks - bool(states), faults=states)
    names = {kind_of(one.formula): str(one.formula) for one in typed.terms}
    faults = tuple(dict.fromkeys((*_faults(asked, sides, {**names, **asked.spelt}), *states)))
    if not _species_right(asked, sides):
        return JudgedEquation(marks=0, faults=faults)
    earned = asked.marks - 1 - bool(states)  # the mark for balance is lost
    return JudgedEquation(marks=max(0, earned), faults=faults)


def _judge_ratio(asked: AskedEquation, typed: Reaction) -> JudgedEquation:
    """A ratio is right, upside down, or another one."""
    right, found = (Fraction(one.left[0].coefficient, one.right[0].coefficient) for one in (asked.reaction, typed))
    if found == right:
        return JudgedEquation(marks=asked.marks)
    told = "the ratio is upside down" if found == 1 / right else "it is not the ratio of the balanced equation"
    return JudgedEquation(marks=0, faults=(told,))


def _is_right(asked: AskedEquation, sides: tuple[Side, Side]) -> bool:
    match asked.demand:
        case "half" | "numbers" | "ratio":
            return proportional(sides, asked.whole)
        case "ionic":
            return proportional(sides, asked.net)
        case "full":
            dissolved = asked.in_ions(sides)
            if proportional(sides, asked.whole):
                return True
            both = dissolved[0].keys() & dissolved[1].keys()
            return both <= asked.spectators and proportional(cancelled(*dissolved), asked.net)
        case _:
            assert_never(asked.demand)


def _species_right(asked: AskedEquation, sides: tuple[Side, Side]) -> bool:
    """Whether all species are there and no others; electrons in a whole equation are told as a fault of their own.

    An ionic equation in which spectator ions are left in, or salts not written as ions, has the species of the full one.
    """
    if asked.demand == "half":
        return _kinds(sides) == _kinds(asked.whole)
    left, right = (set(side) - {ELECTRON} for side in asked.in_ions(sides))
    if asked.demand == "ionic" and _kinds(_no_electrons(sides)) != _kinds(asked.net):
        return proportional(cancelled(*asked.in_ions(sides)), asked.net)
    spectators = asked.spectators
    if (left & spectators) != (right & spectators):
        return False
    extra = left & right - spectators  # on both sides, and not cancelled
    wanted = tuple(set(side) for side in asked.net)
    found = tuple(side - spectators for side in (left, right))
    if extra:
        rest = cancelled(*asked.in_ions(_no_electrons(sides)))
        return (set(rest[0]), set(rest[1])) == wanted
    return found == wanted


def _no_electrons(sides: tuple[Side, Side]) -> tuple[Side, Side]:
    left, right = ({kind: count for kind, count in side.items() if kind != ELECTRON} for side in sides)
    return left, right


def _kinds(sides: tuple[Side, Side]) -> tuple[frozenset[Kind], frozenset[Kind]]:
    return frozenset(sides[0]), frozenset(sides[1])


# ------------------------------------------------------------------ what is wrong


def _faults(asked: AskedEquation, sides: tuple[Side, Side], names: Mapping[Kind, str]) -> Iterator[str]:
    """Every fault in plain words, what matters most first."""
    in_ions = asked.demand in ("full", "ionic")
    wanted = asked.net if in_ions else asked.whole
    net = cancelled(*asked.in_ions(sides)) if in_ions else sides
    both = [kind for kind in sides[0] if kind in sides[1] and kind != ELECTRON]
    if proportional((net[1], net[0]), wanted):
        yield "it is written the wrong way round"
        return
    if asked.demand == "ionic" and proportional(net, wanted):
        yield (
            f"spectator ions are left in: {_listed([told_kind(kind, names) for kind in both])}"
            if both
            else "what is there as ions is not written as ions"
        )
        return
    electrons = asked.demand != "half" and any(side.get(ELECTRON) for side in sides)
    if electrons:
        yield "electrons are left over"
    yield from _wrong_species(asked, sides, names)
    yield from _out_of_balance(sides)
    left_in = [kind for kind in both if kind not in asked.spectators]
    if left_in:
        yield f"not cancelled: {_listed([told_kind(kind, names) for kind in left_in])} on both sides"
    elif not electrons and not out_of_balance(*sides) and _species_right(asked, sides):
        yield "atoms and charge balance, but not the electrons lost and gained"


def _out_of_balance(sides: tuple[Side, Side]) -> Iterator[str]:
    """The elements that do not balance, and the charge."""
    out = out_of_balance(*sides)
    elements = [name for name in out if name]
    if elements:
        told = ", ".join(
            f"{name} {out[name][0]} on the left and {out[name][1]} on the right" for name in elements[:_MOST_ELEMENTS]
        )
        yield f"it is not balanced: {told}"
    if "" in out:
        before, after = (f"{charge:+d}" if charge else "0" for charge in out[""])
        yield f"the charge is not balanced: {before} on the left and {after} on the right".replace(
            "-", "\N{MINUS SIGN}"
        )


def _wrong_species(asked: AskedEquation, sides: tuple[Side, Side], names: Mapping[Kind, str]) -> Iterator[str]:
    """Species that do not belong there, and those that are missing."""
    either = [{*asked.whole[at], *asked.dissolved[at]} for at in (0, 1)]
    for at, what in enumerate(("a wrong reactant", "a wrong product")):
        strange = [kind for kind in sides[at] if kind not in either[0] | either[1] and not asked.may_be_written(kind)]
        if strange:
            yield f"{what}: {_listed([told_kind(kind, names) for kind in strange])}"
        turned = [kind for kind in sides[at] if kind in either[1 - at] - either[at] and kind not in sides[1 - at]]
        if turned:
            yield f"on the wrong side: {_listed([told_kind(kind, names) for kind in turned])}"
    for at, where in enumerate(("left", "right")):
        missing = _missing(asked, sides, at)
        if missing:
            yield f"missing on the {where}: {_listed([told_kind(kind, names) for kind in missing])}"


def _missing(asked: AskedEquation, sides: tuple[Side, Side], at: int) -> list[Kind]:
    """What one side lacks: as the full equation writes it, or in ions where the answer is written so."""
    side, whole = sides[at], asked.whole[at]
    if asked.demand not in ("full", "ionic"):
        return [kind for kind in whole if kind not in side]
    here = asked.in_ions(sides)[at]
    beside = {*asked.in_ions(sides)[0], *asked.in_ions(sides)[1]} & asked.spectators
    needed = asked.dissolved[at] if beside and asked.demand == "full" else asked.net[at]
    missing = [kind for kind in needed if kind not in here]
    if missing and asked.demand == "full" and not _writes_ions(asked, side):
        return [kind for kind in whole if kind not in side] or missing
    return missing


def _writes_ions(asked: AskedEquation, side: Side) -> bool:
    whole = {*asked.whole[0], *asked.whole[1]}
    return any(charge and (atoms, charge) not in whole for atoms, charge in side)


def _wrong_states(asked: AskedEquation, typed: Reaction) -> Iterator[str]:
    """State symbols that are missing or wrong, of what the equation shows and of the ions that are (aq) there."""
    right = {kind_of(one.formula): one.state for one in asked.reaction.terms}
    missing, wrong = [], []
    for one in typed.terms:
        kind = kind_of(one.formula)
        wanted = right.get(kind) or ("aq" if any(kind in side for side in asked.dissolved) else "")
        if not wanted:
            continue
        if not one.state:
            missing.append(str(one.formula))
        elif one.state != wanted:
            wrong.append(f"{one.formula}({one.state}) for ({wanted})")
    if missing:
        yield f"no state symbol: {_listed(missing)}"
    if wrong:
        yield f"a wrong state symbol: {_listed(wrong)}"


def told_kind(kind: Kind, names: Mapping[Kind, str]) -> str:
    """A species as it is told: as the paper or the pupil spells it, else its atoms in order."""
    if kind in names:
        return names[kind]
    atoms, charge = kind
    if not atoms:
        return unicode_text("e-")
    body = "".join(f"{symbol}{count if count > 1 else ''}" for symbol, count in atoms)
    size = "" if abs(charge) == 1 else str(abs(charge))
    return unicode_text(f"{body}^{size}{'+' if charge > 0 else '-'}" if charge else body)


def _listed(names: Sequence[str]) -> str:
    told = list(dict.fromkeys(names))[:_MOST_TOLD]
    return told[0] if len(told) == 1 else f"{', '.join(told[:-1])} and {told[-1]}"


# ------------------------------------------------------------------ the ratio that it gives


def ratio_in(typed: Reaction, first: str, second: str) -> Fraction | None:
    """How many moles of one species go with one of another in an equation as typed; None where it does not hold both."""
    counts: list[int] = []
    sides = sides_of(typed)
    for text in (first, second):
        kind = kind_written(text)
        counts.append(max(side.get(kind, 0) for side in sides))
    return Fraction(counts[0], counts[1]) if all(counts) else None
