"""Practice that follows from marked answers: its ground, its demand, nothing twice, the plan as a file, and what is written."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path

import pytest
from pypdf import PdfReader

from molewright.answer.judge import Judge
from molewright.bank.definitions import Bank
from molewright.bank.readers.whole_bank import read_bank
from molewright.chem.quantity import to_figures
from molewright.cli import main
from molewright.derivation.plans import Plans
from molewright.errors import Mistake
from molewright.marking.files import mark_answers
from molewright.marking.marked import MarkedClass
from molewright.marking.next_aim import focus
from molewright.marking.practice import Practices, practices_for
from molewright.marking.practice_files import write_practice
from molewright.marking.practice_plan import Asked, PupilPlan, practice_code
from molewright.marking.practice_plan_text import read_plan, write_plan
from molewright.marking.practice_questions import Chooser, Next, Wish
from molewright.marking.taught import MOST_RISE, Taught, ground_of
from molewright.marking.typed_answers import read_answer
from molewright.order.class_list import read_class_list
from molewright.order.order import Past, Wanted
from molewright.papers.code import read_code
from molewright.papers.earlier_papers import read_earlier
from molewright.papers.record.set_before import past_of
from molewright.papers.record.writer import record
from molewright.question.check import Questions
from molewright.question.shown_slips import shows
from shared.records import record_of, record_schema
from shared.two_back_titrations import KINDS, write_returned

PUPILS = ("Ilsa Quern", "Bram Tollo", "Edda Voss", "Ada Holm")
TAUGHT = {
    "back titration with an aliquot",
    "back titration",
    "dilution",
    "standard solutions",
    "direct titration",
}  # what the two kinds stand under, and what is taught before that: common practice, no source


@pytest.fixture(scope="module")
def plans(bank: Bank, tmp_path_factory: pytest.TempPathFactory) -> Plans:
    return Plans(bank.fingerprint, tmp_path_factory.mktemp("plans"))


@pytest.fixture(scope="module")
def folder(bank: Bank, plans: Plans, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A record of two back titrations and the answers of four pupils: all right, one slip throughout, unreadable, nothing known."""
    folder = tmp_path_factory.mktemp("class")
    write_returned(folder, bank, plans, PUPILS)
    return folder


@pytest.fixture(scope="module")
def marked(bank: Bank, plans: Plans, folder: Path) -> MarkedClass:
    return mark_answers(folder / "answers.csv", bank, plans)[0]


@pytest.fixture(scope="module")
def practices(marked: MarkedClass, bank: Bank, plans: Plans) -> Practices:
    return practices_for([marked], bank, plans)


def of(practices: Practices, name: str) -> PupilPlan:
    return next(one for one in practices.plan.pupils if one.pupil.name == name)


def levels(one: PupilPlan) -> list[str]:
    return [question.line.level for question in one.questions]


# ------------------------------------------------------------------ what is chosen


def test_practice_aims_at_the_slip_from_support_to_choice(practices: Practices, bank: Bank) -> None:
    aimed = of(practices, "Bram Tollo")
    assert aimed.aim.startswith("left-over amount treated as reacted (in question 1")
    assert levels(aimed) == ["scaffolded", "structured", "exam"]
    first, second, unlike = practices.paper(aimed).questions
    assert shows(first, "S33")
    assert shows(second, "S33")
    assert first.draw.context.key != second.draw.context.key
    assert unlike.draw.archetype.topic != "back titration with an aliquot"
    same = first.draw.archetype.key == second.draw.archetype.key
    assert ("another scene" if same else "another kind of question") in aimed.questions[1].why


def test_who_made_no_slip_is_stretched_on_the_same_ground(practices: Practices, bank: Bank) -> None:
    best = of(practices, "Ilsa Quern")
    assert best.aim.startswith("something more demanding")
    met = max(bank.archetypes[key].demand for key in KINDS)
    for question in best.questions:
        kind = bank.archetypes[question.line.kind]
        assert met <= kind.demand <= met + MOST_RISE
        assert kind.topic in TAUGHT
        assert question.line.level == ("stretch" if kind.stretch else "exam")


def test_where_nothing_explains_the_answers_the_ground_of_what_cost_most_comes_again(
    practices: Practices, bank: Bank
) -> None:
    lost = of(practices, "Ada Holm")
    assert "no single slip explains" in lost.aim
    assert levels(lost) == ["scaffolded", "structured", "exam"]
    assert len({question.line.kind for question in lost.questions}) == 3


