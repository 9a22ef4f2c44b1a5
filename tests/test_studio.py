"""Many looms in one process: each by itself, all before the teacher, each device in its place."""

from __future__ import annotations

import gc
import json
import os
import re
import shutil
import signal
import subprocess
import sys
import weakref
from datetime import date
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from board_door import wait_until, words
from front_door import run
from studio_door import RunningStudio
from websockets.exceptions import ConnectionClosed, InvalidStatus

from companion.base import uncollected
from companion.out.handover.record import Moments
from companion.out.studio.boot import unit
from companion.out.studio.standing import Standing
from companion.out.studio.studio import Studio
from companion.out.studio.teacher_pages import summary
from companion.record import Journal
from companion.wording.studio import OTHER_SERVERS

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from companion.devices.audio.clip import Clip

NETWORK = ("--network", "--address", "127.0.0.2")


@pytest.fixture
def studio(tmp_path: Path) -> Iterator[RunningStudio]:
    with RunningStudio(tmp_path) as running:
        yield running


@pytest.fixture(scope="module")
def empty_studio(tmp_path_factory: pytest.TempPathFactory) -> Iterator[RunningStudio]:
    """A studio in which nothing is begun."""
    with RunningStudio(tmp_path_factory.mktemp("home")) as running:
        yield running


def walk_to(studio: RunningStudio, key: str, commands: list[str]) -> dict[str, Any]:
    """Give commands on a loom's page, each for the step that is shown there."""
    for number, text in enumerate(commands):
        place = studio.at(key)
        assert studio.press(key, text, f"{key}-press-{number:04}", place) == "taken"
    return studio.at(key)


def stands(studio: RunningStudio, key: str, condition: str) -> dict[str, Any]:
    """Wait until a loom is in a condition; return how it stands."""
    wait_until(lambda: studio.looms()[key]["condition"] == condition)
    return studio.looms()[key]


def test_two_looms_never_mix(studio: RunningStudio) -> None:
    """Two walks of two plans in one process: each has its own place, weaver, record and answers."""
    first = studio.begin("window", weaver="Anna")
    second = studio.begin("door", "striped-towels.toml", "Berta")
    assert first["title"].startswith("Window: First try")
    assert second["title"].startswith("Door: Striped")
    for press in range(6):
        for key in ("window", "door"):
            place = studio.at(key)
            if place["mode"] == "walking":
                assert studio.press(key, "done", f"press-{key}-{press}", place) == "taken"
    assert words(studio.at("window")).startswith("End 7")
    # The same identity and step on another loom is another press.
    place = studio.at("window")
    assert studio.press("door", "done", "press-window-0", place) == "late"
    assert studio.press("window", "done", "press-window-0", place) == "taken"
    assert words(studio.at("window")).startswith("End 7")
    looms = studio.looms()
    assert {key: each["weaver"] for key, each in looms.items()} == {
        "window": "Anna",
        "door": "Berta",
    }
    assert len({each["session"] for each in looms.values()}) == 2
    for each in looms.values():
        path = studio.home / "journals" / f"{each['session']}.sqlite"
        with Journal.open(path, read_only=True) as journal:
            assert {entry.weaver for entry in journal.entries()} == {each["weaver"]}


def test_the_teacher_is_told_what_is_wrong_and_when_it_is_right(studio: RunningStudio) -> None:
    """A wrong count is told at once, by name and number, and stands first; so is the right one."""
    studio.begin("loom 2")
    studio.begin("loom 3")
    walk_to(studio, "loom-3", ["done"] * 8 + ["count 7"])
    studio.wait_for("Loom 3 is held: 7 of 8.")
    held = stands(studio, "loom-3", "held")
    assert (held["why"], held["place"]) == ("7 of 8", "threading and sleying, end 8 of 40")
    assert held["rank"] < studio.looms()["loom-2"]["rank"]
    studio.type("")
    studio.wait_for("Loom 3 is held: 7 of 8. 1 loom goes on.")
    assert studio.do("pause", loom="loom-2")[0] == 200
    stands(studio, "loom-2", "resting")
    studio.type("")
    studio.wait_for("Loom 3 is held: 7 of 8. 1 loom rests.")
    place = studio.at("loom-3")
    assert studio.press("loom-3", "count 8", "another-press", place) == "taken"
    studio.wait_for("Loom 3 goes on.")
    assert stands(studio, "loom-3", "walking")["why"] == ""


