"""Presses that are none of the page's keys: a pedal, one switch, an earbud; the screen kept lit.

Earbud buttons come as the desktop's do, by MPRIS (freedesktop.org, "Media Player Remote Interfacing
Specification" 2.2, org.mpris.MediaPlayer2.Player) on a session bus of the test's own.
"""

from __future__ import annotations

import shutil
import subprocess
from contextlib import contextmanager
from importlib.resources import files
from typing import TYPE_CHECKING

import pytest
from board_door import RunningBoard, wait_until
from browser_pages import (
    is_scrolled_sideways,
    needs_chromium,
    pages,
    tool,
    violations,
)
from front_door import run

from companion.wording.board import PHRASES

expect = tool.expect

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from playwright.sync_api import Browser, Page

pytestmark = needs_chromium
needs_bus = pytest.mark.skipif(
    not (shutil.which("dbus-run-session") and shutil.which("gdbus")),
    reason="needs dbus-run-session and gdbus: apt-get install dbus libglib2.0-bin",
)
UNHURRIED_MS = 2500
"""After so long a second press affirms a count; the walk's own clock wants 1.5 s."""
SETTINGS = "Pedal, earbud, microphone"


CLOCK = """
globalThis.later = 0;
globalThis.stopped = null;
const now = performance.now.bind(performance);
performance.now = () => (globalThis.stopped ?? now() + globalThis.later);
"""
"""A page's clock that tests put forward or stop, so that none hangs on how busy the machine is."""


@pytest.fixture
def open_page(browser: Browser) -> Iterator[Callable[..., Page]]:
    with pages(browser, CLOCK) as open_page:
        yield open_page


@pytest.fixture
def board(tmp_path: Path) -> Iterator[RunningBoard]:
    with RunningBoard(tmp_path) as running:
        yield running


def now(page: Page, text: str) -> None:
    expect(page.locator("#now")).to_have_text(text)


def end(number: int) -> str:
    """Return what stands large at an end of the first plan: a straight draw on four shafts."""
    return f"End {number} Shaft {(number - 1) % 4 + 1} Dent {number}"


def press(page: Page, key: str) -> None:
    """Press a key so long after the last that it is no bounce and no third quick one."""
    at_leisure(page)
    page.keyboard.press(key)


def at_leisure(page: Page) -> None:
    page.evaluate("later += 1100")


def at_once(page: Page, *commands: str) -> str:
    """Press keys before any of them can have its answer; return what is refused at once.

    Meanwhile the clock by which a press is slow stands still.
    """
    said: str = page.evaluate(AT_ONCE, commands)
    return said


AT_ONCE = """(names) => {
    const now = Date.now;
    Date.now = () => 0;
    for (const name of names) document.querySelector(`[data-command=${name}]`).click();
    Date.now = now;
    return document.getElementById("trouble").textContent;
}"""


def thrice_quickly(page: Page, act: Callable[[], None], at: int = 1) -> None:
    """Press at an end, each time once the press before is answered, within a second."""
    for number, shown in enumerate((end(at + 1), end(at + 2), "")):
        page.evaluate(f"stopped = {100_000 + 310 * number}")
        act()
        if shown:
            now(page, shown)
    page.evaluate("later += 102_000; stopped = null")


# ---- a pedal


def test_a_page_turner_walks(board: RunningBoard, open_page: Callable[..., Page]) -> None:
    """Its usual keys confirm and go back wherever the focus is; a held one confirms once.

    Three quick presses read the choices, and leave all as it was before them.
    """
    page = open_page(board.url)
    now(page, end(1))
    press(page, "PageDown")
    now(page, end(2))
    press(page, "PageUp")
    now(page, end(1))
    press(page, "ArrowRight")
    now(page, end(2))
    press(page, "ArrowLeft")
    now(page, end(1))
    at_leisure(page)
    page.keyboard.down("PageDown")
    for _ in range(5):
        page.keyboard.down("PageDown")
    page.keyboard.up("PageDown")
    now(page, end(2))
    page.evaluate("stopped = performance.now() + 1100")
    page.keyboard.press("PageDown")
    now(page, end(3))
    page.keyboard.press("PageDown")  # a worn contact
    page.evaluate("later += 1100; stopped = null")
    press(page, "ArrowDown")  # scrolls, and gives nothing
    press(page, "PageUp")
    now(page, end(2))
    press(page, "PageDown")
    now(page, end(3))
    thrice_quickly(page, lambda: page.keyboard.press("PageDown"), at=3)
    board.wait_for("Choices. Done?")
    board.wait_for("Back?")
    assert board.place()["progress"]["confirmed"] == 2


