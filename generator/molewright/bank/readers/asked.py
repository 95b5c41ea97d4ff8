"""What a teacher asks for, in words, comes in with the quantities of a procedure; the one that is meant goes out, and its unit.

The names of the quantities are tried first; then the words of a classroom: "percentage purity of", "molarity of", "moles of",
"volume of" what was run in, "x in", a substance by its name, and a unit after "in".
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from molewright.bank.readers.described import Chemicals
from molewright.bank.readers.teachers_units import is_a_unit, teachers_unit
from molewright.chem.units import Unit
from molewright.errors import Mistake
from molewright.experiment.quantities import Name
from molewright.experiment.quantity_kinds import Kind
from molewright.experiment.quantity_texts import SEVERAL, find_name, texts_of
from molewright.experiment.relations.variables import Variable

# What a classroom calls a quantity, the longest first where one begins another, and the kinds that it may be, the likeliest first.
_CALLED: tuple[tuple[str, tuple[Kind, ...]], ...] = (
    (r"(?:percentage |% )?purity of", ("percentage",)),
    (r"(?:mass percentage|percentage (?:by|composition by) mass|percentage|% by mass|%|per cent) of", ("percentage",)),
    (r"mass concentration of", ("mass concentration",)),
    (r"percentage by mass of", ("percentage by mass", "percentage")),
    (r"normality of", ("normality",)),
    (r"(?:molarity|molar concentration|concentration|strength) of", ("concentration",)),
    (r"(?:number of moles|moles|mol|amount of substance|amount in moles|amount) of", ("amount",)),
    (r"(?:mean titre|titre|volume) of", ("titre", "volume", "gas volume")),
    (r"(?:Mr|M_r|molar mass|relative (?:formula|molecular) mass|formula mass) of", ("molar mass",)),
    (r"(?:Ar|A_r|(?:relative )?atomic mass) of", ("atomic mass",)),
    (r"(?:value of )?[xn] in", ("water", "subscript")),
    (r"(?:number of )?(?:moles of )?water of crystallisation (?:in|of)", ("water",)),
    (r"mass of", ("mass", "mass within")),
)
_BARE: tuple[tuple[str, tuple[Kind, ...]], ...] = (
    (r"pH(?: of .+)?", ("pH",)),
    (r"(?:value of )?[xn](?: in .+)?", ("water", "subscript")),
    (r"(?:empirical |molecular )?formula(?: of .+)?", ("subscript",)),
    (r"(?:percentage )?purity", ("percentage",)),
    (r"(?:mean )?titre", ("titre",)),
)
_LEAD = re.compile(r"^(?:what (?:is|was) |find |calculate |work out |determine )?(?:the )?", re.IGNORECASE)
_STAGES = ("sample", "flask", "added", "formed", "total", "left over", "reacted", "portion", "titre")


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked, and the unit that the words name; NONE where they name none."""

    quantity: Name
    unit: Unit


def find_asked(text: str, variables: Mapping[Name, Variable], chemicals: Chemicals, typed: str = "") -> Asked:
    """The quantity that somebody's words mean; `typed` as they stand in the file, where `text` is what was read into them.

    A name of this procedure that is typed as it is called is that quantity, whatever else the words could mean. Raises Mistake
    where there is none, or where they could mean several.
    """
    called = [name for name, told in texts_of(variables).items() if told == typed]
    if len(called) == 1:
        return Asked(called[0], Unit.NONE)
    try:
        return Asked(_named(text, variables, chemicals), Unit.NONE)
    except Mistake as first:
        if SEVERAL in first.found:
            raise
        words = bare_question(text)
        phrase, unit_text = _parted(words)
        for said, unit in ((words, ""), (phrase, unit_text)):
            found = _classroom(said, variables, chemicals, unit)
            if found is not None:
                return found
        raise first from None


