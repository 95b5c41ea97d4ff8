"""Questions, their parts and the space to work in come in; slabs with their ties go out. Places nothing on a page."""

from __future__ import annotations

from math import fsum
from typing import Literal

from molewright.nodes.blocks import RULED_MM, Part, QuestionBlock, Working
from molewright.nodes.inline import Line, Text
from molewright.render.pdf.content import dots, unseen
from molewright.render.pdf.lines import Chunk
from molewright.render.pdf.look import MM, ROOM, Style
from molewright.render.pdf.maths import face_of
from molewright.render.pdf.slabs import Blank, Mark, Slab, Tie, height, least_height, tied
from molewright.render.pdf.tags import Element
from molewright.render.pdf.typesetting import Place, Typesetting, artifact, slabs_of, spaced

_BETWEEN_PARTS, _BETWEEN_QUESTIONS = 7.0, 13.0
_BETWEEN_DEMANDS = 5.0  # where nothing is answered between them
_ABOVE_A_RULE = 8.0  # to write on it; with no space above, what is written stands to its left as well
_LEAST_WORKING = 12 * MM
_RULED_EVERY = RULED_MM * MM
_TYPED = 15.0  # height of a line to type on


def working(block: Working, setting: Typesetting, place: Place) -> list[Slab]:
    """Blank or ruled space, then the answer rule at the right with its unit after it."""
    style = setting.look.body
    tail = _answer_rule(block, setting, place) if block.rule_mm > 0 else []
    scale = MM * setting.look.scale
    most = max(_LEAST_WORKING, place.room - height(tail) - style.leading)
    tall = min(max(0.0, block.height_mm) * scale, most) * place.squeeze
    slabs: list[Slab] = []
    if block.ruled and not setting.fillable:
        apart = _RULED_EVERY * setting.look.scale
        for _ in range(int(tall / apart + 0.01)):
            slabs.append(Slab(height=apart, marks=[artifact(place.x, apart - 2, dots(0.4, 0, place.width - 0.8))]))
    elif tall or block.most_mm:
        least = min(tall, block.least_mm * scale) if block.most_mm else None
        slabs.append(Slab(height=tall, least=least, most=max(tall, block.most_mm * scale) if block.most_mm else None))
    if setting.fillable and slabs:
        what: Literal["working", "answer"] = "working" if tail else "answer"
        slabs[0].blanks = (Blank(place.owner.child("P"), place.x, 0.0, place.width, 0.0, what, what, True),)
    slabs += tail
    tied(slabs)
    return spaced(slabs, 2.0, setting.look.after)


def _answer_rule(block: Working, setting: Typesetting, place: Place) -> list[Slab]:
    style = setting.look.body
    gap = 0.35 * style.size
    unit = setting.lines((Text(block.unit.replace(" ", "\u00a0")),), style, 0.4 * place.width) if block.unit else ()
    unit_width = unit[0].width + gap if unit else 0.0
    label_room = 0.45 * place.width
    label = setting.lines(block.label, style, label_room, "right")
    label_width = label[0].width + gap if label else 0.0
    rule = min(block.rule_mm * MM * setting.look.scale, place.width - unit_width - label_width)
    x = place.x + place.width - unit_width - rule
    element = place.owner.child("P")
    above = _ABOVE_A_RULE if block.height_mm else 0.0
    first = max([style.baseline + above, *(chunk.first for chunk in (*label, *unit))])
    marks: list[Mark] = []
    bottom = first + style.leading - style.baseline
    if label:
        top = first - label[0].first
        marks.append(Mark(element, x - gap - label_room, top, label[0].segments))
        bottom = max(bottom, top + label[0].height)
    marks.append(artifact(x, first + 1.6, dots(0.4, 0.0, rule - 0.8)))
    if unit:
        top = first - unit[0].first
        marks.append(Mark(element, x + rule + gap, top, unit[0].segments))
        bottom = max(bottom, top + unit[0].height)
    slab = Slab(height=bottom, marks=marks, first=first)
    if setting.fillable:
        told = f"answer in {block.unit}" if block.unit else "answer"
        tall = _TYPED * setting.look.scale
        slab.blanks = (Blank(element, x, first + 1.0 - tall, rule, tall, told),)
    return [slab, *slabs_of((*label[1:], *unit[1:]), element, place.x)]


