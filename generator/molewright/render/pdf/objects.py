"""Numbered objects of a PDF come in; the bytes of the file go out piece by piece. Knows no page and no font.

Dictionaries are gathered in object streams, and one cross-reference stream tells where everything lies (ISO 32000-1, 7.5.7 and
7.5.8): a tagged page has hundreds of small dictionaries, which are a third of a file when they are written plain. What a sink has
been given is not kept: only the places are. Equal objects in equal order give equal bytes.
"""

from __future__ import annotations

import hashlib
import sys
import zlib
from array import array
from collections.abc import Callable, Sequence
from itertools import accumulate, chain, count
from operator import add

_PACKED = 2  # zlib level: 4 gives files 5 % smaller and takes a third longer to pack, 6 another 4 % and twice as long
_MOST_IN_A_STREAM = 2000  # objects; a reader unpacks all of a stream to see one of them
_PLAIN, _WITHIN = 1 << 48, 2 << 48  # types of entries of the cross-reference stream
_ENTRY = 8  # bytes of an entry as it is kept: 1 that becomes the predictor, 1 type, 4 place, 2 index


def packed(content: bytes) -> bytes:
    """The content of a stream as it stands in a file."""
    return zlib.compress(content, _PACKED)


class Objects:
    """The numbered objects of a file, sent off one by one. A number may be given out before its object is written."""

    def __init__(self, sink: Callable[[bytes], object]) -> None:
        self._sink = sink
        self._places = array("Q", [0])  # type, place and index of each object, as in the cross-reference stream
        self._at = 0
        self._digest = hashlib.sha256()
        self._gathered: list[tuple[int, bytes]] = []  # what the next object stream will hold
        self._send(b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n")

    def _send(self, piece: bytes) -> None:
        self._digest.update(piece)
        self._at += len(piece)
        self._sink(piece)

    def reserve(self, count: int = 1) -> int:
        """The number of the first of `count` objects that will be written later."""
        self._places.extend([0] * count)
        return len(self._places) - count

    def fill(self, number: int, body: str) -> None:
        """Write a reserved object that is no stream."""
        self._gathered.append((number, body.encode("ascii")))
        if len(self._gathered) == _MOST_IN_A_STREAM:
            self.flush()

    def fill_all(self, bodies: Sequence[bytes]) -> int:
        """Write the next objects, none of which is a stream; the number of the first."""
        first = self.reserve(len(bodies))
        at = 0
        while at < len(bodies):
            end = at + _MOST_IN_A_STREAM - len(self._gathered)
            self._gathered += enumerate(bodies[at:end], first + at)
            at = end
            if len(self._gathered) == _MOST_IN_A_STREAM:
                self.flush()
        return first

    def add(self, body: str) -> int:
        """Write the next object, which is no stream; its number."""
        number = self.reserve()
        self.fill(number, body)
        return number

    def add_stream(self, entries: str, content: bytes, *, ready: bool = False) -> int:
        """Write a stream, which is packed unless it is `ready` so; its number."""
        body = content if ready else packed(content)
        return self._stream(f"{entries}/Filter /FlateDecode", body)

    def add_open_stream(self, entries: str, content: bytes) -> int:
        """Write a stream as it is, for programs that look for it without unpacking anything; its number."""
        return self._stream(entries, content)

    def _stream(self, entries: str, body: bytes) -> int:
        number = self.reserve()
        self._places[number] = _PLAIN | self._at << 16
        self._send_stream(number, entries, body)
        return number

    def _send_stream(self, number: int, entries: str, body: bytes) -> None:
        head = f"{number} 0 obj\n<<{entries} /Length {len(body)}>>\nstream\n"
        # With \n alone after it, a stream that happens to end with \r is taken for one byte shorter.
        self._send(b"%s%s\r\nendstream\nendobj\n" % (head.encode("ascii"), body))

    def flush(self) -> None:
        """Send off what was gathered, as one object stream."""
        if not self._gathered:
            return
        numbers, bodies = zip(*self._gathered, strict=True)
        starts = map(add, accumulate(map(len, bodies), initial=0), count())  # one byte between two
        head = (b"%d %d " * len(numbers)) % tuple(chain.from_iterable(zip(numbers, starts, strict=False)))
        entries = f"/Type /ObjStm /N {len(numbers)} /First {len(head)} "
        stream = self.add_stream(entries, b"%s\n%s" % (head[:-1], b"\n".join(bodies)))
        for place, number in enumerate(numbers, _WITHIN | stream << 16):
            self._places[number] = place
        self._gathered = []

    def close(self, root: int, about: int) -> None:
        """Write the cross-reference stream, which is the last object and tells its own place as well."""
        self.flush()
        start, identity = self._at, self._digest.hexdigest()[:32]
        number = self.reserve()
        self._places[number] = _PLAIN | start << 16
        self._places[0] = 0xFFFF  # the head of the list of free objects, which has no other member
        size = len(self._places)
        entries = (
            f"/Type /XRef /Size {size} /Root {root} 0 R /Info {about} 0 R /ID [<{identity}> <{identity}>] /W [1 4 2]"
            f"/Filter /FlateDecode /DecodeParms <</Predictor 12 /Columns {_ENTRY - 1}>>"
        )
        self._send_stream(number, entries, packed(_predicted(self._places)))
        self._send(b"startxref\n%d\n%%%%EOF\n" % start)


def _predicted(places: array[int]) -> bytes:
    """The entries as rows of 7 bytes, each told by its difference from the row above (PNG's predictor "Up", 2).

    Objects of one stream differ by 1 in their last byte, so that hundreds of rows are packed into a few bytes.
    """
    rows = array("Q", places)
    if sys.byteorder == "little":
        rows.byteswap()
    below = rows.tobytes()
    above = bytes(_ENTRY) + below[:-_ENTRY]
    # Byte by byte and without a borrow, on all rows at once.
    high = int.from_bytes(b"\x80" * len(below), "big")
    one, other = int.from_bytes(below, "big"), int.from_bytes(above, "big")
    apart = bytearray((((one | high) - (other & ~high)) ^ ((one ^ ~other) & high)).to_bytes(len(below), "big"))
    apart[::_ENTRY] = b"\x02" * len(places)
    return bytes(apart)
