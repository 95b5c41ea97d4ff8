"""Entries of banks/faults.yaml and banks/judgement.yaml come in; checked definitions go out. Those files tell the grammar."""

from __future__ import annotations

from decimal import Decimal

from generator.bank.definitions import BackReason, LaboratoryFault
from generator.bank.fields import Fields
from generator.bank.yaml_text import Mapping
from generator.chem.formula import PLACEHOLDERS, parse_formula
from generator.errors import Mistake, nearest

CHANGES = (
    "titrant strength", "portion volume", "made-up volume", "weighed mass", "reagent strength", "reagent volume",
    "water of crystallisation", "delivered", "taken up", "initial reading", "final reading", "rough titre", "water added",
    "carbon dioxide added",
)  # fmt: skip
"""What a fault may change: a factor on a true quantity, a shift in cm³, or something added to the conical flask."""

NEEDS = (
    "unknown in flask", "unknown in burette", "back", "direct", "not standardised", "reagent known", "percentage asked", "hydrate",
    "pipette", "portion of the flask", "made up", "weighed", "several runs", "clear titrant", "colour indicator",
    "carbonate", "solid in excess reagent", "carbon dioxide ignored", "phenolphthalein possible", "alkali in burette",
    "acid in burette", "weak acid in flask", "carbonate ions in flask", "hydrochloric acid in excess", "iron(II) in flask",
    "ethanedioate in flask", "manganate(VII) in burette", "iodine in flask", "acid and iodide in flask", "starch",
    "thiosulfate in burette", "silver chloride in flask", "chromate indicator", "buffer of pH 10",
)  # fmt: skip
"""Conditions on a question under which a fault can be made in it."""


def read_fault(fields: Fields) -> LaboratoryFault:
    """One fault of practical work."""
    key = fields.name("fault")
    fields.entry = key
    needs = fields.texts("needs", ())
    for need in needs:
        if need not in NEEDS:
            raise Mistake(f"no condition '{need}'", expected=f"one of: {', '.join(NEEDS)}", near=nearest(need, NEEDS),
                          where=fields.at("needs"))  # fmt: skip
    return LaboratoryFault(
        key, fields.text("told"), fields.text("cause"), _changes(fields), needs, fields.text("source")
    )


def _changes(fields: Fields) -> tuple[tuple[str, Decimal], ...]:
    branch = fields.branch("changes")
    if not isinstance(branch, Mapping):
        raise Mistake("no keys under 'changes'", expected="{titrant strength: 0.97}", where=branch.where)
    inner = Fields(branch, f"{fields.entry}, changes")
    found = []
    for what in branch.members:
        if what not in CHANGES:
            raise Mistake(f"nothing to change called '{what}'", expected=f"one of: {', '.join(CHANGES)}",
                          near=nearest(what, CHANGES), where=inner.at(what))  # fmt: skip
        found.append((what, inner.decimal(what)))
    return tuple(found)


def read_back_reason(fields: Fields) -> BackReason:
    """Why some substances are titrated back."""
    analytes = tuple(parse_formula(text, PLACEHOLDERS).text for text in fields.texts("analytes"))
    fields.entry = ", ".join(analytes)
    reasons = fields.texts("reasons")
    if len(reasons) < 2:
        raise Mistake("fewer than two reasons", expected="one for each of two marks", where=fields.at("reasons"))
    return BackReason(analytes, fields.texts("reagents", ()), reasons, fields.text("ignore", ""), fields.text("source"))
