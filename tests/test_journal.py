"""The journal keeps what was done, in order, and gives it back exactly."""

from __future__ import annotations

import csv
import io
import json
import sqlite3
from contextlib import closing
from dataclasses import replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from journal_walker import STAGE, begin, step

from companion.base.clean import clean_line, clean_tree
from companion.base.errors import JournalError
from companion.record import (
    Entry,
    EntryKind,
    Journal,
    default_folder,
    find,
    sessions,
)
from companion.record.export import CSV_COLUMNS, export_csv
from companion.record.store import FORMAT, slug

if TYPE_CHECKING:
    from pathlib import Path


def test_what_was_appended_comes_back_in_order(tmp_path: Path) -> None:
    """Every field of every entry is read back as written, by the next opening too."""
    first = Entry(kind=EntryKind.OPEN, stage="thread", total=300)
    second = Entry(
        kind=EntryKind.COMMAND,
        stage="thread",
        source="voice",
        words="accept, one end is spare",
        command='{"kind": "accept"}',
        events='[{"event": "Overridden"}]',
        state='{"at": 12}',
        is_finished=True,
        position=12,
        total=300,
        weaver="Ana",
    )
    with begin(tmp_path) as journal:
        written = [journal.append(first), journal.append(second)]
        path = journal.path
    with Journal.open(path) as journal:
        assert list(journal.entries()) == written
        assert [entry.number for entry in written] == [1, 2]
        assert [written[1]] == list(journal.entries(after=1))
        assert journal.last_entry() == written[1]


def test_the_session_keeps_its_plan(tmp_path: Path) -> None:
    """Title, plan, draft, fingerprint and options survive, line ends and other scripts too."""
    given_session = {
        "title": "Küchentücher 행주",
        "plan_path": "/plans/tücher.toml",
        "plan_text": "title = '행주'\r\n",
        "draft_text": "[WIF]\nVersion=1.1\n",
        "fingerprint": "0f" * 32,
        "options": {"chunk": 4, "voice": None, "words": ["done"]},
    }
    with Journal.create(tmp_path, **given_session) as journal:  # type: ignore[arg-type]
        path = journal.path
    with Journal.open(path, read_only=True) as journal:
        assert {name: getattr(journal, name) for name in given_session} == given_session


def test_an_entry_is_stamped_with_the_time_in_utc(tmp_path: Path) -> None:
    """The time is ISO 8601 with its offset, so that no reader has to guess the zone."""
    before = datetime.now(UTC).replace(microsecond=0)
    with begin(tmp_path) as journal:
        at = datetime.fromisoformat(journal.append(step(1)).at)
    assert at.utcoffset() is not None
    assert before <= at <= datetime.now(UTC)


def test_each_stage_keeps_its_own_state(tmp_path: Path) -> None:
    """A stage resumes from its own latest state, whatever was walked or refused since."""
    with begin(tmp_path) as journal:
        for stage, kind, state, position in (
            ("thread", EntryKind.COMMAND, '{"n": 1}', 1),
            ("thread", EntryKind.COMMAND, '{"n": 2}', 2),
            ("sley", EntryKind.COMMAND, '{"m": 1}', 1),
            ("thread", EntryKind.REFUSED, None, 0),
        ):
            entry = Entry(kind=kind, stage=stage, state=state, position=position, total=2)
            journal.append(replace(entry, is_finished=position == 2))
        assert journal.last_state("thread") == '{"n": 2}'
        assert journal.last_state("sley") == '{"m": 1}'
        assert journal.last_state("beam") is None
        found = [(each.stage, each.position, each.total) for each in journal.stages()]
        assert found == [("thread", 2, 2), ("sley", 1, 2)]
        assert [each.is_finished for each in journal.stages()] == [True, False]


def test_undo_after_the_end_opens_the_stage_again(tmp_path: Path) -> None:
    """A stage is finished only while its latest state is the finishing one."""
    with begin(tmp_path) as journal:
        entry = Entry(kind=EntryKind.COMMAND, stage="sley", state="{}", position=2)
        journal.append(replace(entry, is_finished=True))
        assert journal.stages()[0].is_finished
        journal.append(replace(entry, position=1))
        assert not journal.stages()[0].is_finished


def test_the_weaver_at_the_loom_signs_each_entry(tmp_path: Path) -> None:
    """Entries carry the journal's weaver, and the next sitting goes on with the last one named."""
    with begin(tmp_path) as journal:
        assert journal.weaver == ""
        journal.weaver = "Ana"
        journal.append(step(1))
        path = journal.path
    with Journal.open(path) as journal:
        assert journal.weaver == "Ana"
        assert journal.append(step(2)).weaver == "Ana"


