"""An order comes in; the kinds of question on its papers and what their versions share go out. Draws no number.

What is asked for by name is taken in turn, each topic as often as another; a mixture is spread over all kinds and picked again
while it would be too long. No scene comes twice while there is another.
"""

from __future__ import annotations

import secrets
from collections import Counter
from collections.abc import Sequence
from functools import partial

from molewright.bank.definitions import Archetype, Bank
from molewright.chem.formula_scripts import with_scripts
from molewright.draw.stream import Stream
from molewright.errors import Mistake, nearest, shortened
from molewright.order.choices import FADED, LINE_LEVELS, MIXED, SERIES
from molewright.order.lines import OrderLine
from molewright.order.order import DEFAULT_QUESTIONS, MOST_QUESTIONS, MOST_SEED, Order, Past
from molewright.order.order_file import placed
from molewright.papers.fresh_scenes import FreshScenes
from molewright.papers.line_choice import Avoided, archetype_of, choose_for, scenes_left
from molewright.papers.part_choice import part_of_line
from molewright.reading.fields import Faults
from molewright.slips.named_slip import find_slip


def fresh_seed() -> int:
    """A seed that no one has guessed."""
    return secrets.randbelow(MOST_SEED + 1)


def new_order(
    bank: Bank,
    names: Sequence[str] = (),
    count: int | None = None,
    seed: int | None = None,
    marks: int = 0,
    not_again: Sequence[Past] = (),
    aim: str = "",
) -> Order:
    """An order of these kinds or topics, or of a mixture. Raises Mistake for a name or a number that cannot be had.

    With marks and without a count there are as many questions as the marks take. An aim is a slip, in plain words or by its key.
    """
    if marks or not_again or aim:
        topics = dict.fromkeys(name if name in bank.archetypes else find_topic(bank, name) for name in names)
        usual = 0 if marks else min(MOST_QUESTIONS, max(DEFAULT_QUESTIONS, len(topics)))
        return Order(
            seed=fresh_seed() if seed is None else seed,
            count=usual if count is None else count,
            marks=marks,
            topics=tuple((topic, 1) for topic in topics),
            not_again=tuple(not_again),
            aim=find_slip(bank.slips, aim).key if aim else "",
        )
    groups = [find_archetypes(bank, [name]) for name in dict.fromkeys(names)]
    keys = tuple(dict.fromkeys(key for group in groups for key in group))
    if count is None:
        count = max(min(len(keys), DEFAULT_QUESTIONS), min(len(groups), MOST_QUESTIONS)) or DEFAULT_QUESTIONS
    seed = fresh_seed() if seed is None else seed
    if len(keys) > count >= 1:  # a topic of many kinds: the code names those that are used, and stays short
        keys = tuple(sorted(_in_turn(Stream(f"kinds/{seed}"), groups, count)))
    return Order(seed=seed, count=count, archetypes=keys)


def _in_turn(stream: Stream, groups: Sequence[Sequence[str]], count: int) -> list[str]:
    """So many kinds, one of each group in turn: a topic of a hundred kinds has no more turns than one of five."""
    left = [stream.shuffled(group) for group in stream.shuffled(groups)]
    taken: dict[str, None] = {}
    while len(taken) < count and any(left):
        for group in left:
            fresh = next((key for key in group if key not in taken), None)
            if fresh is None:
                group.clear()
            elif len(taken) < count:
                group.remove(fresh)
                taken[fresh] = None
    return list(taken)


def find_archetypes(bank: Bank, names: Sequence[str]) -> tuple[str, ...]:
    """The archetypes of these keys, or of topics by their first letters. Raises Mistake for a name that is neither."""
    found: list[str] = []
    for name in names:
        if name in bank.archetypes:
            found.append(name)
        else:
            topic = find_topic(bank, name)
            found += [key for key, archetype in sorted(bank.archetypes.items()) if archetype.topic == topic]
    return tuple(dict.fromkeys(found))


