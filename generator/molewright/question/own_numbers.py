"""Numbers that a person fixes come in; a checked question with just these goes out, and why a draw would not have come upon them.

What is left open is drawn about them. An experiment that cannot be is refused; one that is only unusual is made all the same.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction

from molewright.bank.definitions import Archetype, Variant
from molewright.bench.perform import BenchFault
from molewright.chem.quantity import Quantity, parse_quantity
from molewright.chem.units import Unit
from molewright.derivation.derive import derive
from molewright.draw.burette_runs import BURETTE_CM3, draw_runs
from molewright.draw.chosen import Chosen, Draw, given_names, hidden_by
from molewright.draw.draw import Keeps, draw_partly, with_other_runs
from molewright.draw.numbers import unlike
from molewright.draw.refusal import Refusal
from molewright.draw.stream import Stream
from molewright.errors import CheckFailure, Mistake, Where
from molewright.experiment import quantities
from molewright.experiment.quantities import Name
from molewright.experiment.quantity_kinds import UNITS
from molewright.experiment.quantity_texts import Numbers, by_text, find_name, texts_of
from molewright.experiment.relations.variables import System
from molewright.experiment.titres import READING_CM3
from molewright.question.check import Question, Questions
from molewright.question.runs_that_show import MOST_RUNS

MOST_DRAWN = 300  # draws about the fixed numbers before an unusual one is taken
NEAR_CM3 = Fraction(
    1, 4
)  # of a fixed titre: what is drawn about it comes out so near, and the answer then follows from the titre itself
MOST_JUDGED = 40  # of them that are judged, the least unusual first


@dataclass(frozen=True, slots=True)
class OwnQuestion:
    """A question with numbers that a person fixed, and what is unusual in it, a sentence each."""

    question: Question
    unusual: tuple[str, ...]


def numbers_of(question: Question) -> Numbers:
    """Every number that is printed in a question, by its text: what `with_numbers` makes it from again."""
    told = texts_of(question.system.variables)
    return tuple((told[name], " ".join(str(quantity).split())) for name, quantity in question.draw.given.items())


def named_numbers(system: System, chosen: Chosen, numbers: Numbers, where: Where) -> dict[Name, Quantity]:
    """The fixed numbers by their quantities, in the units that they are written in.

    Raises Mistake, with what the question tells, for a quantity that is none of its own, that is asked for, or of another kind.
    """
    printed = given_names(chosen)
    found: dict[Name, Quantity] = {}
    for text, number in numbers:
        place = where.under(text)
        try:
            name = _told(text, printed, system)
            quantity = parse_quantity(number, unit_needed=False)
            base = UNITS[name.kind].base
            if quantity.unit.base is not base:
                raise Mistake(
                    f"{number} for the {name}", expected=f"a number of: {', '.join(map(str, UNITS[name.kind].like))}"
                )
        except Mistake as mistake:
            if _meant(text, chosen.ask.quantity):
                raise Mistake(
                    f"the {chosen.ask.quantity} is what this question asks for",
                    where=place,
                    expected=f"numbers that it tells: {', '.join(texts_of(printed).values())}",
                    do="Fix the others: the answer follows from them.",
                ) from None
            raise mistake.at(place) from None
        if name in found:
            raise Mistake(f"the {name} is fixed twice", where=place, expected="one number for it")
        if quantity.exact <= 0:
            raise Mistake(f"{number} for the {name}", where=place, expected="a number above 0")
        _require_possible(name, quantity, place)
        found[name] = _in_its_unit(name, quantity, chosen.variant)
    return found


def _told(text: str, printed: tuple[Name, ...], system: System) -> Name:
    """The printed quantity that a text means: by the text that tells it apart among these, or among all of the procedure."""
    whole = by_text(system.variables).get(" ".join(text.split()))
    return whole if whole is not None and whole in printed else find_name(text, printed)


def _meant(text: str, asked: Name) -> bool:
    """Whether a text means what is asked for."""
    try:
        return find_name(text, [asked]) == asked
    except Mistake:
        return False


def _require_possible(name: Name, quantity: Quantity, where: Where) -> None:
    if name.kind == "titre" and quantity.in_base > BURETTE_CM3:
        raise Mistake(f"a titre of {quantity}", where=where, expected=f"at most {int(BURETTE_CM3)} cm³, one burette")
    if quantity.unit is Unit.PERCENT and quantity.in_base > 100:
        raise Mistake(f"{quantity} for the {name}", where=where, expected="at most 100 %")


def _in_its_unit(name: Name, quantity: Quantity, variant: Variant) -> Quantity:
    """The number in the unit that the kind prints it in, where that is another one: 1264 mg as 1.264 g."""
    choice = variant.choices.get(name)
    unit = (
        Unit.CM3
        if name.kind == "titre"
        else choice.unit
        if choice is not None and not choice.options
        else quantity.unit
    )
    if choice is not None and choice.options:
        unit = choice.options[0].unit
    return quantity if quantity.unit is unit else quantity.to(unit)


def with_numbers(
    questions: Questions,
    archetype: Archetype,
    chosen: Chosen,
    numbers: Mapping[Name, Quantity],
    stream: Stream,
    where: Where,
) -> OwnQuestion:
    """The question with these numbers; what is open beside them is drawn so that as little as can be is unusual.

    Raises Mistake where the experiment cannot be: something comes out below nothing, above the whole, or does not work on the bench.
    """
    found: list[tuple[int, int, Draw, list[str]]] = []
    impossible: Refusal | None = None
    for attempt in range(MOST_DRAWN):
        try:
            made, told = _drawn(questions, archetype, chosen, numbers, stream.branch(str(attempt)))
        except Refusal as refusal:
            impossible = impossible or refusal
            continue
        found.append((len(told), attempt, made, told))
        if set(made.given) <= set(numbers) or sum(not told for *_, told in found) >= MOST_JUDGED:
            break  # nothing is left open, or there are enough without anything unusual
    best: OwnQuestion | None = None
    for _, _, made, told in sorted(found, key=lambda one: one[:2])[:MOST_JUDGED]:
        try:
            one = _judged(questions, made, told)
        except Refusal as refusal:
            impossible = impossible or refusal
            continue
        if best is None or len(one.unusual) < len(best.unusual):
            best = one
        if not best.unusual:
            break
    if best is None:
        assert impossible is not None
        raise _impossible(impossible, where)
    return best


def _drawn(
    questions: Questions, archetype: Archetype, chosen: Chosen, numbers: Mapping[Name, Quantity], stream: Stream
) -> tuple[Draw, list[str]]:
    """One draw about the fixed numbers, and what is unusual in its numbers. Raises Refusal where it cannot be at all."""
    fixed = questions.fixed(chosen.variant)
    aimed = _aimed(archetype, chosen.variant, numbers)
    told: list[str] = []
    ways: tuple[Keeps, ...] = ("all", "windows", "nothing")
    for keeps in ways:
        try:
            made = draw_partly(aimed, replace(chosen, table=False), numbers, stream, fixed, keeps)
        except Refusal as refusal:
            told = told or [refusal.detail]
            if keeps == ways[-1]:
                raise
        else:
            break
    made = _put_in(questions, replace(made, archetype=archetype), numbers, chosen.table)
    if set(made.given) <= set(numbers):
        told.clear()  # of a draw of which nothing is left
    return made, [*_out_of_range(made, numbers), *told, *_titre_windows(made)]


def _aimed(archetype: Archetype, variant: Variant, numbers: Mapping[Name, Quantity]) -> Archetype:
    """The archetype with its window about the titre that is fixed, so that what is open is drawn to go with it."""
    titrations = variant.procedure.titrations
    fixed = [numbers[one.titre].in_base for one in titrations if one.titre in numbers]
    if not fixed:
        return archetype
    low, high = min(fixed) - NEAR_CM3, max(fixed) + NEAR_CM3
    if len(titrations) > len(fixed):
        low, high = min(low, archetype.windows.titre[0]), max(high, archetype.windows.titre[1])
    return replace(archetype, windows=replace(archetype.windows, titre=(max(low, NEAR_CM3), high)))


def _judged(questions: Questions, made: Draw, told: list[str]) -> OwnQuestion:
    """The question of a draw, with all that is unusual in it. Raises Refusal where the experiment cannot be."""
    try:
        made = questions.believable(made)
    except Refusal as refusal:
        told = [*told, refusal.detail]
    for attempt in range(MOST_RUNS):
        poor: list[Refusal] = []
        try:
            question = questions.with_further_parts(questions.judge(made, further_parts=False, poor=poor))
        except (CheckFailure, BenchFault, ZeroDivisionError) as fault:
            raise Refusal("bench", f"the readings do not come out of what follows from them ({fault})") from None
        if attempt == MOST_RUNS - 1 or not any(refusal.rule == "readings" for refusal in poor):
            break
        made = with_other_runs(made, attempt)  # a mistake that other readings of the same titre would show
    return OwnQuestion(question, tuple(dict.fromkeys([*told, *(refusal.detail for refusal in poor)])))


def _put_in(questions: Questions, made: Draw, numbers: Mapping[Name, Quantity], table: bool) -> Draw:
    """The draw with every fixed number in its place, and the truth behind it as it then follows."""
    given = {name: numbers.get(name, quantity) for name, quantity in made.given.items()}
    runs = made.runs
    for titration in made.variant.procedure.titrations[-1:]:
        if table and titration.titre in given:
            runs = draw_runs(given[titration.titre].in_base, made.stream.branch("own titre"))
    put_in = replace(made, given=given, runs=runs)
    exact = {name: quantity.in_base for name, quantity in given.items()}
    truth = {**made.truth, **exact}
    for act in made.variant.procedure.weighings:
        full, emptied = (quantities.bottle_mass(act.sample, out) for out in (False, True))
        if act.by_difference and full in exact and emptied in exact:
            truth[quantities.mass(act.sample)] = exact[full] - exact[emptied]
    follows = _following(questions, put_in)
    for name, value in follows.items():
        if value <= 0:
            raise Refusal("below nothing", f"the {name} comes out at {float(value):.4g} {UNITS[name.kind]}".rstrip())
        if UNITS[name.kind] is Unit.PERCENT and value > 100:
            raise Refusal("above the whole", f"the {name} comes out at {float(value):.4g} %")
    return replace(put_in, truth={**truth, **follows})


def _following(questions: Questions, made: Draw) -> dict[Name, Fraction]:
    """What is not printed and follows from what is: the answer, the number that it hides, and those that are never printed."""
    prepared = questions.prepare(made.archetype, made)
    known = {**questions.fixed(made.variant), **{name: quantity.in_base for name, quantity in made.given.items()}}
    asked = made.ask.quantity
    try:
        found = {asked: derive(prepared.system, prepared.plan, known).answer, **prepared.hidden_values(known)}
        if made.variant.procedure.titrations:
            hidden = hidden_by(asked, made.variant)
            if hidden not in found and hidden not in known:
                plan = questions.plans.find(prepared.system, tuple(made.given), hidden)
                found[hidden] = derive(prepared.system, plan, known).answer
    except ZeroDivisionError:
        raise Refusal("nothing", "a quantity comes out as nothing") from None
    return found


def _out_of_range(made: Draw, numbers: Mapping[Name, Quantity]) -> Iterator[str]:
    """Which numbers lie where no draw comes upon them, those that are told and the one that follows."""
    for name, choice in made.variant.choices.items():
        stated = numbers.get(name)
        if stated is not None:
            reason = unlike(name, choice, stated)
            if reason:
                yield f"{reason}, not {stated}"
        elif name not in made.given and not choice.options and choice.low is not None and choice.high is not None:
            value = made.truth[name] / choice.unit.factor
            if not Fraction(choice.low) <= value <= Fraction(choice.high):
                yield f"the {name} comes out at {float(value):.4g} {choice.unit}, believable are {choice.low} to {choice.high}"


def _titre_windows(made: Draw) -> Iterator[str]:
    low, high = made.archetype.windows.titre
    for titration in made.variant.procedure.titrations:
        titre = made.given.get(titration.titre)
        if titre is not None and not low <= titre.in_base <= high:
            yield f"the {titration.titre} is drawn from {float(low):g} to {float(high):g} cm³, not {titre}"
        if titre is not None and titre.in_base % READING_CM3 and not made.archetype.graph:
            yield f"a burette is read to 0.05 cm³, and the {titration.titre} is {titre}"


def _impossible(refusal: Refusal, where: Where) -> Mistake:
    return Mistake(
        f"with these numbers the experiment cannot be: {refusal.detail}",
        where=where,
        expected="numbers that go together",
        do="Check the numbers against your notes, or leave one of them open.",
    )
