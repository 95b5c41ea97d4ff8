"""A calculation comes in; a part goes out that asks why the conductivity changes as it does. Reads the ions, follows no numbers."""

from __future__ import annotations

from dataclasses import dataclass

from molewright.bank.definitions import Bank
from molewright.draw.refusal import Refusal
from molewright.further_parts.curves.instrument_readings import Experiment
from molewright.further_parts.pieces import Calculation, Chemical, FurtherPart, FurtherPoint, Piece, said, writing_lines
from molewright.plausibility.solutes import Solutes

_ALIKE = 0.1  # two ions that conduct so nearly alike, relatively, leave the line level


@dataclass(frozen=True, slots=True, kw_only=True)
class Exchange:
    """What leaves the solution before the end point, what takes its place, and what of the titrant stays after it."""

    shape: str  # falls, level or rises
    gone: str
    come: str
    formed: str  # of a weak acid or base: its ion
    added: tuple[str, ...]


def exchange(bank: Bank, flask: str, titrant: str) -> Exchange:
    """The exchange of one solute for another. Raises Refusal where more than one ion takes part."""
    solutes = Solutes(bank)
    there, added = ([ion for _, ion in solutes.parts(one) or ()] for one in (flask, titrant))
    acting = [ion for ion in there if ion.protons or ion.acids]
    staying = [ion.formula for ion in added if not ion.protons]
    whole = tuple(ion.formula for ion in added)
    neutral = not acting or any(ion.protons for ion in added)
    if len(added) != 2 or len(acting) > 1 or not neutral:
        raise Refusal("conductivity", "more than one kind of ion reacts")
    if acting and acting[0].acids:
        ways = {ion.protons for ion in added}
        lost = acting[0].lost + (1 if -1 in ways else -1)
        formed = next(
            (one.formula for one in bank.ions.values() if one.acids == acting[0].acids and one.lost == lost), None
        )
        if formed is None or acting[0].limiting != 0.0:
            raise Refusal("conductivity", "what is titrated conducts from the start")
        return Exchange(shape="rises", gone=acting[0].formula, come=staying[0], formed=formed, added=whole)
    if acting:
        gone, come = acting[0].formula, staying[0]
    else:  # a solid comes down
        gone = next(ion.formula for ion in there if ion.formula.endswith("-"))
        come = next(ion.formula for ion in added if ion.formula.endswith("-"))
    before, after = bank.ions[gone].limiting, bank.ions[come].limiting
    if not before or after is None or after > before * (1 + _ALIKE):
        raise Refusal("conductivity", f"it is not known whether {come} conducts better than {gone}")
    return Exchange(
        shape="level" if after > before * (1 - _ALIKE) else "falls", gone=gone, come=come, formed="", added=whole
    )


def ask_why_conductivity(calculation: Calculation) -> tuple[FurtherPart, ...]:
    """One part with a mark for each side of the end point."""
    experiment = Experiment(calculation)
    found = exchange(calculation.bank, experiment.flask, experiment.titrant.solute)
    named = {"gone": Chemical(found.gone), "come": Chemical(found.come), "formed": Chemical(found.formed or found.come)}
    first, second = (Chemical(one) for one in found.added)
    before: Piece = said(f"conductivity {found.shape}", **named)
    after: Piece = said("conductivity after", first=first, second=second)
    return (
        FurtherPart(
            kind="why conductivity",
            demand=said(f"why conductivity {found.shape}"),
            points=(
                FurtherPoint((before,), f"before: {_SHORT[found.shape]}", (said("guide conductivity"),)),
                FurtherPoint((after,), "after: ions are added and not used up"),
            ),
            space=(writing_lines(2),),
            hint=said("hint conductivity"),
        ),
    )


_SHORT = {
    "falls": "ions are replaced by others that conduct less well",
    "level": "ions are replaced by others that conduct about as well",
    "rises": "molecules turn into ions",
}
