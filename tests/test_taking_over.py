"""A second person takes over in the middle of a group, with her own step, detail and rate."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import heard
from front_door import PLANS, run, terminal

from companion.devices.audio import wav

if TYPE_CHECKING:
    from pathlib import Path

    import pexpect

FIRST_TRY = PLANS / "first-try.toml"


def _say(child: pexpect.spawn[str], words: str, expected: str) -> None:
    child.sendline(words)
    child.expect_exact(expected)


def _set(home: Path, weaver: str, **wishes: str) -> None:
    for name, value in wishes.items():
        assert run(home, "settings", f"weavers.{weaver}.{name}", value).returncode == 0


def test_the_group_goes_on_in_the_other_persons_way(tmp_path: Path) -> None:
    """In a terminal: three ends by Ana, then Ben, then Ana again; the log says who did what."""
    _set(tmp_path, "Ana", step="1", detail="all")
    _set(tmp_path, "Ben", step="4", detail="shafts")
    child = terminal(tmp_path, "thread", FIRST_TRY, "--text", "--lines", "--weaver", "Ana")
    child.expect_exact("End 1: shaft 1, dent 1.")
    _say(child, "done", "End 2: shaft 2, dent 2.")
    _say(child, "done", "End 3: shaft 3, dent 3.")
    _say(child, "stop", "Your place is kept")
    child.wait()
    child = terminal(tmp_path, "resume", "--text", "--lines", "--weaver", "Ben")
    child.expect_exact("Check it by touch: end 2 is on shaft 2 and in dent 2.")
    child.expect_exact("3, 4.")
    _say(child, "done", "1, 2, 3, 4.")
    _say(child, "done", "Group 1.")
    _say(child, "7", "Count once more")
    _say(child, "8", "8, right.")
    _say(child, "stop", "Your place is kept")
    child.wait()
    child = terminal(tmp_path, "resume", "--text", "--lines", "--weaver", "ana")
    child.expect_exact("End 9: shaft 1, dent 9.")
    _say(child, "done", "End 10: ")
    _say(child, "stop", "Your place is kept")
    child.wait()
    told = run(tmp_path, "log").stdout
    by = re.findall(r'"(done|7|8)", \w+ by (\w+)', told)
    assert by == [
        *[("done", "Ana")] * 2,
        *[("done", "Ben")] * 2,
        ("7", "Ben"),
        ("8", "Ben"),
        ("done", "ana"),
    ]
    handed = run(tmp_path, "handover").stdout
    assert re.search(r"Ben: ends 3 to 8", handed), handed


def test_whoever_goes_on_with_her_own_work_hears_less(tmp_path: Path) -> None:
    """What to feel for is told to another person, not to the one who left the work."""
    run(tmp_path, "thread", FIRST_TRY, "--text", "--weaver", "Ana", lines=["done", "stop"])
    own = run(tmp_path, "resume", "--text", "--weaver", "Ana", lines=["stop"]).stdout
    assert "Check it by touch" not in own
    other = run(tmp_path, "resume", "--text", "--weaver", "Ben", lines=["stop"]).stdout
    assert "Check it by touch" in other
    assert "Check it by touch" not in run(tmp_path, "resume", "--text", lines=["stop"]).stdout


def test_each_is_spoken_to_at_her_own_rate(tmp_path: Path) -> None:
    """The same words take Ben, at 110 words a minute, at least half as long again as Ana at 220."""
    _set(tmp_path, "Ana", words_per_minute="220")
    _set(tmp_path, "Ben", words_per_minute="110")
    run(tmp_path, "thread", FIRST_TRY, "--text", "--weaver", "Ana", lines=["done", "stop"])
    seconds = {}
    for weaver in ("Ana", "Ben"):
        file = tmp_path / f"{weaver}.wav"
        run(tmp_path, "resume", "--weaver", weaver, "--text", lines=["stop"])
        run(tmp_path, "resume", "--weaver", weaver, "--audio-out", file, lines=["repeat", "stop"])
        seconds[weaver] = sum(each.seconds for each in heard.segments(wav.read(file)))
    assert seconds["Ben"] > 1.5 * seconds["Ana"]
