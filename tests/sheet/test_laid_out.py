"""Pages as they are laid out: what is too wide, parted, too small or bare is found, and in our own sheets nothing is."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from molewright.nodes.blocks import Block, Cell, NewPage, Paragraph, Sheet, Table
from molewright.nodes.inline import Gap, Text
from shared.covering import covering
from shared.kinds import KEYS, each_kind
from shared.laid_out import faults


def sheet(*blocks: Block) -> Sheet:
    return Sheet(title="Laid out", subject="", kind="questions", code="-", blocks=blocks)


def test_a_number_parted_from_its_unit_is_told() -> None:
    """Somewhere among a hundred lengths of a sentence the line ends between the two."""
    found = [
        fault for count in range(1, 100) for fault in faults(sheet(Paragraph((Text("x " * count + "25.0 mol of it"),))))
    ]
    assert found
    assert set(found) == {"25.0 at the end of a line, its unit mol on the next"}


def test_what_is_too_small_to_read_is_told() -> None:
    narrow = Table(widths=(1, 30), heading=(), rows=((Cell(((Gap(22.0, "mol dm⁻³"),),)), Cell(())),))
    assert any("of its size" in fault for fault in faults(sheet(narrow)))


def test_a_page_with_next_to_nothing_on_it_is_told() -> None:
    found = faults(sheet(Paragraph((Text("One."),)), NewPage(), Paragraph((Text("Two."),))))
    assert any("holds" in fault for fault in found)


@each_kind(covering(KEYS)[::2])
def test_nothing_is_wrong_with_the_pages_of_a_kind(key: str, compose: Callable[..., Any]) -> None:
    for level in ("scaffolded", "exam"):
        for one in compose(key, level, "dm3").sheets():
            assert faults(one) == []
