"""A walk by voice from a page: a recording as the browser's microphone, the real ear at the loom.

The speech is flite's, a synthetic voice, and clean: this proves that the parts work together, not
how well people are understood.
"""

from __future__ import annotations

import re
import shutil
import wave
from contextlib import contextmanager
from typing import TYPE_CHECKING

import numpy as np
import pytest
from board_door import RunningBoard, wait_until
from browser_pages import (
    is_scrolled_sideways,
    launched,
    needs_certutil,
    needs_chromium,
    pages,
    tool,
    trust,
    violations,
)
from front_door import run
from voice_recordings import spoken_by_flite

from companion.devices.recogniser.untaught import why_not

expect = tool.expect

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from playwright.sync_api import Page, Playwright

pytestmark = [
    needs_chromium,
    pytest.mark.skipif(shutil.which("flite") is None, reason="needs flite: apt-get install flite"),
    pytest.mark.skipif(bool(why_not("en")), reason="commands are not heard untaught here"),
]
RATE = 16_000
EACH_SECONDS = 3.5
"""From word to word, so that a second one affirms a count."""
SETTINGS = "Pedal, earbud, microphone"
WATCH = """
globalThis.sockets = [];
globalThis.WebSocket = class extends WebSocket {
  constructor(...given) { super(...given); globalThis.sockets.push(this); }
};
"""


def recording(folder: Path, words: str) -> Path:
    """Return a recording of words in a quiet room; the browser plays it again and again."""
    said = np.frombuffer(spoken_by_flite(words, folder), "<i2").astype(float)
    hiss = np.random.default_rng(3).normal(0, 8, round(EACH_SECONDS * RATE))
    hiss[: len(said)] += said
    path = folder / "microphone.wav"
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(RATE)
        file.writeframes(hiss.astype("<i2").tobytes())
    return path


@contextmanager
def hearing(
    driver: Playwright, folder: Path, words: str, device: Path | None = None
) -> Iterator[Callable[..., Page]]:
    """Give pages of a browser, with a home if given, whose microphone hears words on and on."""
    flags = (
        "--use-fake-device-for-media-stream",
        "--use-fake-ui-for-media-stream",
        f"--use-file-for-fake-audio-capture={recording(folder, words)}",
    )
    with launched(driver, device, *flags) as browser, pages(browser, WATCH) as open_page:
        yield open_page


def listen(page: Page) -> None:
    page.locator("summary", has_text=SETTINGS).click()
    page.get_by_label("The microphone here").check()
    expect(page.locator("#hears")).to_have_text("Listening.", timeout=60_000)


@pytest.mark.long
def test_a_plan_is_walked_by_voice_from_the_page(tmp_path: Path, driver: Playwright) -> None:
    """40 ends, four at a time, and every count affirmed, by one word said again and again."""
    home = tmp_path / "home"
    with (
        RunningBoard(home, "--step", "4") as board,
        hearing(driver, tmp_path, "next one") as open_page,
    ):
        page = open_page(board.url, width=390, height=844)
        listen(page)
        expect(page.locator("#listening")).to_be_visible()
        assert not is_scrolled_sideways(page)
        assert violations(page) == []
        expect(page.locator("#now")).to_have_text("Complete", timeout=280_000)
        assert board.place()["progress"]["confirmed"] == 40
        page.get_by_label("The microphone here").uncheck()
        expect(page.locator("#listening")).to_be_hidden()
        wait_until(
            lambda: page.evaluate("sockets.filter((each) => each.readyState < 2).length") == 1
        )
        board.type("stop")
        assert board.process.wait(20) == 0
    log = run(home, "log").stdout
    sources = re.findall(r", (voice|board|line)$", log, re.MULTILINE)
    assert set(sources[:-1]) == {"voice"}
    assert not [each for each in home.rglob("*") if each.suffix in {".wav", ".pcm", ".flac"}]


