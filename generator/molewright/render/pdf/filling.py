"""Slabs come in, in reading order; pages of placed slabs go out: as few as can be, each as full as can be.

Where pages end is decided for the whole sheet at once, by what it costs a reader: a page more, a question cut between its parts,
an empty foot, space to write in that had to give way. Blank space then shrinks or grows until each page is full.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import accumulate, pairwise
from math import fsum, inf

from molewright.render.pdf.look import ROOM
from molewright.render.pdf.slabs import Slab, Tie, height, space

Placed = tuple[Slab, float, bool]  # its top, from the top of the page's room; whether it stands there once more

# What a reader pays, in the height of a page left empty, squared: 0.04 is a fifth of a page.
_A_PAGE = 4.0
_TORN = 2.0  # a break where nothing should be parted, because one page cannot hold it
_BELOW_A_STEM = 4.5  # more than a page, and less than
_BARE = 5.0  # a page of which more than three tenths are empty, as one with a title alone
_MOST_EMPTY = 0.28  # of a page, before it is bare
_BETWEEN_PARTS = 0.012  # a ninth of a page may stay empty for the sake of a whole question
_GIVES_WAY = 0.03  # all the space of a page at its least
_GROWS = 0.004  # all of it at its most
_LONELY = 0.15  # a last page that holds less than a fifth
_LAST_PAGE = 0.2
_WORTH_TRYING = 0.45  # an emptier page is never ended where a fuller one can be
_PARTED = {Tie.PART: _BETWEEN_PARTS, Tie.STEM: _BELOW_A_STEM, Tie.HELD: _TORN}
_MORE_BETWEEN = {
    Tie.FREE: 16.0,
    Tie.PART: 9.0,
}  # points that a gap may grow by, once all space to write in is at its most


def paged(slabs: Iterable[Slab], room: float = ROOM) -> list[list[Placed]]:
    """Fill pages one after another; blank space gets its height. Every page takes at least one slab, so this always ends."""
    filling = _Filling(list(slabs), room)
    return [filling.page(start, end) for start, end in pairwise(filling.ends())] or [[]]


def _more_above(slab: Slab) -> float:
    """How much the gap above a slab may grow by."""
    return 0.0 if slab.joined else _MORE_BETWEEN.get(slab.tie, 0.0)


@dataclass
class _Filling:
    slabs: Sequence[Slab]
    room: float
    openings: dict[int, float] = field(default_factory=dict)

    @cached_property
    def _tops(self) -> list[float]:
        """Of each slab, were all of them on one page without end."""
        gaps = (0.0, *(space(before, after) for before, after in pairwise(self.slabs)))
        heights = (0.0, *(slab.height for slab in self.slabs[:-1]))
        return list(accumulate(gap + tall for gap, tall in zip(gaps, heights, strict=True)))

    @cached_property
    def _feet(self) -> list[float]:
        """Of all slabs before each place, were all of them on one page without end."""
        return [0.0, *(top + slab.height for top, slab in zip(self._tops, self.slabs, strict=True))]

    @cached_property
    def _shrinks(self) -> list[float]:
        """How much all slabs before each one could give way."""
        given = (0.0 if slab.least is None else slab.height - slab.least for slab in self.slabs)
        return list(accumulate(given, initial=0.0))

    @cached_property
    def _grows(self) -> list[float]:
        """How much all slabs before each one could grow, and the gaps above them."""
        more = (
            (0.0 if slab.most is None else slab.most - slab.height) + (_more_above(slab) if index else 0.0)
            for index, slab in enumerate(self.slabs)
        )
        return list(accumulate(more, initial=0.0))

    @cached_property
    def _starts(self) -> list[int]:
        """Where a page may begin; within what no page can hold, anywhere."""
        welcome = [index for index, slab in enumerate(self.slabs) if not index or slab.tie < Tie.HELD]
        found: list[int] = []
        for start, end in pairwise([*welcome, len(self.slabs)]):
            found.append(start)
            if self._natural(start, end) - self._given(start, end) > self.room:
                found += range(start + 1, end)
        return [*found, len(self.slabs)]

    def _opening(self, start: int) -> float:
        """The height of what is set again above the first slab of a page, unless that leaves no room for the slab itself."""
        first = self.slabs[start]
        if not start or not first.repeat:
            return 0.0
        found = self.openings.get(start)
        if found is None:
            tall = height((*first.repeat, first))
            found = self.openings[start] = 0.0 if tall > self.room else tall - first.height
        return found

    def _natural(self, start: int, end: int) -> float:
        """The height of some slabs on a page of their own, with what is set again above them."""
        return self._opening(start) + self._feet[end] - self._tops[start]

    def _given(self, start: int, end: int) -> float:
        return self._shrinks[end] - self._shrinks[start]

    def _more(self, start: int, end: int) -> float:
        """How much a page can grow by: nothing above its first slab."""
        first = _more_above(self.slabs[start]) if start else 0.0
        return self._grows[end] - self._grows[start] - first

    def ends(self) -> list[int]:
        """Where pages begin, and the end of the last: the way through the sheet that costs a reader least."""
        if not self.slabs:
            return []
        starts = self._starts
        least = [inf] * len(starts)
        least[0] = 0.0
        before = [0] * len(starts)
        for at in range(len(starts) - 1):
            if least[at] == inf:
                continue  # no page ends here
            for to, cost in self._costs(at, self._worth_trying(at)):
                if least[at] + cost < least[to]:
                    least[to], before[to] = least[at] + cost, at
        way = [len(starts) - 1]
        while way[-1]:
            way.append(before[way[-1]])
        return [starts[at] for at in reversed(way)]

    def _worth_trying(self, at: int) -> Iterator[int]:
        """Where the page that begins at a place may end: at least one step on, and never far before it is full."""
        starts, feet, shrinks = self._starts, self._feet, self._shrinks
        start = starts[at]
        above = self._opening(start) - self._tops[start]
        most = self.room + 0.01 - above - shrinks[start]
        least = _WORTH_TRYING * self.room - above
        last = at + 1
        for to in range(at + 1, len(starts)):
            end = starts[to]
            if feet[end] - shrinks[end] > most:
                break
            if last < to and feet[starts[last]] >= least:
                yield last
            last = to
            if end < len(self.slabs) and self.slabs[end].tie == Tie.FORCED:
                break
        yield last

    def _costs(self, at: int, ends: Iterable[int]) -> Iterator[tuple[int, float]]:
        """What a reader pays for a page from one place to each of these ends."""
        start = self._starts[at]
        above, top, feet, shrinks = self._opening(start), self._tops[start], self._feet, self._shrinks
        for to in ends:
            end = self._starts[to]
            over = above + feet[end] - top - self.room
            cost = _A_PAGE
            if over > 0:
                cost += _GIVES_WAY * (over / max(over, shrinks[end] - shrinks[start])) ** 2
            if end == len(self.slabs):
                yield to, cost + (_LONELY if start and -over > (1 - _LAST_PAGE) * self.room else 0.0)
                continue
            tie = self.slabs[end].tie
            cost += _PARTED.get(tie, 0.0)
            if over < 0 and tie != Tie.FORCED:
                cost += self._emptiness(-over, self._more(start, end))
            yield to, cost

    def _emptiness(self, free: float, more: float) -> float:
        """What a foot costs that stays empty after all has grown, and the growing."""
        empty = max(0.0, free - more) / self.room
        grown = _GROWS * (min(free, more) / more if more else 0.0) ** 2
        return empty**2 + (_BARE if empty > _MOST_EMPTY else 0.0) + grown

    def page(self, start: int, end: int) -> list[Placed]:
        """One page of slabs, its blank space such that the page is full, the last of a sheet as it comes."""
        slabs = self.slabs[start:end]
        over = self._natural(start, end) - self.room
        between = 0.0
        if over > 0 and (given := self._given(start, end)):
            _shrunk(slabs, min(1.0, over / given))
        elif over < 0 and end < len(self.slabs) and self.slabs[end].tie != Tie.FORCED:
            between = _grown(slabs, -over)
        page, y = self._opened(start)
        for slab in slabs:
            if page:
                y += space(page[-1][0], slab)
                y += between * _more_above(slab) if slab is not slabs[0] else 0.0
            page.append((slab, y, False))
            y += slab.height
        return page

    def _opened(self, start: int) -> tuple[list[Placed], float]:
        """A page with what is repeated above its first slab."""
        page: list[Placed] = []
        y = 0.0
        for above in self.slabs[start].repeat if self._opening(start) else ():
            y += space(page[-1][0], above) if page else 0.0
            page.append((above, y, True))
            y += above.height
        return page, y


def _shrunk(slabs: Iterable[Slab], share: float) -> None:
    """Blank space gives way by this share of what it can."""
    for slab in slabs:
        if slab.least is not None:
            slab.height -= share * (slab.height - slab.least)


def _grown(slabs: Sequence[Slab], free: float) -> float:
    """Blank space grows into what is free on a page; the share comes back by which the gaps grow after it."""
    more = fsum(slab.most - slab.height for slab in slabs if slab.most is not None)
    share = min(1.0, free / more) if more else 0.0
    for slab in slabs:
        if slab.most is not None:
            slab.height += share * (slab.most - slab.height)
    gaps = fsum(_more_above(slab) for slab in slabs[1:])
    return min(1.0, max(0.0, free - more) / gaps) if gaps else 0.0
