"""The board's pages, and the way to the line over which the walk is shown and steered."""

from __future__ import annotations

import asyncio
from collections import Counter
from html import escape
from typing import TYPE_CHECKING, Final

from starlette.applications import Starlette
from starlette.responses import HTMLResponse, Response
from starlette.routing import BaseRoute, Route, WebSocketRoute

from companion.base.errors import SpeechError
from companion.out.board import maker_page
from companion.out.board.assets import assets, read_page
from companion.out.board.forms import form_of
from companion.out.board.guard import refuse
from companion.out.board.line import Line
from companion.out.board.pair_page import PairPage

if TYPE_CHECKING:
    from pathlib import Path

    from starlette.requests import Request
    from starlette.types import ASGIApp

    from companion.out.board.source import BoardSource

MOST_PLANS: Final = 20
"""New plans of one tablet while the companion runs."""
_MORE_PLANS: Final = "Start the companion anew to write more, or use: companion new"


class Pages:
    """Answers the requests that passed the guard.

    Args:
        board: the walk's side of the board.
        plans: the folder where a plan made here is written.
    """

    def __init__(self, board: BoardSource, plans: Path) -> None:
        self._board = board
        self._plans = plans
        self._made: Counter[str] = Counter()
        self._page = read_page("board.html").replace("{title}", escape(board.title))
        self._pair = PairPage(board.notice)

    def routes(self) -> list[BaseRoute]:
        """Return every address there is; no other reaches a file or anything else."""
        return [
            Route("/", self.board),
            WebSocketRoute("/line", Line(self._board).serve),
            Route("/pair", self._pair.ask),
            Route("/pair", self._pair.judge, methods=["POST"]),
            Route("/clip/{name}", self.clip),
            Route("/new", self.new),
            Route("/new", self.made, methods=["POST"]),
            *assets(),
        ]

    async def board(self, _request: Request) -> Response:
        """Return the board itself."""
        return HTMLResponse(self._page)

    async def clip(self, request: Request) -> Response:
        """Return a clip that a page was told of."""
        voice, wav = self._board.voice, None
        try:
            if voice is not None:
                wav = await asyncio.to_thread(voice.wav, request.path_params["name"])
        except SpeechError as error:
            return refuse(503, str(error))
        if wav is None:
            return refuse(404, "There is no such clip.")
        kept = {"Cache-Control": "private, max-age=3600"}
        return Response(wav, media_type="audio/wav", headers=kept)

    async def new(self, _request: Request) -> Response:
        """Return the plan maker's form with its defaults."""
        return HTMLResponse(maker_page.blank())

    async def made(self, request: Request) -> Response:
        """Write the plan of a filled form, or return the form with its errors."""
        form = await form_of(request)
        if isinstance(form, Response):
            return form
        who = request.state.who
        if self._made[who] >= MOST_PLANS:
            return refuse(429, f"This tablet has written {MOST_PLANS} plans. {_MORE_PLANS}")
        self._made[who] += 1
        page, is_written = await asyncio.to_thread(maker_page.filled, form, self._plans)
        self._made[who] -= not is_written
        return HTMLResponse(page, 200 if is_written else 422)


def make_app(board: BoardSource, plans: Path) -> ASGIApp:
    """Return the board's pages; each door to them has a guard of its own."""
    return Starlette(routes=Pages(board, plans).routes())
