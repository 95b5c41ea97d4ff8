"""`molewright practise`: returned answers come in, or a plan; each pupil's next practice, and the plan of it, stands in a folder."""

from __future__ import annotations

import argparse
from dataclasses import replace
from typing import TYPE_CHECKING

from molewright.cli import mark
from molewright.cli.options import (
    a_path,
    a_sheet,
    add_worker_options,
    bank_of,
    folder_of,
    forms_of,
    once,
    progress,
    some_words,
    whole_number,
    workers_of,
)
from molewright.errors import Mistake, Where
from molewright.order.choices import ANSWER_SPACES, FILES, LOOKS, MARKING_SHEET, SHEET_CHOICES, SUPPORT, TINTS

if TYPE_CHECKING:
    from molewright.bank.definitions import Bank
    from molewright.marking.practice import Practices
    from molewright.order.order import Past, Wanted

HELP = "make each pupil's next practice from returned answers"
DESCRIPTION = (
    "Make each pupil's next practice from returned answers, aimed at the slip that was found. The plan of it is written beside the "
    "papers; edited, and given instead of the answers, it makes the papers anew. Demand rises by at most 2 of 9 from what a pupil "
    "managed, no topic is left that the paper has or rests on, and nothing comes again that was set before."
)
_PLANS = (".yaml", ".yml")
_MOST_QUESTIONS, _MOST_MARKS = 12, 100


def add_options(door: argparse.ArgumentParser) -> None:
    """Say what the command takes: what `mark` does, and what is wanted of the practice."""
    mark.add_options(door)
    for action in door._actions:
        if action.dest == "answers":
            action.help = (
                "the returned answers, as 'molewright mark' takes them; or a plan (.plan.yaml), to make its papers"
            )
    asked, out = door.add_argument_group("which questions, for whom"), door.add_argument_group("what comes out")
    asked.add_argument(
        "--pupil", type=some_words, action="append", default=[], metavar="NAME",
        help="for this pupil only; may be given several times",
    )  # fmt: skip
    asked.add_argument(
        "--questions", type=whole_number, metavar="NUMBER", help="how many questions each (3; 2 where all was right)"
    )
    asked.add_argument(
        "--marks",
        type=whole_number,
        metavar="NUMBER",
        help="about so many marks each, instead of a number of questions",
    )
    asked.add_argument(
        "--level", choices=SUPPORT, help="degree of support of all questions (it falls from question to question)"
    )
    asked.add_argument(
        "--topic", type=some_words, action="append", default=[], metavar="TOPIC",
        help="questions on this topic, taught or not (those of the paper and what they rest on); may be given several times",
    )  # fmt: skip
    asked.add_argument(
        "--not-again", type=a_path, action="append", default=[], metavar="PAPER",
        help="an earlier paper (its order or its record), or a folder of them, of which nothing comes again; those that the answers "
        "follow are known",
    )  # fmt: skip
    out.add_argument("--plan-only", action="store_true", help="write the plan and no papers yet")
    out.add_argument("--title", type=some_words, help="the title of the practice")
    out.add_argument(
        "--sheet", action="append", type=a_sheet, choices=[one for one in SHEET_CHOICES if one != MARKING_SHEET],
        help="only these sheets (questions and scheme); worked: worked solutions; class: the right answers, pupil by part",
    )  # fmt: skip
    out.add_argument(
        "--files", choices=FILES, help="one file for each kind of sheet (joined), or one for each pupil (separate)"
    )
    out.add_argument(
        "--fillable", action="store_true", help="question papers with fields to type in, as PDF, one for each pupil"
    )
    out.add_argument("--answer-space", choices=ANSWER_SPACES, help="room to write in on the question paper (normal)")
    out.add_argument(
        "--look", choices=LOOKS, help="of what pupils get, where the class list has no column 'look' (usual)"
    )
    out.add_argument("--tint", choices=TINTS, help="a pale background of what pupils get as HTML or DOCX")
    add_worker_options(out)


