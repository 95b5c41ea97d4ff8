"""What a quantity is comes in (its kind, of what, where); its name goes out, a frozen value whose text is made on demand.

Two quantities are one where their names are one: nothing is told from a text, and no text is taken apart. Only at the edges is a name
text (`quantity_texts`).
"""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from threading import Lock
from weakref import WeakValueDictionary

from molewright.experiment.plain_texts import PLAIN
from molewright.experiment.quantity_kinds import Kind

FLASK = "flask"
PORTION = "portion"

_KEPT = 4096  # names that are at hand without a look at their fields

_Fields = tuple[Kind, str, str, str, str, str, int]
_known: WeakValueDictionary[_Fields, Name] = WeakValueDictionary()
_making = Lock()


class Name:
    """The name of a quantity: its kind, of what (a formula, a bottle, a sample), where, and at which stage of the procedure.

    `source` is the bottle or the substance that an amount comes from, where several bring the same; `note` what a quantity is for
    that is like another one and stands on another route; `again` counts the sums of one vessel. Names with the same fields are the
    same object, so that they are compared and looked up as quickly as can be. They are ordered by their texts.
    """

    __slots__ = ("__weakref__", "_text", "again", "kind", "note", "place", "source", "stage", "subject")

    kind: Kind
    subject: str
    place: str
    stage: str
    source: str
    note: str
    again: int
    _text: str

    def __new__(
        cls,
        kind: Kind,
        subject: str = "",
        place: str = "",
        stage: str = "",
        *,
        source: str = "",
        note: str = "",
        again: int = 0,
    ) -> Name:
        """The one name with these fields."""
        fields = (kind, subject, place, stage, source, note, again)
        found = _known.get(fields)
        if found is None:
            with _making:
                found = _known.get(fields)
                if found is None:
                    found = object.__new__(cls)
                    for slot, value in zip(SLOTS, fields, strict=True):
                        object.__setattr__(found, slot, value)
                    object.__setattr__(found, "_text", "")
                    _known[fields] = found
        return found

    def __setattr__(self, slot: str, value: object) -> None:
        raise AttributeError(f"a name is frozen: {slot} cannot be set")

    def __delattr__(self, slot: str) -> None:
        raise AttributeError(f"a name is frozen: {slot} cannot be taken out")

    def __reduce__(self) -> tuple[Callable[..., Name], _Fields]:
        return _made_again, self.fields

    @property
    def fields(self) -> _Fields:
        """Everything that tells it from another name."""
        return self.kind, self.subject, self.place, self.stage, self.source, self.note, self.again

    @property
    def text(self) -> str:
        """The name in words: "amount of HCl left over in flask"."""
        if not self._text:
            object.__setattr__(self, "_text", _worded(self))
        return self._text

    @property
    def what(self) -> str:
        """What it is, whatever it is of: "percentage" for any substance in any sample."""
        return _WHAT.get((self.kind, self.stage)) or PLAIN.get(self.kind, self.kind).partition(" of ")[0].format(self)

    def __str__(self) -> str:
        return self.text

    def __repr__(self) -> str:
        return f"<{self.text}>"

    def __lt__(self, other: Name) -> bool:
        return (self.text, self.fields) < (other.text, other.fields)


SLOTS = ("kind", "subject", "place", "stage", "source", "note", "again")


def _made_again(kind: Kind, subject: str, place: str, stage: str, source: str, note: str, again: int) -> Name:
    return Name(kind, subject, place, stage, source=source, note=note, again=again)


# ------------------------------------------------------------------ texts


def _worded(name: Name) -> str:
    text = PLAIN[name.kind].format(name) if name.kind in PLAIN else _STAGED[name.kind](name)
    return text + ", again" * name.again + (f", {name.note}" if name.note else "")


def _of_amount(name: Name) -> str:
    of = f"amount of {name.subject}"
    match name.stage:
        case "sample" | "flask" | "portion":
            return (
                f"amount of {name.subject} from {name.source} in {name.place}"
                if name.source
                else f"{of} in {name.place}"
            )
        case "titre":
            return f"{of} in titre" + _named(name.place)
        case "electrons":
            return f"amount of electrons taken by {name.source}"
        case "from 1 dm³":
            return f"{of} from 1 dm3 of {name.source}"
        case "together":
            return f"{of} together"
        case "added" if name.source:
            return f"{of} from {name.source} added in {name.place}"
        case "formed" if name.source:
            return f"{of} formed from {name.source} in {name.place}"
        case stage:
            return f"{of} {stage} in {name.place}"


