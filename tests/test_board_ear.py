"""A device's microphone at the loom's end: sound, pace, whose turn it is, what is refused."""

from __future__ import annotations

import json
import threading
import time
from contextlib import ExitStack, suppress
from typing import TYPE_CHECKING, ClassVar, cast

import numpy as np
import pytest
from board_door import RunningBoard, run_apart, wait_until
from websockets.exceptions import ConnectionClosed, InvalidStatus

from companion.base.errors import NoEarError
from companion.devices.audio.microphone import Block
from companion.guide.messages import Mode
from companion.out.board import ear_line
from companion.out.board import line as page_line
from companion.out.board.app import LoomPages
from companion.out.board.ear_line import (
    BURST_SECONDS,
    DRIFT,
    FAULT,
    LEAST_SECONDS,
    MOST_LINES,
    OTHER,
    WINDOW_SECONDS,
    Pace,
)
from companion.out.board.line import MOST_BYTES
from companion.out.board.page_ear import PageEar
from companion.out.board.page_microphone import WAITING_SECONDS, PageMicrophone
from companion.out.board.source import BoardSource
from companion.session.inputs import Input
from companion.settings import Settings, save
from companion.wording.board import HEARING_OFF, TOO_MANY_EARS, TOO_MANY_EARS_IN_ALL

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from starlette.websockets import WebSocket
    from websockets.sync.client import ClientConnection

    from companion.session.inputs import Inbox


def nothing() -> None:
    pass


# ---- the sound


def test_sound_comes_as_it_was_given() -> None:
    """At 16,000 samples a second nothing is changed, and what is waiting comes in one piece."""
    microphone = PageMicrophone(16_000, nothing, nothing)
    microphone.give(b"\1\0" * 512)
    microphone.give(b"\2\0" * 512)
    blocks = microphone.blocks()
    assert next(blocks) == Block(b"\1\0" * 512 + b"\2\0" * 512)
    assert next(blocks) == Block(b"")
    microphone.close()
    assert list(blocks) == []


def test_sound_of_another_rate_is_brought_to_ours() -> None:
    """A tone of 1,000 Hz at 48,000 samples a second is one at 16,000 (by a Fourier transform)."""
    microphone = PageMicrophone(48_000, nothing, nothing)
    tone = 10_000 * np.sin(2 * np.pi * 1000 * np.arange(48_000) / 48_000)
    microphone.give(tone.astype("<i2").tobytes())
    samples = np.frombuffer(next(microphone.blocks()).pcm16, "<i2")
    peak = int(np.argmax(np.abs(np.fft.rfft(samples))))
    assert abs(peak * 16_000 / len(samples) - 1000) < 5
    assert 15_000 < len(samples) <= 16_000


def test_sound_that_waits_too_long_is_dropped_and_told() -> None:
    """Nobody acts on a word of long ago; what comes after it stands after a gap."""
    microphone = PageMicrophone(16_000, nothing, nothing)
    second = bytes(32_000)
    for _ in range(round(WAITING_SECONDS)):
        microphone.give(second)
    microphone.give(b"\1\0")
    blocks = microphone.blocks()
    assert next(blocks) == Block(b"\1\0", is_after_gap=True)
    microphone.give(b"\2\0")
    assert next(blocks) == Block(b"\2\0")
    microphone.lose()
    microphone.give(b"\3\0")
    assert next(blocks) == Block(b"\3\0", is_after_gap=True)


def test_what_came_before_anybody_listened_is_skipped() -> None:
    told: list[str] = []
    microphone = PageMicrophone(16_000, lambda: told.append("ready"), lambda: told.append("closed"))
    microphone.give(b"\1\0")
    microphone.skip()
    microphone.close()
    microphone.close()
    assert told == ["ready", "closed"]
    assert list(microphone.blocks()) == []


def test_pace() -> None:
    """As it is made, with a clock a little fast and a burst after a stall; never a flood."""
    pace = Pace(0.0)
    assert all(pace.takes(1.01, now) for now in range(1, 3600))
    assert pace.takes(BURST_SECONDS, 3605.0)
    assert not pace.takes(0.5, 3605.0)
    flood = Pace(0.0)
    assert not all(flood.takes(0.01, 0.01 * number / (2 * DRIFT)) for number in range(2000))


def test_a_window_needs_some_sound() -> None:
    """A line over which hardly anything comes is as good as dead."""
    pace = Pace(0.0)
    assert pace.left(4.0) == WINDOW_SECONDS - 4.0
    pace.takes(LEAST_SECONDS, WINDOW_SECONDS - 1)
    assert pace.left(WINDOW_SECONDS) == 0
    assert pace.is_enough(WINDOW_SECONDS)
    pace.takes(LEAST_SECONDS / 2, WINDOW_SECONDS + 1)
    assert not pace.is_enough(2 * WINDOW_SECONDS)


# ---- whose turn it is


