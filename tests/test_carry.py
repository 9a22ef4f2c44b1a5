"""Sessions carried between machines: nothing is lost, nothing is merged wrongly."""

from __future__ import annotations

import json
import os
import random
import re
import shutil
import sqlite3
import tempfile
import time
import zipfile
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from carry_model import STAGE, account, accounts, carried, foreseen, walk
from front_door import PLANS, run, start, walk_commands
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from journal_walker import begin, step
from small_disk import mounted, needs_mount
from warm_start import start_program

from companion.base.errors import JournalError
from companion.record import Journal, sessions
from companion.record.carry import Arrival, bring, pack

if TYPE_CHECKING:
    from collections.abc import Callable

FIRST_TRY = PLANS / "first-try.toml"
LETTERS = st.text("abc", min_size=1, max_size=3)
MACHINES = st.integers(0, 2)


@pytest.fixture
def home(tmp_path: Path) -> Path:
    """A session of three entries."""
    with begin(tmp_path / "here") as journal:
        path = journal.path
    walk(path, "abc")
    return path


def test_a_carried_session_is_the_same_session(home: Path, tmp_path: Path) -> None:
    """Plan, options and every entry are on the other machine too."""
    packed = pack(home, tmp_path)
    assert packed.path == tmp_path / "harbour-towels-1.session"
    brought = bring(packed.path, tmp_path / "there")
    assert (brought.outcome, brought.session, brought.added) == (
        Arrival.ADDED,
        "harbour-towels-1",
        3,
    )
    with (
        Journal.open(home, read_only=True) as mine,
        Journal.open(tmp_path / "there" / home.name) as other,
    ):
        assert list(mine.entries()) == list(other.entries())
        assert other.is_copy_of(mine)
        assert (other.options, other.identity, other.origin) == (
            mine.options,
            mine.identity,
            os.uname().nodename,
        )
        assert other.last_state(STAGE) == '{"at": 3}'
    assert kept_about(home) == kept_about(tmp_path / "there" / home.name)


def kept_about(path: Path) -> list[tuple[str, ...]]:
    """Return what a session's file keeps about it."""
    query = "SELECT title, plan_text, plan_path, draft_text, fingerprint, created FROM session"
    with closing(sqlite3.connect(path)) as store:
        return list(store.execute(query))


def test_there_and_back_again(home: Path, tmp_path: Path) -> None:
    """What was done on the other machine comes home; a second time there is nothing new."""
    there = tmp_path / "there"
    stick = tmp_path / "stick"
    carried(home, stick, there)
    walk(there / home.name, "de", "Ben")
    brought = carried(there / home.name, stick, home.parent)
    assert (brought.outcome, brought.added) == (Arrival.MOVED_ON, 2)
    assert accounts(home.parent) == ["abcde"]
    assert bring(stick, home.parent).outcome is Arrival.NOTHING_NEW
    with Journal.open(home) as journal:
        assert journal.weaver == "Ben"
        assert journal.append(step(6)).number == 6


def test_an_older_state_changes_nothing(home: Path, tmp_path: Path) -> None:
    """A stick forgotten in a drawer says by how much the session here is ahead."""
    stick = tmp_path / "stick"
    pack(home, stick)
    walk(home, "de")
    brought = bring(stick, home.parent)
    assert (brought.outcome, brought.ahead) == (Arrival.NOTHING_NEW, 2)
    assert accounts(home.parent) == ["abcde"]


def test_where_both_went_on_the_parting_is_named(home: Path, tmp_path: Path) -> None:
    """Two that went on separately are left alone; the first entry that differs is told."""
    there, stick = tmp_path / "there", tmp_path / "stick"
    carried(home, stick, there)
    walk(home, "d", "Ana")
    walk(there / home.name, "de", "Ben")
    brought = carried(there / home.name, stick, home.parent)
    assert brought.outcome is Arrival.PARTED
    assert brought.parting is not None
    assert brought.parting.number == 4
    assert (brought.parting.here.weaver, brought.parting.brought.weaver) == ("Ana", "Ben")
    assert accounts(home.parent) == ["abcd"]
    both = bring(stick, home.parent, keep_both=True)
    assert (both.outcome, both.session) == (Arrival.KEPT_BOTH, "harbour-towels-2")
    assert accounts(home.parent) == ["abcd", "abcde"]
    # The same words at another time are another entry: words alone would have merged these.
    assert bring(stick, home.parent, keep_both=True).outcome is Arrival.NOTHING_NEW
    # Each of the two goes on by itself from here.
    walk(there / home.name, "f", "Ben")
    assert carried(there / home.name, stick, home.parent).session == "harbour-towels-2"
    assert accounts(home.parent) == ["abcd", "abcdef"]


