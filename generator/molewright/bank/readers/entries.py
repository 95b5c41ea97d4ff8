"""One entry of a bank comes in as fields; a frozen definition goes out: substance, reaction, indicator, material, scene and so on."""

from __future__ import annotations

import re
from decimal import Decimal

from molewright.bank.definitions import (
    BESIDE,
    BOTTLED_FORMS,
    PIECE_KINDS,
    Apparatus,
    Bottled,
    Context,
    Hazard,
    Indicator,
    Material,
    ReactionEntry,
    Substance,
    Topic,
)
from molewright.bank.readers.choices import choice_of
from molewright.chem.formula import PLACEHOLDERS, parse_formula
from molewright.chem.half_equations import Halves, put_together
from molewright.chem.reaction import Reaction, parse_reaction, require_whole
from molewright.chem.units import Unit
from molewright.errors import Mistake, Where
from molewright.reading.fields import STANDS_IN, Fields, counted

_NO_REACTION = Reaction((), ())  # stands in for one that is wrong
_PLACEHOLDERS = PLACEHOLDERS - {"Y", "Z"}  # Y is the ligand of EDTA


def read_substance(fields: Fields) -> Substance:
    """A substance."""
    formula = fields.read("formula", _formula, STANDS_IN)
    gives, count = "", 1
    if fields.has("gives"):
        count, gives = fields.read("gives", lambda text: counted(text, _formula), (1, ""))
    return Substance(
        formula=formula,
        name=fields.name("name"),
        solution=fields.name("solution", ""),
        gives=gives,
        count=count,
        source=fields.text("source", ""),
        volatile=fields.yes("volatile"),
        solvent=fields.yes("solvent"),
        also_called=tuple(_also(text, formula, fields.at("also called")) for text in fields.texts("also called", ())),
    )


def _also(text: str, formula: str, where: Where) -> str:
    """Another name as it is, another formula in its one spelling. Raises Mistake for a formula of other atoms."""
    try:
        other, own = parse_formula(text, _PLACEHOLDERS), parse_formula(formula, _PLACEHOLDERS)
    except Mistake:
        return text
    if dict(other.atoms) != dict(own.atoms):
        raise Mistake(
            f"{text} is another substance than {formula}", expected="a formula with the same atoms", where=where
        )
    return other.text


def read_reaction(fields: Fields) -> ReactionEntry:
    """A reaction, whole or as two half-equations, balanced."""
    halves: Halves | None = None
    if fields.has("oxidation"):  # two half-equations instead of the whole
        halves = put_together(*(parse_reaction(fields.text(key), _PLACEHOLDERS) for key in ("oxidation", "reduction")))
        reaction = halves.whole
        require_whole(reaction)
    else:
        reaction = fields.read("equation", _reaction, _NO_REACTION)
    seen, indicators = fields.text("seen", ""), fields.texts("indicators", ())
    constant = fields.text("constant", "")
    if constant:
        choice_of(constant, Unit.NONE)
    return ReactionEntry(
        reaction=reaction,
        seen=seen,
        indicators=indicators,
        source=fields.text("source"),
        halves=halves,
        constant=constant,
    )


def _formula(text: str) -> str:
    return parse_formula(text, _PLACEHOLDERS).text


def _reaction(text: str) -> Reaction:
    reaction = parse_reaction(text, _PLACEHOLDERS)
    require_whole(reaction)
    return reaction


def read_indicator(fields: Fields) -> Indicator:
    """An indicator."""
    ranged = fields.has("low")
    return Indicator(
        name=fields.name("name"),
        low=fields.decimal("low") if ranged else None,
        high=fields.decimal("high") if ranged else None,
        acid_colour=fields.name("acid colour"),
        base_colour=fields.name("base colour"),
        middle_colour=fields.name("middle colour", ""),
        source=fields.text("source"),
        stop=fields.decimal("stop") if fields.has("stop") else None,
        shows=parse_formula(fields.text("shows")).text if fields.has("shows") else "",
        electrons=fields.yes("electrons"),
        bleached_by=tuple(parse_formula(text).text for text in fields.texts("bleached by", ())),
        bottled=_bottled(fields) if fields.has("bottle") else None,
        pk=fields.decimal("pK") if fields.has("pK") else None,
    )


