"""A worked question comes in; sentences that check its answer by common sense go out, each computed from its numbers and true.

A pupil who got it wrong sees here how the mistake could have been noticed. What cannot be said of a question, or would not be
true of it, is left out; the answer put back into the experiment, or into the last step, is there for every kind.
"""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

from molewright.chem.quantity import Quantity, half_up, in_standard_form, to_figures
from molewright.chem.units import Unit
from molewright.derivation.worked import WorkedStep
from molewright.experiment import quantities
from molewright.experiment.quantities import Name
from molewright.experiment.relations.kinds import RelationKind
from molewright.experiment.relations.variables import Relation, Variable
from molewright.experiment.titres import CONCORDANT_CM3
from molewright.nodes.inline import Amount, Line, Maths, Sign, Text
from molewright.question.titre_of_an_answer import put_back
from molewright.sheet.reasons import formula, times_words
from molewright.sheet.wording import Filling, joined
from molewright.sheet.writer import Writer

_BURETTE_CM3 = 50  # what one filling of a burette holds
_USUAL = (Fraction(1, 100), Fraction(1))  # mol dm⁻³, of solutions that are titrated (common practice, no source)
_ALIKE = ("concentration", "ratio", "concentration")  # the steps of a titration of one measured portion
_STRENGTH = (
    "concentration",
    "mass concentration",
    "mass in volume",
    "volume strength",
    "normality",
    "percentage by mass",
)  # what tells how strong a solution is
_TELLS = 100  # a mass that is a smaller part of the sample than one in so many is below it whatever mistake was made
_MOST = 2  # sentences beside the answer put back

Slots = dict[str, Filling]


def common_sense(writer: Writer) -> tuple[Line, ...]:
    """One to three sentences that check the answer of a question."""
    facts = _Facts(writer)
    found = [line for line in (check(facts) for check in CHECKS) if line][:_MOST]
    found = found or [line for line in (check(facts) for check in SIZES) if line][:1]
    back = _titre_again(facts) or (() if found else _last_step_again(facts))
    return (*found, *([back] if back else []))


class _Facts:
    """What the checks of one question ask for."""

    def __init__(self, writer: Writer) -> None:
        self.writer = writer
        self.question = writer.question
        self.steps = writer.question.worked.steps
        self.last = self.steps[-1]
        self.asked = self.last.variable
        self.kinds = tuple(step.relation.kind for step in self.steps if step.relation is not None)
        self.exact = {**self.question.given, **{step.variable.name: step.exact for step in self.steps}}

    def say(self, key: str, **slots: Filling) -> Line:
        return self.writer.words.line(key, 0, **slots)

    def printed(self, name: Name) -> Amount:
        """A quantity as it stands on the page; the answer as it is told."""
        if name == self.asked.name:
            return self.writer.numbers.amount(self.question.worked.answer)
        return self.writer.numbers.amount(self.writer.numbers.written(name))

    def rounded(self, exact: Fraction, unit: Unit, figures: int = 3) -> Amount:
        """A value that stands nowhere else."""
        return self.writer.numbers.amount(Quantity(to_figures(exact, figures), unit, in_standard_form(exact, unit)))

    def step(self, kind: RelationKind) -> WorkedStep | None:
        """The last step by a kind of relation."""
        return next((one for one in reversed(self.steps) if one.relation and one.relation.kind == kind), None)

    def variable(self, name: Name) -> Variable:
        return self.question.system.variables[name]

    def relations(self, kind: RelationKind, *holding: Name) -> list[Relation]:
        """The relations of a kind between quantities that are known, these among them."""
        return [
            one
            for one in self.question.system.relations
            if one.kind == kind and set(holding) <= set(one.names) <= self.exact.keys()
        ]


# ------------------------------------------------------------ the answer itself


def _whole(facts: _Facts) -> Line:
    """A number that must be whole, or a ratio of whole numbers: how near to it the value before rounding was."""
    if not facts.asked.settled:
        return ()
    counted = facts.step("found ratio") if facts.asked.kind == "oxidation state" else facts.last
    if counted is None or counted.variable.simple:
        return ()
    before = counted.shown.number
    whole = half_up(counted.exact, 0)
    slots: Slots = {"whole": str(whole), "before": counted.shown.number_text, "apart": str(abs(before - whole))}
    slots["name"] = facts.writer.names.the(counted.variable, asked=counted is facts.last)
    return facts.say("check whole" if before != whole else "check whole exactly", **slots)


