"""While the loom is away: one press waits, the rest is refused, and all of it is heard too.

A loom that is away is a process that is stopped or killed; a browser that is set offline leaves its
open lines open.
"""

from __future__ import annotations

import json
import re
import signal
from typing import TYPE_CHECKING

import pytest
from board_door import RunningBoard, wait_until
from browser_pages import needs_chromium, pages, tool, violations

from companion.wording.board import PHRASES

expect = tool.expect

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from playwright.sync_api import Browser, Page, WebSocketRoute

STARTED = """
globalThis.started = [];
const start = AudioBufferSourceNode.prototype.start;
AudioBufferSourceNode.prototype.start = function (...given) {
  globalThis.started.push(Math.round(this.buffer.duration * 1000));
  return start.apply(this, given);
};
globalThis.spoken = [];
const voice = Object.create(SpeechSynthesisVoice.prototype, {
  localService: { value: true }, lang: { value: "en-GB" },
});
speechSynthesis.getVoices = () => [voice];
speechSynthesis.speak = (said) => { globalThis.spoken.push(said.text); };
Object.defineProperty(SpeechSynthesisUtterance.prototype, "voice", { set() {}, get() {} });
"""
"""Notes what sounds; the headless browser has no voice of its own, so one is made up."""


@pytest.fixture(scope="module")
def still_board(tmp_path_factory: pytest.TempPathFactory) -> Iterator[RunningBoard]:
    """A board that gives its pages alone, so that it stays at the first end."""
    with RunningBoard(tmp_path_factory.mktemp("home")) as board:
        yield board


@pytest.fixture
def open_page(browser: Browser) -> Iterator[Callable[..., Page]]:
    with pages(browser, STARTED) as open_page:
        yield open_page


def send_event(line: WebSocketRoute, number: int, kind: str, **data: object) -> None:
    """Send what a loom tells its pages."""
    line.send(json.dumps({"id": f"run.{number}", "kind": kind, "data": data}))


def greet(line: WebSocketRoute, place: object) -> None:
    """Answer a page's first word as a loom does that stands at a place."""
    send_event(line, 0, "whole", place=place, lines=[], ahead=[], room=None, ended="")
    line.send('{"kind": "beat"}')


def choose_voice(page: Page, name: str) -> None:
    page.locator("summary", has_text="told and shown").click()
    page.get_by_label("This device").select_option(name)


@needs_chromium
@pytest.mark.long
def test_a_device_says_by_itself_that_the_loom_is_away(
    tmp_path: Path, open_page: Callable[..., Page]
) -> None:
    """Clips kept from before: lost, waiting, refused; back again the step is taken once, or not."""
    with RunningBoard(tmp_path) as board:
        page = open_page(board.url, width=390, height=844)
        phrases = json.loads(page.locator("#phrases").text_content() or "")
        assert {name: each["text"] for name, each in phrases.items()} == PHRASES
        choose_voice(page, "speaks each step itself")
        clips = "performance.getEntriesByType('resource').map((each) => each.name).join()"
        wait_until(lambda: all(each["clip"] in page.evaluate(clips) for each in phrases.values()))
        seconds = {
            name: page.evaluate(LENGTH, f"clip/{each['clip']}") for name, each in phrases.items()
        }
        page.wait_for_timeout(500)  # the browser has them whole

        def sounded(name: str) -> bool:
            return seconds[name] in page.evaluate("started")

        alert, link = page.locator("#trouble"), page.locator("#link")
        board.process.send_signal(signal.SIGSTOP)
        done = page.get_by_role("button", name="Done")
        done.click()
        expect(alert).to_have_text(PHRASES["waiting"], timeout=30_000)
        expect(link).to_have_text("Looking for the loom. Waiting: done")
        wait_until(lambda: sounded("waiting"))
        assert violations(page) == []
        page.keyboard.press("PageUp")
        expect(alert).to_have_text(PHRASES["held"])
        wait_until(lambda: sounded("held"))
        page.keyboard.press("PageUp")
        # What the device says itself, a screen reader does not say once more.
        expect(alert).to_have_attribute("aria-live", "off")
        board.process.send_signal(signal.SIGCONT)
        expect(page.locator("#now")).to_have_text("End 2 Shaft 2 Dent 2")
        expect(link).to_have_text("In step with the loom", timeout=30_000)
        assert board.place()["progress"]["confirmed"] == 1
        port = str(board.port)
        board.process.kill()
        expect(alert).to_have_text(PHRASES["lost"])
        wait_until(lambda: sounded("lost"))
        done.click()
        expect(alert).to_have_text(PHRASES["waiting"])
    with RunningBoard(tmp_path, "--port", port) as board:
        # Another run of the loom: nobody knows whether the press still fits, so it does not.
        expect(alert).to_have_text(PHRASES["late"], timeout=30_000)
        wait_until(lambda: sounded("late"))
        assert board.place()["progress"]["confirmed"] == 1


