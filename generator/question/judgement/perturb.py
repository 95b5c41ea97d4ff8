"""A procedure, its true values and a fault's changes come in; the titres that would be read go out, from the bench itself.

The experiment is performed again on what is really there; nothing is derived, and no direction is known beforehand. What is wrong
with a bottle or with the sample is so in every titration of the procedure; what goes wrong at a reading does so in the last one.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

from generator.bank.definitions import LaboratoryFault
from generator.question import procedure as names
from generator.question.bench import perform
from generator.question.procedure import Aliquot, Dissolve, MakeUp, Measure, Operation, Procedure, Solution, Weigh

_GAS = Solution("dissolved carbon dioxide", "CO2", "CO2")
_ROUGH_OF = 3  # titres in a mean that the rough one is included in

Values = dict[str, Fraction]


def read_titres(procedure: Procedure, values: Mapping[str, Fraction], fault: LaboratoryFault) -> dict[str, Fraction]:
    """Every mean titre as it would be read with this fault, by name, in cm³. Raises BenchFault where that cannot be done."""
    there = dict(values)
    done = procedure
    for what, number in fault.changes:
        if what in _FACTORS:
            _FACTORS[what](procedure, there, Fraction(number))
        elif what in ("water added", "carbon dioxide added"):
            done = _added(done, there, what, number)
    titres = perform(done, there).titres
    last = names.titre(procedure.titrations[-1])
    for what, number in fault.changes:
        titres[last] = _as_read(titres[last], what, Fraction(number))
    return titres


def of_last_run_only(fault: LaboratoryFault) -> bool:
    """Whether a fault is one of a single titration, and not of a bottle or of the sample."""
    return not all(what in _FACTORS for what, _ in fault.changes)


def _as_read(titre: Fraction, what: str, number: Fraction) -> Fraction:
    """What a fault at the burette makes of the volume that was needed."""
    match what:
        case "delivered":
            return titre * number
        case "taken up" | "final reading":
            return titre + number
        case "initial reading":
            return titre - number
        case "rough titre":
            return titre + number / _ROUGH_OF
        case _:
            return titre


def _added(procedure: Procedure, there: Values, what: str, number: Decimal) -> Procedure:
    """The procedure with something poured into the conical flask before the last titration."""
    last = procedure.titrations[-1]
    poured: Operation = Dissolve(last.vessel)
    if what == "carbon dioxide added":
        poured = Measure(_GAS, last.vessel)
        there[names.volume_measured(_GAS.name, last.vessel)] = Fraction(number)
        there[names.concentration(_GAS.name)] = Fraction(34, 1000)
    at = procedure.operations.index(last)
    return replace(procedure, operations=(*procedure.operations[:at], poured, *procedure.operations[at:]))


# ------------------------------------------------------------------ factors on what is really there


def _scale(there: Values, names_of: list[str], factor: Fraction) -> None:
    for name in names_of:
        if name in there:
            there[name] *= factor


def _titrant(procedure: Procedure, there: Values, factor: Fraction) -> None:
    titrant = procedure.titrations[-1].titrant
    if titrant.made_in:  # no number tells its strength: water in it is as if its flask had been filled further
        _scale(there, [names.volume_made_up(titrant.made_in)], 1 / factor)
    _scale(there, [names.concentration(titrant.name), names.mass_concentration(titrant.name)], factor)


def _portion(procedure: Procedure, there: Values, factor: Fraction) -> None:
    _scale(there, portion_volumes(procedure), factor)


def portion_volumes(procedure: Procedure) -> list[str]:
    """The names of what is pipetted into the vessel of the last titration, apart from a reagent in excess."""
    vessel = procedure.titrations[-1].vessel
    found = []
    for operation in procedure.operations:
        match operation:
            case Aliquot(into=into) if into == vessel:
                found.append(names.volume_taken(into))
            case Measure(solution=solution, excess=False) if operation.vessel == vessel:
                found.append(names.volume_measured(solution.name, vessel))
            case _:
                pass
    return found


def _made_up(procedure: Procedure, there: Values, factor: Fraction) -> None:
    last = [op.vessel for op in procedure.operations if isinstance(op, MakeUp)][-1]
    _scale(there, [names.volume_made_up(last)], factor)


def _weighed(procedure: Procedure, there: Values, factor: Fraction) -> None:
    """All that was weighed: its mass, and where that is what is known, how much of the substance is in it."""
    for operation in procedure.operations:
        if isinstance(operation, Weigh):
            every = [names.mass(operation.sample)]
            for element in operation.elements:
                every += [names.mass_within(element, operation.sample), names.mass_each(element, operation.pieces)]
            for content in operation.contents:
                every += [
                    names.mass_within(content.substance, operation.sample),
                    names.substance_amount(content.substance, operation.sample),
                    names.mass_each(content.substance, operation.pieces),
                ]
            _scale(there, every, factor)


def _reagent(strength: bool) -> Callable[[Procedure, Values, Fraction], None]:
    def change(procedure: Procedure, there: Values, factor: Fraction) -> None:
        for operation in procedure.operations:
            if isinstance(operation, Measure) and operation.excess:
                solution = operation.solution
                own = [names.volume_measured(solution.name, operation.vessel)]
                _scale(there, [names.concentration(solution.name)] if strength else own, factor)

    return change


def _water(procedure: Procedure, there: Values, factor: Fraction) -> None:
    _scale(there, [name for name in there if name.startswith("water in ")], factor)


_FACTORS: dict[str, Callable[[Procedure, Values, Fraction], None]] = {
    "titrant strength": _titrant,
    "portion volume": _portion,
    "made-up volume": _made_up,
    "weighed mass": _weighed,
    "reagent strength": _reagent(strength=True),
    "reagent volume": _reagent(strength=False),
    "water of crystallisation": _water,
}
