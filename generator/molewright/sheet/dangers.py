"""A variant comes in; what is done in it that a hazard note may speak of goes out: words, what is there then, gases, what is weighed.

Reads the procedure and the bank. Judges no danger and writes nothing.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from molewright.bank.definitions import Bank, Hazard, Variant
from molewright.chem.formula import PLACEHOLDERS, parse_formula
from molewright.chem.reaction import Reaction
from molewright.experiment.procedure import (
    Add,
    Aliquot,
    Dissolve,
    Measure,
    Operation,
    React,
    Remove,
    Titrate,
    Warm,
    Weigh,
)
from molewright.plausibility.added import Reader

LEAST_PERCENT = 1  # of a substance in a material from which its own note is said: CLP Annex I, general cut-off value


@dataclass(frozen=True, slots=True)
class Deed:
    """Something that is done: the words that tell it, the species that are there then, the gases that it gives off."""

    words: str
    species: frozenset[str] = frozenset()
    gases: frozenset[str] = frozenset()


class Dangers:
    """What is done in the experiments of one bank."""

    def __init__(self, bank: Bank) -> None:
        self.bank, self.reader = bank, Reader(bank)

    def deeds(self, variant: Variant, indicator: str = "") -> Iterator[Deed]:
        """Everything that is done, in order, after the indicator."""
        yield Deed(indicator)
        there: dict[str, set[str]] = {}
        for operation in variant.procedure.operations:
            vessel = there.setdefault(getattr(operation, "vessel", ""), set())
            vessel |= self._poured(operation)
            if isinstance(operation, Aliquot):
                there.setdefault(operation.into, set()).update(vessel)
            yield from self._deed(operation, frozenset(vessel))

    def _poured(self, operation: Operation) -> set[str]:
        match operation:
            case Add(what=text) | Dissolve(solvent=text):
                return set(self._named(text))
            case Measure():
                return {one.species for one in (operation.solution, *operation.others)}
            case _:
                return set()

    def _named(self, text: str) -> tuple[str, ...]:
        """What words pour in; a clause with "which" tells only what became of it."""
        return self.reader.named(re.split(r", (?:at )?which\b", text)[0])

    def _deed(self, operation: Operation, there: frozenset[str]) -> Iterator[Deed]:
        match operation:
            case Add(what=text) | Dissolve(solvent=text):
                yield Deed(text, there)
            case Warm(to=text):
                yield Deed(f"warmed to {text}", there)
            case React(reactions=reactions):
                seen = (
                    entry.seen for entry in self.bank.reactions if entry.reaction == reactions[0]
                )  # as a stem tells it
                yield Deed(next(seen, ""), there | _left(reactions), _gases(reactions))
            case Remove(by_boiling=True):
                yield Deed("boiled", there)
            case Titrate(reactions=reactions):
                yield Deed("", there, _gases(reactions))
            case _:
                pass

    def helpers(self, variant: Variant) -> Iterator[tuple[str, str]]:
        """The solutions that are poured in by name alone, no strength printed: each solute with the words that tell it."""
        for operation in variant.procedure.operations:
            match operation:
                case Add(what=text) | Dissolve(solvent=text):
                    yield from ((one, text) for one in self._named(text) if self.bank.substances[one].solution)
                case _:
                    pass

    def weighed(self, variant: Variant) -> dict[str, Hazard | None]:
        """What is weighed, each with its note or None: a material where it has a note, else the substances in it.

        A note is of what lies in the bottle: a salt of two elements is neither of them, and an element in an alloy, an ore or a
        tablet is not the element by itself.
        """
        material = variant.material
        found: dict[str, Hazard | None] = {}
        for act in variant.procedure.weighings:
            own = next((note for note in self.bank.hazards if note.material == act.sample), None)
            if own is not None:
                found[own.material] = own
                continue
            for what in _in_the_bottle(act):
                if material is None or what != material.analyte or material.high >= LEAST_PERCENT:
                    found[what] = next((note for note in self.bank.hazards if note.weighed == what), None)
        return found

    def speaks_of(self, note: Hazard, deed: Deed) -> bool:
        """Whether a note is one of what is done."""
        if note.freed:
            return note.freed in deed.gases
        if not any(told_in(words, deed.words) for words in note.told):
            return False
        return not note.beside or note.beside == self._left_in(deed)

    def _left_in(self, deed: Deed) -> str:
        """What a mixture is to the skin: an acid that meets alkali in excess is none any more."""
        natures = self.reader.natures
        if any(map(natures.gives_hydroxide_ions, deed.species)):
            return "alkali"
        return "acid" if any(map(natures.is_acid, deed.species)) else ""


def _in_the_bottle(act: Weigh) -> Iterator[str]:
    """What a weighed sample has its dangers from: substances, or the sample's own name where it is but part of that an element."""
    if act.subscript:
        yield act.subscript
    elif not act.brought_by:  # what came along is in another bottle's note
        for content in act.contents:
            free = act.pure or content.species == content.substance or not _is_element(content.substance)
            yield content.substance if free else act.sample


def _is_element(substance: str) -> bool:
    """Whether a formula is one atom by itself, without charge: Cu, and neither Cu^2+ nor CuO."""
    formula = parse_formula(substance, PLACEHOLDERS)
    return not formula.charge and [count for _, count in formula.atoms] == [1]


def told_in(words: str, text: str) -> bool:
    """Whether words stand in a text, from the beginning of a word on: "warm" in "warmed", and not in "lukewarm"."""
    return words in text and re.search(rf"\b{re.escape(words)}", text) is not None


def _left(reactions: tuple[Reaction, ...]) -> frozenset[str]:
    return frozenset(member.formula.text for reaction in reactions for member in reaction.left)


def _gases(reactions: tuple[Reaction, ...]) -> frozenset[str]:
    return frozenset(member.formula.text for reaction in reactions for member in reaction.right if member.state == "g")
