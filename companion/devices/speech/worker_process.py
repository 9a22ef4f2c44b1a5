"""The parent's end of the speech worker: start it, ask it, end it."""

import json
import os
import queue
import subprocess
import threading
from collections.abc import Sequence
from contextlib import suppress
from typing import Any

START_SECONDS = 30.0
"""How long the worker may take to load; a tenth of a second or one, by the engine, is usual."""


class WorkerError(Exception):
    """The worker did not do what it was asked."""


class UnknownVoiceError(WorkerError):
    """The engine has no voice of that name; asking again would not help."""


class Worker:
    """One child process, started by a command, and the pipes to it."""

    def __init__(self, command: Sequence[str]) -> None:
        # A session of its own: Ctrl-C at the terminal is for the walk to handle, not for the voice.
        self._process = subprocess.Popen(  # noqa: S603 - our own module
            command,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
            encoding="utf-8",
            start_new_session=os.name == "posix",
            creationflags=getattr(subprocess, "CREATE_NO_WINDOW", 0),
        )
        self._answers: queue.SimpleQueue[str | None] = queue.SimpleQueue()
        self._last = 0
        self.engine = ""
        threading.Thread(target=self._listen, name="speech-answers", daemon=True).start()

    def wait_ready(self) -> None:
        """Wait until the engine's name is known; WorkerError if it takes too long."""
        if not self.engine:
            self.engine = str(self._answer(0, START_SECONDS).get("engine", "unnamed"))

    def ask(self, job: dict[str, Any], seconds: float) -> None:
        """Have one job done in so many seconds, or raise WorkerError; the first waits longer."""
        self.wait_ready()
        if not self._last:
            self._answer(0, START_SECONDS)
        self._last += 1
        pipe = self._process.stdin
        try:
            if pipe is not None:
                pipe.write(json.dumps({"id": self._last, **job}) + "\n")
                pipe.flush()
        except OSError:
            raise WorkerError("the speech engine has stopped") from None
        self._answer(self._last, seconds)

    def end(self) -> None:
        """Kill the process and let its pipes go."""
        self._process.kill()
        self._process.wait()
        for pipe in (self._process.stdin, self._process.stdout):
            if pipe is not None:
                with suppress(OSError):  # an unsent job dies with its pipe
                    pipe.close()

    def _answer(self, identifier: int, seconds: float) -> dict[str, Any]:
        try:
            line = self._answers.get(timeout=seconds)
        except queue.Empty:
            raise WorkerError(f"the speech engine gave no answer in {seconds:g} seconds") from None
        if line is None:
            raise WorkerError("the speech engine has stopped")
        try:
            answer = dict(json.loads(line))
        except ValueError:
            raise WorkerError("the speech engine answered out of turn") from None
        if "unknown_voice" in answer:
            raise UnknownVoiceError(str(answer["unknown_voice"]))
        if "error" in answer:
            raise WorkerError(str(answer["error"]))
        if answer.get("id") != identifier:
            raise WorkerError("the speech engine answered out of turn")
        return answer

    def _listen(self) -> None:
        pipe = self._process.stdout
        with suppress(OSError, ValueError):  # closed under us by `end`
            for line in pipe or ():
                self._answers.put(line)
        self._answers.put(None)
