"""Marks on pages come in; the structure tree goes out: what is a heading, a table, a formula. Draws nothing.

ISO 32000-1, 14.7 and 14.8: marked content on pages, structure elements that own it, a parent tree from one to the other.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from molewright.render.pdf.content import hexadecimal


@dataclass(slots=True, eq=False, kw_only=True)
class Element:
    """One structure element. It joins its parent when its first content is drawn, so tree order is reading order."""

    role: str
    parent: Element | None = None
    alt: str = ""
    attributes: str = ""
    joined: bool = False
    number: int = 0  # of its object in the file
    widget: tuple[int, int] | None = None  # of a field: its page, and the number of its annotation
    kids: list[Element | tuple[int, int]] = field(default_factory=list)  # elements, or (page, mark on the page)

    def child(self, role: str, alt: str = "", attributes: str = "") -> Element:
        """A new element below this one."""
        return Element(role=role, parent=self, alt=alt, attributes=attributes)

    def join(self) -> None:
        """Take its place below its parent, if it has not yet."""
        element = self
        while not element.joined and element.parent is not None:
            element.joined = True
            element.parent.kids.append(element)
            element = element.parent


def document() -> Element:
    """The root of a document's tree."""
    return Element(role="Document", joined=True)


def part() -> Element:
    """The root of the tree of one sheet in a document of several."""
    return Element(role="Part", joined=True)


COLUMN_HEAD = "/A <</O /Table /Scope /Column>>"
ROW_HEAD = "/A <</O /Table /Scope /Row>>"


def table_summary(words: str) -> str:
    """The attribute that tells a screen reader what a table shows."""
    return f"/A <</O /Table /Summary {hexadecimal(words)}>>" if words else ""


def in_order(root: Element) -> list[Element]:
    """All elements, parents before their children."""
    found = [root]
    _below(root, found)
    return found


def _below(element: Element, found: list[Element]) -> None:
    for kid in element.kids:
        if isinstance(kid, Element):
            found.append(kid)
            if kid.kids:
                _below(kid, found)


def with_places(element: Element, numbers: list[int]) -> str:
    """One element as a PDF dictionary with %d wherever the number of an object stands; these are added to `numbers`.

    Pages are counted from 0; what stands above the root is numbered 0 too.
    """
    kids = element.kids
    numbers.append(0 if element.parent is None else element.parent.number)
    alt = f" /Alt {hexadecimal(element.alt)}" if element.alt else ""
    if len(kids) == 1 and element.widget is None:  # as most: one mark, or one element below
        (kid,) = kids
        if isinstance(kid, Element):
            numbers.append(kid.number)
            return f"<</Type /StructElem /S /{element.role} /P %d 0 R /K %d 0 R{alt} {element.attributes}>>"
        numbers.append(kid[0])
        return f"<</Type /StructElem /S /{element.role} /P %d 0 R /Pg %d 0 R /K {kid[1]}{alt} {element.attributes}>>"
    page: int | None = None
    told: list[str] = []
    named: list[int] = []
    for kid in kids:
        if isinstance(kid, Element):
            told.append("%d 0 R")
            named.append(kid.number)
            continue
        if page is None:
            page = kid[0]
        if kid[0] == page:
            told.append(str(kid[1]))
        else:
            told.append(f"<</Type /MCR /Pg %d 0 R /MCID {kid[1]}>>")
            named.append(kid[0])
    if element.widget is not None:
        page, annotation = element.widget
        told.append("<</Type /OBJR /Obj %d 0 R /Pg %d 0 R>>")
        named += (annotation, page)
    where = ""
    if page is not None:
        where = " /Pg %d 0 R"
        numbers.append(page)
    numbers += named
    held = told[0] if len(told) == 1 else f"[{' '.join(told)}]"
    return f"<</Type /StructElem /S /{element.role} /P %d 0 R{where} /K {held}{alt} {element.attributes}>>"
