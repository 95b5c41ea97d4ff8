"""Files that are taken from the pages are those of the command, byte for byte; they may be stopped, and names are in no address."""

from __future__ import annotations

import io
import re
import zipfile
from pathlib import Path

import pytest

from molewright.browser import papers_pages
from molewright.cli import main
from shared.pages import Pages, Visitor
from test_imports import MODULES

CLASS = "name,level\nIlsa Quern,scaffolded\nBram Tollo,exam\nEdda Voss,exam\n"
USUAL = {"look": "usual", "space": "normal", "files": "", "tint": ""}
ALL = ["questions", "scheme", "worked", "answers"]
CASES: dict[str, dict[str, str | list[str]]] = {
    "a class at two levels, in every form": {
        "names": CLASS, "numbers": "shared", "sheet": ["questions", "scheme", "marking", "data"],
        "form": ["pdf", "docx", "html", "latex", "text"],
    },
    "numbers of their own, joined": {"names": "Ilsa Quern\nBram Tollo", "numbers": "own", "sheet": ALL, "form": ["pdf"]},
    "no class, separate": {
        "names": "", "numbers": "own", "sheet": ["questions", "worked", "method"], "form": ["pdf", "text"], "files": "separate",
    },
    "fields to type in": {"names": "", "numbers": "own", "sheet": ["questions"], "form": ["pdf"], "fillable": "yes"},
}  # fmt: skip


@pytest.mark.parametrize("case", CASES)
def test_the_files_are_those_of_the_command(pages: Pages, visitor: Visitor, case: str, tmp_path: Path) -> None:
    asked = CASES[case]
    paper = visitor.new_paper(topic=["back titration"], questions="2", level="structured", versions="AB")
    listed = {key: asked[key] for key in ("names", "numbers")}
    assert visitor.post(f"{paper}/class", {"seen": visitor.get(paper).seen, **listed}).status == 303
    taken = {key: held for key, held in asked.items() if key not in listed}
    made = visitor.post(f"{paper}/take", {"seen": visitor.get(paper).seen, **USUAL, **taken})
    files = visitor.files_of(made)
    folder = pages.pages.folder / f"paper-{int(paper.rpartition('/')[2]):03}"
    line = ["paper", str(folder / "paper.order.yaml"), "--to", str(tmp_path)]
    if (folder / "class.csv").exists():
        line += ["--class-list", str(folder / "class.csv")]
    assert main(line) == 0
    assert {one.name: one.read_bytes() for one in tmp_path.iterdir()} == files
    with zipfile.ZipFile(io.BytesIO(visitor.get(f"{made.headers['location']}/all").content)) as packed:
        assert {name: packed.read(name) for name in packed.namelist()} == files
    assert not re.search(
        r'(?:href|action)="[^"]*(?:quern|tollo|voss)', visitor.get(made.headers["location"]).text, re.IGNORECASE
    )


def test_a_paper_begins_with_the_order_or_the_record_of_an_earlier_one(visitor: Visitor) -> None:
    def shown(page: str) -> list[str]:
        return [one.partition("<details")[0] for one in re.findall(r'class="stem">(.*?)</details>', page, re.DOTALL)]

    paper = visitor.new_paper(topic=["back titration"], questions="2", level="structured", versions="AB")
    take = {"seen": visitor.get(paper).seen, **USUAL, "sheet": "questions", "form": "text"}
    files = visitor.files_of(visitor.post(f"{paper}/take", take))
    before = shown(visitor.get(paper).text)
    assert len(before) == 2
    for ending in (".order.yaml", "-record.jsonl"):
        (content,) = (held for name, held in files.items() if name.endswith(ending))
        again = visitor.send("/open", {}, [("order", "whatever", content)])
        assert shown(visitor.follow(again).text) == before
        assert again.headers["location"] != paper


