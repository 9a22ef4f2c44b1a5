"""Fifty looms in one process: `python tests/bench/bench_studio.py [looms] [seconds]`.

Starts the real studio on a network address of this machine, begins a walk at each loom, opens two
pages' lines at each by TLS, and presses at every loom each two seconds. Prints how long it takes
from a press to the new place on the page that pressed and on the other one, in milliseconds, the
processor time of the studio for each press, and what a loom adds to the memory of the process; it
judges nothing.
"""

from __future__ import annotations

import asyncio
import json
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[1]))

from studio_door import RunningStudio
from websockets.asyncio.client import ClientConnection, connect
from websockets.typing import Origin

PRESS_SECONDS = 2.0
PLAN = "striped-towels.toml"
MB = 1024


class PageLine:
    """One page of a loom: notes when it is shown each step."""

    def __init__(self, line: ClientConnection) -> None:
        self._line = line
        self.place: dict[str, Any] = {}
        self.shown: dict[int, float] = {}
        self._news = asyncio.Condition()

    async def look(self) -> None:
        await self._line.send('{"kind": "hello", "last": ""}')
        async for text in self._line:
            event = json.loads(text)
            if event["kind"] not in {"whole", "place"}:
                continue
            place = event["data"]["place"] if event["kind"] == "whole" else event["data"]
            async with self._news:
                self.place = {**place, "run": event["id"].partition(".")[0]}
                self.shown.setdefault(place.get("step", 0), time.perf_counter())
                self._news.notify_all()

    async def wait_for(self, step: int) -> float:
        async with self._news:
            await asyncio.wait_for(self._news.wait_for(lambda: step in self.shown), 30)
        return self.shown[step]

    async def press(self, text: str, identity: str) -> None:
        given = {"run": self.place["run"], "step": self.place["step"], "text": text}
        await self._line.send(json.dumps({"kind": "give", "id": identity, **given}))


async def open_page(studio: RunningStudio, key: str) -> PageLine:
    line = await connect(
        f"{studio.url.replace('http', 'ws', 1)}loom/{key}/line",
        origin=Origin(studio.url.rstrip("/")),
        additional_headers={"Cookie": studio.cookie},
        compression=None,
        ssl=studio.trust,
    )
    return PageLine(line)


async def walk(pages: list[PageLine], key: str, delay: float, until: float) -> list[list[float]]:
    """Press on the two pages in turn; return the milliseconds to the own and the other page."""
    times: list[list[float]] = [[], []]
    await asyncio.sleep(delay)
    press = counted = 0
    while time.perf_counter() < until:
        own, other = pages[press % 2], pages[1 - press % 2]
        place, text = own.place, "done"
        if place["mode"] == "counting":
            confirmed = place["progress"]["confirmed"]
            text, counted = f"count {confirmed - counted}", confirmed
        begun = time.perf_counter()
        await own.press(text, f"{key}-{press:06}")
        for which, page in enumerate((own, other)):
            shown = await page.wait_for(place["step"] + 1)
            times[which].append(1000 * (shown - begun))
        press += 1
        await asyncio.sleep(max(0.0, PRESS_SECONDS - (time.perf_counter() - begun)))
    return times


async def measure(studio: RunningStudio, keys: list[str], seconds: float) -> None:
    pages = {key: [await open_page(studio, key) for _ in range(2)] for key in keys}
    looking = [asyncio.create_task(page.look()) for two in pages.values() for page in two]
    for two in pages.values():
        for page in two:
            await page.wait_for(1)
    until = time.perf_counter() + seconds
    walks = [
        walk(two, key, PRESS_SECONDS * number / len(keys), until)
        for number, (key, two) in enumerate(pages.items())
    ]
    begun = _processor(studio)
    both = await asyncio.gather(*walks)
    used = (_processor(studio) - begun) / seconds
    for each in looking:
        each.cancel()
    for which, name in enumerate(("own page", "other page")):
        ordered = sorted(time for times in both for time in times[which])
        print(
            f"  {name:11} {len(ordered)} presses: median {ordered[len(ordered) // 2]:6.1f}"
            f"  95 % {ordered[int(0.95 * len(ordered))]:6.1f}  slowest {ordered[-1]:6.1f} ms"
        )
    presses = sum(len(times[0]) for times in both)
    print(f"  {used:.2f} of a core in the studio, {1000 * used * seconds / presses:.1f} ms a press")


def _memory(studio: RunningStudio) -> float:
    """Return the memory of the process in MB (proc(5), VmRSS)."""
    text = Path(f"/proc/{studio.process.pid}/status").read_text()
    return int(text.partition("VmRSS:")[2].split()[0]) / MB


def _processor(studio: RunningStudio) -> float:
    """Return the seconds of processor time it has used (proc(5), utime and stime)."""
    fields = Path(f"/proc/{studio.process.pid}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / 100


def main(looms: int, seconds: float) -> None:
    network = ("--network", "--address", "127.0.0.2")
    with tempfile.TemporaryDirectory() as home, RunningStudio(Path(home), *network) as studio:
        studio.begin("first")
        before = _memory(studio)
        names = [f"loom {number}" for number in range(1, looms + 1)]
        for name in names:
            assert studio.do("start", name=name, plan=PLAN)[0] == 200
        keys = [studio.key(name) for name in names]
        for key in keys:
            studio.at(key)
        print(f"{looms} looms, two pages each by TLS, a press each {PRESS_SECONDS:.0f} s at each")
        asyncio.run(measure(studio, keys, seconds))
        print(f"  {(_memory(studio) - before) / looms:.1f} MB a loom, its pages' lines included")


if __name__ == "__main__":
    main(
        int(sys.argv[1]) if len(sys.argv) > 1 else 50,
        float(sys.argv[2]) if len(sys.argv) > 2 else 60.0,
    )
