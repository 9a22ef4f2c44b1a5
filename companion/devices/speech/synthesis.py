"""Text to a clip, whatever the speech engine does: hang, die, or say nothing."""

import shutil
import subprocess
import sys
import threading
from array import array
from collections.abc import Sequence
from pathlib import Path
from typing import Literal

from companion.base.errors import AudioError, SpeechError
from companion.base.lines import Tell
from companion.devices import engines
from companion.devices.audio import wav
from companion.devices.audio.backoff import Backoff
from companion.devices.audio.clip import SAMPLE_BYTES, Clip
from companion.devices.held_folder import HeldFolder
from companion.devices.speech.worker_process import UnknownVoiceError, Worker, WorkerError

WORKER = (sys.executable, "-P", str(Path(engines.__file__).with_name("worker.py")))
PREFIX = "companion-voice-"
EngineName = Literal["natural", "system"]
TEXT_SECONDS = 8.0
"""How long one text may take; some 10 ms are usual."""
ATTEMPTS = 2
EMPTY_RATE = 22050


class Synthesiser:
    """Makes clips of speech by one engine, one at a time; any thread may ask.

    The worker is started again when it hangs, dies or makes a clip that cannot be right. Where
    pyttsx3 fails for good, the `espeak-ng` command serves, if it is there.

    Args:
        engine: "natural", or "system" for the system's own voices by pyttsx3.
        voice: a voice by name or language; empty: the engine's own.
        report: told when that voice is not there.
        command: how to start the worker; the engine is added to it.
        text_seconds: how long one text may take.
        is_spare: start the worker when it is first needed, not at once.
    """

    def __init__(
        self,
        engine: EngineName,
        voice: str,
        report: Tell,
        *,
        command: Sequence[str] = WORKER,
        text_seconds: float = TEXT_SECONDS,
        is_spare: bool = False,
    ) -> None:
        self.engine = engine
        self.voice = voice
        self._report = report
        self._command = (*command, engine)
        self._text_seconds = text_seconds
        self._lock = threading.Lock()
        self._backoff = Backoff()
        self._fault = ""
        self._folder: HeldFolder | None = None
        self._worker = None if is_spare else Worker(self._command)
        self._is_closed = False

    def check(self) -> str:
        """Wait until the engine is loaded and return its name; SpeechError if none can be."""
        with self._lock:
            if self._backoff.is_due:
                try:
                    return self._ready().engine
                except WorkerError as fault:
                    self._fault = str(fault)
                    self._backoff.note_failure()
                    self._drop_worker()
            if self._espeak() is None:
                raise self._error()
            return "espeak-ng command"

    def make(self, text: str, words_per_minute: int) -> Clip:
        """Return the text as speech, empty for nothing to pronounce; else SpeechError."""
        plain = " ".join(text.replace("\0", " ").split())
        if not any(character.isalnum() for character in plain):
            return Clip(b"", EMPTY_RATE)
        with self._lock:
            if self._backoff.is_due:
                clip = self._by_worker(plain, words_per_minute)
                if clip is not None:
                    return clip
            return self._by_command(plain, words_per_minute)

    def close(self) -> None:
        """End the worker; doing it twice does no harm."""
        with self._lock:
            self._is_closed = True
            self._drop_worker()
            if self._folder is not None:
                self._folder.cleanup()

    def _by_worker(self, text: str, words_per_minute: int) -> Clip | None:
        for _ in range(ATTEMPTS):
            try:
                clip = self._attempt(text, words_per_minute)
            except UnknownVoiceError:
                self._report(
                    f"No voice here is called {self.voice!r}; the usual voice speaks instead."
                )
                self.voice = ""
            except WorkerError as fault:
                self._fault = str(fault)
                self._drop_worker()
            else:
                self._backoff.note_success()
                return clip
        self._backoff.note_failure()
        return None

    def _attempt(self, text: str, words_per_minute: int) -> Clip:
        path = self._path("clip")
        path.unlink(missing_ok=True)
        job = {"text": text, "rate": words_per_minute, "voice": self.voice, "path": str(path)}
        self._ready().ask(job, self._text_seconds + len(text) / 100)
        return checked(path, text, words_per_minute)

    def _by_command(self, text: str, words_per_minute: int) -> Clip:
        espeak = self._espeak()
        if espeak is None or self._is_closed:
            raise self._error()
        path = self._path("clip.wav")
        choice = ["-v", self.voice] if self.voice else []
        command = [espeak, *choice, "-s", str(words_per_minute), "-w", str(path), "--stdin"]
        try:
            subprocess.run(  # noqa: S603 - the text goes in by pipe, not by the command line
                command, input=text.encode(), check=True, capture_output=True, timeout=TEXT_SECONDS
            )
            return checked(path, text, words_per_minute)
        except (OSError, subprocess.SubprocessError, WorkerError) as error:
            self._fault = f"espeak-ng: {error}"
            raise self._error() from None

    def _espeak(self) -> str | None:
        return shutil.which("espeak-ng") if self.engine == "system" else None

    def _path(self, name: str) -> Path:
        """Return where a file is made; the folder is not there before the first one."""
        if self._folder is None:
            self._folder = HeldFolder(PREFIX)
        return self._folder.path / name

    def _ready(self) -> Worker:
        if self._is_closed:
            raise WorkerError("the voice is closed")
        if self._worker is None:
            self._worker = Worker(self._command)
        self._worker.wait_ready()
        return self._worker

    def _drop_worker(self) -> None:
        if self._worker is not None:
            self._worker.end()
            self._worker = None

    def _error(self) -> SpeechError:
        if self.engine == "natural":
            return SpeechError(f"The natural voice does not speak: {self._fault}.")
        return SpeechError(f"No speech: {self._fault}. {_advice()}")


