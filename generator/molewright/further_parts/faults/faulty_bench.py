"""A procedure, its true values and a fault's changes come in; the titres that would be read go out, from the bench itself.

The experiment is performed again on what is really there; nothing is derived, and no direction is known beforehand. What is wrong
with a bottle or with the sample is so in every titration of the procedure; what goes wrong in a conical flask or at a reading does so
in the last one. What acts through an equilibrium (an indicator, the pH) is not for the bench: see `curve_shifts.py` and
`constant_shifts.py`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from fractions import Fraction

from molewright.bank.definitions import LaboratoryFault
from molewright.bench.perform import perform
from molewright.chem.reaction import Reaction
from molewright.experiment import quantities
from molewright.experiment.procedure import (
    Change,
    Dissolve,
    Measure,
    Operation,
    Procedure,
    Titrate,
)
from molewright.experiment.quantities import Name
from molewright.experiment.solution import Solution

IN_BOTTLE = "gas taken up"  # by what is in the burette, before it is used
_ROUGH_OF = 3  # titres in a mean that the rough one is included in

Values = dict[Name, Fraction]


def read_titres(procedure: Procedure, values: Mapping[Name, Fraction], fault: LaboratoryFault) -> dict[Name, Fraction]:
    """Every mean titre as it would be read with this fault, by name, in cm³. Raises BenchFault where that cannot be done."""
    there = dict(values)
    act = procedure.titrations[-1]
    before: list[Operation] = []
    for what, number in fault.changes:
        share = Fraction(number)
        if what in _FACTORS:
            _FACTORS[what](procedure, there, share)
        elif what in _OF_FLASK:
            before += [Change(species, 1 + _OF_FLASK[what] * share, act.vessel) for species in titrated(act)]
        elif what == "water added":
            before.append(Dissolve(act.vessel))
        elif what == "reduced less":
            act = _weakened(act, there, 1 - share + share * _electrons(fault.halves[1]) / _electrons(fault.halves[0]))
        elif what == "oxidised beside" and fault.beside is not None:
            before.append(_poured(fault.beside.left[0].formula.text, share, act.vessel, there))
            act = replace(act, reactions=(*act.reactions, fault.beside))
    at = procedure.operations.index(procedure.titrations[-1])
    done = replace(procedure, operations=(*procedure.operations[:at], *before, act, *procedure.operations[at + 1 :]))
    titres = perform(done, there).titres
    last = procedure.titrations[-1].titre
    titres[last] = titres.pop(act.titre)
    for what, number in fault.changes:
        titres[last] = _as_read(titres[last], what, Fraction(number))
    return titres


def of_a_bottle(fault: LaboratoryFault) -> bool:
    """Whether a fault is one of a bottle or of the sample, and not of a single titration."""
    return bool(fault.changes) and all(what in (*_FACTORS, IN_BOTTLE) for what, _ in fault.changes)


def titrated(act: Titrate) -> tuple[str, ...]:
    """What a titrant reacts with, without the acid that a redox reaction takes up beside it."""
    found = dict.fromkeys(member.formula.text for reaction in act.reactions for member in reaction.left)
    return tuple(one for one in (*found, act.sought) if one not in (act.titrant.species, "H+", ""))


def _as_read(titre: Fraction, what: str, number: Fraction) -> Fraction:
    """What a fault at the burette makes of the volume that was needed."""
    match what:
        case "past the end point" | "final reading":
            return titre + number
        case "initial reading":
            return titre - number
        case "rough titre":
            return titre + number / _ROUGH_OF
        case _:
            return titre


# ------------------------------------------------------------------ in the conical flask

_OF_FLASK = {"lost from flask": -1, "left in flask": -1, "gained in flask": 1}


def _poured(species: str, mmol: Fraction, vessel: str, there: Values) -> Operation:
    """So many millimoles of a species in the conical flask: a volume of a solution of 1 mol dm⁻³."""
    poured = Measure(solution=Solution(name=f"added {species}", solute=species, species=species), vessel=vessel)
    there[poured.volume] = mmol
    there[quantities.concentration(poured.solution.name)] = Fraction(1)
    return poured


def _electrons(half: Reaction) -> int:
    return sum(member.coefficient for member in half.left if member.formula.is_electron)


def _weakened(act: Titrate, there: Values, capacity: Fraction) -> Titrate:
    """The last titration with a titrant that takes up so much of the electrons that it should; no other titration has it."""
    titrant = act.titrant
    weak = replace(titrant, name=f"weakened {titrant.name}")
    for told, told_weak in zip(titrant.strengths, weak.strengths, strict=True):
        if told in there:
            there[told_weak] = there[told] * capacity
    return replace(act, titrant=weak)


# ------------------------------------------------------------------ factors on what is really there


def _scale(there: Values, names_of: Iterable[Name], factor: Fraction) -> None:
    for name in names_of:
        if name in there:
            there[name] *= factor


def _titrant(procedure: Procedure, there: Values, factor: Fraction) -> None:
    titrant = procedure.titrations[-1].titrant
    if titrant.made_in:  # no number tells its strength: water in it is as if its flask had been filled further
        _scale(there, [quantities.volume_made_up(titrant.made_in)], 1 / factor)
    _scale(there, [quantities.concentration(titrant.name), quantities.mass_concentration(titrant.name)], factor)


def _portion(procedure: Procedure, there: Values, factor: Fraction) -> None:
    _scale(there, procedure.portion_volumes(procedure.titrations[-1].vessel), factor)


def _made_up(procedure: Procedure, there: Values, factor: Fraction) -> None:
    _scale(there, [quantities.volume_made_up(procedure.made_up[-1].vessel)], factor)


def _weighed(procedure: Procedure, there: Values, factor: Fraction) -> None:
    """All that was weighed: its mass, and where that is what is known, how much of the substance is in it."""
    for act in procedure.weighings:
        every = [quantities.mass(act.sample)]
        for held in (*act.elements, *(content.substance for content in act.contents)):
            every += [quantities.mass_within(held, act.sample), quantities.mass_each(held, act.pieces)]
        every += [quantities.substance_amount(content.substance, act.sample) for content in act.contents]
        _scale(there, every, factor)


def _standard(procedure: Procedure, there: Values, factor: Fraction) -> None:
    """What is weighed of a standard: a pure solid, known by its mass."""
    _scale(there, [quantities.mass(operation.sample) for operation in procedure.standards], factor)


def _reagent(strength: bool) -> Callable[[Procedure, Values, Fraction], None]:
    def change(procedure: Procedure, there: Values, factor: Fraction) -> None:
        for operation in procedure.reagents:
            solution = operation.solution
            own = [quantities.volume_measured(solution.name, operation.vessel)]
            _scale(there, [quantities.concentration(solution.name)] if strength else own, factor)

    return change


def _water(procedure: Procedure, there: Values, factor: Fraction) -> None:
    _scale(there, [name for name in there if name.kind == "water"], factor)


_FACTORS: dict[str, Callable[[Procedure, Values, Fraction], None]] = {
    "titrant strength": _titrant,
    "portion volume": _portion,
    "made-up volume": _made_up,
    "weighed mass": _weighed,
    "standard mass": _standard,
    "reagent strength": _reagent(strength=True),
    "reagent volume": _reagent(strength=False),
    "water of crystallisation": _water,
}
