"""The addresses and a workroom come in; the application that a web server runs goes out. Only this module and `serving` know one."""

from __future__ import annotations

import time
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import parse_qsl

from molewright.browser.addresses import ADDRESSES, WORDS, Address, View
from molewright.browser.asking import MOST_FIELDS, MOST_FILES, MOST_SENT, TOO_LARGE, Answer, Asked, gathered
from molewright.browser.door import Door, Keys
from molewright.browser.pages import look, refused, sentences
from molewright.browser.workroom import Workroom
from molewright.errors import Mistake
from molewright.machine import terminal

if TYPE_CHECKING:
    from starlette.requests import Request
    from starlette.responses import Response
    from starlette.routing import Route

KEPT_KEYS = ".let-in.json"
_LARGEST_NUMBER = 10**9
_FRAME = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; frame-ancestors 'self'; sandbox"


def application(room: Workroom, host: str) -> tuple[Door, Keys]:
    """The pages behind their door, and its keys."""
    from starlette.applications import Starlette
    from starlette.exceptions import HTTPException
    from starlette.requests import ClientDisconnect
    from starlette.routing import Route

    routes = [_route(room, one) for one in ADDRESSES]
    routes.append(Route("/look/{name}", _look))
    pages = Starlette(
        routes=routes, exception_handlers={HTTPException: _not_answered, ClientDisconnect: _gone, Exception: _fault}
    )
    keys = Keys(room.shelf.folder / KEPT_KEYS)
    return Door(pages, keys, host, refused), keys


def _route(room: Workroom, address: Address) -> Route:
    from starlette.concurrency import run_in_threadpool
    from starlette.routing import Route

    async def answered(request: Request) -> Response:
        view = address.take if request.method == "POST" else address.show
        assert view is not None
        asked = await _asked(request)
        return _response(await run_in_threadpool(_done, view, room, asked))

    methods = [*(["GET"] if address.show else []), *(["POST"] if address.take else [])]
    return Route(address.path, answered, methods=methods)


def _done(view: View, room: Workroom, asked: Asked) -> Answer:
    """What a view answers; what a person can put right is told on a page of its own where the view does not tell it itself."""
    try:
        return view(room, asked)
    except Mistake as mistake:
        return refused(404, " ".join(sentences(mistake)))


async def _asked(request: Request) -> Asked:
    """The request as a frozen value. Raises HTTPException for words in an address that are none of the few."""
    from starlette.datastructures import UploadFile
    from starlette.exceptions import HTTPException

    numbers = {key: one for key, one in request.path_params.items() if isinstance(one, int)}
    words = {key: one for key, one in request.path_params.items() if isinstance(one, str)}
    if any(one > _LARGEST_NUMBER for one in numbers.values()) or any(
        one not in WORDS[key] for key, one in words.items()
    ):
        raise HTTPException(404)
    query = gathered(parse_qsl(request.url.query, keep_blank_values=True, max_num_fields=MOST_FIELDS))
    fields: list[tuple[str, str]] = []
    files: dict[str, tuple[bytes, ...]] = {}
    if request.method == "POST":
        async with request.form(max_files=MOST_FILES, max_fields=MOST_FIELDS, max_part_size=MOST_SENT) as form:
            for key, one in form.multi_items():
                if isinstance(one, UploadFile):
                    files[key] = (*files.get(key, ()), await one.read())
                else:
                    fields.append((key, one))
    return Asked(numbers=numbers, words=words, query=query, fields=gathered(fields), files=files)


def _response(answer: Answer) -> Response:
    from starlette.responses import Response

    headers: dict[str, str] = {}
    if answer.to:
        headers["location"] = answer.to
    if answer.framed:
        headers["content-security-policy"] = _FRAME
    if answer.file_name:
        headers["content-disposition"] = f'attachment; filename="{answer.file_name}"'
    if answer.again_in_s:
        headers["refresh"] = str(answer.again_in_s)
    return Response(answer.content, answer.status, headers, answer.kind if answer.content else None)


async def _look(request: Request) -> Response:
    found = look(str(request.path_params["name"]))
    return _response(found or refused(404, "There is nothing at this address."))


async def _not_answered(request: Request, broken: Exception) -> Response:
    """What was asked for is not there, or was more than may be."""
    status = int(getattr(broken, "status_code", 404))
    said = {
        413: TOO_LARGE,
        400: "What was sent cannot be read as a form, or has too many fields or files. Nothing was done.",
        405: "This is done by a button on a page, not by an address.",
    }
    return _response(refused(status, said.get(status, "There is nothing at this address.")))


async def _gone(request: Request, broken: Exception) -> Response:
    """Whoever asked has gone away before all was said: nobody hears this."""
    return _response(Answer(status=400))


async def _fault(request: Request, broken: Exception) -> Response:
    """A fault of ours: told without anything of what was asked, which may hold names."""
    terminal.say(f"molewright: a fault in the pages: {type(broken).__name__}, at {time.strftime('%H:%M:%S')}")
    sentence = "This is a fault in molewright, not in what you asked. What you have is as it was before."
    return _response(refused(500, sentence))


def folder_is_ready(folder: Path) -> None:
    """Make the folder for papers. Raises Mistake where that cannot be done."""
    from molewright.errors import Where

    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as broken:
        raise Mistake(
            f"the folder cannot be made ({broken.strerror or broken})",
            where=Where(str(folder)),
            do="Name another with --to.",
        ) from None
