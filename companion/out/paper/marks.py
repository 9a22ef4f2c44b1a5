"""Chapter marks in sound files, for players that jump from chapter to chapter.

MP3: the frames CHAP and CTOC of "ID3v2 Chapter Frame Addendum 1.0" (id3.org, 2005). FLAC: the
comments CHAPTERxxx and CHAPTERxxxNAME of Xiph.Org's "Chapter Extension" for Vorbis comments. WAV
has its cue points from `companion.devices.audio.wav`.
"""

from collections.abc import Sequence
from pathlib import Path
from typing import Any, NamedTuple

MOST_IN_CONTENTS = 255
"""Entries of one CTOC frame, which counts them in a byte."""
MOST_IN_COMMENTS = 1000
"""CHAPTER000 to CHAPTER999."""
TOP = "contents"
"""The table of contents that holds all others."""
_NO_OFFSET = 0xFFFFFFFF
"""In a CHAP frame: go by the time, not by a byte's place in the file."""


class Mark(NamedTuple):
    """Where a chapter begins."""

    seconds: float
    title: str


def clock(seconds: float, *, has_milliseconds: bool = False) -> str:
    """Return a time as hours, minutes and seconds, "01:02:03" or "01:02:03.456"."""
    milliseconds = round(seconds * 1000)
    whole, rest = divmod(milliseconds, 1000)
    text = f"{whole // 3600:02d}:{whole // 60 % 60:02d}:{whole % 60:02d}"
    return f"{text}.{rest:03d}" if has_milliseconds else text


def chapter_list(marks: Sequence[Mark]) -> str:
    """Return the chapters as plain lines, a time before each."""
    return "".join(f"{clock(mark.seconds)} {mark.title}\n" for mark in marks)


def mark_flac(path: Path, title: str, marks: Sequence[Mark]) -> None:
    """Write title and chapters into a FLAC file; the first thousand have a mark."""
    import mutagen.flac  # noqa: PLC0415 - only wanted for a book

    flac: Any = mutagen.flac
    file = flac.FLAC(path)
    file["TITLE"] = title
    for number, mark in enumerate(marks[:MOST_IN_COMMENTS]):
        file[f"CHAPTER{number:03d}"] = clock(mark.seconds, has_milliseconds=True)
        file[f"CHAPTER{number:03d}NAME"] = mark.title
    file.save()


def mark_mp3(path: Path, title: str, marks: Sequence[Mark], seconds: float) -> None:
    """Write title and chapters into an MP3 file that lasts so many seconds."""
    import mutagen.id3  # noqa: PLC0415 - as above

    id3: Any = mutagen.id3
    tags = id3.ID3()
    tags.add(id3.TIT2(encoding=3, text=[title]))
    ends = [*(mark.seconds for mark in marks[1:]), seconds]
    names = [f"chapter{number}" for number in range(1, len(marks) + 1)]
    for name, mark, end in zip(names, marks, ends, strict=True):
        tags.add(
            id3.CHAP(
                element_id=name,
                start_time=round(mark.seconds * 1000),
                end_time=round(end * 1000),
                start_offset=_NO_OFFSET,
                end_offset=_NO_OFFSET,
                sub_frames=[id3.TIT2(encoding=3, text=[mark.title])],
            )
        )
    for contents, children in _contents(names).items():
        flags = id3.CTOCFlags.ORDERED
        if contents == TOP:
            flags |= id3.CTOCFlags.TOP_LEVEL
        tags.add(
            id3.CTOC(element_id=contents, flags=flags, child_element_ids=children, sub_frames=[])
        )
    tags.save(path, v2_version=3)


def _contents(names: list[str]) -> dict[str, list[str]]:
    """Return each table of contents with its entries; many chapters get tables inside the top."""
    if len(names) <= MOST_IN_CONTENTS:
        return {TOP: names}
    starts = range(0, len(names), MOST_IN_CONTENTS)
    inner = {f"contents{at}": names[at : at + MOST_IN_CONTENTS] for at in starts}
    return {TOP: list(inner), **inner}
