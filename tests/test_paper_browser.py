"""The printed web page in a real browser: what a program can check of WCAG 2.2, and its width."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from browser_pages import is_scrolled_sideways, needs_chromium, pages, violations
from front_door import PLANS, run

if TYPE_CHECKING:
    from pathlib import Path

    from playwright.sync_api import Browser

pytestmark = needs_chromium


@pytest.mark.parametrize(
    "plan",
    [
        "first-try",
        *(
            pytest.param(name, marks=pytest.mark.long)
            for name in ("striped-towels", "point-runner")
        ),
    ],
)
def test_the_web_page_of_a_plan_is_accessible(browser: Browser, tmp_path: Path, plan: str) -> None:
    """No rule of WCAG 2.2 AA that axe-core can check is broken, and 320 px is wide enough."""
    page_file = tmp_path / "sheets.html"
    assert run(tmp_path, "print", PLANS / f"{plan}.toml", "--to", page_file).returncode == 0
    with pages(browser) as open_page:
        page = open_page(page_file.as_uri(), 320, 256)
        assert violations(page) == []
        assert not is_scrolled_sideways(page)
