"""A plan's relations come in; room for further quantities and relations beside them goes out. Knows no route itself."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction

from molewright.derivation.derive import Plan
from molewright.experiment import quantities
from molewright.experiment.quantities import Name
from molewright.experiment.relations.variables import Relation, System, Variable


@dataclass(slots=True)
class Widened:
    """The relations of a system and those that were added beside them for other routes, each with the letter of its family.

    A relation of the system itself has the family "".
    """

    system: System
    plan: Plan
    variables: dict[Name, Variable] = field(init=False)
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

    def like(self, like: Name, note: str) -> Name:
        """A further quantity, which is like another one but stands elsewhere: the note says where."""
        return self.new(quantities.noted(like, note), like, note)

    def new(self, name: Name, like: Name, stage: str, several: tuple[str, ...] = ()) -> Name:
        """A further quantity of that name, of what another one is of, at a stage of its own."""
        old = self.variables[like]
        made = Variable(
            name=name,
            subject=" and ".join(several) or old.subject,
            stage=stage,
            vessel=old.vessel,
            species=old.species,
            several=several or old.several,
        )
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


def _content(relation: Relation) -> tuple[str, Fraction, frozenset[tuple[Name, Fraction]]]:
    return relation.form, relation.factor, frozenset(relation.quantities)
