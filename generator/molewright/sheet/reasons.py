"""A step of a calculation comes in; why it is done goes out, in one sentence with the numbers of the question.

The wording is found by the kind of relation and by what stands for the quantity that the step finds; nothing is decided by a formula.
"""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction

from molewright.chem.quantity import Quantity, finite_places, half_up
from molewright.chem.units import Unit
from molewright.derivation.worked import WorkedStep
from molewright.experiment.quantities import Name
from molewright.experiment.relations.kinds import ROLES, RelationKind
from molewright.experiment.relations.variables import Relation, Variable
from molewright.experiment.titres import CONCORDANT_CM3, chosen
from molewright.nodes.inline import Amount, Chem, Inline, Line, Text
from molewright.sheet.wording import Filling, count_word, joined, listed, listed_formulae
from molewright.sheet.writer import Writer

PLACES: Mapping[RelationKind, tuple[str, ...]] = {
    "total": ("sum",),
    "supposed": ("supposed", "amount", "molar"),
    "extra": ("extra", "sample", "supposed"),
    "difference": ("difference", "heavy", "light"),
    "heavier": ("extra", "amount", "difference"),
}
"""What stands where in the kinds of relation that the banks have no words for; of a sum, whatever else is a "part"."""

# A solution's strength, the mass in so much of it, a molar mass: each as what 1 dm³ or 1 mol holds.
_HELD = {
    Unit.MOL_PER_DM3: Unit.MOL,
    Unit.G_PER_DM3: Unit.G,
    Unit.G_PER_MOL: Unit.G,
    Unit.DM3_PER_MOL: Unit.DM3,
    Unit.NONE: Unit.G,
}

Slots = dict[str, Filling]


def reason(writer: Writer, step: WorkedStep) -> Line:
    """Why a step is done as it is, in a sentence or two."""
    if step.relation is None:
        return writer.words.line("reason together")
    keys = reason_keys(writer, step.relation, step.variable)
    key = next(key for key in keys if writer.words.has(key))
    line = writer.words.line(key, 0, **_slots(writer, step, step.relation))
    return joined([*line, *_gives_several(writer, step.relation)])


def role(relation: Relation, name: Name) -> str:
    """What a quantity is in a relation, in plain words: "mass strength", "part"."""
    roles = ROLES.get(relation.kind) or PLACES[relation.kind]
    at = relation.names.index(name)
    return roles[at].replace("_", " ") if at < len(roles) else "part"


def reason_keys(writer: Writer, relation: Relation, found: Variable) -> list[str]:
    """The wordings for the reason of a step, the most fitting first."""
    keys = [f"reason {relation.kind} {role(relation, found.name)}", f"reason {relation.kind}"]
    return [*(f"{keys[0]} {more}" for more in _more(writer, relation, found)), *keys]


def _more(writer: Writer, relation: Relation, found: Variable) -> list[str]:
    """What makes a step special within its kind."""
    match relation.kind:
        case "balance":
            return _whose_balance(writer, relation)
        case "concentration" if writer.question.system.variables[relation.names[1]].vessel:
            return ["made"]
        case "scale" if writer.words.has(f"share {_plain(_times(writer, relation))}"):
            return ["share"]
        case "total" if relation.reaction is not None:
            return [*(["shared ratio"] if _unequal(relation) else []), "shared"]
        case "ratio" if relation.names[1].kind == "concentration":
            return ["strength"]
        case "formula" if len(relation.names) == 2:
            return ["alone"]
        case "found ratio":
            return [found.kind]
        case "each" if writer.numbers.written(relation.names[2]).number == 1:
            return ["one"]
        case _:
            return []


def _whose_balance(writer: Writer, relation: Relation) -> list[str]:
    left = writer.question.system.variables[relation.names[1]]
    if writer.names.planned():
        return ["planned"]
    if writer.names.in_a_portion(left):
        return ["portion"]
    return ["flask"] if writer.names.station(left) == "left in flask" else []


# ------------------------------------------------------------ slots


def _slots(writer: Writer, step: WorkedStep, relation: Relation) -> Slots:
    """Every quantity of a relation by its role: as it is printed, its number, its formula, and what 1 dm³ or 1 mol of it holds."""
    slots: Slots = {}
    for name in relation.names:
        variable, written = writer.question.system.variables[name], writer.numbers.written(name)
        part = role(relation, name).replace(" ", "_")
        if part in slots:
            continue
        slots[part] = writer.numbers.amount(written)
        slots[f"{part}_number"] = written.number_text
        slots[f"{part}_formula"] = formula(variable)
        slots[f"{part}_held"] = writer.numbers.amount(_in(written, _HELD.get(written.unit, written.unit)))
    return slots | _own_slots(writer, step, relation)


def _own_slots(writer: Writer, step: WorkedStep, relation: Relation) -> Slots:
    """What only the reasons of one kind of step need."""
    match relation.kind:
        case "concentration" | "dissolved":
            return {"converted": _in_dm3(writer, writer.numbers.written(relation.names[2]))}
        case "mass in volume":
            volume = Quantity(_decimal(relation.factor * 1000), Unit.CM3)
            return {"volume": writer.numbers.amount(volume), "converted": _in_dm3(writer, volume)}
        case "ratio" | "contains":
            return {"ratio": writer.lines.ratio(relation), **_compared(writer, step, relation)}
        case "scale":
            times = _plain(_times(writer, relation))
            share = writer.words.line(f"share {times}") if writer.words.has(f"share {times}") else ()
            return {"times": times, "share": share}
        case "total" | "volumes":
            return _of_a_sum(writer, step, relation)
        case "each":
            number = int(writer.numbers.written(relation.names[2]).number)
            piece = writer.samples.piece()
            return {"number_word": count_word(number), "piece": piece, "pieces": piece if number == 1 else f"{piece}s"}
        case "atoms" | "electrons":
            return {"count": count_word(int(relation.factor)), "number": str(relation.factor)}
        case "per gram":
            return {"in_mg": writer.numbers.amount(writer.numbers.written(relation.names[1]).to(Unit.MG))}
        case _:
            return {}


