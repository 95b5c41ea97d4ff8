"""Lines of a procedure come in; the equation of a titration that stands on a line 'react' of its own goes out with its titration.

Teachers write it before the titration or after it. It is no reaction that goes to its end in the flask: the titrant is run in.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from molewright.bank.readers.operation_lines import line_of, parted, text_under, with_texts
from molewright.bank.readers.reacting import OF_THE_TITRATION
from molewright.bank.readers.teachers_formulae import TeachersFormulae
from molewright.chem.formula import PLACEHOLDERS
from molewright.chem.reaction import Reaction, parse_reaction
from molewright.errors import Mistake
from molewright.experiment.quantities import FLASK, PORTION
from molewright.reading.yaml_text import Branch, Keys, Listing, Scalar

_TWO = 2


def titrants(lines: Sequence[Branch]) -> dict[int, str]:
    """What each titration runs in, by the place of its line."""
    found = {}
    for at, line in enumerate(lines):
        word, held = parted(line)
        if word == "titrate" and isinstance(held, Keys):
            found[at] = text_under(held, "with")
    return found


def with_equations(lines: Sequence[Branch], formulae: TeachersFormulae) -> list[Branch]:
    """The lines, each equation that is a titration's own given to that; its line is marked so and keeps its place."""
    own = _Equations(lines, formulae)
    own.give()
    return own.lines


class _Equations:
    """The lines on their way."""

    def __init__(self, lines: Sequence[Branch], formulae: TeachersFormulae) -> None:
        self.lines, self.formulae = list(lines), formulae
        self.given: dict[int, list[str]] = {}  # equations that were moved to a titration, by its place

    def give(self) -> None:
        """Move each equation that is a titration's own from its line 'react' to the titration, the next one first."""
        run_in = titrants(self.lines)
        for at, line in enumerate(self.lines):
            equation = self._equation(line)
            if equation is None:
                continue
            text, reaction = equation
            nearest_first = [*(one for one in run_in if one > at), *reversed([one for one in run_in if one < at])]
            own = next((one for one in nearest_first if self._is_of(reaction, one, run_in[one], at)), None)
            if own is None:
                continue
            titration, react = parted(self.lines[own])[1], parted(line)[1]
            assert isinstance(titration, Keys)
            assert react is not None
            if own in self.given or not {"reaction", "ratio of"} & set(titration.members):
                self.given.setdefault(own, []).append(text)
                equations = Listing(tuple(Scalar(one, line.where) for one in self.given[own]), line.where)
                several = replace(titration, members={**titration.members, "reaction": equations})
                self.lines[own] = line_of(self.lines[own], "titrate", several)
            self.lines[at] = line_of(line, "react", with_texts(react, {"reaction": text, OF_THE_TITRATION: "yes"}))

    def _equation(self, line: Branch) -> tuple[str, Reaction] | None:
        word, held = parted(line)
        if isinstance(held, Keys) and set(held.members) <= {"reaction", "vessel"}:
            held = held.members.get("reaction")
        if word != "react" or not isinstance(held, Scalar):
            return None
        try:
            return held.text, parse_reaction(held.text, PLACEHOLDERS)
        except Mistake:
            return None

    def _is_of(self, reaction: Reaction, titration: int, titrant: str, at: int) -> bool:
        """Whether the titrant is used up by an equation, is nothing that a line before it put in, and has no other equation."""
        left = {member.formula.text for member in reaction.left}
        run_in = {one for one in left if self.formulae.brings(titrant, one)}
        if not run_in or len(self.formulae.without_helpers(left)) > _TWO or not self._reaches(at, titration):
            return False
        held = parted(self.lines[titration])[1]
        written = held.members.get("reaction") if isinstance(held, Keys) else None
        if written is not None and titration not in self.given and not self._says(written, left):
            return False
        return not any(self.formulae.brings(one, species) for one in self._put_in(at) for species in run_in)

    def _reaches(self, at: int, titration: int) -> bool:
        """Whether a titration is one of what is in the vessel of a line, or of a portion of it."""
        here, places, portions = FLASK, [], {}
        for line in self.lines:
            word, held = parted(line)
            keys = held if isinstance(held, Keys) else Keys({}, {}, line.where)
            source = text_under(keys, "from") or here
            into = text_under(keys, "into") or (PORTION if word == "take aliquot" else "")
            if into and word == "take aliquot":
                portions[into] = source
            places.append(text_under(keys, "vessel") or into or here)
            here = into or here
        vessel = places[titration]
        seen = {vessel}
        while vessel in portions and portions[vessel] not in seen:
            vessel = portions[vessel]
            seen.add(vessel)
        return places[at] in seen

    def _says(self, written: Branch, left: set[str]) -> bool:
        """Whether an equation of a titration uses up the same."""
        texts = written.members if isinstance(written, Listing) else (written,)
        for text in texts:
            try:
                read = parse_reaction(text.text, PLACEHOLDERS) if isinstance(text, Scalar) else None
            except Mistake:
                continue
            if read is not None and {member.formula.text for member in read.left} == left:
                return True
        return False

    def _put_in(self, at: int) -> Iterator[str]:
        for line in self.lines[:at]:
            word, held = parted(line)
            if isinstance(held, Keys) and word != "titrate":
                yield from filter(None, (text_under(held, key) for key in ("solution", "contains", "what")))
            elif isinstance(held, Scalar) and word == "add":
                yield self.formulae.spelt(held.text)
