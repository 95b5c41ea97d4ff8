"""A described experiment and its moves come in; the texts of an own entry that draws such questions go out, with comments.

Nothing is written here, and nothing is said of whether it draws: whoever writes it reads it back first.
"""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher
from fractions import Fraction

from molewright.bank.definitions import Archetype, Bank, Windows
from molewright.bank.readers.forms import Form, usual_form
from molewright.bank.readers.operation_lines import line_of, parted, text_under
from molewright.bank.readers.reacting import TITRE_KEYS
from molewright.chem.formula import ELEMENTS
from molewright.chem.masses import element_name, relative_mass
from molewright.chem.quantity import half_up
from molewright.errors import Mistake
from molewright.experiment import quantities
from molewright.experiment.procedure import Measure, Procedure, Weigh
from molewright.experiment.quantities import Name
from molewright.experiment.quantity_kinds import UNITS
from molewright.experiment.quantity_texts import texts_of
from molewright.reading.fields import MOST_KEY, text_of
from molewright.reading.quoting import flow_text, quoted
from molewright.reading.yaml_text import Branch, Keys, Listing, Scalar, parse_tree
from molewright.solve.moves import Moves, told_choice, told_window
from molewright.solve.other_numbers import put_in
from molewright.solve.proved import Proved, sought_solution, with_dissolving

SOURCE = "an experiment of one's own"
_ONLY_DESCRIBED = {"titrate": TITRE_KEYS, "weigh": ("full bottle",)}  # keys of an experiment that was done
_SETTLED = (
    "molar mass",
    "water",
    "subscript",
    "atomic mass",
    "ratio",
    "oxidation state",
)  # what is sought and is so by nature
USUAL_WITHIN = Fraction(1, 100)  # a molar mass in a book is rounded otherwise, not another one
SAME_TITRANT, SAME_ASKED = 0.4, 0.2  # beside what is done, of which all alike counts 1
_FITTING = ("mass", "concentration", "mass concentration", "volume strength", "mass each", "mass within", "percentage")


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnEntry:
    """The key of the kind of question, its own file, and what is added to files that others share."""

    key: str
    archetype: str
    scene: str
    material: str = ""
    substance: str = ""


@dataclass(frozen=True, slots=True)
class Told:
    """What stands in a teacher's words: a sentence before the stem, or the stem and the task whole, their numbers named in braces."""

    opening: str = ""
    words: tuple[str, ...] = ()
    task: str = ""


def own_entries(proved: Proved, moves: Moves, told: Told, bank: Bank) -> Iterator[OwnEntry]:
    """The entry, once for each number that could be the one that bends to the titre, the likeliest first.

    Raises Mistake for an experiment that no entry can say.
    """
    _require_usual_masses(proved)
    fitting = [name for kind in _FITTING for name in moves.choices if name.kind == kind and _bends(name, proved)]
    if proved.procedure.titrations and not fitting:
        raise Mistake(
            "no number of this experiment can bend to the titre",
            expected="a mass, or the concentration of what is titrated, that may move",
            where=proved.experiment.where,
        )
    fits: list[Name | None] = [*fitting] if proved.procedure.titrations else [None]
    for fit in fits:
        yield _entry(proved, moves, fit, told, bank)


def _require_usual_masses(proved: Proved) -> None:
    """Raises Mistake for a molar mass of one's own that no entry could state: one that its formula does not lead to, nearly."""
    for name, quantity in proved.given.items():
        if name.kind == "molar mass" and name not in proved.experiment.described.choices:
            try:
                usual = Fraction(relative_mass(name.subject, proved.experiment.masses))
            except Mistake:
                usual = Fraction(0)
            if abs(usual - quantity.exact) > USUAL_WITHIN * quantity.exact:
                raise Mistake(
                    f"the {name}, {quantity}, does not follow from its formula",
                    where=proved.experiment.where.under("molar masses"),
                    expected="formulae whose molar masses follow from the relative atomic masses, where an entry is made of it",
                )


def _bends(name: Name, proved: Proved) -> bool:
    """Whether the titre may be a straight line in a number: not in the strength of the titrant, nor of what is in excess."""
    others = [proved.procedure.titrations[-1].titrant.name] if proved.procedure.titrations else []
    others += [act.solution.name for act in proved.procedure.reagents]
    return name.subject not in others


