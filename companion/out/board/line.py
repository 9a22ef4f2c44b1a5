"""The line of one page: over it the walk is shown, and commands come back."""

import asyncio
import json
from collections.abc import Callable, Coroutine
from concurrent.futures import Future
from contextlib import suppress
from typing import Annotated, Any, Final, Literal, Protocol, TypeVar

from pydantic import Field, TypeAdapter, ValidationError
from starlette.websockets import WebSocket

from companion.loom.dressing import Dressing
from companion.out.board.feed import Feed
from companion.out.board.page_ear import PageEar
from companion.out.board.page_voice import PageVoice
from companion.out.board.source import Answer, Given
from companion.out.board.strict import Strict

MOST_BYTES: Final = 4_000
"""Of one message; at more the line is closed."""
MOST_PAGES: Final = 250
BEAT_SECONDS: Final = 5.0
"""How often a quiet line gives a sign of life."""
HELLO_SECONDS: Final = 10.0
ANSWER_SECONDS: Final = 10.0
NO_MESSAGE, TOO_MANY, UNPAIRED = 1008, 1013, 4401
"""Why a line is closed (RFC 6455, 7.4.1; from 4000 on our own)."""


class Hello(Strict):
    """The first message of a page: the last event it has seen, "" for none."""

    kind: Literal["hello"]
    last: Annotated[str, Field(max_length=40)]


class Speech(Strict):
    """A page tells whether something speaks, or is to."""

    kind: Literal["sounding", "room"]
    """The page itself, which nothing must hear as a command; or the companion in the room."""
    is_on: bool


_MESSAGE: Final = TypeAdapter[Given | Speech](
    Annotated[Given | Speech, Field(discriminator="kind")]
)
_Read = TypeVar("_Read")


class Shown(Protocol):
    """What a page shows: one walk, or all looms."""

    title: str
    feed: Feed
    voice: PageVoice | None
    ear: PageEar | None
    dressing: Dressing | None
    """What is walked; None before it has begun, and where it is many looms."""

    def give(self, given: Given) -> Future[Answer]:
        """Take a command of a page."""

    def set_room(self, *, is_on: bool) -> None:
        """Let the room's voice speak, or silence it."""


async def serve(socket: WebSocket, board: Shown) -> None:
    """Show the walk and take commands until either side ends the line."""
    if board.feed.watched_by >= MOST_PAGES:
        await socket.close(TOO_MANY)
        return
    hello = await greeted(socket, Hello.model_validate_json)
    if hello is not None:
        await _Page(socket, board).run(hello.last)


class _Page:
    """One open line, after the hello."""

    def __init__(self, socket: WebSocket, board: Shown) -> None:
        self._socket = socket
        self._board = board
        self._may_look: Callable[[], bool] = socket.state.may_look
        """Whether the tablet is still paired, which is asked again and again."""
        self._idle = asyncio.Event()
        self._idle.set()

    async def run(self, last: str) -> None:
        """Show and take at the same time."""
        try:
            await side_by_side(self._show(last), self._take())
        finally:
            self._sounds(is_on=False)

    def _sounds(self, *, is_on: bool) -> None:
        if self._board.voice is not None:
            self._board.voice.sounding(self, is_on=is_on)

    async def _show(self, last: str) -> None:
        feed = self._board.feed
        with feed.waiter() as news:
            is_quiet = True  # so that a page knows when it has all that it missed
            while True:
                news.clear()
                has_ended = feed.has_ended
                for event in feed.after(last):
                    last = event.id
                    await self._socket.send_text(event.text)
                if is_quiet:
                    await self._socket.send_text('{"kind": "beat"}')
                if has_ended or not self._may_look():
                    await self._end(1000 if has_ended else UNPAIRED)
                    return
                is_quiet = not await _comes(news)

    async def _end(self, code: int) -> None:
        """Close the line, but not before a command under way has its answer."""
        with suppress(TimeoutError):
            await asyncio.wait_for(self._idle.wait(), ANSWER_SECONDS)
        await self._socket.close(code)

    async def _take(self) -> None:
        """Take commands, each answered before the next is looked at."""
        while True:
            match await _received(self._socket, _MESSAGE.validate_json):
                case Given() as given:
                    await self._answer(given)
                case Speech(kind="sounding", is_on=is_on):
                    self._sounds(is_on=is_on)
                case Speech(kind="room", is_on=is_on) if self._may_look():
                    self._board.set_room(is_on=is_on)
                case _:
                    await self._socket.close(NO_MESSAGE, "Expected a message of the board's own.")
                    return

    async def _answer(self, given: Given) -> None:
        self._idle.clear()
        outcome = await self._outcome(given) if self._may_look() else "unpaired"
        answer = {"kind": "answer", "data": {"id": given.id, "outcome": outcome}}
        await self._socket.send_text(json.dumps(answer))
        self._idle.set()

    async def _outcome(self, given: Given) -> str:
        answer = self._board.give(given)
        try:
            # Shielded: this page may go away, and its command is taken all the same.
            async with asyncio.timeout(ANSWER_SECONDS):
                return await asyncio.shield(asyncio.wrap_future(answer))
        except TimeoutError:
            return "slow"


async def greeted(socket: WebSocket, read: Callable[[str], _Read]) -> _Read | None:
    """Return the hello of a page, as it is read; without one its line is closed."""
    hello = None
    with suppress(TimeoutError):
        hello = await asyncio.wait_for(_received(socket, read), HELLO_SECONDS)
    if hello is None:
        await socket.close(NO_MESSAGE, "Expected a hello.")
    return hello


async def side_by_side(*ways: Coroutine[Any, Any, None]) -> None:
    """Do things at the same time; whichever ends first ends the others."""
    tasks = [asyncio.create_task(each) for each in ways]
    try:
        await asyncio.wait(tasks, return_when=asyncio.FIRST_COMPLETED)
    finally:
        for each in tasks:
            each.cancel()
        await asyncio.gather(*tasks, return_exceptions=True)


async def _comes(news: asyncio.Event) -> bool:
    """Wait for news; return whether there is any before a sign of life is due."""
    with suppress(TimeoutError):
        async with asyncio.timeout(BEAT_SECONDS):
            await news.wait()
    return news.is_set()


async def _received(socket: WebSocket, read: Callable[[str], _Read]) -> _Read | None:
    """Return the next message, or None for what cannot be read, or is no text at all."""
    with suppress(ValidationError, KeyError):
        return read(await socket.receive_text())
    return None