def part(block: Part, setting: Typesetting, place: Place) -> list[Slab]:
    """A part on one page: if it is taller than a page, its blank space gives way first."""
    slabs = _part(block, setting, place)
    over = least_height(slabs) - place.room
    if over > 0:
        blank = fsum(slab.height for slab in slabs if not slab.marks)
        ruled = fsum(slab.height for slab in slabs if slab.height == _RULED_EVERY * setting.look.scale and slab.marks)
        if blank + ruled > 0:
            share = max(0.1, (blank + ruled - over - 1) / (blank + ruled)) * place.squeeze
            slabs = _part(block, setting, place._replace(squeeze=share))
    if least_height(slabs) <= place.room:
        tied(slabs)
    return slabs


def _part(block: Part, setting: Typesetting, place: Place) -> list[Slab]:
    style = setting.look.body
    inside = place if place.question else _inset(place, setting)
    element = place.owner.child("P")
    marks = (
        setting.lines(_in_brackets(block.marks), style.heavier(), setting.look.marks_column, "right")
        if block.marks
        else ()
    )
    chunks = _demand(block, setting, style, inside.width)
    slabs = slabs_of(chunks, element, inside.x)
    if not slabs and (block.label or marks):
        slabs = [Slab(height=style.leading, first=style.baseline)]
    if block.label:
        label = setting.lines((Text(block.label),), style, setting.look.gutter)
        if label:
            top = (slabs[0].first or style.baseline) - label[0].first
            slabs[0].marks.insert(0, Mark(element, inside.x - setting.look.gutter, top, label[0].segments))
    if marks:
        last = slabs[-1]
        baseline = chunks[-1].last if chunks else style.baseline
        at = inside.x + inside.width - setting.look.marks_column
        last.marks.append(Mark(element, at, baseline - marks[0].first, marks[0].segments))
    if slabs:
        tied(slabs)
        above = _BETWEEN_PARTS if block.blocks else _BETWEEN_DEMANDS
        spaced(slabs, above * setting.look.gaps, 4.0 * setting.look.gaps)
    inner = setting.lay(block.blocks, setting, inside._replace(question=True))
    if inner and slabs and inner[0].tie != Tie.FORCED:
        inner[0].tie = Tie.HELD
    slabs += inner
    for slab in slabs:
        slab.part = block.label + slab.part
    return slabs


def _demand(block: Part, setting: Typesetting, style: Style, width: float) -> tuple[Chunk, ...]:
    """The demand over the whole width where its last line leaves room for the marks, or else beside their column."""
    if not block.marks:
        return setting.lines(block.demand, style, width)
    beside = width - setting.look.marks_column
    narrow = setting.lines(block.demand, style, beside)
    if sum(chunk.lines for chunk in narrow) > 1:
        lines = setting.lines(block.demand, style, width, single=True)
        if lines[-1].width <= beside:
            return setting.lines(block.demand, style, width)
    return narrow


def _inset(place: Place, setting: Typesetting) -> Place:
    gutter = setting.look.gutter
    return place._replace(x=place.x + gutter, width=place.width - gutter)


def _in_brackets(marks: int) -> Line:
    return (Text(f"[{marks}]"),)


