"""A quantity that shares its symbol with another one of its question comes in; the word that tells the two apart goes out.

Two weighings of one substance, a blank and a sample, iron before and after a reduction: each amount has a letter and a formula
like the other's, and a pupil must see which one a line is about.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from molewright.derivation.routes.search import Routes, differing
from molewright.derivation.worked import Worked
from molewright.experiment import quantities
from molewright.experiment.procedure import Procedure, Weigh
from molewright.experiment.quantities import Name
from molewright.experiment.relations.variables import Variable

_BY_STAGE: dict[str, str] = {"formed": "formed", "total": "in all", "titre": "delivered"}
"""What an amount is told by where the same vessel, or another one, holds more of the substance."""


def printed_names(worked: Worked, routes: Routes, given: Mapping[Name, object]) -> tuple[Name, ...]:
    """Every quantity that stands in the stem, in the working or in another right route, each once."""
    found: dict[Name, None] = dict.fromkeys(given)
    for step in worked.steps:
        found.update(dict.fromkeys((step.variable.name, *(step.relation.names if step.relation else ()))))
    for route in routes.routes:
        for other in differing(worked.plan, route):
            found.update(dict.fromkeys(routes.system.relations[other.relation].names))
    return tuple(found)


def word_apart(variable: Variable, procedure: Procedure, of_the_scene: Iterable[str]) -> str:
    """The word that says which of several quantities with one symbol this is; "" where nothing needs to be said of it.

    `of_the_scene` holds the samples that the scene is about: anything else that is weighed is a standard.
    """
    if variable.kind == "oxidation state":
        return variable.stage
    if variable.kind in ("concentration", "mass concentration"):
        return next((one.name for one in procedure.solutions() if variable.name in one.strengths), "")
    if variable.kind in ("mass", "mass within") or variable.stage == "sample":
        return _weighed(variable, procedure, frozenset(of_the_scene))
    return _BY_STAGE.get(variable.stage, "") or _titration(variable.vessel, procedure)


def _weighed(variable: Variable, procedure: Procedure, of_the_scene: frozenset[str]) -> str:
    """Whether a mass or an amount is that of the sample, of what the sample takes up, or of a standard beside it."""
    for act in procedure.weighings:
        if variable.name in _names_of(act):
            if act.per_gram:
                return "for the sample"
            return "sample" if act.sample in of_the_scene else "standard"
    return ""


def _names_of(act: Weigh) -> set[Name]:
    found = {quantities.mass(act.sample)}
    for held in (*act.elements, *(content.substance for content in act.contents)):
        found |= {quantities.substance_amount(held, act.sample), quantities.mass_within(held, act.sample)}
    return found


def _titration(vessel: str, procedure: Procedure) -> str:
    """The name of the titration that is done in a vessel, or with portions that are taken from it."""
    portions = [act.into for act in procedure.portions_of(vessel)]
    return next((one.name for one in procedure.titrations if one.vessel in (vessel, *portions)), "")
