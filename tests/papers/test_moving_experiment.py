"""A described experiment with other numbers: each moves within its range, what it is by nature stays, every version is proved."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

from molewright.bank.definitions import Bank
from molewright.chem.quantity import Quantity
from molewright.derivation.plans import Plans
from molewright.draw.stream import Stream
from molewright.errors import Mistake
from molewright.experiment.titres import Run
from molewright.order.lines import OrderLine
from molewright.order.order import Order, Wanted
from molewright.order.order_file import ORDER_ENDING, parse_order, read_order
from molewright.order.pupils import Pupil
from molewright.papers.changing import changed
from molewright.papers.making import PaperMaker
from molewright.papers.sets import PaperSet
from molewright.papers.writing import write_papers
from molewright.question.check import Question
from molewright.reading.quoting import flow_text
from molewright.reading.yaml_text import read_tree
from molewright.render.text import render
from molewright.solve.other_numbers import moved_runs
from papers.test_own_experiment import EXAMPLES, never
from shared.for_each import for_each

CRYSTALS = """
  - experiment: Washing soda
    words: 3.58 g of crystals were made up to 250 cm3; 25.0 cm3 needed 25.00 cm3 of 0.100 mol dm-3 acid.
    procedure:
      - weigh: {sample: crystals, contains: Na2CO3.xH2O, mass: 3.58 g, pure: yes}
      - make up: 250 cm3
      - take aliquot: 25.0 cm3
      - titrate: {with: HCl, concentration: 0.100 mol dm-3, titre: 25.00 cm3}
    asked: water in Na2CO3.xH2O
"""
STONE = """
  - experiment: Stone
    procedure:
      - weigh: {sample: stone, contains: CaCO3, mass: 1.264 g}
      - add excess: {solution: HCl, volume: 50.0 cm3, concentration: 1.00 mol dm-3}
      - react: {reaction: CaCO3 + 2HCl -> CaCl2 + CO2 + H2O, excess: HCl}
      - make up: 250 cm3
      - take aliquot: 25.0 cm3
      - titrate: {with: NaOH, concentration: 0.105 mol dm-3, readings: [rough 0.00 to 25.40, 0.00 to 24.75, 0.50 to 25.35]}
    asked: percentage of CaCO3 in stone
