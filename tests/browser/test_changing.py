"""What is done to a paper on its pages: each step on disk at once, taken back one by one, and never over somebody else's."""

from __future__ import annotations

import html
import re
from pathlib import Path

import pytest

from molewright.order.head import Head
from molewright.order.order import Wanted
from molewright.order.order_file import read_order
from shared.pages import Pages, Visitor, pages_of


@pytest.fixture
def paper(visitor: Visitor) -> str:
    """A paper of three questions, for one test."""
    return visitor.new_paper(
        kind=["back-portions", "direct-purity", "vinegar-label"], questions="3", level="structured"
    )


def order_file(pages: Pages, paper: str) -> Path:
    return pages.pages.folder / f"paper-{int(paper.rpartition('/')[2]):03}" / "paper.order.yaml"


def lines_of(pages: Pages, paper: str) -> tuple[object, ...]:
    return read_order(order_file(pages, paper), lambda: 0)[0].lines


def do(visitor: Visitor, paper: str, what: str, number: int) -> None:
    got = visitor.post(f"{paper}/change", {"seen": visitor.get(paper).seen, "what": what, "number": str(number)})
    assert got.status == 303, got.text


def test_every_step_is_on_disk_at_once_and_is_taken_back_after_a_new_start(tmp_path: Path) -> None:
    with pages_of(tmp_path) as pages:
        visitor = pages.inside
        paper = visitor.new_paper(kind="back-portions", questions="3", level="structured")
        stages = [order_file(pages, paper).read_bytes()]
        for what, number in (("numbers", 1), ("scene", 2), ("less", 3), ("kind", 2), ("up", 3), ("remove", 1)):
            do(visitor, paper, what, number)
            stages.append(order_file(pages, paper).read_bytes())
        assert len(set(stages)) == 7
        port, cookie = pages.port, visitor.cookie
    with pages_of(tmp_path, port, cookie) as pages:
        for before in reversed(stages[:-1]):
            shown = pages.inside.get(paper)
            assert pages.inside.post(f"{paper}/undo", {"seen": shown.seen}).status == 303
            assert order_file(pages, paper).read_bytes() == before
        assert "disabled" in re.findall(r'<button id="undo"[^>]*>', pages.inside.get(paper).text)[0]
        assert pages.inside.post(f"{paper}/redo", {"seen": pages.inside.get(paper).seen}).status == 303
        assert order_file(pages, paper).read_bytes() == stages[1]


def test_a_change_touches_one_line_and_no_other(pages: Pages, visitor: Visitor, paper: str) -> None:
    before = lines_of(pages, paper)
    do(visitor, paper, "numbers", 2)
    after = lines_of(pages, paper)
    assert (before[0], before[2]) == (after[0], after[2])
    assert before[1] != after[1]
    do(visitor, paper, "down", 1)
    assert lines_of(pages, paper) == (after[1], after[0], after[2])


def test_two_windows_do_not_overwrite_each_other(pages: Pages, visitor: Visitor, paper: str) -> None:
    seen = visitor.get(paper).seen
    do(visitor, paper, "numbers", 1)
    held = order_file(pages, paper).read_bytes()
    for address, fields in (
        ("change", {"what": "remove", "number": "1"}), ("undo", {}), ("head", {"title": "Another"}), ("class", {"names": "Ilsa Quern"}),
        ("take", {"sheet": "questions", "form": "text"}), ("add/1", {"name": "redox"}),
        ("add/1/words", {"text": "Why?", "answer": "So.", "marks": "1"}),
    ):  # fmt: skip
        got = visitor.post(f"{paper}/{address}", {"seen": seen, **fields})
        assert got.status in (400, 409), address
        assert "changed since the page was shown" in got.text
    assert order_file(pages, paper).read_bytes() == held


def test_an_order_that_somebody_edits_beside_is_not_overwritten(pages: Pages, visitor: Visitor, paper: str) -> None:
    seen = visitor.get(paper).seen
    path = order_file(pages, paper)
    path.write_text(path.read_text("utf-8").replace("title: ", "title: Revised "), "utf-8")
    assert visitor.post(f"{paper}/change", {"seen": seen, "what": "remove", "number": "1"}).status == 409
    assert "Revised" in visitor.get(paper).text


