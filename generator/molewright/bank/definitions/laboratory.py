"""What stands on the bench comes in: indicators, glassware, balances; values that check themselves go out."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Literal, get_args

from molewright.chem.quantity import Quantity
from molewright.chem.units import Unit
from molewright.errors import Mistake

PieceKind = Literal["pipette", "burette", "volumetric flask", "measuring cylinder", "bottle", "balance"]
PIECE_KINDS: tuple[PieceKind, ...] = get_args(PieceKind)


@dataclass(frozen=True, slots=True, kw_only=True)
class Indicator:
    """An indicator: pH range, colour in acid and in alkali, colour at the end point, source.

    `stop` is the pH of the colour at which people stop; None: the middle of the range.
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

    def __post_init__(self) -> None:
        if self.low is not None and self.high is not None and self.low >= self.high:
            raise Mistake(f"the range {self.low} to {self.high} of {self.name} runs downwards", expected="low to high")
        if self.stop is not None and not (self.low or self.stop) <= self.stop <= (self.high or self.stop):
            raise Mistake(f"{self.name} is stopped at pH {self.stop}", expected="a pH inside its range")


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
