"""Signals that end a program, let through only where nothing is left half done by them."""

import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType
from typing import Self


class Interrupts:
    """Lets a signal interrupt only where we wait, or where it comes a second time.

    Raised anywhere, the exception can leave a lock held that closing an input, or ending a walk,
    then waits for.
    """

    def __init__(self) -> None:
        self._is_waiting = self._is_due = False

    @classmethod
    @contextmanager
    def of_signals(cls) -> Iterator[Self]:
        """Have the signals that end a program come here meanwhile; elsewhere than main, none do."""
        interrupts = cls()
        if threading.current_thread() is not threading.main_thread():
            yield interrupts
            return
        names = [name for name in ("SIGTERM", "SIGHUP") if hasattr(signal, name)]
        if signal.getsignal(signal.SIGINT) is signal.default_int_handler:
            names.append("SIGINT")
        before = {name: signal.signal(getattr(signal, name), interrupts.come) for name in names}
        try:
            yield interrupts
        finally:
            for name, handler in before.items():
                signal.signal(getattr(signal, name), handler)

    def come(self, _number: int, _frame: FrameType | None) -> None:
        """Handle a signal."""
        if self._is_waiting or self._is_due:
            raise KeyboardInterrupt
        self._is_due = True

    @contextmanager
    def waiting(self) -> Iterator[None]:
        """Let what has come, and what comes meanwhile, interrupt."""
        self._is_waiting = True
        try:
            if self._is_due:
                raise KeyboardInterrupt
            yield
        finally:
            self._is_waiting = False
