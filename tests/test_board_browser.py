"""The board in a real browser: what is seen, what a screen reader is told, keys alone, any size."""

from __future__ import annotations

import json
import re
import signal
import socket
from contextlib import closing
from functools import partial
from typing import TYPE_CHECKING

import pytest
from board_door import FIRST_TRY, RunningBoard, wait_until
from browser_pages import is_scrolled_sideways, needs_chromium, tool, violations
from front_door import terminal

expect = tool.expect

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from playwright.sync_api import Browser, FloatRect, Locator, Page, WebSocketRoute

pytestmark = needs_chromium


@pytest.fixture
def board(tmp_path: Path) -> Iterator[RunningBoard]:
    with RunningBoard(tmp_path, "--plans", tmp_path) as running:
        yield running


def open_all(page: Page) -> None:
    page.evaluate("document.querySelectorAll('details').forEach((each) => { each.open = true; })")
    more = page.get_by_role("button", name="More", exact=True)
    if more.is_visible():
        more.click()


def keys_shown(page: Page) -> set[str]:
    """Return the commands whose keys are shown, those behind More too."""
    open_all(page)
    shown = page.evaluate(
        "[...document.querySelectorAll('#keys button')].filter((each) => !each.hidden)"
        ".map((each) => each.dataset.command)"
    )
    return set(shown)


def now(page: Page, text: str) -> None:
    """Wait until the present step, or the headline, is this."""
    expect(page.locator("#now")).to_have_text(text)


PULLED = "Pull ends 6 and 7 out of the heddles, and of the reed if they are in it."
HELD = "7 ends, 8 planned"
MODES = (
    ((), "End 1 Shaft 1 Dent 1"),
    (("done",) * 8, "How many ends are in heddles?"),
    (("7",), HELD),
    (("mend",), "Mend it this way?"),
    (("no", "1 2 3 4 1 3 2 4", "mend", "yes"), PULLED),
    (("undo", "accept"), "Let 7 stand?"),
    (("no", "read back"), "End 1 Shaft 1 Dent 1"),
    (("resume", "8"), "8 ends, but felt wrong"),
    (("1 2 3 4 1 2 3 4", "pause"), "Resting"),
    (("resume", *(("done",) * 8 + ("8",)) * 4), "Complete"),
)
"""What brings the walk from each mode to the next, and what is shown there."""
BEYOND = {"felt", "read group"}
"""Keys that give a command of another name."""


def test_every_mode_is_accessible_and_shows_what_fits(
    board: RunningBoard, open_page: Callable[..., Page]
) -> None:
    """No rule of WCAG 2.2 AA is broken in any mode, light or dark, nor is 320 px too narrow.

    axe-core finds what a program can find; 320 px is WCAG 2.2, 1.4.10 Reflow: 1280 at 400 %.
    A page that comes anew draws a mode as one that is there already does, so one mode is enough.
    """
    page = open_page(board.url, width=320, height=256)
    now(page, MODES[0][1])
    assert violations(page) == [], "before all keys are shown"
    for commands, shown in MODES:
        for command in commands:
            board.type(command)
        now(page, shown)
        fitting = set(board.place()["keys"])
        open_count = {"count"} if page.locator("#entry").is_visible() else set()
        assert keys_shown(page) - BEYOND | open_count == fitting
        # What is set on the page is the same in every mode.
        known = "" if (commands, shown) == MODES[0] else "details"
        assert (shown, violations(page, known)) == (shown, [])
        assert not is_scrolled_sideways(page)
        if shown == HELD:
            page.reload()
            now(page, shown)
    _press(page, "Where am I")
    expect(page.locator("#answer")).to_be_in_viewport()
    board.type("stop")
    now(page, "Stopped")
    page.set_viewport_size({"width": 390, "height": 844})
    assert page.locator("#commands").is_hidden()
    assert violations(page) == []
    assert page.locator("#strip").is_hidden()


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
            now(page, "End 1 Shaft 1 Dent 1")
        pages[0].get_by_role("button", name="Done").click()
        keys.expect("End 2: shaft 2, dent 2")
        now(pages[1], "End 2 Shaft 2 Dent 2")
        pages[1].get_by_role("button", name="Done").click()
        keys.expect("End 3")
        keys.send("\r")
        keys.expect("End 4")
        keys.send("b")
        for page in pages:
            now(page, "End 3 Shaft 3 Dent 3")
        keys.send("q")
        now(pages[0], "Stopped")
        expect(pages[0].locator("#detail")).to_have_text(
            "The walk has ended here; your place is kept."
        )


