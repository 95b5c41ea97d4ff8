"""Worked solutions: every step with a reason that is true of it, and checks whose numbers are reckoned again here."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from fractions import Fraction
from functools import cache
from typing import Any, get_args

import pytest

from molewright.bank.definitions import Bank
from molewright.chem.quantity import parse_quantity
from molewright.chem.units import words_in_litres
from molewright.derivation.evaluated import evaluate
from molewright.derivation.worked import WorkedStep
from molewright.experiment import quantities
from molewright.experiment.relations.kinds import ROLES, RelationKind
from molewright.experiment.titres import chosen
from molewright.nodes.blocks import Heading, Paragraph, Table, Together
from molewright.question.check import Question
from molewright.render import renderer
from molewright.render.text.lines import plain_line
from molewright.sheet.common_sense import common_sense
from molewright.sheet.reasons import PLACES, reason, reason_of_the_mean
from molewright.sheet.wording import Words
from molewright.sheet.writer import Writer
from shared.banks import built_in
from shared.composed_sheets import Turn, every_kind_once

KEYS = sorted(built_in().archetypes)
CHECKS = {key: texts[0] for key, texts in built_in().words.items() if key.startswith("check ") and key != "check lead"}
TIMES = {
    "the same as": Fraction(1), "twice": Fraction(2), "three times": Fraction(3), "four times": Fraction(4),
    "five times": Fraction(5), "six times": Fraction(6), "half": Fraction(1, 2), "a third of": Fraction(1, 3),
    "a quarter of": Fraction(1, 4), "a fifth of": Fraction(1, 5), "a sixth of": Fraction(1, 6), "two fifths of": Fraction(2, 5),
    "two thirds of": Fraction(2, 3), "5/2 times": Fraction(5, 2), "5/3 times": Fraction(5, 3), "3/2 times": Fraction(3, 2),
}  # fmt: skip
SHARES = {
    "half": 2, "one quarter": 4, "one fifth": 5, "one eighth": 8, "one tenth": 10, "one twentieth": 20, "one twenty-fifth": 25,
}  # fmt: skip
RELATIONS: tuple[RelationKind, ...] = get_args(RelationKind)
Slots = Mapping[str, str]


def words(line: Any) -> str:
    return plain_line(line).replace("\N{NO-BREAK SPACE}", " ")


def number(text: str) -> Fraction:
    return parse_quantity(text, unit_needed=False).in_base


def near(one: Fraction, other: Fraction, part: Fraction = Fraction(1, 100)) -> bool:
    return abs(one - other) <= part * abs(other)


# ------------------------------------------------------------ reasons


def others(question: Question, step: WorkedStep) -> list[Fraction]:
    """The exact values of the other quantities of a step's relation."""
    exact = {**question.given, **{one.variable.name: one.exact for one in question.worked.steps}}
    assert step.relation is not None
    return [exact[name] for name in step.relation.names if name != step.variable.name]


def require_true(question: Question, step: WorkedStep, told: str) -> None:
    """What a reason says in numbers, against the values of the steps."""
    for factor in re.findall(r"so this is (.+?) (?:the amount|the total|the concentration|that\b)", told):
        assert step.exact == TIMES[factor] * others(question, step)[0], told
    for times in re.findall(r"the whole holds (?:[\d.]+ ÷ [\d.]+ = )?([\d.]+) times as much", told):
        assert step.exact == Fraction(times) * others(question, step)[0], told
    for share in re.findall(r"the portion holds (one [\w-]+|half) of the whole", told):
        assert step.exact * SHARES[share] == others(question, step)[0], told
    for share, part, whole in re.findall(r"Only (one [\w-]+|half) of the solution was taken \((.+?) of (.+?)\)", told):
        assert number(part) * SHARES[share] == number(whole), told
    for volume, converted in re.findall(r"([\d.]+ cm³)(?: is|, which is) ([\d.]+ dm³)", told):
        assert number(volume) == number(converted), told


@every_kind_once
def test_every_step_has_a_reason_that_is_true(turn: Turn, compose: Callable[..., Any]) -> None:
    made = compose(*turn)
    for writer in made.composer.writers:
        question = writer.question
        for step in question.worked.steps:
            told = words(reason(writer, step))
            assert told.endswith("."), told
            assert not re.search(r"[{}]|\.\.|  ", told), told
            require_true(question, step, told)
        for at, run in enumerate(question.draw.runs):
            out = at not in chosen(question.draw.runs)
            assert out == (f"Run {at} is left out" in words(reason_of_the_mean(writer)) or run.rough)
    assert renderer("text").render(made.worked)


