"""A signal that would end the run comes in; an interrupt goes out, at once or as soon as what must not be disturbed is done."""

from __future__ import annotations

import contextlib
import signal
import threading
from collections.abc import Iterator

STOPS = tuple(getattr(signal, name) for name in ("SIGINT", "SIGTERM", "SIGHUP", "SIGBREAK") if hasattr(signal, name))
"""Ctrl-C, a polite kill, a closed window, and what Windows has instead: each leaves as little behind as an interrupt does."""


def listen() -> None:
    """Let every one of them interrupt the run, unless whoever started it has them passed over (nohup)."""
    for number in STOPS:
        if signal.getsignal(number) == signal.SIG_DFL:
            signal.signal(number, _interrupt)


def deafen() -> None:
    """The exit code is known: nothing is left to stop."""
    for number in STOPS:
        signal.signal(number, signal.SIG_IGN)


def _interrupt(*_: object) -> None:
    raise KeyboardInterrupt


@contextlib.contextmanager
def undisturbed() -> Iterator[None]:
    """A stop waits until this is done: a second one must not stop the tidying up that the first began."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    waiting: list[int] = []
    heard = {number: signal.getsignal(number) for number in STOPS}
    heard = {number: handler for number, handler in heard.items() if handler not in (None, signal.SIG_IGN)}
    for number in heard:
        signal.signal(number, lambda one, _: waiting.append(one))
    try:
        yield
    finally:
        for number, handler in heard.items():
            signal.signal(number, handler)
    if waiting:
        signal.raise_signal(waiting[0])
