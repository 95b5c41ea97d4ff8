"""One line of an order comes in; the kind of question and what its versions share go out, or the line as it is then written.

What the line leaves open is picked from its own seed; what the banks do not hold is told with what they hold instead.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from molewright.bank.definitions import Archetype, Ask, Bank, Context, Variant
from molewright.draw.chosen import Chosen, repeats
from molewright.draw.stream import Stream
from molewright.errors import Mistake, Where, nearest, shortened
from molewright.experiment.quantity_texts import find_name, texts_of, without_unit
from molewright.order.lines import OrderLine
from molewright.order.order import Order

TABLES = 40  # of a hundred questions show the readings where either will do


@dataclass(frozen=True, slots=True)
class Possible:
    """A variant that suits a line, with what may be asked and the scenes that it may be set in."""

    variant: Variant
    asks: tuple[Ask, ...]
    scenes: tuple[Context, ...]


def archetype_of(bank: Bank, line: OrderLine) -> Archetype:
    """The kind of question that a line names. Raises Mistake where the banks hold none of that name."""
    found = bank.archetypes.get(line.kind)
    if found is None:
        raise Mistake(
            f"no archetype {shortened(line.kind)} in the banks",
            expected="a kind that 'molewright banks' lists",
            near=nearest(line.kind, bank.archetypes),
            where=_at(line, "kind"),
        )
    return found


def possible(archetype: Archetype, line: OrderLine) -> list[Possible]:
    """The variants that suit a line. Raises Mistake, with what there is, where none does."""
    suited = [variant for variant in archetype.variants if _plays(variant, line)]
    if not suited:
        raise _no_such_roles(archetype, line)
    found: list[Possible] = []
    unasked: Mistake | None = None
    for variant in suited:
        try:
            asks = _asked(variant, line)
        except Mistake as mistake:
            unasked = unasked or mistake.at(_at(line, "asked"))
            continue
        scenes = tuple(scene for scene in variant.contexts if line.scene in ("", scene.key))
        if scenes:
            found.append(Possible(variant, asks, scenes))
    if found:
        return found
    if unasked is not None:
        raise unasked
    scenes_known = dict.fromkeys(scene.key for variant in suited for scene in variant.contexts)
    raise Mistake(
        f"the kind '{archetype.key}' is not set in the scene {shortened(line.scene)}",
        expected=f"one of: {', '.join(scenes_known)}",
        near=nearest(line.scene, scenes_known),
        where=_at(line, "scene"),
    )


def _plays(variant: Variant, line: OrderLine) -> bool:
    told = {role.casefold(): what.casefold() for role, what in variant.roles.items()}
    return all(told.get(role.casefold()) == what.casefold() for role, what in line.roles)


def _no_such_roles(archetype: Archetype, line: OrderLine) -> Mistake:
    """What plays which role in a kind of question, for somebody who asked for something else."""
    known: dict[str, dict[str, None]] = {}
    for variant in archetype.variants:
        for role, what in variant.roles.items():
            known.setdefault(role, {})[what] = None
    for role, what in line.roles:
        if role not in known:
            return Mistake(
                f"the kind '{archetype.key}' has no {shortened(role)}",
                expected=f"of: {', '.join(known)}",
                near=nearest(role, known),
                where=_at(line, "roles"),
            )
        if what.casefold() not in map(str.casefold, known[role]):
            return Mistake(
                f"{shortened(what)} is not among what may be the {role} of the kind '{archetype.key}'",
                expected=f"one of: {', '.join(known[role])}",
                near=nearest(what, known[role]),
                where=_at(line, "roles"),
            )
    told = ", ".join(f"{role} {what}" for role, what in line.roles)
    return Mistake(
        f"{told}: not together in the kind '{archetype.key}'", expected="fewer roles named", where=_at(line, "roles")
    )


def _asked(variant: Variant, line: OrderLine) -> tuple[Ask, ...]:
    if not line.asked:
        return variant.asks
    words, unit = without_unit(line.asked)
    name = find_name(words, [ask.quantity for ask in variant.asks])
    alike = [ask for ask in variant.asks if ask.quantity == name]
    asks = tuple(ask for ask in alike if unit in (None, ask.unit))
    if asks:
        return asks
    raise Mistake(
        f"{shortened(line.asked, 120)}: not asked in this unit",
        expected=f"one of: {', '.join(f'{words} in {ask.unit.text}' for ask in alike)}",
    )


def quantity_asked(line: OrderLine) -> str:
    """The quantity that a line asks for, whatever its unit."""
    return without_unit(line.asked)[0]


@dataclass(slots=True)
class Avoided:
    """What a further question should not repeat while there is something else: scenes, experiments, what was asked just before."""

    scenes: set[str] = field(default_factory=set)
    experiments: set[tuple[str, tuple[tuple[str, str], ...], str]] = field(default_factory=set)
    last: Chosen | None = None

    def take(self, archetype: Archetype, chosen: Chosen) -> None:
        """Keep in mind that this question is set."""
        self.scenes.add(chosen.context.key)
        self.experiments.add(experiment(archetype, chosen.variant, chosen.ask))
        self.last = chosen

    def repeats(self, archetype: Archetype, variant: Variant, ask: Ask) -> bool:
        """Whether it was set before: the same kind with the same material and the same quantity asked for."""
        alike = self.last is not None and self.last.variant.roles == variant.roles and self.last.ask == ask
        return alike or self.met(archetype, variant, ask)

    def met(self, archetype: Archetype, variant: Variant, ask: Ask) -> bool:
        """Whether the experiment itself was set before, in whatever scene."""
        return experiment(archetype, variant, ask) in self.experiments

    @classmethod
    def before(cls, order: Order) -> Avoided:
        """What an order says must not come again."""
        return cls(
            {past.scene for past in order.not_again if past.scene},
            {past.experiment for past in order.not_again if past.kind},
        )


def scenes_left(archetype: Archetype, line: OrderLine, avoided: Avoided, fresh: bool = False) -> tuple[str, ...]:
    """The scenes that a kind could be set in without repeating one: those of experiments that are not to be avoided either come first.

    With `fresh` there are no others.
    """
    met = archetype.key in {kind for kind, _, _ in avoided.experiments}
    again: list[Possible] = []
    found: dict[str, None] = {}
    for one in possible(archetype, line):
        if met and all(avoided.met(archetype, one.variant, ask) for ask in one.asks):
            again.append(one)
        else:
            found.update(dict.fromkeys(scene.key for scene in one.scenes))
    if not fresh:
        found.update(dict.fromkeys(scene.key for one in again for scene in one.scenes))
    return tuple(scene for scene in found if scene not in avoided.scenes)


def experiment(archetype: Archetype, variant: Variant, ask: Ask) -> tuple[str, tuple[tuple[str, str], ...], str]:
    """What makes a question the same one in another scene."""
    return archetype.key, tuple(sorted(variant.roles.items())), _quantity_text(variant, ask)


def stream_of(line: OrderLine) -> Stream:
    """The stream that a line's question is drawn from: fixed by its seed and its kind, wherever the line stands."""
    return Stream(f"molewright/line/{line.kind}/{line.seed}")


