"""The door of the board: every request is looked at here before anything else sees it."""

from functools import partial
from typing import Final, Literal

from starlette.datastructures import MutableHeaders
from starlette.requests import HTTPConnection, Request
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from companion.out.board.assets import STYLE
from companion.out.board.pairing import Pairing
from companion.out.board.reach import BOARD, TEACHER, may_reach

METHODS: Final = frozenset({"GET", "HEAD", "POST"})
PAGES: Final = frozenset({"/", "/new", "/pair"})
"""What a browser may come to by a link or a typed address, beside all that ends in a slash."""
FOR_ALL: Final = STYLE | {"/pair", "/pair.js"}
"""What an unpaired tablet may see."""
HEADERS: Final = {
    "Content-Security-Policy": "default-src 'none'; script-src 'self'; style-src 'self'; "
    "connect-src 'self'; font-src 'self'; media-src 'self'; form-action 'self'; base-uri 'none'; "
    "frame-ancestors 'none'",
    "Cross-Origin-Resource-Policy": "same-origin",
    # Not "no-referrer": a form would then post with the origin "null", and be refused here.
    "Referrer-Policy": "same-origin",
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
}
"""On every answer (W3C Content Security Policy Level 3; OWASP HTTP Headers Cheat Sheet)."""
NO_ENTRY: Final = 1008
"""Policy violation (RFC 6455, 7.4.1); before the line is open the browser gets status 403."""
_AT_HOME: Final = frozenset({"", "same-origin", "none"})
"""Values of Sec-Fetch-Site that come from the board itself or from the address line."""


class Guard:
    """Refuses what does not come from a page of this board on a browser that may use it.

    `hosts` are the names and addresses this board is reached by, with the port.
    """

    def __init__(
        self,
        app: ASGIApp,
        hosts: frozenset[str],
        pairing: Pairing,
        scheme: Literal["http", "https"] = "http",
    ) -> None:
        self._app = app
        self._hosts = hosts
        self._pairing = pairing
        self._scheme = scheme

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        if scope["type"] == "websocket":
            await self._open_line(scope, receive, send)
            return
        if scope["type"] != "http":
            return

        async def send_guarded(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    headers[name] = value
                headers.setdefault("Cache-Control", "no-store")
            await send(message)

        request = Request(scope)
        answer = self._refusal(request) or self._app
        await answer(scope, receive, send_guarded)

    async def _open_line(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a page of this board on a browser that may use it open its line.

        A handshake brings no Sec-Fetch-Site, and a page on another port of this address brings our
        cookies: the origin alone tells where it comes from.
        """
        line = HTTPConnection(scope)
        host = self._host(line)
        is_ours = host and line.headers.getlist("origin") == [f"{self._scheme}://{host}"]
        line.state.may_look = partial(self._pairing.admits, line.cookies, line.url.path)
        if is_ours and line.state.may_look():
            await self._app(scope, receive, send)
        else:
            await send({"type": "websocket.close", "code": NO_ENTRY})

    def _host(self, asked: HTTPConnection) -> str:
        """Return the name that this board is asked for by; "" where that is none of its own."""
        hosts = asked.headers.getlist("host")
        return hosts[0] if len(hosts) == 1 and hosts[0].lower() in self._hosts else ""

    def _refusal(self, request: Request) -> Response | None:
        """Return the refusal of a request, or None where it may pass."""
        if not self._host(request):
            return refuse(421, "This board is not reached by that name. Use the address it prints.")
        if request.method not in METHODS:
            return refuse(405, "The board takes GET and POST only.")
        if not self._is_from_here(request):
            return refuse(
                403, "That came from another site. Open the board itself and press there."
            )
        return self._unpaired(request)

    def _is_from_here(self, request: Request) -> bool:
        """Say whether a request was made by a page of this board, or by someone opening one.

        Every browser names the origin of a post (WHATWG Fetch, "Origin header"); what does not is
        not a browser and has no business to post.
        """
        headers = request.headers
        if request.method == "POST":
            is_ours = headers.get("origin") == f"{self._scheme}://{headers['host']}"
            return is_ours and headers.get("sec-fetch-site", "") in _AT_HOME
        if headers.get("sec-fetch-site", "") in _AT_HOME:
            return True
        is_opening = headers.get("sec-fetch-mode") == "navigate"
        return (
            is_opening
            and _is_page(request.url.path)
            and headers.get("sec-fetch-dest") == "document"
        )

    def _unpaired(self, request: Request) -> Response | None:
        tablets = self._pairing.tablets
        request.state.who = address_of(request)
        request.state.pairing = self._pairing
        request.state.reach = TEACHER if tablets is None else BOARD
        if tablets is None or request.url.path in FOR_ALL:
            return None
        path = request.url.path
        is_page = request.method == "GET" and _is_page(path)
        tablet = self._pairing.find(request.cookies)
        if tablet is None:
            unpaired = "This tablet is not paired. Open the board and type the code."
            return RedirectResponse("/pair", 303) if is_page else refuse(401, unpaired)
        request.state.who, request.state.reach = tablet.mark, tablet.reach
        if may_reach(tablet.reach, path):
            return None
        elsewhere = "This device is for another loom."
        return RedirectResponse("/", 303) if is_page else refuse(403, elsewhere)


def _is_page(path: str) -> bool:
    return path in PAGES or path.endswith("/")


def address_of(request: Request) -> str:
    """Return the address a request came from."""
    return request.client.host if request.client else ""


def refuse(status: int, line: str) -> Response:
    """Return a refusal of one line, after which the connection is closed."""
    return PlainTextResponse(line + "\n", status, headers={"Connection": "close"})
