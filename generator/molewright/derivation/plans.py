"""Plans kept between runs: a system and a question come in, a plan goes out, from memory, from the file, or newly made.

Two procedures of the same shape share a plan: quantities are numbered in order of appearance and the key is a digest of the
relations in those numbers. The file is a convenience: unreadable or stale, it is made anew; unwritable, it is done without. So are
the plans of the built-in banks that an installed package carries. A plan that was read, wherever, must be the one that would be made:
its steps are planned again where that needs no sympy, and steps and expression must agree on numbers of their own.
"""

from __future__ import annotations

import hashlib
import json
import os
import tempfile
from collections.abc import Iterable
from fractions import Fraction
from pathlib import Path
from typing import Any

from molewright.bank.algebra import MINUS_LOG, ROOT, TEN_TO_MINUS, Tree
from molewright.derivation.chains import Step
from molewright.derivation.derive import Plan, derive, plan, steps_alone
from molewright.derivation.evaluated import evaluate
from molewright.experiment.quantities import Name
from molewright.experiment.relations.variables import System
from molewright.machine import places
from molewright.machine.bounded_reading import read_at_most

_FORM = 1  # raised when the shape of a kept plan changes
_MOST_BYTES = 20_000_000
_DEEPEST = 40  # brackets within brackets
_MOST_POWER = 20  # of powers within powers, multiplied
_TRIED = (101, 211)  # where the numbers begin on which steps and expression must agree
_MOST = 5000  # a file larger than this many plans is started anew


def shape(system: System, given: Iterable[Name], asked: Name) -> str:
    """A digest of the relations, the givens and the asked quantity that leaves the names out."""
    number = {name: index for index, name in enumerate(system.variables)}
    relations = [
        (r.form, str(r.factor), [(number[name], str(power)) for name, power in r.quantities]) for r in system.relations
    ]
    known = sorted(number[name] for name in {*given, *system.fixed})
    text = json.dumps([_FORM, relations, known, number[asked]])
    return hashlib.sha256(text.encode()).hexdigest()[:24]


class Plans:
    """Plans by shape. `fingerprint` names the banks; plans of other banks are left alone in their own file.

    `carried` is a file of plans, of whatever banks, that is looked into where a plan is not among those that are kept.
    """

    def __init__(self, fingerprint: str, folder: Path | None, carried: Path | None = None) -> None:
        self._file = folder / f"plans-{fingerprint}.json" if folder else None
        self._carried_file = carried
        self._kept: dict[str, Any] | None = None
        self._carried: dict[str, Any] | None = None
        self._sound: set[str] = set()  # what was read and looked through
        self._new = False
        self._was_read = False

    @classmethod
    def of_user(cls, fingerprint: str) -> Plans:
        """The plans that whoever runs this keeps between runs."""
        return cls(fingerprint, places.plans(), places.carried_plans())

    def find(self, system: System, given: Iterable[Name], asked: Name) -> Plan:
        """The plan for this question, planned now if it never was."""
        known = tuple(given)
        key = shape(system, known, asked)
        kept = self._read()
        names = tuple(system.variables)
        if key in self._sound:
            return _named(kept[key], names, asked)
        for read in (self._read, self._read_carried):
            found = read().get(key)
            proved = None if found is None else _proved(found, system, known, asked)
            if proved is not None:
                kept[key] = found
                self._sound.add(key)
                return proved
        made = plan(system, known, asked)
        kept[key] = _numbered(made, {name: index for index, name in enumerate(names)})
        self._new = True
        self._sound.add(key)
        return made

    def _read(self) -> dict[str, Any]:
        if self._kept is None:
            self._kept = _plans_in(self._file)
            self._was_read |= bool(self._kept)
        return self._kept

    def _read_carried(self) -> dict[str, Any]:
        if self._carried is None:
            self._carried = _plans_in(self._carried_file)
            self._was_read |= bool(self._carried)
        return self._carried

    def content(self) -> bytes:
        """All plans as a file of them."""
        return json.dumps(self._read(), sort_keys=True, separators=(",", ":")).encode()

    def keep(self) -> None:
        """Write new plans beside the old, whole or not at all; a folder that cannot be written is no loss."""
        if not self._new or self._file is None or self._kept is None:
            return
        try:
            self._file.parent.mkdir(parents=True, exist_ok=True)
            handle, name = tempfile.mkstemp(dir=self._file.parent, suffix=".tmp")
        except OSError:
            return
        beside = Path(name)
        try:
            with os.fdopen(handle, "w", encoding="utf-8") as stream:
                json.dump(self._kept, stream)
            beside.replace(self._file)
            self._new = False
        except (OSError, ValueError):
            return
        finally:
            beside.unlink(missing_ok=True)

    def start_anew(self) -> bool:
        """Forget what the files say, for it has proved wrong; whether there was anything to forget."""
        was_read = self._was_read
        self._kept, self._carried, self._sound, self._was_read, self._new = {}, {}, set(), False, True
        return was_read


