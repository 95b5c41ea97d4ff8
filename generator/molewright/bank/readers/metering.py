"""A reading of a pH meter, or a saturated solution, comes in as a person writes it; the operation goes out, as the banks know it."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction

from molewright.bank.definitions import AcidFamily, Choice
from molewright.bank.readers.read_so_far import ReadSoFar
from molewright.chem.formula import parse_formula
from molewright.chem.powers import ten_to_minus
from molewright.chem.quantity import Quantity, half_up, to_figures
from molewright.chem.units import Unit
from molewright.errors import Mistake
from molewright.experiment import acidity
from molewright.experiment.metering import ReadPH
from molewright.experiment.procedure import Measure
from molewright.experiment.quantities import Name
from molewright.experiment.saturating import TellProduct
from molewright.reading.fields import Fields

OF_THE_BANK, NEAR_THE_BANK = "of the bank", "near the bank"
_NEAR = Decimal(
    "0.06"
)  # how far a pKa that is measured at school lies from that of tables (common practice, no source)
_CONSTANT_FIGURES, _PKA_PLACES = 3, 2
_MOST_IONS = 3  # of one formula unit


def read_ph(so_far: ReadSoFar, fields: Fields) -> None:
    """Read where a pH is read and which constants are told; what it rests on is what is in the vessel by now."""
    vessel = so_far.vessel(fields)
    inside = list(dict.fromkeys(so_far.inside.get(vessel, [])))
    water = so_far.chemicals.in_water
    strong = [one for one in inside if water.protons_of(one)]
    weak = [(one, found) for one in inside if (found := water.family_of(one)) is not None]
    families = list(dict.fromkeys(family.formula for _, (family, _) in weak))
    half_strong = [
        one for one in strong if water.family_of(one) is not None
    ]  # sulfuric acid: its second proton is not all given up
    if len(strong) > 1 or half_strong or (not strong and len(families) != 1):
        raise Mistake(
            f"a pH that rests on {', '.join((*strong, *families)) or 'nothing that the banks know as an acid or a base'}",
            expected="one strong acid or alkali, or one weak acid of one proton with its base",
            where=fields.where,
            do=f"In the vessel: {', '.join(inside) or 'nothing'}.",
        )
    act = ReadPH(
        vessel=vessel,
        acid=next((one for one, (_, lost) in weak if not lost), ""),
        base=next((one for one, (_, lost) in weak if lost), ""),
        family=families[0] if families else "",
        ion=next((ion.formula for one, _ in weak for _, ion in water.ions_of(one) if ion.acids and ion.lost), ""),
        pka=weak[0][1][0].pkas[0] if weak else 0.0,
        strong=strong[0] if strong else "",
        protons=water.protons_of(strong[0]) if strong else 0,
        half=fields.yes("half"),
    )
    so_far.number(fields, "pH", acidity.ph_in(vessel))
    if act.family:
        family = weak[0][1][0]
        _constant(so_far, fields, "acid constant", acidity.acid_constant(act.family), family, _as_constant)
        _constant(so_far, fields, "pKa", acidity.pka(act.family), family, _as_pka)
    so_far.number(fields, "ion product", acidity.ION_PRODUCT)
    so_far.made.operations.append(act)


def tell_product(so_far: ReadSoFar, fields: Fields) -> None:
    """Read which salt a solution is saturated with; what else is in the bottle was told where it was measured."""
    solution = so_far.solution(fields, "of")
    water = so_far.chemicals.in_water
    ions = {ion.formula: count for count, ion in water.ions_of(solution.solute)}
    charged = sorted(ions, key=lambda ion: parse_formula(ion).charge, reverse=True)
    if len(charged) != 2 or sum(ions.values()) > _MOST_IONS:
        raise Mistake(
            f"{solution.solute} gives {', '.join(ions) or 'no ions that the banks know'}",
            expected="a salt of two kinds of ions, three of them at most, with what it gives in ions.yaml",
            where=fields.where,
        )
    cation, anion = charged
    measured = next(
        (act for act in so_far.made.operations if isinstance(act, Measure) and act.solution == solution), None
    )
    beside = measured.others[0] if measured is not None and measured.others else None
    common = {ion.formula: count for count, ion in water.ions_of(beside.solute)} if beside is not None else {}
    shared = next((ion for ion in charged if ion in common), "")
    so_far.made.operations.append(
        TellProduct(
            solution=solution,
            cation=cation,
            anion=anion,
            cations=ions[cation],
            anions=ions[anion],
            beside=beside if shared else None,
            common=common.get(shared, 0),
            shared=shared,
        )
    )


def _constant(
    so_far: ReadSoFar,
    fields: Fields,
    key: str,
    name: Name,
    family: AcidFamily,
    written: Callable[[AcidFamily], Quantity],
) -> None:
    """A constant as it is written, or as the banks have it."""
    told = fields.text(key, "") if fields.has(key) else ""
    if told == OF_THE_BANK:
        so_far.made.choices[name] = Choice(options=(written(family),))
    elif told == NEAR_THE_BANK and name.kind == "pKa":
        middle = _as_pka(family).number
        step = Decimal(1).scaleb(-_PKA_PLACES)
        so_far.made.choices[name] = Choice(low=middle - _NEAR, high=middle + _NEAR, step=step)
    else:
        so_far.number(fields, key, name)


def _as_constant(family: AcidFamily) -> Quantity:
    exact = ten_to_minus(_pka(family))
    return Quantity(to_figures(exact, _CONSTANT_FIGURES), Unit.MOL_PER_DM3, scientific=True)


def _as_pka(family: AcidFamily) -> Quantity:
    return Quantity(half_up(_pka(family), _PKA_PLACES))


def _pka(family: AcidFamily) -> Fraction:
    return Fraction(Decimal(repr(family.pkas[0])))
