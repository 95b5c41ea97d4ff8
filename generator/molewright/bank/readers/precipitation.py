"""One entry of banks/precipitation.yaml comes in; its definition goes out. That file tells the grammar. Judges nothing."""

from __future__ import annotations

from molewright.bank.definitions.precipitation import Precipitant, PrecipitationEntry, PrecipitationIndicator
from molewright.chem.formula import parse_formula
from molewright.reading.fields import Fields


def read_precipitation(fields: Fields) -> PrecipitationEntry:
    """An entry of precipitation.yaml."""
    for remark in ("status", "note"):  # for people
        fields.has(remark)
    if fields.has("precipitant"):
        return Precipitant(_formula(fields, "precipitant"), fields.text("in alkali"), fields.text("source"))
    ranged = fields.has("low")
    own = fields.has("ion")
    return PrecipitationIndicator(
        indicator=fields.name("indicator"),
        shows=_formula(fields, "shows"),
        source=fields.text("source"),
        low=float(fields.decimal("low")) if ranged else None,
        high=float(fields.decimal("high")) if ranged else None,
        in_acid=fields.text("in acid") if ranged else "",
        needs_acid=_formula(fields, "needs acid") if fields.has("needs acid") else "",
        without_acid=fields.text("without acid") if fields.has("needs acid") else "",
        ion=_formula(fields, "ion") if own else "",
        strength=float(fields.decimal("strength")) if own else 0.0,
        pka=float(fields.decimal("pka")) if own else 0.0,
    )


def _formula(fields: Fields, key: str) -> str:
    return parse_formula(fields.text(key)).text
