"""Every figure of speed as a ratio within one run: to a raw canvas, a fixed loop of exact arithmetic, sympy, paragraphs, pdflatex.

Run: python tests/speed/ratios.py [--keep | --against FILE | --small]. All is processor time, measured several times by turns with what
it is compared with, and the middle of the ratios is told; seconds depend on the machine and on who else is at work, ratios hardly.
With --keep the ratios become the baseline, with the version and the day; without it they are compared with it (baseline.json beside
this file, or another FILE), what became slower is said, and if anything did the command ends with 1.
"""

from __future__ import annotations

import argparse
import io
import json
import os
import resource
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from fractions import Fraction
from itertools import cycle, islice
from pathlib import Path
from statistics import median

sys.path.insert(0, str(Path(__file__).resolve().parent))

from bench_pdf import baseline as paragraphs
from bench_pdf import class_set
from bench_questions import by_sympy, that_sympy_solves
from reportlab.pdfgen.canvas import Canvas

from molewright.bank.readers.whole_bank import read_bank
from molewright.derivation.derive import derive
from molewright.derivation.plans import Plans
from molewright.draw.stream import Stream
from molewright.nodes.blocks import Sheet
from molewright.order.order import Order, Wanted
from molewright.order.pupils import Pupil
from molewright.papers.copies import Copy
from molewright.papers.finished import CopyToMake, PapersFinished
from molewright.papers.sets import PaperSet
from molewright.question.check import Questions
from molewright.render import renderer
from molewright.render.pdf import tags
from molewright.render.pdf.pages import drawn
from molewright.version import VERSION

