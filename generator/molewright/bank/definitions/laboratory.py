"""What stands on the bench comes in: indicators, glassware, balances; values that check themselves go out."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Literal, get_args

from molewright.chem.masses import relative_mass
from molewright.chem.quantity import Quantity
from molewright.chem.units import Unit
from molewright.errors import Mistake

PieceKind = Literal["pipette", "burette", "volumetric flask", "measuring cylinder", "bottle", "balance"]
PIECE_KINDS: tuple[PieceKind, ...] = get_args(PieceKind)


BottledForm = Literal["acid", "base"]
BOTTLED_FORMS: tuple[BottledForm, ...] = get_args(BottledForm)


@dataclass(frozen=True, slots=True)
class Bottled:
    """What a dropping bottle of an indicator holds: which form of it, the formula of that, and how much in g dm⁻³."""

    form: BottledForm
    formula: str
    grams: Decimal

    def __post_init__(self) -> None:
        if not 0 < self.grams <= 100:
            raise Mistake(f"{self.grams} g dm⁻³ of {self.formula}", expected="more than nothing, and at most 100")

    @property
    def strength(self) -> float:
        """In mol dm⁻³."""
        return float(self.grams / relative_mass(self.formula, "one place"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Indicator:
    """An indicator: pH range, colour in acid and in alkali, colour at the end point, source.

    `stop` is the pH of the colour at which people stop; None: the middle of the range. `electrons`: its two colours are those of its
    reduced and of its oxidised form. `bleached_by` are species that destroy its colour with their first excess.
    """

    name: str
    low: Decimal | None
    high: Decimal | None
    acid_colour: str
    base_colour: str
    middle_colour: str = ""
    source: str = ""
    stop: Decimal | None = None
    shows: str = ""  # the species that gives it its first colour, where one does: iodine that of starch
    electrons: bool = False
    bleached_by: tuple[str, ...] = ()
    bottled: Bottled | None = None
    pk: Decimal | None = None  # of it as a weak acid

    @property
    def follows_ph(self) -> bool:
        """Whether its colour is told by the pH."""
        return self.low is not None

    def __post_init__(self) -> None:
        if self.low is not None and self.high is not None and self.low >= self.high:
            raise Mistake(f"the range {self.low} to {self.high} of {self.name} runs downwards", expected="low to high")
        if self.stop is not None and not (self.low or self.stop) <= self.stop <= (self.high or self.stop):
            raise Mistake(f"{self.name} is stopped at pH {self.stop}", expected="a pH inside its range")
        if self.follows_ph and (self.electrons or self.shows):
            raise Mistake(f"{self.name} follows pH and shows something else as well", expected="one of the two")


@dataclass(frozen=True, slots=True, kw_only=True)
class Apparatus:
    """Glassware or a balance: what it holds, its smallest division, its class B tolerance, source."""

    name: str
    kind: PieceKind
    capacity: Quantity
    resolution: Quantity | None
    tolerance: Quantity | None
    source: str = ""

    def __post_init__(self) -> None:
        kind = Unit.G if self.kind == "balance" else Unit.CM3
        for quantity in filter(None, (self.capacity, self.resolution, self.tolerance)):
            if quantity.number <= 0 or quantity.unit.base is not kind:
                raise Mistake(f"{quantity} of the {self.name}", expected=f"more than nothing, in {kind}")
