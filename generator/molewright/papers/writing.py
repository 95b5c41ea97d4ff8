"""Papers come in; their sheets in every form asked for, and the record that marks them, stand in a folder: all of them, or none."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from molewright.experiment.quantity_texts import Numbers
from molewright.machine.files import Staging
from molewright.nodes.blocks import Sheet
from molewright.order.order import Wanted
from molewright.order.order_file import ORDER_ENDING
from molewright.order.order_text import write_order
from molewright.papers.making import Paper, PaperMaker
from molewright.papers.record.writer import RecordFiles, heading
from molewright.question.own_numbers import numbers_of
from molewright.render import renderer
from molewright.version import VERSION

_FILE_WORDS = {"questions": "questions", "scheme": "mark-scheme", "worked": "worked-solutions", "key": "answer-key"}
MOST_SLUG = 40  # letters of a title in a file's name


def write_papers(
    maker: PaperMaker,
    wanted: Wanted,
    folder: Path,
    overwrite: bool = False,
    progress: Callable[[int, int], None] | None = None,
) -> list[str]:
    """Make and write every version; the names of the files. Whole or not at all."""
    total = len(wanted.pupils) or len(wanted.versions)
    with Staging(folder, overwrite) as staging:
        stem = f"{_slug(maker.title(wanted))}-{maker.code}"
        files = RecordFiles(staging, stem, maker.bank, heading(maker), total)
        drawn: dict[str, tuple[Numbers, ...]] = {}
        for number, paper in enumerate(maker.papers(wanted), 1):
            for sheet, suffix, content in rendered(paper, wanted):
                staging.add(f"{stem_of(paper)}-{_FILE_WORDS[sheet]}{suffix}", content)
            files.add(paper)
            if not wanted.pupils:  # numbers of pupils' own follow from the seed, and stand in the record
                drawn[paper.version] = tuple(map(numbers_of, paper.questions))
            if progress:
                progress(number, total)
        files.finish()
        staging.add(f"{stem}{ORDER_ENDING}", settled_text(maker, wanted, drawn).encode())
    maker.questions.plans.keep()
    return staging.written


def settled_text(maker: PaperMaker, wanted: Wanted, drawn: Mapping[str, tuple[Numbers, ...]]) -> str:
    """The settled order of some papers: every line written out, so that it prints them again and any of it can be changed."""
    notes = (
        f"The order of the papers {maker.code}, every question written out.",
        f"Made by molewright {VERSION} from the banks {maker.bank.fingerprint}.",
        "Change a line and run 'molewright paper' with this file: the other questions stay as they are.",
    )
    return write_order(maker.order_with(drawn), replace(wanted, title=maker.title(wanted)), notes)


def rendered(paper: Paper, wanted: Wanted) -> Iterator[tuple[str, str, bytes]]:
    """Every sheet that is wanted of a paper, in every form: its name, the ending of its file, its bytes."""
    for name, sheet in sheets_of(paper, wanted.sheets):
        for form in wanted.forms:
            made = renderer(form)
            yield name, made.SUFFIX, made.render(sheet)


def printable(forms: Sequence[str]) -> Callable[[str], None]:
    """What tries a name or a title in every form that it is to be printed in. It raises Mistake for one that cannot be."""
    made = [renderer(form) for form in forms]

    def tried(text: str) -> None:
        for one in made:
            one.require_text(text)

    return tried


def sheets_of(paper: Paper, names: Sequence[str]) -> Iterator[tuple[str, Sheet]]:
    """The sheets of a paper by name."""
    makers = {
        "questions": paper.composer.question_paper,
        "scheme": paper.composer.mark_scheme,
        "worked": paper.composer.worked_solutions,
        "key": paper.composer.answer_key,
    }
    for name in names:
        yield name, makers[name]()


def stem_of(paper: Paper) -> str:
    """How a paper's files are called: its title, its code, and the pupil's name where it is made for one."""
    setting = paper.composer.setting
    return "-".join(filter(None, (_slug(setting.title), paper.code, _slug(setting.pupil) if setting.pupil else "")))


def _slug(text: str) -> str:
    plain = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode()
    whole = re.sub(r"[^a-z0-9]+", "-", plain.casefold()).strip("-")
    if len(whole) > MOST_SLUG:  # cut between words, where there is a place to cut
        whole = whole[:MOST_SLUG].rpartition("-")[0] or whole[:MOST_SLUG]
    return whole or "paper"
