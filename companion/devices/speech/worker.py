"""The child process that owns pyttsx3: it turns one text after another into sound files.

    python -m companion.devices.speech.worker

It reads one JSON object a line from standard input and answers each with one on standard output:

    {"id": 1, "text": "end 37", "rate": 160, "voice": "", "path": "/tmp/x/1.wav"}
    {"id": 1} or {"id": 1, "error": "..."} or {"id": 1, "unknown_voice": "..."}

Before the first it says {"id": 0, "engine": "..."} or {"id": 0, "error": "..."}. It ends when
standard input does. A process of its own, because the engine can hang for ever or die with its
native library, and because it prints.

What pyttsx3 2.99 on espeak-ng was measured to do, and what is done about it:

- `say` drops short utterances and cannot be stopped: only `save_to_file` is used, one text a run.
- A new speed is queued in espeak-ng, and the run that follows at once may throw it away: it is
  waited for until espeak-ng tells it.
- An unknown voice is only reported through its error event: that is heeded.
- Its end-of-utterance event says nothing of the file: the file itself must be whole.
"""

from __future__ import annotations

import json
import os
import queue
import sys
import threading
import time
from pathlib import Path
from typing import IO, TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Callable
from contextlib import suppress

SETTLE_SECONDS = 2.0
"""How long a new speed may take to be accepted."""
FILE_SECONDS = 10.0
"""How long a file may take to be whole after the run has returned."""
POLL_SECONDS = 0.0005
IDLE_RATE = 175
"""What espeak-ng tells as its speed while at rest, whatever it is set to."""


class Engine:
    """pyttsx3's engine, made to do what it is asked or to raise."""

    def __init__(self) -> None:
        import pyttsx3  # noqa: PLC0415 - native: only here, and late

        self._release = _release(Path(pyttsx3.__file__).parent)
        self._engine = pyttsx3.init()
        self._finished = threading.Event()
        self._error: object = None
        self._when_finished: Callable[[], None] | None = None
        self._engine.connect("finished-utterance", self._note_finished)
        self._engine.connect("error", self._note_error)
        # Until its first run the engine queues what is set, and that run then races with it.
        self._engine.runAndWait()
        self._own_voice = self._engine.getProperty("voice")
        self._voice = ""
        self._rate = 0

    @property
    def name(self) -> str:
        """Which engine this is; clips of another must not be mixed with its own."""
        return f"{self._release} {self._engine}{_espeak_version()}"

    def save(self, text: str, rate: int, voice: str, path: Path, tell: Callable[[], None]) -> None:
        """Write the text as speech to a file.

        Args:
            text: what to say.
            rate: words per minute.
            voice: by identifier, name or language; empty: the engine's own.
            path: the file to write.
            tell: called as soon as the file is whole, which is up to 10 ms before `runAndWait`
                returns, for that sleeps; it may be called from the driver's thread.

        Raises:
            LookupError: no such voice.
        """
        self._set_voice(voice)
        self._set_rate(rate)
        self._finished.clear()
        is_told = threading.Event()

        def tell_if_whole() -> None:
            if not is_told.is_set() and _is_whole(path):
                is_told.set()
                tell()

        self._when_finished = tell_if_whole
        self._engine.save_to_file(text, str(path))
        self._engine.runAndWait()
        # The next run may only begin when the driver's own thread has let go of this one.
        self._finished.wait(POLL_SECONDS * 100)
        self._when_finished = None
        if not is_told.is_set():
            _wait(lambda: _is_whole(path), FILE_SECONDS, "the speech file stayed incomplete")
            tell_if_whole()

    def _set_voice(self, voice: str) -> None:
        if voice == self._voice:
            return
        self._error = None
        self._engine.setProperty("voice", self._identifier(voice))
        if self._error is not None:
            raise LookupError(voice)
        self._voice = voice

    def _identifier(self, voice: str) -> str:
        """Return the engine's own identifier of a voice given by it, by name or by language."""
        if not voice:
            return str(self._own_voice)
        wanted = voice.casefold()
        for known in self._engine.getProperty("voices"):
            names = (known.id, known.id.rpartition("/")[2], known.name, *known.languages)
            if wanted in {name.casefold() for name in names}:
                return str(known.id)
        return voice

    def _set_rate(self, rate: int) -> None:
        if rate == self._rate:
            return
        self._rate = 0
        distinct = rate + 1 if rate == IDLE_RATE else rate
        self._engine.setProperty("rate", distinct)
        _wait(
            lambda: self._engine.getProperty("rate") == distinct,
            SETTLE_SECONDS,
            f"a speed of {rate} was not accepted",
        )
        self._rate = rate

    def _note_finished(self, **_: object) -> None:
        when_finished = self._when_finished
        try:
            if when_finished is not None:
                when_finished()
        finally:
            self._finished.set()

    def _note_error(self, exception: object = None, **_: object) -> None:
        self._error = exception