def _entry(proved: Proved, moves: Moves, fit: Name | None, told: Told, bank: Bank) -> OwnEntry:
    key = _key(proved.experiment.title)
    if key in bank.archetypes and key not in bank.own:
        key = f"own-{key}"[:MOST_KEY]
    weighed = next((act for act in proved.procedure.weighings if act.contents), None)
    material = _material(weighed, moves, bank, proved.procedure) if weighed is not None and not weighed.pure else ""
    analyte = _analyte(proved.procedure)
    element = analyte in ELEMENTS and analyte not in bank.substances
    if analyte not in bank.substances and not element:
        raise Mistake(
            f"the banks do not hold {analyte}",
            where=proved.experiment.where,
            expected="a substance with a name, so that questions can call it by it",
            do=f"Put '- {{formula: {analyte}, name: ...}}' into substances.yaml of a folder, and name it with --entries.",
        )
    sought = sought_solution(proved, bank)
    sample = weighed.sample if weighed is not None else sought[1] if sought is not None else "solution"
    named = weighed is not None and not weighed.pure
    scene = [
        f"- key: {key}",
        f"  serves: [{quoted(sample if named else analyte)}]",
        "  reserved: yes   # only for this kind of question",
        f"  opening: {quoted(told.opening or _opening(bank, sample))}   # one or two sentences without numbers, before what was done",
        f"  sample: {quoted(f'the {sample}')}",
        *(
            ["  words:   # the whole stem, a paragraph each; a number stands in braces by its name"]
            if told.words
            else []
        ),
        *(f"    - {quoted(text)}" for text in told.words),
        *([f"  task: {quoted(told.task)}"] if told.task else []),
    ]
    role = f"material: {quoted(sample)}" if named else f"analyte: {quoted(analyte)}"
    return OwnEntry(
        key=key,
        archetype=_archetype(proved, moves, fit, bank, key, role, sample),
        scene="\n".join(scene) + "\n",
        material=material,
        substance=f"- {{formula: {quoted(analyte)}, name: {element_name(analyte)}, source: {SOURCE}}}\n"
        if element
        else "",
    )


def _opening(bank: Bank, sample: str) -> str:
    """A sentence that stands before a stem where the experiment has none of its own."""
    return bank.words["own scene"][0].replace("{sample}", f"the {sample}")


def _key(title: str) -> str:
    """The title as a key: small letters, digits and hyphens."""
    plain = re.sub(r"[^a-z0-9]+", "-", title.casefold()).strip("-")[:MOST_KEY].strip("-")
    return plain or "experiment"


def _analyte(procedure: Procedure) -> str:
    """The substance that the experiment is about: of the first thing that is weighed, or of what is measured and titrated."""
    for act in procedure.weighings:
        if act.contents:
            return act.contents[0].substance
    measured = [act.solution.solute for act in procedure.measures if not act.excess]
    return measured[0] if measured else next(procedure.solutions()).solute


def _material(act: Weigh, moves: Moves, bank: Bank, procedure: Procedure) -> str:
    """An entry for what is weighed; "" where the banks hold it already."""
    analyte = act.contents[0].substance
    known = bank.materials.get(act.sample)
    if known is not None:
        if known.analyte != analyte:
            raise Mistake(
                f"the banks hold '{act.sample}' as a source of {known.analyte}",
                expected=f"another name for a sample that contains {analyte}",
                do="Change 'sample:' in the procedure.",
            )
        return ""
    share = moves.choices.get(quantities.percentage(analyte, act.sample))
    low, high = (share.low, share.high) if share is not None and not share.options else (1, 99)
    reagents = ", ".join(
        dict.fromkeys(quoted(one.solution.solute) for one in procedure.reagents if one.vessel == act.vessel)
    )
    told = [
        f"- name: {quoted(act.sample)}",
        f"  noun: {quoted(act.sample)}   # what was weighed, after 'sample of the'",
        f"  analyte: {quoted(analyte)}",
        f"  low: {low}   # believable percentages of it",
        f"  high: {high}",
        *([f"  reagents: [{reagents}]   # what dissolves it cleanly"] if reagents else []),
        *([f"  pieces: {quoted(act.pieces)}"] if act.pieces else []),
        f"  source: {SOURCE}",
    ]
    return "\n".join(told) + "\n"


