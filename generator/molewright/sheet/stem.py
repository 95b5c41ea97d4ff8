"""The opening text of a question: the scene, what was done in the laboratory, the equations and the burette readings."""

from __future__ import annotations

from molewright.bank.definitions import ReactionEntry
from molewright.chem.quantity import Quantity, half_up
from molewright.chem.reaction import Reaction
from molewright.experiment import procedure as names
from molewright.experiment.procedure import (
    Add,
    Aliquot,
    Dissolve,
    MakeUp,
    Measure,
    Operation,
    Pass,
    React,
    Remove,
    Solution,
    Strength,
    Titrate,
    Warm,
    Weigh,
)
from molewright.further_parts.pieces import INDICATOR_CHOICE
from molewright.further_parts.reading.burette import BurettePicture
from molewright.nodes.tree import Block, Cell, Chem, Inline, Line, Paragraph, Table, Text
from molewright.sheet.voice import Voice, count_word, equation
from molewright.sheet.wording import capitalised, joined

DESCRIBED = "describe"  # the further part in which a pupil tells how a solution is made
CARBON_DIOXIDE = "CO2"  # boiled off after the reaction; ammonia is boiled off by it


def stem(voice: Voice, equations: tuple[Reaction, ...], complete_table: bool) -> tuple[Block, ...]:
    """The blocks of a stem: prose, these of the equations, and the table of readings where there is one."""
    draw = voice.question.draw
    first, *later = _Teller(voice).tell()
    blocks: list[Block] = [Paragraph(_running([(Text(draw.context.opening),), *first]))]
    blocks += [Paragraph(_running(stage)) for stage in later]
    told = reactions(voice)
    ionic = any(member.formula.charge for reaction in told for member in (*reaction.left, *reaction.right))
    every = ionic or len(draw.variant.procedure.titrations) > 1  # nobody is asked to find an ionic equation
    for reaction in told if every else equations:
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
    for solution in voice.question.draw.variant.procedure.solutions():
        if solution.breakdown is not None and names.volume_strength(solution.name) == voice.question.draw.ask.quantity:
            found[solution.breakdown] = None
    return tuple(found)


def entry_of(voice: Voice, reaction: Reaction) -> ReactionEntry | None:
    """What the banks say of a reaction, in whatever order its terms are written; None where they do not hold it."""
    return next((entry for entry in voice.bank.reactions if entry.reaction.is_like(reaction)), None)


