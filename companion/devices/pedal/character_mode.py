"""A POSIX terminal that hands over every key at once, and is always put back as it was.

Restored on leaving, on an exception, on SIGTERM and SIGHUP, and while the program is stopped with
Ctrl-Z. Only SIGKILL cannot be caught: `stty sane` then mends the terminal.
"""

import atexit
import os
import signal
import sys
import threading
from types import FrameType
from typing import Any, Self

if sys.platform != "win32":
    import termios

    _LOCAL, _INPUT, _SPECIAL = 3, 0, 6  # places in the list of termios.tcgetattr
    _ENDING = (signal.SIGTERM, signal.SIGHUP)

    class CharacterMode:
        """A context in which the terminal at `descriptor` passes keys on as they come.

        Ctrl-C and Ctrl-Z keep their meaning. Enter it in the main thread, or the signals cannot
        be watched (the exit still restores).
        """

        def __init__(self, descriptor: int) -> None:
            self._descriptor = descriptor
            self._before: list[Any] | None = None
            self._handlers: dict[signal.Signals, Any] = {}

        def __enter__(self) -> Self:
            self._before = termios.tcgetattr(self._descriptor)
            atexit.register(self._restore)
            if threading.current_thread() is threading.main_thread():
                self._watch()
            self._apply()
            return self

        def __exit__(self, *_: object) -> None:
            self._restore()
            self._before = None
            for number, handler in self._handlers.items():
                signal.signal(number, handler)
            self._handlers.clear()
            atexit.unregister(self._restore)

        def _watch(self) -> None:
            for number in _ENDING:
                self._handlers[number] = signal.signal(number, self._on_end)
            self._handlers[signal.SIGTSTP] = signal.signal(signal.SIGTSTP, self._on_stop)
            self._handlers[signal.SIGCONT] = signal.signal(
                signal.SIGCONT, lambda _number, _frame: self._apply()
            )

        def _apply(self) -> None:
            if self._before is None or not self._is_in_front():
                return
            mode = [*self._before[:_SPECIAL], list(self._before[_SPECIAL])]
            mode[_LOCAL] &= ~(termios.ICANON | termios.ECHO | termios.IEXTEN)
            mode[_INPUT] &= ~termios.IXON  # a stray Ctrl-S must not freeze the screen
            mode[_SPECIAL][termios.VMIN], mode[_SPECIAL][termios.VTIME] = 1, 0
            # Flushed: what was typed before the walk began must not confirm an end.
            termios.tcsetattr(self._descriptor, termios.TCSAFLUSH, mode)

        def _restore(self) -> None:
            if self._before is None:
                return
            # A background process that sets the terminal is stopped unless it says otherwise.
            is_main = threading.current_thread() is threading.main_thread()
            ignored = signal.signal(signal.SIGTTOU, signal.SIG_IGN) if is_main else None
            try:
                termios.tcsetattr(self._descriptor, termios.TCSAFLUSH, self._before)
            except termios.error:
                pass  # the terminal itself is gone: nothing is left to restore
            finally:
                if is_main:
                    signal.signal(signal.SIGTTOU, ignored)

        def _is_in_front(self) -> bool:
            try:
                return os.tcgetpgrp(self._descriptor) == os.getpgrp()
            except OSError:
                return False

        def _on_end(self, number: int, frame: FrameType | None) -> None:
            """Restore, then let the signal do what it would have done without us."""
            self._restore()
            before = self._handlers.get(signal.Signals(number))
            if callable(before):
                before(number, frame)
            elif before != signal.SIG_IGN:
                signal.signal(number, signal.SIG_DFL)
                os.kill(os.getpid(), number)

        def _on_stop(self, number: int, frame: FrameType | None) -> None:  # noqa: ARG002 - signal API
            """Restore, then stop; execution goes on after the kill when the job is continued."""
            self._restore()
            signal.signal(signal.SIGTSTP, signal.SIG_DFL)
            os.kill(os.getpid(), signal.SIGTSTP)
            signal.signal(signal.SIGTSTP, self._on_stop)
            self._apply()
