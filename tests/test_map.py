"""The folders of the tests are the rooms of the package, and the map in tests/README.md names each of them."""

from __future__ import annotations

import re
from pathlib import Path

import molewright

TESTS = Path(__file__).resolve().parent
PACKAGE = Path(molewright.__file__).resolve().parent
OF_THEIR_OWN = {"golden", "reference", "shared", "speed"}


def folders_of(root: Path) -> set[str]:
    """Every folder with Python in it, from the root on."""
    return {path.parent.relative_to(root).as_posix() for path in root.rglob("*.py")} - {"."}


def test_a_folder_of_tests_is_called_as_the_folder_that_it_tests() -> None:
    own = {one for one in folders_of(TESTS) if one.partition("/")[0] not in OF_THEIR_OWN}
    assert own
    assert not own - folders_of(PACKAGE)


def test_every_room_with_code_of_its_own_has_tests() -> None:
    rooms = {path.name for path in PACKAGE.iterdir() if path.is_dir() and len(list(path.rglob("*.py"))) > 1}
    without = {room for room in rooms if not list((TESTS / room).rglob("test_*.py"))}
    assert not without


def test_the_map_names_every_folder_and_no_other() -> None:
    rows = re.findall(r"^\| ([a-z_, ]+) \|", (TESTS / "README.md").read_text("utf-8"), re.MULTILINE)
    named = {name for row in rows for name in row.split(", ")} - {"folder"}
    files = (path.relative_to(TESTS) for path in TESTS.rglob("*") if path.is_file() and path.suffix != ".pyc")
    there = {path.parts[0] for path in files if len(path.parts) > 1}
    assert named == there
