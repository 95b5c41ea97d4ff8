"""A folder comes in; the papers that are put together in it go out, each in a folder of its own: its order, its class, its steps.

The order is the state. A change is written whole or not at all, and only upon the state that whoever asks for it has seen; each leaves
a step behind that can be taken back. Names of pupils stand in the class file and nowhere else here.
"""

from __future__ import annotations

import hashlib
import json
import re
import threading
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from molewright.errors import Mistake, Where
from molewright.machine.bounded_reading import read_at_most
from molewright.machine.files import Staging
from molewright.machine.private_files import read_private, remove_private, write_private
from molewright.order.class_list import read_class_list
from molewright.order.order import Order, Wanted
from molewright.order.order_file import parse_order
from molewright.order.order_text import write_order
from molewright.order.pupils import Pupil
from molewright.papers.choosing import fresh_seed

ORDER, CLASS, STEPS, TYPED = "paper.order.yaml", "class.csv", "steps.json", "typed-answers.json"
MOST_PAPERS = 999
MOST_STEPS = 200  # that can be taken back
MOST_BYTES = 4_000_000  # of an order with its steps
_PRINTED = re.compile(r"printed-([0-9]{3})")
_FOLDER = re.compile(r"paper-([0-9]{3})")
_NOTES = (
    "A paper that is put together in the browser: what it is, question by question.",
    "'molewright paper' prints it from this file.",
)


class Changed(Mistake):
    """The paper is not any more what a page showed: somebody else, or another window, has changed it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class State:
    """What a paper is now: its order, what is wanted of it with its pupils, and a stamp that no other state has.

    `undo` and `redo` say what would be taken back, and done again; "" where there is nothing.
    """

    order: Order
    wanted: Wanted
    stamp: str
    undo: str = ""
    redo: str = ""


@dataclass(frozen=True, slots=True)
class _Step:
    """What was done, and the text of the order on the other side of it."""

    what: str
    text: str


@dataclass(frozen=True, slots=True)
class _Steps:
    back: tuple[_Step, ...] = ()
    on: tuple[_Step, ...] = ()


class KeptPaper:
    """One paper in its folder."""

    def __init__(self, number: int, folder: Path) -> None:
        self.number = number
        self.folder = folder
        self._one_at_a_time = threading.RLock()

    @property
    def class_file(self) -> Path:
        """Where the names of its pupils stand."""
        return self.folder / CLASS

    # ------------------------------------------------------------ reading

    def state(self) -> State:
        """What it is now. Raises Mistake where its order is no order any more: somebody may have edited it."""
        text = self._text()
        order, wanted = parse_order(text, str(self.folder / ORDER), fresh_seed)
        steps = self._steps()
        return State(
            order=order,
            wanted=replace(wanted, pupils=self.pupils()),
            stamp=self._stamp(text),
            undo=steps.back[-1].what if steps.back else "",
            redo=steps.on[-1].what if steps.on else "",
        )

    def seen(self, stamp: str) -> State:
        """What it is now, for a change. Raises Changed where somebody saw another state, before anything is worked out upon it."""
        self._seen(stamp)
        return self.state()

    def changed_at(self) -> float:
        """When it was changed, in seconds of the system's clock."""
        return (self.folder / ORDER).stat().st_mtime

    def _text(self) -> str:
        path = self.folder / ORDER
        try:
            raw = read_at_most(path, MOST_BYTES)
        except OSError as broken:
            raise Mistake(f"this paper cannot be read ({broken.strerror or broken})", where=Where(str(path))) from None
        try:
            return (raw or b"").decode("utf-8")
        except UnicodeDecodeError:
            raise Mistake("this is no text in UTF-8", where=Where(str(path)), expected="an order") from None

    def class_text(self) -> str:
        """The class list as it was typed, "" where there is none."""
        return (read_private(self.class_file, MOST_BYTES) or b"").decode("utf-8", errors="replace")

    def pupils(self) -> tuple[Pupil, ...]:
        """Who is in the class; nobody where no list was given."""
        return read_class_list(self.class_file) if self.class_text().strip() else ()

    def _stamp(self, text: str) -> str:
        return hashlib.sha256(f"{text}\0{self.class_text()}".encode()).hexdigest()[:20]

    def _steps(self) -> _Steps:
        try:
            held = json.loads(read_private(self.folder / STEPS, MOST_BYTES * MOST_STEPS) or b"{}")
            back, on = ([_Step(str(one[0]), str(one[1])) for one in held.get(key, [])] for key in ("back", "on"))
        except (ValueError, AttributeError, IndexError, TypeError):
            return _Steps()  # what was done before is lost, what the paper is now is not
        return _Steps(tuple(back), tuple(on))

    # ------------------------------------------------------------ changing

    def change(self, seen: str, what: str, order: Order, wanted: Wanted) -> State:
        """Write what the paper is from now on, and how to take it back. Raises Changed where it is not what was seen."""
        with self._one_at_a_time:
            before = self._seen(seen)
            text = write_order(order, wanted, _NOTES)
            if text != before:
                back = (*self._steps().back, _Step(what, before))
                self._write(text, _Steps(back[-MOST_STEPS:]))
            return self.state()

    def undo(self, seen: str) -> State:
        """Take the last step back. Raises Changed, and Mistake where there is none."""
        with self._one_at_a_time:
            before, steps = self._seen(seen), self._steps()
            if not steps.back:
                raise Mistake("there is no step to take back", expected="a change before it")
            last = steps.back[-1]
            self._write(last.text, _Steps(steps.back[:-1], (*steps.on, _Step(last.what, before))))
            return self.state()

    def redo(self, seen: str) -> State:
        """Do again what was taken back last. Raises Changed, and Mistake where nothing was."""
        with self._one_at_a_time:
            before, steps = self._seen(seen), self._steps()
            if not steps.on:
                raise Mistake("nothing was taken back", expected="a step that was")
            last = steps.on[-1]
            self._write(last.text, _Steps((*steps.back, _Step(last.what, before)), steps.on[:-1]))
            return self.state()

    def set_class(self, seen: str, text: str) -> State:
        """Keep a class list, or none at all. Raises Changed, and Mistake with its line for a list that is none."""
        with self._one_at_a_time:
            self._seen(seen)
            if not text.strip():
                remove_private(self.class_file)
                self._forget_pupils()
                return self.state()
            before = read_private(self.class_file, MOST_BYTES)
            write_private(self.class_file, text.encode())
            try:
                return self.state()
            except Mistake:
                if before is None:
                    remove_private(self.class_file)
                else:
                    write_private(self.class_file, before)
                raise

    def _seen(self, seen: str) -> str:
        """The text of the order now. Raises Changed where another state was seen."""
        text = self._text()
        if self._stamp(text) != seen:
            raise Changed(
                "this paper was changed since the page was shown, in another window or in its file",
                do="Nothing was done. Here it is as it is now: look, and do it again if you still want it.",
            )
        return text

    def _write(self, text: str, steps: _Steps) -> None:
        held = {"back": [(one.what, one.text) for one in steps.back], "on": [(one.what, one.text) for one in steps.on]}
        with Staging(self.folder, replace=True) as staging:
            staging.add(ORDER, text.encode())
            staging.add(STEPS, json.dumps(held, ensure_ascii=False).encode())

    # ------------------------------------------------------------ answers that are typed

    def typed(self) -> dict[str, str]:
        """The answers that were typed: by figures that stand for a pupil, and the place. No name is among them."""
        try:
            held = json.loads(read_private(self.folder / TYPED, MOST_BYTES) or b"{}")
        except ValueError:
            return {}
        return {str(key): str(text) for key, text in held.items()} if isinstance(held, dict) else {}

    def keep_typed(self, fresh: dict[str, str], called_now: Mapping[str, str] | None = None) -> None:
        """Keep cells that were typed; those not among them stay, by the key that `called_now` has for them; empty ones are let go."""
        with self._one_at_a_time:
            typed, called = self.typed(), called_now or {}
            held = {called[key]: text for key, text in typed.items() if key in called}
            held |= {key: text for key, text in typed.items() if key not in called}
            kept = {key: text for key, text in {**held, **fresh}.items() if text.strip()}
            write_private(self.folder / TYPED, json.dumps(kept, ensure_ascii=False, sort_keys=True).encode())

    def _forget_pupils(self) -> None:
        """Let answers go whose pupils' names are gone: the figures that they are kept by say nothing any more."""
        typed = self.typed()
        if typed:
            left = {key: text for key, text in typed.items() if not key.partition("|")[2].partition("|")[0].isdigit()}
            write_private(self.folder / TYPED, json.dumps(left, ensure_ascii=False, sort_keys=True).encode())

    # ------------------------------------------------------------ what was printed

    def printed(self) -> Path | None:
        """The folder of the records that were made last; None where none were."""
        return next(reversed(self.printed_sets().values()), None)

    def printed_sets(self) -> dict[int, Path]:
        """Every folder of records that were made, by its number, from the first on."""
        numbers = sorted(int(found[1]) for one in self.folder.iterdir() if (found := _PRINTED.fullmatch(one.name)))
        return {number: self.folder / f"printed-{number:03}" for number in numbers}

    def keep_printed(self, records: dict[str, bytes]) -> Path:
        """Keep the records of papers that were made, which have no names in them, beside those of before; the folder they are in."""
        with self._one_at_a_time:
            last = self.printed()
            if last is not None and {one.name: one.read_bytes() for one in last.iterdir()} == records:
                return last
            folder = self.folder / f"printed-{int(last.name[-3:]) + 1 if last else 1:03}"
            with Staging(folder) as staging:
                for name, content in records.items():
                    staging.add(name, content)
            return folder


