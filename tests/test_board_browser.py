"""The board in a real browser: what is seen, what a screen reader is told, keys alone, any size."""

from __future__ import annotations

import re
import socket
from contextlib import closing
from typing import TYPE_CHECKING

import pytest
from board_door import FIRST_TRY, RunningBoard
from browser_pages import is_scrolled_sideways, launched, needs_chromium, pages, tool, violations
from front_door import terminal

expect = tool.expect

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from playwright.sync_api import Browser, Page

pytestmark = needs_chromium


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with launched() as browser:
        yield browser


@pytest.fixture
def open_page(browser: Browser) -> Iterator[Callable[..., Page]]:
    with pages(browser) as open_page:
        yield open_page


@pytest.fixture
def board(tmp_path: Path) -> Iterator[RunningBoard]:
    with RunningBoard(tmp_path, "--plans", tmp_path) as running:
        yield running


def open_all(page: Page) -> None:
    page.evaluate("document.querySelectorAll('details').forEach((each) => { each.open = true; })")


def now(page: Page) -> str:
    return " ".join((page.locator("#now").text_content() or "").split())


MODES = (
    ((), "End 1 Shaft 1, dent 1"),
    (("done",) * 8, "Group 1 is complete. How many ends are in heddles?"),
    (("7",), "Group 1 holds 7 ends, but 8 are planned"),
    (("accept",), "Let group 1 stand with 7 ends instead of 8?"),
    (("no", "read back"), "End 1: shaft 1, dent 1."),
    (("resume", "8", "pause"), "Resting."),
    (("resume", *(("done",) * 8 + ("8",)) * 4), "Threading and sleying is complete"),
)
"""What brings the walk from each mode to the next, and what is shown there."""


def test_every_mode_is_accessible(board: RunningBoard, open_page: Callable[..., Page]) -> None:
    """No rule of WCAG 2.2 AA is broken in any mode, light or dark, nor is 320 px too narrow.

    axe-core finds what a program can find; 320 px is WCAG 2.2, 1.4.10 Reflow: 1280 at 400 %.
    """
    page = open_page(board.url, width=320, height=256)
    for commands, shown in MODES:
        for command in commands:
            board.type(command)
        expect(page.locator("#now")).to_contain_text(shown, use_inner_text=True)
        for is_open in (False, True):
            if is_open:
                open_all(page)
            assert (shown, violations(page)) == (shown, [])
            assert not is_scrolled_sideways(page)
        page.reload()


def test_pairing_and_its_faults_are_accessible(
    tmp_path: Path, open_page: Callable[..., Page]
) -> None:
    """The code is asked for, a wrong one told beside the field, the right one opens the board."""
    with RunningBoard(tmp_path, "--network", "--address", "127.0.0.2") as board:
        page = open_page(board.url, width=320, height=256)
        assert violations(page) == []
        page.get_by_label("Code").fill("000 0000")
        page.keyboard.press("Enter")
        expect(page.get_by_role("alert")).to_have_text(
            "That is not the code. The newest stands in the terminal."
        )
        assert page.get_by_label("Code").get_attribute("aria-describedby") == "fault"
        assert violations(page) == []
        page.get_by_label("Code").fill(board.wait_for("To pair").partition("there: ")[2])
        page.get_by_role("button", name="Pair").click()
        expect(page.locator("#name")).to_have_text("End 1")


def test_two_boards_and_the_terminal_stay_in_step(
    tmp_path: Path, open_page: Callable[..., Page]
) -> None:
    """A press on either board or a key in a real terminal moves all three."""
    with socket.create_server(("127.0.0.1", 0)) as free:
        port = free.getsockname()[1]
    with closing(terminal(tmp_path, "board", FIRST_TRY, "--text", "--port", str(port))) as keys:
        keys.expect("End 1: shaft 1, dent 1")
        pages = [open_page(f"http://127.0.0.1:{port}/") for _ in range(2)]
        for page in pages:
            expect(page.locator("#name")).to_have_text("End 1")
        pages[0].get_by_role("button", name="Done").click()
        keys.expect("End 2: shaft 2, dent 2")
        expect(pages[1].locator("#name")).to_have_text("End 2")
        pages[1].get_by_role("button", name="Done").click()
        keys.expect("End 3")
        keys.send("\r")
        keys.expect("End 4")
        keys.send("b")
        for page in pages:
            expect(page.locator("#name")).to_have_text("End 3")
            expect(page.locator("#before")).to_have_text("Before: End 2: shaft 2, dent 2.")
        keys.send("q")
        expect(pages[0].get_by_role("alert")).to_have_text(
            "The walk has ended here; your place is kept."
        )


