"""Collected tests come in; quick ones first and marked, thorough ones after them, go out. Says what the words mean.

*Thorough* is what goes over all kinds of question, reads the banks again and again, starts one process after another, or needs
LaTeX, a browser or LibreOffice: the files below, every test that for_each parts into shares, what is marked `tex`, `browser` or
`office`, and what is marked so by hand. All else is *quick*: `pytest -m quick` runs it alone, and reads none of the files below.
"""

from __future__ import annotations

import gc
import re
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, settings

from shared.for_each import SHARES_OF_KINDS

TESTS = Path(__file__).resolve().parent.parent

THOROUGH = frozenset({
    "bank/test_entry_schemas.py",
    "bank/test_own_entries.py",
    "bank/test_own_natures.py",
    "browser/test_changing.py",
    "browser/test_experiment.py",
    "browser/test_in_chromium.py",
    "browser/test_marking.py",
    "browser/test_taking.py",
    "cli/test_bad_orders.py",
    "cli/test_defaults.py",
    "cli/test_demo.py",
    "cli/test_keep_entry.py",
    "cli/test_paper_asked_for.py",
    "machine/test_cluster.py",
    "machine/test_terminal.py",
    "marking/test_many_pupils.py",
    "papers/test_aimed.py",
    "papers/test_every_kind_of_paper.py",
    "papers/test_exact_marks.py",
    "papers/test_fading.py",
    "papers/test_in_processes.py",
    "papers/test_parts.py",
    "papers/test_sets.py",
    "question/test_many_questions.py",
    "question/test_ph_against_another_library.py",
    "render/html/test_in_chromium.py",
    "survey/test_spread.py",
    "test_documents.py",
})  # fmt: skip

# A loaded machine is no fault of the code: no example is judged by the clock.
settings.register_profile("molewright", deadline=None, suppress_health_check=[HealthCheck.too_slow], print_blob=True)
settings.load_profile("molewright")


def is_thorough(path: Path) -> bool:
    """Whether a file is one of those that go over everything."""
    return path.is_relative_to(TESTS) and path.relative_to(TESTS).as_posix() in THOROUGH


def pytest_ignore_collect(collection_path: Path, config: pytest.Config) -> bool | None:
    return True if config.getoption("markexpr") == "quick" and is_thorough(collection_path) else None


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        if item.get_closest_marker("thorough") is None:
            heavy = is_thorough(item.path) or any(item.get_closest_marker(one) for one in ("tex", "browser", "office"))
            item.add_marker("thorough" if heavy else "quick")
    items.sort(key=lambda item: item.get_closest_marker("thorough") is not None)


def pytest_collection_finish() -> None:
    """Have the garbage collector look only at what tests make, and less often: banks, modules and items stay for the whole run."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(20_000, 20, 20)


_OF_KINDS = re.compile(rf"share (\d+) of {SHARES_OF_KINDS}\]$")


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> object | None:
    """Give a processor the same kinds in all tests of kinds: what one of them has drawn or composed, the others read.

    Every other test goes to whichever processor is free.
    """
    if config.getoption("dist") != "load":
        return None
    from xdist.scheduler import LoadScopeScheduling

    class Shares(LoadScopeScheduling):
        def _split_scope(self, nodeid: str) -> str:
            share = _OF_KINDS.search(nodeid)
            return f"kinds {share[1]}" if share else nodeid

    return Shares(config, log)
