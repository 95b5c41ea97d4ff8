"""Plain words come in; the kinds of question that they mean go out, the nearest first. Draws nothing."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from molewright.bank.definitions import Archetype, Bank
from molewright.chem.formula_scripts import with_scripts
from molewright.errors import nearest
from molewright.experiment.procedure import Measure, Titrate

MOST_FOUND = 40
MOST_LETTERS = 200  # of what is looked for
_WORD = re.compile(r"[^\W_]+")
_WEIGHTS = (("title", 5), ("material", 4), ("topic", 3), ("asked", 2), ("chemicals", 2))


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """A kind of question as it is offered: its key, its title, its topic, what it asks for, what it is done with, how hard it is.

    `by_name` are those that come into no mixture: only who asks for them by name has them.
    """

    key: str
    title: str
    topic: str
    asked: tuple[str, ...]
    material: tuple[str, ...]
    demand: int
    by_name: bool


class Kinds:
    """All kinds of question of a bank, and the words that each is found by."""

    def __init__(self, bank: Bank) -> None:
        self.every = tuple(
            sorted(
                (_kind(bank, archetype) for archetype in bank.archetypes.values()),
                key=lambda one: (one.by_name, one.topic, one.demand, one.title),
            )
        )
        self._words = {key: _words_of(bank, archetype) for key, archetype in bank.archetypes.items()}
        self._known = {word for words in self._words.values() for several in words.values() for word in several}

    def find(self, text: str) -> tuple[Kind, ...]:
        """The kinds in which every word is found, or begins a word; a word that nothing begins with is taken for its nearest."""
        asked = [word.casefold() for word in _WORD.findall(text[:MOST_LETTERS])]
        if not asked:
            return ()
        meant = [self._meant(word) for word in asked]
        scored = [(sum(_score(self._words[one.key], word) for word in meant), one) for one in self.every
                  if all(_score(self._words[one.key], word) for word in meant)]  # fmt: skip
        return tuple(one for _, one in sorted(scored, key=lambda pair: (pair[1].by_name, -pair[0]))[:MOST_FOUND])

    def _meant(self, word: str) -> str:
        if any(known.startswith(word) for known in self._known):
            return word
        singular = word.removesuffix("s")
        if any(known.startswith(singular) for known in self._known):
            return singular
        return next(iter(nearest(word, self._known, 1, alike=0.75)), word)


def topics_of(bank: Bank) -> tuple[tuple[str, int], ...]:
    """Every topic with the number of its kinds, those last that come into no mixture. Reads no variant."""
    last = {archetype.topic: bank.topic_of(archetype).only_by_name for archetype in bank.archetypes.values()}
    count = Counter(archetype.topic for archetype in bank.archetypes.values())
    return tuple(sorted(count.items(), key=lambda one: (last[one[0]], one[0])))


def _score(words: Mapping[str, frozenset[str]], word: str) -> int:
    """How well a word tells a kind: by the place where it stands."""
    return max((weight for place, weight in _WEIGHTS if any(one.startswith(word) for one in words[place])), default=0)


def _kind(bank: Bank, archetype: Archetype) -> Kind:
    return Kind(
        key=archetype.key,
        title=with_scripts(archetype.title),
        topic=archetype.topic,
        asked=tuple(dict.fromkeys(ask.quantity.what for variant in archetype.variants for ask in variant.asks)),
        material=tuple(
            dict.fromkeys(variant.material.name for variant in archetype.variants if variant.material is not None)
        ),
        demand=archetype.demand,
        by_name=bank.topic_of(archetype).only_by_name,
    )


def _words_of(bank: Bank, archetype: Archetype) -> dict[str, frozenset[str]]:
    """The words of a kind, place by place."""
    told = {
        "title": (archetype.title, archetype.key),
        "material": tuple(
            text
            for one in archetype.variants
            if one.material is not None
            for text in (one.material.name, one.material.noun)
        ),
        "topic": (archetype.topic,),
        "asked": tuple(ask.quantity.text for variant in archetype.variants for ask in variant.asks),
        "chemicals": tuple(_chemicals(bank, archetype)),
    }
    return {
        place: frozenset(word.casefold() for text in texts for word in _WORD.findall(text))
        for place, texts in told.items()
    }


def _chemicals(bank: Bank, archetype: Archetype) -> Iterator[str]:
    """What is weighed, titrated and titrated with, by formula and by name."""
    for variant in archetype.variants:
        formulae = [content.substance for act in variant.procedure.weighings for content in act.contents]
        for act in variant.procedure.operations:
            match act:
                case Titrate(titrant=solution) | Measure(solution=solution):
                    formulae.append(solution.solute)
                case _:
                    pass
        for formula in formulae:
            yield formula
            known = bank.substances.get(formula)
            if known is not None:
                yield from (known.name, *known.also_called)