# ------------------------------------------------------------ the kind of question


def _archetype(
    proved: Proved,
    moves: Moves,
    fit: Name | None,
    bank: Bank,
    key: str,
    role: str,
    sample: str,
) -> str:
    experiment = proved.experiment
    asked = texts_of(experiment.system.variables)[experiment.ask.quantity]
    ask = [f"quantity: {quoted(asked)}"]
    ask += [f"unit: {quoted(proved.ask.unit.typed)}"] if proved.ask.unit else []
    ask += [f"figures: {proved.ask.figures}"]
    topic, demand = _topic(proved, bank)
    return "\n".join(
        [
            *_comment(
                f"{experiment.title}: a kind of question of one's own, made from a described experiment. A number may be one quantity "
                "(25.0 cm3), a list ([20.0 cm3, 25.0 cm3]) or a range with its step (1.20 to 1.50 g by 0.001). Exactly one range is "
                "marked 'fit': it bends until the titre lies where 'titre' says. 'molewright check FOLDER' tells what is drawn, and "
                "every fault with its line; banks/README.md is the guide to all of it."
            ),
            f"- key: {key}   # how 'molewright paper' asks for it",
            f"  title: {quoted(experiment.title)}",
            f"  topic: {quoted(topic)}   # a heading of 'molewright banks'",
            f"  demand: {demand}   # 1, easy, to 9",
            "  variants:",
            f"    - {{{role}}}",
            "  procedure:",
            *(f"    - {line}" for line in _operations(proved, moves, fit, sample, bank)),
            *_windows(moves),
            "  ask:   # further lines ask for other quantities of the procedure",
            f"    - {{{', '.join(ask)}}}",
            f"  runs: {'table' if proved.runs else 'mean'}   # table: burette readings; mean: the mean titre; either: either of them",
            f"  contexts: [{key}]   # scenes, by their keys in contexts.yaml; more of them, more variety",
            f"  source: {SOURCE}",
            "",
        ]
    )


def _comment(text: str) -> list[str]:
    return [f"# {line}" for line in textwrap.wrap(text, 110)]


def _topic(experiment: Proved, bank: Bank) -> tuple[str, int]:
    """The heading and the demand of the kind of the banks that is most like it; a teacher may know better."""
    shape, asked = _shape(experiment.procedure), experiment.experiment.ask.quantity.kind
    titrants = {act.titrant.solute for act in experiment.procedure.titrations}

    def likeness(kind: Archetype) -> float:
        variant = kind.variants[0]
        same = bool(titrants & {act.titrant.solute for act in variant.procedure.titrations})
        done = SequenceMatcher(None, shape, _shape(variant.procedure)).ratio()
        return done + SAME_TITRANT * same + SAME_ASKED * any(ask.quantity.kind == asked for ask in variant.asks)

    kinds = [one for one in bank.archetypes.values() if one.calculated and not bank.topic_of(one).only_by_name]
    nearest_kind = max(kinds, key=likeness)
    return nearest_kind.topic, nearest_kind.demand


def _shape(procedure: Procedure) -> list[str]:
    """What is done, a word an operation."""
    return [
        f"{type(act).__name__}{' more' if isinstance(act, Measure) and act.excess else ''}"
        for act in procedure.operations
    ]


def _windows(moves: Moves) -> list[str]:
    told = []
    if moves.titres:
        low = min(ends[0] for ends in moves.titres.values())
        high = max(ends[1] for ends in moves.titres.values())
        told.append(f"  titre: {told_window(low, high)}   # where the titres must lie")
    if moves.used:
        usual = Windows().used
        low = min([*(ends[0] for ends in moves.used.values()), usual[0]])
        high = max([*(ends[1] for ends in moves.used.values()), usual[1]])
        told.append(
            f"  used: {half_up(low, 2)} to {half_up(high, 2)}   # the share of a reagent in excess that is used up"
        )
    return told


