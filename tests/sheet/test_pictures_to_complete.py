"""At the scaffolded level what was done stands as a picture with blanks: it tells what the stem tells, and no answer."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from typing import Any

import pytest

from molewright.chem.conventions import UnitStyle
from molewright.chem.units import Unit
from molewright.derivation.worked import WorkedStep
from molewright.nodes.blocks import QuestionBlock
from molewright.nodes.drawing.pictures import pictures
from molewright.nodes.figures import BarFigure, FlowFigure
from molewright.nodes.inline import Amount, Chem, Equation, Gap, Line, Symbol, Text
from molewright.render.latex.small_type import SmallType
from molewright.render.text.lines import plain_line
from molewright.sheet.parts import picture_of
from molewright.sheet.writer import Writer
from shared.composed_sheets import Turn, every_sheet_at
from shared.stems import said

WIDE, TALL = 453.0, 690.0
POURED = ("amount", "titre", "volume", "mass")  # what a picture shows; of concentrations those that a bottle has

Compose = Callable[..., Any]
Walk = Callable[[Any], Iterator[Any]]


def asked(compose: Compose, key: str, style: UnitStyle = "dm3") -> Iterator[tuple[QuestionBlock, Writer]]:
    """The questions of a kind at the scaffolded level, as they are printed."""
    made = compose(key, "scaffolded", style)
    blocks = [block for block in made.paper.blocks if isinstance(block, QuestionBlock)]
    yield from zip(blocks, made.composer.writers, strict=True)


def figures(nodes_of: Walk, of: Any) -> list[FlowFigure | BarFigure]:
    return [node for node in nodes_of(of) if isinstance(node, FlowFigure | BarFigure)]


def blanks(figure: FlowFigure | BarFigure) -> list[Line]:
    """The lines that a pupil completes."""
    if isinstance(figure, FlowFigure):
        return [line for box in figure.boxes for line in box.found]
    return [figure.total, *(piece.label for piece in figure.pieces)]


def label_and_unit(line: Line) -> tuple[str, str]:
    """Which part a blank belongs to, and the unit after it."""
    (gap,) = (piece for piece in line if isinstance(piece, Gap))
    label = "".join(piece.text.strip("\N{NO-BREAK SPACE}") for piece in line if isinstance(piece, Text) and piece.bold)
    return label, gap.unit


@every_sheet_at("scaffolded", "dm3")
def test_a_box_is_a_beaker_only_where_the_stem_tells_of_one(turn: Turn, compose: Compose, nodes_of: Walk) -> None:
    for block, _ in asked(compose, turn[0], turn[2]):
        told = " ".join(said(block.stem).split())
        boxes = [box for one in figures(nodes_of, block) if isinstance(one, FlowFigure) for box in one.boxes]
        if any(plain_line(box.title) == "beaker" for box in boxes):
            assert "beaker" in told, told


@every_sheet_at("scaffolded", "litre")
def test_a_picture_tells_no_more_than_the_stem(turn: Turn, compose: Compose, nodes_of: Walk) -> None:
    for block, writer in asked(compose, turn[0], turn[2]):
        told = {str(node.quantity) for node in nodes_of(block.stem) if isinstance(node, Amount)}
        others = (block.stem, tuple(part for part in block.parts if not figures(nodes_of, part)))
        formulae = {node.formula for node in nodes_of(others) if isinstance(node, Chem)}
        formulae |= {node.of for node in nodes_of(others) if isinstance(node, Symbol)}
        formulae |= {t.formula for e in nodes_of(others) if isinstance(e, Equation) for t in (*e.left, *e.right)}
        secret = set(writer.question.draw.variant.unknown) - formulae
        found = {str(step.shown) for step in writer.numbers.steps.values()} | {str(writer.question.worked.answer)}
        for figure in figures(nodes_of, block):
            amounts = {str(node.quantity) for node in nodes_of(figure) if isinstance(node, Amount)}
            assert amounts <= told, turn
            assert not secret & {node.formula for node in nodes_of(figure) if isinstance(node, Chem)}, turn
            if isinstance(figure, FlowFigure):
                lines = [line for box in figure.boxes for line in box.lines]
                assert {node.formula for node in nodes_of(lines) if isinstance(node, Chem)} <= formulae, turn
            for picture in pictures(figure, SmallType(), WIDE, TALL):
                said = [one for one in found - told if re.search(rf"(?<![\w.]){re.escape(one)}(?![\w.])", picture.alt)]
                assert not said, (turn, said, picture.alt)


@every_sheet_at("scaffolded", "litre")
def test_every_blank_belongs_to_the_part_that_finds_it(turn: Turn, compose: Compose, nodes_of: Walk) -> None:
    for block, writer in asked(compose, turn[0], turn[2]):
        marked = [part.label for part in block.parts if part.marks]
        drawn = figures(nodes_of, block)
        found = [label_and_unit(line) for figure in drawn for line in blanks(figure)]
        if not drawn:
            described = any(part.kind.startswith("describe") for part in writer.question.further_parts)
            assert described or not any(place(step) for step in steps(writer)), turn
            continue
        assert {label for label, _ in found} <= set(marked), turn
        wanted = [step for step in steps(writer) if place(step)]
        means = [point for point in writer.question.points if not point.steps]
        read = [part for part in writer.question.further_parts if part.reads is not None]
        others = [unit for _, unit in found if unit == writer.numbers.unit(Unit.MOL_PER_DM3)]
        assert len(found) == len(wanted) + len(means) + len(read) + len(others), (turn, found)
        labelled = [part.label for part in block.parts if any(figures(nodes_of, one) for one in part.blocks)]
        assert labelled == [""] * len(labelled), turn  # a picture opens a part and belongs to none


def steps(writer: Writer) -> list[WorkedStep]:
    return [step for point in writer.question.points for step in point.steps]


def place(step: WorkedStep) -> bool:
    """Whether a picture can show the quantity: one that is somewhere, and is no count of electrons."""
    variable = step.variable
    return variable.kind in POURED and bool(variable.vessel) and variable.stage != "electrons"


@every_sheet_at("scaffolded", "litre")
def test_the_worked_solution_has_the_same_picture_complete(turn: Turn, compose: Compose, nodes_of: Walk) -> None:
    made = compose(*turn)
    open_ones = [figure for figure in figures(nodes_of, made.paper) if isinstance(figure, FlowFigure)]
    complete = [
        f for f in figures(nodes_of, made.worked) if isinstance(f, FlowFigure) and any(b.found for b in f.boxes)
    ]
    with_blanks = [figure for figure in open_ones if any(box.found for box in figure.boxes)]
    assert len(complete) == len(with_blanks), turn
    for blank, full in zip(with_blanks, complete, strict=True):
        assert [(box.title, box.lines, box.apparatus) for box in blank.boxes] == [
            (box.title, box.lines, box.apparatus) for box in full.boxes
        ], turn
        for line, answer in zip(blanks(blank), blanks(full), strict=True):
            assert [piece for piece in line if not isinstance(piece, Gap)] == list(answer[:-1]), turn
            assert isinstance(answer[-1], Amount | Text), turn
    assert not any(isinstance(node, Gap) for figure in figures(nodes_of, made.worked) for node in nodes_of(figure)), (
        turn
    )


@every_sheet_at("scaffolded", "litre")
def test_every_conversion_of_a_unit_is_hinted(turn: Turn, compose: Compose, nodes_of: Walk) -> None:
    for block, writer in asked(compose, turn[0], turn[2]):
        parts = {part.label: part for part in block.parts if part.label or part.marks}
        worked = writer.question.worked
        for label, step in labelled_steps(block, writer):
            converted = step is worked.steps[-1] and worked.answer.unit != step.shown.unit
            if converted or crosses_a_thousand(step, writer):
                hint = " ".join(plain_line(one.line) for one in parts[label].blocks if hasattr(one, "line"))
                assert "1000" in hint, (turn, label, hint)


def labelled_steps(block: QuestionBlock, writer: Writer) -> Iterator[tuple[str, WorkedStep]]:
    """The steps that a hint is due for, each with its part."""
    marked = [part for part in block.parts if part.marks]
    first = sum(part.first for part in writer.question.further_parts)
    for part, point in zip(marked[first:], writer.question.points, strict=False):
        for step in point.steps:
            if step.relation is not None and (step.earns or step is point.steps[-1]):
                yield part.label, step


def crosses_a_thousand(step: WorkedStep, writer: Writer) -> bool:
    """Whether cm³ meets dm³ in a step, or g meets mg."""
    assert step.relation is not None
    variables = writer.question.system.variables
    units = {variables[name].unit for name in step.relation.names if name in variables}
    litres = units & {Unit.MOL_PER_DM3, Unit.G_PER_DM3}
    return bool(litres and Unit.CM3 in units) or step.relation.kind == "mass in volume" or Unit.MG_PER_G in units


@every_sheet_at("scaffolded", "litre")
def test_hints_are_as_large_as_the_text(turn: Turn, compose: Compose, nodes_of: Walk) -> None:
    for block, _ in asked(compose, turn[0], turn[2]):
        for part in block.parts:
            tones = [
                one.tone for one in part.blocks if hasattr(one, "tone") and plain_line(one.line).startswith("Hint")
            ]
            assert set(tones) <= {"plain"}, turn


def test_only_the_scaffolded_level_has_pictures_to_complete(compose: Compose, nodes_of: Walk) -> None:
    for level in ("structured", "exam"):
        assert not figures(nodes_of, compose("back-portions", level, "dm3").paper)


def test_the_bar_opens_the_first_part_that_finds_one_of_its_amounts(compose: Compose, nodes_of: Walk) -> None:
    block, _ = next(asked(compose, "back-portions"))
    places = [index for index, part in enumerate(block.parts) if any(isinstance(one, BarFigure) for one in part.blocks)]
    (place_of_bar,) = places
    (bar,) = (node for node in nodes_of(block) if isinstance(node, BarFigure))
    labels = [label_and_unit(line)[0] for line in blanks(bar)]
    assert block.parts[place_of_bar + 1].label == min(labels)
    assert [piece.share for piece in bar.pieces] == [0.6, 0.4]  # of every question, whatever reacted


def test_a_titre_that_is_a_mean_or_read_from_a_graph_is_a_blank(compose: Compose, nodes_of: Walk) -> None:
    for key in ("direct-solutions", "thermometric-titration"):
        block, writer = next(asked(compose, key))
        (flow,) = figures(nodes_of, block)
        titre = writer.question.draw.given[writer.question.draw.variant.procedure.titrations[-1].titre]
        told = [plain_line(line) for box in flow.boxes for line in (*box.lines, *box.found)]
        assert not any(titre.number_text in line for line in told)
        assert any("titre ...." in line for line in told)


def test_apparatus_is_drawn_where_a_beginner_meets_it(compose: Compose, nodes_of: Walk) -> None:
    block, _ = next(asked(compose, "back-portions"))
    (flow,) = (node for node in nodes_of(block) if isinstance(node, FlowFigure))
    assert [box.apparatus for box in flow.boxes] == ["beaker", "volumetric flask", "conical flask", "burette"]
    assert flow.tools == (None, "pipette", None)


@pytest.mark.parametrize(
    ("key", "apparatus", "titles"),
    [
        ("conductometric-titration-strong", ["beaker", "burette"], ["beaker", "burette"]),
        ("two-acids-by-curve", ["beaker", "burette", "burette"], ["beaker", "burette", "burette"]),
        ("thermometric-titration", [None, "burette"], ["flask", "burette"]),
    ],
)
def test_what_is_followed_by_a_meter_is_drawn_in_the_beaker_that_the_stem_tells_of(
    key: str, apparatus: list[str | None], titles: list[str], compose: Compose, nodes_of: Walk
) -> None:
    for block, _ in asked(compose, key):
        (flow,) = (one for one in figures(nodes_of, block) if isinstance(one, FlowFigure))
        assert [box.apparatus for box in flow.boxes] == apparatus
        assert [plain_line(box.title) for box in flow.boxes] == titles
        assert ("beaker" in said(block.stem)) == ("beaker" in apparatus)


@pytest.mark.parametrize("key", ["iron-and-iron", "acid-and-its-salt"])
def test_an_amount_stands_with_the_titration_that_tells_it(key: str, compose: Callable[..., Any]) -> None:
    """What only the second titration tells is not written beside the first."""
    for writer in compose(key, "scaffolded", "dm3").composer.writers:
        where = {one.name: one.place for one in picture_of(writer, blank=True).filled}
        order = [act.vessel for act in writer.question.draw.variant.procedure.titrations]
        for step in writer.question.worked.steps:
            if step.relation is not None and step.relation.kind in ("ratio", "total") and step.variable.name in where:
                behind = [where[name].vessel for name in step.relation.names if name in where]
                assert where[step.variable.name].vessel == max(behind, key=order.index), step
