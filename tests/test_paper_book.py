"""A walk as a sound file: every step in it, and chapter marks that other readers find."""

from __future__ import annotations

import json
import shutil
import struct
import subprocess
from functools import cache
from typing import TYPE_CHECKING, Any

import heard
import numpy as np
import pytest
import soundfile
from fakes import FakeMaker
from paper_plans import NAMES, demo

from companion.base.errors import CompanionError, SpeechError
from companion.base.numerals import english
from companion.devices.audio.clip import Clip, resampled
from companion.job import stage, stages
from companion.out.paper.book import COUNT_PAUSES, Chapter, Passage, chapters
from companion.out.paper.marks import Mark, chapter_list, clock
from companion.out.paper.sound_book import LEAD_SECONDS, RATE, write_book
from companion.wording import Style
from companion.wording.stages import TITLES

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

PAUSE = 0.4


def book_of(name: str) -> list[Chapter]:
    dressing = demo(name)
    return [
        chapter
        for each in stages(dressing)
        for chapter in chapters(
            stage(dressing, each), Style(), PAUSE, has_cautions=each == stages(dressing)[0]
        )
    ]


def seconds_of(part: Passage) -> float:
    """Return how long the fake voice speaks a part, and the silence after it."""
    clip = resampled(FakeMaker().make(part.line, 160), RATE)
    return clip.seconds + round(part.pause_seconds * RATE) / RATE


def short_book() -> list[Chapter]:
    """Return three chapters, as good as any number where the file alone is looked at."""
    return book_of("first-try")[:3]


@cache
def expected_marks() -> list[Mark]:
    at, marks = LEAD_SECONDS, []
    for chapter in short_book():
        marks.append(Mark(at, chapter.title))
        at += sum(map(seconds_of, chapter.parts))
    return marks


@pytest.mark.parametrize("name", NAMES)
def test_every_step_is_read_once_in_its_chapter(name: str) -> None:
    """A chapter for each group of each pass; every step's end or dent is named in it, in order."""
    dressing, book = demo(name), book_of(name)
    walked = [stage(dressing, each) for each in stages(dressing)]
    groups = [(each, group) for each in walked for group in each.groups]
    assert len(book) == len(groups)
    for chapter, (each, group) in zip(book, groups, strict=True):
        title = TITLES[each.name].capitalize()
        assert chapter.title.startswith(f"{title}: group {group.number} of ")
        steps = each.steps[group.first_step - 1 : group.last_step]
        spoken = [part.line for part in chapter.parts if part.pause_seconds == PAUSE]
        assert len(spoken) == len(steps)
        for line, step in zip(spoken, steps, strict=True):
            last = step.dents[-1] if each.counted == "dent" or step.is_floating else step.last_end
            assert not last or english(last) in line  # a task has neither end nor dent


@pytest.mark.parametrize("name", ["first-try", "herringbone-scarf"])
def test_the_general_cautions_are_read_once_before_the_first_step(name: str) -> None:
    """Whoever only listens hears them too, in the first chapter; with two passes not again."""
    book = book_of(name)
    lines = [part.line for chapter in book for part in chapter.parts]
    assert sum(line.startswith("Before you begin: sit with your feet") for line in lines) == 1
    assert any("do not replace the advice" in part.line for part in book[0].parts[:3])


