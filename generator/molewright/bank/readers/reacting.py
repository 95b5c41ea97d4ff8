"""What happens in a vessel comes in as a person writes it: reactions, what leaves, titrations; operations go out."""

from __future__ import annotations

from dataclasses import replace

from molewright.bank.definitions import ReactionEntry
from molewright.bank.readers.choices import choice_of
from molewright.bank.readers.described import Place, ReadRun, Spot
from molewright.bank.readers.listed_titres import MOST_RUNS, ROUGH, read_titres
from molewright.bank.readers.matching import (
    match_a_gas,
    match_a_titration,
    match_in_a_vessel,
    match_the_banks,
    no_reaction,
)
from molewright.bank.readers.putting_in import catch
from molewright.bank.readers.read_so_far import ReadSoFar
from molewright.chem.quantity import Quantity, parse_quantity
from molewright.chem.reaction import Reaction, require_whole
from molewright.chem.units import Unit
from molewright.errors import Mistake, shortened
from molewright.experiment import quantities
from molewright.experiment.equilibrium import CONSTANT, Settle
from molewright.experiment.gas_volume import GasVolume
from molewright.experiment.procedure import (
    Dissolve,
    MakeUp,
    Measure,
    Pass,
    React,
    Remove,
    Titrate,
    Warm,
    Weigh,
)
from molewright.experiment.solution import Solution
from molewright.reading.fields import Fields, text_of
from molewright.reading.yaml_text import Branch, Listing

OF_THE_TITRATION = "of the titration"  # a line 'react' that only writes the equation of a titration
TITRE_KEYS = ("titre", "mean titre", "volume", "titres", "readings")


def _reaction(so_far: ReadSoFar, fields: Fields, vessel: str, species: list[str], with_: str) -> tuple[Reaction, ...]:
    """The equations written, or the bank's for each species of the vessel that reacts with `with_`."""
    if fields.has("reaction"):
        return _written(so_far, fields)
    of = [so_far.formula(text) for text in fields.texts("of", tuple(species))]
    solid = _undissolved(so_far, vessel)
    entries = [e for one in of if one != with_ for e in so_far.chemicals.reaction_of(one, with_, one in solid)]
    if so_far.teachers:
        match_the_banks(so_far, [one for one in of if one != with_], with_)
    if not entries:
        raise no_reaction(so_far, fields, of, with_)
    so_far.made.used.extend(entries)
    return tuple(entry.reaction for entry in entries)


def _written(so_far: ReadSoFar, fields: Fields) -> tuple[Reaction, ...]:
    found = []
    for text in fields.texts("reaction"):
        try:
            reaction = so_far.reaction(text)
            if reaction.both_ways:
                raise Mistake(
                    f"the equation {shortened(text, 120)} has an arrow both ways, and what is titrated or let react goes to its end",
                    expected="one arrow, written ->",
                    do="Write ->; what comes to an equilibrium is a line '- come to equilibrium: ...'.",
                )
            require_whole(reaction)
        except Mistake as mistake:
            raise mistake.at(fields.at("reaction")) from None
        found.append(reaction)
        so_far.made.used.append(_entry_for(so_far, reaction))
    return tuple(found)


def _titrated(
    so_far: ReadSoFar, fields: Fields, vessel: str, titrant: Solution, indicator: str
) -> tuple[Reaction, ...]:
    """The equations of a titration: those written, else those of the end point that is seen, else the bank's."""
    present = list(dict.fromkeys(so_far.inside.get(vessel, [])))
    if fields.has("reaction"):
        reactions = _written(so_far, fields)
        match_a_titration(so_far, vessel, titrant, reactions)
        return reactions
    judge = so_far.chemicals.end_points
    of = [so_far.formula(text) for text in fields.texts("of", tuple(present))]
    try:
        seen = judge.titrated(of, frozenset(so_far.formed), titrant.species, indicator) if judge else None
    except Mistake as mistake:
        raise mistake.at(fields.where) from None
    if seen is None:
        return _reaction(so_far, fields, vessel, present, titrant.species)
    so_far.made.notes += seen.notes
    so_far.made.used.extend(seen.entries)
    return tuple(entry.reaction for entry in seen.entries)


