"""Whole jobs in a real browser, from an empty folder to files on disk: with the mouse, by keyboard, without script, on a telephone.

Nothing that a page says on its console, and nothing that axe finds, passes.
"""

from __future__ import annotations

import io
import re
import time
import zipfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from molewright.browser.jobs import Came
from molewright.cli import main
from molewright.order.order_file import read_order
from shared.chromium import DESK, TELEPHONE, chromium, needs_chromium, sticks_out, violations
from shared.pages import Pages, pages_of

if TYPE_CHECKING:
    from playwright.sync_api import Browser, BrowserContext, Locator, Page, Route

    from molewright.browser.jobs import Progress

pytestmark = [pytest.mark.browser, needs_chromium]

CLASS = "name,level\nIlsa Quern,scaffolded\nBram Tollo,structured\nEdda Voss,exam\n"


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with chromium() as started:
        yield started


@contextmanager
def window(browser: Browser, pages: Pages, **settings: object) -> Iterator[Page]:
    """A page of a browser that was let in. Fails where anything is said on its console, or is asked of another machine."""
    context: BrowserContext = browser.new_context(**{"viewport": {"width": DESK, "height": 900}, **settings})
    name, _, value = pages.inside.cookie.partition("=")
    context.add_cookies([{"name": name, "value": value, "url": pages.base}])
    page = context.new_page()
    said: list[str] = []
    page.on("pageerror", lambda error: said.append(str(error)))
    page.on(
        "console", lambda message: said.append(message.text) if "the server responded" not in message.text else None
    )
    page.on(
        "request", lambda asked: said.append(asked.url) if not asked.url.startswith((pages.base, "blob:")) else None
    )
    try:
        page.goto(pages.base)
        yield page
        assert said == []
    finally:
        context.close()


def made(page: Page) -> None:
    """Wait for a paper that was asked for: a search for its questions may take a while."""
    page.wait_for_url("**/paper/*", timeout=60_000)


def _shown_once(route: Route) -> None:
    """The page as it is, which does not ask for itself again."""
    got = route.fetch()
    route.fulfill(response=got, headers={key: text for key, text in got.headers.items() if key != "refresh"})


def lines_of(pages: Pages, page: Page) -> tuple[object, ...]:
    """The lines of the order that stands on disk for the paper of a page."""
    number = int(re.findall(r"/paper/(\d+)", page.url)[0])
    return read_order(pages.pages.folder / f"paper-{number:03}" / "paper.order.yaml", lambda: 0)[0].lines


def test_a_newcomer_makes_the_differentiated_homework_in_eleven_clicks(browser: Browser, pages: Pages) -> None:
    clicks = 0

    def click(what: Locator) -> None:
        nonlocal clicks
        clicks += 1
        what.click()

    with window(browser, pages) as page:
        for topic in ("direct titration (", "back titration ("):
            click(page.get_by_label(topic))
        for level in ("scaffolded", "structured", "exam: one demand"):
            click(page.get_by_label(level))
        click(page.get_by_role("button", name="Make the paper"))
        made(page)
        click(page.get_by_role("link", name="Class", exact=True))
        page.get_by_label("Names").fill(CLASS)
        click(page.get_by_role("button", name="Keep the class"))
        click(page.get_by_role("link", name="Take away"))
        click(page.get_by_role("button", name="Make the files"))
        with page.expect_download(timeout=60_000) as got:
            click(page.get_by_role("link", name="in one ZIP"))
        with zipfile.ZipFile(got.value.path()) as packed:
            names = packed.namelist()
    assert clicks <= 11
    assert {name.rpartition("-")[2] for name in names} >= {"questions.pdf", "scheme.pdf", "answers.xlsx"}


