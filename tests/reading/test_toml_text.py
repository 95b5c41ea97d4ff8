"""TOML as a tree of texts: values as words, keys with their lines, faults in a sentence."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from molewright.errors import Mistake
from molewright.reading.fields import Fields
from molewright.reading.toml_text import MOST_BYTES, parse_toml, read_toml
from molewright.reading.yaml_text import Keys, Listing, Scalar
from shared.for_each import for_each

TEXT = """\
# A comment: [not] = "read"
title = "Homework"
forms = ["pdf",
         "text"]
shown = true
hidden = false
count = 4

[front] # of every paper
school = "Quernholm"
"marks grid" = true
deep.inner = "x"
"""


def test_values_are_words_again() -> None:
    tree = parse_toml(TEXT, "x.toml")
    fields = Fields(tree)
    assert (fields.text("title"), fields.texts("forms")) == ("Homework", ("pdf", "text"))
    assert (fields.yes("shown"), fields.yes("hidden"), fields.whole("count")) == (True, False, 4)


def test_keys_have_their_lines() -> None:
    tree = parse_toml(TEXT, "x.toml")
    assert {key: where.line for key, where in tree.wheres.items()} == {
        "title": 2,
        "forms": 3,
        "shown": 5,
        "hidden": 6,
        "count": 7,
        "front": 9,
    }
    front = tree.members["front"]
    assert isinstance(front, Keys)
    assert {key: where.line for key, where in front.wheres.items()} == {"school": 10, "marks grid": 11, "deep": 12}


def test_what_stands_on_no_line_of_its_own_has_the_line_of_what_it_stands_in() -> None:
    tree = parse_toml('a = 1\nfront = {school = "x", fields = ["name"]}\n', "x.toml")
    front = tree.members["front"]
    assert isinstance(front, Keys)
    assert {where.line for where in front.wheres.values()} == {2}
    assert isinstance(front.members["fields"], Listing)


FAULTS = {
    "no value": ("title = \n", "x.toml:1: the file cannot be read as TOML: invalid value"),
    "a key twice": ('a = "1"\n\na = "2"\n', "x.toml:3: the file cannot be read as TOML: cannot overwrite a value"),
    "a bare key of two words": ("marks grid = true\n", "x.toml:1: the file cannot be read as TOML: expected '='"),
    "an open list": ('a = [\n"x"\n', "x.toml:3: the file cannot be read as TOML: unclosed array"),
    "YAML": ("title: Homework\n", "x.toml:1: the file cannot be read as TOML"),
    "lists without end": ("a = " + "[" * 5000, "x.toml"),
    "lists within lists": ("a = " + "[" * 20 + "]" * 20, "x.toml:1: lists or tables within others"),
    "tables without end": ("[" + ".".join(["a"] * 3000) + "]\nb = 1", "x.toml"),
    "a number without end": ("a = " + "9" * 5000, "x.toml: a number without end"),
    "a hexadecimal number without end": ("a = 0x" + "f" * 50000, "x.toml: a number without end"),
}


@for_each("fault", FAULTS)
def test_a_fault_is_told_with_its_line(fault: str) -> None:
    text, said = FAULTS[fault]
    with pytest.raises(Mistake) as caught:
        parse_toml(text, "x.toml")
    assert str(caught.value).startswith(said)


def test_a_file_that_cannot_be_read_is_told(tmp_path: Path) -> None:
    path = tmp_path / "x.toml"
    with pytest.raises(Mistake, match="cannot be read"):
        read_toml(path)
    path.write_bytes(b'a = "b"\nc = "\xff"\n')
    with pytest.raises(Mistake, match=r"x\.toml:2: byte 14 is not UTF-8"):
        read_toml(path)
    path.write_bytes(b"#" * (MOST_BYTES + 1))
    with pytest.raises(Mistake, match="too large"):
        read_toml(path)


@given(st.text(max_size=60))
def test_any_text_is_a_tree_or_a_mistake(text: str) -> None:
    try:
        tree = parse_toml(text, "x.toml")
    except Mistake:
        return
    assert all(isinstance(held, Keys | Listing | Scalar) for held in tree.members.values())
