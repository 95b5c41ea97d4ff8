"""A wrong answer and the recorded slips come in; the slips that explain it go out, the commonest first. Marks nothing.

First slips that give just what is written, then those within the rounding of three-figure working; two slips at once only
where none does alone. An answer that several explain is "shared": all are told. What fits only by that rounding, only as two slips at
once, or an answer of two figures, is "possible", and so is what fits where another slip is as near: it may be chance.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Literal

from molewright.answer.printed import SlipFacts, Slips
from molewright.answer.spans import Span

LOOSE = Fraction(6, 1000)  # three-figure working moves an answer by no more than this in nearly all questions
_PLACES = Fraction(1, 100)  # a logarithm that is told so closely has two places
_AS_WRITTEN = Fraction(1, 100000)  # the record keeps six figures
_FLOAT = 1e-12  # of its size: far more than a float differs from what it stands for
_OFTEN = {"high": 0, "medium": 1, "low": 2}

Found = Literal["unique", "shared", "possible", "none"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Explained:
    """What explains an answer: whether surely ("unique"), the slips (each perhaps two at once), and the mark points that are lost.

    They give just what is written, where it is `exact`; others come as `near` as rounding on the way would bring them.
    """

    found: Found
    slips: tuple[Slips, ...] = ()
    loses: frozenset[int] = frozenset()
    exact: bool = False
    near: tuple[Slips, ...] = ()

    @property
    def keys(self) -> tuple[tuple[str, ...], ...]:
        """The keys of what explains it, in order."""
        return tuple(dict.fromkeys(one.keys for one in self.slips))


NOTHING = Explained(found="none")


def explain(
    answer: Span,
    slips: Sequence[Slips],
    facts: Mapping[str, SlipFacts],
    group: frozenset[int],
    *,
    logarithmic: bool = False,
) -> Explained:
    """What explains an answer that stands for the mark points of `group`.

    A slip is made in its last lost point, which must be one of them; two slips must both be made there. Slips that are small by
    nature must give just what is written. Of a logarithm the working moves the number that it is of.
    """
    just, loosely = _Reach(answer, Fraction(0)), _Reach(answer, LOOSE, logarithmic)
    sharp = answer.high - answer.low <= _PLACES if logarithmic else answer.narrow(LOOSE)
    fitting = [
        one
        for one in slips
        if loosely.least <= abs(one.nearly) <= loosely.most
        and one.loses
        and max(one.loses) in group
        and (len(one.keys) == 1 or one.loses <= group)
    ]
    singles = [one for one in fitting if len(one.keys) == 1]
    doubles = [one for one in fitting if len(one.keys) == 2]
    for signed in (True, False) if fitting else ():
        exact = just.held(singles, signed)
        if exact:
            held = {one.keys for one in exact}
            near = [one for one in loosely.held(singles, signed) if one.keys not in held]
            told = _told(_ordered(exact, facts), sure=not near and sharp)
            return replace(told, exact=True, near=tuple(_ordered(near, facts)))
        loose = loosely.held([one for one in singles if not _near(one, facts)], signed)
        both = just.held(doubles, signed)
        if loose or both:
            return _told([*_ordered(loose, facts), *_ordered(both, facts)])
        both = loosely.held(doubles, signed)
        if both:
            return _told(_ordered(both, facts))
    return NOTHING


class _Reach:
    """What a slip may give to explain an answer: its span, so much of its size wider, or as much of what it is the logarithm of.

    Asked of every slip of every answer, so on floats first; fractions decide where one lies so near an end that floats might not.
    """

    def __init__(self, answer: Span, share: Fraction, logarithmic: bool = False) -> None:
        self._wide = answer.moved(share, logarithmic).wider(_AS_WRITTEN)
        low, high = float(self._wide.low), float(self._wide.high)
        size = max(abs(low), abs(high))
        unsure = size * _FLOAT
        self._outside = low - unsure, high + unsure
        self.least = 0.0 if low <= 0 <= high else min(abs(low), abs(high)) - unsure  # without the sign
        self.most = size + unsure
        self._inside = low + unsure, high - unsure

    def holds(self, one: Slips, signed: bool) -> bool:
        """Whether a slip's answer lies in it; unsigned, a pupil may have dropped the minus of an impossible answer."""
        nearly = one.nearly if signed else abs(one.nearly)
        if not self._outside[0] <= nearly <= self._outside[1]:
            return False
        if self._inside[0] <= nearly <= self._inside[1]:
            return True
        low, high = self._wide
        return low <= (one.gives if signed else abs(one.gives)) <= high

    def held(self, slips: Sequence[Slips], signed: bool) -> list[Slips]:
        """The slips whose answers lie in it."""
        return [one for one in slips if self.holds(one, signed)]


def _near(one: Slips, facts: Mapping[str, SlipFacts]) -> bool:
    return any(key in facts and facts[key].near for key in one.keys)


def _ordered(slips: Sequence[Slips], facts: Mapping[str, SlipFacts]) -> list[Slips]:
    def rank(one: Slips) -> tuple[int, bool, int, tuple[str, ...]]:
        often = [_OFTEN[facts[key].often] if key in facts else 1 for key in one.keys]
        first = all(key in facts and facts[key].first for key in one.keys)
        return (len(one.keys), not first, sum(often), one.keys)

    return sorted(slips, key=rank)


def _told(slips: Sequence[Slips], sure: bool = False) -> Explained:
    """The slips in order. Where several fit, the fewest marks of any single one are kept, as the mark scheme says beside them."""
    listed = tuple(slips)
    fewest = len(listed[0].keys)
    strictest = min((one for one in listed if len(one.keys) == fewest), key=lambda one: one.marks)
    keys = {one.keys for one in listed}
    found: Found = "shared" if len(keys) > 1 else "unique" if sure else "possible"
    return Explained(found=found, slips=listed, loses=strictest.loses)
