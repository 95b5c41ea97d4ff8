"""A rule that a draw would break comes in; the refusal that names it goes out."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager


class Refusal(Exception):
    """A draw that would not make a good question: which rule refused it, and why."""

    def __init__(self, rule: str, detail: str = "") -> None:
        super().__init__(f"{rule}: {detail}")
        self.rule = rule
        self.detail = detail


@contextmanager
def put_among(poor: list[Refusal] | None) -> Iterator[None]:
    """Put a refusal among what makes a question a poor one, and go on. Raises Refusal where there is no such list."""
    try:
        yield
    except Refusal as refusal:
        if poor is None:
            raise
        poor.append(refusal)
