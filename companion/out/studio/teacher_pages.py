"""The teacher's pages, and what they have done; the guard lets nobody else here."""

from __future__ import annotations

import asyncio
from collections.abc import Sequence
from datetime import date, datetime
from html import escape
from itertools import islice
from typing import TYPE_CHECKING, Any, Final

from starlette.applications import Starlette
from starlette.responses import HTMLResponse, JSONResponse, RedirectResponse, Response
from starlette.routing import BaseRoute, Route

from companion.base.errors import CompanionError
from companion.base.text import capital, listed
from companion.out.board import qr
from companion.out.board.app import LoomPages, MakerPages
from companion.out.board.assets import assets, read_page
from companion.out.board.forms import form_of
from companion.out.board.pair_page import PairPage
from companion.out.board.pairing import CODE_SECONDS
from companion.out.board.reach import TEACHER
from companion.out.board.reach import told as told_reach
from companion.out.log import log_lines
from companion.out.studio.day import DaysWork, work_of
from companion.out.studio.doings import do
from companion.out.studio.studio import SHARED, Studio
from companion.record import Journal
from companion.wording import studio as wording

if TYPE_CHECKING:
    from starlette.requests import Request
    from starlette.types import ASGIApp

    from companion.out.board.serving import Network
    from companion.out.studio.standing import Standing

_PACKAGE: Final = "companion.out.studio"
_TO_MAKER: Final = '<p><a href="/new">Make a new plan</a></p>\n'
_MOST_LINES: Final = 2000
_NO_NETWORK: Final = "Start the studio with --network to have devices beside this one."


class TeacherPages:
    """Shows all looms, and does with them what is asked for."""

    def __init__(self, studio: Studio) -> None:
        self._studio = studio
        self.network: Network | None = None
        """Where other devices come in; None where the studio is this machine's alone."""

    def app(self) -> ASGIApp:
        """Return every page of the studio; each door to them has a guard of its own."""
        own_page = read_page("board.html").replace(_TO_MAKER, "")
        looms = LoomPages(self._studio.find, own_page)
        desk = LoomPages(lambda _key: self._studio.desk, read_page("looms.html", _PACKAGE))
        pairing = PairPage(self._studio.tell)
        maker = MakerPages(self._studio.plans)
        return Starlette(
            routes=[
                Route("/", self.front),
                *looms.routes("/loom/{loom}"),
                *self.routes(),
                *desk.routes("/looms"),
                *pairing.routes(),
                *maker.routes("/looms"),
                *assets(_PACKAGE),
            ],
            exception_handlers={CompanionError: _fault},
        )

    def routes(self) -> list[BaseRoute]:
        """Return the addresses of what belongs to the teacher alone."""
        return [
            Route("/looms/choices", self.choices),
            Route("/looms/do", self.do, methods=["POST"]),
            Route("/looms/code", self.code, methods=["POST"]),
            Route("/looms/codes/", self.codes, methods=["POST"]),
            Route("/looms/devices/", self.devices),
            Route("/looms/devices/", self.forget, methods=["POST"]),
            Route("/looms/day/", self.day),
            Route("/looms/history/{loom}/", self.history),
        ]

    async def front(self, request: Request) -> Response:
        """Lead each device to its own."""
        reach = request.state.reach
        if reach == TEACHER:
            return RedirectResponse("/looms/", 303)
        there = self._studio.find(reach) is not None
        return RedirectResponse(f"/loom/{reach}/" if there else "/pair", 303)

    async def choices(self, _request: Request) -> Response:
        """Return what can be begun: plans, sessions, and looms by name."""
        unfinished = await asyncio.to_thread(self._studio.unfinished)
        return JSONResponse(
            {
                "plans": self._studio.names(),
                "sessions": unfinished,
                "shared": await asyncio.to_thread(self._shared),
                "looms": [each.name for each in self._studio.looms()],
            }
        )

    def _shared(self) -> list[tuple[str, str]]:
        """Return the sessions of other servers, each with what it is called in the list."""
        sharing = self._studio.sharing
        found = sharing.sessions() if sharing else []
        return [(f"{SHARED}{name}", f"{title}, from {server}") for name, title, server in found]

    async def do(self, request: Request) -> Response:
        """Do one thing with one loom; answers with a line that is shown."""
        form = await form_of(request)
        return _line(await asyncio.to_thread(do, self._studio, form))

    async def code(self, request: Request) -> Response:
        """Return a code for a device of one loom, or of the teacher, and its QR code."""
        form = await form_of(request)
        if self.network is None:
            raise CompanionError(_NO_NETWORK)
        reach = form.get("loom", "") or TEACHER
        if reach != TEACHER and self._studio.find(reach) is None:
            raise CompanionError("There is no such loom.")
        pairing = self.network.pairing
        offer = pairing.offer(reach) or pairing.held(reach)
        if offer is None:
            raise CompanionError("No code can be made just now. Try again.")
        url = self.network.url
        told = {"code": offer.code, "url": url, "minutes": round(CODE_SECONDS / 60)}
        return JSONResponse({**told, "qr": qr.svg(f"{url}#{offer.token}")})

    async def codes(self, _request: Request) -> Response:
        """Return a sheet to print: a QR code for every loom."""
        if self.network is None:
            raise CompanionError(_NO_NETWORK)
        url, pairing = self.network.url, self.network.pairing
        cards = "".join(
            f'<section class="card"><h2>{escape(capital(each.name))}</h2>'
            f"{qr.svg(f'{url}#{pairing.offer_to_print(each.key).token}')}</section>"
            for each in self._studio.looms()
        )
        return _page(
            "Codes for the looms", f"{_HOW_TO_SCAN}{escape(self.network.trust_url)}</p>{cards}"
        )

    async def devices(self, _request: Request) -> Response:
        """Return the devices that are paired, each with a way to shut it out."""
        tablets = self.network.pairing.tablets if self.network else None
        found = tablets.all() if tablets else ()
        rows = "".join(
            f'<li><form method="post"><span>{escape(each.name)}, '
            f"{escape(told_reach(each.reach)) or 'a single board'}</span> "
            f'<button name="name" value="{escape(each.name)}">Shut out '
            f'<span class="heard-only">{escape(each.name)}</span></button></form></li>'
            for each in found
        )
        none = "<p>No device is paired.</p>" if self.network else f"<p>{_NO_NETWORK}</p>"
        return _page("Devices", f"<ul class='plain'>{rows}</ul>" if rows else none)

    async def forget(self, request: Request) -> Response:
        """Shut a device out at once."""
        form = await form_of(request)
        tablets = self.network.pairing.tablets if self.network else None
        if tablets is not None and form.get("name"):
            await asyncio.to_thread(tablets.forget, form["name"])
        return RedirectResponse("/looms/devices/", 303)

    async def day(self, request: Request) -> Response:
        """Return a summary of a day, to be printed; today where none is named."""
        try:
            day = date.fromisoformat(request.query_params.get("on", ""))
        except ValueError:
            day = datetime.now().astimezone().date()
        body = await asyncio.to_thread(summary, self._studio, day)
        return _page(f"The day, {day.isoformat()}", body)

    async def history(self, request: Request) -> Response:
        """Return all that was done in the session walked at a loom last, the newest first."""
        loom = self._studio.loom(request.path_params["loom"])
        body = await asyncio.to_thread(_history, loom.session)
        return _page(f"{capital(loom.name)}: what was done", body)


