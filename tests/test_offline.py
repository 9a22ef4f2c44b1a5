"""Nothing leaves this machine: not by us, nor by a native library that we load."""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
from typing import TYPE_CHECKING

import pytest
from front_door import COMMAND, PLANS, environment

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

STRACE = ("strace", "-f", "--seccomp-bpf")
"""With children; what is not asked for runs on at full speed (strace 5.3, 2019)."""
ANSWERED = "import onnxruntime, time; time.sleep(1)"
"""Ours loaded first, as it always is; onnxruntime then has a second to reach out."""


def reached_for(tmp_path: Path, command: Sequence[str]) -> list[str]:
    """Run a command with its children, and return their calls that reach for a network."""
    trace = tmp_path / "trace"
    scratch = tmp_path / "scratch"
    scratch.mkdir(exist_ok=True)
    traced = [*STRACE, "-e", "trace=connect,sendto,sendmsg,sendmmsg", "-o", str(trace)]
    ended = subprocess.run(
        [*traced, *command],
        env={**environment(tmp_path), "TMPDIR": str(scratch)},
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        timeout=300,
        check=False,
    )
    assert ended.returncode == 0, ended.stderr
    return re.findall(r".*AF_INET6?,.*", trace.read_text())


@pytest.fixture
def tmp_home(tmp_path: Path) -> Path:
    if shutil.which("strace") is None:
        pytest.skip("strace is not installed")
    if subprocess.run([*STRACE, "-o", tmp_path / "try", "true"], check=False).returncode:
        pytest.skip("strace may not trace here")
    return tmp_path


def test_the_command_and_its_children_reach_for_no_network(tmp_home: Path) -> None:
    """Speech, and all that `doctor` loads, both voices among it, without one such call."""
    walk = ("thread", str(PLANS / "first-try.toml"), "--audio-out", str(tmp_home / "o.wav"))
    for arguments in (walk, ("doctor",)):
        assert reached_for(tmp_home, [*COMMAND, *arguments]) == []


def test_a_library_that_would_tell_its_maker_is_kept_from_it(tmp_home: Path) -> None:
    """onnxruntime looks its maker up at each start by itself; loaded after ours it does not.

    Source: its Privacy.md, "Disabling Telemetry".
    """
    pytest.importorskip("onnxruntime")
    program = f"import companion; {ANSWERED}"
    assert reached_for(tmp_home, [sys.executable, "-c", program]) == []
    assert not (tmp_home / "scratch" / ".ses").exists()


def test_a_call_to_the_outside_would_be_seen(tmp_home: Path) -> None:
    """The trace shows one where there is one, in a child too."""
    program = "import socket; socket.socket().connect_ex(('127.0.0.1', 9))"
    child = f"import subprocess, sys; subprocess.run([sys.executable, '-c', {program!r}])"
    assert len(reached_for(tmp_home, [sys.executable, "-c", child])) == 1
