"""A named element is marked by itself: in the cell of the value or in a row of its own, right or carried forward from the value."""

from __future__ import annotations

import csv
import json
from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from molewright.bank.definitions import Bank
from molewright.derivation.plans import Plans
from molewright.errors import Mistake
from molewright.experiment.identity import Candidate, nearest_candidate, substances
from molewright.marking.files import mark_answers
from molewright.marking.marked import MarkedPupil
from molewright.marking.named_answers import alone, judge_name, named_in, split
from molewright.order.order import Order, Wanted
from molewright.papers.making import PaperMaker
from molewright.papers.record.writer import record
from shared.for_each import for_each
from shared.records import write_record

# CIAAW, Abridged Standard Atomic Weights 2021, to one place
GROUP_1 = tuple(
    Candidate(symbol, name, Decimal(mass))
    for symbol, name, mass in (
        ("Li", "lithium", "6.9"), ("Na", "sodium", "23.0"), ("K", "potassium", "39.1"), ("Rb", "rubidium", "85.5"),
    )
)  # fmt: skip


@for_each(
    ("text", "number", "name"),
    [
        ("38.9", "38.9", ""),
        ("38.9 K", "38.9", "K"),
        ("38.9, so M is potassium", "38.9", "potassium"),
        ("38.9 (Potassium)", "38.9", "Potassium"),
        ("Ar(M) = 38.9 => K", "38.9", "K"),
        ("K, 38.9", "38.9", "K"),
        ("M = K", "", "K"),
        ("Na", "", "Na"),
        ("2.30 x 10^1; Na", "2.30 x 10^1", "Na"),
        ("38.9 g mol-1", "38.9 g mol-1", ""),
        ("23.0 NA", "23.0 NA", ""),  # a symbol has its own capitals, a name any
        ("23.0 SODIUM", "23.0", "SODIUM"),
        ("Kr", "Kr", ""),
    ],
)
def test_value_and_name_of_one_cell_are_told_apart(text: str, number: str, name: str) -> None:
    assert split(text, GROUP_1) == (number, name)
    assert alone(text, GROUP_1) == (bool(name) and not number)


@for_each(
    ("text", "symbols"),
    [("na", "Na"), ("SODIUM", "Na"), ("sodium (Na)", "Na"), ("Na+", "Na"), ("it is lithium.", "Li"), ("copper", ""),
     ("Na or K", "Na K")],
)  # fmt: skip
def test_elements_are_read_by_name_or_symbol(text: str, symbols: str) -> None:
    assert " ".join(one.formula for one in named_in(text, GROUP_1)) == symbols


@pytest.mark.parametrize(
    ("text", "own", "verdict"),
    [
        ("K", None, "right"),
        ("K", "38.9", "right"),
        ("Rb", "78.2", "carried forward"),  # a value twice too large: the nearest of the group is rubidium
        ("K", "78.2", "wrong"),
        ("Na", None, "wrong"),
        ("Na or K", None, "wrong"),
        ("copper", None, "wrong"),
        ("pottasium", None, "not read"),
        ("", None, "no answer"),
    ],
)
def test_a_name_is_right_or_follows_from_the_value_found(text: str, own: str | None, verdict: str) -> None:
    found, marks, note = judge_name(text, GROUP_1, Fraction("39.06"), Fraction(own) if own else None)
    assert found == verdict
    assert marks == (verdict in ("right", "carried forward"))
    assert bool(note) == (verdict not in ("right", "no answer"))


HALIDES = substances(
    "KX", [("KI", "potassium iodide"), ("KBr", "potassium bromide"), ("KCl", "potassium chloride")], "one place"
)
ACIDS = substances("H2A", [("CH2(COOH)2", "propanedioic acid"), ("(CH2COOH)2", "butanedioic acid"),
                           ("HOOCCH2CH(OH)COOH", "2-hydroxybutanedioic acid")], "one place")  # fmt: skip


@for_each(
    ("text", "formula"),
    [
        ("KBr", "KBr"), ("potassium bromide", "KBr"), ("bromide", "KBr"), ("X is bromine", "KBr"), ("X = Br", "KBr"), ("KCl", "KCl"),
        ("I think it is KBr", "KBr"), ("I", "KI"), ("Potassium iodide because 166 is nearest, not KBr", "KI"),
        ("nearest is KBr", "KBr"), ("potassium", ""), ("KBr or KI", "KBr KI"),
    ],
)  # fmt: skip
def test_a_halide_is_read_by_name_formula_or_halogen(text: str, formula: str) -> None:
    assert {one.formula for one in named_in(text, HALIDES)} == set(formula.split())