def test_what_is_being_made_can_be_stopped_and_leaves_nothing(pages: Pages, visitor: Visitor) -> None:
    paper = visitor.new_paper(topic=["back titration"], questions="3", level="structured")
    names = "\n".join(f"Pupil {at}" for at in range(400))
    assert (
        visitor.post(f"{paper}/class", {"seen": visitor.get(paper).seen, "names": names, "numbers": "own"}).status
        == 303
    )
    made = visitor.post(
        f"{paper}/take", {"seen": visitor.get(paper).seen, **USUAL, "sheet": ["questions", "worked"], "form": "pdf"}
    )
    at = made.headers["location"]
    assert "being made" in visitor.get(at).text
    assert visitor.get(at).headers["refresh"] == "1"
    assert visitor.get(paper).status == 200  # other pages are answered meanwhile
    assert visitor.post(f"{at}/stop", {}).status == 303
    job = pages.pages.room.jobs.find(int(at.rpartition("/")[2]))
    job.thread.join(30)
    assert "It was stopped" in visitor.get(at).text
    assert not job.folder.exists()
    assert visitor.get(f"{at}/file/1").status == 404


def test_a_search_for_marks_tells_how_far_it_is_and_can_be_stopped(
    pages: Pages, visitor: Visitor, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(papers_pages, "SOON_S", 0.0)
    before = {one.name for one in pages.pages.folder.iterdir()}
    asked = {"topic": "redox", "marks": "280", "level": "structured"}
    at = visitor.post("/new", asked).headers["location"]
    shown = visitor.get(at)
    assert shown.headers["refresh"] == "1"
    assert "The paper is being put together" in shown.text
    assert visitor.post(f"{at}/stop", {}).status == 303
    pages.pages.room.jobs.find(int(at.rpartition("/")[2])).thread.join(30)
    over = visitor.get(at)
    assert "It was stopped. No paper was made." in over.text
    assert 'name="marks" type="number" value="280"' in over.text  # what was asked for stands there still
    assert {one.name for one in pages.pages.folder.iterdir()} == before


def test_a_job_that_makes_files_is_no_search(visitor: Visitor) -> None:
    paper = visitor.new_paper(kind="direct-purity", questions="1")
    taken = {"seen": visitor.get(paper).seen, **USUAL, "sheet": "questions", "form": "text"}
    at = visitor.post(f"{paper}/take", taken).headers["location"]
    looked = f"/looking/{at.rpartition('/')[2]}"
    for got in (visitor.get(looked), visitor.post(f"{looked}/stop", {})):
        assert got.status == 404
        assert "No paper is looked for under this number" in got.text


def test_a_total_out_of_reach_is_refused_with_the_sentence_of_the_command(
    visitor: Visitor, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    asked = ("--questions", "2", "--marks", "90")
    assert main(["paper", "bleach", *asked, "--seed", "1", "--to", str(tmp_path)]) == 1
    told = capsys.readouterr().err
    order = "kinds: bleach\nquestions: 2\nmarks: 90\nseed: 1\n"
    got = visitor.looked_for(visitor.send("/open", {}, [("order", "x", order.encode())]))
    assert got.status == 400
    sentence = re.findall(r"<p>(No paper of 90 marks [^<]*)</p>", got.text)[0]
    assert sentence[1:] in told.replace("\n", " ")
    assert "the largest total found" in sentence


CANNOT_BE: tuple[dict[str, str | list[str]], ...] = (
    {},
    {"sheet": "questions"},
    {"sheet": "questions", "form": "exe"},
    {"sheet": "secret", "form": "pdf"},
    {"sheet": "questions", "form": ["pdf", "latex"], "look": "large"},
)


@pytest.mark.parametrize("taken", CANNOT_BE)
def test_what_cannot_be_made_is_said(visitor: Visitor, taken: dict[str, str | list[str]]) -> None:
    paper = visitor.new_paper(kind="direct-purity", questions="1")
    got = visitor.post(f"{paper}/take", {"seen": visitor.get(paper).seen, **USUAL, **taken})
    assert got.status == 400
    assert "could not be done" in got.text


def test_sheets_stand_in_frames_that_may_do_nothing(visitor: Visitor) -> None:
    paper = visitor.new_paper(kind="direct-purity", questions="1")
    sheet = visitor.get(f"{paper}/sheet/worked/html/0")
    assert "sandbox" in sheet.headers["content-security-policy"]
    assert "script" not in sheet.headers["content-security-policy"]
    assert visitor.get(f"{paper}/sheet/marking/pdf/0").content.startswith(b"%PDF")


def test_the_pages_know_no_chemistry() -> None:
    for name in MODULES:
        if name.startswith("browser"):
            assert not re.search(r"\b(?:HCl|NaOH|CaCO3|mol dm|titrant|burette)\b", MODULES.source(name)), name
