"""A described procedure and the apparatus of the banks come in; what no laboratory could do goes out as mistakes with their lines.

For archetypes only: an experiment to be solved may have been done with anything. What the numbers of a draw do not allow is
refused by the bench; here is what no draw could mend.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from fractions import Fraction
from typing import assert_never

from molewright.bank.definitions import Apparatus, Choice, Substance
from molewright.bank.readers.described import Described
from molewright.bank.readers.putting_in import DRAWN_WITH, POURED_WITH
from molewright.chem.quantity import Quantity
from molewright.chem.reaction import Reaction
from molewright.errors import Mistake, Where
from molewright.experiment import quantities
from molewright.experiment.equilibrium import Settle
from molewright.experiment.gas_volume import GasVolume
from molewright.experiment.metering import ReadPH
from molewright.experiment.procedure import (
    Add,
    Aliquot,
    Change,
    Dissolve,
    MakeUp,
    Measure,
    Operation,
    Part,
    Pass,
    React,
    Remove,
    Strength,
    Titrate,
    Warm,
    Weigh,
)
from molewright.experiment.saturating import TellProduct

FILLINGS = 2  # of one pipette, for one volume: 40.0 cm³ as twice 20.0 cm³ (common practice, no source)
WATER = "H2O"


def nonsense(
    described: Described, apparatus: Sequence[Apparatus], substances: Mapping[str, Substance]
) -> Iterator[Mistake]:
    """Volumes that no apparatus measures, a flask made up to less than is in it, reactants that are nowhere, a wrong 'fit'."""
    yield from _fitted_titrant(described)
    yield from _volumes(described, apparatus)
    yield from _overfull(described)
    yield from _absent(described, tuple(one.name for one in substances.values() if one.solvent))


def _fitted_titrant(described: Described) -> Iterator[Mistake]:
    if not described.procedure.titrations:
        return
    name = quantities.concentration(described.procedure.titrations[-1].titrant.name)
    choice = described.choices.get(name)
    if choice is not None and choice.fit:
        yield Mistake(
            f"the {name} is marked 'fit', and the titre is inverse to it",
            expected="'fit' at a mass, or at the concentration of what is titrated",
            where=described.at(name),
        )


# ------------------------------------------------------------------ apparatus


def _volumes(described: Described, apparatus: Sequence[Apparatus]) -> Iterator[Mistake]:
    for operation in described.operations:
        match operation:
            case Measure(apparatus=kind):
                name = operation.volume
            case Aliquot(into=into, apparatus=kind):
                name = quantities.volume_taken(into)
            case MakeUp(vessel=vessel):
                kind, name = "volumetric flask", quantities.volume_made_up(vessel)
            case _:
                continue
        choice = described.choices.get(name)
        sizes = sorted({piece.capacity.in_base for piece in apparatus if piece.kind == kind})
        if choice is None or not sizes:
            continue
        for volume in _ends(choice):
            if not _MEASURES[kind](volume.in_base, sizes) or (not choice.options and kind in _ONE_MARK):
                told = f"{volume}" if choice.options else f"a range from {volume}"
                yield Mistake(
                    f"no {kind} of the banks measures {told} ({name})",
                    expected=_EXPECTED[kind].format(
                        sizes=", ".join(_plain(size) for size in sizes), most=_plain(sizes[-1])
                    ),
                    where=described.at(name),
                    do=_measured_otherwise(operation, choice, apparatus) if kind == "pipette" else "",
                )
                break


def _measured_otherwise(operation: Operation, choice: Choice, apparatus: Sequence[Apparatus]) -> str:
    """What else measures all of these volumes, in the words of an entry; nothing where nothing does."""
    able = []
    for kind in DRAWN_WITH if isinstance(operation, Aliquot) else POURED_WITH:
        sizes = sorted({piece.capacity.in_base for piece in apparatus if piece.kind == kind})
        ranged = not choice.options and kind in _ONE_MARK
        if sizes and not ranged and all(_MEASURES[kind](volume.in_base, sizes) for volume in _ends(choice)):
            able.append(f"'with: {kind}'")
    told = " or ".join([", ".join(able[:-1]), able[-1]] if able[1:] else able)
    return f"Write {told} where it is measured so." if able else ""


def _fills(volume: Fraction, sizes: Sequence[Fraction]) -> bool:
    return any(volume == size * times for size in sizes for times in range(1, FILLINGS + 1))


def _to_the_mark(volume: Fraction, sizes: Sequence[Fraction]) -> bool:
    return volume in sizes


def _within(volume: Fraction, sizes: Sequence[Fraction]) -> bool:
    return volume <= sizes[-1]


_MEASURES: dict[str, Callable[[Fraction, Sequence[Fraction]], bool]] = {
    "pipette": _fills,
    "volumetric flask": _to_the_mark,
    "burette": _within,
    "measuring cylinder": _within,
    "bottle": _to_the_mark,
}
_ONE_MARK = ("pipette", "volumetric flask", "bottle")
_EXPECTED = {
    "pipette": "{sizes} cm³, or twice one of them",
    "volumetric flask": "one of {sizes} cm³",
    "bottle": "one of {sizes} cm³",
    "burette": "at most {most} cm³",
    "measuring cylinder": "at most {most} cm³",
}


def _plain(size: Fraction) -> str:
    return f"{float(size):g}"


def _ends(choice: Choice) -> tuple[Quantity, ...]:
    """The options of a choice, or the ends of its range."""
    if choice.options:
        return choice.options
    assert choice.low is not None
    assert choice.high is not None
    return (Quantity(choice.low, choice.unit), Quantity(choice.high, choice.unit))


def _overfull(described: Described) -> Iterator[Mistake]:
    """A vessel that is made up to less than was measured into it, whichever of the volumes are drawn."""
    held: dict[str, Fraction] = {}
    for operation in described.operations:
        if isinstance(operation, Measure | Aliquot):
            into = operation.vessel if isinstance(operation, Measure) else operation.into
            name = operation.volume if isinstance(operation, Measure) else quantities.volume_taken(into)
            choice = described.choices.get(name)
            if choice is not None:
                held[into] = held.get(into, Fraction(0)) + max(end.in_base for end in _ends(choice))
        elif isinstance(operation, MakeUp):
            name = quantities.volume_made_up(operation.vessel)
            choice = described.choices.get(name)
            if choice is None:
                continue
            least = min(end.in_base for end in _ends(choice))
            if held.get(operation.vessel, 0) >= least:
                yield Mistake(
                    f"{operation.vessel} is made up to {_plain(least)} cm³ and holds {_plain(held[operation.vessel])} cm³ already",
                    expected="more than is in it",
                    where=described.at(name),
                )
            held[operation.vessel] = least


# ------------------------------------------------------------------ what is there


def _absent(described: Described, solvents: tuple[str, ...]) -> Iterator[Mistake]:
    """Reactants that are neither in the vessel nor told to be added in plenty."""
    inside: dict[str, set[str]] = {}
    plenty: set[str] = set()  # vessels to which something was added that nobody measured
    for at, (operation, where) in enumerate(zip(described.operations, described.places, strict=True)):
        match operation:
            case React(reactions=reactions, vessel=vessel):
                helped = vessel in plenty or at in described.helped
                yield from _missing(reactions, inside.setdefault(vessel, set()), helped, vessel, where)
            case Titrate(titrant=titrant, reactions=reactions, vessel=vessel):
                there = inside.setdefault(vessel, set())
                there.add(titrant.species)
                yield from _missing(reactions, there, vessel in plenty or titrant.made_in in plenty, vessel, where)
            case Settle(reaction=reaction, vessel=vessel):
                yield from _missing((reaction,), inside.setdefault(vessel, set()), False, vessel, where)
            case Dissolve(vessel=vessel, solvent=solvent):
                if not solvent.split()[-1].startswith(solvents):
                    plenty.add(vessel)
            case _:
                _moved(operation, inside, plenty)


def _moved(operation: Operation, inside: dict[str, set[str]], plenty: set[str]) -> None:
    """Keep account of what comes into a vessel and what leaves it, where nothing reacts."""
    match operation:
        case Weigh(contents=contents, vessel=vessel):
            inside.setdefault(vessel, set()).update(content.species for content in contents)
        case Measure(solution=solution, others=others, vessel=vessel):
            inside.setdefault(vessel, set()).update(one.species for one in (solution, *others))
            plenty |= {vessel} if solution.made_in in plenty else set()
        case Add(vessel=vessel):
            plenty.add(vessel)
        case GasVolume(species=species, vessel=vessel, led_in=True):
            inside.setdefault(vessel, set()).add(species)
        case Pass(species=species, into=into):
            inside.setdefault(into, set()).add(species)
        case Aliquot(vessel=vessel, into=into):
            inside.setdefault(into, set()).update(inside.get(vessel, set()))
            plenty |= {into} if vessel in plenty else set()
        case Remove(species=species, vessel=vessel) | GasVolume(species=species, vessel=vessel):
            inside.get(vessel, set()).discard(species)
        case (
            MakeUp()
            | Warm()
            | Part()
            | Settle()
            | Strength()
            | ReadPH()
            | TellProduct()
            | Change()
            | Dissolve()
            | React()
            | Titrate()
        ):
            pass
        case _:
            assert_never(operation)


def _missing(
    reactions: Sequence[Reaction], there: set[str], plenty: bool, vessel: str, where: Where
) -> Iterator[Mistake]:
    for reaction in reactions:
        left = [member.formula.text for member in reaction.left]
        lacking = [species for species in left if species not in there and species != WATER]
        if lacking and not plenty:
            yield Mistake(
                f"no {' and no '.join(lacking)} in {vessel} for {reaction}",
                expected=f"what is there ({', '.join(sorted(there)) or 'nothing'}), or what is added in plenty",
                where=where,
                do="Tell it before: 'add: ...', with the words for what is added.",
            )
        there.update(member.formula.text for member in reaction.right)
