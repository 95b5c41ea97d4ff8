"""What is to be printed comes in; the terminal, the pipe or the file shows it as well as its coding can. It never fails on a letter."""

from __future__ import annotations

import codecs
import contextlib
import io
import os
import sys
import unicodedata

MOST_LETTERS = 1400  # of one line of a message
MOST_LINES = 40
_SPELT = {
    "−": "-", "⁻": "-", "‐": "-", "‑": "-", "–": "-", "—": "-", "×": "x", "→": "->", "⇌": "<=>", "·": ".", "⋅": ".",
    "‘": "'", "’": "'", "“": '"', "”": '"', "…": "...", "µ": "u", "≤": "<=", "≥": ">=",
}  # fmt: skip


def prepare() -> None:
    """Let standard output and error spell what their coding lacks: cm3 for cm³ where only ASCII or cp1252 can be shown."""
    codecs.register_error("molewright-spelt", _spelt)
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="molewright-spelt")


def _spelt(broken: UnicodeError) -> tuple[str, int]:
    if not isinstance(broken, UnicodeEncodeError):
        raise broken
    return "".join(map(_letter, broken.object[broken.start : broken.end])), broken.end


def _letter(letter: str) -> str:
    parts = unicodedata.normalize("NFKD", _SPELT.get(letter, letter))
    return "".join(_SPELT.get(part, part) for part in parts).encode("ascii", "ignore").decode() or "?"


def say(message: str) -> None:
    """A message on standard error: no control characters, no line without end; lost where that cannot be written."""
    try:
        lines = [_plain(line) for line in message.split("\n")]
    except MemoryError:  # there is none left to look at each letter with: our own sentences need no looking at
        lines = message.split("\n")
    if len(lines) > MOST_LINES:
        lines[MOST_LINES:] = [f"... and {len(lines) - MOST_LINES} more"]
    with contextlib.suppress(OSError):
        print("\n".join(lines), file=sys.stderr, flush=True)


def _plain(line: str) -> str:
    shown = "".join(
        ch if ch.isprintable() or ch == "\N{NO-BREAK SPACE}" else "\N{REPLACEMENT CHARACTER}" for ch in line
    )
    if len(shown) <= MOST_LETTERS:
        return shown
    half = MOST_LETTERS // 2
    return f"{shown[:half]} … {shown[-half:]}"


def flush() -> None:
    """Print what waits. Raises OSError now rather than after the exit code is known."""
    if sys.stdout is not None:
        sys.stdout.flush()


def abandon() -> None:
    """Standard output is closed or full: what still waits for it goes nowhere."""
    with contextlib.suppress(OSError, ValueError, AttributeError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