def test_nothing_leaves_the_ground_rises_by_more_than_two_or_comes_again(
    practices: Practices, marked: MarkedClass, bank: Bank
) -> None:
    for pupil, one in zip(marked.pupils, practices.plan.pupils, strict=True):
        ground = ground_of(pupil, marked.record.paper(pupil.version), bank)
        had = list(past_of(marked.record.versions[pupil.version].read()))
        kinds = [bank.archetypes[question.line.kind] for question in one.questions]
        assert {kind.topic for kind in kinds} <= TAUGHT
        assert all(kind.demand <= ground.most for kind in kinds)
        materials = [(past.kind, past.roles) for past in had] + [(q.line.kind, q.line.roles) for q in one.questions]
        scenes = [past.scene for past in had] + [question.line.scene for question in one.questions]
        assert len(materials) == len(set(materials))
        assert len(scenes) == len(set(scenes))


def test_demand_is_counted_from_what_was_managed(marked: MarkedClass, bank: Bank) -> None:
    paper = marked.record.paper("A")
    demands = [bank.archetypes[key].demand for key in KINDS]
    right, *_, lost = marked.pupils
    assert ground_of(right, paper, bank).most == max(demands) + MOST_RISE
    assert ground_of(lost, paper, bank).most == min(demands)
    half = {1: 0, 2: (paper.questions[1].marks + 1) // 2}
    assert ground_of(replace(right, marks=half), paper, bank).managed == demands[1]
    assert ground_of(replace(right, marks={1: 0, 2: half[2] - 1}), paper, bank).managed == 0
    waiting = replace(right, marks={2: 1}, pending={2: paper.questions[1].marks - 2})
    assert ground_of(waiting, paper, bank).managed == demands[1]  # half of what is sure


def test_a_kind_needs_the_headings_whose_reagents_it_uses(marked: MarkedClass, bank: Bank) -> None:
    ground = ground_of(marked.pupils[0], marked.record.paper("A"), bank)
    taught = Taught(bank)
    for key, other in (("manganate-standardised", "redox"), ("standard-solution", ""), ("soda-water-back", "")):
        kind = bank.archetypes[key]
        own = replace(ground, topics=bank.below([kind.topic]), met=frozenset())
        needed = {name for group in bank.needs(kind) for name in group} - {kind.topic}
        assert taught.lies_on(kind, own) == (not needed)
        assert taught.lies_on(kind, replace(own, met=frozenset(needed)))
        assert not other or other in needed
    assert bank.below(["back titration with an aliquot"]) == TAUGHT


def test_topics_that_are_asked_for_come_taught_or_not(marked: MarkedClass, bank: Bank, plans: Plans) -> None:
    asked = Asked(topics=("silver",), pupils=("bram tollo",), wish=Wish(count=2, level="structured"))
    (one,) = practices_for([marked], bank, plans, asked).plan.pupils
    assert one.pupil.name == "Bram Tollo"
    assert levels(one) == ["structured"] * 2
    assert {bank.archetypes[question.line.kind].topic for question in one.questions} == {"silver"}


def test_marks_that_are_wished_for_are_nearly_met(marked: MarkedClass, bank: Bank, plans: Plans) -> None:
    practices = practices_for([marked], bank, plans, Asked(wish=Wish(marks=24)))
    for one in practices.plan.pupils:
        each = [question.marks for question in practices.paper(one).questions]
        assert abs(sum(each) - 24) <= max(each)


def test_a_pupil_without_answers_is_told_with_the_nearest_name(marked: MarkedClass, bank: Bank, plans: Plans) -> None:
    with pytest.raises(Mistake, match=r"no answers of 'Bram Tolo'.*nearest: Bram Tollo"):
        practices_for([marked], bank, plans, Asked(pupils=("Bram Tolo",)))


def test_where_all_is_used_up_one_question_comes_again_and_says_so(
    marked: MarkedClass, bank: Bank, plans: Plans
) -> None:
    pupil = marked.pupils[1]
    ground = ground_of(pupil, marked.record.paper("A"), bank, ("silver",))
    every = tuple(
        Past(kind=kind.key, roles=tuple(sorted(variant.roles.items())), asked="", scene=scene.key)
        for kind in bank.archetypes.values()
        if kind.topic == "silver"
        for variant in kind.variants
        for scene in variant.contexts
    )
    spent = Next(seed="x", slip="", source=None, stretch=False, ground=replace(ground, past=every), wish=Wish(count=3))
    (one,) = Chooser(bank, Questions(bank, plans)).choose(spent)
    assert bank.archetypes[one.line.kind].topic == "silver"
    assert "set before" in one.why


def test_the_slip_of_a_practice_question_is_recognised_when_it_is_made_again(
    practices: Practices, marked: MarkedClass, bank: Bank
) -> None:
    aimed = of(practices, "Bram Tollo")
    held = record(practices.paper(aimed))
    found = record_of(bank, held, aimed.code).paper(held["version"])
    for printed in found.questions[:2]:
        gives = next(one.gives for one in printed.slips if one.keys == ("S33",))
        judged = Judge(printed, marked.slips).judge({len(printed.points): read_answer(str(to_figures(gives, 3)))})
        assert judged[len(printed.points)].explained.keys[0] == ("S33",)


# ------------------------------------------------------------------ the plan


def test_a_plan_is_read_back_as_it_was_written_and_makes_the_same_papers(
    practices: Practices, bank: Bank, plans: Plans, tmp_path: Path
) -> None:
    path = tmp_path / "x.plan.yaml"
    path.write_text(write_plan(practices.plan), "utf-8")
    again = read_plan(path)
    assert again == practices.plan
    anew = Practices(again, bank, plans)
    for one in practices.plan.pupils:
        assert record(anew.paper(one)) == record(practices.paper(one))


def test_an_edited_plan_makes_what_it_says_and_leaves_the_rest(
    practices: Practices, bank: Bank, plans: Plans, tmp_path: Path
) -> None:
    text = write_plan(practices.plan)
    begin = text.index("  - pupil: Bram Tollo")
    end = text.index("  - pupil: Edda Voss")
    own = "  - pupil: Bram Tollo\n    paper code: 02-X-P1\n    questions:\n      - {kind: direct-solutions, level: exam}\n"
    own += "      - topic: redox\n        why: She asked for it\n"
    path = tmp_path / "x.plan.yaml"
    path.write_text(text[:begin] + own + text[end:], "utf-8")
    anew = Practices(read_plan(path), bank, plans)
    changed = anew.paper(of(anew, "Bram Tollo"))
    assert changed.questions[0].draw.archetype.key == "direct-solutions"
    assert changed.questions[1].draw.archetype.topic == "redox"
    assert changed.levels == ("exam", "structured")
    other = of(anew, "Edda Voss")
    assert record(anew.paper(other)) == record(practices.paper(of(practices, "Edda Voss")))


WRONG: Mapping[str, tuple[str, str, str]] = {
    "level": ("        level: scaffolded", "        level: scafolded", "scafolded.*scaffolded"),
    "key": ("    aim:", "    aimed:", "'aimed' is not known here"),
    "code": ("    paper code: 02-", "    paper code: 01-", "is that of Ilsa Quern on line"),
    "no code": ("    paper code: 02-", "    paper code: no ", "the paper code 'no "),
    "order": ("        why:", "        wy:", "'wy' is not known here"),
}


@pytest.mark.parametrize("name", WRONG)
def test_what_cannot_be_in_a_plan_is_told_with_its_line(practices: Practices, tmp_path: Path, name: str) -> None:
    before, after, told = WRONG[name]
    text = write_plan(practices.plan)
    at = text.index(before, text.index("  - pupil: Bram Tollo"))
    path = tmp_path / "x.plan.yaml"
    path.write_text(text[:at] + after + text[at + len(before) :], "utf-8")
    with pytest.raises(Mistake, match=told) as raised:
        read_plan(path)
    line = text.count("\n", 0, at) + 1
    assert str(raised.value).startswith(f"{path}:{line}") or name == "code"


@pytest.mark.parametrize(
    ("key", "text", "told"),
    [
        ("kind", "back-potions", "no archetype 'back-potions' in the banks.*nearest: back-portions"),
        ("scene", "the moon", "not set in the scene 'the moon'"),
    ],
)
def test_a_question_that_the_banks_do_not_hold_is_told_with_its_line(
    practices: Practices, bank: Bank, plans: Plans, tmp_path: Path, key: str, text: str, told: str
) -> None:
    lines = write_plan(practices.plan).splitlines()
    at = next(number for number, line in enumerate(lines) if line.strip().lstrip("- ").startswith(f"{key}: "))
    indent = lines[at][: lines[at].index(key)]
    lines[at] = f"{indent}{key}: {text}"
    path = tmp_path / "x.plan.yaml"
    path.write_text("\n".join(lines), "utf-8")
    anew = Practices(read_plan(path), bank, plans)
    with pytest.raises(Mistake, match=told) as raised:
        anew.paper(anew.plan.pupils[0])
    assert raised.value.where is not None
    assert raised.value.where.file == str(path)
    assert abs((raised.value.where.line or 0) - at - 1) <= 3  # the question begins a line or two before


# ------------------------------------------------------------------ what is written


@pytest.mark.thorough
def test_a_class_has_one_file_for_each_sheet_with_names_on_papers_and_in_bookmarks(
    practices: Practices, tmp_path: Path
) -> None:
    written = write_practice(practices, tmp_path)
    assert len(written) == 6  # questions, scheme, record, table for the answers as CSV and workbook, plan
    assert not any(part in name.lower() for name in written for part in ("ilsa", "bram", "edda", "voss"))
    for word in ("questions", "mark-scheme"):
        (path,) = tmp_path.glob(f"*-{word}.pdf")
        whole = PdfReader(path)
        assert [str(mark.title) for mark in whole.outline if not isinstance(mark, list)] == list(PUPILS)
    (path,) = tmp_path.glob("*-record.jsonl")
    assert "Quern" not in path.read_text("utf-8")
    for line in path.read_text("utf-8").splitlines():
        record_schema().validate(json.loads(line))
    (path,) = tmp_path.glob("*-answers.csv")
    assert all(name in path.read_text("utf-8-sig") for name in PUPILS)


def test_separate_files_come_when_they_are_asked_for(
    marked: MarkedClass, bank: Bank, plans: Plans, tmp_path: Path
) -> None:
    wanted = Wanted(forms=("text",), sheets=("questions", "worked", "class"), files="separate")
    practices = practices_for([marked], bank, plans, Asked(wanted=wanted))
    write_practice(practices, tmp_path)
    assert len(list(tmp_path.glob("*-questions.txt"))) == len(list(tmp_path.glob("*-worked-solutions.txt"))) == 4
    assert len(list(tmp_path.glob("*-class-key.txt"))) == 1
    (sheet,) = tmp_path.glob("practice-02-*-questions.txt")
    assert "Bram Tollo" in sheet.read_text("utf-8")


@pytest.mark.parametrize(("style", "unit", "other"), [("litre", "mol/L", "dm⁻³"), ("dm3", "dm⁻³", "mol/L")])
def test_practice_keeps_the_units_of_the_paper_that_it_follows(
    marked: MarkedClass, bank: Bank, plans: Plans, tmp_path: Path, style: str, unit: str, other: str
) -> None:
    paper = replace(marked, record=replace(marked.record, style=style))
    asked = Asked(wanted=Wanted(forms=("text",), sheets=("questions",), files="joined"))
    write_practice(practices_for([paper], bank, plans, asked), tmp_path)
    (sheet,) = tmp_path.glob("*-questions.txt")
    assert unit in sheet.read_text("utf-8")
    assert other not in sheet.read_text("utf-8")


def test_each_pupil_has_the_look_of_the_class_list(
    marked: MarkedClass, bank: Bank, plans: Plans, tmp_path: Path
) -> None:
    path = tmp_path / "class.csv"
    path.write_text("name,look\nEdda Voss,large\nBram Tollo,\n", "utf-8")
    practices = practices_for([marked], bank, plans, class_list=read_class_list(path))
    assert practices.paper(of(practices, "Edda Voss")).composer.setting.look == "large"
    assert practices.paper(of(practices, "Bram Tollo")).composer.setting.look == "usual"


def test_a_practice_is_marked_by_its_record_and_its_own_practice_repeats_nothing_of_the_chain(
    marked: MarkedClass, practices: Practices, bank: Bank, plans: Plans, tmp_path: Path
) -> None:
    write_practice(practices, tmp_path)
    (path,) = tmp_path.glob("*-record.jsonl")
    documents = [json.loads(line) for line in path.read_text("utf-8").splitlines()]
    held = [one for one in documents[1:] if "questions" in one][1]
    answers = tmp_path / "again.csv"
    rows = [f'{held["code"]},Bram Tollo,{one["question"]},"{one["answer"]}"' for one in held["questions"]]
    answers.write_text("\n".join(["code,pupil,question,answer", *rows]), "utf-8")
    again, _ = mark_answers(answers, bank, plans)
    assert again.pupils[0].total == sum(one["marks"] for one in held["questions"])
    assert practice_code(again.code, bank).endswith("-P2")
    (following,) = practices_for([again], bank, plans).plan.pupils
    first = list(past_of(marked.record.versions["A"].read()))
    before = [*first, *past_of({"questions": held["questions"]})]
    assert set(before) <= set(following.before)
    assert not {past.scene for past in before} & {question.line.scene for question in following.questions}
    assert not {(past.kind, past.roles) for past in before} & {
        (question.line.kind, question.line.roles) for question in following.questions
    }


def test_nothing_comes_of_papers_that_are_named(marked: MarkedClass, bank: Bank, plans: Plans, tmp_path: Path) -> None:
    once = practices_for([marked], bank, plans)
    write_practice(once, tmp_path)
    past = read_earlier([tmp_path]).past
    twice = practices_for([marked], bank, plans, Asked(not_again=past))
    scenes = {question.line.scene for one in once.plan.pupils for question in one.questions}
    assert not scenes & {question.line.scene for one in twice.plan.pupils for question in one.questions}


@pytest.mark.thorough
def test_the_same_answers_give_the_same_practice(marked: MarkedClass, bank: Bank, plans: Plans, tmp_path: Path) -> None:
    one = write_practice(practices_for([marked], bank, plans), tmp_path / "one")
    other = write_practice(practices_for([marked], bank, plans), tmp_path / "other")
    assert one == other
    for name in one:
        assert (tmp_path / "one" / name).read_bytes() == (tmp_path / "other" / name).read_bytes()


def test_no_practice_code_is_taken_for_another_paper(bank: Bank) -> None:
    known = tuple(sorted(bank.archetypes))
    for seed in range(40):
        code = practice_code(f"00{seed:02}-AB", bank)
        with pytest.raises(Mistake):
            read_code(code, known, bank.fingerprint)


# ------------------------------------------------------------------ the command


@pytest.mark.thorough
def test_practise_writes_a_plan_then_papers_of_it(
    folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    to = str(tmp_path)
    assert main(["practise", str(folder / "answers.csv"), "--plan-only", "--pupil", "Bram Tollo", "--to", to]) == 0
    (plan,) = tmp_path.iterdir()
    assert str(plan) in capsys.readouterr().out
    assert main(["practise", str(plan), "--to", to, "--form", "text", "--sheet", "questions", "--replace"]) == 0
    (sheet,) = tmp_path.glob("*-questions.txt")
    assert "Name: Bram Tollo" in sheet.read_text("utf-8")
    assert "practice for 1 pupil" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("options", "told"),
    [
        (("--questions", "0"), "0 questions; expected 1 to 12"),
        (("--questions", "2", "--marks", "9"), "a number of questions and of marks"),
        (("--topic", "alchemy"), "no archetype 'alchemy'"),
        (("--pupil", "Nobody"), "no answers of 'Nobody'"),
    ],
)
def test_options_that_cannot_be_are_told(
    folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], options: tuple[str, ...], told: str
) -> None:
    assert main(["practise", str(folder / "answers.csv"), *options, "--to", str(tmp_path / "no")]) == 1
    assert told in capsys.readouterr().err
    assert not (tmp_path / "no").exists()


