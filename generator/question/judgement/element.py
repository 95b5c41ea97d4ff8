"""A calculation that ends at a relative atomic mass comes in; a part that asks for the element goes out. Works no mass out."""

from __future__ import annotations

from generator.chem.quantity import Quantity
from generator.question.identity import elements, nearest
from generator.question.judgement.extras import Calculation, Chemical, ExtraPart, ExtraPoint, Space, Strong, said

KIND = "element"
_LINE_MM = 2.0  # a name needs no room for working


def name_element(calculation: Calculation) -> tuple[ExtraPart, ...]:
    """The part after the calculation of a relative atomic mass: which element is it? No part where anything else is asked.

    One mark, for the element whose relative atomic mass is nearest (common practice, no source).
    """
    asked = calculation.worked.steps[-1].variable
    unknown = sorted(calculation.draw.variant.unknown)
    if asked.kind != "atomic mass" or not unknown or not calculation.draw.archetype.calculated:
        return ()
    among = elements(unknown[0], calculation.masses)
    found = nearest(calculation.worked.exact, among)
    letter = Chemical(asked.subject)
    reason = said("the element", formula=letter, element=Strong(found.name), mass=Quantity(found.mass),
                  value=calculation.worked.answer)  # fmt: skip
    listed = ", ".join(f"{one.symbol}\N{NO-BREAK SPACE}{one.mass}" for one in among)
    point = ExtraPoint((reason,), f"{found.name} ({found.symbol})", (said("guide element", elements=listed),))
    return (
        ExtraPart(
            KIND,
            said("name element", formula=letter),
            (point,),
            (Space(_LINE_MM, 65.0, label=said("label element", formula=letter)),),
            hint=said("hint element"),
            elements=among,
        ),
    )