def test_numbers_of_ones_own_are_told_sound_unusual_or_not_and_are_kept(
    pages: Pages, visitor: Visitor, paper: str
) -> None:
    number = next(at for at, line in enumerate(lines_of(pages, paper), 1) if line.kind == "back-portions")  # type: ignore[attr-defined]
    shown = visitor.get(f"{paper}/question/{number}/numbers").text
    names = [html.unescape(one) for one in re.findall(r'<label for="n\d+">([^<]+)<', shown)]
    mass, titre = (next(at for at, name in enumerate(names, 1) if name.startswith(what)) for what in ("mass", "titre"))
    told = visitor.post(f"{paper}/question/{number}/numbers/told", {f"n{titre}": "24.35"}).text
    assert "Sound" in told or "It works out" in told
    assert "comes out at" in told
    refused = visitor.post(f"{paper}/question/{number}/numbers/told", {f"n{mass}": "0.001", f"n{titre}": "1.00"}).text
    assert "Not sound" in refused
    assert "cannot be" in refused
    seen = visitor.get(paper).seen
    assert (
        visitor.post(f"{paper}/question/{number}/numbers", {"seen": seen, "do": "keep", f"n{mass}": "-3"}).status == 422
    )
    kept = visitor.post(f"{paper}/question/{number}/numbers", {"seen": seen, "do": "keep", f"n{titre}": "24.35"})
    assert "1 number of your own" in visitor.follow(kept).text
    assert dict(lines_of(pages, paper)[number - 1].numbers) == {names[titre - 1]: "24.35 cm³"}  # type: ignore[attr-defined]


def test_words_of_ones_own_stand_where_they_were_put(pages: Pages, visitor: Visitor, paper: str) -> None:
    asked = {
        "text": "Why is a pipette used?\nGive <b>one</b> reason.",
        "answer": "It is precise.",
        "marks": "2",
        "lines": "3",
    }
    got = visitor.post(f"{paper}/add/1/words", {"seen": visitor.get(paper).seen, **asked})
    shown = visitor.follow(got).text
    assert "Give &lt;b&gt;one&lt;/b&gt; reason." in shown
    assert lines_of(pages, paper)[1].words.marks == 2  # type: ignore[attr-defined]
    wrong = visitor.post(f"{paper}/question/2/words", {"seen": visitor.get(paper).seen, **asked, "marks": "many"})
    assert wrong.status == 400
    assert "It is precise." in wrong.text


@pytest.mark.parametrize("name", ["water of crystallisation", "total-hardness"])
def test_a_question_is_added_of_a_topic_and_of_a_kind(pages: Pages, visitor: Visitor, paper: str, name: str) -> None:
    before = lines_of(pages, paper)
    assert visitor.post(f"{paper}/add/1", {"seen": visitor.get(paper).seen, "name": name}).status == 303
    after = lines_of(pages, paper)
    assert (after[0], *after[2:]) == before
    assert visitor.post(f"{paper}/add/1", {"seen": visitor.get(paper).seen, "name": "no such"}).status == 409


def test_what_a_department_has_settled_holds_for_what_nobody_says(tmp_path: Path) -> None:
    usual = Head(
        wanted=Wanted(versions=("A", "B"), look="large"), count=2, levels=("exam",), masses="whole", style="litre"
    )
    with pages_of(tmp_path, usual=usual) as pages:
        for asked, level, versions in (
            ({}, "exam", ("A", "B")),
            ({"level": "structured", "versions": "C"}, "structured", ("C",)),
        ):
            order, wanted = read_order(order_file(pages, pages.inside.new_paper(**asked)), lambda: 0)
            assert (order.count, order.level, order.masses, order.style) == (2, level, "whole", "litre")
            assert (wanted.versions, wanted.look) == (versions, "large")


