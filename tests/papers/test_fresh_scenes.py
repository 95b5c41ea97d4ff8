"""Scenes shared out so that none comes twice, held against trying every way."""

from __future__ import annotations

from itertools import product

from hypothesis import given
from hypothesis import strategies as st

from molewright.papers.fresh_scenes import FreshScenes

COULD = st.lists(st.lists(st.sampled_from("abcd"), unique=True, max_size=3), max_size=5)


@given(COULD)
def test_as_many_questions_as_possible_get_a_scene_of_their_own(could: list[list[str]]) -> None:
    shared = FreshScenes()
    taken = [shared.take(scenes) for scenes in could]
    given_out = [scene for scene in shared.scenes if scene]
    assert len(set(given_out)) == len(given_out) == sum(taken)
    assert all(scene in (*scenes, "") for scene, scenes in zip(shared.scenes, could, strict=True))
    ways = product(*([*scenes, ""] for scenes in could))
    best = max(len(held) for way in ways if len(set(held := [one for one in way if one])) == len(held))
    assert sum(taken) == best


@given(COULD, st.lists(st.sampled_from("abcd"), max_size=3))
def test_trying_whether_one_more_fits_changes_nothing(could: list[list[str]], more: list[str]) -> None:
    shared = FreshScenes()
    for scenes in could:
        shared.take(scenes)
    before = shared.scenes
    fits = shared.fits(more)
    assert shared.scenes == before
    assert shared.take(more) == fits
