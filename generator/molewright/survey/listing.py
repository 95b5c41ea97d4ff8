"""A bank comes in; lines that tell what it holds, or how its archetypes draw, go out."""

from __future__ import annotations

from collections import Counter, deque
from collections.abc import Callable, Iterator, Sequence
from itertools import islice

from molewright.bank.definitions import Archetype, Bank
from molewright.chem.formula_scripts import unicode_text
from molewright.derivation.plans import Plans
from molewright.draw.stream import Stream
from molewright.errors import Mistake, Mistakes
from molewright.experiment.relations.relating import relate
from molewright.further_parts.equations.which import EQUATION_KINDS, MARKS, possible_equations
from molewright.question.check import Question, Questions
from molewright.question.refusals import Tally
from molewright.survey.levels import try_every_level

MOST_REFUSED = 1 / 2  # of the draws of a kind: above that its ranges should be looked at
TRIES_A_DRAW = 20  # sets of numbers tried at most for the estimate of an archetype, for each draw of a variant


def list_bank(bank: Bank, what: str) -> Iterator[str]:
    """One line for each entry of a kind, one of LISTS."""
    return LISTS[what](bank)


def _archetypes(bank: Bank) -> Iterator[str]:
    width = max(map(len, bank.archetypes))
    topic = ""
    for archetype in sorted(bank.archetypes.values(), key=lambda one: (one.topic, one.demand, one.key)):
        if archetype.topic != topic:
            topic = archetype.topic
            yield f"{topic}"
        asked = ", ".join(dict.fromkeys(ask.quantity.what for variant in archetype.variants for ask in variant.asks))
        yield f"  {archetype.key.ljust(width)}  {archetype.title} ({_forms(len(archetype.variants))}; asks {asked})"
    yield f"{len(bank.archetypes)} archetypes; banks {bank.fingerprint}"


def _materials(bank: Bank) -> Iterator[str]:
    for one in bank.materials.values():
        yield f"{one.name}: {one.low} to {one.high} % {unicode_text(one.analyte)} ({one.source})"


def _substances(bank: Bank) -> Iterator[str]:
    for one in bank.substances.values():
        also = f" (also {', '.join(one.also_called)})" if one.also_called else ""
        yield f"{unicode_text(one.formula)}: {one.name}{also}"


def _reactions(bank: Bank) -> Iterator[str]:
    for entry in bank.reactions:
        yield f"{entry.reaction}" + (f"  [{', '.join(entry.indicators)}]" if entry.indicators else "")


def _equations(bank: Bank) -> Iterator[str]:
    """The kinds of equation that a question may ask for, and how many kinds of question each can stand in."""
    able: Counter[str] = Counter()
    for archetype in bank.archetypes.values():
        variant = archetype.variants[0]
        system = relate(variant.procedure, variant.unknown)
        able.update({one.kind for one in possible_equations(bank, variant, system)})
    for kind in EQUATION_KINDS:
        yield f"{kind}: {MARKS[kind]} {'mark' if MARKS[kind] == 1 else 'marks'} (in {able[kind]} kinds of question)"


def _indicators(bank: Bank) -> Iterator[str]:
    for one in bank.indicators.values():
        ranged = f"pH {one.low} to {one.high}, " if one.low is not None else ""
        yield f"{one.name}: {ranged}{one.acid_colour} to {one.base_colour} ({one.source})"


def _apparatus(bank: Bank) -> Iterator[str]:
    for piece in bank.apparatus:
        tolerance = f", tolerance {piece.tolerance}" if piece.tolerance else ""
        yield f"{piece.name}: {piece.capacity}{tolerance} ({piece.source})"


def _contexts(bank: Bank) -> Iterator[str]:
    for context in bank.contexts:
        yield f"{context.key}: {', '.join(context.serves)}"


def _slips(bank: Bank) -> Iterator[str]:
    for one in bank.slips:
        also = f" (also {', '.join(one.also)})" if one.also else ""
        yield f"{one.key}: {one.name}{also}{f'; {one.unseen}' if one.unseen else ''}"


LISTS: dict[str, Callable[[Bank], Iterator[str]]] = {
    "archetypes": _archetypes,
    "materials": _materials,
    "substances": _substances,
    "reactions": _reactions,
    "equations": _equations,
    "indicators": _indicators,
    "apparatus": _apparatus,
    "contexts": _contexts,
    "slips": _slips,
}


def check_bank(
    bank: Bank,
    plans: Plans | None,
    draws: int,
    progress: Callable[[int, int], None],
    only: Sequence[str] = (),
    full: bool = False,
) -> Iterator[str]:
    """Draw every variant of every archetype, or of those named, and tell what is refused; `full` tells what else was found out.

    Each is composed at every level, with `full` each question is stretched besides.

    Without plans, those are used that the user keeps. Raises Mistakes at the end where some cannot be drawn.
    """
    faults: list[Mistake] = []
    plans = plans or Plans.of_user(bank.fingerprint)
    questions = Questions(bank, plans)
    archetypes = [bank.archetypes[key] for key in dict.fromkeys(only)] or list(bank.archetypes.values())
    width = max(len(archetype.key) for archetype in archetypes)
    for done, archetype in enumerate(archetypes, 1):
        questions.tally.clear()
        total = draws * len(archetype.variants)
        drawn = (questions.make(archetype, Stream(f"check/{archetype.key}/{number}")) for number in range(total))
        try:
            if full:
                kept = list(drawn)
                try_every_level(questions, kept, bank)
                yield from _full(bank, questions, archetype, kept, draws * TRIES_A_DRAW)
            else:
                try_every_level(questions, list(islice(drawn, 1)), bank)
                deque(drawn, maxlen=0)  # drawn and not kept
                yield from _short(questions.tally, archetype.key.ljust(width), total)
        except Mistake as mistake:
            faults.append(mistake)
        progress(done, len(archetypes))
    plans.keep()
    if len(faults) == 1:
        raise faults[0]
    if faults:
        raise Mistakes(faults)
    if full:
        from molewright.survey.lines import method_lines

        yield from (*method_lines(), "")
    yield f"every entry is sound: {len(bank.archetypes)} archetypes, {len(bank.reactions)} reactions, {len(bank.materials)} materials"


def _short(tally: Tally, name: str, total: int) -> Iterator[str]:
    """One line; what the commonest rules say only where more is refused than should be."""
    rules = ", ".join(f"{rule} {count}" for rule, count in tally.refused.most_common())
    yield f"{name}  {total} questions, {tally.share_refused:.0%} of draws refused" + (f" ({rules})" if rules else "")
    if tally.share_refused > MOST_REFUSED:
        from molewright.survey.lines import reasons

        yield from (f"  {sentence}" for sentence in reasons(tally.refused, tally.said))


def _full(
    bank: Bank, questions: Questions, archetype: Archetype, drawn: Sequence[Question], tries: int
) -> Iterator[str]:
    from molewright.survey.lines import survey_lines
    from molewright.survey.spread import survey

    found = survey(
        questions, archetype, drawn, questions.tally.made, questions.tally.refused, tries, questions.tally.said
    )
    yield from survey_lines(found, bank)
    yield ""


def _forms(number: int) -> str:
    return "1 form" if number == 1 else f"{number} forms"
