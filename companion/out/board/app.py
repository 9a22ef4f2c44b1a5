"""The board's pages, and the way to the line over which the walk is shown and steered."""

import asyncio
import json
from collections import Counter
from collections.abc import Awaitable, Callable
from contextlib import suppress
from functools import partial
from html import escape
from pathlib import Path
from typing import Final

from starlette.applications import Starlette
from starlette.requests import HTTPConnection, Request
from starlette.responses import HTMLResponse, Response
from starlette.routing import BaseRoute, Route, WebSocketRoute
from starlette.types import ASGIApp
from starlette.websockets import WebSocket, WebSocketDisconnect

from companion.base.errors import SpeechError
from companion.loom.dressing import Dressing
from companion.out.board import line, maker_page
from companion.out.board.assets import SHEETS_STYLE, assets, read_page
from companion.out.board.ear_line import EarLine
from companion.out.board.forms import form_of
from companion.out.board.guard import refuse
from companion.out.board.line import Shown
from companion.out.board.pair_page import PairPage
from companion.out.board.reach import BOARD
from companion.out.board.source import BoardSource
from companion.out.paper.html_sheet import write_html
from companion.wording.board import PHRASES

MOST_PLANS: Final = 20
"""New plans of one tablet while the companion runs."""
_MORE_PLANS: Final = "Start the companion anew to write more, or use: companion new"


Serve = Callable[[WebSocket, Shown], Awaitable[None]]
"""Serves an open line of a page."""


class LoomPages:
    """Answers what the page of a loom, found by its key, asks for, after the guard."""

    def __init__(self, find: Callable[[str], Shown | None], page: str) -> None:
        self._find = find
        self._page = page

    def routes(self, prefix: str = "") -> list[BaseRoute]:
        """Return the addresses of looms; `prefix` has the loom's key, but for a single one."""
        return [
            Route(f"{prefix}/", self.board),
            Route(f"{prefix}/sheets/", self.sheets),
            WebSocketRoute(f"{prefix}/line", partial(self.open, line.serve)),
            WebSocketRoute(f"{prefix}/ear", partial(self.open, EarLine().serve)),
            Route(f"{prefix}/clip/{{name}}", self.clip),
        ]

    def _board(self, request: HTTPConnection) -> Shown | None:
        return self._find(request.path_params.get("loom", BOARD))

    async def open(self, serve: Serve, socket: WebSocket) -> None:
        """Open a line, and serve it until either side ends it."""
        shown = self._board(socket)
        if shown is None:
            await socket.close(line.TOO_MANY)
            return
        await socket.accept()
        with suppress(WebSocketDisconnect, RuntimeError):
            await serve(socket, shown)

    async def board(self, request: Request) -> Response:
        """Return the board itself."""
        shown = self._board(request)
        if shown is None:
            return refuse(404, "There is no such loom.")
        page = self._page.replace("{phrases}", _phrases(shown))
        return HTMLResponse(page.replace("{title}", escape(shown.title)))

    async def sheets(self, request: Request) -> Response:
        """Return the plan's sheets with their charts and the picture of its cloth."""
        shown = self._board(request)
        if shown is None or shown.dressing is None:
            return refuse(404, "No plan is walked here yet.")
        return HTMLResponse(await asyncio.to_thread(_sheets, shown.dressing))

    async def clip(self, request: Request) -> Response:
        """Return a clip that a page was told of."""
        shown, wav = self._board(request), None
        voice = shown.voice if shown else None
        try:
            if voice is not None:
                wav = await asyncio.to_thread(voice.wav, request.path_params["name"])
        except SpeechError as error:
            return refuse(503, str(error))
        if wav is None:
            return refuse(404, "There is no such clip.")
        kept = {"Cache-Control": "private, max-age=3600"}
        return Response(wav, media_type="audio/wav", headers=kept)


def _sheets(dressing: Dressing) -> str:
    from companion.out.paper.cloth import cloth_picture  # noqa: PLC0415 - only where it is asked for
    from companion.out.paper.sheets import sheets  # noqa: PLC0415

    made, cloth = sheets(dressing), cloth_picture(dressing)
    return write_html(dressing.title, made, cloth=cloth, style=SHEETS_STYLE)


def _phrases(shown: Shown) -> str:
    """Return what the page says of itself as JSON that may stand in HTML."""
    plain = {name: {"text": text} for name, text in PHRASES.items()}
    told = shown.voice.kept(PHRASES) if shown.voice else plain
    return json.dumps(told).replace("<", "\\u003c")


class MakerPages:
    """Asks for a new plan, and writes it into a folder."""

    def __init__(self, plans: Path) -> None:
        self._plans = plans
        self._made: Counter[str] = Counter()

    def routes(self, prefix: str = "") -> list[BaseRoute]:
        """Return the addresses of the form."""
        return [
            Route(f"{prefix}/new", self.new),
            Route(f"{prefix}/new", self.made, methods=["POST"]),
        ]

    async def new(self, _request: Request) -> Response:
        """Return the plan maker's form with its defaults."""
        return HTMLResponse(maker_page.blank())

    async def made(self, request: Request) -> Response:
        """Write the plan of a filled form, or return the form with its errors."""
        form = await form_of(request)
        who = request.state.who
        if self._made[who] >= MOST_PLANS:
            return refuse(429, f"This tablet has written {MOST_PLANS} plans. {_MORE_PLANS}")
        self._made[who] += 1
        page, is_written = await asyncio.to_thread(maker_page.filled, form, self._plans)
        self._made[who] -= not is_written
        return HTMLResponse(page, 200 if is_written else 422)


def make_app(board: BoardSource, plans: Path) -> ASGIApp:
    """Return the pages of a single walk; each door to them has a guard of its own."""
    looms = LoomPages({BOARD: board}.get, read_page("board.html"))
    pairing = PairPage(board.notice)
    return Starlette(
        routes=[*looms.routes(), *pairing.routes(), *MakerPages(plans).routes(), *assets()]
    )
