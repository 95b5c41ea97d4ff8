"""What is wanted of a paper's files is asked; they are made beside, and can be had one by one or together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from molewright.browser.asking import Answer, Asked, go
from molewright.browser.jobs import Came, Job, Progress, Work
from molewright.browser.pages import head_of, page, sentences
from molewright.browser.papers_pages import LEVEL_WORDS, levels_of, versions_of
from molewright.browser.shelf import ORDER, KeptPaper, State
from molewright.browser.workroom import Workroom
from molewright.chem.conventions import UNIT_STYLES
from molewright.errors import Mistake, Where, one_of
from molewright.marking.practice_plan_text import PLAN_ENDING
from molewright.order.choices import (
    ALL,
    ANSWER_SPACES,
    CLASS_KEY,
    DATA_SHEET,
    FIELDS,
    FILES,
    FORMS,
    FRONT_PAGES,
    LOOKS,
    MARKING_SHEET,
    MASSES,
    METHOD_SHEET,
    MIXED,
    NONE,
    SHEET_CHOICES,
    TELLING_CHOICES,
    TINTS,
)
from molewright.order.class_list import clean_name
from molewright.order.front import Front
from molewright.order.front_text import typed_front
from molewright.order.order import Order, Wanted
from molewright.order.order_file import ORDER_ENDING
from molewright.papers.changing import EQUATION_CHOICES, at_levels, with_equations
from molewright.papers.copies import usual_sheets
from molewright.papers.record.form import SUFFIX
from molewright.papers.sets import PaperSet
from molewright.papers.summary import summary
from molewright.papers.writing import require_fillable, require_printable, without_effect, write_papers

SHEET_WORDS = {
    "questions": "Question papers",
    "scheme": "Mark scheme",
    "worked": "Worked solutions",
    "answers": "Answers",
    MARKING_SHEET: "Marking sheet",
    CLASS_KEY: "Right answers of the whole class",
    DATA_SHEET: "Data sheet",
    METHOD_SHEET: "Method cards",
}
FORM_WORDS = {
    "pdf": "PDF, to print (.pdf)",
    "docx": "for a word processor (.docx)",
    "html": "for a browser (.html)",
    "latex": "LaTeX (.tex)",
    "text": "plain text (.txt)",
}
EQUATION_WORDS = (
    ("", "as the questions have it now"),
    (ALL, "in every question that can ask for one"),
    (NONE, "in no question"),
    *((one, f"{one}, wherever it can be asked") for one in EQUATION_CHOICES),
)
_TELLING_WORDS = (
    ("prose", "in prose"),
    ("table", "as a table of steps"),
    ("note", "as a technician's note"),
    ("notebook", "as a page of a notebook"),
)
_FRONT_WORDS = (("heading", "a heading above the first question"), ("cover", "a cover of its own"))
_MIXED = (MIXED, "mixed: structured at first, then exam style")


# ------------------------------------------------------------------ title and levels


def head(room: Workroom, asked: Asked, wrong: tuple[str, ...] = ()) -> Answer:
    """Title, levels, versions and conventions of a paper."""
    kept = room.shelf.paper(asked.numbers["paper"])
    state = kept.state()
    return page(
        "head",
        "Title and levels",
        head=head_of(kept, state),
        here="/head",
        wrong=wrong,
        told=("Kept.",) if asked.has("done") else (),
        fronts=_FRONT_WORDS,
        front_fields=[(one, one) for one in FIELDS],
        equations=EQUATION_WORDS,
        folder=str(kept.folder),
        wanted=state.wanted,
        order=state.order,
        levels=(*LEVEL_WORDS, _MIXED),
        chosen_levels=state.order.levels or (state.order.level,),
        masses=[(one, one) for one in MASSES],
        tellings=[("", "each in a way of its own"), *_TELLING_WORDS],
    )


def keep_head(room: Workroom, asked: Asked) -> Answer:
    """Keep what was chosen there."""
    kept = room.shelf.paper(asked.numbers["paper"])
    try:
        with room.alone():
            state = kept.seen(asked.text("seen"))
            order, wanted = _as_asked(room.made(kept, state).papers, state, asked)
            room.change(kept, asked.text("seen"), "title and levels", order, wanted)
    except Mistake as mistake:
        return head(room, asked, sentences(mistake))
    return go(f"/paper/{kept.number}/head?done=yes")


def _as_asked(papers: PaperSet, state: State, asked: Asked) -> tuple[Order, Wanted]:
    order, wanted = state.order, state.wanted
    levels = levels_of(asked.several("level"))
    if levels != (order.levels or (order.level,)):
        order = at_levels(order, levels)
    telling = asked.text("telling")
    order = replace(
        order,
        masses=one_of(asked.text("masses"), MASSES, "relative atomic masses"),
        style=one_of(asked.text("units"), UNIT_STYLES, "units"),
        telling=one_of(telling, TELLING_CHOICES, "way of telling") if telling else None,
    )
    equations = asked.text("equations")
    if equations:
        order = with_equations(papers, order, equations)
    wanted = replace(
        wanted,
        title=clean_name(asked.text("title"), Where("the page", entry="title"), "title"),
        versions=versions_of(asked.text("versions")),
        front=_front(asked),
    )
    require_printable(order, wanted)
    return order, wanted


def _front(asked: Asked) -> Front:
    """The front of the paper, each sentence on a line of its own."""
    return typed_front(
        {
            "page": one_of(asked.text("front"), FRONT_PAGES, "front"),
            "school": asked.text("school").strip(),
            "fields": asked.several("fields"),
            "minutes": asked.text("minutes").strip(),
            "marks grid": asked.text("marks grid"),
            **{key: _lines(asked.text(key)) for key in ("instructions", "may use")},
        }
    )


def _lines(text: str) -> tuple[str, ...]:
    return tuple(line.strip() for line in text.splitlines() if line.strip())


# ------------------------------------------------------------------ taking


def take(room: Workroom, asked: Asked, wrong: tuple[str, ...] = ()) -> Answer:
    """Which files are wanted."""
    kept = room.shelf.paper(asked.numbers["paper"])
    state = kept.state()
    return page(
        "take",
        "Take away",
        head=head_of(kept, state),
        here="/take",
        wrong=wrong,
        folder=str(kept.folder),
        wanted=replace(state.wanted, sheets=usual_sheets(state.wanted, bool(state.order.aim))),
        sheets=[(one, SHEET_WORDS[one]) for one in SHEET_CHOICES],
        forms=[(one, FORM_WORDS[one]) for one in FORMS],
        files=[("", "joined for a class or several levels"), ("joined", "joined: one for each kind of sheet"),
               ("separate", "separate: one for each paper")],
        spaces=[(one, one) for one in ANSWER_SPACES],
        looks=[(one, one) for one in LOOKS],
        tints=[("", "none"), *((one, one) for one in TINTS)],
        class_size=len(state.wanted.pupils),
        order_file=str(kept.folder / ORDER),
        class_file=str(kept.class_file),
    )  # fmt: skip


def make(room: Workroom, asked: Asked) -> Answer:
    """Keep what is wanted and make the files beside."""
    kept = room.shelf.paper(asked.numbers["paper"])
    try:
        with room.alone():
            state = kept.seen(asked.text("seen"))
            wanted = _wanted(state.wanted, asked)
            require_printable(state.order, wanted)
            require_fillable(wanted)
            state = room.change(kept, asked.text("seen"), "choice of sheets and files", state.order, wanted)
        job = room.begin(_taking(room, kept, state.order, state.wanted))
    except Mistake as mistake:
        return take(room, asked, sentences(mistake))
    return go(f"/paper/{kept.number}/made/{job.number}")


def _wanted(wanted: Wanted, asked: Asked) -> Wanted:
    sheets = tuple(one_of(one, SHEET_CHOICES, "sheet") for one in asked.several("sheet"))
    forms = tuple(one_of(one, FORMS, "form") for one in asked.several("form"))
    if not sheets or not forms:
        raise Mistake(f"no {'sheet' if not sheets else 'form'} is ticked", expected="one at least")
    files, tint = asked.text("files"), asked.text("tint")
    return replace(
        wanted,
        sheets=sheets,
        forms=forms,
        files=one_of(files, FILES, "files") if files else "",
        answer_space=one_of(asked.text("space"), ANSWER_SPACES, "room to answer"),
        look=one_of(asked.text("look"), LOOKS, "print"),
        tint=one_of(tint, TINTS, "tint") if tint else "",
        fillable=asked.has("fillable"),
    )


def _taking(room: Workroom, kept: KeptPaper, order: Order, wanted: Wanted) -> Work:
    """Makes the files of one state, as the command makes them from its order; the record, which has no names, stays with the paper."""
    wanted = replace(wanted, sheets=usual_sheets(wanted, bool(order.aim)))

    def work(folder: Path, progress: Progress) -> Came:
        papers = PaperSet(room.bank, order, wanted)
        told = write_papers(papers, folder, progress=progress)
        kept.keep_printed({name: (folder / name).read_bytes() for name in told.files if name.endswith(SUFFIX)})
        return Came(files=told.files, told=(*summary(papers, told), *without_effect(wanted)))

    return work


def made(room: Workroom, asked: Asked) -> Answer:
    """How far the files are, or the files."""
    kept = room.shelf.paper(asked.numbers["paper"])
    job = room.jobs.find(asked.numbers["job"])
    wrong = _told(job)
    return page(
        "made",
        "Files",
        head=head_of(kept, kept.state()),
        here="/take" if job.back == "/take" else "/mark",
        wrong=wrong,
        folder=str(kept.folder),
        status=200,  # of what was done beside, not of this request
        job=job,
        job_at=f"/paper/{kept.number}/made/{job.number}",
        back=f"/paper/{kept.number}{job.back}",
        files=_files_told(job.came.files),
        back_to="the choice of sheets" if job.back == "/take" else "the marks",
        summary=job.came.told,
        again_in_s=0 if job.over else 1,
    )


_TOLD_ENDINGS = (
    (SUFFIX, "the record: what answers are marked by, and a new paper can begin with"),
    (ORDER_ENDING, "the order: prints the paper again, here or by the command"),
    (PLAN_ENDING, "the plan: what each pupil practises, and why"),
    ("-answers.csv", "a table to type pupils' answers into"),
    ("-answers.xlsx", "the same table as a workbook"),
)


def _files_told(names: Sequence[str]) -> list[tuple[str, list[tuple[int, str, str]]]]:
    """Files by their numbers, those to print first; of the others it is told what each is for."""
    told = {name: next((words for end, words in _TOLD_ENDINGS if name.endswith(end)), "") for name in names}
    held = [(number, name, told[name]) for number, name in enumerate(names, 1)]
    groups = (
        ("To print or hand out", [one for one in held if not one[2]]),
        ("To keep", [one for one in held if one[2]]),
    )
    return [(heading, files) for heading, files in groups if files]


def _told(job: Job) -> tuple[str, ...]:
    """Why a job came to nothing; () where it did not."""
    if job.wrong is None or job.stopped:
        return ()
    if isinstance(job.wrong, Mistake):
        return sentences(job.wrong)
    return ("This is a fault in molewright, not in what you asked. No file is left half written.",)


def stop(room: Workroom, asked: Asked) -> Answer:
    """Stop making files."""
    job = room.jobs.find(asked.numbers["job"])
    job.stop()
    job.thread.join(timeout=2)
    return go(f"/paper/{asked.numbers['paper']}/made/{job.number}")


def file(room: Workroom, asked: Asked) -> Answer:
    """One file, to be kept."""
    name, content = room.jobs.find(asked.numbers["job"]).file(asked.numbers["file"])
    return Answer(content=content, kind="application/octet-stream", file_name=name)


def every_file(room: Workroom, asked: Asked) -> Answer:
    """All files in one ZIP."""
    job = room.jobs.find(asked.numbers["job"])
    called = f"paper-{asked.numbers['paper']:03}-{job.called}.zip"
    return Answer(content=job.all_files(), kind="application/zip", file_name=called)
