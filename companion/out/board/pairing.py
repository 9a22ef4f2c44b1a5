"""Who may use the board from the studio network: whoever has typed a code once."""

from __future__ import annotations

import hmac
import secrets
import time
from base64 import b32encode
from collections import OrderedDict
from typing import TYPE_CHECKING, Final, Literal, NamedTuple

from companion.base.errors import CompanionError

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from companion.out.board.tablets import Tablet, Tablets

TRIES: Final = 5
"""Wrong codes from one address until a wait."""
WAIT_SECONDS: Final = 60.0
CODE_SECONDS: Final = 600.0
"""How long a code can be typed."""
MOST_WRONG: Final = 100
"""Wrong codes from all addresses together after which a code is void: one in ten thousand guesses
it until then."""
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


def new_offer() -> Offer:
    """Return a code and a token that nobody can foresee."""
    token = b32encode(secrets.token_bytes(_TOKEN_BYTES)).decode().rstrip("=")
    return Offer(f"{secrets.randbelow(10**_DIGITS):0{_DIGITS}}", token[:_TOKEN_LENGTH])


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
    """

    def __init__(
        self, tablets: Tablets | None, clock: Callable[[], float] = time.monotonic
    ) -> None:
        self.tablets = tablets
        self._clock = clock
        self._offer: Offer | None = None
        self._void_at = float("-inf")
        self._wrong = 0
        self._guesses: OrderedDict[str, _Guesses] = OrderedDict()

    def offer(self) -> Offer | None:
        """Return a new code, to be told at the loom; None where the one before still holds."""
        if self.tablets is None or self.present is not None:
            return None
        self._offer, self._wrong = new_offer(), 0
        self._void_at = self._clock() + CODE_SECONDS
        return self._offer

    @property
    def present(self) -> Offer | None:
        """The code that holds now."""
        return self._offer if self._clock() < self._void_at else None

    def judge(self, typed: str, address: str) -> Literal["right", "wrong", "closed", "wait"]:
        """Say whether a typed code is the one, and use it up where it is.

        "closed" is a wrong code that was one too many; from then on the address has to wait.
        """
        guesses = self._guesses.pop(address, _Guesses())
        now = self._clock()
        if now < guesses.closed_until:
            self._remember(address, guesses)
            return "wait"
        if self.present is not None and _is_one_of(typed, self.present):
            self._offer = None
            return "right"
        return self._missed(address, guesses.wrong + 1)

    def admits(self, cookies: Mapping[str, str]) -> bool:
        """Whether a browser with these cookies may look on and steer."""
        return self.tablets is None or self.find(cookies.get(self.tablets.cookie, "")) is not None

    def find(self, mark: str) -> Tablet | None:
        """Return the tablet that keeps this mark, where it is paired."""
        if self.tablets is None:
            return None
        try:
            return self.tablets.find(mark)
        except CompanionError:  # a list that cannot be read lets nobody in
            return None

    def _missed(self, address: str, wrong: int) -> Literal["wrong", "closed"]:
        self._wrong += 1
        if self._wrong >= MOST_WRONG:
            self._offer = None
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
    is_code = hmac.compare_digest(digits.encode(), offer.code.encode())
    is_token = hmac.compare_digest(typed.encode("utf-8", "replace"), offer.token.encode())
    return is_code or is_token
