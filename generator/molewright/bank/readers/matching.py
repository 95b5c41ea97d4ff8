"""An equation and what is in a vessel come in; where the one writes a substance in another form than the other, that goes out.

NaCl and Cl⁻ are one where silver ions are run in: a bottle is counted in the form that the equation has, and the list of operations
is read again with it (`ReadAgain`). Nothing is changed where the description says itself what a substance gives.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from molewright.bank.readers.forms import Form
from molewright.bank.readers.read_so_far import ReadAgain, ReadSoFar, Source
from molewright.chem.reaction import Reaction
from molewright.errors import Mistake, nearest
from molewright.experiment.solution import Solution
from molewright.reading.fields import Fields

_TWO = 2  # that react with each other; others are there in plenty


def match_a_titration(so_far: ReadSoFar, vessel: str, titrant: Solution, reactions: Sequence[Reaction]) -> None:
    """Raise ReadAgain where the titrant, or what it meets in the vessel, stands in the equations in another form."""
    for reaction in reactions:
        left = _left(reaction)
        if titrant.species not in left:
            _other_form(so_far, [one for one in so_far.sources if one.key == (titrant.name, titrant.solute)], left)
            continue
        if not left & set(so_far.inside.get(vessel, ())) - {titrant.species}:
            _other_form(so_far, _in(so_far, vessel), left - {titrant.species})


def match_in_a_vessel(so_far: ReadSoFar, vessel: str, reactions: Sequence[Reaction]) -> None:
    """Raise ReadAgain where what is in a vessel stands in the equation of what is let react there in another form."""
    here = set(so_far.inside.get(vessel, ()))
    for reaction in reactions:
        left = _left(reaction)
        if len(left & here) < _TWO:
            wanted = left - here
            if len(left) > _TWO:  # hydrogen ions beside two others are there in plenty
                ions = so_far.chemicals.forms.ions if so_far.chemicals.forms else {}
                wanted -= {one for one in wanted if one in ions and ions[one].protons}
            sources = [one for one in _in(so_far, vessel) if one.species not in left]
            _other_form(so_far, sources, wanted)


def match_the_banks(so_far: ReadSoFar, of: Iterable[str], with_: str) -> None:
    """Raise ReadAgain where the banks hold a reaction of other forms of what is there."""
    first = [(one, form) for one in so_far.sources if one.species in set(of) for form in _forms(so_far, one)]
    second = [(one, form) for one in so_far.sources if one.species == with_ for form in _forms(so_far, one)]
    for one, (_, species) in first:
        for other, (_, titrant) in second:
            if one.key != other.key and so_far.chemicals.reaction_of(species, titrant):
                for source, form in ((one, (_, species)), (other, (_, titrant))):
                    found = next(full for full in _forms(so_far, source) if full[1] == form[1])
                    if found[1] != source.species:
                        raise ReadAgain(source.key, found)


def no_reaction(so_far: ReadSoFar, fields: Fields, of: Sequence[str], with_: str) -> Mistake:
    """What is said where neither the description nor the banks have an equation."""
    there = [one for one in of if one != with_] or ["nothing"]
    line = f"reaction: {there[0]} + {with_} -> ..." if with_ and there[0] != "nothing" else "reaction: ..."
    near = () if not with_ or with_ in so_far.chemicals.substances else nearest(with_, so_far.chemicals.substances)
    return Mistake(
        f"the banks hold no reaction of {' or '.join(there)} with {with_ or 'it'}",
        expected="'reaction: <equation>' here, or an entry in the banks",
        where=fields.where,
        near=near,
        do=f"Write '{line}' in this line, balanced, with what is made on the right.",
    )


def _left(reaction: Reaction) -> set[str]:
    return {member.formula.text for member in reaction.left}


def _in(so_far: ReadSoFar, vessel: str) -> list[Source]:
    here = so_far.inside.get(vessel, ())
    return [one for one in so_far.sources if one.species in here]


def _forms(so_far: ReadSoFar, source: Source) -> Iterator[Form]:
    """The forms that a source may take, the one that it has first."""
    if source.fixed or so_far.chemicals.forms is None:
        yield 1, source.species
        return
    forms = so_far.chemicals.forms.of(source.key[1])
    yield from sorted(forms, key=lambda form: form[1] != source.species)


def _other_form(so_far: ReadSoFar, sources: Iterable[Source], wanted: set[str]) -> None:
    for source in sources:
        for form in _forms(so_far, source):
            if form[1] in wanted and form[1] != source.species:
                raise ReadAgain(source.key, form)
