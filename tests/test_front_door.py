"""The real command from the outside: pipes, a pseudo-terminal, sound files and kills."""

from __future__ import annotations

import csv
import random
import re
import signal
import sqlite3
import time
from contextlib import closing
from itertools import pairwise
from typing import TYPE_CHECKING

import heard
import pytest
from front_door import PLANS, kill_and_resume, run, start, terminal, walk_commands

from companion.devices.audio import wav
from companion.session.interrupts import Interrupts

if TYPE_CHECKING:
    from pathlib import Path

    import pexpect

FIRST_TRY = PLANS / "first-try.toml"
STRIPED = PLANS / "striped-towels.toml"


def test_piped_commands_walk_forwards_and_back(tmp_path: Path) -> None:
    """Done twice and back once leaves the weaver at end 2, and the place is kept."""
    result = run(tmp_path, "thread", FIRST_TRY, "--text", lines=["done", "done", "back"])
    assert result.returncode == 0
    assert result.stderr == ""
    calls = [line for line in result.stdout.splitlines() if re.search(r"\bEnd \d+:", line)]
    assert [re.findall(r"End (\d+): shaft (\d), dent (\d+)\.", line)[0] for line in calls] == [
        ("1", "1", "1"),
        ("2", "2", "2"),
        ("3", "3", "3"),
        ("2", "2", "2"),
    ]
    assert "Your place is kept" in result.stdout


def test_a_second_run_goes_on_where_the_first_ended(tmp_path: Path) -> None:
    """A walk that was left is taken up again without being asked for."""
    run(tmp_path, "thread", FIRST_TRY, "--text", lines=["done"] * 3)
    again = run(tmp_path, "thread", FIRST_TRY, "--text", lines=["done"])
    assert "End 4: shaft 4, dent 4." in again.stdout
    assert "End 5: shaft 1, dent 5." in again.stdout
    assert run(tmp_path, "sessions").stdout.count("First try") == 1


def test_new_begins_another_session(tmp_path: Path) -> None:
    """With --new the first walk stays as it was."""
    run(tmp_path, "thread", FIRST_TRY, "--text", lines=["done"] * 3)
    fresh = run(tmp_path, "thread", FIRST_TRY, "--text", "--new", lines=[])
    assert "End 1: shaft 1, dent 1." in fresh.stdout
    listed = run(tmp_path, "sessions").stdout
    assert "step 3 of 40" in listed
    assert "step 0 of 40" in listed


def test_a_session_of_the_first_edition_is_named_and_left(tmp_path: Path) -> None:
    """Its plan begins anew and says so, `resume` says why in one line, and no byte is changed."""
    run(tmp_path, "thread", FIRST_TRY, "--text", lines=["done"] * 3)
    (session,) = (tmp_path / "journals").glob("*.sqlite")
    with closing(sqlite3.connect(session)) as first_edition:
        first_edition.execute("PRAGMA user_version=2")
    before = session.read_bytes()
    resumed = run(tmp_path, "resume", session.stem, "--text")
    assert (resumed.returncode, resumed.stdout) == (2, "")
    assert re.fullmatch(r"first-try-a-1\b.* first edition.*\n", resumed.stderr)
    anew = run(tmp_path, "thread", FIRST_TRY, "--text", lines=["done"]).stdout
    assert anew.startswith("Beginning anew. Not read: first-try-a-1;")
    listed = run(tmp_path, "sessions").stdout.splitlines()
    named = [line.partition(":")[0] for line in listed]
    assert named == ["first-try-a-2", "first-try-a-1.sqlite"]
    assert "first edition" in listed[1]
    assert session.read_bytes() == before


@pytest.mark.long
def test_a_plan_of_300_ends_is_heard_whole(tmp_path: Path) -> None:
    """Every printed callout of a whole walk is one stretch of sound in the file, and no more."""
    out = tmp_path / "heard.wav"
    commands = walk_commands(tmp_path, STRIPED)
    assert commands.count("done") == 300
    result = run(tmp_path, "thread", STRIPED, "--audio-out", out, lines=commands)
    assert result.returncode == 0
    assert "300 ends in" in result.stdout
    printed = result.stdout.splitlines()
    spoken = [label for label in heard.labels(out) if label.text.startswith("line: ")]
    assert len(printed) == len(spoken)
    assert len(printed) == len(heard.segments(wav.read(out)))
    steps = [label for label in spoken if re.search(r"\b[Ee]nd .*: shaft .*, dent ", label.text)]
    assert len(steps) == 300