def _undissolved(so_far: ReadSoFar, vessel: str) -> set[str]:
    """What was weighed into a vessel and meets the next solution as a solid."""
    found: set[str] = set()
    for operation in so_far.made.operations:
        match operation:
            case Weigh(vessel=into, contents=contents) if into == vessel:
                found |= {content.species for content in contents}
            case Dissolve(vessel=into) | MakeUp(vessel=into) if into == vessel:
                found.clear()
            case _:
                pass
    return found


def _entry_for(so_far: ReadSoFar, reaction: Reaction) -> ReactionEntry:
    return next(
        (e for e in so_far.chemicals.reactions if e.reaction.is_like(reaction)), ReactionEntry(reaction=reaction)
    )


def react(so_far: ReadSoFar, fields: Fields) -> None:
    """Read a reaction in a vessel, by an equation or by what is left over."""
    if fields.yes(OF_THE_TITRATION):  # told there
        fields.has("reaction")
        fields.has("vessel")
        return
    vessel = so_far.vessel(fields)
    excess = ""
    if fields.has("excess"):
        named = so_far.formula(fields.text("excess"))
        bottle = next((b for b in so_far.bottles.values() if named in (b.solute, b.species)), None)
        excess = bottle.species if bottle else named
    elif fields.has("reaction"):  # what was added in excess is what is left over
        excess = _in_excess(so_far, vessel, fields)
    present = list(dict.fromkeys(so_far.inside.get(vessel, [])))
    plenty = so_far.formula(fields.text("with")) if fields.has("with") else ""  # there in plenty, never measured
    if not excess and not plenty and not fields.has("reaction"):
        raise Mistake(
            "a reaction without an equation and without an excess",
            expected="'reaction:', 'excess:' or 'with:'",
            where=fields.where,
        )
    reactions = _reaction(so_far, fields, vessel, [one for one in present if one != excess], excess or plenty)
    if fields.has("reaction"):
        match_in_a_vessel(so_far, vessel, reactions)
    told = fields.has("more than reacts")
    if told and not excess:
        raise Mistake(
            "how much more than reacts, and no excess", expected="'excess: ...' beside it", where=fields.where
        )
    so_far.number(fields, "more than reacts", quantities.excess_share(excess))
    if plenty:
        so_far.made.helped.add(len(so_far.made.operations))
    so_far.made.operations.append(React(reactions, vessel, excess, told))
    left = {member.formula.text for reaction in reactions for member in reaction.left}
    made = [member.formula.text for reaction in reactions for member in reaction.right]
    so_far.inside[vessel] = [one for one in present if one not in left or one == excess] + made
    so_far.formed.update(made)


def _in_excess(so_far: ReadSoFar, vessel: str, fields: Fields) -> str:
    """The species that 'add excess' put into a vessel, where an equation written here uses it up."""
    added = [
        act.solution.species
        for act in so_far.made.operations
        if isinstance(act, Measure) and act.excess and act.vessel == vessel
    ]
    used = {member.formula.text for text in fields.texts("reaction") for member in so_far.reaction(text).left}
    return next((species for species in reversed(added) if species in used), "")


def settle(so_far: ReadSoFar, fields: Fields) -> None:
    """Read an equilibrium in a vessel, by an equation with <=> and by what is titrated of it."""
    vessel = so_far.vessel(fields)
    if fields.has("reaction"):
        reaction = so_far.reaction(fields.text("reaction"))
        require_whole(reaction)
        entry = _entry_for(so_far, reaction)
    else:
        of, beside = (so_far.formula(fields.text(key)) for key in ("of", "with"))
        known = [one for one in so_far.chemicals.reaction_of(of, beside) if one.reaction.both_ways]
        if not known:
            raise Mistake(
                f"the banks hold no equilibrium of {of} with {beside}",
                expected="'reaction: ...' with <=>",
                where=fields.where,
            )
        entry, reaction = known[0], known[0].reaction
    act = Settle(
        reaction=replace(reaction, both_ways=True), followed=so_far.formula(fields.text("followed")), vessel=vessel
    )
    told = text_of(fields.branch("constant")) if fields.has("constant") else ""
    if told.removeprefix("hidden ") == "of the reaction":
        if not entry.constant:
            raise Mistake(
                f"the banks tell no constant of {reaction}", expected="a number or a range", where=fields.at("constant")
            )
        so_far.made.choices[CONSTANT] = choice_of(told.replace("of the reaction", entry.constant), Unit.NONE)
    else:
        so_far.number(fields, "constant", CONSTANT)
    so_far.made.operations.append(act)
    there = so_far.inside.setdefault(vessel, [])
    there += [species for species in (*act.left, *act.right) if species not in there]


