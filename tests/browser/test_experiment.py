"""An experiment is described in a form that grows, or in YAML: worked out as `solve` does it, and put on the paper."""

from __future__ import annotations

import html
import re

import pytest

from shared.pages import Visitor

LINES = (
    ("weigh", {"sample": "stone", "contains": "CaCO3", "mass": "1.264 g"}),
    ("add excess", {"solution": "HCl", "volume": "50.0 cm3", "concentration": "1.00 mol dm-3"}),
    ("react", {"reaction": "CaCO3 + 2HCl -> CaCl2 + CO2 + H2O", "excess": "HCl"}),
    ("make up", {"volume": "250 cm3"}),
    ("take aliquot", {"volume": "25.0 cm3"}),
    (
        "titrate",
        {
            "with": "NaOH",
            "concentration": "0.105 mol dm-3",
            "readings": "rough 0.00 to 25.40, 0.00 to 24.75, 0.50 to 25.35",
        },
    ),
)


@pytest.fixture(scope="module")
def paper(pages):  # type: ignore[no-untyped-def]
    return pages.inside.new_paper(kind="direct-purity", questions="1", level="structured")


def fields(page: str) -> dict[str, str]:
    """Every field of the form on the left, as a browser would send it."""
    form = page.partition('<form method="post"')[2].partition("</form>")[0]
    found = {
        name: html.unescape(value) for name, value in re.findall(r'<input[^>]*name="([^"]+)"[^>]*value="([^"]*)"', form)
    }
    return {**found, "rest": ""}


def test_the_form_grows_by_operations_and_its_experiment_is_put_on_the_paper(visitor: Visitor, paper: str) -> None:
    at = f"{paper}/add/1/experiment"
    page = visitor.get(at).text
    for number, (word, told) in enumerate(LINES):
        page = visitor.post(at, {**fields(page), "do": f"add:{word}"}).text
        grown = fields(page)
        assert grown[f"op-{number}"] == word
        grown |= {f"op-{number}-{key.replace(' ', '_')}": text for key, text in told.items()}
        page = visitor.post(at, {**grown, "do": "work"}).text
    last = {**fields(page), "experiment": "Limestone from the quarry", "asked": "percentage of CaCO3 in stone"}
    worked = visitor.post(at, {**last, "do": "work"})
    assert worked.status == 200
    assert "94.9" in worked.text
    assert "Sound" in worked.text or "It works out" in worked.text
    told = visitor.post(f"{at}/told", last).text
    assert "94.9" in told
    yaml = html.unescape(re.findall(r"<textarea[^>]*>\n(.*?)</textarea>", told, re.DOTALL)[0])
    assert "94.9" in visitor.post(f"{at}/told", {"yaml": yaml}).text
    kept = visitor.follow(visitor.post(at, {**last, "do": "keep"})).text
    assert "Limestone from the quarry" in kept
    edited = visitor.get(f"{paper}/question/2/experiment").text
    changed = {**fields(edited), "op-0-mass": "1.300 g"}
    again = visitor.post(f"{paper}/question/2/experiment", {**changed, "do": "keep"})
    assert "1.300" in visitor.follow(again).text


@pytest.mark.parametrize(
    ("what", "sentence"),
    [
        ({"op-0": "weigh", "op-0-sample": "stone", "asked": "x"}, "contains"),
        ({"op-0": "titrate", "op-0-with": "NaOH", "op-0-titre": "24.75 parsecs", "asked": "x"}, "24.75 parsecs"),
        ({"yaml": "procedure: [a"}, "YAML"),
        ({"yaml": "procedure: 3"}, "not a list"),
        ({"yaml": "&a [*a]"}, ""),
        ({"op-0": "make up", "op-0-volume": "[250", "asked": "x"}, "YAML"),
        ({"op-0": "make up", "op-0-more": "nonsense", "asked": "x"}, "key: text"),
    ],
)
def test_what_is_not_understood_is_said_while_it_is_typed(
    visitor: Visitor, paper: str, what: dict[str, str], sentence: str
) -> None:
    told = visitor.post(f"{paper}/add/1/experiment/told", what)
    assert told.status == 200
    assert "Not yet" in told.text
    assert sentence in html.unescape(told.text)
    kept = visitor.post(f"{paper}/add/1/experiment", {"seen": visitor.get(paper).seen, **what, "do": "keep"})
    assert kept.status == 422


def limewater(**other: str) -> dict[str, str]:
    return {
        "experiment": "Limewater", "op-0": "measure", "op-0-solution": "Ca(OH)2", "op-0-volume": "25.0 cm3",
        "op-1": "titrate", "op-1-with": "HCl", "op-1-concentration": "0.0300 mol dm-3", "op-1-titre": "27.60 cm3",
        "op-1-indicators": "methyl orange", "asked": "concentration of Ca(OH)2", "rest": "", **other,
    }  # fmt: skip


def test_the_heading_over_an_experiment_agrees_with_what_is_said_of_it(visitor: Visitor, paper: str) -> None:
    at = f"{paper}/add/1/experiment/told"
    assert "✓ Sound" in visitor.post(at, limewater()).text
    too_strong = visitor.post(at, limewater(**{"op-1-concentration": "1.50 mol dm-3"})).text
    assert "is saturated" in too_strong
    assert "Sound" not in too_strong
    refused = visitor.post(at, limewater(**{"op-1-titre": "27.60 parsecs"})).text
    assert 'class="outcome no"' in refused
    unheard = visitor.post(at, limewater(**{"op-1-indicators": "beetroot juice"})).text
    assert "beetroot juice is not told in the question" in unheard


def test_the_indicator_of_an_experiment_is_told_in_its_question(visitor: Visitor) -> None:
    paper = visitor.new_paper(kind="direct-purity", questions="1", level="structured")
    at = f"{paper}/add/1/experiment"
    kept = visitor.post(at, {**limewater(), "seen": visitor.get(paper).seen, "do": "keep"})
    assert "methyl orange" in visitor.follow(kept).text
    assert "methyl orange" in visitor.get(f"{paper}/sheet/questions/html/0").text