def test_a_wrong_count_holds_the_walk_until_it_is_mended(tmp_path: Path) -> None:
    """At a boundary nothing goes on before the count is right, and the difference is named."""
    lines = [*["done"] * 8, "count 7", "done", "rewind 8", "done", "count 8", "done"]
    result = run(tmp_path, "thread", FIRST_TRY, "--text", lines=lines)
    before, after = result.stdout.split("7, but 8 are planned. Count once more.")
    assert "End 9: shaft" not in before
    assert after.count("End 8: shaft") == 1
    assert "End 10: shaft" in after


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_a_kill_at_any_moment_loses_no_confirmed_end(tmp_path: Path, seed: int) -> None:
    """After SIGKILL the walk goes on at or after the last step that was acknowledged."""
    commands = walk_commands(tmp_path, STRIPED)
    acknowledged, present = kill_and_resume(tmp_path, STRIPED, commands, random.Random(seed))
    # One command may have been committed whose callout never came out.
    assert present in {acknowledged, acknowledged + 1}


def begun(home: Path) -> pexpect.spawn[str]:
    """Begin a walk in a terminal, and wait until a press counts as meant for its first step."""
    walk = terminal(home, "thread", FIRST_TRY, "--text", is_warm=False)
    walk.expect_exact("End 1: shaft 1, dent 1.")
    time.sleep(1.2)
    return walk


def test_a_terminal_takes_single_keys(tmp_path: Path) -> None:
    """In a terminal Enter confirms, b goes back, and a line begun with a colon is taken whole."""
    walk = begun(tmp_path)
    walk.send("\r")
    walk.expect_exact("End 2: shaft 2, dent 2.")
    time.sleep(0.4)
    walk.send("b")
    walk.expect_exact("End 1: shaft 1, dent 1.")
    time.sleep(0.4)
    walk.send(":where am i\r")
    walk.expect_exact("40 to go")
    time.sleep(0.4)
    walk.send(":stop\r")
    walk.expect_exact("companion resume")
    walk.expect_exact("\n")
    walk.wait()
    assert walk.exitstatus == 0


def test_a_word_typed_in_a_terminal_is_the_word(tmp_path: Path) -> None:
    """Its letters are keys too: what they did, and would keep for the next walk, is taken back."""
    walk = begun(tmp_path)
    walk.send("done\r")
    walk.expect_exact("Typed: done")
    walk.expect_exact("End 2: shaft 2, dent 2.")
    time.sleep(0.4)
    walk.send("back\r")
    walk.expect_exact("Typed: back")
    walk.expect_exact("End 1: shaft 1, dent 1.")
    time.sleep(0.4)
    walk.send("where am i\r")
    walk.expect_exact("Typed: where am i")
    walk.expect_exact("40 to go")
    time.sleep(0.4)
    walk.send("stop\r")
    walk.expect_exact("Your place is kept: 0 of 40")
    assert "Kept for the next walk" not in walk.read()
    walk.wait()
    assert walk.exitstatus == 0


def test_ctrl_c_keeps_the_place(tmp_path: Path) -> None:
    """An interrupt ends the sitting in good order."""
    walk = begun(tmp_path)
    walk.send(" ")
    walk.expect_exact("End 2: shaft 2, dent 2.")
    walk.sendintr()
    walk.expect_exact("Your place is kept")
    walk.wait()
    assert "step 1 of 40" in run(tmp_path, "sessions").stdout


def test_the_end_signal_keeps_the_place(tmp_path: Path) -> None:
    """SIGTERM ends the sitting as Ctrl-C does, and the record is closed in good order."""
    process = start(tmp_path, "thread", FIRST_TRY, "--text")
    assert process.stdout is not None
    for line in process.stdout:
        if "End 1:" in line:
            process.send_signal(signal.SIGTERM)
            break
    rest, _ = process.communicate(timeout=30)
    assert "Your place is kept" in rest
    assert "step 0 of 40: left" in run(tmp_path, "log").stdout


