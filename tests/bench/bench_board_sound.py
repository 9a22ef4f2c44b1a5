"""How soon a page sounds after a press: `python tests/bench/bench_board_sound.py [presses]`.

Starts the real command and a page in Debian's chromium that speaks by itself, presses Done, and
takes the time from the press to the moment its first sample leaves the browser (Web Audio API,
getOutputTimestamp), beside the time until the next step stands there. The loudspeaker's own delay
is not in it. It judges nothing.
"""

from __future__ import annotations

import statistics
import sys
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, Any

sys.path.insert(0, str(Path(__file__).parents[1]))

from board_door import RunningBoard, wait_until
from browser_pages import launched
from front_door import PLANS

if TYPE_CHECKING:
    from playwright.sync_api import Page

PLAN = PLANS / "striped-towels.toml"
WATCH = """
globalThis.sounded = [];
globalThis.shown = [];
let pressed = 0;
let isDue = false;
addEventListener("click", (event) => {
  pressed = event.timeStamp;
  isDue = true;
}, { capture: true });
const start = AudioBufferSourceNode.prototype.start;
AudioBufferSourceNode.prototype.start = function (at, ...more) {
  const { contextTime, performanceTime } = this.context.getOutputTimestamp();
  if (isDue) globalThis.sounded.push(performanceTime + 1000 * (at - contextTime) - pressed);
  isDue = false;
  return start.call(this, at, ...more);
};
addEventListener("DOMContentLoaded", () => {
  const watcher = new MutationObserver(() => {
    if (pressed) globalThis.shown.push(performance.now() - pressed);
  });
  watcher.observe(document.getElementById("now"), { childList: true });
});
"""


def main(presses: int) -> None:
    with (
        tempfile.TemporaryDirectory() as home,
        RunningBoard(Path(home), what=PLAN) as board,
        launched() as browser,
    ):
        page = browser.new_context().new_page()
        page.add_init_script(WATCH)
        page.goto(board.url)
        page.locator("summary", has_text="told and shown").click()
        page.get_by_label("This device").select_option("speaks each step itself")
        page.wait_for_timeout(3000)
        page.evaluate("globalThis.sounded = []; globalThis.shown = []")
        for number in range(1, presses + 1):
            page.get_by_role("button", name="Done").click()
            wait_until(lambda number=number: len(_taken(page, "sounded")) >= number)
            page.wait_for_timeout(1500)
        for name in ("shown", "sounded"):
            taken = _taken(page, name)
            print(
                f"press to {name:8} {len(taken)} presses: median"
                f" {statistics.median(taken):5.0f} ms, worst {max(taken):5.0f} ms"
            )


def _taken(page: Page, name: str) -> list[float]:
    taken: Any = page.evaluate(f"globalThis.{name}")
    return [float(each) for each in taken]


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 7)
