"""Entries of banks/faults.yaml and banks/back_reasons.yaml come in; checked definitions go out. Those files tell the grammar."""

from __future__ import annotations

from decimal import Decimal

from molewright.bank.definitions import BackReason, LaboratoryFault
from molewright.chem.formula import PLACEHOLDERS, parse_formula
from molewright.chem.reaction import Reaction, parse_reaction, require_balance
from molewright.errors import Mistake, nearest
from molewright.reading.fields import Fields
from molewright.reading.yaml_text import Keys

CHANGES = (
    "titrant strength",
    "portion volume",
    "made-up volume",
    "weighed mass",
    "standard mass",
    "reagent strength",
    "reagent volume",
    "water of crystallisation",
    "past the end point",
    "initial reading",
    "final reading",
    "rough titre",
    "water added",
    "lost from flask",
    "left in flask",
    "gained in flask",
    "reduced less",
    "oxidised beside",
    "gas left",
    "gas added",
    "gas taken up",
    "indicator added",
    "pH of flask",
    "titrant at the end",
)
"""What a fault may change: a factor on a true quantity, a volume, or amounts in the conical flask."""

NEEDS = (
    "unknown in flask",
    "unknown in burette",
    "back",
    "direct",
    "not standardised",
    "reagent known",
    "percentage asked",
    "hydrate",
    "pipette",
    "portion of the flask",
    "made up",
    "weighed",
    "one titration",
    "several runs",
    "clear titrant",
    "colour indicator",
    "indicator kept as an acid",
    "carbonate",
    "solid in excess reagent",
    "gas ignored",
    "clear in alkali",
    "alkali in burette",
    "carbonate of the alkali dissolves",
    "acid in burette",
    "weak acid in flask",
    "carbonate ions in flask",
    "volatile acid in excess",
    "standard weighed",
    "run of its own",
    "grains weighed",
    "can be damp",
    "no gas in flask",
)
"""Conditions on a question under which a fault can be made in it."""

STEPS = (
    "rinse the burette",
    "fill the jet",
    "take out the funnel",
    "read at eye level",
    "add drop by drop",
    "leave out the rough titre",
    "rinse the pipette",
    "rinse the flask with water",
    "touch the wall",
    "leave the last drop",
    "weigh back",
    "rinse the beaker",
    "stop at the mark",
    "fill to the mark",
    "mix",
)
"""Steps of a description whose reason is the fault that is made without them."""


def read_fault(fields: Fields) -> LaboratoryFault:
    """One fault of practical work."""
    key = fields.name("fault")
    fields.entry = key
    needs = fields.texts("needs", ())
    for need in needs:
        if need not in NEEDS:
            raise Mistake(
                f"no condition '{need}'",
                expected=f"one of: {', '.join(NEEDS)}",
                near=nearest(need, NEEDS),
                where=fields.at("needs"),
            )
    indicator = fields.text("indicator", "")
    changes = _changes(fields, required=not indicator)
    halves, beside = _halves(fields), fields.text("beside", "")
    for what, told in (("reduced less", bool(halves)), ("oxidised beside", bool(beside))):
        if (what in dict(changes)) != told:
            raise Mistake(
                f"'{what}' and its equation do not go together", expected="both or neither", where=fields.at("changes")
            )
    reaction = parse_reaction(beside) if beside else None
    if reaction is not None:
        require_balance(reaction)
    gas = parse_formula(fields.text("gas")).text if fields.has("gas") else ""
    if bool(gas) != any("gas" in what.split() for what, _ in changes):
        raise Mistake("'gas' and a change of a gas do not go together", expected="both or neither", where=fields.where)
    rightly, step = fields.text("rightly", ""), fields.whole("step", 0)
    if bool(rightly) != bool(step):
        raise Mistake("'rightly' and 'step' do not go together", expected="both or neither", where=fields.where)
    return LaboratoryFault(
        key=key,
        told=fields.text("told"),
        cause=fields.text("cause"),
        changes=changes,
        needs=needs,
        source=fields.text("source"),
        indicator=indicator,
        halves=halves,
        beside=reaction,
        gas=gas,
        rightly=rightly,
        step=step,
        without=fields.one_of("without", STEPS, ""),
        burette=_species(fields, "burette"),
        flask=_species(fields, "flask"),
        at_least=_at_least(fields),
        solid=_species(fields, "solid"),
        used=fields.texts("used", ()),
        added=fields.text("added", ""),
    )


def _species(fields: Fields, key: str) -> tuple[str, ...]:
    return tuple(parse_formula(text).text for text in fields.texts(key, ()))


def _at_least(fields: Fields) -> float | None:
    """So many mol dm⁻³ of what is in the flask."""
    if not fields.has("at least"):
        return None
    if not fields.has("flask"):
        raise Mistake("'at least' of nothing", expected="'flask: ...' beside it", where=fields.at("at least"))
    return float(fields.decimal("at least"))


def _halves(fields: Fields) -> tuple[Reaction, ...]:
    """What the titrant should turn into, and what some of it does: two half-equations, electrons on the left of both."""
    found = tuple(parse_reaction(text) for text in fields.texts("halves", ()))
    for half in found:
        require_balance(half)
        if not any(member.formula.is_electron for member in half.left):
            raise Mistake(f"no electrons on the left of {half.text}", expected="a reduction", where=fields.at("halves"))
    if len(found) not in (0, 2):
        raise Mistake(
            f"{len(found)} half-equations", expected="the usual one, then the other", where=fields.at("halves")
        )
    return found


def _changes(fields: Fields, required: bool) -> tuple[tuple[str, Decimal], ...]:
    if not required and not fields.has("changes"):
        return ()
    branch = fields.branch("changes")
    if not isinstance(branch, Keys):
        raise Mistake("no keys under 'changes'", expected="{titrant strength: 0.97}", where=branch.where)
    inner = Fields(branch, f"{fields.entry}, changes")
    found = []
    for what in branch.members:
        if what not in CHANGES:
            raise Mistake(
                f"nothing to change called '{what}'",
                expected=f"one of: {', '.join(CHANGES)}",
                near=nearest(what, CHANGES),
                where=inner.at(what),
            )
        found.append((what, inner.decimal(what)))
    return tuple(found)


def read_back_reason(fields: Fields) -> BackReason:
    """Why some substances are titrated back."""
    analytes = tuple(parse_formula(text, PLACEHOLDERS).text for text in fields.texts("analytes"))
    fields.entry = ", ".join(analytes)
    reasons = fields.texts("reasons")
    if len(reasons) < 2:
        raise Mistake("fewer than two reasons", expected="one for each of two marks", where=fields.at("reasons"))
    return BackReason(
        analytes=analytes,
        reagents=fields.texts("reagents", ()),
        reasons=reasons,
        ignore=fields.text("ignore", ""),
        source=fields.text("source"),
    )
