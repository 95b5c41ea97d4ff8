"""A described experiment that is proved comes in, and what a teacher says of its numbers; which may move, and how far, goes out.

Masses and strengths move, and so does what is sought and hidden in the sample; the titres follow from them on the bench. What an
apparatus measures (25.0 cm³, 250 cm³) stays, and what something is by nature: a molar mass, the water of a crystal.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from molewright.bank.definitions import Choice
from molewright.bank.readers.choices import read_choice
from molewright.bench.perform import BenchFault, Readings, perform
from molewright.chem.quantity import Quantity, last_place, parse_quantity, to_figures
from molewright.chem.units import Unit
from molewright.draw.burette_runs import BURETTE_CM3
from molewright.errors import Mistake, Where
from molewright.experiment import quantities
from molewright.experiment.procedure import Weigh
from molewright.experiment.quantities import Name
from molewright.experiment.quantity_kinds import UNITS
from molewright.experiment.quantity_texts import Numbers, find_name, texts_of
from molewright.reading.yaml_text import parse_tree
from molewright.solve.described import inputs_of
from molewright.solve.proved import Proved

STAYS = "no"  # what is said of a number that does not move
FAR = (Fraction(85, 100), Fraction(115, 100))  # of what is weighed or of some strength
NEAR = (Fraction(93, 100), Fraction(107, 100))  # of a share of a sample, which stays believable
TITRE_FAR = (Fraction(4, 5), Fraction(6, 5))
USED_MORE = Fraction(1, 5)  # of a reagent in excess: more or less of it may be used up than was
LEAST_STEPS = 8  # of a range: with fewer, versions would be alike
MOST_STEPS = 10_000  # a number given to ten figures need not move in its tenth
_FAR_KINDS = (
    "mass", "mass each", "mass within", "amount", "concentration", "mass concentration", "mass in volume", "volume strength",
    "gas volume",
)  # fmt: skip
_NEAR_KINDS = ("percentage", "impurity", "mass per gram")

Window = tuple[Fraction, Fraction]


@dataclass(frozen=True, slots=True, kw_only=True)
class Moves:
    """What may move: numbers that are given or hidden, each with its choice; how far titres and used shares may come out.

    `start` is the truth that the bench starts from, in base units.
    """

    choices: Mapping[Name, Choice]
    stays: tuple[Name, ...]
    titres: Mapping[Name, Window]
    used: Mapping[str, Window]
    start: Mapping[Name, Fraction]


def moves_of(proved: Proved, said: Numbers, where: Where) -> Moves:
    """Which numbers may move and how far: as is said, and else as is sensible for their kind.

    Raises Mistake, at the place of what is said, for a quantity that is none or that cannot move, and where nothing can.
    """
    start = _start(proved)
    moving = dict(_proposed(proved, start))
    as_written = _readings(proved, start)
    titres = {act.titre: _about(as_written.titres[act.titre]) for act in proved.procedure.titrations}
    stays: dict[Name, None] = {}
    every = tuple(dict.fromkeys((*moving, *titres, *proved.given, *proved.experiment.system.variables)))
    for text, how in said:
        place = where.under(text)
        try:
            name = _named(text, (*moving, *titres), every)
            if how == STAYS:
                _require_not_following(name, titres)
                moving.pop(name, None)
                stays[name] = None
            elif name in titres:
                titres[name] = _window(how, name)
            else:
                _require_start(proved, name, moving)
                moving[name] = read_choice(parse_tree(how, where.file), UNITS[name.kind])
        except Mistake as mistake:
            raise mistake.at(place) from None
    if not moving:
        raise Mistake(
            "nothing of this experiment may move",
            where=where,
            expected="one number at least: a mass, a concentration, a percentage",
            do="Its versions are all as it is written.",
        )
    return Moves(
        choices=moving,
        stays=tuple(name for name in (*stays, *proved.given) if name not in moving and name not in titres),
        titres=titres,
        used={
            species: (max(share - USED_MORE, share / 2), min(share + USED_MORE, (1 + share) / 2))
            for species, share in as_written.used.items()
        },
        start=start,
    )


def told_moves(proved: Proved, moves: Moves) -> Numbers:
    """The moves in words that `moves_of` reads as the same: each number by its name, with its range or that it stays."""
    names = texts_of(
        tuple(dict.fromkeys((*moves.choices, *moves.titres, *moves.stays, *proved.experiment.system.variables)))
    )
    told = [(names[name], told_choice(choice)) for name, choice in moves.choices.items()]
    told += [(names[name], told_window(*ends)) for name, ends in moves.titres.items()]
    return (*told, *((names[name], STAYS) for name in dict.fromkeys(moves.stays)))


def told_choice(choice: Choice) -> str:
    """A choice as it is read back."""
    if choice.options:
        told = ", ".join(f"{one.number_text} {one.unit.typed}".strip() for one in choice.options)
        return f"[{told}]" if len(choice.options) > 1 else told
    unit = f" {choice.unit.typed}" if choice.unit else ""
    return f"{choice.low:f} to {choice.high:f}{unit} by {choice.step:f}"


def told_window(low: Fraction, high: Fraction) -> str:
    """How far a titre may come out, as it is read back."""
    return f"{float(low):g} to {float(high):g} cm3"


# ------------------------------------------------------------ where the bench starts


def _start(proved: Proved) -> dict[Name, Fraction]:
    """The truth that the bench needs, each thing said once: a share of a sample as its percentage, so that its mass may move."""
    truth = {name: value for name, value in proved.truth.items() if name.kind != "titre"}
    asked = proved.experiment.ask.quantity
    groups = [*inputs_of(proved.procedure), tuple(quantities.mass(act.sample) for act in proved.procedure.weighings)]
    if asked not in proved.given and _far(asked) is not None and not any(asked in ways for ways in groups):
        truth.pop(asked, None)  # it follows; left there the bench would start from it
    for act in proved.procedure.weighings:
        full, emptied = (truth.get(quantities.bottle_mass(act.sample, gone)) for gone in (False, True))
        if act.by_difference and full is not None and emptied is not None:
            truth[quantities.mass(act.sample)] = full - emptied
        _as_percentages(act, proved, truth)
    return truth


def _as_percentages(act: Weigh, proved: Proved, truth: dict[Name, Fraction]) -> None:
    """Tell what is hidden in a weighed sample by its percentage, and of a mixture of nothing else leave the last untold."""
    mass = truth.get(quantities.mass(act.sample)) if act.weighed else None
    for at, content in enumerate(act.contents):
        ways = (
            quantities.mass_within(content.substance, act.sample),
            quantities.substance_amount(content.substance, act.sample),
        )
        share = quantities.percentage(content.substance, act.sample)
        hidden = [name for name in (share, *ways) if name in truth and name not in proved.given]
        if act.pure and len(act.contents) > 1 and at == len(act.contents) - 1 and hidden:
            for name in hidden:
                del truth[name]
        elif mass and not act.pure and hidden and share not in truth:
            grams = (
                truth[ways[0]] if ways[0] in truth else truth[ways[1]] * truth[quantities.molar_mass(content.substance)]
            )
            for name in hidden:
                del truth[name]
            truth[share] = grams / mass * 100


# ------------------------------------------------------------ what is sensible


def _proposed(proved: Proved, start: Mapping[Name, Fraction]) -> Iterator[tuple[Name, Choice]]:
    """Every number that may move, with a range about it."""
    for name, quantity in proved.given.items():
        far = _far(name)
        if far is not None and name in start:
            yield name, _range(quantity.exact, quantity.unit, -last_place(quantity.number), far, name)
    for name in start:
        far = _far(name)
        if far is None or name in proved.given or not _read_by_the_bench(proved, name):
            continue
        value, unit = start[name], UNITS[name.kind]
        if value > 0:
            yield name, _range(value, unit, -last_place(to_figures(value, 3)), far, name)


def _far(name: Name) -> Window | None:
    """How far a quantity of its kind may move; None where it does not."""
    return FAR if name.kind in _FAR_KINDS else NEAR if name.kind in _NEAR_KINDS else None


def _read_by_the_bench(proved: Proved, name: Name) -> bool:
    """Whether the bench starts from a hidden number: a weighed mass, a share of it, or one of the ways in which an input is told."""
    weighed = {
        quantities.percentage(one.substance, act.sample) for act in proved.procedure.weighings for one in act.contents
    }
    weighed |= {quantities.mass(act.sample) for act in proved.procedure.weighings}
    return name in weighed or any(name in ways for ways in inputs_of(proved.procedure))


def _range(value: Fraction, unit: Unit, places: int, far: Window, name: Name) -> Choice:
    """From low to high about a value, in steps of its last place, or finer where these would be too few."""
    low, high = (to_figures(value * end, 3 if far is NEAR else 2) for end in far)
    if unit is Unit.PERCENT and value < 100:
        high = min(high, to_figures(100 - (100 - value) / 3, 3))
    least = max(0, -last_place(low), -last_place(high))  # both ends are on a step
    while (Fraction(high - low) * 10**places > MOST_STEPS and places > least) or places < 0:
        places += 1 if places < 0 else -1
    while Fraction(high - low) * 10**places < LEAST_STEPS or places < least:
        places += 1
    figures = None
    if unit.base in (Unit.MOL_PER_DM3, Unit.G_PER_DM3):
        figures = max(3, places + _whole_figures(value))
    return Choice(low=low, high=high, step=Decimal(1).scaleb(-places), unit=unit, figures=figures)


def _whole_figures(value: Fraction) -> int:
    """Significant figures of a number before its decimal point; fewer than none where it begins with zeros after it."""
    return to_figures(value, 1).adjusted() + 1


def _about(titre: Fraction) -> Window:
    """Volumes about a titre to two figures, within a burette."""
    low, high = (Fraction(to_figures(titre * end, 2)) for end in TITRE_FAR)
    return min(low, titre), max(min(high, BURETTE_CM3), titre)


def _readings(proved: Proved, start: Mapping[Name, Fraction]) -> Readings:
    """What the bench reads as it is written. Raises Mistake where the experiment cannot be performed from what it starts from."""
    try:
        return perform(proved.procedure, start)
    except (KeyError, BenchFault) as gap:
        raise Mistake(
            f"the numbers of this experiment cannot be moved: {gap.args[0]} is not known to begin with",
            where=proved.experiment.where,
            do="Its versions are all as it is written.",
        ) from None


def _window(how: str, name: Name) -> Window:
    low, _, high = how.partition(" to ")
    if not high:
        raise Mistake(f"the {name} moves as '{how}'", expected="from some volume to another, as '20 to 30 cm3'")
    last = parse_quantity(high, unit_needed=True)
    first = parse_quantity(low, unit_needed=False)
    least, most = Quantity(first.number, first.unit or last.unit).in_base, last.in_base
    if not 0 < least < most <= BURETTE_CM3 or last.unit.base is not Unit.CM3:
        raise Mistake(
            f"the {name} from {low} to {high}", expected=f"volumes from low to high, at most {int(BURETTE_CM3)} cm³"
        )
    return least, most


def _named(text: str, moving: tuple[Name, ...], every: tuple[Name, ...]) -> Name:
    """The quantity that a text means among those that may move, or else among all."""
    try:
        return find_name(text, moving)
    except Mistake:
        return find_name(text, every)


def _require_not_following(name: Name, titres: Mapping[Name, Window]) -> None:
    if name in titres:
        raise Mistake(
            f"the {name} cannot stay while other numbers move: it follows from them",
            expected="how far it may come out, as '20 to 30 cm3'",
        )


def _require_start(proved: Proved, name: Name, moving: Mapping[Name, Choice]) -> None:
    if name not in proved.given and name not in moving:
        known = texts_of((*proved.given, *moving))
        raise Mistake(
            f"the {name} follows from the other numbers, and cannot be moved by itself",
            expected=f"one of: {', '.join(dict.fromkeys(known.values()))}",
        )