def test_a_group_is_walked_by_keys_alone(
    board: RunningBoard, open_page: Callable[..., Page]
) -> None:
    """Tab and Enter reach everything; the focus is always seen and never lost at a boundary.

    What is held down confirms one step.
    """
    page = open_page(board.url)
    now(page, "End 1 Shaft 1 Dent 1")
    _tab_to(page, "Done")
    # A key or pedal that is held down repeats by itself; only the first press counts.
    for _ in range(6):
        page.keyboard.down("Enter")
    page.keyboard.up("Enter")
    now(page, "End 2 Shaft 2 Dent 2")
    assert _focused(page) == "Done"
    _tab_to(page, "Back")
    page.keyboard.press("Enter")
    now(page, "End 1 Shaft 1 Dent 1")
    _tab_to(page, "Done", "Shift+Tab")
    for end in range(2, 9):
        page.keyboard.press("Enter")
        now(page, f"End {end} Shaft {(end - 1) % 4 + 1} Dent {end}")
        assert _focused(page) == "Done"
    page.keyboard.press("Space")
    now(page, "How many ends are in heddles?")
    assert _focused(page) == "typed"
    page.keyboard.type("8")
    page.keyboard.press("Enter")
    now(page, "End 9 Shaft 1 Dent 9")
    assert _focused(page) == "Done"


def _tab_to(page: Page, name: str, key: str = "Tab") -> None:
    for _ in range(20):
        page.keyboard.press(key)
        outline = page.evaluate("getComputedStyle(document.activeElement).outlineWidth")
        assert outline == "4px", _focused(page)
        if _focused(page) == name:
            return
    pytest.fail(f"Tab never came to {name}")


def _focused(page: Page) -> str:
    return str(page.evaluate("document.activeElement.textContent || document.activeElement.id"))


def test_screen_readers_are_told_each_step(
    board: RunningBoard, open_page: Callable[..., Page]
) -> None:
    """The live region is there and empty at first, then holds just what was said last.

    WAI-ARIA 1.2: status is polite, alert assertive; a region must be there before it is filled.
    The same words again change it again, since only a change is spoken.
    """
    page = open_page(board.url)
    status, alert = page.get_by_role("status"), page.locator("#trouble")
    now(page, "End 1 Shaft 1 Dent 1")
    opening = "Start at the right edge, seen from the front."
    for told in (status, page.locator("#opening")):
        expect(told).to_contain_text(opening)
        expect(told).to_contain_text("Lay hooks and scissors off the bench")
    assert (status.get_attribute("aria-atomic"), alert.get_attribute("role")) == ("true", "alert")
    page.get_by_role("button", name="Done").click()
    expect(status).to_have_text("End 2: shaft 2, dent 2.")
    expect(page.locator("#opening")).to_have_text("")
    page.get_by_role("button", name="Repeat").click()
    expect(status).to_have_text("Straight draw. End 2: shaft 2, dent 2.")
    # What leads to no other place is to be seen too, and not left standing beside another step.
    answer = page.locator("#answer")
    expect(answer).to_have_text("Straight draw. End 2: shaft 2, dent 2.")
    once = status.text_content() or ""
    board.type("repeat")
    expect(status).not_to_have_js_property("textContent", once)
    assert (status.text_content() or "").split() == once.split()
    board.type("dance")
    expect(alert).to_contain_text('"dance" is not a command')
    board.type("done")
    expect(alert).to_have_text("")
    expect(page.locator("#log")).to_contain_text("End 3: shaft 3, dent 3.")
    expect(answer).to_have_text("")
    page.locator("summary", has_text="told and shown").click()
    page.get_by_label("This device").select_option("says nothing")
    board.type("done")
    now(page, "End 4 Shaft 4 Dent 4")
    expect(status).to_have_text("")
    page.get_by_label("This device").select_option("reader")
    board.type("done\ndone")  # at once, as after a sleep
    expect(status).to_have_text("End 6: shaft 2, dent 6.")
    board.type("look at a group")
    expect(page.locator("#asked")).to_have_text("Which group?")
    page.get_by_role("button", name="No", exact=True).click()
    now(page, "End 6 Shaft 2 Dent 6")


