"""What processes leave that are killed, and what others of the same user do about it."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from companion.devices.audio.sound_start import starting
from companion.devices.held_folder import HeldFolder

pytestmark = pytest.mark.skipif(os.name != "posix", reason="there are no such locks")
PREFIX = "companion-test-"
HOLDS_A_FOLDER = f"""
import sys
from companion.devices.held_folder import HeldFolder
held = HeldFolder({PREFIX!r})
print(held.path, flush=True)
sys.stdin.read()
"""
STARTS_SOUND = """
import sys
from pathlib import Path
from companion.devices.audio.sound_start import starting
with starting(Path(sys.argv[1])):
    print("starting", flush=True)
    sys.stdin.read()
"""


def process(program: str, folder: Path) -> subprocess.Popen[str]:
    """Start a program that holds a folder in another one."""
    return subprocess.Popen(
        [sys.executable, "-c", program, str(folder)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        env={**os.environ, "TMPDIR": str(folder)},
    )


def said(child: subprocess.Popen[str]) -> str:
    """Wait for a line of a program."""
    return next(child.stdout or iter(())).strip()


def test_what_a_killed_process_left_is_taken_away(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """By the next that makes a folder, and only that: not of one that lives, nor one just made."""
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    just_made, link = (tmp_path / f"{PREFIX}{name}" for name in ("made", "link"))
    just_made.mkdir()
    link.symlink_to(just_made)
    with process(HOLDS_A_FOLDER, tmp_path) as living, process(HOLDS_A_FOLDER, tmp_path) as killed:
        kept, left = (Path(said(each)) for each in (living, killed))
        (left / "clip").write_bytes(b"sound")
        killed.kill()
        killed.wait()
        for folder in (kept, left):
            os.utime(folder, (0, 0))
        own = HeldFolder(PREFIX)
        assert set(tmp_path.iterdir()) == {own.path, kept, just_made, link}
        own.cleanup()
        own.cleanup()
        living.communicate("")
    assert set(tmp_path.iterdir()) == {just_made, link}


@pytest.fixture
def database(tmp_path: Path) -> Path:
    """What JACK's library keeps for all of a user's programs."""
    folder = tmp_path / f"jack_db-{os.getuid()}"
    folder.mkdir()
    (folder / "__db.001").write_bytes(b"locked")
    return folder


def test_a_kill_while_sound_starts_keeps_nobody_waiting(tmp_path: Path, database: Path) -> None:
    """The database that it may have left locked is put away once; the next is left alone."""
    with process(STARTS_SOUND, tmp_path) as killed:
        assert said(killed) == "starting"
        killed.kill()
        killed.wait()
        with starting(tmp_path):
            assert not database.exists()
    database.mkdir()
    with starting(tmp_path):
        assert database.exists()
    assert list(tmp_path.iterdir()) == [database]


def test_a_start_beside_another_leaves_the_database_alone(tmp_path: Path, database: Path) -> None:
    """As long as that one lives it has not left anything."""
    with process(STARTS_SOUND, tmp_path) as living:
        assert said(living) == "starting"
        with starting(tmp_path):
            assert (database / "__db.001").exists()
        living.communicate("")
    assert list(tmp_path.iterdir()) == [database]


def test_sound_starts_where_there_is_no_shared_memory(tmp_path: Path) -> None:
    """Then there is no such database either."""
    with starting(tmp_path / "nowhere"):
        assert list(tmp_path.iterdir()) == []
