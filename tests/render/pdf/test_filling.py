"""How slabs fill pages: ties are kept, nothing is lost, no page more than a plain filler needs, blank space within its bounds."""

from __future__ import annotations

import random
from itertools import pairwise

import pytest

from molewright.render.pdf.filling import paged
from molewright.render.pdf.slabs import Slab, Tie
from shared.for_each import for_each

ROOM = 700.0


def drawn_slabs(rng: random.Random) -> list[Slab]:
    """Questions of two to six parts, each a demand with blank space and a rule tied to it."""
    slabs = [Slab(height=rng.uniform(60, 200), below=12.0)]
    for _ in range(rng.randint(3, 8)):
        slabs.append(Slab(height=rng.uniform(40, 180), above=15.0, tie=Tie.FREE))
        for part in range(rng.randint(2, 6)):
            slabs.append(Slab(height=rng.uniform(14, 28), above=8.0, tie=Tie.HELD if part == 0 else Tie.PART))
            tall = rng.uniform(20, 150)
            slabs.append(Slab(height=tall, least=0.7 * tall, most=1.7 * tall, tie=Tie.HELD))
            slabs.append(Slab(height=24.0, tie=Tie.HELD))
    return slabs


def first_fit(slabs: list[Slab], room: float) -> int:
    """Pages that a filler takes which knows blank space as it is and breaks wherever it may, as late as it can."""
    groups: list[list[Slab]] = []
    for slab in slabs:
        if slab.tie == Tie.HELD and groups:
            groups[-1].append(slab)
        else:
            groups.append([slab])
    pages, y = 1, 0.0
    for group in groups:
        tall = sum(slab.height + slab.above for slab in group)
        if y + tall > room:
            pages, y = pages + 1, 0.0
        y += tall
    return pages


@for_each("seed", range(40))
def test_pages_are_few_and_full_and_part_nothing_that_belongs_together(seed: int) -> None:
    slabs = drawn_slabs(random.Random(seed))
    plain = first_fit(slabs, ROOM)
    bounds = {id(slab): (slab.least, slab.most) for slab in slabs}
    fixed = {id(slab): slab.height for slab in slabs if slab.least is None}
    pages = paged(slabs, ROOM)
    assert [slab for page in pages for slab, _, again in page if not again] == slabs
    assert len(pages) <= plain
    for page in pages:
        assert page[0][0].tie != Tie.HELD
        for (before, top, _), (after, below, _) in pairwise(page):
            assert below >= top + before.height + max(before.below, after.above) - 1e-6
        assert page[-1][1] + page[-1][0].height <= ROOM + 0.02
        for slab, _, _ in page:
            least, most = bounds[id(slab)]
            if least is None or most is None:
                assert slab.height == fixed[id(slab)]
            else:
                assert least - 1e-6 <= slab.height <= most + 1e-6
    for page in pages[:-1]:
        assert page[-1][1] + page[-1][0].height >= 0.7 * ROOM


def test_blank_space_grows_until_the_page_is_full_and_the_last_page_stays_as_it_comes() -> None:
    slabs = [
        Slab(height=300),
        Slab(height=200, least=150, most=500, tie=Tie.HELD),
        Slab(height=300, tie=Tie.FREE),
        Slab(height=100, least=70, most=170, tie=Tie.HELD),
    ]
    first, last = paged(slabs, ROOM)
    assert first[-1][1] + first[-1][0].height == pytest.approx(ROOM)
    assert last[-1][0].height == 100


def test_space_gives_way_to_save_a_page_and_never_more_than_it_may() -> None:
    def one(blank: float, least: float) -> int:
        return len(paged([Slab(height=600), Slab(height=blank, least=least, most=blank, tie=Tie.PART)], ROOM))

    assert one(130, 100) == 1
    assert one(130, 101) == 2


def test_a_question_is_kept_whole_where_that_leaves_little_of_a_page_empty() -> None:
    slabs = [
        Slab(height=640),
        Slab(height=40, tie=Tie.FREE),
        Slab(height=500, tie=Tie.PART),
    ]
    assert [len(page) for page in paged(slabs, ROOM)] == [1, 2]
    slabs[0].height = 300
    assert [len(page) for page in paged(slabs, ROOM)] == [2, 1]  # a title with nothing below it is worse


def test_a_stem_is_parted_from_its_first_part_only_where_much_of_a_page_would_stay_empty() -> None:
    def pages(title: float) -> list[int]:
        slabs = [
            Slab(height=title),
            Slab(height=200, tie=Tie.FREE),
            Slab(height=400, tie=Tie.STEM),
            Slab(height=90, tie=Tie.PART),
        ]
        return [len(page) for page in paged(slabs, ROOM)]

    assert pages(300) == [2, 2]
    assert pages(520) == [1, 3]
    assert pages(0) == [4]


def test_what_no_page_can_hold_is_parted_where_it_must_be() -> None:
    slabs = [Slab(height=500), *(Slab(height=300, tie=Tie.HELD) for _ in range(4)), Slab(height=2000, tie=Tie.HELD)]
    pages = paged(slabs, ROOM)
    assert [slab.height for page in pages for slab, _, _ in page] == [500, 300, 300, 300, 300, 2000]
    assert len(pages) == 4
