"""Fifty thousand questions over all archetypes: every one replays exactly on the bench, and refusals stay rare."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

from hypothesis import given, settings
from hypothesis import strategies as st

from molewright.bank.definitions import Bank
from molewright.bench.perform import perform
from molewright.draw.chosen import Chosen
from molewright.draw.stream import Stream
from molewright.question.check import Question, Questions
from shared.banks import built_in
from shared.kinds import KEYS, each_kind

BANK = built_in()
QUESTIONS = 50_000
A_KIND = 375  # of each kind that asks for a calculation alone
FURTHER = 60  # of an archetype that asks for more than a calculation: slower, and drawn from the same procedures
PLAIN = [key for key in KEYS if not BANK.archetypes[key].further_parts]
EACH = {key: A_KIND if key in PLAIN else FURTHER for key in KEYS}
MOST_REFUSED = 0.6  # of all draws: two and a half for a question at most
Dozen = Callable[[str], tuple[Question, ...]]
COARSE = {
    "name-the-hydroxide": 0.7,  # a molar mass of two figures less that of OH is the relative atomic mass in its last figure:
    "name-the-hydrogencarbonate": 0.7,  # who rounds every step to two figures often shows nothing
    "burette-readings": 0.7,  # no mean of the concordant titres may round to the whole cm³ within the range, nor a rough run hide
}


def replays(question: Question) -> None:
    """The derived answer, put back on the bench by the test itself, gives every printed titre exactly."""
    made = question.draw
    readings = perform(made.variant.procedure, question.replayed)
    for titration in made.variant.procedure.titrations:
        name = titration.titre
        printed = question.worked.exact if name == made.ask.quantity else made.given[name].in_base
        assert readings.titres[name] == printed, f"{made.archetype.key} {made.ask.quantity} {made.stream.seed}"


@each_kind()
def test_every_question_of_an_archetype_replays_exactly(
    key: str, bank: Bank, questions: Questions, dozen: Dozen
) -> None:
    archetype = bank.archetypes[key]
    low, high = archetype.windows.titre
    first = dozen(key)
    questions.tally.made = 0
    questions.tally.refused.clear()
    for number in range(EACH[key]):
        question = first[number] if number < len(first) else questions.make(archetype, Stream(f"many/{key}/{number}"))
        for titration in question.draw.variant.procedure.titrations:
            printed = question.draw.given.get(titration.titre)
            assert printed is None or low - Fraction(1, 40) <= printed.exact <= high + Fraction(1, 40)
        replays(question)
    assert questions.tally.made >= EACH[key] - len(first)
    assert all(rule and count > 0 for rule, count in questions.tally.refused.items())
    assert questions.tally.share_refused < COARSE.get(key, MOST_REFUSED), dict(questions.tally.refused)


def test_the_questions_of_plain_kinds_are_fifty_thousand() -> None:
    # a share above fails unless each of its kinds was drawn as often as EACH says
    assert sum(EACH[key] for key in PLAIN) >= QUESTIONS


@settings(max_examples=300)
@given(data=st.data())
def test_any_archetype_form_ask_and_seed_replays_exactly(data: st.DataObject, bank: Bank, questions: Questions) -> None:
    archetype = bank.archetypes[data.draw(st.sampled_from(KEYS), label="archetype")]
    variant = data.draw(st.sampled_from(archetype.variants), label="form")
    ask = data.draw(st.sampled_from(variant.asks), label="ask")
    context = data.draw(st.sampled_from(variant.contexts), label="scene")
    indicator = data.draw(st.sampled_from(variant.indicators or ("",)), label="indicator")
    seed = data.draw(st.integers(0, 2**32), label="seed")
    chosen = Chosen(variant=variant, ask=ask, context=context, indicator=indicator, table=archetype.runs == "table")
    question = questions.make(archetype, Stream(str(seed)), chosen)
    replays(question)
    assert question.draw.ask == ask


@each_kind()
def test_the_derived_answer_is_near_the_hidden_truth(key: str, dozen: Dozen) -> None:
    # a titre is read to 0.05 cm3, so that the answer may be off by that share and its scaling, never by a tenth
    for question in dozen(key):
        truth = question.draw.truth.get(question.draw.ask.quantity)
        if truth is not None:
            assert abs(question.worked.exact / truth - 1) < Fraction(1, 20), question.draw.archetype.key
