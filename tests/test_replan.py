"""A plan that is corrected while it is walked: the place is kept up to the first step that differs.

What the sentences say is checked at the front door, for each kind of change; that a state always
fits its new stage, and keeps no more than both plans have alike, for any stages and walks.
"""

from __future__ import annotations

import sqlite3
from contextlib import closing
from typing import TYPE_CHECKING, NamedTuple

import pytest
from front_door import PLANS, run, terminal
from hypothesis import given
from hypothesis import strategies as st
from journal_walker import begin, step
from made_stages import OPTIONS, Made, make_stage
from test_guide_properties import SEQUENCES, state_after
from test_session_lookup import begun

from companion.base.errors import JournalError
from companion.guide import Mode, Options, State
from companion.guide.events import PlanChanged, from_json
from companion.guide.fits import check_fits
from companion.guide.replan import as_done, kept
from companion.job import Stage, StageName, Step, is_past, whole_job
from companion.job.plan_diff import is_same_work, steps_alike
from companion.loom.compute import compute
from companion.plan.file.reader import read_plan
from companion.record import EntryKind, Journal
from companion.record.carry import bring, pack

if TYPE_CHECKING:
    from pathlib import Path

    import pexpect

TEXT = (PLANS / "first-try.toml").read_text(encoding="utf-8")
THREADING = '[[threading]]\nnamed = "straight 4"\ntimes = "fill"\n'
REED_AND_THREADING = TEXT[TEXT.index("[reed]") : TEXT.index("\n[groups]")]
TO_END_11 = [*["done"] * 8, "8", *["done"] * 3, "stop"]


def threading(*parts: tuple[str, int]) -> tuple[str, str]:
    """Return what puts another threading into the plan."""
    tables = (f'[[threading]]\nends = "{ends}"\ntimes = {times}\n' for ends, times in parts)
    return THREADING, "".join(tables)


class Corrected(NamedTuple):
    """One way to correct a plan, after eleven ends."""

    change: tuple[str, str]
    told: str
    """What is said of it."""
    then: str
    """The step that follows."""


AN_EARLIER_END = threading(("1 to 4", 1), ("4 to 1", 9))
COMMENT = ("# A narrow band", "# A band")
KEPT = {
    "a comment": Corrected(COMMENT, "The plan file has changed; the work is the same.", "End 12: "),
    "the title": Corrected(
        ("First try", "Second try"), "The plan file has changed; the work is the same.", "End 12: "
    ),
    "a later end": Corrected(
        threading(("1 to 4", 5), ("4 to 1", 5)),
        "The plan is new from end 21 on. You keep your place.",
        "End 12: shaft 4, dent 12.",
    ),
    "more ends": Corrected(
        ("ends = 40", "ends = 44"),
        "The plan is new from end 41 on. You keep your place. It has 44 ends now, not 40. "
        "Your first dent stays, so the warp lies 2 dents off the centre.",
        "End 12: shaft 4, dent 12.",
    ),
    "fewer ends": Corrected(
        ("ends = 40", "ends = 36"),
        "The plan ends with end 36 now. You keep your place. It has 36 ends now, not 40. "
        "Your first dent stays, so the warp lies 2 dents off the centre.",
        "End 12: shaft 4, dent 12.",
    ),
    "the groups": Corrected(
        ("size = 2", "size = 1"), "The groups are new. You keep your place.", "End 12: "
    ),
}
UNDOING = {
    "an earlier end": Corrected(
        AN_EARLIER_END,
        "The plan is new from end 5 on. Pull ends 5 to 11 out and follow it?",
        "End 5: shaft 4, dent 5.",
    ),
    "far fewer ends": Corrected(
        ("ends = 40", "ends = 8"),
        "The plan ends with end 8 now. Pull ends 9 to 11 out and follow it?",
        "Threading and sleying is complete: 8 ends in 1 group.",
    ),
    "the reed": Corrected(
        ("[reed]\ndents_per_inch = 10", "[reed]\ndents_per_inch = 12"),
        "The plan has another reed. Leave ends 1 to 11 in their heddles, sley them anew and "
        "follow it?",
        "Dent 1: end 1, shaft 1.",
    ),
    "the reed and an end": Corrected(
        (
            REED_AND_THREADING,
            REED_AND_THREADING.replace("= 10", "= 12").replace(*AN_EARLIER_END),
        ),
        "The plan has another reed. Leave ends 1 to 4 in their heddles, sley them anew, thread "
        "ends 5 to 11 anew and follow it?",
        "Dent 1: end 1, shaft 1.",
    ),
    "the sett": Corrected(
        ("ends_per_inch = 10", "ends_per_inch = 20"),
        "The plan is new from end 2 on. Leave ends 2 to 11 in their heddles, sley them anew and "
        "follow it?",
        "Dent 1: end 2, shaft 2.",
    ),
    "the edge": Corrected(
        ("[loom]\n", '[loom]\nfirst_end = "left"\n'),
        "The plan is new from end 1 on. Pull ends 1 to 11 out and follow it?",
        "End 1: shaft 1, dent 1.",
    ),
}