def bare_question(text: str) -> str:
    """What somebody asks without "calculate the" before it and without its question mark."""
    return _LEAD.sub("", " ".join(text.split()).rstrip("?. "))


def _named(text: str, variables: Mapping[Name, Variable], chemicals: Chemicals) -> Name:
    told = set(texts_of(variables).values())
    read = text if text in told else chemicals.by_formulae(text)  # a bottle may be called as a substance is
    try:
        return find_name(read, variables)
    except Mistake as mistake:
        if SEVERAL in mistake.found or read == text:
            raise
        return find_name(text, variables)  # refused as it is typed


def _parted(words: str) -> tuple[str, str]:
    """What is said before the last "in", and the unit after it; no unit where none stands there."""
    before, _, after = words.rpartition(" in ")
    return (before, after) if before and is_a_unit(after) else (words, "")


def _classroom(words: str, variables: Mapping[Name, Variable], chemicals: Chemicals, unit_text: str) -> Asked | None:
    try:
        found = _named(words, variables, chemicals) if unit_text else None
    except Mistake:
        found = None
    if found is None:
        found = _of_kinds(words, variables, chemicals)
    if found is None:
        return None
    own = variables[found].unit.base
    as_mass = Unit.G_PER_DM3 if own is Unit.MOL_PER_DM3 and unit_text == "ppm" else own
    return in_the_unit(found, teachers_unit(unit_text, as_mass) if unit_text else Unit.NONE, variables)


def in_the_unit(found: Name, unit: Unit, variables: Mapping[Name, Variable]) -> Asked:
    """The same strength as a mass where the unit is one of masses: "concentration of NaOH in g/L"."""
    if unit and unit.base is not variables[found].unit and found.kind == "concentration":
        as_mass = next(
            (one for one in variables if one.kind == "mass concentration" and one.subject == found.subject), None
        )
        if as_mass is not None and unit.base is variables[as_mass].unit:
            return Asked(as_mass, unit)
    return Asked(found, unit)


def _of_kinds(words: str, variables: Mapping[Name, Variable], chemicals: Chemicals) -> Name | None:
    for pattern, kinds in _CALLED:
        match = re.fullmatch(rf"{pattern} (?P<rest>.+)", words, re.IGNORECASE)
        if match is not None:
            parts = [_meant(part, chemicals) for part in match["rest"].split(" in ")]
            found = _first(kinds, variables, parts)
            if found is not None:
                return found
    for pattern, kinds in _BARE:
        if re.fullmatch(pattern, words, re.IGNORECASE):
            return _first(kinds, variables, [])
    return None


def _meant(part: str, chemicals: Chemicals) -> tuple[str, ...]:
    """A part as it is said, for a bottle may be called as a substance is, and the substance that it is."""
    part = re.sub("^(?:the|pure) ", "", part.strip())
    substance = chemicals.called(part) or chemicals.called(part.lower())
    return (part, substance) if substance else (part,)


def _first(kinds: Iterable[Kind], variables: Mapping[Name, Variable], parts: list[tuple[str, ...]]) -> Name | None:
    """The only quantity of the first of the kinds that fits; amounts by where they are told first."""
    for kind in kinds:
        fit = [one for one in variables.values() if one.kind == kind and _fits(one, parts)]
        if kind == "amount":
            fit.sort(key=lambda one: _STAGES.index(one.stage) if one.stage in _STAGES else len(_STAGES))
            fit = fit[:1]
        if len(fit) == 1:
            return fit[0].name
        if fit:
            texts = texts_of(variables)
            raise Mistake(
                f"'{' in '.join(part[-1] for part in parts)}' {SEVERAL} {len(fit)} quantities",
                expected=f"one of: {', '.join(texts[one.name] for one in fit)}",
            )
    return None


def _fits(variable: Variable, parts: list[tuple[str, ...]]) -> bool:
    name = variable.name
    here = {name.subject, name.place, name.source, variable.subject, variable.species}
    return all(here.intersection(part) for part in parts)
