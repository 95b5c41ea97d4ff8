"""A worked answer and its further parts come in; the answer goes out with the range that what is read off their graphs leads to."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from molewright.derivation.worked import Worked, with_readings
from molewright.experiment.quantities import Name
from molewright.further_parts.pieces import FurtherPart
from molewright.slips.wrong_answers import require_read_narrowly


def with_what_was_read(worked: Worked, given: Mapping[Name, Fraction], parts: tuple[FurtherPart, ...]) -> Worked:
    """The answer with every reading that the parts accept. Raises Refusal where these would have too much accepted."""
    read = {part.reads: part.accepted for part in parts if part.reads and part.accepted is not None}
    if not read:
        return worked
    wider = with_readings(worked, given, read)
    require_read_narrowly(wider)
    return wider
