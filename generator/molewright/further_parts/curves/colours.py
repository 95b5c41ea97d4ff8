"""A calculation comes in; parts go out that ask what is seen at its end point. The bank knows the colours, the flask their order."""

from __future__ import annotations

from molewright.draw.draw import Refusal
from molewright.experiment.procedure import Solution
from molewright.further_parts.pieces import (
    Bottle,
    Calculation,
    FurtherPart,
    FurtherPoint,
    Said,
    Space,
    Strong,
    said,
    writing_lines,
)
from molewright.plausibility.rules import Plausibility

STARCH, IODINE = "starch", "I2"
SELF_COLOURED = {"MnO4-": "manganate", IODINE: "iodine"}
"""Titrants whose own colour shows the end point, and the wording for each; common practice, no source."""


def self_coloured(titrant: Solution) -> str:
    """The wording for a titrant whose colour shows in the burette; "" for a pale one."""
    return SELF_COLOURED.get(titrant.species, "")


def indicator_of(calculation: Calculation) -> str:
    """The indicator of the last titration; "" where there is none."""
    titrations = calculation.draw.variant.procedure.titrations
    return (titrations[-1].indicator or calculation.draw.indicator) if titrations else ""


def colours(calculation: Calculation) -> tuple[str, str]:
    """The colour before the end point and at it, as this flask shows them; two empty ones without an indicator."""
    before, after = Plausibility(calculation.bank).colour_change(calculation.draw)
    titrant = calculation.draw.variant.procedure.titrations[-1].titrant
    if indicator_of(calculation) == STARCH and titrant.species == IODINE:
        return after, before  # iodine run in: the bank has the colours of iodine used up
    return before, after


def ask_colour_change(calculation: Calculation) -> tuple[FurtherPart, ...]:
    """The colour change at the end point; where the titrant shows it, and the stem says so, why no indicator is added."""
    titrations = calculation.draw.variant.procedure.titrations
    if not titrations:
        raise Refusal("colour change", "nothing is titrated")
    indicator = calculation.bank.indicators.get(indicator_of(calculation))
    if indicator is None:
        own = self_coloured(titrations[-1].titrant)
        if not own:
            raise Refusal("colour change", "neither an indicator nor a coloured titrant shows the end point")
        return (_own_indicator(titrations[-1].titrant, own),)
    before, after = colours(calculation)
    guidance: list[Said] = [said("guide both colours")]
    if indicator.middle_colour == after:
        far = ({indicator.acid_colour, indicator.base_colour} - {before}).pop()
        guidance.append(said("guide far colour", far=far, middle=after))
    if "colourless" in (before, after):
        guidance.append(said("guide colourless"))
    return (
        FurtherPart(
            "colour change",
            said("ask colour change", indicator=indicator.name),
            (
                FurtherPoint(
                    (said("colours seen", before=Strong(before), after=Strong(after)),),
                    f"{before} to {after}",
                    tuple(guidance),
                ),
            ),
            (Space(4.0, 45.0, label=said("label from")), Space(1.0, 45.0, label=said("label to"))),
            hint=said("hint colour change"),
        ),
    )


def _own_indicator(titrant: Solution, own: str) -> FurtherPart:
    """Why no indicator is added: two marks, for the colour that goes and for the first drop too many."""
    return FurtherPart(
        "colour change",
        said("ask no indicator", titrant=Bottle(titrant.name)),
        (
            FurtherPoint((said(f"{own} goes"),), "its colour goes while it reacts", (said("guide clear"),)),
            FurtherPoint(
                (said(f"{own} stays"),), "its colour stays with the first drop in excess", (said("guide stays"),)
            ),
        ),
        (writing_lines(2),),
        hint=said("hint no indicator"),
    )


def reject_universal(calculation: Calculation) -> tuple[FurtherPart, ...]:
    """Why universal indicator does not serve: for an end point that pH shows."""
    indicator = calculation.bank.indicators.get(indicator_of(calculation))
    if indicator is None or indicator.low is None or indicator.high is None:
        raise Refusal("universal indicator", "the end point is not one that pH shows")
    return (
        FurtherPart(
            "universal indicator",
            said("ask universal", indicator=indicator.name),
            (
                FurtherPoint(
                    (said("universal drifts"),),
                    "many colours, one after the other",
                    (said("guide universal"),),
                ),
                FurtherPoint(
                    (
                        said(
                            "universal sharp",
                            indicator=indicator.name,
                            low=str(indicator.low),
                            high=str(indicator.high),
                        ),
                    ),
                    "no one sharp change at the end point",
                    (said("guide universal sharp"),),
                ),
            ),
            (writing_lines(2),),
            hint=said("hint universal"),
        ),
    )
