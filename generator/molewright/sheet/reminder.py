"""A question comes in; its essential data in one line go out, in the words of its stem: for the top of a page on which it goes on."""

from __future__ import annotations

from molewright.experiment import quantities
from molewright.experiment.procedure import Aliquot, MakeUp, Measure, Operation, Titrate, Weigh
from molewright.experiment.quantities import Name
from molewright.experiment.solution import Solution
from molewright.nodes.inline import Amount, Inline, Line, Maths, Sign, Text
from molewright.sheet.flow import measured_line, weighed_line
from molewright.sheet.wording import joined
from molewright.sheet.writer import Writer


def reminder(writer: Writer) -> Line:
    """What is printed of the experiment, step by step, and then whatever else is known; a titre that is to be found is left out."""
    draw = writer.question.draw
    told = _Reminder(
        writer, {name for name in draw.given if name not in draw.to_find and writer.numbers.given(name) is not None}
    )
    pieces: list[Inline] = []
    for line in (*told.steps(), *told.rest()):
        pieces += [*([Text("; ")] if pieces else []), *line]
    return joined(pieces)


class _Reminder:
    """Tells every quantity once: `waiting` are the names of those not told yet."""

    def __init__(self, writer: Writer, waiting: set[Name]) -> None:
        self.writer = writer
        self.waiting = waiting
        self.poured: set[str] = set()  # bottles named before
        self.titrated: set[str] = set()  # vessels in which an end point was reached before

    def steps(self) -> list[Line]:
        """A few words for each operation with a quantity of its own."""
        told = (self._step(operation) for operation in self.writer.question.draw.variant.procedure.operations)
        return [line for line in told if line]

    def rest(self) -> list[Line]:
        """What belongs to no operation: a solution's strength, a percentage, a molar mass."""
        lines: list[Line] = []
        for name in self.writer.question.draw.given:
            amount = self.writer.numbers.given(name)
            if name not in self.waiting or amount is None:
                continue
            variable = self.writer.question.system.variables[name]
            solution = self.writer.bottles.of(variable)
            if solution is not None and variable.kind in ("concentration", "mass concentration"):
                bottle = self._bottle(solution)
                key = "reminder made" if solution.made_in else "reminder strength"
                lines.append(self.writer.words.line(key, bottle=bottle, strength=amount))
            else:
                lines.append((Maths((*self.writer.symbols.of(variable), Sign("="), amount)),))
        return lines

    def _bottle(self, solution: Solution) -> Line:
        """What a strength is of: a bottle, or a solute that another bottle holds beside its own."""
        measures = self.writer.question.draw.variant.procedure.measures
        if any(solution in act.others for act in measures):
            return (Text(self.writer.bottles.solute(solution)),)
        return self.writer.bottles.called(solution, strength=False)

    def _step(self, act: Operation) -> Line:
        match act:
            case Weigh() if self._take(quantities.mass(act.sample)) or (
                act.pieces and self._take(quantities.pieces(act.pieces))
            ):
                return weighed_line(self.writer, act)
            case Measure() if self._take(act.volume) or (act.like and self.writer.numbers.given(act.volume)):
                return measured_line(self.writer, act, self._again(act.solution))
            case MakeUp() if self._take(quantities.volume_made_up(act.vessel)):
                volume = self.writer.numbers.given(quantities.volume_made_up(act.vessel))
                return self.writer.words.line("reminder made up", volume=volume or "")
            case Aliquot() if self._take(quantities.volume_taken(act.into)):
                volume = self.writer.numbers.given(quantities.volume_taken(act.into))
                return self.writer.words.line("reminder portions", volume=volume or "")
            case Titrate():
                return self._titration(act)
            case _:
                return ()

    def _titration(self, act: Titrate) -> Line:
        again = self._again(act.titrant)
        bottle = self.writer.bottles.called_again(act.titrant) if again else self.writer.bottles.called(act.titrant)
        titre = self.writer.numbers.given(act.titre) if self._take(act.titre) else None
        if titre is None:
            return bottle if not again and any(isinstance(piece, Amount) for piece in bottle) else ()
        key = "reminder titration" if act.name else "reminder titre"
        if act.vessel in self.titrated:
            key = "reminder further"
        self.titrated.add(act.vessel)
        return self.writer.words.line(key, name=act.name, bottle=bottle, titre=titre)

    def _again(self, solution: Solution) -> bool:
        """Whether a bottle was named before; the first time its strength is told with it, but for what is analysed."""
        again = solution.name in self.poured
        self.poured.add(solution.name)
        if not self.writer.bottles.is_analysed(solution) and not solution.made_in:
            strength = self.writer.numbers.given(quantities.concentration(solution.name))
            self._take(
                quantities.concentration(solution.name) if strength else quantities.mass_concentration(solution.name)
            )
        return again

    def _take(self, name: Name) -> bool:
        if name not in self.waiting:
            return False
        self.waiting.remove(name)
        return True
