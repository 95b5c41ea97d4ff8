"""Pupils who solve from the printed text of a question paper: a paper as text comes in; what each part is worked from goes out.

They know formulae, equations, and that n = cV and m = nM. They have never seen a mark scheme: of the ways that the text leaves open
they take the one whose number the printed answers tell, and a part whose number none of their ways gives they do not understand.
"""

from __future__ import annotations

import itertools
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from math import prod

from shared.unlike_numbers import as_number

NEAR = 0.004  # of the printed answer: three figures on the way, and its own rounding
NEWS = str.maketrans("₀₁₂₃₄₅₆₇₈₉\N{NO-BREAK SPACE}\N{NARROW NO-BREAK SPACE}\N{MINUS SIGN}", "0123456789  -")
_QUESTION = re.compile(r"(?m)^(\d{1,2})\s{2,}(?=\S)")
_PART = re.compile(r"(?m)^ {4,6}\(([a-z])\)\s")
_MARKS = re.compile(r"\[(\d+) marks?\]")
_QUANTITY = re.compile(r"(\d+(?:\.\d+)?)\s*(mol dm⁻³|g dm⁻³|mg dm⁻³|cm³|dm³|mg|kg|g|%)(?![\w⁻³])")
_MEMBER = re.compile(r"(\d*)([A-Z(][\w()·⁺⁻²³⁴⁵⁶⁷⁸⁹¹]*)\((?:s|aq|l|g)\)")
_REFS = re.compile(r"parts? ((?:\([a-z]\)(?:, | and )?)+)")


@dataclass(frozen=True, slots=True)
class Way:
    """How a part is worked: a product of named factors, some of them answers to parts before, or a difference of two of these."""

    factors: tuple[tuple[str, float], ...]
    uses: tuple[str, ...] = ()
    minus: str = ""
    sure: bool = True  # whether no other way that is as plain, with other factors, gives the number

    def value(self, before: Mapping[str, float], but: Mapping[str, float] | None = None) -> float:
        """The number with a pupil's own answers to the parts before; `but` replaces factors by name."""
        own = {**dict(self.factors), **(but or {})}
        if self.minus:
            return (before[self.uses[0]] - before[self.minus]) * prod(own.values())
        return prod(before[one] for one in self.uses) * prod(own.values())


@dataclass(frozen=True, slots=True)
class Part:
    """A printed part: its letter, its text, its marks."""

    letter: str
    text: str
    marks: int


@dataclass(frozen=True, slots=True)
class Read:
    """A printed question as a pupil reads it."""

    number: int
    stem: str
    parts: tuple[Part, ...]
    masses: Mapping[str, float]


def read_paper(text: str) -> Iterator[Read]:
    """The questions of a question paper in its text form."""
    text = text.translate(NEWS)
    listed = re.search(r"Relative atomic masses:((?:[^.]|\.\d)*)\.", text)
    masses = {
        name: float(mass) for name, mass in re.findall(r"([A-Z][a-z]?)\s+(\d+(?:\.\d+)?)", listed[1] if listed else "")
    }
    pieces = _QUESTION.split(text)[1:]
    for number, body in zip(pieces[::2], pieces[1::2], strict=True):
        cut = _PART.split(body)
        parts = [
            Part(letter, " ".join(told.split()), int(found[1]) if (found := _MARKS.search(told)) else 0)
            for letter, told in zip(cut[1::2], cut[2::2], strict=True)
        ]
        yield Read(int(number), cut[0], tuple(parts), masses)


def molar_mass(formula: str, masses: Mapping[str, float]) -> float | None:
    """The mass of a mole, added up by hand; None where the paper does not print all that it needs."""
    total = 0.0
    for piece in re.sub("[⁺⁻⁰¹²³⁴⁵⁶⁷⁸⁹]", "", formula).split("·"):
        count = re.match(r"\d+", piece)
        mass = _added(piece[count.end() if count else 0 :], masses)
        if mass is None:
            return None
        total += mass * int(count[0] if count else 1)
    return total or None