def _part_of_the_sample(facts: _Facts) -> Line:
    """A percentage below 100, or a mass that is no more than the sample's."""
    step = facts.last
    if step.relation is None:
        return ()
    if facts.asked.kind in ("percentage", "impurity") and step.relation.names[0] == facts.asked.name:
        _, part, sample = step.relation.names
        elements = [one for act in facts.question.draw.variant.procedure.weighings for one in act.elements]
        if (
            facts.exact[part] >= facts.exact[sample] or facts.asked.subject in elements
        ):  # no substance is all of one element
            return ()
        key = "check percentage" if facts.asked.kind == "percentage" else "check impurity"
        slots: Slots = {"part": facts.printed(part), "sample": facts.printed(sample)}
        return facts.say(key, formula=formula(facts.asked), **slots)
    if facts.asked.kind == "mass within":
        return _mass_of_the_sample(facts)
    return _mass_of_a_piece(facts) if facts.asked.kind == "mass each" else ()


def _mass_of_the_sample(facts: _Facts) -> Line:
    for relation in facts.question.system.relations:
        if relation.kind == "percentage" and relation.names[1] == facts.asked.name:
            sample = relation.names[2]
            if (
                sample in facts.exact
                and facts.exact[sample] > facts.exact[facts.asked.name] > facts.exact[sample] / _TELLS
            ):
                return facts.say(
                    "check mass within", mass=facts.printed(facts.asked.name), sample=facts.printed(sample)
                )
    return ()


def _mass_of_a_piece(facts: _Facts) -> Line:
    """What one tablet weighs, which is more than what is in it."""
    act = next((one for one in facts.question.draw.variant.procedure.weighings if one.pieces and one.weighed), None)
    if act is None:
        return ()
    whole, number = (facts.exact.get(name) for name in (quantities.mass(act.sample), quantities.pieces(act.pieces)))
    if whole is None or number is None or facts.exact[facts.asked.name] >= whole / number:
        return ()
    answer = facts.question.worked.answer
    one = facts.writer.numbers.amount(Quantity(to_figures(whole / number / answer.unit.factor, 3), answer.unit))
    return facts.say("check mass each", piece=act.pieces, mass=facts.printed(facts.asked.name), whole=one)


def _molar(facts: _Facts) -> Line:
    """A molar mass that leaves something for the unknown element, beside the rest of its formula."""
    step = facts.step("formula")
    if facts.asked.kind != "atomic mass" or step is None or step.relation is None or len(step.relation.names) < 3:
        return ()
    molar, _, rest = step.relation.names
    slots: Slots = {"rest": formula(facts.variable(rest)), "molar": facts.printed(molar)}
    rest_mass = facts.writer.numbers.amount(Quantity(facts.writer.numbers.written(rest).number, Unit.G_PER_MOL))
    return facts.say("check rest of the formula", rest_mass=rest_mass, **slots)


def _share_of_a_mole(facts: _Facts) -> Line:
    """A mass that is so much of the mass of a mole."""
    relation = facts.last.relation
    if facts.asked.kind != "mass" or relation is None or relation.kind != "molar mass":
        return ()
    amount, molar = relation.names[1:]
    if facts.exact[amount] * 2 > 1:
        return ()
    mass = Quantity(facts.writer.numbers.written(molar).number, Unit.G)
    share = to_figures(1 / facts.exact[amount], 2)
    parts = format(share, "f")
    slots: Slots = {"amount": facts.printed(amount), "molar": facts.writer.numbers.amount(mass)}
    slots["about"] = facts.rounded(mass.exact / Fraction(share), Unit.G, 2)
    return facts.say("check share of a mole", parts=parts, formula=formula(facts.variable(amount)), **slots)


# ------------------------------------------------------------ solutions


