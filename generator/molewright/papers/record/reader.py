"""The record of a paper comes in as JSON; frozen questions to mark against go out. A damaged record is refused by name.

Everything is in the units of the record: known and exact values in base units, answers in the unit that was printed.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal, InvalidOperation
from fractions import Fraction
from typing import Any

from molewright.chem.quantity import base_unit, parse_quantity
from molewright.errors import Mistake, Where, nearest, shortened
from molewright.experiment.identity import Candidate
from molewright.papers.printed import Further, Point, PrintedPaper, PrintedQuestion, SlipFacts, Slips, Step

MOST_LETTERS = 600  # of a text that is printed
MEAN = "mean titre"  # what a mark point finds that finds no step


@dataclass(slots=True)
class Record:
    """The record of a paper in all its versions; a version is read when it is first asked for."""

    code: str
    fingerprint: str
    versions: Mapping[str, Any]
    slips: Mapping[str, SlipFacts]
    where: Where
    masses: str = "one place"
    style: str = "dm3"
    _read: dict[str, PrintedPaper] = field(default_factory=dict)

    def paper(self, version: str) -> PrintedPaper:
        """One version."""
        if version not in self._read:
            self._read[version] = self._checked(version)
        return self._read[version]

    def _checked(self, version: str) -> PrintedPaper:
        with_place = self.where.under(f"version {version}" if version else "the paper")
        try:
            return _paper(self.versions[version])
        except Mistake as mistake:
            raise mistake.at(with_place) from None
        except (KeyError, TypeError, ValueError, IndexError, AttributeError, ZeroDivisionError, InvalidOperation,
                OverflowError) as broken:  # fmt: skip
            raise Mistake(
                f"the record is damaged ({type(broken).__name__}: {shortened(str(broken))})",
                where=with_place,
                do="Use the file as it was written beside the paper.",
            ) from None

    def find(self, text: str) -> str:
        """The version that a code or a version as typed means. Raises Mistake where there is none, or more than one."""
        asked = squashed(text)
        for version, held in self.versions.items():
            if asked == squashed(str(held.get("code", ""))) or text.strip().casefold() == version.casefold():
                return version
        numbers = [version for version in self.versions if version.isdecimal()]
        if asked.isdecimal() and len(asked) <= 4:
            same = [version for version in numbers if int(version) == int(asked)]
            if same:
                return same[0]
        if asked in ("", squashed(self.code)):
            if len(self.versions) == 1:
                return next(iter(self.versions))
            raise Mistake(
                f"the paper has {len(self.versions)} versions and {shortened(text)} does not say which",
                expected=f"a code with its version, such as {next(iter(self.versions.values())).get('code', '')}",
            )
        codes = [str(held.get("code", "")) for held in self.versions.values()]
        known = codes if len(asked) > 4 else [version for version in self.versions if version]
        raise Mistake(
            f"the paper code {shortened(text)} is not in the record of {self.code}",
            expected="a code or a version of this paper",
            near=nearest(text.strip(), known),
        )


def squashed(code: str) -> str:
    """A code without what people add or misread: spaces, hyphens, I, L, O and U."""
    return re.sub(r"[\s\-–−]+", "", code).upper().translate(str.maketrans("ILOU", "110V"))


def as_record(whole: object, where: Where) -> Record:
    """A record from its JSON. Raises Mistake for what is not one."""
    if not isinstance(whole, dict) or not isinstance(whole.get("versions"), list) or "paper code" not in whole:
        raise Mistake("this is not the record of a paper", expected="the file …-record.json", where=where)
    versions: dict[str, Any] = {}
    for held in whole["versions"]:
        if not isinstance(held, dict) or not isinstance(held.get("questions"), list):
            raise Mistake("a version in the record is damaged", where=where)
        versions[str(held.get("version", ""))] = held
    if not versions:
        raise Mistake("the record holds no version", where=where)
    codes = [whole["paper code"], *(held.get("code", "") for held in versions.values())]
    for code in codes:  # files are called by it
        if not isinstance(code, str) or not re.fullmatch(r"[0-9A-Z-]{0,200}", code):
            raise Mistake(f"the paper code {shortened(str(code))} in the record", where=where,
                          expected="capital letters, digits and hyphens")  # fmt: skip
    facts = whole.get("slips", {})
    slips = {str(key): _facts(held) for key, held in facts.items()} if isinstance(facts, dict) else {}
    masses, style = str(whole.get("relative atomic masses", "")), str(whole.get("units", ""))
    return Record(str(whole["paper code"]), str(whole.get("banks", "")), versions, slips, where, masses, style)


def _facts(held: object) -> SlipFacts:
    told = held if isinstance(held, dict) else {}
    often = str(told.get("often", "medium"))
    return SlipFacts(
        _told(told.get("name", "")),
        often if often in ("high", "medium", "low") else "medium",
        told.get("near") is True,
        _told(told.get("feedback", "")),
        _told(told.get("practice", "")),
    )


def _told(text: object) -> str:
    """A text of the record as it may be printed: no control characters, never a page long."""
    return shortened(str(text), MOST_LETTERS)[1:-1]


def _count(number: object, least: int = 0, most: int = 1000) -> int:
    if not isinstance(number, int) or not least <= number <= most:
        raise ValueError(f"{shortened(str(number))} where {least} to {most} is expected")
    return number


def _paper(held: Mapping[str, Any]) -> PrintedPaper:
    questions = tuple(_question(one) for one in held["questions"])
    numbers = [question.number for question in questions]
    if not numbers or len(set(numbers)) != len(numbers):
        raise ValueError("no question, or one that stands twice")
    return PrintedPaper(str(held["code"]), str(held["version"]), _told(held["title"]), questions)


def _question(held: Mapping[str, Any]) -> PrintedQuestion:
    chain = tuple(_step(one) for one in _listed(held["chain"]))
    answer = parse_quantity(held["answer"], unit_needed=False)
    known = {str(name): Fraction(_short(number)) for name, number in held["known"].items()}
    titre = str(held.get("titre", ""))
    low, high = (parse_quantity(text, unit_needed=False).exact for text in held["accepted"])
    if low > high:
        raise ValueError("an accepted range that runs downwards")
    made = PrintedQuestion(
        _count(held["question"], 1),
        str(held["archetype"]),
        str(held["topic"]),
        str(held["context"]),
        str(held["level"]),
        str(held["asked"]),
        titre,
        tuple(_point(one, titre) for one in _listed(held["points"])),
        known,
        chain,
        Fraction(_short(held["exact"])) / base_unit(answer.unit)[1],
        answer,
        low,
        high,
        tuple(_slips(one) for one in _listed(held["slips"])),
        tuple(_further(one) for one in _listed(held.get("further parts", []))),
        _count(held.get("marks before", 0)),
    )
    _whole_chain(made)
    return made


def _whole_chain(question: PrintedQuestion) -> None:
    """Refuse a chain that rests on what it has not found: a damaged record must not mark anyone."""
    found = set(question.known)
    for step in question.chain:
        names = [name for name, _ in step.quantities]
        if step.form and (step.finds not in names or not set(names) - {step.finds} <= found):
            raise Mistake(f"the chain of question {question.number} is broken at the {step.finds}")
        found.add(step.finds)
    numbers = [point.number for point in question.points]
    if not question.chain or question.chain[-1].finds != question.asked or numbers != list(range(1, len(numbers) + 1)):
        raise Mistake(f"the chain of question {question.number} does not lead to the {question.asked}")
    if any(point.finds not in found for point in question.points):
        raise Mistake(f"a mark point of question {question.number} finds nothing")


def _further(held: Mapping[str, Any]) -> Further:
    unit = str(held["unit"])
    numbers = [parse_quantity(str(text), unit_needed=False).number for text in _listed(held["accepted"])]
    accepted = (min(numbers), max(numbers)) if numbers else None
    # before a reason was asked for, the candidates were elements, and called so
    candidates = tuple(_candidate(one) for one in _listed(held.get("candidates", held.get("elements", []))))
    words = sum(not re.match("[0-9−-]", str(text)) for text in _listed(held["answers"])) if numbers else 0
    if candidates:  # the name comes first, its reason after it
        words = _count(held["marks"]) - 1
    marks = max(1, _count(held["marks"]) - words)
    name = _told(_listed(held["answers"])[0]) if candidates else ""
    reads = str(held.get("reads", ""))
    return Further(str(held["part"]).strip("() "), marks, unit, accepted, words > 0, candidates, name, reads)


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
    form = str(held["form"])
    if form not in ("", "product", "sum"):
        raise ValueError(f"no form '{form}'")
    quantities = tuple((str(name), Fraction(_short(power))) for name, power in _listed(held["quantities"]))
    if form == "product" and any(abs(power) != 1 for _, power in quantities):
        raise ValueError("a power that is not 1 or -1")
    if Fraction(_short(held["factor"])) == 0 or any(power == 0 for _, power in quantities):
        raise ValueError("a relation with nothing in it")
    return Step(
        str(held["finds"]),
        str(held["unit"]),
        Fraction(_short(held["exact"])),
        form,
        Fraction(_short(held["factor"])),
        quantities,
    )


def _slips(held: Mapping[str, Any]) -> Slips:
    gives = Decimal(held["gives"])
    if not gives.is_finite() or abs(gives.adjusted()) > 60:
        raise ValueError("a wrong answer out of all bounds")
    return Slips(
        tuple(map(str, held["slips"])), Fraction(gives), frozenset(map(_count, held["loses"])), _count(held["marks"])
    )