class ToyEar:
    """Hears one word in each piece of sound, of as many letters as it has samples."""

    def __init__(self, microphone: PageMicrophone) -> None:
        self._microphone = microphone
        self._thread = threading.Thread(target=self._run)
        self.modes: list[Mode] = []

    def start(self, inbox: Inbox) -> None:
        self._inbox = inbox
        self._thread.start()

    def follow(self, mode: Mode, largest_end: int) -> None:  # noqa: ARG002
        self.modes.append(mode)

    def close(self) -> None:
        self._microphone.close()
        self._thread.join(10)

    def _run(self) -> None:
        self._inbox.put(Input("notice", "It listens.", "voice"))
        for block in self._microphone.blocks():
            if block.pcm16:
                self._inbox.put(Input("command", "x" * (len(block.pcm16) // 2), "voice"))
        self._inbox.put(Input("closed", "", "voice"))


class Kept:
    """An inbox that keeps what it is given."""

    def __init__(self) -> None:
        self.given: list[tuple[str, str]] = []

    def put(self, given: Input) -> None:
        self.given.append((given.kind, given.text))


def test_the_device_that_began_last_is_heard() -> None:
    """It alone; the other is let go, its end is no end of the walk, and nothing is told twice."""
    ears: list[ToyEar] = []

    def make(microphone: PageMicrophone) -> ToyEar:
        ears.append(ToyEar(microphone))
        return ears[-1]

    inbox, gone = Kept(), threading.Event()
    one = PageMicrophone(16_000, nothing, gone.set)
    other = PageMicrophone(16_000, nothing, nothing)
    ear = PageEar(make)
    with pytest.raises(NoEarError):
        ear.listen(one)
    ear.follow(Mode.WALKING, 40)
    ear.start(inbox)  # type: ignore[arg-type]
    ear.listen(one)
    one.give(bytes(2))
    wait_until(lambda: ("command", "x") in inbox.given)
    ear.listen(other)
    assert gone.wait(10)
    other.give(bytes(4))
    wait_until(lambda: ("command", "xx") in inbox.given)
    ear.follow(Mode.COUNTING, 40)
    assert ears[1].modes == [Mode.WALKING, Mode.COUNTING]
    ear.leave(one)  # has been let go already
    other.give(bytes(6))
    wait_until(lambda: ("command", "xxx") in inbox.given)
    ear.close()
    assert inbox.given.count(("notice", "It listens.")) == 1
    assert not any(kind == "closed" for kind, _ in inbox.given)
    with pytest.raises(NoEarError):
        ear.listen(one)


# ---- at the real board's door


@pytest.fixture(scope="module")
def board(tmp_path_factory: pytest.TempPathFactory) -> Iterator[RunningBoard]:
    with RunningBoard(tmp_path_factory.mktemp("home")) as running:
        yield running
        # After all of it the walk stands where it stood, is taken on, and no audio was kept.
        place = running.place()
        assert place["progress"]["confirmed"] == 0
        assert running.give("done", place, "press-after-all") == "taken"
        assert not any("Traceback" in line for line in running.printed)
        assert not [each for each in running.home.rglob("*") if each.suffix in {".wav", ".pcm"}]


def open_ear(board: RunningBoard, origin: str | None = None, cookie: str = "") -> ClientConnection:
    return board.open_line(cookie, origin, name="ear")


HELLO = '{"kind": "hear", "rate": 16000}'
SOUND = bytes(1024)


def closed_with(board: RunningBoard, *messages: str | bytes) -> int:
    """Send messages until the line is closed; return why it was."""
    with open_ear(board) as line:
        with suppress(ConnectionClosed):
            for message in messages:
                line.send(message)
            for _ in line:
                continue
        return line.close_code or 0


@pytest.mark.parametrize("origin", ["", "null", "http://evil.example", "http://127.0.0.1:1"])
def test_an_ear_of_another_site_is_refused(board: RunningBoard, origin: str) -> None:
    """Only a page of this very board sends sound (RFC 6455, 10.2: origin considerations)."""
    with pytest.raises(InvalidStatus) as refused, open_ear(board, origin):
        pass
    assert refused.value.response.status_code == 403


@pytest.mark.parametrize(
    "messages",
    [
        (SOUND,),
        ("{}",),
        ('{"kind": "hear", "rate": 7999}',),
        ('{"kind": "hear", "rate": 96000}',),
        ('{"kind": "hear", "rate": "16000"}',),
        ('{"kind": "hello", "last": ""}',),
        (HELLO, b""),
        (HELLO, b"\0"),
        (HELLO, HELLO),
        (HELLO, '{"kind": "give"}'),
    ],
)  # fmt: skip
def test_what_is_no_sound_ends_the_line(
    board: RunningBoard, messages: tuple[str | bytes, ...]
) -> None:
    """Anything but a greeting and whole samples closes that line alone (RFC 6455, 7.4.1)."""
    assert closed_with(board, *messages) == 1008


def test_oversize_sound_ends_the_line(board: RunningBoard) -> None:
    """No message is read beyond its limit (RFC 6455, 7.4.1: message too big)."""
    assert closed_with(board, HELLO, bytes(MOST_BYTES + 2)) == 1009


def test_a_flood_ends_the_line(board: RunningBoard) -> None:
    """Sound that comes faster than it can have been made is none."""
    assert closed_with(board, HELLO, *[SOUND] * 2000) == 1008


@pytest.mark.long
def test_a_slow_sender_is_let_go(board: RunningBoard) -> None:
    """Silence on the line, or a drop now and then, holds nothing open."""
    with open_ear(board) as line:
        line.send(HELLO)
        began = time.monotonic()
        with suppress(ConnectionClosed):
            while time.monotonic() - began < 6 * WINDOW_SECONDS:
                line.send(bytes(2))
                with suppress(TimeoutError):
                    line.recv(1.0)
        assert line.close_code == 1008


@pytest.mark.long
def test_a_greeting_that_does_not_come_holds_nothing_open(board: RunningBoard) -> None:
    with open_ear(board) as line:
        with suppress(ConnectionClosed):
            line.recv(60)
        assert line.close_code == 1008


def speak_on(line: ClientConnection) -> str | bytes:
    """Speak into a line until it tells something, and return that."""
    while True:
        line.send(SOUND)
        with suppress(TimeoutError):
            return line.recv(len(SOUND) / 2 / 16_000)


def test_a_second_device_takes_over_and_a_crowd_is_refused(board: RunningBoard) -> None:
    """The one before is told so; of more than a few at once the page says why it is not heard."""
    with open_ear(board) as one, open_ear(board) as other:
        one.send(HELLO)
        assert json.loads(speak_on(one)) == {"kind": "ready"}
        other.send(HELLO)
        with pytest.raises(ConnectionClosed):
            speak_on(one)
        assert one.close_code == OTHER
    with ExitStack() as lines:
        crowd = [lines.enter_context(open_ear(board)) for _ in range(MOST_LINES + 1)]
        # One that is just leaving still counts, so any of them may be the one that is refused.
        wait_until(lambda: {"kind": "fault", "text": TOO_MANY_EARS} in map(told_by_now, crowd))
    wait_until(lambda: is_asked_for_a_hello(board))


def told_by_now(line: ClientConnection) -> object:
    with suppress(TimeoutError, ConnectionClosed):
        return json.loads(line.recv(0))
    return None


class Door:
    """A page's line before it is open; keeps what the page is told."""

    path_params: ClassVar = {"loom": "window"}

    def __init__(self) -> None:
        self.told: list[object] = []

    async def accept(self) -> None:
        self.told.append("open")

    async def send_text(self, text: str) -> None:
        self.told.append(json.loads(text))

    async def close(self, code: int) -> None:
        self.told.append(code)


def test_a_full_studio_tells_each_page_why_it_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    """A line that is refused before it is open tells a browser nothing (RFC 6455, 7.1.5: 1006)."""
    monkeypatch.setattr(ear_line, "MOST_IN_ALL", 0)
    monkeypatch.setattr(page_line, "MOST_PAGES", 0)
    board = BoardSource("Towels", lambda: pytest.fail("nothing is walked"), "en")
    ear, page, pages = Door(), Door(), LoomPages({"window": board}.get, "")
    run_apart(pages.open(ear_line.EarLine().serve, cast("WebSocket", ear)))
    assert ear.told == ["open", {"kind": "fault", "text": TOO_MANY_EARS_IN_ALL}, FAULT]
    run_apart(pages.open(page_line.serve, cast("WebSocket", page)))
    assert page.told == ["open", page_line.TOO_MANY]


def is_asked_for_a_hello(board: RunningBoard) -> bool:
    with open_ear(board) as line:
        line.send("?")
        with suppress(ConnectionClosed):
            line.recv(20)
            return False
        return line.close_code == 1008


def test_an_ear_needs_the_code_too(tmp_path: Path) -> None:
    """On the studio network an unpaired device is heard no more than it sees."""
    with RunningBoard(tmp_path, "--network", "--address", "127.0.0.2") as board:
        for cookie in ("", f"{board.cookie_name}={'0' * 64}"):
            with pytest.raises(InvalidStatus) as refused, open_ear(board, cookie=cookie):
                pass
            assert refused.value.response.status_code == 403


def test_where_hearing_is_off_the_page_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """And how to switch it on."""
    monkeypatch.setenv("COMPANION_HOME", str(tmp_path))
    settings = Settings()
    off = settings.hearing.model_copy(update={"recogniser": "off"})
    save(settings.model_copy(update={"hearing": off}))
    with RunningBoard(tmp_path) as board, open_ear(board) as line:
        line.send(HELLO)
        assert json.loads(line.recv(20)) == {"kind": "fault", "text": HEARING_OFF}
        with suppress(ConnectionClosed):
            line.recv(20)
        assert line.close_code == FAULT
