"""A sheet comes in; its pages go out as content, drawn with running matter around, and a structure tree of what is on them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from molewright.nodes.blocks import Heading, Sheet
from molewright.render.pdf import blocks, tags
from molewright.render.pdf.content import dotted
from molewright.render.pdf.fields import Field, field, named
from molewright.render.pdf.filling import Placed, paged
from molewright.render.pdf.furniture import running_matter
from molewright.render.pdf.lines import Segment
from molewright.render.pdf.look import (
    COLUMN,
    LEFT,
    PAGE_HEIGHT,
    PAGE_WIDTH,
    PUPIL_LOOKS,
    ROOM,
    TEACHER,
    TOP,
    WIDE_COLUMN,
    WIDE_ROOM,
)
from molewright.render.pdf.ready import Page
from molewright.render.pdf.slabs import Blank, Mark
from molewright.render.pdf.typesetting import Place, Typesetting

_GAP = 13.5  # height of a field in a line


def drawn(sheet: Sheet, root: tags.Element) -> list[Page]:
    """The pages of a sheet, drawn; its structure tree hangs below `root`."""
    teacher = sheet.kind not in ("questions", "answers", "data")
    sections = any(isinstance(block, Heading) and block.level == 2 for block in sheet.blocks)
    look = TEACHER if teacher and sheet.look == "usual" else PUPIL_LOOKS[sheet.look]
    setting = Typesetting(
        look=look.compact() if sheet.compact else look,
        expansions=sheet.spoken,
        teacher=teacher,
        question_role="H3" if sections else "H2",
        lay=blocks.lay,
        fillable=sheet.fillable,
    )
    width, room = (WIDE_COLUMN, WIDE_ROOM) if sheet.wide else (COLUMN, ROOM)
    slabs = blocks.lay(sheet.blocks, setting, Place(x=LEFT, width=width, owner=root, room=room))
    placed = paged(slabs, room)
    pages = [_draw(page, number, len(placed), sheet, setting) for number, page in enumerate(placed)]
    return _with_names(pages) if sheet.fillable else pages


def _with_names(pages: list[Page]) -> list[Page]:
    """The pages with the names of their fields, which are told apart over the whole sheet."""
    every = named([each for page in pages for each in page.fields])
    return [
        replace(page, fields=tuple(each for each in every if each.page == number)) for number, page in enumerate(pages)
    ]


def _draw(page: list[Placed], number: int, count: int, sheet: Sheet, setting: Typesetting) -> Page:
    """The content of one page; every mark of an element gets the next number on the page."""
    owners: list[tags.Element] = []
    out: list[str] = []
    bookmarks: list[tuple[int, str, float]] = []
    fields: list[Field] = []
    for slab, top, again in page:
        y = (PAGE_WIDTH if sheet.wide else PAGE_HEIGHT) - TOP - top
        if slab.box is not None:
            figure, x, width = slab.box
            figure.attributes = (
                f"/A <</O /Layout /Placement /Block /BBox [{x:.1f} {y - slab.height:.1f} {x + width:.1f} {y:.1f}]>>"
            )
        bookmarks += [(depth, title, y + 6) for depth, title in slab.bookmarks]
        for mark in slab.marks:
            # What is repeated at the top of a page is for the eye only: a reader has heard it.
            element = None if again else mark.element
            _draw_mark(mark, element, y - mark.y, number, owners, out)
            if sheet.fillable and element is not None:
                fields += _gaps(mark, element, number, slab.part, y, setting.look.scale)
        for blank in () if again else slab.blanks:
            if blank.kind == "working" and slab.height < _GAP * setting.look.scale:
                continue  # no line of type would fit
            fields.append(field(blank, number, slab.part, (0.0, y), slab.height, setting.look.scale))
            fields[-1].element.join()
    out += running_matter(sheet, number + 1, count)
    return Page("\n".join(out), owners, tuple(bookmarks), sheet.wide, tuple(fields))


def _gaps(mark: Mark, element: tags.Element, page: int, part: str, y: float, scale: float) -> Iterator[Field]:
    """A field on every dotted rule within a line; its element stands after what it is a gap in."""
    tall = _GAP * scale
    for _, content, _ in _written(mark):
        for x, baseline, width in dotted(content):
            blank = Blank(element, mark.x + x, mark.y - baseline - tall + 1.0, width, tall, "gap", "gap")
            made = field(blank, page, part, (0.0, y), 0.0, scale)
            made.element.join()
            yield made


def _draw_mark(
    mark: Mark, element: tags.Element | None, y: float, page: int, owners: list[tags.Element], out: list[str]
) -> None:
    held = _written(mark)
    if not held:  # nothing to draw, but it has its place in the tree
        if element is not None:
            element.join()
        return
    place = f"q 1 0 0 1 {mark.x:.2f} {y:.2f} cm"
    if element is None:
        inner = "\nEMC\n/Artifact BMC\n".join([content for _, content, _ in held])
        out.append(f"{place}\n/Artifact BMC\n{inner}\nEMC\nQ")
        return
    if len(held) == 1 and held[0].owner is None and held[0].aside is None:  # as most
        element.join()
        element.kids.append((page, len(owners)))
        out.append(f"{place}\n/{element.role} <</MCID {len(owners)}>> BDC\n{held[0].content}\nEMC\nQ")
        owners.append(element)
        return
    out.append(place)
    formula: tags.Element | None = None
    spoken: object = None
    for owner, content, aside in held:
        holder = element
        if owner is not None:
            if owner is not spoken or formula is None:
                formula = element.child("Formula", alt=owner.words)
            spoken, holder = owner, formula
        marked = len(owners)
        told = f"<</MCID {marked}>>"
        if aside is not None:
            told = f"<</MCID {marked} {aside.entry}>>"
            holder = holder.child("Span", attributes=aside.entry)
        if not holder.joined:
            holder.join()
        holder.kids.append((page, marked))
        out.append(f"/{holder.role} {told} BDC\n{content}\nEMC")
        owners.append(holder)
    out.append("Q")


def _written(mark: Mark) -> tuple[Segment, ...]:
    return mark.segments if isinstance(mark.segments, tuple) else mark.segments.written
