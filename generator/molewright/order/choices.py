"""What a person may choose among, as plain words: levels, sheets, forms, masses. The command line names them: nothing heavy is here."""

from __future__ import annotations

from typing import get_args

from molewright.chem.conventions import Convention

STRETCH = "stretch"  # exam style, with one further part a question
MIXED = "mixed"  # structured, then exam style
LINE_LEVELS = ("scaffolded", "structured", "exam", STRETCH)  # of one question
LEVEL_CHOICES = (MIXED, *LINE_LEVELS)
SHEETS = ("questions", "scheme", "worked", "key")
FORMS = ("pdf", "latex", "text")
MASSES: tuple[Convention, ...] = get_args(Convention)
