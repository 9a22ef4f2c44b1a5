"""Who may use the board from the studio network: whoever has typed a code once."""

import hmac
import secrets
import time
from base64 import b32encode
from collections import OrderedDict
from collections.abc import Callable, Mapping
from typing import Final, Literal, NamedTuple

from companion.base.errors import CompanionError
from companion.out.board.reach import BOARD, may_reach
from companion.out.board.tablets import Tablet, Tablets

TRIES: Final = 5
"""Wrong codes from one address until a wait."""
WAIT_SECONDS: Final = 60.0
CODE_SECONDS: Final = 600.0
"""How long a code can be typed."""
MOST_WRONG: Final = 100
"""Wrong codes from all addresses together after which a code is void: one in ten thousand guesses
it until then. With several codes at once it is as many fewer."""
PRINTED_SECONDS: Final = 12 * 3600.0
"""How long a printed code can be read by a camera."""
_OFFERS_KEPT: Final = 200
_ADDRESSES_KEPT: Final = 1000
_DIGITS: Final = 6
_TOKEN_BYTES: Final = 8
_TOKEN_LENGTH: Final = 12


class Offer(NamedTuple):
    """What pairs one tablet, by either of two ways."""

    code: str
    """To be said and typed: six digits."""
    token: str
    """To be handed over by a QR code: twelve letters and digits (RFC 4648, base32)."""
    reach: str = BOARD
    """What the tablet may open then."""


def new_offer(reach: str = BOARD) -> Offer:
    """Return a code and a token that nobody can foresee."""
    token = b32encode(secrets.token_bytes(_TOKEN_BYTES)).decode().rstrip("=")
    return Offer(f"{secrets.randbelow(10**_DIGITS):0{_DIGITS}}", token[:_TOKEN_LENGTH], reach)


class _Guesses(NamedTuple):
    wrong: int = 0
    closed_until: float = float("-inf")


class Pairing:
    """Judges codes and the marks of paired tablets.

    A code pairs one tablet, and only for a while; whoever opens the page for pairing later has a
    new one made, which is shown and said at the loom.

    Args:
        tablets: who is paired; None lets everyone in, which only loopback may.
        clock: seconds that never step back.
        reach: of the codes that are made for whoever opens the page for pairing.
    """

    def __init__(
        self,
        tablets: Tablets | None,
        clock: Callable[[], float] = time.monotonic,
        reach: str = BOARD,
    ) -> None:
        self.tablets = tablets
        self._clock = clock
        self._reach = reach
        self._offers: dict[str, tuple[Offer, float]] = {}
        """By their token, each with the time from which on it is void."""
        self._wrong = 0
        self._guesses: OrderedDict[str, _Guesses] = OrderedDict()

    def offer(self, reach: str | None = None) -> Offer | None:
        """Return a new code, to be told at the loom; None where the one before still holds."""
        wanted = self._reach if reach is None else reach
        if self.tablets is None or self.held(wanted) is not None:
            return None
        self._wrong = 0
        return self._kept(new_offer(wanted), CODE_SECONDS)

    def offer_to_print(self, reach: str) -> Offer:
        """Return what pairs one tablet for the rest of the day, by its QR code alone."""
        return self._kept(new_offer(reach)._replace(code=""), PRINTED_SECONDS)

    def _kept(self, offer: Offer, seconds: float) -> Offer:
        self._offers[offer.token] = offer, self._clock() + seconds
        while len(self._offers) > _OFFERS_KEPT:
            del self._offers[next(iter(self._offers))]
        return offer

    def held(self, reach: str) -> Offer | None:
        """Return the code of this reach that can be typed now."""
        return next((each for each in self._present() if each.code and each.reach == reach), None)

    def _present(self) -> list[Offer]:
        now = self._clock()
        self._offers = {token: kept for token, kept in self._offers.items() if now < kept[1]}
        return [offer for offer, _ in self._offers.values()]

    def judge(self, typed: str, address: str) -> Offer | Literal["wrong", "closed", "wait"]:
        """Return the offer that a typed code is of, and use it up; or why there is none.

        "closed" is a wrong code that was one too many; from then on the address has to wait.
        """
        guesses = self._guesses.pop(address, _Guesses())
        now = self._clock()
        if now < guesses.closed_until:
            self._remember(address, guesses)
            return "wait"
        found = [each for each in self._present() if _is_one_of(typed, each)]
        if found:
            del self._offers[found[0].token]
            return found[0]
        return self._missed(address, guesses.wrong + 1)

    def admits(self, cookies: Mapping[str, str], path: str) -> bool:
        """Whether a browser with these cookies may open an address."""
        if self.tablets is None:
            return True
        tablet = self.find(cookies)
        return tablet is not None and may_reach(tablet.reach, path)

    def find(self, cookies: Mapping[str, str]) -> Tablet | None:
        """Return the tablet with these cookies, where it is paired."""
        if self.tablets is None:
            return None
        try:
            return self.tablets.find(cookies.get(self.tablets.cookie, ""))
        except CompanionError:  # a list that cannot be read lets nobody in
            return None

    def _missed(self, address: str, wrong: int) -> Literal["wrong", "closed"]:
        self._wrong += 1
        typed = [each.token for each in self._present() if each.code]
        if self._wrong * len(typed) >= MOST_WRONG:
            for token in typed:
                del self._offers[token]
        if wrong < TRIES:
            self._remember(address, _Guesses(wrong))
            return "wrong"
        self._remember(address, _Guesses(0, self._clock() + WAIT_SECONDS))
        return "closed"

    def _remember(self, address: str, guesses: _Guesses) -> None:
        self._guesses[address] = guesses
        while len(self._guesses) > _ADDRESSES_KEPT:
            self._guesses.popitem(last=False)


def _is_one_of(typed: str, offer: Offer) -> bool:
    digits = "".join(mark for mark in typed if mark.isdigit())
    is_code = bool(digits) and hmac.compare_digest(digits.encode(), offer.code.encode())
    is_token = hmac.compare_digest(typed.encode("utf-8", "replace"), offer.token.encode())
    return is_code or is_token