def test_of_copies_made_by_hand_the_furthest_moves_on(home: Path, tmp_path: Path) -> None:
    """Someone who copied the file itself keeps the copy as it is; the walked one moves on."""
    there = tmp_path / "there"
    carried(home, tmp_path / "stick", there)
    by_hand = home.with_name("a-copy.sqlite")
    shutil.copy(home, by_hand)
    walk(home, "d")
    carried(home, tmp_path / "stick", there)
    walk(there / home.name, "e")
    brought = carried(there / home.name, tmp_path / "stick", home.parent)
    assert (brought.outcome, brought.session) == (Arrival.MOVED_ON, home.stem)
    assert accounts(home.parent) == ["abc", "abcde"]


def test_another_session_of_the_same_plan_is_another(home: Path, tmp_path: Path) -> None:
    """Two warps of one plan, begun on two machines, never become one."""
    with begin(tmp_path / "there") as other:
        path = other.path
    walk(path, "abcd")
    assert path.name == home.name
    brought = carried(path, tmp_path / "stick", home.parent)
    assert (brought.outcome, brought.session) == (Arrival.ADDED, "harbour-towels-2")
    assert accounts(home.parent) == ["abc", "abcd"]


OPERATIONS = st.lists(
    st.one_of(
        st.tuples(st.just("walk"), MACHINES, LETTERS),
        st.tuples(st.just("carry"), MACHINES, MACHINES),
        st.tuples(st.just("keep both"), MACHINES, MACHINES),
    ),
    max_size=12,
)


@settings(deadline=None, max_examples=12, suppress_health_check=[HealthCheck.too_slow])
@given(operations=OPERATIONS)
def test_any_history_is_never_lost_and_never_merged_wrongly(
    operations: list[tuple[str, int, int | str]],
) -> None:
    """Three machines walk and carry at random: each holds just what a plain account says.

    Each walk uses letters of its own, so that two histories are the same only if they are one.
    """
    with tempfile.TemporaryDirectory() as top:
        folders = [Path(top) / str(machine) for machine in range(3)]
        begin(folders[0]).close()
        held: list[list[str]] = [[""], [], []]
        for turn, (what, machine, detail) in enumerate(operations):
            paths = [each.path for each in sessions(folders[machine])]
            if not paths:
                continue
            path = paths[turn % len(paths)]
            words = account(path)
            if isinstance(detail, str):
                mine = "".join(chr(0x100 + 3 * turn + ord(letter) - 97) for letter in detail)
                walk(path, mine)
                held[machine].remove(words)
                held[machine] = sorted([*held[machine], words + mine])
            else:
                keep_both = what == "keep both"
                there = folders[detail]
                brought = carried(path, Path(top) / "stick", there, keep_both=keep_both)
                held[detail], outcome = foreseen(held[detail], words, keep_both=keep_both)
                assert brought.outcome is outcome
                assert (brought.parting is None) == (outcome is not Arrival.PARTED)
            for folder, expected in zip(folders, held, strict=True):
                assert accounts(folder) == sorted(expected)


def test_a_file_on_the_stick_is_replaced_only_by_what_continues_it(
    home: Path, tmp_path: Path
) -> None:
    """Carrying again to one stick is easy; whatever else stands there is left alone."""
    there, stick = tmp_path / "there", tmp_path / "stick"
    carried(home, stick, there)
    walk(home, "d")
    assert pack(home, stick).manifest.entries == 4
    walk(there / home.name, "e")
    for other in (there / home.name, begin(tmp_path / "else").path):
        content = stick.read_bytes()
        with pytest.raises(JournalError, match="exists already"):
            pack(other, stick)
        assert stick.read_bytes() == content
    stick.write_text("shopping list")
    with pytest.raises(JournalError, match="exists already"):
        pack(home, stick)
    assert stick.read_text() == "shopping list"


