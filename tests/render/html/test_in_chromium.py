"""The HTML form as headless Chromium lays it out and axe judges it: a dozen sheets, with one browser for all."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import pypdf
import pytest

from molewright.bank.definitions import Bank
from molewright.derivation.plans import Plans
from molewright.marking.files import mark_answers
from molewright.marking.report import class_report
from molewright.nodes.blocks import Heading, Sheet
from molewright.order.front import Front
from molewright.order.order import Order, Wanted
from molewright.order.pupils import Pupil
from molewright.papers.making import PaperMaker
from molewright.papers.record.writer import record
from molewright.render import fragment, renderer
from molewright.sheet.data_sheet import data_sheet
from shared.chromium import DESK, TELEPHONE, TWICE, chromium, needs_chromium, shown, sticks_out, violations
from shared.every_node import everything, sheet, words
from shared.pictures import FIGURES
from shared.records import write_record

if TYPE_CHECKING:
    from playwright.sync_api import Browser

pytestmark = [pytest.mark.browser, needs_chromium]
render = renderer("html").render

SCAFFOLDED = ("back-portions", "direct-purity", "burette-readings")
STRETCHED = ("ph-curve", "thermometric-titration", "back-portions-uncertainty", "back-portions-dibasic")
NAMES = (
    "scaffolded questions",
    "scaffolded scheme",
    "scaffolded worked",
    "scaffolded key",
    "stretch questions",
    "stretch scheme",
    "stretch worked",
    "faded questions",
    "cover questions",
    "data",
    "report",
    "every node",
    "every figure",
    "extra-large questions",
    "extra-large every node",
    "wide-set worked",
)


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with chromium() as started:
        yield started


@pytest.fixture(scope="module")
def sheets(bank: Bank, plans: Plans, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Sheet]:
    def maker(level: str, *keys: str) -> PaperMaker:
        return PaperMaker(bank, Order(seed=11, count=len(keys), level=level, archetypes=keys), plans)

    first = maker("scaffolded", *SCAFFOLDED)
    paper = first.paper(Wanted(), "A", Pupil(name="Ilsa <b>Quern</b>"))
    made, stretched = paper.composer, maker("stretch", *STRETCHED).paper(Wanted(), "B").composer
    covered = maker("exam", "silver-back").paper(Wanted(front=Front(page="cover")), "A").composer
    series = (
        PaperMaker(bank, Order(seed=3, count=5, level="faded", archetypes=("back-portions",)), plans)
        .paper(Wanted(), "A")
        .composer
    )
    folder = tmp_path_factory.mktemp("marked")
    write_record(first, folder, [record(paper)])
    rows = [
        "code,pupil,question,part,answer",
        f"{paper.code},Ilsa,1,,94",
        f"{paper.code},Bram,1,,9.4",
        f"{paper.code},Tove,2,,twelve",
    ]
    (folder / "answers.csv").write_text("\n".join(rows), "utf-8")
    report = class_report([mark_answers(folder / "answers.csv", bank, plans)[0]])
    held = (
        made.question_paper(),
        made.mark_scheme(),
        made.worked_solutions(),
        made.answers(),
        stretched.question_paper(),
        stretched.mark_scheme(),
        stretched.worked_solutions(),
        series.question_paper(),
        covered.question_paper(),
        data_sheet([made], "K7"),
        report,
        everything(),
        sheet(*(one for name, figure in FIGURES.items() for one in (Heading(2, words(name)), figure))),
    )
    looks = (
        replace(made.question_paper(), look="extra-large", tint="cream"),
        replace(everything(), look="extra-large"),
        replace(stretched.worked_solutions(), look="wide-set", tint="blue"),
    )
    return dict(zip(NAMES, (*held, *looks), strict=True))


@pytest.fixture(params=NAMES)
def page_of(request: pytest.FixtureRequest, sheets: dict[str, Sheet]) -> bytes:
    return render(sheets[request.param])


OPEN = "() => document.querySelectorAll('details').forEach(one => { one.open = true; })"


def test_axe_finds_nothing_and_nothing_sticks_out(page_of: bytes, browser: Browser, tmp_path: Path) -> None:
    with shown(browser, page_of, tmp_path) as page:
        page.evaluate(OPEN)
        assert violations(page) == []
        for width in (DESK, TWICE, TELEPHONE):
            page.set_viewport_size({"width": width, "height": 900})
            assert sticks_out(page) == [0], f"at {width}"


@pytest.mark.parametrize("name", ["scaffolded questions", "stretch worked", "data"])
def test_axe_finds_nothing_in_the_dark_and_on_a_telephone(
    name: str, sheets: dict[str, Sheet], browser: Browser, tmp_path: Path
) -> None:
    with shown(browser, render(sheets[name]), tmp_path, TELEPHONE, dark=True) as page:
        page.evaluate(OPEN)
        assert (
            page.evaluate("getComputedStyle(document.querySelector('.molewright')).backgroundColor")
            == "rgb(23, 27, 29)"
        )
        assert violations(page) == []


def test_steps_open_by_keyboard_one_by_one(sheets: dict[str, Sheet], browser: Browser, tmp_path: Path) -> None:
    with shown(browser, render(sheets["scaffolded worked"]), tmp_path) as page:
        steps = page.locator("details")
        assert steps.count() > 8
        assert not page.locator("details[open]").count()
        first = steps.first.locator("div").first
        assert not first.is_visible()
        for key, opened in (("Enter", 1), ("Space", 2)):
            page.keyboard.press("Tab")
            while page.evaluate("document.activeElement.tagName") != "SUMMARY":  # a picture in a step is stopped at too
                page.keyboard.press("Tab")
            page.keyboard.press(key)
            assert first.is_visible()
            assert page.locator("details[open]").count() == opened


def test_every_step_is_open_on_paper_and_every_page_has_the_code(
    sheets: dict[str, Sheet], browser: Browser, tmp_path: Path
) -> None:
    worked = sheets["scaffolded worked"]
    with shown(browser, render(worked), tmp_path) as page:
        page.evaluate(OPEN)
        steps = page.locator("details").all_inner_texts()
        page.evaluate("() => document.querySelectorAll('details').forEach(one => { one.open = false; })")
        printed = pypdf.PdfReader(io.BytesIO(page.pdf(prefer_css_page_size=True)))
    pages = ["".join(one.extract_text().split()) for one in printed.pages]
    assert [round(float(side)) for side in printed.pages[0].mediabox[2:]] == [595, 842]
    for number, text in enumerate(pages, 1):
        assert worked.code in text
        assert f"page{number}of{len(pages)}" in text
    text = "".join(pages)
    numbers = [number for step in steps for number in re.findall(r"[0-9]+\.[0-9]+", step)]
    assert len(numbers) > 20
    assert [number for number in numbers if number not in text] == []


def test_markup_in_a_name_is_shown_as_it_was_typed(sheets: dict[str, Sheet], browser: Browser, tmp_path: Path) -> None:
    with shown(browser, render(sheets["scaffolded questions"]), tmp_path) as page:
        assert page.locator(".filled").first.inner_text().split("\n") == ["Name", "Ilsa <b>Quern</b>"]


def test_nothing_runs_even_where_somebody_has_put_a_script(
    sheets: dict[str, Sheet], browser: Browser, tmp_path: Path
) -> None:
    smuggled = render(sheets["data"]).replace(b"</main>", b"<script>document.title = 'run'</script></main>")
    with pytest.raises(AssertionError, match="Content Security Policy"), shown(browser, smuggled, tmp_path) as page:
        assert page.title() != "run"


STACKED = """() => [...document.querySelectorAll('mfrac')].map(one => {
  const [top, bottom] = [...one.children].map(row => row.getBoundingClientRect());
  return top.bottom <= bottom.top + 2 && Math.abs(top.left + top.right - bottom.left - bottom.right) < 3;
})"""


def test_working_is_set_as_mathematics(sheets: dict[str, Sheet], browser: Browser, tmp_path: Path) -> None:
    with shown(browser, render(sheets["stretch scheme"]), tmp_path) as page:
        stacked = page.evaluate(STACKED)
    assert len(stacked) > 5
    assert all(stacked)


OUT_OF_THE_DRAWING = """() => [...document.querySelectorAll('figure > svg')].flatMap(svg => {
  const box = svg.getBoundingClientRect();
  return [...svg.querySelectorAll('text')].filter(one => {
    const own = one.getBoundingClientRect();
    return own.left < box.left - 6 || own.right > box.right + 6 || own.bottom > box.bottom + 6;
  }).map(one => one.textContent);
})"""


@pytest.mark.parametrize("name", ["every figure", "stretch worked", "stretch questions"])
def test_words_of_figures_keep_to_their_drawings(
    name: str, sheets: dict[str, Sheet], browser: Browser, tmp_path: Path
) -> None:
    with shown(browser, render(sheets[name]), tmp_path) as page:
        assert page.locator("figure text").count() > 10
        assert page.evaluate(OUT_OF_THE_DRAWING) == []


SIZES = """() => {
  const size = one => parseFloat(getComputedStyle(one).fontSize);
  const drawn = one => size(one) * one.ownerSVGElement.clientWidth / one.ownerSVGElement.viewBox.baseVal.width;
  return [size(document.querySelector('main')), ...[...document.querySelectorAll('main :is(p, li, td, th, h2)')].map(size),
    ...[...document.querySelectorAll('svg > g > text')].map(drawn)];
}"""


@pytest.mark.parametrize(("name", "pixels"), [("extra-large questions", 32), ("wide-set worked", 17)])
def test_nothing_is_smaller_than_the_text_of_a_look(
    name: str, pixels: float, sheets: dict[str, Sheet], browser: Browser, tmp_path: Path
) -> None:
    with shown(browser, render(sheets[name]), tmp_path) as page:
        page.evaluate(OPEN)
        body, *others = page.evaluate(SIZES)
        slanted = page.evaluate(
            "() => [...document.querySelectorAll('main *')].filter(one => getComputedStyle(one).fontStyle === 'italic').length"
        )
    assert body >= pixels
    assert len(others) > 40
    assert min(others) >= 0.9 * body  # a figure no wider than its column
    assert (slanted == 0) == (name == "wide-set worked")


LOOK = """() => ['h2', 'p', 'td', 'body', 'details'].map(one => {
  const look = getComputedStyle(document.querySelector(one));
  return [...look].filter(key => !/size|height|width|origin/.test(key)).map(key => key + look[key]).join();
})"""


def test_a_shown_question_changes_nothing_of_a_notebook(browser: Browser, tmp_path: Path) -> None:
    mine = "<h2>Mine</h2><p>Of mine.</p><table><td>x</table><details><summary>So</summary>y</details>"
    around = f"<!DOCTYPE html><html lang='en'><title>Notes</title><main>{mine}</main>"
    with shown(browser, around.encode(), tmp_path) as page:
        before = page.evaluate(LOOK)
    with shown(browser, (around + fragment(everything())).encode(), tmp_path) as page:
        assert page.evaluate(LOOK) == before
        assert page.locator(".molewright h1").first.inner_text() == "Limestone"
