"""The bytes of a printed form do not hang on the Python that makes them."""

from __future__ import annotations

import math
import sys
from collections.abc import Iterable
from dataclasses import replace

import pytest

from molewright.nodes.blocks import Paragraph
from molewright.render import FORMS, renderer
from shared.every_node import everything, words


def whole(numbers: Iterable[int], start: int = 0) -> int:
    """sum() of whole numbers. Of floats it is compensated since Python 3.12 and was not before, so that lines move by 0.01 pt."""
    held = list(numbers)
    assert all(isinstance(number, int) for number in held), (
        f"sum() of floats, where fsum is the same everywhere: {held}"
    )
    return start + int(math.fsum(held))


@pytest.mark.parametrize("form", FORMS)
def test_no_length_is_added_up_by_a_sum_that_pythons_do_differently(form: str, monkeypatch: pytest.MonkeyPatch) -> None:
    render = renderer(form).render
    sheet = everything()
    render(sheet)  # so that every module is there
    for name, module in list(sys.modules.items()):
        if name.startswith("molewright.render"):
            monkeypatch.setattr(module, "sum", whole, raising=False)
    fresh = Paragraph(words("words that no other test has set, and that no store of measured lines can hold"))
    assert render(replace(sheet, blocks=(fresh, *sheet.blocks)))


def test_a_sum_of_floats_would_be_seen() -> None:
    with pytest.raises(AssertionError, match="fsum"):
        whole([0.1, 0.2])  # type: ignore[list-item]