def _repack(file: Path, change: Callable[[dict[str, object]], object]) -> None:
    """Write a carried file again with another manifest."""
    with zipfile.ZipFile(file) as packed:
        manifest = json.loads(packed.read("manifest.json"))
        database = packed.read("session.sqlite")
    change(manifest)
    with zipfile.ZipFile(file, "w") as packed:
        packed.writestr("manifest.json", json.dumps(manifest))
        packed.writestr("session.sqlite", database)


def _folder(file: Path) -> None:
    file.unlink()
    file.mkdir()


def _other_zip(file: Path) -> None:
    with zipfile.ZipFile(file, "w") as packed:
        packed.writestr("letter.txt", "dear diary")


def _sqlite(file: Path) -> None:
    file.unlink()
    with closing(sqlite3.connect(file)) as other:
        other.execute("CREATE TABLE entry (number INTEGER)")


SPOILT: dict[str, tuple[Callable[[Path], object], str]] = {
    "missing": (lambda file: file.unlink(), "there is no such file"),
    "folder": (_folder, "that is a folder"),
    "empty": (lambda file: file.write_bytes(b""), "something else"),
    "text": (lambda file: file.write_text("dear diary\n" * 99), "something else"),
    "a database": (_sqlite, "something else"),
    "another zip": (_other_zip, "something else"),
    "cut short": (lambda file: os.truncate(file, file.stat().st_size - 1), "not copied to its end"),
    "half": (lambda file: os.truncate(file, file.stat().st_size // 2), "not copied to its end"),
    "other sum": (lambda file: _repack(file, lambda m: m.update(sha256="0" * 64)), "damaged"),
    "fewer": (lambda file: _repack(file, lambda m: m.update(entries=2)), "damaged"),
    "renamed": (lambda file: _repack(file, lambda m: m.update(identity="x")), "damaged"),
    "newer": (lambda file: _repack(file, lambda m: m.update(format=2)), "newer companion"),
    "no sense": (lambda file: _repack(file, lambda m: m.update(session=7)), "damaged"),
    "escapes": (lambda file: _repack(file, lambda m: m.update(machine="\x1b[2J")), "damaged"),
}


@pytest.mark.parametrize("kind", SPOILT)
def test_a_spoilt_file_is_said_and_changes_nothing(home: Path, tmp_path: Path, kind: str) -> None:
    """Whatever is wrong with the file, one line says it, and the sessions stay as they are."""
    stick = tmp_path / "stick"
    pack(home, stick)
    spoil, told = SPOILT[kind]
    spoil(stick)
    walk(home, "d")
    for folder in (home.parent, tmp_path / "there"):
        with pytest.raises(JournalError, match=told) as refused:
            bring(stick, folder)
        assert "stick" in str(refused.value)
        assert "\n" not in str(refused.value)
    assert accounts(home.parent) == ["abcd"]
    assert not (tmp_path / "there").exists()


@settings(deadline=None, max_examples=20)
@given(place=st.floats(0, 1, exclude_max=True), bits=st.integers(1, 255), is_cut=st.booleans())
def test_no_damage_goes_unnoticed(place: float, bits: int, is_cut: bool) -> None:  # noqa: FBT001 - drawn
    """One changed byte or a cut anywhere: refused, or, where ZIP has spare bits, all is there."""
    with tempfile.TemporaryDirectory() as top:
        with begin(Path(top) / "here") as journal:
            path = journal.path
        walk(path, "abc")
        stick = Path(top) / "stick"
        content = bytearray(pack(path, stick).path.read_bytes())
        at = int(place * len(content))
        if is_cut:
            del content[at:]
        else:
            content[at] ^= bits
        stick.write_bytes(content)
        there = Path(top) / "there"
        try:
            bring(stick, there)
        except JournalError:
            assert not there.exists() or accounts(there) == []
            return
        assert not is_cut
        assert accounts(there) == ["abc"]


KILLS = 8


@pytest.mark.parametrize("is_new", [True, False])
@pytest.mark.long
def test_a_kill_while_bringing_leaves_all_or_nothing(tmp_path: Path, *, is_new: bool) -> None:
    """After SIGKILL the session is as before or as brought; bringing again makes it whole."""
    chance = random.Random(int(is_new))
    with begin(tmp_path / "here") as journal:
        path = journal.path
    stick, there = tmp_path / "stick", tmp_path / "there"
    walk(path, "ab")
    pack(path, stick)
    early = stick.read_bytes()
    walk(path, "c" * 600)
    pack(path, stick)
    code = (
        "import sys; from pathlib import Path; from companion.record.carry import bring\n"
        "print('ready', flush=True); bring(Path(sys.argv[1]), Path(sys.argv[2]))\n"
        "print('done', flush=True)\n"
    )
    first = tmp_path / "early"
    first.write_bytes(early)
    before = [] if is_new else ["ab"]
    whole = account(path)
    for kill in range(KILLS):
        folder = there / str(kill)
        if not is_new:
            bring(first, folder)
        child, said = start_program(code, stick, folder)
        with said:
            said.readline()
            time.sleep(chance.uniform(0, 0.02))
            child.kill()
            has_ended = b"done" in said.read()
        child.wait()
        found = accounts(folder) if folder.exists() else []
        assert found == [whole] if has_ended else found in (before, [whole])
        bring(stick, folder)
        assert accounts(folder) == [whole]


def test_two_that_bring_at_once_add_one_session(home: Path, tmp_path: Path) -> None:
    """Four processes bring one file at the same moment: one session stands there."""
    stick = tmp_path / "stick"
    pack(home, stick)
    code = (
        "import sys; from pathlib import Path; from companion.record.carry import bring\n"
        "try: print(bring(Path(sys.argv[1]), Path(sys.argv[2])).outcome)\n"
        "except Exception as error: print(error)\n"
    )
    children = [start_program(code, stick, tmp_path / "there") for _ in range(4)]
    said = []
    for child, stream in children:
        with stream:
            said.append(stream.read().decode())
        child.wait()
    assert [each for each in said if each == "added\n"] == ["added\n"]
    assert all("nothing new" in each or "right now" in each for each in said if each != "added\n")
    assert accounts(tmp_path / "there") == ["abc"]


def test_a_damaged_session_here_is_never_brought_over(home: Path, tmp_path: Path) -> None:
    """A session that cannot be read stays for whoever can mend it; the brought one stands by it."""
    stick = tmp_path / "stick"
    pack(home, stick)
    os.truncate(home, 4096)
    content = home.read_bytes()
    brought = bring(stick, home.parent)
    assert (brought.outcome, brought.session) == (Arrival.ADDED, "harbour-towels-2")
    assert home.read_bytes() == content
    with pytest.raises(JournalError, match="damaged"):
        pack(home, tmp_path / "other")
    assert not (tmp_path / "other").exists()


@needs_mount
def test_a_full_stick_is_said_and_keeps_what_was_on_it(home: Path, tmp_path: Path) -> None:
    """Where the stick has no room the file from before stays, whole, and no part is left."""
    with mounted(tmp_path / "stick", "60k") as stick:
        kept = pack(home, stick).path
        (stick / "ballast").write_bytes(b"x" * (60_000 - kept.stat().st_size - 8192))
        content = kept.read_bytes()
        walk(home, "".join(chr(0x4E00 + n) for n in range(600)))
        with pytest.raises(JournalError, match="the disk is full"):
            pack(home, stick)
        assert kept.read_bytes() == content
        assert sorted(each.name for each in stick.iterdir()) == ["ballast", kept.name]


def test_a_session_being_walked_is_not_moved_on(tmp_path: Path) -> None:
    """Through the front door: bringing is refused while it is walked; carrying it is told."""
    ana, ben, stick = tmp_path / "ana", tmp_path / "ben", tmp_path / "stick"
    stick.mkdir()
    run(ana, "thread", FIRST_TRY, "--text", "--weaver", "Ana", lines=["done"] * 3)
    assert run(ana, "carry", "--to", stick).returncode == 0
    (file,) = stick.iterdir()
    run(ben, "bring", file)
    run(ben, "resume", "--text", "--weaver", "Ben", lines=["done"] * 2)
    run(ben, "carry", "--to", stick)
    process = start(ana, "resume", "--text")
    assert process.stdout is not None
    for line in process.stdout:
        if "End 4:" in line:
            break
    refused = run(ana, "bring", file)
    told = run(ana, "carry", "--to", tmp_path / "snapshot")
    process.kill()
    process.communicate()
    assert refused.returncode == 2
    # Since it was opened to be walked there are entries on both sides.
    assert "gone on with on both machines" in refused.stderr
    assert "being walked right now" in told.stdout
    assert "step 3 of 40" in run(ana, "sessions").stdout


def test_moving_on_waits_for_the_walk_to_end(home: Path, tmp_path: Path) -> None:
    """The lock of a walk that has written nothing yet still keeps the session as it is."""
    there, stick = tmp_path / "there", tmp_path / "stick"
    carried(home, stick, there)
    walk(there / home.name, "de", "Ben")
    stick.unlink()
    pack(there / home.name, stick)
    with (
        Journal.open(home),
        pytest.raises(JournalError, match="walked on this machine"),
    ):
        bring(stick, home.parent)
    assert accounts(home.parent) == ["abc"]
    assert bring(stick, home.parent).outcome is Arrival.MOVED_ON


@pytest.mark.long
def test_a_whole_walk_on_two_machines(tmp_path: Path) -> None:
    """Ana begins, Ben finishes elsewhere, and Ana's machine then tells who did what."""
    ana, ben, stick = tmp_path / "ana", tmp_path / "ben", tmp_path / "stick"
    stick.mkdir()
    commands = walk_commands(tmp_path / "check", FIRST_TRY)
    half = len(commands) // 2
    run(ana, "thread", FIRST_TRY, "--text", "--weaver", "Ana", lines=commands[:half])
    told = run(ana, "carry", "--to", stick)
    assert told.returncode == 0, told.stderr
    file = stick / "first-try-a-1.session"
    added = run(ben, "bring", file)
    assert added.stdout.startswith("Added first-try-a-1 with ")
    assert "companion resume first-try-a-1 --weaver NAME" in added.stdout
    rest = run(ben, "resume", "first", "--text", "--weaver", "Ben", lines=commands[half:])
    assert "40 ends in 5 groups" in rest.stdout
    assert run(ben, "carry", "--to", stick).returncode == 0
    moved = run(ana, "bring", file)
    assert re.match(r"first-try-a-1 moved on by \d+ entries", moved.stdout)
    assert run(ana, "bring", file).stdout.startswith("Nothing new: first-try-a-1")
    assert run(ana, "log").stdout == run(ben, "log").stdout
    handed = run(ana, "handover").stdout
    confirmed = commands[:half].count("done")
    assert f"Threading and sleying, Ana: ends 1 to {confirmed};" in handed
    assert f"Threading and sleying, Ben: ends {confirmed + 1} to 40;" in handed
    assert "finished" in handed


@pytest.mark.long
def test_both_machines_go_on_and_it_is_said(tmp_path: Path) -> None:
    """The front door names entry, weavers and machine, exit code 2; --keep-both has both."""
    ana, ben, file = tmp_path / "ana", tmp_path / "ben", tmp_path / "band.session"
    run(ana, "thread", FIRST_TRY, "--text", "--weaver", "Ana", lines=["done"] * 3)
    run(ana, "carry", "--to", file)
    run(ben, "bring", file)
    run(ana, "resume", "--text", lines=["done"])
    run(ben, "resume", "--text", "--weaver", "Ben", lines=["done"] * 2)
    run(ben, "carry", "--to", tmp_path / "bens.session")
    refused = run(ana, "bring", tmp_path / "bens.session")
    assert (refused.returncode, refused.stdout) == (2, "")
    assert "They part at entry 6: here by Ana at 20" in refused.stderr
    assert "and now at threading and sleying, step 4; on " in refused.stderr
    assert "by Ben at 20" in refused.stderr
    assert "and now at threading and sleying, step 5. " in refused.stderr
    assert "Traceback" not in refused.stderr
    both = run(ana, "bring", tmp_path / "bens.session", "--keep-both")
    assert both.stdout.startswith("Kept both: the brought session is first-try-a-2")
    listed = run(ana, "sessions").stdout
    assert "first-try-a-1: First try, a narrow band, threading and sleying, step 4 of 40" in listed
    assert "first-try-a-2: First try, a narrow band, threading and sleying, step 5 of 40" in listed
