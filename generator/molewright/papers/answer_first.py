"""Files of described experiments come in; what a teacher wants to see of each goes out as text: the answer first.

Then its lines with the mark that each earns, other right ways, and what common mistakes would give. Nothing is printed to paper here.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path

from molewright.bank.definitions import Bank
from molewright.chem.conventions import Convention
from molewright.chem.formula_scripts import with_scripts
from molewright.derivation.plans import Plans
from molewright.errors import Mistake
from molewright.nodes.blocks import Block, Heading, Paragraph, Sheet
from molewright.nodes.inline import Text
from molewright.order.experiment_file import read_experiments
from molewright.order.lines import OrderLine
from molewright.order.order import Order, Wanted
from molewright.papers.making import PaperMaker
from molewright.render import renderer
from molewright.sheet.scheme import scheme_rows, scheme_table
from molewright.sheet.wording import marks_told
from molewright.sheet.wrong_table import wrong_table
from molewright.solve.described import answer_blocks, as_text, notes, solve_files


def answers_first(paths: Sequence[Path], bank: Bank) -> Iterator[str]:
    """Each experiment with its answer, lines, marks and mistakes; of one that makes no question its lines alone, and why."""
    found = solve_files(paths, bank)
    plans = Plans.of_user(bank.fingerprint)
    lines = read_experiments(paths).lines
    for (experiment, worked), line in zip(found, lines, strict=True):
        head = [Heading(1, (Text(with_scripts(experiment.title)),)), *answer_blocks(experiment, worked)]
        try:
            blocks = [*head, *_as_question(line, experiment.masses, bank, plans, set(notes(experiment, worked)))]
        except Mistake as mistake:
            yield f"{as_text(experiment, worked)}It makes no question to print: {mistake.found}.\n"
        else:
            sheet = Sheet(
                title=experiment.title, subject="Titration calculation", kind="worked", code="", blocks=tuple(blocks)
            )
            yield renderer("text").render(sheet).decode()
    plans.keep()


def _as_question(line: OrderLine, masses: Convention, bank: Bank, plans: Plans, said: set[str]) -> list[Block]:
    """The lines with their marks, other right ways and common wrong answers, as an exam question has them."""
    plain = replace(line, level="exam", moving=None, moves=(), as_written=())
    maker = PaperMaker(bank, Order(seed=0, count=1, masses=masses, lines=(plain,)), plans)
    composer = maker.paper(Wanted(), "A").composer
    ((number, writer, level),) = composer.numbered
    wrong = wrong_table(writer, number, level)
    unusual = (one.partition(": ")[2] for one in maker.unusual)
    return [
        Heading(2, (Text(f"Its lines, as an exam question of {marks_told(composer.marks)}"),)),
        scheme_table(scheme_rows(writer, number, level), number),
        *([wrong] if wrong is not None else []),
        *(Paragraph((Text(f"Unusual: {with_scripts(one)}."),)) for one in unusual if one not in said),
    ]
