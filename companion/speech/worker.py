"""The child process that owns pyttsx3: it turns one text after another into sound files.

    python -m companion.speech.worker

It reads one JSON object a line from standard input and answers each with one on standard output:

    {"id": 1, "text": "end 37", "rate": 160, "voice": "", "path": "/tmp/x/1.wav"}
    {"id": 1} or {"id": 1, "error": "..."} or {"id": 1, "unknown_voice": "..."}

Before the first it says {"id": 0, "engine": "..."} or {"id": 0, "error": "..."}. It ends when
standard input does. A process of its own, because the engine can hang for ever or die with its
native library, and because it prints.

What pyttsx3 2.99 on espeak-ng was measured to do, and what is done about it:

- `say` drops short utterances and cannot be stopped: only `save_to_file` is used, one text a run.
- A new speed is queued in espeak-ng and thrown away by the run that follows at once (93 of 200):
  it is waited for, and checked again after the run.
- An unknown voice is only reported through its error event: that is heeded.
- Its end-of-utterance event is not the end of the file: the file itself must be whole.
"""

from __future__ import annotations

import json
import os
import queue
import sys
import threading
import time
from importlib.metadata import version
from pathlib import Path
from typing import IO, Any

SETTLE_SECONDS = 2.0
"""How long a new speed may take to be accepted."""
FILE_SECONDS = 10.0
"""How long a file may take to be whole after the run has returned."""
POLL_SECONDS = 0.0005


class Engine:
    """pyttsx3's engine, made to do what it is asked or to raise."""

    def __init__(self) -> None:
        import pyttsx3  # noqa: PLC0415 - native: only here, and late

        self._engine = pyttsx3.init()
        self._finished = threading.Event()
        self._error: object = None
        self._engine.connect("finished-utterance", self._note_finished)
        self._engine.connect("error", self._note_error)
        # Until its first run the engine queues what is set, and that run then races with it.
        self._engine.runAndWait()
        self._own_voice = self._engine.getProperty("voice")
        self._voice = ""

    @property
    def name(self) -> str:
        """Which engine this is; clips of another must not be mixed with its own."""
        return f"pyttsx3 {version('pyttsx3')} {self._engine}{_espeak_version()}"

    def save(self, text: str, rate: int, voice: str, path: Path) -> None:
        """Write the text as speech to a file; return when the file is whole."""
        self._set_voice(voice)
        self._set_rate(rate)
        self._finished.clear()
        self._engine.save_to_file(text, str(path))
        self._engine.runAndWait()
        _wait(lambda: _is_whole(path), FILE_SECONDS, "the speech file stayed incomplete")
        # The next run may only begin when the driver's own thread has let go of this one.
        self._finished.wait(POLL_SECONDS * 100)
        if self._engine.getProperty("rate") != rate:
            raise RuntimeError("the speed was lost on the way")

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
        if self._engine.getProperty("rate") == rate:
            return
        self._engine.setProperty("rate", rate)
        _wait(
            lambda: self._engine.getProperty("rate") == rate,
            SETTLE_SECONDS,
            f"a speed of {rate} was not accepted",
        )

    def _note_finished(self, **_: object) -> None:
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
        job = json.loads(lines.get())
        _answer(answers, {"id": job.pop("id"), **_done(engine, job)})


def _done(engine: Engine, job: dict[str, Any]) -> dict[str, str]:
    try:
        engine.save(job["text"], job["rate"], job["voice"], Path(job["path"]))
    except LookupError as error:
        return {"unknown_voice": str(error)}
    except Exception as error:  # noqa: BLE001 - as above
        return {"error": _said(error)}
    return {}


def _read(jobs: IO[str], lines: queue.SimpleQueue[str]) -> None:
    """Pass jobs on, and end the process with its parent even while the engine hangs."""
    for line in jobs:
        lines.put(line)
    os._exit(0)


def _answer(answers: IO[str], content: dict[str, object]) -> None:
    answers.write(json.dumps(content) + "\n")
    answers.flush()


def _said(error: Exception) -> str:
    return " ".join(str(error).split()) or type(error).__name__


def _wait(is_true: Any, seconds: float, otherwise: str) -> None:
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