@needs_certutil
@pytest.mark.long
def test_a_paired_device_is_heard_by_tls(tmp_path: Path, driver: Playwright) -> None:
    """On the studio's network, where the browser lets a page hear because it trusts the loom."""
    home, device = tmp_path / "home", tmp_path / "device"
    with RunningBoard(home, "--network", "--address", "127.0.0.2") as board:
        trust(device, home / "studio" / "authority.pem")
        with hearing(driver, tmp_path, "next one", device) as open_page:
            page = open_page(board.url)
            assert page.url.startswith("https://127.0.0.2:")
            assert page.evaluate("isSecureContext")
            board.wait_for("To pair a tablet")
            page.get_by_label("Code").fill(board.newest_code())
            page.get_by_role("button", name="Pair").click()
            listen(page)
            expect(page.locator("#now")).not_to_contain_text("End 1 ", timeout=60_000)
            lines = page.evaluate("sockets.map((each) => each.url)")
            assert {line.partition(":")[0] for line in lines} == {"wss"}


@pytest.mark.long
def test_a_device_does_not_hear_itself(tmp_path: Path, driver: Playwright) -> None:
    """While it speaks what comes in does not count, and it is heard again after."""
    with (
        RunningBoard(tmp_path / "home") as board,
        hearing(driver, tmp_path, "next one") as open_page,
    ):
        page = open_page(board.url)
        board.type("shafts only")
        listen(page)
        wait_until(lambda: board.place()["progress"]["confirmed"] > 0)
        # It says of itself that it speaks, on and on.
        speaks = '{"kind": "sounding", "is_on": true}'
        page.evaluate(
            "(speaks) => { setInterval(() => sockets.find((each) => each.url.endsWith('/line'))"
            ".send(speaks), 500); }",
            speaks,
        )
        page.wait_for_timeout(1000)
        stands = board.place()["progress"]["confirmed"]
        page.wait_for_timeout(round(2500 * EACH_SECONDS))
        assert board.place()["progress"]["confirmed"] == stands


def test_a_device_whose_browser_keeps_its_own_rate_is_heard(
    tmp_path: Path, driver: Playwright
) -> None:
    """Where the browser does not bring the microphone to another rate, the loom does."""
    refusing = """
    const Plain = AudioContext;
    globalThis.AudioContext = class extends Plain {
      constructor(given) { if (given && given.sampleRate) throw new Error("no"); super(given); }
    };
    """
    with (
        RunningBoard(tmp_path / "home") as board,
        hearing(driver, tmp_path, "next one") as open_page,
    ):
        page = open_page("about:blank")
        page.add_init_script(refusing)
        page.goto(board.url)
        listen(page)
        wait_until(lambda: board.place()["progress"]["confirmed"] > 0, 60)


@pytest.mark.long
def test_a_microphone_that_may_not_be_used_is_told_of(tmp_path: Path, driver: Playwright) -> None:
    """And one that another device takes over; after a reload the one that was wanted goes on."""
    with RunningBoard(tmp_path / "home") as board, hearing(driver, tmp_path, "hello") as open_page:
        one, other = open_page(board.url), open_page(board.url)
        listen(one)
        listen(other)
        expect(one.locator("#hears")).to_have_text("Another device listens now.")
        expect(one.get_by_label("The microphone here")).not_to_be_checked()
        other.reload()
        other.locator("summary", has_text=SETTINGS).click()
        expect(other.locator("#hears")).to_have_text("Listening.", timeout=60_000)
        refused = open_page("about:blank")
        refused.add_init_script(
            "navigator.mediaDevices.getUserMedia = async () => { throw new Error('no'); };"
        )
        refused.goto(board.url)
        refused.locator("summary", has_text=SETTINGS).click()
        refused.get_by_label("The microphone here").click()
        expect(refused.locator("#hears")).to_contain_text("does not let this page hear")
        expect(refused.get_by_label("The microphone here")).not_to_be_checked()
        assert violations(refused) == []


@pytest.mark.long
def test_a_device_finds_the_loom_again_and_listens_on(tmp_path: Path, driver: Playwright) -> None:
    """Killed and started again, the loom hears the same page by itself."""
    with hearing(driver, tmp_path, "next one") as open_page:
        with RunningBoard(tmp_path / "home") as board:
            page = open_page(board.url)
            listen(page)
            port = str(board.port)
            board.process.kill()
            expect(page.locator("#hears")).to_have_text("Not listening: the loom is away.")
        with RunningBoard(tmp_path / "home", "--port", port) as board:
            before = board.place()["progress"]["confirmed"]
            wait_until(lambda: board.place()["progress"]["confirmed"] > before, 90)
