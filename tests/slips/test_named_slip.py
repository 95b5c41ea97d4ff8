"""A mistake in plain words: which slip it means, what is offered, what is asked back."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from molewright.bank.definitions import Slip
from molewright.errors import Mistake
from molewright.slips.named_slip import find_slip
from shared.banks import built_in
from shared.for_each import for_each

SLIPS = built_in().slips
SEEN = [slip for slip in SLIPS if not slip.unseen]
UNSEEN = [slip for slip in SLIPS if slip.unseen]


@for_each("slip", SEEN, names=[slip.key for slip in SEEN])
def test_every_slip_is_found_by_its_key_its_name_and_what_people_say(slip: Slip) -> None:
    for said in (slip.key, slip.key.lower(), slip.name, *slip.also, f"  {slip.name.upper()} "):
        assert find_slip(SLIPS, said) is slip


@for_each(
    ("said", "key"),
    [
        ("forgot the aliquot", "S21"),
        ("they forgot to scale the aliquot", "S21"),
        ("scaled down", "S22"),
        ("included the rough titre in the mean", "S59"),
        ("ignoring reacting ratios", "S11"),
        ("rounding too early", "S64"),
        ("half iodine", "S18"),
    ],
)
def test_a_slip_is_found_by_words_that_no_other_has_together(said: str, key: str) -> None:
    assert find_slip(SLIPS, said).key == key


def test_what_could_be_several_slips_is_asked_back() -> None:
    with pytest.raises(Mistake, match=r"'ratio' could be \d+ slips; expected one of: reacting ratio ignored \(S11\)"):
        find_slip(SLIPS, "ratio")


def test_the_nearest_slips_are_offered() -> None:
    with pytest.raises(Mistake) as told:
        find_slip(SLIPS, "percentage inverted by the dog")
    assert any("percentage" in near for near in told.value.near)
    with pytest.raises(Mistake) as told:
        find_slip(SLIPS, "reakting ratoi ignord")
    assert "reacting ratio ignored (S11)" in told.value.near


@for_each("slip", UNSEEN, names=[slip.key for slip in UNSEEN])
def test_a_slip_that_no_number_shows_is_refused_with_the_reason(slip: Slip) -> None:
    with pytest.raises(Mistake, match="a paper cannot be aimed at") as told:
        find_slip(SLIPS, slip.name)
    assert slip.unseen in str(told.value)


@given(st.text(max_size=300))
def test_any_text_is_a_slip_or_a_sentence(text: str) -> None:
    try:
        told = find_slip(SLIPS, text).name
    except Mistake as mistake:
        told = str(mistake)
    assert 0 < len(told) < 1500