def _leaving(so_far: ReadSoFar, fields: Fields, how: str, do: str = "") -> tuple[str, str]:
    """A species that leaves its vessel, and that vessel. Raises Mistake where it is not there."""
    vessel = so_far.vessel(fields)
    species = so_far.formula(fields.text("species"))
    there = so_far.inside.get(vessel, [])
    if species not in there:
        raise Mistake(
            f"no {species} is in {vessel} to be {how}",
            expected=f"one of: {', '.join(dict.fromkeys(there)) or 'nothing is there'}",
            do=do,
            where=fields.at("species"),
        )
    so_far.inside[vessel] = [one for one in there if one != species]
    return species, vessel


def boil_off(so_far: ReadSoFar, fields: Fields) -> None:
    """Read a species that is boiled off: the only gas that is there where none is named, which else is only boiled."""
    if fields.has("species"):
        so_far.made.operations.append(Remove(*_leaving(so_far, fields, "boiled off")))
        return
    vessel = so_far.vessel(fields)
    gases = {
        member.formula.text
        for entry in (*so_far.chemicals.reactions, *so_far.made.used)
        for member in entry.reaction.right
        if member.state == "g"
    }
    there = [one for one in dict.fromkeys(so_far.inside.get(vessel, ())) if one in gases and one in so_far.formed]
    if len(there) > 1:
        raise Mistake(
            f"{' and '.join(there)} could be boiled off", expected=f"'boil off: {there[0]}'", where=fields.where
        )
    so_far.made.operations.append(Remove(there[0], vessel) if there else Warm("boiling", vessel))
    so_far.inside[vessel] = [one for one in so_far.inside.get(vessel, []) if one not in there]


def filter_off(so_far: ReadSoFar, fields: Fields) -> None:
    """Read a species that is filtered off."""
    so_far.made.operations.append(Remove(*_leaving(so_far, fields, "filtered off"), by_boiling=False))


def collect_gas(so_far: ReadSoFar, fields: Fields) -> None:
    """Read a gas that a vessel gives off and whose volume is measured."""
    before = "Write the reaction that gives it off on a line before: '- react: ...'."
    _measured_gas(so_far, fields, GasVolume(*_leaving(so_far, fields, "collected", before)))


def lead_in(so_far: ReadSoFar, fields: Fields) -> None:
    """Read a measured volume of a gas that is led into a vessel."""
    vessel = fields.text("into", so_far.here)
    act = GasVolume(so_far.formula(fields.text("species")), vessel, led_in=True)
    _measured_gas(so_far, fields, act)
    so_far.inside.setdefault(vessel, []).append(act.species)
    so_far.here = vessel


def _measured_gas(so_far: ReadSoFar, fields: Fields, act: GasVolume) -> None:
    so_far.number(fields, "volume", act.volume)
    so_far.number(fields, "molar volume", quantities.MOLAR_VOLUME)
    so_far.made.operations.append(act)


def drive_over(so_far: ReadSoFar, fields: Fields) -> None:
    """Read a gas that is driven over into another vessel, perhaps into a solution that this line tells of too."""
    into = fields.text("into")
    species = so_far.formula(fields.text("species"))
    vessel = so_far.vessel(fields, "from")
    if not fields.has("from"):
        vessel = match_a_gas(so_far, species, into) or vessel
    if fields.has("solution"):
        so_far.here = into
        catch(so_far, fields)
    so_far.made.operations.append(Pass(species, vessel, into))
    so_far.inside[vessel] = [one for one in so_far.inside.get(vessel, []) if one != species]
    so_far.inside.setdefault(into, []).append(species)
    so_far.here = into


