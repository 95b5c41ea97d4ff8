"""A procedure comes in; its way as boxes and arrows goes out: a row for each vessel titrated, from its sample to its burette.

Stations follow the vessels: what is put into one stands in its box; making up, an aliquot, a gas driven over and a titration
lead on to the next box. Two titrations share a row only where they follow one another in the same vessel.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import assert_never

from molewright.chem.reaction import Reaction
from molewright.experiment import quantities
from molewright.experiment.equilibrium import Settle
from molewright.experiment.gas_volume import GasVolume
from molewright.experiment.metering import ReadPH
from molewright.experiment.procedure import (
    Add,
    Aliquot,
    Change,
    Dissolve,
    MakeUp,
    Measure,
    Operation,
    Part,
    Pass,
    React,
    Remove,
    Strength,
    Titrate,
    Warm,
    Weigh,
)
from molewright.experiment.saturating import TellProduct
from molewright.experiment.solution import Solution
from molewright.nodes.blocks import Paragraph
from molewright.nodes.figures import Apparatus, FlowBox, FlowFigure
from molewright.nodes.inline import Amount, Chem, Line, Text
from molewright.sheet.flow_places import MEASURED_WITH, Filled, Place, apparatus_of, come_or_gone
from molewright.sheet.wording import count_word, joined, listed_formulae
from molewright.sheet.writer import Writer


@dataclass(frozen=True, slots=True)
class FlowRow:
    """One row of the picture: the titrations that end it, what is said above it, and its boxes.

    `lead` is empty where the picture has one row only.
    """

    titrations: tuple[Titrate, ...]
    lead: Line
    figure: FlowFigure


@dataclass(slots=True, kw_only=True)
class _Station:
    """A box while it is being filled; `arrow` are the words on the way into it."""

    title: Line
    arrow: Line = ()
    lines: list[Line] = field(default_factory=list)
    found: list[Line] = field(default_factory=list)
    apparatus: Apparatus | None = None
    tool: Apparatus | None = None  # what brings it there
    first: Weigh | Measure | None = None  # what was put in first
    mixed: bool = False  # more than that is in it

    def put(self, what: Weigh | Measure, line: Line) -> None:
        """Put in what was weighed or measured."""
        if self.lines:
            self.mixed = True
        else:
            self.first = what
        self.lines.append(line)

    def add(self, line: Line) -> None:
        """Say what happened to it there."""
        self.lines.append(line)
        self.mixed = True


_ANOTHER = ("followed by ", "together with ")  # what a further reagent begins with in the words of a bank


def flow_blocks(writer: Writer, filled: tuple[Filled, ...] = ()) -> Iterator[Paragraph | FlowFigure]:
    """The rows of the picture in order, each under its lead."""
    for row in flow_rows(writer, filled):
        yield from row_blocks(row)


def row_blocks(row: FlowRow) -> Iterator[Paragraph | FlowFigure]:
    """One row under its lead."""
    if row.lead:
        yield Paragraph(row.lead, "lead")
    yield row.figure


def flow_rows(writer: Writer, filled: tuple[Filled, ...] = ()) -> tuple[FlowRow, ...]:
    """The picture of a question's experiment; with what is found written into it it has its apparatus drawn as well."""
    follower = _Follower(writer, filled)
    for operation in writer.question.draw.variant.procedure.operations:
        follower.see(operation)
    follower.write_in()
    return tuple(follower.rows())


def weighed_line(writer: Writer, act: Weigh) -> Line:
    """What was weighed with its mass, or how many pieces; only what it is where neither is told."""
    noun = writer.samples.noun(act).removeprefix("the ")
    mass = writer.numbers.given(quantities.mass(act.sample)) if act.weighed else None
    number = writer.question.draw.given.get(quantities.pieces(act.pieces)) if act.pieces else None
    if mass is None and number is not None:
        counted = int(number.number)
        return writer.words.line("flow pieces", number=count_word(counted), noun=act.pieces if counted == 1 else noun)
    return writer.words.line("flow mass", mass=mass, noun=noun) if mass else (Text(noun),)


