"""The tree of a YAML text: every scalar stays the text that was written, with the line it stands on."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest
import yaml

from molewright.errors import Mistake, Mistakes, Where
from molewright.reading.fields import Faults, Fields, text_of, texts_of
from molewright.reading.yaml_text import MOST_DEPTH, Branch, Keys, Listing, Scalar, parse_tree, read_tree
from shared.for_each import for_each


def keys(text: str) -> Fields:
    return Fields(parse_tree(text, "page.yaml"), "entry")


@pytest.mark.parametrize(
    "written", ["0.100", "NO", "yes", "12:30", "010", "1e3", "~", "null", "2026-01-01", "+5", "0x1F"]
)
def test_a_scalar_stays_the_text_that_was_written(written: str) -> None:
    # YAML 1.1 itself reads these as numbers, truth values, dates or nothing
    tree = parse_tree(f"key: {written}", "page.yaml")
    assert isinstance(tree, Keys)
    assert tree.members["key"] == Scalar(written, Where("page.yaml", 1))
    assert yaml.safe_load(f"key: {written}")["key"] != written or written == "1e3"


def test_places_are_lines_of_the_file() -> None:
    tree = parse_tree("# head\n- a: 1\n  b:\n    - c\n    - d\n", "page.yaml")
    assert isinstance(tree, Listing)
    first = tree.members[0]
    assert isinstance(first, Keys)
    assert {key: where.line for key, where in first.wheres.items()} == {"a": 2, "b": 3}
    second = first.members["b"]
    assert isinstance(second, Listing)
    assert [member.where.line for member in second.members] == [4, 5]


@pytest.mark.parametrize("text", ["a: 1\na: 2", "{a: 1, a: 2}", "x: {y: 1, z: 2, y: 3}"])
def test_a_repeated_key_is_refused(text: str) -> None:
    with pytest.raises(Mistake, match="stands twice"):
        parse_tree(text, "page.yaml")


@for_each("text", ["a: &x 1\nb: *x", "a: &x [1]", "b: *x", "a: !!int 3", "a: !own 3", "!!set {a}", "<<: *x"])
def test_anchors_aliases_and_tags_are_refused(text: str) -> None:
    with pytest.raises(Mistake) as caught:
        parse_tree(text, "page.yaml")
    assert caught.value.where is not None
    assert caught.value.where.file == "page.yaml"


def test_a_billion_laughs_are_refused_at_the_first() -> None:
    laughs = "a: &a [x, x]\n" + "".join(
        f"{chr(98 + n)}: &{chr(98 + n)} [*{chr(97 + n)}, *{chr(97 + n)}]\n" for n in range(9)
    )
    with pytest.raises(Mistake, match="anchor or alias"):
        parse_tree(laughs, "page.yaml")


@pytest.mark.parametrize("deep", [MOST_DEPTH + 2, 900, 200_000])
@pytest.mark.parametrize("piece", ["[", "{a: ", "{[", "- ", "? ", "[{a: "])
def test_lists_within_lists_without_end_are_refused(piece: str, deep: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """PyYAML's composer takes the process down on these up to 6.0.3: it is not asked."""
    for name in ("compose", "load", "safe_load"):
        monkeypatch.delattr(yaml, name)
    with pytest.raises(Mistake, match=r"deeper than any entry needs|a key that is not a text|nesting depth") as caught:
        parse_tree(piece * deep, "page.yaml")
    assert str(caught.value).startswith("page.yaml:1: ")


def test_lists_may_lie_as_deep_as_entries_need() -> None:
    parse_tree("[" * MOST_DEPTH + "a" + "]" * MOST_DEPTH, "page.yaml")


@pytest.mark.parametrize("key", ["[a]", "{a: b}"])
def test_a_key_is_a_text(key: str) -> None:
    with pytest.raises(Mistake, match=r"page\.yaml:2: a key that is not a text"):
        parse_tree(f"a: b\n? {key}\n: c\n", "page.yaml")