def titrate(so_far: ReadSoFar, fields: Fields) -> None:
    """Read a titration: its titrant, its equation or the ratio that is sought, its titre or readings."""
    vessel = so_far.vessel(fields)
    titrant = so_far.solution(fields, "with")
    present = list(dict.fromkeys(so_far.inside.get(vessel, [])))
    indicator, name = so_far.word(fields.text("indicator", "")), fields.text("name", "")
    sought = so_far.formula(fields.text("ratio of")) if fields.has("ratio of") else ""
    if sought:
        electrons = fields.whole("electrons", 0)
        element = fields.text("oxidation state of", "")
        if element and not electrons:
            raise Mistake(
                "an oxidation state without electrons",
                expected="'electrons: 5' beside it",
                where=fields.at("oxidation state of"),
            )
        act = Titrate(
            titrant=titrant,
            reactions=(),
            vessel=vessel,
            indicator=indicator,
            name=name,
            sought=sought,
            electrons=electrons,
            basicity=fields.yes("basicity"),
            element=element,
        )
        so_far.number(fields, "ratio", act.found_ratio)
        so_far.number(fields, "oxidation state", quantities.oxidation_state(element, False))
        so_far.made.used.append(ReactionEntry(reaction=Reaction((), ())))
        reactions: tuple[Reaction, ...] = ()
    else:
        reactions = _titrated(so_far, fields, vessel, titrant, indicator)
        act = Titrate(titrant=titrant, reactions=reactions, vessel=vessel, indicator=indicator, name=name)
    keys = [key for key in TITRE_KEYS if fields.has(key)]
    if len(keys) > 1:
        raise Mistake(
            f"both '{keys[0]}' and '{keys[1]}'", expected="one of them: they say the same", where=fields.at(keys[1])
        )
    if keys == ["titres"]:
        read_titres(so_far, fields, act.titre)
    elif keys != ["readings"]:
        so_far.number(fields, keys[0] if keys else "titre", act.titre)
    if keys == ["readings"]:
        so_far.made.runs[act.titre] = _readings(fields)
        so_far.made.written[act.titre] = Place(fields.where, "readings", fields.at("readings"))
        so_far.made.spots[act.titre] = [Spot(so_far.operation, "", "readings")]
    so_far.made.operations.append(act)
    if so_far.chemicals.end_points is not None:
        so_far.made.notes += so_far.chemicals.end_points.doubts(act, present)
    so_far.made.indicators = tuple(map(so_far.word, fields.texts("indicators", ())))
    left = {member.formula.text for reaction in reactions for member in reaction.left} | {sought}
    made = [member.formula.text for reaction in reactions for member in reaction.right]
    so_far.inside[vessel] = [one for one in present if one not in left] + made
    so_far.formed.update(made)


def _readings(fields: Fields) -> tuple[ReadRun, ...]:
    branch = fields.branch("readings")
    if not isinstance(branch, Listing) or not branch.members:
        raise Mistake(
            "the burette readings are not a list", expected="lines of '- 0.50 to 25.35'", where=fields.at("readings")
        )
    if len(branch.members) > MOST_RUNS:
        raise Mistake(f"{len(branch.members)} runs", expected=f"at most {MOST_RUNS}", where=fields.at("readings"))
    return tuple(_run(member) for member in branch.members)


def _run(member: Branch) -> ReadRun:
    text = text_of(member)
    rough = text.startswith(ROUGH)
    first, _, last = text.removeprefix(ROUGH).partition(" to ")
    if not last:
        raise Mistake(
            f"the run '{text}'",
            expected="initial to final, as '0.50 to 25.35' or 'rough 0.00 to 25.60'",
            where=member.where,
        )
    final = parse_quantity(last, unit_needed=False)
    initial = parse_quantity(first, unit_needed=False)
    unit = final.unit or Unit.CM3
    initial, final = Quantity(initial.number, initial.unit or unit), Quantity(final.number, unit)
    for reading in (initial, final):
        if reading.unit.base is not Unit.CM3:
            raise Mistake(f"the run {shortened(text)} is in {reading.unit}", expected="cm3", where=member.where)
    if initial.number < 0:
        raise Mistake(f"the run {shortened(text)} begins below zero", expected="0.00 or more", where=member.where)
    if initial.in_base >= final.in_base:
        raise Mistake(
            f"the run '{text}' runs backwards", expected="the initial reading below the final one", where=member.where
        )
    return ReadRun(initial, final, rough)
