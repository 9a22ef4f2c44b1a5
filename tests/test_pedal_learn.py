"""Learning a pedal: the dialogue line by line, and whole presses from real descriptors."""

from __future__ import annotations

import os
import pty
import threading
import time
import tty
from contextlib import closing
from functools import partial
from typing import TYPE_CHECKING, NamedTuple

import front_door
import pytest
from front_door import run
from pedal_fakes import KEYBOARD, PEDAL, FakeBackend, FakeDevice

from companion.devices.pedal.keys import KeyChange
from companion.devices.pedal.learn import Learnt, Press, kept, learn, learn_switch
from companion.devices.pedal.presses import PedalPresses, terminal_press
from companion.settings import Settings, set_value

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path


class _Scripted:
    """Presses written down beforehand."""

    def __init__(self, *presses: str | Press) -> None:
        self._presses = [
            press if isinstance(press, Press) else Press((press,)) for press in presses
        ]

    def __call__(self) -> Press | None:
        return self._presses.pop(0) if self._presses else None


def test_three_pedals_are_learnt_and_confirmed() -> None:
    """Each pedal is asked for in turn, told back, and kept after a last press."""
    said: list[str] = []
    learnt = learn(_Scripted("f13", "f14", "f15", "f13"), said.append)
    assert learnt == Learnt({"f13": "done", "f14": "back", "f15": "repeat"})
    assert said == [
        "Press the pedal for done once. Escape leaves it out.",
        "The key f13 is now done.",
        "Press the pedal for back once. Escape leaves it out.",
        "The key f14 is now back.",
        "Press the pedal for repeat once. Escape leaves it out.",
        "The key f15 is now repeat.",
        "Learnt: f13 is done, f14 is back, f15 is repeat.",
        "Press f13 once more to keep this, or Escape to leave all as it was.",
    ]


def test_one_switch_is_learnt_by_its_presses_alone() -> None:
    """No Escape is needed. Typed, it tells no hold; read by itself, a hold reads the choices."""
    said: list[str] = []
    assert learn_switch(_Scripted("f13", "f13"), said.append) == Learnt({"f13": "done"})
    assert said[0] == "Press your switch once for done."
    press = Press(("f13",), "1234:abcd")
    learnt = learn_switch(_Scripted(press, press), said.append)
    assert learnt == Learnt({"f13": "done", "f13 hold": "choices"}, "1234:abcd")
    assert kept(Settings(), learnt).pedal.bindings == learnt.bindings
    assert learn_switch(_Scripted(press), said.append) is None


@pytest.mark.parametrize(
    ("dwell", "told"),
    [
        ("2", "each for 2 seconds, the first for 3: a press takes the one just said. After 2"),
        ("0", "then a press moves on, and those take."),
    ],
)
def test_the_command_learns_one_switch(tmp_path: Path, dwell: str, told: str) -> None:
    """In a terminal: two presses, and it says what they do from now on."""
    arguments = ("pedal", "learn", "--one-switch", "--dwell", dwell)
    with closing(front_door.terminal(tmp_path, *arguments)) as learning:
        learning.expect_exact("Press your switch once for done.")
        time.sleep(0.5)  # until the terminal gives its keys one by one
        learning.send("\x1b[25~")
        learning.expect_exact("Press f13 once more to keep this")
        time.sleep(1.0)
        learning.send("\x1b[25~")
        learning.expect_exact(told)
        learning.expect_exact("Kept in")
    shown = run(tmp_path, "settings", "walk.scan_seconds").stdout
    assert shown.startswith(f"walk.scan_seconds: {float(dwell)}")
    assert "f13" in run(tmp_path, "settings", "keys.bindings").stdout


def test_one_pedal_cannot_mean_two_things() -> None:
    """A pedal pressed for a second command is refused by name and another is asked for."""
    said: list[str] = []
    learnt = learn(_Scripted("f13", "f13", "f14", "escape", "f13"), said.append)
    assert learnt == Learnt({"f13": "done", "f14": "back"})
    assert "The key f13 is done already. Press another pedal." in said
    assert "No pedal for repeat." in said


@pytest.mark.parametrize(
    ("odd", "told"),
    [
        (Press(("d", "o", "enter")), "That sent 3 keys at once: d, o, enter."),
        (Press(("unknown",)), "That sent something that is no key known here."),
    ],
)
def test_presses_that_cannot_be_taken_are_explained(odd: Press, told: str) -> None:
    """A pedal that types a word or something unknown is refused, with what to do."""
    said: list[str] = []
    assert learn(_Scripted(odd, "f13", "f13"), said.append, ["done"]) == Learnt({"f13": "done"})
    assert said[1].startswith(told)