def _begun(home: Path, change: tuple[str, str], *words: str) -> Path:
    """Walk eleven ends of a plan, or as many as are said, and correct it."""
    path = home / "plan.toml"
    path.write_text(TEXT, encoding="utf-8")
    run(home, "thread", path, "--text", lines=words or TO_END_11)
    assert change[0] in TEXT
    path.write_text(TEXT.replace(*change), encoding="utf-8")
    return path


@pytest.mark.parametrize("kind", KEPT)
@pytest.mark.long
def test_what_lies_ahead_changes_nothing_of_the_place(tmp_path: Path, kind: str) -> None:
    """It is told in a sentence, and said no more in the next sitting."""
    change, told, then = KEPT[kind]
    path = _begun(tmp_path, change)
    resumed = run(tmp_path, "resume", "--text", lines=["stop"]).stdout
    assert resumed.startswith(f"{told}\n")
    assert then in resumed
    again = run(tmp_path, "thread", path, "--text", lines=["stop"]).stdout
    assert again.startswith("Threading, group ")
    assert then in again
    assert told in run(tmp_path, "log").stdout
    assert run(tmp_path, "handover").returncode == 0


@pytest.mark.parametrize("kind", UNDOING)
def test_what_is_done_is_undone_with_consent(tmp_path: Path, kind: str) -> None:
    """In a terminal: asked, heard again, agreed to, walked, and not asked once more."""
    change, told, then = UNDOING[kind]
    _begun(tmp_path, change)
    child = terminal(tmp_path, "resume", "--text", "--lines")
    child.expect_exact(f"{told} Say yes or no to that.")
    _say(child, "repeat", told)
    _say(child, "yes", ", then go on.")
    child.expect_exact(then)
    _say(child, "stop", "Your place is kept")
    child.wait()
    again = run(tmp_path, "resume", "--text", lines=["repeat", "stop"]).stdout
    assert told not in again
    assert then in again


def test_what_hangs_in_its_heddles_is_sleyed_in_the_words_of_sleying(tmp_path: Path) -> None:
    """Asked for in the reed; a count that differs there is no slip of threading. From the first end
    on that never was in a heddle it is threading again, and so it is for who goes back then."""
    _begun(tmp_path, UNDOING["the reed"].change)
    counts = ["7", "7", "mend", "where am i", "8"]
    lines = ["yes", *["done"] * 8, *counts, *["done"] * 4, "rewind 11", "stop"]
    told = run(tmp_path, "resume", "--text", lines=lines).stdout
    assert "Pull ends 1 to 11 out of the reed alone, then go on." in told
    assert "\nSleying from the right after 120 dents.\nDent 1: end 1, shaft 1.\n" in told
    assert "Group 1. How many ends are in the reed?" in told
    assert "Group 1 of 5." in told
    assert "is missing" not in told
    assert "Dent 13: end 11, shaft 3.\n" in told
    assert "End 12: shaft 4, dent 15." in told
    assert "End 11: shaft 3, dent 13." in told


def test_who_takes_over_hears_what_hangs_in_its_heddles(tmp_path: Path) -> None:
    """Else ten ends in their heddles, of which the steps tell nothing, are a riddle to her."""
    _begun(tmp_path, UNDOING["the reed"].change)
    told = run(tmp_path, "resume", "--text", lines=["yes", "done", "stop"]).stdout
    hanging = "In the heddles already, and to be sleyed: ends 2 to 11."
    assert hanging not in told
    assert hanging in run(tmp_path, "handover").stdout
    run(tmp_path, "resume", "--text", lines=["undo", "stop"])
    first = run(tmp_path, "resume", "--text", "--weaver", "Ida", lines=["stop"]).stdout
    assert "In the heddles already, and to be sleyed: ends 1 to 11." in first


