"""Operations as a person writes them come in ("weigh", "add excess", "titrate"); a Procedure and its numbers go out.

The same grammar serves the archetypes of the banks, where a number may be a choice, and a described experiment to be solved,
where it is one quantity. The opening comment of banks/archetypes tells the grammar with an example of each operation.
"""

from __future__ import annotations

from collections.abc import Callable

from molewright.bank.readers.described import Described
from molewright.bank.readers.metering import read_ph, tell_product
from molewright.bank.readers.putting_in import (
    add,
    add_excess,
    dilute,
    dissolve,
    make_up,
    measure,
    take_aliquot,
    tell_part,
    tell_strength,
    warm,
    weigh,
)
from molewright.bank.readers.reacting import boil_off, drive_over, filter_off, react, settle, titrate
from molewright.bank.readers.read_so_far import ReadSoFar
from molewright.errors import Mistake, nearest, shortened
from molewright.experiment.metering import ReadPH
from molewright.experiment.procedure import (
    React,
    Strength,
)
from molewright.experiment.saturating import TellProduct
from molewright.reading.fields import Fields
from molewright.reading.yaml_text import Branch, Keys, Listing, Scalar

MOST_OPERATIONS = 100

READERS: dict[str, Callable[[ReadSoFar, Fields], None]] = {
    "weigh": weigh,
    "dissolve": dissolve,
    "measure": measure,
    "add excess": add_excess,
    "add": add,
    "warm": warm,
    "react": react,
    "come to equilibrium": settle,
    "boil off": boil_off,
    "filter off": filter_off,
    "drive over": drive_over,
    "make up": make_up,
    "take aliquot": take_aliquot,
    "dilute": dilute,
    "titrate": titrate,
    "tell strength": tell_strength,
    "tell part": tell_part,
    "read pH": read_ph,
    "tell solubility product": tell_product,
}
WORDS = tuple(READERS)
_SHORT = {
    "add": "what",
    "warm": "to",
    "make up": "volume",
    "take aliquot": "volume",
    "dissolve": "in",
    "react": "reaction",
    "boil off": "species",
    "filter off": "species",
    "read pH": "vessel",
    "tell solubility product": "of",
}  # the key that is meant where an operation is written with one word


def read_operations(branch: Branch, so_far: ReadSoFar) -> Described:
    """Read a whole list. Raises Mistake at the operation it fails on."""
    if not isinstance(branch, Listing):
        raise Mistake("the procedure is not a list", expected="lines of '- weigh: {...}'", where=branch.where)
    if len(branch.members) > MOST_OPERATIONS:
        raise Mistake(f"{len(branch.members)} operations", expected=f"at most {MOST_OPERATIONS}", where=branch.where)
    made = so_far.made
    for so_far.operation, member in enumerate(branch.members):
        try:
            _read_operation(member, so_far)
        except Mistake as mistake:
            raise mistake.at(member.where.under("procedure")) from None
        made.places += [member.where] * (len(made.operations) - len(made.places))
    for vessel, where in so_far.filled.items():
        if vessel not in so_far.inside:
            raise so_far.no_vessel(vessel, where)
    told = any(
        isinstance(operation, Strength | ReadPH | TellProduct) or (isinstance(operation, React) and operation.told)
        for operation in made.operations
    )
    if not made.procedure.titrations and not told:
        raise Mistake("the procedure has no titration", expected="at least one '- titrate: {...}'", where=branch.where)
    return made


def _read_operation(member: Branch, so_far: ReadSoFar) -> None:
    if isinstance(member, Scalar):
        word, fields = " ".join(member.text.split()), Fields(Keys({}, {}, member.where), member.text)
    elif isinstance(member, Keys) and len(member.members) == 1:
        word, held = next(iter(member.members.items()))
        _require_operation(word)
        if not isinstance(held, Keys) and word in _SHORT:
            held = Keys({_SHORT[word]: held}, {_SHORT[word]: held.where}, held.where)
        fields = Fields(held, word)
    else:
        raise Mistake("an operation is one word with its keys", expected="'- weigh: {sample: ..., mass: ...}'")
    _require_operation(word)
    READERS[word](so_far, fields)
    fields.finish()


def _require_operation(word: str) -> None:
    if word not in READERS:
        raise Mistake(
            f"no operation {shortened(word)}", expected=f"one of: {', '.join(WORDS)}", near=nearest(word, WORDS)
        )