def test_pedals_of_two_devices_are_not_mixed() -> None:
    """A second device's press is refused: one pedal is read, not all keyboards."""
    said: list[str] = []
    first = Press(("f13",), "1234:abcd")
    other = Press(("f14",), "4321:dcba")
    learnt = learn(_Scripted(first, other, "escape", first), said.append, ["done", "back"])
    assert learnt == Learnt({"f13": "done"}, "1234:abcd")
    assert "That came from another device than the first pedal. Press a pedal of the first." in said


@pytest.mark.parametrize(
    "presses",
    [[], ["f13"], ["f13", "escape"], ["escape"], ["f13", "f20", "escape"]],
)
def test_nothing_changes_without_confirmation(presses: list[str]) -> None:
    """Escape, or no more presses, leaves everything as it was and says so."""
    said: list[str] = []
    assert learn(_Scripted(*presses), said.append, ["done"]) is None
    assert said[-1] == "Nothing was changed."


def test_what_was_learnt_goes_into_the_settings() -> None:
    """A kernel pedal is kept with its device; its old keys for the same commands are dropped."""
    settings = set_value(Settings(), "pedal.bindings.f20", "done")
    settings = set_value(settings, "pedal.bindings.f21", "pause")
    changed = kept(settings, Learnt({"f13": "done"}, "1234:abcd"))
    assert changed.pedal.device == "1234:abcd"
    assert changed.pedal.bindings == {"f21": "pause", "f13": "done"}
    assert changed.keys == settings.keys


def test_a_typing_pedal_goes_under_the_keys() -> None:
    """A pedal learnt through the terminal becomes keys of the terminal."""
    changed = kept(Settings(), Learnt({"f13": "done"}))
    assert (changed.keys.bindings, changed.pedal) == ({"f13": "done"}, Settings().pedal)


class _Pty(NamedTuple):
    ours: int
    theirs: int


@pytest.fixture
def terminal() -> Iterator[_Pty]:
    """A pseudo-terminal whose keys come one by one."""
    ours, theirs = pty.openpty()
    tty.setcbreak(theirs)
    yield _Pty(ours, theirs)
    os.close(ours)
    os.close(theirs)


def test_a_held_pedal_is_one_press(terminal: _Pty) -> None:
    """All the repeats of a held key are one press, and the next press stands alone."""
    press = partial(terminal_press, terminal.theirs, quiet_seconds=0.15)

    def hold() -> None:
        for _ in range(10):
            os.write(terminal.ours, b"\x1b[25~")
            time.sleep(0.03)
        time.sleep(0.4)
        os.write(terminal.ours, b"b")

    thread = threading.Thread(target=hold)
    thread.start()
    assert (press(), press()) == (Press(("f13",)), Press(("b",)))
    thread.join()


def test_a_pedal_that_types_a_word_is_seen_to(terminal: _Pty) -> None:
    """All keys of a burst are in one press; Ctrl-D ends."""
    press = partial(terminal_press, terminal.theirs, quiet_seconds=0.05)
    os.write(terminal.ours, b"done\r")
    assert press() == Press(("d", "o", "n", "e", "enter"))
    os.write(terminal.ours, b"\x04")
    assert press() is None


def test_a_kernel_pedal_tells_its_device(terminal: _Pty) -> None:
    """A press on an event device carries the device; what it also typed is not a second press."""
    pedal, keyboard = FakeDevice(), FakeDevice()
    backend = FakeBackend({PEDAL: pedal, KEYBOARD: keyboard})
    presses = PedalPresses(backend.devices(), terminal.theirs, backend, quiet_seconds=0.05)
    pedal.tap("f13")
    os.write(terminal.ours, b"\x1b[25~")
    assert presses.next() == Press(("f13",), "1234:abcd")
    keyboard.tap("escape")
    os.write(terminal.ours, b"\x1b")
    assert presses.next() == Press(("escape",), "4321:dcba")
    pedal.change("f14", KeyChange.PRESS)
    threading.Timer(0.2, pedal.change, ("f14", KeyChange.RELEASE)).start()
    assert presses.next() == Press(("f14",), "1234:abcd")
    pedal.close()
    keyboard.close()


def test_a_pedal_pulled_out_while_learning_ends_it(terminal: _Pty) -> None:
    """With no device left there are no more presses."""
    pedal = FakeDevice()
    backend = FakeBackend({PEDAL: pedal})
    presses = PedalPresses(backend.devices(), terminal.theirs, backend, quiet_seconds=0.05)
    pedal.unplug()
    assert presses.next() is None


def test_devices_that_may_not_be_read_are_left_out(terminal: _Pty) -> None:
    """Where nothing may be opened the learner can say so before asking for presses."""
    backend = FakeBackend({PEDAL: FakeDevice()}, {PEDAL})
    presses = PedalPresses(backend.devices(), terminal.theirs, backend)
    assert presses.is_empty
