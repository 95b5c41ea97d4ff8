"""Typed access to one entry of a bank: text out of the tree, each fault with its line, keys nobody asked for refused."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Iterable
from decimal import Decimal, InvalidOperation
from typing import NoReturn, TypeVar

from molewright.chem.quantity import MOST_POWER, Quantity, parse_quantity
from molewright.errors import Mistake, Mistakes, Where, nearest, raise_all, shortened
from molewright.reading.yaml_text import Branch, Keys, Listing, Scalar

T = TypeVar("T")
Given = TypeVar("Given")
Word = TypeVar("Word", bound=str)
MOST_TEXT = 4000
MOST_NAME = 100  # characters of whatever names something: a name, a title, a noun, a sample
MOST_KEY = 60
STANDS_IN = "x"  # for a text that is wrong, so that the next keys are looked at
_KEY = re.compile(r"[a-z0-9][a-z0-9-]*")
MOST_FAULTS = 60  # told of one reading: who mends these reads again
_UNPRINTED = frozenset({"Cc", "Cf", "Cs", "Co", "Cn"})  # control and direction characters among them


class Faults:
    """Gathers mistakes so that a file is mended once; `raise_if_any` tells them together."""

    def __init__(self) -> None:
        self.found: list[Mistake] = []

    def attempt(self, where: Where, make: Callable[[], T]) -> T | None:
        """What `make` makes, or None with its mistake kept."""
        try:
            return make()
        except Mistakes as several:
            self.found += [mistake.at(where) for mistake in several.each]
        except Mistake as mistake:
            self.found.append(mistake.at(where))
        if len(self.found) >= MOST_FAULTS:
            raise Mistakes(self.found)
        return None

    def raise_if_any(self) -> None:
        """Raise what was gathered, in one."""
        if len(self.found) == 1:
            raise self.found[0]
        if self.found:
            raise Mistakes(self.found)


def text_of(branch: Branch) -> str:
    """The text of a scalar."""
    if not isinstance(branch, Scalar):
        kind = "a list" if isinstance(branch, Listing) else "keys"
        raise Mistake(f"{kind} where a text belongs", expected="one text", where=branch.where)
    if len(branch.text) > MOST_TEXT:
        raise Mistake(f"a text of {len(branch.text)} characters", expected=f"at most {MOST_TEXT}", where=branch.where)
    text = " ".join(branch.text.split())
    for letter in "" if text.isprintable() else text:
        if unicodedata.category(letter) in _UNPRINTED:
            raise Mistake(
                f"the character U+{ord(letter):04X} in {shortened(text)} cannot be printed",
                expected="letters, digits and ordinary signs",
                where=branch.where,
            )
    return text


def texts_of(branch: Branch) -> tuple[str, ...]:
    """The texts of a list; one text alone is a list of one."""
    if isinstance(branch, Listing):
        return tuple(text_of(member) for member in branch.members)
    return (text_of(branch),)


def _filled(branch: Branch) -> str:
    text = text_of(branch)
    if not text:
        raise Mistake("an empty text", expected="some words, or the key left out")
    return text


def filled_texts_of(branch: Branch) -> tuple[str, ...]:
    """The texts of a list that has some, none of them empty; one text alone is a list of one."""
    if isinstance(branch, Listing):
        if not branch.members:
            raise Mistake("an empty list", expected="at least one text, or the key left out")
        return tuple(_filled(member) for member in branch.members)
    return (_filled(branch),)


def counted(text: str, formula: Callable[[str], str]) -> tuple[int, str]:
    """A count and a formula from "2 Cl^-"; one of it where no count is written. `formula` reads the formula."""
    count, _, rest = text.partition(" ")
    if not (count.isdecimal() and rest):
        return 1, formula(text)
    if len(count) > 3 or not int(count):
        raise Mistake(f"the number in {shortened(text)}", expected="a whole number, 1 to 999, as '2 Cl^-'")
    return int(count), formula(rest)


class Fields:
    """The keys of one entry. Ask for each; `finish` refuses the rest with the nearest known key.

    With `gathers` a key that is wrong is kept in `wrong` and something stands in for what it holds, so that the next keys are looked at
    too: `made` raises all of them, and nothing that rests on a stand-in leaves it.
    """

    def __init__(self, branch: Branch, entry: str = "", gathers: bool = False) -> None:
        if not isinstance(branch, Keys):
            raise Mistake("no keys here", expected="lines of 'key: text'", where=branch.where.under(entry))
        self.tree = branch
        self.entry = entry
        self.wrong: list[Mistake] = []
        self._gathers = gathers
        self._asked: set[str] = set()

    def made(self, make: Callable[[Fields], T]) -> T:
        """What `make` makes of the keys, all of which it asks for. Raises Mistake, or several at once, for those that are wrong."""
        made: T | None = None
        try:
            made = make(self)
            self.finish()
        except Exception:
            if not self.wrong:  # else it may come of what stands in
                raise
        raise_all(sorted(self.wrong, key=lambda mistake: (mistake.where and mistake.where.line) or 0))
        assert made is not None
        return made

    def _or(self, stands_in: T, read: Callable[[], T]) -> T:
        """What is read, or where that is wrong and gathered what stands in for it."""
        try:
            return read()
        except Mistakes:
            raise
        except Mistake as mistake:
            if not self._gathers:
                raise
            self.wrong.append(mistake)
            return stands_in

    @property
    def where(self) -> Where:
        """The place of the entry."""
        return self.tree.where.under(self.entry) if self.entry else self.tree.where

    def at(self, key: str) -> Where:
        """The place of a key, or of the entry where it is missing."""
        here = self.tree.wheres.get(key, self.tree.where)
        return here.under(f"{self.entry}, {key}" if self.entry else key)

    def has(self, key: str) -> bool:
        """Whether the key is written."""
        self._asked.add(key)
        return key in self.tree.members

    def require(self, *keys: str) -> None:
        """Raise Mistake for those of some keys that are missing, all at once."""
        raise_all([self._missing(key) for key in keys if key not in self.tree.members])

    def _missing(self, key: str) -> Mistake:
        near = nearest(key, self.tree.members)
        return Mistake(f"the key '{key}' is missing", expected=f"'{key}: ...'", where=self.where, near=near)

    def branch(self, key: str) -> Branch:
        """What the key holds. Raises Mistake where it is missing."""
        if not self.has(key):
            raise self._missing(key)
        return self.tree.members[key]

    def _placed(self, key: str, make: Callable[[Branch], T]) -> T:
        branch = self.branch(key)
        try:
            return make(branch)
        except Mistake as mistake:
            raise mistake.at(self.at(key)) from None

    def text(self, key: str, default: str | None = None) -> str:
        """A text; where the key is written it holds something."""
        if default is not None and not self.has(key):
            return default
        return self._or(STANDS_IN, lambda: self._placed(key, _filled))

    def also(self, look: Callable[[], object]) -> None:
        """Look at something besides, where faults are gathered: those of it are kept with the others."""
        try:
            look()
        except Mistakes as several:
            self.wrong += several.each
        except Mistake as mistake:
            self.wrong.append(mistake)

    def read(self, key: str, make: Callable[[str], T], stands_in: T) -> T:
        """What is made of a text, such as a formula; a fault of it is told at the key."""
        return self._or(stands_in, lambda: self._placed(key, lambda branch: make(_filled(branch))))

    def name(self, key: str, default: str | None = None) -> str:
        """A text that names something: a name, a title, a noun, a sample."""
        found = self.text(key, default)
        if len(found) > MOST_NAME:
            fault = Mistake(
                f"the {key} has {len(found)} characters", expected=f"at most {MOST_NAME}", where=self.at(key)
            )
            return self._or(STANDS_IN, lambda: _refuse(fault))
        return found

    def key(self, key: str) -> str:
        """A word by which an entry is called: from the command line too, and in the names of files."""
        found = self.text(key)
        if not _KEY.fullmatch(found) or len(found) > MOST_KEY:
            fault = Mistake(
                f"the {key} {shortened(found)}",
                expected=f"one word of small letters, digits and hyphens, at most {MOST_KEY}, that begins with no hyphen",
                where=self.at(key),
            )
            return self._or(STANDS_IN, lambda: _refuse(fault))
        return found

    def texts(self, key: str, default: tuple[str, ...] | None = None) -> tuple[str, ...]:
        """A list of texts, none of them empty."""
        if default is not None and not self.has(key):
            return default
        return self._or((STANDS_IN,), lambda: self._placed(key, filled_texts_of))

    def quantity(self, key: str) -> Quantity:
        """A number with its unit."""
        return self._placed(key, lambda branch: parse_quantity(text_of(branch)))

    def decimal(self, key: str, default: Decimal | None = None) -> Decimal:
        """A bare number."""
        if default is not None and not self.has(key):
            return default
        return self._or(Decimal(1), lambda: self._placed(key, _decimal))

    def whole(self, key: str, default: int | None = None, least: int = -(10**6), most: int = 10**6) -> int:
        """A whole number within its bounds."""
        if default is not None and not self.has(key):
            return default

        def read(branch: Branch) -> int:
            number = _decimal(branch)
            if number != number.to_integral_value() or abs(number) > max(10**6, most):
                raise Mistake(f"{number} is not a small whole number")
            if not least <= number <= most:
                raise Mistake(f"{number} for {key}", expected=f"{least} to {most}")
            return int(number)

        return self._or(max(least, min(1, most)), lambda: self._placed(key, read))

    def yes(self, key: str, default: bool = False) -> bool:
        """yes or no."""
        if not self.has(key):
            return default

        def read(branch: Branch) -> bool:
            text = _filled(branch)
            if text not in ("yes", "no"):
                raise Mistake(f"{shortened(text)} for {key}", expected="yes or no")
            return text == "yes"

        return self._or(default, lambda: self._placed(key, read))

    def one_of(self, key: str, choices: Iterable[Word], default: Word | None = None) -> Word:
        """One of a few words."""
        if default is not None and not self.has(key):
            return default
        known = tuple(choices)

        def read(branch: Branch) -> Word:
            if not isinstance(branch, Scalar):
                kind = "a list" if isinstance(branch, Listing) else "keys"
                raise Mistake(f"{kind} under '{key}'", expected=f"one of: {', '.join(known)}")
            text = _filled(branch)
            found = next((word for word in known if word == text), None)
            if found is None:
                raise Mistake(
                    f"{shortened(text)} is not a known {key}",
                    expected=f"one of: {', '.join(known)}",
                    near=nearest(text, known),
                )
            return found

        return self._or(known[0], lambda: self._placed(key, read))

    def finish(self) -> None:
        """Refuse keys that nobody asked for, all at once."""
        faults = [
            Mistake(
                f"the key {shortened(key)} is not known here",
                where=self.at(key),
                expected=f"one of: {', '.join(sorted(self._asked))}",
                near=nearest(key, self._asked),
            )
            for key in self.tree.members
            if key not in self._asked
        ]
        if self._gathers:
            self.wrong += faults
        else:
            raise_all(faults)


def gathered(make: Callable[[Given], T], these: Iterable[Given], where: Callable[[Given], Where]) -> tuple[T, ...]:
    """What is made of each of these, which stand somewhere. Raises Mistake, or several at once, for those that are wrong.

    What is wrong with a thing that several share is told once.
    """
    made: list[T] = []
    wrong: dict[str, Mistake] = {}
    for one in these:
        try:
            made.append(make(one))
        except Mistakes as several:
            wrong |= {str(mistake): mistake for mistake in several.each}
        except Mistake as mistake:
            told = str(mistake)
            wrong.setdefault(told, mistake.at(where(one)))
    raise_all(list(wrong.values()))
    return tuple(made)


def _refuse(fault: Mistake) -> NoReturn:
    raise fault


def _decimal(branch: Branch) -> Decimal:
    text = text_of(branch)
    try:
        number = Decimal(text.replace("_", "?"))  # an underscore is no digit to a reader
    except InvalidOperation:
        raise Mistake(f"{shortened(text)} is not a number", expected="a number as 6.35") from None
    if not number.is_finite() or abs(number.adjusted()) > MOST_POWER:
        raise Mistake(f"{shortened(text)} is not an ordinary number", expected="a number as 6.35")
    return number
