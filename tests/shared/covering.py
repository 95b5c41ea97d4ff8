"""Kinds of question come in; a few of them go out that together show every shape that any of them has.

What a rule finds may hang on the words and numbers of an entry, or on its shape: what is done, asked and added. A rule about words
is asked of every kind. A rule about shapes is asked of the kinds here, at every level and with several seeds;
`pytest --every-kind` asks it of all of them.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Iterator, Mapping
from dataclasses import MISSING, fields
from functools import cache
from itertools import combinations

from molewright.bank.definitions import Archetype, Variant
from molewright.experiment.relations.relating import relate
from shared.banks import built_in

Shape = tuple[Hashable, ...]  # "operation", "Weigh", "per_gram"; "asked", "percentage", "%"
TOLD_BY_VALUE = ("apparatus", "by_boiling", "vessel")  # fields of operations of which each value is a shape of its own
_every_kind = False


def ask_every_kind(wanted: bool) -> bool:
    """Have rules about shapes asked of every kind, until called again (the option --every-kind); what held before."""
    global _every_kind
    before, _every_kind = _every_kind, wanted
    return before


def covering(keys: Iterable[str]) -> list[str]:
    """Those of the keys whose kinds together show every shape that the kinds of all these keys have; with --every-kind, all."""
    among = tuple(sorted(keys))
    return list(among if _every_kind else _covering(among))


@cache
def _covering(among: tuple[str, ...]) -> list[str]:
    return cover({key: shapes_of(key) for key in among})


def cover(shapes: Mapping[str, frozenset[Shape]]) -> list[str]:
    """A small cover, found greedily: whatever shows most of what is not yet shown, again and again; of equals the first."""
    wanting: set[Shape] = set().union(*shapes.values())
    taken = []
    while wanting:
        best = max(shapes, key=lambda name: len(shapes[name] & wanting))
        taken.append(best)
        wanting -= shapes[best]
    return sorted(taken)


@cache
def shapes_of(key: str) -> frozenset[Shape]:
    """Every shape of a kind of the built-in banks."""
    kind = built_in().archetypes[key]
    return frozenset(_of_kind(kind)) | frozenset(shape for form in kind.variants for shape in _of_form(form))


def _of_kind(kind: Archetype) -> Iterator[Shape]:
    yield "topic", kind.topic
    yield "demand", kind.demand
    yield "titres", kind.runs
    yield "windows", kind.windows != type(kind.windows)()
    yield "calculated", kind.calculated
    yield from (("further part", part) for part in kind.further_parts)
    yield from (("further parts", *pair) for pair in combinations(kind.further_parts, 2))
    yield from (("stretch part", part) for part in kind.stretch)
    yield from (("joined", step) for step in kind.joined)
    if kind.course is not None:
        yield "course", kind.course.order, kind.course.rises


def _of_form(form: Variant) -> Iterator[Shape]:
    does = form.procedure
    for operation in does.operations:
        name = type(operation).__name__
        yield "operation", name
        for field in fields(operation):
            held = getattr(operation, field.name)
            if field.name in TOLD_BY_VALUE:
                yield "operation", name, field.name, held
            elif field.default is not MISSING and held != field.default:
                yield "operation", name, field.name
    for ask in form.asks:
        yield "asked", ask.quantity.kind
        yield "unit", ask.quantity.kind, str(ask.unit)
        yield "figures", ask.figures
    yield from (("relation", one.kind) for one in relate(does, form.unknown).relations)
    yield "titrations", len(does.titrations), does.runs_on if does.titrations else False
    yield from (("equations", type(act).__name__, len(act.reactions)) for act in (*does.reacting, *does.titrations))
    yield from (("number", choice.fit, choice.hidden, bool(choice.options)) for choice in form.choices.values())
    yield "indicators", min(2, len(form.indicators))
    yield "unknowns", min(2, len(form.unknown)), form.may_be is not None
    yield "material", form.material is not None
