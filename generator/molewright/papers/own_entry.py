"""The line of a described experiment comes in; the own entries that it may be kept as go out, and what one of them draws."""

from __future__ import annotations

from collections.abc import Iterator

from molewright.bank.definitions import Bank
from molewright.derivation.plans import Plans
from molewright.errors import Where, one_of
from molewright.experiment.quantity_texts import texts_of
from molewright.order.choices import MASSES
from molewright.order.lines import OrderLine
from molewright.order.order import Wanted
from molewright.papers.choosing import new_order
from molewright.papers.making import PaperMaker
from molewright.papers.own_experiment import experiment_text
from molewright.papers.own_words import named_words
from molewright.solve.as_entry import OwnEntry, Told, own_entries
from molewright.solve.moves import moves_of
from molewright.solve.proved import proved


def entries_of(bank: Bank, line: OrderLine, masses: str) -> Iterator[tuple[OwnEntry, frozenset[str]]]:
    """Each entry that an experiment may be kept as, with the numbers that it tells, by their names."""
    where = line.where or Where("order")
    plans = Plans.of_user(bank.fingerprint)
    experiment = proved(experiment_text(line), where, bank, plans, one_of(masses, MASSES, "masses"))
    moves = moves_of(experiment, line.moves, where.under("moves"))
    stated = experiment.experiment.described.choices
    told = frozenset(
        text for name, text in texts_of(experiment.given).items() if name.kind != "molar mass" or name in stated
    )
    named = named_words(tuple(line.own_stem.splitlines()), line.own_task, experiment.given, where)
    words = Told(line.opening, named.stem if line.own_stem else (), named.task)
    for entry in own_entries(experiment, moves, words, bank):
        yield entry, told


def drawn_numbers(bank: Bank, kind: str, count: int) -> list[frozenset[str]]:
    """The names of the numbers that questions of a kind tell. Raises Mistake where it cannot be drawn."""
    maker = PaperMaker(bank, new_order(bank, [kind], count, seed=1))
    questions = maker.paper(Wanted(), "A").questions
    return [frozenset(texts_of(question.draw.given).values()) for question in questions]
