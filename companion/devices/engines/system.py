"""The system's own voice, through pyttsx3.

What pyttsx3 2.99 on espeak-ng was measured to do, and what is done about it:

- `say` drops short utterances and cannot be stopped: only `save_to_file` is used, one text a run.
- A new speed is queued in espeak-ng, and the run that follows at once may throw it away: it is
  waited for until espeak-ng tells it.
- An unknown voice is only reported through its error event: that is heeded.
- Its end-of-utterance event says nothing of the file: the file itself must be whole.
"""

import sys
import threading
import time
from collections.abc import Callable
from pathlib import Path

SETTLE_SECONDS = 2.0
"""How long a new speed may take to be accepted."""
FILE_SECONDS = 10.0
"""How long a file may take to be whole after the run has returned."""
POLL_SECONDS = 0.0005
IDLE_RATE = 175
"""What espeak-ng tells as its speed while at rest, whatever it is set to."""


class SystemEngine:
    """pyttsx3's engine, made to do what it is asked or to raise."""

    def __init__(self) -> None:
        import pyttsx3  # noqa: PLC0415 - native: only here, and late

        self._release = release(Path(pyttsx3.__file__).parent, "pyttsx3")
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

    def load(self) -> None:
        """Nothing more: its release is only known once it is loaded."""

    def save(self, text: str, rate: int, voice: str, path: Path, tell: Callable[[], None]) -> None:
        """Write the text as speech to a file; LookupError for a voice there is not.

        `tell` comes up to 10 ms before `runAndWait` returns, for that sleeps, and may come from
        the driver's thread.
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


def _espeak_version() -> str:
    driver = sys.modules.get("pyttsx3.drivers._espeak")
    if driver is None:
        return ""
    return f" {driver.Info(None).decode(errors='replace')}"


def release(package: Path, distribution: str) -> str:
    """Return a name such as "pyttsx3 2.99", for a package's folder and the name it is installed by.

    By the name of its record, for reading the record costs 30 ms.
    """
    for record in package.parent.glob(f"{distribution}-*.dist-info"):
        return record.stem.replace("-", " ")
    return distribution
