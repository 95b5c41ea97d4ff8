"""One symbol stands for one quantity throughout a question: stem, scheme with its other routes, and worked solutions."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable
from typing import Any

import pytest

from molewright.bank.definitions import Bank
from molewright.draw.stream import Stream
from molewright.experiment.relations.variables import Variable
from molewright.nodes.inline import MathsItem
from molewright.question.check import Questions
from molewright.render.text import render
from molewright.render.text.lines import plain_line
from molewright.sheet.compose import Composer, Setting
from molewright.sheet.symbols import Symbols
from shared.banks import built_in
from shared.composed_sheets import Turn, every_sheet_at
from shared.quantities import q

KEYS = sorted(built_in().archetypes)


@every_sheet_at("scaffolded", "litre")
def test_no_two_quantities_of_a_question_share_a_symbol(
    turn: Turn, compose: Callable[..., Any], bank: Bank, monkeypatch: pytest.MonkeyPatch
) -> None:
    printed: defaultdict[str, set[str]] = defaultdict(set)
    speak = Symbols.of

    def heard(self: Symbols, variable: Variable) -> tuple[MathsItem, ...]:
        items = speak(self, variable)
        printed[plain_line(items)].add(variable.name)
        return items

    for question in compose(*turn).questions:
        printed.clear()
        with monkeypatch.context() as patch:
            patch.setattr(Symbols, "of", heard)
            composer = Composer((question,), bank, Setting(title="Practice", code="A", levels=("scaffolded",)))
            composer.question_paper()
            composer.mark_scheme()
            composer.worked_solutions()
        if question.points:
            assert printed
        assert not {symbol: names for symbol, names in printed.items() if len(names) > 1}


def symbols(key: str, stream: str, bank: Bank, questions: Questions) -> dict[str, str]:
    """The symbols of the steps of a question, by the quantities' names."""
    question = questions.make(bank.archetypes[key], Stream(stream))
    writer = Composer((question,), bank, Setting(title="Practice", code="A", levels=("exam",))).writers[0]
    steps = [step.variable for step in question.worked.steps]
    return {
        variable.name: plain_line(writer.symbols.of(variable)).replace("\N{NO-BREAK SPACE}", " ") for variable in steps
    }


def test_iron_is_told_apart_before_and_after_its_reduction(bank: Bank, questions: Questions) -> None:
    found = symbols("iron-and-iron", "apart", bank, questions)
    assert found[q("amount of Fe^2+ added in first")] == "n(Fe²⁺ first)"
    assert found[q("amount of Fe^2+ formed in second")] == "n(Fe²⁺ formed)"
    assert found[q("amount of Fe^2+ total in second")] == "n(Fe²⁺ in all)"


def test_a_blank_is_told_apart_from_the_sample(bank: Bank, questions: Questions) -> None:
    found = symbols("saponification", "apart", bank, questions)
    assert found[q("amount of KOH added in blank")] == "n(KOH blank)"
    assert found[q("amount of KOH in seed oil")] == "n(KOH for the sample)"
    portions = set(symbols("back-portions-blank", "apart", bank, questions).values())
    assert any("portion, blank" in symbol for symbol in portions)
    assert any("portion, second" in symbol for symbol in portions)


def test_a_standard_is_told_apart_from_the_sample_of_the_same_substance(bank: Bank, questions: Questions) -> None:
    found = symbols("standardise-then-assay", "apart", bank, questions)
    assert found[q("amount of Na2CO3 in Na2CO3")] == "n(Na₂CO₃ standard)"
    assert "n(Na₂CO₃ sample)" in found.values()


def test_a_symbol_that_is_alone_stays_as_short_as_it_was(bank: Bank, questions: Questions) -> None:
    found = set(symbols("direct-one-to-two", "apart", bank, questions).values())
    assert not any("," in symbol or " " in symbol for symbol in found)


def test_ions_of_two_solutes_are_told_apart_by_formulae_with_their_scripts(compose: Callable[..., Any]) -> None:
    composer = compose("iodate-common-ion", "scaffolded", "dm3").composer
    printed = " ".join(render(composer.worked_solutions()).decode().split())
    assert "from KIO₃)" in printed.replace("\N{NO-BREAK SPACE}", " ")
    assert "KIO3" not in printed
    assert "IO3)2" not in printed
