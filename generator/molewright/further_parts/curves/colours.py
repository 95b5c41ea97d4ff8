"""A calculation comes in; parts go out that ask what is seen at its end point. The bank knows the colours, the flask their order."""

from __future__ import annotations

from molewright.bank.definitions import Bank, OwnColour
from molewright.draw.refusal import Refusal
from molewright.experiment.solution import Solution
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


def self_coloured(bank: Bank, titrant: Solution) -> OwnColour | None:
    """The colour of a titrant that shows its own end point; None for a pale one."""
    entry = bank.redox.get(titrant.species)
    return entry.own_colour if entry is not None else None


def indicator_of(calculation: Calculation) -> str:
    """The indicator of the last titration; "" where there is none."""
    titrations = calculation.draw.variant.procedure.titrations
    return (titrations[-1].indicator or calculation.draw.indicator) if titrations else ""


def colours(calculation: Calculation) -> tuple[str, str]:
    """The colour before the end point and at it, as flask and burette tell them; two empty ones where they tell nothing."""
    return Plausibility(calculation.bank).colour_change(calculation.draw)


def ask_colour_change(calculation: Calculation) -> tuple[FurtherPart, ...]:
    """The colour change at the end point; where the titrant shows it, and the stem says so, why no indicator is added."""
    titrations = calculation.draw.variant.procedure.titrations
    if not titrations:
        raise Refusal("colour change", "nothing is titrated")
    indicator = calculation.bank.indicators.get(indicator_of(calculation))
    if indicator is None:
        own = self_coloured(calculation.bank, titrations[-1].titrant)
        if own is None:
            raise Refusal("colour change", "neither an indicator nor a coloured titrant shows the end point")
        return (_own_indicator(titrations[-1].titrant, own),)
    before, after = colours(calculation)
    if not after:
        raise Refusal("colour change", "neither flask nor burette tell what happens to the indicator")
    guidance: list[Said] = [said("guide both colours")]
    if indicator.middle_colour == after:
        far = ({indicator.acid_colour, indicator.base_colour} - {before}).pop()
        guidance.append(said("guide far colour", far=far, middle=after))
    if "colourless" in (before, after):
        guidance.append(said("guide colourless"))
    return (
        FurtherPart(
            kind="colour change",
            demand=said("ask colour change", indicator=indicator.name),
            points=(
                FurtherPoint(
                    (said("colours seen", before=Strong(before), after=Strong(after)),),
                    f"{before} to {after}",
                    tuple(guidance),
                ),
            ),
            space=(
                Space(height_mm=4.0, rule_mm=45.0, label=said("label from")),
                Space(height_mm=1.0, rule_mm=45.0, label=said("label to")),
            ),
            hint=said("hint colour change"),
        ),
    )


def _own_indicator(titrant: Solution, own: OwnColour) -> FurtherPart:
    """Why no indicator is added: two marks, for the colour that goes and for the first drop too many."""
    return FurtherPart(
        kind="colour change",
        demand=said("ask no indicator", titrant=Bottle(titrant.name)),
        points=(
            FurtherPoint(
                (said("own colour goes", colour=own.colour, fades=own.fades),),
                "its colour goes while it reacts",
                (said("guide clear"),),
            ),
            FurtherPoint(
                (said("own colour stays", excess=own.excess),),
                "its colour stays with the first drop in excess",
                (said("guide stays"),),
            ),
        ),
        space=(writing_lines(2),),
        hint=said("hint no indicator"),
    )


def reject_universal(calculation: Calculation) -> tuple[FurtherPart, ...]:
    """Why universal indicator does not serve: for an end point that pH shows."""
    indicator = calculation.bank.indicators.get(indicator_of(calculation))
    if indicator is None or indicator.low is None or indicator.high is None:
        raise Refusal("universal indicator", "the end point is not one that pH shows")
    return (
        FurtherPart(
            kind="universal indicator",
            demand=said("ask universal", indicator=indicator.name),
            points=(
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
            space=(writing_lines(2),),
            hint=said("hint universal"),
        ),
    )
