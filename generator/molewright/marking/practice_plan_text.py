"""The plan of a class's practice comes in and its text goes out, as a person reads and edits it; and the other way.

    title: "Chalk: practice"
    pupils:
      - pupil: Bram Tollo
        paper code: 02-7KQ2-M4XR-P1
        aim: left-over amount treated as reacted (in question 1)
        questions:
          - kind: back-portions
            level: scaffolded
            why: "..."

A question is told as in an order; what it leaves out is drawn. A plan is untrusted text: it reads no file.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import partial
from pathlib import Path

from molewright.errors import Mistake, Where, shortened
from molewright.marking.practice_plan import USUAL_PRACTICE, Plan, PlannedQuestion, PupilPlan
from molewright.marking.practice_questions import MOST_QUESTIONS
from molewright.order.choices import LOOKS, TINTS
from molewright.order.class_list import MOST_PUPILS, clean_name
from molewright.order.head import Head, Reader, read_head
from molewright.order.order import MOST_PAST
from molewright.order.order_file import line_of, read_past
from molewright.order.order_text import line_text, past_text
from molewright.order.pupils import Pupil
from molewright.reading.fields import Faults, Fields
from molewright.reading.quoting import listed, quoted
from molewright.reading.yaml_text import Branch, read_tree

PLAN_ENDING = ".plan.yaml"
_CODE = re.compile(r"([A-Z]|[0-9]{2,5})-([0-9A-Z][0-9A-Z-]{0,200})")


def write_plan(plan: Plan) -> str:
    """The text of a plan."""
    return "\n".join([*_head(plan), "pupils:", *(line for one in plan.pupils for line in _pupil(one)), ""])


def _head(plan: Plan) -> Iterator[str]:
    wanted = plan.wanted
    yield "# Who practises what, and why. Strike out or change a question or a pupil, and make the papers of it:"
    yield "# molewright practise THIS FILE. A question is told as in an order; what it leaves out is drawn."
    yield f"title: {quoted(wanted.title)}"
    yield f"follows: {listed(plan.follows)}"
    yield f"masses: {quoted(plan.masses)}"
    yield f"units: {plan.style}"
    yield f"sheets: {listed(wanted.sheets)}"
    yield f"forms: {listed(wanted.forms)}"
    yield f"files: {wanted.files or 'joined'}"
    if wanted.fillable:
        yield "fillable: yes"
    for key, text in (("answer space", wanted.answer_space), ("look", wanted.look), ("tint", wanted.tint)):
        if text not in ("", "normal", "usual"):
            yield f"{key}: {text}"


def _pupil(one: PupilPlan) -> Iterator[str]:
    yield ""
    yield f"  - pupil: {quoted(one.pupil.name)}"
    yield f"    paper code: {one.version}-{one.code}"
    for key, text in (("look", one.pupil.look), ("tint", one.pupil.tint)):
        if text:
            yield f"    {key}: {text}"
    yield f"    aim: {quoted(one.aim)}"
    yield "    questions:"
    for question in one.questions:
        first, *rest = line_text(question.line)
        yield f"      - {first}"
        yield from (f"        {text}" for text in rest)
        if question.why:
            yield f"        why: {quoted(question.why)}"
    if one.before:
        yield "    not again:"
        yield from (f"      - {past_text(past)}" for past in one.before)


def read_plan(path: Path) -> Plan:
    """The plan that a file holds. Raises Mistake, or several at once, with file:line."""
    fields = Fields(read_tree(path, str(path)))
    read = Reader(fields)
    pupils = read.each("pupils", partial(_read_pupil, str(path)), MOST_PUPILS)
    follows: tuple[str, ...] = read.value("follows", lambda: fields.texts("follows"), ())
    head = read_head(read, Head(wanted=USUAL_PRACTICE))
    read.faults.attempt(fields.where, fields.finish)
    if not read.faults.found:
        read.faults.attempt(fields.at("pupils"), lambda: _require_pupils(pupils))
        _require_once(read.faults, pupils)
    read.faults.raise_if_any()
    return Plan(wanted=head.wanted, masses=head.masses, style=head.style, follows=follows, pupils=pupils)


def _require_pupils(pupils: tuple[PupilPlan, ...]) -> None:
    if not pupils:
        raise Mistake("a plan without a pupil", expected="'pupils:' and below it a '- pupil: ...' for each")


def _require_once(faults: Faults, pupils: tuple[PupilPlan, ...]) -> None:
    """Two papers of one code could not be told apart when they come back."""
    seen: dict[tuple[str, str], PupilPlan] = {}
    for one in pupils:
        other = seen.setdefault((one.code, one.version), one)
        if other is not one and one.where is not None:
            line = f" on line {other.where.line}" if other.where else ""
            told = f"the paper code {one.version}-{one.code} is that of {other.pupil.name}{line}"
            fault = Mistake(told, expected="a code for each pupil", where=one.where.under("paper code"))
            faults.attempt(one.where, partial(_refuse, fault))


def _refuse(fault: Mistake) -> None:
    raise fault


def _read_pupil(file: str, branch: Branch) -> PupilPlan:
    fields = Fields(branch, "pupil")
    read = Reader(fields)
    name = read.value("pupil", lambda: clean_name(fields.text("pupil"), fields.at("pupil")), "")
    if not fields.has("pupil"):
        read.faults.attempt(fields.where, lambda: _lacks("pupil"))
    version, code = read.value(
        "paper code", lambda: _code(fields.text("paper code"), fields.at("paper code")), ("", "")
    )
    if not fields.has("paper code"):
        read.faults.attempt(fields.where, lambda: _lacks("paper code"))
    found = PupilPlan(
        pupil=Pupil(
            name=name,
            look=read.value("look", lambda: fields.one_of("look", LOOKS), "usual") if fields.has("look") else "",
            tint=read.value("tint", lambda: fields.one_of("tint", TINTS), "") if fields.has("tint") else "",
        ),
        code=code,
        version=version,
        aim=read.value("aim", lambda: fields.text("aim"), ""),
        questions=read.each("questions", _read_question, MOST_QUESTIONS),
        before=read.each("not again", read_past, MOST_PAST),
        where=fields.where,
    )
    if not found.questions and not read.faults.found:
        read.faults.attempt(fields.at("questions"), lambda: _lacks("questions"))
    read.faults.attempt(fields.where, fields.finish)
    read.faults.raise_if_any()
    return found


def _lacks(key: str) -> None:
    raise Mistake(f"the key '{key}' is missing or empty", expected=f"'{key}: ...'", do="Or strike out the pupil.")


def _read_question(branch: Branch) -> PlannedQuestion:
    fields = Fields(branch, "question")
    why = fields.text("why", "")
    line = line_of(fields)
    if not line.from_banks:
        raise Mistake(
            "a question that the banks do not hold",
            expected="a kind or a topic",
            where=fields.where,
            do="Questions of your own stand in an order: molewright paper.",
        )
    return PlannedQuestion(line=line, why=why)


def _code(text: str, where: Where) -> tuple[str, str]:
    found = _CODE.fullmatch(text)
    if found is None:
        raise Mistake(
            f"the paper code {shortened(text)}",
            expected="the code as it was written there, its number first: 02-7KQ2-M4XR-P1",
            where=where,
        )
    return found[1], found[2]