LENGTH = """async (address) => {
  const bytes = await (await fetch(address)).arrayBuffer();
  const context = new OfflineAudioContext(1, 1, 44100);
  return Math.round((await context.decodeAudioData(bytes)).duration * 1000);
}"""


@needs_chromium
def test_what_comes_later_outlasts_what_was_told_before(
    still_board: RunningBoard, open_page: Callable[..., Page]
) -> None:
    """Lines wait a moment for more; a refusal and the end that come meanwhile are not wiped."""

    def loom(line: WebSocketRoute) -> None:
        def send(kind: str, **data: object) -> None:
            send_event(line, len(sent), kind, **data)
            sent.append(kind)

        def take(text: str | bytes) -> None:
            given = json.loads(text)
            if given["kind"] == "hello":
                greet(line, place)
                sent.append("whole")
            elif given["kind"] == "give" and "answer" not in sent:
                send("line", text="Told before.", tune="")
                send("answer", id=given["id"], outcome="late")
            elif given["kind"] == "give" and "place" not in sent:
                for told in ("A loaded beam turns with force.", "Turn 1."):
                    send("line", text=told, tune="")
                send("place", **{**place, "step": place["step"] + 1, "stage": "winding on"})
                send("answer", id=given["id"], outcome="taken")
            elif given["kind"] == "give":
                send("line", text="Told at last.", tune="")
                send("end", text="Your place is kept.")

        sent: list[str] = []
        line.on_message(take)

    place = still_board.place()
    page = open_page("about:blank")
    page.route_web_socket(re.compile("/line$"), loom)
    page.goto(still_board.url)
    page.get_by_role("button", name="Done").click()
    expect(page.locator("#said")).to_have_text("Told before.")
    assert page.locator("#trouble").text_content() == PHRASES["late"]
    page.get_by_role("button", name="Done").click()
    # What is said as another stage begins is there to be read.
    expect(page.locator("#opening")).to_have_text("A loaded beam turns with force.")
    page.get_by_role("button", name="Done").click()
    expect(page.locator("#now")).to_have_text("Stopped")
    expect(page.locator("#opening")).to_have_text("")
    expect(page.locator("#said")).to_have_text("Told at last.")
    assert page.locator("#status").text_content() == "Stopped. Your place is kept."


@needs_chromium
def test_a_new_line_is_told_what_still_sounds_and_a_full_loom_says_so(
    still_board: RunningBoard, open_page: Callable[..., Page]
) -> None:
    """A page that speaks while its line is lost tells it anew; one that is refused shows why.

    A screen reader is told where the walk stands once the loom is back.
    """
    told: list[object] = []
    lines: list[WebSocketRoute] = []

    def loom(line: WebSocketRoute) -> None:
        def take(text: str | bytes) -> None:
            given = json.loads(text)
            told.append((len(lines), given.get("is_on", given["kind"])))
            if given["kind"] == "hello":
                greet(line, place)

        lines.append(line)
        line.on_message(take)

    place = still_board.place()
    page = open_page("about:blank")
    page.route_web_socket(re.compile("/line$"), loom)
    page.goto(still_board.url)
    expect(page.locator("#link")).to_have_text("In step with the loom")
    lines[0].close(code=1001)
    expect(page.locator("#trouble")).to_have_text(PHRASES["lost"])
    expect(page.locator("#status")).to_have_text(f"{PHRASES['back']} End 1 Shaft 1 Dent 1")
    choose_voice(page, "speaks with the browser's own voice")
    sound = {"interrupt": False, "items": [{"clip": "", "text": "Shaft one.", "pause": "long"}]}
    send_event(lines[1], 1, "sound", **sound)
    wait_until(lambda: page.evaluate("true") and (2, True) in told)
    room = page.get_by_label("The companion speaks in the room")
    expect(room).to_be_hidden()
    send_event(lines[1], 2, "room", is_on=True)
    room.uncheck()
    wait_until(lambda: page.evaluate("true") and (2, False) in told)
    lines[1].close(code=1001)
    wait_until(lambda: page.evaluate("true") and (3, True) in told)
    lines[2].close(code=1013)
    expect(page.locator("#trouble")).to_have_text(PHRASES["crowded"])