def _advice() -> str:
    if sys.platform.startswith("linux"):
        return "Install the speech engine: apt-get install espeak-ng"
    return "Check that the system's own speech works, then start again"


MIN_PEAK = 800
"""A spoken clip is louder than this somewhere (of 32767); espeak-ng's reach 16000."""
LETTERS_A_WORD = 5


def checked(path: Path, text: str, words_per_minute: int) -> Clip:
    """Return the clip in a file, or raise if it cannot be the text spoken."""
    try:
        clip = _read(path)
    except (AudioError, OSError, OverflowError) as error:
        raise WorkerError(f"the speech file cannot be read: {error}") from None
    if clip.peak < MIN_PEAK:
        raise WorkerError("the speech engine made a silent clip")
    spoken = sum(character.isalnum() for character in text)
    usual_seconds = spoken / LETTERS_A_WORD * 60 / words_per_minute
    # Words average five letters; a quarter of that is nobody's speech. Digits take far longer.
    if not usual_seconds / 4 <= clip.seconds <= 3 + 20 * usual_seconds:
        raise WorkerError(f"the speech engine made {clip.seconds:.2f} s of {text[:40]!r}")
    return clip


def _read(path: Path) -> Clip:
    content = path.read_bytes()
    return _aiff(content) if content[:4] == b"FORM" else wav.read(path)


def _aiff(content: bytes) -> Clip:
    """Read what the macOS driver writes; tried on files of Python's `aifc`, never on a Mac."""
    chunks = wav.chunks_of(content, ">")
    layout, pcm = chunks.get(b"COMM", b""), chunks.get(b"SSND", b"")[8:]
    # An 80-bit float: exponent in two bytes, then the mantissa.
    exponent = int.from_bytes(layout[8:10], "big") - 16383 - 63
    rate = round(int.from_bytes(layout[10:18], "big") * 2.0**exponent)
    samples = array("h", pcm[: len(pcm) // SAMPLE_BYTES * SAMPLE_BYTES])
    if layout[18:22] != b"sowt":
        samples.byteswap()
    return Clip(samples.tobytes(), rate or 22050)
