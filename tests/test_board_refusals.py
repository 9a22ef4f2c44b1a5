"""Hostile and broken requests to the board: all refused, each with one line, none with a trace."""

from __future__ import annotations

import json
import re
import socket
from contextlib import suppress
from typing import TYPE_CHECKING

import pytest
from board_door import RunningBoard
from websockets.exceptions import ConnectionClosed, InvalidStatus
from websockets.sync.client import connect
from websockets.typing import Origin

from companion.out.board.line import MOST_BYTES

if TYPE_CHECKING:
    from collections.abc import Iterator

FORM = "application/x-www-form-urlencoded"


@pytest.fixture(scope="module")
def board(tmp_path_factory: pytest.TempPathFactory) -> Iterator[RunningBoard]:
    with RunningBoard(tmp_path_factory.mktemp("home")) as running:
        yield running
        # After all of it, the walk stands where it stood, and nothing was printed of it.
        assert running.place()["progress"]["confirmed"] == 0
        assert not any("Traceback" in line for line in running.printed)


@pytest.fixture(scope="module")
def paired_board(tmp_path_factory: pytest.TempPathFactory) -> Iterator[RunningBoard]:
    """A board that wants a code; 127.0.0.2 stands for the studio network."""
    home = tmp_path_factory.mktemp("home")
    with RunningBoard(home, "--network", "--address", "127.0.0.2") as running:
        yield running


def given(board: RunningBoard, **changes: object) -> str:
    """Return a message that would be taken as a command."""
    place = board.place()
    press = {"kind": "give", "id": "press-0001", "text": "done"}
    return json.dumps({**press, "run": place["run"], "step": place["step"], **changes})


def closed_with(board: RunningBoard, *messages: str | bytes) -> int:
    """Send messages over a line until the other side closes it; return why it did."""
    with board.open_line() as line:
        with suppress(ConnectionClosed):
            for message in messages:
                line.send(message)
            for _ in line:
                continue
        return line.close_code or 0


HELLO = '{"kind": "hello", "last": ""}'


def one_line(text: str) -> bool:
    return text.strip() != "" and "\n" not in text.strip() and len(text) < 300


@pytest.mark.parametrize("host", ["evil.example", "127.0.0.1", "localhost:1", "", "127.0.0.1.:80"])
@pytest.mark.parametrize("path", ["/", "/line", "/board.css", "/new", "/pair"])
def test_another_host_name_is_refused(board: RunningBoard, host: str, path: str) -> None:
    """A name that leads here by a trick of the name service opens nothing."""
    status, text, _ = board.request("GET", path, headers={"Host": host})
    assert (status, one_line(text)) == (421, True)


def test_the_board_answers_to_localhost(board: RunningBoard) -> None:
    """The usual name of this machine is as good as its address."""
    host = f"localhost:{board.port}"
    assert board.request("GET", "/", headers={"Host": host})[0] == 200


@pytest.mark.parametrize(
    "headers",
    [
        {},
        {"Origin": "http://evil.example"},
        {"Origin": "null"},
        {"Origin": "https://127.0.0.1:{port}"},
        {"Origin": "http://127.0.0.1"},
        {"Origin": "http://127.0.0.1:{port}", "Sec-Fetch-Site": "cross-site"},
        {"Origin": "http://127.0.0.1:{port}", "Sec-Fetch-Site": "same-site"},
    ],
)
@pytest.mark.parametrize("path", ["/new", "/pair"])
def test_a_post_from_another_site_is_refused(
    board: RunningBoard, headers: dict[str, str], path: str
) -> None:
    """Only a page of the board itself posts to it (OWASP, Cross-Site Request Forgery)."""
    sent = {name: value.format(port=board.port) for name, value in headers.items()}
    status, text, _ = board.request("POST", path, "title=x", {"Content-Type": FORM, **sent})
    assert (status, one_line(text)) == (403, True)


def test_another_site_may_link_but_not_read(board: RunningBoard) -> None:
    """A link to the board opens it; a frame, script or request of another site is refused."""
    link = {"Sec-Fetch-Site": "cross-site", "Sec-Fetch-Mode": "navigate"}
    assert board.request("GET", "/", headers={**link, "Sec-Fetch-Dest": "document"})[0] == 200
    for dest in ("iframe", "script", "empty"):
        assert board.request("GET", "/", headers={**link, "Sec-Fetch-Dest": dest})[0] == 403
    cors = {"Sec-Fetch-Site": "cross-site", "Sec-Fetch-Mode": "cors"}
    assert board.request("GET", "/walk.css", headers=cors)[0] == 403