def test_pause_go_on_hand_over_and_end(studio: RunningStudio) -> None:
    """What the teacher has done with a loom is done there, and recorded with the right name."""
    studio.begin("loom 1", weaver="Anna")
    walk_to(studio, "loom-1", ["done"] * 3)
    assert studio.do("pause", loom="loom-1") == (200, "Loom 1: resting.")
    stands(studio, "loom-1", "resting")
    assert studio.do("go on", loom="loom-1") == (200, "Loom 1: going on.")
    stands(studio, "loom-1", "walking")
    told = "Loom 1 is handed over to Cilla."
    assert studio.do("hand over", loom="loom-1", weaver="Cilla") == (200, told)
    wait_until(lambda: studio.looms()["loom-1"]["weaver"] == "Cilla")
    assert words(studio.at("loom-1")).startswith("End 4")
    place = studio.at("loom-1")
    assert studio.press("loom-1", "done", "by-cilla-0001", place) == "taken"
    assert studio.do("finish", loom="loom-1")[0] == 200
    session = stands(studio, "loom-1", "stopped")["session"]
    _, page = next(studio.on("loom-1"))
    assert page["lines"][-1]["text"] == "Your place is kept: 4 of 40 steps done."
    with Journal.open(studio.home / "journals" / f"{session}.sqlite", read_only=True) as journal:
        confirmed = [each.weaver for each in map(Moments().of, journal.entries()) if each.confirmed]
    assert confirmed == ["Anna"] * 3 + ["Cilla"]
    assert studio.do("pause", loom="loom-1") == (422, "Nothing is walked at loom 1 now.")
    assert studio.do("hand over", loom="loom-1", weaver="Anna")[0] == 200
    assert words(studio.at("loom-1")).startswith("End 5")
    being = "Loom 1 is being walked. End that walk first."
    assert studio.do("remove", loom="loom-1") == (422, being)
    assert studio.do("start", name="loom 1", plan="first-try.toml") == (422, being)
    assert studio.do("finish", loom="loom-1")[0] == 200
    assert studio.do("remove", loom="loom-1")[0] == 200
    assert studio.looms() == {}
    assert run(studio.home, "sessions").stdout.startswith(f"{session}: ")


@pytest.mark.parametrize(
    ("fields", "told"),
    [
        ({"what": "start", "plan": "../plans/first-try.toml"}, "There is no session"),
        ({"what": "start", "plan": "no-such.toml"}, "There is no session"),
        ({"what": "start", "plan": ""}, "There is no session"),
        ({"what": "pause", "loom": "nowhere"}, "There is no loom 'nowhere' here."),
        ({"what": "hand over", "loom": "../x"}, "There is no loom '../x' here."),
        ({"what": "dance"}, "Expected one of: start, pause, go on"),
    ],
)
def test_what_cannot_be_done_is_told_in_one_line(
    empty_studio: RunningStudio, fields: dict[str, str], told: str
) -> None:
    status, text = empty_studio.do(**fields)
    assert status in {400, 422}
    assert told in text
    assert "\n" not in text


def test_a_plan_with_faults_is_told_at_its_loom_and_harms_no_other(tmp_path: Path) -> None:
    """The loom says what is wrong with the plan; the others go on."""
    plans = tmp_path / "plans"
    plans.mkdir()
    (plans / "bad.toml").write_text('title = "Bad"\n')
    source = (run(tmp_path, "demo", "--to", tmp_path / "demo"), tmp_path / "demo")[1]
    (plans / "good.toml").write_text(next(source.glob("first*.toml")).read_text())
    with RunningStudio(tmp_path, plans=plans) as studio:
        studio.begin("good", "good.toml")
        assert studio.do("start", name="bad", plan="bad.toml")[0] == 200
        fault = stands(studio, "bad", "fault")
        assert fault["why"].startswith("bad.toml: ")
        assert studio.wait_for("Bad: bad.toml").endswith(" found.")
        assert studio.press("good", "done", "press-0001", studio.at("good")) == "taken"
        # A plan that is corrected meanwhile is taken here too.
        good = plans / "good.toml"
        good.write_text(good.read_text().replace("ends = 40", "ends = 48"))
        assert studio.press("good", "new plan", "press-0002", studio.at("good")) == "taken"
        assert studio.at("good")["progress"]["total"] == 48
        # One that cannot be walked any more is told to the pupil, who types no commands of the
        # command line, and shown to the teacher until it is mended.
        kept = good.read_text()
        good.write_text("title =")
        assert studio.press("good", "new plan", "press-0003", studio.at("good")) == "taken"
        wait_until(lambda: studio.looms()["good"].get("note"))
        assert studio.looms()["good"]["note"] == (
            "good.toml has changed and cannot be walked as it is; going on with the plan kept in "
            "the session. Type companion check good.toml to see what is wrong."
        )
        _, whole = next(studio.on("good"))
        assert whole["lines"][-1]["text"] == (
            "The plan file cannot be used now. Go on as before, and ask your teacher."
        )
        good.write_text(kept)
        assert studio.press("good", "new plan", "press-0004", studio.at("good")) == "taken"
        wait_until(lambda: not studio.looms()["good"]["note"])