@every_kind_once
def test_a_solution_tells_the_question_once_more_and_every_step_why(turn: Turn, compose: Callable[..., Any]) -> None:
    made = compose(*turn)
    told = [block for block in made.worked.blocks if isinstance(block, Together)]
    opened = [block for block in told if isinstance(block.blocks[0], Heading)]
    assert len(opened) == len(made.questions)
    for block, writer in zip(opened, made.composer.writers, strict=True):
        opening = writer.question.draw.context.opening
        assert any(isinstance(one, Paragraph) and words(one.line).startswith(opening[:40]) for one in block.blocks)
    tables = [one for block in told for one in block.blocks if isinstance(one, Table)]
    used = [table for table in tables if words(table.rows[-1][0].lines[0]) == "Used for the mean"]
    asked = [one for one in made.questions if one.draw.runs and one.points]
    assert [[words(cell.lines[0]) for cell in table.rows[-1][1:]] for table in used] == [
        ["yes" if at in chosen(one.draw.runs) else "no" for at in range(len(one.draw.runs))] for one in asked
    ]


def test_every_kind_of_relation_has_its_reason(bank: Bank) -> None:
    said = Words(bank.words)
    for kind in RELATIONS:
        roles = tuple(one.replace("_", " ") for one in ROLES.get(kind) or PLACES[kind])
        for named in (*roles, "part") if kind == "total" else roles:
            assert said.has(f"reason {kind} {named}") or said.has(f"reason {kind}"), (kind, named)


# ------------------------------------------------------------ checks


@cache
def pattern(template: str) -> re.Pattern[str]:
    """What a check looks like with its slots filled, in either style of units; a slot that stands twice is read once."""
    pieces = re.split(r"\{(.+?)\}", " ".join(template.split()))
    seen: set[str] = set()
    text = ""
    for at, piece in enumerate(pieces):
        named = piece.replace(" ", "_").lower()
        text += in_either_style(piece) if at % 2 == 0 else "(.+?)" if named in seen else f"(?P<{named}>.+?)"
        if at % 2:
            seen.add(named)
    return re.compile(text)


def in_either_style(words: str) -> str:
    litres = words_in_litres(words)
    return re.escape(words) if litres == words else f"(?:{re.escape(words)}|{re.escape(litres)})"


def read(line: str) -> Iterator[tuple[str, Slots]]:
    """The checks that a line is made of, with what fills them."""
    tails = (
        "check weaker all the same",
        "check stronger all the same",
        "check put back rounded",
        "check put back read",
    )
    for tail in tails:
        found = re.search(f" ({pattern(CHECKS[tail]).pattern})$", line)
        if found:
            yield tail, found.groupdict()
            line = line[: found.start()]
    whole = [(key, found) for key, text in CHECKS.items() if (found := pattern(text).fullmatch(line))]
    assert whole, line
    key, found = max(whole, key=lambda one: len(CHECKS[one[0]]))
    yield key, found.groupdict()


def concentration(question: Question) -> Fraction:
    return next(
        step.exact for step in question.worked.steps[2:] if step.relation and step.relation.kind == "concentration"
    )


def alike(question: Question, slots: Slots) -> bool:
    """A concentration at 1 : 1, by the only other concentration that is given."""
    (other,) = (one.in_base for name, one in question.draw.given.items() if name.kind == "concentration")
    reckoned = other * number(slots["v1"]) / number(slots["v2"])
    return near(number(slots["alike"]), reckoned) and near(
        number(slots["alike"]) * TIMES[slots["times"]], concentration(question)
    )


def put_back(question: Question, slots: Slots) -> bool:
    """The answer from the titre that is told, to the width of its last figure, takes in the rounded answer."""
    titre = number(slots["titre"])
    names = [
        name for name in question.given if name.kind == "titre" and question.given[name] == number(slots["measured"])
    ]
    half = Fraction(1, 200)
    for name in names:
        ends = [
            evaluate(question.worked.plan.expression, {**question.given, name: titre + one}) for one in (-half, half)
        ]
        if min(ends) <= question.worked.answer.in_base <= max(ends) or question.worked.steps[-1].variable.settled:
            return abs(titre - number(slots["measured"])) <= Fraction(1, 10) + half
    return False


def piece(question: Question) -> Fraction:
    (act,) = (one for one in question.draw.variant.procedure.weighings if one.pieces)
    return question.given[quantities.mass(act.sample)] / question.given[quantities.pieces(act.pieces)]


def answer(question: Question) -> Fraction:
    return question.worked.answer.in_base