def run(chosen: argparse.Namespace) -> int:
    """Mark the answers and plan, or read the plan; make the papers, and tell the files."""
    from molewright.marking.practice_files import write_plan_alone, write_practice

    bank = bank_of(chosen)
    practices = _from_plan(chosen, bank) if chosen.answers.name.endswith(_PLANS) else _from_answers(chosen, bank)
    folder = folder_of(chosen)
    if chosen.plan_only:
        written = write_plan_alone(practices.plan, folder, chosen.replace)
    else:
        with workers_of(chosen) as workers:
            written = write_practice(practices, folder, chosen.replace, progress, workers)
    few = written if practices.plan.wanted.files != "separate" else [name for name in written if name.endswith(_PLANS)]
    for name in few:
        print(folder / name)
    pupils = len(practices.plan.pupils)
    print(
        f"practice for {pupils} pupil{'s' * (pupils != 1)}: {len(written)} file{'s' * (len(written) != 1)} in {folder}"
    )
    return 0


def _from_answers(chosen: argparse.Namespace, bank: Bank) -> Practices:
    """The practice that follows from answers."""
    from molewright.marking.practice import practices_for
    from molewright.marking.practice_plan import Asked
    from molewright.marking.practice_questions import Wish
    from molewright.order.class_list import read_class_list
    from molewright.papers.choosing import find_topic

    _require_sense(chosen)
    topics = tuple(dict.fromkeys(find_topic(bank, name) for name in chosen.topic))
    papers = mark.marked_papers(chosen, bank)
    pupils = read_class_list(chosen.class_list) if chosen.class_list else ()
    asked = Asked(
        wish=Wish(count=chosen.questions or 0, marks=chosen.marks or 0, level=chosen.level or ""),
        pupils=tuple(chosen.pupil),
        topics=topics,
        not_again=_earlier(chosen),
        wanted=_wanted(chosen),
    )
    return practices_for(papers, bank, None, asked, pupils)


def _from_plan(chosen: argparse.Namespace, bank: Bank) -> Practices:
    """The practice that a plan tells. Raises Mistake for options that the plan answers."""
    from molewright.marking.practice import Practices
    from molewright.marking.practice_plan_text import read_plan

    single = ("pupil", "questions", "marks", "level", "topic", "not_again", "record", "class_list", "plan_only")
    named = [f"--{option.replace('_', '-')}" for option in single if getattr(chosen, option)]
    if named:
        raise Mistake(
            f"a plan together with {', '.join(named)}",
            where=Where("command line"),
            expected="the plan alone: it says who practises what; edit it",
        )
    plan = read_plan(chosen.answers)
    wanted = plan.wanted
    plan = replace(
        plan,
        wanted=replace(
            wanted,
            title=chosen.title or wanted.title,
            sheets=once(chosen.sheet) if chosen.sheet else wanted.sheets,
            forms=forms_of(chosen) if chosen.form else wanted.forms,
            files=chosen.files or ("separate" if chosen.fillable else wanted.files),
            fillable=chosen.fillable or wanted.fillable,
            answer_space=chosen.answer_space or wanted.answer_space,
            look=chosen.look or wanted.look,
            tint=chosen.tint or wanted.tint,
        ),
    )
    return Practices(plan, bank)


def _wanted(chosen: argparse.Namespace) -> Wanted:
    """What is wanted of the sheets."""
    from molewright.marking.practice_plan import USUAL_PRACTICE

    return replace(
        USUAL_PRACTICE,
        title=chosen.title or "",
        sheets=once(chosen.sheet) if chosen.sheet else USUAL_PRACTICE.sheets,
        forms=forms_of(chosen),
        files=chosen.files or ("separate" if chosen.fillable else "joined"),
        fillable=chosen.fillable,
        answer_space=chosen.answer_space or "normal",
        look=chosen.look or "usual",
        tint=chosen.tint or "",
    )


def _require_sense(chosen: argparse.Namespace) -> None:
    """Raises Mistake for numbers that no practice has, and for two that contradict each other."""
    for option, most in (("questions", _MOST_QUESTIONS), ("marks", _MOST_MARKS)):
        number = getattr(chosen, option)
        if number is not None and not 1 <= number <= most:
            raise Mistake(
                f"{number} {option}", expected=f"1 to {most}", where=Where("command line", entry=f"--{option}")
            )
    if chosen.questions and chosen.marks:
        raise Mistake(
            "a number of questions and of marks", expected="one of them", where=Where("command line", entry="--marks")
        )


def _earlier(chosen: argparse.Namespace) -> tuple[Past, ...]:
    """What was set in papers that are named, told of what of them could not be read."""
    from molewright.machine import terminal
    from molewright.papers.earlier_papers import read_earlier

    earlier = read_earlier(chosen.not_again)
    for note in earlier.notes:
        terminal.say(f"molewright: note: {note}")
    return earlier.past
