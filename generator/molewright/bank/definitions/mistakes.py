"""What is often done wrong comes in, on paper and at the bench, and why a direct titration would fail; frozen values go out."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Literal, get_args

from molewright.bank.algebra import Tree
from molewright.chem.reaction import Reaction

Often = Literal["high", "medium", "low"]
OFTEN: tuple[Often, ...] = get_args(Often)

PLACES: dict[str, tuple[str, ...]] = {
    "ratio": ("dissolving", "titration", "direct"),
    "scale": ("flask", "dilution"),
    "concentration": ("bottle", "diluted"),
}
"""Where in a procedure a relation of a kind may belong; relations of other kinds have no place."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Slip:
    """A common mistake: the kind of relation it is made in, what is found there instead, how common it is, what to say and set next.

    `instead` pairs the role that is found ("amount", "" for any) with the expression's tree; a slip without any cannot be seen
    from a number, and `unseen` says why. `seen_in` is the kind of wrong number of a further part that it gives.
    """

    key: str
    name: str
    also: tuple[str, ...] = ()  # how else people say it
    misunderstood: str = ""  # what lies behind it, in words that it shares with other slips
    kind: str = ""
    instead: tuple[tuple[str, Tree], ...] = ()
    often: Often = "medium"
    of: tuple[str, ...] = ()
    place: tuple[str, ...] = ()
    everywhere: bool = False
    near: bool = False  # small by nature: kept out of the accepted range, but not two per cent away
    feedback: str = ""
    practice: str = ""
    unseen: str = ""
    seen_in: str = ""
    written: bool = True  # False where its wrong line would not look like what anybody writes
    first: bool = False  # named before any other that gives the same number


@dataclass(frozen=True, slots=True, kw_only=True)
class LaboratoryFault:
    """Something done wrong at the bench: what is said of it, why it matters, and what it changes. No direction is stated.

    `changes` are perturbations of the experiment: (what, number); `needs` are conditions on the question, all of them.
    `indicator` is used instead of the question's own; `halves` are what the titrant should turn into and what some of it does;
    `beside` is a reaction that takes up titrant too. `rightly` is what should be done instead, `step` where that stands among the
    steps of practical work; 0 and "" for what is no step of handling. `without` is the step of a description that is left out in it.

    It can be made only where one of each list is there: `burette` what is run in, `flask` what that reacts with (at `at_least` so many
    mol dm⁻³ when the titration begins), `solid` what came down before, `used` the indicator; and `added` words are told of the flask.
    """

    key: str
    told: str
    cause: str
    changes: tuple[tuple[str, Decimal], ...]
    needs: tuple[str, ...] = ()
    source: str = ""
    indicator: str = ""
    halves: tuple[Reaction, ...] = ()
    beside: Reaction | None = None
    gas: str = ""
    rightly: str = ""
    step: int = 0
    without: str = ""
    burette: tuple[str, ...] = ()
    flask: tuple[str, ...] = ()
    at_least: float | None = None
    solid: tuple[str, ...] = ()
    used: tuple[str, ...] = ()
    added: str = ""

    @property
    def of_one_kind(self) -> bool:
        """Whether it belongs to one kind of titration, and not to any glassware."""
        return bool(self.burette or self.flask or self.solid or self.used or self.added or "hydrate" in self.needs)


@dataclass(frozen=True, slots=True, kw_only=True)
class BackReason:
    """Why a substance is not titrated directly: points that each earn a mark, and what earns none."""

    analytes: tuple[str, ...]
    reagents: tuple[str, ...]  # only with these in excess; () for any
    reasons: tuple[str, ...]
    ignore: str = ""
    source: str = ""
