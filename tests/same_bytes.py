"""Holds a change that must change nothing a person is given: digests of every kind of question, in all sheets, forms and levels.

Run by hand, before and after: `python tests/same_bytes.py > before.txt`, then `python tests/same_bytes.py --against before.txt`.
One line a kind and level: the SHA-256 of all files of its paper, names included. No file is kept; 980 papers take some minutes.
`--without-records` leaves the records out, for a change of their form alone; `--every N` takes every Nth kind, for a quick look.
`--package NAME` imports the command from another package, for a tree in which it still had another name. Each kind is made in a
process of its own, so that no paper can show what was made before it.
"""

from __future__ import annotations

import argparse
import contextlib
import hashlib
import importlib
import io
import sys
import tempfile
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from pathlib import Path

LEVELS = ("scaffolded", "structured", "exam", "stretch")
FORMS = ("pdf", "latex", "html", "text", "docx")


def kinds(package: str) -> list[str]:
    """The keys of every kind of question, from the command that lists them."""
    out = io.StringIO()
    with contextlib.redirect_stdout(out):
        importlib.import_module(f"{package}.cli").main(["banks"])
    return sorted(
        line.split()[0] for line in out.getvalue().splitlines() if line.startswith("  ") and not line.startswith("   ")
    )


def digest(package: str, seed: int, records: bool, key: str) -> list[str]:
    """One line a level: key, level, digest of every file of the paper."""
    main = importlib.import_module(f"{package}.cli").main
    forms = [word for form in FORMS for word in ("--form", form)]
    lines = []
    for level in LEVELS:
        with tempfile.TemporaryDirectory() as folder, contextlib.redirect_stdout(io.StringIO()):
            end = main(
                ["paper", key, "--questions", "1", "--seed", str(seed), "--level", level, "--to", folder, *forms]
            )
            whole = hashlib.sha256()
            for path in sorted(Path(folder).iterdir()):
                if "-record" in path.name and not records:
                    continue
                whole.update(path.name.encode() + b"\0" + path.read_bytes())
        lines.append(f"{key} {level} {whole.hexdigest() if not end else f'ended with {end}'}")
    return lines


def main() -> int:
    """Print the digests, or compare them with those of a file: 1 where any differs."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--package", default="molewright")
    parser.add_argument("--seed", type=int, default=8)
    parser.add_argument("--without-records", action="store_true")
    parser.add_argument("--every", type=int, default=1, metavar="N")
    parser.add_argument("--against", type=Path)
    chosen = parser.parse_args()
    found: list[str] = []
    made = partial(digest, chosen.package, chosen.seed, not chosen.without_records)
    with ProcessPoolExecutor(max_tasks_per_child=1) as workers:
        for lines in workers.map(made, kinds(chosen.package)[:: chosen.every]):
            found += lines
            if chosen.against is None:
                print(*lines, sep="\n", flush=True)
    if chosen.against is None:
        return 0
    here = {line.rpartition(" ")[0] for line in found}
    before = [
        line
        for line in chosen.against.read_text("utf-8").splitlines()
        if line.rpartition(" ")[0] in here or chosen.every == 1
    ]
    changed = sorted(set(before) ^ set(found))
    print(*changed[:20], sep="\n")
    print(f"{len(found)} papers, {len({line.rpartition(' ')[0] for line in changed})} differ")
    return 1 if changed else 0


if __name__ == "__main__":
    sys.exit(main())
