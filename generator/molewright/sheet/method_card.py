"""The papers of a set come in; a sheet of method cards goes out: the steps of each kind of question, in general words."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from molewright.chem.formula_scripts import with_scripts
from molewright.chem.quantity import MINUS
from molewright.derivation.worked import WorkedStep
from molewright.experiment.quantities import Name
from molewright.experiment.relations.variables import Relation
from molewright.nodes.blocks import Block, Heading, Paragraph, Sheet, Together
from molewright.nodes.figures import FlowBox, FlowFigure
from molewright.nodes.inline import Chem, Line, Text
from molewright.question.check import Question
from molewright.sheet.compose import Composer
from molewright.sheet.flow import flow_blocks
from molewright.sheet.general_words import GeneralWriter, plain
from molewright.sheet.reasons import formula, role
from molewright.sheet.right_side import in_order
from molewright.sheet.wording import Filling, capitalised, joined
from molewright.sheet.writer import Writer


def method_sheet(composers: Iterable[Composer], code: str) -> Sheet:
    """The cards of a set, from one paper of each of its levels: each kind of question once, in the order of the paper."""
    held = tuple(composers)
    first = held[0]
    title = f"{first.setting.title}, {first.words.text('card title')}"
    cards: dict[str, Together] = {}
    for composer in held:
        for _, writer, _ in composer.numbered:
            key = writer.question.draw.archetype.key
            if key not in cards:
                cards[key] = method_card(writer)
    return Sheet(
        title=title,
        subject="Titration calculations",
        kind="worked",
        code=code,
        blocks=(Heading(1, (Text(title),)), Paragraph(first.words.line("card lead"), "note"), *cards.values()),
        header=title,
    )


def method_card(writer: Writer) -> Together:
    """The card of a question's kind: its title, the picture of the experiment, and the steps of its calculation."""
    question = writer.question.shown or writer.question
    general = GeneralWriter(question, writer.bank, writer.words, writer.numbers.style)
    title = writer.numbers.in_units(with_scripts(question.draw.archetype.title))
    blocks: list[Block] = [Heading(2, (Text(title),)), *_pictures(general)]
    blocks += [_numbered(number, line) for number, line in enumerate(_steps(general, question), 1)]
    return Together(tuple(blocks))


def _numbered(number: int, line: Line) -> Paragraph:
    return Paragraph(joined([Text(f"{number}. ", bold=True), *line]))


def _steps(general: GeneralWriter, question: Question) -> Iterator[Line]:
    """Every step: what is found, and how."""
    before = ("card mean",) if question.draw.runs else ("card graph",) if question.draw.archetype.graph else ()
    yield from (general.words.line(key) for key in before)
    numbers = {step.variable.name: at for at, step in enumerate(question.worked.steps, len(before) + 1)}
    for step in question.worked.steps:
        found = capitalised(general.called(step.variable, asked=step is question.worked.steps[-1]))
        yield (*found, Text(": "), *_how(general, step, numbers))


def _how(general: GeneralWriter, step: WorkedStep, numbers: Mapping[Name, int]) -> Line:
    """How a step is done, by its kind and by what it finds, and from which steps where it is not just the one before."""
    relation, own = step.relation, numbers[step.variable.name]
    if relation is None:
        return general.words.line("card together")
    if relation.kind == "total":
        return _of_a_total(general, step, relation, numbers)
    keys = (f"card {relation.kind} {role(relation, step.variable.name)}", f"card {relation.kind}")
    key = next(key for key in keys if general.words.has(key))
    if relation.kind in ("ratio", "contains"):
        (other,) = (name for name in relation.names if name != step.variable.name)
        return general.words.line(key, 0, start=_start(general, other, numbers), **_in_the_formula(general, relation))
    line = general.words.line(key, 0, piece=general.samples.piece())
    rests = sorted(numbers[name] for name in relation.names if numbers.get(name, own) < own)
    if rests in ([], [own - 1]):
        return line
    *most, last = map(str, rests)
    named = "card from steps" if most else "card from step"
    return joined([*line, Text(" "), *general.words.line(named, first=", ".join(most), last=last)])


def _start(general: GeneralWriter, name: Name, numbers: Mapping[Name, int]) -> Line:
    """What a line begins with: a step by its number, or a quantity that no step finds by what it is called."""
    if name in numbers:
        return general.words.line("card step", number=str(numbers[name]))
    return general.called(general.question.system.variables[name], False)


def _in_the_formula(general: GeneralWriter, relation: Relation) -> dict[str, Filling]:
    """What is counted in which formula: the ion in the salt that holds it."""
    if relation.kind != "contains":
        return {}
    part, whole = (general.question.system.variables[name] for name in relation.names)
    return {"part": general.general(formula(part)), "whole": general.general(formula(whole))}


def _of_a_total(general: GeneralWriter, step: WorkedStep, relation: Relation, numbers: Mapping[Name, int]) -> Line:
    """What is added and taken away, with the reacting ratio wherever an amount is not to be taken as it is."""
    line: Line = ()
    for name, share in in_order(relation, step.variable.name):
        term = _start(general, name, numbers)
        if abs(share) != 1:
            term = general.words.line("card ratio" if relation.reaction else "card times number", 0, start=term)
        sign = (Text(f" {MINUS} " if share < 0 else " + "),) if line else ()
        line = joined([*line, *sign, *term])
    return line


def _pictures(general: GeneralWriter) -> Iterator[Block]:
    """The rows of the picture, in general words."""
    for block in flow_blocks(general):
        yield _general_figure(general, block) if isinstance(block, FlowFigure) else block


def _general_figure(general: GeneralWriter, figure: FlowFigure) -> FlowFigure:
    boxes = tuple(_general_box(general, box) for box in figure.boxes)
    return FlowFigure(boxes, tuple(general.general(arrow) for arrow in figure.arrows), figure.alt)


def _general_box(general: GeneralWriter, box: FlowBox) -> FlowBox:
    """A box without what its title says already."""
    title = general.general(box.title)
    lines = (_general_line(general, line) for line in box.lines)
    return FlowBox(title, tuple(line for line in lines if plain(line) not in (plain(title), f"the {plain(title)}")))


def _general_line(general: GeneralWriter, line: Line) -> Line:
    """A line in general words; a reaction of which some formula has to stay is told by its formulae, for half of each says nothing."""
    told = general.general(line, before_the_end=True)
    return line if any(isinstance(piece, Chem) for piece in told) else told
