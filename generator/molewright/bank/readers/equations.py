"""One entry of banks/equations.yaml comes in; its definition goes out. That file tells the grammar. Judges nothing."""

from __future__ import annotations

from typing import assert_never

from molewright.bank.definitions.equations import (
    Balancing,
    EquationEntry,
    IonsBeside,
    KnownFormulae,
    SpeciesName,
    WrittenInstead,
)
from molewright.chem.formula import PLACEHOLDERS, parse_formula
from molewright.reading.fields import Fields, counted


def read_equation_entry(fields: Fields) -> EquationEntry:
    """An entry of equations.yaml."""
    if fields.has("known"):
        return KnownFormulae(tuple(_formula(text) for text in fields.texts("known")))
    if fields.has("balances"):
        return Balancing(tuple(_formula(text) for text in fields.texts("balances")))
    if fields.has("beside"):
        return IonsBeside(tuple(_formula(text) for text in fields.texts("beside")))
    if fields.has("instead"):
        gives = tuple(counted(text, _formula) for text in fields.texts("for"))
        return WrittenInstead(_formula(fields.text("instead")), gives)
    if fields.has("ionic"):
        gives = tuple(counted(text, _formula) for text in fields.texts("gives"))
        return WrittenInstead(_formula(fields.text("ionic")), gives, True, fields.text("source"))
    return SpeciesName(_formula(fields.text("species")), fields.text("name"))


def called_by_equations(one: EquationEntry) -> str:
    """What an entry of equations.yaml is called."""
    match one:
        case KnownFormulae():
            return f"known {', '.join(one.formulae)}"
        case Balancing():
            return f"balances {', '.join(one.formulae)}"
        case IonsBeside():
            return f"beside {', '.join(one.ions)}"
        case WrittenInstead():
            return f"{'ionic' if one.ionic else 'instead'} {one.formula}"
        case SpeciesName():
            return f"species {one.formula}"
        case _:
            assert_never(one)


def _formula(text: str) -> str:
    return parse_formula(text, PLACEHOLDERS).text
