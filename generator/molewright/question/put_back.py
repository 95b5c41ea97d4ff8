"""A worked answer comes in; nothing goes out where bench, chain, expression and printed steps agree, otherwise a failure.

The unrounded answer is put back on the bench and must give the printed titres exactly; the chain of steps must equal the one-line
expression; the printed, rounded steps must lead into the accepted range.
"""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from molewright.bench.perform import BenchFault, perform
from molewright.derivation.evaluated import evaluate
from molewright.derivation.worked import Worked, base_factor
from molewright.draw.refusal import Refusal
from molewright.errors import CheckFailure
from molewright.experiment.procedure import Procedure
from molewright.experiment.quantities import Name

MOST_APART_PH = 0.02
"""How far a pH by the approximations that are taught may lie from the true one: two units of a meter's last figure."""
NEVER_APART_PH = 0.7
"""What no approximation that is taught is wrong by on numbers of a laboratory: beyond it a formula is wrong."""


def confirm(
    procedure: Procedure, worked: Worked, given: Mapping[Name, Fraction], hidden: Mapping[Name, Fraction] | None = None
) -> None:
    """Prove a worked answer: chain against expression, answer against bench, printed steps against the accepted range.

    `hidden` holds numbers that follow from the givens and that the bench needs beside the answer.

    Raises CheckFailure; a failure here is a bug or a broken plan file, never a user's mistake.
    """
    asked = worked.plan.asked
    if evaluate(worked.plan.expression, given) != worked.exact:
        raise CheckFailure(f"the steps to the {asked} and the one-line expression disagree")
    values = {**(hidden or {}), **given, asked: worked.exact}
    try:
        readings = perform(procedure, values)
    except BenchFault as fault:
        raise Refusal(fault.rule, fault.detail) from None
    for titration in procedure.titrations:
        name = titration.titre
        printed = values[name]
        if readings.titres[name] != printed:
            raise CheckFailure(
                f"put back on the bench, the {asked} gives a {name} of {readings.titres[name]}, not {printed}"
            )
    known = {**{step.variable.name: step.exact for step in worked.steps}, **given, asked: worked.exact}
    told = {name: value for name, value in readings.told.items() if name in known}
    _confirm_meters(readings.meters, known)
    if not told and not procedure.titrations and not readings.meters:
        raise CheckFailure(f"the bench tells nothing that the {asked} could be compared with")
    for name, value in told.items():
        if value != known[name]:
            raise CheckFailure(f"put back on the bench, the {asked} gives a {name} of {value}")
    _confirm_printed(worked, given)


def _confirm_meters(meters: Mapping[Name, float], known: Mapping[Name, Fraction]) -> None:
    """Compare a pH worked out as it is taught with that of the equilibria: where they part, the short way does not hold here."""
    for name, found in meters.items():
        apart = abs(found - float(known[name]))
        if apart > NEVER_APART_PH:
            raise CheckFailure(
                f"by the equilibria of all that is there the {name} is {found:.3f}, not {float(known[name]):.3f}"
            )
        if apart > MOST_APART_PH:
            raise Refusal(
                "approximation", f"the {name} worked out as it is taught lies {apart:.3f} from that of the equilibria"
            )


def _confirm_printed(worked: Worked, given: Mapping[Name, Fraction]) -> None:
    """Work the last step from the printed values of the steps before it, as a reader of the scheme would."""
    printed = dict(given)
    for step in worked.steps:
        shown, exact = step.shown.exact, step.exact
        printed[step.variable.name] = shown
        apart = shown.numerator * exact.denominator - exact.numerator * shown.denominator
        if abs(apart) * 1000 > abs(exact.numerator) * shown.denominator:
            raise CheckFailure(f"the printed {step.variable.name} is not its exact value")
    last = worked.steps[-1]
    found = last.exact if last.relation is None else last.relation.solved(last.variable.name, printed)
    if not worked.accepted.holds(found * base_factor(worked.answer)):
        raise CheckFailure(f"the printed steps lead to {float(found):.6g}, outside the accepted range")
