"""The stretch level: the same question in exam style, with one further part that needs an idea which is not in the stem."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from molewright.bank.definitions import Bank
from molewright.derivation.plans import Plans
from molewright.draw.stream import Stream
from molewright.further_parts.all_kinds import KINDS
from molewright.further_parts.stretch import stretch_kinds
from molewright.order.order import Order, Wanted
from molewright.papers.making import PaperMaker
from molewright.question.check import Question, Questions
from shared.banks import built_in
from shared.kinds import each_kind

KEYS = sorted(key for key, archetype in built_in().archetypes.items() if stretch_kinds(archetype))
DRAWS = 6


@each_kind(KEYS)
def test_every_calculation_has_a_stretch_part(
    key: str, questions: Questions, dozen: Callable[[str], Sequence[Question]]
) -> None:
    found: list[int] = []
    for plain in dozen(key)[:DRAWS]:
        stretched = questions.stretched(plain)
        assert stretched.draw == plain.draw
        assert stretched.worked == plain.worked
        added = stretched.further_parts[len(plain.further_parts) :]
        assert stretched.marks == plain.marks + sum(part.marks for part in added)
        assert all(part.points and not part.first for part in added)
        found.append(len(added))
    assert sum(1 for many in found if many) >= DRAWS - 1


def test_archetypes_of_further_parts_have_none_besides(bank: Bank) -> None:
    assert stretch_kinds(bank.archetypes["back-portions-fault"]) == ()


def test_an_archetype_may_name_its_own_or_none(bank: Bank) -> None:
    assert stretch_kinds(bank.archetypes["mass-for-a-standard"]) == ("describe",)
    assert stretch_kinds(bank.archetypes["volume-for-an-excess"]) == ()


def test_every_kind_that_an_entry_names_has_a_maker(bank: Bank) -> None:
    assert {kind for archetype in bank.archetypes.values() for kind in archetype.stretch} <= set(KINDS)


def test_the_same_part_comes_again(bank: Bank, questions: Questions) -> None:
    made = [questions.stretched(questions.make(bank.archetypes["back-portions"], Stream("again"))) for _ in range(2)]
    assert made[0].further_parts == made[1].further_parts


def test_several_kinds_come_up(bank: Bank, questions: Questions) -> None:
    kinds = {
        questions.stretched(questions.make(bank.archetypes["back-portions"], Stream(f"kinds/{number}")))
        .further_parts[-1]
        .kind
        for number in range(20)
    }
    assert len(kinds) >= 3


def test_a_stretch_paper_is_the_exam_paper_with_one_part_more(bank: Bank) -> None:
    plans = Plans(bank.fingerprint, None)
    exam, stretch = (
        PaperMaker(
            bank, Order(seed=11, count=3, level=level, archetypes=("back-portions", "direct-purity")), plans
        ).paper(Wanted(), "A")
        for level in ("exam", "stretch")
    )
    assert stretch.composer.setting.levels == ("exam",) * 3
    for plain, more in zip(exam.questions, stretch.questions, strict=True):
        assert plain.draw.given == more.draw.given
        assert len(more.further_parts) > len(plain.further_parts)
    assert stretch.composer.marks > exam.composer.marks
