"""A plan's relations come in; room for further quantities and relations beside them goes out. Knows no route itself."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction

from molewright.derivation.derive import Plan
from molewright.experiment.relations.kinds import Kind
from molewright.experiment.relations.variables import Relation, System, Variable


@dataclass(slots=True)
class Widened:
    """The relations of a system and those that were added beside them for other routes, each with the letter of its family.

    A relation of the system itself has the family "".
    """

    system: System
    plan: Plan
    variables: dict[str, Variable] = field(init=False)
    relations: list[Relation] = field(init=False)
    families: list[str] = field(init=False)

    def __post_init__(self) -> None:
        self.variables = dict(self.system.variables)
        self.relations = list(self.system.relations)
        self.families = [""] * len(self.relations)

    @property
    def used(self) -> list[Relation]:
        """The relations that the plan's steps use, in order."""
        return [self.system.relations[step.relation] for step in self.plan.steps]

    def new(self, like: str, note: str, kind: Kind | None = None, called: str = "", subject: str = "") -> str:
        """The name of a further quantity, which is like another one but stands elsewhere."""
        name = called or f"{like}, {note}"
        old = self.variables[like]
        made = Variable(name, kind or old.kind, subject or old.subject, note, old.vessel, old.species)
        self.variables.setdefault(name, made)
        return name

    def add(self, family: str, *found: Relation) -> None:
        """Relations that hold as well; one that the system or the family has already is no other route."""
        for relation in found:
            here = (other for other, of in zip(self.relations, self.families, strict=True) if of in ("", family))
            if all(_content(relation) != _content(other) for other in here):
                self.relations.append(relation)
                self.families.append(family)

    def whole(self) -> System:
        """The system with all that was added."""
        return System(self.variables, tuple(self.relations), self.system.fixed)


def _content(relation: Relation) -> tuple[str, Fraction, frozenset[tuple[str, Fraction]]]:
    return relation.form, relation.factor, frozenset(relation.quantities)
