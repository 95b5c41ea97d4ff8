"""One paper's document comes in; the frozen questions that answers are marked against go out. What is damaged is refused by name.

Everything is in the units of the record: known and exact values in base units, answers in the unit that was printed.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from decimal import Decimal
from fractions import Fraction
from typing import Any

from molewright.answer.accepted import ANSWER_TYPES, Accepted, AnswerType, accepted, in_range
from molewright.answer.printed import Further, Point, PrintedPaper, PrintedQuestion, SlipFacts, Slips, Step
from molewright.answer.spans import rounded_runs
from molewright.chem.quantity import Quantity, parse_quantity
from molewright.chem.units import Unit, parse_unit
from molewright.errors import Mistake, shortened
from molewright.experiment.identity import Candidate
from molewright.experiment.relations.variables import BareRelation
from molewright.papers.record.equations import read_equation_asked
from molewright.papers.record.form import MOST_LETTERS, TEACHERS

MEAN = "mean titre"  # what a mark point finds that finds no step


def read_paper(held: Mapping[str, Any]) -> PrintedPaper:
    questions = tuple(_question(one) for one in held["questions"])
    numbers = [question.number for question in questions]
    if not numbers or len(set(numbers)) != len(numbers):
        raise ValueError("no question, or one that stands twice")
    return PrintedPaper(str(held["code"]), str(held["version"]), _told(held["title"]), questions)


def read_slip(held: object) -> SlipFacts:
    told = held if isinstance(held, dict) else {}
    often = str(told.get("often", "medium"))
    return SlipFacts(
        name=_told(told.get("name", "")),
        often=often if often in ("high", "medium", "low") else "medium",
        near=told.get("near") is True,
        first=told.get("first") is True,
        feedback=_told(told.get("feedback", "")),
        practice=_told(told.get("practice", "")),
        misunderstood=_told(told.get("misunderstood", "")),
    )


def _question(held: Mapping[str, Any]) -> PrintedQuestion:
    if "archetype" not in held:
        return _teachers(held)
    chain = tuple(_step(one) for one in _listed(held["chain"]))
    answer = parse_quantity(held["answer"], unit_needed=False)
    known = {str(name): Fraction(_short(number)) for name, number in held["known"].items()}
    titre = str(held.get("titre", ""))
    made = PrintedQuestion(
        number=_count(held["question"], 1),
        archetype=str(held["archetype"]),
        topic=str(held["topic"]),
        context=str(held["context"]),
        level=str(held["level"]),
        asked=str(held["asked"]),
        titre=titre,
        points=tuple(_point(one, titre) for one in _listed(held["points"])),
        known=known,
        chain=chain,
        accepted=_accepted(held, answer, chain, known),
        slips=tuple(_slips(one) for one in _listed(held["slips"])),
        further=tuple(further_of(one) for one in _listed(held.get("further parts", []))),
        before=_count(held.get("marks before", 0)),
    )
    _whole_chain(made)
    return made


def _teachers(held: Mapping[str, Any]) -> PrintedQuestion:
    """A question in a teacher's own words: nothing of it can be judged, so that what would be right is nothing."""
    further = tuple(further_of(one) for one in _listed(held["further parts"]))
    if any(str(one["kind"]) != TEACHERS for one in held["further parts"]) or held["points"]:
        raise ValueError("a question without its kind")
    nothing = Quantity(Decimal(0), Unit.NONE)
    return PrintedQuestion(
        number=_count(held["question"], 1),
        archetype="",
        topic="",
        context="",
        level="",
        asked="",
        titre="",
        points=(),
        known={},
        chain=(),
        accepted=Accepted(type="words", exact=Fraction(0), answer=nothing, low=nothing, high=nothing),
        slips=(),
        further=further,
    )


_MOST_POWER = 3  # of a quantity in a relation
_SETTLED_BEFORE: dict[str, AnswerType] = {
    "water in": "whole number",
    "basicity of": "whole number",
    "electrons lost": "whole number",
    "oxidation state": "whole number",
    "reacting ratio": "ratio",
}
"""How the asked quantity begins, and the type of its answer: for records of 0.2.0, which tell no type."""


def _accepted(
    held: Mapping[str, Any], answer: Quantity, chain: tuple[Step, ...], known: Mapping[str, Fraction]
) -> Accepted:
    """What is right for the final answer."""
    asked = str(held["asked"])
    old = next((kind for start, kind in _SETTLED_BEFORE.items() if asked.startswith(start)), "number")
    exact = Fraction(_short(held["exact"])) / answer.unit.factor
    low, high = _ends(held["accepted"])
    before = None
    kind = _type(held.get("type", old))
    if "before rounding" in held:
        before = _ends(held["before rounding"])
    elif kind in ("whole number", "ratio"):
        before = accepted(
            kind, [exact, *(run[asked] for run in rounded_runs(chain, known) if asked in run)], answer
        ).before
    return Accepted(type=kind, exact=exact, answer=answer, low=low, high=high, before=before)


def _type(held: object) -> AnswerType:
    for known in ANSWER_TYPES:
        if held == known:
            return known
    raise ValueError(f"no type of answer {shortened(str(held))}")


def _ends(held: object) -> tuple[Quantity, Quantity]:
    low, high = (parse_quantity(str(text), unit_needed=False) for text in _listed(held))
    if low.number > high.number:
        raise ValueError("an accepted range that runs downwards")
    return low, high


