"""The front of a paper as an order writes it comes in; a frozen value goes out, and back again as lines of the order.

front: cover
front:
  page: cover
  school: "Quernholm School: chemistry"
  fields: [name, candidate number, date]
  minutes: 60
  marks grid: yes
  instructions: [Answer all questions.]
  may use: [a calculator, the data sheet]
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from molewright.errors import Mistake, Where, nearest, shortened
from molewright.order.choices import FIELDS, FRONT_PAGES
from molewright.order.front import USUAL_FRONT, Front
from molewright.reading.fields import Fields
from molewright.reading.quoting import listed, quoted
from molewright.reading.yaml_text import Keys, Scalar, parse_tree

MOST_MINUTES = 300
MOST_INSTRUCTIONS = 12
MOST_LETTERS = 240  # of one instruction


def read_front(fields: Fields, usual: Front) -> tuple[Front, str]:
    """The front under the key 'front', and the title that it may name; what it leaves out is as in `usual`.

    Raises Mistake with the place of what is wrong.
    """
    branch = fields.branch("front")
    if isinstance(branch, Scalar):
        where = Where(branch.where.file, branch.where.line)
        branch = Keys({"page": branch}, {"page": where}, where)
    if not isinstance(branch, Keys):
        raise Mistake("no keys under 'front'", expected=f"'front: {' or '.join(FRONT_PAGES)}', or keys below it")
    told = Fields(branch, "front")
    made = Front(
        page=told.one_of("page", FRONT_PAGES, usual.page),
        school=told.name("school", usual.school),
        fields=_fields(told, usual),
        minutes=told.whole("minutes", usual.minutes, 1, MOST_MINUTES),
        grid=told.yes("marks grid") if told.has("marks grid") else usual.grid,
        instructions=_sentences(told, "instructions", usual.instructions),
        may_use=_sentences(told, "may use", usual.may_use),
    )
    title = told.name("title", "")
    told.finish()
    if title and fields.has("title"):
        raise Mistake("a title, and another at the head of the order", expected="one of them", where=told.at("title"))
    return made, title


def _fields(told: Fields, usual: Front) -> tuple[str, ...]:
    found = told.texts("fields", usual.fields)
    for word in found:
        if word not in FIELDS:
            raise Mistake(
                f"the field {shortened(word)}",
                expected=f"of: {', '.join(FIELDS)}",
                where=told.at("fields"),
                near=nearest(word, FIELDS),
            )
    return tuple(dict.fromkeys(found))


def _sentences(told: Fields, key: str, usual: tuple[str, ...]) -> tuple[str, ...]:
    found = told.texts(key, usual)
    if len(found) > MOST_INSTRUCTIONS:
        raise Mistake(
            f"{len(found)} entries under '{key}'", expected=f"at most {MOST_INSTRUCTIONS}", where=told.at(key)
        )
    for text in found:
        if len(text) > MOST_LETTERS:
            raise Mistake(
                f"{len(text)} letters in one of the '{key}'", expected=f"at most {MOST_LETTERS}", where=told.at(key)
            )
    return tuple(" ".join(text.split()) for text in found)


def typed_front(told: Mapping[str, str | Sequence[str]]) -> Front:
    """The front from what was typed under the keys of an order; what is empty is as usual. Raises Mistake as an order file does."""
    lines = [
        f"  {key}: {quoted(held) if isinstance(held, str) else listed(held)}" for key, held in told.items() if held
    ]
    try:
        return read_front(Fields(parse_tree("\n".join(["front:", *lines]), "what was typed")), USUAL_FRONT)[0]
    except Mistake as mistake:
        raise mistake.at(Where("the page", entry=mistake.where.entry if mistake.where else "")) from None


def write_front(front: Front) -> Iterator[str]:
    """The lines of a front in an order; none where it is as usual."""
    if front == USUAL_FRONT:
        return
    yield "front:"
    yield f"  page: {front.page}"
    if front.school:
        yield f"  school: {quoted(front.school)}"
    if front.fields != USUAL_FRONT.fields:
        yield f"  fields: {listed(front.fields)}"
    if front.minutes:
        yield f"  minutes: {front.minutes}"
    if front.grid is not None:
        yield f"  marks grid: {'yes' if front.grid else 'no'}"
    if front.instructions:
        yield f"  instructions: {listed(front.instructions)}"
    if front.may_use:
        yield f"  may use: {listed(front.may_use)}"