def test_a_board_finds_the_loom_again(tmp_path: Path, open_page: Callable[..., Page]) -> None:
    """Killed and started again: the page says so, comes back, and the press of before is void."""
    with RunningBoard(tmp_path) as board:
        page = open_page(board.url)
        now(page, "End 1 Shaft 1 Dent 1")
        page.get_by_role("button", name="Done").click()
        now(page, "End 2 Shaft 2 Dent 2")
        page.reload()  # so that no press is on its way
        expect(page.locator("#link")).to_have_text("In step with the loom")
        port = str(board.port)
        board.process.kill()
        alert = page.get_by_role("alert")
        expect(alert).to_have_text("The loom is not heard from. Trying again.")
        page.get_by_role("button", name="Repeat").click()
        expect(alert).to_have_text("The loom is away. This was not taken.")
        page.get_by_role("button", name="Done").click()
        expect(alert).to_contain_text("This press waits")
        page.get_by_role("button", name="Done").click()
        expect(alert).to_contain_text("one press waits already. This one was not taken")
    with RunningBoard(tmp_path, "--port", port) as board:
        expect(alert).to_contain_text("so that press was not taken", timeout=30_000)
        now(page, "End 2 Shaft 2 Dent 2")
        page.get_by_role("button", name="Done").click()
        now(page, "End 3 Shaft 3 Dent 3")
        assert board.place()["progress"]["confirmed"] == 2


def test_what_is_lost_on_the_way_is_fetched_or_told_of(
    board: RunningBoard, browser: Browser
) -> None:
    """A page that came only in part is loaded again; that the loom is away is not hidden.

    The line breaks right after the words of a step: the page says so until it is back.
    """
    context = browser.new_context()
    page = context.new_page()
    broken: list[bool] = []

    def cut(socket: WebSocketRoute) -> None:
        if broken:
            socket.close(code=1011)
            return
        loom = socket.connect_to_server()

        def passed(message: str | bytes) -> None:
            socket.send(message)
            if json.loads(message)["kind"] == "line":
                broken.append(True)
                socket.close(code=1011)

        loom.on_message(passed)

    page.route_web_socket(re.compile("/line$"), cut)
    page.route("**/draw.js", lambda route: route.abort("connectionreset"), times=1)
    page.goto(board.url)
    now(page, "End 1 Shaft 1 Dent 1")
    page.get_by_role("button", name="Done").click()
    expect(page.locator("#said")).not_to_have_text("")  # the words have been told
    expect(page.get_by_role("alert")).to_contain_text(re.compile("not heard from|press waits"))
    context.close()


def test_one_press_waits_while_the_loom_is_away(
    board: RunningBoard, open_page: Callable[..., Page]
) -> None:
    """A stopped process answers nothing: one press is held, and taken once when it goes on."""
    page = open_page(board.url)
    now(page, "End 1 Shaft 1 Dent 1")
    board.process.send_signal(signal.SIGSTOP)
    done, alert = page.get_by_role("button", name="Done"), page.get_by_role("alert")
    done.click()
    expect(alert).to_contain_text("This press waits", timeout=30_000)
    done.click()
    expect(alert).to_contain_text("one press waits already")
    board.process.send_signal(signal.SIGCONT)
    now(page, "End 2 Shaft 2 Dent 2")
    expect(page.locator("#link")).to_have_text("In step with the loom", timeout=30_000)
    expect(alert).to_have_text("")
    assert board.place()["progress"]["confirmed"] == 1


