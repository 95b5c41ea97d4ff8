"""The text of an order comes in; a frozen order and what is wanted of it go out, or every fault with its line.

    title: Homework in autumn
    questions: 6
    level: structured
    topics: {direct titration: 2, back titration: 1}
    lines:
      - kind: back-limestone
        numbers: {mass of limestone: 1.264 g}

An order is untrusted text: no path is in it, no file is read through it, nothing in it is run. Whether the banks hold what it names
is asked when it is settled.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from molewright.chem.quantity import parse_quantity
from molewright.errors import Mistake, Where, shortened
from molewright.experiment.quantity_texts import Numbers
from molewright.experiment.tellings import ON_PAPER, Telling
from molewright.order.choices import LINE_LEVELS, TELLING_CHOICES
from molewright.order.head import Head, Reader, read_head, with_levels
from molewright.order.lines import READINGS, OrderLine, OwnWords
from molewright.order.order import (
    DEFAULT_QUESTIONS,
    MOST_MARKS,
    MOST_PAST,
    MOST_QUESTIONS,
    MOST_SEED,
    Order,
    Past,
    Wanted,
)
from molewright.reading.fields import Fields, text_of
from molewright.reading.quoting import flow_text, listed, quoted
from molewright.reading.yaml_text import Branch, Keys, Listing, parse_tree, read_tree

ORDER_ENDING = ".order.yaml"
MOST_WEIGHT = 20
MOST_OWN_MARKS = 40  # of a question in the teacher's own words
MOST_LINES = 60  # that are ruled for its answer
MOST_OWN_LETTERS = 4000  # of its text, and of its answer
MOST_EXPERIMENT = 20_000  # characters of a described one
_BESIDE_AN_EXPERIMENT = (*ON_PAPER, "seed", "as written", "wording", "drawn")
SEED = re.compile(r"[a-z0-9]{1,12}")
VERSION = re.compile(r"[A-Z]|\d{2,3}|\d{5}")


def read_order(path: Path, fresh_seed: Callable[[], int], usual: Head | None = None) -> tuple[Order, Wanted]:
    """The order that a file holds; where it has no seed it is given a fresh one.

    `usual` is what a department has settled for what an order leaves out. A settled order leaves nothing out that changes a sheet:
    what is not in it is as we have it, wherever it is printed again. Raises Mistake, or several at once, with file:line.
    """
    tree = read_tree(path, str(path))
    made = _order(tree, fresh_seed, Head())
    return made if usual is None or made[0].settled else _order(tree, lambda: made[0].seed, usual)


def parse_order(text: str, file: str, fresh_seed: Callable[[], int]) -> tuple[Order, Wanted]:
    """The order that a text holds; `file` is how the place is named in messages."""
    return _order(parse_tree(text, file), fresh_seed, Head())


def _order(tree: Branch, fresh_seed: Callable[[], int], usual: Head) -> tuple[Order, Wanted]:
    fields = Fields(tree)
    read = Reader(fields)
    lines = read.each("lines", read_line, MOST_QUESTIONS)
    count = 0 if fields.has("marks") else len(lines) or usual.count or DEFAULT_QUESTIONS  # as many as the marks take
    head = read_head(read, replace(usual, count=count))
    kinds: tuple[str, ...] = read.value("kinds", lambda: fields.texts("kinds"), ())
    seed = read.value("seed", lambda: fields.whole("seed", None, 0, MOST_SEED), -1)
    marks = read.value("marks", lambda: fields.whole("marks", None, 1, MOST_MARKS), 0)
    topics: tuple[tuple[str, int], ...] = read.value("topics", lambda: _topics(fields), ())
    aim = read.value("aim", lambda: fields.name("aim"), "")
    past = read.each("not again", read_past, MOST_PAST)
    read.faults.attempt(fields.where, fields.finish)
    read.faults.attempt(fields.at("questions"), lambda: _enough(head.count or len(lines), len(lines)))
    read.faults.raise_if_any()
    made = Order(
        seed=fresh_seed() if seed < 0 else seed,
        count=head.count,
        marks=marks,
        masses=head.masses,
        style=head.style,
        telling=head.telling,
        equations=head.equations,
        archetypes=kinds,
        topics=topics,
        aim=aim,
        not_again=past,
        lines=lines,
        wheres=tuple((key, fields.at(key)) for key in ("kinds", "topics", "equations") if fields.has(key)),
    )
    return with_levels(made, head.levels), head.wanted


def _enough(count: int, lines: int) -> None:
    if lines > count:
        raise Mistake(
            f"{count} questions and {lines} lines", expected=f"at least {lines}, or the key 'questions' left out"
        )


def _topics(fields: Fields) -> tuple[tuple[str, int], ...]:
    """Topics with their weights; a plain list weighs each alike."""
    branch = fields.branch("topics")
    if not isinstance(branch, Keys):
        return tuple((topic, 1) for topic in dict.fromkeys(fields.texts("topics")))
    weights = Fields(branch, "topics")
    return tuple((topic, weights.whole(topic, None, 1, MOST_WEIGHT)) for topic in branch.members)


def _pairs(fields: Fields, key: str) -> tuple[tuple[str, str], ...]:
    """The texts under a key that holds keys."""
    if not fields.has(key):
        return ()
    branch = fields.branch(key)
    if not isinstance(branch, Keys):
        raise Mistake(f"no keys under '{key}'", expected=f"'{key}: {{... : ...}}'", where=fields.at(key))
    return tuple((name, text_of(held)) for name, held in branch.items())


def _numbers(fields: Fields, key: str) -> Numbers:
    found = _pairs(fields, key)
    for name, text in found:
        try:
            parse_quantity(text, unit_needed=False)
        except Mistake as mistake:
            raise mistake.at(fields.at(key).under(name)) from None
    return found


def _drawn(fields: Fields) -> tuple[tuple[str, Numbers], ...]:
    if not fields.has("drawn"):
        return ()
    branch = fields.branch("drawn")
    if not isinstance(branch, Keys):
        raise Mistake("no versions under 'drawn'", expected="'drawn: {A: {...}}'", where=fields.at("drawn"))
    versions = Fields(branch, "drawn")
    for version in branch.members:
        if not VERSION.fullmatch(version):
            raise Mistake(f"the version {shortened(version)}", expected="a capital letter", where=versions.at(version))
    return tuple((version, _numbers(versions, version)) for version in branch.members)


def read_past(branch: Branch) -> Past:
    """A question that must not come again."""
    fields = Fields(branch, "not again")
    found = Past(
        kind=fields.text("kind", ""),
        roles=tuple(sorted(_pairs(fields, "roles"))),
        asked=fields.text("asked", ""),
        scene=fields.text("scene", ""),
    )
    fields.finish()
    return found


def read_line(branch: Branch) -> OrderLine:
    """One question of an order."""
    return line_of(Fields(branch, "line"))


def line_of(fields: Fields) -> OrderLine:
    """One question of an order, from the keys of its entry that were not asked for yet."""
    if fields.has("question"):
        return _own_words(fields)
    if fields.has("procedure"):
        return experiment_line(fields)
    found = OrderLine(
        kind=fields.text("kind", ""),
        topic=fields.text("topic", ""),
        roles=tuple(sorted(_pairs(fields, "roles"))),
        scene=fields.text("scene", ""),
        asked=fields.text("asked", ""),
        level=fields.one_of("level", LINE_LEVELS) if fields.has("level") else "",
        part=fields.text("part", ""),
        equation=fields.text("equation", ""),
        indicator=fields.text("indicator", ""),
        readings=fields.one_of("readings", READINGS) if fields.has("readings") else "",
        telling=_telling(fields),
        seed=_seed(fields),
        wording=_mark(fields),
        numbers=_numbers(fields, "numbers"),
        drawn=_drawn(fields),
        where=fields.where,
    )
    fields.finish()
    if found.kind and found.topic:
        raise Mistake("a kind and a topic in one line", expected="one of them", where=fields.at("topic"))
    return found


def own_words(*, text: str, answer: str, marks: str, lines: str) -> OwnWords:
    """A question in a teacher's own words, a paragraph on each line, from what was typed. Raises Mistake as an order file does."""
    paragraphs = {"question": text, "answer": answer}
    told = [
        f"{key}: {listed([one.strip() for one in held.splitlines() if one.strip()])}"
        for key, held in paragraphs.items()
    ]
    told += [
        f"{key}: {quoted(held.strip())}" for key, held in (("marks", marks), ("answer lines", lines)) if held.strip()
    ]
    found = _own_words(Fields(parse_tree("\n".join(told), "what was typed"))).words
    assert found is not None
    return found