def test_a_department_makes_its_mock_paper_and_its_files_are_those_of_the_command(
    browser: Browser, pages: Pages, tmp_path: Path
) -> None:
    with window(browser, pages) as page:
        page.get_by_label("redox (").check()
        page.get_by_label("back titration (").check()
        page.get_by_label("or exactly so many marks").fill("40")
        page.get_by_label("Versions").fill("ABC")
        page.get_by_label("exam: one demand").check()
        page.get_by_role("button", name="Make the paper").click()
        made(page)
        assert "40 marks" in page.locator("#totals").inner_text()
        page.get_by_role("link", name="Title and levels").click()
        page.get_by_label("Title", exact=True).fill("Mock examination: titrations")
        page.get_by_label("Stands as").select_option("a cover of its own")
        page.get_by_label("Minutes given").fill("50")
        page.get_by_label("A line above the title").fill("Quernholm School")
        page.get_by_label("candidate number").check()
        page.get_by_label("Instructions of your own").fill("Answer all questions.")
        page.get_by_role("button", name="Keep this").click()
        page.get_by_text("Kept.").wait_for()
        page.get_by_role("link", name="Questions", exact=True).click()
        page.get_by_role("navigation", name="Questions on this paper").get_by_role("link").last.click()
        page.get_by_text("Change question 1", exact=True).click()
        page.locator("#scene-1").click()
        page.wait_for_function("() => document.getElementById('undo').textContent.includes('another scene')")
        page.get_by_role("link", name="As printed").click()
        sheet = page.frame_locator('iframe[title="Question paper"]')
        sheet.get_by_text("Quernholm School").first.wait_for()
        sheet.get_by_text("Answer all questions.").first.wait_for()
        page.get_by_role("link", name="Take away").click()
        for form in ("for a word processor", "PDF, to print"):
            page.get_by_label(form).check()
        page.get_by_label("Marking sheet").check()
        page.get_by_role("button", name="Make the files").click()
        with page.expect_download(timeout=60_000) as got:
            page.get_by_role("link", name="in one ZIP").click()
        with zipfile.ZipFile(got.value.path()) as packed:
            files = {name: packed.read(name) for name in packed.namelist()}
        number = int(re.findall(r"/paper/(\d+)", page.url)[0])
    order = pages.pages.folder / f"paper-{number:03}" / "paper.order.yaml"
    assert main(["paper", str(order), "--to", str(tmp_path)]) == 0
    assert {one.name: one.read_bytes() for one in tmp_path.iterdir()} == files
    assert sum(name.endswith("-questions.pdf") for name in files) == 3


def test_lines_and_yaml_of_an_experiment_say_the_same_whichever_is_typed(browser: Browser, pages: Pages) -> None:
    with window(browser, pages) as page:
        page.goto(pages.base + pages.inside.new_paper(kind="direct-purity", questions="1") + "/add/1/experiment")
        page.get_by_role("button", name="Measure").click()
        page.get_by_label("volume").fill("25.0 cm3")
        page.wait_for_function("() => document.getElementById('yaml').value.includes('25.0 cm3')")
        yaml = page.locator("#yaml").input_value().replace("25.0 cm3", "20.0 cm3")
        page.locator("#yaml").fill(yaml)
        page.wait_for_function("() => document.getElementById('op-0-volume').value === '20.0 cm3'")
        page.get_by_label("volume").fill("10.0 cm3")
        page.wait_for_function("() => document.getElementById('yaml').value.includes('10.0 cm3')")


def test_a_sheet_is_white_paper_in_the_dark_too(browser: Browser, pages: Pages) -> None:
    paper = pages.inside.new_paper(kind="direct-purity", questions="1", level="structured")
    with window(browser, pages, color_scheme="dark") as page:
        page.goto(f"{pages.base}{paper}/print")
        sheet = page.frame_locator('iframe[title="Question paper"]').locator(".molewright").first
        sheet.wait_for()
        assert sheet.evaluate("one => getComputedStyle(one).backgroundColor") == "rgb(255, 255, 255)"
        page.goto(f"{pages.base}{paper}")
        assert page.get_by_role("heading", level=2).count() == 1  # of the one question: its own heading, and no other


def test_in_front_of_a_class_words_in_pictures_are_as_large_as_the_text_on_a_page(
    browser: Browser, pages: Pages
) -> None:
    paper = pages.inside.new_paper(kind="burette-readings", questions="1", level="structured")
    heights = """() => [...document.querySelectorAll('.stem svg text')].map(one => {
      return parseFloat(getComputedStyle(one).fontSize) * one.getScreenCTM().a;
    })"""
    with window(browser, pages) as page:
        page.goto(f"{pages.base}{paper}/front/1")
        assert min(page.evaluate(heights)) >= 15  # pixels, at 1200 of width; text on a page has 17
        assert sticks_out(page) == [0]


