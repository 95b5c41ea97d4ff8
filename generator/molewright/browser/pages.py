"""What a page tells comes in; its HTML goes out, from templates/browser. Nothing on it is loaded from elsewhere."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

from molewright.browser.asking import Answer
from molewright.browser.shelf import ORDER, KeptPaper, State
from molewright.errors import Mistake, Mistakes, Where
from molewright.machine import places
from molewright.machine.templates import templates_in
from molewright.render import look_of_placed

if TYPE_CHECKING:
    from molewright.machine.templates import Environment

LOOK_FILES = {
    "browser.css": "text/css; charset=utf-8",
    "quick.js": "text/javascript; charset=utf-8",
    "mark.svg": "image/svg+xml",
}
_OF_THE_FILE = ("line", "lines", "numbers")  # names in an order that say nothing on a page
_HEADINGS = {
    403: "Not from here",
    404: "There is no such page",
    405: "Not done here",
    413: "Too large",
    421: "Another address",
    500: "A fault of ours",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Head:
    """What every page about a paper tells of it."""

    number: int
    title: str
    stamp: str
    undo: str
    redo: str


def head_of(kept: KeptPaper, state: State) -> Head:
    """The head of a paper's pages."""
    title = state.wanted.title or f"Paper {kept.number}"
    return Head(number=kept.number, title=title, stamp=state.stamp, undo=state.undo, redo=state.redo)


def page(
    template: str,
    title: str,
    *,
    head: Head | None = None,
    here: str = "none",
    wrong: Sequence[str] = (),
    told: Sequence[str] = (),
    folder: str = "",
    status: int | None = None,
    again_in_s: int = 0,
    **more: object,
) -> Answer:
    """A page. `wrong` are sentences on what could not be done, which its status tells too unless it is named; `told` on what was."""
    made = _templates().get_template(f"{template}.html.jinja")
    at = f"/paper/{head.number}" if head else ""
    shared = {
        "title": title,
        "paper": head,
        "here": here,
        "here_at": at,
        "wrong": wrong,
        "told": told,
        "folder": folder,
    }
    html = made.render(**{**shared, **more})
    return Answer(content=html.encode(), status=status or (400 if wrong else 200), again_in_s=again_in_s)


def piece(template: str, **more: object) -> Answer:
    """A piece of a page, for the script that puts it there."""
    return Answer(content=_templates().get_template(f"{template}.html.jinja").render(**more).encode())


def refused(status: int, sentence: str) -> Answer:
    """The page that says why something is not shown or not done."""
    heading = _HEADINGS.get(status, "That could not be done")
    way = "/" if status in (404, 413, 500) else ""
    return page("refused", heading, heading=heading, sentence=sentence, way=way, status=status)


def sentences(mistake: Mistake) -> tuple[str, ...]:
    """What is said of a mistake on a page: what was found, what was expected, what to do; no option of the command line."""
    if isinstance(mistake, Mistakes):
        return tuple(told for one in mistake.each for told in sentences(one))
    place = _place(mistake.where)
    said = f"{place}: {mistake.found}" if place else mistake.found
    if mistake.expected:
        said += f"; expected {mistake.expected}"
    if mistake.near:
        said += f"; nearest: {', '.join(mistake.near)}"
    do = "" if "--" in mistake.do or "molewright " in mistake.do else mistake.do
    return (_upper_first(f"{said}. {do}".strip()),)


def _place(where: Where | None) -> str:
    """Where something was found, as far as it can be seen on a page: of the order, which nobody has typed, the last name only."""
    if where is None:
        return ""
    if where.file.endswith(ORDER):
        last = where.entry.rpartition(", ")[2]
        return "" if last in _OF_THE_FILE else last
    return ", ".join(filter(None, (f"line {where.line}" if where.line else "", where.entry)))


def look(name: str) -> Answer | None:
    """A style sheet, the script or the picture of the pages; None for a name that is none of them."""
    if name == "sheet.css":
        return Answer(content=look_of_placed().encode(), kind=LOOK_FILES["browser.css"])
    kind = LOOK_FILES.get(name)
    return Answer(content=(places.templates() / "browser" / name).read_bytes(), kind=kind) if kind else None


def _upper_first(text: str) -> str:
    return text[:1].upper() + text[1:]


@cache
def _templates() -> Environment:
    environment = templates_in("browser")
    environment.filters["capitalize_first"] = _upper_first
    return environment
