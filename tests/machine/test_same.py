"""Keys of caches: an object is told from others that are equal to it, and none takes the place of one that is gone."""

from __future__ import annotations

import ast
import gc
import weakref
from dataclasses import dataclass

from molewright.machine.same import Same
from shared.modules import MODULES


@dataclass(frozen=True)
class Thing:
    number: int


def test_a_key_is_that_of_one_object_and_of_no_equal_one() -> None:
    one, other = Thing(1), Thing(1)
    assert one == other
    kept = {Same(one): "one", Same(other): "other"}
    assert (kept[Same(one)], kept[Same(other)]) == ("one", "other")
    assert Same(one) != one


def test_what_is_cached_keeps_its_key_so_that_no_other_object_can_take_its_place() -> None:
    one = Thing(1)
    alive = weakref.ref(one)
    kept = {Same(one): "kept"}
    del one
    gc.collect()
    assert alive() is not None
    assert all(Same(Thing(1)) not in kept for _ in range(1000))
    kept.clear()
    gc.collect()
    assert alive() is None


def test_no_module_keeps_anything_under_a_bare_id() -> None:
    users = {
        name
        for name, tree in MODULES.items()
        for node in ast.walk(tree)
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "id"
    }
    assert users == {"machine.same"}
