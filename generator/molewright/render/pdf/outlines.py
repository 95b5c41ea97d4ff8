"""A subset of a TrueType face comes in; the same outlines go out without what no reader of a PDF looks at. Draws nothing.

ISO 32000-1, 9.9: an embedded TrueType program needs glyf, head, hhea, hmtx, loca, maxp and, in a face of symbols, cmap. Left out are
names, the metrics of another system, and the instructions for screens of few dots (cvt, fpgm, prep and those inside glyf): a fifth of
the bytes. Table names are those of the OpenType specification.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator, Sequence
from itertools import pairwise

_KEPT = ("cmap", "glyf", "head", "hhea", "hmtx", "loca", "maxp")
_WORDS, _SCALE, _MORE, _TWO_SCALES, _MATRIX, _INSTRUCTED = (
    0x1,
    0x8,
    0x20,
    0x40,
    0x80,
    0x100,
)  # flags of a part of a glyph
_WHOLE_SUM = 0xB1B0AFBA


def lean(program: bytes, characters: Sequence[int] = ()) -> bytes:
    """The program with the tables that are needed, and glyphs without instructions.

    It finds its glyphs by the codes of a face of symbols, or, where the `characters` of all codes are given, by characters; the end
    of a line is a space then.
    """
    tables = dict(_tables(program))
    if characters:
        tables["cmap"] = _by_character(tables["cmap"], characters)
    wide = tables["head"][51] == 1  # loca in 4 bytes; otherwise in 2, as halves
    places = struct.unpack(f">{len(tables['loca']) // (4 if wide else 2)}{'I' if wide else 'H'}", tables["loca"])
    at = [place if wide else 2 * place for place in places]
    glyphs = [_uninstructed(tables["glyf"][start:end]) for start, end in pairwise(at)]
    moved = [0]
    for glyph in glyphs:
        moved.append(moved[-1] + len(glyph))
    tables["glyf"] = b"".join(glyphs)
    tables["loca"] = struct.pack(f">{len(moved)}I", *moved)
    tables["head"] = tables["head"][:8] + bytes(4) + tables["head"][12:50] + b"\0\1" + tables["head"][52:]
    tables["maxp"] = tables["maxp"][:26] + bytes(2) + tables["maxp"][28:]  # no instructions in any glyph
    return _program({name: tables[name] for name in _KEPT})


def _by_character(cmap: bytes, characters: Sequence[int]) -> bytes:
    """A table for Unicode (platform 3, encoding 1, format 4) out of one for codes (format 6), one segment a character."""
    _, count = struct.unpack_from(">HH", cmap, 18)
    glyphs = dict(zip(characters, struct.unpack_from(f">{count}H", cmap, 22), strict=True))
    glyphs[0x0A] = glyphs[0x0D] = glyphs[0x20]
    found = sorted((character, glyph) for character, glyph in glyphs.items() if character and glyph)
    ends = [*(character for character, _ in found), 0xFFFF]
    deltas = [*((glyph - character) & 0xFFFF for character, glyph in found), 1]
    segments = len(ends)
    power = 1 << (segments.bit_length() - 1)
    head = (2 * segments, 2 * power, power.bit_length() - 1, 2 * (segments - power))
    body = struct.pack(
        f">4H{segments}HH{segments}H{segments}H{segments}H", *head, *ends, 0, *ends, *deltas, *[0] * segments
    )
    return struct.pack(">HHHHIHHH", 0, 1, 3, 1, 12, 4, len(body) + 6, 0) + body


def _tables(program: bytes) -> Iterator[tuple[str, bytes]]:
    (count,) = struct.unpack(">H", program[4:6])
    for number in range(count):
        name, _, start, length = struct.unpack_from(">4sIII", program, 12 + 16 * number)
        yield name.decode("latin-1"), program[start : start + length]


def _uninstructed(glyph: bytes) -> bytes:
    """A glyph of the table glyf, its length even."""
    if not glyph:
        return b""
    (contours,) = struct.unpack(">h", glyph[:2])
    if contours >= 0:
        at = 10 + 2 * contours
        (length,) = struct.unpack(">H", glyph[at : at + 2])
        made = glyph[:at] + b"\0\0" + glyph[at + 2 + length :]
    else:
        made = _parts(glyph)
    return made + bytes(len(made) % 2)


def _parts(glyph: bytes) -> bytes:
    """A glyph that is put together from others: flags, glyph and place of each."""
    made, at, flags = bytearray(glyph), 10, _MORE
    while flags & _MORE:
        (flags,) = struct.unpack(">H", made[at : at + 2])
        made[at : at + 2] = struct.pack(">H", flags & ~_INSTRUCTED)
        scaled = 2 if flags & _SCALE else 4 if flags & _TWO_SCALES else 8 if flags & _MATRIX else 0
        at += 4 + (4 if flags & _WORDS else 2) + scaled
    return bytes(made[:at])


def _program(tables: dict[str, bytes]) -> bytes:
    """A TrueType program of these tables, with the sums that the specification asks for."""
    power = 1 << (len(tables).bit_length() - 1)
    made = struct.pack(">IHHHH", 0x10000, len(tables), 16 * power, power.bit_length() - 1, 16 * (len(tables) - power))
    at = 12 + 16 * len(tables)
    for name, body in tables.items():
        made += struct.pack(">4sIII", name.encode("latin-1"), _sum(body), at, len(body))
        at += len(body) + -len(body) % 4
    head = len(made)
    for name, body in tables.items():
        if name == "head":
            head = len(made)
        made += body + bytes(-len(body) % 4)
    total = struct.pack(">I", (_WHOLE_SUM - _sum(made)) & 0xFFFFFFFF)
    return made[: head + 8] + total + made[head + 12 :]


def _sum(body: bytes) -> int:
    padded = body + bytes(-len(body) % 4)
    numbers: tuple[int, ...] = struct.unpack(f">{len(padded) // 4}I", padded)
    return sum(numbers) & 0xFFFFFFFF
