"""The files of the pages: style sheets, scripts and the typeface."""

from collections.abc import Iterator
from importlib.resources import files
from itertools import chain
from typing import Any, Final

from starlette.requests import Request
from starlette.responses import FileResponse, Response
from starlette.routing import Route

from companion.out.paper.html_sheet import STYLE as SHEETS

BOARD_PAGES: Final = "companion.out.board"
SHEETS_STYLE: Final = "/sheets.css"
"""How the plan's sheets look."""
_TYPES: Final = {"css": "text/css", "js": "text/javascript"}
_FONTS: Final = ("AtkinsonHyperlegibleNext-Regular.ttf", "AtkinsonHyperlegibleNext-Bold.ttf")
STYLE: Final = frozenset(
    {"/palette.css", "/board.css", "/look.js", *(f"/{name}" for name in _FONTS)}
)
"""What every page needs, whoever looks at it."""


def read_page(name: str, package: str = BOARD_PAGES) -> str:
    """Return one of the pages as it is kept."""
    return files(package).joinpath("pages", name).read_text("utf-8")


def assets(*more: str) -> list[Route]:
    """Return the address of each file that a page may ask for, those of more packages too."""
    packages = (BOARD_PAGES, *more)
    answers = chain(*map(_of, packages), _media())
    return [Route(f"/{name}", answer, methods=["GET"]) for name, answer in answers]


def _of(package: str) -> Iterator[tuple[str, Any]]:
    for file in files(package).joinpath("pages").iterdir():
        kind = _TYPES.get(file.name.rpartition(".")[2])
        if kind:
            yield file.name, _fixed(file.read_bytes(), kind, "no-cache")


def _media() -> Iterator[tuple[str, Any]]:
    yield "silence.flac", _silence
    yield SHEETS_STYLE[1:], _fixed(SHEETS.encode(), "text/css", "no-cache")
    for name in _FONTS:
        font = files("companion.out.paper").joinpath("fonts", name)
        yield name, _fixed(font.read_bytes(), "font/ttf", "max-age=86400")


def _fixed(content: bytes, kind: str, kept: str) -> Response:
    return Response(content, media_type=kind, headers={"Cache-Control": kept})


async def _silence(_request: Request) -> Response:
    """Answer with the silent sound; some browsers ask for a part of it first."""
    silence = files(BOARD_PAGES).joinpath("pages", "silence.flac")
    return FileResponse(str(silence), media_type="audio/flac")