"""


def order_of(lines: str, head: str = "seed: 5") -> tuple[Order, Wanted]:
    return parse_order(f"{head}\nlines:{lines}", "x.order.yaml", never)


def told(question: Question) -> dict[str, Quantity]:
    return {name.text: quantity for name, quantity in question.draw.given.items()}


def test_each_number_moves_within_its_range_and_the_crystal_stays_what_it_is(bank: Bank, plans: Plans) -> None:
    ranges = (
        "    moves: {mass of crystals: 3.2 to 3.9 g by 0.01, concentration of HCl: no, titre of HCl: 22 to 27.5 cm3}\n"
    )
    order, wanted = order_of(CRYSTALS + ranges)
    maker = PaperMaker(bank, order, plans)
    seen = set()
    for version in "ABCDEF":
        question = maker.paper(wanted, version).questions[0]
        given = told(question)
        assert question.worked.answer.number == 10
        assert Fraction(32, 10) <= given["mass of crystals"].exact <= Fraction(39, 10)
        assert 22 <= given["titre of HCl"].exact <= Fraction(55, 2)
        assert str(given["concentration of HCl"].number) == "0.100"
        seen.add(str(given["mass of crystals"].number))
    assert len(seen) > 3


def test_numbers_in_the_teachers_own_words_move_with_the_others(bank: Bank, plans: Plans) -> None:
    maker = PaperMaker(bank, order_of(CRYSTALS + "    moves: yes\n")[0], plans)
    paper = maker.paper(Wanted(), "B")
    page = " ".join(render(paper.composer.question_paper()).decode().split())
    given = told(paper.questions[0])
    for name in ("mass of crystals", "titre of HCl", "concentration of HCl"):
        assert given[name].number_text in page
    assert "3.58" not in page


def test_words_that_leave_out_what_moves_are_refused(bank: Bank, plans: Plans) -> None:
    order, _ = order_of(CRYSTALS.replace("words: 3.58 g of", "words: Some") + "    moves: yes\n")
    with pytest.raises(Mistake, match="the words do not tell what moves: mass of crystals"):
        PaperMaker(bank, order, plans)


def test_runs_lie_about_their_new_mean_as_they_did(bank: Bank, plans: Plans) -> None:
    maker = PaperMaker(bank, order_of(STONE + "    moves: yes\n")[0], plans)
    question = maker.paper(Wanted(), "B").questions[0]
    rough, first, second = (run.titre for run in question.draw.runs)
    mean = (first + second) / 2
    assert (rough - mean, second - first) == (Fraction(60, 100), Fraction(10, 100))
    assert 80 < question.worked.exact < 100
    assert question.marks == PaperMaker(bank, order_of(STONE)[0], plans).paper(Wanted(), "A").questions[0].marks


def test_a_run_that_began_where_the_last_ended_still_does_while_the_burette_lasts() -> None:
    runs = (Run(Fraction(0), Fraction(20)), Run(Fraction(20), Fraction(40)))
    near, far = moved_runs(runs, Fraction(2), Stream("x")), moved_runs(runs, Fraction(8), Stream("x"))
    assert near == [Run(Fraction(0), Fraction(22)), Run(Fraction(22), Fraction(44))]
    assert far == [Run(Fraction(0), Fraction(28)), Run(Fraction(0), Fraction(28))]


def test_the_first_version_may_stay_as_written_and_a_settled_order_prints_all_again(
    bank: Bank, plans: Plans, tmp_path: Path
) -> None:
    order, wanted = order_of(STONE + "    moves: yes\n    as written: A\n", "seed: 5\nversions: [A, B]\nforms: [text]")
    papers = PaperSet(bank, order, wanted, plans)
    write_papers(papers, tmp_path / "first")
    first, second = (papers.paper(copy).questions[0] for copy in papers.copies)
    assert str(told(first)["mass of stone"].number) == "1.264"
    assert str(told(second)["mass of stone"].number) != "1.264"
    (path,) = (tmp_path / "first").glob(f"*{ORDER_ENDING}")
    again, said = read_order(path, never)
    assert dict(again.lines[0].moves)["volume of HCl"] == "no"
    write_papers(PaperSet(bank, again, said, plans), tmp_path / "again")
    one, other = ({at.name: at.read_bytes() for at in (tmp_path / where).iterdir()} for where in ("first", "again"))
    assert one == other


def test_new_numbers_of_a_settled_order_are_others_in_every_version(bank: Bank, plans: Plans) -> None:
    order = PaperMaker(bank, order_of(STONE)[0], plans).order
    fresh = changed(bank, order, "numbers", 1, "x")
    question = PaperMaker(bank, fresh, plans).paper(Wanted(), "A").questions[0]
    assert str(told(question)["mass of stone"].number) != "1.264"


def test_pupils_may_have_numbers_of_their_own(bank: Bank, plans: Plans) -> None:
    order, _ = order_of(STONE + "    moves: yes\n")
    pupils = tuple(Pupil(name=name) for name in ("Ilsa", "Bram", "Edda"))
    papers = PaperSet(bank, order, Wanted(pupils=pupils), plans)
    masses = {str(told(papers.paper(copy).questions[0])["mass of stone"].number) for copy in papers.copies}
    assert len(masses) == 3


FAULTS = {
    "a titre that stays": ("{titre of NaOH: no}", "it follows from them"),
    "a number that follows": ("{amount of HCl left over in flask: 1 to 2 mol}", "follows from the other numbers"),
    "a quantity that is none": ("{colour: 1 to 2}", "no quantity 'colour'"),
    "a titre beyond the burette": ("{titre of NaOH: 20 to 70 cm3}", "at most 50 cm³"),
    "a range of another kind": ("{mass of stone: 1 to 2 cm3}", "has 'cm³'"),
    "a window that is never met": ("{titre of NaOH: 1 to 2 cm3}", "no numbers within these ranges"),
}


@for_each("fault", FAULTS)
def test_what_cannot_move_so_is_told_with_its_line(fault: str, bank: Bank, plans: Plans) -> None:
    moves, said = FAULTS[fault]
    order, _ = order_of(f"{STONE}    moves: {moves}\n")
    with pytest.raises(Mistake) as caught:
        PaperMaker(bank, order, plans).paper(Wanted(), "A")
    assert "x.order.yaml:3: line, moves" in str(caught.value)
    assert said in str(caught.value)


@pytest.mark.thorough
@for_each("name", sorted(EXAMPLES))
def test_every_published_example_has_a_version_with_other_numbers(name: str, bank: Bank, plans: Plans) -> None:
    held = tuple((key, flow_text(branch)) for key, branch in read_tree(EXAMPLES[name]).items())  # type: ignore[union-attr]
    line = OrderLine(experiment=held, moving=True, as_written=("A",), level="exam")
    maker = PaperMaker(bank, Order(seed=1, count=1, lines=(line,)), plans)
    first, second = (maker.paper(Wanted(), version).questions[0] for version in "AB")
    assert told(first) != told(second)
    assert first.form == second.form