def _two_solutions(facts: _Facts) -> Line:
    """Two solutions that react: how their concentrations follow from the volumes and the ratio."""
    if facts.kinds[:3] != _ALIKE or facts.asked.kind not in (*_STRENGTH, "titre") or not _single(facts):
        return ()
    first, ratio, second = (step.relation for step in facts.steps[:3])
    assert first is not None
    assert ratio is not None
    assert second is not None
    (_, c1, v1), (_, c2, v2) = first.names, second.names
    one, other = facts.exact[c1], facts.exact[c2]
    times = ratio.alone(second.names[0])[0]
    if times == 1:
        if facts.exact[v1] == facts.exact[v2]:
            return facts.say("check equal volumes", c=facts.printed(c1))
        strong, weak = ((c1, v1), (c2, v2)) if one > other else ((c2, v2), (c1, v1))
        slots: Slots = {"c_strong": facts.printed(strong[0]), "c_weak": facts.printed(weak[0])}
        return facts.say("check one to one", v_strong=facts.printed(strong[1]), v_weak=facts.printed(weak[1]), **slots)
    target = facts.steps[2].variable
    alike = facts.rounded(facts.exact[target.name] / times, target.unit)
    slots = {"ratio": facts.writer.lines.ratio(ratio), "times": times_words(facts.writer, times), "alike": alike}
    if target.kind == "titre":
        return facts.say("check not one to one titre", **slots)
    slots |= {"v1": facts.printed(v1), "v2": facts.printed(v2), "c1": facts.printed(c1), "c2": facts.printed(c2)}
    line = facts.say("check not one to one", **slots)
    if (facts.exact[v1] - facts.exact[v2]) * (other - one) < 0:
        key = "check weaker all the same" if other < one else "check stronger all the same"
        return joined([*line, Text(" "), *facts.say(key, **slots)])
    return line


def _single(facts: _Facts) -> bool:
    """Whether only one thing was titrated, as it was measured."""
    return len(facts.question.draw.variant.procedure.titrations) == 1 and set(facts.kinds[3:]) <= set(_STRENGTH)


def _left_over(facts: _Facts) -> Line:
    """What is left over is less than what was added."""
    step = facts.step("balance")
    if step is None or step.relation is None:
        return ()
    reacted, left, total = step.relation.names
    if facts.asked.kind == "excess":
        key = "check excess below" if facts.exact[left] < facts.exact[reacted] else "check excess above"
        return facts.say(key, left=facts.printed(left), reacted=facts.printed(reacted))
    return facts.say("check left over", left=facts.printed(left), total=facts.printed(total))


def _without_an_excess(facts: _Facts) -> Line:
    """What volume of a reagent would just react."""
    balance, volume = facts.step("balance"), facts.last.relation
    if facts.asked.kind != "volume" or balance is None or balance.relation is None or volume is None:
        return ()
    reacted, _, total = balance.relation.names
    enough = facts.exact[facts.asked.name] * facts.exact[reacted] / facts.exact[total]
    return facts.say(
        "check without an excess", enough=facts.rounded(enough, Unit.CM3), volume=facts.printed(facts.asked.name)
    )


def _diluted(facts: _Facts) -> Line:
    """A solution that was diluted is stronger before than after."""
    if facts.question.draw.variant.procedure.titrations:
        return _before_dilution(facts)
    strengths = [
        step.relation.names[1] for step in facts.steps if step.relation and step.relation.kind == "concentration"
    ]
    if len(set(strengths)) != 2 or "balance" in facts.kinds:
        return ()
    first, second = dict.fromkeys(strengths)
    if facts.asked.kind == "volume" and facts.exact[first] < facts.exact[second]:
        made = facts.steps[0].relation.names[2]  # type: ignore[union-attr]
        slots: Slots = {"volume": facts.printed(facts.asked.name), "made": facts.printed(made)}
        return facts.say("check stock", wanted=facts.printed(first), stock=facts.printed(second), **slots)
    if facts.asked.kind == "concentration" and facts.exact[second] < facts.exact[first]:
        times = _plain(facts.exact[first] / facts.exact[second])
        return facts.say("check diluted", strong=facts.printed(first), times=times)
    return ()


