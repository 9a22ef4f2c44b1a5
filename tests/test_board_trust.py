"""TLS on the network: an authority of the studio's own, what it speaks for, and how it is told."""

from __future__ import annotations

import hashlib
import http.client
import re
import socket
import ssl
import stat
from contextlib import closing
from typing import TYPE_CHECKING

import pytest
from board_door import RunningBoard
from front_door import run
from starlette.responses import PlainTextResponse

from companion.base.errors import CompanionError
from companion.out.board.authority import Machine, kept_authority
from companion.out.board.qr import terminal_lines
from companion.out.board.server import LOOPBACK, BoardServer, Port, listen

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

NETWORK = ("--network", "--address", "127.0.0.2")


@pytest.fixture(scope="module")
def board(tmp_path_factory: pytest.TempPathFactory) -> Iterator[RunningBoard]:
    with RunningBoard(tmp_path_factory.mktemp("home"), *NETWORK) as running:
        running.wait_for("To pair a tablet")
        yield running


def asked(url: str, path: str, method: str = "GET") -> tuple[int, str, bytes]:
    """Return status, type and body of a plain request."""
    connection = http.client.HTTPConnection(url.partition("://")[2].rstrip("/"), timeout=20)
    with closing(connection):
        connection.request(method, path)
        answer = connection.getresponse()
        return answer.status, answer.getheader("content-type") or "", answer.read()


def trust_url(board: RunningBoard) -> str:
    return board.wait_for("A tablet must trust the studio first").split()[-1]


def test_tablets_get_the_board_by_tls_alone(board: RunningBoard) -> None:
    """The encrypted port takes no plain request, and the plain port gives nothing of the walk."""
    assert board.request("GET", "/")[0] == 303
    with socket.create_connection((board.host, board.port), 20) as raw:
        raw.sendall(b"GET / HTTP/1.1\r\nHost: x\r\n\r\n")
        assert b"HTTP" not in _received(raw)
    for path in ("/pair", "/line", "/new", "/board.js", "/events"):
        assert asked(trust_url(board), path)[0] == 404
    assert asked(trust_url(board), "/", "POST")[0] == 403


def _received(raw: socket.socket) -> bytes:
    try:
        return raw.recv(100)
    except ConnectionResetError:
        return b""


def test_the_plain_page_tells_how_to_trust(board: RunningBoard) -> None:
    """It has the certificate, the fingerprint that the terminal shows, and the way to the board."""
    page = asked(trust_url(board), "/")[2].decode()
    _, kind, certificate = asked(trust_url(board), "/weaving-studio.crt")
    assert kind == "application/x-x509-ca-cert"
    digits = hashlib.sha256(certificate).hexdigest().upper()
    told = board.wait_for("The fingerprint to compare there:").partition(": ")[2]
    assert told.replace(" ", "") == digits
    assert told in page
    assert board.url in page


def test_a_tablet_that_does_not_trust_is_not_let_go_on(board: RunningBoard) -> None:
    """The certificate stands on the studio's own authority, and on no other."""
    with (
        socket.create_connection((board.host, board.port), 20) as raw,
        pytest.raises(ssl.SSLCertVerificationError),
    ):
        ssl.create_default_context().wrap_socket(raw, server_hostname=board.host)


def test_the_key_is_the_owners_alone(board: RunningBoard) -> None:
    """Only the authority's key is kept, 0600; the machine's own is nowhere on the disk."""
    kept = sorted((board.home / "studio").iterdir())
    assert [each.name for each in kept] == ["authority-key.pem", "authority.pem"]
    assert stat.S_IMODE(kept[0].stat().st_mode) == 0o600
    assert b"PRIVATE" not in kept[1].read_bytes()


def test_this_machine_needs_neither_code_nor_trust(board: RunningBoard) -> None:
    """The page for this machine alone is as it is without a network."""
    url = board.wait_for("The board is at ").split()[-1]
    assert url.startswith("http://127.0.0.1:")
    assert asked(url, "/")[0] == 200


def test_the_authority_outlasts_a_restart(tmp_path: Path) -> None:
    """It is made once; the machine's certificate is another at every start."""
    authorities = [kept_authority(tmp_path / "studio", "loom") for _ in range(2)]
    assert authorities[0].fingerprint == authorities[1].fingerprint


async def answer(scope: object, receive: object, send: object) -> None:
    await PlainTextResponse("served")(scope, receive, send)  # type: ignore[arg-type]


def served(tmp_path: Path, names: tuple[str, ...]) -> tuple[BoardServer, Port, Path]:
    folder = tmp_path / "studio"
    authority = kept_authority(folder, "loom")
    port = Port(answer, listen(LOOPBACK, 0), Machine(authority, names, folder))
    server = BoardServer([port], request_seconds=0.5)
    server.start()
    return server, port, folder / "authority.pem"


