"""What takes longer than a page comes in; it is done beside, a few at a time, and may be stopped. Its files lie in a private place.

Files may have pupils' names in them and in what they are called, so none is left when the program ends; what a program that was
killed has left is cleared at the next start.
"""

from __future__ import annotations

import io
import shutil
import tempfile
import threading
import zipfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from molewright.errors import Mistake
from molewright.machine.held import Held, is_abandoned

MOST_AT_ONCE = 2
SEARCH = "paper"  # what a job is called that looks for a paper and makes no files
MOST_SEARCHES = 40  # that wait for each other: each is a page that somebody looks at
MOST_KEPT = 12  # that are over: their files can be had so long
_CALLED = "molewright-pages-"
_DATE = (2000, 1, 1, 0, 0, 0)  # of every file in a ZIP: the same files are the same bytes


@dataclass(frozen=True, slots=True, kw_only=True)
class Came:
    """What came of a job: names of files in its folder, what is to be known of them, a sentence each, or the page that it leads to."""

    files: Sequence[str] = ()
    told: tuple[str, ...] = ()
    leads_to: str = ""


Progress = Callable[[int, int], None]
Work = Callable[[Path, Progress], Came]
"""What is done in a folder, and tells how far it is."""


class Stopped(Exception):
    """A job that somebody stopped."""


class Job:
    """One job: how far it is, and what came of it."""

    def __init__(self, number: int, folder: Path, work: Work, called: str, back: str) -> None:
        self.number = number
        self.folder = folder
        self.called = called  # what its files are, for the name of their ZIP
        self.back = back  # the page it was begun on, below its paper where it has one
        self.came = Came()
        self.done, self.total = 0, 0
        self.wrong: Exception | None = None
        self._stop = threading.Event()
        self._work = work
        self.thread = threading.Thread(target=self._run, name=f"job {number}", daemon=True)

    @property
    def over(self) -> bool:
        """Whether it is done, has failed or was stopped."""
        return not self.thread.is_alive()

    @property
    def stopped(self) -> bool:
        """Whether somebody stopped it."""
        return isinstance(self.wrong, Stopped)

    def stop(self) -> None:
        """Let it end before its next paper; no file of it is kept."""
        self._stop.set()

    def _run(self) -> None:
        try:
            self._progress(0, 0)
            self.came = self._work(self.folder, self._progress)
        except Exception as broken:  # told on its page, where somebody waits for it
            self.wrong = broken
            shutil.rmtree(self.folder, ignore_errors=True)

    def _progress(self, done: int, total: int) -> None:
        self.done, self.total = done, total
        if self._stop.is_set():
            raise Stopped

    def file(self, number: int) -> tuple[str, bytes]:
        """A file by its number, from 1: what it is called, and its bytes. Raises Mistake where there is none."""
        if not self.over or not 1 <= number <= len(self.came.files):
            raise Mistake(f"there is no file {number}", expected=f"1 to {len(self.came.files)}")
        name = self.came.files[number - 1]
        return name, (self.folder / name).read_bytes()

    def all_files(self) -> bytes:
        """Every file in one ZIP."""
        whole = io.BytesIO()
        with zipfile.ZipFile(whole, "w", zipfile.ZIP_DEFLATED) as packed:
            for name in self.came.files:
                packed.writestr(zipfile.ZipInfo(name, _DATE), (self.folder / name).read_bytes(), zipfile.ZIP_DEFLATED)
        return whole.getvalue()


class Jobs:
    """All jobs of one start of the program."""

    def __init__(self) -> None:
        self._top: Path | None = None
        self._held: Held | None = None
        self._places = threading.Lock()
        self._jobs: dict[int, Job] = {}
        self._last = 0
        self._one_at_a_time = threading.Lock()

    def begin(self, work: Work, called: str = "files", back: str = "/take", most: int = MOST_AT_ONCE) -> Job:
        """Begin a job; `called` says what its files are, `back` on which page it was begun.

        Raises Mistake while as many as may be are under way.
        """
        with self._one_at_a_time:
            if sum(not job.over for job in self._jobs.values()) >= most:
                raise Mistake(
                    "others are being made just now",
                    expected="a moment's patience",
                    do="Try it again then, or stop those.",
                )
            for old in [job for job in self._jobs.values() if job.over][: -MOST_KEPT + 1 or None]:
                self.let_go(old)
            self._last += 1
            job = Job(self._last, self.new_place(), work, called, back)
            self._jobs[job.number] = job
            job.thread.start()
            return job

    def find(self, number: int) -> Job:
        """A job by its number. Raises Mistake where its files are not kept any more."""
        found = self._jobs.get(number)
        if found is None:
            raise Mistake(
                "these files are not kept any more", expected="files made since the start", do="Make them again."
            )
        return found

    def let_go(self, job: Job) -> None:
        """Keep a job no longer that is over, nor its files."""
        self._jobs.pop(job.number, None)
        shutil.rmtree(job.folder, ignore_errors=True)

    def new_place(self) -> Path:
        """A folder that nobody else may look into, and that is gone at the end."""
        with self._places:
            if self._top is None:
                self._top = Path(tempfile.mkdtemp(prefix=_CALLED))
                self._held = Held(self._top, wait=False)
        return Path(tempfile.mkdtemp(dir=self._top))

    def end(self) -> None:
        """Stop what is under way and leave no file."""
        for job in self._jobs.values():
            job.stop()
        for job in self._jobs.values():
            job.thread.join(timeout=5)
        if self._top is not None:
            shutil.rmtree(self._top, ignore_errors=True)
            self._top = None
        if self._held is not None:
            self._held.let_go()
            self._held = None


def clear_left_behind() -> None:
    """Clear the places of programs that were killed before they could."""
    for place in Path(tempfile.gettempdir()).glob(f"{_CALLED}*"):
        if place.is_dir() and not place.is_symlink() and is_abandoned(place):
            shutil.rmtree(place, ignore_errors=True)