def test_two_walks_of_one_session_are_refused(tmp_path: Path) -> None:
    """The second process is told who walks the session, and changes nothing."""
    process = start(tmp_path, "thread", FIRST_TRY, "--text")
    assert process.stdout is not None
    for line in process.stdout:
        if "End 1:" in line:
            break
    second = run(tmp_path, "resume", "--text", lines=["done"])
    process.kill()
    process.communicate()
    assert second.returncode == 2
    assert str(process.pid) in second.stderr
    assert "already being walked" in second.stderr


def test_a_plan_with_another_title_is_the_same_work(tmp_path: Path) -> None:
    """The session goes on with it, and says so once; a new one begins with --new."""
    plan = tmp_path / "band.toml"
    plan.write_text(FIRST_TRY.read_text(encoding="utf-8"), encoding="utf-8")
    run(tmp_path, "thread", plan, "--text", lines=["done", "done"])
    changed = plan.read_text(encoding="utf-8").replace("First try", "Second try")
    plan.write_text(changed, encoding="utf-8")
    resumed = run(tmp_path, "resume", "--text", lines=[])
    assert resumed.stdout.startswith("The plan file has changed; the work is the same.")
    assert "End 3: shaft 3, dent 3." in resumed.stdout
    assert "End 1:" in run(tmp_path, "thread", plan, "--text", "--new").stdout


def test_what_stands_and_what_is_undone_are_told_apart(tmp_path: Path) -> None:
    """A count let stand is on record once, with its reason; undoing is no second one."""
    said = [*["done"] * 8, "count 7", "accept one end was broken", "yes", "back", "undo"]
    run(tmp_path, "thread", FIRST_TRY, "--text", lines=said)
    stands = "Group 1 stands with 7 instead of 8. Reason: one end was broken."
    log = run(tmp_path, "log").stdout.splitlines()
    told = [(re.findall('"(.*)"', entry), line) for entry, line in pairwise(log) if line[0] == " "]
    assert told == [
        (["count 7"], "    Group 1 does not fit: 7 ends instead of 8."),
        (["yes"], f"    {stands}"),
        (["back"], "    Back one step. Count again from group 1 on."),
        (["undo"], f"    Undone: 8 steps confirmed. {stands}"),
    ]
    rows = csv.DictReader(run(tmp_path, "export").stdout.splitlines())
    of = {row["words"]: row for row in rows}
    given = ("events", "count", "expected", "reason")
    assert [of["yes"][name] for name in given] == [
        *("Overridden GroupClosed", "7", "8", "one end was broken"),
    ]
    assert [of["undo"][name] for name in given] == ["Undone", "", "", ""]
    assert [row["words"] for row in of.values() if "Overridden" in row["events"]] == ["yes"]


def test_log_and_export_tell_what_was_done(tmp_path: Path) -> None:
    """Each command stands in the log and in the CSV, with who gave it."""
    run(tmp_path, "thread", FIRST_TRY, "--text", "--weaver", "Mara", lines=["done", "hullo"])
    logged = run(tmp_path, "log").stdout
    assert '"done", line by Mara' in logged
    assert 'refused "hullo"' in logged
    exported = run(tmp_path, "export").stdout.splitlines()
    assert exported[0].startswith("number,at,stage,kind")
    assert any(",command,line,done,1,40,Mara," in row for row in exported)
    assert run(tmp_path, "export", "--to", tmp_path / "a.csv").returncode == 0
    again = run(tmp_path, "export", "--to", tmp_path / "a.csv")
    assert again.returncode == 2
    assert "exists already" in again.stderr


def test_a_speed_chosen_by_one_weaver_is_kept_for_her(tmp_path: Path) -> None:
    """It holds when she comes back, and for nobody else."""
    plan = PLANS / "first-try.toml"
    walked = run(
        tmp_path, "thread", plan, "--text", "--weaver", "Anna", lines=["faster", "faster", "stop"]
    )
    assert walked.stdout.endswith("Kept for the next walk of Anna: words a minute 200.\n")
    again = run(tmp_path, "resume", "--text", "--weaver", "anna", lines=["faster", "stop"])
    assert again.stdout.endswith("of anna: words a minute 220.\n")
    other = run(tmp_path, "resume", "--text", "--weaver", "Bert", lines=["slower", "stop"])
    assert other.stdout.endswith("of Bert: words a minute 140.\n")
    assert run(tmp_path, "settings", "speech.words_per_minute").stdout.startswith(
        "speech.words_per_minute: 160. "
    )


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (("check", "no-such.toml"), "no-such.toml"),
        (("check", "."), "."),
        (("resume", "nothing"), "nothing"),
        (("thread", "no-such.toml"), "no-such.toml"),
        (("resume",), "No sessions yet"),
    ],
)
def test_mistakes_are_one_clear_report(
    tmp_path: Path, arguments: tuple[str, ...], told: str
) -> None:
    """What cannot be used is named on standard error, exit code 2, no traceback."""
    result = run(tmp_path, *arguments)
    assert result.returncode == 2
    assert told in result.stderr
    assert "Traceback" not in result.stderr
    assert result.stdout == ""


