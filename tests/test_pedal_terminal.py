"""Keys on a real pseudo-terminal: read one by one, and the terminal always put back."""

from __future__ import annotations

import os
import pty
import signal
import sys
import termios
import time
from pathlib import Path
from typing import TYPE_CHECKING

import pexpect
import pytest

from companion.base.errors import PedalError
from companion.devices.pedal.gesture import Timing
from companion.devices.pedal.table import keyboard_bindings
from companion.devices.pedal.terminal import PASTE_SECONDS, TerminalKeys
from companion.devices.pedal.typed import Keyboard

if TYPE_CHECKING:
    from collections.abc import Iterator

WALKER = str(Path(__file__).with_name("terminal_walker.py"))
ROOT = str(Path(__file__).parent.parent)


def _spawn(*arguments: str) -> pexpect.spawn:
    child = pexpect.spawn(
        sys.executable, [WALKER, *arguments], env={**os.environ, "PYTHONPATH": ROOT}, timeout=60
    )
    child.delaybeforesend = None
    child.expect_exact("READY\r\n")
    return child


def _close(child: pexpect.spawn) -> None:
    """End a child that may still run; pexpect's own close gives up on a busy machine."""
    if child.isalive():
        child.kill(signal.SIGKILL)
        child.wait()
    child.close()


@pytest.fixture
def walker() -> Iterator[pexpect.spawn]:
    """A running program that prints what keys give."""
    child = _spawn()
    yield child
    _close(child)


def _is_cooked(child: pexpect.spawn) -> bool:
    """Say whether the terminal echoes and edits lines as it did before."""
    local = int(termios.tcgetattr(child.child_fd)[3])
    return local & (termios.ECHO | termios.ICANON) == termios.ECHO | termios.ICANON


def _until_cooked(child: pexpect.spawn) -> bool:
    deadline = time.monotonic() + 5
    while not _is_cooked(child) and time.monotonic() < deadline:
        time.sleep(0.01)
    return _is_cooked(child)


def test_keys_act_without_enter_and_nothing_is_redrawn(walker: pexpect.spawn) -> None:
    """Letters, paging keys and a function key act at once; the output is whole lines only."""
    assert not _is_cooked(walker)
    walker.send("d")
    walker.expect_exact("COMMAND done\r\n")
    walker.send("\x1b[5~")
    walker.expect_exact("COMMAND back\r\n")
    assert walker.before == b""
    walker.send("\x1b[25~")
    walker.expect_exact("LINE The key f13 does nothing here.\r\n")
    assert walker.before == b""


def test_numbers_and_lines_end_with_enter(walker: pexpect.spawn) -> None:
    """A number and a line are echoed whole, once, and nothing is echoed before."""
    walker.send("24\r")
    walker.expect_exact("LINE Typed: count 24\r\nCOMMAND count 24\r\n")
    assert walker.before == b""
    walker.send(":read back group 3")
    time.sleep(1.3)  # past the keyboard's repeat delay, so that Enter acts at once
    walker.send("\r")
    walker.expect_exact("LINE Typed: read back group 3\r\nCOMMAND read back group 3\r\n")
    assert walker.before == b""


def test_escape_alone_is_the_escape_key(walker: pexpect.spawn) -> None:
    """Escape acts by itself after a moment, though sequences begin with it."""
    walker.send("2")
    walker.send("\x1b")
    walker.expect_exact("LINE Cleared what was typed.\r\n")


def test_a_key_held_down_is_one_command(walker: pexpect.spawn) -> None:
    """The presses a keyboard repeats for a held key confirm one end."""
    walker.send("d")
    time.sleep(0.3)
    walker.send("d" * 20)  # in one go: this machine's own pace must not decide the test
    walker.send("w")
    walker.expect_exact("COMMAND where\r\n")
    assert walker.before == b"COMMAND done\r\n"


