"""The further part or the fault that a line asks for: fixed by it, refused with what there is, written out where the level picks it."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from molewright.bank.definitions import Bank
from molewright.derivation.plans import Plans
from molewright.errors import Mistake
from molewright.further_parts.pieces import FAULT
from molewright.further_parts.stretch import stretch_kinds, stretched_by
from molewright.order.lines import OrderLine
from molewright.order.order import Order, Wanted
from molewright.order.order_file import ORDER_ENDING, parse_order, read_order
from molewright.papers.making import PaperMaker
from molewright.papers.part_choice import part_of_line, part_of_question
from molewright.papers.sets import PaperSet
from molewright.papers.summary import summary
from molewright.papers.writing import write_papers
from shared.banks import built_in
from shared.covering import covering
from shared.for_each import for_each
from shared.kinds import each_kind

MAY_HAVE = {key: parts for key, one in built_in().archetypes.items() if (parts := stretch_kinds(one))}
STRETCHED = [  # each of their parts in turn
    (key, MAY_HAVE[key][at % len(MAY_HAVE[key])]) for at, key in enumerate(covering(MAY_HAVE))
]
FAULTY = [key for key, one in sorted(built_in().archetypes.items()) if FAULT in one.further_parts]
WANTED = Wanted(versions=("A", "B"), forms=("text",))


def never() -> int:
    raise AssertionError("a seed was drawn though one is written")


def maker_of(bank: Bank, plans: Plans, line: OrderLine, level: str = "stretch") -> PaperMaker:
    return PaperMaker(bank, Order(seed=3, count=1, level=level, lines=(line,)), plans)


def refused(bank: Bank, plans: Plans, line: OrderLine) -> bool:
    """Whether a part is refused, which is only right where it is not among those that are told instead."""
    try:
        maker_of(bank, plans, line)
    except Mistake as mistake:
        _, said, instead = str(mistake).partition("expected ")
        return bool(said) and "cannot be asked" in str(mistake) and f" {line.part};" not in instead
    return False


def words_of(bank: Bank, key: str, part: str) -> str:
    """What a line's words are taken for; "several" where they could be more than one."""
    try:
        return part_of_line(bank, bank.archetypes[key], OrderLine(part=part))
    except Mistake as mistake:
        return "several" if "could be" in str(mistake) else str(mistake)


# ------------------------------------------------------------------ fixed by the line


@for_each(("key", "kind"), STRETCHED, [f"{key}/{kind}" for key, kind in STRETCHED], shares=4)
def test_the_stretch_part_is_the_one_asked_for_or_refused_with_what_there_is(
    key: str, kind: str, bank: Bank, plans: Plans
) -> None:
    line = OrderLine(kind=key, part=kind)
    open_line = maker_of(bank, plans, replace(line, part=""))
    (drawn,) = open_line.paper(Wanted(), "A").questions
    possible = stretched_by(kind, open_line.questions.calculation(drawn.unstretched(), "stretch"))
    if not possible and refused(bank, plans, line):
        return
    maker = maker_of(bank, plans, line)
    (question,) = maker.paper(Wanted(), "A").questions
    added = question.further_parts[-question.added :]
    assert {part.called for part in added} == {maker.order.lines[0].part}
    assert (added[0].kind == FAULT) == (kind == FAULT)
    assert kind in (FAULT, maker.order.lines[0].part)


@each_kind(FAULTY)
def test_a_fault_is_asked_for_by_its_key_or_its_first_words(key: str, bank: Bank, plans: Plans) -> None:
    picked = maker_of(bank, plans, OrderLine(kind=key), "exam").order.lines[0].part
    told = next(fault.told for fault in bank.faults if fault.key == picked)
    before_slots = told.partition("{")[0].strip() if not told.startswith("{") else ""
    assert part_of_line(bank, bank.archetypes[key], OrderLine(part=picked.casefold())) == picked
    for words in filter(None, (before_slots, before_slots.removeprefix("the "))):
        assert words_of(bank, key, words) in (picked, "several")
    maker = maker_of(bank, plans, OrderLine(kind=key, part=picked, seed="other"), "structured")
    for version in "AB":
        (question,) = maker.paper(Wanted(), version).questions
        assert {part.called for part in question.further_parts if part.kind == FAULT} == {picked}


def test_a_fault_may_be_the_stretch_part(bank: Bank, plans: Plans) -> None:
    line = OrderLine(kind="direct-solutions", part="conical flask was still wet")
    maker = maker_of(bank, plans, line)
    assert maker.order.lines[0].part == "F04"
    (question,) = maker.paper(Wanted(), "B").questions
    assert [part.called for part in question.further_parts] == ["F04"]


def test_every_version_has_the_part(bank: Bank, plans: Plans) -> None:
    for part in ("planning", "F05", "combined uncertainty", "why back"):
        maker = maker_of(bank, plans, OrderLine(kind="back-portions", part=part))
        made = [maker.paper(Wanted(), version).questions[0] for version in "ABCD"]
        assert {part_of_question(one) for one in made} == {part}
        assert len({one.marks for one in made}) == 1