def test_what_lies_ahead_changes_nothing_of_ends_that_are_sleyed_anew(tmp_path: Path) -> None:
    """Another correction, of ends to come, leaves them in their heddles and undoes nothing."""
    change = UNDOING["the reed"].change
    path = _begun(tmp_path, change)
    run(tmp_path, "resume", "--text", lines=["yes", "done", "done", "stop"])
    later = threading(("1 to 4", 5), ("4 to 1", 5))
    path.write_text(TEXT.replace(*change).replace(*later), encoding="utf-8")
    told = run(tmp_path, "resume", "--text", lines=["stop"]).stdout
    assert told.startswith("The plan is new from end 21 on. You keep your place.")
    assert "Dent 4: end 3, shaft 3." in told


def test_a_group_that_ends_with_what_hangs_is_counted_in_the_reed_too(tmp_path: Path) -> None:
    """Nobody is sent back to thread what never left its heddles; nor after an undo."""
    _begun(tmp_path, UNDOING["the reed"].change, *["done"] * 8, "stop")
    lines = ["yes", *["done"] * 8, "7", "7", "mend", "8", "undo", "where am i", "stop"]
    told = run(tmp_path, "resume", "--text", lines=lines).stdout
    assert "Group 1. How many ends are in the reed?" in told
    assert "in heddles" not in told
    assert "is missing" not in told
    assert "thread them again" not in told


ONE_END = threading(("1 to 4, 1 to 3, 2", 1), ("1 to 4", 8))
"""End 8, and nothing after it, on another shaft: shaft 2 and not 4."""


def test_an_end_on_another_shaft_is_mended_where_it_is(tmp_path: Path) -> None:
    """A repair heddle for end 8 is less work than ends 8 to 11 anew; the place is kept."""
    _begun(tmp_path, ONE_END)
    asked = "End 8 is on another shaft in the new plan. Mend it where it is, and keep your place?"
    lines = ["mend", "mend", "yes", *["done"] * 4, "stop"]
    told = run(tmp_path, "resume", "--text", lines=lines).stdout.splitlines()
    assert told[0] == f"{asked} Say yes or no to that, or mend for another way."
    assert told[1].startswith("The plan is new from end 8 on. Pull ends 8 to 11 out and follow it?")
    assert told[2] == told[0]
    assert told[5:10] == [
        "Find end 8: it is on shaft 4. Pull it out.",
        "Tie a repair heddle on shaft 2 at that spot.",
        "Draw end 8 through the repair heddle, on shaft 2.",
        "Put end 8 into dent 8.",
        "Group 1 is put right.",
    ]
    assert told[10] == "End 12: shaft 4, dent 12."
    record = run(tmp_path, "log").stdout
    assert "    End 8 is on another shaft in the new plan: mend that, then go on.\n" in record
    assert "    Group 1 put right" in record
    again = run(tmp_path, "resume", "--text", lines=["read back from 8", "stop"]).stdout
    assert "End 8: shaft 2, dent 8." in again


TWO_GROUPS = threading(
    ("1 to 3, 2", 1), ("1 to 4", 1), ("1 to 3, 2", 1), ("1 to 4", 1), ("1 to 4", 6)
)
"""End 4 in group 1 and end 12 in group 2 on shaft 2, not 4."""
TO_END_19 = [*["done"] * 8, "8", *["done"] * 8, "8", *["done"] * 3, "stop"]


def test_ends_of_two_groups_are_mended_one_after_the_other(tmp_path: Path) -> None:
    """Two repair heddles are less work than 16 ends anew; a sitting may end between the two."""
    _begun(tmp_path, TWO_GROUPS, *TO_END_19)
    lines = ["yes", *["done"] * 5, "stop"]
    told = run(tmp_path, "resume", "--text", lines=lines).stdout.splitlines()
    assert told[0].startswith(
        "Ends 4 and 12 are on other shafts in the new plan. Mend them where they are, and keep"
    )
    assert told[3] == "Find end 4: it is on shaft 4. Pull it out."
    at = told.index("Group 1 is put right.")
    assert told[at + 1 : at + 3] == [
        "Find end 12: it is on shaft 4. Pull it out.",
        "Tie a repair heddle on shaft 2 at that spot.",
    ]
    told = run(tmp_path, "resume", "--text", lines=[*["done"] * 3, "stop"]).stdout.splitlines()
    at = told.index("Group 2 is put right.")
    assert told[at + 1] == "End 20: shaft 4, dent 20."
    again = run(tmp_path, "resume", "--text", lines=["read back from 12", "stop"]).stdout
    assert "End 12: shaft 2, dent 12." in again


