"""The child process that makes speech: it turns one text after another into sound files.

    python companion/devices/engines/worker.py system

It reads one JSON object a line from standard input and answers each with one on standard output:

    {"id": 1, "text": "end 37", "rate": 160, "voice": "", "path": "/tmp/x/1.wav"}
    {"id": 1} or {"id": 1, "error": "..."} or {"id": 1, "unknown_voice": "..."}

Before the first it says {"id": 0, "engine": "..."} or {"id": 0, "error": "..."}, and then, once
all is loaded, {"id": 0}. It ends when standard input does. A process of its own, because an engine
can hang for ever or die with its native library, and because it prints.
"""

import json
import os
import queue
import sys
import threading
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import IO, Any, Protocol


class Engine(Protocol):
    """Turns text into sound files."""

    @property
    def name(self) -> str:
        """Which engine this is, with all of its releases that its sound depends on."""

    def load(self) -> None:
        """Load what takes long, if that is not done yet; called once the name is told."""

    def save(self, text: str, rate: int, voice: str, path: Path, tell: Callable[[], None]) -> None:
        """Write the text as speech to a file; LookupError for a voice there is not.

        Args:
            text: what to say.
            rate: words per minute.
            voice: by identifier, name or language; empty: the engine's own.
            path: the file to write.
            tell: called as soon as the file is whole, from any thread.
        """


def serve(name: str, jobs: IO[str], answers: IO[str]) -> None:
    """Answer jobs until they end."""
    lines: queue.SimpleQueue[str] = queue.SimpleQueue()
    threading.Thread(target=_read, args=(jobs, lines), daemon=True).start()
    try:
        engine = _engine(name)
    except Exception as error:  # noqa: BLE001 - whatever the native engine raises is the answer
        _answer(answers, {"id": 0, "error": _said(error)})
        return
    _answer(answers, {"id": 0, "engine": engine.name})
    with suppress(Exception):  # the first text that is asked for meets it again
        engine.load()
    _answer(answers, {"id": 0})
    while True:
        _serve(engine, json.loads(lines.get()), answers)


def _engine(name: str) -> Engine:
    if name == "natural":
        from companion.devices.engines.natural import NaturalEngine  # noqa: PLC0415 - one is loaded

        return NaturalEngine()
    from companion.devices.engines.system import SystemEngine  # noqa: PLC0415 - as above

    return SystemEngine()


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


def main() -> None:
    """Keep the pipe to the parent for answers; whatever libraries print goes nowhere."""
    answers = os.fdopen(os.dup(sys.stdout.fileno()), "w", encoding="utf-8")
    jobs = os.fdopen(os.dup(sys.stdin.fileno()), encoding="utf-8")
    nowhere = os.open(os.devnull, os.O_RDWR)
    for standard in (0, 1):
        os.dup2(nowhere, standard)
    # Started by its path, so that nothing of ours loads but what it needs.
    sys.path.insert(0, str(Path(__file__).parents[3]))
    serve(sys.argv[1], jobs, answers)


if __name__ == "__main__":
    main()
