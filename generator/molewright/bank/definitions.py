"""What the banks state, as frozen values that check themselves and know no file."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction
from typing import Literal, overload

from molewright.bank.algebra import Tree
from molewright.chem.formula import PLACEHOLDERS, parse_formula
from molewright.chem.half_equations import Halves
from molewright.chem.quantity import Quantity, base_unit, half_up, to_figures
from molewright.chem.reaction import Reaction
from molewright.chem.solubility import SparingSolid
from molewright.errors import Mistake, Where
from molewright.experiment.procedure import Procedure

MOST_STEPS = 1_000_000  # of a range: an estimate of how many questions there are looks at each
MOST_STAGES = 6  # of an acid: as many as EDTA with all its protons loses


@dataclass(frozen=True, slots=True)
class Substance:
    """A substance: formula, name, what its solution is called, and what one of it gives in solution (count, species)."""

    formula: str
    name: str
    solution: str = ""
    gives: str = ""
    count: int = 1
    source: str = ""


@dataclass(frozen=True, slots=True)
class ReactionEntry:
    """A balanced equation, what is seen, and the indicators that serve if it is a titration."""

    reaction: Reaction
    seen: str = ""  # what happens, as the stem may tell it: "until no more gas was given off"
    indicators: tuple[str, ...] = ()
    source: str = ""
    halves: Halves | None = None  # where it is put together from two half-equations

    def reactants(self) -> tuple[str, ...]:
        """Formulae of the left side."""
        return tuple(member.formula.text for member in self.reaction.left)

    def state_of(self, reactant: str) -> str:
        """The state symbol of a reactant: s, l, g or aq; "" where it is none, or none is written."""
        return next((one.state for one in self.reaction.left if one.formula.text == reactant), "")


@dataclass(frozen=True, slots=True)
class Indicator:
    """An indicator: pH range, colour in acid and in alkali, colour at the end point, source.

    `stop` is the pH of the colour at which people stop; None: the middle of the range.
    """

    name: str
    low: Decimal | None
    high: Decimal | None
    acid_colour: str
    base_colour: str
    middle_colour: str = ""
    source: str = ""
    stop: Decimal | None = None

    def __post_init__(self) -> None:
        if self.low is not None and self.high is not None and self.low >= self.high:
            raise Mistake(f"the range {self.low} to {self.high} of {self.name} runs downwards", expected="low to high")
        if self.stop is not None and not (self.low or self.stop) <= self.stop <= (self.high or self.stop):
            raise Mistake(f"{self.name} is stopped at pH {self.stop}", expected="a pH inside its range")


@dataclass(frozen=True, slots=True)
class Apparatus:
    """Glassware or a balance: what it holds, its smallest division, its class B tolerance, source."""

    name: str
    kind: Literal["pipette", "burette", "volumetric flask", "measuring cylinder", "bottle", "balance"]
    capacity: Quantity
    resolution: Quantity | None
    tolerance: Quantity | None
    source: str = ""

    def __post_init__(self) -> None:
        kind = "g" if self.kind == "balance" else "cm³"
        for quantity in filter(None, (self.capacity, self.resolution, self.tolerance)):
            if quantity.number <= 0 or base_unit(quantity.unit)[0] != kind:
                raise Mistake(f"{quantity} of the {self.name}", expected=f"more than nothing, in {kind}")


@dataclass(frozen=True, slots=True)
class Material:
    """A material that is analysed: the substance sought in it, its believable range of composition, and what not to do with it."""

    name: str
    noun: str  # "crushed limestone": what was weighed
    analyte: str
    low: Decimal
    high: Decimal
    indicators: tuple[str, ...]
    reagents: tuple[str, ...]  # reagents that dissolve it cleanly
    pieces: str = ""
    residue: str = ""
    source: str = ""
    solid: bool = True  # False for an oil, an ointment: none of it lies about as grains
    damp: bool = True  # False where it cannot be damp when it is weighed: a metal, an oil

    def __post_init__(self) -> None:
        if not 0 < self.low < self.high <= Decimal("99.9"):
            raise Mistake(f"the range {self.low} to {self.high} % of {self.name}", expected="0 < low < high <= 99.9")


@dataclass(frozen=True, slots=True)
class Context:
    """A scene that a question is set in: for which materials or solutions, its opening, and what the sample is called in it."""

    key: str
    serves: tuple[str, ...]
    opening: str
    sample: str  # "the quarry stone"
    person: str = ""
    reserved: bool = False  # for archetypes that name it, and no others
    rules_out: tuple[str, ...] = ()  # formulae that an unknown substance cannot turn out to be in it


@dataclass(frozen=True, slots=True)
class Choice:
    """What a number may be: one of several written quantities, or a range with a step. `fit` bends to the titre's window.

    A `hidden` number is drawn and never printed, though nobody asks for it.
    """

    options: tuple[Quantity, ...] = ()
    low: Decimal | None = None
    high: Decimal | None = None
    step: Decimal | None = None
    unit: str = ""
    figures: int | None = None  # significant figures it is printed with; None: the places of the step
    fit: bool = False
    hidden: bool = False

    def __post_init__(self) -> None:
        if not self.options:
            if self.low is None or self.high is None or self.step is None:
                raise Mistake("a choice of no numbers", expected="a quantity, a list, or 'low to high unit by step'")
            if self.step <= 0:
                raise Mistake(f"a range in steps of {self.step}", expected="a step above 0")
            if self.low > self.high or self.low <= 0:
                raise Mistake(
                    f"the window {self.low} to {self.high} {self.unit} is empty", expected="low <= high, above 0"
                )
            self._require_steps(Fraction(self.low), Fraction(self.high), Fraction(self.step))

    def _require_steps(self, low: Fraction, high: Fraction, step: Fraction) -> None:
        """A range is walked step by step: it ends on a step, and there are not more than anyone can walk."""
        steps = (high - low) / step
        told = f"{self.low} to {self.high} by {self.step:f}"
        if steps > MOST_STEPS:
            raise Mistake(f"the range {told} has more than {MOST_STEPS:,} steps", expected="a larger step")
        if low < high and steps < 1:
            raise Mistake(f"the step of {told} is larger than the range", expected="a smaller step")
        if steps.denominator != 1:
            raise Mistake(f"the steps of {told} miss the high end: the last is {float(low + int(steps) * step):g}",
                          expected="an end that is so many whole steps from the other")  # fmt: skip

    def written(self, exact: Fraction) -> Quantity:
        """A number of this choice as it is printed."""
        if self.figures is not None:
            return Quantity(to_figures(exact, self.figures), self.unit)
        assert self.step is not None
        exponent = self.step.as_tuple().exponent
        assert isinstance(exponent, int)
        return Quantity(half_up(exact, max(0, -exponent)), self.unit)


@dataclass(frozen=True, slots=True)
class Ask:
    """A quantity that may be asked for: its name in the procedure, the unit of the answer and how often it is drawn."""

    quantity: str
    unit: str = ""
    figures: int = 3
    weight: int = 1


@dataclass(frozen=True, slots=True)
class Windows:
    """Limits that a drawn question must keep: titre in cm³, share of the excess reagent used up."""

    titre: tuple[Fraction, Fraction] = (Fraction(15), Fraction(35))
    used: tuple[Fraction, Fraction] = (Fraction(3, 10), Fraction(7, 10))


@dataclass(frozen=True, slots=True)
class MayBe:
    """What an unknown substance may be, in the order of the options for its molar mass."""

    unknown: str
    number: str  # the name of its molar mass
    choice: Choice
    substances: tuple[Substance, ...]

    def of(self, molar: Quantity) -> str:
        """The formula of the one with this molar mass, which is one of the options."""
        return self.substances[self.choice.options.index(molar)].formula


@dataclass(frozen=True, slots=True)
class Variant:
    """One form of an archetype with its roles filled: this material with this acid and this alkali."""

    roles: Mapping[str, str]
    procedure: Procedure
    choices: Mapping[str, Choice]
    unknown: frozenset[str]
    contexts: tuple[Context, ...]
    indicators: tuple[str, ...]
    asks: tuple[Ask, ...]
    material: Material | None = None
    may_be: MayBe | None = None

    @property
    def fitted(self) -> str:
        """The name of the number that bends to the titre's window."""
        return next(name for name, choice in self.choices.items() if choice.fit)


