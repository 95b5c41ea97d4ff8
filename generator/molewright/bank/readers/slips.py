"""Entries of banks/slips.yaml come in; checked slips go out. The opening comment of that file tells the grammar."""

from __future__ import annotations

from collections.abc import Collection

from molewright.bank.algebra import Tree, parse_algebra
from molewright.bank.definitions import OFTEN, PLACES, Slip
from molewright.chem.formula import parse_formula
from molewright.errors import Mistake, nearest, shortened
from molewright.reading.fields import Fields, texts_of
from molewright.reading.yaml_text import Branch, Keys

NATURES = ("dibasic acid", "redox")
"""What an equation may be about, for slips of a ratio."""
SEEN_IN = (
    "an excess that is none",
    "one reading of a titre",
    "absolute uncertainties added",
    "one reading of a mass",
    "percentages of a difference added",
    "uncertainties of a difference subtracted",
    "forms of an indicator changed over",
    "what had formed given for what was left",
    "two half-lives taken for one",
    "a concentration given for a time",
    "divided the wrong way round",
    "rate constant without ln 2",
    "chord in the place of the tangent",
    "the height divided and not the fall",
    "share taken of all that was added",
    "share taken of one portion",
    "share taken of the made-up volume",
    "what is missing counted the wrong way",
    "answer changed by the share of the liquid",
)
"""Wrong numbers of further parts that a slip gives where no number of a calculation shows it."""
ALWAYS = ("found", "factor", "source")


def read_slip(fields: Fields, roles: dict[str, tuple[str, ...]], words: Collection[str]) -> Slip:
    """One slip. `roles` are the words of each kind of relation, `words` those of the surroundings."""
    key = fields.name("slip")
    fields.entry = key
    name = fields.name("name")
    also = fields.texts("also", ())
    often = fields.one_of("often", OFTEN)
    misunderstood = fields.text("misunderstood", "")
    feedback, practice = fields.text("feedback", ""), fields.text("practice", "")
    if fields.has("unseen"):
        unseen, seen_in = fields.text("unseen"), fields.one_of("seen in", SEEN_IN, "")
        return Slip(
            key=key,
            name=name,
            also=also,
            misunderstood=misunderstood,
            often=often,
            feedback=feedback,
            practice=practice,
            unseen=unseen,
            seen_in=seen_in,
        )
    kind = fields.one_of("in", (*roles, "mean", "answer", "rounding"))
    instead: list[tuple[str, Tree]] = []
    if kind != "rounding":
        instead = _instead(fields, kind, roles, words)
    return Slip(
        key=key,
        name=name,
        also=also,
        misunderstood=misunderstood,
        kind=kind,
        instead=tuple(instead),
        often=often,
        of=_of(fields, kind),
        place=_place(fields, kind),
        everywhere=fields.yes("everywhere"),
        near=fields.yes("near"),
        feedback=feedback,
        practice=practice,
        written=fields.yes("written", True),
        first=fields.yes("first"),
    )


def _of(fields: Fields, kind: str) -> tuple[str, ...]:
    """What a slip is of; of a ratio: a nature that its equation has, or a species that stands on its left."""
    of = fields.texts("of", ())
    return tuple(one if kind != "ratio" or one in NATURES else parse_formula(one).text for one in of)


def _place(fields: Fields, kind: str) -> tuple[str, ...]:
    """Where alone a slip is made; a place that relations of its kind do not have would never be found."""
    known = PLACES.get(kind, ())
    place = fields.texts("place", ())
    for one in place:
        if one not in known:
            raise Mistake(
                f"a relation of kind '{kind}' has no place {shortened(one)}",
                where=fields.at("place"),
                expected=f"one of: {', '.join(known)}"
                if known
                else "no place: only a ratio, a scale or a concentration has one",
                near=nearest(one, known),
            )
    return place


def _instead(
    fields: Fields, kind: str, roles: dict[str, tuple[str, ...]], words: Collection[str]
) -> list[tuple[str, Tree]]:
    known = {*words, *ALWAYS, *roles.get(kind, ())}
    if kind == "answer":
        known |= {role for every in roles.values() for role in every}
    branch = fields.branch("instead")
    pairs: list[tuple[str, str, Branch]] = []
    if isinstance(branch, Keys):
        for role, held in branch.items():
            if role not in roles.get(kind, ()):
                raise Mistake(
                    f"'{role}' is not found in a relation of kind '{kind}'",
                    where=held.where,
                    expected=f"one of: {', '.join(roles.get(kind, ()))}",
                    near=nearest(role, roles.get(kind, ())),
                )
            pairs += [(role, text, held) for text in texts_of(held)]
    else:
        finds = fields.text("finds", "")
        pairs = [(finds, text, branch) for text in texts_of(branch)]
    found = []
    for role, text, held in pairs:
        try:
            found.append((role, parse_algebra(text, known)))
        except Mistake as mistake:
            raise mistake.at(held.where.under(f"{fields.entry}, instead")) from None
    return found
