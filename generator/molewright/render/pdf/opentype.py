"""The bytes of an OpenType font come in; kerning of pairs and single substitutions go out. Reads only, never writes.

Tables as in the OpenType specification 1.9, chapters GPOS and GSUB: pair adjustment (lookup type 2), single
substitution (type 1) and their extensions. Everything else in the tables is passed over.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Mapping
from struct import unpack_from

_PAIRS, _POSITION_EXTENSION = 2, 9
_SINGLE, _SUBSTITUTION_EXTENSION = 1, 7
_ADVANCE = 4  # the bit of a value format that says an advance width follows


def _numbers(font: bytes, place: int, count: int) -> tuple[int, ...]:
    return unpack_from(f">{count}H", font, place)


def _table(font: bytes, tag: bytes) -> int | None:
    for index in range(_numbers(font, 4, 1)[0]):
        name, _, start, _ = unpack_from(">4s3L", font, 12 + 16 * index)
        if name == tag:
            return int(start)
    return None


def _subtables(font: bytes, table: int, feature: str, kind: int, extension: int) -> Iterator[int]:
    """Where the subtables of one kind start that a feature uses, in lookup order."""
    _, _, _, features, lookups = _numbers(font, table, 5)
    wanted: set[int] = set()
    for index in range(_numbers(font, table + features, 1)[0]):
        tag, start = unpack_from(">4sH", font, table + features + 2 + 6 * index)
        if tag == feature.encode("ascii"):
            place = table + features + start
            wanted.update(_numbers(font, place + 4, _numbers(font, place + 2, 1)[0]))
    for index in sorted(wanted):
        lookup = table + lookups + _numbers(font, table + lookups + 2 + 2 * index, 1)[0]
        lookup_kind, _, count = _numbers(font, lookup, 3)
        for start in _numbers(font, lookup + 6, count):
            place = lookup + start
            if lookup_kind == extension:
                inner, further = unpack_from(">HL", font, place + 2)
                if inner == kind:
                    yield place + further
            elif lookup_kind == kind:
                yield place


def _covered(font: bytes, place: int) -> list[int]:
    """The glyphs of a coverage table in their order."""
    form, count = _numbers(font, place, 2)
    if form == 1:
        return list(_numbers(font, place + 4, count))
    covered: list[int] = []
    for index in range(count):
        first, last, _ = _numbers(font, place + 4 + 6 * index, 3)
        covered.extend(range(first, last + 1))
    return covered


def _classes(font: bytes, place: int, glyphs: Mapping[int, str]) -> dict[int, int]:
    """The class of each wanted glyph; 0 where the table names none."""
    form, first, count = _numbers(font, place, 3)
    if form == 1:
        given = _numbers(font, place + 6, count)
        return {glyph: given[glyph - first] if first <= glyph < first + count else 0 for glyph in glyphs}
    found = dict.fromkeys(glyphs, 0)
    ordered = sorted(glyphs)
    ranges = _numbers(font, place + 4, 3 * first)  # in the second form their count stands where the first glyph did
    for start, last, group in zip(ranges[::3], ranges[1::3], ranges[2::3], strict=True):
        for glyph in ordered[bisect_left(ordered, start) : bisect_right(ordered, last)]:
            found[glyph] = group
    return found


def kerning(font: bytes, letters: Mapping[int, str]) -> dict[str, int]:
    """Adjustments between two letters in font units, keyed by the pair; `letters` names the wanted glyphs."""
    table = _table(font, b"GPOS")
    pairs: dict[str, int] = {}
    if table is None:
        return pairs
    for place in _subtables(font, table, "kern", _PAIRS, _POSITION_EXTENSION):
        form, coverage, first_form, second_form = _numbers(font, place, 4)
        if not first_form & _ADVANCE:
            continue
        skip = (first_form & (_ADVANCE - 1)).bit_count()  # values that stand before the advance
        width = first_form.bit_count() + second_form.bit_count()
        firsts = _covered(font, place + coverage)
        if form == 1:
            _read_pairs(font, place, firsts, letters, (skip, width), pairs)
        else:
            _read_classes(font, place, set(firsts), letters, (skip, width), pairs)
    return {pair: value for pair, value in pairs.items() if value}


def _read_pairs(
    font: bytes,
    place: int,
    firsts: list[int],
    letters: Mapping[int, str],
    record: tuple[int, int],
    pairs: dict[str, int],
) -> None:
    skip, width = record
    starts = _numbers(font, place + 10, len(firsts))
    for first, start in zip(firsts, starts, strict=True):
        if first not in letters:
            continue
        for index in range(_numbers(font, place + start, 1)[0]):
            at = place + start + 2 + index * 2 * (1 + width)
            second = _numbers(font, at, 1)[0]
            if second in letters:
                pairs.setdefault(letters[first] + letters[second], unpack_from(">h", font, at + 2 + 2 * skip)[0])


def _read_classes(
    font: bytes,
    place: int,
    firsts: set[int],
    letters: Mapping[int, str],
    record: tuple[int, int],
    pairs: dict[str, int],
) -> None:
    skip, width = record
    first_start, second_start, _, second_count = _numbers(font, place + 8, 4)
    first_of = _classes(font, place + first_start, letters)
    second_of = _classes(font, place + second_start, letters)
    seconds = [(letters[second], other) for second, other in second_of.items()]
    for first, group in first_of.items():
        if first not in firsts:
            continue
        line = place + 16 + group * second_count * 2 * width
        values = unpack_from(f">{second_count * width}h", font, line)[skip::width]
        letter = letters[first]
        for second, other in seconds:  # the first subtable that covers the left glyph decides, even with nothing
            pairs.setdefault(letter + second, values[other])


def single_substitutions(font: bytes, feature: str) -> dict[int, int]:
    """Glyph for glyph of one feature ("tnum": figures of one width)."""
    table = _table(font, b"GSUB")
    found: dict[int, int] = {}
    if table is None:
        return found
    for place in _subtables(font, table, feature, _SINGLE, _SUBSTITUTION_EXTENSION):
        form, coverage, change = _numbers(font, place, 3)
        covered = _covered(font, place + coverage)
        if form == 1:
            found.update({glyph: (glyph + change) & 0xFFFF for glyph in covered})
        else:
            found.update(zip(covered, _numbers(font, place + 6, change), strict=True))
    return found
