"""The line over which a page sends what its microphone hears; nothing of it is kept."""

import asyncio
import json
import time
from collections import Counter
from contextlib import suppress
from functools import partial
from typing import Annotated, Any, Final, Literal

from pydantic import Field
from starlette.websockets import WebSocket, WebSocketDisconnect

from companion.base.errors import CompanionError
from companion.devices.audio.clip import SAMPLE_BYTES
from companion.out.board.line import NO_MESSAGE, UNPAIRED, Shown, greeted, side_by_side
from companion.out.board.page_ear import PageEar
from companion.out.board.page_microphone import PageMicrophone
from companion.out.board.reach import BOARD
from companion.out.board.strict import Strict
from companion.wording.board import HEARING_OFF, TOO_MANY_EARS, TOO_MANY_EARS_IN_ALL

MOST_LINES: Final = 4
"""To one loom; more are refused, since each that comes ends the one before."""
MOST_IN_ALL: Final = 100
BURST_SECONDS: Final = 5.0
"""So much sound may come at once, after a moment without network."""
DRIFT: Final = 1.25
"""A device's clock may go so much faster than ours."""
WINDOW_SECONDS: Final = 10.0
LEAST_SECONDS: Final = 2.0
"""Of sound in each window; a line with less is as good as dead."""
FAULT, OTHER = 4404, 4409
"""Why a line is closed: nothing can listen, or another device listens now."""
_GAP: Final = '{"kind":"gap"}'
_READY: Final = '{"kind": "ready"}'
_OVER: Final = ""


class MicrophoneHello(Strict):
    """The first message: at how many samples a second the sound will come."""

    kind: Literal["hear"]
    rate: Annotated[int, Field(ge=8_000, le=48_000)]


class Pace:
    """Judges whether sound comes about as fast as it was made, in seconds from `now` on."""

    def __init__(self, now: float) -> None:
        self._at = self._began_at = now
        self._ahead = 0.0
        self._seconds = 0.0

    def takes(self, seconds: float, now: float) -> bool:
        """Take so much sound; return whether that is no more than can have been made."""
        self._ahead = max(0.0, self._ahead - DRIFT * (now - self._at)) + seconds
        self._at = now
        self._seconds += seconds
        return self._ahead <= BURST_SECONDS

    def left(self, now: float) -> float:
        """Return after how many seconds `is_enough` is to be asked."""
        return max(0.0, self._began_at + WINDOW_SECONDS - now)

    def is_enough(self, now: float) -> bool:
        """Return whether enough sound came in the window, and begin the next."""
        is_enough = self._seconds >= LEAST_SECONDS
        self._began_at, self._seconds = now, 0.0
        return is_enough


class EarLine:
    """Serves the microphones of all pages."""

    def __init__(self) -> None:
        self._open: Counter[str] = Counter()
        """Lines by the loom's key."""

    async def serve(self, socket: WebSocket, board: Shown) -> None:
        """Listen until either side ends the line."""
        loom = socket.path_params.get("loom", BOARD)
        self._open[loom] += 1
        try:
            if self._open[loom] > MOST_LINES:
                await _refuse(socket, TOO_MANY_EARS)
            elif self._open.total() > MOST_IN_ALL:
                await _refuse(socket, TOO_MANY_EARS_IN_ALL)
            else:
                await _serve(socket, board.ear)
        finally:
            self._open[loom] -= 1


async def _serve(socket: WebSocket, ear: PageEar | None) -> None:
    hello = await greeted(socket, MicrophoneHello.model_validate_json)
    if hello is None:
        return
    if ear is None:
        await _refuse(socket, HEARING_OFF)
        return
    loop, news = asyncio.get_running_loop(), asyncio.Queue[str]()

    def tell(text: str) -> None:
        with suppress(RuntimeError):  # the loop has closed
            loop.call_soon_threadsafe(news.put_nowait, text)

    try:
        microphone = PageMicrophone(hello.rate, partial(tell, _READY), partial(tell, _OVER))
        await asyncio.to_thread(ear.listen, microphone)
    except CompanionError as error:
        await _refuse(socket, str(error))
        return
    try:
        await side_by_side(_take(socket, microphone, hello.rate), _tell(socket, news))
    finally:
        await asyncio.to_thread(ear.leave, microphone)


async def _refuse(socket: WebSocket, why: str) -> None:
    await socket.send_text(json.dumps({"kind": "fault", "text": why}))
    await socket.close(FAULT)


async def _tell(socket: WebSocket, news: asyncio.Queue[str]) -> None:
    """Tell the page when it is listened to, and end the line when it is not any more."""
    while (text := await news.get()) != _OVER:
        await socket.send_text(text)
    await socket.close(OTHER)


async def _take(socket: WebSocket, microphone: PageMicrophone, rate: int) -> None:
    """Pass sound on while it comes in good time from a device that may send it."""
    pace = Pace(time.monotonic())
    while True:
        message: Any = None
        with suppress(TimeoutError):
            message = await asyncio.wait_for(socket.receive(), pace.left(time.monotonic()))
        now = time.monotonic()
        if not pace.left(now):
            if not socket.state.may_look():
                await socket.close(UNPAIRED)
                return
            if not pace.is_enough(now):
                await socket.close(NO_MESSAGE, "Expected sound as it is made.")
                return
        if message is None:
            continue
        if not _is_taken(message, microphone, pace, rate, now):
            await socket.close(NO_MESSAGE, "Expected sound as it is made.")
            return


def _is_taken(message: Any, microphone: PageMicrophone, pace: Pace, rate: int, now: float) -> bool:
    if message["type"] != "websocket.receive":
        raise WebSocketDisconnect(message.get("code", 1005))
    sound = message.get("bytes")
    if sound is None:
        microphone.lose()
        return bool(message.get("text") == _GAP) and pace.takes(0.1, now)
    samples, over = divmod(len(sound), SAMPLE_BYTES)
    if over or not samples or not pace.takes(samples / rate, now):
        return False
    microphone.give(sound)
    return True
