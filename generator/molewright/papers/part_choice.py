"""What a line asks for as its further part comes in; the kind of part or the fault that it means goes out, or what there is instead.

A kind that is stretched may have one of its stretch parts fixed; where a fault is asked about, the fault may be.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from molewright.bank.definitions import Archetype, Bank
from molewright.errors import Mistake, Where, nearest, shortened
from molewright.further_parts.faults.effect import possible_faults
from molewright.further_parts.pieces import FAULT
from molewright.further_parts.stretch import stretch_kinds, stretched_by
from molewright.order.lines import OrderLine
from molewright.question.check import Question, Questions

_SLOT = re.compile(r"\{(\w+)[^}]*\}")
_MOST_TOLD = 8  # faults named in a message


@dataclass(frozen=True, slots=True)
class _Parts:
    """What a kind of question may be asked beside its calculation: kinds of stretch part, and faults by key with their words."""

    kinds: tuple[str, ...]
    faults: tuple[tuple[str, str], ...]


def _parts(bank: Bank, archetype: Archetype) -> _Parts:
    kinds = stretch_kinds(archetype)
    asked = FAULT in (*kinds, *archetype.further_parts)
    faults = tuple((fault.key, _SLOT.sub(r"\1", fault.told)) for fault in bank.faults) if asked else ()
    return _Parts(kinds, faults)


def part_of_line(bank: Bank, archetype: Archetype, line: OrderLine) -> str:
    """The kind of stretch part, or the key of the fault, that a line asks for; "" where it leaves it open.

    Raises Mistake, with what there is, for a part that the kind does not have and for words that several begin with.
    """
    if not line.part:
        return ""
    found = _parts(bank, archetype)
    wanted = _plain(line.part)
    exact = [one for one in (*found.kinds, *(key for key, _ in found.faults)) if _plain(one) == wanted]
    begun = [kind for kind in found.kinds if _plain(kind).startswith(wanted)]
    begun += [key for key, told in found.faults if _plain(told).startswith(wanted)]
    if len(exact or begun) == 1:
        return (exact or begun)[0]
    where = place_of(line)
    if begun:
        raise Mistake(
            f"{shortened(line.part)} could be {len(begun)} parts of the kind '{archetype.key}'",
            expected=f"one of: {_told(found, begun)}",
            where=where,
        )
    known = [*found.kinds, *(key for key, _ in found.faults), *(told for _, told in found.faults)]
    raise Mistake(
        f"the kind '{archetype.key}' has no part {shortened(line.part)}",
        expected=_what_there_is(found),
        near=nearest(line.part, known),
        where=where,
    )


def part_of_question(question: Question) -> str:
    """The part that a question has and that a line can fix: the kind of its stretch part, or the fault that is asked about."""
    added = question.further_parts[-question.added :] if question.added else ()
    return next((part.called for part in (*added, *question.further_parts) if part.called), "")


def require_part(questions: Questions, question: Question, line: OrderLine) -> None:
    """Raise Mistake, with what could come instead, where the first version of a question has not the part that its line asks for."""
    made = part_of_question(question)
    if line.part == made or (line.part == FAULT and any(part.kind == FAULT for part in question.further_parts)):
        return
    bank, archetype = questions.bank, question.draw.archetype
    calculation = questions.calculation(question.unstretched(), "stretch")
    every = _parts(bank, archetype)
    able = {fault.key for fault in possible_faults(calculation)} if every.faults else set()
    kinds = tuple(kind for kind in every.kinds if (able if kind == FAULT else stretched_by(kind, calculation)))
    could = _Parts(kinds, tuple(fault for fault in every.faults if fault[0] in able))
    raise Mistake(
        f"the part {shortened(line.part)} cannot be asked in this question of the kind '{archetype.key}'",
        expected=_what_there_is(could),
        where=place_of(line),
        do="Take one of them, leave the part open, or fix another material.",
    )


def place_of(line: OrderLine) -> Where:
    """Where a line names its part."""
    return (line.where or Where("order")).under("part")


def _what_there_is(found: _Parts) -> str:
    if not found.kinds and not found.faults:
        return "no part: nothing can be added to it"
    told = _told(found, [*found.kinds, *(key for key, _ in found.faults)])
    return f"one of: {told}"


def _told(found: _Parts, names: list[str]) -> str:
    words = dict(found.faults)
    told = [f"{name} ({words[name]})" if name in words else name for name in names[: _MOST_TOLD + len(found.kinds)]]
    more = len(names) - len(told)
    return "; ".join([*told, *([f"{more} more faults"] if more > 0 else [])])


def _plain(text: str) -> str:
    return " ".join(text.casefold().split()).removeprefix("the ")
