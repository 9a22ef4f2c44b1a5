"""What every test shares."""

from __future__ import annotations

import gc
import os
import shutil
import signal
import sys
import tempfile
import time
import warnings
from contextlib import ExitStack, suppress
from importlib import import_module
from itertools import chain, islice, pairwise
from pathlib import Path
from tempfile import TemporaryDirectory, gettempdir
from threading import Thread
from typing import TYPE_CHECKING

import front_door
import pytest
import warm_start
from hypothesis import HealthCheck, settings
from hypothesis.strategies import text

if TYPE_CHECKING:
    from collections.abc import Callable, Generator, Iterator

    from playwright.sync_api import Browser, Page, Playwright

ZONE = "XXX-05:45"
"""A time zone 5 hours and 45 minutes ahead of UTC (POSIX, "Environment Variables"), so that no test
takes UTC for local time; Windows keeps its own."""

_WORKER = "PYTEST_XDIST_WORKER"
_ALL = pytest.Config.ArgsSource.TESTPATHS
_LONGEST = (
    "test_studio_browser", "test_board_browser", "test_vosk", "test_school", "test_natural_voice",
    "test_board_presses_browser", "test_hearing_end_to_end", "test_paper_pdf", "test_replan",
    "test_guide_properties", "test_voices", "test_front_door",
)  # fmt: skip
"""The modules of tests that take longest, the longest first."""

# A shared or busy machine must not turn a slow example into a failure, and a run must say what
# the run before said; `pytest --hypothesis-profile=search` draws new examples, and more.
settings.register_profile(
    "search", deadline=None, max_examples=200, suppress_health_check=[HealthCheck.too_slow]
)
settings.register_profile(
    "steady", settings.get_profile("search"), derandomize=True, max_examples=35
)
settings.load_profile("steady")


@pytest.fixture(autouse=True)
def ends_what_it_started() -> Iterator[None]:
    """End the commands that a test has left running, and none of those that others share."""
    shared = len(front_door.STARTED)
    yield
    for process in front_door.STARTED[shared:]:
        process.kill()
        process.wait()
    del front_door.STARTED[shared:]


# One browser is enough for all tests of a run: each opens pages in a context of its own, and to
# start a browser, and what drives it, takes longer than most of these tests.


@pytest.fixture(scope="session")
def driver() -> Iterator[Playwright]:
    from browser_pages import tool  # noqa: PLC0415 - skips the test where no browser can be driven

    with tool.sync_playwright() as driver:
        yield driver


@pytest.fixture(scope="session")
def bus() -> Iterator[str]:
    from browser_pages import session_bus  # noqa: PLC0415 - as above

    with session_bus() as address:
        yield address


