"""The banks and a shelf of papers come in; papers, as they are now, go out made: drawn once for each state, and kept while it lasts.

One thing is drawn at a time: what draws is not made for several threads.
"""

from __future__ import annotations

import shutil
import threading
import time
from collections import OrderedDict, deque
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from functools import cached_property
from pathlib import Path

from molewright.bank.definitions import Bank
from molewright.bank.readers.whole_bank import read_bank
from molewright.browser.jobs import MOST_SEARCHES, SEARCH, Came, Job, Jobs, Progress, Work
from molewright.browser.shelf import KeptPaper, Shelf, State
from molewright.browser.sittings import Sittings
from molewright.derivation.plans import Plans
from molewright.marking.files import mark_set
from molewright.marking.marked import MarkedClass
from molewright.order.defaults import NOBODY_SAID
from molewright.order.head import Head
from molewright.order.order import Order, Wanted
from molewright.order.pupils import Pupil
from molewright.papers.copies import Copy
from molewright.papers.making import Paper
from molewright.papers.outline import Outline, outline, pages
from molewright.papers.record.form import SUFFIX
from molewright.papers.sets import PaperSet
from molewright.papers.shown_questions import shown_questions
from molewright.papers.writing import write_papers
from molewright.render import renderer
from molewright.survey.finding import Kinds

_PAUSE_S = 0.004  # between one kind and the next, and where others are let draw
_TURN_S = 0.02  # that a job draws before it lets others
WARMED = ("html", "pdf")
MOST_MADE = 40  # states of papers that are kept made


@dataclass(slots=True)
class Made:
    """A paper as it is in one state: its set, and what was looked at of it."""

    papers: PaperSet
    outlines: dict[Copy, Outline] = field(default_factory=dict)
    questions: dict[Copy, dict[int, str]] = field(default_factory=dict)
    pages: dict[Copy, int] = field(default_factory=dict)

    def copy(self, level: str, version: str) -> Copy:
        """The copy at a level and in a version; the first of all where there is none such."""
        copies = self.papers.copies
        fits = [one for one in copies if one.level == level] or list(copies)
        return next((one for one in fits if one.version == version), fits[0])

    def paper(self, copy: Copy) -> Paper:
        """The paper of a copy."""
        return self.papers.paper(copy)


