"""The real studio, started as a teacher starts it, and what a page of hers posts."""

from __future__ import annotations

import json
import time
from typing import TYPE_CHECKING, Any
from urllib.parse import urlencode

from board_door import FORM, RunningBoard, words
from front_door import PLANS, start

if TYPE_CHECKING:
    from collections.abc import Generator, Mapping
    from pathlib import Path


class RunningStudio(RunningBoard):
    """`companion studio` in a process of its own; leave the context to end it."""

    def __init__(self, home: Path, *arguments: str | Path, plans: Path = PLANS) -> None:
        port = () if "--port" in arguments else ("--port", "0")
        self._begin(home, start(home, "studio", plans, "--text", *port, *arguments))
        self.is_safe = "--network" in arguments
        line = self.wait_for("For tablets it is at " if self.is_safe else "The studio is at ")
        self._at(line.split()[-1])
        self.cookie = ""
        """Of the teacher, where there is a network."""
        if self.is_safe:
            code = self.wait_for("To pair a teacher's device").rpartition(":")[2]
            self.cookie = self.pair(code, "desk")[2].partition(";")[0]

    def headers(self, cookie: str | None = None) -> dict[str, str]:
        """Return what goes with a post of a page."""
        mark = self.cookie if cookie is None else cookie
        own = {"Origin": self.url.rstrip("/"), "Content-Type": FORM}
        return {**own, "Cookie": mark} if mark else own

    def do(self, what: str, cookie: str | None = None, **fields: str) -> tuple[int, str]:
        """Have something done with a loom; return the status and the line."""
        form = urlencode({"what": what, **fields})
        status, text, _ = self.request("POST", "/looms/do", form, self.headers(cookie))
        return status, text.strip()

    def get(self, path: str, cookie: str | None = None) -> tuple[int, str]:
        """Return the status and text of a page."""
        status, text, _ = self.request("GET", path, headers=self.headers(cookie))
        return status, text

    def begin(self, name: str, plan: str = "first-try.toml", weaver: str = "") -> dict[str, Any]:
        """Begin a walk; return the place it is shown at."""
        status, told = self.do("start", name=name, plan=plan, weaver=weaver)
        assert status == 200, told
        return self.at(self.key(name))

    def key(self, name: str) -> str:
        """Return a loom's key by its name."""
        return next(str(each["key"]) for each in self.looms().values() if each["name"] == name)

    def at(self, key: str) -> dict[str, Any]:
        """Return the place a loom is at, once it has one."""
        for kind, data in self.on(key):
            place: dict[str, Any] = data["place"] if kind == "whole" else data
            if kind in {"whole", "place"} and place.get("stage"):
                return place
        raise AssertionError("no place came")

    def on(self, key: str, cookie: str | None = None) -> Generator[tuple[str, dict[str, Any]]]:
        """Yield the events of a loom's page, over again for a while where its line ends."""
        latest = time.monotonic() + 20
        while time.monotonic() < latest:
            yield from self.events(at=f"loom/{key}/", cookie=self._mark(cookie))
            time.sleep(0.2)

    def press(self, key: str, text: str, identity: str, place: Mapping[str, Any]) -> str:
        """Give a command on a loom's page."""
        return self.give(text, place, identity, at=f"loom/{key}/", cookie=self.cookie)

    def looms(self) -> dict[str, dict[str, Any]]:
        """Return how every loom stands, by its key, as a teacher's page that comes new sees it."""
        _, data = next(self.events(at="looms/", cookie=self.cookie))
        return {each["key"]: each for each in data["place"].get("looms", [])}

    def code_for(self, key: str) -> dict[str, Any]:
        """Return a code for a device of a loom."""
        form = urlencode({"loom": key})
        status, text, _ = self.request("POST", "/looms/code", form, self.headers())
        assert status == 200, text
        told: dict[str, Any] = json.loads(text)
        return told

    def _mark(self, cookie: str | None) -> str:
        return self.cookie if cookie is None else cookie


__all__ = ["RunningStudio", "words"]
