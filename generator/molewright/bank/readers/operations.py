"""Operations as a person writes them come in ("weigh", "add excess", "titrate"); a Procedure and its numbers go out.

The same grammar serves the archetypes of the banks, where a number may be a choice, and a described experiment to be solved,
where it is one quantity. The opening comment of banks/archetypes tells the grammar with an example of each operation.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from molewright.bank.readers.described import Described
from molewright.bank.readers.metering import read_ph, tell_product
from molewright.bank.readers.operation_examples import EXAMPLES, NEEDED
from molewright.bank.readers.operation_lines import parted
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
from molewright.bank.readers.reacting import (
    OF_THE_TITRATION,
    boil_off,
    collect_gas,
    drive_over,
    filter_off,
    lead_in,
    react,
    settle,
    titrate,
)
from molewright.bank.readers.read_so_far import ReadSoFar
from molewright.errors import Mistake, nearest, shortened
from molewright.experiment.gas_volume import GasVolume
from molewright.experiment.metering import ReadPH
from molewright.experiment.procedure import Measure, Operation, React, Strength
from molewright.experiment.saturating import TellProduct
from molewright.reading.fields import Fields, gathered
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
    "collect gas": collect_gas,
    "lead in": lead_in,
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
_AFTER_REACTING = ("make up", "take aliquot", "titrate")  # what is done to a reagent that has reacted
_SHORT = {
    "add": "what",
    "warm": "to",
    "make up": "volume",
    "take aliquot": "volume",
    "dissolve": "in",
    "react": "reaction",
    "boil off": "species",
    "filter off": "species",
    "collect gas": "species",
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
    gathered(_require_keys, branch.members, lambda member: member.where.under("procedure"))
    for so_far.operation, member in enumerate(branch.members):
        try:
            if so_far.teachers:
                _react_unsaid(so_far, member, branch.members[so_far.operation :])
            _read_operation(member, so_far)
        except Mistake as mistake:
            raise mistake.at(member.where.under("procedure")) from None
        made.places += [member.where] * (len(made.operations) - len(made.places))
    for vessel, where in so_far.filled.items():
        if vessel not in so_far.inside:
            raise so_far.no_vessel(vessel, where)
    told = any(
        isinstance(operation, Strength | ReadPH | TellProduct)
        or (isinstance(operation, React) and operation.told)
        or (isinstance(operation, GasVolume) and not operation.led_in)
        for operation in made.operations
    )
    if not made.procedure.titrations and not told:
        raise Mistake(
            "the procedure has no titration",
            expected="at least one '- titrate: {...}', or '- collect gas: {...}'",
            where=branch.where,
        )
    return made


def _react_unsaid(so_far: ReadSoFar, member: Branch, to_come: Sequence[Branch]) -> None:
    """Let a reagent in excess react by the equation of the banks, where the next thing is done to it and no line says so."""
    operations = so_far.made.operations
    pending = [
        act
        for at, act in enumerate(operations)
        if isinstance(act, Measure) and act.excess and not _reacts(operations[at:], act.vessel)
    ]
    if not pending or parted(member)[0] not in _AFTER_REACTING or any(_lets_react(line) for line in to_come):
        return
    act = pending[-1]
    keys: dict[str, Branch] = {"excess": Scalar(act.solution.species, member.where)}
    keys["vessel"] = Scalar(act.vessel, member.where)
    here = so_far.here
    try:
        react(so_far, Fields(Keys(keys, {}, member.where), "react"))
    except Mistake:
        return  # told as what is missing
    so_far.here = here
    reactions = " and ".join(map(str, operations[-1].reactions)) if isinstance(operations[-1], React) else ""
    so_far.made.notes.append(f"no line says what {act.solution.solute} reacts with; taken is {reactions}")


def _reacts(operations: Sequence[Operation], vessel: str) -> bool:
    return any(isinstance(one, React) and one.vessel == vessel for one in operations)


def _lets_react(line: Branch) -> bool:
    """Whether a line says what reacts, and not only which equation a titration has."""
    word, held = parted(line)
    return word in ("react", "come to equilibrium") and not (
        isinstance(held, Keys) and OF_THE_TITRATION in held.members
    )


def _require_keys(member: Branch) -> None:
    """Raise Mistake for the keys that an operation lacks, all of them at once, with a line that has them."""
    word, held = parted(member)
    if held is None or word not in EXAMPLES or (word in _SHORT and not isinstance(held, Keys)):
        return
    example = f"As in '- {word}: {EXAMPLES[word]}'."
    if not isinstance(held, Keys):
        raise Mistake("no keys here", expected="keys with what they hold", where=held.where.under(word), do=example)
    missing = [key for key in NEEDED.get(word, ()) if key not in held.members]
    if missing:
        listed = " and ".join(f"'{key}'" for key in missing)
        spare = [key for key in held.members if key not in NEEDED[word]]
        raise Mistake(
            f"the key {listed} is missing" if len(missing) == 1 else f"the keys {listed} are missing",
            expected=", ".join(f"'{key}: ...'" for key in missing),
            near=[near for key in missing for near in nearest(key, spare)],
            where=held.where.under(word),
            do=example,
        )


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
