"""The clip store: what it keeps, what it forgives, and how big it grows."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

import pytest
from fakes import RATE, FakeMaker, hum
from hypothesis import given
from hypothesis import strategies as st

from companion.base.errors import SpeechError
from companion.devices.audio.clip import Clip
from companion.devices.speech import store as clip_store
from companion.devices.speech.clips import REMEMBERED, Clips
from companion.devices.speech.store import ClipStore

if TYPE_CHECKING:
    from pathlib import Path


def test_a_clip_comes_back_as_it_was(tmp_path: Path) -> None:
    """Another store on the same folder gives the same sound."""
    ClipStore(tmp_path).put("aa11", hum(0.5))
    assert ClipStore(tmp_path).get("aa11") == hum(0.5)
    assert ClipStore(tmp_path).get("bb22") is None


@given(
    st.lists(
        st.tuples(st.text(max_size=9), st.text(max_size=9), st.integers(80, 450), st.text()),
        min_size=2,
        max_size=2,
        unique=True,
    )
)
def test_whatever_changes_the_sound_changes_the_key(
    both: list[tuple[str, str, int, str]],
) -> None:
    """Two requests that differ in engine, voice, speed or text never share a clip."""
    assert ClipStore.key(*both[0]) != ClipStore.key(*both[1])


@pytest.mark.parametrize("damage", ["cut", "changed", "emptied", "other file", "head only"])
def test_a_damaged_clip_is_made_again(tmp_path: Path, damage: str) -> None:
    """Whatever happened to the file, the line is made afresh and the store is sound again."""
    maker = FakeMaker()
    Clips([maker], ClipStore(tmp_path), pytest.fail).clip("end 37", 160)
    (path,) = tmp_path.glob("*/*")
    content = path.read_bytes()
    damaged = {
        "cut": content[:-100],
        "changed": content[:-1] + bytes([content[-1] ^ 1]),
        "emptied": b"",
        "other file": b"RIFF" + content[4:],
        "head only": content[:16],
    }
    path.write_bytes(damaged[damage])
    clip = Clips([maker], ClipStore(tmp_path), pytest.fail).clip("end 37", 160)
    assert maker.made == [("end 37", 160)] * 2
    assert path.read_bytes() == content
    assert clip.seconds > 0


def test_a_stored_clip_is_not_made_again(tmp_path: Path) -> None:
    """The same line at the same speed is made once in all; another speed is another clip."""
    maker = FakeMaker()
    for _ in range(2):
        clips = Clips([maker], ClipStore(tmp_path), pytest.fail)
        assert clips.clip("end 37", 160) == clips.clip("end 37", 160)
        clips.clip("end 37", 180)
    assert maker.made == [("end 37", 160), ("end 37", 180)]


def test_a_line_that_cannot_be_made_leaves_nothing_behind(tmp_path: Path) -> None:
    """The error passes through, and once the engine works the line is made."""
    maker = FakeMaker()
    maker.fail()
    clips = Clips([maker], ClipStore(tmp_path), pytest.fail)
    with pytest.raises(SpeechError):
        clips.clip("end 37", 160)
    maker.fail(is_failing=False)
    assert clips.clip("end 37", 160).seconds > 0


def test_the_clips_longest_unused_go_first(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A full store drops to four fifths; a clip that was used lately stays."""
    size = len(hum(0.1).pcm) + 16
    monkeypatch.setattr(clip_store, "MAX_BYTES", 10 * size)
    store = ClipStore(tmp_path)
    for number in range(10):
        store.put(f"{number:02}key", hum(0.1))
        old = 1_000_000 + number
        os.utime(tmp_path / f"{number:02}" / f"{number:02}key", (old, old))
    assert store.get("00key") is not None
    store.put("10key", hum(0.1))
    kept = {path.name for path in tmp_path.glob("*/*")}
    assert kept == {"00key", *(f"{number:02}key" for number in range(4, 11))}


def test_a_folder_that_cannot_be_written_costs_only_the_store(tmp_path: Path) -> None:
    """Speech goes on where a file stands in the folder's place."""
    (tmp_path / "clips").write_text("no folder")
    clips = Clips([FakeMaker()], ClipStore(tmp_path / "clips"), pytest.fail)
    assert clips.clip("end 37", 160).seconds > 0
    assert clips.clip("end 37", 160).seconds > 0


def test_memory_holds_the_clips_used_last_and_no_more(tmp_path: Path) -> None:
    """Where no store keeps them, the clip longest unused is let go and made again."""
    (tmp_path / "clips").write_text("no folder")
    maker = FakeMaker()
    clips = Clips([maker], ClipStore(tmp_path / "clips"), pytest.fail)
    lines = [f"end {number}" for number in range(REMEMBERED + 1)]
    for line in (*lines[:-1], lines[0], lines[-1]):
        clips.clip(line, 160)
    assert [text for text, _ in maker.made] == lines
    maker.made.clear()
    for line in (*lines[2:], lines[0], lines[1]):
        clips.clip(line, 160)
    assert [text for text, _ in maker.made] == [lines[1]]


def test_an_empty_clip_is_kept_too(tmp_path: Path) -> None:
    """Nothing to pronounce is remembered as such, not taken for damage."""
    store = ClipStore(tmp_path)
    store.put("aa11", Clip(b"", RATE))
    assert store.get("aa11") == Clip(b"", RATE)


def test_no_half_written_file_is_left(tmp_path: Path) -> None:
    """After many clips only whole ones are in the folder."""
    store = ClipStore(tmp_path)
    for number in range(50):
        store.put(f"{number:02}key", hum(0.01))
    names = {path.name for path in tmp_path.glob("*/*")}
    assert names == {f"{number:02}key" for number in range(50)}
