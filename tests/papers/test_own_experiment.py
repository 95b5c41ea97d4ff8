"""A described experiment in a line of an order: a question like any other, with its scheme, record and code."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

from molewright.bank.definitions import Bank
from molewright.derivation.plans import Plans
from molewright.errors import Mistake
from molewright.marking.files import mark_answers
from molewright.order.lines import OrderLine
from molewright.order.order import Order, Wanted
from molewright.order.order_file import ORDER_ENDING, parse_order, read_order
from molewright.papers.changing import changed
from molewright.papers.making import PaperMaker
from molewright.papers.sets import PaperSet
from molewright.papers.summary import summary
from molewright.papers.writing import write_papers
from molewright.reading.quoting import flow_text
from molewright.reading.yaml_text import read_tree
from molewright.render.text import render
from molewright.sheet.wrong_table import named_causes
from shared.for_each import for_each
from shared.typed_back import differences

EXAMPLES = {path.stem: path for path in (Path(__file__).parents[1] / "reference" / "worked_examples").rglob("*.yaml")}

# 0.0500 mol of HCl, 0.02604 mol left over; half of 0.02396 mol x 100.1 g/mol is 1.199198 g of 1.264 g: worked by hand.
QUARRY = """
  - experiment: Quarry stone
    opening: Miri brought a stone from the quarry.
    procedure:
      - weigh: {sample: limestone, contains: CaCO3, mass: 1.264 g}
      - add excess: {solution: HCl, volume: 50.0 cm3, concentration: 1.00 mol dm-3}
      - react: CaCO3 + 2HCl -> CaCl2 + CO2 + H2O
      - make up: 250 cm3
      - take aliquot: 25.0 cm3
      - titrate: {with: NaOH, concentration: 0.105 mol dm-3, titre: 24.80 cm3}
    asked: percentage of CaCO3 in limestone