def _compared(writer: Writer, step: WorkedStep, relation: Relation) -> Slots:
    """How many times another amount the one that is found is."""
    factor, ((other, _),) = relation.alone(step.variable.name)
    return {"times": times_words(writer, factor), "other": writer.names.the(writer.question.system.variables[other])}


def _unequal(relation: Relation) -> bool:
    """Whether a sum takes some amount so many times."""
    whole, *parts = (abs(share) for _, share in relation.quantities)
    return any(share != whole for share in parts)


def shared_ratios(writer: Writer, relation: Relation) -> Line:
    """In which ratio a reagent reacts with each of several: "1 mol HCl reacts with 1 mol NaOH, and 2 mol HCl with 1 mol Na₂CO₃"."""
    reagent, *parts = (writer.question.system.variables[name] for name in relation.names)
    whole, *shares = (abs(share) for _, share in relation.quantities)
    alike: dict[Fraction, list[Line]] = {}
    for share, part in zip(shares, parts, strict=True):
        alike.setdefault(share / whole, []).append(formula(part))
    told = [
        writer.words.line(
            "shared ratio one" if share.numerator == 1 else "shared ratio several",
            0,
            first=str(share.numerator),
            reagent=formula(reagent),
            second=str(share.denominator),
            substance=listed(formulae, " or "),
        )
        for share, formulae in alike.items()
    ]
    return listed(told)


def _of_a_sum(writer: Writer, step: WorkedStep, relation: Relation) -> Slots:
    variables = [writer.question.system.variables[name] for name in relation.names]
    parts = [one for one in variables[1:] if one.name != step.variable.name]
    return {
        "sum_name": writer.names.the(variables[0]),
        "sum_formula": formula(variables[0]),
        "ratios": shared_ratios(writer, relation),
        "formulae": listed([formula(one) for one in variables[1:]]),
        "others": listed([formula(one) for one in parts]),
        "parts": listed([writer.names.the(one) for one in parts]),
    }


def _gives_several(writer: Writer, relation: Relation) -> Line:
    """A further sentence where one of a solute gives several of the ion that reacts."""
    count = relation.factor * 1000 if relation.kind == "concentration" else Fraction(1)
    if count == 1:
        return ()
    amount, strength, _ = (writer.question.system.variables[name] for name in relation.names)
    slots: Slots = {"solute": Chem(strength.subject), "species": Chem(amount.subject), "count": str(count)}
    return (Text(" "), *writer.words.line("reason gives several", 0, **slots))


def formula(variable: Variable) -> Line:
    """The formula that a quantity belongs to, or the two that it belongs to together."""
    if variable.kind == "metal mass":
        return (Chem(variable.species),)
    if variable.word:
        return (Text(variable.subject),)
    return listed_formulae(variable.several) if variable.several else (Chem(variable.subject),)


def times_words(writer: Writer, factor: Fraction) -> Line:
    """A factor as it is said before what it multiplies: "twice", "half", "a third of", "5/2 times"."""
    key = f"times {factor}"
    return writer.words.line(key) if writer.words.has(key) else writer.words.line("times other", factor=str(factor))


def _times(writer: Writer, relation: Relation) -> Fraction:
    """How many portions all of a solution is."""
    whole, part = (writer.numbers.written(name).exact for name in relation.names[2:4])
    return whole / part


def _plain(number: Fraction) -> str:
    """A number without needless zeros; to four figures' worth of places where it has no end."""
    places = finite_places(number)
    return format(half_up(number, 2 if places is None else places), "f")


def _decimal(number: Fraction) -> Decimal:
    return half_up(number, finite_places(number) or 0)


def _in(quantity: Quantity, unit: Unit) -> Quantity:
    return Quantity(quantity.number, unit, quantity.scientific)


def _in_dm3(writer: Writer, volume: Quantity) -> Amount:
    return writer.numbers.amount(volume.to(Unit.DM3))


# ------------------------------------------------------------ the mean titre


def reason_of_the_mean(writer: Writer) -> Line:
    """Which runs the mean is of, and why each of the others is left out."""
    runs = writer.question.draw.runs
    used = chosen(runs)
    told: list[Inline] = []
    for at, run in enumerate(runs):
        if at in used:
            continue
        slots: Slots = {"run": str(at), "titre": _volume(writer, run.titre), "limit": _volume(writer, CONCORDANT_CM3)}
        key = "reason mean rough"
        if not run.rough:
            key = "reason mean apart"
            too_far = [runs[one].titre for one in used if abs(runs[one].titre - run.titre) > CONCORDANT_CM3]
            apart, nearest = min((abs(one - run.titre), one) for one in too_far)
            slots |= {"apart": _volume(writer, apart), "nearest": _volume(writer, nearest)}
        told += [*([Text(" ")] if told else []), *writer.words.line(key, 0, **slots)]
    return joined(told)


def _volume(writer: Writer, volume: Fraction) -> Amount:
    return writer.numbers.amount(Quantity(half_up(volume, 2), Unit.CM3))
