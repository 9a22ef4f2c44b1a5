"""Commands that begin at once, in a pseudo-terminal."""

from __future__ import annotations

import os
import subprocess
import termios
from contextlib import suppress
from typing import TYPE_CHECKING, Any

import pexpect
from pexpect.pty_spawn import ptyprocess
from warm_start import WarmProcess

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence


class WarmTerminal(pexpect.spawn):  # type: ignore[misc]
    """A command that has begun in a pseudo-terminal, which controls it as a shell's does."""

    def _spawnpty(
        self,
        args: Sequence[bytes],
        *,
        env: Mapping[str, str],
        dimensions: tuple[int, int],
        **_: Any,
    ) -> _Pty:
        ours, theirs = os.openpty()
        termios.tcsetwinsize(theirs, dimensions)
        process = WarmProcess([os.fsdecode(each) for each in args[1:]], env, [theirs] * 3)
        os.close(theirs)
        return _Pty(process, ours)


class _Pty(ptyprocess.PtyProcess):  # type: ignore[misc]
    """The terminal of a command that is a child of another process, which tells of its end."""

    def __init__(self, process: WarmProcess, terminal: int) -> None:
        super().__init__(process.pid, terminal)
        self.exitstatus: int | None = None
        self.signalstatus: int | None = None
        self.process = process

    def isalive(self) -> bool:
        """Say whether it runs; once its output has ended, wait for its end."""
        with suppress(subprocess.TimeoutExpired):
            self._note(self.process.wait(None if self.flag_eof else 0))
        return not self.terminated

    def wait(self) -> int | None:
        """Wait for its end and return its code, None where a signal ended it."""
        self._note(self.process.wait())
        return self.exitstatus

    def _note(self, code: int) -> None:
        self.terminated = True
        self.exitstatus, self.signalstatus = (code, None) if code >= 0 else (None, -code)
