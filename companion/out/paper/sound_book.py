"""A book of chapters into one sound file: WAV, FLAC or MP3."""

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import NamedTuple

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


def write_book(
    path: Path, title: str, chapters: Iterable[Chapter], clips: ClipSource, words_per_minute: int
) -> Book:
    """Write a book and, beside it, the list of its chapters as text.

    The file, .wav, .flac or .mp3, appears under its name only once it is whole.

    Raises:
        AudioError: a file exists already or cannot be written, or a library is missing.
        SpeechError: a line could not be made into sound.
    """
    contents, suffix = path.with_suffix(".txt"), path.suffix.lower()
    for file in (path, contents):
        check_free(file)
    try:
        with replacing(path) as part:
            marks, seconds = _spoken(part, suffix, chapters, clips, words_per_minute)
            if suffix == ".flac":
                mark_flac(part, title, marks)
            elif suffix == ".mp3":
                mark_mp3(part, title, marks, seconds)
            write_new(contents, chapter_list(marks))
    except OSError as error:
        raise AudioError(f"{path} cannot be written: {error.strerror}.") from None
    return Book(seconds, marks, contents)


def _spoken(
    path: Path, suffix: str, chapters: Iterable[Chapter], clips: ClipSource, words_per_minute: int
) -> tuple[tuple[Mark, ...], float]:
    writer = WavWriter(path, RATE) if suffix == ".wav" else Encoder(path, suffix)
    marks: list[Mark] = []
    try:
        writer.write(silence(LEAD_SECONDS, RATE))
        for chapter in chapters:
            marks.append(Mark(writer.frames / RATE, chapter.title))
            if isinstance(writer, WavWriter):
                writer.label(chapter.title)
            for part in chapter.parts:
                writer.write(resampled(clips.clip(part.line, words_per_minute), RATE))
                writer.write(silence(part.pause_seconds, RATE))
    finally:
        writer.close()
    return tuple(marks), writer.frames / RATE


class Encoder:
    """Writes mono FLAC or MP3 by libsndfile; AudioError where it or the file cannot be had."""

    def __init__(self, path: Path, suffix: str) -> None:
        try:
            import mutagen  # noqa: F401, PLC0415 - wanted at the end: told before the work begins
            import soundfile  # noqa: PLC0415 - native: loaded only where a book is wanted
        except (ImportError, OSError):
            raise AudioError(
                f"Writing {suffix} needs the packages soundfile and mutagen. "
                "Install them, or name a .wav file."
            ) from None
        self.frames = 0
        self._path = path
        self._error = soundfile.LibsndfileError
        with self._told():
            self._file = soundfile.SoundFile(path, "w", RATE, channels=1, format=suffix[1:])

    def write(self, clip: Clip) -> None:
        """Append a clip."""
        with self._told():
            self._file.write(clip.samples)
        self.frames += clip.frames

    def close(self) -> None:
        """Finish the file."""
        self._file.close()

    @contextmanager
    def _told(self) -> Iterator[None]:
        try:
            yield
        except self._error as error:
            raise AudioError(f"{self._path}: the sound file cannot be written: {error}") from None
