"""The little algebra of the banks: "total - left / scale" comes in, a checked expression goes out. Nothing is evaluated as code.

Words, numbers, + - * / (also × ÷) and brackets, root(...), log(...) and ten(...), which is ten to minus what is in it; every word must
be one that the reader knows.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Hashable, Mapping
from fractions import Fraction
from functools import reduce
from operator import add, mul, sub, truediv
from typing import Any, TypeAlias

from molewright.chem.powers import minus_log, root, ten_to_minus
from molewright.errors import Mistake, nearest, shortened

Tree: TypeAlias = tuple[Any, ...]
"""("word", key), ("number", x), ("+" or "*", parts ...), ("-" or "/", left, right), ("^", part, whole power); or what is kept to
30 figures: ("root", part, 2), ("minus log", part) and ("ten to minus", part)."""
ROOT, MINUS_LOG, TEN_TO_MINUS = "root", "minus log", "ten to minus"

MOST_CHARACTERS = 200
_TOKEN = re.compile(r"\s*(?:(?P<number>[0-9]+(?:\.[0-9]+)?)|(?P<word>[A-Za-z_]+)|(?P<sign>[-+*/()×÷−]))")
_SIGNS = str.maketrans("×÷−", "*/-")
_BENT = {MINUS_LOG: minus_log, TEN_TO_MINUS: ten_to_minus}
_CALLS: dict[str, Callable[[Tree], Tree]] = {
    "root": lambda tree: (ROOT, tree, 2),
    "ten": lambda tree: (TEN_TO_MINUS, tree),
    "log": lambda tree: ("-", ("number", 0), (MINUS_LOG, tree)),
}
_OPERATORS = {"+": add, "-": sub, "*": mul, "/": truediv}


def parse_algebra(text: str, words: Collection[str]) -> Tree:
    """The tree of an expression. Raises Mistake for an unknown word or anything that is not plain algebra."""
    if len(text) > MOST_CHARACTERS:
        raise Mistake(f"an expression of {len(text)} characters", expected=f"at most {MOST_CHARACTERS}")
    return _Reader(text, words).whole()


def words_of(tree: Tree) -> set[Any]:
    """The words in an expression, or what they are spelt as."""
    if tree[0] == "word":
        return {tree[1]}
    if tree[0] == "number":
        return set()
    return {word for part in tree[1:] if isinstance(part, tuple) for word in words_of(part)}


def renamed(tree: Tree, spelt: Callable[[Any], Hashable]) -> Tree:
    """The expression with every word spelt as the values are keyed."""
    if tree[0] == "word":
        return ("word", spelt(tree[1]))
    if tree[0] == "number":
        return tree
    return (tree[0], *(renamed(part, spelt) if isinstance(part, tuple) else part for part in tree[1:]))


def compiled(tree: Tree) -> Callable[[Mapping[Any, Any]], Any]:
    """A function of the words' values, floats or fractions, keyed as they are spelt. Raises ZeroDivisionError as they do."""
    head = tree[0]
    if head == "word":
        key = tree[1]
        return lambda values: values[key]
    if head == "number":
        number = tree[1]
        return lambda values: number
    if head == "^":
        base, power = compiled(tree[1]), tree[2]
        return lambda values: base(values) ** power
    if head == ROOT:
        inside, degree = compiled(tree[1]), tree[2]
        return lambda values: root(inside(values), degree)
    if head in _BENT:
        bend, of = _BENT[head], compiled(tree[1])
        return lambda values: bend(of(values))
    sign = _OPERATORS[head]
    first, *others = (compiled(part) for part in tree[1:])
    if len(others) == 1:  # as nearly all: spared a generator, a sign costs a third
        (second,) = others
        return _two(sign, tree[1], tree[2]) or (lambda values: sign(first(values), second(values)))
    return lambda values: reduce(sign, (part(values) for part in others), first(values))


def _two(sign: Callable[[Any, Any], Any], one: Tree, other: Tree) -> Callable[[Mapping[Any, Any]], Any] | None:
    """A sign between two words, or a word and a number: looked up on the spot, which costs half. None for anything else."""
    match one, other:
        case ("word", left), ("word", right):
            return lambda values: sign(values[left], values[right])
        case ("word", left), ("number", right):
            return lambda values: sign(values[left], right)
        case ("number", left), ("word", right):
            return lambda values: sign(left, values[right])
        case _:
            return None


class _Reader:
    def __init__(self, text: str, words: Collection[str]) -> None:
        self.text = text
        self.words = words
        self.tokens: list[str] = []
        at = 0
        while at < len(text.rstrip()):
            match = _TOKEN.match(text, at)
            if match is None:
                raise Mistake(
                    f"{shortened(text[at:])} in the expression {shortened(text)}",
                    expected="words, numbers, + - * / and brackets",
                )
            self.tokens.append(match[0].strip().translate(_SIGNS))
            at = match.end()
        self.at = 0

    def whole(self) -> Tree:
        tree = self.sum(0)
        if self.at < len(self.tokens):
            raise self.unexpected()
        return tree

    def peek(self) -> str:
        return self.tokens[self.at] if self.at < len(self.tokens) else ""

    def sum(self, depth: int) -> Tree:
        tree = self.product(depth)
        while self.peek() in ("+", "-"):
            sign = self.take()
            tree = (sign, tree, self.product(depth))
        return tree

    def product(self, depth: int) -> Tree:
        tree = self.single(depth)
        while self.peek() in ("*", "/"):
            sign = self.take()
            tree = (sign, tree, self.single(depth))
        return tree

    def single(self, depth: int) -> Tree:
        token = self.take()
        if token == "(" and depth < 20:
            tree = self.sum(depth + 1)
            if self.take() != ")":
                raise Mistake(f"a bracket is not closed in {shortened(self.text)}")
            return tree
        if token[:1].isdigit():
            return ("number", int(token) if token.isdigit() else Fraction(token))
        if not token[:1].isalpha():
            self.at -= 1
            raise self.unexpected()
        if token in _CALLS and self.peek() == "(" and depth < 20:
            return _CALLS[token](self.single(depth + 1))
        if token not in self.words:
            raise Mistake(
                f"the word '{token}' in {shortened(self.text)}",
                expected=f"one of: {', '.join(sorted(self.words))}",
                near=nearest(token, self.words),
            )
        return ("word", token)

    def take(self) -> str:
        token = self.peek()
        self.at += 1
        return token

    def unexpected(self) -> Mistake:
        return Mistake(
            f"'{self.peek() or 'the end'}' in {shortened(self.text)}", expected="a word, a number or a bracket"
        )