def test_plain_words_find_kinds(visitor: Visitor) -> None:
    for words, title in (
        ("limestone", "Back titration of portions"), ("manganate", "manganate"), ("purity", "purity"), ("hydrate", "crystallisation"),
        ("limstone", "Back titration"),
    ):  # fmt: skip
        assert title in visitor.get(f"/?find={words}").text.partition('id="found"')[2]
    assert "No kind of question" in visitor.get("/?find=zzzz").text


def test_names_are_in_the_class_file_alone_and_are_gone_when_it_is_emptied(
    pages: Pages, visitor: Visitor, paper: str, capfd: pytest.CaptureFixture[str]
) -> None:
    folder = order_file(pages, paper).parent
    names = "name,level\nIlsa Quern,scaffolded\nBram Tollo,exam\n"
    got = visitor.post(f"{paper}/class", {"seen": visitor.get(paper).seen, "names": names, "numbers": "shared"})
    assert "The class is kept" in visitor.follow(got).text
    assert "scaffolded" in visitor.get(paper).text
    asked = {"sheet": ["questions", "scheme"], "form": "text", "look": "usual", "space": "normal"}
    made = visitor.post(f"{paper}/take", {"seen": visitor.get(paper).seen, **asked})
    assert any(b"Quern" in content for content in visitor.files_of(made).values())
    holding = {one.name for one in folder.rglob("*") if one.is_file() and b"Quern" in one.read_bytes()}
    assert holding == {"class.csv"}
    assert visitor.post(f"{paper}/class/empty", {"seen": visitor.get(paper).seen}).status == 303
    assert not [one for one in folder.rglob("*") if one.is_file() and b"Quern" in one.read_bytes()]
    assert "Quern" not in "".join(capfd.readouterr())


def test_a_list_that_is_none_is_refused_and_the_one_before_stays(visitor: Visitor, paper: str) -> None:
    good = {"names": "Ilsa Quern\nBram Tollo", "numbers": "own"}
    assert visitor.post(f"{paper}/class", {"seen": visitor.get(paper).seen, **good}).status == 303
    for bad in ("name,level\nIlsa Quern,sky", "Ilsa Quern\nIlsa Quern", "\n".join(f"Pupil {at}" for at in range(1200))):
        got = visitor.post(f"{paper}/class", {"seen": visitor.get(paper).seen, "names": bad, "numbers": "own"})
        assert got.status == 400
    assert "Bram Tollo" in visitor.get(f"{paper}/class").text


@pytest.mark.parametrize("level", ["scaffolded", "structured"])
def test_a_step_in_front_of_the_class_gives_nothing_of_later_ones_away(visitor: Visitor, level: str) -> None:
    paper = visitor.new_paper(kind="back-portions", questions="1", level=level)
    count = int(re.findall(r"1 of (\d+)\)", visitor.get(f"{paper}/front/1").text)[0])
    first = visitor.get(f"{paper}/front/1?open=1").text.partition('class="opened"')[2]
    last = visitor.get(f"{paper}/front/1?open={count}").text.partition('class="opened"')[2].rpartition("<li")[2]
    table = ">Rough<" in visitor.get(f"{paper}/front/1").text  # of readings, whose mean the picture tells
    assert ("<svg" in first, "<svg" in last) == ((False, True) if level == "scaffolded" or table else (True, False))


def test_the_class_is_counted_by_level_and_emptied_only_when_asked_twice(visitor: Visitor, paper: str) -> None:
    names = "name,level\nIlsa Quern,structured\nBram Tollo,exam\nEdda Voss,exam\n"
    kept = visitor.post(f"{paper}/class", {"seen": visitor.get(paper).seen, "names": names, "numbers": "shared"})
    page = visitor.follow(kept).text
    assert "The class is kept: 1 structured, 2 exam." in page
    assert f'href="{paper}/class/empty"' in page
    asked = visitor.get(f"{paper}/class/empty")
    assert "3 names" in asked.text
    assert "Ilsa Quern" in visitor.get(f"{paper}/class").text
    assert visitor.post(f"{paper}/class/empty", {"seen": asked.seen}).status == 303
    assert "Ilsa Quern" not in visitor.get(f"{paper}/class").text
