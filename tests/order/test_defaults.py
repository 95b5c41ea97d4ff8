"""What a department has settled for all its papers: read, told where it is wrong, and no more than that."""

from __future__ import annotations

from pathlib import Path

import pytest

from molewright.errors import Mistake
from molewright.order.defaults import NOBODY_SAID, parse_defaults, read_defaults
from molewright.order.order_file import parse_order, read_order
from shared.for_each import for_each

ALL = """\
title = "Homework"
questions = 4
level = ["scaffolded", "exam"]
masses = "two places"
units = "litre"
versions = ["A", "B"]
sheets = ["questions", "data"]
forms = ["text"]
numbers = "shared"
files = "joined"

[front]
page = "cover"
school = "Quernholm School: chemistry"
fields = ["name", "candidate number"]
minutes = 50
"marks grid" = false
instructions = ["Write in ink."]
"may use" = ["a calculator"]
"""
FAULTS = {
    "an unknown key": ('colour = "red"\n', "x.toml:1: colour: the key 'colour' is not known here"),
    "a key of one paper": ("title = 'x'\nseed = 4\n", "x.toml:2: seed: the key 'seed' is not known here"),
    "a list of lines": ("[[lines]]\nkind = 'a'\n", "x.toml:1: lines: the key 'lines' is not known here"),
    "a sheet by its old name": (
        "sheets = ['key']\n",
        "x.toml:1: sheets: the sheet 'key', which is called 'answers' now",
    ),
    "a wrong word": ("\nmasses = 'three places'\n", "x.toml:2: masses: 'three places' is not a known masses"),
    "a wrong type": ("questions = 'many'\n", "x.toml:1: questions: 'many' is not a number"),
    "a list for a text": ("title = ['a', 'b']\n", "x.toml:1: title: a list where a text belongs"),
    "keys for a list": ("[forms]\npdf = true\n", "x.toml:1: keys where a text belongs"),
    "a number of no size": ("questions = 9000\n", "x.toml:1: questions: 9000 for questions; expected 1 to 40"),
    "a key of the front": ("[front]\n\nshool = 'x'\n", "x.toml:3: front, shool: the key 'shool' is not known here"),
    "a front that is none": ("front = 'wall'\n", "x.toml:1: front, page: 'wall' is not a known page"),
    "no truth": ("[front]\n'marks grid' = 'perhaps'\n", "x.toml:2: front, marks grid: 'perhaps' for marks grid"),
}


def test_all_that_may_stand_at_the_head_of_an_order_may_be_settled(tmp_path: Path) -> None:
    head = parse_defaults(ALL, "x.toml")
    assert (head.count, head.levels, head.masses, head.style) == (4, ("scaffolded", "exam"), "two places", "litre")
    wanted = head.wanted
    assert (wanted.title, wanted.versions, wanted.forms, wanted.files) == ("Homework", ("A", "B"), ("text",), "joined")
    assert (wanted.front.page, wanted.front.minutes, wanted.front.with_grid) == ("cover", 50, False)
    path = tmp_path / "molewright.toml"
    path.write_text(ALL, "utf-8")
    assert read_defaults(path) == head


def test_a_file_of_nothing_settles_nothing() -> None:
    assert parse_defaults("# nothing yet\n", "x.toml") == NOBODY_SAID


@for_each("fault", FAULTS)
def test_a_fault_is_told_with_its_line(fault: str) -> None:
    text, said = FAULTS[fault]
    with pytest.raises(Mistake) as caught:
        parse_defaults(text, "x.toml")
    assert str(caught.value).startswith(said)


def test_all_faults_are_told_at_once() -> None:
    with pytest.raises(Mistake) as caught:
        parse_defaults("masses = 'x'\nforms = ['y']\ncolour = 'z'\n", "x.toml")
    assert len(str(caught.value).splitlines()) == 3


def test_an_order_says_more_than_the_defaults(tmp_path: Path) -> None:
    path = tmp_path / "x.order.yaml"
    path.write_text("title: Mock\nmasses: whole\nfront: {minutes: 20}\n", "utf-8")
    order, wanted = read_order(path, lambda: 7, parse_defaults(ALL, "x.toml"))
    assert (wanted.title, order.masses, wanted.front.minutes) == ("Mock", "whole", 20)
    assert (order.style, wanted.forms, wanted.front.school) == ("litre", ("text",), "Quernholm School: chemistry")
    assert (order.count, order.levels) == (4, ("scaffolded", "exam"))


def test_a_settled_order_takes_nothing_from_the_defaults(tmp_path: Path) -> None:
    line = "{kind: a, roles: {analyte: b}, scene: c, asked: d, readings: mean, seed: e, level: exam}"
    text = f"seed: 3\nquestions: 1\nlines: [{line}]\n"
    path = tmp_path / "x.order.yaml"
    path.write_text(text, "utf-8")
    assert read_order(path, lambda: 7, parse_defaults(ALL, "x.toml")) == parse_order(text, "x", lambda: 7)
