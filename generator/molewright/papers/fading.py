"""An order of a series that fades comes in; its questions go out: one kind, from a worked example to exam style in another set-up.

The first four are one experiment with other numbers each; the last has another substance or scene, or is a near kind of the topic.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from molewright.bank.definitions import Archetype, Bank
from molewright.draw.chosen import Chosen, repeats
from molewright.draw.stream import Stream
from molewright.errors import Mistake, Where
from molewright.order.choices import FADED, SERIES
from molewright.order.lines import OrderLine, Readings
from molewright.order.order import Order
from molewright.papers.choosing import find_archetypes, fresh_seed, of_line
from molewright.papers.line_choice import Avoided, archetype_of, asked_text, choose_for, stream_of, written
from molewright.papers.part_choice import part_of_line
from molewright.papers.slots import Slot, line_seed

_ONE_KIND = "one kind of question, or one topic of which a kind is drawn"


def faded_order(bank: Bank, names: Sequence[str], count: int | None = None, seed: int | None = None) -> Order:
    """An order of a series of one kind, by its key or drawn from a topic. Raises Mistake for anything else."""
    if len(names) != 1:
        raise Mistake(f"{len(names)} kinds or topics at the level {FADED}", expected=_ONE_KIND)
    seed = fresh_seed() if seed is None else seed
    kind = _with_steps(bank, find_archetypes(bank, names), seed)
    return require_series(
        Order(seed=seed, count=len(SERIES) if count is None else count, level=FADED, archetypes=(kind.key,))
    )


def require_series(order: Order) -> Order:
    """The order, where it can be one of a series. Raises Mistake where it has not as many questions, or a total of marks."""
    if order.marks:
        raise Mistake(
            f"a total of marks at the level {FADED}", expected="no total: the series has the marks of its kind"
        )
    if order.aim:
        raise Mistake(
            f"an aim at the level {FADED}", expected="one of the two: an aimed paper has kinds of several sorts"
        )
    if order.count != len(SERIES):
        raise Mistake(
            f"{order.count} questions at the level {FADED}",
            expected=f"{len(SERIES)}, or no number: the series has as many",
        )
    for at, line in enumerate(order.lines):
        where = line.where or Where("order")
        if not line.from_banks:
            raise Mistake(
                "a question of your own in a series that fades", expected="an order apart for it", where=where
            )
        if order.settled and at < len(SERIES) - 1 and line.kind != order.lines[0].kind:
            raise Mistake(
                f"question {at + 1} of a series that fades is of the kind '{line.kind}'",
                expected=f"'{order.lines[0].kind}' as before it",
                where=where,
            )
    return order


def _with_steps(bank: Bank, keys: Sequence[str], seed: int) -> Archetype:
    """One of these kinds that has steps to be worked out. Raises Mistake where none has."""
    able = [key for key in keys if bank.archetypes[key].calculated]
    if not able:
        named = f"the kind '{keys[0]}'" if len(keys) == 1 else "none of these kinds"
        raise Mistake(
            f"{named} has {'no steps' if len(keys) == 1 else 'steps'} that could be shown and then left open",
            expected="a kind with a calculation",
        )
    return bank.archetypes[Stream(f"molewright/faded/{seed}").pick(able)]


def faded_slots(bank: Bank, order: Order) -> tuple[Slot, ...]:
    """The questions of a series: what its first line fixes holds for all that are like it."""
    require_series(order)
    lines = [*order.lines, *[OrderLine()] * (len(SERIES) - len(order.lines))]
    archetype = _kind(bank, order, lines[0])
    example = _slot(bank, order, 0, archetype, lines[0], Avoided.before(order))
    alike = [_slot(bank, order, at, archetype, _like(example.line, lines[at])) for at in range(1, len(SERIES) - 1)]
    at = len(SERIES) - 1
    if any((lines[at].kind, lines[at].roles, lines[at].scene)):
        last = _slot(
            bank, order, at, archetype_of(bank, replace(lines[at], kind=lines[at].kind or archetype.key)), lines[at]
        )
    else:
        stream = Stream(f"molewright/faded/last/{order.seed}/{example.line.seed}")
        other, fixed = _elsewhere(bank, archetype, example.chosen, stream)
        last = _slot(bank, order, at, other, replace(fixed, seed=lines[at].seed, numbers=lines[at].numbers))
    return (example, *alike, last)


def _kind(bank: Bank, order: Order, line: OrderLine) -> Archetype:
    """The kind of a series: that of its first line, or the one that is named, or one of the topic."""
    found = of_line(bank, line, Stream(f"molewright/faded/line/{order.seed}"))
    if found is not None:
        return _with_steps(bank, [found.key], order.seed)
    named = order.archetypes or tuple(topic for topic, _ in order.topics)
    if len(named) != 1:
        raise Mistake(f"{len(named)} kinds or topics at the level {FADED}", expected=_ONE_KIND)
    return _with_steps(bank, find_archetypes(bank, named), order.seed)


def _slot(
    bank: Bank, order: Order, at: int, archetype: Archetype, line: OrderLine, avoided: Avoided | None = None
) -> Slot:
    """The question of one place, whatever its line leaves open picked."""
    seed = line.seed or line_seed(order.seed, str(at))
    named = replace(line, kind=archetype.key, topic="", seed=seed, level=line.level or SERIES[at])
    part = part_of_line(bank, archetype, named)
    chosen = replace(choose_for(archetype, named, stream_of(named), avoided), part=part)
    return Slot(
        place=at, line=replace(written(named, archetype, chosen), part=part), archetype=archetype, chosen=chosen
    )


def _like(example: OrderLine, line: OrderLine) -> OrderLine:
    """A line with everything of the example that it does not fix itself, but for the numbers."""
    if line.kind not in ("", example.kind):
        return line
    return replace(
        line,
        roles=line.roles or example.roles,
        asked=line.asked or example.asked,
        scene=line.scene or example.scene,
        indicator=line.indicator or example.indicator,
        readings=line.readings or example.readings,
    )


def _elsewhere(bank: Bank, archetype: Archetype, base: Chosen, stream: Stream) -> tuple[Archetype, OrderLine]:
    """The kind with another substance, or in another scene, or a near kind of its topic; the same again where there is nothing else."""
    others = [one for one in stream.shuffled(archetype.variants) if one.roles != base.variant.roles]
    if others:
        far = max(others, key=lambda one: len(set(one.roles.items()) - set(base.variant.roles.items())))
        alike = [ask for ask in far.asks if ask.quantity.kind == base.ask.quantity.kind] or far.asks
        scenes = [scene for scene in far.contexts if scene.key != base.context.key] or far.contexts
        roles = tuple(sorted(far.roles.items()))
        plain: Readings = "" if archetype.runs == "table" else "mean"
        readings: Readings = "table" if base.table and repeats(far) else plain
        scene = stream.pick(scenes).key
        return archetype, OrderLine(roles=roles, asked=asked_text(far, alike[0]), scene=scene, readings=readings)
    roles, asked = tuple(sorted(base.variant.roles.items())), asked_text(base.variant, base.ask)
    elsewhere = [scene.key for scene in base.variant.contexts if scene.key != base.context.key]
    if elsewhere:
        return archetype, OrderLine(roles=roles, asked=asked, scene=stream.pick(elsewhere))
    near = [
        one
        for one in bank.archetypes.values()
        if one.topic == archetype.topic and one.key != archetype.key and one.calculated and not one.further_parts
    ]
    least = min((abs(one.demand - archetype.demand) for one in near), default=None)
    if least is not None:
        return stream.pick([one for one in near if abs(one.demand - archetype.demand) == least]), OrderLine()
    return archetype, OrderLine(roles=roles, asked=asked, scene=base.context.key)