def _added(piece: str, masses: Mapping[str, float]) -> float | None:
    stack = [0.0]
    for token in re.finditer(r"([A-Z][a-z]?)(\d*)|(\()|\)(\d*)|(.)", piece):
        if token[5]:
            return None
        if token[3]:
            stack.append(0.0)
        elif token[1]:
            if token[1] not in masses:
                return None
            stack[-1] += masses[token[1]] * int(token[2] or 1)
        else:
            if len(stack) < 2:
                return None
            inner = stack.pop()
            stack[-1] += inner * int(token[4] or 1)
    return stack[0] if len(stack) == 1 else None


class Facts:
    """What stands on the paper for one question: numbers with units, the table's mean, equations, formulae."""

    def __init__(self, read: Read) -> None:
        self.read = read
        stem = " ".join(read.stem.split())
        found: dict[str, list[float]] = {}
        for number, unit in _QUANTITY.findall(f"{stem} {' '.join(part.text for part in read.parts)}"):
            values = found.setdefault(unit, [])
            if float(number) not in values:
                values.append(float(number))
        self.strengths = found.get("mol dm⁻³", [])
        self.volumes = [*found.get("cm³", []), *(1000 * one for one in found.get("dm³", []))]
        grams = [*found.get("g", []), *(one / 1000 for one in found.get("mg", []))]
        self.sample = [*grams, *(round(a - b, 6) for a, b in itertools.permutations(grams, 2) if a > b)]
        self.runs = self._runs()
        self.formulae = tuple(dict.fromkeys(self._formulae(stem)))
        self.ratios = tuple(self._ratios())
        self.molar = tuple(mass for one in self.formulae if (mass := molar_mass(one, read.masses)))

    def _runs(self) -> list[float]:
        rows = {
            word: [float(one) for one in re.findall(r"\d+\.\d+", line)]
            for line in self.read.stem.splitlines()
            for word in ("final", "initial")
            if line.strip().startswith(word)
        }
        if len(rows) < 2 or len(rows["final"]) != len(rows["initial"]):
            return []
        return [round(a - b, 2) for a, b in zip(rows["final"], rows["initial"], strict=True)]

    @property
    def every_volume(self) -> list[float]:
        """The volumes in cm³ that the text tells, and the mean of its titres."""
        return [*self.volumes, *([self.mean] if self.mean is not None else [])]

    @property
    def scales(self) -> list[float]:
        """What one volume is of another."""
        return [one / other for one, other in itertools.permutations(self.every_volume, 2)]

    @property
    def mean(self) -> float | None:
        """The mean of the largest set of titres, the rough one left out, that agree within 0.10 cm³."""
        near = [[one for one in self.runs[1:] if low <= one <= low + 0.1001] for low in self.runs[1:]]
        best = max(near, key=len, default=[])
        return sum(best) / len(best) if best else None

    def _formulae(self, stem: str) -> Iterator[str]:
        for part in (*(part.text for part in self.read.parts), stem):
            for word in re.findall(r"(?<![\w⁻])\(?[A-Z][\w()·]*[\w)](?:[⁺⁻²³⁴]*)|\b[A-Z]\w*[⁺⁻²³]+", part):
                if molar_mass(word, self.read.masses):
                    yield word

    def _ratios(self) -> Iterator[float]:
        yield 1.0
        for line in self.read.stem.splitlines():
            if "→" in line:
                counts = {int(count or 1) for side in line.split("→") for count, _ in _MEMBER.findall(side)}
                yield from (a / b for a, b in itertools.permutations(sorted(counts), 2))
        yield from (2.0, 3.0, 0.5)  # small numbers in a formula: two chloride ions in one of a dichloride