def question_block(block: QuestionBlock, setting: Typesetting, place: Place) -> list[Slab]:
    """Stem with its first part, parts whole, total with the last part; a break repeats the essential data."""
    style = setting.look.body
    section = place.owner.child("Sect")
    repeat = _continued(block, setting, place)
    room = min(place.room, ROOM) - height(repeat) - max(slab.below for slab in repeat)
    inside = _inset(place, setting)._replace(owner=section, room=room, question=True)
    total = _total(block, setting, inside)
    stem = setting.lay(block.stem, setting, inside)
    # A part leaves room for what must stand with it: the question's number above, the total below.
    spare = style.leading + 2 + fsum(slab.above + slab.height for slab in total)
    parts = [part(each, setting, inside._replace(room=room - spare)) for each in block.parts]
    parts = _with_what_follows(block, parts)
    number = _number(block, setting, place, section)
    groups = [[*stem, *parts[0]] if parts else stem, *parts[1:]]
    first = groups[0]
    labelled = not stem and bool(block.parts) and bool(block.parts[0].label)
    if first and not labelled:
        top = (first[0].first or style.baseline) - style.baseline
        first[0].marks[:0] = [mark._replace(y=mark.y + max(0.0, top)) for mark in number]
    else:  # the label of the first part stands in the gutter: the number gets a line of its own
        first.insert(0, Slab(height=style.leading, marks=list(number), below=2.0, first=style.baseline))
    groups[-1] += total
    for group in groups:
        tied(group)
    if stem and parts:
        parts[0][0].tie = Tie.STEM
    for following in groups[1:]:
        following[0].tie = max(following[0].tie, Tie.PART)
    if total:
        total[0].tie = Tie.HELD
    slabs = [slab for group in groups for slab in group]
    for slab in slabs:
        slab.part = f"{block.number}{slab.part}"
    for slab in slabs[1:]:
        slab.repeat = (*repeat, *slab.repeat)
    slabs[0].bookmarks = (*slabs[0].bookmarks, (2, block.bookmark or f"Question {block.number}"))
    between = _BETWEEN_QUESTIONS * setting.look.gaps
    return spaced(slabs, between, between)


def _with_what_follows(block: QuestionBlock, parts: list[list[Slab]]) -> list[list[Slab]]:
    """The slabs part by part; what earns no mark, a table to fill in, opens the part after it and is no use without it."""
    groups: list[list[Slab]] = []
    waiting: list[Slab] = []
    for each, slabs in zip(block.parts, parts, strict=True):
        if slabs and waiting:
            slabs[0].tie = max(slabs[0].tie, Tie.PART)
        waiting += slabs
        if waiting and (each.marks or each.label or each.alone):
            groups.append(waiting)
            waiting = []
    return [*groups, waiting] if waiting else groups


def _number(block: QuestionBlock, setting: Typesetting, place: Place, section: Element) -> tuple[Mark, ...]:
    style: Style = setting.look.body.heavier()
    chunks = setting.lines((Text(str(block.number)),), style, setting.look.gutter)
    heading = section.child(setting.question_role)
    # The bare number is no heading to whoever hears a list of them, and few readers of the structure tree heed an ActualText.
    word = unseen("Question ", face_of(style), style.size, 0.0, -chunks[0].first)
    first, *others = chunks[0].segments.written
    return (Mark(heading, place.x, 0.0, (first._replace(content=f"{word}\n{first.content}"), *others)),)


def _total(block: QuestionBlock, setting: Typesetting, place: Place) -> list[Slab]:
    if not (block.marks and block.closing):
        return []
    chunks = setting.lines((Text(block.closing),), setting.look.small.heavier(), place.width, "right")
    return spaced(slabs_of(chunks, place.owner.child("P"), place.x), 2.0, 0.0)


def _continued(block: QuestionBlock, setting: Typesetting, place: Place) -> tuple[Slab, ...]:
    """The small line at the top of a page on which a question goes on; repeated matter, so an artifact."""
    lead = f"Question {block.number} continued"
    line: Line = (Text(f"{lead}: "), *block.reminder) if block.reminder else (Text(lead),)
    chunks = setting.lines(line, setting.look.small, place.width)
    return tuple(spaced(slabs_of(chunks, None, place.x), 0.0, 8.0))
