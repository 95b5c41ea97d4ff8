"""Class lists: one name a line, in UTF-8; whatever else a file may hold is told with its line."""

from __future__ import annotations

from pathlib import Path

import pytest

from molewright.errors import Mistake, Mistakes, Where
from molewright.order.class_list import MOST_LETTERS, MOST_MISTAKES, MOST_PUPILS, clean_name, read_class_list
from shared.for_each import for_each

HERE = Where("list.txt", 3)


def written(tmp_path: Path, content: bytes) -> Path:
    path = tmp_path / "list.txt"
    path.write_bytes(content)
    return path


def names_in(path: Path) -> tuple[str, ...]:
    return tuple(pupil.name for pupil in read_class_list(path))


def test_names_are_read_one_a_line_in_order(tmp_path: Path) -> None:
    path = written(tmp_path, "Ilsa Quern\n\n  Björn   Ærø \r\nZoë O'Neil-Adeyemi\n".encode())
    assert names_in(path) == ("Ilsa Quern", "Björn Ærø", "Zoë O'Neil-Adeyemi")


def test_a_byte_order_mark_is_no_letter(tmp_path: Path) -> None:
    assert names_in(written(tmp_path, b"\xef\xbb\xbfIlsa\n")) == ("Ilsa",)


def test_two_pupils_of_one_name_are_told_apart_by_another_column(tmp_path: Path) -> None:
    first, second, third = read_class_list(written(tmp_path, b"name,set\nAda,10a\nada,10b\nBram,10b\n"))
    assert (first.name, first.beside, second.name, second.beside) == ("Ada", "10a", "ada", "10b")
    assert first.key != second.key
    assert third.beside == ""


@pytest.mark.parametrize("content", ["Ada\n\nADA\n", "name,set\nAda,10a\nAda,10a\n"])
def test_two_pupils_that_nothing_tells_apart_are_told_with_their_lines(content: str, tmp_path: Path) -> None:
    with pytest.raises(
        Mistake, match=r":3: 'A\w+' stands here and on line [12]; expected pupils that can be told apart"
    ):
        read_class_list(written(tmp_path, content.encode()))


def test_levels_and_versions_are_read(tmp_path: Path) -> None:
    first, second = read_class_list(written(tmp_path, b"name,level,version,look\nAda,Exam,b,large\nBram,,,\n"))
    assert (first.level, first.version, first.look) == ("exam", "B", "large")
    assert (second.level, second.version, second.look) == ("", "", "")


def test_a_heading_that_is_nearly_one_is_told_and_a_name_in_quotation_marks_is_read(tmp_path: Path) -> None:
    with pytest.raises(Mistake, match=r"(?s):1: the column 'looks'.*nearest: look"):
        read_class_list(written(tmp_path, b"name,looks\nAda,large\n"))
    assert [pupil.name for pupil in read_class_list(written(tmp_path, b'name\n"Smith, Jo"\n'))] == ["Smith, Jo"]
    assert [pupil.name for pupil in read_class_list(written(tmp_path, b'"Smith, Jo"\n"O""Brien"\n'))] == [
        "Smith, Jo",
        'O"Brien',
    ]


def test_a_look_or_a_tint_that_is_none_is_told_with_its_line(tmp_path: Path) -> None:
    with pytest.raises(Mistake, match=r"(?s):3: the look 'larg'.*one of: usual, large.*large"):
        read_class_list(written(tmp_path, b"name,look\nAda,Large\nBram,larg\n"))
    with pytest.raises(Mistake, match=r"(?s):2: the tint 'purple'.*one of: cream"):
        read_class_list(written(tmp_path, b"name,tint\nAda,purple\n"))


@pytest.mark.parametrize(("row", "said"), [("Ada,easy,A", "the level 'easy'"), ("Ada,exam,AB", "the version 'AB'")])
def test_a_level_or_a_version_that_is_none_is_told_with_its_line(row: str, said: str, tmp_path: Path) -> None:
    with pytest.raises(Mistake, match=f":2: {said}"):
        read_class_list(written(tmp_path, f"name,level,version\n{row}\n".encode()))


def test_letters_with_accents_are_composed(tmp_path: Path) -> None:
    assert names_in(written(tmp_path, "Zoe\u0308\n".encode())) == ("Zoë",)


@for_each("name", ["<b>Ada</b>", "\\input{secret}", "$x$ & 50 %", "{name}", "محمد", "Ада", "王小明", "O’Neil"])
def test_markup_and_other_scripts_are_names_like_any_other(name: str) -> None:
    assert clean_name(name, HERE) == name


