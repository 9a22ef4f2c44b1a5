"""The board's pages, and the way to the line over which the walk is shown and steered."""

from __future__ import annotations

import asyncio
from collections import Counter
from html import escape
from importlib.resources import files
from typing import TYPE_CHECKING, Any, Final
from urllib.parse import parse_qsl

from starlette.applications import Starlette
from starlette.requests import ClientDisconnect
from starlette.responses import (
    HTMLResponse,
    RedirectResponse,
    Response,
)
from starlette.routing import BaseRoute, Route, WebSocketRoute

from companion.base.errors import CompanionError
from companion.out.board import maker_page
from companion.out.board.guard import Guard, address_of, refuse
from companion.out.board.line import Line
from companion.out.board.pairing import TRIES, WAIT_SECONDS, Pairing
from companion.out.board.tablets import KEPT_SECONDS

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from starlette.requests import Request
    from starlette.types import ASGIApp

    from companion.out.board.source import BoardSource

MOST_FORM: Final = 60_000
"""Bytes of a body; more is refused before it is read."""
MOST_FIELDS: Final = 100
MOST_PLANS: Final = 20
"""New plans of one tablet while the companion runs."""
_MORE_PLANS: Final = "Start the companion anew to write more, or use: companion new"
FORM_TYPE: Final = "application/x-www-form-urlencoded"
_TYPES: Final = {"css": "text/css", "js": "text/javascript"}
_FONTS: Final = ("AtkinsonHyperlegibleNext-Regular.ttf", "AtkinsonHyperlegibleNext-Bold.ttf")


class Pages:
    """Answers the requests that passed the guard.

    Args:
        board: the walk's side of the board.
        pairing: who is let in.
        plans: the folder where a plan made here is written.
    """

    def __init__(self, board: BoardSource, pairing: Pairing, plans: Path) -> None:
        self._board = board
        self._pairing = pairing
        self._plans = plans
        self._made: Counter[str] = Counter()
        self._page = _read("board.html").replace("{title}", escape(board.title))
        self._pair = _read("pair.html")

    def routes(self) -> list[BaseRoute]:
        """Return every address there is; no other reaches a file or anything else."""
        static = [Route(f"/{name}", answer) for name, answer in _static_files()]
        return [
            Route("/", self.board),
            WebSocketRoute("/line", Line(self._board, self._pairing).serve),
            Route("/pair", self.pair),
            Route("/pair", self.paired, methods=["POST"]),
            Route("/new", self.new),
            Route("/new", self.made, methods=["POST"]),
            *static,
        ]

    async def board(self, _request: Request) -> Response:
        """Return the board itself."""
        return HTMLResponse(self._page)

    async def pair(self, _request: Request) -> Response:
        """Ask for the code; a new one is told at the loom where none holds."""
        return self._ask_code("", 200)

    async def paired(self, request: Request) -> Response:
        """Judge a typed code; a right one marks this browser."""
        form = await _form(request)
        if isinstance(form, Response):
            return form
        address = address_of(request)
        judged = self._pairing.judge(form.get("code", ""), address)
        if judged == "wait":
            wait = f"Too many wrong codes. Wait {WAIT_SECONDS:.0f} seconds, then type it again."
            return self._ask_code(wait, 429)
        if judged == "closed":
            self._board.notice(f"{TRIES} wrong codes were typed for the board at {address}.")
        if judged != "right":
            return self._ask_code("That is not the code. The newest stands in the terminal.", 403)
        return self._let_in(form.get("name", ""))

    def _let_in(self, name: str) -> Response:
        tablets = self._pairing.tablets
        if tablets is None:
            return RedirectResponse("/", 303)
        try:
            mark = tablets.pair(name)
        except CompanionError as error:
            return self._ask_code(str(error), 500)
        answer = RedirectResponse("/", 303)
        answer.set_cookie(
            tablets.cookie, mark, max_age=KEPT_SECONDS, httponly=True, samesite="strict"
        )
        return answer

    def _ask_code(self, fault: str, status: int) -> Response:
        code = self._pairing.offer()
        if code:
            self._board.notice(told_code(code))
        told = f'<p id="fault" role="alert" class="fault">{escape(fault)}</p>' if fault else ""
        about = ' aria-invalid="true" aria-describedby="fault"' if fault else ""
        page = self._pair.replace("{fault}", told).replace("{about}", about)
        return HTMLResponse(page, status)

    async def new(self, _request: Request) -> Response:
        """Return the plan maker's form with its defaults."""
        return HTMLResponse(maker_page.blank())

    async def made(self, request: Request) -> Response:
        """Write the plan of a filled form, or return the form with its errors."""
        form = await _form(request)
        if isinstance(form, Response):
            return form
        who = request.state.who
        if self._made[who] >= MOST_PLANS:
            return refuse(429, f"This tablet has written {MOST_PLANS} plans. {_MORE_PLANS}")
        self._made[who] += 1
        page, is_written = await asyncio.to_thread(maker_page.filled, form, self._plans)
        self._made[who] -= not is_written
        return HTMLResponse(page, 200 if is_written else 422)


def make_app(board: BoardSource, pairing: Pairing, hosts: frozenset[str], plans: Path) -> ASGIApp:
    """Return the board as a guarded ASGI application."""
    return Guard(Starlette(routes=Pages(board, pairing, plans).routes()), hosts, pairing)


def told_code(code: str) -> str:
    """Return what is said at the loom about a new code."""
    return f"To pair a tablet, type there: {' '.join(code)}"


def _static_files() -> Iterator[tuple[str, Any]]:
    """Yield the name and the answer of each file of the pages, and of the typeface."""
    for file in files("companion.out.board").joinpath("pages").iterdir():
        kind = _TYPES.get(file.name.rpartition(".")[2])
        if kind:
            yield file.name, _fixed(file.read_bytes(), kind, "no-cache")
    for name in _FONTS:
        font = files("companion.out.paper").joinpath("fonts", name)
        yield name, _fixed(font.read_bytes(), "font/ttf", "max-age=86400")


def _fixed(content: bytes, kind: str, kept: str) -> Any:
    async def answer(_request: Request) -> Response:
        return Response(content, media_type=kind, headers={"Cache-Control": kept})

    return answer


def _read(name: str) -> str:
    return files("companion.out.board").joinpath("pages", name).read_text("utf-8")


async def _form(request: Request) -> dict[str, str] | Response:
    body = await _body(request, FORM_TYPE, MOST_FORM)
    if isinstance(body, Response):
        return body
    try:
        return dict(
            parse_qsl(
                body.decode(),
                keep_blank_values=True,
                max_num_fields=MOST_FIELDS,
                errors="strict",
            )
        )
    except ValueError:
        return refuse(400, f"Expected a form of at most {MOST_FIELDS} fields in UTF-8.")


async def _body(request: Request, kind: str, most: int) -> bytes | Response:
    """Return the body, or the refusal of one that is of another kind or too large."""
    if request.headers.get("content-type", "").partition(";")[0].strip().lower() != kind:
        return refuse(415, f"Expected {kind}.")
    body = b""
    try:
        async for chunk in request.stream():
            body += chunk
            if len(body) > most:
                return refuse(413, f"Expected at most {most} bytes.")
    except ClientDisconnect:
        return refuse(408, "The request did not come whole.")
    return body