def test_words_that_are_no_text_are_kept_as_far_as_they_go(tmp_path: Path) -> None:
    """Bytes from a terminal in another encoding become question marks, not a crash."""
    with begin(tmp_path) as journal:
        journal.append(Entry(kind=EntryKind.REFUSED, stage=STAGE, words="d\udcffne", source="line"))
        assert [entry.words for entry in journal.entries()] == ["d?ne"]


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.text(),
    lambda inside: st.lists(inside) | st.dictionaries(st.text(), inside),
    max_leaves=5,
)


EVENTS = st.lists(
    st.builds(
        lambda name, more: {**more, "event": name}, st.text(), st.dictionaries(st.text(), JSON)
    ),
    max_size=2,
)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=20)
@given(words=st.text(), state=JSON, events=EVENTS)
def test_any_text_comes_back_as_it_may_be_shown(
    tmp_path: Path, words: str, state: object, events: list[dict[str, object]]
) -> None:
    """What can be seen is stored without loss; what a terminal would obey is not kept at all."""
    entry = Entry(
        kind=EntryKind.COMMAND,
        stage=STAGE,
        words=words,
        state=json.dumps(state),
        events=json.dumps(events),
    )
    with begin(tmp_path) as journal:
        written = journal.append(entry)
        assert written.words == clean_line(words)
        assert json.loads(written.state or "") == clean_tree(state)
        assert json.loads(written.events) == clean_tree(events)
        assert list(journal.entries()) == [written]
        path = journal.path
    with Journal.open(path) as journal:
        assert list(journal.entries()) == [written]
        assert journal.last_state(STAGE) == written.state


@pytest.mark.parametrize(
    ("title", "name"),
    [
        ("Harbour towels", "harbour-towels"),
        ("  Grandma's  blue & white -- runner, 8 shafts", "grandmas-blue-white"),
        ("Étoile brisée", "etoile-brisee"),
        ("행주 두 장", "행주-두-장"),
        ("../../etc/passwd", "etc-passwd"),
        ("x" * 200, "x" * 32),
        ("!!!", "session"),
    ],
)
def test_names_can_be_said_and_typed(title: str, name: str) -> None:
    """A session's name is the title's first words, without anything a path could trip over."""
    assert slug(title) == name


def test_sessions_of_one_title_are_numbered(tmp_path: Path) -> None:
    """A second warp of the same plan gets the next number and leaves the first alone."""
    names = []
    for _ in range(3):
        with begin(tmp_path) as journal:
            names.append(journal.id)
    assert names == ["harbour-towels-1", "harbour-towels-2", "harbour-towels-3"]


def test_a_number_with_an_old_log_is_passed_over(tmp_path: Path) -> None:
    """A log left of a removed session would be replayed into a new file of the same name."""
    (tmp_path / "harbour-towels-1.sqlite-wal").write_bytes(b"old")
    with begin(tmp_path) as journal:
        assert journal.id == "harbour-towels-2"


def test_the_list_says_how_far_each_session_is(tmp_path: Path) -> None:
    """The list holds title, stage, place and end, the one last used first."""
    with begin(tmp_path, "Old runner") as journal:
        journal.append(
            Entry(
                kind=EntryKind.COMMAND,
                stage="sley",
                state="{}",
                is_finished=True,
                position=9,
                total=9,
                at="2026-01-02T03:04:05.000+00:00",
            )
        )
    with begin(tmp_path, "New towels") as journal:
        journal.append(Entry(kind=EntryKind.OPEN, stage="thread", total=300))
        listed = sessions(tmp_path)
        assert [each.id for each in listed] == ["new-towels-1", "old-runner-1"]
        new, old = listed
        assert (new.title, new.stage, new.position, new.is_finished) == (
            "New towels",
            "thread",
            0,
            False,
        )
        assert (old.stage, old.position, old.total, old.is_finished) == ("sley", 9, 9, True)
        assert old.last_used == "2026-01-02T03:04:05.000+00:00"


def test_no_folder_is_no_sessions(tmp_path: Path) -> None:
    """Before the first session there is nothing to list and nothing is made."""
    assert sessions(tmp_path / "none") == ()
    assert not (tmp_path / "none").exists()


