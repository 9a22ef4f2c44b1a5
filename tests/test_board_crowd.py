"""Many and slow browsers: whoever dawdles is let go, and nobody is shut out by a crowd."""

from __future__ import annotations

import socket
import time
from contextlib import ExitStack
from typing import TYPE_CHECKING

import pytest
from board_door import RunningBoard
from starlette.responses import PlainTextResponse
from starlette.websockets import WebSocket
from websockets.sync.client import connect

from companion.out.board.server import LOOPBACK, BoardServer, Port, listen

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from starlette.types import Receive, Scope, Send

STREAMS = 150


@pytest.fixture
def board(tmp_path: Path) -> Iterator[RunningBoard]:
    with RunningBoard(tmp_path) as running:
        yield running


def test_half_sent_requests_shut_nobody_out(board: RunningBoard) -> None:
    """220 connections that never finish their request leave room for a tablet that does."""
    with ExitStack() as held:
        for _ in range(220):
            half = held.enter_context(socket.create_connection((board.host, board.port), 20))
            half.sendall(b"GET / HTTP/1.1\r\nHost: ")
        assert board.request("GET", "/")[0] == 200
        assert board.give("done", board.place(), "press-0001") == "taken"


async def answer(scope: Scope, receive: Receive, send: Send) -> None:
    """Read a body and say that it came; say back what comes over a line."""
    if scope["type"] == "websocket":
        line = WebSocket(scope, receive, send)
        await line.accept()
        while True:
            await line.send_text(await line.receive_text())
    while (await receive()).get("more_body"):
        pass
    await PlainTextResponse("whole")(scope, receive, send)


@pytest.mark.parametrize(
    "half",
    [
        b"",
        b"GET / HTTP/1.1\r\nHost: ",
        b"POST / HTTP/1.1\r\nHost: x\r\nContent-Length: 9\r\n\r\nhalf",
        b"GET / HTTP/1.1\r\nHost: x\r\n\r\nGET / HT",
    ],
)
def test_a_request_must_come_whole_in_time(half: bytes) -> None:
    """A head or body that does not end, first or later on a connection, ends the connection."""
    port = Port(answer, listen(LOOPBACK, 0))
    server = BoardServer([port], request_seconds=0.3)
    server.start()
    try:
        with socket.create_connection(port.socket.getsockname(), 20) as slow:
            slow.sendall(half)
            received = b"".join(iter(lambda: _received(slow), b""))
        assert (b"whole" in received) == (b"\r\n\r\nGET" in half)
    finally:
        server.stop()


def test_a_line_is_not_cut_after_that_time() -> None:
    """A line that was opened in time may stay silent for longer."""
    port = Port(answer, listen(LOOPBACK, 0))
    server = BoardServer([port], request_seconds=0.2)
    server.start()
    try:
        with connect(port.url.replace("http", "ws", 1), compression=None) as line:
            time.sleep(1)
            line.send("still there")
            assert line.recv(20) == "still there"
    finally:
        server.stop()


def _received(slow: socket.socket) -> bytes:
    try:
        return slow.recv(1000)
    except ConnectionResetError:
        return b""


def test_many_boards_look_on_at_once(board: RunningBoard) -> None:
    """150 boards are all told of a press, and there is room for more requests beside them."""
    with ExitStack() as held:
        streams = [board.events() for _ in range(STREAMS)]
        for stream in streams:
            held.callback(stream.close)
            assert next(stream)[0] == "whole"
        assert board.give("done", board.place(), "press-0001") == "taken"
        for stream in streams:
            assert any(data.get("text") == "End 2: shaft 2, dent 2." for _, data in stream)
