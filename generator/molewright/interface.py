"""What people who program call: banks, an order, an experiment or answers come in; values, bytes and files go out. Prints nothing.

`import molewright` offers all of it. A bare number has its unit in its name or in the field beside it; quantities are told with their
units. What a person can put right is raised as Mistake; nothing is left half written.
"""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path

from molewright.bank.definitions import Bank
from molewright.bank.readers.whole_bank import read_bank
from molewright.errors import Mistake, Where, nearest, one_of
from molewright.machine.workers import HERE, Workers
from molewright.marking import files
from molewright.marking.table import slip_words
from molewright.order.choices import (
    ANSWER_SPACES,
    FADED,
    LEVEL_CHOICES,
    LOOKS,
    MARKING_SHEET,
    MASSES,
    RENAMED_SHEETS,
    SHEETS,
    SOME,
    TELLING_CHOICES,
    TINTS,
)
from molewright.order.class_list import clean_name
from molewright.order.head import renamed_sheet
from molewright.order.order import Order, Wanted
from molewright.order.pupils import Pupil
from molewright.papers import choosing, fading, writing
from molewright.papers.earlier_papers import read_earlier
from molewright.papers.making import PaperMaker
from molewright.papers.one_question import one_question
from molewright.papers.sets import PaperSet
from molewright.solve.described import as_json, as_text, solve_file

