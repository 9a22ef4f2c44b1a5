"""The pages' own voice: what they are told to sound, the clips they fetch, and real sound."""

from __future__ import annotations

import io
import json
import threading
import wave
from concurrent.futures import ThreadPoolExecutor
from typing import TYPE_CHECKING, Any

from board_door import RunningBoard, wait_until
from browser_pages import needs_chromium, tool

from companion.devices.audio.clip import Clip
from companion.devices.audio.tones import ToneName
from companion.devices.speech.voice import TwoVoices, Voice
from companion.out.board.feed import Feed, PageEvent
from companion.out.board.page_voice import CLIPS_KNOWN, LONGEST_SECONDS, PageVoice

expect = tool.expect

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

    from playwright.sync_api import Page

    from companion.devices.speech import Item


class Maker:
    """Makes a clip as long as its text, and keeps what it was asked for."""

    def __init__(self) -> None:
        self.asked: list[tuple[str, int]] = []
        self.is_closed = False

    def check(self) -> None:
        """Always ready."""

    def clip(self, text: str, words_per_minute: int) -> Clip:
        self.asked.append((text, words_per_minute))
        return Clip(bytes(2 * len(text)), 22050)

    def close(self) -> None:
        self.is_closed = True


class Heard(Voice):
    """A voice that writes down what it is told."""

    is_speaking = False

    def __init__(self) -> None:
        self.told: list[object] = []

    def play(self, items: Sequence[Item], *, interrupt: bool = True) -> None:
        self.told.append((tuple(items), interrupt))

    def prepare(self, lines: Sequence[str]) -> None:
        self.told.append(tuple(lines))

    def set_rate(self, words_per_minute: int) -> None:
        self.told.append(words_per_minute)

    def close(self) -> None:
        self.told.append("closed")


def data_of(event: PageEvent) -> Any:
    return json.loads(event.text)["data"]


class Clock:
    """Seconds that pass only when told."""

    now = 0.0

    def __call__(self) -> float:
        return self.now


def test_clips_are_made_when_they_are_fetched() -> None:
    """A page is told names, not sound; the same line at another speed has another name."""
    feed, maker, clock = Feed("run"), Maker(), Clock()
    voice = PageVoice(feed, lambda: maker, 160, clock)
    voice.prepare(["End 2: shaft 2."])
    voice.play([ToneName.CONFIRM, "End 2: shaft 2."])
    voice.set_rate(200)
    voice.prepare(["End 2: shaft 2."])
    ahead, sound, faster = (data_of(each) for each in feed.after("run.0"))
    assert [each["clip"] for each in sound["items"]] == ["confirm", *ahead["clips"]]
    assert ahead["clips"] != faster["clips"]
    assert maker.asked == []
    wav = voice.wav(ahead["clips"][0])
    assert wav is not None
    with wave.open(io.BytesIO(wav)) as read:  # the standard library's own reader
        assert (read.getframerate(), read.getnframes(), read.getsampwidth()) == (22050, 15, 2)
    assert maker.asked == [("End 2: shaft 2.", 160)]
    assert (voice.wav("unknown"), voice.wav("../etc/passwd")) == (None, None)
    assert (voice.wav("confirm") or b"").startswith(b"RIFF")
    voice.close()
    assert maker.is_closed


def test_nothing_waits_while_the_maker_of_clips_is_loaded() -> None:
    """That takes seconds; the server that sends the pages meanwhile asks for names all the time."""
    feed, begun, loaded = Feed("run"), threading.Event(), threading.Event()

    def make() -> Maker:
        begun.set()
        loaded.wait(60)
        return Maker()

    voice = PageVoice(feed, make, 160)
    voice.prepare(["End 2: shaft 2."])
    name = data_of(feed.after("run.0")[0])["clips"][0]
    with ThreadPoolExecutor() as threads:
        clip = threads.submit(voice.wav, name)
        assert begun.wait(30)
        try:
            meanwhile = threads.submit(voice.kept, {"back": "The loom is back."})
            assert meanwhile.result(30)["back"]["text"] == "The loom is back."
            threads.submit(voice.sounding, "page", is_on=False).result(30)
            assert not clip.done()
        finally:
            loaded.set()
        assert (clip.result(30) or b"").startswith(b"RIFF")


