"""The defaults of a department on the command line: what is not asked for is as they say, and what is asked for wins."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from molewright.cli import main
from molewright.machine import places
from molewright.order.order import Order, Wanted
from molewright.order.order_file import ORDER_ENDING, read_order

SETTLED = """\
title = "Practice of the week"
masses = "two places"
units = "litre"
versions = ["A", "B"]
sheets = ["questions"]
forms = ["text"]
questions = 2
level = "exam"
[front]
school = "Quernholm School"
"""
Made = tuple[Order, Wanted]


def never() -> int:
    raise AssertionError("a seed was drawn though one is written")


@pytest.fixture
def made(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[..., Made]:
    """Runs the command in a folder with defaults; the settled order that stands beside the papers."""
    monkeypatch.delenv(places.DEFAULTS_NAMED)
    monkeypatch.chdir(tmp_path)
    (tmp_path / places.DEFAULTS).write_text(SETTLED, "utf-8")

    def run(*arguments: str) -> Made:
        folder = tmp_path / f"papers-{len(list(tmp_path.glob('papers-*')))}"
        assert main(["paper", *arguments, "--to", str(folder)]) == 0
        (path,) = folder.glob(f"*{ORDER_ENDING}")
        return read_order(path, never)

    return run


def test_what_is_not_asked_for_is_as_settled(made: Callable[..., Made], capsys: pytest.CaptureFixture[str]) -> None:
    order, wanted = made("--seed", "7")
    assert (order.count, order.level, order.masses, order.style) == (2, "exam", "two places", "litre")
    assert (wanted.title, wanted.versions, wanted.sheets, wanted.forms) == (
        "Practice of the week",
        ("A", "B"),
        ("questions",),
        ("text",),
    )
    assert wanted.front.school == "Quernholm School"
    assert "what is not asked for is as in" in capsys.readouterr().err


def test_options_win(made: Callable[..., Made]) -> None:
    asked = (
        "--title",
        "Mock",
        "--masses",
        "whole",
        "--no-litres",
        "--versions",
        "C",
        "--sheet",
        "answers",
        "--form",
        "latex",
    )
    order, wanted = made("--seed", "7", "--questions", "1", "--level", "structured", "--front", "cover", *asked)
    assert (order.count, order.level, order.masses, order.style) == (1, "structured", "whole", "dm3")
    assert (wanted.title, wanted.versions, wanted.sheets, wanted.forms) == ("Mock", ("C",), ("answers",), ("latex",))
    assert (wanted.front.page, wanted.front.school) == ("cover", "Quernholm School")


def test_kinds_that_are_named_are_all_asked_for(made: Callable[..., Made]) -> None:
    order, _ = made("direct-solutions", "direct-purity", "bleach", "--seed", "7")
    assert order.count == 3


def test_a_settled_order_prints_the_same_whatever_is_settled_where(
    made: Callable[..., Made], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    made("--seed", "7")
    (path,) = (tmp_path / "papers-0").glob(f"*{ORDER_ENDING}")
    (tmp_path / places.DEFAULTS).write_text("title = 'Other'\nmasses = 'whole'\nforms = ['pdf']\n", "utf-8")
    made(str(path))
    first, again = (
        {one.name: one.read_bytes() for one in (tmp_path / name).iterdir()} for name in ("papers-0", "papers-1")
    )
    assert first == again


def test_a_fault_is_told_and_nothing_is_made(
    made: Callable[..., Made], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / places.DEFAULTS).write_text("title = 'x'\nmasses = 'three places'\n", "utf-8")
    assert main(["paper", "--to", str(tmp_path / "papers")]) == 1
    assert f"{places.DEFAULTS}:2: masses: 'three places'" in capsys.readouterr().err
    assert not (tmp_path / "papers").exists()