def choose_for(archetype: Archetype, line: OrderLine, stream: Stream, avoided: Avoided | None = None) -> Chosen:
    """What the versions of a line share; nothing that is to be avoided while there is something else."""
    avoid = avoided or Avoided()
    weighed = [
        (
            one,
            ask,
            not any(scene.key not in avoid.scenes for scene in one.scenes),
            avoid.repeats(archetype, one.variant, ask),
        )
        for one in possible(archetype, line)
        for ask in one.asks
    ]
    least = min((again, stale) for _, _, stale, again in weighed)
    left = [(one, ask) for one, ask, stale, again in weighed if (again, stale) == least]
    variants = [one for at, (one, _) in enumerate(left) if not at or left[at - 1][0] is not one]
    one = stream.pick(variants)  # each variant as often as another, however much may be asked of it
    asks = [ask for other, ask in left if other is one]
    return Chosen(
        variant=one.variant,
        ask=stream.weighted(asks, [ask.weight for ask in asks]),
        context=stream.pick([scene for scene in one.scenes if scene.key not in avoid.scenes] or one.scenes),
        indicator=_indicator(archetype, one.variant, line, stream),
        table=_table(archetype, one.variant, line, stream),
        line=stream.seed,
    )


def _indicator(archetype: Archetype, variant: Variant, line: OrderLine, stream: Stream) -> str:
    known = variant.indicators
    if not line.indicator:
        return stream.pick(known) if known else ""
    if line.indicator not in known:
        raise Mistake(
            f"the indicator {shortened(line.indicator)} does not serve the kind '{archetype.key}'",
            expected=f"one of: {', '.join(known)}" if known else "no indicator: none is used",
            near=nearest(line.indicator, known),
            where=_at(line, "indicator"),
        )
    return line.indicator


def _table(archetype: Archetype, variant: Variant, line: OrderLine, stream: Stream) -> bool:
    if not line.readings:
        return (archetype.runs == "table" or (archetype.runs == "either" and stream.chance(TABLES))) and repeats(
            variant
        )
    table = line.readings == "table"
    if table and not repeats(variant):
        raise Mistake(
            "a table of readings where the whole sample is titrated once", expected="mean", where=_at(line, "readings")
        )
    return table


def written(line: OrderLine, archetype: Archetype, chosen: Chosen) -> OrderLine:
    """The line with everything that its versions share written out."""
    return replace(
        line,
        kind=archetype.key,
        topic="",
        roles=tuple(sorted(chosen.variant.roles.items())),
        scene=chosen.context.key,
        asked=asked_text(chosen.variant, chosen.ask),
        indicator=chosen.indicator,
        readings="table" if chosen.table else "mean",
    )


def asked_text(variant: Variant, ask: Ask) -> str:
    """What is asked for, told apart from what else the variant could ask: with its unit where one quantity is asked in several."""
    text = _quantity_text(variant, ask)
    several = any(one.quantity == ask.quantity and one.unit != ask.unit for one in variant.asks)
    return f"{text} in {ask.unit.text}" if several else text


def _quantity_text(variant: Variant, ask: Ask) -> str:
    return texts_of(one.quantity for one in variant.asks)[ask.quantity]


def read_back(archetype: Archetype, line: OrderLine) -> Chosen:
    """What a line says whose every choice is written. Raises Mistake where the banks do not hold it any more."""
    one = possible(archetype, line)[0]
    stream = Stream("nothing is left to pick")
    return Chosen(
        variant=one.variant,
        ask=one.asks[0],
        context=one.scenes[0],
        indicator=_indicator(archetype, one.variant, line, stream) if line.indicator else "",
        table=_table(archetype, one.variant, line, stream),
        line=stream_of(line).seed,
    )


def _at(line: OrderLine, key: str) -> Where:
    place = line.where or Where("order")
    return place.under(key)