def ways(facts: Facts, part: Part, before: Sequence[str]) -> Iterator[Way]:
    """Every way in which a part could be worked from what stands on the paper and from the answers that its text names."""
    named = [letter for told in _REFS.findall(part.text) for letter in re.findall(r"[a-z](?=\))", told)]
    if "mean of the concordant" in part.text:
        if facts.mean is not None:
            yield Way((("mean", facts.mean),))
    elif len(named) == 2:
        yield Way((), (named[0],), named[1])
        yield Way((), (named[1],), named[0])
    elif "amount of" in part.text and not named:
        yield from _first_amounts(facts, before[-1:] if facts.runs else ())
    else:
        kind = next((kind for kind in _FROM_BEFORE if kind in part.text), "")
        if kind:
            yield from (replace(way, uses=tuple(named)) for way in _FROM_BEFORE[kind](facts))


def _first_amounts(facts: Facts, mean: Sequence[str]) -> Iterator[Way]:
    """An amount that rests on no part before, but for the mean of the titres."""
    for strength in facts.strengths:
        yield from (Way((("strength", strength), ("to dm³", 0.001)), (letter,)) for letter in mean)
        yield from (Way((("strength", strength), ("volume", one), ("to dm³", 0.001))) for one in facts.every_volume)
    yield from (Way((("mass", one), ("molar", 1 / mass))) for one in facts.sample for mass in facts.molar)


def _amounts(facts: Facts) -> Iterator[Way]:
    for ratio, scale in itertools.product(facts.ratios, (1.0, *facts.scales)):
        yield Way((*_unless_one("ratio", ratio), *_unless_one("scale", scale)))


def _concentrations(facts: Facts) -> Iterator[Way]:
    for volume in facts.every_volume:
        yield Way((("volume", 1 / volume), ("to dm³", 1000.0)))
        yield from (Way((("volume", 1 / volume), ("to dm³", 1000.0), ("molar", mass))) for mass in facts.molar)
    yield from (Way((("scale", scale),)) for scale in facts.scales)
    yield from (Way((("molar", mass),)) for mass in facts.molar)


def _percentages(facts: Facts) -> Iterator[Way]:
    for sample in facts.sample:
        yield Way((("sample", 1 / sample), ("percent", 100.0)))
        yield from (Way((("molar", mass), ("sample", 1 / sample), ("percent", 100.0))) for mass in facts.molar)


def _volumes(facts: Facts) -> Iterator[Way]:
    return (Way((("strength", 1 / one), ("to cm³", 1000.0))) for one in facts.strengths)


def _masses(facts: Facts) -> Iterator[Way]:
    return (Way((("molar", mass),)) for mass in facts.molar)


_FROM_BEFORE: Mapping[str, Callable[[Facts], Iterator[Way]]] = {
    "amount of": _amounts,
    "concentration": _concentrations,
    "percentage": _percentages,
    "volume of": _volumes,
    "mass of": _masses,
}
"""What is worked from an answer before, by the words that ask for it; the first that stands in the text counts."""


def _unless_one(name: str, number: float) -> tuple[tuple[str, float], ...]:
    return ((name, number),) if number != 1 else ()


def understood(read: Read, printed: Mapping[str, str]) -> dict[str, Way] | None:
    """The way of every part of one mark, by letter; None where a part is not understood.

    `printed` are the printed answers by letter. Of several ways that give the number the plainest is taken.
    """
    facts = Facts(read)
    found: dict[str, Way] = {}
    right: dict[str, float] = {}
    for part in read.parts:
        number = as_number(printed.get(part.letter, ""))
        if number is None or part.marks != 1:
            return None
        near = [way for way in ways(facts, part, list(found)) if abs(way.value(right) / number - 1) <= NEAR]
        if not near:
            return None
        best = min(near, key=lambda way: (len(way.factors), abs(way.value(right) / number - 1)))
        names = {frozenset(name for name, _ in way.factors) for way in near if len(way.factors) == len(best.factors)}
        found[part.letter] = replace(best, sure=len(names) == 1)
        right[part.letter] = best.value(right)
    return found or None