def _plans_in(file: Path | None) -> dict[str, Any]:
    """The plans in a file, as they stand there; none where it is absent or damaged."""
    if file is not None:
        try:
            read = json.loads(read_at_most(file, _MOST_BYTES) or b"")
            if isinstance(read, dict) and len(read) < _MOST:
                return read
        except (OSError, ValueError, RecursionError):
            pass
    return {}


def _proved(found: Any, system: System, known: tuple[Name, ...], asked: Name) -> Plan | None:
    """The plan that was read, if it is one that can be trusted."""
    try:
        require_sound(found, system, known, asked)
        read = _named(found, tuple(system.variables), asked)
        _require_right(read, system, known)
    except (KeyError, IndexError, TypeError, ValueError, RecursionError, ArithmeticError):
        return None
    return read


def _numbered(made: Plan, number: dict[Name, int]) -> list[Any]:
    def pack(expression: Tree) -> list[Any]:
        if expression[0] == "word":
            return ["quantity", number[expression[1]]]
        if expression[0] == "number":
            return ["number", expression[1].numerator, expression[1].denominator]
        return [pack(part) if isinstance(part, tuple) else part for part in expression]

    steps = [[number[s.target], s.relation, None if s.together is None else pack(s.together)] for s in made.steps]
    return [steps, pack(made.expression)]


def require_sound(kept: Any, system: System, given: Iterable[Name], asked: Name) -> None:
    """Refuse, with a ValueError or its like, a kept plan that cannot be run: whoever can write the file can write anything."""
    number = {name: index for index, name in enumerate(system.variables)}
    known = {number[name] for name in (*given, *system.fixed)}
    steps, expression = kept
    _require_expression(expression, frozenset(known))
    for target, relation, together in steps:
        if together is not None:
            _require_expression(together, frozenset(known))
        else:
            if type(relation) is not int or relation < 0:
                raise ValueError("no relation")
            names = {number[name] for name in system.relations[relation].names}
            if target not in names or not names - {target} <= known:
                raise ValueError("a step that rests on what is not known")
        if target in known or target not in number.values():
            raise ValueError("a step that finds nothing new")
        known.add(target)
    if not steps or steps[-1][0] != number[asked]:
        raise ValueError("steps that lead elsewhere")


def _require_right(read: Plan, system: System, given: Iterable[Name]) -> None:
    """Refuse a kept plan with other steps than would be made, or with an expression that is not its steps."""
    alone = steps_alone(system, given, read.asked)
    if alone is not None and alone != read.steps:
        raise ValueError("other steps than would be planned")
    known = (*system.fixed, *given)
    for first in _TRIED:  # an expression that agrees on numbers without pattern is the same expression
        values = {name: Fraction(first + at * at, 7 + at) for at, name in enumerate(known)}
        if derive(system, read, values).answer != evaluate(read.expression, values):
            raise ValueError("an expression that is not its steps")


def _require_expression(packed: Any, known: frozenset[int], depth: int = 0, power: int = 1) -> None:
    """Refuse an expression that is none, goes too deep, or raises to too high a power on the way, `power` being that so far."""
    head, *parts = packed
    if depth > _DEEPEST or not parts:
        raise ValueError("an expression without end")
    if head == "quantity":
        if parts[0] not in known:
            raise ValueError("a quantity that is not known")
    elif head == "number":
        if len(parts) != 2 or any(type(part) is not int for part in parts) or parts[1] < 1:
            raise ValueError("no number")
    elif head == "^":
        base, own = parts
        if type(own) is not int or not own or abs(own * power) > _MOST_POWER:
            raise ValueError("no power")
        _require_expression(base, known, depth + 1, abs(own * power))
    elif head in (ROOT, MINUS_LOG, TEN_TO_MINUS):
        inside, *degree = parts
        if degree not in ([[2], [3]] if head == ROOT else [[]]):
            raise ValueError("no root and no logarithm")
        _require_expression(inside, known, depth + 1, power)
    elif head in ("+", "*"):
        for part in parts:
            _require_expression(part, known, depth + 1, power)
    else:
        raise ValueError("no expression")


def _named(kept: list[Any], names: tuple[Name, ...], asked: Name) -> Plan:
    def unpack(packed: list[Any]) -> Tree:
        if packed[0] == "quantity":
            return ("word", names[packed[1]])
        if packed[0] == "number":
            return ("number", Fraction(packed[1], packed[2]))
        return tuple(unpack(part) if isinstance(part, list) else part for part in packed)

    steps = tuple(
        Step(names[target], relation, None if together is None else unpack(together))
        for target, relation, together in kept[0]
    )
    return Plan(asked, steps, unpack(kept[1]))
