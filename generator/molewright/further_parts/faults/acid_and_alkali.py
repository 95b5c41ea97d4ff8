"""A draw comes in; the conditions of banks/faults.yaml that turn on acids, alkalis and what is in the flask with them go out.

What a species is by nature is asked of the bank: an alkali that somebody adds has the faults of an alkali.
"""

from __future__ import annotations

from collections.abc import Iterator

from molewright.bank.definitions import Bank, Indicator, IonEntry
from molewright.chem.formula import PLACEHOLDERS, parse_formula
from molewright.chem.groups import holds
from molewright.chem.reaction import Reaction
from molewright.chem.solubility import precipitates_before
from molewright.draw.chosen import Draw
from molewright.further_parts.faults.faulty_bench import titrated
from molewright.plausibility.natures import Natures
from molewright.plausibility.solutes import Solutes

AT_MOL_DM3 = 0.1  # of metal ions in a flask, to tell which hydroxides come down in it; common practice, no source


class AcidsAndAlkalis:
    """The conditions of one bank's draws."""

    def __init__(self, bank: Bank) -> None:
        self.bank = bank
        self.solutes = Solutes(bank)
        self.natures = Natures(self.solutes)

    def conditions(self, draw: Draw) -> Iterator[str]:
        """Those that hold whatever indicator a fault speaks of."""
        procedure = draw.variant.procedure
        last = procedure.titrations[-1]
        reactions = procedure.equations
        if not any(self._gases(one) for one in reactions):
            yield "no gas in flask"
        if procedure.in_excess and any(self._dissolves_a_carbonate(one) for one in reactions):
            yield "carbonate"
        if self._solid_in_excess(draw):
            yield "solid in excess reagent"
        if any(self._escapes(one.solution.solute) for one in procedure.reagents):
            yield "volatile acid in excess"
        if self._leaves_the_gas(self.bank.indicators.get(draw.indicator)):
            yield "gas ignored"
        if self.natures.gives_hydroxide_ions(last.titrant.solute):
            yield "alkali in burette"
            if not self.solutes.pairs((last.titrant.solute, *self._carbonates())):
                yield "carbonate of the alkali dissolves"
        if self.natures.gives_hydrogen_ions(last.titrant.solute):
            yield "acid in burette"
        if any(map(self.natures.is_carbonate, titrated(last))):
            yield "carbonate ions in flask"

    def with_indicator(self, draw: Draw, name: str) -> Iterator[str]:
        """Those that turn on the indicator which a fault is made with."""
        indicator = self.bank.indicators.get(name)
        if indicator is None or indicator.low is None or indicator.high is None:
            return
        low, high = float(indicator.low), float(indicator.high)
        last = draw.variant.procedure.titrations[-1]
        if self._stays_clear(draw, low, high):
            yield "clear in alkali"
        if any(self._is_weak(one, (low + high) / 2) for one in titrated(last)):
            yield "weak acid in flask"

    # ------------------------------------------------------------ gases and carbonates

    def _escapes(self, solute: str) -> bool:
        """Whether an acid escapes from its solution when that is boiled hard."""
        substance = self.bank.substances.get(solute)
        return substance is not None and substance.volatile and self.natures.is_acid(solute)

    def _gases(self, reaction: Reaction) -> list[str]:
        """What a reaction makes that leaves the flask and that alkali takes up."""
        made = (member.formula.text for member in reaction.right)
        return [one for one in made if one in self.bank.ions and self._is_gas(self.bank.ions[one])]

    def _is_gas(self, ion: IonEntry) -> bool:
        return self.solutes.leaves_as_a_gas(ion.formula) and not ion.lost

    def _carbonates(self) -> list[str]:
        """The ions of carbon dioxide with no proton left."""
        return [one.formula for one in self.bank.ions.values() if self.natures.is_carbonate(one.formula)]

    def _dissolves_a_carbonate(self, reaction: Reaction) -> bool:
        """Whether a reaction frees the gas of a family from a salt of it."""
        left = [member.formula.text for member in reaction.left]
        return bool(self._gases(reaction)) and any(holds(one, base) for one in left for base in self._carbonates())

    def _leaves_the_gas(self, indicator: Indicator | None) -> bool:
        """Whether an indicator has changed before carbon dioxide takes up much alkali: below its pKa."""
        pkas = [acid.pkas[0] for acid in self.bank.acids.values() if acid.held]
        if indicator is None or indicator.high is None or not pkas:
            return False
        return float(indicator.high) <= min(pkas)

    # ------------------------------------------------------------ solids

    def _solid_in_excess(self, draw: Draw) -> bool:
        """Whether a reagent in excess works on a solid that does not just dissolve, as a salt of ammonium does."""
        solids = {
            member.formula.text
            for op in draw.variant.procedure.reacting
            if op.excess
            for reaction in op.reactions
            for member in reaction.left
            if member.state == "s"
        }
        return any(not self.natures.dissolves_at_once(one) for one in solids)

    def _stays_clear(self, draw: Draw, low: float, high: float) -> bool:
        """Whether nothing there takes up alkali while an indicator changes: no metal ion that forms a solid, no ion half-way."""
        elements: set[str] = set()
        for substance in _substances(draw):
            ions = [ion for _, ion in self.solutes.parts(substance) or ()]
            pkas = [pka for ion in ions for name in ion.acids for pka in self.bank.acids[name].pkas]
            if any(low <= pka <= high for pka in pkas):
                return False
            formula = parse_formula(substance, PLACEHOLDERS)
            elements |= {symbol for symbol, _ in formula.atoms}
            for ion in ions or self.bank.ions.values():
                if formula.placeholders & parse_formula(ion.formula, PLACEHOLDERS).placeholders:
                    elements |= {_metal(one) for one in ion.one_of}
        return not any(
            _metal(cation) in elements and precipitates_before(hydroxide, AT_MOL_DM3, high)
            for cation, hydroxide in self.solutes.hydroxides.items()
        )

    # ------------------------------------------------------------ weak acids

    def _is_weak(self, species: str, at_ph: float) -> bool:
        """Whether it is an acid of which half and more has its last proton still at a pH, whichever acid it may stand for."""
        for _, ion in self.solutes.parts(species) or ():
            families = [self.bank.acids[name].pkas for name in ion.acids]
            if families and all(len(pkas) > ion.lost and pkas[-1] >= at_ph for pkas in families):
                return True
        return False


def _metal(ion: str) -> str:
    return parse_formula(ion, PLACEHOLDERS).atoms[0][0]


def _substances(draw: Draw) -> set[str]:
    """What is weighed or measured, apart from what the burette holds."""
    procedure = draw.variant.procedure
    found = {content.substance for content in procedure.contents} | {one.solute for one in procedure.poured}
    return (found | {draw.variant.roles.get("analyte", "")}) - {""}
