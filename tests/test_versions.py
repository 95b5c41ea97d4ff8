"""Every dependency is bounded below and above, so that `python tests/versions.py` has something to try."""

from __future__ import annotations

import subprocess
import sys
import tomllib
from pathlib import Path

import versions
from shared.for_each import for_each

PROJECT = tomllib.loads((versions.TOP / "pyproject.toml").read_text("utf-8"))["project"]
EXTRAS = PROJECT["optional-dependencies"]
BOUNDED = [*PROJECT["dependencies"], *EXTRAS["test"], *EXTRAS["dev"]]


@for_each("requirement", BOUNDED)
def test_a_dependency_has_a_lowest_and_a_highest_version(requirement: str) -> None:
    assert ">=" in requirement
    assert ",<" in requirement


def test_what_is_named_is_what_is_installed_to_run_and_to_test() -> None:
    assert versions.named() == [versions._name(one) for one in (*PROJECT["dependencies"], *EXTRAS["test"])]
    assert {"jinja2", "pyyaml", "pytest-xdist"} <= set(versions.named())
    assert any(one.startswith("uv>=") for one in EXTRAS["dev"])


def test_the_command_tells_what_it_takes() -> None:
    script = Path(versions.__file__)
    run = subprocess.run([sys.executable, script, "--help"], capture_output=True, text=True, check=True)
    assert "--only {lowest,highest}" in run.stdout