def test_a_pedal_counts_too_and_types_nothing_into_a_field(
    board: RunningBoard, open_page: Callable[..., Page]
) -> None:
    """Presses quicker than their answers are each taken in order, but none for a count.

    Where a count is due the pedal affirms it; while a number stands there arrows move in it.

    Where only the page itself is chosen, keys do what they do on any page.
    """
    page = open_page(board.url)
    now(page, end(1))
    expect(page.locator("#link")).to_have_text("In step with the loom")
    assert at_once(page, "done", "done", "done", "done") == PHRASES["full"]
    now(page, end(4))
    for command, number in (("back", 2), ("done", 4), ("done", 6), ("done", 8)):
        at_once(page, command, command)
        now(page, end(number))
    at_once(page, "done", "done")
    now(page, "How many ends are in heddles?")
    expect(page.locator("#trouble")).to_have_text(PHRASES["late"])
    page.locator("#typed").fill("12")
    press(page, "ArrowLeft")
    page.keyboard.type("3")
    expect(page.locator("#typed")).to_have_value("132")
    now(page, "How many ends are in heddles?")
    press(page, "PageDown")
    expect(page.locator("#now")).to_contain_text("8?")
    page.wait_for_timeout(UNHURRIED_MS)
    press(page, "PageDown")
    now(page, end(9))
    page.locator("summary", has_text=SETTINGS).click()
    page.get_by_label("Keys and taps").select_option("page")
    press(page, "PageDown")
    press(page, "ArrowRight")
    page.get_by_role("button", name="Done").click()
    now(page, end(10))
    assert board.place()["progress"]["confirmed"] == 9


def test_a_device_learns_its_pedal(board: RunningBoard, open_page: Callable[..., Page]) -> None:
    """Each press asked for in turn; kept over a reload, told, and forgotten when wanted."""
    page = open_page(board.url)
    page.locator("summary", has_text=SETTINGS).click()
    page.get_by_role("button", name="Teach it").click()
    asks = page.locator("#asks")
    expect(asks).to_have_text("Press what shall be Done.")
    expect(page.locator("#lesson")).to_be_focused()
    assert violations(page) == []
    press(page, "b")
    expect(asks).to_have_text("The key b is now Done. Press what shall be Back.")
    press(page, "b")
    expect(asks).to_contain_text("The key b is taken already.")
    press(page, "ArrowDown")
    press(page, "Escape")
    expect(asks).to_have_text("Do you press by foot or by hand?")
    assert violations(page, "main") == []
    page.get_by_role("button", name="By foot").press("Enter")
    expect(asks).to_have_text("This device keeps that.")
    learnt = "The key b is Done. The key ArrowDown is Back. You press by foot."
    expect(page.locator("#learnt")).to_have_text(learnt)
    assert violations(page, "main") == []
    page.reload()
    now(page, end(1))
    press(page, "b")
    now(page, end(2))
    press(page, "ArrowDown")
    now(page, end(1))
    page.locator("summary", has_text=SETTINGS).click()
    page.get_by_role("button", name="Forget").click()
    page.locator("summary", has_text=SETTINGS).focus()
    press(page, "b")
    press(page, "PageDown")
    now(page, end(2))
    page.get_by_role("button", name="Teach it").click()
    page.get_by_role("button", name="Leave this one out").press("Enter")
    expect(asks).to_have_text("Press what shall be Back.")
    page.get_by_role("button", name="Stop teaching").click()
    expect(asks).to_have_text("Nothing was changed.")


def test_no_foot_is_taken_from_a_treadle(tmp_path: Path, open_page: Callable[..., Page]) -> None:
    """In weaving what may be a foot is refused aloud; a hand, once told, is taken."""
    with RunningBoard(tmp_path, "--weave") as board:
        page = open_page(board.url)
        for key, presses, foot in (("PageDown", "{}", ""), ("b", '{"b": "done"}', "yes")):
            keep = "([presses, foot]) => Object.assign(localStorage, { presses, foot })"
            page.evaluate(keep, [presses, foot])
            page.reload()
            now(page, "Pick 1: treadle 1.")
            press(page, key)
            expect(page.locator("#trouble")).to_contain_text("No foot pedal here")
        page.evaluate(keep, ['{"PageDown": "done"}', ""])
        page.reload()
        now(page, "Pick 1: treadle 1.")
        press(page, "PageDown")
        now(page, "Pick 2: treadle 2.")
        assert board.place()["progress"]["confirmed"] == 1


# ---- one switch


