"""What a person may choose among, as plain words: levels, sheets, forms, masses. The command line names them: nothing heavy is here."""

from __future__ import annotations

from typing import Literal, get_args

from molewright.chem.conventions import Convention
from molewright.experiment.tellings import Telling

STRETCH = "stretch"  # exam style, with one further part a question
MIXED = "mixed"  # structured, then exam style
FADED = "faded"  # one kind, from a worked example to exam style
SUPPORT = ("scaffolded", "structured", "exam", STRETCH)  # of a paper, of what a pupil gets
STAGES = ("example", "last steps open", "first step given")  # of a question of which steps are worked out for the pupil
SERIES = (
    "example",
    "structured",
    "last steps open",
    "first step given",
    "exam",
)  # the questions of a series that fades
LINE_LEVELS = (*SUPPORT, *STAGES)  # of one question
LEVEL_CHOICES = (MIXED, *SUPPORT, FADED)
SOME, ALL, NONE = "some", "all", "none"  # of the questions of an order, which ask for an equation; or one kind of it
EQUATION_LEVELS = ("structured", "exam", STRETCH)  # at which a question may ask for one
SHEETS = ("questions", "scheme", "worked", "answers")
CLASS_KEY = "class"  # the right answers of all papers, pupil by part
DATA_SHEET = "data"  # relative atomic masses and constants, one for the whole set
MARKING_SHEET = "marking"  # what a marker marks from: versions and levels side by side, one for the whole set
METHOD_SHEET = "method"  # the steps of each kind of question in general words, one for the whole set
SHEET_CHOICES = (*SHEETS, MARKING_SHEET, CLASS_KEY, DATA_SHEET, METHOD_SHEET)
RENAMED_SHEETS = {"key": "answers"}  # as sheets were called before, and what to write now
FORMS = ("pdf", "latex", "html", "text", "docx")
TELLING_CHOICES: tuple[Telling, ...] = get_args(Telling)  # how a question is told
MASSES: tuple[Convention, ...] = get_args(Convention)

WhoseNumbers = Literal["own", "shared"]
WHOSE_NUMBERS: tuple[WhoseNumbers, ...] = get_args(WhoseNumbers)
AnswerSpace = Literal["wide", "normal", "small", "none"]
ANSWER_SPACES: tuple[AnswerSpace, ...] = get_args(AnswerSpace)  # to write in, on a question paper
Look = Literal["usual", "large", "extra-large", "wide-set"]
LOOKS: tuple[Look, ...] = get_args(Look)  # of what pupils get: 18 pt, 24 pt, wider letters and lines
Tint = Literal["", "cream", "blue", "green", "pink", "grey"]
TINTS: tuple[Tint, ...] = get_args(Tint)[1:]  # of the background of what pupils get on a screen, all of them pale
Files = Literal["", "joined", "separate"]
FILES: tuple[Files, ...] = get_args(Files)[1:]

FrontPage = Literal["heading", "cover"]
FRONT_PAGES: tuple[FrontPage, ...] = get_args(FrontPage)
USUAL_FIELDS = ("name", "class", "date")  # of a front, to be filled in
FIELDS = (*USUAL_FIELDS, "candidate number")
