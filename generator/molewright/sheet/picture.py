"""A question and the labels of its parts come in; the picture of what was done goes out, with blanks to fill in or complete.

Every blank belongs to a step and says which part finds it. What a picture cannot show, a percentage or a molar mass, has none.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from molewright.chem.units import Unit
from molewright.derivation.worked import WorkedStep
from molewright.experiment.quantities import Name
from molewright.experiment.relations.variables import Variable
from molewright.nodes.blocks import Paragraph, Part
from molewright.nodes.figures import BarFigure, FlowFigure
from molewright.nodes.inline import Gap, Inline, Line, Maths, Text
from molewright.sheet.excess_bar import bar, bar_names
from molewright.sheet.flow import flow_blocks, flow_rows, row_blocks
from molewright.sheet.flow_places import Filled, Place, place_of
from molewright.sheet.writer import Writer

_BLANK_MM = 16.0
_TOLD_BY_A_PICTURE = (
    "describe",
    "describe portion",
    "describe titration",
)  # further parts in which a pupil tells what was done


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """The picture of one question: `parts` are the labels of the parts that find its quantities; blank or complete."""

    writer: Writer
    parts: Mapping[Name, str]
    blank: bool

    def flow(self) -> tuple[Paragraph | FlowFigure, ...]:
        """The flow of the experiment; nothing where it would tell what a part asks for."""
        return tuple(flow_blocks(self.writer, self.filled)) if self.filled else ()

    def amounts(self) -> BarFigure | None:
        """Total = reacted + left over, where there is a reagent in excess."""
        return bar(self.writer, self._told if self.blank else None)

    def before_part(self, names: set[Name], first: bool) -> tuple[Part, ...]:
        """What stands before the part that finds these: the flow before the first of the calculation, the bar before its own."""
        return (*(self._flow_parts() if first and self.filled else ()), *self._bar_part(names))

    def _flow_parts(self) -> tuple[Part, ...]:
        """The flow, row by row: a page may end between two titrations."""
        rows = flow_rows(self.writer, self.filled)
        return tuple(Part("", (), tuple(row_blocks(row)), alone=True) for row in rows)

    def _bar_part(self, names: set[Name]) -> tuple[Part, ...]:
        amounts = self.amounts()
        found = [name for name in self.parts if name in self._in_the_bar]
        if amounts is None or not found or found[0] not in names:
            return ()
        return (Part("", self.writer.words.line("bar lead"), (amounts,)),)

    # ------------------------------------------------------------ what is found

    @property
    def _in_the_bar(self) -> tuple[Name, ...]:
        return bar_names(self.writer)

    @property
    def filled(self) -> tuple[Filled, ...]:
        """Every quantity that has a place in the flow, in the order in which it is found; none where that would tell too much."""
        if any(part.kind in _TOLD_BY_A_PICTURE for part in self.writer.question.further_parts):
            return ()
        placed = list(self._placed())
        boxes = Counter((place, variable.kind, variable.subject) for variable, place in placed)
        return tuple(
            Filled(
                variable.name,
                place,
                (
                    *self._part(variable.name),
                    *self._named(variable, alone=boxes[place, variable.kind, variable.subject] == 1),
                ),
            )
            for variable, place in placed
        )

    def _placed(self) -> Iterator[tuple[Variable, Place]]:
        for name in self.parts:
            step = self._step(name)
            variable = self.writer.question.system.variables[name]
            scaled = step is not None and step.relation is not None and step.relation.kind == "scale"
            place = self._found_later(step, place_of(self.writer, variable, scaled))
            if place is not None and name not in self._in_the_bar:
                yield variable, place

    def _found_later(self, step: WorkedStep | None, place: Place | None) -> Place | None:
        """The vessel titrated later, where it is that titration which tells what a like portion before it holds."""
        if step is None or step.relation is None or place is None or step.relation.kind not in ("ratio", "total"):
            return place
        variables = self.writer.question.system.variables
        titrated = [act.vessel for act in self.writer.question.draw.variant.procedure.titrations]
        behind = {variables[name].vessel for name in step.relation.names if name != step.variable.name}
        later = [one for one in titrated if one in behind and place.vessel in titrated]
        if place.titration is not None or not later or titrated.index(later[-1]) <= titrated.index(place.vessel):
            return place
        return Place(later[-1], "last")

    def _step(self, name: Name) -> WorkedStep | None:
        """The step that finds a quantity; None for a titre that is a mean or read from a graph."""
        return self.writer.numbers.steps.get(name)

    def _told(self, name: Name) -> Line:
        """An amount of the bar with the part that finds it."""
        return (*self._part(name), self._value(name))

    def _part(self, name: Name) -> Line:
        label = self.parts.get(name, "")
        return (Text(f"{label}\N{NO-BREAK SPACE}", bold=True),) if label else ()

    def _named(self, variable: Variable, alone: bool) -> Line:
        """What it is and its blank or its value: in few words, for the box says where it is, unless the box has another like it."""
        writer, value = self.writer, self._value(variable.name)
        match variable.kind:
            case "titre":
                once = self._step(variable.name) is not None or writer.names.single_titre(
                    writer.names.titration(variable)
                )
                return writer.words.line("flow titre" if once else "flow mean titre", titre=value)
            case "amount" | "concentration":
                formula = writer.names.formula(variable)
                told = formula if isinstance(formula, tuple) else (formula,)
                return (*(told if alone else (Maths(writer.symbols.of(variable)),)), Text(": "), value)
            case "volume" if variable.stage == "total":  # of all that stands in the box, not of one of its lines
                return (Maths(writer.symbols.of(variable)), Text(": "), value)
            case _:
                return (value,)

    def _value(self, name: Name) -> Inline:
        numbers, worked, step = self.writer.numbers, self.writer.question.worked, self._step(name)
        final = step is worked.steps[-1]
        if self.blank and name in self.parts:  # what is worked out for the pupil is told
            unit = Unit.CM3 if step is None else worked.answer.unit if final else step.shown.unit
            return Gap(_BLANK_MM, numbers.unit(unit))
        if step is None:
            return numbers.amount(self.writer.question.draw.given[name], bold=True)
        return numbers.answer() if final else numbers.amount(step.shown, bold=True)
