"""Answers as typed and the class list come in; whose they are, where two pupils have one name, goes out."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from itertools import chain
from typing import TypeVar

from molewright.errors import Mistake, Where, raise_all, shortened
from molewright.marking.returned_rows import Absent, Row, person_name
from molewright.order.pupils import Pupil, key_of

_MOST_MISTAKES = 12
_Known = TypeVar("_Known", Row, Absent)
_Where = Callable[[Row | Absent], Where]


def told_apart(
    rows: Sequence[Row], absent: Sequence[Absent], class_list: Sequence[Pupil], where: _Where
) -> tuple[list[Row], list[Absent]]:
    """The answers, with what stands beside a name kept only where it is needed to tell two pupils apart.

    Raises Mistake, or several at once, for a name that the class list has twice and that nothing beside it tells which is meant.
    """
    typed: dict[str, set[str]] = {}
    for one in chain[Row | Absent](rows, absent):
        typed.setdefault(key_of(one.pupil), set()).add(key_of(one.beside))
    listed = Counter(key_of(pupil.name) for pupil in class_list)
    namesakes = {
        name: [pupil for pupil in class_list if key_of(pupil.name) == name]
        for name, times in listed.items()
        if times > 1
    }
    labels = {key_of(person_name(one.name, one.beside)): one for several in namesakes.values() for one in several}
    wrong: list[Mistake] = []

    def settled(one: Row | Absent) -> tuple[str, str]:
        """The name and what stands beside it."""
        name = key_of(one.pupil)
        if name in labels:
            return labels[name].name, labels[name].beside
        if name in namesakes:
            return one.pupil, _meant(one, namesakes[name], where)
        several = len(typed[name] - {""}) > 1 and name not in listed
        return one.pupil, one.beside if several else ""

    found: dict[tuple[str, str], tuple[str, str]] = {}
    for one in chain[Row | Absent](rows, absent):
        if (one.pupil, one.beside) not in found:
            try:
                found[one.pupil, one.beside] = settled(one)
            except Mistake as mistake:
                wrong.append(mistake)
                found[one.pupil, one.beside] = one.pupil, one.beside
    raise_all(wrong[:_MOST_MISTAKES])
    return [_named(one, found) for one in rows], [_named(one, found) for one in absent]


def _named(one: _Known, found: Mapping[tuple[str, str], tuple[str, str]]) -> _Known:
    pupil, beside = found[one.pupil, one.beside]
    return replace(one, pupil=pupil, beside=beside)


def _meant(one: Row | Absent, among: Sequence[Pupil], where: _Where) -> str:
    """What stands in the class list beside the one of several namesakes whose answer this is."""
    words = set(key_of(one.beside).split())
    exact = [pupil for pupil in among if key_of(pupil.beside) == key_of(one.beside)]
    fitting = exact or [pupil for pupil in among if words and words <= set(key_of(pupil.beside).split())]
    if len(fitting) == 1:
        return fitting[0].beside
    raise Mistake(
        f"the class list has {len(among)} pupils called {shortened(one.pupil)}",
        expected=f"beside the name, in a column 'told apart by', one of: {'; '.join(pupil.beside for pupil in among)}",
        where=where(one),
    )
