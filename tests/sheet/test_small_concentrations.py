"""Concentrations too small for decimals on every sheet: in standard form, as amounts are."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

from molewright.render.text import render
from shared.for_each import for_each

SMALL = ("dissolved-oxygen", "pool-chlorine", "sulfur-dioxide-in-wine", "total-hardness", "iodised-salt")
NB = "\N{NO-BREAK SPACE}"


@for_each("key", SMALL)
def test_no_concentration_is_printed_with_three_noughts(key: str, compose: Callable[..., Any]) -> None:
    for sheet in compose(key, "structured", "dm3").sheets():
        said = render(sheet).decode().replace(NB, " ")
        assert not re.search(r"\b0\.000\d* mol dm⁻³", said)


def test_a_small_concentration_is_found_in_standard_form(compose: Callable[..., Any]) -> None:
    said = "".join(render(compose(key, "structured", "dm3").worked).decode() for key in SMALL).replace(NB, " ")
    assert re.search(r"c\([^)]*\) = .*= \d\.\d{3} × 10⁻⁴ mol dm⁻³", re.sub(r"\s+", " ", said))
