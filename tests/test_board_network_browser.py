"""A tablet on the studio's network, in a real browser that trusts the studio's authority."""

from __future__ import annotations

import re
import shutil
from contextlib import closing
from typing import TYPE_CHECKING

import numpy as np
import pytest
from board_door import RunningBoard
from browser_pages import (
    is_scrolled_sideways,
    needs_certutil,
    needs_chromium,
    tool,
    violations,
)
from front_door import PLANS, terminal

zxing = pytest.importorskip("zxingcpp")
expect = tool.expect

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from playwright.sync_api import Page

pytestmark = [needs_chromium, needs_certutil]
NETWORK = ("--network", "--address", "127.0.0.2")


@pytest.fixture(scope="module")
def home(authority: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    home = tmp_path_factory.mktemp("home")
    shutil.copytree(authority, home / "studio")
    return home


@pytest.fixture(scope="module")
def board(home: Path) -> Iterator[RunningBoard]:
    with RunningBoard(home, *NETWORK) as running:
        running.wait_for("To pair a tablet")
        yield running


def test_pairing_and_its_faults_are_accessible(
    board: RunningBoard, open_page: Callable[..., Page]
) -> None:
    """The code is asked for, a wrong one told beside the field, the right one opens the board."""
    page = open_page(board.url, width=320, height=256)
    assert violations(page) == []
    page.get_by_label("Code").fill("000 0000")
    page.keyboard.press("Enter")
    expect(page.get_by_role("alert")).to_have_text("That is not the code. Type the newest.")
    assert page.get_by_label("Code").get_attribute("aria-describedby") == "fault"
    assert violations(page) == []
    assert not is_scrolled_sideways(page)
    page.get_by_label("Code").fill(board.newest_code())
    page.get_by_role("button", name="Pair").click()
    expect(page.locator("#now")).to_have_text("End 1 Shaft 1 Dent 1")
    assert page.evaluate("isSecureContext")
    page.get_by_role("button", name="Done").click()
    expect(page.locator("#now")).to_have_text("End 2 Shaft 2 Dent 2")
    cookie = page.context.cookies()[0]
    assert (cookie["secure"], cookie["httpOnly"], cookie["sameSite"]) == (True, True, "Strict")


def test_the_plain_page_is_accessible(board: RunningBoard, open_page: Callable[..., Page]) -> None:
    """How to trust the studio can be read by everyone, at 400 % too, and sets no cookie."""
    page = open_page(board.wait_for("A tablet must trust").split()[-1], width=320, height=256)
    expect(page.get_by_role("heading", level=1)).to_have_text("Let this device trust the studio")
    assert violations(page) == []
    assert not is_scrolled_sideways(page)
    assert page.context.cookies() == []


def test_a_qr_code_in_the_terminal_pairs(
    home: Path, board: RunningBoard, open_page: Callable[..., Page]
) -> None:
    """What a reader of QR codes sees in a real terminal opens the board, once."""
    plan = PLANS / "striped-towels.toml"
    keys = terminal(home, "board", plan, "--text", "--port", "0", *NETWORK)
    with closing(keys):
        keys.setwinsize(50, 100)
        keys.expect("To pair a tablet")
        url = _read(str(keys.before))
        assert url.startswith("https://127.0.0.2:")
        assert url.partition("/#")[0] != board.url.rstrip("/")
        page = open_page(url)
        expect(page.locator("#now")).to_have_text("End 1 Shaft 1 Dent 1")
        assert "#" not in page.url
        again = open_page(url)
        expect(again.get_by_role("alert")).to_contain_text("That is not the code.")


def _read(printed: str) -> str:
    """Return what the QR code among printed lines says, drawn as a terminal draws it."""
    lines = [re.findall(r"48;5;(\d+)m  ", line) for line in printed.splitlines()]
    halves = [re.findall(r"38;5;(\d+)m\x1b\[48;5;(\d+)m", line) for line in printed.splitlines()]
    rows = [line for line in lines if line]
    for pairs in halves:
        rows += [[pair[half] for pair in pairs] for half in (0, 1) if pairs]
    modules = np.array(rows, dtype=np.uint8)
    image = np.kron(np.where(modules == 16, 0, 255).astype(np.uint8), np.ones((6, 6), np.uint8))
    read = zxing.read_barcodes(np.pad(image, 40, constant_values=0))
    assert len(read) == 1
    return str(read[0].text)