def test_a_file_is_one_document() -> None:
    with pytest.raises(Mistake, match=r"page\.yaml:2: .*a second document"):
        parse_tree("a: b\n---\na: c\n", "page.yaml")


def test_a_folded_text_is_one_line_of_words() -> None:
    assert keys("opening: >-\n  one\n  two\n   three\n").text("opening") == "one two three"


def test_a_folder_in_place_of_a_file_is_told(tmp_path: Path) -> None:
    with pytest.raises(Mistake, match="cannot be read"):
        read_tree(tmp_path)


def test_a_file_that_is_not_there_is_told_with_its_whole_path(tmp_path: Path) -> None:
    with pytest.raises(Mistake) as caught:
        read_tree(tmp_path / "none.yaml")
    assert str(tmp_path / "none.yaml") in str(caught.value)
    assert caught.value.do


# ------------------------------------------------------------------ fields


def test_a_key_that_nobody_asked_for_is_refused_with_the_nearest() -> None:
    fields = keys("name: x\nsorce: y")
    fields.text("name")
    fields.text("source", "")
    with pytest.raises(Mistake) as caught:
        fields.finish()
    assert caught.value.near == ("source",)
    assert caught.value.where == Where("page.yaml", 2, "entry, sorce")


def test_a_default_stands_in_only_where_the_key_is_missing() -> None:
    fields = keys("here: words")
    assert (fields.text("here", "x"), fields.text("gone", "x")) == ("words", "x")
    assert fields.decimal("none", Decimal(3)) == 3
    assert fields.whole("none", 4) == 4
    assert fields.yes("none", True) is True


@pytest.mark.parametrize("key", ["empty", "list", "holes"])
def test_a_key_that_is_written_holds_something(key: str) -> None:
    fields = keys("empty: ''\nlist: []\nholes: [a, '']")
    with pytest.raises(Mistake, match=r"page\.yaml:[123]: .*an empty"):
        fields.texts(key, ())


def test_a_missing_key_tells_the_nearest_that_is_written() -> None:
    with pytest.raises(Mistake) as caught:
        keys("titel: x").text("title")
    assert caught.value.near == ("titel",)


@pytest.mark.parametrize("written", ["1.5", "x", "inf", "nan", "1e99", "-2000000", "'1 2'"])
def test_a_whole_number_is_small_and_whole(written: str) -> None:
    with pytest.raises(Mistake):
        keys(f"figures: {written}").whole("figures")


@pytest.mark.parametrize("written", ["no", "yes"])
def test_yes_and_no_are_the_only_truths(written: str) -> None:
    assert keys(f"pure: {written}").yes("pure") is (written == "yes")
    with pytest.raises(Mistake, match="yes or no"):
        keys("pure: true").yes("pure")


def test_one_text_is_a_list_of_one() -> None:
    assert texts_of(parse_tree("word", "page.yaml")) == ("word",)
    assert texts_of(parse_tree("[a, b]", "page.yaml")) == ("a", "b")


@pytest.mark.parametrize("text", ["[a]", "{a: b}"])
def test_only_a_scalar_is_a_text(text: str) -> None:
    with pytest.raises(Mistake, match="where a text belongs"):
        text_of(parse_tree(text, "page.yaml"))


def test_one_fault_is_raised_as_itself_and_several_together() -> None:
    def fail(words: str) -> Branch:
        raise Mistake(words)

    faults = Faults()
    faults.raise_if_any()
    assert faults.attempt(Where("a"), lambda: 5) == 5
    assert faults.attempt(Where("a", 1), lambda: fail("first")) is None
    with pytest.raises(Mistake, match=r"a:1: first") as caught:
        faults.raise_if_any()
    assert not isinstance(caught.value, Mistakes)
    faults.attempt(Where("b", 2), lambda: fail("second"))
    with pytest.raises(Mistakes) as both:
        faults.raise_if_any()
    assert str(both.value) == "a:1: first\nb:2: second"
