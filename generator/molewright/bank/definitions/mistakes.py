"""What is often done wrong comes in, on paper and at the bench, and why a direct titration would fail; frozen values go out."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from molewright.bank.algebra import Tree
from molewright.chem.reaction import Reaction


@dataclass(frozen=True, slots=True)
class Slip:
    """A common mistake: the kind of relation it is made in, what is found there instead, how common it is, what to say and set next.

    `instead` pairs the role that is found ("amount", "" for any) with the expression's tree; a slip without any cannot be seen
    from a number, and `unseen` says why.
    """

    key: str
    name: str
    kind: str = ""
    instead: tuple[tuple[str, Tree], ...] = ()
    often: Literal["high", "medium", "low"] = "medium"
    of: tuple[str, ...] = ()
    place: tuple[str, ...] = ()
    everywhere: bool = False
    near: bool = False  # small by nature: kept out of the accepted range, but not two per cent away
    feedback: str = ""
    practice: str = ""
    unseen: str = ""


@dataclass(frozen=True, slots=True)
class LaboratoryFault:
    """Something done wrong at the bench: what is said of it, why it matters, and what it changes. No direction is stated.

    `changes` are perturbations of the experiment: (what, number); `needs` are conditions on the question, all of them.
    `indicator` is used instead of the question's own; `halves` are what the titrant should turn into and what some of it does;
    `beside` is a reaction that takes up titrant too. `rightly` is what should be done instead, `step` where that stands among the
    steps of practical work; 0 and "" for what is no step of handling.
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
    rightly: str = ""
    step: int = 0


@dataclass(frozen=True, slots=True)
class BackReason:
    """Why a substance is not titrated directly: points that each earn a mark, and what earns none."""

    analytes: tuple[str, ...]
    reagents: tuple[str, ...]  # only with these in excess; () for any
    reasons: tuple[str, ...]
    ignore: str = ""
    source: str = ""
