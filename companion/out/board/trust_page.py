"""The one page that is not encrypted on the network: how a tablet comes to trust this studio."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

from starlette.applications import Starlette
from starlette.responses import HTMLResponse, Response
from starlette.routing import Route

from companion.out.board.assets import STYLE, assets, read_page

if TYPE_CHECKING:
    from starlette.requests import Request
    from starlette.types import ASGIApp

    from companion.out.board.authority import Authority


def make_trust_app(authority: Authority, url: str) -> ASGIApp:
    """Return the page with the authority's certificate, and the way to the board at a URL."""
    page = (
        read_page("trust.html")
        .replace("{fingerprint}", escape(authority.fingerprint))
        .replace("{url}", escape(url))
    )

    async def explain(_request: Request) -> Response:
        return HTMLResponse(page)

    async def certificate(_request: Request) -> Response:
        name = {"Content-Disposition": 'attachment; filename="weaving-studio.crt"'}
        return Response(authority.der, media_type="application/x-x509-ca-cert", headers=name)

    style = [route for route in assets() if route.path in STYLE]
    return Starlette(
        routes=[Route("/", explain), Route("/weaving-studio.crt", certificate), *style]
    )
