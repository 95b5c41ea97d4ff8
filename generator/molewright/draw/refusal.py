"""A rule that a draw would break comes in; the refusal that names it goes out."""

from __future__ import annotations


class Refusal(Exception):
    """A draw that would not make a good question: which rule refused it, and why."""

    def __init__(self, rule: str, detail: str = "") -> None:
        super().__init__(f"{rule}: {detail}")
        self.rule = rule
        self.detail = detail
