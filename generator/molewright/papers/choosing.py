"""An order comes in; the kinds of question on its papers and what their versions share go out. Draws no number.

What is asked for by name is taken in turn, each topic as often as another; a mixture is spread over all kinds and picked again
while it would be too long. No scene comes twice while there is another.
"""

from __future__ import annotations

import secrets
from collections.abc import Sequence
from dataclasses import replace

from molewright.bank.definitions import Archetype, Bank
from molewright.chem.formula_scripts import with_scripts
from molewright.draw.chosen import Chosen, choose
from molewright.draw.stream import Stream
from molewright.errors import Mistake, nearest, shortened
from molewright.order.choices import STRETCH
from molewright.order.order import DEFAULT_QUESTIONS, MOST_QUESTIONS, MOST_SEED, Order
from molewright.question.check import Questions
from molewright.sheet.parts import LEVELS, Level

MOST_MARKS_A_QUESTION = 5  # of a mixture, on average: 30 marks for six questions, some 40 minutes
MOST_SELECTIONS = 12
_MOST_CHOICES = 12  # looked through for a scene that is not used yet


def fresh_seed() -> int:
    """A seed that no one has guessed."""
    return secrets.randbelow(MOST_SEED + 1)


def new_order(bank: Bank, names: Sequence[str] = (), count: int | None = None, seed: int | None = None) -> Order:
    """An order of these kinds or topics, or of a mixture. Raises Mistake for a name or a number that cannot be had."""
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
    """The archetypes of these keys or topics. Raises Mistake for a name that is neither."""
    found: list[str] = []
    topics = {archetype.topic for archetype in bank.archetypes.values()}
    for name in names:
        if name in bank.archetypes:
            found.append(name)
        elif name in topics:
            found += [key for key, archetype in sorted(bank.archetypes.items()) if archetype.topic == name]
        else:
            raise Mistake(
                f"no archetype {shortened(name)} in the banks",
                expected="a name that 'molewright banks' lists",
                near=nearest(name, [*bank.archetypes, *topics]),
            )
    return tuple(dict.fromkeys(found))


def settle(questions: Questions, order: Order, seed: str) -> tuple[list[Archetype], list[Chosen]]:
    """Archetypes and what their versions share; a mixture is picked again while it would be too long a paper."""
    stream = Stream(f"{seed}/select")
    least: tuple[int, list[Archetype], list[Chosen]] | None = None
    for attempt in range(MOST_SELECTIONS):
        selected = select(questions.bank, stream.branch(str(attempt)), order)
        chosen = what_versions_share(selected, seed)
        if order.archetypes:
            return selected, chosen
        marks = sum(questions.marks_of(one, its) for one, its in zip(selected, chosen, strict=True))
        if len({questions.bank.topic_of(one).back for one in selected}) < min(2, order.count):
            marks += MOST_MARKS_A_QUESTION * order.count  # both direct and back titrations, if it can be had
        if least is None or marks < least[0]:
            least = (marks, selected, chosen)
        if marks <= MOST_MARKS_A_QUESTION * order.count:
            break
    assert least is not None
    return least[1], least[2]


def what_versions_share(selected: Sequence[Archetype], seed: str) -> list[Chosen]:
    """What all versions share: no scene twice while there is another, and no asked quantity twice in a row if possible."""
    found: list[Chosen] = []
    scenes: set[str] = set()
    for index, archetype in enumerate(selected):
        stream = Stream(f"{seed}/{index}")
        tried: list[Chosen] = []
        for attempt in range(_MOST_CHOICES):
            one = choose(archetype, stream.branch(str(attempt)))
            tried.append(one)
            fresh = one.context.key not in scenes
            if fresh and not (found and _alike(found[-1], one)):
                break
        else:
            one = _in_a_fresh_scene(tried, scenes, stream)
        scenes.add(one.context.key)
        found.append(one)
    return found


def _in_a_fresh_scene(tried: list[Chosen], scenes: set[str], stream: Stream) -> Chosen:
    """The last of some choices whose scene is not among those used, or that has another which is not; else the last of all."""
    for one in reversed(tried):
        if one.context.key not in scenes:
            return one
    for one in reversed(tried):
        unused = [context for context in one.variant.contexts if context.key not in scenes]
        if unused:
            return replace(one, context=stream.branch("scene").pick(unused))
    return tried[-1]


def _alike(one: Chosen, other: Chosen) -> bool:
    return one.variant.roles == other.variant.roles and one.ask == other.ask


def select(bank: Bank, stream: Stream, order: Order) -> list[Archetype]:
    """The archetypes of an order, least demanding first: those asked for in turn, or a spread over all."""
    if order.archetypes:
        listed = [bank.archetypes[key] for key in order.archetypes]
        turn = listed if order.count >= len(listed) else stream.shuffled(listed)
        found = [turn[index % len(turn)] for index in range(order.count)]
        return sorted(found, key=lambda archetype: archetype.demand) if len(listed) > 1 else found
    plain = [one for one in bank.archetypes.values() if not (bank.topic_of(one).only_by_name or one.further_parts)]
    calculations = plain or list(bank.archetypes.values())
    every = sorted(calculations, key=lambda archetype: (archetype.demand, archetype.key))
    least, most = every[0].demand, every[-1].demand
    picked: list[Archetype] = []
    for number in range(order.count):  # demand rises slowly at first: recall, core, one hard question at the end
        share = number / (order.count - 1) if order.count > 1 else 0.5
        aim = least + (most - least) * share**2
        fresh = [one for one in every if one not in picked] or every
        other = [one for one in fresh if not picked or one.topic != picked[-1].topic] or fresh
        nearest_demand = min(abs(one.demand - aim) for one in other)
        picked.append(stream.pick([one for one in other if abs(one.demand - aim) <= nearest_demand + 1.2]))
    return sorted(picked, key=lambda archetype: archetype.demand)


def levels(order: Order) -> tuple[Level, ...]:
    """The level of each question; a mixture goes from structured to exam style over its last third."""
    easier: Level = "structured"
    harder: Level = "exam"
    if order.level == STRETCH:
        return (harder,) * order.count
    if order.level in LEVELS:
        return tuple(level for level in LEVELS if level == order.level) * order.count
    last = max(1, order.count // 3)
    return (easier,) * (order.count - last) + (harder,) * last


def default_title(bank: Bank, order: Order) -> str:
    """The title of a paper that was given none."""
    if len(order.archetypes) == 1:
        title = with_scripts(bank.archetypes[order.archetypes[0]].title)
        return f"{title} Practice" if title.endswith("?") else f"{title}: practice"
    return "Titration homework" if order.count <= 12 else "Titration practice"
