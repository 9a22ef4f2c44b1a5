"""Sessions are put away and taken out without loss, and what is sound of a damaged one is saved."""

from __future__ import annotations

import sqlite3
import struct
from contextlib import closing
from typing import TYPE_CHECKING

import pytest
from journal_walker import STAGE, begin, start, state_of, step

from companion.base.errors import JournalError
from companion.record import AWAY, Journal, find, put_away, rescue, sessions, take_out

if TYPE_CHECKING:
    from pathlib import Path


def walked(folder: Path, number: int) -> Path:
    """Begin a session of so many entries."""
    with begin(folder) as journal:
        for each in range(1, number + 1):
            journal.append(step(each))
        return journal.path


def names(folder: Path) -> list[str]:
    return sorted(each.id for each in sessions(folder))


def test_a_session_is_put_away_and_taken_out(tmp_path: Path) -> None:
    """It leaves the list with all it holds, and comes back as it was."""
    content = walked(tmp_path, 3).read_bytes()
    away = put_away(find(tmp_path, "harbour"))
    assert (names(tmp_path), names(tmp_path / AWAY)) == ([], ["harbour-towels-1"])
    with pytest.raises(JournalError, match=r"-1 is put away\. Back again: companion sessions"):
        find(tmp_path, "harbour-towels-1")
    walked(tmp_path, 1)
    put_away(find(tmp_path, "harbour"))
    assert names(tmp_path / AWAY) == ["harbour-towels-1", "harbour-towels-1-again-2"]
    assert away.read_bytes() == content
    assert take_out(away).parent == tmp_path
    assert names(tmp_path) == ["harbour-towels-1"]
    assert (tmp_path / "harbour-towels-1.sqlite").read_bytes() == content


def test_a_session_is_put_away_with_its_log(tmp_path: Path) -> None:
    """After a kill entries are only in the log beside the file; they are not left behind."""
    with begin(tmp_path) as journal:
        path = journal.path
    child, said = start(path)
    with said:
        assert said.readline() == b"1\n"
        with pytest.raises(JournalError, match="already being walked"):
            put_away(path)
        child.kill()
    child.wait()
    (before,) = sessions(tmp_path)
    away = put_away(path)
    assert sessions(tmp_path / AWAY)[0].position == before.position >= 1
    assert not list(tmp_path.glob("*.sqlite*"))
    # One that cannot be opened goes as it is, log and all.
    taken = take_out(away)
    taken.write_bytes(b"noise")
    taken.with_name(f"{taken.name}-wal").write_bytes(b"log")
    away = put_away(taken)
    assert away.read_bytes() == b"noise"
    assert away.with_name(f"{away.name}-wal").read_bytes() == b"log"


@pytest.mark.parametrize("number", [1, 50, 99])
def test_what_is_sound_is_saved(tmp_path: Path, number: int) -> None:
    """Of a hundred entries those before the damaged one go on; the damaged file stays as it is."""
    path = walked(tmp_path, 100)
    with closing(sqlite3.connect(path)) as plain, plain:
        plain.execute("UPDATE entry SET position = 7 WHERE number = ?", (number + 1,))
    content = path.read_bytes()
    saved = rescue(path)
    assert (saved.session, saved.entries) == ("harbour-towels-2", number)
    with Journal.open(find(tmp_path, saved.session)) as journal:
        assert journal.last_state(STAGE) == state_of(number)
        assert journal.append(step(number + 1)).number == number + 1
    assert (tmp_path / AWAY / path.name).read_bytes() == content
    assert names(tmp_path) == ["harbour-towels-2"]


def test_what_is_sound_is_saved_of_a_file_that_lacks_its_last_page(tmp_path: Path) -> None:
    """As when it was killed while it folded in its log, and the log is lost.

    How many pages there are stands at byte 28 (SQLite, "Database File Format", 1.3.8).
    """
    path = walked(tmp_path, 100)
    content = bytearray(path.read_bytes())
    (pages,) = struct.unpack_from(">I", content, 28)
    struct.pack_into(">I", content, 28, pages + 1)
    path.write_bytes(content)
    with pytest.raises(JournalError, match="--rescue"):
        Journal.open(path)
    assert rescue(path).entries == 100
    assert (tmp_path / AWAY / path.name).read_bytes() == content


def test_nothing_is_saved_where_nothing_is_to_be(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A sound session, one without a sound entry, one whose plan is damaged: told, untouched.

    None of them lacks a page, so nothing is copied to be read.
    """
    path = walked(tmp_path, 2)
    monkeypatch.setattr("pathlib.Path.write_bytes", None)
    with pytest.raises(JournalError, match="nothing in this session is damaged"):
        rescue(path)
    for change, told in (
        ("UPDATE entry SET words = 'x' WHERE number = 1", "no entry of it is sound"),
        ("UPDATE session SET plan_text = 'x'", "first page was changed"),
        ("PRAGMA user_version = 1", "first edition"),
    ):
        with closing(sqlite3.connect(path)) as plain, plain:
            plain.execute(change)
        content = path.read_bytes()
        with pytest.raises(JournalError, match=told):
            rescue(path)
        assert path.read_bytes() == content
    assert names(tmp_path) == ["harbour-towels-1"]
