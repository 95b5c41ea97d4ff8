"""Drawn numbers: in their windows, printed with the right figures, on a real burette, and the same again from the same seed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from molewright.bank.definitions import Archetype, Bank, Choice, Variant
from molewright.bench.perform import perform
from molewright.chem.quantity import Quantity
from molewright.chem.units import Unit
from molewright.draw import burette_runs
from molewright.draw.burette_runs import draw_runs
from molewright.draw.chosen import Chosen, Draw, choose
from molewright.draw.draw import draw
from molewright.draw.numbers import pick_number
from molewright.draw.refusal import Refusal
from molewright.draw.stream import Stream
from molewright.experiment.procedure import Aliquot, Measure
from molewright.experiment.quantities import volume_taken
from molewright.experiment.titres import chosen as averaged
from molewright.experiment.titres import concordant_sets, mean_titre
from molewright.question.check import Question, Questions
from shared.for_each import for_each
from shared.kinds import KEYS, each_kind
from shared.quantities import q

READ = Fraction(1, 20)
BURETTE = Fraction(50)

Drawn = Callable[[str], Sequence[Question]]


every_kind = each_kind()


def titrated(drawn: Sequence[Question]) -> list[Question]:
    """Those that have a titration: a solution that is only prepared has no window."""
    return [question for question in drawn if question.draw.variant.procedure.titrations]


@every_kind
def test_every_titre_lies_in_its_window(key: str, dozen: Drawn, bank: Bank) -> None:
    low, high = bank.archetypes[key].windows.titre
    for question in titrated(dozen(key)):
        for name, found in perform(question.draw.variant.procedure, question.draw.truth).titres.items():
            assert low <= found <= high, name


@pytest.mark.parametrize("key", ["iron-beside-ethanedioate", "carbonate-and-hydrogencarbonate"])
def test_one_burette_reaches_all_end_points_of_a_flask(key: str, dozen: Drawn) -> None:
    for question in dozen(key):
        titres = perform(question.draw.variant.procedure, question.draw.truth).titres
        assert len(titres) == 2
        assert sum(titres.values()) <= BURETTE


@every_kind
def test_no_titre_could_be_taken_for_the_volume_of_the_pipette(key: str, dozen: Drawn) -> None:
    # a pupil who writes the pipette's volume for the titre must not come near the right answer
    for question in titrated(dozen(key)):
        procedure, truth = question.draw.variant.procedure, question.draw.truth
        last = procedure.titrations[-1]
        taken = [
            truth[volume_taken(op.into)]
            for op in procedure.operations
            if isinstance(op, Aliquot) and op.into == last.vessel
        ]
        taken += [
            truth[op.volume]
            for op in procedure.operations
            if isinstance(op, Measure) and op.vessel == last.vessel and not op.excess and op.volume in truth
        ]
        found = perform(procedure, truth).titres[last.titre]
        assert not any(abs(found / volume - 1) < Fraction(4, 100) for volume in taken), float(found)


@every_kind
def test_the_excess_reagent_is_used_up_as_far_as_the_window_says(key: str, dozen: Drawn, bank: Bank) -> None:
    low, high = bank.archetypes[key].windows.used
    for question in titrated(dozen(key)):
        used = perform(question.draw.variant.procedure, question.draw.truth).used
        assert all(low <= share <= high for share in used.values())


@every_kind
def test_every_printed_number_is_one_that_its_choice_allows(key: str, dozen: Drawn) -> None:
    for question in dozen(key):
        variant = question.draw.variant
        for name, quantity in question.draw.given.items():
            choice = variant.choices.get(name)
            if choice is None:  # what follows from the numbers drawn
                assert name.text.startswith(("titre", "mass of bottle with", "pH")), name
            elif choice.options:
                assert quantity in choice.options
            else:
                assert choice.low is not None
                assert choice.high is not None
                assert choice.step is not None
                assert choice.low <= quantity.number <= choice.high, name
                assert quantity.unit == choice.unit
                if choice.figures is None:
                    assert quantity.number % choice.step == 0, name
                    assert quantity.places == max(0, -int(choice.step.as_tuple().exponent))
                else:
                    assert quantity.figures == choice.figures, name


@every_kind
def test_the_truth_behind_a_printed_number_is_the_printed_number(key: str, dozen: Drawn) -> None:
    for question in dozen(key):
        for name, quantity in question.draw.given.items():
            if not name.text.startswith(("titre", "pH")):
                assert question.draw.truth[name] == quantity.in_base


@every_kind
def test_no_printed_number_has_fewer_than_three_figures(key: str, dozen: Drawn) -> None:
    for question in dozen(key):
        for name, quantity in question.draw.given.items():
            if question.draw.archetype.graph and name in question.draw.to_find:
                continue  # read off, and not printed: 8.5 cm³
            if not name.text.startswith(("number of", "water in", "oxidation state", "excess of")):
                assert quantity.figures >= 3, f"{name} {quantity}"


@every_kind
def test_a_printed_titre_is_a_burette_reading_with_two_places_or_read_from_a_graph_to_half_a_division(
    key: str, dozen: Drawn
) -> None:
    for question in dozen(key):
        graph = question.draw.archetype.graph
        for name, quantity in question.draw.given.items():
            if name.text.startswith("titre"):
                assert quantity.places == (1 if graph else 2)
                assert Fraction(quantity.number) % (Fraction(1, 2) if graph else READ) == 0


@every_kind
def test_what_is_asked_for_is_not_printed(key: str, dozen: Drawn) -> None:
    for question in dozen(key):
        assert question.draw.ask.quantity not in question.draw.given


@every_kind
def test_the_chosen_context_and_indicator_are_those_of_the_variant(key: str, dozen: Drawn) -> None:
    for question in dozen(key):
        made = question.draw
        assert made.context in made.variant.contexts
        assert made.ask in made.variant.asks
        assert made.indicator in (made.variant.indicators or ("",))


@every_kind
def test_readings_stand_on_the_burette_and_give_the_mean_titre(key: str, dozen: Drawn) -> None:
    for question in dozen(key):
        if question.draw.runs:
            stand_on_a_burette(question.draw)


def stand_on_a_burette(made: Draw) -> None:
    runs = made.runs
    assert runs[0].rough
    assert not any(run.rough for run in runs[1:])
    for run in runs:
        assert run.initial % READ == 0
        assert run.final % READ == 0
        assert 0 <= run.initial < run.final <= BURETTE
    accurate = [run.titre for run in runs if not run.rough]
    assert len(concordant_sets(tuple(run for run in runs if not run.rough))) == 1
    used = [runs[index].titre for index in averaged(runs)]
    for left_out in set(accurate) - set(used):
        assert min(abs(left_out - one) for one in used) >= Fraction(1, 5)
    given_titre = made.given[made.variant.procedure.titrations[-1].titre]
    assert mean_titre(runs) == given_titre.exact


def test_the_table_is_shown_where_the_archetype_says_so(small_bank: Bank, small_questions: Questions) -> None:
    for key, shown in (("small-direct", True), ("small-iron", False)):
        for seed in range(20):
            made = small_questions.make(small_bank.archetypes[key], Stream(f"table/{seed}")).draw
            assert bool(made.runs) is (shown and not made.ask.quantity.text.startswith("titre"))


# ------------------------------------------------------------------ readings alone


@settings(max_examples=300)
@given(st.integers(300, 800).map(lambda steps: steps * READ), st.integers(0, 10**6))
def test_any_mean_titre_gets_runs_with_one_concordant_set(mean: Fraction, seed: int) -> None:
    runs = draw_runs(mean, Stream(f"runs/{seed}"))
    assert mean_titre(runs) == mean
    assert len(concordant_sets(runs[1:])) == 1
    assert all(run.initial % READ == 0 and run.initial >= 0 and run.final <= BURETTE for run in runs)
    assert runs[0].rough


def test_the_rough_run_lies_apart_and_mostly_above() -> None:
    # 0.30 to 1.20 cm3 away and above in six of seven tables: common practice, no source
    mean = Fraction(25)
    apart = [draw_runs(mean, Stream(f"rough/{seed}"))[0].titre - mean for seed in range(400)]
    assert all(Fraction(3, 10) <= abs(one) <= Fraction(6, 5) for one in apart)
    assert 300 <= sum(one > 0 for one in apart) <= 380


def test_initial_readings_are_often_not_nought() -> None:
    runs = [run for seed in range(100) for run in draw_runs(Fraction(20), Stream(f"initial/{seed}"))]
    assert 0.25 < sum(run.initial > 0 for run in runs) / len(runs) < 0.75
    assert min(run.initial for run in runs if run.initial) >= Fraction(
        3, 10
    )  # so that a final reading is not the titre


def test_a_titre_too_long_for_the_burette_is_refused() -> None:
    with pytest.raises(Refusal) as caught:
        draw_runs(Fraction("49.9"), Stream("long"))
    assert caught.value.rule == "readings"


# ------------------------------------------------------------------ the same again


@pytest.mark.thorough
def test_the_same_seed_draws_the_same(bank: Bank, questions: Questions) -> None:
    for key in KEYS[::5]:
        one = questions.make(bank.archetypes[key], Stream("again"))
        other = Questions(bank, questions.plans).make(bank.archetypes[key], Stream("again"))
        assert (one.draw.given, one.draw.runs, one.draw.truth) == (other.draw.given, other.draw.runs, other.draw.truth)
        assert one.worked == other.worked


def test_another_seed_draws_other_numbers(bank: Bank, questions: Questions) -> None:
    archetype = bank.archetypes[KEYS[0]]
    chosen = choose(archetype, Stream("shared"))
    given_values = {
        str(dict(questions.make(archetype, Stream(f"other/{seed}"), chosen).draw.given)) for seed in range(20)
    }
    assert len(given_values) >= 19


def test_what_is_asked_is_chosen_as_often_as_its_weight_says(small_bank: Bank) -> None:
    archetype = small_bank.archetypes["small-back"]
    variant = archetype.variants[0]
    rare, common = (
        replace(variant.asks[0], quantity=name, weight=weight) for name, weight in (("rare", 1), ("common", 9))
    )
    weighted = replace(archetype, variants=(replace(variant, asks=(rare, common)),))
    asked = Counter(choose(weighted, Stream(f"weights/{seed}")).ask.quantity for seed in range(500))
    assert 25 <= asked["rare"] <= 80, asked  # 50 in the mean, and with equal weights 250


# ------------------------------------------------------------------ refusals


def a_draw(archetype: Archetype, variant: Variant, questions: Questions, seed: int) -> Draw:
    chosen = Chosen(variant=variant, ask=variant.asks[0], context=variant.contexts[0], indicator="", table=False)
    return draw(archetype, chosen, Stream(f"refusal/{seed}"), questions.fixed(variant))


def with_choice(variant: Variant, name: str, choice: Choice) -> Variant:
    return replace(variant, choices={**variant.choices, name: choice})


def test_a_window_that_nothing_reaches_is_refused_by_its_name(small_bank: Bank, small_questions: Questions) -> None:
    archetype = small_bank.archetypes["small-direct"]
    variant = archetype.variants[0]
    weak = Choice(
        low=Decimal("0.001"), high=Decimal("0.002"), step=Decimal("0.0001"), unit=Unit.MOL_PER_DM3, figures=3, fit=True
    )
    with pytest.raises(Refusal) as caught:
        a_draw(archetype, with_choice(variant, q("concentration of HCl"), weak), small_questions, 0)
    assert caught.value.rule == "window"


def test_a_sample_that_uses_up_the_excess_is_refused(small_bank: Bank, small_questions: Questions) -> None:
    archetype = small_bank.archetypes["small-back"]
    variant = archetype.variants[0]
    heavy = Choice(low=Decimal("8.0"), high=Decimal("9.0"), step=Decimal("0.1"), unit=Unit.G, fit=True)
    with pytest.raises(Refusal) as caught:
        a_draw(archetype, with_choice(variant, q("mass of limestone"), heavy), small_questions, 0)
    assert caught.value.rule in ("window", "reagent in excess")


def test_subtracting_the_volumes_never_gives_the_right_answer(small_bank: Bank, small_questions: Questions) -> None:
    # "acid added minus titre", the commonest slip of a back titration, must be told from the right answer
    archetype = small_bank.archetypes["small-back"]
    for seed in range(60):
        truth = small_questions.make(archetype, Stream(f"apart/{seed}")).draw.truth
        blank = truth[q("concentration of HCl")] * truth[q("volume of HCl")] / 10 / truth[q("concentration of NaOH")]
        assert abs(truth[q("volume of HCl")] / blank - 1) > Fraction(7, 100)


@for_each("seed", range(20))
def test_a_number_is_picked_from_both_ends_and_between(seed: int) -> None:
    choice = Choice(low=Decimal("1.0"), high=Decimal("1.2"), step=Decimal("0.1"), unit=Unit.G)
    picked = {str(pick_number(choice, Stream(f"{seed}/{n}")).number) for n in range(60)}
    assert picked == {"1.0", "1.1", "1.2"}
    options = (Quantity(Decimal("25.0"), Unit.CM3), Quantity(Decimal("20.0"), Unit.CM3))
    assert {pick_number(Choice(options=options), Stream(f"{seed}/{n}")) for n in range(60)} == set(options)


def test_the_burette_holds_fifty() -> None:
    assert burette_runs.BURETTE_CM3 == BURETTE


def test_the_draw_does_not_change_the_fixed_molar_masses(small_bank: Bank, small_questions: Any) -> None:
    variant = small_bank.archetypes["small-back"].variants[0]
    before = dict(small_questions.fixed(variant))
    a_draw(small_bank.archetypes["small-back"], variant, small_questions, 1)
    assert small_questions.fixed(variant) == before
