"""Who may use the board from the studio network: whoever has typed the code once."""

from __future__ import annotations

import hmac
import os
import secrets
import time
from hashlib import sha256
from typing import TYPE_CHECKING, Final, Literal

from companion.base.errors import CompanionError

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

COOKIE: Final = "companion-board"
TRIES: Final = 5
"""Wrong codes, from all devices together, until a wait."""
WAIT_SECONDS: Final = 60.0
KEPT_SECONDS: Final = 180 * 24 * 3600
"""How long a tablet stays paired."""
_SECRET_BYTES: Final = 32
_DIGITS: Final = 6


def new_code() -> str:
    """Return a code of six digits that nobody can foresee."""
    return f"{secrets.randbelow(10**_DIGITS):0{_DIGITS}}"


def kept_secret(path: Path) -> bytes:
    """Return the secret that marks this machine's paired tablets, made the first time.

    Raises:
        CompanionError: the file cannot be read or made, or is not ours.
    """
    try:
        if not path.exists():
            path.parent.mkdir(parents=True, exist_ok=True)
            made = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
            with os.fdopen(made, "wb") as file:
                file.write(secrets.token_bytes(_SECRET_BYTES))
        secret = path.read_bytes()
    except OSError as error:
        raise CompanionError(
            f"{path} cannot be used: {error.strerror}. Mend that, or leave --network out."
        ) from None
    if len(secret) != _SECRET_BYTES:
        raise CompanionError(
            f"{path} should hold {_SECRET_BYTES} bytes, not {len(secret)}. Delete it; every tablet "
            "is then paired anew."
        )
    return secret


class Pairing:
    """Judges codes and the marks of paired tablets.

    Args:
        code: what is to be typed; None lets everyone in, which only loopback may.
        secret: signs the marks, so that they hold when the companion is started again.
        clock: seconds that never step back.
    """

    def __init__(
        self,
        code: str | None,
        secret: bytes = b"",
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self._code = code
        self._secret = secret
        self._clock = clock
        self._wrong = 0
        self._closed_until = float("-inf")

    @property
    def is_needed(self) -> bool:
        """Whether a browser must be paired at all."""
        return self._code is not None

    @property
    def is_closed(self) -> bool:
        """Whether no code is looked at just now, for too many were wrong."""
        return self._clock() < self._closed_until

    def judge(self, typed: str) -> Literal["right", "wrong", "wait"]:
        """Say whether a typed code is the one; while too many were wrong, none is looked at."""
        if self.is_closed:
            return "wait"
        digits = "".join(mark for mark in typed if mark.isdigit())
        if self._code is not None and hmac.compare_digest(digits.encode(), self._code.encode()):
            self._wrong = 0
            return "right"
        self._wrong += 1
        if self._wrong >= TRIES:
            self._wrong = 0
            self._closed_until = self._clock() + WAIT_SECONDS
        return "wrong"

    def mark(self) -> str:
        """Return what a newly paired tablet keeps as its cookie."""
        name = secrets.token_hex(16)
        return f"{name}.{self._signature(name)}"

    def knows(self, mark: str) -> bool:
        """Say whether a cookie is a mark of ours."""
        name, _, signature = mark.partition(".")
        return hmac.compare_digest(signature.encode(), self._signature(name).encode())

    def _signature(self, name: str) -> str:
        return hmac.new(self._secret, name.encode(), sha256).hexdigest()