def test_a_group_is_walked_by_keys_alone(
    board: RunningBoard, open_page: Callable[..., Page]
) -> None:
    """Tab and Enter reach everything; the focus is always seen and never lost at a boundary."""
    page = open_page(board.url)
    expect(page.locator("#name")).to_have_text("End 1")
    _tab_to(page, "Done")
    for end in range(2, 9):
        page.keyboard.press("Enter")
        expect(page.locator("#name")).to_have_text(f"End {end}")
        assert _focused(page) == "Done"
    page.keyboard.press("Space")
    expect(page.get_by_label("How many ends are in heddles?")).to_be_visible()
    assert _focused(page) == "Done"
    for _ in range(2):
        page.keyboard.press("Shift+Tab")
    page.keyboard.type("8")
    page.keyboard.press("Enter")
    expect(page.locator("#name")).to_have_text("End 9")
    assert _focused(page) == "Done"


def _tab_to(page: Page, name: str) -> None:
    for _ in range(20):
        page.keyboard.press("Tab")
        outline = page.evaluate("getComputedStyle(document.activeElement).outlineWidth")
        assert outline == "4px", _focused(page)
        if _focused(page) == name:
            return
    pytest.fail(f"Tab never came to {name}")


def _focused(page: Page) -> str:
    return str(page.evaluate("document.activeElement.textContent"))


def test_a_held_key_confirms_one_step(board: RunningBoard, open_page: Callable[..., Page]) -> None:
    """A key or pedal that is held down repeats by itself; only the first press counts."""
    page = open_page(board.url)
    expect(page.locator("#name")).to_have_text("End 1")
    page.get_by_role("button", name="Done").focus()
    page.keyboard.down("Enter")
    for _ in range(5):
        page.keyboard.down("Enter")
    page.keyboard.up("Enter")
    expect(page.locator("#name")).to_have_text("End 2")
    page.get_by_role("button", name="Repeat").click()
    expect(page.locator("#status")).to_have_text(re.compile("End 2"))
    assert board.place()["confirmed"] == 1


def test_screen_readers_are_told_each_step(
    board: RunningBoard, open_page: Callable[..., Page]
) -> None:
    """The live region is there and empty at first, then holds just what was said last.

    WAI-ARIA 1.2: status is polite, alert assertive; a region must be there before it is filled.
    """
    page = open_page(board.url)
    status, alert = page.get_by_role("status"), page.locator("#trouble")
    expect(page.locator("#name")).to_have_text("End 1")
    assert status.text_content() == ""
    assert (status.get_attribute("aria-atomic"), alert.get_attribute("role")) == ("true", "alert")
    page.get_by_role("button", name="Done").click()
    expect(status).to_have_text("End 2: shaft 2, dent 2.")
    page.get_by_role("button", name="Repeat").click()
    expect(status).to_have_text("Straight draw, unit 1. End 2: shaft 2, dent 2.")
    board.type("dance")
    expect(alert).to_contain_text('Heard "dance", which is not a command')
    board.type("done")
    expect(alert).to_have_text("")
    expect(page.locator("#log")).to_contain_text("End 3: shaft 3, dent 3.")
    page.locator("summary", has_text="looks and speaks").click()
    page.locator("#speaks").uncheck()
    board.type("done")
    expect(page.locator("#name")).to_have_text("End 4")
    expect(status).to_have_text("")


def test_the_same_words_again_are_announced_again(
    board: RunningBoard, open_page: Callable[..., Page]
) -> None:
    """Hearing a step twice changes the region both times, since only a change is spoken."""
    page = open_page(board.url)
    expect(page.locator("#name")).to_have_text("End 1")
    told = []
    for _ in range(2):
        page.get_by_role("button", name="Repeat").click()
        page.wait_for_timeout(400)
        told.append(page.get_by_role("status").text_content() or "")
    assert told[0] != told[1]
    assert [" ".join(each.split()) for each in told] == [" ".join(told[0].split())] * 2


def test_a_board_finds_the_loom_again(tmp_path: Path, open_page: Callable[..., Page]) -> None:
    """The companion is killed and started again: the page says so, comes back and goes on."""
    with RunningBoard(tmp_path) as board:
        page = open_page(board.url)
        expect(page.locator("#name")).to_have_text("End 1")
        page.get_by_role("button", name="Done").click()
        expect(page.locator("#name")).to_have_text("End 2")
        port = str(board.port)
        board.process.kill()
        expect(page.get_by_role("alert")).to_have_text("The loom is not heard from. Trying again.")
        page.get_by_role("button", name="Done").click()
        expect(page.get_by_role("alert")).to_contain_text("may not have reached the loom")
    with RunningBoard(tmp_path, "--port", port) as board:
        expect(page.get_by_role("alert")).to_have_text("", timeout=20_000)
        expect(page.locator("#name")).to_have_text("End 2")
        page.get_by_role("button", name="Done").click()
        expect(page.locator("#name")).to_have_text("End 3")
        assert board.place()["confirmed"] == 2


