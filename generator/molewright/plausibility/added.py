"""A procedure and a vessel come in; what is in it in plenty goes out: solutes that are added in words, never measured, and the pH told.

Reads the words of operations by the names that the bank has for solutions. Counts nothing and judges nothing.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from molewright.bank.definitions import Bank
from molewright.chem.formula import PLACEHOLDERS, parse_formula
from molewright.experiment.procedure import Add, Aliquot, Dissolve, Operation, Procedure, Titrate, Warm
from molewright.machine.same import Same
from molewright.plausibility.natures import Natures
from molewright.plausibility.solutes import Solutes

_PH = re.compile(r"pH (?P<ph>[0-9]+(?:\.[0-9]+)?)")
_DEGREES = re.compile(r"(?P<degrees>[0-9]+) °C")


@dataclass(frozen=True, slots=True, kw_only=True)
class Plenty:
    """What was added in words on the way into a vessel: solutes in order, all the words, the last pH told, how far it was warmed.

    `acid` is the acid that is there in plenty at the end ("acid" where it is told without its name), "" where a base came after it;
    `alkali` the other way round.
    """

    solutes: tuple[str, ...]
    words: str
    ph: float | None
    warmed_c: float | None
    acid: str = ""
    alkali: str = ""


class Reader:
    """Finds the bank's solutions in the words of operations."""

    def __init__(self, bank: Bank, natures: Natures | None = None) -> None:
        self.natures = natures or Natures(Solutes(bank))
        named = {
            one.poured: formula
            for formula, one in bank.substances.items()
            if not parse_formula(formula, PLACEHOLDERS).placeholders
        }
        self._kept: dict[tuple[Same, Same], Plenty] = {}
        longest_first = sorted(named, key=len, reverse=True)
        self._named = named
        self._pattern = re.compile("|".join(rf"\b{re.escape(name)}\b" for name in longest_first) or r"(?!)")

    def named(self, words: str) -> tuple[str, ...]:
        """The solutes that words name, in their order."""
        return tuple(self._named[found.group()] for found in self._pattern.finditer(words))

    def plenty(self, procedure: Procedure, titration: Titrate) -> Plenty:
        """What is there in plenty when a titration begins; read once for each."""
        key = (Same(procedure), Same(titration))
        if key not in self._kept:
            self._kept[key] = self._read(procedure, titration)
        return self._kept[key]

    def _read(self, procedure: Procedure, titration: Titrate) -> Plenty:
        told = list(_words(procedure, titration))
        words = "; ".join(text for text, _ in told)
        solutes = self.named(words)
        phs = [float(found["ph"]) for found in _PH.finditer(words)]
        warmed = [float(f["degrees"]) for text, warm in told if warm for f in _DEGREES.finditer(text)]
        return Plenty(
            solutes=solutes,
            words=words,
            ph=phs[-1] if phs else None,
            warmed_c=warmed[-1] if warmed else None,
            acid=self._acid(solutes, words),
            alkali=self._alkali(solutes, words),
        )

    def _acid(self, solutes: tuple[str, ...], words: str) -> str:
        last = self._last(solutes)
        if last is None:
            return "acid" if "acidified" in words else ""
        return last if self.natures.is_acid(last) else ""

    def _alkali(self, solutes: tuple[str, ...], words: str) -> str:
        last = self._last(solutes)
        if last is None or self.natures.is_acid(last):
            return ""
        return "" if "neutralised the acid" in words else last

    def _last(self, solutes: tuple[str, ...]) -> str | None:
        """The last acid or base among the solutes."""
        acting = (one for one in reversed(solutes) if self.natures.is_acid(one) or self.natures.is_base(one))
        return next(acting, None)


def _words(procedure: Procedure, titration: Titrate) -> Iterator[tuple[str, bool]]:
    """The words of what is poured into the vessel, or into one that a portion of it comes from; and whether it is warmed."""
    before: list[Operation] = list(procedure.operations[: procedure.operations.index(titration)])
    vessels = {titration.vessel}
    for operation in reversed(before):
        if isinstance(operation, Aliquot) and operation.into in vessels:
            vessels.add(operation.vessel)
    for operation in before:
        match operation:
            case Add(what=text, vessel=vessel) if vessel in vessels:
                yield text, False
            case Dissolve(solvent=text, vessel=vessel) if vessel in vessels:
                yield text, False
            case Warm(to=text, vessel=vessel) if vessel in vessels:
                yield text, True
            case _:
                continue
