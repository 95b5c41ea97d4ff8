"""What an archetype says of a reaction that is followed by quenched samples comes in; its course goes out."""

from __future__ import annotations

from molewright.bank.definitions import Course
from molewright.errors import Mistake
from molewright.reading.fields import Fields


def read_course(fields: Fields) -> Course | None:
    """How a reaction goes that is followed by quenched samples; None where nothing says so."""
    if not fields.has("course"):
        return None
    told = Fields(fields.branch("course"), "course")
    every = told.texts("minutes")
    order, left, equal = told.whole("order", 1, 0, 2), told.text("left", ""), told.text("equal", "")
    told.finish()
    if not all(text.isdecimal() and 0 < int(text) <= 60 for text in every):
        raise Mistake(f"samples every {', '.join(every)}", expected="whole minutes, 1 to 60", where=fields.at("course"))
    return Course(order=order, minutes=tuple(map(int, every)), left=left, equal=equal)
