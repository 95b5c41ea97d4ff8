"""Formulae: text as a person types it comes in; atoms, charge and one tree go out.

Never balances, never weighs and never guesses: a text with two readings (Fe2+) is refused, not interpreted.
"""

from __future__ import annotations

import re
from functools import lru_cache

from molewright.chem.formula_tree import (
    CLOSING,
    PLAIN,
    Atom,
    Formula,
    Group,
    Piece,
    Section,
    charge_text,
    write_sections,
)
from molewright.errors import Mistake, nearest, shortened

# IUPAC Periodic Table of the Elements, 4 May 2022: held here so that reading a formula needs no library.
ELEMENTS: tuple[str, ...] = tuple(
    re.findall(
        "[A-Z][a-z]?",
        "HHeLiBeBCNOFNeNaMgAlSiPSClArKCaScTiVCrMnFeCoNiCuZnGaGeAsSeBrKrRbSrYZrNbMoTcRuRhPdAgCdInSnSbTeIXe"
        "CsBaLaCePrNdPmSmEuGdTbDyHoErTmYbLuHfTaWReOsIrPtAuHgTlPbBiPoAtRn"
        "FrRaAcThPaUNpPuAmCmBkCfEsFmMdNoLrRfDbSgBhHsMtDsRgCnNhFlMcLvTsOg",
    )
)
_ELEMENTS = frozenset(ELEMENTS)
PRIME = "\N{PRIME}"
PLACEHOLDERS: frozenset[str] = frozenset({"M", "X", "A", "R", f"R{PRIME}", "Y", "Z"})  # for an unknown element or group

MOST_CHARACTERS = 80
MOST_COUNT = 999

_ONE_FOR_ONE = str.maketrans("₀₁₂₃₄₅₆₇₈₉·•∙⋅*−–'’", f"0123456789.....--{PRIME}{PRIME}")
_RAISED = re.compile("[⁰¹²³⁴⁵⁶⁷⁸⁹⁺⁻]+")
_FROM_RAISED = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹⁺⁻", "0123456789+-")
_CHARGE = re.compile(r"(?P<raised>\^)?(?P<size>(?<=\^)[0-9]{1,3})?(?P<sign>[+-])$")
_TOKEN = re.compile(
    rf"(?P<symbol>[A-Z][a-z]?{PRIME}?)|(?P<count>[0-9]+)|(?P<bracket>[()\[\]])|(?P<dot> *\. *)|(?P<other>.)", re.S
)


@lru_cache(maxsize=4096)
def parse_formula(text: str, placeholders: frozenset[str] = frozenset()) -> Formula:
    """Read "Na2CO3.10H2O", "SO4^2-", "CO₃²⁻" or "e-". Raises Mistake with the place of the first fault."""
    if strange := placeholders - PLACEHOLDERS:
        raise Mistake(
            f"{', '.join(sorted(strange))} cannot stand for an unknown element or group",
            expected=f"one of {', '.join(sorted(PLACEHOLDERS))}",
        )
    plain = text.strip()
    if not plain:
        raise Mistake("the formula is empty", expected="a formula such as CaCO3")
    if len(plain) > MOST_CHARACTERS:
        raise Mistake(
            f"the formula {shortened(plain, 30)} has {len(plain)} characters", expected=f"at most {MOST_CHARACTERS}"
        )
    lowered = plain.translate(_ONE_FOR_ONE)  # character for character, so that places in messages hold
    lowered = _RAISED.sub(lambda run: "^" + run[0].translate(_FROM_RAISED), lowered)
    body, charge = _split_charge(lowered)
    if body == "e" and charge == -1:
        return Formula(text="e-", atoms=(), charge=-1, groups=())
    sections = _Reader(plain, body, placeholders).sections()
    counts: dict[str, int] = {}
    for section in sections:
        if section.count is not None:
            _add_atoms(section.pieces, section.count, counts)
    hydrate = [section for section in sections[1:] if section.is_water]
    return Formula(
        text=_spelling(sections, charge),
        atoms=tuple(counts.items()),
        charge=charge,
        groups=sections,
        water=sum(section.count or 0 for section in hydrate),
        unknown_water=any(section.count is None for section in hydrate),
        placeholders=placeholders.intersection(counts),
    )


def _split_charge(text: str) -> tuple[str, int]:
    match = _CHARGE.search(text)
    body = text[: match.start()] if match else text
    if "^" in body:
        raise Mistake(f"the charge in {shortened(text)} cannot be read", expected="a charge such as ^2- or ^+")
    if match is None:
        return text, 0
    sign = match["sign"]
    if match["raised"] is None and _two_readings(body):
        charge = body[-1] + sign
        raise Mistake(
            f"{shortened(text)} can be read in two ways",
            expected="^ before a charge",
            do=f"Write {body[:-1]}^{charge} for a charge of {charge}, or {body}^{sign} for a charge of 1{sign}.",
        )
    size_text = match["size"] or "1"
    if size_text.startswith("0") or len(size_text) > 2:
        raise Mistake(f"the charge in {shortened(text)} is {size_text}{sign}", expected="a charge from 1 to 99")
    return body, int(sign + size_text)


