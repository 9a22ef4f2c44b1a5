"""The taught words on disk. The recordings are made up; the safety they must have is not."""

from __future__ import annotations

import json
import wave
from typing import TYPE_CHECKING

import pytest

from companion.base.errors import ModelError
from companion.devices.recogniser.samples import MANIFEST, SampleSet, load, save

if TYPE_CHECKING:
    from pathlib import Path

TAKES = SampleSet(
    {"fertig": (b"\1\0" * 800, b"\2\0" * 900), "다 했어": (b"\3\0" * 700,)}, (b"\4\0" * 50,)
)


def test_what_is_saved_is_loaded_in_any_script(tmp_path: Path) -> None:
    """German and Korean words and the background come back byte for byte."""
    save(tmp_path, TAKES)
    assert load(tmp_path) == TAKES


def test_the_recordings_are_plain_wav_files(tmp_path: Path) -> None:
    """Any sound program can play a recording: 16 kHz, 16 bit, one channel."""
    save(tmp_path, TAKES)
    for path in tmp_path.glob("*.wav"):
        with wave.open(str(path)) as file:
            assert (file.getframerate(), file.getsampwidth(), file.getnchannels()) == (16000, 2, 1)


def test_a_folder_never_taught_in_is_empty(tmp_path: Path) -> None:
    """No folder is no error: nothing has been taught yet."""
    assert load(tmp_path / "none") == SampleSet()


def test_words_taught_anew_leave_no_old_recordings(tmp_path: Path) -> None:
    """The folder holds what the manifest names and nothing else."""
    save(tmp_path, TAKES)
    save(tmp_path, SampleSet({"fertig": (b"\5\0" * 300,)}))
    assert len(list(tmp_path.iterdir())) == 2
    assert load(tmp_path).words == {"fertig": (b"\5\0" * 300,)}


@pytest.mark.parametrize("damage", ["cut manifest", "changed sound", "lost sound", "path", "list"])
def test_damage_is_one_clear_line(tmp_path: Path, damage: str) -> None:
    """A damaged set is told by name and never used in part, nor a file outside the folder."""
    save(tmp_path, TAKES)
    manifest, sound = tmp_path / MANIFEST, next(tmp_path.glob("*.wav"))
    if damage == "cut manifest":
        manifest.write_text(manifest.read_text()[:40])
    elif damage == "changed sound":
        sound.write_bytes(sound.read_bytes()[:-2] + b"\7\7")
    elif damage == "lost sound":
        sound.unlink()
    elif damage == "path":
        manifest.write_text(manifest.read_text().replace(sound.name, f"../{sound.name}"))
    else:
        manifest.write_text(json.dumps([1, 2]))
    with pytest.raises(ModelError, match=r"damaged \(.+\); restore the folder") as caught:
        load(tmp_path)
    assert "\n" not in str(caught.value)


def test_a_folder_that_cannot_be_written_is_one_clear_line(tmp_path: Path) -> None:
    """Teaching into a place that is a file says so and what to do."""
    (tmp_path / "file").write_text("")
    with pytest.raises(ModelError, match="cannot be read or written"):
        save(tmp_path / "file", TAKES)