@pytest.mark.parametrize(
    "path",
    [
        "/../../../../etc/passwd", "/%2e%2e/%2e%2e/etc/passwd", "/..%2f..%2fetc/passwd",
        "/board.css/../board.py", "/pages/board.html", "//etc/passwd", "/board.css%00.js",
        "/companion/board/app.py", "/\\..\\..\\windows\\win.ini", "/.git/config", "/new/../../x",
    ],
)  # fmt: skip
def test_a_path_leads_nowhere_else(board: RunningBoard, path: str) -> None:
    """There is no address but the board's own few, so no path escapes from anywhere."""
    status, text, _ = board.request("GET", path)
    assert (status, one_line(text)) == (404, True)


@pytest.mark.parametrize("method", ["PUT", "DELETE", "PATCH", "OPTIONS", "TRACE", "LOOM"])
def test_other_methods_are_refused(board: RunningBoard, method: str) -> None:
    """Nothing but looking and posting; so no preflight of another site ever succeeds."""
    status, text, headers = board.request(method, "/new")
    assert (status, one_line(text)) == (405, True)
    assert not any(name.startswith("access-control") for name in headers)


@pytest.mark.parametrize("path", ["/", "/board.js"])
def test_posting_where_nothing_is_posted_is_refused(board: RunningBoard, path: str) -> None:
    """A page is not a place to post to."""
    assert board.post(path, "", FORM)[0] == 405


@pytest.mark.parametrize("kind", ["", "text/plain", "application/json", "multipart/form-data"])
def test_a_form_of_another_type_is_refused(board: RunningBoard, kind: str) -> None:
    """Only a form is taken as a form."""
    status, text = board.post("/new", "title=x", kind)
    assert (status, one_line(text)) == (415, True)


@pytest.mark.parametrize(
    "message",
    [
        "", "null", "[]", "{", "{}", '"done"', "\u0000", b"\x00\x01", HELLO,
        '{"kind":"give","id":1,"run":"","step":0,"text":"done"}',
        '{"kind":"give","id":"press-0001","run":"","step":"1","text":"done"}',
        '{"kind":"give","id":"press-0001","run":"","step":-1,"text":"done"}',
        '{"kind":"give","id":"press-0001","run":"","step":1,"text":""}',
        '{"kind":"give","id":"press 1\\n","run":"","step":1,"text":"done"}',
        '{"kind":"give","id":"press-0001","run":"","step":1,"text":"done","more":1}',
        '{"kind":"take","id":"press-0001","run":"","step":1,"text":"done"}',
        "[" * 1500, '{"step":' + "9" * 1500 + "}",
    ],
)  # fmt: skip
def test_a_message_that_is_none_ends_the_line(board: RunningBoard, message: str | bytes) -> None:
    """Nonsense, or a second hello, closes that line alone (RFC 6455, 7.4.1: policy violation)."""
    assert closed_with(board, HELLO, message) == 1008
    if message != HELLO:
        assert closed_with(board, message) == 1008


def test_an_oversize_message_ends_the_line(board: RunningBoard) -> None:
    """A message is read no further than its limit (RFC 6455, 7.4.1: message too big)."""
    assert closed_with(board, HELLO, given(board, text="x" * MOST_BYTES)) == 1009


@pytest.mark.parametrize(
    "origin",
    [
        "",
        "null",
        "http://evil.example",
        "https://127.0.0.1:{port}",
        "http://127.0.0.1",
        "http://127.0.0.1:1",
        "http://localhost:{port}",
    ],
)
def test_a_line_from_another_site_is_refused(board: RunningBoard, origin: str) -> None:
    """Only a page of this very board opens a line; another port of this address is another site."""
    with (
        pytest.raises(InvalidStatus) as refused,
        board.open_line(origin=origin.format(port=board.port)),
    ):
        pass
    assert refused.value.response.status_code == 403


def test_a_line_by_another_host_name_is_refused(board: RunningBoard) -> None:
    """A name that leads here by a trick of the name service opens no line, whatever its origin."""
    upgrade = {
        "Connection": "Upgrade",
        "Upgrade": "websocket",
        "Sec-WebSocket-Version": "13",
        "Sec-WebSocket-Key": "AAAAAAAAAAAAAAAAAAAAAA==",
    }
    evil = {"Host": "evil.example", "Origin": "http://evil.example"}
    assert board.request("GET", "/line", headers={**upgrade, **evil})[0] == 403


def test_other_addresses_have_no_line(board: RunningBoard) -> None:
    """A line is opened where it is, and nowhere else."""
    origin = Origin(board.url.rstrip("/"))
    for path in ("", "pair", "line/x", "../line"):
        with (
            pytest.raises(InvalidStatus),
            connect(f"{board.url.replace('http', 'ws', 1)}{path}", origin=origin),
        ):
            pass