def test_a_question_is_changed_six_times_and_each_step_is_taken_back(browser: Browser, pages: Pages) -> None:
    with window(browser, pages) as page:
        page.get_by_label("or exactly so many marks").fill("30")
        page.get_by_label("Versions").fill("AB")
        page.get_by_role("button", name="Make the paper").click()
        made(page)
        assert "30 marks" in page.locator("#totals").inner_text()
        first = lines_of(pages, page)
        page.get_by_text("Change question 2").click()
        for what in (
            "Other numbers",
            "Another scene",
            "Less support",
            "Another kind like it",
            "Move up",
            "Other numbers",
        ):
            before = page.locator('input[name="seen"]').first.get_attribute("value")
            page.locator("details[open]").get_by_role("button", name=what).click()
            page.wait_for_function("seen => document.querySelector('input[name=seen]').value !== seen", arg=before)
        assert lines_of(pages, page) != first
        for _ in range(6):
            page.locator("#undo").click()
        assert page.locator("#undo").is_disabled()
        assert lines_of(pages, page) == first
        page.reload()
        assert lines_of(pages, page) == first
        page.go_back()
        assert page.locator("h1").first.is_visible()


def test_numbers_that_are_unsound_are_told_while_they_are_typed(browser: Browser, pages: Pages) -> None:
    with window(browser, pages) as page:
        page.get_by_label("Look for kinds").fill("limestone")
        page.get_by_role("button", name="Look", exact=True).click()
        page.get_by_label("Back titration of portions back titration").check()
        page.get_by_label("Questions", exact=True).fill("1")
        page.get_by_role("button", name="Make the paper").click()
        page.get_by_text("Change question 1").click()
        page.get_by_role("link", name="My own numbers").click()
        page.get_by_label("titre of").fill("99.00")
        page.get_by_text("Not sound").wait_for()
        page.get_by_label("titre of").fill("24.35")
        page.get_by_text("comes out at").wait_for()
        page.get_by_role("button", name="Keep them").click()
        page.get_by_text("1 number of your own").wait_for()
        assert "24.35 cm³" in dict(lines_of(pages, page)[0].numbers).values()  # type: ignore[attr-defined]


def test_a_class_is_marked_as_it_is_typed_and_what_is_pending_is_settled(browser: Browser, pages: Pages) -> None:
    with window(browser, pages) as page:
        page.goto(
            pages.base + pages.inside.new_paper(kind="direct-portion-describe", questions="1", level="structured")
        )
        page.get_by_role("link", name="Mark", exact=True).click()
        cells = page.locator('input[name^="a-0-"]')
        cells.first.wait_for()
        for at in range(cells.count()):
            cells.nth(at).fill("0.123")
            page.wait_for_function("at => document.getElementById(`said-0-${at}`).textContent.trim() !== ''", arg=at)
        page.reload()
        assert cells.first.input_value() == "0.123"
        page.get_by_role("button", name="Mark them all").click()
        given = page.locator('input[name^="m"]')
        given.first.wait_for()
        for at in range(given.count()):
            given.nth(at).fill("1")
        page.get_by_role("button", name="Give these marks").click()
        page.get_by_text("Kept.").wait_for()
        page.get_by_label("plain text").check()
        page.get_by_role("button", name="Report, strips").click()
        with page.expect_download(timeout=60_000) as got:
            page.get_by_role("link", name="in one ZIP").click()
        packed = zipfile.ZipFile(io.BytesIO(Path(got.value.path()).read_bytes()))
        assert any(name.startswith("class-report") for name in packed.namelist())


def test_answers_typed_row_after_row_are_all_kept_and_judged(browser: Browser, pages: Pages) -> None:
    """However soon somebody goes on: to the next row, or to another page."""
    with window(browser, pages) as page:
        page.goto(f"{pages.base}{pages.inside.new_paper(kind='direct-purity', questions='1', level='structured')}/mark")
        for row in range(3):
            page.locator(f'input[name="a-{row}-0"]').fill(f"0.{row + 1}")
        for row in range(3):
            page.wait_for_function("row => document.getElementById(`said-${row}-0`).textContent.trim()", arg=row)
        page.locator('input[name="a-3-0"]').fill("0.4")
        page.get_by_role("link", name="Class", exact=True).click()
        page.get_by_role("link", name="Mark", exact=True).click()
        typed = [page.locator(f'input[name="a-{row}-0"]').input_value() for row in range(4)]
        assert typed == ["0.1", "0.2", "0.3", "0.4"]