def test_a_studio_that_is_killed_goes_on_where_it_was(tmp_path: Path) -> None:
    """After SIGKILL every walk goes on by itself at its place; one that was ended does not."""
    with RunningStudio(tmp_path) as studio:
        studio.begin("loom 1", weaver="Anna")
        studio.begin("loom 2")
        walk_to(studio, "loom-1", ["done"] * 5)
        studio.do("finish", loom="loom-2")
        stands(studio, "loom-2", "stopped")
        studio.process.send_signal(signal.SIGKILL)
    with RunningStudio(tmp_path) as studio:
        assert words(studio.at("loom-1")).startswith("End 6")
        assert studio.looms()["loom-1"]["weaver"] == "Anna"
        assert studio.looms()["loom-2"]["condition"] == "free"
        assert studio.interrupt().startswith("Ended. Every walk goes on")
    with RunningStudio(tmp_path) as studio:
        assert words(studio.at("loom-1")).startswith("End 6")


def test_the_day_and_the_history_tell_what_happened(studio: RunningStudio) -> None:
    """The summary names loom, weaver, steps and what was found wrong; the history every entry."""
    studio.begin("loom 1", weaver="Anna <b>")
    walk_to(studio, "loom-1", ["done"] * 8 + ["count 7", "count 8"])
    studio.begin("loom 2")
    walk_to(studio, "loom-2", ["done"])
    status, page = studio.get("/looms/day/")
    assert "<p>Nobody named, " in page
    assert status == 200
    assert "Loom 1: First try" in page
    assert "Anna &lt;b&gt;" in page
    assert "8 steps confirmed" in page
    assert "Group 1 does not fit: 7 ends instead of 8." in page
    assert "Nothing was walked that day." in studio.get("/looms/day/?on=2001-01-01")[1]
    history = studio.get("/looms/history/loom-1/")[1]
    assert history.index("count 8") < history.index("count 7")
    assert "threading and sleying, step 0 of 40: begun by Anna &lt;b&gt;" in history
    assert "thread-and-sley" not in history
    assert studio.get("/looms/history/nowhere/")[0] == 404


def test_a_loom_has_clips_of_its_own(studio: RunningStudio) -> None:
    """What one loom's page may fetch as sound, another's may not."""
    studio.begin("loom 1")
    studio.begin("loom 2", "striped-towels.toml")
    walk_to(studio, "loom-2", ["done"])
    ahead = [next(studio.on(key))[1]["ahead"] for key in ("loom-1", "loom-2")]
    clip = next(each for each in ahead[1] if each not in ahead[0])
    assert studio.request("GET", f"/loom/loom-2/clip/{clip}")[0] == 200
    assert studio.request("GET", f"/loom/loom-1/clip/{clip}")[0] == 404
    assert studio.request("GET", f"/loom/nowhere/clip/{clip}")[0] == 404
    # As its sheets are its own; there are none where nothing is walked.
    assert "<h1>Striped kitchen towels</h1>" in studio.get("/loom/loom-2/sheets/")[1]
    assert "svg.chart" in studio.get("/sheets.css")[1]
    assert studio.get("/loom/nowhere/sheets/")[0] == 404


# ---- roles


