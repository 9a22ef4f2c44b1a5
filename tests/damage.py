"""Sessions and carried files damaged at random, and what may come of each.

A damaged session may be refused in one line, or be whole all the same where the damage fell on
nothing; or, where its log is gone, be a little older and say so. Nothing else may happen.
"""

from __future__ import annotations

import json
import shutil
import sqlite3
import zipfile
from contextlib import closing, suppress
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from journal_walker import STAGE, begin, step

from companion.base.errors import JournalError
from companion.record import Journal, sessions
from companion.record.carry import Arrival, bring, pack
from companion.record.entry import COLUMNS

if TYPE_CHECKING:
    import random
    from collections.abc import Callable

MEMORY = Path("/dev/shm") if Path("/dev/shm").is_dir() else None  # noqa: S108 - no shared name
"""A folder that needs no disk: none of this is about what the disk has, and flushing takes long."""
ENTRIES = 60
SETTLED = 57
"""Of them so many are in the file itself, the rest only in the log beside it."""


class Sound(NamedTuple):
    """An open session's file and log, as a kill leaves them."""

    file: bytes
    log: bytes
    older: bytes
    """The file, closed, when it had half of its entries."""
    carried: bytes
    """What was carried of it with all of them."""
    other: bytes
    """The file of another session."""


def sound(folder: Path) -> Sound:
    """Make the session that is then damaged in thousands of ways."""
    with begin(folder) as journal:
        for number in range(1, ENTRIES + 1):
            journal.append(step(number))
            if number <= SETTLED:
                journal.settle()
            if number == ENTRIES // 2:
                journal.back_up(folder / "older")
                older = _closed(folder / "older")
        file = journal.path.read_bytes()
        log = journal.path.with_name(f"{journal.path.name}-wal").read_bytes()
        carried = pack(journal.path, folder / "carried").path.read_bytes()
    with begin(folder, "Good rug") as journal:
        path = journal.path
    return Sound(file, log, older, carried, path.read_bytes())


def _closed(path: Path) -> bytes:
    Journal.open(path).close()
    return path.read_bytes()


def _flip(chance: random.Random, content: bytearray) -> None:
    content[chance.randrange(len(content))] ^= 1 << chance.randrange(8)


def _overwrite(chance: random.Random, content: bytearray) -> None:
    start, size = chance.randrange(len(content)), chance.choice((1, 8, 100, 4096))
    fill = chance.choice((b"\0", b"\xff", b" ", chance.randbytes(1)))
    noise = chance.randbytes(size) if chance.random() < 0.5 else fill * size
    content[start : start + size] = noise[: len(content) - start]


def _cut(chance: random.Random, content: bytearray) -> None:
    del content[chance.randrange(len(content)) :]


def _lose(chance: random.Random, content: bytearray) -> None:
    start = chance.randrange(len(content))
    del content[start : start + chance.choice((1, 100, 4096))]


def _repeat(chance: random.Random, content: bytearray) -> None:
    start = chance.randrange(len(content))
    content[start:start] = content[start : start + chance.choice((1, 100, 4096))]


def _append(chance: random.Random, content: bytearray) -> None:
    content += chance.randbytes(chance.choice((1, 100, 4096)))


BYTES = (_flip, _flip, _flip, _overwrite, _cut, _lose, _repeat, _append)


def damaged(chance: random.Random, content: bytes) -> bytes:
    """Return content with one or a few things wrong in it."""
    spoilt = bytearray(content)
    for _ in range(chance.choice((1, 1, 1, 2, 5))):
        if spoilt:
            chance.choice(BYTES)(chance, spoilt)
    return bytes(spoilt)


VALUES = (
    None, 0, -1, 10**18, 2.5, b"\xff\xfe", "", "x", "{}", "[1]", "[" * 5000,
    '{"stages": ["dance"]}',
    "danced", "\x1b[2J", "\u202e", "9999-12-31T23:59:59+00:00", '{"version":1,"state":{}}',
)  # fmt: skip


def by_hand(chance: random.Random, path: Path) -> None:
    """Change the session as someone with a database program would."""
    table = chance.choice(("session", "entry"))
    names = (*COLUMNS, "seal") if table == "entry" else ("title", "plan_text", "options", "created")
    name, value = chance.choice(names), chance.choice(VALUES)
    where = f"WHERE number > {chance.randrange(ENTRIES)}" if table == "entry" else ""
    change = chance.choice(
        (
            f"UPDATE OR IGNORE {table} SET {name} = ? {where}",
            f"UPDATE OR IGNORE {table} SET {name} = CAST(x'ff' AS TEXT) {where}",
            f"DELETE FROM {table} {where}",
            f"DROP TABLE {table}",
            f"ALTER TABLE {table} RENAME COLUMN {name} TO other",
            f"PRAGMA user_version = {chance.randrange(9)}",
            "INSERT INTO session SELECT * FROM session",
        )
    )
    with closing(sqlite3.connect(path)) as plain, plain, suppress(sqlite3.IntegrityError):
        plain.execute(change, (value,) if "?" in change else ())


