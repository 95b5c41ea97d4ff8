"""A maker of papers and what is wanted of it come in; its files stand in a folder, as whoever asks for a set has them."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from molewright.order.order import Wanted
from molewright.papers import writing
from molewright.papers.making import PaperMaker
from molewright.papers.sets import PaperSet


def write_papers(
    maker: PaperMaker, wanted: Wanted, folder: Path, progress: Callable[[int, int], None] | None = None
) -> list[str]:
    """Write the papers of a maker; the names of the files."""
    papers = PaperSet(maker.bank, maker.order, wanted, maker.questions.plans)
    return writing.write_papers(papers, folder, progress=progress).files
