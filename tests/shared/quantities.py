"""Names of quantities as tests write them: a text comes in, with nothing around it that tells what it means; the name goes out.

The program has no such reader: it looks for a person's words among the quantities of one procedure. What reads alike is taken here
as what it is in nearly every test: "amount of HCl in portion" is that of a portion, "amount of CO3^2- in flask" that of an ion in a
flask, and "amount of CaCO3 in limestone" that in a sample; any other is told by its stage.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import TypeVar

from molewright.experiment.quantities import FLASK, PORTION, Name

T = TypeVar("T")
Fields = dict[str, str]

_STAGED = {PORTION: "portion", FLASK: "flask"}


def q(text: str, stage: str = "") -> Name:
    """The name of this text. Raises ValueError for a text that is no name's."""
    plain = text.removesuffix(", again")
    for pattern, make in _FORMS:
        found = re.fullmatch(pattern, plain)
        if found is not None:
            name = make({**found.groupdict(default=""), "asked stage": stage})
            again = (len(text) - len(plain)) // len(", again")
            name = Name(name.kind, name.subject, name.place, name.stage, source=name.source, again=again)
            assert name.text == text, f"{text} was read as {name.text}"
            return name
    raise ValueError(f"no quantity is called '{text}'")


def by_text(values: Mapping[str, T]) -> dict[Name, T]:
    """Values by name from values by text."""
    return {q(text): value for text, value in values.items()}


def _amount(found: Fields) -> Name:
    stage = found["asked stage"] or _STAGED.get(found["v"], "sample")
    return Name("amount", found["x"], found["v"], stage)


_FORMS: tuple[tuple[str, Callable[[Fields], Name]], ...] = (
    (r"mass of bottle with (?P<x>.+)", lambda f: Name("bottle mass", f["x"], "", "full")),
    (r"mass of bottle emptied of (?P<x>.+)", lambda f: Name("bottle mass", f["x"], "", "emptied")),
    (r"mass of impurities in (?P<v>.+)", lambda f: Name("impurity mass", "", f["v"])),
    (r"mass of water in a mole of (?P<x>.+)", lambda f: Name("water mass", f["x"])),
    (r"mass of (?P<x>\S+) in a mole of (?P<v>.+)", lambda f: Name("metal mass", f["x"], f["v"])),
    (r"mass of (?P<x>\S+) in each (?P<v>.+)", lambda f: Name("mass each", f["x"], f["v"])),
    (r"mass of (?P<x>\S+) for each gram of (?P<v>.+)", lambda f: Name("mass per gram", f["x"], f["v"])),
    (r"mass of (?P<v>.+) if all (?P<x>\S+)", lambda f: Name("supposed mass", f["x"], f["v"])),
    (r"mass of (?P<x>\S+) in (?P<v>.+)", lambda f: Name("mass within", f["x"], f["v"])),
    (r"mass of (?P<x>.+)", lambda f: Name("mass", f["x"])),
    (r"mass in (?P<v>\d+ cm3) of (?P<x>.+)", lambda f: Name("mass in volume", f["x"], "", f["v"])),
    (r"mass concentration of (?P<x>.+)", lambda f: Name("mass concentration", f["x"])),
    (r"percentage of impurities in (?P<v>.+)", lambda f: Name("impurity", "", f["v"])),
    (r"percentage of (?P<x>\S+) in (?P<v>.+)", lambda f: Name("percentage", f["x"], f["v"])),
    (r"number of (?P<x>.+)s", lambda f: Name("pieces", f["x"])),
    (r"molar mass of (?P<x>\S+)", lambda f: Name("molar mass", f["x"])),
    (r"water in (?P<x>\S+)", lambda f: Name("water", f["x"])),
    (r"concentration of (?P<x>.+)", lambda f: Name("concentration", f["x"])),
    (r"volume strength of (?P<x>.+)", lambda f: Name("volume strength", f["x"])),
    (r"molar volume of gas", lambda f: Name("molar volume")),
    (r"relative atomic mass of (?P<x>.+)", lambda f: Name("atomic mass", f["x"])),
    (r"reacting ratio of (?P<x>\S+) to (?P<s>\S+)", lambda f: Name("ratio", f["x"], source=f["s"])),
    (r"basicity of (?P<x>\S+)", lambda f: Name("basicity", f["x"])),
    (r"electrons lost by each (?P<x>\S+)", lambda f: Name("electrons", f["x"])),
    (r"oxidation state of (?P<x>\S+) (?P<v>before|after) the titration", lambda f: Name("oxidation state", f["x"], "", f["v"])),
    (r"made-up volume(?: of (?P<v>.+))?", lambda f: Name("volume", "", f["v"] or FLASK, "made up")),
    (r"total volume in (?P<v>.+)", lambda f: Name("volume", "", f["v"], "total")),
    (r"volume of aliquot(?: in (?P<v>.+))?", lambda f: Name("volume", "", f["v"] or PORTION, "aliquot")),
    (r"volume of (?P<x>\S+) between the titres", lambda f: Name("volume", f["x"], "", "between the titres")),
    (r"volume of (?P<x>[^ ]+(?: [^ ]+)*?)(?: in (?P<v>.+))?", lambda f: Name("volume", f["x"], f["v"] or FLASK, "added")),
    (r"titre of (?P<x>[^,]+)(?:, (?P<v>.+))?", lambda f: Name("titre", f["x"], f["v"])),
    (r"amount of electrons taken by (?P<s>\S+)", lambda f: Name("amount", "e-", "", "electrons", source=f["s"])),
    (r"amount of (?P<x>\S+) in titre(?:, (?P<v>.+))?", lambda f: Name("amount", f["x"], f["v"], "titre")),
    (r"amount of (?P<x>\S+) from 1 dm3 of (?P<s>.+)", lambda f: Name("amount", f["x"], "", "from 1 dm³", source=f["s"])),
    (r"amount of (?P<x>\S+) from (?P<s>.+) added in (?P<v>.+)", lambda f: Name("amount", f["x"], f["v"], "added", source=f["s"])),
    (r"amount of (?P<x>\S+) formed from (?P<s>\S+) in (?P<v>.+)", lambda f: Name("amount", f["x"], f["v"], "formed", source=f["s"])),
    (r"amount of (?P<x>.+) (?P<t>added|reacted|left over|total|both|formed) in (?P<v>.+)",
     lambda f: Name("amount", f["x"], f["v"], f["t"])),
    (r"amount of (?P<x>.+) together", lambda f: Name("amount", f["x"], "", "together")),
    (r"amount of (?P<x>\S+) in (?P<v>.+)", _amount),
    (r"excess of (?P<x>\S+)", lambda f: Name("excess", f["x"])),
)  # fmt: skip
