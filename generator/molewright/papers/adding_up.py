"""What could stand in each place of a paper comes in, with its marks; one for each place goes out, so that they add up."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from molewright.bank.definitions import Archetype
from molewright.order.lines import OrderLine


@dataclass(frozen=True, slots=True, kw_only=True)
class Option:
    """A question that could stand in a place: its kind, its line with all but the scene, and its marks there."""

    archetype: Archetype
    line: OrderLine
    marks: int


class Sums:
    """Every total that options of some places come to, and the way to each that exchanges the fewest questions for another."""

    def __init__(self, places: Sequence[Sequence[Option]]) -> None:
        """`places` hold the options of each place, that which was chosen first at its front."""
        costs: dict[int, int] = {0: 0}
        self._ways: list[dict[int, tuple[Option, int]]] = []
        for options in places:
            reached: dict[int, int] = {}
            way: dict[int, tuple[Option, int]] = {}
            for cost, option in enumerate(options):
                for before, spent in costs.items():
                    now = before + option.marks
                    if now not in reached or spent + cost < reached[now]:
                        reached[now], way[now] = spent + cost, (option, before)
            costs = reached
            self._ways.append(way)
        self.totals = frozenset(costs)

    def picked(self, total: int) -> list[Option] | None:
        """One option for each place, together of that total; None where none come to it."""
        if total not in self.totals:
            return None
        found: list[Option] = []
        for way in reversed(self._ways):
            option, total = way[total]
            found.append(option)
        return found[::-1]