def test_a_session_is_found_by_the_beginning_of_its_name(tmp_path: Path) -> None:
    """A whole name, a beginning that fits one, or nothing for the last used."""
    for title in ("Harbour towels", "Harbour runner", "Rug"):
        begin(tmp_path, title).close()
    assert find(tmp_path, "rug").stem == "rug-1"
    assert find(tmp_path, "harbour-towels-1").stem == "harbour-towels-1"
    assert find(tmp_path) in {each.path for each in sessions(tmp_path)}
    with pytest.raises(JournalError, match="harbour-runner-1, harbour-towels-1") as several:
        find(tmp_path, "harbour")
    assert "rug" not in str(several.value)
    with pytest.raises(JournalError, match="rug-1"):
        find(tmp_path, "blanket")
    with pytest.raises(JournalError, match="No sessions yet"):
        find(tmp_path / "none")


def test_the_folder_follows_the_environment(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """COMPANION_HOME moves the sessions; without it they stand in the user's data folder."""
    monkeypatch.setenv("COMPANION_HOME", str(tmp_path))
    assert default_folder() == tmp_path / "journals"
    monkeypatch.delenv("COMPANION_HOME")
    assert default_folder().name == "journals"
    assert default_folder().parent.name == "companion"


def test_the_export_is_read_back_by_a_csv_reader(tmp_path: Path) -> None:
    """Commas, quotes and line ends in the words survive (RFC 4180); columns keep their names."""
    with begin(tmp_path) as journal:
        journal.append(step(1))
        journal.append(Entry(kind=EntryKind.COMMAND, stage=STAGE, words='so it is, "spare"\r\nend'))
        stream = io.StringIO(newline="")
        export_csv(journal, stream)
        stream.seek(0)
        rows = list(csv.DictReader(stream))
        for row, entry in zip(rows, journal.entries(), strict=True):
            of_events = dict.fromkeys(("events", "count", "expected", "reason"), "")
            own = {name: str(getattr(entry, name) or "") for name in CSV_COLUMNS[:11]}
            numbers = {"position": str(entry.position), "total": str(entry.total)}
            assert row == own | numbers | of_events | {"at": row["at"]}
            assert datetime.fromisoformat(row["at"]) == datetime.fromisoformat(entry.at)
            assert row["at"].endswith("+05:45")
    assert stream.getvalue().splitlines()[0] == (
        "number,at,stage,kind,source,words,position,total,weaver,state,command,events,count,"
        "expected,reason"
    )


def test_no_word_becomes_a_formula_of_a_spreadsheet(tmp_path: Path) -> None:
    """What begins like a formula is shown as text (OWASP, "CSV Injection": = + - @)."""
    said = ['=HYPERLINK("http://x","y")', "+1", "-1", "@SUM(A1)", " =1", "1-1", "\t=1"]
    with begin(tmp_path) as journal:
        for words in said:
            journal.append(Entry(kind=EntryKind.REFUSED, stage=STAGE, words=words, weaver=words))
        stream = io.StringIO(newline="")
        export_csv(journal, stream)
        stream.seek(0)
        rows = list(csv.DictReader(stream))
    expected = [f"'{words.strip()}" for words in said]
    expected[5] = "1-1"
    assert [row["words"] for row in rows] == [row["weaver"] for row in rows] == expected


def test_the_file_opens_with_plain_sqlite(tmp_path: Path) -> None:
    """The record is readable without this program (SQLite's own integrity check, no library)."""
    with begin(tmp_path) as journal:
        journal.append(step(1))
        path = journal.path
    with closing(sqlite3.connect(path)) as plain:
        assert plain.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        assert plain.execute("SELECT words, position FROM entry").fetchall() == [("done", 1)]


def test_commits_are_flushed_to_the_disk(tmp_path: Path) -> None:
    """A commit returns once it is on the disk (synchronous 2, with a write-ahead log)."""
    with begin(tmp_path) as journal:
        connection = journal._connection  # noqa: SLF001 the setting is not visible from outside
        assert connection.execute("PRAGMA synchronous").fetchone() == (2,)
        assert connection.execute("PRAGMA journal_mode").fetchone() == ("wal",)


@pytest.mark.parametrize(("number", "told"), [(FORMAT - 1, "first edition"), (9, "newer")])
def test_a_session_of_another_edition_is_named_and_left_alone(
    tmp_path: Path, number: int, told: str
) -> None:
    """One line says why it cannot be walked, and not a byte of it changes."""
    with begin(tmp_path) as journal:
        path = journal.path
    with closing(sqlite3.connect(path)) as plain:
        plain.execute(f"PRAGMA user_version={number}")
        plain.execute("PRAGMA journal_mode=DELETE")
    content = path.read_bytes()
    (listed,) = sessions(tmp_path)
    assert (listed.title, listed.fingerprint) == ("Harbour towels", "abc")
    assert told in listed.fault
    for read_only in (True, False):
        with pytest.raises(JournalError, match=told):
            Journal.open(path, read_only=read_only)
    assert path.read_bytes() == content
