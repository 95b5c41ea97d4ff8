"""The opening text of a question: the scene, what was done in the laboratory, the equations and the burette readings."""

from __future__ import annotations

from generator.bank.definitions import ReactionEntry
from generator.chem.quantity import Quantity, half_up
from generator.chem.reaction import Reaction
from generator.question import procedure as names
from generator.question.judgement.extras import INDICATOR_CHOICE
from generator.question.judgement.reading import BurettePicture
from generator.question.procedure import (
    Aliquot,
    Dissolve,
    MakeUp,
    Measure,
    Operation,
    Pass,
    React,
    Remove,
    Solution,
    Titrate,
    Weigh,
)
from generator.sheet.nodes import Block, Cell, Chem, Inline, Line, Maths, Paragraph, Sign, Table, Text
from generator.sheet.voice import Voice, count_word, equation
from generator.sheet.words import capitalised, joined


def stem(voice: Voice, equations: int, complete_table: bool) -> tuple[Block, ...]:
    """The blocks of a stem: prose, so many of the equations, and the table of readings where there is one."""
    draw = voice.question.draw
    prose = [(Text(draw.context.opening),), *_Teller(voice).tell()]
    blocks: list[Block] = [Paragraph(_running(prose))]
    for reaction in reactions(voice)[:equations]:
        blocks.append(Paragraph((equation(reaction),), "centred"))
    if draw.runs:
        blocks.append(titre_table(voice, filled=not complete_table))
    return tuple(blocks)


def reactions(voice: Voice) -> tuple[Reaction, ...]:
    """The equations of the experiment, each once, in the order of the procedure."""
    found: dict[Reaction, None] = {}
    for operation in voice.question.draw.variant.procedure.operations:
        if isinstance(operation, React | Titrate):
            found.update(dict.fromkeys(operation.reactions))
    return tuple(found)


def reminder(voice: Voice) -> Line:
    """The essential data in one line, for a question that runs over a page."""
    system = voice.question.system
    draw = voice.question.draw
    hidden = names.titre(draw.variant.procedure.titrations[-1]) if draw.runs else ""  # its mean is asked for
    pieces: list[Inline] = []
    for name in draw.given:
        amount = voice.given(name)
        if amount is not None and name != hidden:
            pieces += [
                Text("; ") if pieces else Text(""),
                Maths((*voice.symbol(system.variables[name]), Sign("="), amount)),
            ]
    return joined(pieces)


def titre_table(voice: Voice, filled: bool) -> Table:
    """Burette readings by run; the row of titres is left blank for the pupil unless `filled`."""
    draw = voice.question.draw
    unit = voice.unit("cm³")
    head = (Cell(((Text(f"Burette reading / {unit}"),),), head=True), *(
        Cell(((Text("Rough" if run.rough else str(number)),),), head=True, align="centre") for number, run in enumerate(draw.runs)
    ))  # fmt: skip

    read = _run_in_a_figure(voice)

    def row(label: str, readings: list[str]) -> tuple[Cell, ...]:
        return (Cell(((Text(label),),), head=True), *(Cell(((Text(text),),), align="centre") for text in readings))

    def two(exact: object) -> str:
        return str(half_up(exact, 2))  # type: ignore[arg-type]

    rows = [
        row("final", ["" if index == read else two(run.final) for index, run in enumerate(draw.runs)]),
        row("initial", ["" if index == read else two(run.initial) for index, run in enumerate(draw.runs)]),
        row(f"titre / {unit}", [two(run.titre) if filled else "" for run in draw.runs]),
    ]
    if not filled:
        rows.append(row(voice.words.text("tick row"), ["" for _ in draw.runs]))
    share = 0.34 / 0.85
    widths = (share, *([(1 - share) / len(draw.runs)] * len(draw.runs)))
    return Table(widths, head, tuple(rows), width=0.85, summary="Burette readings of each run")


def _run_in_a_figure(voice: Voice) -> int | None:
    """The run whose readings a pupil takes from a figure instead of the table."""
    shown = (picture for part in voice.question.extras for picture in part.shown)
    return next((picture.run for picture in shown if isinstance(picture, BurettePicture)), None)


