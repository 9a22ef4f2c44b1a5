"""The paired tablets of this machine: each until its time is over or it is forgotten."""

import hmac
import secrets
import time
from collections.abc import Callable
from hashlib import sha256
from pathlib import Path
from typing import Annotated, Final

from filelock import FileLock
from pydantic import Field, ValidationError

from companion.base import files
from companion.base.errors import CompanionError
from companion.out.board.reach import BOARD
from companion.out.board.strict import Strict

TABLETS_FILE: Final = "tablets.json"
KEPT_SECONDS: Final = 180 * 24 * 3600
"""How long a tablet stays paired."""
MOST_TABLETS: Final = 100
"""At one more, the tablet paired longest ago is forgotten."""
_MOST_BYTES: Final = 200_000
_LOCK_SECONDS: Final = 10.0
_NAME_LENGTH: Final = 40


class Tablet(Strict):
    """A browser that has typed the code."""

    name: Annotated[str, Field(min_length=1, max_length=_NAME_LENGTH)]
    """What it is called in lists; no two have the same."""
    mark: Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]
    """SHA-256 of what the browser keeps, so that the file alone opens nothing."""
    paired_at: float
    """Seconds since 1970."""
    reach: Annotated[str, Field(max_length=_NAME_LENGTH)] = BOARD
    """The key of its loom, or that of all; see `reach`."""

    @property
    def ends_at(self) -> float:
        """When it is to be paired anew."""
        return self.paired_at + KEPT_SECONDS


class _Kept(Strict):
    server: Annotated[str, Field(pattern=r"^[0-9a-f]{8}$")]
    """Names the cookie: browsers give all servers of one address the same cookies."""
    tablets: tuple[Tablet, ...] = ()


class Tablets:
    """Reads the file, made at once, anew whenever another process has changed it.

    Raises CompanionError where the file cannot be read or made, or is not ours.
    """

    def __init__(self, path: Path, clock: Callable[[], float] = time.time) -> None:
        self._path = path
        self._clock = clock
        self._read_at: tuple[int, int] | None = None
        self._kept = _Kept(server=secrets.token_hex(4))
        if not path.exists():
            self._change(lambda kept: kept)
        self._read()

    @property
    def cookie(self) -> str:
        """The name of the cookie in which a tablet keeps its mark."""
        return f"companion-{self._kept.server}"

    def all(self) -> tuple[Tablet, ...]:
        """Return the tablets that are paired now, in the order of their pairing."""
        self._read()
        now = self._clock()
        return tuple(each for each in self._kept.tablets if now < each.ends_at)

    def pair(self, name: str = "", reach: str = BOARD) -> str:
        """Take in a tablet by a name, or a number; return the mark it is to keep."""
        mark = secrets.token_hex(32)

        def with_one_more(kept: _Kept) -> _Kept:
            now = self._clock()
            present = [each for each in kept.tablets if now < each.ends_at]
            taken = {each.name for each in present}
            own = _free(name, taken)
            new = Tablet(name=own, mark=_hashed(mark), paired_at=now, reach=reach)
            return _Kept(server=kept.server, tablets=(*present, new)[-MOST_TABLETS:])

        self._change(with_one_more)
        return mark

    def find(self, mark: str) -> Tablet | None:
        """Return the tablet that keeps this mark, where it is paired."""
        hashed = _hashed(mark)
        found = [each for each in self.all() if hmac.compare_digest(each.mark, hashed)]
        return found[0] if found else None

    def forget(self, name: str | None) -> int:
        """Unpair the tablet of this name, or all where it is None; return how many that were."""
        names = {each.name for each in self.all() if name in {None, each.name}}

        def without(kept: _Kept) -> _Kept:
            stay = tuple(each for each in kept.tablets if each.name not in names)
            return _Kept(server=kept.server, tablets=stay)

        self._change(without)
        return len(names)

    def _read(self) -> None:
        try:
            found = self._path.stat()
            if self._read_at == (found.st_ino, found.st_mtime_ns):
                return
            with self._path.open("rb") as file:
                self._kept = _Kept.model_validate_json(file.read(_MOST_BYTES))
        except FileNotFoundError:
            self._kept, self._read_at = _Kept(server=self._kept.server), None
        except OSError as error:
            raise self._unusable(error) from None
        except ValidationError:
            raise CompanionError(
                f"{self._path} should hold the paired tablets and is damaged. Delete it; every "
                "tablet is then paired anew."
            ) from None
        else:
            self._read_at = found.st_ino, found.st_mtime_ns

    def _change(self, changed: Callable[[_Kept], _Kept]) -> None:
        try:
            files.make_folder(self._path.parent)
            with FileLock(f"{self._path}.lock", timeout=_LOCK_SECONDS):
                self._read()
                text = changed(self._kept).model_dump_json()
                files.replace(self._path, text.encode(), mode=0o600)
        except OSError as error:
            raise self._unusable(error) from None
        self._read()

    def _unusable(self, error: OSError) -> CompanionError:
        return CompanionError(
            f"{self._path} cannot be used: {error.strerror or error}. Mend that, or leave "
            "--network out."
        )


def _hashed(mark: str) -> str:
    return sha256(mark.encode("utf-8", "replace")).hexdigest()


def _free(name: str, taken: set[str]) -> str:
    """Return a name that can be shown anywhere and is nobody else's."""
    shown = " ".join("".join(each if each.isprintable() else " " for each in name).split())
    wanted = shown[: _NAME_LENGTH - 4].strip()
    numbered = (f"{wanted or 'tablet'} {number}" for number in range(1, MOST_TABLETS + 2))
    return wanted if wanted and wanted not in taken else next(n for n in numbered if n not in taken)
