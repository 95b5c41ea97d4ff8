"""The ways in which what was done may be told to a pupil, as plain words: an order names them, a sheet takes one of them."""

from __future__ import annotations

from typing import Literal, get_args

Telling = Literal["prose", "table", "note", "notebook"]
ON_PAPER = ("level", "opening", "words", "task", "telling", "moves")
"""Keys of a described experiment that say how its question is told and may be varied, and nothing of what was done."""
TELLINGS: tuple[Telling, ...] = get_args(Telling)
"""Sentences; sentences beside a table of what was measured; a technician's note; a page of a pupil's notebook."""