def serial(port: Port, authority: Path, name: str = LOOPBACK) -> str:
    """Return the serial number of the certificate that is shown, once it is verified."""
    trust = ssl.create_default_context(cafile=str(authority))
    with (
        socket.create_connection(port.socket.getsockname()[:2], 20) as raw,
        trust.wrap_socket(raw, server_hostname=name) as safe,
    ):
        shown = safe.getpeercert()
        assert shown
        return str(shown["serialNumber"])


def test_the_certificate_renews_itself(tmp_path: Path) -> None:
    """A machine that is never switched off shows a new one to whoever comes later."""
    server, port, authority = served(tmp_path, (LOOPBACK, "loom.local", "loom"))
    try:
        first = serial(port, authority)
        assert serial(port, authority) == first
        assert serial(port, authority, "loom.local") == first
        assert serial(port, authority, "loom") == first
        assert port.machine is not None
        port.machine.renew()
        assert serial(port, authority) != first
    finally:
        server.stop()


@pytest.mark.parametrize("name", ["8.8.8.8", "bank.example", "192.0.2.1"])
def test_the_authority_speaks_for_the_studio_alone(tmp_path: Path, name: str) -> None:
    """A certificate for the world, made with the authority's own key, is refused.

    RFC 5280, 4.2.1.10: name constraints, which OpenSSL checks as browsers do.
    """
    server, port, authority = served(tmp_path, (name,))
    try:
        with pytest.raises(ssl.SSLCertVerificationError, match="permitted subtree violation"):
            serial(port, authority, name)
    finally:
        server.stop()


def test_a_greeting_must_come_in_time(tmp_path: Path) -> None:
    """Who opens a connection and says nothing is let go, before TLS and after."""
    server, port, authority = served(tmp_path, (LOOPBACK,))
    try:
        address = port.socket.getsockname()[:2]
        with socket.create_connection(address, 20) as silent:
            assert silent.recv(1) == b""
        trust = ssl.create_default_context(cafile=str(authority))
        with (
            socket.create_connection(address, 20) as raw,
            trust.wrap_socket(raw, server_hostname=LOOPBACK) as half,
        ):
            half.sendall(b"GET / HT")
            assert half.recv(1) == b""
    finally:
        server.stop()


@pytest.mark.parametrize("name", ["authority.pem", "authority-key.pem"])
@pytest.mark.parametrize("content", [b"", b"?", b"-----BEGIN CERTIFICATE-----\nAAAA\n"])
def test_a_damaged_authority_is_told(tmp_path: Path, name: str, content: bytes) -> None:
    """One line says what to do; nothing is made in its place unasked."""
    kept_authority(tmp_path, "loom")
    (tmp_path / name).write_bytes(content)
    with pytest.raises(CompanionError, match="Delete that folder"):
        kept_authority(tmp_path, "loom")
    assert (tmp_path / name).read_bytes() == content


def test_nothing_is_on_the_network_unasked(tmp_path: Path) -> None:
    """Without --network only the loopback address listens, and nothing of TLS is made."""
    with RunningBoard(tmp_path) as board:
        assert board.host == "127.0.0.1"
        assert not board.count("For tablets")
        with pytest.raises(ConnectionRefusedError):
            socket.create_connection(("127.0.0.2", board.port), 5)
    assert not (tmp_path / "studio").exists()


def test_an_address_of_the_world_is_refused(tmp_path: Path) -> None:
    """What the authority cannot speak for is not served (RFC 6598, RFC 5737)."""
    for address in ("100.64.0.1", "198.51.100.7", "8.8.8.8"):
        ended = run(tmp_path, "board", "--text", "--port", "0", "--network", "--address", address)
        assert (ended.returncode, ended.stdout, ended.stderr.count("\n")) == (2, "", 1)


# ---- QR codes


def test_through_a_pipe_no_qr_code_is_drawn(board: RunningBoard) -> None:
    """In a real terminal it is: test_board_network_browser.py reads it there."""
    board.wait_for("To pair a tablet")
    assert not board.count("\x1b[48;5;")


URL = "https://192.168.100.100:8425/#ABCDEFGH2345"
"""As long as the way in can be."""


def test_a_qr_code_fits_a_window_and_is_the_same_in_both_forms() -> None:
    """33 lines of 66 columns, or half as many lines where the window is low."""
    tall, low = terminal_lines(URL, 40), terminal_lines(URL, 24)
    assert (len(tall), len(low)) == (33, 17)
    modules = [[cell == "16" for cell in _cells(line, r"48;5;(\d+)m  ")] for line in tall]
    assert {len(line) for line in modules} == {33}
    halves = [_cells(line, r"38;5;(\d+)m\x1b\[48;5;(\d+)m") for line in low]
    upper = [[pair[0] == "16" for pair in line] for line in halves]
    lower = [[pair[1] == "16" for pair in line] for line in halves]
    assert upper == modules[::2]
    assert lower[:-1] == modules[1::2]
    assert not any(lower[-1])


def _cells(line: str, pattern: str) -> list[str]:
    return re.findall(pattern, line)
