"""An archetype comes in; what a set of its questions is like goes out: how many there can be, spread of answers, mistakes apart.

It draws, counts and measures; it words nothing and prints nothing.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from statistics import median, quantiles

from molewright.bank.definitions import Archetype, Bank
from molewright.chem.quantity import Quantity, half_up, to_figures
from molewright.chem.units import Unit
from molewright.further_parts.stretch import stretch_kinds, stretched_by
from molewright.machine.same import Same
from molewright.question.check import WELL_APART, Question, Questions
from molewright.sheet.dangers import Dangers
from molewright.survey.counting import Estimate, estimate_distinct

MOST_STRETCHED = 12  # questions of an archetype of which every kind of stretch part is tried
MOST_MARKED = 50  # questions of an archetype whose mistakes are worked: it takes longer than drawing them


@dataclass(frozen=True, slots=True)
class Spread:
    """How a printed quantity spreads over questions: its name, the least, the three quartiles and the most."""

    name: str
    least: Quantity
    quartiles: tuple[Quantity, Quantity, Quantity]
    most: Quantity


@dataclass(frozen=True, slots=True, kw_only=True)
class Distances:
    """How far the commoner mistakes lie from the right answer and from one another.

    `nearest` is the median, and `least` the smallest, distance from the right answer to the nearest wrong one, as a share of the
    right one; of wrong answers that cannot be told from the right one, `hidden` is the share of questions that have such.
    `apart` is the share of questions in which answers that are written differently do so by the third figure, `shared` that in which
    one wrong number has two mistakes behind it.
    """

    nearest: Fraction
    least: Fraction
    hidden: Fraction
    apart: Fraction
    shared: Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class Survey:
    """What is found out about an archetype: its estimate, refusals by rule, spreads, distances and some of its questions."""

    archetype: Archetype
    drawn: int  # draws that passed
    refused: Mapping[str, int]
    said: Mapping[str, str]  # what each rule said the last time that it refused
    estimate: Estimate
    answers: tuple[Spread, ...]
    titres: tuple[Spread, ...]
    distances: Distances | None  # None where no common mistake leads to another number
    samples: tuple[Question, ...]
    unjudged: tuple[str, ...]  # species without an entry in the bank of ions, so that no indicator is judged
    stretched: Mapping[str, int] = field(
        default_factory=dict
    )  # kinds of stretch part: how many of `tried` questions allow them
    tried: int = 0
    scenes: tuple[str, ...] = ()  # keys, of the variant that has the fewest
    unwarned: tuple[str, ...] = ()  # what is in a bottle or weighed and has no hazard note


def survey(questions: Questions, archetype: Archetype, drawn: Sequence[Question], made: int, refused: Mapping[str, int],
           tries: int, said: Mapping[str, str] | None = None) -> Survey:  # fmt: skip
    """What the drawn questions of an archetype are like, and how many there can be, from so many tries.

    `made`, `refused` and `said` are the draws that passed, the refused by rule, and what each rule said the last time.
    """
    samples = unlike(drawn)
    unjudged = {one for question in samples for one in questions.plausibility.unjudged(question.draw)}
    return Survey(
        archetype=archetype,
        drawn=made,
        refused=dict(refused),
        said=dict(said or {}),
        estimate=estimate_distinct(questions, archetype, tries),
        answers=_spreads(drawn),
        titres=_titres(drawn),
        distances=_distances(drawn[:MOST_MARKED]),
        samples=samples,
        unjudged=tuple(sorted(unjudged)),
        stretched={
            kind: sum(bool(stretched_by(kind, questions.calculation(one, "stretch"))) for one in drawn[:MOST_STRETCHED])
            for kind in stretch_kinds(archetype)
        },
        tried=len(drawn[:MOST_STRETCHED]),
        scenes=min((tuple(scene.key for scene in variant.contexts) for variant in archetype.variants), key=len),
        unwarned=unwarned(questions.bank, archetype),
    )


def unwarned(bank: Bank, archetype: Archetype) -> tuple[str, ...]:
    """What an archetype has in bottles, pours in by name or weighs, and of which the banks have no hazard note: formulae or names."""
    noted = {hazard.solute for hazard in bank.hazards}
    dangers = Dangers(bank)
    missing: set[str] = set()
    for variant in archetype.variants:
        missing |= {one.solute for one in variant.procedure.solutions() if not one.made_in} - noted
        missing |= {solute for solute, _ in dangers.helpers(variant)} - noted
        missing |= {what for what, note in dangers.weighed(variant).items() if note is None}
    return tuple(sorted(missing))


def quartiles(numbers: Sequence[Fraction]) -> tuple[Fraction, Fraction, Fraction]:
    """The lower quartile, the median and the upper quartile; least and most are the 0th and the last of them.

    Between two numbers in proportion: definition 7 of R. J. Hyndman, Y. Fan: Sample quantiles in statistical packages,
    The American Statistician 50 (1996), 361-365.
    """
    if len(numbers) == 1:
        return (numbers[0],) * 3
    lower, middle, upper = quantiles(numbers, n=4, method="inclusive")
    return lower, middle, upper


def _spreads(drawn: Sequence[Question]) -> tuple[Spread, ...]:
    """The spread of the answers, for every kind of quantity and unit that is asked for."""
    found: dict[tuple[str, Unit], list[Question]] = {}
    for question in drawn:
        kind = question.draw.ask.quantity.what
        found.setdefault((kind, question.worked.answer.unit), []).append(question)
    return tuple(_spread(kind, several) for (kind, _), several in found.items())


def _spread(name: str, several: Sequence[Question]) -> Spread:
    whole = all(question.worked.steps[-1].variable.whole for question in several)
    figures = max(question.draw.ask.figures for question in several)
    answers = sorted((question.worked.answer for question in several), key=lambda answer: answer.exact)

    def written(exact: Fraction) -> Quantity:
        number = half_up(exact, 0) if whole else to_figures(exact, figures)
        return Quantity(number, answers[0].unit, answers[0].scientific)

    lower, middle, upper = map(written, quartiles([answer.exact for answer in answers]))
    return Spread(name, answers[0], (lower, middle, upper), answers[-1])


def _titres(drawn: Sequence[Question]) -> tuple[Spread, ...]:
    """The spread of the titre of each stage, as the paper or the mark scheme prints it."""
    found: dict[str, list[Quantity]] = {}
    for question in drawn:
        for titration in question.draw.variant.procedure.titrations:
            name = titration.titre
            found.setdefault(titration.name, []).append(question.draw.given.get(name) or question.worked.answer)
    spreads = []
    for stage, titres in found.items():  # "blank", "second": nothing where there is one titration only
        titres.sort(key=lambda titre: titre.exact)
        places = max(titre.places for titre in titres)
        lower, middle, upper = (
            Quantity(half_up(exact, places), titres[0].unit) for exact in quartiles([titre.exact for titre in titres])
        )
        spreads.append(Spread(stage, titres[0], (lower, middle, upper), titres[-1]))
    return tuple(spreads)


def _distances(drawn: Sequence[Question]) -> Distances | None:
    nearest: list[Fraction] = []
    hidden = apart = shared = 0
    for question in drawn:
        right = question.worked.answer.exact
        wrong = [
            (one, [slip for slip in one.slips if slip.often != "low" and not slip.near])
            for one in question.mistakes.wrong
        ]
        seen = [one for one, slips in wrong if slips and not one.hidden]
        if seen:
            nearest.append(min(abs(one.answer.exact / right - 1) for one in seen))
        hidden += any(slips and one.hidden for one, slips in wrong)
        shared += any(len(slips) > 1 and not one.hidden for one, slips in wrong)
        apart += question.separation >= WELL_APART
    if not nearest:
        return None
    every = len(drawn)
    return Distances(
        nearest=median(nearest),
        least=min(nearest),
        hidden=Fraction(hidden, every),
        apart=Fraction(apart, every),
        shared=Fraction(shared, every),
    )


def unlike(drawn: Sequence[Question], most: int = 3) -> tuple[Question, ...]:
    """Some questions that differ as far as they can: in substances first, then in what is asked, in scene and in form."""
    picked: list[Question] = []
    seen: list[set[object]] = [set(), set(), set(), set()]
    left = list(drawn)
    while left and len(picked) < most:
        best = max(
            left, key=lambda question: [mark not in known for mark, known in zip(_marks(question), seen, strict=True)]
        )
        left.remove(best)
        picked.append(best)
        for mark, known in zip(_marks(best), seen, strict=True):
            known.add(mark)
    return tuple(picked)


def _marks(question: Question) -> tuple[object, ...]:
    draw = question.draw
    return Same(draw.variant), draw.ask.quantity.what, draw.context.key, bool(draw.runs)