def test_nothing_moves_and_colours_can_be_chosen(
    board: RunningBoard, open_page: Callable[..., Page]
) -> None:
    """No motion at all, so none to reduce; light or dark by choice outlasts a reload."""
    page = open_page(board.url)
    moving = page.evaluate(
        "[...document.querySelectorAll('*')].filter((each) => { const style = "
        "getComputedStyle(each); return style.animationName !== 'none' || "
        "parseFloat(style.transitionDuration) > 0; }).length"
    )
    assert moving == 0
    page.emulate_media(color_scheme="light")
    page.locator("summary", has_text="looks and speaks").click()
    page.get_by_label("Colours").select_option("dark")
    ground = "getComputedStyle(document.body).backgroundColor"
    assert page.evaluate(ground) == "rgb(20, 22, 26)"
    page.reload()
    assert page.evaluate(ground) == "rgb(20, 22, 26)"


def test_large_targets_and_huge_type(board: RunningBoard, open_page: Callable[..., Page]) -> None:
    """Done is larger than a thumb and the step is far above large print.

    44 by 44 px is WCAG 2.2, 2.5.5 Target Size (Enhanced); 18 pt, large print, is 24 px.
    """
    page = open_page(board.url)
    for name in ("Done", "Back", "Repeat"):
        box = page.get_by_role("button", name=name).bounding_box()
        assert box is not None
        assert min(box["width"], box["height"]) >= 44
    assert page.evaluate("parseFloat(getComputedStyle(what).fontSize)") >= 60
    spacing = "* { line-height: 1.5 !important; letter-spacing: 0.12em !important; }"
    page.set_viewport_size({"width": 320, "height": 256})
    page.evaluate(
        "(text) => { const sheet = new CSSStyleSheet(); sheet.replaceSync(text); "
        "document.adoptedStyleSheets = [sheet]; }",
        spacing,
    )
    assert not is_scrolled_sideways(page)


def test_a_plan_is_made_on_the_board(
    board: RunningBoard, tmp_path: Path, open_page: Callable[..., Page]
) -> None:
    """Errors stand beside their fields and in a summary that has the focus; mended, it is written.

    WCAG 2.2, 3.3.1 Error Identification and 3.3.3 Error Suggestion.
    """
    page = open_page(f"{board.url}new", width=320, height=640)
    assert violations(page) == []
    assert page.get_by_label("How many ends in a centimetre?").is_hidden()
    page.get_by_label("What is this plan called?").fill('Grey "shawl" <b>')
    page.get_by_label("How many ends?").fill("many")
    page.get_by_label("How wide is the whole reed?").fill("2 1/2")
    page.get_by_role("button", name="Write the plan").click()
    expect(page.locator("#errors")).to_be_focused()
    assert "Errors" in page.title()
    field = page.get_by_label("How many ends?")
    assert field.get_attribute("aria-invalid") == "true"
    about = (field.get_attribute("aria-describedby") or "").split()
    told = " ".join(page.locator(f"#{each}").text_content() or "" for each in about)
    assert 'Expected a whole number from 1 to 1,000,000, not "many".' in told
    assert violations(page) == []
    assert not is_scrolled_sideways(page)
    page.locator("#errors a").first.click()
    expect(field).to_be_focused()
    field.fill("100")
    page.get_by_role("button", name="Write the plan").click()
    expect(page.locator("#reed_width-fault")).to_contain_text("30 dents")
    page.get_by_label("How wide is the whole reed?").fill("24")
    page.get_by_label("Do you measure in inches or centimetres?").focus()
    page.get_by_role("button", name="Write the plan").click()
    expect(page.get_by_role("status")).to_contain_text("grey-shawl-b.toml is written")
    assert violations(page) == []
    assert 'title = "Grey \\"shawl\\" <b>"' in (tmp_path / "grey-shawl-b.toml").read_text()


def test_centimetres_change_the_questions(
    board: RunningBoard, open_page: Callable[..., Page]
) -> None:
    """Only what applies is asked, and what was merely offered is offered in the new unit."""
    page = open_page(f"{board.url}new")
    page.get_by_label("Do you measure in inches or centimetres?").select_option("metric")
    expect(page.get_by_label("How many ends in an inch?")).to_be_hidden()
    expect(page.get_by_label("How many ends in a centimetre?")).to_be_visible()
    assert page.get_by_label("How wide is the whole reed?").input_value() == "90"
    page.get_by_label("Which shafts is each treadle tied to?").fill("1-2, 3-4")
    expect(page.get_by_label("Do tied shafts rise or sink?")).to_be_visible()
