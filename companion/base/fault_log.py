"""A small file of what went wrong, so that a fault can be reported; it turns over when full."""

from __future__ import annotations

import logging
import sys
import threading
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Final

from companion.base import home
from companion.base.clean import clean_text
from companion.base.files import make_folder

if TYPE_CHECKING:
    from logging.handlers import RotatingFileHandler

_BYTES: Final = 200_000
"""The file is put away at this size, in place of the one put away before."""
_FORM: Final = "%(asctime)s %(levelname)s %(name)s: %(message)s"


def path() -> Path:
    """Return where the file is, or will be once there is something to write."""
    return home.data() / "faults.log"


def begin() -> None:
    """Write what the companion's modules log from now on, and what ends a thread of it."""
    log = logging.getLogger("companion")
    log.setLevel(logging.INFO)
    log.propagate = False
    log.addHandler(_Late())
    threading.excepthook = _thread_ended


def told(error: BaseException) -> str:
    """Log an error that nobody foresaw, and return what to tell of it."""
    logging.getLogger(__name__).error("not foreseen", exc_info=error)
    line = f"Something went wrong inside the companion ({type(error).__name__}: {error})."
    return f"{line} The details are in {path()}." if path().is_file() else line


def _thread_ended(args: threading.ExceptHookArgs) -> None:
    if args.exc_value is not None:
        sys.stderr.write(f"{told(args.exc_value)}\n")


class _Cleaned(logging.Formatter):
    """Lets nothing through that acts in a terminal."""

    def format(self, record: logging.LogRecord) -> str:
        return clean_text(super().format(record))


class _Late(logging.Handler):
    """Opens the file with the first line; where that cannot be written, nothing else suffers."""

    @cached_property
    def _file(self) -> RotatingFileHandler:
        from logging.handlers import RotatingFileHandler  # noqa: PLC0415 - most walks need none

        make_folder(path().parent)
        file = RotatingFileHandler(path(), maxBytes=_BYTES, backupCount=1, encoding="utf-8")
        file.setFormatter(_Cleaned(_FORM))
        file.handleError = self.handleError  # type: ignore[method-assign]
        return file

    def emit(self, record: logging.LogRecord) -> None:
        try:
            self._file.emit(record)
        except OSError:
            self.handleError(record)

    def handleError(self, record: logging.LogRecord) -> None:  # noqa: N802 - logging's own name
        """Go on without the line."""
