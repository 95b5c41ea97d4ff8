"""What substances are in solution: one entry of acids, solubility products or ions comes in, its definition goes out.

Knows no pH and judges nothing; that the ions of a solute are known ones is checked when all entries are read.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping

from molewright.bank.definitions import AcidFamily, IonEntry, SoluteEntry, SparingSalt
from molewright.chem.formula import PLACEHOLDERS, parse_formula
from molewright.chem.solubility import SparingSolid
from molewright.errors import Mistake, Where, nearest
from molewright.reading.fields import Fields, counted


def read_acid(fields: Fields) -> AcidFamily:
    """A family of acids.yaml."""
    name, formula = fields.name("name"), _formula(fields.text("formula"))
    pkas = fields.texts("pkas")
    try:
        numbers = tuple(float(pka.replace("_", "?")) for pka in pkas)
    except ValueError:
        raise Mistake(
            f"the pKa values {', '.join(pkas)} of {name}", expected="numbers, as [6.35, 10.33]", where=fields.at("pkas")
        ) from None
    gas = _formula(fields.text("gas")) if fields.has("gas") else ""
    held, heat = _above_nothing(fields, "held"), _above_nothing(fields, "heat")
    if held is not None and not gas:
        raise Mistake("'held' is of a gas", expected="'gas: ...' beside it", where=fields.at("held"))
    for key, of in (("held", held), ("heat", heat)):
        if of is not None:
            fields.text(f"{key}_source")
    source = fields.text("source")
    _remarks(fields, "status", "other_tables", "note")
    return AcidFamily(name=name, formula=formula, pkas=numbers, gas=gas, held=held, heat=heat, source=source)


def _above_nothing(fields: Fields, key: str) -> float | None:
    """A number above 0; None where the key is left out."""
    if not fields.has(key):
        return None
    number = fields.decimal(key)
    if number <= 0:
        raise Mistake(f"{number} for {key}", expected="a number above 0", where=fields.at(key))
    return float(number)


def read_sparing(fields: Fields) -> SparingSalt:
    """A solid of solubility_products.yaml."""
    name, solid = fields.name("name"), _formula(fields.text("solid"))
    counts = fields.whole("cations"), fields.whole("anions")
    made = SparingSalt(
        name=name,
        solid=SparingSolid(solid, *counts, float(fields.decimal("pksp"))),
        cation=_formula(fields.text("cation")),
        anion=_formula(fields.text("anion")),
        source=fields.text("source"),
    )
    _remarks(fields, "lowest_pksp", "highest_pksp", "status", "tables", "note")
    return made


def read_ion_or_solute(fields: Fields) -> IonEntry | SoluteEntry:
    """An entry of ions.yaml: an ion or molecule with its part in acid and base, or a solute with what it gives."""
    if fields.has("ion"):
        return _read_ion(fields)
    formula = _formula(fields.text("solute"))
    gives = tuple(counted(text, _formula) for text in fields.texts("gives", (formula,)))
    limit = fields.decimal("solubility") if fields.has("solubility") else None
    source = fields.text("source") if limit is not None else fields.text("source", "")
    _remarks(fields, "note")
    return SoluteEntry(formula, gives, limit, source)


def _read_ion(fields: Fields) -> IonEntry:
    """An ion; a number of it has a source beside it."""
    conductivity, heat = _above_nothing(fields, "conductivity"), _above_nothing(fields, "heat")
    source = fields.text("source", "") if conductivity is None and heat is None else fields.text("source")
    _remarks(fields, "note")
    return IonEntry(
        formula=_formula(fields.text("ion")),
        protons=fields.whole("protons", 0),
        acids=fields.texts("acid", ()),
        lost=fields.whole("lost", 0),
        one_of=fields.texts("one of", ()) and tuple(map(_formula, fields.texts("one of"))),
        conductivity=conductivity,
        heat=heat,
        source=source,
    )


def faults_of(
    acids: Mapping[str, AcidFamily],
    ions: Mapping[str, IonEntry],
    solutes: Mapping[str, SoluteEntry],
    place: Callable[[str], Where],
) -> Iterator[tuple[str, Mistake]]:
    """What does not go together in the three lists, and the file that is referred to: unknown names, charges that do not fit.

    `place` tells where the entry called "ion ..." or "solute ..." stands.
    """
    for ion in ions.values():
        where = place(f"ion {ion.formula}").under(ion.formula)
        for name in ion.acids:
            if name not in acids:
                yield "acids.yaml", Mistake(f"no acid '{name}' in acids.yaml", where=where, near=nearest(name, acids))
                continue
            whole = parse_formula(acids[name].formula, PLACEHOLDERS).charge
            if whole - ion.lost != parse_formula(ion.formula, PLACEHOLDERS).charge:
                yield (
                    "",
                    Mistake(
                        f"{ion.formula} cannot be {acids[name].formula} with {ion.lost} protons lost: the charges differ",
                        where=where,
                    ),
                )
        for one in ion.one_of:
            if one not in ions:
                yield "ions.yaml", Mistake(f"no ion '{one}' in ions.yaml", where=where, near=nearest(one, ions))
    for solute in solutes.values():
        for _, given in solute.gives:
            if given not in ions:
                yield (
                    "ions.yaml",
                    Mistake(
                        f"no ion '{given}' in ions.yaml",
                        expected="an entry '- ion: ...' for all that a solute gives",
                        where=place(f"solute {solute.formula}").under(solute.formula),
                        near=nearest(given, ions),
                    ),
                )


def _formula(text: str) -> str:
    return parse_formula(text, PLACEHOLDERS).text


def _remarks(fields: Fields, *keys: str) -> None:
    """Keys that people read and the program does not."""
    for key in keys:
        fields.has(key)
