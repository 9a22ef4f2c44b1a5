"""Thirty looms through PostgreSQL: `python tests/bench/bench_school.py [entries a loom] [pause]`.

Three servers with ten looms each write entries, with a pause between of so many seconds on average,
and send them to one throwaway cluster, which is killed, stopped and started at random moments until
the last is written; a server's sending is ended and begun anew too. A day of eight hours with a
press every eight seconds has 3600 entries a loom. At the end each session's file is compared with
what the database has of it, number by number and seal by seal. Prints how many entries were lost,
doubled or out of order, and what a write took.
"""

from __future__ import annotations

import random
import sys
import tempfile
import threading
import time
from pathlib import Path
from typing import TYPE_CHECKING, cast

sys.path.insert(0, str(Path(__file__).parents[1]))

import psycopg
from test_school import SECRET, begun, kept
from throwaway import Cluster

from companion.out.studio.sharing import Sharing
from companion.record import Entry, EntryKind

if TYPE_CHECKING:
    from companion.out.studio.studio import Studio

SERVERS, LOOMS = 3, 10
SEED = 12


class Looms:
    """What a server's sending needs of its studio."""

    def __init__(self, folder: Path) -> None:
        self.journals = folder / "journals"

    def announce(self, text: str, *, is_trouble: bool) -> None:
        """Nobody listens."""

    def lost(self, key: str, server: str) -> None:
        raise AssertionError((key, server))

    def elsewhere(self, key: str, after: object) -> None:
        """Nobody looks."""


class Server:
    """One server: its sending can be ended and begun anew as by a restart."""

    def __init__(self, url: str, folder: Path, name: str) -> None:
        self._given = (url, SECRET, cast("Studio", Looms(folder)), folder, name)
        self.folder = folder
        self.paths: list[Path] = []
        self.begin()

    def begin(self) -> None:
        self.sharing = Sharing(*self._given)
        self.sharing.start()

    def restart(self) -> None:
        self.sharing.close()
        self.begin()

    def walk(self, entries: int, pause: float, times: list[float]) -> None:
        """Write entries as a loom does, each told to the sending after its commit."""
        draw = random.Random(threading.get_ident())
        with begun(self.folder / "journals") as journal:
            self.paths.append(journal.path)
            for _ in range(entries):
                started = time.perf_counter()
                journal.append(Entry(kind=EntryKind.COMMAND, stage="thread", words="done"))
                times.append(1000 * (time.perf_counter() - started))
                self.sharing.wrote(journal.path)
                time.sleep(draw.uniform(0.1, 1.9) * pause)


def disturb(
    cluster: Cluster, servers: list[Server], walks: list[threading.Thread]
) -> dict[str, int]:
    """Kill and stop the database, and restart a server's sending, at random moments."""
    draw = random.Random(SEED)
    done = {"killed": 0, "stopped": 0, "sending restarted": 0}
    while any(each.is_alive() for each in walks):
        time.sleep(draw.uniform(1.0, 6.0))
        what = draw.choice(["killed", "stopped", "sending restarted"])
        if what == "killed":
            cluster.kill()
        elif what == "stopped":
            cluster.stop(draw.choice(["fast", "immediate"]))
        else:
            draw.choice(servers).restart()
        done[what] += 1
        if what != "sending restarted":
            time.sleep(draw.uniform(0.1, 3.0))
            cluster.start()
    return done


def compare(cluster: Cluster, paths: list[Path]) -> tuple[int, int, int]:
    """Return the entries in the files, and of the database how many it lacks and has amiss."""
    with psycopg.connect(cluster.url, password=SECRET) as connection:
        found = connection.execute("SELECT session, number, seal FROM companion_entry").fetchall()
        parted = connection.execute(
            "SELECT count(*) FROM companion_session WHERE name LIKE '%@%'"
        ).fetchone()
    there = [(number, seal) for _, number, seal in found]
    here = [(number, seal) for path in paths for number, seal, _ in kept(path)]
    amiss = len(there) - len(set(here) & set(there)) + (parted[0] if parted else 0)
    return len(here), len(set(here) - set(there)), amiss


def main(entries: int, pause: float) -> None:
    with tempfile.TemporaryDirectory() as home, Cluster() as cluster:
        servers = [
            Server(cluster.url, _made(Path(home) / f"server-{number}"), f"server {number}")
            for number in range(SERVERS)
        ]
        began, times = time.monotonic(), list[float]()
        walks = [
            threading.Thread(target=server.walk, args=(entries, pause, times))
            for server in servers
            for _ in range(LOOMS)
        ]
        for each in walks:
            each.start()
        done = disturb(cluster, servers, walks)
        seconds = time.monotonic() - began
        paths = [path for server in servers for path in server.paths]
        latest = time.monotonic() + 300
        there, lost, amiss = compare(cluster, paths)
        while lost and time.monotonic() < latest:
            time.sleep(0.5)
            there, lost, amiss = compare(cluster, paths)
        for server in servers:
            server.sharing.close()
    ordered = sorted(times)
    print(f"{SERVERS * LOOMS} looms on {SERVERS} servers, {seconds:.0f} s; database {done}")
    print(f"  {there} entries: {lost} lost, {amiss} twice or other than written")
    print(f"  a write: median {ordered[len(ordered) // 2]:.1f}, ", end="")
    print(f"95 % {ordered[int(0.95 * len(ordered))]:.1f}, slowest {ordered[-1]:.1f} ms")


def _made(folder: Path) -> Path:
    folder.mkdir()
    return folder


if __name__ == "__main__":
    main(
        int(sys.argv[1]) if len(sys.argv) > 1 else 150,
        float(sys.argv[2]) if len(sys.argv) > 2 else 0.2,
    )