def tabbed_to(page: Page, wanted: Locator) -> None:
    """Press Tab until the focus is there; the page is no longer than that."""
    there = wanted.element_handle()
    for _ in range(220):
        if page.evaluate("one => document.activeElement === one", there):
            return
        page.keyboard.press("Tab")
    raise AssertionError(f"the keyboard does not reach {wanted}")


def test_the_keyboard_alone_is_enough(browser: Browser, pages: Pages) -> None:
    with window(browser, pages) as page:

        def press(wanted: Locator, key: str = "Enter") -> None:
            tabbed_to(page, wanted)
            outlined = page.evaluate("getComputedStyle(document.activeElement).outlineStyle")
            assert outlined != "none"
            page.keyboard.press(key)

        press(page.get_by_label("redox ("), "Space")
        press(page.get_by_role("button", name="Make the paper"))
        page.wait_for_url("**/paper/*")
        press(page.get_by_text("Change question 1"))
        before = lines_of(pages, page)
        press(page.locator("#numbers-1"))
        page.wait_for_function("() => !document.getElementById('undo').disabled")
        assert lines_of(pages, page) != before
        assert page.evaluate("document.activeElement.id") == "numbers-1"
        press(page.get_by_role("link", name="In front of the class"))
        press(page.locator("#next"))
        page.wait_for_selector("#newest")
        press(page.get_by_role("link", name="Take away"))
        press(page.get_by_role("button", name="Make the files"))
        page.get_by_role("link", name="in one ZIP").wait_for(timeout=60_000)


def test_without_script_everything_works(browser: Browser, pages: Pages) -> None:
    with window(browser, pages, java_script_enabled=False) as page:
        page.get_by_label("silver (").check()
        page.get_by_label("Questions", exact=True).fill("2")
        page.get_by_role("button", name="Make the paper").click()
        made(page)
        first = lines_of(pages, page)
        page.get_by_text("Change question 2").click()
        for what in ("Other numbers", "More support"):
            page.locator("details[open]").get_by_role("button", name=what).click()
        assert lines_of(pages, page) != first
        for _ in range(2):
            page.locator("#undo").click()
        assert lines_of(pages, page) == first
        page.get_by_text("Change question 1").click()
        page.locator("details[open]").get_by_role("link", name="My own numbers").click()
        page.locator("#n1").fill("0.0001")
        page.get_by_role("button", name="Try them").click()
        assert page.locator("#told").inner_text().strip() != ""
        page.get_by_role("link", name="Mark", exact=True).click()
        page.locator('input[name="a-0-0"]').fill("12.3")
        page.get_by_role("button", name="Keep and judge").click()
        assert page.locator("#said-0-0").inner_text().strip() != ""
        page.get_by_role("link", name="Take away").click()
        page.get_by_role("button", name="Make the files").click()
        page.get_by_role("link", name="in one ZIP").wait_for(timeout=60_000)


def test_another_window_is_told_and_nothing_is_overwritten(browser: Browser, pages: Pages) -> None:
    with window(browser, pages) as one, window(browser, pages) as other:
        one.get_by_label("EDTA (").check()
        one.get_by_role("button", name="Make the paper").click()
        made(one)
        other.goto(one.url)
        for page in (one, other):
            page.get_by_text("Change question 1").click()
        one.locator("#numbers-1").click()
        one.wait_for_function("() => !document.getElementById('undo').disabled")
        held = lines_of(pages, one)
        other.locator("#remove-1").click()
        other.get_by_role("alert").wait_for()
        assert "changed since the page was shown" in other.get_by_role("alert").inner_text()
        assert lines_of(pages, one) == held
        other.locator("#scene-1").click()  # the page is that of now
        other.wait_for_function("() => !document.querySelector('.wrong')")


def test_the_program_may_be_started_anew_between_two_clicks(browser: Browser, tmp_path: Path) -> None:
    with pages_of(tmp_path) as pages:
        port, cookie = pages.port, pages.inside.cookie
        context = browser.new_context()
        page = context.new_page()
        context.add_cookies([{"name": cookie.partition("=")[0], "value": cookie.partition("=")[2], "url": pages.base}])
        page.goto(pages.base)
        page.get_by_label("dilution (").check()
        page.get_by_role("button", name="Make the paper").click()
        made(page)
        page.get_by_text("Change question 1").click()
    with pages_of(tmp_path, port, cookie) as pages:
        page.locator("#numbers-1").click()
        page.wait_for_function("() => !document.getElementById('undo').disabled")
        page.locator("#undo").click()
        page.get_by_role("button", name="Do again").wait_for()
        context.close()