def _two_readings(body: str) -> bool:
    """Whether a bare sign after this would leave open which figure is the charge: Fe2+, SO42-, H2Y2-."""
    if body == "I3":  # triiodide: iodine has no ion of charge 3-
        return False
    match = re.search(r"(?P<symbol>[A-Z][a-z]?)?(?P<digits>[0-9]+)$", body)
    if match is None:
        return False
    return len(match["digits"]) > 1 or match["symbol"] in PLACEHOLDERS or match.start() == 0


class _Reader:
    """One walk over the tokens of a formula without its charge."""

    def __init__(self, whole: str, body: str, placeholders: frozenset[str]) -> None:
        self.whole = whole
        self.tokens = [(match.lastgroup or "", match[0], match.start()) for match in _TOKEN.finditer(body)]
        self.tokens.append(("end", "", len(body)))
        self.next = 0
        self.placeholders = placeholders

    def sections(self) -> tuple[Section, ...]:
        if self.tokens[0][0] == "count":
            raise self.mistake("starts with a number", do="Write the coefficient in the equation, not in the formula.")
        found = [Section(self.pieces(""))]
        while self.tokens[self.next][0] == "dot":
            self.next += 1
            count: int | None
            if self.tokens[self.next][1] == "x":
                count, self.next = None, self.next + 1
            else:
                count = self.count()
            started = self.tokens[self.next][2]
            section = Section(self.pieces(""), count)
            if count is None and not section.is_water:
                raise self.mistake("has x before something that is not H2O", at=started, expected="xH2O after the dot")
            found.append(section)
        return tuple(found)

    def pieces(self, opening: str) -> tuple[Piece, ...]:
        """Everything up to the bracket that closes `opening`, or up to a dot or the end where nothing is open."""
        started = self.tokens[self.next - 1][2] if opening else 0
        found: list[Piece] = []
        while True:
            kind, token, _ = self.tokens[self.next]
            if kind == "symbol":
                self.require_known(token, found)
                self.next += 1
                found.append(Atom(token, self.count()))
            elif kind == "bracket" and token in CLOSING:
                self.next += 1
                inside = self.pieces(token)
                found.append(Group(inside, self.count(), token))
            elif kind == "bracket" and opening:
                if token != CLOSING[opening]:
                    raise self.mistake(f"has {token} where {CLOSING[opening]} must close the bracket")
                break
            elif kind in ("dot", "end") and opening:
                raise self.mistake(f"has a bracket {opening} that is never closed", at=started)
            elif kind in ("dot", "end"):
                break
            else:
                raise self.unexpected(token)
        if not found:
            raise self.mistake("has nothing where a symbol must stand", expected="an element symbol")
        if opening:
            self.next += 1
        return tuple(found)

    def count(self) -> int:
        kind, token, _ = self.tokens[self.next]
        if kind != "count":
            return 1
        if token.startswith("0") or len(token) > len(str(MOST_COUNT)):
            raise self.mistake(f"has the count {shortened(token, 12)}", expected=f"a whole number, 1 to {MOST_COUNT}")
        self.next += 1
        return int(token)

    def require_known(self, symbol: str, before: list[Piece]) -> None:
        if symbol in self.placeholders or symbol in _ELEMENTS:
            return
        near = list(nearest(symbol, ELEMENTS))
        last = before[-1] if before else None
        if isinstance(last, Atom) and (meant := last.symbol + symbol.lower()) in _ELEMENTS:
            near.insert(0, meant)  # NaCL
        do = f"{symbol} may stand for an unknown only where it is named as one." if symbol in PLACEHOLDERS else ""
        raise self.mistake(f"has the unknown element '{symbol}'", expected="the symbol of an element", do=do, near=near)

    def unexpected(self, token: str) -> Mistake:
        if token in ("+", "-"):
            return self.mistake(
                f"has {token} in the middle",
                expected="a charge at the end only",
                do="In an equation, put a space on each side of a + between two substances.",
            )
        if len(token) == 1 and token.isascii() and token.islower():
            return self.mistake(
                f"has the small letter '{token}' where a symbol must start",
                expected="a capital letter",
                near=nearest(token, self.placeholders | _ELEMENTS),
            )
        return self.mistake(f"has {shortened(token)}", expected="symbols, whole numbers, brackets, a dot and a charge")

    def mistake(
        self,
        fault: str,
        *,
        at: int | None = None,
        expected: str = "",
        do: str = "",
        near: list[str] | tuple[str, ...] = (),
    ) -> Mistake:
        place = (self.tokens[self.next][2] if at is None else at) + 1
        found = f"the formula {shortened(self.whole, MOST_CHARACTERS)} {fault} (at character {place})"
        return Mistake(found, expected=expected, do=do, near=tuple(dict.fromkeys(near)))


def _add_atoms(pieces: tuple[Piece, ...], times: int, counts: dict[str, int]) -> None:
    for piece in pieces:
        if isinstance(piece, Atom):
            counts[piece.symbol] = counts.get(piece.symbol, 0) + piece.count * times
        else:
            _add_atoms(piece.pieces, piece.count * times, counts)


def _spelling(sections: tuple[Section, ...], charge: int) -> str:
    body = write_sections(sections, PLAIN)
    if not charge:
        return body
    sized = charge_text(charge)
    return body + (sized if len(sized) == 1 and not _two_readings(body) else "^" + sized)