_HOW_TO_SCAN: Final = (
    '<p class="hint">Each code pairs one device with its loom, once, within twelve hours. The '
    "device must trust the studio first; how: "
)


async def _fault(request: Request, error: Exception) -> Response:
    """Answer with the line that tells why something cannot be shown or done."""
    return _line(str(error), 404 if request.method == "GET" else 422)


def _line(text: str, status: int = 200) -> Response:
    return Response(text + "\n", status, media_type="text/plain")


def _page(title: str, body: str) -> Response:
    page = read_page("sheet.html", _PACKAGE)
    return HTMLResponse(page.replace("{title}", escape(title)).replace("{body}", body))


def summary(studio: Studio, day: date) -> str:
    """Return what a sheet tells of a day: what was done here and at the school's other servers."""
    looms = {each.standing.session: each.name for each in studio.looms() if each.standing.session}
    here = [_card(done, looms.get(done.session, "")) for done in work_of(studio.journals, day)]
    fault, there = "", []
    if studio.sharing is not None:
        try:
            there = [_card(done) for done in studio.sharing.worked(day)]
        except CompanionError:
            fault = f'<p class="fault">{wording.NOT_REACHED}</p>'
    done = "".join((*here, *there)) or "<p>Nothing was walked that day.</p>"
    return done + fault + _elsewhere(studio.others())


def _card(done: DaysWork, loom: str = "") -> str:
    where = loom or (f"at {listed(done.servers)}" if done.servers else "")
    title = ": ".join(filter(None, (capital(where), done.title or done.session)))
    rows = "".join(f"<li><time>{time}</time> {escape(told)}</li>" for time, told in done.happened)
    told = escape(done.told) if done.first else ""
    fault = f'<p class="fault">{escape(done.fault)}</p>' if done.fault else ""
    session = "" if done.servers else f'<p class="hint">Session {escape(done.session)}</p>'
    return (
        f'<section class="card"><h2>{escape(title)}</h2>'
        f"<p>{told}</p>{f'<ul>{rows}</ul>' if rows else ''}{fault}{session}</section>"
    )


def _elsewhere(others: Sequence[Standing]) -> str:
    told = sorted(
        ": ".join((capital(each.name), ", ".join(filter(None, _told_of(each))))) for each in others
    )
    rows = "".join(f"<li>{escape(each)}</li>" for each in told)
    return (
        f'<section class="card"><h2>{wording.OTHER_SERVERS}</h2><ul>{rows}</ul></section>'
        if told
        else ""
    )


def _told_of(loom: Standing) -> tuple[str, ...]:
    return loom.weaver, loom.title, loom.place or loom.condition


def _history(session: Any) -> str:
    if session is None:
        return "<p>Nothing was walked here yet.</p>"
    with Journal.open(session, read_only=True) as journal:
        number = journal.last_entry()
        first = max(0, (number.number if number else 0) - _MOST_LINES)
        entries = list(islice(journal.entries(after=first), _MOST_LINES))
        title = f"<p>{escape(journal.title)}, session {escape(journal.id)}.</p>"
    lines = ("<br>".join(escape(line) for line in log_lines(each)) for each in reversed(entries))
    return title + "<ol class='plain'>" + "".join(f"<li>{line}</li>" for line in lines) + "</ol>"