def test_a_press_whose_answer_is_lost_is_not_called_refused(
    board: RunningBoard, browser: Browser
) -> None:
    """The loom has taken it and gone on; the page learns so when its line is open again."""
    context = browser.new_context()
    page = context.new_page()
    answered: list[str] = []

    def cut(socket: WebSocketRoute) -> None:
        loom = socket.connect_to_server()
        given: list[str] = []

        def sent(message: str | bytes) -> None:
            given.extend(["press"] if json.loads(message)["kind"] == "give" else [])
            loom.send(message)

        def passed(message: str | bytes) -> None:
            event = json.loads(message)
            if event["kind"] == "answer":
                answered.append(event["data"]["outcome"])
            if not given or len(answered) > 1:
                socket.send(message)
            elif answered:
                socket.close(code=1011)

        socket.on_message(sent)
        loom.on_message(passed)

    def is_answered_twice() -> bool:
        page.wait_for_timeout(20)  # messages pass meanwhile
        return len(answered) == 2

    page.route_web_socket(re.compile("/line$"), cut)
    page.goto(board.url)
    now(page, "End 1 Shaft 1 Dent 1")
    page.get_by_role("button", name="Done").click()
    now(page, "End 2 Shaft 2 Dent 2")
    expect(page.locator("#link")).to_have_text("In step with the loom")
    wait_until(is_answered_twice)
    expect(page.get_by_role("alert")).to_have_text("")
    assert answered == ["taken", "taken"]
    assert board.place()["progress"]["confirmed"] == 1
    context.close()


OFFERED = (
    ("19", ""), ("Erase", ""), ("Erase", ""), ("7", ""),
    ("Give the count", "7 ends, 8 planned"),
    ("Shafts you feel\u2026", ""), ("1234124", ""),
    ("Give the shafts", "7 ends, 8 planned"),
    ("Mend it", "Mend it this way?"),
    ("Mend: another way", "Mend it this way?"),
    ("No", "7 ends, 8 planned"),
    ("Accept\u2026", ""),
    ("Accept", "Let 7 stand?"),
    ("Yes", "End 9 Shaft 1 Dent 9"),
    ("Read back group\u2026", ""), ("1", ""),
    ("Read it", "End 1 Shaft 1 Dent 1"),
    ("Done: read on", "End 2 Shaft 2 Dent 2"),
    ("Resume: stop reading", "End 9 Shaft 1 Dent 9"),
    ("Rewind to\u2026", ""), ("Not now", ""), ("Rewind to\u2026", ""), ("3", ""),
    ("Rewind", "Back to end 3?"),
    ("Yes", "End 3 Shaft 3 Dent 3"),
    ("Undo", "End 9 Shaft 1 Dent 9"),
    ("Pause", "Resting"),
    ("Resume", "End 9 Shaft 1 Dent 9"),
    ("Stop for today", "Stop here?"),
    ("Yes", "Stopped"),
)  # fmt: skip
"""What is pressed after the first group, digits or a key's name, and what stands there then."""


def test_everything_the_walk_offers_is_done_here(
    board: RunningBoard, open_page: Callable[..., Page]
) -> None:
    """Counts by the pad, shafts felt, a mend, letting stand, other groups, undo, rest and stop."""
    page = open_page(board.url)
    for _ in range(8):
        board.type("done")
    now(page, "How many ends are in heddles?")
    for pressed, shown in OFFERED:
        before = page.locator("#detail").text_content() or ""
        for name in pressed if pressed.isdigit() else [pressed]:
            _press(page, name)
        if pressed == "1234124":
            expect(page.locator("#typed")).to_have_value("1 2 3 4 1 2 4")
        if pressed == "Not now":
            expect(page.locator("#entry")).to_be_hidden()
        if pressed == "Give the shafts":
            expect(page.locator("#detail")).to_contain_text("end 7, shaft 3, is missing")
            expect(page.locator("#trouble")).to_have_class(re.compile("heard-only"))  # not twice
        if pressed == "Mend: another way":  # the headline stays as it is
            expect(page.locator("#detail")).not_to_have_text(before)
        if shown:
            now(page, shown)
    assert board.process.wait(20) == 0


