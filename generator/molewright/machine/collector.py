"""Python's collector of circles rests while a sheet is made, so that whoever makes many in a row does not wait for it."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def resting() -> Iterator[None]:
    """No search for circles inside. A sheet is thousands of small values at once, none of them in a circle that outlives it; the
    collector would go through all of them, and through all that the banks hold, some dozen times a sheet. Also a decorator.
    """
    if not gc.isenabled():  # whoever has stopped it lets it begin again
        yield
        return
    gc.disable()
    try:
        yield
    finally:
        gc.enable()