@needs_chromium
def test_a_page_of_an_older_program_loads_itself_again(
    still_board: RunningBoard, open_page: Callable[..., Page]
) -> None:
    """The loom refuses what it cannot read; the same sent for ever would be refused for ever."""
    told: list[str] = []

    def older(line: WebSocketRoute) -> None:
        loom = line.connect_to_server()

        def take(text: str | bytes) -> None:
            told.append(json.loads(text)["kind"])
            loom.send(str(text).replace('"kind":"give"', '"kind":"take"'))

        line.on_message(take)

    page = open_page("about:blank")
    page.route_web_socket(re.compile("/line$"), older)
    page.goto(still_board.url)
    expect(page.locator("#link")).to_have_text("In step with the loom")
    with page.expect_navigation():
        page.get_by_role("button", name="Done").click()
    expect(page.locator("#link")).to_have_text("In step with the loom")
    assert told == ["hello", "give", "hello"]


@needs_chromium
def test_what_was_given_up_disturbs_nothing_that_came_after(
    still_board: RunningBoard, open_page: Callable[..., Page]
) -> None:
    """A voice that ends late, and a microphone that is granted or refused late."""
    page = open_page(still_board.url)
    assert page.evaluate(CANCELLED) == [True, False, True, True, False]
    page.evaluate(ASKING)
    page.locator("summary", has_text="Pedal, earbud, microphone").click()
    ear = page.get_by_label("The microphone here")
    for act in (ear.check, ear.uncheck, ear.check, ear.uncheck, ear.check):
        act()
    page.evaluate("asked[0].no(new Error('late'))")
    page.evaluate("asked[1].yes(stream)")
    wait_until(lambda: page.evaluate("stream.getTracks()[0].readyState") == "ended")
    assert ear.is_checked()
    expect(page.locator("#hears")).to_have_text("The browser asks whether this page may hear.")
    page.evaluate("asked[2].no(new Error('now'))")
    expect(page.locator("#hears")).to_contain_text("does not let this page hear")
    assert not ear.is_checked()


CANCELLED = """async () => {
  const { OwnVoices } = await import("/sound.js");
  const told = [], saids = [];
  speechSynthesis.speak = (said) => saids.push(said);
  const voices = new OwnVoices((isOn) => told.push(isOn));
  voices.play({ interrupt: false, items: [{ text: "one" }] });
  voices.play({ interrupt: true, items: [{ text: "two" }, { text: "three" }] });
  saids[0].onerror();
  saids[1].onend();
  saids[2].onend();
  return told;
}"""
"""What the loom is told of a voice that is cancelled, and of its end after the next has begun."""
ASKING = """() => {
  globalThis.asked = [];
  globalThis.stream = new AudioContext().createMediaStreamDestination().stream;
  navigator.mediaDevices.getUserMedia = () => new Promise((yes, no) => asked.push({ yes, no }));
}"""


@needs_chromium
def test_nothing_is_told_twice(tmp_path: Path, open_page: Callable[..., Page]) -> None:
    """A device's own voice or its screen reader tells the steps and the troubles, never both."""
    with RunningBoard(tmp_path) as board:
        page = open_page(board.url)
        alert, status = page.locator("#trouble"), page.locator("#status")
        expect(page.locator("#link")).to_have_text("In step with the loom")
        board.type("dance")
        expect(alert).to_contain_text("is not a command")
        expect(alert).to_have_attribute("aria-live", "assertive")
        choose_voice(page, "speaks with the browser's own voice")
        board.type("done")
        wait_until(lambda: any("dent two" in each for each in page.evaluate("spoken")))
        board.type("dance")
        expect(alert).to_contain_text("is not a command")
        wait_until(lambda: any("dance" in each for each in page.evaluate("spoken")))
        expect(alert).to_have_attribute("aria-live", "off")
        assert status.text_content() == ""
        _mistype(page)
        wait_until(lambda: page.evaluate("spoken").count(PHRASES["number"]) == 1)
        expect(alert).to_have_attribute("aria-live", "off")
        page.get_by_label("This device").select_option("says nothing")
        board.type("dance")
        expect(alert).to_contain_text("is not a command")
        expect(alert).to_have_attribute("aria-live", "off")
        _mistype(page)
        expect(alert).to_have_attribute("aria-live", "assertive")


def _mistype(page: Page) -> None:
    if page.get_by_role("button", name="More", exact=True).is_visible():
        page.get_by_role("button", name="More", exact=True).click()
    page.get_by_role("button", name=re.compile("^Rewind to")).click()
    page.locator("#typed").fill("many")
    page.get_by_role("button", name="Rewind", exact=True).click()
    expect(page.locator("#trouble")).to_have_text(PHRASES["number"])
