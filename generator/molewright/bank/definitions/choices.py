"""What a number of an archetype may be comes in, and what may be asked; values that check themselves go out."""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction

from molewright.bank.definitions.substances import Substance
from molewright.chem.quantity import Quantity, half_up, last_place, to_figures
from molewright.chem.units import Unit
from molewright.errors import Mistake
from molewright.experiment.quantities import Name

MOST_STEPS = 1_000_000  # of a range: an estimate of how many questions there are looks at each


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Choice:
    """What a number may be: one of several written quantities, or a range with a step. `fit` bends to the titre's window.

    A `hidden` number is drawn and never printed, though nobody asks for it. Two choices are equal only where they are written
    alike: steps of 0.1 and of 0.10 print other numbers.
    """

    options: tuple[Quantity, ...] = ()
    low: Decimal | None = None
    high: Decimal | None = None
    step: Decimal | None = None
    unit: Unit = Unit.NONE
    figures: int | None = None  # significant figures it is printed with; None: the places of the step
    fit: bool = False
    hidden: bool = False
    _walk: tuple[Fraction, Fraction, Fraction] | None = field(init=False, repr=False, default=None)

    def __post_init__(self) -> None:
        if not self.options:
            if self.low is None or self.high is None or self.step is None:
                raise Mistake("a choice of no numbers", expected="a quantity, a list, or 'low to high unit by step'")
            if self.step <= 0:
                raise Mistake(f"a range in steps of {self.step}", expected="a step above 0")
            if self.low > self.high or self.low <= 0:
                raise Mistake(
                    f"the window {self.low} to {self.high} {self.unit} is empty", expected="low <= high, above 0"
                )
            walk = (Fraction(self.low), Fraction(self.high), Fraction(self.step))
            self._require_steps(*walk)
            object.__setattr__(self, "_walk", walk)

    @property
    def walk(self) -> tuple[Fraction, Fraction, Fraction]:
        """The ends of a range and its step, exactly, in its own unit; of no list."""
        assert self._walk is not None
        return self._walk

    def _require_steps(self, low: Fraction, high: Fraction, step: Fraction) -> None:
        """A range is walked step by step: it ends on a step, and there are not more than anyone can walk."""
        steps = (high - low) / step
        told = f"{self.low} to {self.high} by {self.step:f}"
        if steps > MOST_STEPS:
            raise Mistake(f"the range {told} has more than {MOST_STEPS:,} steps", expected="a larger step")
        if low < high and steps < 1:
            raise Mistake(f"the step of {told} is larger than the range", expected="a smaller step")
        if steps.denominator != 1:
            raise Mistake(
                f"the steps of {told} miss the high end: the last is {float(low + int(steps) * step):g}",
                expected="an end that is so many whole steps from the other",
            )

    def _as_written(self) -> tuple[object, ...]:
        window = tuple(None if number is None else str(number) for number in (self.low, self.high, self.step))
        return (self.options, window, self.unit, self.figures, self.fit, self.hidden)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Choice) and self._as_written() == other._as_written()

    def __hash__(self) -> int:
        return hash(self._as_written())

    def is_like(self, other: Choice) -> bool:
        """Whether it allows the same numbers, whatever figures they are written with."""
        return self._numbers() == other._numbers()

    def _numbers(self) -> tuple[object, ...]:
        options = tuple((option.exact, option.unit) for option in self.options)
        return (options, self.low, self.high, self.step, self.unit, self.figures, self.fit, self.hidden)

    def written(self, exact: Fraction) -> Quantity:
        """A number of this choice as it is printed."""
        if self.figures is not None:
            return Quantity(to_figures(exact, self.figures), self.unit)
        assert self.step is not None
        return Quantity(half_up(exact, max(0, -last_place(self.step))), self.unit)


@dataclass(frozen=True, slots=True)
class Ask:
    """A quantity that may be asked for: its name in the procedure, the unit of the answer and how often it is drawn."""

    quantity: Name
    unit: Unit = Unit.NONE
    figures: int = 3
    weight: int = 1


@dataclass(frozen=True, slots=True)
class Windows:
    """Limits that a drawn question must keep: titre in cm³, share of the excess reagent used up."""

    titre: tuple[Fraction, Fraction] = (Fraction(15), Fraction(35))
    used: tuple[Fraction, Fraction] = (Fraction(3, 10), Fraction(7, 10))


@dataclass(frozen=True, slots=True)
class MayBe:
    """What an unknown substance may be, in the order of the options for its molar mass."""

    unknown: str
    number: Name  # its molar mass
    choice: Choice
    substances: tuple[Substance, ...]

    def of(self, molar: Quantity) -> str:
        """The formula of the one with this molar mass, which is one of the options."""
        return self.substances[self.choice.options.index(molar)].formula
