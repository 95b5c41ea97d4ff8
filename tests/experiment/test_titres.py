"""Burette readings: what is concordant, what is averaged, and what is left out."""

from __future__ import annotations

from fractions import Fraction
from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from molewright.errors import Mistake
from molewright.experiment.titres import Run, chosen, concordant_sets, mean_titre, nearest_reading

tenths = Fraction(1, 10)


def runs(*titres: str) -> tuple[Run, ...]:
    """Runs from 0.00; a titre that starts with 'r' is the rough one."""
    return tuple(Run(Fraction(0), Fraction(text.removeprefix("r")), text.startswith("r")) for text in titres)


def test_rough_titre_is_left_out_of_the_mean() -> None:
    assert mean_titre(runs("r25.60", "24.75", "24.85")) == Fraction("24.80")


def test_rough_titre_is_left_out_even_when_it_agrees() -> None:
    assert chosen(runs("r24.90", "24.80", "24.80")) == (1, 2)
    assert mean_titre(runs("r24.90", "24.80", "24.80")) == Fraction("24.80")


def test_a_titre_that_does_not_agree_is_left_out() -> None:
    assert chosen(runs("r25.30", "24.80", "25.20", "24.90")) == (1, 3)


def test_a_titre_is_the_final_less_the_initial_reading() -> None:
    assert Run(Fraction("2.05"), Fraction("24.70")).titre == Fraction("22.65")


def test_titres_one_tenth_apart_are_concordant_and_more_are_not() -> None:
    assert concordant_sets(runs("24.70", "24.80")) == [(0, 1)]
    assert concordant_sets(runs("24.70", "24.85")) == []


def test_a_chain_of_neighbours_is_refused() -> None:
    # 24.60 agrees with 24.70 and 24.70 with 24.80, but 24.60 not with 24.80: two markers would choose differently
    with pytest.raises(Mistake, match="2 different sets of titres agree"):
        mean_titre(runs("r25.00", "24.60", "24.70", "24.80"))


def test_titres_that_do_not_agree_are_refused() -> None:
    with pytest.raises(Mistake, match="no two accurate titres agree"):
        mean_titre(runs("r25.00", "24.00", "24.50", "25.00"))


def test_a_rough_run_alone_is_refused() -> None:
    with pytest.raises(Mistake, match="no two accurate titres agree"):
        mean_titre(runs("r25.00"))


def test_one_accurate_run_is_its_own_mean() -> None:
    assert mean_titre(runs("r25.00", "24.65")) == Fraction("24.65")


def test_the_mean_is_exact_where_it_does_not_end() -> None:
    assert mean_titre(runs("24.75", "24.75", "24.80")) == Fraction("74.30") / 3


readings = st.integers(0, 30).map(lambda steps: 20 + steps * Fraction(1, 20))


@given(st.lists(readings, max_size=6).map(tuple))
def test_concordant_sets_are_all_the_largest_sets_that_agree(titres: tuple[Fraction, ...]) -> None:
    # by trying every set there is
    agree = [
        set(found)
        for size in range(2, len(titres) + 1)
        for found in combinations(range(len(titres)), size)
        if max(titres[i] for i in found) - min(titres[i] for i in found) <= tenths
    ]
    largest = [found for found in agree if not any(found < other for other in agree)]
    done = tuple(Run(Fraction(0), titre) for titre in titres)
    assert sorted(sorted(found) for found in concordant_sets(done)) == sorted(map(sorted, largest))


@pytest.mark.parametrize(
    ("exact", "read"), [("24.774", "24.75"), ("24.775", "24.80"), ("24.80", "24.80"), ("0.024", "0"), ("49.99", "50")]
)
def test_a_burette_is_read_to_half_a_division(exact: str, read: str) -> None:
    assert nearest_reading(Fraction(exact)) == Fraction(read)