@pytest.mark.parametrize("by", ["key", "tap"])
@pytest.mark.long
def test_one_switch_walks_the_whole_plan(
    tmp_path: Path, open_page: Callable[..., Page], by: str
) -> None:
    """40 ends by any key, or by a tap anywhere on the walk: steps, and counts affirmed."""
    with RunningBoard(tmp_path, "--step", "group") as board:
        page = open_page(board.url, width=390, height=844)
        page.locator("summary", has_text=SETTINGS).click()
        page.get_by_label("Keys and taps").select_option("switch")
        page.locator("summary", has_text=SETTINGS).click()
        shown, said = page.locator("#now"), page.locator("#said")

        def one_press(wait: int = 0) -> None:
            page.wait_for_timeout(wait)
            at_leisure(page)
            if by == "key":
                page.keyboard.press("k")
            else:
                page.locator("#present").click(position={"x": 20, "y": 20})

        for group in range(1, 6):
            expect(shown).to_contain_text(f"Ends {8 * group - 7} to {8 * group}")
            one_press()
            expect(shown).to_contain_text("How many")
            one_press()
            expect(said).to_contain_text("Done once more")
            one_press(UNHURRIED_MS)
        now(page, "Complete")
        assert board.place()["progress"]["confirmed"] == 40


@pytest.mark.long
def test_a_switch_takes_a_choice(tmp_path: Path, open_page: Callable[..., Page]) -> None:
    """The choices are read and shown, a press takes the one just said; the way out stays open."""
    assert run(tmp_path, "settings", "walk.scan_seconds", "6").returncode == 0
    with RunningBoard(tmp_path) as board:
        _take_a_choice(board, open_page(board.url, width=390, height=844))


def _take_a_choice(board: RunningBoard, page: Page) -> None:
    page.locator("summary", has_text=SETTINGS).click()
    page.get_by_label("Keys and taps").select_option("switch")
    expect(page.get_by_role("button", name="Done")).to_be_hidden()
    assert violations(page) == []
    assert not is_scrolled_sideways(page)
    button = page.get_by_role("button", name="Press", exact=True)
    thrice_quickly(page, button.click)
    expect(page.locator("#said")).to_have_text("Back?")
    button.click()
    board.wait_for("Back one step", "This is the first step")
    page.reload()
    expect(page.get_by_role("button", name="Press", exact=True)).to_be_visible()
    page.locator("summary", has_text=SETTINGS).click()
    page.get_by_label("Keys and taps").select_option("pedal")
    expect(page.get_by_role("button", name="Done")).to_be_visible()


# ---- an earbud


class Headset:
    """Presses the buttons that a desktop passes on."""

    def __init__(self, bus: str) -> None:
        self._bus = bus

    def call(self, *arguments: str) -> str:
        done = subprocess.run(
            ["gdbus", "call", "--session", *arguments],
            env={"DBUS_SESSION_BUS_ADDRESS": self._bus},
            capture_output=True,
            text=True,
            timeout=20,
            check=False,
        )
        return done.stdout

    def player(self) -> str:
        names = self.call(
            "--dest", "org.freedesktop.DBus", "--object-path", "/org/freedesktop/DBus",
            "--method", "org.freedesktop.DBus.ListNames",
        )  # fmt: skip
        found = [each.strip(" '[]()\n,") for each in names.split("',")]
        return next((each for each in found if each.startswith("org.mpris.MediaPlayer2.")), "")

    def shows(self, title: str) -> bool:
        """Say whether the buttons are those of a page that shows this."""
        player = self.player()
        return bool(player) and f"<'{title}'>" in self.call(
            "--dest", player, "--object-path", "/org/mpris/MediaPlayer2", "--method",
            "org.freedesktop.DBus.Properties.Get", "org.mpris.MediaPlayer2.Player", "Metadata",
        )  # fmt: skip

    def press(self, button: str) -> None:
        self.call(
            "--dest", self.player(), "--object-path", "/org/mpris/MediaPlayer2",
            "--method", f"org.mpris.MediaPlayer2.Player.{button}",
        )  # fmt: skip


@contextmanager
def listening_to_earbuds(page: Page, bus: str) -> Iterator[Headset]:
    """Have a page take an earbud's buttons."""
    page.locator("summary", has_text=SETTINGS).click()
    page.get_by_label("An earbud's or headset's buttons").check()
    headset = Headset(bus)
    wait_until(lambda: headset.shows((page.locator("#now").text_content() or "-").strip()))
    expect(page.locator("#earbud-off")).to_be_hidden()
    yield headset