class Shelf:
    """The folder that papers are put together in."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._papers: dict[int, KeptPaper] = {}
        self._one_at_a_time = threading.Lock()

    def paper(self, number: int) -> KeptPaper:
        """The paper of that number. Raises Mistake where there is none."""
        folder = self.folder / _called(number)
        if not (folder / ORDER).is_file():
            raise Mistake(f"there is no paper {number} here", expected="one of those on the first page")
        with self._one_at_a_time:
            return self._papers.setdefault(number, KeptPaper(number, folder))

    def papers(self) -> Iterator[KeptPaper]:
        """Every paper, the one that was changed last first."""
        found: list[KeptPaper] = []
        for number in self._numbers():
            if (self.folder / _called(number) / ORDER).is_file():
                found.append(self.paper(number))
        return iter(sorted(found, key=KeptPaper.changed_at, reverse=True))

    def add(self, order: Order, wanted: Wanted) -> KeptPaper:
        """A new paper with this order. Raises Mistake where the folder cannot be written, or holds as many as may be."""
        with self._one_at_a_time:
            number = max(self._numbers(), default=0) + 1
            if number > MOST_PAPERS:
                raise Mistake(f"{MOST_PAPERS} papers in one folder", expected="fewer", do="Start with another: --to.")
            with Staging(self.folder / _called(number)) as staging:
                staging.add(ORDER, write_order(order, wanted, _NOTES).encode())
        return self.paper(number)

    def _numbers(self) -> Sequence[int]:
        if not self.folder.is_dir():
            return ()
        found = (_FOLDER.fullmatch(one.name) for one in self.folder.iterdir())
        return sorted(int(one[1]) for one in found if one)


def _called(number: int) -> str:
    return f"paper-{number:03}"