def test_counting_a_group_has_a_longer_pause() -> None:
    """At a group's end there is time to count."""
    closing = book_of("first-try")[0].parts[-1]
    assert closing.line == "Group one is complete: eight ends."
    assert closing.pause_seconds == pytest.approx(COUNT_PAUSES * PAUSE)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the book of the first plan as WAV, FLAC and MP3."""
    made: Path = tmp_path_factory.mktemp("books")
    for suffix in ("wav", "flac", "mp3"):
        path = made / suffix / f"walk.{suffix}"
        path.parent.mkdir()
        write_book(path, "Brushed band", iter(short_book()), FakeMaker(), 160)
    return made


def test_wav_has_a_cue_point_for_each_chapter(folder: Path) -> None:
    """To the sample, as RIFF cue points with labels ("Multimedia Programming Interface", 1991)."""
    found = heard.labels(folder / "wav" / "walk.wav")
    wanted = expected_marks()
    assert [label.text for label in found] == [mark.title for mark in wanted]
    assert [label.seconds for label in found] == pytest.approx([mark.seconds for mark in wanted])


def test_flac_and_mp3_hold_the_sound_of_the_wav(folder: Path) -> None:
    """FLAC gives the samples back; MP3 lasts as long and sounds alike."""
    whole, rate = soundfile.read(folder / "wav" / "walk.wav", dtype="int16")
    packed, packed_rate = soundfile.read(folder / "flac" / "walk.flac", dtype="int16")
    assert rate == packed_rate == RATE
    assert np.array_equal(whole, packed)
    lossy, lossy_rate = soundfile.read(folder / "mp3" / "walk.mp3", dtype="int16")
    assert lossy_rate == RATE
    assert len(lossy) == pytest.approx(len(whole), abs=4 * 1152)
    assert np.std(lossy) == pytest.approx(np.std(whole), rel=0.1)


def test_flac_comments_follow_the_chapter_extension(folder: Path) -> None:
    """CHAPTERxxx and CHAPTERxxxNAME (Xiph.Org), read from the file's own blocks."""
    comments = dict(flac_comments((folder / "flac" / "walk.flac").read_bytes()))
    wanted = expected_marks()
    assert comments["TITLE"] == "Brushed band"
    for number, mark in enumerate(wanted):
        assert comments[f"CHAPTER{number:03d}NAME"] == mark.title
        hours, minutes, seconds = comments[f"CHAPTER{number:03d}"].split(":")
        at = 3600 * int(hours) + 60 * int(minutes) + float(seconds)
        assert at == pytest.approx(mark.seconds, abs=0.001)


def flac_comments(content: bytes) -> Iterator[tuple[str, str]]:
    """Yield the VORBIS_COMMENT block's fields: RFC 9639, sections 8.1 and 8.6."""
    assert content[:4] == b"fLaC"
    at, is_last = 4, False
    while not is_last:
        is_last, kind = bool(content[at] >> 7), content[at] & 0x7F
        size = int.from_bytes(content[at + 1 : at + 4])
        if kind == 4:
            body = content[at + 4 : at + 4 + size]
            (vendor,) = struct.unpack_from("<I", body)
            place = 8 + vendor
            for _ in range(struct.unpack_from("<I", body, 4 + vendor)[0]):
                (length,) = struct.unpack_from("<I", body, place)
                name, _, value = body[place + 4 : place + 4 + length].decode().partition("=")
                yield name, value
                place += 4 + length
        at += 4 + size


def test_mp3_frames_follow_the_chapter_addendum(folder: Path) -> None:
    """CHAP frames in order, all in one top-level CTOC: ID3v2 Chapter Frame Addendum 1.0."""
    frames = id3_frames((folder / "mp3" / "walk.mp3").read_bytes())
    wanted = expected_marks()
    found = sorted(map(chap, (body for name, body in frames if name == b"CHAP")))
    for (start, end, title), mark, after in zip(found, wanted, [*wanted[1:], None], strict=True):
        assert start == pytest.approx(1000 * mark.seconds, abs=1)
        assert end > start if after is None else end == pytest.approx(1000 * after.seconds, abs=1)
        assert title == mark.title
    (contents,) = (body for name, body in frames if name == b"CTOC")
    _, _, entries = contents.partition(b"\0")
    assert entries[0] == 0b11  # top level, and ordered
    assert entries[1] == len(wanted)
    assert entries[2:].split(b"\0")[: len(wanted)] == [
        f"chapter{number}".encode() for number in range(1, len(wanted) + 1)
    ]


def id3_frames(content: bytes) -> list[tuple[bytes, bytes]]:
    """Return the frames of an ID3v2.3 tag: id3.org, "ID3 tag version 2.3.0", 3.1 and 3.3."""
    assert content[:4] == b"ID3\x03"
    size = sum(byte << shift for byte, shift in zip(content[6:10], (21, 14, 7, 0), strict=True))
    found, at = [], 10
    while at < 10 + size and content[at]:
        name, length = struct.unpack_from(">4sI", content, at)
        found.append((name, content[at + 10 : at + 10 + length]))
        at += 10 + length
    return found


def chap(body: bytes) -> tuple[int, int, str]:
    """Return a CHAP frame's start and end in milliseconds and the title inside it."""
    _, _, rest = body.partition(b"\0")
    start, end, *_ = struct.unpack_from(">4I", rest)
    name, length = struct.unpack_from(">4sI", rest, 16)
    assert name == b"TIT2"
    assert rest[26] == 1, "UTF-16 with a byte order mark"
    return start, end, rest[27 : 26 + length].decode("utf-16").rstrip("\0")


