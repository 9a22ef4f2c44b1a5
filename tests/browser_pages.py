"""Pages in a real browser: Debian's chromium, driven without a window."""

from __future__ import annotations

import os
import shutil
import subprocess
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

axe_tool = pytest.importorskip("axe_playwright_python.sync_playwright")
tool = pytest.importorskip("playwright.sync_api")
tool.expect.set_options(timeout=20_000)

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping, Sequence

    from playwright.sync_api import Browser, ConsoleMessage, Page, Playwright

CHROMIUM = Path("/usr/bin/chromium")
HEADLESS = Path("/usr/bin/chromium-headless-shell")
"""Chromium without its windows and profiles: half the work for the same page."""
FLAGS = (
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
)  # fmt: skip
SHORT_LIVED = ("--no-zygote", "--num-raster-threads=1", "--js-flags=--no-opt --no-maglev")
"""A test's page lives for a second or two: what would make it quicker later is not worth its while.
Not where what it takes is measured."""
TAGS = ("wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice")
"""axe-core's names of the rules of WCAG 2.2, levels A and AA, and its own advice."""
LOOK = """async ([where, options]) => {
    const found = await axe.run(where, options);
    const told = (each) => `${each.id} ${each.nodes.map((node) => node.html.slice(0, 80))}`;
    return {passes: found.passes.length, violations: found.violations.map(told)};
}"""
"""Gives only what is asked for: bringing over all that axe-core found takes longest."""
BY_LIGHT = {"type": "tag", "values": TAGS}
IN_THE_DARK = {"type": "rule", "values": ("color-contrast", "link-in-text-block")}
"""What axe-core says of colours, since nothing else of a page is another in the dark."""

LIGHTS = (False, True)

needs_chromium = pytest.mark.skipif(
    not CHROMIUM.exists(), reason="needs Debian's chromium: apt-get install chromium"
)

needs_certutil = pytest.mark.skipif(
    shutil.which("certutil") is None, reason="needs certutil: apt-get install libnss3-tools"
)


@contextmanager
def launched(
    driver: Playwright,
    home: Path | None = None,
    *flags: str,
    is_heard: bool = False,
    named: Mapping[str, str] | None = None,
) -> Iterator[Browser]:
    """Give a browser, with a home, flags and things named in its environment where given.

    What its pages sound comes to a loudspeaker only where it is to be heard; it is then started as
    a weaver's browser is.
    """
    own: dict[str, str | float | bool] = dict(os.environ)
    own.update({"HOME": str(home)} if home else {}, **(named or {}))
    browser = driver.chromium.launch(
        executable_path=HEADLESS if HEADLESS.exists() and not is_heard else CHROMIUM,
        args=[*FLAGS, *(() if is_heard else SHORT_LIVED), *flags],
        env=own,
        ignore_default_args=["--mute-audio"] if is_heard else None,
    )
    yield browser
    browser.close()


@contextmanager
def session_bus() -> Iterator[str]:
    """Give the address of a session bus, by which a desktop passes an earbud's buttons on."""
    if not (shutil.which("dbus-run-session") and shutil.which("gdbus")):
        yield ""
        return
    told = "echo $DBUS_SESSION_BUS_ADDRESS; read -r _"
    with subprocess.Popen(
        ["dbus-run-session", "--", "sh", "-c", told],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    ) as running:
        assert running.stdout is not None
        yield running.stdout.readline().strip()
        running.communicate("\n", timeout=20)


def trust(home: Path, authority: Path) -> None:
    """Have a browser of this home trust an authority, as someone does at a tablet."""
    store = home / ".pki" / "nssdb"
    store.mkdir(parents=True)
    certutil = ("certutil", "-d", f"sql:{store}")
    subprocess.run([*certutil, "-N", "--empty-password"], check=True, timeout=60)
    subprocess.run(
        [*certutil, "-A", "-t", "C,,", "-n", "studio", "-i", str(authority)], check=True, timeout=60
    )


@contextmanager
def pages(browser: Browser, script: str = "") -> Iterator[Callable[..., Page]]:
    """Open a page that fails the test where its script fails or its policy is broken.

    A script that is given runs in the page before its own.
    """
    faults: list[str] = []
    contexts = []

    def opened(url: str, width: int = 820, height: int = 1180) -> Page:
        context = browser.new_context(viewport={"width": width, "height": height})
        contexts.append(context)
        page = context.new_page()
        page.on("pageerror", lambda error: faults.append(str(error)))
        page.on("console", lambda said: faults.append(said.text) if _is_fault(said) else None)
        if script:
            page.add_init_script(script)
        page.goto(url)
        return page

    yield opened
    for context in contexts:
        context.close()
    assert faults == []


def _is_fault(said: ConsoleMessage) -> bool:
    """Say whether a line of the console tells of a fault in the page; losing the loom is none."""
    is_network = "Failed to load resource" in said.text or "net::ERR" in said.text
    return said.type == "error" and not is_network


def violations(page: Page, known: str = "", lights: Sequence[bool] = LIGHTS) -> list[str]:
    """Return what axe-core finds against WCAG 2.2 AA.

    `known` selects what need not be looked at, since what is like it is looked at; `lights` are
    False for light and True for dark.
    """
    where = {"exclude": [known] if known else []}
    if page.evaluate("typeof axe === 'undefined'"):
        page.evaluate(axe_tool.Axe().axe_script)
    found = []
    for is_dark in lights:
        page.emulate_media(color_scheme="dark" if is_dark else "light")
        rules = IN_THE_DARK if is_dark else BY_LIGHT
        options = {"runOnly": rules, "resultTypes": ["violations"], "selectors": False}
        result = page.evaluate(LOOK, [where, options])
        assert result["passes"], "axe-core looked at nothing"
        found += [f"{'dark' if is_dark else 'light'}: {each}" for each in result["violations"]]
    return found


def is_scrolled_sideways(page: Page) -> bool:
    return bool(page.evaluate("document.documentElement.scrollWidth > window.innerWidth"))
