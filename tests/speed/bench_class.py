"""A class of 28 in three levels, all sheets, joined: one command of the demo as a whole process; its files, seconds and memory.

Run: python tests/speed/bench_class.py [--small].
"""

from __future__ import annotations

import os
import resource
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

DEMO = Path(__file__).resolve().parents[1] / "demo"
SMALL = "--small" in sys.argv  # a few pupils, with whatever plans are there, to see that it starts
TIMES = 1 if SMALL else 5
SEEDLESS = (DEMO / "homework.order.yaml").read_text("utf-8")


def class_list(folder: Path) -> Path:
    """The demo's class; of a small one its heading and the first of each level."""
    path = DEMO / "class.csv"
    if not SMALL:
        return path
    heading, *pupils = path.read_text("utf-8-sig").splitlines()
    level = heading.split(",").index("level")
    first = {pupil.split(",")[level]: pupil for pupil in reversed(pupils)}
    few = folder / "few.csv"
    few.write_text("\n".join([heading, *first.values(), ""]), "utf-8")
    return few


def run(folder: Path, number: int) -> tuple[float, int]:
    """Seconds of one process, and how many files it wrote; each time other questions."""
    order = folder / f"{number}.order.yaml"
    order.write_text(f"{SEEDLESS}seed: {number}\n", "utf-8")
    out = folder / str(number)
    command = [
        sys.executable,
        "-m",
        "molewright",
        "paper",
        str(order),
        "--class-list",
        str(class_list(folder)),
        "--to",
        str(out),
    ]
    start = time.perf_counter()
    subprocess.run(command, check=True, cwd=folder, stdout=subprocess.DEVNULL)
    return time.perf_counter() - start, len(list(out.iterdir()))


def main() -> None:
    """Print the figures: the first run makes plans by sympy, which are kept."""
    folder = Path(tempfile.mkdtemp())
    os.environ["PYTHONPATH"] = str(Path(__file__).resolve().parents[2] / "generator")
    if not SMALL:
        os.environ["XDG_CACHE_HOME"] = str(folder / "cache")
    os.environ["MOLEWRIGHT_DEFAULTS"] = "none"
    try:
        first, _ = run(folder, 0)
        print(f"{'a class of 28 in three levels, first run of all':52} {first:8.2f} s")
        told = [run(folder, number) for number in range(1, TIMES + 1)]
        seconds = sorted(one for one, _ in told)
        memory = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss // 1024
        print(f"{'the same with other questions, in the middle':52} {seconds[len(seconds) // 2]:8.2f} s {memory:6} MB")
        again = min(run_again(folder) for _ in range(1 if TIMES == 1 else 3))
        print(f"{'the same questions once more':52} {again:8.2f} s {max(files for _, files in told):6} files")
    finally:
        shutil.rmtree(folder)


def run_again(folder: Path) -> float:
    """Seconds of the first order made again."""
    shutil.rmtree(folder / "1")
    return run(folder, 1)[0]


if __name__ == "__main__":
    main()