def test_words_that_are_no_command_change_nothing(board: RunningBoard) -> None:
    """Free words go to the walk, which says that they are no command."""
    assert board.give("dance", board.place(), "press-dance") == "taken"
    board.wait_for('"dance" is not a command')
    assert board.place()["progress"]["confirmed"] == 0


@pytest.mark.parametrize("size", [60_001, 9_000_000])
def test_an_oversize_body_is_refused(board: RunningBoard, size: int) -> None:
    """In one line, which the sender sees however long it is."""
    status, text = board.post("/new", "x" * size, FORM)
    assert (status, one_line(text)) == (413, True)


def test_an_endless_body_is_cut_off(board: RunningBoard) -> None:
    """A body that never ends is refused while it is still coming."""
    head = (
        f"POST /new HTTP/1.1\r\nHost: 127.0.0.1:{board.port}\r\n"
        f"Origin: http://127.0.0.1:{board.port}\r\nContent-Type: {FORM}\r\n"
        "Transfer-Encoding: chunked\r\n\r\n"
    )
    with socket.create_connection((board.host, board.port), 20) as raw:
        raw.sendall(head.encode() + 60 * (b"400\r\n" + b"x" * 0x400 + b"\r\n"))
        assert raw.recv(100).startswith(b"HTTP/1.1 413 ")


@pytest.mark.parametrize("raw", [b"\x16\x03\x01\x02\x00", b"GET / HTTP/9.9\r\n\r\n", b"x" * 70_000])
def test_what_is_no_request_is_dropped(board: RunningBoard, raw: bytes) -> None:
    """Noise on the port, or a greeting of another protocol, ends that connection alone."""
    with socket.create_connection((board.host, board.port), 20) as noise:
        noise.sendall(raw + b"\r\n\r\n")
        noise.shutdown(socket.SHUT_WR)
        answer = noise.recv(100)
    assert answer == b"" or answer.startswith(b"HTTP/1.1 4")
    assert board.request("GET", "/")[0] == 200


def test_two_host_headers_are_refused(board: RunningBoard) -> None:
    """A request that names two hosts names none."""
    head = f"GET / HTTP/1.1\r\nHost: 127.0.0.1:{board.port}\r\nHost: evil.example\r\n\r\n"
    with socket.create_connection((board.host, board.port), 20) as raw:
        raw.sendall(head.encode())
        assert raw.recv(20).startswith(b"HTTP/1.1 4")


@pytest.mark.parametrize("body", ["a=1&" * 101, "a=%ff", "%ff=1"])
def test_a_form_that_is_none_is_refused(board: RunningBoard, body: str) -> None:
    """Too many fields and other encodings get one line."""
    status, text = board.post("/new", body, FORM)
    assert (status, one_line(text)) == (400, True)


@pytest.mark.parametrize("path", ["/", "/new", "/board.css", "/board.js", "/nowhere"])
def test_every_answer_forbids_all_that_is_not_ours(board: RunningBoard, path: str) -> None:
    """No script, style, frame or form from elsewhere (W3C Content Security Policy Level 3)."""
    headers = board.request("GET", path)[2]
    policy = headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    assert headers["x-content-type-options"] == "nosniff"
    assert "server" not in headers


@pytest.mark.parametrize("path", ["/", "/new", "/pair"])
def test_pages_ask_nothing_of_the_internet(board: RunningBoard, path: str) -> None:
    """No page names an address outside, nor holds a script or style within."""
    page = board.request("GET", path)[1]
    assert not re.search(r"https?://|//[a-z]|<style|style=|\son\w+=|<script>", page)


# ---- pairing


@pytest.mark.parametrize("path", ["/walk.css", "/board.js", "/line", "/nowhere"])
def test_nothing_is_seen_without_the_code(paired_board: RunningBoard, path: str) -> None:
    """On the studio network an unpaired tablet gets neither the walk nor the program."""
    status, text, _ = paired_board.request("GET", path)
    assert (status, one_line(text)) == (401, True)


@pytest.mark.parametrize("mark", ["", "a.b", "\xff.\xff", "0" * 64])
def test_no_line_is_opened_without_the_code(paired_board: RunningBoard, mark: str) -> None:
    """Neither without a cookie nor with a made-up one."""
    with (
        pytest.raises(InvalidStatus) as refused,
        paired_board.open_line(f"{paired_board.cookie_name}={mark}"),
    ):
        pass
    assert refused.value.response.status_code == 403


def test_an_unpaired_tablet_is_led_to_the_code(paired_board: RunningBoard) -> None:
    """Whoever opens the board is asked for the code first."""
    status, _, headers = paired_board.request("GET", "/")
    assert (status, headers["location"]) == (303, "/pair")
