"""A formula or a name as a teacher types it comes in; one that the readers of formulae take goes out: Fe2+ as Fe^2+.

A charge without ^ is read where only one of its readings is a species of the banks, or none is and one is a cation of one atom; else
the text stays as it is.
"""

from __future__ import annotations

import re
from collections.abc import Collection
from functools import cached_property

from molewright.bank.readers.described import Chemicals
from molewright.chem.formula import ELEMENTS, PLACEHOLDERS, parse_formula
from molewright.chem.masses import element_name
from molewright.chem.reaction import HELPERS
from molewright.errors import Mistake

_CHARGED = re.compile(r"(?P<body>[A-Z(\[][A-Za-z0-9()\[\]]*?)(?P<size>[0-9])(?P<sign>[+-])(?=$|[\s,(])")
_DRESS = re.compile(r"^(?:an |a |the )?(?:(?:excess|dilute|aqueous|standard|acidified|concentrated) )*")
_TAIL = re.compile(r"(?: solution| ions?|\s*\(aq\))$")


class TeachersFormulae:
    """Formulae and names of one bank, as people type them."""

    def __init__(self, chemicals: Chemicals) -> None:
        self.chemicals = chemicals

    @cached_property
    def _known(self) -> frozenset[str]:
        """Every species that the banks have, by the one spelling of its formula."""
        inside = {member.formula.text for entry in self.chemicals.reactions for member in entry.reaction.terms}
        return frozenset(inside | self.chemicals.substances.keys() | self.chemicals.in_water.ions.keys())

    def in_an_equation(self, text: str) -> str:
        """A text with each charge in it set off where the banks leave one reading."""
        return _CHARGED.sub(self._reading, text)

    def _reading(self, match: re.Match[str]) -> str:
        body, size, sign = match["body"], match["size"], match["sign"]
        ways = (f"{body}^{size}{sign}", f"{body}{size}^{sign}")
        known = [one for one in ways if self.formula(one) in self._known]
        if not known and sign == "+" and body in ELEMENTS:  # Sn2+: two atoms with one charge stand in no textbook
            known = [ways[0]]
        return parse_formula(known[0]).text if len(known) == 1 else match[0]

    def spelt(self, text: str) -> str:
        """A formula with its charge set off, or a name without 'dilute' and 'solution' where the banks know the rest."""
        plain = " ".join(text.split())
        if self.chemicals.called(plain):
            return plain
        bare = _TAIL.sub("", _DRESS.sub("", plain))
        for one in (bare, bare.lower(), f"{bare} ions", f"{bare} solution"):
            if self.chemicals.called(one):
                return one
        read = self.in_an_equation(bare)
        return read if self.formula(read) is not None else self.in_an_equation(plain)

    def formula(self, text: str, placeholders: frozenset[str] = frozenset()) -> str | None:
        """The one spelling of a formula or of what a name stands for; None for what is neither."""
        called = self.chemicals.called(text)
        if called:
            return called
        try:
            read = parse_formula(text, placeholders).text
        except Mistake:
            return None
        return self.chemicals.called(read) or read

    def forms(self, text: str) -> set[str]:
        """Every form in which an equation may write a substance; none for what is no substance."""
        formula = self.formula(text)
        if formula is None:
            return set()
        known = self.chemicals.forms
        return {formula, *(species for _, species in known.of(formula))} if known is not None else {formula}

    def brings(self, text: str, species: str) -> bool:
        """Whether a substance may be what an equation writes as a species: itself, one of its ions, or an ion of its atoms."""
        if species in self.forms(text):
            return True
        formula, known = self.formula(text), self.chemicals.forms
        charged = parse_formula(species, PLACEHOLDERS).charge
        return bool(charged and formula and known is not None and known.by_atoms(formula, species))

    def without_helpers(self, species: Collection[str]) -> set[str]:
        """The species that react with each other: without water, and without strong acids and alkalis where two others are left."""
        acting = set(species) - HELPERS
        others = {one for one in acting if not self.chemicals.in_water.protons_of(one)}
        return others if len(others) > 1 else acting

    def alike(self, text: str, content: str) -> bool:
        """Whether two are one substance, or the same atoms with or without a charge: iron and Fe^2+."""
        formulae = [self.formula(self.spelt(one)) or self._element(one) or self._ion(one) for one in (text, content)]
        if None in formulae:
            return False
        try:
            first, second = (dict(parse_formula(str(one)).atoms) for one in formulae)
        except Mistake:
            return False
        return first == second

    def element_of(self, text: str, content: str) -> str:
        """The symbol of an element that a word means, or of one whose ion it means, where a substance of several holds it; else ""."""
        symbol = text if text in ELEMENTS else self._element(text) or self._of_one_element(text)
        formula = self.formula(self.spelt(content))
        if symbol is None or formula is None:
            return ""
        atoms = dict(parse_formula(formula, PLACEHOLDERS).atoms)
        return symbol if symbol in atoms and len(atoms) > 1 else ""

    def _of_one_element(self, text: str) -> str | None:
        """The symbol of the element of an ion that holds one only: Cl of chloride."""
        formula = self.formula(self.spelt(text))
        read = parse_formula(formula, PLACEHOLDERS) if formula else None
        return read.atoms[0][0] if read is not None and read.charge and len(read.atoms) == 1 else None

    def is_element(self, text: str) -> bool:
        """Whether a word is the name of an element."""
        return self._element(text) is not None

    def _element(self, text: str) -> str | None:
        word = text.casefold()
        return next((one for one in ELEMENTS if word.isalpha() and element_name(one) == word), None)

    def _ion(self, text: str) -> str | None:
        """The anion that is called so in the names of the salts of the banks: Br^- of bromide ions, by potassium bromide."""
        word = _TAIL.sub("", text).casefold()
        return next(iter(self._anions[word])) if len(self._anions.get(word, ())) == 1 else None

    @cached_property
    def _anions(self) -> dict[str, set[str]]:
        found: dict[str, set[str]] = {}
        known = self.chemicals.forms
        for formula, substance in self.chemicals.substances.items():
            for _, one in known.apart(formula) if known is not None else ():
                if parse_formula(one, PLACEHOLDERS).charge < 0:
                    found.setdefault(substance.name.split()[-1].casefold(), set()).add(one)
        return found
