"""A procedure comes in; the end points of the flask that is titrated last go out, in order. Performs nothing and knows no numbers."""

from __future__ import annotations

from molewright.experiment.procedure import Procedure, Titrate


def of_last_flask(procedure: Procedure) -> tuple[Titrate, ...]:
    """The titrations of the vessel that is titrated last: more than one where it is titrated on from one end point to the next."""
    titrations = procedure.titrations
    return tuple(one for one in titrations if one.vessel == titrations[-1].vessel)
