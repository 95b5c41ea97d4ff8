"""Bounds of dependencies come in from pyproject.toml; the quick tests run with the lowest and with the highest versions they allow.

    pip install '.[dev]'
    python tests/versions.py
    python tests/versions.py --only lowest -- tests/bank tests/render

uv resolves (`--resolution lowest-direct`: the lowest of what pyproject.toml names, the newest that fits of the rest) and installs into
a folder that is thrown away. Prints the versions of what is named and how the tests ended; the exit code is 1 where they did not pass.
"""

from __future__ import annotations

import argparse
import os
import re
import subprocess
import sys
import tempfile
import tomllib
from pathlib import Path

TOP = Path(__file__).resolve().parents[1]
RESOLUTIONS = {"lowest": "lowest-direct", "highest": "highest"}


def named() -> list[str]:
    """The names of the packages that pyproject.toml bounds for running and testing."""
    project = tomllib.loads((TOP / "pyproject.toml").read_text("utf-8"))["project"]
    return [_name(one) for one in (*project["dependencies"], *project["optional-dependencies"]["test"])]


def _name(requirement: str) -> str:
    return re.split(r"[<>=!~\s\[]", requirement, maxsplit=1)[0].casefold().replace("_", "-")


def uv(*arguments: str | Path) -> str:
    """What uv says; it stops the run where it fails."""
    return subprocess.run(
        [sys.executable, "-m", "uv", *map(str, arguments)], cwd=TOP, check=True, stdout=subprocess.PIPE, text=True
    ).stdout


def tried(resolution: str, tests: list[str]) -> bool:
    """Whether the tests pass with the versions of one resolution."""
    with tempfile.TemporaryDirectory() as folder:
        python = Path(folder) / ("Scripts/python.exe" if sys.platform == "win32" else "bin/python")
        uv("venv", "--quiet", "--no-python-downloads", "--python", sys.executable, folder)
        uv("pip", "install", "--quiet", "--python", python, "--resolution", resolution, f"{TOP}[test]")
        versions = dict(
            line.split("==", 1) for line in uv("pip", "freeze", "--python", python).splitlines() if "==" in line
        )
        print(", ".join(f"{name} {versions.get(name, '?')}" for name in named()), flush=True)
        plain = {key: text for key, text in os.environ.items() if key != "PYTHONPATH"}  # what is installed is tried
        run = subprocess.run([python, "-m", "pytest", "-q", "-m", "quick", *tests], cwd=TOP, env=plain, check=False)
    return run.returncode == 0


def main() -> int:
    """Try both resolutions, or one of them."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--only", choices=RESOLUTIONS, help="the lowest versions only, or the highest")
    parser.add_argument("tests", nargs="*", help="files and folders of tests (all)")
    chosen = parser.parse_args()
    passed = True
    for which in [chosen.only] if chosen.only else list(RESOLUTIONS):
        print(f"== the {which} versions", flush=True)
        passed &= tried(RESOLUTIONS[which], chosen.tests)
    return 0 if passed else 1


if __name__ == "__main__":
    raise SystemExit(main())