def test_the_terminal_is_put_back_at_the_end(walker: pexpect.spawn) -> None:
    """After stop the terminal echoes and edits lines again."""
    walker.send("q")
    walker.expect_exact("ENDED\r\n")
    walker.expect(pexpect.EOF)
    assert _is_cooked(walker)


def test_the_terminal_is_put_back_after_a_crash() -> None:
    """An exception inside the walk leaves the terminal as it was."""
    child = _spawn("crash")
    child.expect_exact("RuntimeError: meant by the test")
    child.expect(pexpect.EOF)
    assert _is_cooked(child)
    _close(child)


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP])
def test_the_terminal_is_put_back_when_the_program_is_ended(
    walker: pexpect.spawn, number: signal.Signals
) -> None:
    """SIGTERM and SIGHUP still end the program as they would, after the terminal is restored."""
    os.kill(walker.pid, number)
    walker.wait()
    assert (walker.signalstatus, _is_cooked(walker)) == (number, True)


def test_ctrl_c_still_interrupts(walker: pexpect.spawn) -> None:
    """Ctrl-C keeps its meaning and leaves the terminal as it was."""
    walker.sendintr()
    walker.expect_exact("KeyboardInterrupt")
    walker.expect(pexpect.EOF)
    assert _is_cooked(walker)


def test_ctrl_z_gives_the_terminal_back_and_fg_takes_it_again() -> None:
    """Stopped by Ctrl-Z the terminal is as it was; after fg in a real shell the keys act again."""
    shell = pexpect.spawn(
        "bash",
        ["--norc", "--noprofile"],
        env={**os.environ, "PYTHONPATH": ROOT, "PS1": "shell> ", "TERM": "dumb"},
        timeout=60,
    )
    shell.delaybeforesend = None
    shell.expect_exact("shell> ")
    shell.sendline(f"{sys.executable} {WALKER}")
    shell.expect_exact("READY\r\n")
    shell.send("\x1a")
    shell.expect("Stopped")
    shell.expect_exact("shell> ")
    shell.sendline("stty -a | tr ' ' '\\n' | grep -x -e echo -e -echo")
    shell.expect_exact("\r\necho\r\n")
    shell.sendline("fg")
    shell.expect("terminal_walker.py\r\n")
    time.sleep(0.3)
    shell.send("d")
    shell.expect_exact("COMMAND done\r\n")
    assert b"d" not in shell.before
    shell.send("q")
    shell.expect_exact("ENDED\r\n")
    shell.expect_exact("shell> ")
    _close(shell)


def test_pasted_text_is_no_keys(walker: pexpect.spawn) -> None:
    """What came at once would confirm many steps; a line of words may be pasted all the same."""
    walker.send("dandelion and madder " * 200)
    walker.expect_exact("many came at once")
    time.sleep(2 * PASTE_SECONDS)
    walker.send(":accept " + "a broken end " * 5 + "\r")
    walker.expect_exact("COMMAND accept a broken end")
    assert b"COMMAND" not in walker.before
    walker.send("b")
    walker.expect_exact("COMMAND back")


def test_a_closed_terminal_ends_the_keys() -> None:
    """When the terminal itself goes away the source ends quietly."""
    ours, theirs = pty.openpty()
    keyboard = Keyboard(keyboard_bindings({}), Timing(), 0.3, has_letters=True)
    keys = TerminalKeys(keyboard, lambda _: None, theirs)
    os.close(ours)
    commands: list[str] = []
    keys.run(commands.append)
    assert commands == []
    os.close(theirs)


def test_a_pipe_is_no_terminal() -> None:
    """Reading keys from a pipe is refused with what to do instead."""
    read_end, write_end = os.pipe()
    keyboard = Keyboard(keyboard_bindings({}), Timing(), 0.3, has_letters=True)
    with pytest.raises(PedalError, match="Expected a terminal to read keys from"):
        TerminalKeys(keyboard, lambda _: None, read_end)
    os.close(read_end)
    os.close(write_end)
