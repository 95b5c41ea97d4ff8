"""One entry of banks/elements.yaml comes in; a family of elements goes out. That file tells the grammar."""

from __future__ import annotations

from molewright.bank.definitions.elements import ElementFamily
from molewright.chem.formula import ELEMENTS
from molewright.errors import Mistake, nearest
from molewright.reading.fields import Fields


def read_family(fields: Fields) -> ElementFamily:
    """A family of elements."""
    name = fields.name("family")
    fields.entry = name
    symbols = fields.texts("elements")
    for symbol in symbols:
        if symbol not in ELEMENTS:
            raise Mistake(
                f"no element {symbol}",
                expected="symbols, as [Li, Na, K]",
                where=fields.at("elements"),
                near=nearest(symbol, ELEMENTS),
            )
    return ElementFamily(
        name=name,
        charge=fields.whole("charge"),
        elements=symbols,
        told=fields.text("told"),
        alone=fields.yes("alone"),
        source=fields.text("source"),
    )
