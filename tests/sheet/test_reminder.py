"""The line at the top of a page on which a question goes on: all that is given, in the words of the stem."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

from molewright.experiment import quantities
from molewright.experiment.end_points import of_last_flask
from molewright.experiment.procedure import Measure, Weigh
from molewright.nodes.inline import Maths, Symbol
from molewright.render.text.lines import plain_line
from molewright.sheet.reminder import reminder
from shared.banks import built_in
from shared.composed_sheets import Turn, every_kind_once
from shared.stems import said

KEYS = sorted(built_in().archetypes)
NB = "\N{NO-BREAK SPACE}"


def plain(line: Any) -> str:
    return plain_line(line).replace(NB, " ")


@every_kind_once
def test_every_given_quantity_is_repeated_but_for_a_titre_to_be_found(turn: Turn, compose: Callable[..., Any]) -> None:
    for writer in compose(*turn).composer.writers:
        draw, said = writer.question.draw, plain(reminder(writer))
        procedure = draw.variant.procedure  # a graph shows every end point of the last flask
        found = of_last_flask(procedure) if draw.archetype.graph else procedure.titrations[-1:] if draw.runs else ()
        hidden = {one.titre for one in found}
        for name, quantity in draw.given.items():
            if name in hidden:
                others = {str(other) for another, other in draw.given.items() if another not in hidden}
                assert str(quantity) in others or plain((writer.numbers.amount(quantity),)) not in said
            elif name.text.startswith("number of "):
                assert re.search(rf"\b({quantity.number}|one|two|three|four|five|six)\b", said)
            else:
                assert plain((writer.numbers.amount(quantity),)) in said, name


@every_kind_once
def test_volumes_and_strengths_are_told_in_the_words_of_the_stem(turn: Turn, compose: Callable[..., Any]) -> None:
    made = compose(*turn)
    stems = [block.stem for block in made.paper.blocks if hasattr(block, "stem")]
    for writer, stem in zip(made.composer.writers, stems, strict=True):
        line = reminder(writer)
        symbols = [
            item for piece in line if isinstance(piece, Maths) for item in piece.items if isinstance(item, Symbol)
        ]
        assert not [one for one in symbols if one.letter in "cVρ" and one.subscript != "m"]
        told = said(stem).replace("\n", " ").lower()
        for act in writer.question.draw.variant.procedure.operations:
            words = ""
            if isinstance(act, Measure) and writer.numbers.given(act.volume):
                words = plain(writer.bottles.called_again(act.solution)).removeprefix("the same ").removeprefix("the ")
            elif (
                isinstance(act, Weigh)
                and act.weighed
                and writer.numbers.given(quantities.mass(act.sample))
                and not act.pieces
            ):
                words = writer.samples.noun(act).removeprefix("the ")
            assert words.lower() in told
            assert words in plain(line)


def test_what_is_there_beside_the_solute_is_told_by_its_own_name(compose: Callable[..., Any]) -> None:
    (writer,) = compose("iodate-common-ion", "exam", "dm3").composer.writers[:1]
    line = plain(reminder(writer))
    assert "potassium iodate(V) 0.0" in line
    assert "the saturated solution 0.0" not in line