def test_a_line_of_a_part_alone_takes_a_kind_that_has_it(bank: Bank, plans: Plans) -> None:
    (line,) = maker_of(bank, plans, OrderLine(part="universal indicator")).order.lines
    assert "universal indicator" in bank.archetypes[line.kind].stretch


# ------------------------------------------------------------------ refused


REFUSED = {
    "a part of nothing": ("planing", "no part 'planing'", "planning"),
    "a part of another kind": ("universal indicator", "no part 'universal indicator'", "one of: "),
    "words that several begin with": ("the conical flask was", "could be", "F03"),
    "a fault that cannot be": ("F43a", "cannot be asked in this question", "F01 (the burette was rinsed"),
}


@for_each("case", REFUSED)
def test_what_there_is_not_is_refused_with_what_there_is(case: str, bank: Bank, plans: Plans) -> None:
    part, said, instead = REFUSED[case]
    text = f"level: stretch\nlines:\n  - kind: back-portions\n    part: {part}\n"
    order, _ = parse_order(text, "x.order.yaml", lambda: 1)
    assert "planning" in bank.archetypes["back-portions"].stretch
    assert FAULT in bank.archetypes["back-portions"].stretch
    with pytest.raises(Mistake) as caught:
        PaperMaker(bank, order, plans)
    assert str(caught.value).startswith("x.order.yaml:3: line, part: ")
    assert said in str(caught.value)
    assert instead in str(caught.value)


def test_a_fault_that_a_fault_kind_cannot_have_is_refused(bank: Bank, plans: Plans) -> None:
    with pytest.raises(Mistake, match="cannot be asked in this question"):
        maker_of(bank, plans, OrderLine(kind=FAULTY[0], part="F43c"), "exam")


def test_a_stretch_part_below_the_stretch_level_is_told(bank: Bank, plans: Plans, tmp_path: Path) -> None:
    line = OrderLine(kind="back-portions", part="planning")
    papers = PaperSet(bank, Order(seed=3, count=1, level="exam", lines=(line,)), Wanted(forms=("text",)), plans)
    told = list(summary(papers, write_papers(papers, tmp_path)))
    assert "question 1: the part 'planning' is printed at the level stretch only" in told
    assert not papers.paper(papers.copies[0]).questions[0].further_parts


# ------------------------------------------------------------------ written out


def test_what_the_stretch_level_picks_is_written_out(bank: Bank, plans: Plans) -> None:
    maker = PaperMaker(bank, Order(seed=20261, level="stretch"), plans)
    made = maker.paper(Wanted(), "A").questions
    assert [line.part for line in maker.order.lines] == [part_of_question(one) for one in made]
    assert sum(bool(line.part) for line in maker.order.lines) > 3


@pytest.mark.parametrize("level", ["stretch", "structured"])
@pytest.mark.parametrize("kinds", [(), ("direct-fault", "back-portions", "direct-solutions")])
def test_an_order_with_its_parts_prints_again_to_the_byte(
    level: str, kinds: tuple[str, ...], bank: Bank, plans: Plans, tmp_path: Path
) -> None:
    order = Order(seed=8, count=4, level=level, archetypes=tuple(one for one in kinds if one in bank.archetypes))
    write_papers(PaperSet(bank, order, WANTED, plans), tmp_path / "first")
    (path,) = (tmp_path / "first").glob(f"*{ORDER_ENDING}")
    again, wanted = read_order(path, never)
    write_papers(PaperSet(bank, again, wanted, plans), tmp_path / "again")
    first = {one.name: one.read_bytes() for one in (tmp_path / "first").iterdir()}
    assert {one.name: one.read_bytes() for one in (tmp_path / "again").iterdir()} == first


def test_a_set_of_several_levels_with_its_parts_prints_again_to_the_byte(
    bank: Bank, plans: Plans, tmp_path: Path
) -> None:
    order = Order(seed=8, count=4, levels=("scaffolded", "stretch"))
    write_papers(PaperSet(bank, order, WANTED, plans), tmp_path / "first")
    (path,) = (tmp_path / "first").glob(f"*{ORDER_ENDING}")
    again, wanted = read_order(path, never)
    assert any(line.part for line in again.lines)
    write_papers(PaperSet(bank, again, wanted, plans), tmp_path / "again")
    first = {one.name: one.read_bytes() for one in (tmp_path / "first").iterdir()}
    assert {one.name: one.read_bytes() for one in (tmp_path / "again").iterdir()} == first


def test_another_part_in_the_order_changes_that_question_alone(bank: Bank, plans: Plans) -> None:
    before = PaperMaker(bank, Order(seed=20261, level="stretch"), plans)
    at, line = next(
        (at, line) for at, line in enumerate(before.order.lines) if len(stretch_kinds(bank.archetypes[line.kind])) > 2
    )
    lines = list(before.order.lines)
    lines[at] = replace(
        line, part=next(kind for kind in stretch_kinds(bank.archetypes[line.kind]) if kind != line.part)
    )
    after = PaperMaker(bank, replace(before.order, lines=tuple(lines)), plans)
    one, other = (maker.paper(Wanted(), "A").questions for maker in (before, after))
    assert [old.further_parts == new.further_parts for old, new in zip(one, other, strict=True)].count(False) == 1
    assert part_of_question(other[at]) == lines[at].part
    assert after.code != before.code
