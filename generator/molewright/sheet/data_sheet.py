"""The papers of a set come in; a sheet of data for all of them goes out: relative atomic masses, constants, rules."""

from __future__ import annotations

from collections.abc import Iterable

from molewright.chem.conventions import Convention, UnitStyle
from molewright.chem.masses import atomic_mass, has_mass
from molewright.chem.periodic_table import SERIES_GROUP, element_places
from molewright.chem.quantity import Quantity, half_up
from molewright.chem.units import Unit
from molewright.experiment.quantities import MOLAR_VOLUME
from molewright.experiment.titres import CONCORDANT_CM3
from molewright.nodes.blocks import ElementSquare, ElementTable, Heading, Items, Paragraph, Sheet
from molewright.nodes.inline import Amount, Line, Text
from molewright.sheet.compose import MASSES_SAID, Composer
from molewright.sheet.telling.procedure import gas_conditions


def data_sheet(composers: Iterable[Composer], code: str) -> Sheet:
    """The data sheet of a set, from one paper of each of its levels: what any of their questions needs stands on it once."""
    held = tuple(composers)
    first = held[0]
    title = f"{first.setting.title}, data sheet"
    points: list[Line] = [first.words.line("data volume")]
    points += _molar_volumes(held)
    points.append(first.words.line("data concordant", limit=_limit(first.setting.style)))
    return Sheet(
        title=title,
        subject="Titration calculations",
        kind="data",
        code=code,
        blocks=(
            Heading(1, (Text(title),)),
            Paragraph((Text(f"{MASSES_SAID[first.setting.masses]} "), *first.words.line("data no mass")), "note"),
            ElementTable(element_squares(first.setting.masses), "Relative atomic masses in the periodic table"),
            Items(tuple(points)),
        ),
        header=title,
        wide=True,
    )


def _limit(style: UnitStyle) -> Amount:
    return Amount(Quantity(half_up(CONCORDANT_CM3, 2), Unit.CM3.in_style(style)))


def _molar_volumes(composers: Iterable[Composer]) -> tuple[Line, ...]:
    """The molar volumes of gas that questions use, each once, with its conditions: a paper may hold two."""
    found: dict[str, Line] = {}
    for composer in composers:
        for writer in composer.writers:
            amount = writer.numbers.given(MOLAR_VOLUME)
            if amount is not None:
                told = writer.words.line("data gas", volume=amount, conditions=gas_conditions(writer))
                found.setdefault(str(amount.quantity), told)
    return tuple(found.values())


def element_squares(convention: Convention) -> tuple[ElementSquare, ...]:
    """Every element where it stands, with its relative atomic mass; a series in its own row, and named where it belongs."""
    squares: list[ElementSquare] = []
    series: dict[int, list[str]] = {}
    for symbol, place in element_places():
        mass = f"{atomic_mass(symbol, convention):f}" if has_mass(symbol) else ""
        row = place.period + 2 if place.series else place.period
        squares.append(ElementSquare(row, place.group, symbol, mass))
        if place.series:
            series.setdefault(place.period, []).append(symbol)
    for period, symbols in series.items():
        squares.append(ElementSquare(period, SERIES_GROUP, f"{symbols[0]}–{symbols[-1]}", ""))
    return tuple(sorted(squares, key=lambda square: (square.row, square.column)))
