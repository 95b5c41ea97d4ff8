"""What becomes of substances in water comes in: ions, acid families, solubility, EDTA; values that check themselves go out."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from molewright.chem.formula import PLACEHOLDERS, parse_formula
from molewright.chem.solubility import SparingSolid
from molewright.errors import Mistake

MOST_STAGES = 6  # of an acid: as many as EDTA with all its protons loses


@dataclass(frozen=True, slots=True, kw_only=True)
class AcidFamily:
    """An acid with all the ions that it loses protons to: full formula, one pKa a stage, the gas that boiling drives it off as.

    `held` is what water keeps of that gas at 1 atm, in mol dm⁻³; None where it is not taken to leave by itself. `heat` is what is given
    out when it is neutralised by alkali (of an ion such as ammonium: when its base is, by acid), in kJ for a mole of protons.
    """

    name: str
    formula: str
    pkas: tuple[float, ...]
    gas: str = ""
    held: float | None = None
    heat: float | None = None
    source: str = ""

    def __post_init__(self) -> None:
        if not self.pkas or list(self.pkas) != sorted(self.pkas) or not all(-5 < pka < 20 for pka in self.pkas):
            raise Mistake(f"the pKa values {self.pkas} of {self.name}", expected="one or more, the most acidic first")
        _require_stages(self.pkas, self.name)

    @property
    def with_article(self) -> str:
        """Its name in a sentence: "ethanoic acid", but "the ammonium ion"."""
        return f"the {self.name}" if self.name.endswith(" ion") else self.name


@dataclass(frozen=True, slots=True, kw_only=True)
class SparingSalt:
    """A sparingly soluble solid, its solubility product and the formulae of its ions."""

    name: str
    solid: SparingSolid
    cation: str
    anion: str
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class IonEntry:
    """An ion or molecule in solution: the acid family it belongs to and how many protons it has lost, or its own part.

    `protons` is 1 for the hydrogen ion and -1 for the hydroxide ion. Several `acids`: one of them, unknown which. `one_of`
    are the ions that a placeholder may stand for. `conductivity` is its limiting molar one, in S cm² mol⁻¹ for a mole of the whole ion,
    and `heat` what the hydrogen ion gives out with hydroxide ions, in kJ mol⁻¹.
    """

    formula: str
    protons: int = 0
    acids: tuple[str, ...] = ()
    lost: int = 0
    one_of: tuple[str, ...] = ()
    conductivity: float | None = None
    heat: float | None = None
    source: str = ""

    @property
    def limiting(self) -> float | None:
        """Its limiting molar conductivity; 0 for a molecule, None for an ion of which it is not known."""
        return self.conductivity if parse_formula(self.formula, PLACEHOLDERS).charge else 0.0


@dataclass(frozen=True, slots=True)
class SoluteEntry:
    """What one formula unit gives in water (count, ion), and its solubility in g in 100 g of water at 20 °C."""

    formula: str
    gives: tuple[tuple[int, str], ...]
    solubility: Decimal | None = None
    source: str = ""

    def __post_init__(self) -> None:
        whole = parse_formula(self.formula, PLACEHOLDERS)
        atoms: dict[str, int] = {}
        charge = 0
        for count, given in self.gives:
            part = parse_formula(given, PLACEHOLDERS)
            charge += count * part.charge
            for symbol, number in part.atoms:
                atoms[symbol] = atoms.get(symbol, 0) + count * number
        if atoms != dict(whole.atoms) or charge != whole.charge:
            raise Mistake(
                f"{self.formula} cannot give {', '.join(f'{count} {given}' for count, given in self.gives)}",
                expected="the same atoms and the same charge",
            )


@dataclass(frozen=True, slots=True)
class EdtaAcid:
    """EDTA with all its protons: its formula, one pKa a stage, the most acidic first, and the ion that equations write for it."""

    formula: str
    pkas: tuple[float, ...]
    titrated_as: str
    source: str = ""

    def __post_init__(self) -> None:
        if not self.pkas or list(self.pkas) != sorted(self.pkas):
            raise Mistake(
                f"the pKa values {self.pkas} of {self.formula}", expected="one or more, the most acidic first"
            )
        _require_stages(self.pkas, self.formula)


def _require_stages(pkas: tuple[float, ...], of: str) -> None:
    if len(pkas) > MOST_STAGES:
        raise Mistake(f"{len(pkas)} pKa values of {of}", expected=f"at most {MOST_STAGES}")


@dataclass(frozen=True, slots=True)
class EdtaMetal:
    """A metal ion that takes one EDTA: log10 of its constant with Y^4-, and of its overall constants with ammonia."""

    metal: str
    log_k: float
    ammines: tuple[float, ...] = ()
    source: str = ""

    def __post_init__(self) -> None:
        if not 0 < self.log_k < 50:
            raise Mistake(f"a log k of {self.log_k} for {self.metal}", expected="a number such as 10.70")


@dataclass(frozen=True, slots=True)
class EdtaIndicator:
    """An indicator of metal ions: between which pH it shows the end point."""

    indicator: str
    low: float
    high: float
    source: str = ""

    def __post_init__(self) -> None:
        if not 0 <= self.low < self.high <= 14:
            raise Mistake(f"{self.indicator} from pH {self.low} to {self.high}", expected="the lower pH first")


@dataclass(frozen=True, slots=True, kw_only=True)
class EdtaBuffer:
    """A base that a buffer brings along and that holds metal ions too: between which pH, and how much of it is free (mol dm⁻³)."""

    base: str
    low: float
    high: float
    free: float
    source: str = ""

    def __post_init__(self) -> None:
        if not (0 <= self.low < self.high <= 14 and self.free > 0):
            raise Mistake(
                f"{self.free:g} mol dm⁻³ of {self.base} from pH {self.low} to {self.high}",
                expected="the lower pH first, and some of it",
            )


EdtaEntry = EdtaAcid | EdtaMetal | EdtaIndicator | EdtaBuffer
