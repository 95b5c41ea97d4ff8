"""What `molewright paper` takes: its options, in groups, each with the sentence that --help tells."""

from __future__ import annotations

import argparse

from molewright.cli.options import (
    a_path,
    a_sheet,
    add_bank_options,
    add_file_options,
    add_worker_options,
    some_words,
    whole_number,
)
from molewright.errors import Where, one_of
from molewright.order.choices import (
    ANSWER_SPACES,
    FILES,
    FRONT_PAGES,
    LEVEL_CHOICES,
    LOOKS,
    MASSES,
    SHEET_CHOICES,
    TELLING_CHOICES,
    TINTS,
    WHOSE_NUMBERS,
)

EXAMPLES = """\
An order is a text such as this one, in a file whose name ends in .yaml. What it leaves open is drawn, what it fixes stays; the order
beside every paper shows what else may be fixed.

  title: Limestone and its neighbours
  level: structured
  lines:
    - kind: back-portions
      roles: {material: limestone, reagent: HCl, titrant: NaOH}
      readings: mean
      numbers: {mass of limestone: 1.410 g, titre of NaOH: 22.35 cm3}
    - topic: redox
      level: exam
    - question: Why was the limestone crushed before it was weighed?
      marks: 1
      answer: So that it reacts quickly and completely.

molewright paper direct redox --marks 30 --level scaffolded,structured,stretch --class-list class.csv --numbers shared
molewright paper limestone.order.yaml --versions AB --front cover
molewright paper limestone.order.yaml --new-numbers 1
"""


def _a_telling(text: str) -> str:
    return one_of(text, TELLING_CHOICES, "telling", Where("command line", entry="--telling"))


def add_options(door: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    door.epilog, door.formatter_class = EXAMPLES, argparse.RawDescriptionHelpFormatter
    asked, whom = door.add_argument_group("which questions"), door.add_argument_group("for whom")
    out, again = (
        door.add_argument_group("what comes out"),
        door.add_argument_group("the same again, or one question changed"),
    )
    door.add_argument(
        "archetypes",
        nargs="*",
        metavar="WHAT",
        help="kinds of question or topics, as 'molewright banks' lists them (the first words of a topic will do); or one order "
        "file, or one record, to print or change what it holds",
    )
    asked.add_argument("--questions", type=whole_number, metavar="N", help="how many questions (6)")
    asked.add_argument(
        "--marks",
        type=whole_number,
        metavar="N",
        help="exactly so many marks in all: kinds, levels and further parts are chosen so that they add up, in as many questions as it "
        "takes or as --questions says (of several levels the stretch paper has up to a quarter more)",
    )
    asked.add_argument(
        "--aim",
        type=some_words,
        metavar="SLIP",
        help='a mistake in plain words, as "forgot the aliquot": questions in which it shows, from much support to little',
    )
    asked.add_argument(
        "--equations",
        type=some_words,
        metavar="KIND",
        help='how many questions begin with an equation to be written: some (as the seed picks), all or none; or a kind, as "ionic '
        'equation" ("molewright banks equations" lists them); an order may say it question by question',
    )
    asked.add_argument(
        "--not-again",
        type=a_path,
        action="append",
        default=[],
        metavar="PAPER",
        help="an earlier paper (its order or its record), or a folder of them: no scene and no experiment of theirs comes again while "
        "there is another; may be given several times",
    )
    add_level_option(asked)
    add_whom_options(whom)
    add_sheet_options(out)
    again.add_argument(
        "--code",
        metavar="CODE",
        help="make the paper of this code again; with --level, --masses or --litres the same questions in another form",
    )
    again.add_argument("--seed", type=whole_number, metavar="N", help="a number that fixes the paper")
    for what, told in (
        ("numbers", "other numbers"),
        ("scene", "another scene"),
        ("kind", "another kind of the same topic"),
    ):
        again.add_argument(
            f"--new-{what}",
            type=whole_number,
            action="append",
            default=[],
            metavar="N",
            help=f"{told} for question N of the order; the other questions stay as they are",
        )
    add_bank_options(door.add_argument_group("banks"))


def add_level_option(asked: argparse._ActionsContainer) -> None:
    """How much support the questions give."""
    asked.add_argument(
        "--level",
        metavar="LEVEL",
        help=f"degree of support: {', '.join(LEVEL_CHOICES)} (mixed: structured, then exam style; stretch adds a part that needs an "
        "idea of its own; faded teaches one kind, from a worked example to exam style); several, parted by commas, give the same "
        "questions with the same numbers at each of them",
    )


def add_whom_options(whom: argparse._ActionsContainer) -> None:
    """In which versions, and for which pupils."""
    whom.add_argument(
        "--versions",
        metavar="ABC",
        help="one paper for each letter, same questions with other numbers (A)",
    )
    whom.add_argument(
        "--class-list",
        type=a_path,
        metavar="FILE",
        help="one paper for each pupil: a name on each line, or a table whose heading row has name, or forename and surname, and if "
        "you like level and version",
    )
    whom.add_argument(
        "--numbers",
        choices=WHOSE_NUMBERS,
        help="of a class: own numbers for each pupil (own), or the same for all of a level and version, with names on them (shared)",
    )


def add_sheet_options(out: argparse._ActionsContainer) -> None:
    """Which sheets come out, in which forms, and how they are set."""
    out.add_argument(
        "--files",
        choices=FILES,
        help="one file for each kind of sheet (joined: for a class and for several levels), or one for each paper (separate)",
    )
    typed = "question papers with fields to type in, for the screen: PDF, a file for each paper; or not"
    out.add_argument("--fillable", action=argparse.BooleanOptionalAction, help=typed)
    out.add_argument("--title", default="", help="the title of the paper")
    out.add_argument(
        "--front",
        choices=FRONT_PAGES,
        help="what stands before the first question: a heading, or a cover on a page of its own with a table of marks; an order "
        "says more of it",
    )
    out.add_argument(
        "--answer-space",
        choices=ANSWER_SPACES,
        help="room to write in on the question paper (normal); with none the answers go into an exercise book",
    )
    out.add_argument(
        "--look",
        choices=LOOKS,
        help="of what pupils get: large (18 pt), extra-large (24 pt), or wide-set (wider letters and lines, no italics); a column "
        "'look' of a class list says it pupil by pupil",
    )
    out.add_argument(
        "--tint",
        choices=TINTS,
        help="a pale background of what pupils get as HTML or DOCX (a PDF has that of its paper); a column 'tint' of a class list "
        "says it pupil by pupil",
    )
    out.add_argument("--masses", choices=MASSES, help="relative atomic masses (one place)")
    out.add_argument(
        "--litres", action=argparse.BooleanOptionalAction, help="write mol/L and mL instead of mol dm⁻³ and cm³, or not"
    )
    out.add_argument(
        "--telling",
        type=_a_telling,
        metavar="WAY",
        help=f"how the experiment of every question is told: {', '.join(TELLING_CHOICES)} (left "
        "out: each question has a way of its own, the same in all its versions)",
    )
    add_file_options(out)
    add_worker_options(out)
    out.add_argument(
        "--sheet",
        action="append",
        type=a_sheet,
        choices=SHEET_CHOICES,
        help="only these sheets (the first four; of a class with own numbers: questions and class, the right answers "
        "pupil by part); marking: versions and levels side by side for the marker; data: relative atomic masses and constants; "
        "method: a card for each kind of question",
    )