def test_the_new_plan_is_taken_unasked_by_the_way_that_is_less_work(tmp_path: Path) -> None:
    """With --take-plan as with a yes; a mend that is left leads to the group it is in."""
    path = _begun(tmp_path, TWO_GROUPS, *TO_END_19)
    lines = ["done", "back", "back", "stop"]
    told = run(tmp_path, "thread", path, "--text", "--take-plan", lines=lines).stdout.splitlines()
    assert told[0] == "Ends 4 and 12 are on other shafts in the new plan: mend that, then go on."
    assert told[2] == "Find end 4: it is on shaft 4. Pull it out."
    assert told[5] == "You left the mend unfinished; it is not on record."
    assert told[6].startswith("Most likely end 4 is on shaft 4 instead of shaft 2. Say mend ")


def test_where_threading_anew_is_less_work_it_is_asked_about(tmp_path: Path) -> None:
    """Two repair heddles for ends 8 and 9 of 11 count for more than four ends."""
    two = threading(("1 to 4, 1 to 3, 2", 1), ("3, 2 to 4", 1), ("1 to 4", 7))
    path = _begun(tmp_path, two)
    path.write_text(path.read_text("utf-8").replace("size = 2", "size = 1"), encoding="utf-8")
    told = run(tmp_path, "resume", "--text", lines=["stop"]).stdout
    assert told.startswith("The plan is new from end 8 on. Pull ends 8 to 11 out and follow it?")


def _say(child: pexpect.spawn[str], words: str, expected: str) -> None:
    child.sendline(words)
    child.expect_exact(expected)


def test_without_consent_the_plan_stays_as_it_was(tmp_path: Path) -> None:
    """The old plan is walked on; another sitting only remarks on the new one, until it changes."""
    change, told, then = UNDOING["an earlier end"]
    path = _begun(tmp_path, change)
    left = run(tmp_path, "resume", "--text", lines=["no", "done", "stop"]).stdout
    assert "Nothing changed." in left
    assert "End 13: shaft 1, dent 13." in left
    remark = (
        'The plan file has changed; going on with the plan as it was. Say "new plan" to take it.'
    )
    old = run(tmp_path, "resume", "--text", lines=["new plan", "no", "stop"]).stdout
    assert old.startswith(f"{remark}\n")
    assert told.replace("11", "12") in old
    assert "another one in its file is not taken" in run(tmp_path, "log").stdout
    path.write_text(f"{path.read_text('utf-8')}\n# corrected once more\n", encoding="utf-8")
    asked = run(tmp_path, "resume", "--text", lines=["stop"]).stdout
    assert asked.startswith(told.replace("11", "12"))
    old = run(tmp_path, "thread", path, "--text", "--keep-plan", lines=["stop"]).stdout
    assert old.startswith(f"{remark}\n")
    assert "End 13: " in old
    new = run(tmp_path, "thread", path, "--text", "--take-plan", lines=["stop"]).stdout
    assert new.startswith("Pull ends 5 to 12 out, then go on.\n")
    assert then in new


def test_a_plan_corrected_during_the_walk_is_looked_at_by_a_word(tmp_path: Path) -> None:
    """Before it has changed, after it, and where it cannot be read."""
    path = tmp_path / "plan.toml"
    path.write_text(TEXT, encoding="utf-8")
    child = terminal(tmp_path, "thread", path, "--text", "--lines")
    child.expect_exact("End 1: ")
    _say(child, "done", "End 2: ")
    _say(child, "new plan", "The plan is as it was.")
    path.write_text(TEXT.replace(*threading(("1 to 4", 5), ("4 to 1", 5))), encoding="utf-8")
    _say(child, "new plan", "The plan is new from end 21 on. You keep your place.")
    child.expect_exact("End 2: shaft 2, dent 2.")
    path.write_text("title =", encoding="utf-8")
    _say(child, "new plan", "plan.toml has changed and cannot be walked as it is")
    _say(child, "repeat", "Type companion check plan.toml to see what is wrong.")
    child.expect_exact("End 2: shaft 2, dent 2.")
    assert "The plan is as it was" not in child.before
    path.write_text(TEXT.replace("[loom]", '[loom]\nfirst_end = "left"'), encoding="utf-8")
    _say(child, "new plan", "Pull end 1 out and follow it?")
    _say(child, "no", "Nothing changed.")
    _say(child, "done", "End 3: ")
    _say(child, "stop", "Your place is kept")
    child.wait()


