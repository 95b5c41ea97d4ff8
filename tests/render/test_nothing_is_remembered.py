"""What a sheet looks like depends on the sheet alone, never on what the same process printed before it."""

from __future__ import annotations

import inspect
import sys
import typing
from dataclasses import fields, is_dataclass
from decimal import Decimal
from functools import _lru_cache_wrapper
from importlib import import_module
from pathlib import Path
from pkgutil import walk_packages
from types import UnionType
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import molewright
from molewright.bank.definitions import Choice
from molewright.chem.quantity import Quantity
from molewright.chem.units import Unit
from molewright.nodes.blocks import Cell, Paragraph, Sheet, Table
from molewright.nodes.inline import Amount, Inline, Maths, Over, Sign, Symbol, Text
from molewright.render import FORMS, renderer
from shared.for_each import for_each

FILES_ONLY = (
    "molewright.render.pdf.fonts",
    "molewright.render.latex",
    "molewright.render.docx.package",
)  # keyed by faces and files: slow to fill again


def cached() -> dict[str, _lru_cache_wrapper[Any]]:
    """Every function of the package that remembers what it gave."""
    for module in walk_packages([str(Path(molewright.__file__).parent)], "molewright."):
        if not module.name.endswith("__main__"):
            import_module(module.name)
    return {
        f"{module.__name__}.{name}": held
        for module in list(sys.modules.values())
        if module is not None and module.__name__.startswith("molewright.")
        for name, held in vars(module).items()
        if isinstance(held, _lru_cache_wrapper) and held.__module__ == module.__name__
    }


CACHED = cached()


@st.composite
def twins(draw: st.DrawFn) -> tuple[Quantity, Quantity]:
    """One value, written with two different numbers of figures."""
    number = Decimal(draw(st.integers(1, 9999))).scaleb(-draw(st.integers(0, 3)))
    unit, scientific = draw(st.sampled_from(Unit)), draw(st.booleans())
    zeros = draw(st.integers(1, 3))
    longer = Decimal((number.as_tuple().sign, (*number.as_tuple().digits, *[0] * zeros), _exponent(number) - zeros))
    return Quantity(number, unit, scientific), Quantity(longer, unit, scientific)


def _exponent(number: Decimal) -> int:
    exponent = number.as_tuple().exponent
    assert isinstance(exponent, int)
    return exponent


def places_for(one: Quantity) -> tuple[Inline, ...]:
    """A quantity wherever a line may hold one."""
    amount = Amount(one)
    return (amount, Maths((Symbol("n"), Sign("="), Over((amount,), (amount,)), Sign("="), amount)), Text("and"))


def sheet(*quantities: Quantity) -> Sheet:
    lines = tuple(places_for(one) for one in quantities)
    table = Table(widths=(1.0,), heading=(Cell((lines[0],)),), rows=tuple((Cell((line,)),) for line in lines))
    return Sheet(
        title="Title",
        subject="Subject",
        kind="questions",
        code="CODE1",
        blocks=(*(Paragraph(line) for line in lines), table),
    )


def forget() -> None:
    for name, function in CACHED.items():
        if not name.startswith(FILES_ONLY):
            function.cache_clear()


@pytest.mark.parametrize("form", FORMS)
@settings(max_examples=20)
@given(st.lists(twins(), min_size=1, max_size=3))
def test_no_print_depends_on_what_was_printed_before(form: str, pairs: list[tuple[Quantity, Quantity]]) -> None:
    render = renderer(form).render
    short, long = (sheet(*side) for side in zip(*pairs, strict=True))
    forget()
    alone = render(long)
    forget()
    render(short)
    assert render(long) == alone
    assert render(short) != alone


def test_a_number_keeps_its_own_figures_after_the_same_number_with_others() -> None:
    render = renderer("text").render
    printed = [render(sheet(Quantity(Decimal(number), Unit.G))).decode() for number in ("2", "2.0", "2")]
    assert "2.0" not in printed[0] + printed[2]
    assert "2.0" in printed[1]


# ---------------------------------------------------------------- what a cache is keyed by


def _inside(hint: Any, seen: set[Any]) -> set[Any]:
    """The types that a key of this type is compared by: a class with an == of its own stands for itself."""
    if hint in seen:
        return set()
    seen.add(hint)
    parts = typing.get_args(hint)
    if parts or isinstance(hint, UnionType):
        return set().union(*(_inside(part, seen) for part in parts if not isinstance(part, str)))
    if is_dataclass(hint) and isinstance(hint, type) and _compared_by_fields(hint):
        named = typing.get_type_hints(hint)
        return set().union(*(_inside(named[field.name], seen) for field in fields(hint) if field.compare))
    return {hint}


def _compared_by_fields(held: type) -> bool:
    return bool(held.__dataclass_params__.eq)  # type: ignore[attr-defined]


def test_the_look_inside_a_key_finds_a_decimal_and_stops_at_a_quantity() -> None:
    from molewright.bank.definitions import Hazard

    assert Decimal in _inside(Hazard, set())
    assert Decimal not in _inside(tuple[Amount | Maths, ...], set())
    assert Quantity in _inside(tuple[Amount | Maths, ...], set())


@for_each("name", CACHED)
def test_no_cache_is_keyed_by_decimals_that_equal_others_with_other_figures(name: str) -> None:
    function = CACHED[name].__wrapped__
    for parameter, told in inspect.signature(function).parameters.items():
        hint = eval(told.annotation, vars(sys.modules[function.__module__]))
        assert Decimal not in _inside(hint, set()), f"{parameter}: its == takes 2 for 2.0"


def test_choices_in_steps_written_differently_print_different_numbers() -> None:
    tenths, hundredths = (
        Choice(low=Decimal(1), high=Decimal(2), step=Decimal(step), unit=Unit.G) for step in ("0.1", "0.10")
    )
    assert tenths != hundredths
    assert tenths.is_like(hundredths)
    assert len({tenths, hundredths}) == 2