def _bottled(fields: Fields) -> Bottled:
    inner = Fields(fields.branch("bottle"), f"{fields.entry}, bottle")
    made = Bottled(
        form=inner.one_of("form", BOTTLED_FORMS),
        formula=parse_formula(inner.text("formula")).text,
        grams=inner.decimal("grams"),
    )
    inner.finish()
    return made


def read_apparatus(fields: Fields) -> Apparatus:
    """Glassware or a balance."""
    return Apparatus(
        name=fields.name("name"),
        kind=fields.one_of("kind", PIECE_KINDS),
        capacity=fields.quantity("capacity"),
        resolution=fields.quantity("resolution") if fields.has("resolution") else None,
        tolerance=fields.quantity("tolerance") if fields.has("tolerance") else None,
        source=fields.text("source"),
    )


def read_material(fields: Fields) -> Material:
    """A material that is analysed."""
    return Material(
        name=fields.name("name"),
        noun=fields.name("noun", fields.name("name")),
        analyte=fields.read("analyte", _formula, STANDS_IN),
        low=fields.decimal("low"),
        high=fields.decimal("high"),
        indicators=fields.texts("indicators", ()),
        reagents=fields.texts("reagents", ()),
        pieces=fields.name("pieces", ""),
        residue=fields.text("residue", ""),
        source=fields.text("source"),
        solid=fields.yes("solid", True),
        damp=fields.yes("damp", True),
    )


def read_context(fields: Fields) -> Context:
    """A scene."""
    return Context(
        key=fields.key("key"),
        serves=fields.texts("serves"),
        opening=_opening(fields),
        sample=fields.name("sample"),
        reserved=fields.yes("reserved"),
        rules_out=fields.texts("rules out", ()),
        words=fields.texts("words", ()),
        task=fields.text("task", ""),
    )


def _opening(fields: Fields) -> str:
    """Whole sentences without a number: whatever is measured is told by the operations."""
    text = fields.text("opening")
    if not text.endswith((".", "!", "?")):
        raise Mistake(
            "the opening does not end with a full stop",
            expected="one or two whole sentences",
            where=fields.at("opening"),
        )
    number = _NUMBER.search(text)
    if number:
        raise Mistake(
            f"the opening holds the number '{number[0]}'",
            expected="a scene without numbers: the operations tell them",
            where=fields.at("opening"),
        )
    return text


_NUMBER = re.compile(r"(?<![A-Za-z0-9)])(?<!group )[0-9]+(?:[.,][0-9]+)?(?!-[a-z]|[0-9])")
"""A number; the group of an element, a count in a formula and a place in a name ("2-acetoxybenzoic acid") are none."""


def read_topic(fields: Fields) -> Topic:
    """A heading of kinds of question."""
    fields.has("note")  # for people
    return Topic(
        name=fields.name("topic"),
        back=fields.yes("back"),
        only_by_name=fields.yes("only by name"),
        rests_on=fields.texts("rests on", ()),
        reagents=frozenset(fields.texts("reagents", ())),
    )


def read_hazard(fields: Fields) -> Hazard:
    """A caution: of a solution from a concentration upwards, of what is weighed or given off, or of words in a procedure."""
    kinds = [key for key in ("solute", "weighed", "material", "freed", "told") if fields.has(key)]
    if len(kinds) != 1:
        raise Mistake(
            f"a hazard of {' and of '.join(kinds) or 'nothing'}",
            expected="one of 'solute: FORMULA' with 'least:', 'weighed: FORMULA', 'material: NAME', 'freed: FORMULA', 'told: WORDS'",
            where=fields.where,
        )
    formula = {
        key: parse_formula(fields.text(key), _PLACEHOLDERS).text
        for key in ("solute", "weighed", "freed")
        if key in kinds
    }
    told = fields.texts("told", ())
    return Hazard(
        solute=formula.get("solute", ""),
        least=fields.decimal("least") if "solute" in formula else Decimal(0),
        words=fields.text("words"),
        source=fields.text("source"),
        weighed=formula.get("weighed", ""),
        material=fields.name("material", ""),
        freed=formula.get("freed", ""),
        told=told,
        beside=fields.one_of("beside", BESIDE) if told and fields.has("beside") else "",
    )