def test_stages_come_and_go_with_the_plan(tmp_path: Path) -> None:
    """A raddle that is there no more is left out, and comes back with the plan."""
    path = tmp_path / "plan.toml"
    path.write_text(TEXT, encoding="utf-8")
    run(tmp_path, "walk", path, "--text", lines=["stop"])
    raddle = TEXT[TEXT.index("[raddle]") : TEXT.index("[[threading]]")]
    path.write_text(TEXT.replace(raddle, ""), encoding="utf-8")
    told = run(tmp_path, "resume", "--text", lines=["stop"]).stdout
    assert told.startswith("Left out now: spreading in the raddle.\n")
    path.write_text(TEXT, encoding="utf-8")
    told = run(tmp_path, "walk", path, "--text", lines=["stop"]).stdout
    assert told.startswith("New in it: spreading in the raddle.\n")


def test_what_is_past_stays_as_it_was_done(tmp_path: Path) -> None:
    """Threading is finished and sleying begun: an end on another shaft is told, nothing undone."""
    count = [*["done"] * 8, "8"]
    path = _begun(
        tmp_path,
        ("[loom]\n", '[loom]\npasses = "separate"\n'),
        *["stop"],
    )
    plain = path.read_text(encoding="utf-8")
    walk = run(tmp_path, "thread", path, "--new", "--text", lines=[*count * 5, "done", "stop"])
    assert "Sleying from" in walk.stdout
    path.write_text(plain.replace(*threading(("1 to 4", 1), ("4 to 1", 9))), encoding="utf-8")
    told = run(tmp_path, "resume", "--text", lines=["stop"]).stdout
    assert told.startswith("Threading stays as before.")
    assert "Sleying, group 1" in told


def test_both_plans_are_on_record(tmp_path: Path) -> None:
    """The text before and after, and the session carried elsewhere goes on by the new one."""
    path = _begun(tmp_path, KEPT["a later end"].change)
    run(tmp_path, "resume", "--text", lines=["stop"])
    (file,) = (tmp_path / "journals").glob("*.sqlite")
    with Journal.open(file, read_only=True) as journal:
        (entry,) = (each for each in journal.entries() if each.kind is EntryKind.PLAN)
        (event,) = from_json(entry.events)
        assert isinstance(event, PlanChanged)
        assert (event.before.plan_text, event.after.plan_text) == (TEXT, path.read_text("utf-8"))
        assert journal.plan_text == event.after.plan_text
        assert journal.fingerprint == read_plan(path).fingerprint
    brought = bring(pack(file, tmp_path / "stick.session").path, tmp_path / "there")
    with Journal.open(tmp_path / "there" / f"{brought.session}.sqlite") as journal:
        assert journal.plan_text == event.after.plan_text


def test_a_carried_copy_moves_on_over_the_change(tmp_path: Path) -> None:
    """It is the same session although its plan is another."""
    path = tmp_path / "plan.toml"
    path.write_text(TEXT, encoding="utf-8")
    run(tmp_path, "thread", path, "--text", lines=TO_END_11)
    (file,) = (tmp_path / "journals").glob("*.sqlite")
    bring(pack(file, tmp_path / "old.session").path, tmp_path / "there")
    path.write_text(TEXT.replace(*COMMENT), encoding="utf-8")
    run(tmp_path, "resume", "--text", lines=["done", "stop"])
    moved = bring(pack(file, tmp_path / "new.session").path, tmp_path / "there")
    assert moved.outcome == "moved on"
    assert len(list((tmp_path / "there").glob("*.sqlite"))) == 1


def test_entries_are_written_together_or_not_at_all(tmp_path: Path) -> None:
    """Where the second cannot be written the first is not kept."""
    with begin(tmp_path) as journal:
        journal.append(step(1))
        with closing(sqlite3.connect(journal.path)) as plain, plain:
            plain.execute(
                "CREATE TRIGGER full BEFORE INSERT ON entry WHEN NEW.number = 3 "
                "BEGIN SELECT RAISE(ABORT, 'full'); END"
            )
        with pytest.raises(JournalError):
            journal.append(step(2), step(3))
        last = journal.last_entry()
        assert last is not None
        assert last.number == 1
        assert journal.append(step(2)).number == 2