def test_a_loom_device_reaches_its_own_loom_alone(tmp_path: Path) -> None:
    """A device of one loom is refused the other loom and all that is the teacher's."""
    with RunningStudio(tmp_path, *NETWORK) as studio:
        studio.begin("window")
        studio.begin("door")
        code = studio.code_for("window")["code"]
        status, _, cookie = studio.pair(code, "window tablet")
        assert status == 303
        mine = cookie.partition(";")[0]
        assert studio.request("GET", "/", headers={"Cookie": mine})[2]["location"] == (
            "/loom/window/"
        )
        place = studio.at("window")
        given = studio.give("done", place, "window-0001", at="loom/window/", cookie=mine)
        assert given == "taken"
        assert studio.get("/loom/door/", mine)[0] == 303
        for path in ("/loom/door/clip/x", "/looms/choices", "/looms/day/", "/looms/new"):
            assert studio.get(path, mine)[0] in {303, 403}, path
        for at, name in (("loom/door/", "line"), ("loom/door/", "ear"), ("looms/", "line")):
            with pytest.raises(InvalidStatus):
                studio.open_line(mine, at=at, name=name)
        # A page on another port of this address brings the cookie too: RFC 6265, section 8.5.
        near = studio.url.rpartition(":")[0] + ":1"
        for origin in (near, studio.url.rstrip("/").replace("https", "http"), "null", ""):
            for name in ("line", "ear"):
                with pytest.raises(InvalidStatus):
                    studio.open_line(mine, origin, "loom/window/", name)
        # What was taken, sent again and by another device too, gets its answer and moves nothing.
        for cookie in (mine, studio.cookie):
            again = studio.give("done", place, "window-0001", at="loom/window/", cookie=cookie)
            assert again == "taken"
        assert studio.do("finish", mine, loom="window")[0] == 403
        assert studio.do("start", mine, plan="first-try.toml")[0] == 403
        assert words(studio.at("door")).startswith("End 1")
        assert words(studio.at("window")).startswith("End 2")
        # Whoever opens the page for pairing has a teacher's code made, and it is called so.
        studio.get("/pair", "no=cookie")
        wait_until(lambda: studio.count("a teacher's device, which reaches every loom") == 2)
        # A used code, one that was never given, and no cookie at all.
        assert studio.pair(code)[0] == 403
        assert studio.do("tell", "no=cookie")[0] == 401
        listed = run(tmp_path, "tablets").stdout
        assert "window tablet, loom window: paired" in listed
        assert "desk, teacher: paired" in listed


def test_a_forgotten_loom_device_is_shut_out_and_the_rest_goes_on(tmp_path: Path) -> None:
    """Shut out on the page of devices, its open line ends at once; the other's does not."""
    with RunningStudio(tmp_path, *NETWORK) as studio:
        studio.begin("window")
        marks = [studio.pair(studio.code_for("window")["code"], name)[2] for name in ("a", "b")]
        one, other = (each.partition(";")[0] for each in marks)
        looking = studio.events(cookie=one, at="loom/window/")
        next(looking)
        status, _, _ = studio.request("POST", "/looms/devices/", "name=a", studio.headers())
        assert status == 303
        with pytest.raises(ConnectionClosed):
            list(looking)
        assert studio.get("/loom/window/", one)[0] == 303
        assert studio.get("/loom/window/", other)[0] == 200
        assert ">b, loom window<" in studio.get("/looms/devices/")[1]


def test_printed_codes_pair_with_their_own_loom_once(tmp_path: Path) -> None:
    """A sheet has a QR code for each loom (ISO/IEC 18004, read by zxing); each works once."""
    zxing = pytest.importorskip("zxingcpp")
    with RunningStudio(tmp_path, *NETWORK) as studio:
        studio.begin("window")
        studio.begin("door")
        status, page, _ = studio.request("POST", "/looms/codes/", "", studio.headers())
        assert status == 200
        drawn = re.findall(r"<h2>(\w+)</h2>(<svg.*?</svg>)", page, re.DOTALL)
        assert [name for name, _ in drawn] == ["Window", "Door"]
        for name, svg in drawn:
            url = _read_svg(zxing, svg)
            assert url.startswith(f"{studio.url}#")
            token = url.partition("#")[2]
            status, _, cookie = studio.pair(token)
            assert status == 303
            mine = {"Cookie": cookie.partition(";")[0]}
            led = studio.request("GET", "/", headers=mine)[2]["location"]
            assert led == f"/loom/{name.lower()}/"
            assert studio.pair(token)[0] == 403


def _read_svg(zxing: Any, svg: str) -> str:
    """Return what a QR code says that segno drew as horizontal strokes."""
    size = int(re.findall(r'viewBox="0 0 (\d+) ', svg)[0])
    image = np.full((size, size), 255, np.uint8)
    x = y = 0.0
    for kind, numbers in re.findall(r"([Mmh])([^Mmh\"]*)", re.findall(r' d="([^"]*)"', svg)[0]):
        values = [float(each) for each in re.findall(r"-?\d*\.?\d+", numbers)]
        if kind == "h":
            image[int(y), int(x) : int(x + values[0])] = 0
            x += values[0]
        else:
            x, y = values if kind == "M" else (x + values[0], y + values[1])
    found = zxing.read_barcodes(np.kron(image, np.ones((6, 6), np.uint8)))
    assert len(found) == 1
    return str(found[0].text)


