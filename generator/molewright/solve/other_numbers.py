"""Moves and a stream come in; other numbers for a described experiment go out, performed on the bench, and its text with them.

The truth is moved first and the titres follow from it, so that what is hidden stays believable; whether the question is a good one
is for its judge to say.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from fractions import Fraction

from molewright.bank.readers.described import Spot
from molewright.bank.readers.listed_titres import ROUGH
from molewright.bank.readers.reacting import TITRE_KEYS
from molewright.bench.perform import BenchFault, perform
from molewright.chem.quantity import Quantity, half_up, last_place, parse_quantity
from molewright.chem.units import Unit
from molewright.draw.burette_runs import BURETTE_CM3, LEAST_INITIAL
from molewright.draw.numbers import pick_number
from molewright.draw.stream import Stream
from molewright.experiment import quantities
from molewright.experiment.quantities import Name
from molewright.experiment.quantity_texts import Numbers, by_text, find_name
from molewright.experiment.titres import READING_CM3, Run
from molewright.reading.quoting import flow_text
from molewright.reading.yaml_text import Branch, Keys, Listing, Scalar, parse_tree
from molewright.solve.moves import Moves
from molewright.solve.proved import Proved

MOST_TRIED = 2000  # picks before it is said that none keeps the windows

Described = tuple[tuple[str, str], ...]
"""A described experiment: its keys, and the text under each."""


def other_numbers(proved: Proved, moves: Moves, stream: Stream) -> Iterator[dict[Name, Quantity]]:
    """Other numbers for all that is given, again and again; titres and used shares are within their windows."""
    for attempt in range(MOST_TRIED):
        picking = stream.branch(str(attempt))
        picked = {name: pick_number(choice, picking) for name, choice in moves.choices.items()}
        truth = {**moves.start, **{name: quantity.in_base for name, quantity in picked.items()}}
        try:
            readings = perform(proved.procedure, truth)
        except BenchFault:
            continue
        inside = all(low <= readings.titres[name] <= high for name, (low, high) in moves.titres.items())
        if inside and all(low <= readings.used[species] <= high for species, (low, high) in moves.used.items()):
            yield {
                name: _told(name, quantity, proved, picked, readings.titres) for name, quantity in proved.given.items()
            }


def _told(
    name: Name, written: Quantity, proved: Proved, picked: Mapping[Name, Quantity], titres: Mapping[Name, Fraction]
) -> Quantity:
    """A given number as it is told now."""
    if name in picked:
        return picked[name]
    if name in titres:
        return _titre(written, titres[name])
    for act in proved.procedure.weighings:
        mass = picked.get(quantities.mass(act.sample)) if act.by_difference else None
        if mass is not None and name == quantities.bottle_mass(act.sample, False):
            emptied = proved.given[quantities.bottle_mass(act.sample, True)]
            return Quantity(mass.to(emptied.unit).number + emptied.number, emptied.unit).to(written.unit)
    return written


def _titre(written: Quantity, exact: Fraction) -> Quantity:
    """A titre so many divisions from the written one, to its places: its runs then lie about it as they did."""
    places = max(1, -last_place(written.to(Unit.CM3).number))
    division = READING_CM3 if places > 1 else Fraction(1, 10)
    away = round((exact - written.in_base) / division)
    return Quantity(half_up(written.in_base + away * division, places), Unit.CM3).to(written.unit)


def numbers_named(proved: Proved, numbers: Numbers) -> dict[Name, str]:
    """Numbers that are kept in an order, by their quantities. Raises Mistake for a quantity that is none."""
    known = by_text(proved.experiment.system.variables)
    return {known[text] if text in known else find_name(text, proved.given): number for text, number in numbers}


# ------------------------------------------------------------ the text with other numbers


def put_in(procedure: Listing, spots: Sequence[Spot], number: Branch, or_first: bool = False) -> Listing:
    """A procedure with a number in its places: wherever it is written, and with `or_first` else in the first that it could have."""
    members = list(procedure.members)
    written = [spot for spot in spots if _holds(members[spot.operation], spot)]
    for spot in written or (spots[:1] if or_first else ()):
        members[spot.operation] = _put(members[spot.operation], spot, number)
    return replace(procedure, members=tuple(members))


def _holds(member: Branch, spot: Spot) -> bool:
    """Whether a number is written in a place."""
    if not isinstance(member, Keys):
        return False
    ((_, held),) = member.members.items()
    if not isinstance(held, Keys):
        return True  # it is written with one word, which is the number
    inner = held.members.get(spot.within) if spot.within else held
    return isinstance(inner, Keys) and spot.key in inner.members


def renumbered(described: Described, proved: Proved, numbers: Mapping[Name, str], stream: Stream) -> Described:
    """The text of an experiment with other numbers in the places of those that are given."""
    text = dict(described)
    procedure = parse_tree(text["procedure"], "order")
    assert isinstance(procedure, Listing)
    for name, number in numbers.items():
        if name.kind != "titre":
            procedure = put_in(
                procedure, proved.experiment.described.spots.get(name, ()), Scalar(number, procedure.where)
            )
    members = list(procedure.members)
    for at, member in enumerate(members):
        members[at] = _with_titre(member, at, proved, numbers, stream)
    text["procedure"] = flow_text(replace(procedure, members=tuple(members)))
    return tuple(text.items())


def _put(member: Branch, spot: Spot, number: Branch) -> Branch:
    """An operation with a number under one of its keys."""
    assert isinstance(member, Keys)
    ((word, held),) = member.members.items()
    if not isinstance(held, Keys):  # it is written with one word
        return replace(member, members={word: number})
    if spot.within:
        inner = held.members[spot.within]
        assert isinstance(inner, Keys)
        under: Branch = replace(inner, members={**inner.members, spot.key: number})
        return replace(member, members={word: replace(held, members={**held.members, spot.within: under})})
    return replace(member, members={word: replace(held, members={**held.members, spot.key: number})})


def _with_titre(member: Branch, at: int, proved: Proved, numbers: Mapping[Name, str], stream: Stream) -> Branch:
    """A titration with its titre, or with readings whose mean it is, in the place of what was written."""
    described = proved.experiment.described
    titres = [one for one in numbers if one.kind == "titre"]
    name = next((one for one in titres if any(spot.operation == at for spot in described.spots.get(one, ()))), None)
    if name is None or not isinstance(member, Keys):
        return member
    ((word, held),) = member.members.items()
    assert isinstance(held, Keys)
    kept = {key: branch for key, branch in held.members.items() if key not in TITRE_KEYS}
    read = described.runs.get(name, ())
    if read:
        runs = tuple(one.run for one in read)
        mean = parse_quantity(numbers[name]).in_base
        told = [_run_text(run) for run in moved_runs(runs, mean - proved.given[name].in_base, stream)]
        kept["readings"] = Listing(tuple(Scalar(one, held.where) for one in told), held.where)
    else:
        kept["titre"] = Scalar(numbers[name], held.where)
    return replace(member, members={word: replace(held, members=kept)})


def moved_runs(runs: Sequence[Run], by: Fraction, stream: Stream) -> list[Run]:
    """Runs whose titres are so many cm³ further and lie about their mean as before; a run begins where the last ended if it did."""
    moved: list[Run] = []
    for at, run in enumerate(runs):
        titre = run.titre + by
        room = BURETTE_CM3 - titre
        follows = at > 0 and run.initial == runs[at - 1].final
        if follows and moved[-1].final <= room:
            initial = moved[-1].final
        elif run.initial == 0 or follows or room < LEAST_INITIAL * READING_CM3:
            initial = Fraction(0)
        else:
            initial = (
                stream.branch(f"run {at}").whole(LEAST_INITIAL, int(min(room, Fraction(5)) / READING_CM3)) * READING_CM3
            )
        moved.append(Run(initial, initial + titre, run.rough))
    return moved


def _run_text(run: Run) -> str:
    return f"{ROUGH if run.rough else ''}{half_up(run.initial, 2)} to {half_up(run.final, 2)}"
