"""The files of the pages: style sheets, scripts and the typeface."""

from importlib.resources import files
from typing import Final

from starlette.requests import Request
from starlette.responses import FileResponse, Response
from starlette.routing import Route

from companion.out.paper.font import BOLD, FOLDER, REGULAR
from companion.out.paper.html_sheet import STYLE as SHEETS

BOARD_PAGES: Final = "companion.out.board"
SHEETS_STYLE: Final = f"/{SHEETS.name}"
"""How the plan's sheets look."""
_KINDS: Final = {
    "css": ("text/css", "no-cache"),
    "js": ("text/javascript", "no-cache"),
    "ttf": ("font/ttf", "max-age=86400"),
}
"""By the ending of a name what its file is, and how long a browser may keep it."""
STYLE: Final = frozenset(
    {"/palette.css", "/board.css", "/look.js", f"/{REGULAR.name}", f"/{BOLD.name}"}
)
"""What every page needs, whoever looks at it."""


def read_page(name: str, package: str = BOARD_PAGES) -> str:
    """Return one of the pages as it is kept."""
    return files(package).joinpath("pages", name).read_text("utf-8")


def assets(*more: str) -> list[Route]:
    """Return the address of each file that a page may ask for, those of more packages too."""
    pages = (files(each).joinpath("pages") for each in (BOARD_PAGES, *more))
    found = [SHEETS, *(file for folder in (*pages, FOLDER) for file in folder.iterdir())]
    fixed = {f"/{each.name}": each.read_bytes() for each in found if _kind(each.name) in _KINDS}
    answers = {path: _fixed(path, content) for path, content in fixed.items()}
    silence = Route("/silence.flac", _silence, methods=["GET"])
    return [silence, *(Route(path, each, methods=["GET"]) for path, each in answers.items())]


def _kind(name: str) -> str:
    return name.rpartition(".")[2]


def _fixed(path: str, content: bytes) -> Response:
    kind, kept = _KINDS[_kind(path)]
    return Response(content, media_type=kind, headers={"Cache-Control": kept})


async def _silence(_request: Request) -> Response:
    """Answer with the silent sound; some browsers ask for a part of it first."""
    silence = files(BOARD_PAGES).joinpath("pages", "silence.flac")
    return FileResponse(str(silence), media_type="audio/flac")
