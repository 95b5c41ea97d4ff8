"""What a person asks of the front of a paper comes in, checked; a frozen value goes out. Reads no file, prints nothing."""

from __future__ import annotations

from dataclasses import dataclass

from molewright.order.choices import USUAL_FIELDS, FrontPage


@dataclass(frozen=True, slots=True, kw_only=True)
class Front:
    """The front of a question paper: above its first question (heading), or on a page of its own (cover).

    `school` is a line above the title, for a school or a department. `minutes` is the time that is given, 0 for a guide by the marks.
    `grid` is a table with the marks of each question and room for those that are earned: a cover has it unless it is refused, a
    heading if it is asked for. `instructions` stand after our own, `may_use` instead of our line on what may be used.
    """

    page: FrontPage = "heading"
    school: str = ""
    fields: tuple[str, ...] = USUAL_FIELDS
    minutes: int = 0
    grid: bool | None = None
    instructions: tuple[str, ...] = ()
    may_use: tuple[str, ...] = ()

    @property
    def cover(self) -> bool:
        """Whether the front is a page of its own."""
        return self.page == "cover"

    @property
    def with_grid(self) -> bool:
        """Whether the front has a table of marks."""
        return self.cover if self.grid is None else self.grid

    @property
    def texts(self) -> tuple[str, ...]:
        """What is printed as it was written."""
        return (self.school, *self.instructions, *self.may_use)


USUAL_FRONT = Front()
