"""The pages: from the start to the first view, one question changed, a paper shown anew, twenty people at once, requests refused.

Run: python tests/speed/bench_browser.py [--small]. Ends with 1 where anything but an answer comes back to the twenty.
"""

from __future__ import annotations

import os
import re
import shutil
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from collections import Counter
from collections.abc import Callable
from http.client import HTTPConnection
from pathlib import Path
from urllib.parse import urlencode

SMALL = "--small" in sys.argv
PEOPLE, ROUNDS, REFUSED = (4, 2, 50) if SMALL else (20, 10, 10_000)
TIMES = 3 if SMALL else 20


class Person:
    """Somebody with a browser: a line that is kept open, and the cookie."""

    def __init__(self, port: int, cookie: str = "") -> None:
        self.port = port
        self.cookie = cookie
        self.line = HTTPConnection("127.0.0.1", port, timeout=120)
        self.seen = ""

    def ask(self, method: str, path: str, fields: dict[str, object] | None = None) -> tuple[int, str, str, float]:
        """Status, text, where it leads to, and seconds."""
        headers = {"Cookie": self.cookie, "Origin": f"http://127.0.0.1:{self.port}",
                   "Content-Type": "application/x-www-form-urlencoded"}  # fmt: skip
        start = time.perf_counter()
        self.line.request(method, path, urlencode(fields, doseq=True) if fields else None, headers)
        answer = self.line.getresponse()
        text = answer.read().decode(errors="replace")
        seconds = time.perf_counter() - start
        if (method == "GET" and path == "/") or path.startswith("/?key"):
            self.cookie = (answer.getheader("set-cookie") or self.cookie).partition(";")[0]
        found = re.search(r'name="seen" value="([0-9a-f]+)"', text)
        self.seen = found[1] if found else self.seen
        return answer.status, text, answer.getheader("location") or "", seconds

    def new_paper(self) -> str:
        """A paper of six questions at one level; its address."""
        at = self.ask(
            "POST", "/new", {"topic": ["direct titration", "back titration", "redox"], "level": "structured"}
        )[2]
        while at.startswith("/looking/"):  # others draw at the same time
            time.sleep(0.05)
            at = self.ask("GET", at)[2] or at
        return at

    def change(self, paper: str, what: str, number: int) -> tuple[int, float]:
        """Change a question; status and seconds."""
        status, _, _, seconds = self.ask("POST", f"{paper}/change", {"seen": self.seen, "what": what, "number": number})
        return status, seconds


def started(folder: Path) -> tuple[subprocess.Popen[str], str, float]:
    """The program, its first address, and the seconds from the start until its first view had come."""
    start = time.perf_counter()
    run = subprocess.Popen(
        [sys.executable, "-m", "molewright", "browser", "--no-open", "--port", "0", "--to", str(folder)],
        stdout=subprocess.PIPE, text=True,
    )  # fmt: skip
    assert run.stdout is not None
    run.stdout.readline()
    address = run.stdout.readline().split()[1]
    port = int(re.findall(r":(\d+)/", address)[0])
    person = Person(port)
    person.ask("GET", "/" + address.partition("/?")[2].join(("?", "")))
    assert "Put a paper together" in person.ask("GET", "/")[1]
    return run, f"{port} {person.cookie}", time.perf_counter() - start


def told(what: str, seconds: list[float]) -> None:
    """The middle and the worst of some times, in milliseconds."""
    print(f"{what:52} {statistics.median(seconds) * 1000:6.0f} ms, at worst {max(seconds) * 1000:6.0f} ms")


def memory_mb(run: subprocess.Popen[str]) -> int:
    """The peak memory of the program so far."""
    path = Path(f"/proc/{run.pid}/status")
    if not path.exists():
        return 0
    return int(re.findall(r"VmHWM:\s+(\d+)", path.read_text("utf-8"))[0]) // 1024


def alone(person: Person) -> None:
    """One person, one paper: numbers changed, the whole shown anew."""
    paper = person.new_paper()
    person.ask("GET", paper)
    changed, shown = [], []
    for at in range(TIMES):
        status, seconds = person.change(paper, "numbers", 1 + at % 6)
        assert status == 303
        changed.append(seconds)
        shown.append(person.ask("GET", paper)[3])
    told("other numbers for one question, at the server", changed)
    told("the whole paper shown anew", shown)


def together(port: int, cookie: str) -> int:
    """Twenty people, each at a paper of their own; how many answers were none."""
    took: list[float] = []
    statuses: Counter[int] = Counter()

    def work(at: int) -> None:
        person = Person(port, cookie)
        paper = person.new_paper()
        for turn in range(ROUNDS):
            for path in (paper, f"{paper}/print", f"{paper}/sheet/questions/html/0"):
                status, _, _, seconds = person.ask("GET", path)
                statuses[status] += 1
                took.append(seconds)
            person.ask("GET", paper)
            status, seconds = person.change(paper, ("numbers", "scene", "less", "more")[(at + turn) % 4], 1)
            statuses[status] += 1
            took.append(seconds)

    threads = [threading.Thread(target=work, args=(at,)) for at in range(PEOPLE)]
    start = time.perf_counter()
    for one in threads:
        one.start()
    for one in threads:
        one.join()
    told(f"{PEOPLE} people at once, each request", took)
    print(f"{'requests of them all, each second':52} {len(took) / (time.perf_counter() - start):6.0f}")
    bad = sum(count for status, count in statuses.items() if status not in (200, 303, 409))
    print(f"{'answers that were none':52} {bad:6} of {len(took)}")
    return bad + (PEOPLE * ROUNDS * 4 - len(took))


def refused(port: int, run: subprocess.Popen[str], alive: Callable[[], bool]) -> None:
    """Requests of a stranger, one after another: memory does not grow, and the pages are there."""
    before = memory_mb(run)
    stranger = Person(port)
    start = time.perf_counter()
    for _ in range(REFUSED):
        assert stranger.ask("GET", "/paper/1")[0] == 403
    seconds = time.perf_counter() - start
    assert alive()
    print(f"{f'{REFUSED} requests refused':52} {seconds:6.1f} s, {memory_mb(run) - before} MB more than {before}")


def main() -> int:
    """Print the figures; 1 where somebody was not answered."""
    folder = Path(tempfile.mkdtemp())
    os.environ["PYTHONPATH"] = str(Path(__file__).resolve().parents[2] / "generator")
    runs: list[subprocess.Popen[str]] = []
    try:
        times = []
        for _ in range(1 if SMALL else 5):
            for earlier in runs:
                earlier.terminate()
                earlier.wait(20)
            run, told_by, seconds = started(folder)
            runs.append(run)
            times.append(seconds)
        told("from the start to the first view", times)
        port, cookie = int(told_by.split()[0]), told_by.split()[1]
        person = Person(port, cookie)
        alone(person)
        bad = together(port, cookie)
        refused(port, runs[-1], lambda: Person(port, cookie).ask("GET", "/")[0] == 200)
    finally:
        for run in runs:
            run.terminate()
        for run in runs:
            run.wait(20)
        shutil.rmtree(folder, ignore_errors=True)
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