"""


def never() -> int:
    raise AssertionError("a seed was drawn though one is written")


def asked(more: str = "", head: str = "seed: 5") -> tuple[Order, Wanted]:
    return parse_order(f"{head}\nlines:{more}{QUARRY}", "x.order.yaml", never)


def test_it_is_printed_in_its_place_with_the_answer_worked_by_hand(bank: Bank, plans: Plans) -> None:
    order, wanted = asked("\n  - topic: direct titration", head="seed: 5\ntelling: prose")
    paper = PaperMaker(bank, order, plans).paper(wanted, "A")
    assert paper.questions[1].worked.exact == Fraction(1199198, 1264000) * 100
    page = " ".join(render(paper.composer.question_paper()).decode().split())
    assert "2 Miri brought a stone from the quarry. 1.264 g of limestone was weighed out" in page
    assert "94.9 %" in render(paper.composer.mark_scheme()).decode()


@pytest.mark.thorough
@pytest.mark.parametrize(
    "head", ["seed: 5\nmarks: 30", "seed: 5\nquestions: 3\naim: S21", "seed: 5\nmarks: 25\naim: S21"]
)
def test_it_stays_in_its_place_where_the_rest_is_chosen_for_marks_or_a_slip(
    head: str, bank: Bank, plans: Plans
) -> None:
    order, wanted = asked(head=head)
    maker = PaperMaker(bank, order, plans)
    assert maker.order.lines[0].experiment == order.lines[0].experiment
    paper = maker.paper(wanted, "A")
    assert paper.questions[0].worked.exact == Fraction(1199198, 1264000) * 100
    assert len(paper.questions) == maker.order.count > 1
    assert order.marks in (0, paper.composer.marks)


def test_it_prints_again_from_its_order_and_is_marked_by_its_record(bank: Bank, plans: Plans, tmp_path: Path) -> None:
    order, wanted = asked("\n  - kind: direct-solutions", "seed: 5\nforms: [text]\nversions: [A, B]")
    papers = PaperSet(bank, order, wanted, plans)
    told = write_papers(papers, tmp_path / "first")
    assert any(
        "question 2: an experiment of your own, the same in every version" in one for one in summary(papers, told)
    )
    (path,) = (tmp_path / "first").glob(f"*{ORDER_ENDING}")
    again, said = read_order(path, never)
    write_papers(PaperSet(bank, again, said, plans), tmp_path / "again")
    first, second = (
        {one.name: one.read_bytes() for one in sorted((tmp_path / where).iterdir())} for where in ("first", "again")
    )
    assert first == second
    code = PaperMaker(bank, order, plans).code
    (tmp_path / "answers.csv").write_text(f"code,pupil,question,answer\nB-{code},Ilsa,2,94.9 %\n", "utf-8")
    marked, _ = mark_answers(tmp_path / "answers.csv", bank, plans, given=tmp_path / "first")
    (answer,) = marked.pupils[0].answers
    assert (answer.marks, answer.out_of) == (7, 7)


def test_its_marks_count_towards_an_exact_total(bank: Bank, plans: Plans) -> None:
    order, wanted = asked(head="seed: 5\nmarks: 20\nquestions: 4")
    paper = PaperMaker(bank, order, plans).paper(wanted, "A")
    assert paper.composer.marks == 20
    assert paper.questions[0].marks == 7


def test_it_has_no_scene_to_change(bank: Bank, plans: Plans) -> None:
    order = PaperMaker(bank, asked()[0], plans).order
    with pytest.raises(Mistake, match="question 1 is one of your own"):
        changed(bank, order, "scene", 1, "x")


@pytest.mark.thorough
@for_each("name", sorted(EXAMPLES))
def test_every_published_example_makes_a_question_with_all_its_sheets(name: str, bank: Bank, plans: Plans) -> None:
    """Each with its source in the file: what `solve` can work out can be printed as a matched pair."""
    held = tuple((key, flow_text(branch)) for key, branch in read_tree(EXAMPLES[name]).items())  # type: ignore[union-attr]
    line = OrderLine(experiment=held, level="structured")
    paper = PaperMaker(bank, Order(seed=1, count=1, lines=(line,)), plans).paper(Wanted(), "A")
    composer = paper.composer
    for sheet in (
        composer.question_paper(),
        composer.mark_scheme(),
        composer.worked_solutions(),
        composer.answers(),
    ):
        assert render(sheet)


SALT = """
  - experiment: Lawn fertiliser
    procedure:
      - weigh: {sample: fertiliser, contains: (NH4)2SO4, mass: 1.500 g}
      - add excess: {solution: NaOH, volume: 50.0 cm3, concentration: 0.500 mol dm-3}
      - react: (NH4)2SO4 + 2NaOH -> Na2SO4 + 2NH3 + 2H2O
      - boil off: NH3
      - titrate: {with: HCl, concentration: 0.250 mol dm-3, titre: 19.20 cm3}
    asked: percentage of (NH4)2SO4 in fertiliser
"""


def test_mistakes_that_an_answer_does_not_tell_apart_are_printed_with_what_each_gives_and_keeps(
    bank: Bank, plans: Plans, tmp_path: Path
) -> None:
    order, wanted = parse_order(f"seed: 5\nlines:{SALT}", "x.order.yaml", never)
    paper = PaperMaker(bank, order, plans).paper(wanted, "A")
    rows = {
        str(wrong.answer.number): " ".join(named_causes(paper.composer.writers[0], wrong))
        for wrong in paper.composer.writers[0].likely_wrong
    }
    assert "ratio used twice (keeps 5)" in rows["99.5"]
    assert "started from the sample as if it were pure (gives 100, keeps 0)" in rows["99.5"]
    assert "ratio used twice (gives 99.5, keeps 5)" in rows["100"]
    assert differences(paper.questions[0], "exam", bank, tmp_path)[1] == []


FLOUR = """
  - experiment: Flour
    procedure:
      - weigh: {sample: flour, contains: N, mass: 1.25 g, factor: 5.70}
      - drive over: {gas: NH3, into: H2SO4, volume: 50.0 cm3, concentration: 0.100 mol dm-3}
      - titrate: {with: NaOH, concentration: 0.200 mol dm-3, titre: 23.40 cm3}
    asked: percentage of protein in flour
