"""Requests come in; only those of the browser that was let in with the key reach the pages, and no request is larger than may be.

The key stands in the first address and is good once; a cookie takes its place, which no other site can send along. Another site's
form is known by its Origin, a name that somebody else gave this machine by its Host.
"""

from __future__ import annotations

import hashlib
import json
import secrets
import time
from collections.abc import Callable
from http.cookies import CookieError, SimpleCookie
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import parse_qs

from molewright.browser.asking import MOST_SENT, TOO_LARGE, Answer
from molewright.machine.private_files import read_private, write_private

if TYPE_CHECKING:
    from starlette.types import ASGIApp, Message, Receive, Scope, Send

KEY = "key"  # what it is called in the first address
MOST_LET_IN = 20  # browsers that are remembered
MOST_SWALLOWED = 300_000_000  # bytes of what is too large that are read and forgotten, so that the browser hears why
LONGEST_SWALLOW_S = 60.0
LOOKS = "/look/"  # style and script, the same for everybody

HEADERS = (
    (b"content-security-policy", b"default-src 'self'; style-src-attr 'unsafe-inline'; object-src 'none'; base-uri 'none'; "
     b"form-action 'self'; frame-ancestors 'self'"),
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"same-origin"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"cache-control", b"no-store"),
)  # fmt: skip


class Keys:
    """The key of the first address, and who was let in with one: kept as digests, so that the server may be started anew."""

    def __init__(self, kept: Path) -> None:
        self._kept = kept
        self._first = secrets.token_urlsafe(24)
        self._let_in: list[str] = self._read()

    @property
    def first(self) -> str:
        """The key of the first address, good once."""
        return self._first

    def let_in(self, key: str) -> str:
        """The text of a cookie for whoever has the key; "" where it is another, or was used."""
        if not self._first or not secrets.compare_digest(key.encode(), self._first.encode()):
            return ""
        self._first = ""
        token = secrets.token_urlsafe(32)
        self._let_in = [*self._let_in, _digest(token)][-MOST_LET_IN:]
        write_private(self._kept, json.dumps(self._let_in).encode())
        return token

    def knows(self, token: str) -> bool:
        """Whether this cookie was given to somebody who had a key."""
        digest = _digest(token)
        return sum(secrets.compare_digest(digest, one) for one in self._let_in) > 0

    def _read(self) -> list[str]:
        try:
            found = json.loads(read_private(self._kept, 10_000) or b"[]")
        except ValueError:
            return []
        return [str(one) for one in found][-MOST_LET_IN:] if isinstance(found, list) else []


def _digest(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()


class Door:
    """Stands before the pages. `refused` makes the page that says why somebody is not let in."""

    def __init__(self, pages: ASGIApp, keys: Keys, host: str, refused: Callable[[int, str], Answer]) -> None:
        self._pages = pages
        self._keys = keys
        self._host = host
        self._cookie = f"molewright-{host.rpartition(':')[2]}"
        self._refused = refused

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        if scope["type"] != "http":
            return  # nothing here speaks any other way
        headers = dict(scope["headers"])
        key = parse_qs(scope["query_string"].decode("latin-1")).get(KEY, [""])[0] if scope["path"] == "/" else ""
        why = self._why_not(scope, headers, entering=bool(key))
        if why is not None:
            await self._say_no(*why, receive, send)
            return
        if key:
            await self._enter(key, self._is_known(headers), send)
            return
        await self._pages(scope, _bounded(receive), _with_headers(send))

    def _why_not(self, scope: Scope, headers: dict[bytes, bytes], entering: bool) -> tuple[int, str] | None:
        """The status and the sentence for a request that is not answered."""
        if headers.get(b"host", b"").decode("latin-1") != self._host:
            return 421, "This address is not one that these pages are at."
        if scope["method"] not in ("GET", "HEAD", "POST"):
            return 405, "These pages are read, and forms on them are sent; nothing else is done here."
        if scope["method"] == "POST" and not self._own_form(headers):
            return 403, "This form was sent from another page. Nothing was done."
        length = headers.get(b"content-length", b"0")
        if not length.isdigit() or int(length) > MOST_SENT:
            return 413, TOO_LARGE
        if scope["path"].startswith(LOOKS) or entering or self._is_known(headers):
            return None
        return (
            403,
            "These pages open from the address that the program tells when it starts. Start it again for a new one.",
        )

    def _own_form(self, headers: dict[bytes, bytes]) -> bool:
        """Whether a form was sent from one of these pages: every browser says where a form comes from."""
        origin = headers.get(b"origin")
        return origin is not None and origin.decode("latin-1") == f"http://{self._host}"

    def _is_known(self, headers: dict[bytes, bytes]) -> bool:
        jar = SimpleCookie()
        try:
            jar.load(headers.get(b"cookie", b"").decode("latin-1"))
        except CookieError:
            return False
        found = jar.get(self._cookie)
        return found is not None and self._keys.knows(found.value)

    async def _enter(self, key: str, known: bool, send: Send) -> None:
        token = self._keys.let_in(key)
        if not token and not known:
            sentence = (
                "This address was used already, or is of an earlier start. Start the program again for a new one."
            )
            await _whole(send, 403, self._refused(403, sentence).content)
            return
        more = [(b"location", b"/")]
        if token:
            more.append(
                (b"set-cookie", f"{self._cookie}={token}; HttpOnly; SameSite=Strict; Path=/; Max-Age=31536000".encode())
            )
        await _whole(send, 303, b"", more)

    async def _say_no(self, status: int, sentence: str, receive: Receive, send: Send) -> None:
        await _swallow(receive)
        await _whole(send, status, self._refused(status, sentence).content)


async def _swallow(receive: Receive) -> None:
    """Read what is sent and forget it, as far as is reasonable: a browser hears an answer only when it has said all."""
    swallowed, until = 0, time.monotonic() + LONGEST_SWALLOW_S
    while swallowed < MOST_SWALLOWED and time.monotonic() < until:
        message = await receive()
        swallowed += len(message.get("body", b""))
        if message["type"] != "http.request" or not message.get("more_body", False):
            return


async def _whole(send: Send, status: int, content: bytes, more: list[tuple[bytes, bytes]] | None = None) -> None:
    kind = [(b"content-type", b"text/html; charset=utf-8"), (b"content-length", str(len(content)).encode())]
    await send({"type": "http.response.start", "status": status, "headers": [*HEADERS, *kind, *(more or [])]})
    await send({"type": "http.response.body", "body": content})


def _bounded(receive: Receive) -> Receive:
    """What is received, as long as it is no more than may be: a length need not be told, or be true."""
    got = 0

    async def counted() -> Message:
        nonlocal got
        message = await receive()
        got += len(message.get("body", b""))
        if got > MOST_SENT:
            from starlette.exceptions import HTTPException

            raise HTTPException(413)
        return message

    return counted


def _with_headers(send: Send) -> Send:
    """What is sent, with the headers that every page has unless it says otherwise itself."""

    async def sent(message: Message) -> None:
        if message["type"] == "http.response.start":
            own = {name for name, _ in message["headers"]}
            message["headers"] = [*message["headers"], *(one for one in HEADERS if one[0] not in own)]
        await send(message)

    return sent
