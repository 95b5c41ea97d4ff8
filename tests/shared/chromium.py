"""HTML comes in; pages that headless Chromium has laid out go out: what tests know the HTML form by. Lets nothing reach the network."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

_PROGRAM = shutil.which("chromium") or "/usr/bin/chromium"
NO_CHROMIUM = not Path(_PROGRAM).exists() and not os.environ.get("CI")
needs_chromium = pytest.mark.skipif(NO_CHROMIUM, reason="chromium is not on this machine")
_ARGUMENTS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
DESK, TELEPHONE, TWICE = 1200, 390, 600  # widths in CSS pixels; 600 is a screen of 1200 at a zoom of 200 %

# What sticks out of the page at its right: nothing may but what lies in a box that scrolls.
_OVERFLOW = """() => {
  const wide = document.documentElement.clientWidth;
  const scrolls = one => {
    for (let up = one.parentElement; up; up = up.parentElement)
      if (getComputedStyle(up).overflowX !== 'visible') return true;
    return false;
  };
  const out = [...document.querySelectorAll('body *')].filter(
    one => one.getBoundingClientRect().right > wide + 1 && !scrolls(one));
  return [document.documentElement.scrollWidth - wide, ...out.map(one => one.outerHTML.slice(0, 90))];
}"""


@contextmanager
def chromium() -> Iterator[Browser]:
    """A browser, ended afterwards."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=_PROGRAM, args=list(_ARGUMENTS))
        try:
            yield browser
        finally:
            browser.close()


@contextmanager
def shown(browser: Browser, html: bytes, folder: Path, width: int = DESK, dark: bool = False) -> Iterator[Page]:
    """A page that shows the document at a width. Fails where it asks for another file, or says anything on its console."""
    path = folder / "sheet.html"
    path.write_bytes(html)
    page = browser.new_page(viewport={"width": width, "height": 900}, color_scheme="dark" if dark else "light")
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.on("console", lambda message: asked.append(message.text))
    page.on("pageerror", lambda error: asked.append(str(error)))
    try:
        page.goto(path.as_uri())
        yield page
        if asked != [path.as_uri()]:
            raise AssertionError(f"the page asked for or said more than itself: {asked[1:]}")
    finally:
        page.close()


def sticks_out(page: Page) -> list[Any]:
    """How many pixels the page is too wide, and what makes it so: [0] is what it should be."""
    found: list[Any] = page.evaluate(_OVERFLOW)
    return found


@cache
def _axe() -> Any:
    from axe_playwright_python.sync_playwright import Axe

    return Axe()


def violations(page: Page) -> list[str]:
    """What axe finds wrong for whoever cannot see or use the page as others do."""
    found = (
        _axe().run(page, options={"iframes": False}).response["violations"]
    )  # sheets in frames have tests of their own
    return [f"{one['id']}: {node['html'][:120]}" for one in found for node in one["nodes"]]