def measured_line(writer: Writer, act: Measure, again: bool) -> Line:
    """What was measured with its volume; `again`: the bottle was named before."""
    volume = writer.numbers.given(act.volume)
    bottle = writer.bottles.called_again(act.solution) if again else writer.bottles.called(act.solution)
    if volume is None:
        return bottle
    named = not writer.bottles.is_analysed(act.solution) and isinstance(bottle[0], Amount)
    return writer.words.line("flow strong volume" if named else "flow volume", volume=volume, bottle=bottle)


def reagents(told: str) -> str:
    """What is put in, of the words of the stem: one reagent after another, without who did it, how and what it was for."""
    first, *others = told.split(", ")
    kept = [first.partition(" by a ")[0]]
    for one in others:
        if not one.startswith(_ANOTHER):
            break
        kept.append(one)
    return ", ".join(kept)


class _Follower:
    """Follows a procedure from vessel to vessel."""

    def __init__(self, writer: Writer, filled: tuple[Filled, ...]) -> None:
        self.writer = writer
        self.filled = filled
        self.to_find = {one.name for one in filled}
        self.draw = writer.question.draw
        self.words = writer.words
        self.vessels: dict[str, list[_Station]] = {}
        self.titrated: dict[str, list[Titrate]] = {}
        self.burettes: list[tuple[Titrate, _Station]] = []
        self.sources: dict[str, str] = {}  # the vessel that an aliquot or a gas came from
        self.poured: set[str] = set()  # bottles seen before
        self.receivers = {act.into for act in self.draw.variant.procedure.every(Pass)}

    def here(self, vessel: str) -> _Station:
        """The box that a vessel has come to."""
        if vessel not in self.vessels:
            self.vessels[vessel] = [
                _Station(title=self.words.line("flow second flask" if vessel in self.receivers else "flow flask"))
            ]
        return self.vessels[vessel][-1]

    def filling(self, vessel: str) -> _Station:
        """The box for what is done in a vessel: a new one after a titration, for nothing of it is in the burette."""
        station = self.here(vessel)
        if station.apparatus == "burette":
            station = _Station(title=self.words.line("flow same flask"), arrow=self.words.line("flow then"))
            self.vessels[vessel].append(station)
        return station

    # ------------------------------------------------------------ what is done

    def see(self, operation: Operation) -> None:
        """Put one operation where it belongs; what changes neither place nor amount is left out."""
        match operation:
            case Weigh():
                self.filling(operation.vessel).put(operation, weighed_line(self.writer, operation))
            case Measure():
                self.filling(operation.vessel).put(
                    operation, measured_line(self.writer, operation, self._again(operation.solution))
                )
            case Add() | Dissolve():
                self._put_in(operation)
            case React() | Settle():
                for line in self._reacted(operation):
                    self.filling(operation.vessel).add(line)
            case Remove() | GasVolume():
                self.filling(operation.vessel).add(come_or_gone(self.words, operation))
            case MakeUp():
                self._make_up(operation)
            case Aliquot():
                self._take(operation)
            case Pass():
                self.here(operation.into).arrow = self.words.line("flow driven over", gas=Chem(operation.species))
                self.sources[operation.into] = operation.vessel
            case Titrate():
                self._titrate(operation)
            case Warm() | Part() | Strength() | Change() | ReadPH() | TellProduct():
                pass  # neither place nor amount changes by it
            case _:
                assert_never(operation)

    def _put_in(self, act: Add | Dissolve) -> None:
        told = act.what if isinstance(act, Add) else act.solvent
        if isinstance(act, Add) or not act.solvent.endswith("water"):  # water alone changes no amount
            self.filling(act.vessel).add((Text(reagents(told)),))

    def _make_up(self, act: MakeUp) -> None:
        volume = self.writer.numbers.given(quantities.volume_made_up(act.vessel))
        flask = self.words.line("flow some volumetric flask")
        title = self.words.line("flow volumetric flask", volume=volume) if volume else flask
        self._taken_out(self.here(act.vessel))
        station = _Station(
            title=title,
            arrow=self.words.line("flow made up"),
            lines=[self.words.line("flow with water")],
            apparatus="volumetric flask",
        )
        self.vessels[act.vessel].append(station)

    def _take(self, act: Aliquot) -> None:
        volume = self.writer.numbers.given(quantities.volume_taken(act.into))
        some = self.words.line("flow some portion")
        title = self.words.line("flow portion", volume=volume) if volume else some
        tool = MEASURED_WITH.get(act.apparatus)
        self.vessels[act.into] = [_Station(title=title, arrow=self.words.line("flow pipette"), tool=tool)]
        self.sources[act.into] = act.vessel

    def _again(self, solution: Solution) -> bool:
        again = solution.name in self.poured
        self.poured.add(solution.name)
        return again

    def _reacted(self, act: React | Settle) -> Iterator[Line]:
        if isinstance(act, Settle):
            yield self.words.line("flow settled")
            return
        if unused := self.draw.variant.procedure.left_to_use(act):
            yield self.words.line("flow left over", species=Chem(unused))
            return
        lasting = self.draw.variant.procedure.lasting
        for reaction in act.reactions:
            left = _formulae(reaction, True)
            if len(left) < 2:
                continue
            made = [one for one in _formulae(reaction, False) if one in lasting]
            reacts = self.words.line("flow reacts", first=Chem(left[0]), others=listed_formulae(left[1:]))
            yield joined([*reacts, *(self.words.line("flow giving", products=listed_formulae(made)) if made else ())])

    def _titrate(self, act: Titrate) -> None:
        self.here(act.vessel)
        before = self.titrated.setdefault(act.vessel, [])
        station = _Station(
            title=self.words.line("flow burette"),
            arrow=self.words.line("flow titrate on" if before else "flow titrate"),
            apparatus="burette",
        )
        again = self._again(act.titrant)
        station.lines.append(
            self.writer.bottles.called_again(act.titrant) if again else self.writer.bottles.called(act.titrant)
        )
        titre = self.writer.numbers.given(act.titre)
        if titre is not None and act.titre not in self.to_find:
            station.lines.append(self.words.line(self._which_titre(act, bool(before)), titre=titre))
        before.append(act)
        self.burettes.append((act, station))
        self.vessels[act.vessel].append(station)

    def _which_titre(self, act: Titrate, further: bool) -> str:
        if further:
            return "flow further titre"
        both = [one for one in self.draw.variant.procedure.titrations if one.vessel == act.vessel]
        if len(both) > 1:
            return "flow first titre"
        return "flow titre" if self.writer.names.single_titre(act) else "flow mean titre"

    # ------------------------------------------------------------ rows

    def rows(self) -> Iterator[FlowRow]:
        """A row for each vessel from which nothing goes on, with the vessels that led to it; none stands in two rows."""
        ends = [vessel for vessel in self.vessels if vessel not in self.sources.values()]
        shown: set[str] = set()
        for vessel in ends:
            chain: list[str] = []
            at: str | None = vessel
            while at is not None and at not in shown:
                chain.insert(0, at)
                shown.add(at)
                at = self.sources.get(at)
            stations = [station for one in chain for station in self.vessels[one]]
            lead = self._lead(vessel, at is not None) if len(ends) > 1 else ()
            arrows = tuple(station.arrow for station in stations[1:])
            figure = self._to_complete(stations, arrows) if self.filled else self._figure(stations, arrows)
            yield FlowRow(tuple(self.titrated.get(vessel, ())), lead, figure)

    def _figure(self, stations: list[_Station], arrows: tuple[Line, ...]) -> FlowFigure:
        boxes = tuple(FlowBox(station.title, tuple(station.lines)) for station in stations)
        alt = self.words.line("flow alt", stations="; then ".join(_spoken(box.title) for box in boxes))
        return FlowFigure(boxes, arrows, "".join(_spoken((piece,)) for piece in alt))

    def _to_complete(self, stations: list[_Station], arrows: tuple[Line, ...]) -> FlowFigure:
        """The same with what is found and with apparatus; without words of its own, so that all its words are told."""
        boxes = tuple(
            FlowBox(station.title, tuple(station.lines), tuple(station.found), station.apparatus)
            for station in stations
        )
        return FlowFigure(boxes, arrows, tools=tuple(station.tool for station in stations[1:]))

    # ------------------------------------------------------------ what is found

    def write_in(self) -> None:
        """Write what is found into its boxes and choose the apparatus of those that are named by what is in them."""
        if not self.filled:
            return
        for vessel, stations in self.vessels.items():
            if stations[0].apparatus is None:
                first = stations[0]
                in_a_cone = vessel in self.titrated or vessel in self.receivers
                first.apparatus = apparatus_of(
                    self.writer, vessel, first.first, first.mixed, bool(first.lines), in_a_cone
                )
            for later in stations[1:]:
                later.apparatus = later.apparatus or stations[0].apparatus
            closed = any(act.vessel == vessel for act in self.draw.variant.procedure.settling)
            called = "bottle" if closed else stations[0].apparatus
            if called in ("beaker", "bottle") and stations[0].title == self.words.line("flow flask"):
                stations[0].title = self.words.line(f"flow {called}")
        for one in self.filled:
            self._station(one.place).found.append(one.line)

    def _station(self, place: Place) -> _Station:
        for act, burette in self.burettes:
            if act is place.titration:
                return burette
        held = [one for one in self.vessels[place.vessel] if one.apparatus != "burette"]
        return held[0] if place.when == "first" else held[-1]

    # ------------------------------------------------------------ names of boxes and rows

    def _taken_out(self, station: _Station) -> None:
        """Call a box by what is in it, not by a vessel, where nothing else than making up was done to it."""
        if station.first is None or station.mixed:
            return
        if isinstance(station.first, Weigh):
            sample = self.writer.samples.of_the_scene(station.first)
            station.title = self.words.line("flow sample" if sample else "flow solid")
        else:
            sample = self.writer.bottles.is_analysed(station.first.solution) and bool(
                self.draw.variant.procedure.titrations
            )
            station.title = self.words.line("flow sample" if sample else "flow solution")

    def _lead(self, vessel: str, shared: bool) -> Line:
        """Which titration a row is, and what links it to the rows above."""
        if vessel not in self.titrated:
            made = any(one.titrant.made_in == vessel for one in self.draw.variant.procedure.titrations)
            return self.words.line("flow for the burette" if made else "flow not titrated")
        act = self.titrated[vessel][0]
        titrations = self.draw.variant.procedure.titrations
        earlier = titrations[: titrations.index(act)]
        if act.titrant.made_in:
            key = "flow lead made"
        elif any(one.titrant.name == act.titrant.name for one in earlier):
            key = "flow lead same"
        else:
            key = "flow lead" if act.name else "flow lead only"
        titrant = self.writer.bottles.called_again(act.titrant)
        link = self.words.line("flow same solution") if shared else ()
        return joined([*self.words.line(key, name=act.name or "next", bottle=titrant), *link])


def _formulae(reaction: Reaction, left: bool) -> list[str]:
    return [member.formula.text for member in (reaction.left if left else reaction.right)]


def _spoken(line: Line) -> str:
    return "".join(
        str(piece.quantity) if isinstance(piece, Amount) else piece.text if isinstance(piece, Text) else ""
        for piece in line
    )
