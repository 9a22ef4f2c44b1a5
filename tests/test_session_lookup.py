"""One session that cannot be walked harms no other, and nothing begins anew without a word."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from typing import TYPE_CHECKING, Any

import pytest
from front_door import PLANS, run

from companion.base.errors import JournalError
from companion.guide import Options, start
from companion.job import stage, stages
from companion.loom.compute import compute
from companion.plan.file.reader import read_plan
from companion.record import Entry, EntryKind, Journal, sessions
from companion.record.carry import bring, pack
from companion.record.entry import seal
from companion.session.session_lookup import Wanted, check, fault_of, open_for_plan, stages_of

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from companion.plan.file.reader import Plan

FIRST_TRY = PLANS / "first-try.toml"
STRIPED = next(path for path in sorted(PLANS.glob("*.toml")) if path != FIRST_TRY)


def begun(folder: Path, plan: Plan, options: Any = None) -> Path:
    """Begin a session of a plan and open its first stage."""
    dressing = compute(plan)
    names = stages(dressing)
    state, _ = start(stage(dressing, names[0]), Options())
    with Journal.create(
        folder,
        title=plan.file.title,
        plan_path=str(plan.path.resolve()),
        plan_text=plan.text,
        draft_text=plan.draft_text,
        fingerprint=plan.fingerprint,
        options={"stages": list(names)} if options is None else options,
    ) as journal:
        journal.append(Entry(kind=EntryKind.OPEN, stage=names[0], state=state.to_json(), total=40))
        return journal.path


def _by_hand(statement: str) -> Callable[[Path], None]:
    def change(path: Path) -> None:
        with closing(sqlite3.connect(path)) as plain, plain:
            plain.execute(statement)

    return change


def _with_options(options: str) -> Callable[[Path], None]:
    """Return what forges a session's options, its seal too."""

    def change(path: Path) -> None:
        with closing(sqlite3.connect(path)) as plain, plain:
            plain.execute("UPDATE session SET options = ?", (options,))
            *row, _, _ = plain.execute("SELECT * FROM session").fetchone()
            plain.execute("UPDATE session SET seal = ?", (seal("", row),))

    return change


def _flip(path: Path) -> None:
    content = bytearray(path.read_bytes())
    content[content.index(b'"steps"')] ^= 1
    path.write_bytes(content)


WRONG: dict[str, tuple[Any, Callable[[Path], object]]] = {
    "no stages": ({}, bool),
    "options that are a list": (None, _with_options("[1]")),
    "an unknown stage": ({"stages": ["dance"]}, bool),
    "stages that are numbers": ({"stages": [1, []]}, bool),
    "bad UTF-8": (None, _by_hand("UPDATE entry SET words = CAST(x'ff' AS TEXT)")),
    "no session in it": (None, _by_hand("DELETE FROM session")),
    "no entries in it": (None, _by_hand("DROP TABLE entry")),
    "a flipped bit": (None, _flip),
    "noise": (None, lambda path: path.write_bytes(bytes(range(256)) * 64)),
    "nothing": (None, lambda path: path.write_bytes(b"")),
}


@pytest.mark.parametrize("kind", WRONG)
def test_one_bad_session_harms_no_other(tmp_path: Path, kind: str) -> None:
    """Other plans are walked on, the list names it and says why, its own plan waits for a word."""
    plan, other = read_plan(FIRST_TRY), read_plan(STRIPED)
    sound = begun(tmp_path, other)
    options, damage = WRONG[kind]
    bad = begun(tmp_path, plan, options)
    damage(bad)
    content = bad.read_bytes()
    listed = {each.path: fault_of(each) for each in sessions(tmp_path)}
    assert listed[sound] == ""
    assert listed[bad].startswith(bad.stem)
    assert "\n" not in listed[bad]
    told: list[str] = []
    others = compute(other)
    names = Wanted(stages(others))
    with open_for_plan(other, others, tmp_path, names, is_new=False, tell=told.append) as journal:
        assert journal.path == sound
    assert told == []
    third = read_plan(PLANS / "point-runner.toml")
    dressing = compute(third)
    names = Wanted(stages(dressing))
    with open_for_plan(third, dressing, tmp_path, names, is_new=False, tell=told.append) as journal:
        assert journal.path not in {sound, bad}
    assert told == [f"Beginning anew. Not read: {bad.stem}; `companion sessions` says why."]
    dressing = compute(plan)
    mine = Wanted(stages(dressing))
    with pytest.raises(JournalError, match=f"{bad.stem} may hold a walk of this plan") as refused:
        open_for_plan(plan, dressing, tmp_path, mine, is_new=False, tell=told.append)
    assert "add --new" in str(refused.value)
    open_for_plan(plan, dressing, tmp_path, mine, is_new=True, tell=told.append).close()
    assert len(told) == 1
    # Beside a session that goes on, the bad one is in nobody's way.
    open_for_plan(plan, dressing, tmp_path, mine, is_new=False, tell=told.append).close()
    assert bad.read_bytes() == content


