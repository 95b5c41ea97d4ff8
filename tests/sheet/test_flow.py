"""The picture of what went where: a row for each titration, with its own things in it and no others."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from typing import Any

import pytest

from molewright.experiment import quantities
from molewright.experiment.procedure import Add, Aliquot, Dissolve, Measure, Pass, Procedure, Titrate, Weigh
from molewright.nodes.figures import FlowBox, FlowFigure
from molewright.nodes.inline import Chem
from molewright.render.text.lines import plain_line
from molewright.sheet.flow import FlowRow, flow_rows, reagents
from molewright.sheet.method_card import method_card
from molewright.sheet.writer import Writer
from shared.composed_sheets import SHEETS_ONCE, Turn, every_kind_once
from shared.for_each import for_each

TWO_TITRATIONS = (
    "standardise-then-assay",
    "standardise-then-vinegar",
    "back-blank",
    "back-portions-blank",
    "saponification",
    "iron-and-iron",
    "calcium-and-magnesium",
    "acid-and-its-salt",
)
ONE_FLASK_TWO_ENDS = ("carbonate-and-hydrogencarbonate", "hydroxide-and-carbonate")
MADE_UP = "made up with water"  # no water that is weighed
GAS_DRIVEN_OVER = ("carbonate-by-its-gas", "nitrogen-absorbed")


Drawn = tuple[Writer, tuple[FlowRow, ...]]


class Pictures(Mapping[str, list[Drawn]]):
    """Pictures by kind of question."""

    def __init__(self, compose: Callable[..., Any]) -> None:
        self._turns = {key: (level, style) for key, level, style in SHEETS_ONCE}
        self._compose = compose
        self._drawn: dict[str, list[Drawn]] = {}

    def __getitem__(self, key: str) -> list[Drawn]:
        if key not in self._drawn:
            composer = self._compose(key, *self._turns[key]).composer
            self._drawn[key] = [(writer, flow_rows(writer)) for writer in composer.writers]
        return self._drawn[key]

    def __iter__(self) -> Iterator[str]:
        return iter(self._turns)

    def __len__(self) -> int:
        return len(self._turns)


@pytest.fixture(scope="session")
def pictures(compose: Callable[..., Any]) -> Mapping[str, list[Drawn]]:
    """The pictures of every kind of question, each drawn when it is looked at."""
    return Pictures(compose)


def lines(box: FlowBox) -> list[str]:
    return [plain_line(line) for line in box.lines]


def row_lines(row: FlowRow) -> list[str]:
    return [line for box in row.figure.boxes for line in (plain_line(box.title), *lines(box))]


def tells_of(said: str, line: str, bottles: set[str]) -> bool:
    """Whether a line names a thing: not what was made of it ("the same water after boiling"), and no bottle of a longer name."""
    longer = any(said in one and one != said and one in line for one in bottles)
    return said in line and not longer and f"{said} after " not in line and line != MADE_UP


def bottle_of(writer: Writer, act: Measure) -> str:
    """What a bottle is called: two quantities may be found of the same water."""
    return plain_line(writer.bottles.called_again(act.solution)).removeprefix("the same ").removeprefix("the ")


def ends_of(vessel: str, procedure: Procedure) -> set[str]:
    """The titrated vessels to which something of a vessel goes on."""
    onward = [op.into for op in procedure.operations if isinstance(op, Aliquot | Pass) and op.vessel == vessel]
    found = {op.vessel for op in procedure.titrations if op.vessel == vessel}
    return found.union(*(ends_of(one, procedure) for one in onward))


@every_kind_once
def test_every_kind_of_question_is_drawn(turn: Turn, pictures: Pictures) -> None:
    assert pictures[turn[0]]
    assert all(row.figure.boxes for _, rows in pictures[turn[0]] for row in rows)


@every_kind_once
def test_each_titration_has_its_own_box_in_order(turn: Turn, pictures: Pictures) -> None:
    for writer, rows in pictures[turn[0]]:
        titrations = writer.question.draw.variant.procedure.titrations
        assert tuple(one for row in rows for one in row.titrations) == titrations
        for row in rows:
            titles = [plain_line(box.title) for box in row.figure.boxes]
            assert titles.count("burette") == len(row.titrations)
            acts = [act for act in writer.question.draw.variant.procedure.operations if act not in row.titrations[:-1]]
            ended = bool(row.titrations) and any(
                isinstance(act, Add | Measure | Weigh) and act.vessel == row.titrations[-1].vessel
                for act in acts[acts.index(row.titrations[-1]) :]
            )
            assert not row.titrations or titles[-1] == ("same flask" if ended else "burette")
            assert len({one.vessel for one in row.titrations}) <= 1


@every_kind_once
def test_a_titre_stands_in_the_box_of_its_titration_only(turn: Turn, pictures: Pictures) -> None:
    for writer, rows in pictures[turn[0]]:
        for row in rows:
            boxes = [box for box in row.figure.boxes if plain_line(box.title) == "burette"]
            for titration, box in zip(row.titrations, boxes, strict=True):
                titre = writer.numbers.given(titration.titre)
                told = [line for line in lines(box) if titre is not None and line.endswith(str(titre.quantity))]
                assert len(told) == (titre is not None), lines(box)
                assert len(box.lines) == 1 + len(told)  # what is in the burette, and its titre


def masses_in_their_boxes(kind: list[Drawn]) -> int:
    """A mass stands in the box of what was weighed and in no other; how many there are."""
    seen = 0
    for writer, rows in kind:
        for act in writer.question.draw.variant.procedure.operations:
            mass = writer.numbers.given(quantities.mass(act.sample)) if isinstance(act, Weigh) and act.weighed else None
            if mass is None:
                continue
            holding = [line for row in rows for line in row_lines(row) if line.startswith(str(mass.quantity))]
            assert holding == [f"{mass.quantity} {writer.samples.noun(act).removeprefix('the ')}"]
            seen += 1
    return seen


@every_kind_once
def test_a_mass_stands_in_the_box_of_what_was_weighed(turn: Turn, pictures: Pictures) -> None:
    masses_in_their_boxes(pictures[turn[0]])


def rows_keep_apart(kind: list[Drawn]) -> int:
    """What is weighed or measured for a titration stands in its row alone; how many there are."""
    apart = 0
    for writer, rows in kind:
        procedure = writer.question.draw.variant.procedure
        bottles = {bottle_of(writer, one) for one in procedure.measures}
        for act in procedure.operations:
            match act:
                case Weigh():
                    said, vessel = writer.samples.noun(act).removeprefix("the "), act.vessel
                case Measure():
                    said, vessel = bottle_of(writer, act), act.vessel
                case _:
                    continue
            own = ends_of(vessel, procedure)
            if not own:
                continue
            holding = [row for row in rows if any(tells_of(said, line, bottles) for line in row_lines(row))]
            alike = [
                other.vessel
                for other in procedure.operations
                if (isinstance(other, Weigh) and writer.samples.noun(other).removeprefix("the ") == said)
                or (isinstance(other, Measure) and isinstance(act, Measure) and bottle_of(writer, other) == said)
            ]
            others = {end for one in alike for end in ends_of(one, procedure)}
            assert {row.titrations[0].vessel for row in holding if row.titrations} == others, said
            assert any(not row.titrations for row in holding) == any(not ends_of(one, procedure) for one in alike)
            apart += len(rows) > 1
    return apart


@every_kind_once
def test_nothing_of_one_titration_stands_in_the_row_of_another(turn: Turn, pictures: Pictures) -> None:
    rows_keep_apart(pictures[turn[0]])


def test_what_is_looked_for_in_every_kind_is_met_in_some(pictures: Pictures) -> None:
    assert masses_in_their_boxes(pictures["direct-purity"])
    assert rows_keep_apart(pictures["standardise-then-assay"])
    assert reactions_told(pictures["dissolved-oxygen"])
    assert reagents_shown(pictures["iron-tablets"])


@for_each("key", TWO_TITRATIONS)
def test_two_titrations_have_two_rows_that_say_which_they_are(key: str, pictures: Any) -> None:
    for writer, rows in pictures[key]:
        assert len(rows) == 2
        for row, titration in zip(rows, writer.question.draw.variant.procedure.titrations, strict=True):
            assert plain_line(row.lead).startswith(f"{titration.name.capitalize()} titration")
        same = rows[0].titrations[0].titrant.name == rows[1].titrations[0].titrant.name
        assert ("with the same" in plain_line(rows[1].lead)) == same


def test_the_mass_of_the_standard_is_not_given_to_the_washing_powder(pictures: Any) -> None:
    for writer, (first, second) in pictures["standardise-then-assay"]:
        material = writer.question.draw.variant.material
        assert material is not None
        assert plain_line(first.figure.boxes[0].title) == "solid"
        assert "sodium carbonate" in lines(first.figure.boxes[0])[0]
        assert plain_line(second.figure.boxes[0].title) == "sample"
        assert material.noun in lines(second.figure.boxes[0])[0]
        assert [plain_line(arrow) for arrow in second.figure.arrows] == ["made up", "pipette", "titrate"]


@for_each("key", ONE_FLASK_TWO_ENDS)
def test_two_end_points_in_one_flask_are_one_row(key: str, pictures: Any) -> None:
    for _, rows in pictures[key]:
        assert len(rows) == 1
        *_, first, second = rows[0].figure.boxes
        assert any("first end point" in line for line in lines(first))
        assert any("to the second" in line for line in lines(second))
        assert [plain_line(arrow) for arrow in rows[0].figure.arrows] == ["titrate", "titrate on"]


@for_each("key", GAS_DRIVEN_OVER)
def test_a_gas_goes_from_the_vessel_of_the_sample_to_that_of_the_reagent(key: str, pictures: Any) -> None:
    for writer, rows in pictures[key]:
        assert len(rows) == 1
        sample, receiver, _ = rows[0].figure.boxes
        assert plain_line(rows[0].figure.arrows[0]).endswith("driven over")
        reagent = next(op for op in writer.question.draw.variant.procedure.operations if isinstance(op, Measure))
        volume = str(writer.numbers.given(reagent.volume).quantity)  # type: ignore[union-attr]
        assert not any(volume in line for line in lines(sample))
        assert any(volume in line for line in lines(receiver))


def reactions_told(kind: list[Drawn]) -> int:
    """Whatever reacts is told with what it reacts; how many there are."""
    seen = 0
    for _, rows in kind:
        for line in (line for row in rows for box in row.figure.boxes for line in box.lines):
            if "reacts" in plain_line(line):
                assert sum(isinstance(piece, Chem) for piece in line) >= 2, plain_line(line)
                seen += 1
            elif "left over" in plain_line(line):
                assert isinstance(line[0], Chem)
    return seen


@every_kind_once
def test_whatever_reacts_is_told_with_what_it_reacts(turn: Turn, pictures: Pictures) -> None:
    reactions_told(pictures[turn[0]])


def test_a_titrant_made_in_the_experiment_has_a_row_of_its_own(pictures: Any) -> None:
    for _, rows in pictures["standard-in-the-burette"]:
        made, used = rows
        assert not made.titrations
        assert plain_line(made.lead) == "The solution for the burette"
        assert plain_line(used.lead) == "Titration with this solution"


def test_a_second_portion_of_one_flask_starts_a_row_without_the_flask_again(pictures: Any) -> None:
    writer, _ = pictures["direct-purity"][0]
    question, procedure = writer.question, writer.question.draw.variant.procedure
    titration = procedure.titrations[-1]
    more = (
        Aliquot(into="other"),
        Titrate(titrant=titration.titrant, reactions=titration.reactions, vessel="other", name="second"),
    )
    twice = replace(procedure, operations=(*procedure.operations, *more))
    draw = replace(question.draw, variant=replace(question.draw.variant, procedure=twice))
    first, second = flow_rows(Writer(replace(question, draw=draw), writer.bank, writer.words))
    assert [plain_line(arrow) for arrow in first.figure.arrows] == ["made up", "pipette", "titrate"]
    assert [plain_line(box.title) for box in second.figure.boxes] == ["portion", "burette"]
    assert plain_line(second.lead).endswith("of another portion of the same solution")


REAGENT = re.compile(r"(?:[a-z]+(?:\([IVX]+\))? )?[a-z]+(?:\([IVX]+\))? (?:acid|solution|iodide|oxide)\b")
ASIDE = re.compile(r",? (?:which|at which|by a|under a|through a|both|and (?:the|each)) ")  # who, how and what for


def reagents_shown(kind: list[Drawn]) -> int:
    """Every reagent stands in a box and on the card; how many there are."""
    seen = 0
    for writer, rows in kind:
        shown = " ".join(line for row in rows for line in row_lines(row))
        card = " ".join(
            plain_line(line)
            for block in method_card(writer).blocks
            if isinstance(block, FlowFigure)
            for box in block.boxes
            for line in box.lines
        )
        for act in writer.question.draw.variant.procedure.operations:
            told = act.what if isinstance(act, Add) else act.solvent if isinstance(act, Dissolve) else ""
            for reagent in REAGENT.findall(ASIDE.split(told)[0]):
                seen += 1
                assert reagent in shown, (reagent, shown)
                assert reagent in card, (reagent, card)
    return seen


@every_kind_once
def test_every_reagent_that_the_stem_adds_stands_in_a_box_and_on_the_card(turn: Turn, pictures: Pictures) -> None:
    """Whatever is added or dissolved in, in every kind: without the acid or the iodide the chemistry could not happen."""
    reagents_shown(pictures[turn[0]])


@pytest.mark.parametrize(
    ("told", "put"),
    [
        ("concentrated nitric acid by a technician, who boiled off the brown gas", "concentrated nitric acid"),
        ("a little salt, followed by a little alkali, both run in", "a little salt, followed by a little alkali"),
        ("an alkali, which neutralised the acid", "an alkali"),
    ],
)
def test_a_box_has_the_reagents_and_not_what_they_were_for(told: str, put: str) -> None:
    assert reagents(told) == put
