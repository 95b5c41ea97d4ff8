"""An order comes in; its text goes out, as a person reads and edits it and `order_file` reads it back."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from molewright.experiment.quantity_texts import Numbers
from molewright.order.choices import SOME
from molewright.order.front_text import write_front
from molewright.order.lines import OrderLine
from molewright.order.order import USUAL_WISHES, Order, Past, Wanted
from molewright.reading.quoting import flow_text, listed, mapped, quoted
from molewright.reading.yaml_text import Keys, Listing, parse_tree


def write_order(order: Order, wanted: Wanted, notes: Sequence[str] = ()) -> str:
    """The text of an order; `notes` are remarks that stand before it and are not read."""
    return "\n".join([*(f"# {note}" for note in notes), *_head(order, wanted), *_body(order), ""])


def _head(order: Order, wanted: Wanted) -> Iterator[str]:
    if wanted.title:
        yield f"title: {quoted(wanted.title)}"
    yield from write_front(wanted.front)
    yield f"seed: {order.seed}"
    if order.count:
        yield f"questions: {order.count}"
    if order.marks:
        yield f"marks: {order.marks}"
    yield f"level: {listed(order.levels) if order.levels else quoted(order.level)}"
    if order.archetypes:
        yield f"kinds: {listed(order.archetypes)}"
    if order.topics:
        yield f"topics: {mapped((topic, str(weight)) for topic, weight in order.topics)}"
    if order.aim:
        yield f"aim: {quoted(order.aim)}"
    yield f"masses: {quoted(order.masses)}"
    yield f"units: {order.style}"
    if order.telling:
        yield f"telling: {order.telling}"
    if order.equations != SOME:
        yield f"equations: {quoted(order.equations)}"
    yield f"versions: {listed(wanted.versions)}"
    yield from (f"{key}: {text}" for key, text, usual in _wishes(wanted) if text != usual)


def _wishes(wanted: Wanted) -> Iterator[tuple[str, str, str]]:
    """What is wanted of the sheets: key, text, and the text that need not be written."""
    usual = USUAL_WISHES
    yield "sheets", listed(wanted.sheets), listed(usual.sheets)
    yield "numbers", wanted.numbers, usual.numbers
    yield "files", wanted.files, usual.files
    yield "answer space", wanted.answer_space, usual.answer_space
    yield "look", wanted.look, usual.look
    yield "tint", wanted.tint, usual.tint
    yield "fillable", "yes" if wanted.fillable else "no", "no"
    yield "forms", listed(wanted.forms), listed(usual.forms)


def _body(order: Order) -> Iterator[str]:
    if order.not_again:
        yield "not again:"
        yield from (f"  - {past_text(past)}" for past in order.not_again)
    if order.lines:
        yield "lines:"
        for line in order.lines:
            first, *rest = line_text(line) or ["{}"]
            yield f"  - {first}"
            yield from (f"    {one}" for one in rest)


def past_text(past: Past) -> str:
    """A question that must not come again, on one line."""
    held = [("kind", past.kind), ("asked", past.asked), ("scene", past.scene)]
    told = [f"{key}: {quoted(text)}" for key, text in held if text]
    if past.roles:
        told.insert(1, f"roles: {mapped(past.roles)}")
    return f"{{{', '.join(told)}}}"


def line_text(line: OrderLine) -> list[str]:
    """One question of an order, a key a line."""
    if line.words is not None:
        return [
            f"question: {_paragraphs(line.words.text)}",
            f"marks: {line.words.marks}",
            f"answer: {_paragraphs(line.words.answer)}",
            f"answer lines: {line.words.lines}",
        ]
    if line.experiment:
        own = [
            ("level", line.level),
            ("seed", line.seed),
            ("opening", line.opening),
            ("task", line.own_task),
            ("telling", line.telling or ""),
            ("wording", line.wording),
        ]
        told = [one for key, text in line.experiment for one in _described(key, text)]
        told += _moves(line)
        if line.own_stem:
            told.append(f"words: {_paragraphs(line.own_stem)}")
        return [*told, *(f"{key}: {quoted(text)}" for key, text in own if text), *_drawn(line)]
    held = (
        ("kind", line.kind),
        ("topic", line.topic),
        ("asked", line.asked),
        ("scene", line.scene),
        ("level", line.level),
        ("part", line.part),
        ("equation", line.equation),
        ("indicator", line.indicator),
        ("readings", line.readings),
        ("telling", line.telling or ""),
        ("seed", line.seed),
        ("wording", line.wording),
    )
    told = [f"{key}: {quoted(text)}" for key, text in held if text]
    if line.roles:
        told.insert(1, f"roles: {mapped(line.roles)}")
    if line.numbers:
        told += ["numbers:", *_numbers(line.numbers, "  ")]
    return [*told, *_drawn(line)]


def _moves(line: OrderLine) -> list[str]:
    """Which numbers of an experiment may move, each on a line of its own, and which versions have them as they are written."""
    if not line.moving:
        return [] if line.moving is None else ["moves: no"]
    written = [f"as written: {listed(line.as_written)}"] if line.as_written else []
    if not line.moves:
        return ["moves: yes", *written]
    return ["moves:", *(f"  {quoted(name)}: {_bare(how)}" for name, how in line.moves), *written]


def _bare(how: str) -> str:
    """How far a number moves: a list is as it is written, and so is that it stays."""
    return how if how == "no" or how.startswith("[") else quoted(how)


def _described(key: str, text: str) -> Iterator[str]:
    """A key of a described experiment: a procedure operation by operation, anything else on one line."""
    tree = parse_tree(text, "order")
    if key != "procedure" or not isinstance(tree, Listing):
        yield f"{quoted(key)}: {text}"
        return
    yield f"{key}:"
    for member in tree.members:
        told = flow_text(member)
        yield f"  - {told[1:-1] if isinstance(member, Keys) and len(member.members) == 1 else told}"


def _drawn(line: OrderLine) -> list[str]:
    """What was drawn for each version."""
    told = ["drawn:"] if line.drawn else []
    for version, numbers in line.drawn:
        told += [f"  {version}:", *_numbers(numbers, "    ")]
    return told


def _paragraphs(text: str) -> str:
    """A text as it is; where it has several paragraphs, a list of them."""
    lines = text.split("\n")
    return quoted(text) if len(lines) == 1 else listed(lines)


def _numbers(numbers: Numbers, indent: str) -> Iterator[str]:
    return (f"{indent}{quoted(name)}: {quoted(text)}" for name, text in numbers)
