"""One entry of banks/redox.yaml comes in; its definition goes out. That file tells the grammar. Judges nothing."""

from __future__ import annotations

from molewright.bank.definitions.redox import Made, OwnColour, RedoxEntry, Warmth
from molewright.chem.formula import parse_formula
from molewright.errors import Mistake
from molewright.reading.fields import Fields
from molewright.reading.yaml_text import Keys


def read_redox(fields: Fields) -> RedoxEntry:
    """An entry of redox.yaml."""
    species = tuple(_formula(text) for text in fields.texts("species"))
    fields.entry = ", ".join(species)
    acids = tuple(_formula(text) for text in fields.texts("acids", ()))
    if bool(acids) != fields.has("without acid"):
        raise Mistake("'acids' and 'without acid' do not go together", expected="both or neither", where=fields.where)
    made = RedoxEntry(
        species=species,
        source=fields.text("source"),
        oxidant=fields.yes("oxidant"),
        strongest=_limit(fields, "strongest"),
        saturated=_limit(fields, "saturated"),
        dark=fields.yes("dark"),
        own_colour=_own_colour(fields),
        acids=acids,
        without_acid=fields.text("without acid", ""),
        spoilt_by=_reasons(fields, "spoilt by"),
        not_in=_reasons(fields, "not in"),
        warmth=_warmth(fields),
        made=_made(fields),
        low_ph=_ph(fields, "low pH", "below"),
        high_ph=_ph(fields, "high pH", "above"),
    )
    for remark in ("status", "note"):  # for people
        fields.has(remark)
    return made


def _formula(text: str) -> str:
    return parse_formula(text).text


def _limit(fields: Fields, key: str) -> float | None:
    if not fields.has(key):
        return None
    number = fields.decimal(key)
    if number <= 0:
        raise Mistake(f"{number} mol dm⁻³ for {key}", expected="a number above 0", where=fields.at(key))
    return float(number)


def _inner(fields: Fields, key: str) -> Fields | None:
    """The keys under a key; None where it is left out."""
    if not fields.has(key):
        return None
    return Fields(fields.branch(key), f"{fields.entry}, {key}")


def _own_colour(fields: Fields) -> OwnColour | None:
    inner = _inner(fields, "own colour")
    if inner is None:
        return None
    made = OwnColour(colour=inner.name("colour"), fades=inner.text("fades"), excess=inner.name("excess"))
    inner.finish()
    return made


def _warmth(fields: Fields) -> Warmth | None:
    inner = _inner(fields, "warmed")
    if inner is None:
        return None
    made = Warmth(
        reacts_with=_formula(inner.text("with")),
        low_c=float(inner.decimal("low")),
        high_c=float(inner.decimal("high")),
        below=inner.text("below"),
        above=inner.text("above"),
    )
    inner.finish()
    return made


def _made(fields: Fields) -> Made | None:
    inner = _inner(fields, "made from")
    if inner is None:
        return None
    made = Made(source=_formula(inner.text("ion")), none=inner.text("none"), little=inner.text("little"))
    inner.finish()
    return made


def _ph(fields: Fields, key: str, reason: str) -> tuple[float, str] | None:
    if fields.has(key) != fields.has(reason):
        raise Mistake(f"'{key}' and '{reason}' do not go together", expected="both or neither", where=fields.where)
    return (float(fields.decimal(key)), fields.text(reason)) if fields.has(key) else None


def _reasons(fields: Fields, key: str) -> tuple[tuple[str, str], ...]:
    """What spoils it, each with what is said of it."""
    if not fields.has(key):
        return ()
    branch = fields.branch(key)
    if not isinstance(branch, Keys):
        raise Mistake(f"no keys under '{key}'", expected="{HNO3: nitric acid oxidises ...}", where=branch.where)
    inner = Fields(branch, f"{fields.entry}, {key}")
    return tuple((_formula(what), inner.text(what)) for what in branch.members)