def test_what_is_told_and_shown_is_chosen_here(
    board: RunningBoard, open_page: Callable[..., Page]
) -> None:
    """How much is told is a command like any other, and follows what is chosen elsewhere.

    No motion at all, so none to reduce; light or dark by choice outlasts a reload.
    """
    page = open_page(board.url)
    now(page, "End 1 Shaft 1 Dent 1")
    page.locator("summary", has_text="told and shown").click()
    page.get_by_label("Told together").select_option("4 ends")
    now(page, "Ends 1 to 4 Shafts 1, 2, 3, 4 Dents 1 to 4")
    page.get_by_label("Said of each end").select_option("the shaft alone")
    board.wait_for("1, 2, 3, 4.")
    board.type("3 at a time")
    now(page, "Ends 1 to 3 Shafts 1, 2, 3 Dents 1 to 3")
    expect(page.get_by_label("Told together")).to_have_value("3")
    board.type("pause")
    now(page, "Resting")
    expect(page.get_by_label("Told together")).to_be_disabled()
    moving = page.evaluate(
        "[...document.querySelectorAll('*')].filter((each) => { const style = "
        "getComputedStyle(each); return style.animationName !== 'none' || "
        "parseFloat(style.transitionDuration) > 0; }).length"
    )
    assert moving == 0
    page.emulate_media(color_scheme="light")
    shade = partial(expect(page.locator("html")).to_have_attribute, "data-shade")
    shade("light")
    for look, wanted in (("dark", "dark"), ("light", "light"), ("stark", "stark")):
        page.get_by_label("Colours").select_option(look)
        shade(wanted)
    page.emulate_media(color_scheme="dark")
    shade("stark-dark")
    board.type("resume")
    now(page, "Ends 1 to 3 Shafts 1, 2, 3 Dents 1 to 3")
    page.reload()
    shade("stark-dark")
    now(page, "Ends 1 to 3 Shafts 1, 2, 3 Dents 1 to 3")
    assert violations(page) == []


def _press(page: Page, name: str) -> None:
    button = page.get_by_role("button", name=name, exact=True)
    if not button.count():
        page.get_by_role("button", name="More", exact=True).click()
    button.click()


def _looks_as_the_loom_stands(board: RunningBoard, page: Page) -> None:
    """The first end is at its edge, the present one stands alone, and words say what is near."""
    board.type("done")
    now(page, "End 2 Shaft 2 Dent 2")
    marks = page.locator("#strip .end")
    at = marks.evaluate_all("(all) => all.map((each) => each.getBoundingClientRect().toJSON())")
    assert at[0]["x"] > at[1]["x"] > at[2]["x"] > 0
    assert at[0]["y"] > at[1]["y"] > at[2]["y"] > 0
    assert page.locator("#strip .now.end").count() == 1
    assert page.locator("#strip .thread").count() == 1
    assert page.locator("#strip").get_attribute("aria-label") == (
        "The threading around the place. Before it shafts 1. After it shafts 3, 4, 1, 2. "
        "The group ends with end 8."
    )
    assert page.locator("#groups span").count() == 5