def _own_words(fields: Fields) -> OrderLine:
    marks = fields.whole("marks", None, 1, MOST_OWN_MARKS)
    words = OwnWords(
        text=_paragraphs(fields, "question"),
        marks=marks,
        answer=_paragraphs(fields, "answer"),
        lines=fields.whole("answer lines", min(2 * marks, MOST_LINES), 0, MOST_LINES),
    )
    fields.finish()
    return OrderLine(words=words, where=fields.where)


def experiment_line(fields: Fields) -> OrderLine:
    """A described experiment, in the words of `molewright solve`; whether it is sound is asked when it is settled."""
    moving, moves = _moves(fields)
    found = OrderLine(
        level=fields.one_of("level", LINE_LEVELS) if fields.has("level") else "",
        moving=moving,
        moves=moves,
        as_written=_versions_named(fields, "as written"),
        seed=_seed(fields),
        opening=fields.text("opening", ""),
        own_stem=_paragraphs(fields, "words") if fields.has("words") else "",
        own_task=fields.text("task", ""),
        telling=_telling(fields),
        wording=_mark(fields),
        drawn=_drawn(fields),
        experiment=tuple(
            (key, flow_text(fields.branch(key))) for key in fields.tree.members if key not in _BESIDE_AN_EXPERIMENT
        ),
        where=fields.where,
    )
    if sum(len(text) for _, text in found.experiment) > MOST_EXPERIMENT:
        raise Mistake("a very long experiment", expected=f"at most {MOST_EXPERIMENT} characters", where=fields.where)
    return found


