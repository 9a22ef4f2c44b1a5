"""The way to the school's database: its address, its password, a connection."""

from __future__ import annotations

import os
import stat
from typing import TYPE_CHECKING, Any, Final
from urllib.parse import urlsplit

from companion.base import home
from companion.base.errors import CompanionError

if TYPE_CHECKING:
    from psycopg import Connection

PASSWORD_VARIABLE: Final = "COMPANION_SHARED_PASSWORD"  # noqa: S105 - a name
PASSWORD_FILE: Final = "shared-password"  # noqa: S105 - a name
_CONNECT_SECONDS: Final = 5
_STATEMENT_MS: Final = 15_000
_SCHEMES: Final = ("postgresql", "postgres")


def check_address(url: str) -> str:
    """Return the address of a database; CompanionError where it holds a password, or is none."""
    try:
        import psycopg  # noqa: F401, PLC0415 - optional, and slow to load
    except ImportError:
        raise CompanionError(
            "A shared record needs psycopg, and it is not installed. Run: sh setup.sh"
        ) from None
    try:
        parts = urlsplit(url)
        is_open = parts.password is not None or "password=" in parts.query
    except ValueError:
        parts, is_open = urlsplit(""), False
    if parts.scheme not in _SCHEMES:
        raise CompanionError(
            f"Expected an address such as postgresql://weaver@server/school, not {url!r:.60}."
        )
    if is_open:
        raise CompanionError(
            "Expected no password on the command line, where everybody on this machine can read "
            f"it. Put it into {home.config() / PASSWORD_FILE}, readable by you alone (chmod 600), "
            f"or into {PASSWORD_VARIABLE}."
        )
    return url


def password() -> str | None:
    """Return the password set by environment or file, if any; CompanionError if others see it."""
    given = os.environ.get(PASSWORD_VARIABLE)
    if given is not None:
        return given
    path = home.config() / PASSWORD_FILE
    try:
        with path.open(encoding="utf-8") as file:
            is_open = os.name == "posix" and stat.S_IMODE(os.fstat(file.fileno()).st_mode) & 0o077
            text = file.readline().rstrip("\r\n")
    except FileNotFoundError:
        return None
    except (OSError, UnicodeDecodeError) as error:
        raise CompanionError(f"{path} cannot be read: {error}.") from None
    if is_open:
        raise CompanionError(f"{path} can be read by others. Make it yours alone: chmod 600 {path}")
    return text


def connect(url: str, secret: str | None) -> Connection[Any]:
    """Return a connection that commits each statement and has time limits, or psycopg.Error."""
    import psycopg  # noqa: PLC0415 - optional, and slow to load
    from psycopg.conninfo import make_conninfo  # noqa: PLC0415

    return psycopg.connect(
        url if secret is None else make_conninfo(url, password=secret),
        autocommit=True,
        connect_timeout=_CONNECT_SECONDS,
        application_name="companion",
        options=f"-c statement_timeout={_STATEMENT_MS}",
        tcp_user_timeout=_STATEMENT_MS,
    )
