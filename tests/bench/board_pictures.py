"""Take the pictures of the pages: `python tests/bench/board_pictures.py`, then look at each.

The board's, and the teacher's with several looms. Needs Debian's chromium. The walk is that of the
invented towels of the demo plans. Beside the
pictures stands what they were made from, by which a test notices that they are stale.
"""

from __future__ import annotations

import hashlib
import json
import sys
import tempfile
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, cast

sys.path.insert(0, str(Path(__file__).parents[2]))
sys.path.insert(0, str(Path(__file__).parents[1]))

from board_door import RunningBoard
from browser_pages import CHROMIUM, FLAGS
from front_door import PLANS
from playwright.sync_api import expect, sync_playwright
from studio_door import RunningStudio

from companion import guide
from companion.command import parse
from companion.guide.state import Options
from companion.job import stage
from companion.loom.compute import read_and_compute
from companion.out.board.view import view_of
from companion.out.studio.standing import walked as standing_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playwright.sync_api import Browser, Page

SHOTS: Final = Path(__file__).parents[2] / "companion" / "out" / "board" / "screenshots"
MADE_FROM: Final = SHOTS / "made-from.json"
PLAN: Final = PLANS / "striped-towels.toml"
SIZES: Final = {
    "phone": (390, 844),
    "phone-wide": (844, 390),
    "small": (320, 568),
    "tablet": (820, 1180),
    "tablet-wide": (1180, 820),
    "wall": (1920, 1080),
}
MOMENTS: Final = (
    ("step", ("done",) * 5, "End 6 Shaft 2 Dent 4"),
    ("count", ("done",) * 3, "How many ends are in heddles?"),
    ("held", ("7",), "7 ends, 8 planned"),
    ("mend", ("mend",), "Mend it this way?"),
)
"""Each picture's name, the commands that lead there from the one before, and what stands there."""
UNSEEN: Final = frozenset(
    {
        "awake.js", "ear.js", "earbud.js", "lesson.js", "line.js", "microphone.js", "new.html",
        "new.js", "pair.html", "pair.js", "presses.js", "sheet.html", "silence.flac", "sound.js",
        "trust.html", "voice.js",
    }
)  # fmt: skip
"""Pages that are on no picture, and what is not seen of one."""
DARK: Final = frozenset({"phone", "wall"})
LOOMS: Final = (
    ("loom 1", "Mira", ("done",) * 5),
    ("loom 2", "Jonas", ()),
    ("loom 3", "Aiko", (*("done",) * 8, "7")),
    ("by the window", "Ruth and Sam", (*("done",) * 3, "pause")),
    ("loom 5", "", ("done",) * 2),
)
"""The looms on the teacher's pictures, who sits there, and what was given."""
TEACHERS: Final = ("phone", "tablet-wide")
LIGHTS: Final = ("light", "dark")


def made_from() -> dict[str, str]:
    """Return a hash of each thing that the pictures show: the pages, and what stands large."""
    folders = (files(f"companion.out.{each}").joinpath("pages") for each in ("board", "studio"))
    shown_pages = (each for one in folders for each in one.iterdir() if each.name not in UNSEEN)
    hashes = {each.name: _hash(each.read_bytes()) for each in shown_pages}
    shown = {name: _hash(text.encode()) for name, text in _moments()}
    return dict(sorted({**hashes, **shown}.items()))


def _moments() -> Iterator[tuple[str, str]]:
    walked = stage(read_and_compute(PLAN)[1], "thread-and-sley")
    state, _ = guide.start(walked, Options())
    for name, commands, _ in MOMENTS:
        for command in commands:
            state = guide.step(state, parse(command), walked).state
        view = view_of(state, walked, "en")
        yield name, f"{view.mode} {view.headline} {view.lines} {view.detail}"
        if name == "held":
            yield "looms", str(standing_of(state, walked))


def _hash(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()[:16]


def main() -> None:
    SHOTS.mkdir(exist_ok=True)
    for old in SHOTS.glob("*.png"):
        old.unlink()
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        _board(browser)
        _studio(browser)
        browser.close()
    MADE_FROM.write_text(json.dumps(made_from(), indent=1) + "\n")


def _opened(browser: Browser, url: str, size: str, light: str) -> Page:
    width, height = SIZES[size]
    context = browser.new_context(
        viewport={"width": width, "height": height}, color_scheme=cast("Any", light)
    )
    page = context.new_page()
    page.goto(url)
    return page


def _board(browser: Browser) -> None:
    with (
        tempfile.TemporaryDirectory() as home,
        RunningBoard(Path(home), "--plans", home, what=PLAN) as board,
    ):
        pages = {size: _opened(browser, board.url, size, LIGHTS[size in DARK]) for size in SIZES}
        for name, commands, shown in MOMENTS:
            for command in commands:
                board.type(command)
            for size, page in pages.items():
                expect(page.locator("#now")).to_have_text(shown, timeout=30_000)
                expect(page.locator("#link")).to_have_text("In step with the loom", timeout=30_000)
                page.screenshot(path=SHOTS / f"{name}-{size}.png")
        page = pages["tablet"]
        page.goto(f"{board.url}new")
        page.get_by_label("How many ends?").fill("many")
        page.get_by_role("button", name="Write the plan").click()
        expect(page.locator("#errors")).to_be_focused()
        page.screenshot(path=SHOTS / "new-plan-tablet.png")


def _studio(browser: Browser) -> None:
    with tempfile.TemporaryDirectory() as home, RunningStudio(Path(home)) as studio:
        for name, weaver, commands in LOOMS:
            studio.begin(name, PLAN.name, weaver)
            key = studio.key(name)
            for number, command in enumerate(commands):
                studio.press(key, command, f"press-{number:04}", studio.at(key))
        for size in TEACHERS:
            for light in LIGHTS:
                page = _opened(browser, f"{studio.url}looms/", size, light)
                first = page.locator("#looms > :first-child .state")
                expect(first).to_have_text("Held: 7 of 8", timeout=30_000)
                page.screenshot(path=SHOTS / f"looms-{size}-{light}.png")


if __name__ == "__main__":
    main()