def _of_volume(name: Name) -> str:
    match name.stage:
        case "made up":
            return "made-up volume" if name.place == FLASK else f"made-up volume of {name.place}"
        case "aliquot":
            return "volume of aliquot" if name.place == PORTION else f"volume of aliquot in {name.place}"
        case "total":
            return f"total volume in {name.place}"
        case "added":
            of = f"volume of {name.subject}"
            return of if name.place in ("", FLASK) else f"{of} in {name.place}"
        case stage:
            return f"volume of {name.subject} {stage}".rstrip()


_STAGED: dict[Kind, Callable[[Name], str]] = {
    "amount": _of_amount,
    "volume": _of_volume,
    "titre": lambda name: f"titre of {name.subject}" + _named(name.place),
    "bottle mass": lambda name: f"mass of bottle {'emptied of' if name.stage == 'emptied' else 'with'} {name.subject}",
    "concentration": lambda name: f"concentration of {name.subject}" + (f" in {name.place}" if name.place else ""),
}


_WHAT: dict[tuple[Kind, str], str] = {
    ("volume", "made up"): "made-up volume",
    ("bottle mass", "full"): "mass",
    ("bottle mass", "emptied"): "mass",
}


def _named(titration: str) -> str:
    return f", {titration}" if titration else ""


# ------------------------------------------------------------------ samples and substances


@lru_cache(_KEPT)
def mass(sample: str) -> Name:
    """Mass of a sample as weighed, in g."""
    return Name("mass", sample)


@lru_cache(_KEPT)
def bottle_mass(sample: str, emptied: bool) -> Name:
    """Mass of the weighing bottle before or after a sample was tipped out of it, in g."""
    return Name("bottle mass", sample, "", "emptied" if emptied else "full")


@lru_cache(_KEPT)
def mass_within(substance: str, sample: str) -> Name:
    """Mass of a substance in a sample, in g."""
    return Name("mass within", substance, sample)


@lru_cache(_KEPT)
def percentage(substance: str, sample: str) -> Name:
    """Percentage by mass of a substance in a sample."""
    return Name("percentage", substance, sample)


@lru_cache(_KEPT)
def impurity_mass(sample: str) -> Name:
    """Mass of what is not the substance sought in a sample, in g."""
    return Name("impurity mass", "", sample)


@lru_cache(_KEPT)
def impurity(sample: str) -> Name:
    """Percentage by mass of what is not the substance sought in a sample."""
    return Name("impurity", "", sample)


@lru_cache(_KEPT)
def mass_each(substance: str, piece: str) -> Name:
    """Mass of a substance in each piece, in g."""
    return Name("mass each", substance, piece)


@lru_cache(_KEPT)
def mass_per_gram(substance: str, sample: str) -> Name:
    """Mass of a substance for each gram of a sample, in mg g⁻¹."""
    return Name("mass per gram", substance, sample)


@lru_cache(_KEPT)
def factor(product: str) -> Name:
    """How many grams of something are counted for each gram that was found: protein for nitrogen."""
    return Name("factor", product)


@lru_cache(_KEPT)
def pieces(piece: str) -> Name:
    """Number of pieces (tablets)."""
    return Name("pieces", piece)


@lru_cache(_KEPT)
def molar_mass(substance: str) -> Name:
    """Molar mass, in g mol⁻¹."""
    return Name("molar mass", substance)


@lru_cache(_KEPT)
def water(substance: str) -> Name:
    """Moles of water of crystallisation in a mole of a hydrate."""
    return Name("water", substance)


@lru_cache(_KEPT)
def subscript(formula: str) -> Name:
    """The unknown number x in the formula of a salt of two elements: FeClx."""
    return Name("subscript", formula)


@lru_cache(_KEPT)
def atomic_mass(symbol: str) -> Name:
    """Relative atomic mass of an unknown element, by the letter that stands for it."""
    return Name("atomic mass", symbol)


