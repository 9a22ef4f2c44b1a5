"""Take the pictures of the board for the README: `python tests/bench/board_pictures.py FOLDER`.

Needs Debian's chromium. The walk is that of the invented towels of the demo plans.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

sys.path.insert(0, str(Path(__file__).parents[1]))

from board_door import RunningBoard, wait_until
from browser_pages import CHROMIUM, FLAGS
from front_door import PLANS
from playwright.sync_api import expect, sync_playwright

if TYPE_CHECKING:
    from playwright.sync_api import Page, ViewportSize

TABLET: ViewportSize = {"width": 820, "height": 940}
NARROW: ViewportSize = {"width": 320, "height": 900}


def main(folder: Path) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    with (
        tempfile.TemporaryDirectory() as home,
        RunningBoard(Path(home), "--plans", home, what=PLANS / "striped-towels.toml") as board,
        sync_playwright() as playwright,
    ):
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        page = browser.new_context(viewport=TABLET).new_page()
        page.goto(board.url)
        for _ in range(7):
            board.type("done")
        wait_until(lambda: board.count("End 8: ") > 0)
        expect(page.locator("#name")).to_have_text("End 8")
        take(page, folder / "board")
        page.set_viewport_size(NARROW)
        page.screenshot(path=folder / "board-320.png", full_page=True)
        page.set_viewport_size(TABLET)
        for text in ("done", "7"):
            board.type(text)
        expect(page.locator("#what")).to_contain_text("but 8 are planned")
        take(page, folder / "board-held")
        page.goto(f"{board.url}new")
        page.get_by_label("How many ends?").fill("many")
        page.get_by_role("button", name="Write the plan").click()
        expect(page.locator("#errors")).to_be_focused()
        take(page, folder / "new-plan")
        browser.close()


def take(page: Page, path: Path) -> None:
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)
        page.screenshot(path=path.with_name(f"{path.name}-{scheme}.png"))


if __name__ == "__main__":
    main(Path(sys.argv[1]))