def damage_session(chance: random.Random, path: Path, whole: Sound) -> None:
    """Write the session with its log to a path, one or both damaged, or the log gone."""
    log = path.with_name(f"{path.name}-wal")
    path.write_bytes(whole.file)
    log.write_bytes(whole.log)
    what = chance.random()
    if what < 0.4:
        path.write_bytes(damaged(chance, whole.file))
    elif what < 0.6:
        log.write_bytes(damaged(chance, whole.log))
    elif what < 0.7:
        log.unlink()
    elif what < 0.75:
        path.write_bytes(damaged(chance, whole.file))
        log.write_bytes(damaged(chance, whole.log))
    else:
        by_hand(chance, path)


def judge_session(path: Path, other: Path) -> str:
    """Look at a damaged session beside a sound one; return what came of it.

    Raises AssertionError for what may not be, and lets through whatever is raised beside our own.
    """
    listed = {each.path: each.fault for each in sessions(path.parent)}
    assert set(listed) == {path, other}
    assert listed[other] == ""
    assert listed[path].isprintable()
    came = ""
    for read_only in (True, False):
        told = ""
        try:
            with Journal.open(path, read_only=read_only) as journal:
                came = _judge_entries(journal)
        except JournalError as error:
            came, told = "refused", str(error)
        assert told.isprintable()
    return came


def _judge_entries(journal: Journal) -> str:
    numbers = [entry.number for entry in journal.entries()]
    assert numbers == list(range(1, len(numbers) + 1))
    assert [entry.state for entry in journal.entries()] == [step(each).state for each in numbers]
    assert journal.last_state(STAGE) == step(len(numbers)).state
    if len(numbers) == ENTRIES:
        return "whole"
    if journal.was_cut_off:
        return "older, and said so"
    # The log's own end was damaged: that is how a write cut short by a kill looks, too.
    assert len(numbers) >= SETTLED
    return "without the last steps"


def _manifest(chance: random.Random, fields: dict[str, object]) -> None:
    values: tuple[object, ...] = (
        *VALUES[:5],
        10**30,
        "x" * 600,
        "\x1b[2J",
        "\u202eslewot",
        [],
        {},
        True,
        "2026",
    )
    fields[chance.choice((*fields, "more"))] = chance.choice(values)


def damage_carried(chance: random.Random, file: Path, whole: Sound) -> None:
    """Write a carried file that is damaged, or put together by someone else."""
    if chance.random() < 0.6:
        file.write_bytes(damaged(chance, whole.carried))
        return
    file.write_bytes(whole.carried)
    with zipfile.ZipFile(file) as packed:
        fields = json.loads(packed.read("manifest.json"))
        database = packed.read("session.sqlite")
    if chance.random() < 0.3:
        database = damaged(chance, database)
    _manifest(chance, fields)
    names = ["manifest.json", "session.sqlite", *(["../up", "/down"] * (chance.random() < 0.1))]
    with zipfile.ZipFile(file, "w", chance.choice((0, 8, 12, 14))) as packed:
        for name in names[chance.random() < 0.1 :]:
            packed.writestr(name, json.dumps(fields) if name[0] == "m" else database)


def judge_carried(file: Path, folder: Path, check: Callable[[Journal], object] = bool) -> str:
    """Bring a damaged file to where half of its session is; return what came of it.

    Raises AssertionError for what may not be, and lets through whatever is raised beside our own.
    """
    expected, came, told = ENTRIES, "whole", ""
    try:
        outcome = bring(file, folder, check=check).outcome
    except JournalError as error:
        expected, came, told = ENTRIES // 2, "refused", str(error)
    else:
        assert outcome is Arrival.MOVED_ON
    assert told.isprintable()
    (summary,) = sessions(folder)
    assert summary.fault == ""
    with Journal.open(summary.path, read_only=True) as journal:
        assert [each.state for each in journal.entries()] == [
            step(number).state for number in range(1, expected + 1)
        ]
    return came


def session_trial(chance: random.Random, folder: Path, whole: Sound) -> str:
    """Damage one session beside a sound one in a folder of its own, and judge."""
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir()
    other = folder / "good-rug-1.sqlite"
    other.write_bytes(whole.other)
    path = folder / "harbour-towels-1.sqlite"
    damage_session(chance, path, whole)
    return judge_session(path, other)


def carry_trial(chance: random.Random, folder: Path, whole: Sound) -> str:
    """Bring one damaged file to a folder of its own, and judge."""
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir()
    file = folder.with_name("stick")
    (folder / "harbour-towels-1.sqlite").write_bytes(whole.older)
    damage_carried(chance, file, whole)
    return judge_carried(file, folder)
