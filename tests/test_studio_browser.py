"""The teacher's page and two looms, in a real browser."""

from __future__ import annotations

import json
import re
import shutil
from typing import TYPE_CHECKING

import pytest
from browser_pages import (
    LIGHTS,
    is_scrolled_sideways,
    needs_certutil,
    needs_chromium,
    tool,
    violations,
)
from studio_door import RunningStudio

from companion.out.studio.standing import Standing

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from playwright.sync_api import Page, Route, WebSocketRoute

pytestmark = [needs_chromium, needs_certutil]
expect = tool.expect
NETWORK = ("--network", "--address", "127.0.0.2")


@pytest.fixture(scope="module")
def studio(authority: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[RunningStudio]:
    home = tmp_path_factory.mktemp("home")
    shutil.copytree(authority, home / "studio")
    with RunningStudio(home, *NETWORK) as running:
        yield running


@pytest.fixture
def desk(studio: RunningStudio, open_page: Callable[..., Page]) -> Page:
    """The teacher's page, on this machine itself, where no code is asked for."""
    page = open_page(studio.wait_for("The studio is at ").split()[-1])
    expect(page.locator("#link")).to_have_text("In step with the studio")
    expect(page.locator("#summary")).to_contain_text("walked")  # where there is no loom, too
    return page


def begin(page: Page, name: str, plan: str, weaver: str = "") -> None:
    page.get_by_label("Plan, or a session").select_option(plan)
    page.get_by_label("Loom, such as").fill(name)
    page.get_by_label("Weaver; it can").fill(weaver)
    page.get_by_role("button", name="Begin").click()
    expect(page.get_by_role("heading", name=name, exact=True)).to_be_visible()
    expect(page.get_by_label("Loom, such as")).to_have_value("")  # it is ready for the next


def code_for(desk: Page, name: str) -> str:
    """Have the teacher's page show a code for a loom."""
    own = desk.locator("#looms li", has=desk.get_by_role("heading", name=name, exact=True))
    own.get_by_text("More", exact=True).click()
    own.get_by_role("button", name="Pair a device").click()
    expect(desk.locator("#code-title")).to_have_text(f"A device for {name}")
    return desk.locator("#digits").inner_text()


def pair(studio: RunningStudio, desk: Page, code: str, open_page: Callable[..., Page]) -> Page:
    """Pair a device by the code that the teacher's page shows."""
    desk.get_by_role("button", name="Close").click()
    page = open_page(studio.url, 390, 844)
    page.get_by_label("Code").fill(code)
    page.get_by_role("button", name="Pair").click()
    return page


def test_two_looms_before_the_teacher(
    studio: RunningStudio, desk: Page, open_page: Callable[..., Page]
) -> None:
    """Two devices walk two plans at once, each its own; the teacher sees both, trouble first."""
    begin(desk, "By the door", "striped-towels.toml", "Berta")
    begin(desk, "By the window", "first-try.toml", "Anna")
    code = code_for(desk, "By the door")
    assert violations(desk) == []
    door = pair(studio, desk, code, open_page)
    window = pair(studio, desk, code_for(desk, "By the window"), open_page)
    for page in (door, window):
        expect(page.locator("#now")).to_contain_text("End 1")
    for end in range(2, 9):
        window.get_by_role("button", name="Done").click()
        expect(window.locator("#now")).to_contain_text(f"End {end}")
    door.get_by_role("button", name="Done").click()
    expect(door.locator("#now")).to_contain_text("End 2")
    expect(window.locator("#now")).to_contain_text("End 8")
    window.get_by_role("button", name="Done").click()
    expect(window.locator("#now")).to_have_text("How many ends are in heddles?")
    window.get_by_role("button", name="7", exact=True).click()
    window.locator("#give").click()
    expect(desk.locator("#trouble")).to_have_text("By the window is held: 7 of 8.")
    first = desk.locator("#looms li").first
    expect(first.locator(".state")).to_have_text("Held: 7 of 8")
    expect(first.locator(".who")).to_contain_text("Anna · First try")
    # A loom that is held may rest too, and go on with that.
    first.get_by_role("button", name="Pause").click()
    expect(first.locator(".state")).to_have_text("Held: 7 of 8; resting")
    first.get_by_role("button", name="Go on", exact=True).click()
    expect(first.locator(".state")).to_have_text("Held: 7 of 8")
    expect(desk.locator("#summary")).to_have_text("2 of 2 walked, 1 in trouble")
    assert violations(desk) == []
    window.get_by_role("button", name="8", exact=True).click()
    window.locator("#give").click()
    expect(desk.locator("#status")).to_have_text("By the window goes on.")
    expect(desk.locator("#summary")).to_have_text("2 of 2 walked, 0 in trouble")
    # The other loom's page leads back to its own.
    window.goto(f"{studio.url}loom/by-the-door/")
    expect(window.locator("h1")).to_contain_text("By the window")


def test_pause_and_hand_over_on_the_page(desk: Page, open_page: Callable[..., Page]) -> None:
    """What is pressed on a card is done at that loom, and the focus stays where it was."""
    begin(desk, "By the stove", "first-try.toml", "Anna")
    own = desk.locator("#looms li", has=desk.get_by_role("heading", name="By the stove"))
    loom = open_page(
        own.get_by_role("link", name="Its page, By the stove").evaluate("each => each.href")
    )
    loom.get_by_role("button", name="Done").click()
    expect(loom.locator("#now")).to_contain_text("End 2")
    own.get_by_text("More", exact=True).click()
    own.get_by_role("button", name="Pause").click()
    expect(loom.locator("#now")).to_have_text("Resting")
    expect(own.locator(".state")).to_have_text("Resting")
    expect(own.get_by_role("button", name="Go on", exact=True).first).to_be_focused()
    own.get_by_role("button", name="Go on", exact=True).first.click()
    expect(loom.locator("#now")).to_contain_text("End 2")
    own.get_by_label("Hand over to").fill("Cilla")
    own.get_by_role("button", name="Hand over").click()
    expect(own.locator(".who")).to_contain_text("Cilla")
    # The loom's page finds the walk of the next weaver by itself, and tells where it stands.
    for told in ("#status", "#opening"):
        expect(loom.locator(told)).to_contain_text("1 end so far. Start at the right edge")
    loom.get_by_role("button", name="Done").click()
    expect(loom.locator("#now")).to_contain_text("End 3")
    own.get_by_role("button", name="End the walk").click()
    expect(own.locator(".state")).to_have_text("Stopped; the place is kept")
    expect(loom.locator("#now")).to_have_text("Stopped")
    begin(desk, "By the stove", "striped-towels.toml")
    expect(loom.locator("h1")).to_have_text("By the stove: Striped kitchen towels")
    expect(loom).to_have_title("By the stove: Striped kitchen towels - loom board")
    own.get_by_role("button", name="End the walk").click()
    own.get_by_role("button", name="Remove").click()
    expect(own).to_have_count(0)
    expect(desk.get_by_label("Plan, or a session")).to_be_focused()


SIZES = ((320, 256), (390, 844), (1180, 820))
"""Of windows, from 400 % on a small screen to a wide one."""


def test_every_page_of_the_teacher_is_accessible(desk: Page) -> None:
    """WCAG 2.2 AA as far as axe-core sees, whatever the window's size."""
    base = desk.url
    for path in ("", "day/", "devices/", "new"):
        desk.goto(base + path)
        expect(desk.get_by_role("heading", level=1)).to_be_visible()
        _fits_every_window(desk)
    desk.goto(base)
    # What came of a press far below is in view.
    desk.set_viewport_size({"width": 390, "height": 844})
    desk.get_by_role("button", name="Tell how all looms stand").click()
    expect(desk.locator("#status")).to_have_text(re.compile("loom"))
    expect(desk.locator("#status")).to_be_in_viewport()
    desk.get_by_role("button", name="Codes for all looms, to print").click()
    expect(desk.get_by_role("heading", level=1)).to_have_text("Codes for the looms")
    _fits_every_window(desk)


def _fits_every_window(page: Page) -> None:
    for width, height in SIZES:
        page.set_viewport_size({"width": width, "height": height})
        where = (page.url, width)
        if (width, height) != SIZES[1]:  # which lies between the two others
            lights = (
                LIGHTS if width == SIZES[0][0] else LIGHTS[:1]
            )  # colours are those of any width
            assert (where, violations(page, lights=lights)) == (where, [])
        assert (where, is_scrolled_sideways(page)) == (where, False)


def test_news_are_heard_on_the_teachers_device(desk: Page, studio: RunningStudio) -> None:
    """A device that speaks fetches the news as sound and plays it; "tell" tells how all stand."""
    desk.get_by_text("How it is told and shown").click()
    desk.get_by_label("This device").select_option("companion")
    clip = re.compile(r"/looms/clip/[0-9a-f]{24}$")
    with desk.expect_response(clip) as got:
        desk.get_by_role("button", name="Tell how all looms stand").click()
    assert got.value.status == 200
    assert got.value.headers["content-type"] == "audio/wav"
    status = desk.locator("#status")
    expect(status).to_have_text(re.compile(r"loom"))
    expect(status).to_have_attribute("aria-live", "off")
    # What comes of a press here is of this page alone, and nothing else says it.
    begin(desk, "By the sink", "first-try.toml")
    expect(status).to_have_text("By the sink begins.")
    expect(status).to_have_attribute("aria-live", "polite")
    assert studio.looms()


def test_many_looms_are_rows(studio: RunningStudio, open_page: Callable[..., Page]) -> None:
    """Trouble first, each one line of a wide screen; what can be done there opens, if it can."""
    looms = [
        Standing(f"loom-{number}", f"loom {number}", "walking", title="Striped towels, a set",
                 place="threading and sleying, end 37 of 120", done=0.3, pages=1)
        for number in range(1, 30)
    ]  # fmt: skip
    looms.append(
        Standing("barn/a", "loom 1 at barn", "held", why="7 of 8", server="barn", session="towels")
    )
    place = {"looms": [each.as_values() for each in looms]}
    whole: dict[str, object] = {"place": place, "lines": [], "ahead": [], "room": None, "ended": ""}

    lines: list[WebSocketRoute] = []

    def serve(line: WebSocketRoute) -> None:
        lines.append(line)

        def take(_hello: str | bytes) -> None:
            line.send(json.dumps({"id": "run.1", "kind": "whole", "data": whole}))
            line.send('{"kind": "beat"}')

        line.on_message(take)

    page = open_page("about:blank", 1920, 1080)
    page.route_web_socket(re.compile("/line$"), serve)
    held = hold_choices(page)
    page.goto(studio.wait_for("The studio is at ").split()[-1])
    rows = page.locator("#looms li")
    expect(rows).to_have_count(30)
    expect(rows.first).to_contain_text("Held: 7 of 8")
    heights = rows.evaluate_all("(rows) => rows.map((row) => row.offsetHeight)")
    line = page.locator(".where").nth(3).evaluate("(text) => text.offsetHeight")
    assert max(heights) < 2.5 * line
    rows.first.get_by_text("More", exact=True).click()
    expect(rows.first).to_contain_text("Its page and its history are at barn.")
    buttons = rows.first.get_by_role("button")
    expect(buttons).to_have_text(["Pause", "End the walk", "Hand over"])
    with page.expect_request("**/looms/do") as asked:
        buttons.first.click()
    assert asked.value.post_data == "what=pause&loom=barn%2Fa"
    expect(page.locator("#trouble")).to_have_text("There is no loom 'barn/a' here.")
    lines[0].close(code=1011)
    expect(page.locator("#trouble")).to_have_text("The studio is not heard from. Trying again.")
    expect(page.locator("#status")).to_have_text("The studio is back.")
    expect(page.locator("#trouble")).to_have_text("")
    expect(rows.nth(1)).to_contain_text("Not heard from yet")
    rows.nth(1).get_by_text("More", exact=True).click()
    expect(rows.nth(1).get_by_role("button", name="Pause")).to_be_visible()
    assert violations(page, "#looms li:nth-child(n+5)") == []
    page.set_viewport_size({"width": 390, "height": 844})
    assert not is_scrolled_sideways(page)
    # What was asked for first and answered last shows nothing older.
    page.locator("#plan").focus()
    expect(page.locator("#plan option")).to_have_text(["later"])
    with page.expect_response("**/looms/choices"):
        held[0].fulfill(json=offered("earlier.toml"))
    page.wait_for_function("() => new Promise((done) => setTimeout(() => done(true), 50))")
    expect(page.locator("#plan option")).to_have_text(["later"])


def hold_choices(page: Page) -> list[Route]:
    """Leave the first question for what there is to begin unanswered, and answer the later."""
    held: list[Route] = []

    def answer(route: Route) -> None:
        held.append(route)
        if len(held) > 1:
            route.fulfill(json=offered("later.toml"))

    page.route("**/looms/choices", answer)
    return held


def offered(plan: str) -> dict[str, list[str]]:
    return {"plans": [plan], "sessions": [], "shared": [], "looms": []}