def serve(jobs: IO[str], answers: IO[str]) -> None:
    """Answer jobs until they end."""
    lines: queue.SimpleQueue[str] = queue.SimpleQueue()
    threading.Thread(target=_read, args=(jobs, lines), daemon=True).start()
    try:
        engine = Engine()
    except Exception as error:  # noqa: BLE001 - whatever the native engine raises is the answer
        _answer(answers, {"id": 0, "error": _said(error)})
        return
    _answer(answers, {"id": 0, "engine": engine.name})
    while True:
        _serve(engine, json.loads(lines.get()), answers)


def _serve(engine: Engine, job: dict[str, Any], answers: IO[str]) -> None:
    identifier = job["id"]

    def tell() -> None:
        _answer(answers, {"id": identifier})

    try:
        engine.save(job["text"], job["rate"], job["voice"], Path(job["path"]), tell)
    except LookupError as error:
        _answer(answers, {"id": identifier, "unknown_voice": str(error)})
    except Exception as error:  # noqa: BLE001 - as above
        _answer(answers, {"id": identifier, "error": _said(error)})


def _read(jobs: IO[str], lines: queue.SimpleQueue[str]) -> None:
    """Pass jobs on, and end the process with its parent even while the engine hangs.

    A parent that was killed cannot tidy up, so its last file, and the folder if that was all in
    it, are taken away here.
    """
    last = ""
    for line in jobs:
        last = line
        lines.put(line)
    if last:
        path = Path(json.loads(last)["path"])
        with suppress(OSError):
            path.unlink(missing_ok=True)
            path.parent.rmdir()
    os._exit(0)


def _answer(answers: IO[str], content: dict[str, object]) -> None:
    answers.write(json.dumps(content) + "\n")
    answers.flush()


def _said(error: Exception) -> str:
    return " ".join(str(error).split()) or type(error).__name__


def _wait(is_true: Callable[[], bool], seconds: float, otherwise: str) -> None:
    end = time.monotonic() + seconds
    while not is_true():
        if time.monotonic() > end:
            raise TimeoutError(otherwise)
        time.sleep(POLL_SECONDS)


def _is_whole(path: Path) -> bool:
    """Tell whether a RIFF or AIFF file has all the bytes that its header counts."""
    try:
        content = path.read_bytes()
    except OSError:
        return False
    count = content[4:8]
    counted = int.from_bytes(count[::-1] if content[:4] == b"RIFF" else count)
    return len(content) >= 8 + max(counted, 1)


def _release(package: Path) -> str:
    """Return "pyttsx3 2.99" by the name of its record, for reading the record costs 30 ms."""
    for record in package.parent.glob(f"{package.name}-*.dist-info"):
        return record.stem.replace("-", " ")
    return package.name


def _espeak_version() -> str:
    driver = sys.modules.get("pyttsx3.drivers._espeak")
    if driver is None:
        return ""
    return f" {driver.Info(None).decode(errors='replace')}"


def main() -> None:
    """Keep the pipe to the parent for answers; whatever libraries print goes nowhere."""
    answers = os.fdopen(os.dup(sys.stdout.fileno()), "w", encoding="utf-8")
    jobs = os.fdopen(os.dup(sys.stdin.fileno()), encoding="utf-8")
    nowhere = os.open(os.devnull, os.O_RDWR)
    for standard in (0, 1):
        os.dup2(nowhere, standard)
    serve(jobs, answers)


if __name__ == "__main__":
    main()