"""


@for_each("telling", ["prose", "note", "notebook", "table"])
def test_a_sample_to_which_nothing_was_put_is_told_of_as_no_mixture(telling: str, bank: Bank, plans: Plans) -> None:
    order, wanted = parse_order(f"seed: 5\ntelling: {telling}\nlines:{FLOUR}", "x.order.yaml", never)
    paper = PaperMaker(bank, order, plans).paper(wanted, "A")
    page = " ".join(render(paper.composer.question_paper()).decode().split()).replace(" | ", " ")
    assert "all the nitrogen in the flour" in page.lower()
    assert "mixture" not in page.lower()


WATER = """
  - experiment: Water
    telling: prose
    procedure:
      - measure: {{solution: {}, volume: 50.0 cm3}}
      - add: a buffer solution of pH 10
      - titrate: {{with: {}, concentration: 0.0100 mol dm-3, titre: 12.35 cm3}}
    asked: {}
"""


@pytest.mark.parametrize(
    ("solution", "titrant", "asked", "said"),
    [
        (
            "tap water, contains: Ca2+",
            "EDTA",
            "hardness of tap water as CaCO3",
            "the hardness of the tap water expressed as the mass concentration of calcium carbonate",
        ),
        (
            "tap water, contains: CaCO3",
            "EDTA",
            "concentration of CaCO3 in tap water",
            "the hardness of the tap water expressed as the concentration of calcium carbonate",
        ),
        (
            "spring water, contains: MgCO3",
            "EDTA",
            "concentration of MgCO3 in spring water",
            "the concentration of magnesium ions in the spring water expressed as magnesium carbonate",
        ),
        (
            "soda water, contains: Na2CO3",
            "HCl",
            "concentration of Na2CO3 in soda water",
            "the concentration of sodium carbonate in the soda water",
        ),
    ],
)
def test_what_is_not_in_the_flask_is_what_the_answer_is_expressed_as(
    solution: str, titrant: str, asked: str, said: str, bank: Bank, plans: Plans
) -> None:
    text = WATER.format(solution, titrant, asked)
    order, wanted = parse_order(f"seed: 5\nlines:{text}", "x.order.yaml", never)
    paper = PaperMaker(bank, order, plans).paper(wanted, "A")
    page = " ".join(render(paper.composer.question_paper()).decode().split())
    assert f"{said}. Give your answer" in page


@for_each("telling", ["prose", "note", "notebook", "table"])
def test_of_one_titre_no_runs_are_told(telling: str, bank: Bank, plans: Plans) -> None:
    for titre, runs in (("titre: 24.80 cm3", False), ("titres: [rough 25.4, 24.75, 24.85]", True)):
        lines = QUARRY.replace("titre: 24.80 cm3", titre)
        for seed in (5, 6, 7):
            order, wanted = parse_order(f"seed: {seed}\ntelling: {telling}\nlines:{lines}", "x.order.yaml", never)
            page = render(PaperMaker(bank, order, plans).paper(wanted, "A").composer.question_paper()).decode()
            told = any(word in page for word in ("runs", "oncordant", "agreed"))
            assert told == (runs and telling != "table"), page
            assert "24.80" in page


FAULTS = {
    "a step that is none": ("weigh:", "wigh:", "wigh"),
    "nothing to work from": (", titre: 24.80 cm3", "", "titre"),
    "more left than added": ("0.105 mol dm-3", "0.405 mol dm-3", "below zero"),
    "a quantity that is none": ("asked: percentage", "asked: colour", "no quantity"),
}


@for_each("fault", FAULTS)
def test_what_is_wrong_is_told_with_the_line_of_the_order(fault: str, bank: Bank, plans: Plans) -> None:
    old, new, said = FAULTS[fault]
    order, _ = parse_order(f"seed: 5\nlines:{QUARRY.replace(old, new)}", "x.order.yaml", never)
    with pytest.raises(Mistake) as caught:
        PaperMaker(bank, order, plans)
    assert str(caught.value).startswith("x.order.yaml:3: ")
    assert said in str(caught.value)
