"""Whole processes: help, a first paper, a class set; pdflatex on the same sheets where TeX is present; peak memory.

Run: python tests/speed/bench_process.py [--large | --small]. --large also makes 3,000 papers to see that memory stays flat.
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

PUPILS = 2 if "--small" in sys.argv else 30
SMALL = "--small" in sys.argv
NAMES = ("Ilsa Quern", "Tam Harrow", "Petra Lowe", "Ewan Strake", "Mira Sallow", "Jory Penn")


def run(arguments: list[str], folder: Path) -> tuple[float, int]:
    """Seconds and peak memory in MB of one process."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss
    start = time.perf_counter()
    subprocess.run([sys.executable, "-m", "molewright", *arguments], check=True, cwd=folder, stdout=subprocess.DEVNULL)
    seconds = time.perf_counter() - start
    return seconds, max(before, resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss) // 1024


def best(arguments: list[str], folder: Path, times: int = 1 if SMALL else 3) -> tuple[float, int]:
    """The quickest of a few."""
    return min(run(arguments, folder) for _ in range(times))


def main() -> None:
    """Print the figures."""
    folder = Path(tempfile.mkdtemp())
    os.environ["PYTHONPATH"] = str(Path(__file__).resolve().parents[2] / "generator")
    if not SMALL:
        os.environ["XDG_CACHE_HOME"] = str(folder / "cache")
    try:
        measure(folder)
    finally:
        shutil.rmtree(folder)


def measure(folder: Path) -> None:
    """Measure each door in turn."""
    seconds, _ = best(["--help"], folder)
    print(f"{'help':52} {seconds * 1000:8.0f} ms")
    first, _ = run(["paper", "--to", "first", "--seed", "1"], folder)
    print(f"{'first paper of all, plans made by sympy':52} {first:8.2f} s")
    seconds, memory = best(["paper", "--to", "first", "--seed", "1", "--replace"], folder)
    print(f"{'a paper of six questions, all four sheets':52} {seconds:8.2f} s {memory:6} MB")
    names = folder / "names.txt"
    names.write_text("".join(f"{NAMES[n % 6]} {n + 1}\n" for n in range(PUPILS)), "utf-8")
    order = [
        "paper",
        "--class-list",
        str(names),
        "--questions",
        "1" if SMALL else "3",
        "--level",
        "exam",
        "--seed",
        "2",
        "--replace",
    ]
    both = ["--sheet", "questions", "--sheet", "scheme"]
    run([*order, *both, "--to", "warm"], folder)
    seconds, memory = best([*order, *both, "--to", "class"], folder)
    print(f"{f'class set: {PUPILS} papers and {PUPILS} schemes, whole process':52} {seconds:8.2f} s {memory:6} MB")
    if shutil.which("pdflatex") and not SMALL:
        run([*order, *both, "--form", "latex", "--to", "tex"], folder)
        sources = sorted((folder / "tex").glob("*.tex"))[:6]
        start = time.perf_counter()
        for source in sources:
            subprocess.run(["pdflatex", "-interaction=batchmode", source.name], cwd=folder / "tex", check=True,
                           stdout=subprocess.DEVNULL)  # fmt: skip
        tex = (time.perf_counter() - start) / len(sources) * 2 * PUPILS
        print(f"{'pdflatex on the same 60 sheets, one run each':52} {tex:8.1f} s, {tex / seconds:.0f} times as long")
    if "--large" in sys.argv:
        names.write_text("".join(f"{NAMES[n % 6]} {n + 1}\n" for n in range(3000)), "utf-8")
        seconds, memory = run([*order, *both, "--to", "large"], folder)
        print(f"{'3,000 papers and 3,000 schemes':52} {seconds:8.1f} s {memory:6} MB")


if __name__ == "__main__":
    main()