def _running(sentences: list[Line]) -> Line:
    line: list[Inline] = []
    for sentence in sentences:
        if line:
            line.append(Text(" "))
        line.extend(sentence)
    return joined(line)


class _Teller:
    """Tells a procedure as prose, one sentence an operation, remembering what was just seen to happen."""

    def __init__(self, voice: Voice) -> None:
        self.voice = voice
        self.say = voice.say
        self.draw = voice.question.draw
        self.operations = self.draw.variant.procedure.operations
        self.seen: Line = ()
        self.sentences: list[Line] = []

    def tell(self) -> list[Line]:
        """The sentences in order."""
        for index, operation in enumerate(self.operations):
            match operation:
                case Weigh():
                    self._weigh(operation)
                case Dissolve():
                    self.sentences.append(self.say("dissolve", solvent=operation.solvent))
                case Measure():
                    self._measure(operation, self.operations[index + 1 :])
                case React():
                    self.seen = self._seen(operation)
                case MakeUp():
                    self._make_up(operation, self.operations[:index])
                case Aliquot():
                    self._aliquot(operation)
                case Titrate():
                    self._titrate(operation, self.operations[:index])
                case Remove() | Pass():
                    pass
        return self.sentences

    def _weigh(self, act: Weigh) -> None:
        voice, material = self.voice, self.draw.variant.material
        mass = voice.given(names.mass(act.sample)) if act.weighed else None
        key = "weigh pure" if act.pure else "weigh"
        substance = act.contents[0].substance
        noun = material.noun if material else voice.bank.name_of(substance)
        if substance in self.draw.variant.unknown or substance.endswith(".xH2O"):
            noun = voice.sample().removeprefix("the ")
            key = "weigh"
        slots: dict[str, str | Inline | Line] = {
            "noun": noun,
            "mass": mass or "",
            "pieces": f"{act.pieces}s",
            "number": "",
        }
        if act.pieces:
            number = self.draw.given.get(names.pieces(act.pieces))
            counted = int(number.number) if number else 0
            slots["number"] = count_word(counted)
            slots["pieces"] = act.pieces if counted == 1 else f"{act.pieces}s"
            key = "weigh pieces" if mass else "weigh pieces counted" if not act.weighed else "weigh pieces hidden"
        elif mass is None:
            key += " hidden"
        self.sentences.append(self.say(key, **slots))
        self._composition(act)

    def _composition(self, act: Weigh) -> None:
        voice = self.voice
        for content in act.contents:
            slots: dict[str, str | Inline | Line] = {
                "sample": voice.sample(),
                "analyte": voice.bank.name_of(content.substance),
                "piece": act.pieces,
            }
            share = voice.given(names.percentage(content.substance, act.sample))
            within = voice.given(names.mass_within(content.substance, act.sample))
            molar = voice.given(names.molar_mass(content.substance))
            each = voice.given(names.mass_each(content.substance, act.pieces)) if act.pieces else None
            if share:
                self.sentences.append(self.say("holds", percentage=share, **slots))
            if each:
                self.sentences.append(self.say("holds each", mass_each=each, **slots))
            if within:
                self.sentences.append(self.say("holds mass", mass_within=within, **slots))
            if molar:
                self.sentences.append(self.say("molar mass given", molar_mass=molar, **slots))

    def _measure(self, act: Measure, rest: tuple[Operation, ...]) -> None:
        voice = self.voice
        self._strength(act.solution)
        volume = voice.given(names.volume_measured(act.solution.name, act.vessel))
        if act.excess:
            key = "excess"
        else:
            made_up = any(isinstance(op, MakeUp) and op.vessel == act.vessel for op in rest)
            key = "measure" if made_up else "measure portion"
        self.sentences.append(
            self.say(
                key if volume else f"{key} hidden",
                volume=volume or "",
                bottle=voice.bottle(act.solution),
                apparatus=act.apparatus,
            )
        )

    def _strength(self, solution: Solution) -> None:
        """Say how strong the analysed solution is, where that is not what is asked."""
        if self.voice.is_analysed(solution) and self.voice.strength(solution):
            named = self.voice.named_bottle(solution)
            self.sentences.append(self.say("strength", sample=self.voice.sample(), bottle=named))

    def _seen(self, act: React) -> Line:
        entry = self._entry(act.reactions[0])
        return (Text(entry.seen),) if entry and entry.seen else self.say("reacted")

    def _entry(self, reaction: Reaction) -> ReactionEntry | None:
        return next((entry for entry in self.voice.bank.reactions if entry.reaction == reaction), None)

    def _make_up(self, act: MakeUp, before: tuple[Operation, ...]) -> None:
        volume = self.voice.given(names.volume_made_up(act.vessel))
        hidden = "" if volume else " hidden"
        if self.seen:
            rest = self.say(f"make up{hidden}", volume=volume or "")
            self.sentences.append(joined([*capitalised(self.seen), Text(", "), *rest]))
            self.seen = ()
        elif isinstance(before[-1], Measure):
            self.sentences.append(self.say(f"dilute{hidden}", volume=volume or ""))
        else:
            self.sentences.append(self.say(f"make up alone{hidden}", volume=volume or ""))

    def _aliquot(self, act: Aliquot) -> None:
        volume = self.voice.given(names.volume_taken(act.into))
        if volume is None:
            self.sentences.append(self.say("aliquot hidden"))
        elif self.seen:
            self.sentences.append(self.say("aliquot after reaction", seen=self.seen, volume=volume))
            self.seen = ()
        else:
            self.sentences.append(self.say("aliquot", volume=volume))

    def _titrate(self, act: Titrate, before: tuple[Operation, ...]) -> None:
        voice = self.voice
        self._strength(act.titrant)
        bottle = voice.bottle(act.titrant)
        indicator: Line = ()
        chosen_by_pupil = INDICATOR_CHOICE in self.draw.archetype.extras
        if self.draw.indicator and not chosen_by_pupil and act is self.draw.variant.procedure.titrations[-1]:
            indicator = (Text(" "), *self.say("with indicator", indicator=self.draw.indicator))
        slots: dict[str, str | Inline | Line] = {"bottle": bottle, "indicator": indicator}
        if any(isinstance(op, Aliquot) and op.into == act.vessel for op in before):
            sentence = self.say("titrate aliquot", **slots)
        elif any(isinstance(op, React) and op.vessel == act.vessel for op in before):
            left = next(op for op in reversed(before) if isinstance(op, React))
            sentence = (
                self.say("titrate left", left=self._named(left.excess), **slots)
                if left.excess
                else self.say("titrate whole", **slots)
            )
            if self.seen:
                sentence = joined([*capitalised(self.seen), Text(", "), *_lowered(sentence)])
                self.seen = ()
        else:
            sentence = self.say("titrate portion", **slots)
        self.sentences.append(sentence)
        self._titre(act, before)

    def _named(self, species: str) -> str | Inline:
        for solution in self.draw.variant.procedure.solutions():
            if solution.species == species:
                substance = self.voice.bank.substances.get(solution.solute)
                return (
                    substance.solution.removesuffix(" solution") if substance and substance.solution else Chem(species)
                )
        return Chem(species)

    def _titre(self, act: Titrate, before: tuple[Operation, ...]) -> None:
        titre: Quantity | None = self.draw.given.get(names.titre(act))
        if titre is None:
            return
        if self.draw.runs and act is self.draw.variant.procedure.titrations[-1]:
            self.sentences.append(self.say("table follows"))
        else:
            once = any(isinstance(op, Weigh) and op.vessel == act.vessel for op in before)
            self.sentences.append(self.say("whole titre" if once else "mean titre", titre=self.voice.amount(titre)))


def _lowered(line: Line) -> Line:
    first = line[0]
    if isinstance(first, Text) and first.text:
        return (Text(first.text[0].lower() + first.text[1:], first.bold, first.italic), *line[1:])
    return line
