"""The page on which a tablet's code is typed, or handed over by a QR code."""

from html import escape

from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response
from starlette.routing import BaseRoute, Route

from companion.base.errors import CompanionError
from companion.base.lines import Tell
from companion.out.board.assets import read_page
from companion.out.board.forms import form_of
from companion.out.board.guard import address_of
from companion.out.board.pairing import TRIES, WAIT_SECONDS, Offer, Pairing
from companion.out.board.reach import TEACHER
from companion.out.board.tablets import KEPT_SECONDS, Tablets


class PairPage:
    """Asks for the code, judges it, marks the browser, and tells the weaver at the loom."""

    def __init__(self, notice: Tell) -> None:
        self._notice = notice
        self._page = read_page("pair.html")

    def routes(self) -> list[BaseRoute]:
        """Return the addresses of the page."""
        return [Route("/pair", self.ask), Route("/pair", self.judge, methods=["POST"])]

    async def ask(self, request: Request) -> Response:
        """Ask for the code; a new one is told at the loom where none holds."""
        return self._asked(request.state.pairing, "", 200)

    async def judge(self, request: Request) -> Response:
        """Judge a typed code; a right one marks this browser."""
        pairing: Pairing = request.state.pairing
        form = await form_of(request)
        address = address_of(request)
        judged = pairing.judge(form.get("code", ""), address)
        if isinstance(judged, Offer):
            return self._right(pairing, judged, form.get("name", ""))
        if judged == "wait":
            wait = f"Too many wrong codes. Wait {WAIT_SECONDS:.0f} seconds, then type it again."
            return self._asked(pairing, wait, 429)
        if judged == "closed":
            self._notice(f"{TRIES} wrong codes came from {address}, to pair a tablet.")
        wrong = "That is not the code. Type the newest."
        return self._asked(pairing, wrong, 403)

    def _right(self, pairing: Pairing, offer: Offer, name: str) -> Response:
        if pairing.tablets is None:
            return RedirectResponse("/", 303)
        try:
            return _let_in(pairing.tablets, name, offer.reach)
        except CompanionError as error:
            return self._asked(pairing, str(error), 500)

    def _asked(self, pairing: Pairing, fault: str, status: int) -> Response:
        offer = pairing.offer()
        if offer:
            self._notice(told_code(offer))
        told = f'<p id="fault" role="alert" class="fault">{escape(fault)}</p>' if fault else ""
        about = ' aria-invalid="true" aria-describedby="fault"' if fault else ""
        page = self._page.replace("{fault}", told).replace("{about}", about)
        return HTMLResponse(page, status)


def _let_in(tablets: Tablets, name: str, reach: str) -> Response:
    answer = RedirectResponse("/", 303)
    answer.set_cookie(
        tablets.cookie,
        tablets.pair(name, reach),
        max_age=KEPT_SECONDS,
        secure=True,
        httponly=True,
        samesite="strict",
    )
    return answer


def told_code(offer: Offer) -> str:
    """Return what is said at the loom about a new code."""
    whom = "a teacher's device, which reaches every loom" if offer.reach == TEACHER else "a tablet"
    return f"To pair {whom}, type there: {' '.join(offer.code)}"
