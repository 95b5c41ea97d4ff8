"""Change the code a little, many times, and see whether the tests notice: python tests/mutation.py --rooms slips chem --minutes 15

A sample of mutants, the same for the same seed, is made by cosmic-ray (the extra `dev`) in a copy of the tree, so that the working
tree is never touched; the quick tests that tests/mutation.toml names for the room are the judges. What survives is printed as a
difference. Exit status: 0 where every mutant was killed or has its reason in tests/mutation.toml, 1 where one was not.
"""

from __future__ import annotations

import argparse
import ast
import os
import random
import shlex
import shutil
import subprocess
import sys
import tempfile
import time
import tomllib
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parent.parent
PACKAGE = Path("generator/molewright")
CARRIED = (
    "generator",
    "banks",
    "templates",
    "tests",
    "pyproject.toml",
    "README.md",
    "DEVELOPERS.md",
    "CHANGELOG.md",
    "out",
)
Place = tuple[int, int]


def copy_of_the_tree(folder: Path) -> Path:
    """What the tests need, in a folder of its own."""
    for name in CARRIED:
        source = ROOT / name
        if source.is_dir():
            shutil.copytree(source, folder / name, ignore=shutil.ignore_patterns("__pycache__"))
        elif source.is_file():
            shutil.copy2(source, folder / name)
    return folder


def not_at_run_time(tree: ast.Module) -> Iterator[tuple[Place, Place]]:
    """Where a change says nothing: annotations, which are never evaluated here, and what stands in a decorator."""
    for node in ast.walk(tree):
        found: list[ast.expr | None] = []
        if isinstance(node, ast.FunctionDef):
            found = [node.returns, *node.decorator_list]
        elif isinstance(node, ast.ClassDef):
            found = [*node.decorator_list]
        elif isinstance(node, ast.arg | ast.AnnAssign):
            found = [node.annotation]
        for one in found:
            if one is not None:
                yield (one.lineno, one.col_offset), (one.end_lineno or 0, one.end_col_offset or 0)


def mutants(folder: Path, room: str, seed: str) -> list[Any]:
    """Every mutant of a room in an order that the seed fixes, those of no effect left out."""
    from cosmic_ray.commands.init import init
    from cosmic_ray.work_db import WorkDB, use_db

    modules = sorted((folder / PACKAGE / room).rglob("*.py"))
    with use_db(str(folder / f"{room}.sqlite"), WorkDB.Mode.create) as kept:
        init(modules, kept, {})
        found = [item.mutations[0] for item in kept.work_items]
    silent = {module: list(not_at_run_time(ast.parse(module.read_text("utf-8")))) for module in modules}
    found = [
        one
        for one in found
        if not any(low <= tuple(one.start_pos) < high for low, high in silent[Path(one.module_path)])
    ]
    found.sort(key=lambda one: (str(one.module_path), one.start_pos, one.operator_name, one.occurrence))
    random.Random(f"{seed}/{room}").shuffle(found)
    return found


def judge(folder: Path, judges: list[str]) -> list[str]:
    """The command that says whether something is wrong."""
    return [
        sys.executable, "-m", "pytest", "-x", "-q", "--no-header", "-p", "no:cacheprovider", "-m", "quick",
        *(str(folder / one) for one in judges),
    ]  # fmt: skip


def line_of(module: Path, place: Place) -> str:
    return module.read_text("utf-8").splitlines()[place[0] - 1].strip()


def changed(diff: str) -> str:
    """The lines of a difference that were taken away and put in."""
    lines = diff.splitlines()
    return "\n".join(f"      {line}" for line in lines if line[:1] in "+-" and not line.startswith(("---", "+++")))


def run(rooms: list[str], minutes: float, most: int, seed: str) -> int:
    """Try mutants of the rooms in turn until the time or the number is used up; the number that survive without a reason."""
    from cosmic_ray.mutating import mutate_and_test

    settings = tomllib.loads((ROOT / "tests" / "mutation.toml").read_text("utf-8"))
    excused = {(one["room"], one["line"]): one["reason"] for one in settings.get("equivalent", ())}
    with tempfile.TemporaryDirectory() as holder:
        folder = copy_of_the_tree(Path(holder))
        os.chdir(folder)
        os.environ["PYTHONPATH"] = os.pathsep.join([str(folder / "generator"), str(folder / "tests")])
        warm = {name: text for name, text in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
        for room in rooms:
            command = judge(folder, settings["rooms"][room]["judges"])
            subprocess.run(command, check=True, stdout=subprocess.DEVNULL, env=warm)
        # What was compiled stays of use, and no mutant is ever kept compiled.
        os.environ["PYTHONDONTWRITEBYTECODE"] = "1"
        waiting = {room: mutants(folder, room, seed) for room in rooms}
        of_each = {room: len(found) for room, found in waiting.items()}
        end = time.monotonic() + 60 * minutes
        told: dict[str, Counter[str]] = {room: Counter() for room in rooms}
        for number in range(most):
            room = rooms[number % len(rooms)]
            if time.monotonic() > end or not waiting[room]:
                break
            one = waiting[room].pop()
            line = line_of(Path(one.module_path), one.start_pos)
            command = shlex.join(judge(folder, settings["rooms"][room]["judges"]))
            result = mutate_and_test([one], command, settings["timeout_seconds"])
            outcome = "killed" if result.is_killed else "excused" if (room, line) in excused else "surviving"
            told[room][outcome] += 1
            if outcome != "killed":
                where = f"{Path(one.module_path).relative_to(folder / PACKAGE)}:{one.start_pos[0]}"
                print(
                    f"{outcome}: {where} {one.operator_name.removeprefix('core/')}\n{changed(result.diff or '')}",
                    flush=True,
                )
    for room in rooms:
        print(f"{room}: {told[room].total()} of {of_each[room]} mutants tried, " + ", ".join(
            f"{told[room][outcome]} {outcome}" for outcome in ("killed", "surviving", "excused")))  # fmt: skip
    return sum(counted["surviving"] for counted in told.values())


def main() -> int:
    every = tomllib.loads((ROOT / "tests" / "mutation.toml").read_text("utf-8"))["rooms"]
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0], allow_abbrev=False)
    parser.add_argument(
        "--rooms", nargs="+", choices=list(every), default=list(every), help="rooms whose code is changed"
    )
    parser.add_argument("--minutes", type=float, default=15, help="begin no further mutant after this time (15)")
    parser.add_argument("--most", type=int, default=100, help="try at most so many mutants (100)")
    parser.add_argument("--seed", default="1", help="which sample is drawn (1)")
    given = parser.parse_args()
    return min(1, run(given.rooms, given.minutes, given.most, given.seed))


if __name__ == "__main__":
    sys.exit(main())
