"""The real command, as a weaver starts it, with a home of its own."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import time
from pathlib import Path
from tempfile import TemporaryFile
from typing import TYPE_CHECKING

import pexpect
from warm_start import CAN_FORK, WarmProcess
from warm_start import start as warm_start

if TYPE_CHECKING:
    import random
    from collections.abc import Mapping, Sequence

ROOT = Path(__file__).parent.parent
PLANS = ROOT / "plans"
COMMAND = (sys.executable, "-m", "companion")
RUN_SECONDS = 120
Started = subprocess.Popen[str] | WarmProcess
STARTED: list[Started] = []
"""Commands with open pipes; a test that fails half-way leaves none of its own running."""


def environment(home: Path) -> dict[str, str]:
    """Return an environment in which nothing of the user's own is touched."""
    return {**os.environ, "COMPANION_HOME": str(home), "PYTHONPATH": str(ROOT), "TERM": "xterm"}


def run(
    home: Path, *arguments: str | Path, lines: Sequence[str] = ()
) -> subprocess.CompletedProcess[str]:
    """Run the command with piped lines and return what came of it."""
    said = "".join(f"{line}\n" for line in lines)
    run_it = _run_warm if CAN_FORK else _run
    return run_it(list(map(str, arguments)), environment(home), said)


def run_program(home: Path, program: str) -> subprocess.CompletedProcess[str]:
    """Run Python code that reads nothing, and return what came of it."""
    if CAN_FORK:
        return _run_warm([], environment(home), "", program)
    return _run(["-c", program], environment(home), "", (sys.executable,))


def _run_warm(
    arguments: list[str], environment: Mapping[str, str], said: str, program: str = ""
) -> subprocess.CompletedProcess[str]:
    with TemporaryFile("w+") as given, TemporaryFile("w+") as printed, TemporaryFile("w+") as told:
        given.write(said)
        given.seek(0)
        files = [each.fileno() for each in (given, printed, told)]
        process = WarmProcess(arguments, environment, files, program)
        try:
            code = process.wait(RUN_SECONDS)
        except subprocess.TimeoutExpired:
            process.kill()
            raise
        printed.seek(0)
        told.seek(0)
        return subprocess.CompletedProcess(arguments, code, printed.read(), told.read())


def _run(
    arguments: list[str],
    environment: Mapping[str, str],
    said: str,
    command: Sequence[str] = COMMAND,
) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [*command, *arguments],
        input=said,
        capture_output=True,
        text=True,
        env=environment,
        timeout=RUN_SECONDS,
        check=False,
    )


def start(home: Path, *arguments: str | Path) -> Started:
    """Start the command with open pipes, to be fed line by line."""
    if CAN_FORK:
        STARTED.append(warm_start(list(map(str, arguments)), environment(home)))
        return STARTED[-1]
    process = subprocess.Popen(
        [*COMMAND, *map(str, arguments)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        env=environment(home),
    )
    STARTED.append(process)
    return process


def terminal(home: Path, *arguments: str | Path, is_warm: bool = CAN_FORK) -> pexpect.spawn[str]:
    """Start the command in a pseudo-terminal, as if typed there; not warm, with all it loads."""
    spawn, own = pexpect.spawn, list(COMMAND[1:])
    if is_warm:
        from warm_terminal import WarmTerminal  # noqa: PLC0415 - not on Windows

        spawn, own = WarmTerminal, []
    child = spawn(
        COMMAND[0],
        [*own, *map(str, arguments)],
        # The size is in the environment too: a quick child looks before the terminal is sized.
        env={**environment(home), "LINES": "40", "COLUMNS": "300"},
        encoding="utf-8",
        timeout=60,
        dimensions=(40, 300),
    )
    if is_warm:
        STARTED.append(child.ptyproc.process)
    return child


def walk_commands(home: Path, plan: Path) -> list[str]:
    """Return the commands that walk a whole plan: each step done, each group counted right."""
    printed = run(home, "check", plan, "--steps").stdout
    commands: list[str] = []
    expected = ""
    for line in printed.splitlines():
        group = re.match(r"Group \d+.*: (\d+) (?:ends|dents)\.$", line)
        if group:
            commands += [f"count {expected}"] if expected else []
            expected = group[1]
        elif line.startswith("  "):
            commands.append("done")
    return [*commands, f"count {expected}"]


def kill_and_resume(
    home: Path, plan: Path, commands: Sequence[str], chance: random.Random
) -> tuple[int, int]:
    """Walk, kill the process at a random moment, go on.

    Args:
        home: an empty folder.
        plan: the plan to walk.
        commands: what walks it from the first end, one for each question asked.
        chance: chooses the moment.

    Returns:
        How many steps had been heard to be confirmed before the kill, and how many the session
        holds as confirmed when it goes on.
    """
    process = start(home, "thread", plan, "--text")
    assert process.stdin is not None
    assert process.stdout is not None
    given: list[str] = []
    enough = chance.randint(1, 40)
    for line in process.stdout:
        if not _asks(line):
            continue
        if len(given) == enough:
            break
        given.append(commands[len(given)])
        process.stdin.write(given[-1] + "\n")
        process.stdin.flush()
    heard = given.count("done")
    process.stdin.write(commands[enough] + "\n")
    process.stdin.flush()
    time.sleep(chance.random() / 100)
    process.kill()
    rest, _ = process.communicate()
    heard += commands[enough] == "done" and any(map(_asks, rest.splitlines()))
    again = run(home, "resume", "--text")
    assert again.returncode == 0, again.stderr
    assert _asks(again.stdout)
    kept = re.findall(r"step (\d+) of", run(home, "sessions").stdout)
    return heard, int(kept[0])


def _asks(line: str) -> bool:
    """Say whether a printed line waits for a step or a count."""
    return ": shaft" in line or "How many" in line
