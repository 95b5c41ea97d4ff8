"""A folder comes in; the pages of the browser are served from it on a thread, and visitors that ask for them go out."""

from __future__ import annotations

import http.client
import re
import threading
import time
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from urllib.parse import urlencode

from molewright.browser.serving import Served, served, server_of
from molewright.order.defaults import NOBODY_SAID
from molewright.order.head import Head
from shared.banks import built_in

BOUNDARY = "----between-the-parts"
Fields = Mapping[str, str | Sequence[str]]


@dataclass(frozen=True, slots=True)
class Got:
    """What came back."""

    status: int
    headers: Mapping[str, str]
    content: bytes

    @property
    def text(self) -> str:
        """The page."""
        return self.content.decode()

    @property
    def seen(self) -> str:
        """The stamp of the state that the page shows."""
        found = re.search(r'name="seen" value="([0-9a-f]+)"', self.text)
        assert found is not None, self.text[:400]
        return found[1]


@dataclass(slots=True)
class Visitor:
    """Somebody who asks for pages; `cookie` is "" for whoever was not let in."""

    port: int
    cookie: str = ""
    more: dict[str, str] = field(default_factory=dict)

    def ask(self, method: str, path: str, body: bytes = b"", **headers: str) -> Got:
        """One request; headers with underscores for hyphens, "" for one that is not sent."""
        own = {"Host": f"127.0.0.1:{self.port}", "Cookie": self.cookie}
        if method == "POST":
            own |= {"Origin": f"http://127.0.0.1:{self.port}", "Content-Type": "application/x-www-form-urlencoded"}
        own |= {name.replace("_", "-"): text for name, text in {**self.more, **headers}.items()}
        line = http.client.HTTPConnection("127.0.0.1", self.port, timeout=60)
        try:
            line.putrequest(method, path, skip_host=True)
            for name, text in own.items():
                if text:
                    line.putheader(name, text)
            if body or method == "POST":
                line.putheader("Content-Length", str(len(body)))
            line.endheaders(body or None)
            answer = line.getresponse()
            return Got(answer.status, {name.lower(): text for name, text in answer.getheaders()}, answer.read())
        finally:
            line.close()

    def get(self, path: str) -> Got:
        """A page."""
        return self.ask("GET", path)

    def post(self, path: str, fields: Fields) -> Got:
        """A form that is sent."""
        return self.ask("POST", path, urlencode(fields, doseq=True).encode())

    def send(self, path: str, fields: Mapping[str, str], files: Sequence[tuple[str, str, bytes]]) -> Got:
        """A form that is sent with files: the field, what the file is called, its bytes."""
        pieces = [
            f'--{BOUNDARY}\r\nContent-Disposition: form-data; name="{name}"\r\n\r\n{text}\r\n'.encode()
            for name, text in fields.items()
        ]
        for name, called, content in files:
            head = f'--{BOUNDARY}\r\nContent-Disposition: form-data; name="{name}"; filename="{called}"\r\n'
            pieces.append(f"{head}Content-Type: application/octet-stream\r\n\r\n".encode() + content + b"\r\n")
        body = b"".join((*pieces, f"--{BOUNDARY}--\r\n".encode()))
        return self.ask("POST", path, body, Content_Type=f"multipart/form-data; boundary={BOUNDARY}")

    def follow(self, got: Got) -> Got:
        """The page that an answer leads to."""
        assert got.status == 303, got.text[:2000]
        return self.get(got.headers["location"].partition("#")[0])

    def new_paper(self, **fields: str | Sequence[str]) -> str:
        """Make a paper; its address."""
        got = self.looked_for(self.post("/new", fields))
        assert got.status == 303, got.text
        return got.headers["location"]

    def looked_for(self, got: Got) -> Got:
        """What comes of a paper that was asked for, once the search for its questions is over."""
        at = got.headers.get("location", "")
        for _ in range(600 if at.startswith("/looking/") else 0):
            got = self.get(at)
            if got.status != 200:
                break
            time.sleep(0.1)
        return got

    def files_of(self, made: Got) -> dict[str, bytes]:
        """The files of a job, once it is over."""
        at = made.headers["location"]
        page = self.get(at)
        for _ in range(600):
            if "being made" not in page.text:
                break
            time.sleep(0.1)
            page = self.get(at)
        found = re.findall(rf'href="({at}/file/[0-9]+)">([^<]+)<', page.text)
        assert found, page.text
        return {name: self.get(address).content for address, name in found}


@dataclass(frozen=True, slots=True)
class Pages:
    """Pages that are served."""

    pages: Served
    inside: Visitor

    @property
    def port(self) -> int:
        """Where."""
        return self.inside.port

    @property
    def base(self) -> str:
        """Their address without a path."""
        return f"http://127.0.0.1:{self.port}"

    def stranger(self) -> Visitor:
        """Somebody without a cookie."""
        return Visitor(self.port)


@contextmanager
def pages_of(folder: Path, port: int = 0, cookie: str = "", usual: Head = NOBODY_SAID) -> Iterator[Pages]:
    """The pages of a folder, until the end of the block; with the cookie of an earlier start, or let in with the key."""
    with served(folder, port, "127.0.0.1", built_in, usual) as pages:
        server = server_of(pages)
        thread = threading.Thread(target=lambda: server.run(sockets=[pages.listening]), daemon=True)
        thread.start()
        try:
            visitor = Visitor(pages.listening.getsockname()[1], cookie)
            if not cookie:
                let_in = visitor.get(f"/{pages.first.rpartition('/')[2]}")
                assert let_in.status == 303
                visitor.cookie = let_in.headers["set-cookie"].partition(";")[0]
            yield Pages(pages, visitor)
        finally:
            server.should_exit = True
            thread.join(10)
