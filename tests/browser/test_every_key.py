"""Every key of an order is reached on the pages: by a field of that page, by what a button does, or it is told here why it is not."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from molewright.machine import places
from molewright.order.order_file import read_order
from molewright.solve.experiment_form import USUALLY_TOLD
from shared.pages import Pages, Visitor

FIELDS = {
    "questions": ("/", "questions"), "marks": ("/", "marks"), "kinds": ("/?find=limestone", "kind"), "topics": ("/", "topic"),
    "aim": ("/", "aim"), "not again": ("/", "fresh"),
    "title": ("/head", "title"), "level": ("/head", "level"), "versions": ("/head", "versions"), "masses": ("/head", "masses"),
    "units": ("/head", "units"), "telling": ("/head", "telling"), "equations": ("/head", "equations"), "front": ("/head", "front"),
    "front: page": ("/head", "front"), "front: school": ("/head", "school"), "front: fields": ("/head", "fields"),
    "front: minutes": ("/head", "minutes"), "front: marks grid": ("/head", "marks grid"),
    "front: instructions": ("/head", "instructions"), "front: may use": ("/head", "may use"), "front: title": ("/head", "title"),
    "numbers": ("/class", "numbers"),
    "sheets": ("/take", "sheet"), "forms": ("/take", "form"), "files": ("/take", "files"), "answer space": ("/take", "space"),
    "look": ("/take", "look"), "tint": ("/take", "tint"), "fillable": ("/take", "fillable"),
    "lines": ("/add/1", "name"),
    "line: kind": ("/add/1", "name"), "line: topic": ("/add/1", "name"), "line: numbers": ("/question/1/numbers", "n1"),
    "own_words: question": ("/add/1/words", "text"), "own_words: marks": ("/add/1/words", "marks"),
    "own_words: answer": ("/add/1/words", "answer"), "own_words: answer lines": ("/add/1/words", "lines"),
    "experiment: experiment": ("/add/1/experiment", "experiment"), "experiment: asked": ("/add/1/experiment", "asked"),
    "experiment: procedure": ("/add/1/experiment", "do"),
    **{f"experiment: {key}": ("/add/1/experiment", "rest") for key in ("opening", "words", "task", "telling", "moves", "as written")},
    "experiment: level": ("?open=1", "what"),
    "line: level": ("?open=1", "what"), "line: scene": ("?open=1", "what"),
}  # fmt: skip
"""The page of a paper, or the first page, and the name of a field or of a button on it."""
ELSEWHERE = {
    "seed": "what is drawn is changed question by question, each step of which can be taken back",
    "line: roles": "another kind, or another scene, is drawn; a material is named in the file",
    "line: asked": "a kind that asks for it is looked for",
    "line: part": "the level stretch draws it; a part is named in the file",
    "line: equation": "asked for in all questions at once, on the page of title and levels",
    "line: indicator": "a choice that hardly a question needs: in the file",
    "line: readings": "a choice that hardly a question needs: in the file",
    "line: telling": "told in one way in all questions, on the page of title and levels",
    "line: seed": "written by 'Other numbers'",
    **{f"{kind}: wording": "written by the program, to tell what reads otherwise now" for kind in ("line", "experiment")},
    "line: drawn": "written by the program, so that a paper keeps its numbers",
    "experiment: seed": "written by 'Other numbers'",
}  # fmt: skip
WHOLE = ("/", "/?find=limestone")


def keys_of_an_order() -> set[str]:
    schema = json.loads((places.templates() / "schemas" / "order.schema.json").read_text("utf-8"))
    found = set(schema["properties"])
    for kind in ("front", "line", "own_words", "experiment"):
        found |= {f"{kind}: {key}" for key in schema["$defs"][kind]["properties"]}
    return found


def test_every_key_has_a_field_or_a_reason() -> None:
    assert not FIELDS.keys() & ELSEWHERE.keys()
    assert FIELDS.keys() | ELSEWHERE.keys() == keys_of_an_order()


def test_every_field_is_on_its_page(visitor: Visitor) -> None:
    paper = visitor.new_paper(kind="direct-purity", questions="1", level="structured")
    shown: dict[str, set[str]] = {}
    missing = []
    for key, (page, name) in FIELDS.items():
        if page not in shown:
            shown[page] = set(
                re.findall(r'name="([^"]+)"', visitor.get(page if page in WHOLE else f"{paper}{page}").text)
            )
        if name not in shown[page]:
            missing.append(f"{key}: {name} on {page}")
    assert missing == []


FRONT = {
    "title": "Mock paper", "level": ["structured", "exam"], "versions": "AB", "masses": "one place", "units": "dm3", "telling": "",
    "equations": "all", "front": "cover", "school": "Quernholm School", "minutes": "45", "marks grid": "no",
    "fields": ["name", "candidate number"], "instructions": "Answer all.\nShow your working.", "may use": "a calculator",
}  # fmt: skip


def test_what_is_chosen_on_the_page_of_title_and_levels_stands_in_the_order(pages: Pages, visitor: Visitor) -> None:
    paper = visitor.new_paper(kind=["direct-purity", "back-portions"], questions="2", level="structured")
    got = visitor.post(f"{paper}/head", {"seen": visitor.get(f"{paper}/head").seen, **FRONT})
    assert got.status == 303, got.text
    path = pages.pages.folder / f"paper-{int(paper.rpartition('/')[2]):03}" / "paper.order.yaml"

    def now() -> tuple[object, object]:
        return read_order(Path(path), lambda: 0)

    order, wanted = read_order(Path(path), lambda: 0)
    front = wanted.front
    assert (wanted.title, front.page, front.school, front.minutes, front.grid) == (
        "Mock paper",
        "cover",
        "Quernholm School",
        45,
        False,
    )
    assert (front.fields, front.instructions, front.may_use) == (
        ("name", "candidate number"),
        ("Answer all.", "Show your working."),
        ("a calculator",),
    )
    assert order.equations == "all"
    assert all(line.equation for line in order.lines)
    shown = visitor.get(f"{paper}/head").text
    assert "Show your working." in shown
    again = {**FRONT, "equations": ""}  # nothing said of equations: as they are
    assert visitor.post(f"{paper}/head", {"seen": visitor.get(f"{paper}/head").seen, **again}).status == 303
    assert now() == (order, wanted)
    none = {**FRONT, "equations": "none"}
    assert visitor.post(f"{paper}/head", {"seen": visitor.get(f"{paper}/head").seen, **none}).status == 303
    assert not any(line.equation for line in read_order(Path(path), lambda: 0)[0].lines)


@pytest.mark.parametrize(
    ("key", "typed", "told"),
    [
        ("minutes", "0", "minutes"),
        ("instructions", "x" * 241, "letters in one of the"),
        ("equations", "word equation", "equations"),
    ],
)
def test_what_a_front_cannot_have_is_said(visitor: Visitor, key: str, typed: str, told: str) -> None:
    paper = visitor.new_paper(kind="direct-purity", questions="1", level="structured")
    got = visitor.post(f"{paper}/head", {"seen": visitor.get(f"{paper}/head").seen, **FRONT, key: typed})
    assert got.status == 400
    alert = got.text.partition('role="alert"')[2].partition("</div>")[0]
    assert told in alert
    assert "what was typed" not in alert


def test_every_field_of_a_described_experiment_shows_what_may_stand_in_it(visitor: Visitor) -> None:
    paper = visitor.new_paper(kind="direct-purity", questions="1", level="structured")
    at = f"{paper}/add/1/experiment"
    told = {f"op-{number}": word for number, word in enumerate(USUALLY_TOLD)}
    page = visitor.post(at, {**told, "rest": "", "do": "work"}).text
    for number, (word, keys) in enumerate(USUALLY_TOLD.items()):
        for key in keys:
            name = f"op-{number}-{key.replace(' ', '_')}"
            assert re.search(rf'id="{name}-hint">as: [^<]+<', page), (word, key)


def test_the_examples_of_a_described_experiment_come_to_an_answer(visitor: Visitor) -> None:
    paper = visitor.new_paper(kind="direct-purity", questions="1", level="structured")
    at = f"{paper}/add/1/experiment"
    wanted = {
        "weigh": ("sample", "contains", "mass"), "add excess": ("solution", "volume", "concentration"), "react": ("reaction", "excess"),
        "make up": ("volume",), "take aliquot": ("volume",), "titrate": ("with", "concentration", "readings", "reaction", "indicators"),
    }  # fmt: skip
    lines = {f"op-{number}": word for number, word in enumerate(wanted)}
    page = visitor.post(at, {**lines, "rest": "", "do": "work"}).text
    typed = dict(lines)
    for number, (_, keys) in enumerate(wanted.items()):
        for key in keys:
            name = f"op-{number}-{key.replace(' ', '_')}"
            (example,) = re.findall(rf'id="{name}-hint">as: ([^<]+)<', page)
            typed[name] = example.replace("&gt;", ">")
    (asked,) = re.findall(r'id="asked-hint">as: ([^<]+)<', page)
    got = visitor.post(at, {**typed, "asked": asked, "rest": "", "do": "work"})
    assert 'class="outcome"' in got.text, re.findall(r'id="told".*?</div>', got.text, re.DOTALL)
    assert "94.9" in got.text