def _walked(change: Callable[[str], str]) -> Callable[[Path], None]:
    """Return what gives a session an entry with a changed state, as a whole forged session has."""

    def forge(path: Path) -> None:
        with Journal.open(path) as journal:
            last = journal.last_entry()
            assert last is not None
            assert last.state is not None
            journal.append(
                Entry(kind=EntryKind.COMMAND, stage=last.stage, state=change(last.state), total=40)
            )

    return forge


FORGED: dict[str, tuple[Any, Callable[[Path], object]]] = {
    "no stages": ({}, bool),
    "an unknown stage": ({"stages": ["thread", "dance"]}, bool),
    "a place that is none": (None, _walked(lambda it: it.replace('{"st', '{"confirmed":99,"st'))),
    "a state that is none": (None, _walked(lambda _state: "[]")),
}  # fmt: skip


@pytest.mark.parametrize("kind", FORGED)
def test_a_session_that_cannot_be_walked_is_not_brought(tmp_path: Path, kind: str) -> None:
    """What is whole and makes no sense is refused at the door, in one line that names the file."""
    plan = read_plan(FIRST_TRY)
    options, forge = FORGED[kind]
    path = begun(tmp_path / "there", plan, options)
    forge(path)
    file = pack(path, tmp_path / "stick.session").path
    with pytest.raises(JournalError, match=r"stick\.session: its session cannot be walked") as no:
        bring(file, tmp_path / "here", check=check)
    assert "\n" not in str(no.value)
    assert not (tmp_path / "here").exists()


def test_a_stage_that_the_plan_has_not_is_told(tmp_path: Path) -> None:
    """A session begun for a raddle with a plan that is without one cannot be walked."""
    path = begun(tmp_path, read_plan(PLANS / "herringbone-scarf.toml"), {"stages": ["raddle"]})
    with Journal.open(path) as journal, pytest.raises(JournalError, match="no stage raddle"):
        check(journal)


def test_a_sound_session_is_brought(tmp_path: Path) -> None:
    """The same door lets in what can be walked."""
    plan = read_plan(FIRST_TRY)
    file = pack(begun(tmp_path / "there", plan), tmp_path / "stick.session").path
    brought = bring(file, tmp_path / "here", check=check)
    with Journal.open(tmp_path / "here" / f"{brought.session}.sqlite") as journal:
        check(journal)
        assert stages_of(journal) == stages(compute(plan))


def test_the_front_door_tells_of_a_bad_session(tmp_path: Path) -> None:
    """`thread` of its plan stops with one line; `sessions` says why; the other plan goes on."""
    run(tmp_path, "thread", FIRST_TRY, "--text", lines=["done"] * 3)
    (path,) = (tmp_path / "journals").glob("*.sqlite")
    _by_hand("UPDATE entry SET position = 4 WHERE number = 4")(path)
    listed = run(tmp_path, "sessions").stdout
    assert listed.startswith("first-try-a-1.sqlite: the record is damaged (entry 4 was changed")
    assert "`companion sessions --rescue first-try-a-1`" in listed
    refused = run(tmp_path, "thread", FIRST_TRY, "--text", lines=["done"])
    assert (refused.returncode, refused.stdout) == (2, "")
    assert refused.stderr.startswith(
        "first-try-a-1 may hold a walk of this plan and cannot be read"
    )
    assert refused.stderr.count("\n") == 1
    saved = run(tmp_path, "sessions", "--rescue", "first-try-a-1")
    assert "as first-try-a-2; first-try-a-1 is put away." in saved.stdout
    resumed = run(tmp_path, "resume", "--text", lines=["stop"]).stdout
    assert "End 3: " in resumed
    assert "sessions --take-out first-try-a-1\n" in run(tmp_path, "sessions").stdout


def test_a_name_is_asked_for_only_where_there_is_one(tmp_path: Path) -> None:
    """Before the first walk there is none to choose from."""
    refused = run(tmp_path, "resume", "nope").stderr
    assert refused == 'There is no session "nope". There are none yet.\n'
    refused = run(tmp_path, "sessions", "--take-out", "nope").stderr
    assert refused == 'There is no session "nope" put away. There are none put away.\n'


def test_a_later_session_that_cannot_be_read_is_named(tmp_path: Path) -> None:
    """Where the one used last is no session any more, the one before goes on and says so."""
    sound = begun(tmp_path / "journals", read_plan(FIRST_TRY))
    bad = begun(tmp_path / "journals", read_plan(PLANS / "point-runner.toml"))
    bad.write_bytes(b"no session")
    resumed = run(tmp_path, "resume", "--text", lines=["stop"]).stdout
    assert resumed.startswith(f"Not read: {bad.stem}; `companion sessions` says why.\n")
    assert "End 1: " in resumed
    log = run(tmp_path, "log")
    assert (log.stdout.partition(":")[0], log.stderr.count(bad.stem)) == (sound.stem, 1)
    assert bad.stem not in run(tmp_path, "log", sound.stem).stderr