def first_reactions(voice: Voice) -> tuple[Reaction, ...]:
    """The equations of what reacts first: more than one where several substances react at once."""
    for operation in voice.question.draw.variant.procedure.operations:
        if isinstance(operation, React | Titrate) and operation.reactions:
            return operation.reactions
    return reactions(voice)[:1]


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
        self.told: set[str] = set()  # bottles that were named before
        graph = self.draw.archetype.graph  # the titration whose titre a pupil reads from it
        self.followed = self.draw.variant.procedure.titrations[-1] if graph else None

    def tell(self) -> list[list[Line]]:
        """The sentences in order, a list for each stage: what follows a titration and is no part of it starts a new one."""
        stages: list[list[Line]] = []
        titrated = False
        for index, operation in enumerate(self.operations):
            if titrated and isinstance(operation, Weigh | Measure):
                stages.append(self.sentences)
                self.sentences = []
            titrated = isinstance(operation, Titrate)
            match operation:
                case Weigh():
                    self._weigh(operation)
                case Dissolve():
                    crushed = any(isinstance(op, Weigh) and op.pieces for op in self.operations[:index])
                    key = "dissolve crushed" if crushed else "dissolve partly" if self._residue else "dissolve"
                    self.sentences.append(self.say(key, solvent=operation.solvent))
                case Measure():
                    self._measure(operation, self.operations[:index], self.operations[index + 1 :])
                case Add():
                    self._add(operation, self.operations[:index])
                case Warm():
                    each = self._in_portions(operation.vessel, self.operations[:index])
                    self.sentences.append(self.say("warm each" if each else "warm", to=operation.to))
                case React():
                    self.seen = self._seen(operation)
                case MakeUp():
                    self._make_up(operation, self.operations[:index])
                case Aliquot():
                    self._aliquot(operation, self.operations[index + 1 :])
                case Titrate():
                    self._titrate(operation, self.operations[:index])
                case Pass():
                    self.sentences.append(self.say("drive over", gas=voice_name(self.voice, operation.species)))
                    self.seen = ()
                case Strength():
                    self._tell_strength(operation)
                case Remove() if operation.species == CARBON_DIOXIDE:
                    self.seen = self.say("boiled off", gas=voice_name(self.voice, operation.species))
                case Remove():
                    pass  # what was seen in the reaction tells it
        self._tell_volumes()
        return [*stages, self.sentences]

    def _tell_strength(self, act: Strength) -> None:
        strength = self.voice.strength(act.solution)
        if strength is not None:
            self.sentences.append(self.say("strength wanted", strength=strength))

    def _tell_volumes(self) -> None:
        """What volume strength means and what a mole of gas fills, where that is asked for."""
        molar = self.voice.given(names.MOLAR_VOLUME)
        if molar is None:
            return
        solution = next(one for one in self.draw.variant.procedure.solutions() if one.breakdown is not None)
        if names.volume_strength(solution.name) == self.draw.ask.quantity:
            slots: dict[str, str | Inline | Line] = {"gas": voice_name(self.voice, solution.gas), "molar": molar}
            self.sentences.append(self.say("volume strength told", sample=self.voice.sample(), **slots))

    def _add(self, act: Add, before: tuple[Operation, ...]) -> None:
        portions = self._in_portions(act.vessel, before)
        what, comma, why = act.what.partition(", ")
        self.sentences.append(self.say("add to each" if portions else "add", what=what, why=comma + why))

    def _in_portions(self, vessel: str, before: tuple[Operation, ...]) -> bool:
        return any(isinstance(op, Aliquot) and op.into == vessel for op in before)

    def _bottle(self, solution: Solution) -> Line:
        """A bottle as it is named the first time, and after that."""
        again = solution.name in self.told
        self.told.add(solution.name)
        return self.voice.bottle_again(solution) if again else self.voice.bottle(solution)

    def _weigh(self, act: Weigh) -> None:
        voice = self.voice
        mass = voice.given(names.mass(act.sample)) if act.weighed else None
        key = "weigh pure" if act.pure else "weigh"
        noun: str | Line = voice.weighed_noun(act)
        if noun == voice.sample():  # a mixture, or a substance whose name would give the answer away
            key = "weigh"
        elif noun == voice.bank.name_of(act.contents[0].substance):
            noun = self._chemical(act, act.contents[0].substance)
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
        elif act.by_difference:
            slots["full"], slots["emptied"] = (
                voice.given(names.bottle_mass(act.sample, gone)) or "" for gone in (False, True)
            )
            key = "weigh by difference"
        elif mass is None:
            key += " hidden"
        elif key == "weigh" and self._stays(act):
            key = "weigh flask"  # a beaker would do neither for a titration nor for driving a gas over, nor hold fumes back
        self.sentences.append(self.say(key, **slots))
        self._composition(act)

    def _stays(self, act: Weigh) -> bool:
        """Whether what was weighed is titrated where it is, gives off a gas to be caught, or is a liquid that reacts there."""
        own = {content.species for content in act.contents}
        liquid = any(
            member.state == "l" and member.formula.text in own
            for op in self.operations
            if isinstance(op, React) and op.vessel == act.vessel
            for reaction in op.reactions
            for member in reaction.left
        )
        return liquid or any(isinstance(op, Titrate | Pass) and op.vessel == act.vessel for op in self.operations)

    def _chemical(self, act: Weigh, substance: str) -> str | Line:
        """What is weighed by its name; a pure substance with the formula that the parts call it by, as an apposition."""
        name = self.voice.bank.name_of(substance)
        return (Text(f"{name}, "), Chem(substance), Text(",")) if act.pure and name != substance else name

    def _composition(self, act: Weigh) -> None:
        voice = self.voice
        scene = voice.of_the_scene(act)
        if act.pure and len(act.contents) > 1:
            both = (voice.bank.name_of(content.substance) for content in act.contents)
            self.sentences.append(self.say("holds both", sample=voice.sample(), both=" and ".join(both)))
        for content in act.contents:
            slots: dict[str, str | Inline | Line] = {
                "sample": voice.sample() if scene else "the solid",
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

    def _measure(self, act: Measure, before: tuple[Operation, ...], rest: tuple[Operation, ...]) -> None:
        voice = self.voice
        share = voice.given(names.excess_share(act.solution.species)) if act.excess else None
        if share is not None:
            self.sentences.append(self.say("excess planned", bottle=self._bottle(act.solution), share=share))
            return
        again = act.solution.name in self.told and voice.is_analysed(act.solution)
        if not again:
            self._strength(act.solution)
        volume = voice.given(act.volume)
        filled = any(isinstance(op, Weigh | Measure | Aliquot) and _fills(op) == act.vessel for op in before)
        if act.excess:
            key = "excess" if filled or not before else "excess receiver"
            if self._in_portions(act.vessel, before):
                key = "excess each"
        elif act.apparatus in ("volumetric flask", "bottle"):
            key = "measure large" if act.apparatus == "volumetric flask" else "measure bottle"
        elif filled:
            key = "measure into each" if self._in_portions(act.vessel, before) else "measure into"
        else:
            after = next(
                (op for op in rest if isinstance(op, MakeUp | Measure | React) and op.vessel == act.vessel), None
            )
            made_up = any(isinstance(op, MakeUp) and op.vessel == act.vessel for op in rest)
            key = (
                "measure"
                if isinstance(after, MakeUp)
                else "measure beaker"
                if made_up
                else "measure again"
                if again
                else "measure portion"
            )
        if self.followed is not None and act.vessel == self.followed.vessel:
            key = f"measure {self.draw.archetype.graph}"
        self.sentences.append(
            self.say(
                key if volume else f"{key} hidden",
                volume=volume or "",
                bottle=self._bottle(act.solution),
                apparatus=act.apparatus,
            )
        )

    def _strength(self, solution: Solution) -> None:
        """Say how strong the analysed solution is, where that is not what is asked."""
        if self.voice.is_analysed(solution) and self.voice.strength(solution):
            named = self.voice.named_bottle(solution)
            if solution.solute in self.draw.variant.unknown:
                strength = self.voice.strength(solution) or ""
                self.sentences.append(self.say("strength unnamed", sample=self.voice.sample(), strength=strength))
            else:
                self.sentences.append(self.say("strength", sample=self.voice.sample(), bottle=named))

    def _seen(self, act: React) -> Line:
        entry = entry_of(self.voice, act.reactions[0])
        if entry and entry.seen:
            return (Text(entry.seen),)
        return self.say("reacted") if act.excess else ()

    @property
    def _residue(self) -> str:
        """What of the material stays undissolved; "" where nothing does that matters to a volume."""
        material = self.draw.variant.material
        return material.residue if material else ""

    def _make_up(self, act: MakeUp, before: tuple[Operation, ...]) -> None:
        volume = self.voice.given(names.volume_made_up(act.vessel))
        hidden = "" if volume else " hidden"
        if self._residue and any(isinstance(op, Weigh) and op.vessel == act.vessel for op in before):
            hidden = f" filtered{hidden}"
        if any(part.kind == DESCRIBED for part in self.voice.question.extras):  # telling how would give it away
            diluted = isinstance(before[-1], Measure)
            self.sentences.append(self.say(f"{'diluted' if diluted else 'made into'}{hidden}", volume=volume or ""))
            return
        if self.seen:
            rest = self.say(f"make up{hidden}", volume=volume or "", residue=self._residue)
            self.sentences.append(joined([*capitalised(self.seen), Text(", "), *rest]))
            self.seen = ()
        elif isinstance(before[-1], Measure | Aliquot):
            self.sentences.append(self.say(f"dilute{hidden}", volume=volume or ""))
        else:
            self.sentences.append(self.say(f"make up alone{hidden}", volume=volume or "", residue=self._residue))

    def _aliquot(self, act: Aliquot, rest: tuple[Operation, ...]) -> None:
        volume = self.voice.given(names.volume_taken(act.into))
        if any(isinstance(op, MakeUp) and op.vessel == act.into for op in rest):
            self.sentences.append(
                self.say("aliquot on" if volume else "aliquot on hidden", volume=volume or "", apparatus=act.apparatus)
            )
        elif self.followed is not None and act.into == self.followed.vessel:
            self.sentences.append(self.say(f"aliquot {self.draw.archetype.graph}", volume=volume or ""))
        elif volume is None:
            self.sentences.append(self.say("aliquot hidden"))
        elif self.seen:
            self.sentences.append(self.say("aliquot after reaction", seen=self.seen, volume=volume))
            self.seen = ()
        else:
            self.sentences.append(self.say("aliquot", volume=volume))

    def _titrate(self, act: Titrate, before: tuple[Operation, ...]) -> None:
        voice = self.voice
        self._strength(act.titrant)
        earlier = [op for op in before if isinstance(op, Titrate)]
        bottle = self._bottle(act.titrant)
        name = self.draw.variant.procedure.indicator(act, self.draw.indicator)
        indicator: Line = ()
        own = f"with indicator {name} {act.titrant.solute}"
        own = own if voice.words.has(own) else f"with indicator {name}"
        if act is self.followed:
            self.sentences.append(self.say(f"titrate {self.draw.archetype.graph}", bottle=bottle))
            return
        if name and INDICATOR_CHOICE in self.draw.archetype.extras:
            pass  # the pupil is to choose it
        elif voice.words.has(own):
            indicator = (Text(" "), *self.say(own))
        elif name:
            indicator = (Text(" "), *self.say("with indicator", indicator=name))
        elif voice.words.has(f"end point {act.titrant.solute}"):
            indicator = (Text(" "), *self.say(f"end point {act.titrant.solute}"))
        slots: dict[str, str | Inline | Line] = {"bottle": bottle, "indicator": indicator}
        formed = self._formed(act, before)
        if any(op.vessel == act.vessel for op in earlier):
            titre = self.draw.given.get(names.titre(act))
            further = voice.amount(titre) if titre else ""
            self.sentences.append(self.say("titrate on", name=name, titre=further, bottle=bottle))
            return
        if formed:
            sentence = self.say("titrate formed", formed=formed, **slots)
            self.seen = ()
        elif self.seen and self._in_portions(act.vessel, before):
            left = next(op for op in reversed(before) if isinstance(op, React))
            rest = self.say("titrate left in each", left=self._named(left.excess), **slots)
            sentence = joined([*capitalised(self.seen), Text(", "), *_lowered(rest)])
            self.seen = ()
        elif self._in_portions(act.vessel, before):
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
        elif any(isinstance(op, Add | Warm) and op.vessel == act.vessel for op in before):
            sentence = self.say("titrate whole", **slots)
        else:
            sentence = self.say("titrate portion", **slots)
        self.sentences.append(sentence)
        if act.electrons:
            count = count_word(act.electrons)
            self.sentences.append(self.say("electrons told", ion=Chem(act.titrant.species), number=count))
            state = self.draw.given.get(names.oxidation_state(act.element, False))
            if state is not None:
                told = Text(f"+{state.number_text}")
                self.sentences.append(
                    self.say("oxidation told", ion=Chem(act.sought), element=Chem(act.element), state=told)
                )
        elif act.basicity:
            self.sentences.append(self.say("basicity told", sought=voice.bank.name_of(act.sought)))
        self._titre(act)

    def _formed(self, act: Titrate, before: tuple[Operation, ...]) -> str:
        """The name of what a reaction before set free in the vessel, if that is what is titrated and nothing has used it since."""
        reacted = [op for op in before if isinstance(op, React) and op.vessel == act.vessel]
        if reacted and reacted[-1].excess:
            return ""
        made = {
            member.formula.text
            for op in before
            if isinstance(op, React) and op.vessel == act.vessel and not op.excess
            for reaction in op.reactions
            for member in reaction.right
        }
        sought = {member.formula.text for reaction in act.reactions for member in reaction.left}
        found = [one for one in made & sought if one != "H2O" and one[-1] not in "+-"]
        return self.voice.bank.name_of(found[0]) if found else ""

    def _named(self, species: str) -> str | Inline:
        for solution in self.draw.variant.procedure.solutions():
            if solution.species == species:
                substance = self.voice.bank.substances.get(solution.solute)
                return (
                    substance.solution.removesuffix(" solution") if substance and substance.solution else Chem(species)
                )
        return voice_name(self.voice, species)

    def _titre(self, act: Titrate) -> None:
        titre: Quantity | None = self.draw.given.get(names.titre(act))
        if titre is None:
            return
        if self.draw.runs and act is self.draw.variant.procedure.titrations[-1]:
            self.sentences.append(self.say("table follows"))
        else:
            once = self.voice.single_titre(act)
            self.sentences.append(self.say("whole titre" if once else "mean titre", titre=self.voice.amount(titre)))
        if act.name == "blank":
            self.sentences.append(self.say("blank told"))


def _fills(act: Weigh | Measure | Aliquot) -> str:
    return act.into if isinstance(act, Aliquot) else act.vessel


def voice_name(voice: Voice, species: str) -> str | Inline:
    """A species by its name in the banks, or its formula where it has none."""
    found = voice.bank.substances.get(species)
    return found.name if found else Chem(species)


def _lowered(line: Line) -> Line:
    first = line[0]
    if isinstance(first, Text) and first.text:
        return (Text(first.text[0].lower() + first.text[1:], first.bold, first.italic), *line[1:])
    return line
