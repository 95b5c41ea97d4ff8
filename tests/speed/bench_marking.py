"""How long the answers of 300 pupils to ten questions take to mark, and the follow-up papers of a class of 30: figures, not a test.

Run: python tests/speed/bench_marking.py [--small]
"""

from __future__ import annotations

import csv
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from molewright.bank.readers.whole_bank import read_bank
from molewright.derivation.plans import Plans
from molewright.draw.stream import Stream
from molewright.marking.files import mark_answers, write_marks
from molewright.marking.practice import practices_for
from molewright.marking.practice_files import write_practice
from molewright.order.order import Order, Wanted
from molewright.papers.making import PaperMaker
from molewright.papers.record.form import SUFFIX
from molewright.papers.record.writer import RecordLines, heading, record

ANSWERS, CLASS, QUESTIONS = (40, 3, 2) if "--small" in sys.argv else (13_500, 30, 10)  # 300 pupils


def rows_of(held: dict, pupil: str, stream: Stream) -> list[tuple[str, ...]]:
    """Every part of every question: right until somewhere a slip begins, then the slip's final answer."""
    rows = []
    for question in held["questions"]:
        if not question["points"]:
            continue
        slip = stream.pick(question["slips"])
        wrong = stream.chance(60)
        for point in question["points"][:-1]:
            rows.append(
                (
                    held["code"],
                    pupil,
                    question["question"],
                    f"point {point['mark point'] + question.get('marks before', 0)}",
                    point["answers"][-1]["answer"],
                )
            )
        rows.append((held["code"], pupil, question["question"], "", slip["gives"] if wrong else question["answer"]))
    return rows


WHOLE = """
import resource, sys
from molewright.cli import main
assert main(sys.argv[1:]) == 0
used = resource.getrusage(resource.RUSAGE_SELF)
most = next(line for line in open("/proc/self/status") if line.startswith("VmHWM"))
print(f"the same by the command: {used.ru_utime + used.ru_stime:.2f} s of processor time, {int(most.split()[1]) // 1024} MB")
"""


def whole_process(answers: Path, folder: Path) -> str:
    """Processor time and the most memory of `molewright mark` over these answers: tables, report and strips with it. On Linux."""
    command = ["mark", str(answers), "--record", str(folder), "--to", str(folder / "whole")]
    made = subprocess.run([sys.executable, "-c", WHOLE, *command], check=True, capture_output=True, text=True)
    return made.stdout.splitlines()[-1]


def main() -> None:
    """Print the figures."""
    bank = read_bank()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        plans = Plans(bank.fingerprint, folder)
        maker = PaperMaker(bank, Order(seed=31, count=QUESTIONS), plans)
        versions = [f"{number:02}" for number in range(1, CLASS + 1)]
        records = [record(maker.paper(Wanted(), version)) for version in versions]
        lines = RecordLines(bank, heading(maker))
        (folder / f"x{SUFFIX}").write_bytes(b"".join(line for one in records for line in lines.of(one)))
        stream = Stream("bench")
        rows: list[tuple[str, ...]] = []
        pupil = 0
        while len(rows) < ANSWERS:
            rows += rows_of(records[pupil % CLASS], f"pupil {pupil}", stream)
            pupil += 1
        answers = folder / "answers.csv"
        with answers.open("w", newline="", encoding="utf-8") as file:
            csv.writer(file).writerows([("paper code", "pupil", "question", "part", "answer"), *rows[:ANSWERS]])
        began = time.perf_counter()
        marked, _ = mark_answers(answers, bank, plans)
        print(f"{ANSWERS} answers of {len(marked.pupils)} pupils marked: {time.perf_counter() - began:.2f} s")
        began = time.perf_counter()
        write_marks([marked], folder / "marks")
        print(f"tables, workbook, class report and strips as PDF: {time.perf_counter() - began:.2f} s")
        print(whole_process(answers, folder))
        with answers.open("w", newline="", encoding="utf-8") as file:
            few = [row for row in rows if int(row[1].split()[1]) < CLASS]
            csv.writer(file).writerows([("paper code", "pupil", "question", "part", "answer"), *few])
        marked, _ = mark_answers(answers, bank, plans)
        began = time.perf_counter()
        write_practice(practices_for([marked], bank, plans), folder / "practice")
        print(f"practice for {CLASS} pupils, paper and mark scheme as PDF: {time.perf_counter() - began:.2f} s")


if __name__ == "__main__":
    main()
