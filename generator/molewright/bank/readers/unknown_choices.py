"""What an unknown substance may be, as an entry lists it, comes in; its choices with their molar masses go out."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Mapping
from decimal import Decimal

from molewright.bank.definitions import Choice, MayBe, Substance
from molewright.chem.masses import relative_mass
from molewright.chem.quantity import Quantity
from molewright.chem.units import Unit
from molewright.errors import Mistake, nearest
from molewright.experiment import quantities
from molewright.experiment.identity import fits
from molewright.reading.fields import Fields

LEAST_APART = Decimal("1.05")  # of one molar mass to the one before it: far wider than any accepted range


def read_may_be(
    fields: Fields, unknown: str, is_unknown: bool, substances: Mapping[str, Substance], formula: Callable[[str], str]
) -> MayBe:
    """What `unknown` may be, by the formulae under 'may be'; `formula` reads one. Raises Mistake at that key."""
    where = fields.at("may be")
    if fields.has("molar mass"):
        raise Mistake(
            "both 'molar mass' and 'may be'",
            expected="one of them: the molar masses follow from the formulae",
            where=where,
        )
    if not is_unknown:
        raise Mistake(
            f"what {unknown} may be, and nothing in it is unknown", expected="'unknown: [M]' beside it", where=where
        )
    found: list[Substance] = []
    for text in fields.texts("may be"):
        read = formula(text)
        if not fits(unknown, read):
            raise Mistake(
                f"{unknown} cannot be {read}", expected="a formula that differs in the unknown part only", where=where
            )
        if read not in substances:
            raise Mistake(
                f"no name of {read}",
                expected="an entry in substances.yaml that names it",
                where=where,
                near=nearest(read, substances),
            )
        found.append(substances[read])
    masses = [relative_mass(one.formula, "one place") for one in found]
    ordered = sorted(masses)
    if len(found) < 2 or any(low * LEAST_APART > high for low, high in itertools.pairwise(ordered)):
        raise Mistake(
            f"molar masses of {', '.join(map(str, ordered))} under 'may be'",
            expected="two or more, each at least 5 % above the one before it, so that an answer leads to one of them",
            where=where,
        )
    choice = Choice(options=tuple(Quantity(mass, Unit.G_PER_MOL) for mass in masses))
    return MayBe(unknown, quantities.molar_mass(unknown), choice, tuple(found))
