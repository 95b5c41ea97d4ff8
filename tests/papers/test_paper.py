"""Papers: the same code gives the same bytes, versions share scenes and differ in numbers, and nothing half-made is left."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from molewright.bank.definitions import Bank
from molewright.derivation.plans import Plans
from molewright.draw.stream import Stream
from molewright.errors import Mistake
from molewright.order.order import DEFAULT_QUESTIONS, MOST_SEED, Order, Wanted
from molewright.order.pupils import Pupil, pupil_codes
from molewright.papers.choosing import find_archetypes, fresh_seed, levels, new_order, select
from molewright.papers.code import read_code
from molewright.papers.making import PaperMaker
from molewright.render import renderer
from molewright.sheet.compose import Composer, Setting
from molewright.sheet.parts import Level
from shared.for_each import for_each
from shared.papers import write_papers

Files = dict[str, bytes]


@pytest.fixture(scope="module")
def plans(bank: Bank, tmp_path_factory: pytest.TempPathFactory) -> Plans:
    return Plans(bank.fingerprint, tmp_path_factory.mktemp("paper-plans"))


@pytest.fixture(scope="module")
def small_plans(small_bank: Bank) -> Plans:
    return Plans(small_bank.fingerprint, None)


def made(folder: Path) -> Files:
    return {path.name: path.read_bytes() for path in sorted(folder.iterdir())}


# ------------------------------------------------------------------ a default paper


@pytest.mark.parametrize("seed", [1, 77, 4242, 999_999, MOST_SEED])
def test_a_default_paper_has_six_questions_and_rises_in_demand(seed: int, bank: Bank, plans: Plans) -> None:
    maker = PaperMaker(bank, Order(seed=seed), plans)
    paper = maker.paper(Wanted(), "A")
    assert len(paper.questions) == DEFAULT_QUESTIONS == 6
    demands = [question.draw.archetype.demand for question in paper.questions]
    assert demands == sorted(demands)
    assert len({question.draw.archetype.key for question in paper.questions}) == 6
    assert len({question.draw.context.key for question in paper.questions}) >= 5
    assert paper.composer.marks == sum(question.marks for question in paper.questions)
    assert paper.composer.marks >= 18


@pytest.mark.thorough
def test_a_default_paper_holds_direct_and_back_titrations(bank: Bank, plans: Plans) -> None:
    for seed in range(10):
        topics = {slot.archetype.topic for slot in PaperMaker(bank, Order(seed=seed), plans).slots}
        assert any("back" in topic for topic in topics)
        assert any("back" not in topic for topic in topics)


@pytest.mark.thorough
def test_a_default_paper_has_eighteen_to_thirty_two_marks(bank: Bank, plans: Plans) -> None:
    for seed in range(12):
        assert 18 <= PaperMaker(bank, Order(seed=seed * 1001), plans).paper(Wanted(), "A").composer.marks <= 32


def test_the_time_guide_goes_with_the_marks(bank: Bank, plans: Plans) -> None:
    composer = PaperMaker(bank, Order(seed=3), plans).paper(Wanted(), "A").composer
    assert composer.minutes % 5 == 0
    assert (
        1.2 <= composer.minutes / composer.marks <= 1.6
    )  # about a minute and a half a mark: common practice, no source


# ------------------------------------------------------------------ the same again


ORDERS = {
    "mixed": Order(seed=2026),
    "litres and whole masses": Order(seed=11, count=3, level="structured", masses="whole", style="litre"),
    "scaffolded": Order(seed=12, count=2, level="scaffolded"),
}


@pytest.mark.thorough
@pytest.mark.parametrize("what", ORDERS)
def test_the_same_code_gives_the_same_bytes(what: str, bank: Bank, plans: Plans, tmp_path: Path) -> None:
    wanted = Wanted(forms=("pdf", "text"))
    maker = PaperMaker(bank, ORDERS[what], plans)
    write_papers(maker, wanted, tmp_path / "one")
    order, _ = read_code(maker.code, maker.known, bank.fingerprint)
    assert order == ORDERS[what]
    write_papers(PaperMaker(bank, order, Plans("none", None)), wanted, tmp_path / "two")
    one, two = made(tmp_path / "one"), made(tmp_path / "two")
    assert list(one) == list(two)
    assert one == two
    assert len(one) == 4 * 2 + 4  # the record, the order, the answer file twice


@pytest.mark.thorough
def test_another_process_with_another_hash_seed_gives_the_same_bytes(
    tmp_path: Path, plain_environment: dict[str, str]
) -> None:
    script = "import sys; from molewright.cli import main; sys.exit(main(sys.argv[1:]))"
    for hash_seed in ("1", "31337"):
        subprocess.run(
            [sys.executable, "-c", script, "paper", "--seed", "99", "--form", "pdf", "--form", "text", "--versions", "AB",
             "--to", str(tmp_path / hash_seed)],
            env={**plain_environment, "PYTHONHASHSEED": hash_seed}, check=True, capture_output=True,
        )  # fmt: skip
    assert made(tmp_path / "1") == made(tmp_path / "31337")
    assert (
        len(made(tmp_path / "1")) == 4 * 2 * 2 + 2 + 4
    )  # four sheets, two versions, two forms; the joint marking sheet


@pytest.mark.thorough
def test_another_seed_gives_another_paper(bank: Bank, plans: Plans) -> None:
    papers = [
        PaperMaker(bank, Order(seed=seed), plans).paper(Wanted(), "A").composer.question_paper() for seed in range(4)
    ]
    assert len({str(paper.blocks) for paper in papers}) == 4


def test_a_kept_plan_changes_nothing(bank: Bank, tmp_path: Path) -> None:
    kept = Plans(bank.fingerprint, tmp_path)
    fresh = PaperMaker(bank, Order(seed=5), kept).paper(Wanted(), "A").composer.mark_scheme()
    kept.keep()
    again = (
        PaperMaker(bank, Order(seed=5), Plans(bank.fingerprint, tmp_path)).paper(Wanted(), "A").composer.mark_scheme()
    )
    assert fresh == again


# ------------------------------------------------------------------ versions and class lists


def test_no_scene_comes_twice_while_there_is_another(small_bank: Bank, small_plans: Plans) -> None:
    """Limestone has two scenes. With one form and one quantity to ask for, two questions about it are set in both."""
    archetype = small_bank.archetypes["small-back"]
    variant = replace(archetype.variants[0], asks=archetype.variants[0].asks[:1])
    narrow = replace(small_bank, archetypes={archetype.key: replace(archetype, variants=(variant,))})
    for seed in range(40):
        maker = PaperMaker(narrow, Order(seed=seed, count=2, archetypes=("small-back",)), small_plans)
        assert len({slot.line.scene for slot in maker.slots}) == 2
        again = PaperMaker(narrow, Order(seed=seed, count=2, archetypes=("small-back",)), small_plans)
        assert again.order.lines == maker.order.lines


def test_versions_share_the_scene_and_differ_in_numbers(bank: Bank, plans: Plans) -> None:
    maker = PaperMaker(bank, Order(seed=31), plans)
    one, other = maker.papers(Wanted(versions=("A", "B")))
    for first, second in zip(one.questions, other.questions, strict=True):
        assert first.draw.archetype == second.draw.archetype
        assert first.draw.context == second.draw.context
        assert first.draw.ask == second.draw.ask
        assert first.draw.variant.roles == second.draw.variant.roles
        assert first.draw.indicator == second.draw.indicator
        assert bool(first.draw.runs) == bool(second.draw.runs)
        assert first.draw.given != second.draw.given
        assert first.marks == second.marks
    assert (one.code, other.code) == (f"A-{maker.code}", f"B-{maker.code}")


def test_a_version_made_alone_is_the_one_made_with_others(bank: Bank, plans: Plans) -> None:
    maker = PaperMaker(bank, Order(seed=32, count=2), plans)
    together = list(maker.papers(Wanted(versions=("A", "B", "C"))))[2]
    alone = next(iter(PaperMaker(bank, Order(seed=32, count=2), plans).papers(Wanted(versions=("C",)))))
    assert together.composer.question_paper() == alone.composer.question_paper()


def test_a_class_list_gives_one_paper_a_name(small_bank: Bank, small_plans: Plans, tmp_path: Path) -> None:
    names_of = ("Ilsa Quern", "Ada <b>Bold</b>", r"Tom \input{x} $5", "Ada", "Adam")
    pupils = tuple(Pupil(name=name) for name in names_of)
    wanted = Wanted(pupils=pupils, forms=("text", "latex", "pdf"), sheets=("questions", "answers"), files="separate")
    seen: list[tuple[int, int]] = []
    names = write_papers(
        PaperMaker(small_bank, Order(seed=8, count=2), small_plans),
        wanted,
        tmp_path,
        progress=lambda a, b: seen.append((a, b)),
    )
    assert len(names) == len(set(names)) == 5 * 2 * 3 + 4  # the record, the order, the answer file twice
    assert seen == [(n, 5) for n in range(1, 6)]
    pages = [path.read_text("utf-8") for path in sorted(tmp_path.glob("*questions.txt"))]
    assert len(pages) == 5
    for code, pupil in zip(pupil_codes(pupils), names_of, strict=True):
        own = [page for page in pages if f"{code}-" in page.splitlines()[-1]]
        assert len(own) == 1
        assert f"Name: {pupil}" in own[0]
    assert len({page.split("Name:")[1] for page in pages}) == 5
    record = next(tmp_path.glob("*.jsonl")).read_text("utf-8")
    assert not any(pupil in record for pupil in ("Ilsa", "Ada", "Tom"))  # no pupil's name is kept
    assert all("<" not in name and "\\" not in name and "/" not in name for name in names)


def test_papers_of_a_class_list_can_be_made_again_from_their_codes(
    small_bank: Bank, small_plans: Plans, tmp_path: Path
) -> None:
    maker = PaperMaker(small_bank, Order(seed=9, count=2), small_plans)
    _, code = pupil_codes((Pupil(name="Ada"), Pupil(name="Bo")))
    second = maker.paper(Wanted(), code, Pupil(name="Bo"))
    order, version = read_code(second.code, maker.known, small_bank.fingerprint)
    again = PaperMaker(small_bank, order, small_plans).paper(Wanted(), version, Pupil(name="Bo"))
    assert again.composer.question_paper() == second.composer.question_paper()


# ------------------------------------------------------------------ choosing


def test_archetypes_asked_for_are_taken_in_turn(small_bank: Bank, small_plans: Plans) -> None:
    order = Order(seed=1, count=5, archetypes=("small-back", "small-direct"))
    keys = [slot.archetype.key for slot in PaperMaker(small_bank, order, small_plans).slots]
    assert keys == ["small-direct", "small-direct", "small-back", "small-back", "small-back"]


def test_a_topic_stands_for_its_archetypes(small_bank: Bank) -> None:
    assert find_archetypes(small_bank, ["redox"]) == ("small-iron",)
    assert find_archetypes(small_bank, ["small-iron", "redox"]) == ("small-iron",)


def test_an_unknown_archetype_tells_the_nearest(small_bank: Bank) -> None:
    with pytest.raises(Mistake) as caught:
        find_archetypes(small_bank, ["smal-iron"])
    assert caught.value.near[0] == "small-iron"


def test_each_topic_asked_for_has_its_turn(bank: Bank) -> None:
    """However many kinds a topic has: practical judgement has more than a hundred."""
    names = ["back titration", "redox", "practical judgement", "silver", "water of crystallisation"]
    for seed in range(60):
        for count in (5, 6, 9, 12):
            order = new_order(bank, names, count, seed)
            topics = [bank.archetypes[key].topic for key in order.archetypes]
            turns = [topics.count(name) for name in names]
            assert len(order.archetypes) == len(topics) == count
            assert min(turns) >= 1
            most = [min(count // len(names), len(find_archetypes(bank, [name]))) for name in names]
            assert all(turn >= least for turn, least in zip(turns, most, strict=True))


def test_a_kind_named_beside_a_topic_has_its_turn_and_none_comes_twice(bank: Bank) -> None:
    for seed in range(60):
        kinds = new_order(bank, ["practical judgement", "vinegar-label", "direct titration"], 6, seed).archetypes
        assert "vinegar-label" in kinds
        assert len(set(kinds)) == 6


def test_more_topics_than_questions_share_the_questions(bank: Bank) -> None:
    names = ["redox", "silver", "EDTA", "dilution"]
    found = [new_order(bank, names, 2, seed).archetypes for seed in range(30)]
    assert all(len({bank.archetypes[key].topic for key in kinds}) == 2 for kinds in found)
    assert {bank.archetypes[key].topic for kinds in found for key in kinds} == set(names)


def test_as_many_questions_as_topics_where_no_number_is_asked_for(bank: Bank) -> None:
    names = sorted({archetype.topic for archetype in bank.archetypes.values()})
    assert len(names) > DEFAULT_QUESTIONS
    assert new_order(bank, names, None, 1).count == len(names)
    assert {bank.archetypes[key].topic for key in new_order(bank, names, None, 1).archetypes} == set(names)


@for_each("count", [1, 2, 5, 6, 7, 13, 40])
def test_any_number_of_questions_is_spread_over_the_archetypes(count: int, bank: Bank) -> None:
    selected = select(bank, Stream("spread"), Order(seed=1, count=count))
    assert len(selected) == count
    assert [one.demand for one in selected] == sorted(one.demand for one in selected)
    assert len({one.key for one in selected}) >= 0.9 * min(count, len(bank.archetypes))


@pytest.mark.parametrize(("level", "expected"), [("mixed", "sssseE"), ("exam", "EEEEEE"), ("scaffolded", "ffffff")])
def test_levels_are_those_of_the_order(level: str, expected: str) -> None:
    names: dict[str, Level] = {"s": "structured", "E": "exam", "e": "exam", "f": "scaffolded"}
    assert levels(Order(seed=1, count=6, level=level)) == tuple(names[letter] for letter in expected)


def test_a_paper_of_one_question_has_one_level() -> None:
    assert levels(Order(seed=1, count=1)) == ("exam",)


def test_a_fresh_seed_is_one_that_a_code_can_hold() -> None:
    seeds = {fresh_seed() for _ in range(50)}
    assert len(seeds) > 40
    assert all(0 <= seed <= MOST_SEED for seed in seeds)


def test_titles_that_have_no_letters_still_name_a_file(small_bank: Bank, small_plans: Plans, tmp_path: Path) -> None:
    for number, title in enumerate(("???", "滴定", "../../etc/passwd", "x" * 60)):
        wanted = Wanted(title=title, forms=("text",), sheets=("answers",))
        names = write_papers(
            PaperMaker(small_bank, Order(seed=8, count=1), small_plans), wanted, tmp_path / f"titles-{number}"
        )
        assert all("/" not in name and ".." not in name and len(name) < 100 for name in names)
    assert len(list(tmp_path.iterdir())) == 4


# ------------------------------------------------------------------ writing


def test_the_record_holds_what_marks_the_paper_again(small_bank: Bank, small_plans: Plans, tmp_path: Path) -> None:
    maker = PaperMaker(small_bank, Order(seed=21, count=4), small_plans)
    write_papers(maker, Wanted(versions=("A", "B"), forms=("text",)), tmp_path)
    lines = next(tmp_path.glob("*-record.jsonl")).read_text("utf-8").splitlines()
    kept, *others = map(json.loads, lines)
    held = [one for one in others if "questions" in one]
    assert kept["paper code"] == maker.code
    assert kept["banks"] == small_bank.fingerprint
    assert kept["seed"] == 21
    assert [one["version"] for one in held] == ["A", "B"]
    papers = list(maker.papers(Wanted(versions=("A", "B"))))
    for version, paper in zip(held, papers, strict=True):
        assert version["marks"] == paper.composer.marks
        for entry, question in zip(version["questions"], paper.questions, strict=True):
            assert entry["answer"] == str(question.worked.answer)
            assert entry["asked"] == str(question.draw.ask.quantity)
            assert entry["given"] == {str(name): str(quantity) for name, quantity in question.draw.given.items()}
            assert entry["marks in all"] == question.marks


@pytest.mark.parametrize("stop", [KeyboardInterrupt, RuntimeError])
def test_a_stop_in_the_middle_leaves_nothing(
    stop: type[BaseException], small_bank: Bank, small_plans: Plans, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = renderer("text")
    rendered: list[str] = []

    def halting(sheet: Any) -> bytes:
        if sheet.code:  # not what only its wording is marked by
            rendered.append(sheet.kind)
        if len(rendered) == 3:
            raise stop("in the middle")
        return b"page"

    monkeypatch.setattr(real, "render", halting)
    with pytest.raises(stop):
        write_papers(
            PaperMaker(small_bank, Order(seed=21, count=1), small_plans),
            Wanted(forms=("text",)),
            tmp_path / "deep" / "folder",
        )
    assert rendered == ["questions", "scheme", "worked"]
    assert list(tmp_path.iterdir()) == []


# ------------------------------------------------------------------ golden pages


@pytest.fixture(scope="module")
def golden_composer(small_bank: Bank) -> Composer:
    """A paper of the small bank whose code and fingerprint are written here, so that pages change only when what they say does."""
    from molewright.question.check import Questions

    questions = Questions(small_bank, Plans("golden", None))
    made = tuple(
        questions.make(small_bank.archetypes[key], Stream(f"golden/{key}"))
        for key in ("small-direct", "small-standard", "small-hydrate", "small-iron", "small-back", "small-tablets")
    )
    shown: tuple[Level, ...] = ("scaffolded", "structured", "structured", "exam", "scaffolded", "exam")
    return Composer(
        made,
        small_bank,
        Setting(title="Golden paper", code="A-0000-000", levels=shown, version="A", fingerprint="00000000"),
    )


SHEETS: dict[str, Callable[[Composer], Any]] = {
    "question-paper": Composer.question_paper,
    "mark-scheme": Composer.mark_scheme,
    "worked-solutions": Composer.worked_solutions,
    "answers": Composer.answers,
}


@pytest.mark.parametrize("name", SHEETS)
def test_the_golden_pages_read_as_they_were_reviewed(
    name: str, golden_composer: Composer, golden: Callable[[str, str], None]
) -> None:
    golden(f"{name}.txt", renderer("text").render(SHEETS[name](golden_composer)).decode())


def test_the_golden_paper_in_litres_differs_in_units_only(golden_composer: Composer, small_bank: Bank) -> None:
    litres = Composer(golden_composer.questions, small_bank, replace(golden_composer.setting, style="litre"))
    one, other = (renderer("text").render(c.answers()).decode() for c in (golden_composer, litres))

    def cells(text: str) -> Iterator[str]:
        for line in text.splitlines():
            plain = line.replace("mol dm⁻³", "mol/L").replace("g dm⁻³", "g/L").replace("cm³", "mL")
            yield "".join(plain.split()).replace("-", "")

    assert list(cells(one)) == list(cells(other))
