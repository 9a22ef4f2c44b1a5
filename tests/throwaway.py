"""A PostgreSQL cluster of a test's own, in a folder that goes with it."""

from __future__ import annotations

import os
import shutil
import signal
import socket
import subprocess
import tempfile
import time
from pathlib import Path
from typing import Self

import pytest

FOLDERS = (*sorted(Path("/usr/lib/postgresql").glob("*/bin"), reverse=True), Path("/usr/bin"))
BIN = next((each for each in FOLDERS if (each / "initdb").exists()), None)
needs_postgres = pytest.mark.skipif(
    BIN is None, reason="needs PostgreSQL: apt-get install postgresql"
)
AS_ITS_USER = ("runuser", "-u", "postgres", "--") if os.name == "posix" and not os.geteuid() else ()
"""initdb refuses root."""


class Cluster:
    """Runs a server on a free port of this machine; leave the context to end and remove it."""

    def __init__(self) -> None:
        # Not in pytest's folder, which it keeps from everybody else.
        self._kept = tempfile.TemporaryDirectory(prefix="companion-school-")
        folder = Path(self._kept.name)
        self.data = folder / "data"
        with socket.create_server(("127.0.0.1", 0)) as free:
            self.port = free.getsockname()[1]
        self.url = f"postgresql://weaver@127.0.0.1:{self.port}/postgres"
        if AS_ITS_USER:
            shutil.chown(folder, "postgres")
        secret = folder / "secret"
        secret.write_text("a secret")
        secret.chmod(0o644)
        self._run(
            "initdb", "--pgdata", self.data, "--username", "weaver", "--auth", "scram-sha-256",
            "--pwfile", secret, "--no-sync",
        )  # fmt: skip

    def __enter__(self) -> Self:
        self.start()
        return self

    def __exit__(self, *_: object) -> None:
        self.stop()
        self._kept.cleanup()

    def start(self) -> None:
        """Start the server; after a kill its lock may take a moment to go."""
        options = f"-p {self.port} -c listen_addresses=127.0.0.1 -k '' -c max_connections=60"
        for _ in range(20):
            done = self._run(
                "pg_ctl", "--pgdata", self.data, "--log", self.data / "log", "--wait",
                "--options", options, "start", is_checked=False,
            )  # fmt: skip
            if done.returncode == 0:
                return
            time.sleep(0.5)
        raise AssertionError(done.stdout)

    def stop(self, mode: str = "immediate") -> None:
        self._run("pg_ctl", "--pgdata", self.data, "--mode", mode, "stop", is_checked=False)

    def kill(self) -> None:
        """End the server as a power cut does."""
        pid = int((self.data / "postmaster.pid").read_text().split()[0])
        os.kill(pid, signal.SIGKILL)

    def _run(
        self, tool: str, *arguments: str | Path, is_checked: bool = True
    ) -> subprocess.CompletedProcess[str]:
        assert BIN is not None
        return subprocess.run(
            [*AS_ITS_USER, BIN / tool, *arguments],
            stdout=subprocess.DEVNULL if tool == "pg_ctl" else subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            check=is_checked,
            timeout=120,
            cwd="/",
        )
