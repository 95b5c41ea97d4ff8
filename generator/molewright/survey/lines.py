"""What was found out about an archetype comes in; lines that a teacher reads in a terminal go out. It draws and measures nothing."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from decimal import Decimal
from fractions import Fraction

from molewright.bank.definitions import Bank
from molewright.chem.formula_scripts import with_scripts
from molewright.chem.quantity import half_up, to_figures
from molewright.nodes.blocks import Block, Paragraph, Sheet
from molewright.nodes.inline import Text
from molewright.plausibility.remedies import remedy
from molewright.question.check import Question
from molewright.render import text
from molewright.render.text.lines import COLUMNS, hung, wrapped
from molewright.sheet.parts import question_block
from molewright.sheet.wording import Words
from molewright.sheet.writer import Writer
from molewright.survey.counting import Estimate
from molewright.survey.spread import Distances, Spread, Survey

FEW_SCENES = 3  # so many belong to a kind at least, or it repeats itself
_HANG = 23  # columns for what a line is about
_LARGE = ((10**12, "million million"), (10**9, "thousand million"), (10**6, "million"))

COMMON = Fraction(1, 5)  # of the refusals, from which a rule's reason is told
MOST_REASONS = 2

METHOD = (
    "Distinct questions differ in what is asked, in scene or in a printed number. Their number is estimated by hit or miss: "
    "sets of numbers are picked from all that the ranges allow, each as likely as the next, and the share that keeps every "
    "window and rule is taken of the whole; sets that print alike count once. Two times in three the true number lies within "
    "the standard error. Readings of a burette about one mean titre, indicators and wordings come on top and are not counted."
)


def survey_lines(found: Survey, bank: Bank) -> Iterator[str]:
    """A heading, then what was found, indented, then sample questions as a pupil reads them."""
    archetype = found.archetype
    yield from wrapped(f"{archetype.key}: {archetype.title}", COLUMNS)
    yield from _line("distinct questions", distinct(found.estimate))
    yield from _line("refused", refusals(found.drawn, found.refused))
    for sentence in reasons(found.refused, found.said):
        yield from _line("", sentence)
    answers = "answers" if archetype.calculated else "answers (not asked)"
    for label, spread in _labelled(answers, found.answers) + _labelled("titre", found.titres):
        yield from _line(label, spread)
    yield from _line("commoner mistakes", mistakes(found.distances))
    if len(found.scenes) < FEW_SCENES:
        yield from _line("few scenes", few_scenes(found.scenes))
    if found.unjudged:
        yield from _line("not judged", f"the indicator: {', '.join(found.unjudged)} not in ions.yaml")
    if found.unwarned:
        told = ", ".join(map(with_scripts, found.unwarned))
        yield from _line("no hazard note", f"for {told}: the teacher's copy will say nothing of it (hazards.yaml)")
    yield from _line("stretch part", stretch_parts(found.stretched, found.tried))
    words = Words(bank.words)
    for number, question in enumerate(found.samples, 1):
        yield ""
        yield f"  sample {number}, scene '{question.draw.context.key}':"
        yield from (f"  {line}".rstrip() for line in sample_lines(question, bank, words))


def method_lines() -> list[str]:
    """How the numbers of distinct questions were found, for the foot of the whole."""
    return wrapped(METHOD, COLUMNS)


def _line(label: str, words: str) -> list[str]:
    return hung(f"  {label}", words, COLUMNS, hang=_HANG)


def distinct(estimate: Estimate) -> str:
    """How many distinct questions there are, with the uncertainty."""
    tried = f"{estimate.passed} of {estimate.tries} sets of numbers passed"
    if not estimate.passed:
        return (
            f"fewer than {large(estimate.most)}, with 95 % confidence (none of {estimate.tries} sets of numbers passed)"
        )
    error = Fraction(estimate.error) / estimate.distinct * 100
    shown = f"{half_up(error, 0)} %" if error >= 1 else "less than 1 %"
    return f"about {large(estimate.distinct)}, standard error {shown} ({tried})"


def large(count: Fraction) -> str:
    """A count to two figures, in words from a million."""
    for size, word in _LARGE:
        if count >= size:
            return f"{to_figures(count / size, 2):f} {word}"
    whole = to_figures(count, 2) if count >= 10 else max(half_up(count, 0), Decimal(1))
    return f"{whole:,f}"


def refusals(drawn: int, refused: Mapping[str, int]) -> str:
    """The share of draws that was refused, and by which rules, the commonest first."""
    lost = sum(refused.values())
    share = half_up(Fraction(100 * lost, lost + drawn), 0) if lost else Decimal(0)
    rules = ", ".join(f"{rule} {count}" for rule, count in sorted(refused.items(), key=lambda one: -one[1]))
    return f"{share} % of {lost + drawn} draws" + (f" ({rules})" if rules else "")


def reasons(refused: Mapping[str, int], said: Mapping[str, str]) -> list[str]:
    """What the commonest rules said the last time, with what can be done about it; rules behind few refusals are left out."""
    lost = sum(refused.values())
    common = [rule for rule, count in sorted(refused.items(), key=lambda one: -one[1]) if count >= COMMON * lost]
    return [f"{rule}, for example: {said[rule]}. {remedy(rule)}" for rule in common[:MOST_REASONS] if rule in said]


def _labelled(label: str, spreads: tuple[Spread, ...]) -> list[tuple[str, str]]:
    """A label for the first of several spreads; each says what it is of, where that has a name."""
    return [("" if number else label, (f"{spread.name}: " if spread.name else "") + spread_words(spread))
            for number, spread in enumerate(spreads)]  # fmt: skip


def spread_words(spread: Spread) -> str:
    """Least and most with the unit, then the quartiles."""
    if spread.least == spread.most:
        return f"always {spread.most}"
    lower, middle, upper = (quartile.number_text for quartile in spread.quartiles)
    return f"{spread.least.number_text} to {spread.most}; quartiles {lower}, {middle}, {upper}"


def mistakes(distances: Distances | None) -> str:
    """How well the common mistakes are told from the right answer and from one another."""
    if distances is None:
        return "none leads to another number"
    unseen = f"; one cannot be seen at all in {percent(distances.hidden)} of questions" if distances.hidden else ""
    return (
        f"the nearest wrong answer lies {percent(distances.nearest)} from the right one (median; least "
        f"{percent(distances.least)}){unseen}; numbers that differ do so by the third figure in {percent(distances.apart)} of "
        f"questions; in {percent(distances.shared)} two mistakes give one and the same number, and the scheme names both"
    )


def stretch_parts(stretched: Mapping[str, int], tried: int) -> str:
    """The kinds of stretch part that can come, each with how often these numbers allow it, and those that never do."""
    can = [f"{kind} (in {'all' if count == tried else count} of {tried})" for kind, count in stretched.items() if count]
    never = [kind for kind, count in stretched.items() if not count]
    told = ", ".join(can) or "none"
    return told + (f"; never {', '.join(never)}: these numbers do not allow it" if never else "")


def few_scenes(scenes: tuple[str, ...]) -> str:
    """What comes of scenes that are few."""
    told = f"{len(scenes)} only ({', '.join(scenes)}): " if scenes else ""
    return f"{told}papers with more questions of this kind tell the same story again; give it {FEW_SCENES} or more (contexts.yaml)"


def percent(share: Fraction) -> str:
    """A share in per cent: two figures below ten, whole from there."""
    hundred = share * 100
    return f"{half_up(hundred, 0 if hundred >= 10 or not hundred else 1)} %"


def sample_lines(question: Question, bank: Bank, words: Words) -> list[str]:
    """The stem and the demands of a question in exam style, as plain text."""
    block = question_block(Writer(question, bank, words), 1, "exam")
    asked: list[Block] = [
        Paragraph((Text(f"{part.label} "), *part.demand) if part.label else part.demand) for part in block.parts
    ]
    sheet = Sheet(title="", subject="", kind="questions", code="", blocks=(*block.stem, *asked))
    return text.render(sheet).decode().splitlines()