KEPT = Path(__file__).resolve().parent / "baseline.json"
SLOWER = 1.25  # times the kept ratio: less is the noise of a machine that others use too
BLAND = {"XDG_CACHE_HOME": "", "MOLEWRIGHT_DEFAULTS": "none"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """One line: what is done, how often in one go, what that is compared with, and what is counted."""

    name: str
    work: Callable[[], object]
    count: int
    unit: str
    counts: str


def spent(work: Callable[[], object]) -> float:
    """Processor seconds of some work, its child processes among them."""
    before = _clock()
    work()
    return _clock() - before


def _clock() -> float:
    children = resource.getrusage(resource.RUSAGE_CHILDREN)
    return time.process_time() + children.ru_utime + children.ru_stime


def exact_arithmetic() -> None:
    """The fixed loop: 2,000 times a product, a sum and a comparison of fractions, and a dictionary of them."""
    kept: dict[int, Fraction] = {}
    for number in range(1, 2_001):
        found = Fraction(number % 89 + 1, 97) * Fraction(number, number + 3) + Fraction(7, number)
        kept[number % 97] = max(found, kept.get(number % 89, found))


class Work:
    """What is measured, made ready: banks, questions, sheets; `place` is a folder for what other processes write."""

    def __init__(self, small: bool, place: Path) -> None:
        self.small = small
        self.place = place
        self.bank = read_bank(whole=False)
        self.plans = Plans(self.bank.fingerprint, None)
        self.questions = Questions(self.bank, self.plans)
        kinds = [one for one in self.bank.archetypes.values() if not self.bank.topic_of(one).only_by_name]
        self.kinds = kinds[:: len(kinds) // (12 if small else 80)]
        self.made = [self.questions.make(kind, Stream(f"warm/{kind.key}")) for kind in self.kinds]
        self.asked = that_sympy_solves(self.made, 2 if small else 6)
        self.papers = PaperSet(
            self.bank, Order(seed=3, count=6), Wanted(pupils=(Pupil(name="Ilsa Quern"),)), self.plans
        )
        self.finished = PapersFinished(self.papers, False)
        self.sheets = cycle([self._sheets(number) for number in range(4 if small else 24)])
        self.sets = cycle([class_set(100 * number) for number in range(3 if small else 30)])
        self.streams = [[page.content for page in drawn(sheet, tags.document())] for sheet in class_set(50_000)]
        self.turn = 0
        for form in ("pdf", "html", "docx", "latex"):
            for sheet in next(self.sheets):
                renderer(form).render(sheet)

    def _sheets(self, number: int) -> tuple[Sheet, Sheet, Sheet]:
        """Question paper, scheme and worked solutions of a version that nothing else uses."""
        copy = Copy(level=self.papers.levels[0], version=f"{50_000 + number}", pupil=self.papers.copies[0].pupil)
        composer = self.papers.paper(copy).composer
        return composer.question_paper(), composer.mark_scheme(), composer.worked_solutions()

    def fresh(self) -> int:
        """A number that no work has had: nothing that was kept helps the next turn."""
        self.turn += 1
        return self.turn

    def questions_made(self) -> None:
        turn = self.fresh()
        for kind in self.kinds:
            self.questions.make(kind, Stream(f"turn/{turn}/{kind.key}"))

    def derived(self) -> None:
        for _ in range(200):
            for question in self.asked:
                derive(question.system, question.prepared.plan, question.given)

    def asked_anew(self) -> None:
        for question in self.asked:
            by_sympy(question)

    def a_pupil(self) -> None:
        copy = self.papers.copies[0]
        version = f"{10_000 + self.fresh()}"
        self.finished.made(CopyToMake(Copy(level=copy.level, version=version, pupil=copy.pupil), True))

    def documents(self) -> None:
        for sheet in next(self.sets):
            renderer("pdf").render(sheet)

    def replayed(self) -> None:
        for pages in self.streams:
            canvas = Canvas(io.BytesIO(), pagesize=(595, 842), invariant=1)
            for content in pages:
                canvas._code.append(content)
                canvas.showPage()
            canvas.save()

    def by_paragraphs(self) -> None:
        paragraphs(class_set(0))

    def rendered(self, form: str, *which: int) -> Callable[[], None]:
        """Those of the three sheets of five papers that no form has had before."""

        def work() -> None:
            for sheets in islice(self.sheets, 5):
                for at in which:
                    renderer(form).render(sheets[at])

        return work

    def whole_process(self, warm: bool) -> Callable[[], None]:
        """A first paper with its four sheets; `warm` where the plans of its kinds are kept already."""
        folder = self.place / ("warm" if warm else "cold")
        place = {**os.environ, **BLAND, "XDG_CACHE_HOME": str(folder / "cache")}
        place["PYTHONPATH"] = str(Path(__file__).resolve().parents[2] / "generator")
        command = [sys.executable, "-m", "molewright", "paper", "--seed", "1", "--replace", "--to", str(folder / "out")]

        def work() -> None:
            if not warm:
                shutil.rmtree(folder, ignore_errors=True)
            folder.mkdir(exist_ok=True)
            subprocess.run(command, check=True, env=place, cwd=folder.parent, stdout=subprocess.DEVNULL)

        if warm:
            work()
        return work

    def typeset(self) -> None:
        with tempfile.TemporaryDirectory() as folder:
            for number, sheet in enumerate(next(self.sheets)[:2]):
                (Path(folder) / f"{number}.tex").write_bytes(renderer("latex").render(sheet))
                command = ["pdflatex", "-no-shell-escape", "-interaction=batchmode", f"{number}.tex"]
                subprocess.run(command, check=True, cwd=folder, stdout=subprocess.DEVNULL)


def figures(work: Work) -> list[Figure]:
    """Every line, and what it counts."""
    docs, loop = len(class_set(0)), "loops"
    found = [
        Figure(name="document", work=work.documents, count=docs, unit="raw canvas",
               counts="a two-page document of new numbers laid out, tagged and written, in times its page streams replayed"),
        Figure(name="document by paragraphs", work=work.by_paragraphs, count=docs, unit="documents",
               counts="the same words by reportlab's paragraphs and tables, untagged, in times ours"),
        Figure(name="pupil", work=work.a_pupil, count=1, unit=loop,
               counts="a pupil of the default homework: six questions drawn and judged, four sheets as PDF, record"),
        Figure(name="question", work=work.questions_made, count=len(work.kinds), unit=loop,
               counts="a question without further parts over all kinds: draw, bench, derivation, routes, range, slips, plausibility"),
        Figure(name="worked solutions, html", work=work.rendered("html", 2), count=5, unit=loop,
               counts="worked solutions of six questions as HTML"),
        Figure(name="worked solutions, docx", work=work.rendered("docx", 2), count=5, unit=loop,
               counts="worked solutions of six questions as DOCX"),
        Figure(name="sympy", work=work.asked_anew, count=len(work.asked), unit="derivations",
               counts="sympy asked for the whole system of a question, in times the chain that is planned once"),
        Figure(name="first paper", work=work.whole_process(True), count=1, unit=loop,
               counts="a whole process: four sheets of six questions, plans made"),
        Figure(name="first paper of all", work=work.whole_process(False), count=1, unit=loop,
               counts="the same where no plan is made yet"),
    ]  # fmt: skip
    if shutil.which("pdflatex") and not work.small:
        found.append(
            Figure(
                name="pdflatex",
                work=work.typeset,
                count=2,
                unit="sheets",
                counts="question paper and scheme of six questions by pdflatex, in times ours",
            )
        )
    return found


def measured(work: Work, turns: int) -> dict[str, tuple[float, float]]:
    """Of each figure the middle of its ratios and of its milliseconds."""
    units: dict[str, tuple[Callable[[], object], int]] = {
        "raw canvas": (work.replayed, len(work.streams)),
        "documents": (work.documents, len(work.streams)),
        "loops": (exact_arithmetic, 1),
        "derivations": (work.derived, 200 * len(work.asked)),
        "sheets": (work.rendered("pdf", 0, 1), 10),
    }
    print(f"{'what':24} {'ms':>9} {'ratio':>9}  of")
    found: dict[str, tuple[float, float]] = {}
    for figure in figures(work):
        unit, parts = units[figure.unit]
        ratios: list[float] = []
        seconds: list[float] = []
        for _ in range(turns):
            before = spent(unit)
            seconds.append(spent(figure.work) / figure.count)
            ratios.append(seconds[-1] / ((before + spent(unit)) / 2 / parts))
        found[figure.name] = (median(ratios), median(seconds) * 1000)
        ratio, milliseconds = found[figure.name]
        print(f"{figure.name:24} {milliseconds:9.2f} {ratio:9.2f}  {figure.unit:12} {figure.counts}", flush=True)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
    print(f"{'peak memory':24} {peak:9} MB         of this process, which has kept all of the above")
    return found


FASTER_IS_MORE = ("document by paragraphs", "sympy", "pdflatex")  # what others take in times ours


def compared(now: dict[str, float], kept: dict[str, float]) -> list[str]:
    """What became slower, in sentences."""
    told = []
    for name, ratio in now.items():
        before = kept.get(name)
        if not before:
            continue
        slower = before / ratio if name in FASTER_IS_MORE else ratio / before
        if slower > SLOWER:
            told.append(
                f"slower: {name}, {ratio:.2f} now and {before:.2f} in the baseline, {100 * (slower - 1):.0f} % more"
            )
    return told


def main() -> int:
    """Measure; keep or compare."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--keep", action="store_true", help="let these ratios be the baseline")
    parser.add_argument("--against", type=Path, default=KEPT, metavar="FILE", help="another baseline")
    parser.add_argument("--turns", type=int, default=7, help="how often each is measured")
    parser.add_argument("--small", action="store_true", help="to see that it runs to its end; compared with nothing")
    chosen = parser.parse_args()
    with tempfile.TemporaryDirectory() as place:
        found = measured(Work(chosen.small, Path(place)), 1 if chosen.small else chosen.turns)
    ratios = {name: round(ratio, 2) for name, (ratio, _) in found.items()}
    if chosen.small:
        return 0
    if chosen.keep:
        day = datetime.now(UTC).date().isoformat()
        python = ".".join(map(str, sys.version_info[:2]))
        chosen.against.write_text(
            json.dumps({"version": VERSION, "day": day, "python": python, "ratios": ratios}, indent=1) + "\n", "utf-8"
        )
        return 0
    if not chosen.against.is_file():
        print(f"no baseline is kept in {chosen.against}; --keep writes one")
        return 0
    kept = json.loads(chosen.against.read_text("utf-8"))
    slower = compared(ratios, kept["ratios"])
    print("\n".join(slower) or f"nothing is slower than at {kept['version']} on {kept['day']}")
    return 1 if slower else 0


if __name__ == "__main__":
    sys.exit(main())