class Variants(Sequence[Variant]):
    """The variants of an archetype, read when the first is wanted: a paper needs few of the many that the banks hold."""

    def __init__(self, read: Callable[[], tuple[Variant, ...]]) -> None:
        self._read = read
        self._found: tuple[Variant, ...] | None = None

    def _all(self) -> tuple[Variant, ...]:
        if self._found is None:
            self._found = self._read()
        return self._found

    def __len__(self) -> int:
        return len(self._all())

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Variants) and self._all() == other._all()

    def __hash__(self) -> int:
        return hash(len(self))

    @overload
    def __getitem__(self, index: int) -> Variant: ...

    @overload
    def __getitem__(self, index: slice) -> Sequence[Variant]: ...

    def __getitem__(self, index: int | slice) -> Variant | Sequence[Variant]:
        return self._all()[index]


@dataclass(frozen=True, slots=True)
class Archetype:
    """A kind of question: title, topic, how demanding it is (1 to 9), its variants and windows, the further parts it asks for."""

    key: str
    title: str
    topic: str
    demand: int
    variants: Sequence[Variant]
    windows: Windows
    joined: frozenset[str] = frozenset()  # kinds of step that share a mark with the next
    runs: Literal["table", "mean", "either"] = "either"
    source: str = ""
    extras: tuple[str, ...] = ()  # kinds of parts after the calculation, in order
    calculated: bool = (
        True  # whether the calculation itself is asked for; if not, the further parts are the whole question
    )
    stretch: tuple[str, ...] = ()  # kinds of parts of which one is added at the stretch level
    where: Where | None = field(default=None, compare=False)  # where it is written

    @property
    def graph(self) -> str:
        """The kind of graph that the last titre is read from, or ""."""
        return next((kind for kind in self.extras if kind in GRAPHS), "")


