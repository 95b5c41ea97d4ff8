"""LaTeX comes in; the PDF that pdflatex or lualatex makes of it goes out: how tests know the LaTeX form. TeX reaches nothing outside.

TeX works in a fresh folder that is removed afterwards: no shell, no reading or writing outside it, a limit of time.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import tempfile
from pathlib import Path

from molewright.errors import Mistake, shortened

_PACKAGES = "texlive-latex-extra texlive-science texlive-fonts-recommended"
_SECONDS_A_RUN = 20
_MOST_RUNS = 4
_LEAST_OVERFULL_PT = 2.0

_RERUN = re.compile(r"Rerun to get|Rerun LaTeX|rerunfilecheck Warning: File .* has changed")
_OVERFULL = re.compile(r"Overfull \\[hv]box \((?P<points>[0-9.]+)pt too (?:wide|high)\)")
_MATTERS = re.compile(
    r"""LaTeX[ ]Warning:[ ](?:Reference|Citation|Label|There[ ]were|Hyper[ ]reference)   # references that lead nowhere
      | Rerun[ ]to[ ]get | Rerun[ ]LaTeX
      | Missing[ ]character                                                       # a glyph that was dropped
      | LaTeX[ ]Font[ ]Warning:[ ](?:Font[ ]shape|Some[ ]font[ ]shapes)           # another type than was asked for
      | Token[ ]not[ ]allowed[ ]in[ ]a[ ]PDF[ ]string
      | pdfTeX[ ]warning
      | ^!                                                                        # an error that the run survived
    """,
    re.VERBOSE,
)


def compile_pdf(tex: bytes, engine: str = "pdflatex") -> bytes:
    """The PDF of a LaTeX document. Raises Mistake where the engine is missing, fails or takes too long."""
    return compile_with_log(tex, engine)[0]


def compile_with_log(tex: bytes, engine: str = "pdflatex") -> tuple[bytes, str]:
    """The PDF, and the log of the last run for problems()."""
    program = shutil.which(engine)
    if program is None:
        raise Mistake(
            f"{engine} is not on this machine",
            expected="a TeX installation",
            do=f"On Debian or Ubuntu install {_PACKAGES}, or print the PDF without TeX.",
        )
    with tempfile.TemporaryDirectory(prefix="molewright-") as folder:
        place = Path(folder)
        (place / "sheet.tex").write_bytes(tex)
        log = ""
        for run in range(1, _MOST_RUNS + 1):
            log = _one_run(program, place)
            if run >= 2 and not _RERUN.search(log):
                break
        return (place / "sheet.pdf").read_bytes(), log


def _one_run(program: str, place: Path) -> str:
    environment = {
        **os.environ,
        "openin_any": "p",
        "openout_any": "p",
        "shell_escape": "f",
        "SOURCE_DATE_EPOCH": "0",
        "FORCE_SOURCE_DATE": "1",
        "max_print_line": "1000",  # messages in one piece
    }
    command = [program, "-no-shell-escape", "-interaction=nonstopmode", "-halt-on-error", "sheet.tex"]
    try:
        ended = subprocess.run(
            command,
            cwd=place,
            env=environment,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            timeout=_SECONDS_A_RUN,
            check=False,
        )
    except subprocess.TimeoutExpired as late:
        raise Mistake(
            f"{Path(program).name} took longer than {_SECONDS_A_RUN} s", do="Print fewer questions in one document."
        ) from late
    written = place / "sheet.log"
    log = written.read_text(encoding="utf-8", errors="replace") if written.exists() else ""
    if ended.returncode != 0 or not (place / "sheet.pdf").exists():
        raise Mistake(f"{Path(program).name} stopped: {_first_error(log)}", do=f"See that {_PACKAGES} are installed.")
    return log


def _first_error(log: str) -> str:
    lines = log.splitlines()
    for place, line in enumerate(lines):
        if line.startswith("!"):
            spot = next((later for later in lines[place + 1 : place + 12] if later.startswith("l.")), "")
            return shortened(f"{line.removeprefix('!').strip()} {spot}".strip(), 200)
    return "no reason is in its log"


def problems(log: str) -> list[str]:
    """The lines of a log that matter: lost references and glyphs, replaced type, boxes too large by over 2 pt."""
    found: list[str] = []
    for line in log.splitlines():
        overfull = _OVERFULL.search(line)
        if (overfull and float(overfull["points"]) > _LEAST_OVERFULL_PT) or _MATTERS.search(line):
            found.append(line.strip())
    return found
