"""Documents come in; what LibreOffice makes of them goes out: what tests know Word and XLSX by, as those without Office see them."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import tempfile
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from xml.etree import ElementTree

_SECONDS = 180
_SUP = dict(zip("0123456789+−-", "⁰¹²³⁴⁵⁶⁷⁸⁹⁺⁻⁻", strict=True))
_SUB = dict(zip("0123456789+−-", "₀₁₂₃₄₅₆₇₈₉₊₋₋", strict=True))
_POSITION = re.compile(r"^(?P<low>sub|-)|^(?P<high>super|[1-9])")

missing = shutil.which("soffice") is None and not os.environ.get("CI")
missing_sheets = shutil.which("localc") is None and not os.environ.get("CI")


def converted(
    documents: Mapping[str, bytes], kind: str, ending: str = "docx", options: Sequence[str] = ()
) -> dict[str, bytes]:
    """Documents by name (Word ones, or of another `ending`) as files of another kind, by one run of LibreOffice with a fresh profile.

    What stands behind a colon in `kind` says how LibreOffice shall write it; `options` how it shall read.
    """
    with tempfile.TemporaryDirectory(prefix="molewright-") as folder:
        place = Path(folder)
        for name, content in documents.items():
            (place / f"{name}.{ending}").write_bytes(content)
        command = [
            "soffice",
            f"-env:UserInstallation={(place / 'profile').as_uri()}",
            "--headless",
            "--convert-to",
            kind,
        ]
        command += ["--outdir", str(place / "made"), *options, *(str(place / f"{name}.{ending}") for name in documents)]
        subprocess.run(command, check=True, timeout=_SECONDS, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        return {name: (place / "made" / f"{name}.{kind.partition(':')[0]}").read_bytes() for name in documents}


@dataclass
class ReadDocument:
    """What stands in a flat text document: its words, its equations as lines, and what its pictures are said to show."""

    words: str = ""
    equations: list[str] = field(default_factory=list)
    widths: list[float] = field(default_factory=list)  # of the equations, in points
    unread: list[str] = field(default_factory=list)  # equations with a side that LibreOffice misses
    pictures: list[str] = field(default_factory=list)

    @property
    def whole(self) -> str:
        """Words and equations, every space an ordinary one."""
        return " ".join(" ".join((self.words, *self.equations)).split())


def read(flat: bytes) -> ReadDocument:
    """A flat text document (fodt), read by the names of OpenDocument and MathML alone."""
    root = ElementTree.fromstring(flat)
    raised = {
        _attribute(style, "name"): _attribute(inside, "text-position")
        for style in root.iter()
        if _tag(style) == "style"
        for inside in style
        if _tag(inside) == "text-properties"
    }
    made = ReadDocument()
    body = next(one for one in root.iter() if _tag(one) == "body")
    made.words = " ".join("".join(_paragraph(one, raised, made)) for one in body.iter() if _tag(one) in ("p", "h"))
    return made


def _tag(element: ElementTree.Element) -> str:
    return element.tag.rpartition("}")[2]


def _attribute(element: ElementTree.Element, name: str) -> str:
    return next((value for key, value in element.attrib.items() if key.rpartition("}")[2] == name), "")


def _paragraph(
    element: ElementTree.Element, raised: Mapping[str, str], made: ReadDocument, level: str = ""
) -> Iterator[str]:
    yield _levelled(element.text or "", level)
    for child in element:
        tag = _tag(child)
        if tag in ("s", "tab", "line-break"):
            yield " " * int(_attribute(child, "c") or 1)
        elif tag == "frame":
            _frame(child, made)
        elif tag not in ("p", "h"):
            yield from _paragraph(child, raised, made, raised.get(_attribute(child, "style-name"), "") or level)
        yield _levelled(child.tail or "", level)


def _levelled(text: str, level: str) -> str:
    """Raised and lowered figures as Unicode has them; what LibreOffice only makes smaller stays as it is."""
    found = _POSITION.match(level)
    table = {} if not found or level.startswith("0") else _SUP if found["high"] else _SUB
    return "".join(table.get(letter, letter) for letter in text)


def _frame(frame: ElementTree.Element, made: ReadDocument) -> None:
    equation = next((one for one in frame.iter() if _tag(one) == "math"), None)
    if equation is None:
        told = [one.text or "" for one in frame.iter() if _tag(one) in ("desc", "title")]
        made.pictures.append(" ".join(filter(None, told)))
        return
    line = "".join(_mathml(equation))
    if "¿" in line or any(_tag(one) == "merror" for one in equation.iter()):
        made.unread.append(line)
    made.equations.append(line)
    made.widths.append(float(_attribute(frame, "width").removesuffix("in")) * 72)


def _mathml(element: ElementTree.Element) -> Iterator[str]:
    tag, kids = _tag(element), [one for one in element if _tag(one) != "annotation"]
    if tag in ("mn", "mi", "mo", "mtext"):
        yield element.text or ""
    elif tag in ("msup", "msub", "msubsup"):
        yield from _mathml(kids[0])
        for kid, table in zip(kids[1:], {"msup": [_SUP], "msub": [_SUB], "msubsup": [_SUB, _SUP]}[tag], strict=True):
            yield "".join(table.get(letter, letter) for letter in "".join(_mathml(kid)) if not letter.isspace())
    elif tag == "mfrac":
        yield from ("(", *_mathml(kids[0]), ")/(", *_mathml(kids[1]), ")")
    else:
        for kid in kids:
            yield from _mathml(kid)