TRUE: dict[str, Callable[[Question, Slots], bool]] = {
    "check whole": lambda q, s: (
        abs(number(s["before"]) - number(s["whole"])) == number(s["apart"]) < Fraction(1, 2)
    ),
    "check whole exactly": lambda q, s: number(s["before"]).denominator == 1,
    "check percentage": lambda q, s: (
        near(number(s["part"]) / number(s["sample"]) * 100, answer(q), Fraction(1, 50)) and answer(q) < 100
    ),
    "check impurity": lambda q, s: near(number(s["part"]) / number(s["sample"]) * 100, answer(q), Fraction(1, 20)) and answer(q) < 100,
    "check mass within": lambda q, s: number(s["sample"]) / 100 < number(s["mass"]) == answer(q) < number(s["sample"]),
    "check mass each": lambda q, s: number(s["mass"]) == answer(q) < number(s["whole"]) and near(number(s["whole"]), piece(q)),
    "check rest of the formula": lambda q, s: number(s["molar"]) > number(s["rest_mass"]),
    "check share of a mole": lambda q, s: (
        near(number(s["molar"]) * number(s["amount"]), answer(q)) and near(1 / number(s["parts"]), number(s["amount"]), Fraction(1, 20))
        and near(number(s["about"]), answer(q), Fraction(1, 10))
    ),
    "check equal volumes": lambda q, s: near(number(s["c"]), concentration(q)),
    "check one to one": lambda q, s: (
        number(s["v_strong"]) < number(s["v_weak"])
        and number(s["c_strong"]) > number(s["c_weak"])
        and near(number(s["v_strong"]) * number(s["c_strong"]), number(s["v_weak"]) * number(s["c_weak"]))
    ),
    "check not one to one": alike,
    "check weaker all the same": lambda q, s: number(s["c2"]) < number(s["c1"]),
    "check stronger all the same": lambda q, s: number(s["c2"]) > number(s["c1"]),
    "check not one to one titre": lambda q, s: near(number(s["alike"]) * TIMES[s["times"]], answer(q)),
    "check left over": lambda q, s: number(s["left"]) < number(s["total"]),
    "check excess below": lambda q, s: near(number(s["left"]) / number(s["reacted"]) * 100, answer(q)) and answer(q) < 100,
    "check excess above": lambda q, s: near(number(s["left"]) / number(s["reacted"]) * 100, answer(q)) and answer(q) >= 100,
    "check without an excess": lambda q, s: number(s["enough"]) < number(s["volume"]) == answer(q),
    "check stock": lambda q, s: (
        near(number(s["stock"]) * number(s["volume"]), number(s["wanted"]) * number(s["made"]))
        and number(s["volume"]) < number(s["made"])
    ),
    "check diluted": lambda q, s: near(number(s["strong"]) / number(s["times"]), answer(q)) and number(s["times"]) > 1,
    "check before dilution": lambda q, s: (
        near(number(s["flask"]) / number(s["volume"]), number(s["times"]))
        and near(number(s["after"]) * number(s["times"]), number(s["before"]))
    ),
    "check usual strength": lambda q, s: Fraction(1, 100) <= answer(q) <= 1 and bool(q.draw.variant.procedure.titrations),
    "check one filling": lambda q, s: number(s["titre"]) == answer(q) < number(s["full"]) == 50,
    "check put back": put_back,
    "check put back mean": put_back,
    "check put back rounded": lambda q, s: not q.worked.steps[-1].variable.settled,  # and with the titres before it
    "check put back read": lambda q, s: q.worked.steps[-1].variable.settled,  # what is whole was not rounded
    "check last step": lambda q, s: near(number(s["found"]), number(s["was"])),
}  # fmt: skip


def test_every_check_of_the_wording_is_reckoned_here() -> None:
    assert TRUE.keys() == CHECKS.keys()


@every_kind_once
def test_every_check_is_true(turn: Turn, compose: Callable[..., Any]) -> None:
    for writer in compose(*turn).composer.writers:
        lines = [words(line) for line in common_sense(writer)]
        assert 1 <= len(lines) <= 3
        for line in lines:
            assert line.endswith("."), line
            found = dict(read(line))
            for check, slots in found.items():
                assert TRUE[check](writer.question, slots), line
            for check in found.keys() & {"check put back", "check put back mean"}:
                moved = number(found[check]["titre"]) != number(found[check]["measured"])
                assert moved == bool(found.keys() & {"check put back rounded", "check put back read"}), line


@pytest.mark.parametrize(
    ("key", "told"),
    [
        ("direct-one-to-two", "so it is half that"),
        ("back-portions", "is less than what was added"),
        ("iron-sulfate-water", "It has to be a whole number"),
        ("direct-purity", "the percentage has to be below 100"),
    ],
)
def test_a_check_fits_what_is_asked(key: str, told: str, compose: Callable[..., Any]) -> None:
    writers: tuple[Writer, ...] = compose(key, "exam", "dm3").composer.writers
    assert any(told in words(line) for writer in writers for line in common_sense(writer))
