"""A book of chapters into one sound file: WAV, FLAC or MP3."""

from collections.abc import Iterable
from pathlib import Path
from typing import NamedTuple, Protocol

from companion.base.errors import AudioError
from companion.base.files import check_free, replacing, write_new
from companion.devices.audio.clip import Clip, resampled, silence
from companion.devices.audio.wav import WavWriter
from companion.devices.speech.voice import ClipSource
from companion.out.paper.book import Chapter
from companion.out.paper.marks import Mark, chapter_list, mark_flac, mark_mp3

RATE = 22050
"""Samples per second; espeak-ng's own."""
LEAD_SECONDS = 0.5
"""Silence before the first word, which a player that wakes may swallow."""


class Book(NamedTuple):
    """A book that was written."""

    seconds: float
    marks: tuple[Mark, ...]
    contents: Path
    """The text file beside the sound, which lists the chapters."""


class SoundWriter(Protocol):
    """Takes mono 16-bit sound at `RATE`."""

    def write(self, clip: Clip) -> None:
        """Append a clip."""

    def close(self) -> None:
        """Finish the file; doing it twice does no harm."""


def write_book(
    path: Path,
    title: str,
    chapters: Iterable[Chapter],
    clips: ClipSource,
    words_per_minute: int,
) -> Book:
    """Write a book and, beside it, the list of its chapters as text.

    The file, .wav, .flac or .mp3, appears under its name only once it is whole.

    Raises:
        AudioError: a file exists already or cannot be written, or a library is missing.
        SpeechError: a line could not be made into sound.
    """
    contents = path.with_suffix(".txt")
    for file in (path, contents):
        check_free(file)
    try:
        with replacing(path) as part:
            marks, seconds = _spoken(part, path.suffix.lower(), chapters, clips, words_per_minute)
            _mark(part, path.suffix.lower(), title, marks, seconds)
            write_new(contents, chapter_list(marks))
    except OSError as error:
        raise AudioError(f"{path} cannot be written: {error.strerror}.") from None
    return Book(seconds, marks, contents)


def _spoken(
    path: Path,
    suffix: str,
    chapters: Iterable[Chapter],
    clips: ClipSource,
    words_per_minute: int,
) -> tuple[tuple[Mark, ...], float]:
    wav = WavWriter(path, RATE) if suffix == ".wav" else None
    writer: SoundWriter = wav or Encoder(path, suffix)
    marks: list[Mark] = []
    frames = 0

    def put(clip: Clip) -> None:
        nonlocal frames
        writer.write(clip)
        frames += clip.frames

    try:
        put(silence(LEAD_SECONDS, RATE))
        for chapter in chapters:
            marks.append(Mark(frames / RATE, chapter.title))
            if wav is not None:
                wav.label(chapter.title)
            for part in chapter.parts:
                put(resampled(clips.clip(part.line, words_per_minute), RATE))
                put(silence(part.pause_seconds, RATE))
    finally:
        writer.close()
    return tuple(marks), frames / RATE


class Encoder:
    """Writes FLAC or MP3 by libsndfile; AudioError where it or the file cannot be had."""

    def __init__(self, path: Path, suffix: str) -> None:
        try:
            import mutagen  # noqa: F401, PLC0415 - wanted at the end: told before the work begins
            import soundfile  # noqa: PLC0415 - native: loaded only where a book is wanted
        except (ImportError, OSError):
            raise AudioError(
                f"Writing {suffix} needs the packages soundfile and mutagen. "
                "Install them, or name a .wav file."
            ) from None
        form, subtype = {".flac": ("FLAC", "PCM_16"), ".mp3": ("MP3", "MPEG_LAYER_III")}[suffix]
        self._path = path
        self._error = soundfile.LibsndfileError
        try:
            self._file = soundfile.SoundFile(
                path, "w", samplerate=RATE, channels=1, format=form, subtype=subtype
            )
        except self._error as error:
            raise self._unwritable(error) from None

    def write(self, clip: Clip) -> None:
        """Append a clip."""
        try:
            self._file.write(clip.samples)
        except self._error as error:
            raise self._unwritable(error) from None

    def close(self) -> None:
        """Finish the file."""
        self._file.close()

    def _unwritable(self, error: Exception) -> AudioError:
        return AudioError(f"{self._path}: the sound file cannot be written: {error}")


def _mark(path: Path, suffix: str, title: str, marks: tuple[Mark, ...], seconds: float) -> None:
    if suffix == ".flac":
        mark_flac(path, title, marks)
    elif suffix == ".mp3":
        mark_mp3(path, title, marks, seconds)