def test_a_plan_takes_no_options_that_it_answers(
    practices: Practices, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "x.plan.yaml"
    path.write_text(write_plan(practices.plan), "utf-8")
    assert main(["practise", str(path), "--questions", "2", "--to", str(tmp_path / "no")]) == 1
    assert "a plan together with --questions" in capsys.readouterr().err


def test_the_focus_of_a_pupil_is_what_the_plan_tells(
    practices: Practices, marked: MarkedClass, answers_told: Callable[[str], str]
) -> None:
    for pupil, one in zip(marked.pupils, practices.plan.pupils, strict=True):
        slip = focus(pupil, marked).slip
        assert (answers_told(slip) in one.aim) == bool(slip)


@pytest.fixture
def answers_told(marked: MarkedClass) -> Callable[[str], str]:
    return lambda slip: marked.slips[slip].name if slip else "no slip at all"


# ------------------------------------------------------------------ what the banks say of topics


def test_every_heading_rests_on_another_and_names_reagents_that_are_used(bank: Bank) -> None:
    first = [topic.name for topic in bank.topics.values() if not topic.rests_on]
    assert first == ["direct titration"]
    assert all(
        topic.name not in bank.below(topic.rests_on) for topic in bank.topics.values()
    )  # nothing rests on itself
    known = {call for substance in bank.substances.values() for call in substance.calls}
    assert all(topic.reagents <= known for topic in bank.topics.values())


@pytest.mark.thorough
@pytest.mark.parametrize(
    ("entry", "told"),
    [
        (
            "- {topic: weak acids, rests on: [direct titrations]}",
            "no topic 'direct titrations'.*nearest: direct titration",
        ),
        ("- {topic: weak acids, reagents: [KMnO5]}", "no substance 'KMnO5'.*nearest: KMnO4"),
    ],
)
def test_a_topic_of_ones_own_is_told_where_it_rests_on_nothing_known(tmp_path: Path, entry: str, told: str) -> None:
    (tmp_path / "topics.yaml").write_text(entry, "utf-8")
    with pytest.raises(Mistake, match=told):
        read_bank(own=(tmp_path,))
