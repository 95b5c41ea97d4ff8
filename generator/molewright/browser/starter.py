"""A folder comes in; a file that starts the pages when it is double-clicked stands there: one for each kind of system."""

from __future__ import annotations

import shlex
import sys
from pathlib import Path

from molewright.errors import Mistake, Where

NAMES = {"linux": "Molewright.desktop", "darwin": "Molewright.command", "win32": "Molewright.bat"}
_EXECUTABLE = 0o755


def starter(system: str, python: str, folder: str) -> str:
    """The text of the file for a system, which runs this Python; `folder` is where papers are kept, "" for the usual place."""
    if system == "win32":
        told = f' --to "{_percents(folder)}"' if folder else ""
        return f'@echo off\r\ntitle Molewright\r\n"{_percents(python)}" -m molewright browser{told}\r\nif errorlevel 1 pause\r\n'
    words = [python, "-m", "molewright", "browser", *(["--to", folder] if folder else [])]
    if system == "darwin":
        return f"#!/bin/sh\nexec {shlex.join(words)}\n"
    return (
        "[Desktop Entry]\nType=Application\nVersion=1.0\nName=Molewright\nComment=Titration questions and their mark schemes\n"
        f"Exec={' '.join(map(_in_entry, words))}\nTerminal=true\nCategories=Education;Science;\n"
    )


def write_starter(folder: Path, kept_there: bool, system: str = sys.platform) -> Path:
    """Write the file for this system into a folder; the pages then keep their papers there too, if so asked. Raises Mistake."""
    kind = system if system in NAMES else "linux"
    path = folder / NAMES[kind]
    text = starter(kind, sys.executable, str(folder.resolve()) if kept_there else "")
    try:
        folder.mkdir(parents=True, exist_ok=True)
        path.write_bytes(text.encode())
        path.chmod(_EXECUTABLE)
    except OSError as broken:
        raise Mistake(
            f"the file cannot be written ({broken.strerror or broken})",
            where=Where(str(path)),
            do="Name another folder with --to.",
        ) from None
    return path


def _percents(text: str) -> str:
    """A path in a batch file, where a per cent sign is a variable."""
    return text.replace("%", "%%")


def _in_entry(word: str) -> str:
    """An argument of Exec, as the Desktop Entry Specification (1.5) has it: quoted, with signs that it would read escaped."""
    escaped = "".join(f"\\\\{sign}" if sign in '"`$\\' else sign for sign in word).replace("%", "%%")
    return f'"{escaped}"' if any(not (sign.isalnum() or sign in "/._-") for sign in word) else escaped
