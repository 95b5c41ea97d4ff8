"""Where things are: banks and templates in a checkout or inside the installed package. Nothing else builds a path."""

from __future__ import annotations

import os
from pathlib import Path

_PACKAGE = Path(__file__).resolve().parents[1]
_CARRIED = _PACKAGE / "_carried"  # only in a wheel
_TOP = _CARRIED if _CARRIED.is_dir() else _PACKAGE.parents[1]


def banks() -> Path:
    """The folder of the built-in banks."""
    return _TOP / "banks"


def templates() -> Path:
    """The folder of the templates."""
    return _TOP / "templates"


def papers() -> Path:
    """The folder that papers go to when the user names none: `out` below the present folder."""
    return Path("out")


def plans() -> Path | None:
    """The folder where plans made by sympy are kept between runs; None where whoever runs this has no home.

    A path that is not absolute is passed over, as the XDG Base Directory Specification (0.8) asks.
    """
    given = Path(os.environ.get("XDG_CACHE_HOME") or os.environ.get("LOCALAPPDATA") or "")
    try:
        return (given if given.is_absolute() else Path.home() / ".cache") / "molewright"
    except RuntimeError:
        return None