def test_nothing_is_on_the_network_unasked(studio: RunningStudio) -> None:
    """Without --network it is this machine's alone, and no code can be had."""
    assert studio.host == "127.0.0.1"
    studio.begin("loom 1")
    status, text, _ = studio.request("POST", "/looms/code", "loom=loom-1", studio.headers())
    assert (status, text.strip()) == (
        422,
        "Start the studio with --network to have devices beside this one.",
    )
    kept = json.loads((studio.home / "studio" / "looms.json").read_text())
    assert [each["name"] for each in kept["looms"]] == ["loom 1"]


# ---- started with the machine


def test_the_unit_for_boot(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """It names the folder and the wishes, and what is printed says how to start and undo it."""
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    plans = tmp_path / "my plans 100%"
    plans.mkdir()
    linger = "loginctl disable-linger"
    done = run(tmp_path, "studio", plans, "--at-boot", "--network", "--text")
    path = tmp_path / "config" / "systemd" / "user" / "companion-studio.service"
    assert done.stdout.splitlines() == [
        f"Wrote {path}",
        f"Start it now and whenever you log in:  systemctl --user enable --now {path.name}",
        "Start it with the machine, before anybody logs in:  loginctl enable-linger",
        f"What it prints, the teacher's code too:  journalctl --user -u {path.name}",
        f"To undo it:  systemctl --user disable --now {path.name}; rm {path}; {linger}",
    ]
    text = path.read_text()
    assert f'"{str(plans).replace("%", "%%")}" "--network" "--text"' in text
    assert f'Environment="COMPANION_HOME={tmp_path}"' in text


@pytest.mark.skipif(
    shutil.which("systemd-analyze") is None, reason="needs systemd-analyze: apt-get install systemd"
)
def test_systemd_finds_no_fault_with_the_unit(tmp_path: Path) -> None:
    """systemd-analyze(1), "verify": it tells what it cannot read or would ignore."""
    (tmp_path / "run").mkdir(mode=0o700)

    def told(text: str) -> str:
        path = tmp_path / "companion-studio.service"
        path.write_text(text)
        done = subprocess.run(
            ["systemd-analyze", "verify", "--user", "--man=no", path],
            env={**os.environ, "XDG_RUNTIME_DIR": str(tmp_path / "run")},
            capture_output=True,
            text=True,
            timeout=60,
            check=False,
        )
        return done.stdout + done.stderr

    if told("[Service]\nExecStart=/bin/true\n"):
        pytest.skip("systemd-analyze does not work here")
    written = unit([sys.executable, "-m", "companion", "studio", 'my "plans" 100% $HOME \\ back'])
    assert told(written) == ""
    assert "Failed to parse" in told(written.replace("on-failure", "sometimes"))


def test_the_sheet_of_a_day_tells_of_other_servers(tmp_path: Path) -> None:
    """How their looms stand, and that what was done there is on sheets of their own."""
    printed: list[str] = []
    studio = Studio(
        plans=tmp_path,
        home=tmp_path,
        journals=tmp_path / "sessions",
        clips=Unspoken,
        words_per_minute=160,
        aloud=printed.append,
        tell=printed.append,
    )
    assert "other servers" not in summary(studio, date(2001, 1, 1))
    far = Standing("far", "loom 2 at barn", "held", title="Rug <1>", weaver="Ada", server="barn")
    studio.elsewhere("far", far)
    sheet = summary(studio, date(2001, 1, 1))
    assert "<li>Loom 2 at barn: Ada, Rug &lt;1&gt;, held</li>" in sheet
    assert OTHER_SERVERS in sheet
    studio.elsewhere("far", None)
    assert "other servers" not in summary(studio, date(2001, 1, 1))


class Ring:
    """Refers to itself, so that the collector alone can let it go."""

    def __init__(self) -> None:
        self.me = self


def test_what_is_kept_is_passed_over_and_later_waste_all_the_same() -> None:
    """What was there is not looked through by chance, and is let go when that is asked for."""
    thresholds = gc.get_threshold()
    kept = Ring()
    gone = weakref.ref(kept)
    try:
        uncollected.keep()
        assert not any(each is kept for each in gc.get_objects())
        del kept
        gc.collect()
        assert gone() is not None
        uncollected.keep()
        assert gone() is None
    finally:
        gc.unfreeze()
        gc.set_threshold(*thresholds)


class Unspoken:
    """Makes no clips; none is fetched."""

    def check(self) -> None:
        """It could not."""

    def clip(self, text: str, words_per_minute: int) -> Clip:
        raise NotImplementedError

    def close(self) -> None:
        """Nothing to give back."""