@lru_cache(_KEPT)
def substance_amount(substance: str, sample: str) -> Name:
    """Amount of a substance in a sample, in mol, where the species in solution is another."""
    return Name("amount", substance, sample, "sample")


@lru_cache(_KEPT)
def oxidation_state(element: str, after: bool) -> Name:
    """Oxidation state of an element before or after a titration that oxidises it."""
    return Name("oxidation state", element, "", "after" if after else "before")


# ------------------------------------------------------------------ solutions


@lru_cache(_KEPT)
def concentration(solution: str) -> Name:
    """Concentration of a solution's solute, in mol dm⁻³."""
    return Name("concentration", solution)


@lru_cache(_KEPT)
def mass_concentration(solution: str) -> Name:
    """Mass concentration of a solution's solute, in g dm⁻³."""
    return Name("mass concentration", solution)


@lru_cache(_KEPT)
def mass_in(volume_cm3: int, solution: str) -> Name:
    """Mass of a solution's solute in some cm³ of it, in g."""
    return Name("mass in volume", solution, "", f"{volume_cm3} cm3")


@lru_cache(_KEPT)
def volume_strength(solution: str) -> Name:
    """Volumes of gas that one volume of a solution gives off."""
    return Name("volume strength", solution)


@lru_cache(_KEPT)
def normality(solution: str) -> Name:
    """The concentration of a solution times the protons or electrons that one formula unit of its solute stands for."""
    return Name("normality", solution)


@lru_cache(_KEPT)
def density(solution: str) -> Name:
    """Density of a solution, in g cm⁻³."""
    return Name("density", solution)


@lru_cache(_KEPT)
def percentage_by_mass(solution: str) -> Name:
    """Percentage by mass of a solution's solute in it."""
    return Name("percentage by mass", solution)


MOLAR_VOLUME = Name("molar volume")


# ------------------------------------------------------------------ volumes and amounts


@lru_cache(_KEPT)
def volume_measured(solution: str, vessel: str) -> Name:
    """Volume of a solution measured into a vessel, in cm³."""
    return Name("volume", solution, vessel, "added")


@lru_cache(_KEPT)
def volume_made_up(vessel: str) -> Name:
    """Volume to which a vessel's solution is made up, in cm³."""
    return Name("volume", "", vessel, "made up")


@lru_cache(_KEPT)
def volume_held(vessel: str) -> Name:
    """Volume of what several solutions make together in a vessel that is not made up, in cm³."""
    return Name("volume", "", vessel, "total")


@lru_cache(_KEPT)
def volume_taken(vessel: str) -> Name:
    """Volume of the aliquot taken into a vessel, in cm³."""
    return Name("volume", "", vessel, "aliquot")


@lru_cache(_KEPT)
def titre(solution: str, titration: str) -> Name:
    """The mean titre of a titration with a solution, in cm³; titrations have names where there are several."""
    return Name("titre", solution, titration)


@lru_cache(_KEPT)
def titrant_amount(species: str, titration: str) -> Name:
    """Amount of titrant species delivered, in mol."""
    return Name("amount", species, titration, "titre")


@lru_cache(_KEPT)
def amount(species: str, vessel: str, stage: str, source: str = "") -> Name:
    """Amount of a species in a vessel, in mol; `stage` is "added", "reacted", "left over", "portion" or another one."""
    return Name("amount", species, vessel, stage, source=source)


@lru_cache(_KEPT)
def excess_share(species: str) -> Name:
    """By how much more than reacts a species is there, as a percentage of what reacts."""
    return Name("excess", species)


# ------------------------------------------------------------------ names that stand beside another one


def once_more(name: Name) -> Name:
    """The same once more: a vessel was summed up before, and something came in since."""
    return Name(
        name.kind, name.subject, name.place, name.stage, source=name.source, note=name.note, again=name.again + 1
    )


def noted(name: Name, note: str) -> Name:
    """The quantity that is like another one, but for what the note says."""
    return Name(name.kind, name.subject, name.place, name.stage, source=name.source, note=note, again=name.again)


def brought_by(name: Name, source: str) -> Name:
    """The same amount, of what one substance or bottle brings."""
    return Name(name.kind, name.subject, name.place, name.stage, source=source, note=name.note, again=name.again)