VIEWS: dict[str, Callable[[str], str]] = {
    "start": lambda paper: "/?find=limestone&topic=redox",
    "questions": lambda paper: f"{paper}?open=1",
    "add": lambda paper: f"{paper}/add/1?find=purity",
    "words": lambda paper: f"{paper}/question/2/words",
    "experiment": lambda paper: f"{paper}/question/3/experiment",
    "numbers": lambda paper: f"{paper}/question/1/numbers",
    "head": lambda paper: f"{paper}/head",
    "class": lambda paper: f"{paper}/class",
    "print": lambda paper: f"{paper}/print",
    "take": lambda paper: f"{paper}/take",
    "mark": lambda paper: f"{paper}/mark",
    "front": lambda paper: f"{paper}/front/1?open=3",
    "nowhere": lambda paper: "/nowhere",
}


@pytest.fixture(scope="module")
def every_kind(pages: Pages) -> tuple[str, dict[str, str]]:
    """A paper with a question of each kind, and the addresses of files and of marked answers."""
    visitor = pages.inside
    paper = visitor.new_paper(
        kind=["back-portions", "burette-readings"], questions="1", level=["structured", "exam"], versions="AB"
    )
    own = {"text": "Why is it rinsed?", "answer": "To carry all of it over.", "marks": "2", "lines": "3"}
    assert visitor.post(f"{paper}/add/1/words", {"seen": visitor.get(paper).seen, **own}).status == 303
    text = (
        "experiment: Vinegar\nprocedure:\n  - measure: {solution: CH3COOH, volume: 25.0 cm3}\n"
        "  - titrate: {with: NaOH, concentration: 0.100 mol dm-3, titre: 24.35 cm3}\nasked: concentration of CH3COOH\n"
    )
    got = visitor.post(f"{paper}/add/2/experiment", {"seen": visitor.get(paper).seen, "yaml": text, "do": "keep"})
    assert got.status == 303, got.text
    take = {"sheet": "questions", "form": "text", "look": "usual", "space": "normal"}
    made = visitor.post(f"{paper}/take", {"seen": visitor.get(paper).seen, **take})
    visitor.files_of(made)
    visitor.get(f"{paper}/mark")
    marked = visitor.post(f"{paper}/mark", {"all": "yes", "rows": "4", "a-0-0": "1.0", "a-0-1": "2.5"})
    assert marked.status == 303, marked.text
    looking = pages.pages.room.jobs.begin(_never_over)
    return paper, {
        "made": made.headers["location"],
        "marked": marked.headers["location"],
        "looking": f"/looking/{looking.number}",
    }


def _never_over(folder: Path, progress: Progress) -> Came:
    """A search that goes on until it is stopped."""
    while True:
        progress(30, 1000)
        time.sleep(0.05)


@pytest.mark.parametrize(("scheme", "width"), [("light", DESK), ("dark", TELEPHONE)], ids=["light", "dark"])
def test_every_view_is_there_for_everybody(
    browser: Browser, pages: Pages, every_kind: tuple[str, dict[str, str]], scheme: str, width: int
) -> None:
    """By the rules in the light on a desk and in the dark on a telephone; nothing sticks out or is hard to hit on either."""
    paper, more = every_kind
    addresses = {**{name: made(paper) for name, made in VIEWS.items()}, **more}
    found: dict[str, list[object]] = {}
    with window(browser, pages, viewport={"width": width, "height": 844}, color_scheme=scheme) as page:
        page.route("**/looking/*", _shown_once)
        for name, address in addresses.items():
            page.goto(pages.base + address)
            wrong: list[object] = violations(page)
            over = sticks_out(page)
            if over[0] > 0 or over[1:]:
                wrong += over
            small = page.evaluate(
                "() => [...document.querySelectorAll('button, .button, select, input:not([type=hidden], [type=checkbox])')]"
                ".filter(one => one.getClientRects().length && one.getBoundingClientRect().height < 40).map(one => one.outerHTML)"
            )
            if wrong or small:
                found[name] = [*wrong, *small]
    assert found == {}