EXTRAS = (
    "uncertainty", "combined uncertainty", "claim", "fault", "why back", "planning", "critique", "burette reading", "further run",
    "pH curve", "sketch", "indicator", "unsuitable indicator", "thermometric graph", "conductometric graph", "why a graph",
    "why conductivity",
    "plan titre", "plan excess", "plan both", "describe", "describe portion", "describe titration", "colour change",
    "universal indicator", "reduce uncertainty", "class values", "method",
)  # fmt: skip
"""Kinds of further parts that an archetype may ask for."""

GRAPHS = ("thermometric graph", "conductometric graph")
"""Those of them that read the titre off a graph: no indicator and no burette table then, and the stem does not tell the titre."""


@dataclass(frozen=True, slots=True)
class AcidFamily:
    """An acid with all the ions that it loses protons to: full formula, one pKa a stage, whether boiling drives it off."""

    name: str
    formula: str
    pkas: tuple[float, ...]
    gas: bool = False
    source: str = ""

    def __post_init__(self) -> None:
        if not self.pkas or list(self.pkas) != sorted(self.pkas) or not all(-5 < pka < 20 for pka in self.pkas):
            raise Mistake(f"the pKa values {self.pkas} of {self.name}", expected="one or more, the most acidic first")
        _require_stages(self.pkas, self.name)


@dataclass(frozen=True, slots=True)
class SparingSalt:
    """A sparingly soluble solid, its solubility product and the formulae of its ions."""

    name: str
    solid: SparingSolid
    cation: str
    anion: str
    source: str = ""


