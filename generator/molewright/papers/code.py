"""Paper codes: what was ordered comes in, a short code to be typed by hand goes out, and back again.

The code holds the seed and every setting that changes a question, and two characters that prove it was typed rightly and
belongs to these banks. Its letters are those of RFC 4648's base 32 idea without I, L, O and U, which are misread by hand.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Sequence
from itertools import count

from molewright.chem.conventions import CONVENTIONS, UNIT_STYLES
from molewright.errors import Mistake, shortened
from molewright.order.choices import LEVEL_CHOICES
from molewright.order.order import DEFAULT_QUESTIONS, MOST_QUESTIONS, MOST_SEED, Order, Wanted
from molewright.order.order_text import write_order

LETTERS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
SEED_LETTERS = 5
CHECK_LETTERS = 2
PROOF_LETTERS = 10  # of a code that only proves which order a paper belongs to
MOST_CODE = 29  # letters and hyphens of a code that is typed by hand
DRAWS = 3  # raised when an order would give other questions though the banks are the same: how numbers are picked, what a kind asks
EARLIER = (
    ("0.2.0", 1, "886e6346"),
)  # version, its number of draws, its banks: codes that are known again in order to be refused
# An odd factor near the golden section of 32^5, which spreads seeds that follow each other, and the sum that keeps the codes of
# the first thousand from two leading noughts.
_TIMES, _PLUS = 20_737_779, 33_526_504
_MISREAD = str.maketrans("ILOU", "110V")


def write_code(order: Order, known: Sequence[str], fingerprint: str) -> str:
    """The code without its version: "7KQ2-M4XR". `known` are the archetypes of the banks in order."""
    settings = _settings(order, known)
    body = _digits(_mixed(order.seed), SEED_LETTERS) + (_digits(settings) if settings else "")
    body += _proof(body, fingerprint)
    return "-".join(body[at : at + 4] for at in range(0, len(body), 4))


def code_of(asked: Order, settled: Order, as_drawn: Order | None, known: Sequence[str], fingerprint: str) -> str:
    """The code of an order: one that makes its paper again where it is short enough, else one that only proves which order it is.

    `as_drawn` is what the settings alone would be drawn as: a settled order that is just that keeps the code of its settings.
    """
    plain = (
        asked
        if asked.short
        else asked.asked
        if as_drawn is not None and settled.bare.lines == as_drawn.bare.lines
        else None
    )
    code = write_code(plain, known, fingerprint) if plain is not None else ""
    return code if code and len(code) <= MOST_CODE else proof_code(settled, fingerprint)


def proof_code(settled: Order, fingerprint: str) -> str:
    """A code that tells one settled order from another and makes nothing again: its file does."""
    text = write_order(settled.bare, Wanted())
    for more in count():
        digest = int.from_bytes(hashlib.sha256(f"{DRAWS}/{fingerprint}/{more}/{text}".encode()).digest()[:8], "big")
        body = _digits(digest % len(LETTERS) ** PROOF_LETTERS, PROOF_LETTERS)
        check = _digits(_checksum(f"order/{body}"), CHECK_LETTERS)
        if check != _proof(body, fingerprint):  # nobody may take it for one that makes a paper again
            body += check
            return "-".join(body[at : at + 4] for at in range(0, len(body), 4))
    raise AssertionError("unreachable")


def is_proof(text: str) -> bool:
    """Whether a code without its version only proves which order a paper belongs to."""
    _, body = split_code(text)
    body, check = body[:-CHECK_LETTERS], body[-CHECK_LETTERS:]
    return len(body) == PROOF_LETTERS and check == _digits(_checksum(f"order/{body}"), CHECK_LETTERS)


def versioned(code: str, version: str) -> str:
    """The code as it stands on a page: the version first, "A-7KQ2-M4XR"."""
    return f"{version}-{code}" if version else code


def read_code(text: str, known: Sequence[str], fingerprint: str) -> tuple[Order, str]:
    """The order and the version ("" where none is typed). Raises Mistake for a code that is mistyped or of other banks."""
    version, body = split_code(text)
    if len(body) < SEED_LETTERS + CHECK_LETTERS or any(letter not in LETTERS for letter in body):
        raise Mistake(
            f"the paper code {shortened(text)} cannot be read", expected="a code as printed, such as A-7KQ2-M4XR"
        )
    body, proof = body[:-CHECK_LETTERS], body[-CHECK_LETTERS:]
    if proof != _proof(body, fingerprint):
        if is_proof(text):
            raise Mistake(
                f"the code {shortened(text)} belongs to an order that is too long to be typed by hand",
                expected="the order file that was written beside the paper, or its record",
                do="Run 'molewright paper' with that file.",
            )
        for made_by, draws, banks in EARLIER:
            if proof == _proof(body, banks, draws):
                raise Mistake(
                    f"the paper of the code {shortened(text)} was made by version {made_by} of molewright, an earlier one",
                    expected=f"a code of this version and these banks ({fingerprint})",
                    do="Mark it by the record that was written beside it; to print it again, install that version.",
                )
        raise Mistake(
            f"the paper code {shortened(text)} does not fit these banks",
            expected="a code typed as printed, and the banks that the paper was made with",
            do="Check each letter; name the entries of your own that were used (--entries); if the banks have changed since, "
            "use the record that was written beside the paper.",
        )
    return _order(_unmixed(_number(body[:SEED_LETTERS])), _number(body[SEED_LETTERS:]), known), version


def _mixed(seed: int) -> int:
    """The seed as it stands in a code: one to one, so that a small seed gives no row of noughts, which are miscounted by hand."""
    return (seed * _TIMES + _PLUS) % (MOST_SEED + 1)


def _unmixed(number: int) -> int:
    """The seed that a code was made from."""
    return (number - _PLUS) * pow(_TIMES, -1, MOST_SEED + 1) % (MOST_SEED + 1)


def split_code(text: str) -> tuple[str, str]:
    """The version in front of a code ("" where none is typed) and its letters, without what people add or misread."""
    plain = re.sub("[‐‑‒–—−]", "-", re.sub(r"\s+", "", text)).upper()
    first, _, rest = plain.partition("-")
    if rest and re.fullmatch(r"[A-Z]|[0-9]{2,3}|[0-9]{5}", first):
        return first, rest.replace("-", "").translate(_MISREAD)
    return "", plain.replace("-", "").translate(_MISREAD)


def _settings(order: Order, known: Sequence[str]) -> int:
    number = 0
    for key in reversed(order.archetypes):
        number = number * (len(known) + 1) + known.index(key) + 1
    number = number * len(UNIT_STYLES) + UNIT_STYLES.index(order.style)
    number = number * len(CONVENTIONS) + CONVENTIONS.index(order.masses)
    number = number * len(LEVEL_CHOICES) + LEVEL_CHOICES.index(order.level)
    return number * (MOST_QUESTIONS + 1) + (0 if order.count == DEFAULT_QUESTIONS else order.count)


def _order(seed: int, number: int, known: Sequence[str]) -> Order:
    number, count = divmod(number, MOST_QUESTIONS + 1)
    number, level = divmod(number, len(LEVEL_CHOICES))
    number, masses = divmod(number, len(CONVENTIONS))
    number, style = divmod(number, len(UNIT_STYLES))
    keys = []
    while number:
        number, index = divmod(number, len(known) + 1)
        if not index:
            raise Mistake("the paper code names an archetype that the banks do not hold")
        keys.append(known[index - 1])
    return Order(
        seed=seed,
        count=count or DEFAULT_QUESTIONS,
        level=LEVEL_CHOICES[level],
        masses=CONVENTIONS[masses],
        style=UNIT_STYLES[style],
        archetypes=tuple(keys),
    )


def _proof(body: str, fingerprint: str, draws: int = DRAWS) -> str:
    """Two letters that tell the body of a code, the banks and the way of drawing apart from others."""
    proved = f"{body}/{fingerprint}" if draws == 1 else f"{draws}/{body}/{fingerprint}"
    return _digits(_checksum(proved), CHECK_LETTERS)


def _checksum(text: str) -> int:
    digest = hashlib.sha256(text.encode()).digest()
    number: int = int.from_bytes(digest[:2], "big") % 32**CHECK_LETTERS
    return number


def _digits(number: int, least: int = 1) -> str:
    found = ""
    while number:
        number, digit = divmod(number, len(LETTERS))
        found = LETTERS[digit] + found
    return found.rjust(least, LETTERS[0])


def _number(text: str) -> int:
    number = 0
    for letter in text:
        number = number * len(LETTERS) + LETTERS.index(letter)
    return number
