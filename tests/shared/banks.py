"""The built-in banks go out, read once however many tests ask for them while they are collected."""

from __future__ import annotations

from functools import cache

from molewright.bank.definitions import Bank
from molewright.bank.readers.whole_bank import read_bank


@cache
def built_in() -> Bank:
    """The built-in banks, read whole: what is wrong in them fails here."""
    return read_bank()