def _whole_chain(question: PrintedQuestion) -> None:
    """Refuse a chain that rests on what it has not found: a damaged record must not mark anyone."""
    found = set(question.known)
    for step in question.chain:
        if step.relation is not None and not (step.finds in step.relation.names and set(step.rests_on) <= found):
            raise Mistake(f"the chain of question {question.number} is broken at the {step.finds}")
        found.add(step.finds)
    numbers = [point.number for point in question.points]
    if not question.chain or question.chain[-1].finds != question.asked or numbers != list(range(1, len(numbers) + 1)):
        raise Mistake(f"the chain of question {question.number} does not lead to the {question.asked}")
    if any(point.finds not in found for point in question.points):
        raise Mistake(f"a mark point of question {question.number} finds nothing")


def further_of(held: Mapping[str, Any]) -> Further:
    unit = parse_unit(str(held["unit"]))
    numbers = [parse_quantity(str(text), unit_needed=False).number for text in _listed(held["accepted"])]
    # before a reason was asked for, the candidates were elements, and called so
    candidates = tuple(_candidate(one) for one in _listed(held.get("candidates", held.get("elements", []))))
    answers = [_answer(one) for one in _listed(held["answers"])]
    in_all = _count(held["marks"])
    words = sum(kind == "words" for kind, _ in answers) if numbers else 0
    if candidates:  # the name comes first, its reason after it
        words = in_all - 1
    judged = max(1, in_all - words)
    equation = read_equation_asked(held["equation"], in_all) if "equation" in held else None
    return Further(
        part=str(held["part"]).strip("() "),
        type="equation" if equation else "name" if candidates else "number" if numbers else "words",
        marks=judged,
        unit=unit,
        accepted=in_range(min(numbers), max(numbers), unit) if numbers else None,
        words=max(0, in_all - judged),
        candidates=candidates,
        name=_told(answers[0][1]) if candidates else "",
        reads=str(held.get("reads", "")),
        wrong=tuple(_slips(one) for one in _listed(held.get("wrong", []))),
        equation=equation,
    )


def _answer(held: object) -> tuple[AnswerType, str]:
    """The type of an answer and how it is written; in version 0.2.0 its type was not told."""
    if isinstance(held, dict):
        return _type(held["type"]), str(held["answer"])
    text = str(held)
    return "number" if re.match("[0-9−-]", text) else "words", text


def _candidate(held: object) -> Candidate:
    formula, name, mass, *also = map(str, _listed(held))
    if any(not re.fullmatch(r"[A-Za-z0-9()\[\],. -]{1,60}", text) for text in (formula, name, *also)) or len(also) > 12:
        raise ValueError(f"no element or substance {shortened(name)}")
    if not re.fullmatch(r"[0-9]{1,4}(?:\.[0-9]{1,8})?", mass):
        raise ValueError(f"no relative mass {shortened(mass)}")
    return Candidate(formula, name, Decimal(mass), tuple(also))


def _listed(held: object) -> Sequence[Any]:
    if not isinstance(held, list):
        raise TypeError("a list is missing")
    return held


def _short(text: object) -> str:
    """A number that is no more than a number: Fraction would take a huge power of ten and never come back."""
    if not isinstance(text, str) or len(text) > 400 or not re.fullmatch(r"-?[0-9]+(?:/[0-9]+)?", text):
        raise ValueError(f"{shortened(str(text))} is not a fraction")
    return text


def _point(held: Mapping[str, Any], titre: str) -> Point:
    last = str(_listed(held["finds"])[-1])
    return Point(
        _count(held["mark point"], 1), str(held["part"]).strip("() "), titre if last == MEAN else last, last == MEAN
    )


def _step(held: Mapping[str, Any]) -> Step:
    return Step(
        finds=str(held["finds"]),
        unit=parse_unit(str(held["unit"])),
        exact=Fraction(_short(held["exact"])),
        relation=_relation(held),
        also=Fraction(_short(held["also"])) if "also" in held else None,
    )


def _relation(held: Mapping[str, Any]) -> BareRelation[str] | None:
    """What a step is worked by; none where several relations yield it together."""
    form = str(held["form"])
    quantities = tuple((str(name), Fraction(_short(power))) for name, power in _listed(held["quantities"]))
    factor = Fraction(_short(held["factor"]))
    if factor == 0 or any(power == 0 for _, power in quantities):
        raise ValueError("a relation with nothing in it")
    match form:
        case "":
            return None
        case "product":
            if any(power.denominator != 1 or abs(power) > _MOST_POWER for _, power in quantities):
                raise ValueError("a power that is not a small whole number")
            return BareRelation(form="product", quantities=quantities, factor=factor)
        case "logarithm":
            if len(quantities) != 2:
                raise ValueError("a logarithm of several quantities")
            return BareRelation(form="logarithm", quantities=quantities)
        case "sum":
            return BareRelation(form="sum", quantities=quantities, factor=factor)
        case _:
            raise ValueError(f"no form '{form}'")


def _slips(held: Mapping[str, Any]) -> Slips:
    gives = Decimal(held["gives"])
    if not gives.is_finite() or abs(gives.adjusted()) > 60:
        raise ValueError("a wrong answer out of all bounds")
    return Slips(
        tuple(map(str, held["slips"])), Fraction(gives), frozenset(map(_count, held["loses"])), _count(held["marks"])
    )


def _told(text: object) -> str:
    """A text of the record as it may be printed: no control characters, never a page long."""
    return shortened(str(text), MOST_LETTERS)[1:-1]


def _count(number: object, least: int = 0, most: int = 1000) -> int:
    if not isinstance(number, int) or not least <= number <= most:
        raise ValueError(f"{shortened(str(number))} where {least} to {most} is expected")
    return number