def test_what_can_be_fetched_is_bounded() -> None:
    """Lines of long ago are forgotten, and pages of another walk fetch none of this one."""
    feed = Feed("run")
    voice = PageVoice(feed, Maker, 160)
    names = []
    for number in range(CLIPS_KNOWN + 1):
        voice.prepare([f"line {number}"])
        names.append(data_of(feed.after(f"run.{number}")[0])["clips"][0])
    assert [voice.wav(names[number]) is None for number in (0, 1, -1)] == [True, False, False]
    assert PageVoice(feed, Maker, 160).wav(names[-1]) is None


def test_a_page_that_speaks_is_known_to() -> None:
    """So that nothing listens meanwhile; one that tells of no end is not believed for ever."""
    clock = Clock()
    voice = PageVoice(Feed("run"), Maker, 160, clock)
    voice.sounding("one", is_on=True)
    voice.sounding("other", is_on=True)
    voice.sounding("one", is_on=False)
    assert voice.is_speaking
    clock.now = LONGEST_SECONDS
    assert not voice.is_speaking


def test_the_room_can_be_silenced_alone() -> None:
    """The other voice goes on, and the room falls silent at once and speaks again when told."""
    room, other = Heard(), Heard()
    both = TwoVoices(room, other)
    both.play(["one"])
    both.set_room(is_on=False)
    both.play(["two"], interrupt=False)
    both.prepare(["three"])
    both.set_room(is_on=True)
    both.play(["four"])
    both.set_rate(200)
    assert room.told == [(("one",), True), ((), True), (("four",), True), 200]
    assert other.told == [
        (("one",), True),
        (("two",), False),
        ("three",),
        (("four",), True),
        200,
    ]
    other.is_speaking = True
    assert both.is_speaking
    both.close()
    assert (room.told[-1], other.told[-1]) == ("closed", "closed")


# ---- in a real browser

TAP = """
globalThis.heard = [];
const connect = AudioNode.prototype.connect;
AudioNode.prototype.connect = function (to, ...more) {
  if (to instanceof AudioDestinationNode) {
    const tap = to.context.createAnalyser();
    tap.fftSize = 32768;
    connect.call(this, tap);
    globalThis.tap = tap;
  }
  return connect.call(this, to, ...more);
};
globalThis.loudness = () => {
  if (!globalThis.tap) return 0;
  const samples = new Float32Array(globalThis.tap.fftSize);
  globalThis.tap.getFloatTimeDomainData(samples);
  return Math.sqrt(samples.reduce((sum, each) => sum + each * each, 0) / samples.length);
};
"""
"""Hears what a page sends to its loudspeaker, within the page itself."""


@needs_chromium
def test_a_page_speaks_on_its_device(tmp_path: Path, open_page: Callable[..., Page]) -> None:
    """Chosen on the page: the next step sounds from a clip that was fetched before the press."""
    with RunningBoard(tmp_path) as board:
        page = open_page("about:blank")
        page.add_init_script(TAP)
        page.goto(board.url)
        expect(page.locator("#now")).to_have_text("End 1 Shaft 1 Dent 1")
        assert page.evaluate("performance.getEntriesByType('resource').length") > 0
        page.locator("summary", has_text="told and shown").click()
        page.get_by_label("This device").select_option("speaks each step itself")
        wait_until(lambda: page.evaluate("document.getElementById('mute').hidden"))
        wait_until(lambda: page.evaluate(_FETCHED))
        fetched = page.evaluate(_CLIPS)
        page.get_by_role("button", name="Done").click()
        wait_until(lambda: page.evaluate("loudness() > 0.005"))
        expect(page.locator("#now")).to_have_text("End 2 Shaft 2 Dent 2")
        expect(page.get_by_role("status")).to_have_text("")
        wait_until(lambda: page.evaluate("loudness() < 0.0001"))
        assert len(fetched) >= 5
        page.reload()
        expect(page.get_by_text("This device is silent until")).to_be_visible()
        page.get_by_role("button", name="Repeat").click()
        expect(page.get_by_text("This device is silent until")).to_be_hidden()
        page.get_by_role("button", name="Repeat").click()
        wait_until(lambda: page.evaluate("loudness() > 0.005"))


_CLIPS = (
    "performance.getEntriesByType('resource').map((each) => each.name)"
    ".filter((name) => name.includes('/clip/'))"
)
_FETCHED = f"{_CLIPS}.length >= 5"