def test_the_threading_large_targets_and_huge_type(
    board: RunningBoard, open_page: Callable[..., Page]
) -> None:
    """Done is larger than a thumb and the step far above large print; both fit every screen.

    Written from the right, the page is mirrored, but not the loom; at 400 % it still fits.
    44 by 44 px is WCAG 2.2, 2.5.5 Target Size (Enhanced); 18 pt, large print, is 24 px.
    """
    page = open_page(board.url)
    _looks_as_the_loom_stands(board, page)
    for name in ("Done", "Back", "Repeat"):
        box = box_of(page.get_by_role("button", name=name))
        assert min(box["width"], box["height"]) >= 44
    wanted = page.locator("#now .wanted .value")
    assert wanted.evaluate("(each) => parseFloat(getComputedStyle(each).fontSize)") >= 150
    for width, height in SIZES:
        page.set_viewport_size({"width": width, "height": height})
        assert not is_scrolled_sideways(page)
        wait_until(partial(_fits, page, width, height))  # what is drawn for the size before goes
    # However long the step is, its key is in reach without a scroll.
    page.set_viewport_size({"width": 360, "height": 640})
    page.locator("#detail").evaluate("(each) => { each.textContent = 'Long. '.repeat(200); }")
    assert _bottom(box_of(page.get_by_role("button", name="Done"))) <= 640
    page.set_viewport_size({"width": 1180, "height": 820})
    page.evaluate("document.documentElement.dir = 'rtl'")
    present, keys = box_of(page.locator("#present")), box_of(page.locator("#commands"))
    assert keys["x"] + keys["width"] <= present["x"]
    # The threading stays as the loom stands.
    ends = [box_of(page.locator("#strip .end").nth(number)) for number in range(2)]
    assert ends[0]["x"] > ends[1]["x"]
    spacing = "* { line-height: 1.5 !important; letter-spacing: 0.12em !important; }"
    page.set_viewport_size({"width": 320, "height": 256})
    assert page.evaluate(MUCH) == [["3", "12"], True, True]
    assert not is_scrolled_sideways(page)
    page.evaluate(
        "(text) => { const sheet = new CSSStyleSheet(); sheet.replaceSync(text); "
        "document.adoptedStyleSheets = [sheet]; }",
        spacing,
    )
    assert not is_scrolled_sideways(page)


MUCH = """async () => {
    const { drawStrip, drawWay } = await import("/draw.js"), box = document.getElementById("strip");
    const ends = [...Array(24).keys()].map((at) => [at + 1, 1, "", at > 1 && at < 12 ? 1 : 2]);
    drawStrip(box, { shafts: 32, ends, cuts: [] }, "right");
    const told = [...box.querySelectorAll("text.now")].map((each) => each.textContent);
    const ends_at = [...Array(60).keys()].map((at) => at + 1);
    const way = { confirmed: 0, total: 60, group: 1, groups: 60, first: 1, last: 1, stood: [] };
    const [bars, words] = ["groups", "progress"].map((id) => document.getElementById(id));
    drawWay(bars, words, { ...way, ends_at });
    const isSeen = [...box.querySelectorAll(".end")].every((mark) => mark.getBBox().width >= 8);
    return [told, box.querySelector("svg").clientHeight < 170, isSeen];
}"""
"""Draws a group of ten ends in hand on 32 shafts, and as many groups as are shown."""
SIZES = ((320, 568), (390, 844), (820, 1180), (844, 390), (1180, 820), (1920, 1080))
"""From a small phone to a screen on the wall."""


def box_of(each: Locator) -> FloatRect:
    """Wait for the place of an element: one that is being drawn anew has none."""
    box: FloatRect = wait_until(each.bounding_box)
    return box


def _fits(page: Page, width: int, height: int) -> bool:
    """Tell whether the step and the keys stand beside or above each other, and within."""
    done = box_of(page.get_by_role("button", name="Done"))
    present, keys = box_of(page.locator("#present")), box_of(page.locator("#commands"))
    if max(_bottom(done), _bottom(present)) > height:
        return False
    if width > height:
        return keys["x"] >= present["x"] + present["width"]
    return keys["y"] >= _bottom(present)


def _bottom(box: FloatRect) -> float:
    return box["y"] + box["height"]


@pytest.mark.long
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
    assert 'Expected a whole number of ends from 1 to 1,000,000, not "many".' in told
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
    regions, beams = "How do the ends lie, from end 1 on?", "Which ends lie on the second beam?"
    expect(page.get_by_label(regions)).to_be_hidden()
    page.get_by_label("closer in some dents than in others").check()
    page.get_by_label("some ends on a second beam").check()
    expect(page.get_by_label(regions)).to_be_visible()
    expect(page.get_by_label(beams)).to_be_visible()
    assert violations(page) == []
    page.get_by_label("Which shafts is each treadle tied to?").fill("1-2, 3-4")
    expect(page.get_by_label("Do tied shafts rise or sink?")).to_be_visible()