def _before_dilution(facts: _Facts) -> Line:
    """How strong a solution is in the flask in which it was made up, and how much stronger it was before."""
    step, scale = facts.step("concentration"), facts.step("scale")
    if step is None or scale is None or step.relation is None or scale.relation is None:
        return ()
    amount, strength, volume = step.relation.names
    flask = scale.relation.names[2]
    if step.variable.kind != "concentration" or scale.relation.names[0] != amount or facts.asked.kind not in _STRENGTH:
        return ()
    times = facts.exact[flask] / facts.exact[volume]
    if times <= 1:
        return ()
    slots: Slots = {"times": _plain(times), "flask": facts.printed(flask)}
    after = facts.rounded(facts.exact[strength] / times, Unit.MOL_PER_DM3)
    return facts.say(
        "check before dilution", volume=facts.printed(volume), after=after, before=facts.printed(strength), **slots
    )


def _usual_strength(facts: _Facts) -> Line:
    """The order of size of a solution that is used in a titration."""
    if not facts.question.draw.variant.procedure.titrations:
        return ()
    if facts.asked.kind != "concentration" or not _USUAL[0] <= facts.exact[facts.asked.name] <= _USUAL[1]:
        return ()
    return facts.say("check usual strength")


def _one_filling(facts: _Facts) -> Line:
    """A titre that one burette holds."""
    if facts.asked.kind != "titre" or facts.exact[facts.asked.name] >= _BURETTE_CM3:
        return ()
    full = facts.writer.numbers.amount(Quantity(half_up(Fraction(_BURETTE_CM3), 0), Unit.CM3))
    return facts.say("check one filling", titre=facts.printed(facts.asked.name), full=full)


def _plain(times: Fraction) -> str:
    return format(to_figures(times, 3).normalize(), "f")


# ------------------------------------------------------------ put back


def _titre_again(facts: _Facts) -> Line:
    """The titre that the rounded answer leads to, where it agrees with the one measured as titres do."""
    worked = facts.question.worked
    back = put_back(facts.question, worked.answer.in_base)
    if back is None or abs(back.titre - back.measured) > CONCORDANT_CM3:
        return ()
    titre = facts.writer.numbers.amount(Quantity(half_up(back.titre, 2), Unit.CM3))
    key = "check put back" if facts.writer.names.single_titre(back.titration) else "check put back mean"
    line = facts.say(key, answer=_answered(facts), titre=titre, measured=facts.printed(back.titration.titre))
    if titre.quantity.exact == back.measured:
        return line
    key = "check put back read" if facts.asked.settled else "check put back rounded"  # what is settled was not rounded
    return joined([*line, Text(" "), *facts.say(key)])


def _answered(facts: _Facts) -> Maths:
    """The answer with its symbol: c(NaOH) = 0.105 mol dm⁻³."""
    sign = (Text("+"),) if facts.asked.kind == "oxidation state" else ()
    return Maths((*facts.writer.symbols.of(facts.asked), Sign("="), *sign, facts.writer.numbers.answer(False)))


def _last_step_again(facts: _Facts) -> Line:
    """What the rounded answer leads back to by the last relation."""
    relation = facts.last.relation
    if relation is None:
        return ()
    other = next(name for name in relation.names if name != facts.asked.name)
    found = relation.solved(other, {**facts.exact, facts.asked.name: facts.question.worked.answer.in_base})
    slots: Slots = {"answer": _answered(facts), "name": facts.writer.names.the(facts.variable(other))}
    return facts.say(
        "check last step", found=facts.rounded(found, facts.variable(other).unit), was=facts.printed(other), **slots
    )


CHECKS: tuple[Callable[[_Facts], Line], ...] = (
    _whole,
    _part_of_the_sample,
    _molar,
    _two_solutions,
    _without_an_excess,
    _left_over,
    _diluted,
    _share_of_a_mole,
    _one_filling,
)
"""The checks in the order of how much they tell a pupil; the first that fit are printed."""

SIZES: tuple[Callable[[_Facts], Line], ...] = (_usual_strength,)
"""What only tells that the order of size is right; printed where there is no other check."""