@pytest.fixture(scope="session")
def authority(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with a studio's authority, which the browser trusts, to be put in a home."""
    from companion.out.board.authority import kept_authority  # noqa: PLC0415 - may be missing
    from companion.out.board.server import host_name  # noqa: PLC0415 - as above

    folder = tmp_path_factory.mktemp("authority")
    kept_authority(folder, host_name())
    return folder


@pytest.fixture(scope="session")
def browser(
    driver: Playwright, bus: str, authority: Path, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Browser]:
    from browser_pages import launched, trust  # noqa: PLC0415 - as above

    device = tmp_path_factory.mktemp("device")
    if shutil.which("certutil"):
        trust(device, authority / "authority.pem")
    with launched(driver, device, named={"DBUS_SESSION_BUS_ADDRESS": bus}) as browser:
        yield browser


@pytest.fixture
def open_page(browser: Browser) -> Iterator[Callable[..., Page]]:
    """Open pages in the browser of the tests that ask for them."""
    from browser_pages import pages  # noqa: PLC0415 - skips the test where no browser can be driven

    with pages(browser) as open_page:
        yield open_page


@pytest.hookimpl(wrapper=True)
def pytest_collection(session: pytest.Session) -> Generator[None, object, object]:
    """Have the garbage collector pass over all tests and modules, which stay until the end."""
    gc.disable()
    try:
        if _WORKER in os.environ and session.config.args_source is _ALL:
            _load_ours_first()
        return (yield)
    finally:
        gc.freeze()
        gc.enable()


def _load_ours_first() -> None:
    """Begin the loading of all tests in another place than the other workers do.

    In a fresh checkout each module is then compiled by one of them and found ready by the rest;
    two thirds of what collecting costs is the compiling. What warns or fails does so again when
    it is collected.
    """
    number = int(os.environ[_WORKER].removeprefix("gw"))
    modules = sorted(path.stem for path in Path(__file__).parent.glob("test_*.py"))
    first = len(modules) * number // int(os.environ[f"{_WORKER}_COUNT"])
    for module in [*modules[first:], *modules[:first]]:
        with warnings.catch_warnings(action="error"), suppress(Exception, pytest.skip.Exception):
            import_module(module)


@pytest.hookimpl(trylast=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Let each worker begin with some of the longest modules, so that none ends with one.

    With `--dist worksteal` each is given an equal part of the list, to be run in order; whoever
    is done takes from the end of another's.
    """
    workers = int(os.environ.get(f"{_WORKER}_COUNT", "1"))
    if workers == 1:
        return
    longest: dict[str, list[pytest.Item]] = {name: [] for name in _LONGEST}
    others: list[pytest.Item] = []
    for item in items:
        longest.get(item.path.stem, others).append(item)
    modules, rest, dealt = [*longest.values()], iter(others), list[pytest.Item]()
    ends = [len(items) * part // workers for part in range(workers + 1)]
    for worker, (begin, end) in enumerate(pairwise(ends)):
        part = [*chain.from_iterable(modules[worker::workers])]
        dealt += [*part, *islice(rest, max(0, end - begin - len(part)))]
    items[:] = [*dealt, *rest]


def pytest_configure(config: pytest.Config) -> None:
    """Let the programs that tests start begin as from a shell, and not compile all anew.

    A signal ignored here (`nohup`, the background of a script) would be ignored in them too; one
    that is handled is not.
    """
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
    sys.dont_write_bytecode = False  # nor the workers the tests
    os.environ["TZ"] = ZONE
    if hasattr(time, "tzset"):
        time.tzset()
    for name in ("SIGHUP", "SIGINT", "SIGQUIT", "SIGTERM"):
        number = getattr(signal, name, None)  # Windows has not all of them
        if number is not None and signal.getsignal(number) == signal.SIG_IGN:
            signal.signal(number, _nothing)
    if _WORKER not in os.environ:
        _keep_apart(config)
    if _gives_all_to_workers(config) and warm_start.CAN_FORK:
        stack = ExitStack()
        stack.enter_context(warm_start.shared())
        config.add_cleanup(stack.close)


def _keep_apart(config: pytest.Config) -> None:
    """Have what killed commands, sound servers and browsers leave behind go with the run.

    pytest's own folders stay where they are, for whoever looks at what failed.
    """
    os.environ.setdefault("PYTEST_DEBUG_TEMPROOT", gettempdir())
    kept = TemporaryDirectory(prefix="companion-tests-", ignore_cleanup_errors=True)
    config.add_cleanup(kept.cleanup)
    Path(kept.name).chmod(0o711)  # PostgreSQL runs as a user of its own
    os.environ["TMPDIR"] = tempfile.tempdir = kept.name


def _gives_all_to_workers(config: pytest.Config) -> bool:
    """Say whether others run all tests: what each would make for itself is then made for all."""
    is_worker = _WORKER in os.environ
    return not is_worker and config.args_source is _ALL and bool(config.getoption("tx", None))


@pytest.hookimpl(trylast=True)  # Hypothesis makes none before its own is called
def pytest_sessionstart(session: pytest.Session) -> None:
    """Have Hypothesis keep its table of all characters, which takes three seconds, for workers."""
    if _gives_all_to_workers(session.config):
        Thread(target=text().validate, daemon=True).start()


def _nothing(*_: object) -> None:
    """Do with a signal what ignoring it does."""