@pytest.mark.skipif(not shutil.which("ffprobe"), reason="ffmpeg is not installed")
@pytest.mark.parametrize("suffix", ["wav", "flac", "mp3"])
def test_ffprobe_finds_the_chapters(suffix: str, folder: Path) -> None:
    """A reader of other people's making sees the same chapters at the same times."""
    result = subprocess.run(
        [
            "ffprobe",
            "-v",
            "error",
            "-show_chapters",
            "-of",
            "json",
            folder / suffix / f"walk.{suffix}",
        ],
        capture_output=True,
        check=True,
        timeout=60,
    )
    found: list[dict[str, Any]] = json.loads(result.stdout)["chapters"]
    wanted = expected_marks()
    assert [each["tags"]["title"] for each in found] == [mark.title for mark in wanted]
    starts = [float(each["start_time"]) for each in found]
    assert starts == pytest.approx([mark.seconds for mark in wanted], abs=0.001)


def test_the_list_beside_it_names_every_chapter(folder: Path) -> None:
    """For a player without chapters: a time and a title on each line."""
    text = (folder / "mp3" / "walk.txt").read_text(encoding="utf-8")
    assert text == chapter_list(expected_marks())
    assert text.startswith("00:00:00 Threading and sleying: group 1 of 5, patterns 1 to 2\n")


def test_many_chapters_fit_where_a_table_holds_255(tmp_path: Path) -> None:
    """More groups than one CTOC counts get tables inside the top one, which name each once."""
    book = [Chapter(f"Group {number}", (Passage("x", 0.0),)) for number in range(1, 601)]
    path = tmp_path / "long.mp3"
    write_book(path, "Long", iter(book), FakeMaker(), 160)
    frames = id3_frames(path.read_bytes())
    tables = [body.partition(b"\0")[2] for name, body in frames if name == b"CTOC"]
    named = [
        name for table in tables for name in table[2:].split(b"\0") if name.startswith(b"chapter")
    ]
    assert sorted(named) == sorted(f"chapter{number}".encode() for number in range(1, 601))
    assert sum(table[0] & 0b10 > 0 for table in tables) == 1
    assert sum(name == b"CHAP" for name, _ in frames) == 600


@pytest.mark.parametrize("suffix", ["wav", "flac", "mp3"])
def test_a_voice_that_fails_leaves_no_half_book(suffix: str, tmp_path: Path) -> None:
    """Nothing is under the book's name, or beside it, until it is whole."""
    maker = FakeMaker()

    def cut_short() -> Iterator[Chapter]:
        yield Chapter("One", (Passage("one", 0.1),))
        maker.fail()
        yield Chapter("Two", (Passage("two", 0.1),))

    with pytest.raises(SpeechError):
        write_book(tmp_path / f"walk.{suffix}", "Band", cut_short(), maker, 160)
    assert list(tmp_path.iterdir()) == []


def test_nothing_is_written_over(tmp_path: Path) -> None:
    """Neither a sound file nor the list of an earlier one."""
    (tmp_path / "walk.txt").write_text("mine", encoding="utf-8")
    with pytest.raises(CompanionError, match=r"walk\.txt exists already"):
        write_book(tmp_path / "walk.mp3", "Band", iter(()), FakeMaker(), 160)
    assert (tmp_path / "walk.txt").read_text(encoding="utf-8") == "mine"


def test_a_folder_that_is_not_there_is_told(tmp_path: Path) -> None:
    """One line says which folder is missing."""
    with pytest.raises(CompanionError, match="away is not a folder"):
        write_book(tmp_path / "away" / "walk.wav", "Band", iter(()), FakeMaker(), 160)


def test_times_are_written_as_clocks() -> None:
    """Hours, minutes and seconds, with thousandths where a format wants them."""
    assert clock(3725.4) == "01:02:05"
    assert clock(3725.4, has_milliseconds=True) == "01:02:05.400"


def test_a_clip_of_another_rate_is_fitted(tmp_path: Path) -> None:
    """A voice at 16 kHz is as long in the book as it was."""

    class Slow(FakeMaker):
        def clip(self, text: str, words_per_minute: int) -> Clip:
            return resampled(super().clip(text, words_per_minute), 16000)

    book = [Chapter("One", (Passage("x" * 100, 0.0),))]
    written = write_book(tmp_path / "a.wav", "Band", iter(book), Slow(), 160)
    assert written.seconds == pytest.approx(LEAD_SECONDS + 1.0, abs=0.001)
