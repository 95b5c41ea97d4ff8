"""Other right routes on the mark scheme: each that holds with the numbers of the question, and no other."""

from __future__ import annotations

import pytest

from molewright.bank.definitions import Bank
from molewright.draw.stream import Stream
from molewright.question.check import Question, Questions
from molewright.render.text.lines import plain_line
from molewright.sheet.scheme import scheme_rows
from molewright.sheet.wording import Words
from molewright.sheet.writer import Writer
from shared.quantities import q


def guidance(question: Question, bank: Bank) -> list[str]:
    """What the rows of other routes say beside them."""
    rows = scheme_rows(Writer(question, bank, Words(bank.words)), 1, "exam")
    return [plain_line(row[3].lines[0]) for row in rows if plain_line(row[0].lines[0]) == "or"]


@pytest.mark.parametrize(("key", "printed", "kept_back"), [("back-portions-blank", "S", "E"), ("back-blank", "E", "S")])
def test_titres_of_sample_and_blank_are_compared_as_their_dilutions_allow(
    key: str, printed: str, kept_back: str, bank: Bank, questions: Questions
) -> None:
    # of portions from flasks of 250 and 500 cm3 the titres tell nothing by their difference: S brings them to one dilution first
    words = Words(bank.words)
    told = {family: plain_line(words.line(f"or {family}")) for family in (printed, kept_back)}
    for number in range(4):
        question = questions.make(bank.archetypes[key], Stream(f"other routes/{number}"))
        said = guidance(question, bank)
        assert told[printed] in said
        assert told[kept_back] not in said


def test_a_route_that_does_not_hold_with_the_numbers_was_found_and_left_out(bank: Bank, questions: Questions) -> None:
    question = questions.make(bank.archetypes["back-portions-blank"], Stream("other routes/0"))
    routes = question.prepared.routes.routes
    holding = [route for route in routes if route.holds(question.given)]
    assert len(holding) < len(routes)
    assert len(guidance(question, bank)) == len(holding)


def test_a_route_of_two_titrations_shows_the_line_of_each_in_the_order_of_the_working(
    bank: Bank, questions: Questions
) -> None:
    # its row stands for the marks of both; with one of the lines alone it would pay for the other titration too
    question = questions.make(bank.archetypes["permanent-hardness-by-difference"], Stream("other routes/0"))
    rows = scheme_rows(Writer(question, bank, Words(bank.words)), 1, "exam")
    (row,) = [one for one in rows if plain_line(one[0].lines[0]) == "or"]
    assert ["temporary" in plain_line(line) for line in row[1].lines] == [True, False]


def test_a_ratio_of_a_whole_calculation_is_told_as_it_is(bank: Bank, questions: Questions) -> None:
    # (0.0112 × 26.55 × 250) / (300 × 1000) would be right too, but nobody reads a quarter in it
    question = questions.make(bank.archetypes["dissolved-oxygen"], Stream("many/dissolved-oxygen/0"))
    rows = scheme_rows(Writer(question, bank, Words(bank.words)), 1, "exam")
    told = Words(bank.words).line("or G")
    (row,) = [one for one in rows if one[3].lines[:1] == (told,)]
    titre, concentration, sample = (
        question.draw.given[q(name)].number_text
        for name in ("titre of Na2S2O3", "concentration of Na2S2O3", "volume of O2")
    )
    said = plain_line(row[1].lines[0]).replace("\N{NO-BREAK SPACE}", " ")
    assert f"= ({concentration} × {titre}) / ({sample} × 4) =" in said
