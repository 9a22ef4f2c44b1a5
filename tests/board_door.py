"""The real board, started as a weaver starts it, and plain requests to it."""

from __future__ import annotations

import asyncio
import http.client
import json
import re
import signal
import ssl
import threading
import time
from concurrent.futures import ThreadPoolExecutor
from typing import TYPE_CHECKING, Any, Self
from urllib.parse import urlencode

from front_door import PLANS, Started, start
from websockets.sync.client import ClientConnection, connect
from websockets.typing import Origin

if TYPE_CHECKING:
    from collections.abc import Coroutine, Generator, Mapping
    from pathlib import Path

FORM = "application/x-www-form-urlencoded"
FIRST_TRY = PLANS / "first-try.toml"
"""40 ends, a straight draw on 4 shafts, groups of 8."""


class RunningBoard:
    """`companion board` in a process of its own; leave the context to end it."""

    def __init__(self, home: Path, *arguments: str | Path, what: str | Path = FIRST_TRY) -> None:
        port = () if "--port" in arguments else ("--port", "0")
        self._begin(home, start(home, "board", what, "--text", *port, *arguments))
        self.is_safe = "--network" in arguments
        line = self.wait_for("For tablets it is at " if self.is_safe else "The board is at ")
        self._at(line.split()[-1])
        self.wait_for(": shaft", ": treadle", "last confirmed", "is complete", "Group")

    def _begin(self, home: Path, process: Started) -> None:
        """Read what a process prints."""
        self.home = home
        self.process = process
        self.printed: list[str] = []
        self._news = threading.Condition()
        self._reading = threading.Thread(target=self._read, daemon=True)
        self._reading.start()

    def _at(self, url: str) -> None:
        """Note where it is reached."""
        self.url = url
        self.host, _, port_text = url.partition("://")[2].rstrip("/").partition(":")
        self.port = int(port_text)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.process.kill()
        self.process.wait(10)
        for stream in (self.process.stdin, self.process.stdout):
            if stream is not None:
                stream.close()

    def type(self, line: str) -> None:
        """Give a line at the terminal."""
        assert self.process.stdin is not None
        self.process.stdin.write(line + "\n")
        self.process.stdin.flush()

    def interrupt(self) -> str:
        """End it as Ctrl-C does; return the last line."""
        self.process.send_signal(signal.SIGINT)
        self.process.wait(20)
        self._reading.join(20)
        return self.printed[-1]

    def wait_for(self, *texts: str, seconds: float = 30.0) -> str:
        """Return the first printed line with one of these in it, once it is there."""

        def found() -> str | None:
            return next((line for line in self.printed for text in texts if text in line), None)

        with self._news:
            assert self._news.wait_for(found, seconds), self.printed
        return found() or ""

    def wait_for_count(self, text: str, number: int) -> None:
        """Wait until so many printed lines hold a text."""
        with self._news:
            assert self._news.wait_for(lambda: self.count(text) >= number, 30), self.printed

    def count(self, text: str) -> int:
        """Return how many printed lines hold a text."""
        return sum(text in line for line in self.printed)

    def request(
        self,
        method: str,
        path: str,
        body: bytes | str | None = None,
        headers: Mapping[str, str] | None = None,
    ) -> tuple[int, str, dict[str, str]]:
        """Return status, text and headers of one plain request; nothing is added but the Host."""
        connection = self._connection()
        try:
            connection.request(method, path, body, dict(headers or {}))
            answer = connection.getresponse()
            text = answer.read().decode(errors="replace")
            return answer.status, text, {key.lower(): value for key, value in answer.getheaders()}
        finally:
            connection.close()

    @property
    def trust(self) -> ssl.SSLContext | None:
        """What trusts this studio's authority and nothing else; None for a plain board."""
        authority = self.home / "studio" / "authority.pem"
        return ssl.create_default_context(cafile=str(authority)) if self.is_safe else None

    def _connection(self) -> http.client.HTTPConnection:
        trust = self.trust
        if trust is None:
            return http.client.HTTPConnection(self.host, self.port, timeout=20)
        return http.client.HTTPSConnection(self.host, self.port, timeout=20, context=trust)

    def post(self, path: str, body: str, kind: str, **headers: str) -> tuple[int, str]:
        """Post as a page of the board does."""
        origin = self.url.rstrip("/")
        status, text, _ = self.request(
            "POST", path, body, {"Origin": origin, "Content-Type": kind, **headers}
        )
        return status, text

    @property
    def cookie_name(self) -> str:
        """What the mark of a paired tablet is kept as."""
        kept = json.loads((self.home / "tablets.json").read_text())
        return f"companion-{kept['server']}"

    def newest_code(self) -> str:
        """Return the code that was told last."""
        told = [line for line in self.printed if "To pair a tablet" in line]
        return re.sub(r"\D", "", told[-1])

    def pair(self, code: str, name: str = "") -> tuple[int, str, str]:
        """Type a code; return the status, the page's text and the cookie, "" where none came."""
        origin = {"Origin": self.url.rstrip("/"), "Content-Type": FORM}
        form = urlencode({"code": code, "name": name})
        status, text, headers = self.request("POST", "/pair", form, origin)
        return status, text, headers.get("set-cookie", "")

    def open_line(
        self, cookie: str = "", origin: str | None = None, at: str = "", name: str = "line"
    ) -> ClientConnection:
        """Open a line as a page does, or as one of another origin would; "" names none."""
        named = self.url.rstrip("/") if origin is None else origin
        trust = self.trust
        if trust is not None:
            # The client reads on one thread and writes on another, which OpenSSL does not allow:
            # what TLS 1.3 sends after its greeting, read just then, now and then loses the request.
            trust.maximum_version = ssl.TLSVersion.TLSv1_2
        return connect(
            f"{self.url.replace('http', 'ws', 1)}{at}{name}",
            origin=Origin(named) if named else None,
            additional_headers={"Cookie": cookie} if cookie else {},
            compression=None,
            ssl=trust,
        )

    def give(
        self,
        text: str,
        place: Mapping[str, Any],
        identity: str,
        *,
        at: str = "",
        cookie: str = "",
        **more: object,
    ) -> str:
        """Send a command for a place that was shown; return what became of it."""
        given = {"kind": "give", "id": identity, "text": text, **more}
        given |= {"run": place["run"], "step": place["step"]}
        with self.open_line(cookie, at=at) as line:
            line.send('{"kind": "hello", "last": ""}')
            line.send(json.dumps(given))
            while True:
                event = json.loads(line.recv(20))
                if event["kind"] == "answer":
                    return str(event["data"]["outcome"])

    def place(self) -> dict[str, Any]:
        """Return what a board that comes new is shown."""
        place: dict[str, Any] = next(self.events())[1]["place"]
        return place

    def events(
        self, last: str = "", cookie: str = "", at: str = ""
    ) -> Generator[tuple[str, dict[str, Any]]]:
        """Yield events as they come: the kind and the data, `run` added to a place."""
        with self.open_line(cookie, at=at) as line:
            line.send(json.dumps({"kind": "hello", "last": last}))
            for text in line:
                event = json.loads(text)
                if event["kind"] not in {"beat", "answer"}:
                    yield event["kind"], _told(event)

    def _read(self) -> None:
        assert self.process.stdout is not None
        for line in self.process.stdout:
            with self._news:
                self.printed.append(line.rstrip("\n"))
                self._news.notify_all()


def _told(event: dict[str, Any]) -> dict[str, Any]:
    data: dict[str, Any] = event["data"]
    data["id"] = event["id"]
    run = data["id"].partition(".")[0]
    for place in (data, data.get("place")):
        if isinstance(place, dict):
            place["run"] = run
    return data


def words(place: Mapping[str, Any]) -> str:
    """Return what stands large on a board: "End 1, Shaft 1, Dent 1", or the headline."""
    lines = (" ".join(line[:2]).strip() for line in place["lines"])
    return ", ".join(lines) or str(place["headline"])


def run_apart(work: Coroutine[Any, Any, None]) -> None:
    """Run it to its end in a thread of its own: in the tests' own a browser's driver has a loop."""
    with ThreadPoolExecutor(1) as thread:
        thread.submit(asyncio.run, work).result()


def wait_until(is_so: Any, seconds: float = 20.0) -> Any:
    """Wait for something to be so and return it; fail where it does not become so."""
    end = time.monotonic() + seconds
    while not (found := is_so()):
        assert time.monotonic() < end, "waited in vain"
        time.sleep(0.05)
    return found