def require_known(bank: Bank, order: Order) -> None:
    """Raises Mistake, or several at once, each at its place, for kinds and topics of an order that the banks do not hold."""
    faults = Faults()
    for key in order.archetypes:
        faults.attempt(order.where("kinds"), partial(_require_kind, bank, key))
    for topic, _ in order.topics:
        faults.attempt(order.where("topics"), partial(find_archetypes, bank, [topic]))
    for line in order.lines:
        if line.topic:
            faults.attempt(placed(line).under("topic"), partial(find_archetypes, bank, [line.topic]))
    faults.raise_if_any()


def _require_kind(bank: Bank, key: str) -> None:
    if key not in bank.archetypes:
        raise Mistake(
            f"no archetype {shortened(key)} in the banks",
            expected="a kind that 'molewright banks' lists",
            near=nearest(key, bank.archetypes),
        )


def find_topic(bank: Bank, name: str) -> str:
    """The topic that is called so, or whose first letters these are. Raises Mistake where there is none, or where several begin so."""
    topics = tuple(dict.fromkeys(archetype.topic for archetype in bank.archetypes.values()))
    wanted = " ".join(name.casefold().split())
    begun = [topic for topic in topics if topic.casefold().startswith(wanted)] if wanted else []
    exact = [topic for topic in begun if topic.casefold() == wanted]
    if len(exact or begun) == 1:
        return (exact or begun)[0]
    if begun:
        raise Mistake(f"{shortened(name)} could be {len(begun)} topics", expected=f"one of: {', '.join(begun)}")
    raise Mistake(
        f"no archetype {shortened(name)} in the banks",
        expected="a kind or a topic that 'molewright banks' lists",
        near=nearest(name, [*bank.archetypes, *topics]),
    )


def select(bank: Bank, stream: Stream, order: Order) -> list[Archetype]:
    """The archetypes of an order's drawn questions: those of its lines in their places, then the others, least demanding first."""
    drawn = [(at, line) for at, line in enumerate(order.lines) if line.from_banks]
    fixed = [of_line(bank, line, stream.branch(f"line {at}")) for at, line in drawn]
    missing = fixed.count(None) + order.count - len(order.lines)
    others = iter(_others(bank, stream, order, missing, [one for one in fixed if one is not None]))
    placed = [archetype or next(others) for archetype in fixed]
    return [*placed, *others]


def of_line(bank: Bank, line: OrderLine, stream: Stream) -> Archetype | None:
    """The kind that a line fixes by its name or its topic, or by a scene or a material that few kinds have; None where it does not."""
    if line.kind:
        return archetype_of(bank, line)
    if not (line.topic or line.roles or line.scene or line.asked or line.indicator or line.part):
        return None
    keys = find_archetypes(bank, [line.topic]) if line.topic else tuple(sorted(bank.archetypes))
    refused: Mistake | None = None
    for key in stream.shuffled(keys):
        try:
            part_of_line(bank, bank.archetypes[key], line)
            choose_for(bank.archetypes[key], line, stream)
        except Mistake as mistake:
            refused = refused or mistake
        else:
            return bank.archetypes[key]
    assert refused is not None
    raise Mistake(
        "no kind of question has all that this line fixes",
        expected="fewer things fixed in it",
        where=refused.where,
        do=f"Of one kind: {refused.found}.",
    )


