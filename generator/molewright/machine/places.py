"""Where things are: banks and templates in a checkout or inside the installed package. Nothing else builds a path."""

from __future__ import annotations

import os
import re
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


def carried_plans() -> Path | None:
    """The plans that were made when the package was built; None in a checkout, which makes and keeps its own."""
    return _CARRIED / CARRIED_PLANS if _CARRIED.is_dir() else None


CARRIED_PLANS = "plans.json"
DEFAULTS = "molewright.toml"
DEFAULTS_NAMED = "MOLEWRIGHT_DEFAULTS"  # in the environment: another file, or "none"


def defaults() -> Path | None:
    """The file of defaults that holds here: the nearest in this folder or above it, else the one among the user's settings.

    One file holds alone, so that nobody has to guess what came from where. A folder that may not be looked into holds none.
    """
    named = os.environ.get(DEFAULTS_NAMED)
    if named is not None:
        return Path(named) if named not in ("", "none") else None
    here = Path.cwd()
    settings = _settings()
    folders = [here, *here.parents, *([settings] if settings else [])]
    return next((folder / DEFAULTS for folder in folders if _is_there(folder / DEFAULTS)), None)


def _settings() -> Path | None:
    """Where the user's settings are kept: XDG Base Directory Specification (0.8), or the roaming folder of Windows."""
    given = Path(os.environ.get("XDG_CONFIG_HOME") or os.environ.get("APPDATA") or "")
    try:
        return (given if given.is_absolute() else Path.home() / ".config") / "molewright"
    except RuntimeError:
        return None


def _is_there(path: Path) -> bool:
    try:
        return path.is_file()
    except OSError:
        return False


def papers_in_the_browser() -> Path:
    """The folder for papers that are put together in the browser: one of its own among a person's documents."""
    home = Path.home()
    documents = _documents(home)
    return (documents if documents.is_dir() else home) / "Molewright"


def _documents(home: Path) -> Path:
    """The folder of a person's documents, in whatever language: as the file says that xdg-user-dirs writes, else by its usual name."""
    settings = _settings()
    try:
        text = (settings.parent / "user-dirs.dirs").read_text("utf-8") if settings else ""
    except (OSError, UnicodeDecodeError):
        text = ""
    found = re.search(r'^XDG_DOCUMENTS_DIR="(?:\$HOME/)?([^"\n]+)"$', text, re.MULTILINE)
    return home / found[1] if found else home / "Documents"