@for_each(
    ("text", "formula"),
    [
        ("butanedioic acid", "(CH2COOH)2"), ("2-hydroxybutanedioic acid", "HOOCCH2CH(OH)COOH"), ("(CH₂COOH)₂", "(CH2COOH)2"),
        ("hydroxybutanedioic acid", "HOOCCH2CH(OH)COOH"), ("CH2(COOH)2", "CH2(COOH)2"), ("acid", ""),
    ],
)  # fmt: skip
def test_an_acid_is_read_by_name_or_formula(text: str, formula: str) -> None:
    assert "".join(one.formula for one in named_in(text, ACIDS)) == formula


@pytest.mark.parametrize(
    ("text", "number", "name"),
    [
        ("119 g mol-1, KBr", "119 g mol-1", "KBr"),
        ("M(KX) = 119.2 so X is bromine", "119.2", "bromine"),
        ("118.0, 2-hydroxybutanedioic acid", "118.0, 2-hydroxybutanedioic acid", ""),
    ],
)
def test_a_molar_mass_and_a_substance_of_one_cell_are_told_apart(text: str, number: str, name: str) -> None:
    assert split(text, HALIDES) == (number, name)


# ------------------------------------------------------------------ from the paper to the marks


@pytest.fixture(scope="module")
def plans(bank: Bank, tmp_path_factory: pytest.TempPathFactory) -> Plans:
    return Plans(bank.fingerprint, tmp_path_factory.mktemp("plans"))


def whole(
    bank: Bank, plans: Plans, level: str = "exam", key: str = "name-the-carbonate"
) -> tuple[PaperMaker, dict[str, Any]]:
    maker = PaperMaker(bank, Order(seed=4, count=1, level=level, archetypes=(key,)), plans)  # type: ignore[arg-type]
    return maker, record(maker.paper(Wanted(), "A"))


def marked(
    bank: Bank, plans: Plans, folder: Path, level: str, rows: Sequence[tuple[str, str, str]]
) -> dict[str, MarkedPupil]:
    maker, held = whole(bank, plans, level)
    write_record(maker, folder, [held], "named")
    with (folder / "answers.csv").open("w", newline="", encoding="utf-8") as file:
        csv.writer(file).writerows([("code", "pupil", "question", "part", "answer"),
                                    *((held["code"], pupil, "1", part, answer) for pupil, part, answer in rows)])  # fmt: skip
    return {one.name: one for one in mark_answers(folder / "answers.csv", bank, plans)[0].pupils}


@pytest.mark.parametrize("level", ["exam", "structured", "scaffolded"])
def test_the_name_is_a_mark_wherever_it_is_typed(bank: Bank, plans: Plans, tmp_path: Path, level: str) -> None:
    _, held = whole(bank, plans, level)
    (question,) = held["questions"]
    right, (part,) = question["answer"], question["further parts"]
    last = question["points"][-1]["part"]
    assert part["kind"] == "element"
    rows = [
        ("Ilsa", last, f"{right} {part['answers'][0]['answer']}"),  # both in one cell
        ("Bram", last, right),
        ("Bram", part["part"], part["answers"][0]["answer"]),  # each in its own row
        ("Cleo", "", right),
        ("Cleo", "", part["answers"][0]["answer"]),  # without a part
        ("Dov", last, right),  # no name
        ("Edda", part["part"], part["answers"][0]["answer"]),  # a name without a value
        ("Fern", last, right),
        (
            "Fern",
            f"point {len(question['points']) + 1}",
            part["answers"][0]["answer"],
        ),  # the mark point after the last of the value
        ("Gwen", last, right),
        ("Gwen", part["part"], ""),  # left empty: nothing for the teacher to read
    ]
    found = marked(bank, plans, tmp_path, level, rows)
    totals = {name: pupil.total for name, pupil in found.items()}
    most = question["marks in all"] - 1  # the mark for the reason is the teacher's
    assert totals == {
        "Ilsa": most,
        "Bram": most,
        "Cleo": most,
        "Dov": most - 1,
        "Edda": 1,
        "Fern": most,
        "Gwen": most - 1,
    }
    assert found["Ilsa"].answers[-1].right == part["answers"][0]["answer"]
    assert "teacher" in found["Ilsa"].answers[-1].note
    assert found["Gwen"].answers[-1].verdict == "no answer"
    assert not found["Gwen"].answers[-1].note