def test_a_forged_change_is_none(tmp_path: Path) -> None:
    """A plan entry without sense leaves the session as it was begun."""
    path = begun(tmp_path, read_plan(PLANS / "first-try.toml"))
    with Journal.open(path) as journal:
        text = journal.plan_text
        forged = '[{"event":"PlanChanged","after":{"plan_text":5,"fingerprint":"x"}}]'
        entry = step(2)
        for events in (forged, '[{"event":"PlanChanged","after":[]}]', "[]"):
            made = type(entry)(kind=EntryKind.PLAN, stage="thread-and-sley", events=events)
            journal.append(made)
        assert journal.plan_text == text


_MADE = st.lists(st.integers(1, 8).map(lambda shaft: Made((shaft,))), min_size=1, max_size=5)
_GROUPS = st.lists(st.tuples(st.just(""), _MADE), min_size=1, max_size=4)


@st.composite
def _two(draw: st.DrawFn) -> tuple[Stage, Stage]:
    """Draw a stage and another that begins like it, in other groups perhaps."""
    name: StageName = draw(st.sampled_from(["thread", "thread-and-sley"]))
    shared = draw(st.lists(_GROUPS, max_size=1))
    begin_alike = shared[0] if shared else []
    old, new = draw(_GROUPS), draw(_GROUPS)
    together = [("", [made for _, members in begin_alike for made in members])]
    regrouped = together if begin_alike and draw(st.sampled_from([True, False])) else begin_alike
    return make_stage(name, [*begin_alike, *old]), make_stage(name, [*regrouped, *new])


@given(_two(), OPTIONS, SEQUENCES)
def test_a_state_fits_the_stage_of_the_other_plan(
    both: tuple[Stage, Stage], options: Options, commands: list[None]
) -> None:
    """It keeps what both have alike, no more and, where all is confirmed, no less."""
    old, new = both
    state = state_after(old, options, commands)
    after = kept(state, old, new)
    check_fits(after, new)
    assert State.from_json(after.to_json()) == after
    alike = steps_alike(old, new)
    assert old.steps[:alike] == tuple(
        each._replace(group=old.steps[at].group) for at, each in enumerate(new.steps[:alike])
    )
    assert after.sure == min(state.sure, alike)
    uncounted = {step.number for group in state.affirmed for step in _of(old, group)}
    closed = {step.number for step in old.steps if step.group <= state.checked} - uncounted
    for group in new.groups[: after.checked]:
        is_counted = {step.number for step in new.steps_of(group)} <= closed
        assert is_counted or group.number in after.affirmed or not options.ask_counts


def _of(walked: Stage, group: int) -> tuple[Step, ...]:
    return walked.steps_of(walked.groups[group - 1])


@given(_two(), OPTIONS)
def test_what_is_finished_can_be_left_as_done(both: tuple[Stage, Stage], options: Options) -> None:
    """It fits the other plan's stage, and is finished in it."""
    old, new = both
    state = state_after(old, options, [None] * 200)
    assert state.base is Mode.FINISHED
    after = as_done(state, old, new)
    check_fits(after, new)
    assert after.base is Mode.FINISHED


def test_the_names_of_units_and_colours_are_not_the_work() -> None:
    """Only what the hands do counts; a colour with a new name is the same yarn."""
    white, cream = ([("", [Made((1,), colour=name)] * 3)] for name in ("white", "cream"))
    old, new = make_stage("thread", white), make_stage("thread", cream)
    assert is_same_work(old, new)
    two = [("", [Made((1,), colour="white"), Made((1,), colour="blue")])]
    other = [("", [Made((1,), colour="blue"), Made((1,), colour="white")])]
    assert steps_alike(make_stage("thread", two), make_stage("thread", other)) == 0


def test_a_stage_is_past_when_the_warp_has_gone_on() -> None:
    """Tying up the treadles tells nothing of the threading."""
    dressing = compute(read_plan(PLANS / "first-try.toml"))
    job = whole_job(dressing)
    assert is_past(dressing, "thread-and-sley", ("thread-and-sley", "tie-on"))
    assert not is_past(dressing, "thread-and-sley", ("thread-and-sley", "tie-up"))
    assert not is_past(dressing, job[-1], job)