TABLES = {
    "surname,forename,set": ("Quern,Ilsa,10b\nÆrø,Björn,10b\n", ("Ilsa Quern", "Björn Ærø")),
    "Set;First name;Last name;Tutor": ("10b;Ilsa;Quern;T\n\n;Björn;Ærø;\n", ("Ilsa Quern", "Björn Ærø")),
    "Forename\tSurname": ("Ilsa\tQuern\nAda\t\n", ("Ilsa Quern", "Ada")),
    "LAST_NAME,FIRST_NAME": ("Quern,Ilsa Maria\n", ("Ilsa Maria Quern",)),
    "Pupil,Set": ('"Quern, Ilsa",10b\nAda\n', ("Quern, Ilsa", "Ada")),
    '"full name","date of birth"': ("Ilsa Quern,2009-01-01\n", ("Ilsa Quern",)),
    "Name": ("Quern, Ilsa\nAda\n", ("Quern, Ilsa", "Ada")),
    "students:": ("Ilsa Quern\n", ("Ilsa Quern",)),
    "Name,Surname": ("Ilsa,Quern\n", ("Ilsa Quern",)),
    "name,forename,surname": ("Ilsa Quern,Ilsa Maria,Quern\n", ("Ilsa Maria Quern",)),
    "form,surname": ("10b,Quern\n", ("Quern",)),
}


@pytest.mark.parametrize("heading", TABLES)
def test_a_heading_row_says_which_columns_hold_names(heading: str, tmp_path: Path) -> None:
    rows, names = TABLES[heading]
    assert names_in(written(tmp_path, f"\n{heading}\n{rows}".encode())) == names


@pytest.mark.parametrize("first", ["Student, Kate", "Set, Ada", "Quern, Ilsa, 10b", "Form", "Tutor", 'O"Neil, Ada'])
def test_a_name_that_looks_like_a_heading_is_a_name(first: str, tmp_path: Path) -> None:
    assert names_in(written(tmp_path, f"{first}\nAda\n".encode())) == (first, "Ada")


def test_every_name_is_tried_and_all_that_cannot_be_printed_are_told_with_their_lines(tmp_path: Path) -> None:
    def tried(name: str) -> None:
        if "x" in name:
            raise Mistake(f"an x in {name}")

    path = written(tmp_path, b"surname,forename\nQuern,Ilsa\nxu,Ada\n\nQuern,Max\nA\x00,Ada\n")
    with pytest.raises(Mistake) as caught:
        read_class_list(path, tried)
    lines = str(caught.value).splitlines()
    assert [line.partition(": ")[0].rpartition(":")[2] for line in lines] == ["3", "5", "6"]
    assert ["an x in Ada xu" in lines[0], "an x in Max Quern" in lines[1], "U+0000" in lines[2]] == [True] * 3


def test_no_more_mistakes_are_told_than_can_be_read(tmp_path: Path) -> None:
    with pytest.raises(Mistakes) as caught:
        read_class_list(written(tmp_path, b"A\x07\n" * 900))
    assert len(caught.value.each) == MOST_MISTAKES


SPOILT: dict[str, tuple[bytes, str]] = {
    "empty": (b"", "the class list is empty; expected one name on each line"),
    "only blank lines": (b"\n \n\t\n", "the class list is empty"),
    "Latin-1": ("Ada\nBjörn\n".encode("latin-1"), "list.txt:2: byte 0xf6 is not UTF-8"),
    "UTF-16": ("Ada\n".encode("utf-16"), "UTF-16; expected UTF-8"),
    "UTF-16, the other way": ("Ada\n".encode("utf-16-be"), "U+0000"),
    "a heading alone": (b"surname,forename\n", "a heading and no name"),
    "a heading without names": (b"set,tutor,form\n10b,T,c\n", "list.txt:1: the heading row names no pupils"),
    "two columns of surnames": (b"surname,last name\nQuern,Quern\n", "list.txt:1: two columns hold a surname"),
    "a row without a name": (b"surname,set\nQuern,10b\n,10b\n", "list.txt:3: no pupil is named in this row"),
    "a comma that separates": (b"name,set\nQuern, Ilsa,10b\n", "list.txt:2: 3 cells below a heading of 2"),
    "a quotation mark without end": (b'name,set\n"Quern,10b\n', "list.txt:2: the row cannot be read"),
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