def _others(bank: Bank, stream: Stream, order: Order, count: int, fixed: Sequence[Archetype]) -> list[Archetype]:
    """So many archetypes that no line fixes, least demanding first: those asked for in turn, or a spread over all."""
    if order.topics:
        return sorted(_by_topics(bank, stream, order, count, fixed), key=lambda archetype: archetype.demand)
    if order.archetypes:
        listed = [bank.archetypes[key] for key in order.archetypes]
        turn = listed if count >= len(listed) else stream.shuffled(listed)
        found = [turn[index % len(turn)] for index in range(count)]
        return sorted(found, key=lambda archetype: archetype.demand) if len(listed) > 1 else found
    every = sorted(plain_kinds(bank), key=lambda archetype: (archetype.demand, archetype.key))
    least, most = every[0].demand, every[-1].demand
    picked: list[Archetype] = []
    past = Avoided.before(order)
    met = {one.kind for one in order.not_again}
    left = [one for one in every if scenes_left(one, OrderLine(), past)] if order.not_again else every
    for number in range(count):  # demand rises slowly at first: recall, core, one hard question at the end
        share = number / (count - 1) if count > 1 else 0.5
        aim = least + (most - least) * share**2
        fresh = [one for one in left if one not in picked and one not in fixed] or every
        fresh = [one for one in fresh if one.key not in met] or fresh
        other = [one for one in fresh if not picked or one.topic != picked[-1].topic] or fresh
        nearest_demand = min(abs(one.demand - aim) for one in other)
        picked.append(stream.pick([one for one in other if abs(one.demand - aim) <= nearest_demand + 1.2]))
    return sorted(picked, key=lambda archetype: archetype.demand)


def plain_kinds(bank: Bank) -> list[Archetype]:
    """The kinds that a mixture is made of: calculations without further parts, of topics that come without being named."""
    plain = [one for one in bank.archetypes.values() if not (bank.topic_of(one).only_by_name or one.further_parts)]
    return plain or list(bank.archetypes.values())


def _by_topics(bank: Bank, stream: Stream, order: Order, count: int, fixed: Sequence[Archetype]) -> list[Archetype]:
    """So many archetypes of some topics: one of each, then round by round as often as their weights say.

    No kind comes twice while there is another, and none whose scenes were all set before while there is one with a fresh scene.
    """
    topics = order.topics
    left = {topic: stream.shuffled(find_archetypes(bank, [topic])) for topic, _ in topics}
    past = Avoided.before(order)
    before = Counter(one.kind for one in order.not_again)
    used = Counter(one.key for one in fixed)
    had = Counter(topic for topic, _ in topics for one in fixed if one.key in left[topic])
    scenes = FreshScenes()
    keys = {key for group in left.values() for key in group}
    could = {key: scenes_left(bank.archetypes[key], OrderLine(), past) for key in keys}
    fresh = {key: scenes_left(bank.archetypes[key], OrderLine(), past, fresh=True) for key in keys} if before else could
    for one in fixed:
        scenes.take(could.get(one.key, ()))
    found: list[Archetype] = []
    for _ in range(count):
        topic = min(topics, key=lambda one: (had[one[0]] > 0, (had[one[0]] + 1) / one[1], topics.index(one)))[0]
        ordered = sorted(left[topic], key=lambda one: (used[one], before[one], left[topic].index(one)))
        tried = (one for held in (fresh, could) for one in ordered if scenes.fits(held[one]))
        key = next(tried, ordered[0])
        scenes.take(could[key])
        used[key] += 1
        had[topic] += 1
        found.append(bank.archetypes[key])
    return found


def levels(order: Order) -> tuple[str, ...]:
    """The level of each question that its line does not fix; a mixture goes from structured to exam style over its last third.

    Where a paper is aimed at a slip it begins with more support.
    """
    if order.level == FADED and order.count == len(SERIES):
        return SERIES
    if order.level != MIXED:
        return (order.level,) * order.count
    if order.aim:
        return tuple(LINE_LEVELS[3 * at // order.count] for at in range(order.count))
    last = max(1, order.count // 3)
    return ("structured",) * (order.count - last) + ("exam",) * last


def default_title(bank: Bank, order: Order) -> str:
    """The title of a paper that was given none."""
    if len(order.archetypes) == 1:
        title = with_scripts(bank.archetypes[order.archetypes[0]].title)
        return f"{title} Practice" if title.endswith("?") else f"{title}: practice"
    return "Titration homework" if order.count <= 12 else "Titration practice"