def test_doctor_names_every_part(tmp_path: Path) -> None:
    """Voice, loudspeaker, keys, pedal, journal and log of faults each get a line with a state."""
    lines = run(tmp_path, "doctor").stdout.splitlines()
    parts = {line.split(":")[0] for line in lines}
    assert parts >= {"Voice", "Loudspeaker", "Keys", "Pedal", "Journal"}
    assert all(re.match(r"[^:]+: (works|missing|not set up)\. ", line) for line in lines)
    log = tmp_path / "faults.log"
    assert f"Fault log: works. Nothing has gone wrong yet: {log}" in lines
    assert not log.exists()


def test_without_a_loudspeaker_the_walk_goes_on(tmp_path: Path) -> None:
    """A missing device is told in one line, and every command still works."""
    result = run(tmp_path, "thread", FIRST_TRY, lines=["done", "done"])
    assert result.returncode == 0
    assert "End 3: shaft 3, dent 3." in result.stdout


def test_a_callout_gives_as_much_as_the_weaver_wants(tmp_path: Path) -> None:
    """By option at first, then by word in the middle of a group, and kept for the next walk."""
    plan = PLANS / "first-try.toml"
    lines = ("done", "shafts only", "2 at a time", "back", "tell everything", "stop")
    walked = run(
        tmp_path, "thread", plan, "--text", "--step", "4", "--detail", "short", lines=lines
    )
    said = walked.stdout.splitlines()
    assert "Straight draw. Shafts 1, 2, 3, 4, dents 1 to 4." in said
    assert "Shafts 1, 2, 3, 4, dents 5 to 8." in said
    assert "Straight draw. Shafts 1, 2, 3, 4." in said
    assert "Straight draw. Shafts 1, 2." in said
    assert "Straight draw. Shafts 3, 4." in said
    assert "Straight draw. Ends 3 and 4: shafts 3, 4, dents 3 and 4." in said
    again = run(tmp_path, "resume", "--text", lines=("stop",))
    assert "Ends 3 and 4: shafts 3, 4, dents 3 and 4." in again.stdout


def test_a_session_whose_tables_are_no_text_stops_nothing(tmp_path: Path) -> None:
    """Where SQLite's own words quote bytes that are no text, one line says so; others go on."""
    run(tmp_path, "thread", FIRST_TRY, "--text", lines=["done"])
    (session,) = (tmp_path / "journals").glob("*.sqlite")
    session.write_bytes(
        session.read_bytes().replace(b"CREATE TABLE entry", b"CREATE \xffABLE entry")
    )
    listed = run(tmp_path, "sessions")
    assert (listed.returncode, listed.stdout.count("\n")) == (0, 1)
    assert "is damaged" in listed.stdout
    assert run(tmp_path, "resume", "--text").returncode == 2
    assert run(tmp_path, "thread", FIRST_TRY, "--text").returncode == 2
    other = PLANS / "point-runner.toml"
    assert run(tmp_path, "thread", other, "--text", lines=["done", "stop"]).returncode == 0


def test_an_interrupt_comes_only_where_a_sitting_waits() -> None:
    """Elsewhere it could leave a lock held that closing an input then waits for; twice, at once."""
    interrupts = Interrupts()
    interrupts.come(2, None)
    with pytest.raises(KeyboardInterrupt):
        interrupts.come(2, None)
    with pytest.raises(KeyboardInterrupt), interrupts.waiting():
        pytest.fail("what has come before the wait interrupts it")
    waits = Interrupts()
    with pytest.raises(KeyboardInterrupt), waits.waiting():
        waits.come(2, None)
