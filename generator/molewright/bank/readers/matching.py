"""An equation and what is in a vessel come in; where the one writes a substance in another form than the other, that goes out.

NaCl and Cl⁻ are one where silver ions are run in: a bottle is counted in the form that the equation has, and the list of operations
is read again with it (`ReadAgain`). Nothing is changed where the description says itself what a substance gives.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence

from molewright.bank.readers.forms import Form
from molewright.bank.readers.read_so_far import ReadAgain, ReadInIons, ReadSoFar, Source
from molewright.chem.formula import PLACEHOLDERS, parse_formula
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
        here = so_far.inside.get(vessel, ())
        met = reaction.meeting(titrant.species, here)
        if not met:
            _other_form(so_far, _in(so_far, vessel), left - {titrant.species})
            _in_ions(so_far, here, left - {titrant.species})
        elif len(met) > 1:  # an acid that was measured, beside what is titrated in it: in ions it is seen to help only
            _in_ions(so_far, here, (), [one for one in met if so_far.chemicals.in_water.protons_of(one)])


def match_a_gas(so_far: ReadSoFar, species: str, into: str) -> str:
    """The vessel that a gas is driven out of: the last one that holds it; "" for none. Raise ReadAgain where one holds its atoms."""
    vessels = [so_far.here, *reversed(so_far.inside)]
    others = [one for one in dict.fromkeys(vessels) if one != into]
    for vessel in others:
        if species in so_far.inside.get(vessel, ()):
            return vessel
    for vessel in others:
        _other_form(so_far, _in(so_far, vessel), {species})
    return ""


def match_in_a_vessel(so_far: ReadSoFar, vessel: str, reactions: Sequence[Reaction]) -> None:
    """Raise ReadAgain where what is in a vessel stands in the equation of what is let react there in another form."""
    here = set(so_far.inside.get(vessel, ()))
    for reaction in reactions:
        left = _left(reaction)
        if len(left & here) < _TWO:
            wanted = left - here
            wanted -= reaction.helpers
            sources = [one for one in _in(so_far, vessel) if one.species not in left]
            _other_form(so_far, sources, wanted)


def _in_ions(so_far: ReadSoFar, here: Iterable[str], wanted: Collection[str], acids: Iterable[str] = ()) -> None:
    """Raise ReadInIons where a reaction made a salt whose ions stand in an equation, or an ion whose salt does; and for some acids."""
    forms = so_far.chemicals.forms
    made = [one for one in here if one in so_far.formed]
    if forms is None:
        return
    ways = ((made, wanted), (sorted(wanted), made))
    salts = (one for whole, others in ways for one in whole if any(ion in others for _, ion in forms.apart(one)))
    for one in (*salts, *acids):
        if one not in so_far.in_ions and forms.apart(one):
            raise ReadInIons(one)


def match_the_banks(so_far: ReadSoFar, of: Sequence[str], with_: str) -> None:
    """Raise ReadAgain where the banks hold reactions of more of what is there in other forms."""
    if not any(so_far.chemicals.reaction_of(one, with_) for one in of):
        _in_ions(so_far, of, [one for entry in so_far.chemicals.reactions_with(with_) for one in entry.reactants()])
    ways = [_way(so_far, of, source, form) for source in _bringing(so_far, [with_]) for form in _forms(so_far, source)]
    ways = [way for way in ways if way[1]]
    if not ways:
        return
    now = sum(bool(so_far.chemicals.reaction_of(one.species, with_)) for one in _bringing(so_far, of))
    (titrant, form), matched = max(ways, key=lambda way: len(way[1]))
    if len(matched) <= now:
        return
    for source, wanted in ((titrant, form), *matched):
        if wanted[1] != source.species:
            raise ReadAgain(source.key, wanted)


_Match = tuple[Source, Form]


def _way(so_far: ReadSoFar, of: Sequence[str], titrant: Source, form: Form) -> tuple[_Match, list[_Match]]:
    """A form of the titrant, and each of what is there in the form that reacts with it by the banks."""
    matched = []
    for source in _bringing(so_far, of):
        if source.key == titrant.key:
            continue
        forms = (*_forms(so_far, source), *_by_its_atoms(so_far, source, form[1]))
        found = next((one for one in forms if so_far.chemicals.reaction_of(one[1], form[1])), None)
        matched += [(source, found)] if found is not None else []
    return (titrant, form), matched


def _by_its_atoms(so_far: ReadSoFar, source: Source, titrant: str) -> Iterator[Form]:
    """What reacts with the titrant and holds the atoms of a substance: the ions of an element, the metal's ion of an oxide."""
    forms = so_far.chemicals.forms
    if source.fixed or forms is None:
        return
    element = len(parse_formula(source.key[1], PLACEHOLDERS).atoms) == 1
    for entry in so_far.chemicals.reactions_with(titrant):
        for one in entry.reactants():
            read = parse_formula(one, PLACEHOLDERS)
            found = forms.by_atoms(source.key[1], one)
            if one != titrant and found is not None and (element or (read.charge > 0 and len(read.atoms) == 1)):
                yield found


def _bringing(so_far: ReadSoFar, species: Iterable[str]) -> list[Source]:
    wanted = set(species)
    return list({one.key: one for one in so_far.sources if one.species in wanted}.values())


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
    """Raise ReadAgain for the first source that has a wanted form; else for the only one that holds the atoms of a wanted species."""
    there = list(sources)
    for source in there:
        for form in _forms(so_far, source):
            if form[1] in wanted and form[1] != source.species:
                raise ReadAgain(source.key, form)
    forms = so_far.chemicals.forms
    if forms is not None:
        held = {
            (source.key, counted)
            for source in there
            for species in wanted
            if not source.fixed and (counted := forms.by_atoms(source.key[1], species)) is not None
        }
        if len(held) == 1:
            raise ReadAgain(*held.pop())