def test_a_name_is_carried_forward_from_a_wrong_value(bank: Bank, plans: Plans, tmp_path: Path) -> None:
    _, held = whole(bank, plans)
    (question,) = held["questions"]
    among = [
        Candidate(symbol, name, Decimal(mass)) for symbol, name, mass in question["further parts"][0]["candidates"]
    ]
    right = nearest_candidate(Fraction(question["exact"]), among)
    other = next(one for one in among if one != right)
    last = question["points"][-1]["part"]
    found = marked(bank, plans, tmp_path, "exam", [
        ("Ilsa", last, f"{other.mass} {other.formula}"), ("Bram", last, f"{other.mass} {right.formula}")
    ])  # fmt: skip
    assert [one.verdict for one in found["Ilsa"].answers if one.part == "b" or one.right.endswith(")")] == [
        "carried forward"
    ]
    assert found["Bram"].answers[-1].verdict == "wrong"
    assert other.name in found["Bram"].answers[-1].note
    assert found["Ilsa"].total == found["Bram"].total + 1


def test_a_damaged_named_in_the_record_is_refused(bank: Bank, plans: Plans, tmp_path: Path) -> None:
    maker, held = whole(bank, plans)
    held = json.loads(json.dumps(held))
    held["questions"][0]["further parts"][0]["candidates"][0][2] = "1e999999"
    write_record(maker, tmp_path, [held], "named")
    (tmp_path / "answers.csv").write_text(f"code,pupil,question,answer\n{held['code']},Ilsa,1,23.0\n")
    with pytest.raises(Mistake, match="damaged"):
        mark_answers(tmp_path / "answers.csv", bank, plans)


def test_mark_points_are_named_as_they_are_printed_after_a_reading(bank: Bank, plans: Plans, tmp_path: Path) -> None:
    maker, held = whole(bank, plans, "structured", "burette-readings")
    write_record(maker, tmp_path, [held], "read")
    (question,) = held["questions"]
    assert question["marks before"] == 1
    second = question["points"][1]  # the mean is point 2 on the page, the first step point 3
    (tmp_path / "answers.csv").write_text(
        f"code,pupil,question,part,answer\n{held['code']},Ilsa,1,point 3,{second['answers'][-1]['answer']}\n"
    )
    (one,) = mark_answers(tmp_path / "answers.csv", bank, plans)[0].pupils[0].answers
    assert one.verdict == "right"
    assert one.marks == 2


def test_a_substance_is_a_mark_and_its_reason_the_teachers(bank: Bank, plans: Plans, tmp_path: Path) -> None:
    maker, held = whole(bank, plans, "exam", "potassium-halide")
    write_record(maker, tmp_path, [held], "halide")
    (question,) = held["questions"]
    (part,) = question["further parts"]
    label = part["part"].strip("()")
    name, formula = part["answers"][0]["answer"].removesuffix(")").split(" (")
    (tmp_path / "answers.csv").write_text(
        "code,pupil,question,part,answer\n"
        f"{held['code']},Ilsa,1,,{question['answer']} {formula}\n"
        f"{held['code']},Bram,1,{label},{name}\n"
        f"{held['code']},Cleo,1,{label},potassium\n"
    )
    ilsa, bram, cleo = mark_answers(tmp_path / "answers.csv", bank, plans)[0].pupils
    assert [pupil.total for pupil in (ilsa, bram, cleo)] == [question["marks"] + 1, 1, 0]
    assert part["marks"] == 2
    assert all("teacher" in pupil.answers[-1].note for pupil in (ilsa, bram, cleo))


def test_a_record_of_a_paper_that_asked_for_no_reason_still_marks(bank: Bank, plans: Plans, tmp_path: Path) -> None:
    maker, held = whole(bank, plans)
    held = json.loads(json.dumps(held))
    part = held["questions"][0]["further parts"][0]
    part["elements"], part["answers"], part["marks"] = part.pop("candidates"), part["answers"][:1], 1
    write_record(maker, tmp_path, [held], "named")
    (tmp_path / "answers.csv").write_text(
        f"code,pupil,question,part,answer\n{held['code']},Ilsa,1,b,{part['answers'][0]['answer']}\n"
    )
    (one,) = mark_answers(tmp_path / "answers.csv", bank, plans)[0].pupils[0].answers
    assert (one.verdict, one.marks, one.note) == ("right", 1, "")