class Workroom:
    """What all pages work with."""

    def __init__(self, shelf: Shelf, read: Callable[[], Bank] = read_bank, usual: Head = NOBODY_SAID) -> None:
        """`read` reads the banks; `usual` is what a department has settled for what nobody says of a new paper."""
        self.shelf = shelf
        self.usual = usual
        self.jobs = Jobs()
        self.sittings = Sittings(self.jobs, self.mark)
        self._read = read
        self._lock = threading.RLock()
        self._made: OrderedDict[tuple[int, str], Made] = OrderedDict()

    @cached_property
    def bank(self) -> Bank:
        """The banks, read when they are first asked for."""
        with self._lock:
            return self._read()

    @cached_property
    def plans(self) -> Plans:
        """The plans that this person keeps."""
        return Plans.of_user(self.bank.fingerprint)

    @cached_property
    def kinds(self) -> Kinds:
        """What is found by plain words."""
        with self._lock:
            return Kinds(self.bank)

    def warm_up(self) -> None:
        """Read beside what every page will ask for; whoever asks meanwhile comes first."""
        threading.Thread(target=self._warm, name="banks", daemon=True).start()

    def _warm(self) -> None:
        for archetype in self.bank.archetypes.values():
            time.sleep(_PAUSE_S)
            with self._lock:
                deque(archetype.variants, maxlen=0)
        assert self.kinds.every
        for form in WARMED:
            with self._lock:
                renderer(form)

    @contextmanager
    def alone(self) -> Iterator[None]:
        """Nothing else is drawn meanwhile."""
        with self._lock:
            yield

    # ------------------------------------------------------------ papers

    def made(self, kept: KeptPaper, state: State) -> Made:
        """The paper in this state. Raises Mistake for an order that cannot be."""
        key = kept.number, state.stamp
        with self._lock:
            found = self._made.get(key)
            if found is None:
                found = self._made[key] = Made(PaperSet(self.bank, state.order, state.wanted, self.plans))
                while len(self._made) > MOST_MADE:
                    self._made.popitem(last=False)
            self._made.move_to_end(key)
            return found

    def outline(self, made: Made, copy: Copy) -> Outline:
        """What stands on a copy."""
        with self._lock:
            if copy not in made.outlines:
                made.outlines[copy] = outline(made.papers, copy)
            return made.outlines[copy]

    def questions(self, made: Made, copy: Copy) -> dict[int, str]:
        """The questions of a copy, as HTML."""
        with self._lock:
            if copy not in made.questions:
                made.questions[copy] = shown_questions(made.paper(copy))
            return made.questions[copy]

    def pages(self, made: Made, copy: Copy) -> int:
        """How many pages the question paper of a copy has."""
        with self._lock:
            if copy not in made.pages:
                made.pages[copy] = pages(made.paper(copy))
            return made.pages[copy]

    def new_paper(self, order: Order, wanted: Wanted, back: str) -> Job:
        """Put a paper with every question settled on the shelf, beside: marks that add up may have to be looked for.

        It leads to the paper's page, or to a Mistake for what cannot be had; `back` is the page that it was asked for on.
        """

        def work(folder: Path, progress: Progress) -> Came:
            try:
                papers = PaperSet(self.bank, order, wanted, self.plans, progress)
                papers.paper(papers.copies[0])
            finally:
                self.plans.keep()
            kept = self.shelf.add(self.settled(order, papers), replace(wanted, title=papers.title))
            return Came(leads_to=f"/paper/{kept.number}")

        return self.jobs.begin(self._alone(work), SEARCH, back, MOST_SEARCHES)

    def change(self, kept: KeptPaper, seen: str, what: str, order: Order, wanted: Wanted | None = None) -> State:
        """Change a paper, if it can be printed so. Raises Mistake where it cannot, and Changed where it is not as it was seen."""
        with self._lock:
            wanted = wanted or kept.state().wanted
            papers = PaperSet(self.bank, order, wanted, self.plans)
            for copy in papers.apart() if not papers.own_numbers else papers.copies[:1]:
                papers.paper(copy)
            state = kept.change(seen, what, self.settled(order, papers), replace(wanted, title=papers.title))
            self._made[kept.number, state.stamp] = Made(papers)
            return state

    @staticmethod
    def settled(order: Order, papers: PaperSet) -> Order:
        """The order with every line written out, as a set of papers has settled it; what was kept of its numbers stays."""
        return replace(papers.order, level=order.level, levels=order.levels)

    # ------------------------------------------------------------ marking

    def mark(
        self, answers: Path, records: Path, pupils: Sequence[Pupil]
    ) -> tuple[tuple[MarkedClass, ...], tuple[str, ...]]:
        """The answers of a file marked by these records, with notes. Raises Mistake for answers that do not fit their paper."""
        with self._lock:
            return mark_set(answers, self.bank, given=records, class_list=pupils)

    def record(self, kept: KeptPaper) -> Path:
        """The record of a paper as it is now, kept with it: answers can be marked that were written on no sheet of ours."""
        with self._lock:
            state = kept.state()
            wanted = replace(state.wanted, sheets=(), forms=("text",), fillable=False)
            place = self.jobs.new_place()
            told = write_papers(PaperSet(self.bank, state.order, wanted, self.plans), place)
            held = {name: (place / name).read_bytes() for name in told.files if name.endswith(SUFFIX)}
            shutil.rmtree(place, ignore_errors=True)
            return kept.keep_printed(held)

    # ------------------------------------------------------------ jobs

    def begin(self, work: Work, called: str = "files", back: str = "/take") -> Job:
        """Do something beside, which is called so and was begun on that page. It draws alone, and lets others draw between papers."""
        return self.jobs.begin(self._alone(work), called, back)

    def _alone(self, work: Work) -> Work:
        def alone(folder: Path, progress: Progress) -> Came:
            since = time.monotonic()

            def told(done: int, total: int) -> None:
                nonlocal since
                progress(done, total)
                if time.monotonic() - since > _TURN_S:
                    self._let_others()
                    since = time.monotonic()

            with self._lock:
                return work(folder, told)

        return alone

    def _let_others(self) -> None:
        self._lock.release()
        try:
            time.sleep(_PAUSE_S)
        finally:
            self._lock.acquire()
