"""How soon a page sounds after a press: `python tests/bench/bench_board_sound.py [presses]`.

Starts the real command and a page in Debian's chromium that speaks by itself, presses as a pedal
does, and takes the time from the press to three moments: the next step stands there; its first
sample leaves the browser (Web Audio API, getOutputTimestamp); and it comes out of a PulseAudio sink
that has no loudspeaker, where PulseAudio is installed. Beside them stands how long such a sink
takes by itself, for a sound that the page starts at the press without asking anybody. It judges
nothing.
"""

from __future__ import annotations

import math
import statistics
import sys
import tempfile
import time
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

sys.path.insert(0, str(Path(__file__).parents[1]))

from board_door import RunningBoard, wait_until
from browser_pages import launched, tool
from front_door import PLANS
from test_audio_real import SoundServer, has_sound_server

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playwright.sync_api import Page

PLAN = PLANS / "striped-towels.toml"
WATCH = """
globalThis.taken = { shown: [], sounded: [] };
globalThis.pressed = 0;
let isDue = false;
addEventListener("keydown", (event) => {
  if (event.key === "F9") {
    const node = beeper.createBufferSource();
    node.buffer = beep;
    node.connect(beeper.destination);
    node.start();
  }
  pressed = event.timeStamp;
  isDue = event.key === "PageDown";
}, { capture: true });
const start = AudioBufferSourceNode.prototype.start;
AudioBufferSourceNode.prototype.start = function (at, ...more) {
  if (isDue) {
    const { contextTime, performanceTime } = this.context.getOutputTimestamp();
    taken.sounded.push(performanceTime + 1000 * (at - contextTime) - pressed);
  }
  isDue = false;
  return start.call(this, at, ...more);
};
addEventListener("DOMContentLoaded", () => {
  const watcher = new MutationObserver(() => {
    const isFirst = isDue || taken.shown.length < taken.sounded.length;
    if (isFirst) taken.shown.push(performance.now() - pressed);
  });
  watcher.observe(document.getElementById("now"), { childList: true });
});
globalThis.makeBeeper = () => {
  globalThis.beeper = new AudioContext();
  globalThis.beep = beeper.createBuffer(1, 4800, 48000);
  beep.getChannelData(0).fill(0.2);
};
"""


@contextmanager
def sound_server() -> Iterator[SoundServer | None]:
    if not has_sound_server():
        yield None
        return
    with tempfile.TemporaryDirectory() as folder:
        server = SoundServer(Path(folder))
        server.start()
        yield server
        server.kill()


def main(presses: int) -> None:
    with sound_server() as server, tempfile.TemporaryDirectory() as home:
        named = {"PULSE_SERVER": server.address} if server else {}
        with (
            RunningBoard(Path(home), what=PLAN) as board,
            tool.sync_playwright() as driver,
            launched(driver, is_heard=True, named=named) as browser,
        ):
            page = browser.new_context().new_page()
            page.add_init_script(WATCH)
            page.goto(board.url)
            page.locator("summary", has_text="told and shown").click()
            page.get_by_label("This device").select_option("speaks each step itself")
            page.locator("summary", has_text="told and shown").click()
            page.wait_for_timeout(3000)
            page.evaluate("taken = { shown: [], sounded: [] }; makeBeeper()")
            heard: dict[str, list[float]] = {"PageDown": [], "F9": []}
            for number in range(1, presses + 1):
                for key, times in heard.items():
                    times.extend(_heard_after(page, server, key))
                wait_until(lambda number=number: len(_taken(page, "sounded")) >= number)
            _print("next step shown", _taken(page, "shown"))
            _print("first sample leaves the browser", _taken(page, "sounded"))
            _print("out of the sink", heard["PageDown"])
            _print("the same, a sound of the page's own", heard["F9"])


def _heard_after(page: Page, server: SoundServer | None, key: str) -> list[float]:
    """Press a key; return the milliseconds until the sink sounds, [] where there is none."""
    page.wait_for_timeout(4000)  # what was said before is over
    if server is None:
        page.keyboard.press(key)
        return []
    server.sounded_at = 0.0
    page.keyboard.press(key)
    end = time.monotonic() + 10
    while not server.sounded_at and time.monotonic() < end:
        time.sleep(0.001)
    if not server.sounded_at:
        return []
    sounded = 1000 * (time.time() - time.monotonic() + server.sounded_at)
    pressed: float = page.evaluate("performance.timeOrigin + pressed")
    return [sounded - pressed]


def _print(what: str, taken: list[float]) -> None:
    if taken:
        middle, late = statistics.median(taken), sorted(taken)[math.ceil(0.95 * len(taken)) - 1]
        print(f"{what:36} {len(taken):3} presses: median {middle:4.0f} ms", end="")
        print(f", 95 % {late:4.0f} ms, worst {max(taken):4.0f} ms")


def _taken(page: Page, name: str) -> list[float]:
    taken: Any = page.evaluate(f"taken.{name}")
    return [float(each) for each in taken]


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 30)
