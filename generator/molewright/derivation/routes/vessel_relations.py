"""What flasks, portions, blanks and reagents in excess allow beside a plan: further relations, each for a family of routes.

The letters: B scale down, C concentration of the flask, D equivalent volume, E compare with the blank that was titrated, F
convert then subtract, H scale the titrant, N straight to the element, S compare with a blank of another dilution, V compare
with what all the reagent would have needed.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from molewright.derivation.routes.added_relations import Widened
from molewright.experiment.quantities import Name
from molewright.experiment.relations.variables import Relation, product, total

Pairs = tuple[tuple[Name, Name], ...]
"""Quantities that must be alike for a comparison with a blank to be right: flask and portion of the sample and of its blank."""


def add_further(wide: Widened) -> Pairs:
    """Add what holds for each scaling, balance, total and element of a plan; the pairs that sample and blank must share."""
    same: Pairs = ()
    for relation in wide.used:
        if relation.kind == "scale":
            _scale_routes(relation, wide)
        elif relation.kind == "balance":
            _balance_routes(relation, wide)
            same += _compared(relation, wide)
        elif relation.kind == "total":
            _total_first(relation, wide)
        elif relation.kind == "contains":
            _to_the_element(relation, wide)
    return same


def _scale_routes(relation: Relation, wide: Widened) -> None:
    whole, portion, flask, aliquot = relation.names
    strength = wide.new(Name("concentration", whole.subject, whole.place, "in the solution"), whole, "in the solution")
    milli = Fraction(1, 1000)
    wide.add(
        "C",
        product("concentration", milli, portion, (strength, aliquot)),
        product("concentration", milli, whole, (strength, flask)),
    )
    for other in wide.used:
        if other.kind == "ratio" and portion in other.names:
            titrant = next(name for name in other.names if name != portion)
            scaled = wide.like(titrant, "for all of the solution")
            factor = other.factor if other.names[0] == portion else 1 / other.factor
            wide.add("H", product("scale", 1, scaled, (titrant, flask), (aliquot,)),
                product("ratio", factor, whole, (scaled,), reaction=other.reaction))  # fmt: skip
        if other.kind == "balance" and other.names[1] == whole:
            spent, _, start = other.names
            total_portion = wide.like(start, "total, one portion")
            spent_portion = wide.like(spent, "reacted, one portion")
            wide.add("B", product("scale", 1, start, (total_portion, flask), (aliquot,)),
                total("balance", spent_portion, ((portion, Fraction(-1)), (total_portion, Fraction(1)))),
                product("scale", 1, spent, (spent_portion, flask), (aliquot,)))  # fmt: skip


def _balance_routes(relation: Relation, wide: Widened) -> None:
    spent, left, start = relation.names
    for other in wide.used:
        if other.kind == "concentration" and other.names[0] == start:
            _, strength, volume = other.names
            left_volume, spent_volume = wide.like(volume, "left over"), wide.like(volume, "reacted")
            wide.add("D", product("concentration", other.factor, left, (strength, left_volume)),
                total("balance", spent_volume, ((left_volume, Fraction(-1)), (volume, Fraction(1)))),
                product("concentration", other.factor, spent, (strength, spent_volume)))  # fmt: skip
        if other.kind == "ratio" and spent in other.names:
            analyte = next(name for name in other.names if name != spent)
            factor = other.factor if other.names[0] == analyte else 1 / other.factor
            if factor == 1:
                continue
            of_start, of_left = wide.like(analyte, "for the total"), wide.like(analyte, "for what is left")
            wide.add("F", product("ratio", factor, of_start, (start,), reaction=other.reaction),
                product("ratio", factor, of_left, (left,), reaction=other.reaction),
                total("balance", analyte, ((of_left, Fraction(-1)), (of_start, Fraction(1)))))  # fmt: skip


def _total_first(relation: Relation, wide: Widened) -> None:
    """Two substances that one titre measures in one ratio: both together from the titrant, then one less the other."""
    delivered, *terms = relation.names
    shares = {share for name, share in relation.quantities if name != delivered}
    if relation.reaction is None or len(terms) < 2 or len(shares) != 1 or shares == {1}:
        return
    several = tuple(wide.variables[name].subject for name in terms)
    both = wide.new(Name("amount", " and ".join(several), "", "together"), terms[0], "both", several)
    (share,) = shares
    wide.add("F", product("ratio", 1 / share, both, (delivered,), reaction=relation.reaction),
             total("total", both, tuple((name, Fraction(1)) for name in terms)))  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Titrated:
    """How an amount is found by a titration: scaled up from a portion or not, by a ratio, from strength and volume."""

    scale: Relation | None
    ratio: Relation
    delivered: Relation


def _titrated(amount: Name, used: list[Relation]) -> _Titrated | None:
    scale = next((one for one in used if one.kind == "scale" and one.names[0] == amount), None)
    portion = scale.names[1] if scale else amount
    ratio = next((one for one in used if one.kind == "ratio" and one.names[0] == portion), None)
    if ratio is None:
        return None
    delivered = next((one for one in used if one.kind == "concentration" and one.names[0] == ratio.names[1]), None)
    return _Titrated(scale, ratio, delivered) if delivered is not None else None


def _compared(relation: Relation, wide: Widened) -> Pairs:
    """What reacted, from how much less titrant was needed than without the sample: n = c (V₀ − V)/1000.

    V₀ is the titre of a blank, or worked out from all the reagent that was added. The pairs are what sample and blank must share.
    """
    spent, left, start = relation.names
    sample, blank = _titrated(left, wide.used), _titrated(start, wide.used)
    if sample is None:
        return ()
    delivered, strength, titre = sample.delivered.names
    milli, ratio = sample.delivered.factor, sample.ratio
    if blank is not None:
        alike = (blank.delivered.names[1], blank.ratio.factor, blank.scale is None)
        if alike != (strength, ratio.factor, sample.scale is None):
            return ()
        wholes = [("E", blank.delivered.names[2])]
        if sample.scale is not None and blank.scale is not None:
            brought = run_in(wide, titre, "blank, same dilution", "", "blank diluted alike")
            (flask, aliquot), (own_flask, own_aliquot) = sample.scale.names[2:], blank.scale.names[2:]
            wide.add("S", product("scale", 1, brought, (wholes[0][1], own_flask, aliquot), (flask, own_aliquot)))
            wholes.append(("S", brought))
    else:
        wholes = [("V", run_in(wide, titre, "for all reagent", "for all reagent"))]
        portion = start
        if sample.scale is not None:
            portion = wide.like(start, "total, one portion")
            wide.add("V", product("scale", 1, start, (portion, sample.scale.names[2]), (sample.scale.names[3],)))
        needed = wide.like(delivered, "for all reagent")
        wide.add("V", product("ratio", ratio.factor, portion, (needed,), reaction=ratio.reaction),
            product("concentration", milli, needed, (strength, wholes[0][1])))  # fmt: skip
    less = run_in(wide, titre, "for what reacted", "for what reacted")
    worth = wide.like(delivered, "for what reacted")
    reacted = spent if sample.scale is None else wide.like(spent, "reacted, one portion")
    for family, whole in wholes:
        wide.add(family, total("balance", less, ((titre, Fraction(-1)), (whole, Fraction(1)))),
            product("concentration", milli, worth, (strength, less)),
            product("ratio", ratio.factor, reacted, (worth,), reaction=ratio.reaction))  # fmt: skip
        if sample.scale is not None:
            wide.add(family, product("scale", 1, spent, (reacted, sample.scale.names[2]), (sample.scale.names[3],)))
    if blank is None or blank.scale is None or sample.scale is None:
        return ()
    return tuple(zip(sample.scale.names[2:], blank.scale.names[2:], strict=True))


def run_in(wide: Widened, titre: Name, stage: str, of: str, note: str = "") -> Name:
    """A volume of the titrant that nobody ran in by itself: for what reacted, for all the reagent, of a blank diluted alike."""
    return wide.new(Name("volume", titre.subject, "", of, note=note), titre, stage)


def _to_the_element(relation: Relation, wide: Widened) -> None:
    """The amount of an element from that of what holds one atom of it, past the formula of the substance: Fe³⁺ to Fe."""
    atoms, substance = relation.names
    for other in wide.used:
        if other is relation or other.kind not in ("ratio", "contains") or substance not in other.names:
            continue
        held = next(name for name in other.names if name != substance)
        share = other.factor if other.names[0] == substance else 1 / other.factor
        if relation.factor != 1 and relation.factor * share == 1:
            wide.add("N", product("contains", 1, atoms, (held,)))
