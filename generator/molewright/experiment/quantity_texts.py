"""Names of one procedure come in; texts go out of which no two are alike, or the quantity that a person's words mean."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from molewright.chem.units import Unit, parse_unit
from molewright.errors import Mistake, nearest, shortened
from molewright.experiment.quantities import SLOTS, Name

SEVERAL = "could be"
"""What a message says of words that could mean several quantities."""
Numbers = tuple[tuple[str, str], ...]
"""Quantities by their texts, each with its number and unit as it is written: ("mass of limestone", "1.264 g")."""


def texts_of(names: Iterable[Name]) -> dict[Name, str]:
    """Every name with a text that no other of them has; two that read alike are told apart by where they stand."""
    alike: dict[str, list[Name]] = {}
    every = tuple(dict.fromkeys(names))
    for name in every:
        alike.setdefault(name.text, []).append(name)
    return {name: name.text if len(alike[name.text]) == 1 else _apart(name, alike[name.text]) for name in every}


def without_unit(asked: str) -> tuple[str, Unit | None]:
    """What is asked for, and the unit after it; None where none stands there: "mass concentration of CaCO3 in ppm"."""
    words, _, last = asked.rpartition(" in ")
    try:
        return (words, parse_unit(last)) if words else (asked, None)
    except Mistake:  # a vessel or a solution: "pH in portion"
        return asked, None


def _apart(name: Name, alike: list[Name]) -> str:
    """The text with what tells a name from those that read alike: the stage, if that is enough, else all that differs."""
    at = SLOTS.index("stage")
    if len({one.fields[at] for one in alike}) == len(alike) and all(one.stage for one in alike):
        return f"{name.text} ({name.stage})"
    differing = [at for at in range(len(SLOTS)) if len({one.fields[at] for one in alike}) > 1]
    told = (f"{SLOTS[at]}: {name.fields[at] or 'none'}" for at in differing)
    return f"{name.text} ({', '.join(told)})"


def by_text(names: Iterable[Name]) -> dict[str, Name]:
    """The names by the texts that `texts_of` writes for them."""
    return {text: name for name, text in texts_of(names).items()}


def find_name(asked: str, names: Iterable[Name]) -> Name:
    """The quantity meant by a person's words: the one that is called so, or the only one whose name starts with them.

    Raises Mistake where there is none, or where the words could mean several: it lists them, told apart.
    """
    told = texts_of(names)
    wanted = " ".join(asked.split())
    meant = _meant(wanted, told)
    if len(meant) == 1:
        return meant[0]
    if meant:
        raise Mistake(
            f"{shortened(wanted, 120)} {SEVERAL} {len(meant)} quantities",
            expected=f"one of: {', '.join(told[name] for name in meant)}",
        )
    raise Mistake(
        f"no quantity {shortened(wanted, 120)} in this procedure",
        expected="a quantity of the procedure",
        near=nearest(wanted, tuple(told.values())),
        do=f"Known here: {', '.join(told.values())}.",
    )


def _meant(wanted: str, told: Mapping[Name, str]) -> list[Name]:
    """The names that words may mean: those that are called so, else those that are but for capitals, else those that begin so."""
    folded = wanted.casefold()
    called = [name for name, text in told.items() if wanted in (text, name.text)]
    alike = called or [name for name, text in told.items() if folded in (text.casefold(), name.text.casefold())]
    return alike or [name for name, text in told.items() if text.casefold().startswith(folded)]