@needs_bus
@pytest.mark.long
def test_an_earbud_walks_the_whole_plan(
    tmp_path: Path, bus: str, open_page: Callable[..., Page]
) -> None:
    """Play and pause are done, previous is back, next repeats; 40 ends, every count affirmed."""
    with RunningBoard(tmp_path, "--step", "group") as board:
        page = open_page(board.url)
        shown, status = page.locator("#now"), page.locator("#status")
        with listening_to_earbuds(page, bus) as headset:
            expect(shown).to_contain_text("Ends 1 to 8")
            headset.press("PlayPause")
            expect(shown).to_contain_text("How many")
            at_leisure(page)
            headset.press("Previous")
            expect(shown).to_contain_text("Ends 1 to 8")
            headset.press("Next")
            board.wait_for_count("Ends 1 to 4: shafts", 3)
            for group in range(1, 6):
                expect(shown).to_contain_text(f"Ends {8 * group - 7} to {8 * group}")
                at_leisure(page)
                headset.press("Pause")
                expect(shown).to_contain_text("How many")
                at_leisure(page)
                headset.press("Pause")
                expect(status).to_contain_text("Done once more")
                page.wait_for_timeout(UNHURRIED_MS)
                at_leisure(page)
                headset.press("PlayPause")
            now(page, "Complete")
        assert board.place()["progress"]["confirmed"] == 40


@needs_bus
def test_an_earbud_is_learnt_and_let_go(
    board: RunningBoard, bus: str, open_page: Callable[..., Page]
) -> None:
    """Its buttons can mean something else on this device; after a reload a press wakes them."""
    page = open_page(board.url)
    with listening_to_earbuds(page, bus) as headset:
        page.get_by_role("button", name="Teach it").click()
        headset.press("Next")
        expect(page.locator("#asks")).to_contain_text("The earbud's next button is now Done.")
        press(page, "Escape")
        press(page, "Escape")
        expect(page.locator("#learnt")).to_have_text("The earbud's next button is Done.")
        headset.press("Next")
        now(page, end(2))
        page.reload()
        expect(page.locator("#earbud-off")).to_be_attached()
        now(page, end(2))
        page.locator("#now").click()
        expect(page.locator("#earbud-off")).to_be_hidden()
        wait_until(lambda: headset.shows(end(2)))
        headset.press("Next")
        now(page, end(3))


def test_the_silence_is_long_enough() -> None:
    """More than five seconds of nothing at all, by a reader of its own (libsndfile)."""
    soundfile = pytest.importorskip("soundfile")
    path = str(files("companion.out.board").joinpath("pages", "silence.flac"))
    samples, rate = soundfile.read(path, dtype="int16")
    assert len(samples) / rate > 5
    assert not samples.any()


def test_a_part_of_the_silence_can_be_asked_for(board: RunningBoard) -> None:
    """Some browsers play only what is given by the part (RFC 9110, 14.2 Range)."""
    part = {"Range": "bytes=0-1"}
    status, _, headers = board.request("HEAD", "/silence.flac", headers=part)
    assert (status, headers["content-range"][:10]) == (206, "bytes 0-1/")
    assert headers["content-type"] == "audio/flac"


# ---- the screen


def test_the_screen_stays_lit(board: RunningBoard, open_page: Callable[..., Page]) -> None:
    """Asked for at once and again whenever the page is seen again (W3C Screen Wake Lock)."""
    page = open_page("about:blank")
    # Without windows there is nobody whom the browser could ask.
    page.context.grant_permissions(["screen-wake-lock"])
    page.add_init_script(LOCKS)
    page.goto(board.url)
    now(page, end(1))
    assert page.evaluate("navigator.wakeLock !== undefined")
    wait_until(lambda: page.evaluate("held.size === 1"))
    page.evaluate("[...held][0].release()")
    wait_until(lambda: page.evaluate("held.size === 0"))
    page.locator("summary", has_text="told and shown").click()
    expect(page.locator("#dark")).to_be_visible()
    page.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
    wait_until(lambda: page.evaluate("held.size === 1"))
    expect(page.locator("#dark")).to_be_hidden()
    page.get_by_label("The screen stays lit").uncheck()
    wait_until(lambda: page.evaluate("held.size === 0"))
    page.reload()
    now(page, end(1))
    assert page.evaluate("held.size === 0")
    page.locator("summary", has_text="told and shown").click()
    page.get_by_label("The screen stays lit").check()
    wait_until(lambda: page.evaluate("held.size === 1"))
    board.type("stop")
    now(page, "Stopped")
    wait_until(lambda: page.evaluate("held.size === 0"))


LOCKS = """
globalThis.held = new Set();
const request = WakeLock.prototype.request;
WakeLock.prototype.request = async function (kind) {
  const lock = await request.call(this, kind);
  held.add(lock);
  lock.addEventListener("release", () => held.delete(lock));
  return lock;
};
"""
"""Counts the browser's own locks."""
