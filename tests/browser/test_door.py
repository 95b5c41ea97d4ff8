"""Who is let in, and what is refused: with a sentence, in bounded memory, and the pages are there afterwards."""

from __future__ import annotations

import io
import resource
import socket
import zipfile

import pytest

from shared.pages import Pages, Visitor


def test_the_key_is_good_once_and_only_whoever_has_it_is_let_in(pages: Pages) -> None:
    first = f"/{pages.pages.first.rpartition('/')[2]}"
    assert pages.inside.get("/").status == 200
    for path in (
        "/",
        first,
        "/?key=",
        "/?xkey=1",
        "/?key=guessed",
        "/paper/1",
        "/paper/1/sheet/questions/pdf/0",
        "/new",
    ):
        got = pages.stranger().get(path)
        assert got.status == 403
        assert "Start" in got.text
    assert pages.stranger().post("/new", {}).status == 403
    assert Visitor(pages.port, f"molewright-{pages.port}=guessed").get("/").status == 403


def test_the_cookie_goes_to_no_other_site_and_no_script_reads_it(pages: Pages) -> None:
    door = pages.pages.door
    door._keys._first = "another"
    cookie = pages.stranger().get("/?key=another").headers["set-cookie"]
    assert "SameSite=Strict" in cookie
    assert "HttpOnly" in cookie


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        ({"Host": "evil.example:80"}, 421),
        ({"Host": "localhost:1"}, 421),
        ({"Origin": "http://evil.example"}, 403),
        ({"Origin": "null"}, 403),
        ({"Origin": ""}, 403),
        ({"Origin": "http://127.0.0.1:1"}, 403),
    ],
)
def test_another_sites_form_and_another_name_are_refused(pages: Pages, headers: dict[str, str], status: int) -> None:
    before = len(list(pages.pages.folder.iterdir()))
    assert pages.inside.ask("POST", "/new", b"questions=1", **headers).status == status
    assert len(list(pages.pages.folder.iterdir())) == before


@pytest.mark.parametrize("method", ["PUT", "DELETE", "OPTIONS", "TRACE"])
def test_nothing_is_done_in_another_way(visitor: Visitor, method: str) -> None:
    assert visitor.ask(method, "/").status == 405


@pytest.mark.parametrize(
    "path",
    [
        "/../../etc/passwd", "/look/../browser.css", "/look/%2e%2e%2fhtml%2fpage.css", "/look/frame.html.jinja", "/paper/1%00",
        "/paper/../1", "/paper/-1", "/paper/99999999999999999999", "/paper/1/sheet/questions/exe/0", "/paper/1/sheet/../pdf/0",
        "/paper/1/made/1/file/..%2fclass.csv", "/paper/999/class", "/paper/1/add/1/../../2",
    ],
)  # fmt: skip
def test_a_path_in_a_name_leads_nowhere(visitor: Visitor, path: str) -> None:
    got = visitor.get(path)
    assert got.status == 404
    assert "root:" not in got.text


def test_every_page_lets_nothing_in_from_outside(visitor: Visitor) -> None:
    for got in (visitor.get("/"), visitor.get("/look/quick.js"), visitor.get("/nowhere")):
        assert "default-src 'self'" in got.headers["content-security-policy"]
        assert got.headers["cache-control"] == "no-store"
        assert got.headers["x-content-type-options"] == "nosniff"


def _bomb() -> bytes:
    """A workbook of a few kilobytes that would be a hundred megabytes."""
    whole = io.BytesIO()
    with zipfile.ZipFile(whole, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("[Content_Types].xml", "<Types/>")
        packed.writestr("xl/workbook.xml", b"0" * 100_000_000)
    return whole.getvalue()


RUBBISH = {
    "noise": bytes(range(256)) * 40,
    "a bomb": _bomb(),
    "a PDF with a script": b"%PDF-1.7\n1 0 obj<</OpenAction<</S/JavaScript/JS(app.alert(1))>>>>endobj\ntrailer<</Root 1 0 R>>\n%%EOF",
    "YAML that grows": b"a: &a [x]\nb: [*a, *a]\n",
    "JSON": b'{"schema": 1}',
    "a deep tree": b"[" * 100_000,
}


@pytest.mark.parametrize("what", RUBBISH)
def test_rubbish_is_refused_with_a_sentence(visitor: Visitor, what: str) -> None:
    got = visitor.send("/open", {}, [("order", "../../order.yaml", RUBBISH[what])])
    assert got.status == 400
    assert "could not be done" in got.text
    assert visitor.get("/").status == 200


def test_what_is_too_large_is_refused_and_is_never_held(visitor: Visitor) -> None:
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    body = b"x" * 20_000_000
    got = visitor.send("/open", {}, [("order", "large", body)])
    assert got.status == 413
    assert "at most 5 MB" in got.text
    held_kb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before
    assert held_kb < 90_000  # what this side of it holds twice, and nothing for the other
    assert visitor.get("/").status == 200


def test_a_fault_of_ours_is_told_without_a_name(
    pages: Pages, visitor: Visitor, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    def broken(number: int) -> None:
        raise RuntimeError("Ilsa Quern")

    monkeypatch.setattr(pages.pages.room.shelf, "paper", broken)
    got = visitor.get("/paper/1")
    assert got.status == 500
    assert "Quern" not in got.text
    told = "".join(capfd.readouterr())
    assert "RuntimeError" in told
    assert "Quern" not in told


def test_a_length_that_is_not_told_is_counted(visitor: Visitor) -> None:
    piece = b"x" * 1_000_000
    chunks = b"".join(b"%x\r\n%b\r\n" % (len(piece), piece) for _ in range(7)) + b"0\r\n\r\n"
    with socket.create_connection(("127.0.0.1", visitor.port), timeout=30) as line:
        line.sendall(
            f"POST /new HTTP/1.1\r\nHost: 127.0.0.1:{visitor.port}\r\nOrigin: http://127.0.0.1:{visitor.port}\r\n"
            f"Cookie: {visitor.cookie}\r\nContent-Type: application/x-www-form-urlencoded\r\n"
            "Transfer-Encoding: chunked\r\n\r\n".encode()
            + chunks
        )
        assert line.recv(12).endswith(b" 413")
    assert visitor.get("/").status == 200
