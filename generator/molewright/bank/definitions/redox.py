"""Species that take part in redox come in; what a titration with them needs and what spoils it goes out, as checked values."""

from __future__ import annotations

from dataclasses import dataclass

from molewright.errors import Mistake


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnColour:
    """The colour of a titrant that shows its own end point: why it goes while it reacts, and what colour its excess gives."""

    colour: str
    fades: str
    excess: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Warmth:
    """Between which temperatures in °C something reacts with an oxidant as its equation says, and what is wrong below and above."""

    reacts_with: str
    low_c: float
    high_c: float
    below: str
    above: str

    def __post_init__(self) -> None:
        if not 0 < self.low_c < self.high_c:
            raise Mistake(f"warmed to {self.low_c:g} to {self.high_c:g} °C", expected="the lower temperature first")


@dataclass(frozen=True, slots=True, kw_only=True)
class Made:
    """What something is made from in the flask: what is said where there is none of it, and where too little is left to hold it."""

    source: str
    none: str
    little: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RedoxEntry:
    """One or more species that behave alike: limits of strength, the acid and the pH that they need, what spoils them.

    `spoilt_by` and `not_in` pair a species (an acid, an ion) with what is said of it: the first wherever it is there, the second where
    it is the acid in plenty at the end. Limits are in mol dm⁻³: in a burette, and of what dissolves.
    """

    species: tuple[str, ...]
    source: str
    oxidant: bool = False
    strongest: float | None = None
    saturated: float | None = None
    dark: bool = False
    own_colour: OwnColour | None = None
    acids: tuple[str, ...] = ()
    without_acid: str = ""
    spoilt_by: tuple[tuple[str, str], ...] = ()
    not_in: tuple[tuple[str, str], ...] = ()
    warmth: Warmth | None = None
    made: Made | None = None
    low_ph: tuple[float, str] | None = None
    high_ph: tuple[float, str] | None = None