def _moves(fields: Fields) -> tuple[bool | None, Numbers]:
    """Whether the numbers of an experiment may move, and how far: yes, no, or a range for each that is named."""
    if not fields.has("moves"):
        return None, ()
    if not isinstance(fields.branch("moves"), Keys):
        return fields.yes("moves"), ()
    branch = Fields(fields.branch("moves"), "moves")
    return True, tuple((name, _how_far(branch, name)) for name in branch.tree.members)


def _how_far(moves: Fields, name: str) -> str:
    """A range, that a number stays, or a list of numbers."""
    if isinstance(moves.branch(name), Listing):
        return flow_text(moves.branch(name))
    found = moves.text(name)
    if found.startswith("["):
        raise Mistake(
            shortened(found), expected="a range, as '1.2 to 1.5 g', a list of numbers, or no", where=moves.at(name)
        )
    return found


def _versions_named(fields: Fields, key: str) -> tuple[str, ...]:
    found = fields.texts(key, ())
    for version in found:
        if not VERSION.fullmatch(version):
            raise Mistake(f"the version {shortened(version)}", expected="a capital letter", where=fields.at(key))
    return found


def _paragraphs(fields: Fields, key: str) -> str:
    """A text of one's own, a list of them one paragraph each."""
    found = "\n".join(fields.texts(key))
    if len(found) > MOST_OWN_LETTERS:
        raise Mistake(
            f"the {key} has {len(found)} characters", expected=f"at most {MOST_OWN_LETTERS}", where=fields.at(key)
        )
    return found


def _telling(fields: Fields) -> Telling | None:
    return fields.one_of("telling", TELLING_CHOICES) if fields.has("telling") else None


def _mark(fields: Fields) -> str:
    found = fields.text("wording", "")
    if found and not re.fullmatch(r"[0-9a-f]{8}", found):
        raise Mistake(
            f"the wording {shortened(found)}",
            expected="the mark that was written there, or the key left out",
            where=fields.at("wording"),
        )
    return found


def _seed(fields: Fields) -> str:
    found = fields.text("seed", "")
    if found and not SEED.fullmatch(found):
        raise Mistake(
            f"the seed {shortened(found)}", expected="1 to 12 small letters and digits", where=fields.at("seed")
        )
    return found


def placed(line: OrderLine) -> Where:
    """Where a line is written, for what is found wrong with it later."""
    return line.where or Where("order")