__all__ = [
    "Bank",
    "Marked",
    "Mistake",
    "Order",
    "ShownQuestion",
    "Solved",
    "Workers",
    "make_sheets",
    "mark_answers",
    "new_order",
    "read_banks",
    "show_question",
    "solve_experiment",
    "write_papers",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Solved:
    """An experiment worked out: the quantity asked for, exact and rounded in `unit`, the ends of its accepted range, the steps."""

    asked: str
    exact: Fraction
    rounded: str
    unit: str
    accepted: tuple[str, str]
    steps: tuple[tuple[str, str, str], ...]  # quantity, rounded number, unit
    text: str

    def __str__(self) -> str:
        return self.text


@dataclass(frozen=True, slots=True, kw_only=True)
class Marked:
    """One returned answer, marked: `marks` of `out_of`, of which `pending` only the teacher can give; `judged` says how it was judged,
    `slip` what explains a wrong one.
    """

    pupil: str
    question: int
    part: str
    answer: str
    marks: int
    pending: int
    out_of: int
    judged: str
    right: str
    slip: str
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownQuestion:
    """One question of a paper as the pupil gets it. A notebook shows it set; printed, it is plain text."""

    number: int
    version: str
    code: str  # of the paper
    text: str
    html: str

    def __str__(self) -> str:
        return self.text

    def _repr_html_(self) -> str:
        """What a notebook shows."""
        return self.html


def read_banks(*entries: str | Path, banks: str | Path | None = None) -> Bank:
    """The built-in banks, or those of a whole folder of other ones, with folders of people's own entries read beside them.

    Raises Mistake, or several at once, with file and line for entries that are not sound.
    """
    whole = None if banks is None else Path(banks)
    return read_bank(whole, whole=whole is not None, own=tuple(map(Path, entries)))


def new_order(
    bank: Bank,
    *kinds: str,
    questions: int | None = None,
    marks: int = 0,
    aim: str = "",
    not_again: Sequence[str | Path] = (),
    level: str = "mixed",
    seed: int | None = None,
    masses: str = "one place",
    litres: bool = False,
    telling: str = "",
    equations: str = SOME,
) -> Order:
    """An order of these kinds of question or topics (none: a mixture of six).

    `marks` are exactly so many in all, in as many questions as it takes or as `questions` says. `aim` is a mistake in plain words, or
    the key of a slip: questions in which it shows. `not_again` names earlier papers, their orders, records or folders, of which no
    scene and no experiment comes again while there is another.

    `level` is mixed, scaffolded, structured, exam, stretch or faded, which takes one kind or topic; `masses` says how relative atomic
    masses are rounded: one place, two places, whole or unrounded; `litres` writes mol/L and mL; `telling` is
    prose, table, note or notebook (none: each question in a way of its own); `equations` is some, all or none, or the kind of equation
    that questions begin with. Without a seed one is drawn. Raises Mistake for what cannot be had.
    """
    for given, choices, what in (
        (level, LEVEL_CHOICES, "level"),
        (masses, MASSES, "masses"),
        (telling, ("", *TELLING_CHOICES), "telling"),
    ):
        if given not in choices:
            raise Mistake(f"the {what} '{given}'", expected=", ".join(choices), near=nearest(given, choices))
    way = next((one for one in TELLING_CHOICES if one == telling), None)
    convention = next(one for one in MASSES if one == masses)
    past = read_earlier([Path(one) for one in not_again]).past
    if level == FADED:
        made = replace(fading.faded_order(bank, kinds, questions, seed), marks=marks, not_again=past, aim=aim)
    else:
        made = choosing.new_order(bank, kinds, questions, seed, marks, past, aim)
    return replace(
        made, level=level, masses=convention, style="litre" if litres else "dm3", telling=way, equations=equations
    )


def make_sheets(
    order: Order,
    bank: Bank,
    *,
    title: str = "",
    version: str = "A",
    pupil: str = "",
    form: str = "pdf",
    sheets: Sequence[str] = SHEETS,
    answer_space: str = "normal",
    look: str = "usual",
    tint: str = "",
) -> dict[str, bytes]:
    """One version of the paper of an order, sheet by sheet: questions, scheme, worked, answers, or marking; each the bytes of a file.

    `form` is pdf, latex, html, text or docx. The same order, banks and version give the same bytes. Raises Mistake for a form or a
    sheet that is none, and for kinds of question that cannot be drawn.
    """
    _require_sheets(sheets)
    version = _versions([version])[0]
    maker = PaperMaker(bank, order)
    wanted = Wanted(
        title=clean_name(title, Where("title"), "title"), versions=(version,), forms=(form,), sheets=tuple(sheets)
    )
    wanted = _set_as(wanted, answer_space, look, tint)
    writing.require_printable(maker.order, wanted)
    named = _pupils([pupil]) if pupil else ()
    made = writing.rendered(maker.paper(wanted, version, named[0] if named else None), wanted)
    maker.questions.plans.keep()
    return {sheet: content for sheet, _, content in made}


def show_question(order: Order, bank: Bank, number: int = 1, *, version: str = "A") -> ShownQuestion:
    """One question of a version of the paper of an order, to be looked at. Raises Mistake for a number that the paper does not have."""
    maker = PaperMaker(bank, order)
    paper = maker.paper(Wanted(versions=(version,)), version)
    maker.questions.plans.keep()
    shown = one_question(paper, number)
    return ShownQuestion(number=number, version=version, code=paper.code, text=shown.text, html=shown.html)


def write_papers(
    order: Order,
    bank: Bank,
    folder: str | Path,
    *,
    title: str = "",
    versions: Sequence[str] = "A",
    pupils: Sequence[str] = (),
    forms: Sequence[str] = ("pdf",),
    sheets: Sequence[str] = SHEETS,
    fillable: bool = False,
    answer_space: str = "normal",
    look: str = "usual",
    tint: str = "",
    replace_files: bool = False,
    workers: Workers = HERE,
) -> list[Path]:
    """Write the papers of an order, one for each version or, where pupils are named, for each of them, and the record that marks them.

    The files, in the order they were made; all of them, or none. `fillable` question papers have fields to type in (PDF).
    `workers` make the papers, with the same bytes whoever they are: this process; `Workers(2)`, two processes of this machine;
    `Workers(None)`, all its cores where that pays; or `Workers(executor=...)`, any executor of `concurrent.futures`. Processes are
    spawned, so a script that asks for some keeps its own work behind `if __name__ == "__main__":`.
    Raises Mistake where a different file of a name is there already
    (unless `replace_files`) or the folder cannot be written.
    """
    _require_sheets(sheets)
    wanted = Wanted(
        title=clean_name(title, Where("title"), "title"),
        versions=_versions(versions),
        pupils=_pupils(pupils),
        forms=_several(forms, "forms"),
        sheets=tuple(sheets),
        fillable=fillable,
    )
    wanted = _set_as(wanted, answer_space, look, tint)
    told = writing.write_papers(PaperSet(bank, order, wanted), Path(folder), replace_files, workers=workers)
    return [Path(folder) / name for name in told.files]


def solve_experiment(path: str | Path, bank: Bank) -> Solved:
    """One quantity of the experiment described in a YAML file, worked out and proved on the bench.

    `exact` and `rounded` are in `unit`. Raises Mistake with file and line where the file is not understood, where it cannot be worked
    out from what is given, and where its numbers contradict the experiment.
    """
    experiment, worked = solve_file(Path(path), bank)
    found = json.loads(as_json(experiment, worked))
    low, high = found["accepted range"]
    return Solved(
        asked=found["asked"],
        exact=Fraction(found["exact answer"]),
        rounded=found["rounded answer"],
        unit=found["unit"],
        accepted=(low, high),
        steps=tuple((step["quantity"], step["rounded"], step["unit"]) for step in found["steps"]),
        text=as_text(experiment, worked),
    )


def mark_answers(
    answers: str | Path, bank: Bank, *, record: str | Path | None = None, class_list: Sequence[str] = ()
) -> list[Marked]:
    """Mark answers, errors carried forward: the filled-in answer file or a table of answers (CSV or XLSX), or a folder of filled PDFs.

    `record` is the record of the paper or a folder that holds it; without it, it is looked for beside the answers and in `out`, and
    otherwise made again from the paper code. Raises Mistake, or several at once, with the line of each row that does not fit the paper.
    """
    given = None if record is None else Path(record)
    listed = [Pupil(name=name) for name in class_list]
    marked, _ = files.mark_answers(Path(answers), bank, given=given, class_list=listed)
    return [
        Marked(
            pupil=pupil.name,
            question=one.row.question,
            part=one.part,
            answer=one.row.answer,
            marks=one.marks,
            pending=one.pending,
            out_of=one.out_of,
            judged=one.verdict,
            right=one.right,
            slip=slip_words(marked, one),
            note=one.note,
        )
        for pupil in marked.pupils
        for one in pupil.answers
    ]


def _set_as(wanted: Wanted, answer_space: str, look: str, tint: str) -> Wanted:
    """How a paper is set, by the words that an order has for it."""
    return replace(
        wanted,
        answer_space=one_of(answer_space, ANSWER_SPACES, "answer space"),
        look=one_of(look, LOOKS, "look"),
        tint=one_of(tint, TINTS, "tint") if tint else "",
    )


def _several(words: Sequence[str], what: str) -> tuple[str, ...]:
    """A list of words. Raises Mistake for a single word, which would be taken letter by letter, and for none."""
    if isinstance(words, str) or not words:
        raise Mistake(f"{what}: {words!r}", expected=f"a list of {what} with one at least")
    return tuple(dict.fromkeys(words))


def _versions(versions: Sequence[str]) -> tuple[str, ...]:
    """Versions of a paper: capital letters, in a list or one after another in a text."""
    found = tuple(versions)
    if not found or any(not isinstance(one, str) or not re.fullmatch("[A-Z]", one) for one in found):
        raise Mistake(f"the versions {versions!r}", expected="capital letters, as 'AB' or ['A', 'B']")
    return tuple(dict.fromkeys(found))


def _pupils(pupils: Sequence[str]) -> tuple[Pupil, ...]:
    """Pupils by their names, no name twice."""
    names = [clean_name(name, Where("pupils")) for name in _several(pupils, "pupils")] if pupils else []
    if len(names) < len(pupils):
        raise Mistake("a name stands among the pupils twice", expected="names that tell them apart")
    return tuple(Pupil(name=name) for name in names)


def _require_sheets(sheets: Sequence[str]) -> None:
    known = (*SHEETS, MARKING_SHEET)
    for sheet in _several(sheets, "sheets"):
        if sheet in RENAMED_SHEETS:
            raise renamed_sheet(sheet)
        if sheet not in known:
            raise Mistake(f"the sheet '{sheet}'", expected=", ".join(known), near=nearest(sheet, known))
