"""A list of titres comes in, the rough one marked; the mean of those that agree goes out as the titre of a titration."""

from __future__ import annotations

from fractions import Fraction

from molewright.bank.definitions import Choice
from molewright.bank.readers.described import Place
from molewright.bank.readers.read_so_far import ReadSoFar
from molewright.chem.quantity import Quantity, half_up, parse_quantity
from molewright.chem.units import Unit
from molewright.errors import Mistake, shortened
from molewright.experiment.quantities import Name
from molewright.experiment.titres import Run, chosen, mean_titre
from molewright.reading.fields import Fields

ROUGH = "rough "  # before a run that is left out of the mean
MOST_RUNS = 30  # of one titration
_PLACES = 2  # of a mean titre in cm³


def read_titres(so_far: ReadSoFar, fields: Fields, titre: Name) -> None:
    """Keep the mean of the concordant titres, and say which they are. Raises Mistake where none agree."""
    where = fields.at("titres")
    texts = fields.texts("titres")
    if len(texts) > MOST_RUNS:
        raise Mistake(f"{len(texts)} titres", expected=f"at most {MOST_RUNS}", where=where)
    runs, written = [], []
    for text in texts:
        rough = text.startswith(ROUGH)
        try:
            quantity = parse_quantity(text.removeprefix(ROUGH), unit_needed=False)
        except Mistake as mistake:
            raise mistake.at(where) from None
        quantity = Quantity(quantity.number, quantity.unit or Unit.CM3)
        if quantity.unit.base is not Unit.CM3 or quantity.number <= 0:
            raise Mistake(
                f"the titre {shortened(text)}", expected="a volume above zero, as '24.85' or 'rough 25.4'", where=where
            )
        runs.append(Run(Fraction(0), quantity.in_base, rough))
        written.append(quantity.to(Unit.CM3).number_text)
    try:
        used = chosen(tuple(runs))
        mean = Quantity(half_up(mean_titre(tuple(runs)), _PLACES), Unit.CM3)
    except Mistake as mistake:
        raise mistake.at(where) from None
    so_far.made.choices[titre] = Choice(options=(mean,))
    so_far.made.written[titre] = Place(fields.where, "titres", where)
    if len(used) > 1:
        so_far.made.notes.append(f"the {titre} is the mean of {_listed([written[at] for at in used])} cm³: {mean}")


def _listed(words: list[str]) -> str:
    return f"{', '.join(words[:-1])} and {words[-1]}"