@dataclass(frozen=True, slots=True)
class IonEntry:
    """An ion or molecule in solution: the acid family it belongs to and how many protons it has lost, or its own part.

    `protons` is 1 for the hydrogen ion and -1 for the hydroxide ion. Several `acids`: one of them, unknown which. `one_of`
    are the ions that a placeholder may stand for.
    """

    formula: str
    protons: int = 0
    acids: tuple[str, ...] = ()
    lost: int = 0
    one_of: tuple[str, ...] = ()


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
class Slip:
    """A common mistake: the kind of relation it is made in, what is found there instead, how common it is, what to say and set next.

    `instead` pairs the role that is found ("amount", "" for any) with the expression's tree; a slip without any cannot be seen
    from a number, and `unseen` says why.
    """

    key: str
    name: str
    kind: str = ""
    instead: tuple[tuple[str, Tree], ...] = ()
    often: Literal["high", "medium", "low"] = "medium"
    of: tuple[str, ...] = ()
    place: tuple[str, ...] = ()
    everywhere: bool = False
    near: bool = False  # small by nature: kept out of the accepted range, but not two per cent away
    feedback: str = ""
    practice: str = ""
    unseen: str = ""


@dataclass(frozen=True, slots=True)
class LaboratoryFault:
    """Something done wrong at the bench: what is said of it, why it matters, and what it changes. No direction is stated.

    `changes` are perturbations of the experiment: (what, number); `needs` are conditions on the question, all of them.
    `indicator` is used instead of the question's own; `halves` are what the titrant should turn into and what some of it does;
    `beside` is a reaction that takes up titrant too. `rightly` is what should be done instead, `step` where that stands among the
    steps of practical work; 0 and "" for what is no step of handling.
    """

    key: str
    told: str
    cause: str
    changes: tuple[tuple[str, Decimal], ...]
    needs: tuple[str, ...] = ()
    source: str = ""
    indicator: str = ""
    halves: tuple[Reaction, ...] = ()
    beside: Reaction | None = None
    rightly: str = ""
    step: int = 0


@dataclass(frozen=True, slots=True)
class BackReason:
    """Why a substance is not titrated directly: points that each earn a mark, and what earns none."""

    analytes: tuple[str, ...]
    reagents: tuple[str, ...]  # only with these in excess; () for any
    reasons: tuple[str, ...]
    ignore: str = ""
    source: str = ""


@dataclass(frozen=True, slots=True)
class EdtaAcid:
    """EDTA with all its protons: its formula and one pKa a stage, the most acidic first."""

    formula: str
    pkas: tuple[float, ...]
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


EdtaEntry = EdtaAcid | EdtaMetal | EdtaIndicator


@dataclass(frozen=True, slots=True)
class Bank:
    """Everything that the banks state, and the fingerprint of the files it was read from."""

    substances: Mapping[str, Substance]
    reactions: tuple[ReactionEntry, ...]
    indicators: Mapping[str, Indicator]
    apparatus: tuple[Apparatus, ...]
    materials: Mapping[str, Material]
    contexts: tuple[Context, ...]
    archetypes: Mapping[str, Archetype]
    fingerprint: str
    words: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    hazards: tuple[Hazard, ...] = ()
    slips: tuple[Slip, ...] = ()
    acids: Mapping[str, AcidFamily] = field(default_factory=dict)
    sparing: tuple[SparingSalt, ...] = ()
    ions: Mapping[str, IonEntry] = field(default_factory=dict)
    solutes: Mapping[str, SoluteEntry] = field(default_factory=dict)
    faults: tuple[LaboratoryFault, ...] = ()
    back_reasons: tuple[BackReason, ...] = ()
    own: frozenset[str] = frozenset()  # keys of the archetypes that come from people's own entries
    edta: tuple[EdtaEntry, ...] = ()

    def name_of(self, formula: str) -> str:
        """The name of a substance, or its formula where the banks have no name."""
        found = self.substances.get(formula)
        return found.name if found else formula


@dataclass(frozen=True, slots=True)
class Hazard:
    """What is said on the teacher's copy of a solution from a concentration upwards, of a substance weighed, or of words told.

    Exactly one of solute (with its limit in mol dm⁻³), weighed and told is set.
    """

    solute: str
    least: Decimal
    words: str
    source: str
    weighed: str = ""
    told: str = ""

    @property
    def of(self) -> str:
        """What it speaks of."""
        return self.solute or (f"{self.weighed} that is weighed" if self.weighed else f"'{self.told}'")
