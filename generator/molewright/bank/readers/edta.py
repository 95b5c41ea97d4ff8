"""One entry of banks/edta.yaml comes in; its definition goes out: EDTA itself, a metal ion, an indicator or a buffer.

Judges nothing; the file tells its grammar.
"""

from __future__ import annotations

import re

from molewright.bank.definitions import EdtaAcid, EdtaBuffer, EdtaEntry, EdtaIndicator, EdtaMetal
from molewright.chem.formula import parse_formula
from molewright.errors import Mistake
from molewright.reading.fields import Fields


def read_edta(fields: Fields) -> EdtaEntry:
    """An entry of edta.yaml."""
    if fields.has("acid"):
        made: EdtaEntry = EdtaAcid(
            parse_formula(fields.text("acid")).text,
            _numbers(fields, "pkas"),
            parse_formula(fields.text("titrated as")).text,
            fields.text("source"),
        )
    elif fields.has("metal"):
        ammines = _numbers(fields, "ammines") if fields.has("ammines") else ()
        metal = parse_formula(fields.text("metal")).text
        made = EdtaMetal(metal, float(fields.decimal("log k")), ammines, fields.text("source"))
    elif fields.has("buffer"):
        made = EdtaBuffer(
            base=parse_formula(fields.text("buffer")).text,
            low=float(fields.decimal("low")),
            high=float(fields.decimal("high")),
            free=float(fields.decimal("free")),
            source=fields.text("source"),
        )
    else:
        made = EdtaIndicator(
            fields.name("indicator"), float(fields.decimal("low")), float(fields.decimal("high")), fields.text("source")
        )
    for remark in ("status", "note"):  # for people
        fields.has(remark)
    return made


def _numbers(fields: Fields, key: str) -> tuple[float, ...]:
    texts = fields.texts(key)
    if not all(_NUMBER.fullmatch(text) for text in texts):
        raise Mistake(f"the {key} {', '.join(texts)}", expected="numbers, as [2.66, 6.16, 10.24]", where=fields.at(key))
    return tuple(map(float, texts))


_NUMBER = re.compile(r"-?[0-9]{1,3}(?:\.[0-9]{1,4})?")