def _operations(proved: Proved, moves: Moves, fit: Name | None, sample: str, bank: Bank) -> Iterator[str]:
    """The procedure, each number with its range, an operation a line; what the scene calls the sample is not `called` so as well."""
    procedure = proved.experiment.procedure
    assert isinstance(procedure, Listing)
    spots = proved.experiment.described.spots
    asked = proved.experiment.ask.quantity
    for name, choice in moves.choices.items():
        hidden = name not in proved.given and name != asked and not _told_by(name, asked, proved)
        told = f"{'hidden ' if hidden else ''}{'fit ' if name == fit else ''}{told_choice(choice)}"
        if choice.options:
            number: Branch = parse_tree(told, "experiment")
        else:
            number = Scalar(told, procedure.where)
        procedure = put_in(procedure, spots.get(name, ()), number, or_first=True)
    for name, value in moves.start.items():
        if (
            name.kind in _SETTLED
            and name not in proved.given
            and name in spots
            and name not in proved.experiment.system.fixed
        ):
            procedure = put_in(procedure, spots[name], Scalar(_settled(name, value), procedure.where), or_first=True)
    for name in moves.stays:
        if name in proved.given and name in spots:
            quantity = proved.given[name]
            told = f"{quantity.number_text} {quantity.unit.typed}".strip()
            procedure = put_in(procedure, spots[name], Scalar(told, procedure.where))
    given = _what_is_given(proved, bank)
    dissolved = len(with_dissolving(proved.procedure).operations) > len(proved.procedure.operations)
    for member in procedure.members:
        text = flow_text(_with_gives(_as_drawn(member, sample), given))
        yield text[1:-1] if text.startswith("{") else text
        if dissolved and isinstance(member, Keys) and "weigh" in member.members:
            yield "dissolve"


def _what_is_given(proved: Proved, bank: Bank) -> dict[str, list[str]]:
    """What things give, by their names in a line, where an equation has it otherwise than a reader of entries would take it."""

    def usual(substance: str) -> Form:
        return usual_form(bank.substances.get(substance), substance)

    found: dict[str, list[str]] = {}
    for act in proved.procedure.weighings:
        if any((one.count, one.species) != usual(one.substance) for one in act.contents):
            found[act.sample] = [f"{one.count} {one.species}" for one in act.contents]
    for solution in proved.procedure.solutions():
        if (solution.count, solution.species) != usual(solution.solute):
            found[solution.solute] = [f"{solution.count} {solution.species}"]
    return found


def _with_gives(member: Branch, given: Mapping[str, Sequence[str]]) -> Branch:
    """An operation with what its sample or its solution gives."""
    word, held = parted(member)
    if not isinstance(held, Keys) or "gives" in held.members:
        return member
    name = next((text_under(held, key) for key in ("sample", "solution", "with") if key in held.members), "")
    if name not in given:
        return member
    told = [Scalar(one, held.where) for one in given[name]]
    gives: Branch = Listing(tuple(told), held.where) if len(told) > 1 else told[0]
    return line_of(member, word, Keys({**held.members, "gives": gives}, held.wheres, held.where))


def _told_by(name: Name, asked: Name, proved: Proved) -> bool:
    """Whether a hidden number is one that what is asked for is another way to tell, so that it is hidden by being asked for."""
    inputs = [one for one in proved.truth if one not in proved.given and one.kind in _FITTING and one != asked]
    return len(inputs) <= 1 or name.subject == asked.subject


def _settled(name: Name, value: Fraction) -> str:
    """What is so by nature, as it is written: a whole number of molecules of water, a molar mass to one place."""
    unit = UNITS[name.kind]
    places = 0 if value.denominator == 1 or name.kind in ("water", "subscript", "oxidation state") else 1
    return f"{half_up(value, places)} {unit.typed}".strip()


def _as_drawn(member: Branch, sample: str) -> Branch:
    """An operation without what only an experiment that was done has."""
    if not isinstance(member, Keys):
        return member
    ((word, held),) = member.members.items()
    if not isinstance(held, Keys):
        return member
    kept = {
        key: branch
        for key, branch in held.members.items()
        if key not in _ONLY_DESCRIBED.get(word, ()) and not (key == "called" and text_of(branch) == sample)
    }
    return Keys({word: Keys(kept, held.wheres, held.where)}, member.wheres, member.where)
