"""Class lists: one name a line, in UTF-8; whatever else a file may hold is told with its line."""

from __future__ import annotations

from pathlib import Path

import pytest

from molewright.errors import Mistake, Where
from molewright.order.class_list import MOST_LETTERS, MOST_PUPILS, clean_name, read_class_list

HERE = Where("list.txt", 3)


def written(tmp_path: Path, content: bytes) -> Path:
    path = tmp_path / "list.txt"
    path.write_bytes(content)
    return path


def test_names_are_read_one_a_line_in_order(tmp_path: Path) -> None:
    path = written(tmp_path, "Ilsa Quern\n\n  Björn   Ærø \r\nZoë O'Neil-Adeyemi\n".encode())
    assert read_class_list(path) == ("Ilsa Quern", "Björn Ærø", "Zoë O'Neil-Adeyemi")


def test_a_byte_order_mark_is_no_letter(tmp_path: Path) -> None:
    assert read_class_list(written(tmp_path, b"\xef\xbb\xbfIlsa\n")) == ("Ilsa",)


def test_two_pupils_may_have_the_same_name(tmp_path: Path) -> None:
    assert read_class_list(written(tmp_path, b"Ada\nAda\n")) == ("Ada", "Ada")


def test_letters_with_accents_are_composed(tmp_path: Path) -> None:
    assert read_class_list(written(tmp_path, "Zoe\u0308\n".encode())) == ("Zoë",)


@pytest.mark.parametrize(
    "name", ["<b>Ada</b>", "\\input{secret}", "$x$ & 50 %", "{name}", "محمد", "Ада", "王小明", "O’Neil"]
)
def test_markup_and_other_scripts_are_names_like_any_other(name: str) -> None:
    assert clean_name(name, HERE) == name


SPOILT: dict[str, tuple[bytes, str]] = {
    "empty": (b"", "the class list is empty; expected one name on each line"),
    "only blank lines": (b"\n \n\t\n", "the class list is empty"),
    "Latin-1": ("Ada\nBjörn\n".encode("latin-1"), "list.txt:2: byte 0xf6 is not UTF-8"),
    "UTF-16": ("Ada\n".encode("utf-16"), "UTF-16; expected UTF-8"),
    "UTF-16, the other way": ("Ada\n".encode("utf-16-be"), "U+0000"),
    "ten thousand columns": (b"Ada" + b",x" * 10_000 + b"\n", "looks like a row of a table"),
    "a row of semicolons": (b"1;Ada;Quern;10b;f\n", "looks like a row of a table"),
    "a row of tabs": (b"Ada\tQuern\n", "looks like a row of a table"),
    "a name without end": (b"A" * (MOST_LETTERS + 1), f"expected at most {MOST_LETTERS}"),
    "too many": (b"Ada\n" * (MOST_PUPILS + 1), f"at most {MOST_PUPILS}"),
    "two megabytes": (b"Ada\n" * 500_000, "too large"),
    "a zero byte": (b"Ada\nA\x00da\n", "list.txt:2: the character U+0000"),
    "an escape": (b"\x1b[31mAda\n", "U+001B"),
    "a direction override": ("Ada \u202e\n".encode(), "U+202E"),
    "a zero width joiner": ("A\u200dda\n".encode(), "U+200D"),
    "a private letter": ("A\ue000\n".encode(), "U+E000"),
}


@pytest.mark.parametrize("what", SPOILT)
def test_what_is_no_list_of_names_is_told(what: str, tmp_path: Path) -> None:
    content, said = SPOILT[what]
    with pytest.raises(Mistake) as caught:
        read_class_list(written(tmp_path, content))
    assert said in str(caught.value)
    assert "list.txt" in str(caught.value)
    assert len(str(caught.value)) < 600
    assert str(caught.value).isprintable()


@pytest.mark.parametrize("what", ["a folder", "nothing"])
def test_what_is_no_file_is_told(what: str, tmp_path: Path) -> None:
    path = tmp_path if what == "a folder" else tmp_path / "none.txt"
    with pytest.raises(Mistake, match="the class list cannot be read") as caught:
        read_class_list(path)
    assert str(path) in str(caught.value)
