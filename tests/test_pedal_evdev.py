"""A pedal read from the kernel: chosen, grabbed, lost, found again; on hand-written devices.

No machine with /dev/uinput was at hand, so the one test on a real kernel device skips there.
"""

from __future__ import annotations

import queue
import threading
import time
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from pedal_fakes import KEYBOARD, PEDAL, PEDAL_MOUSE, FakeBackend, FakeDevice

from companion.base.errors import PedalError
from companion.devices.pedal.devices import InputDevice, choose, list_devices
from companion.devices.pedal.evdev_device import key_name
from companion.devices.pedal.evdev_pedal import EvdevPedal
from companion.devices.pedal.gesture import Timing
from companion.devices.pedal.keys import KeyChange, QuickText
from companion.devices.pedal.table import Bindings

if TYPE_CHECKING:
    from collections.abc import Iterator

BINDINGS = Bindings({"f13": "done", "f14": "back", "f15": "done", "f15 hold": "repeat"})


class _Ear:
    """Collects commands and lines in the order they come."""

    def __init__(self) -> None:
        self._heard: queue.Queue[str] = queue.Queue()

    def __call__(self, text: str) -> None:
        self._heard.put(text)

    def next(self) -> str:
        return self._heard.get(timeout=5)

    def is_quiet(self) -> bool:
        try:
            self._heard.get(timeout=0.2)
        except queue.Empty:
            return True
        return False


def _pedal(backend: FakeBackend, show: _Ear, wanted: str = "1234:abcd") -> EvdevPedal:
    return EvdevPedal(wanted, BINDINGS, Timing(), 0.3, show, backend=backend, retry_seconds=(0.01,))


@contextmanager
def _running(pedal: EvdevPedal) -> Iterator[_Ear]:
    commands = _Ear()
    thread = threading.Thread(target=pedal.run, args=(commands,))
    thread.start()
    try:
        yield commands
    finally:
        pedal.stop()
        thread.join(timeout=5)
        assert not thread.is_alive()


def test_presses_become_commands() -> None:
    """Each pedal gives its command, and the same one twice at once only once."""
    device = FakeDevice()
    pedal = _pedal(FakeBackend({PEDAL: device}), _Ear())
    pedal.connect()
    with _running(pedal) as commands:
        device.tap("f13")
        device.tap("f14")
        device.tap("f13")
        assert (commands.next(), commands.next()) == ("done", "back")
        assert commands.is_quiet()


@pytest.mark.parametrize(("gap", "given"), [(0.2, 1), (0.4, 2)])
def test_quick_presses_and_a_hold_ask_for_the_choices(gap: float, given: int) -> None:
    """With how many of the presses were given as done before; a fourth one gives nothing."""
    device = FakeDevice()
    bindings = Bindings({"f13": "done", "f13 hold": "choices"})
    pedal = EvdevPedal(
        "1234:abcd", bindings, Timing(), 0.3, _Ear(), backend=FakeBackend({PEDAL: device})
    )
    pedal.connect()
    with _running(pedal) as commands:
        now = time.monotonic() - 4
        device.taps("f13", *(now + number * gap for number in range(4)))
        assert [commands.next() for _ in range(given)] == ["done"] * given
        choices = commands.next()
        assert isinstance(choices, QuickText)
        assert (choices, choices.quick) == ("choices", given)
        device.change("f13", KeyChange.PRESS)
        assert commands.next() == "choices"
        assert commands.is_quiet()


def test_a_hold_comes_without_further_events() -> None:
    """A held pedal acts when its time has come, though the device says nothing more."""
    device = FakeDevice()
    pedal = _pedal(FakeBackend({PEDAL: device}), _Ear())
    pedal.connect()
    with _running(pedal) as commands:
        device.change("f15", KeyChange.PRESS)
        assert commands.next() == "repeat"


def test_all_event_devices_of_one_pedal_are_heard() -> None:
    """A pedal that is a keyboard and a mouse in one is read as both, and nothing else is."""
    keys, mouse, other = FakeDevice(), FakeDevice(), FakeDevice()
    pedal = _pedal(FakeBackend({PEDAL: keys, PEDAL_MOUSE: mouse, KEYBOARD: other}), _Ear())
    pedal.connect()
    with _running(pedal) as commands:
        other.tap("f13")
        mouse.tap("f14")
        assert commands.next() == "back"
        assert commands.is_quiet()
        assert (keys.is_grabbed, mouse.is_grabbed, other.is_grabbed) == (True, True, False)


def test_a_vanished_pedal_is_waited_for() -> None:
    """A pedal pulled out is said to be gone, found again, and then works."""
    first, again, show = FakeDevice(), FakeDevice(), _Ear()
    backend = FakeBackend({PEDAL: first})
    pedal = _pedal(backend, show)
    pedal.connect()
    with _running(pedal) as commands:
        del backend.plugged[PEDAL]
        first.unplug()
        assert show.next() == "The pedal is gone. The walk goes on by key and voice."
        assert first.is_closed
        backend.plugged[PEDAL] = again
        assert show.next() == "The pedal is back."
        again.tap("f13")
        assert commands.next() == "done"


def test_a_hold_begun_before_the_pedal_vanished_is_dropped() -> None:
    """Pulling the plug with the foot down gives no command."""
    device, show = FakeDevice(), _Ear()
    backend = FakeBackend({PEDAL: device})
    pedal = _pedal(backend, show)
    pedal.connect()
    with _running(pedal) as commands:
        device.change("f15", KeyChange.PRESS)
        del backend.plugged[PEDAL]
        device.unplug()
        assert show.next().startswith("The pedal is gone")
        assert commands.is_quiet()


def test_lost_events_forget_what_was_down() -> None:
    """When the kernel drops events a release may be among them: nothing stays held."""
    device = FakeDevice()
    pedal = _pedal(FakeBackend({PEDAL: device}), _Ear())
    pedal.connect()
    with _running(pedal) as commands:
        device.change("f15", KeyChange.PRESS)
        device.lose_events()
        assert commands.is_quiet()
        device.tap("f13")
        assert commands.next() == "done"


def test_a_pedal_held_by_another_program_still_works() -> None:
    """Where the grab is refused, that is said and the pedal is read all the same."""
    device, show = FakeDevice(is_taken=True), _Ear()
    pedal = _pedal(FakeBackend({PEDAL: device}), show)
    pedal.connect()
    assert show.next().startswith("Another program holds the pedal too")
    with _running(pedal) as commands:
        device.tap("f13")
        assert commands.next() == "done"


def test_an_unbound_pedal_key_says_how_to_bind_it() -> None:
    """A pedal that means nothing yet is answered."""
    device, show = FakeDevice(), _Ear()
    pedal = _pedal(FakeBackend({PEDAL: device}), show)
    pedal.connect()
    with _running(pedal):
        device.tap("f20")
        assert show.next() == "The pedal's key f20 means nothing yet. Run companion pedal learn."


def test_a_forbidden_pedal_tells_the_narrow_rule() -> None:
    """Without permission the weaver gets one udev line for this device alone."""
    pedal = _pedal(FakeBackend({PEDAL: FakeDevice()}, {PEDAL}), _Ear())
    with pytest.raises(PedalError) as caught:
        pedal.connect()
    rule = next(line for line in str(caught.value).splitlines() if line.startswith("SUBSYSTEM"))
    assert rule == (
        'SUBSYSTEM=="input", KERNEL=="event*", ATTRS{idVendor}=="1234", '
        'ATTRS{idProduct}=="abcd", TAG+="uaccess"'
    )


@pytest.mark.parametrize(
    ("wanted", "told"),
    [
        ("", "Expected a pedal as vendor:product or name"),
        ("9999:0000", "No pedal matching 9999:0000 is plugged in"),
        ("Harmonium", "No pedal matching Harmonium is plugged in"),
        ("r", "More than one device matches r. Choose one of: 4321:dcba Ordinary Keyboard"),
    ],
)
def test_a_choice_that_fits_none_or_several_lists_them(wanted: str, told: str) -> None:
    """What was asked for, what there is, and what to do stand in one line."""
    with pytest.raises(PedalError) as caught:
        choose(wanted, (KEYBOARD, PEDAL, PEDAL_MOUSE))
    assert str(caught.value).startswith(told)
    assert wanted == "" or "1234:abcd Three Pedal Switch" in str(caught.value)


def test_a_pedal_is_chosen_by_name_or_number() -> None:
    """Name parts and vendor:product, in any case, choose all of a pedal's event devices."""
    everything = (KEYBOARD, PEDAL, PEDAL_MOUSE)
    assert choose("pedal", everything) == (PEDAL, PEDAL_MOUSE)
    assert choose("1234:ABCD", everything) == (PEDAL, PEDAL_MOUSE)


def test_devices_are_read_from_sysfs(tmp_path: Path) -> None:
    """The list comes from sysfs, in the order of the event numbers, readable or not."""
    for number, name in ((10, "Pedal"), (2, "Keyboard")):
        folder = tmp_path / f"event{number}" / "device"
        (folder / "id").mkdir(parents=True)
        (folder / "name").write_text(f"{name}\n")
        (folder / "id/vendor").write_text("05f3\n")
        (folder / "id/product").write_text("00ff\n")
    assert list_devices(tmp_path, Path("/dev/input")) == (
        InputDevice("/dev/input/event2", "Keyboard", "05f3", "00ff"),
        InputDevice("/dev/input/event10", "Pedal", "05f3", "00ff"),
    )
    assert list_devices(tmp_path / "nowhere") == ()


def test_kernel_key_names_are_ours() -> None:
    """The kernel's names become the terminal's, and no two keys share one."""
    ecodes = pytest.importorskip("evdev").ecodes
    names = [key_name(found) for found in ecodes.bytype[ecodes.EV_KEY].values()]
    assert len(names) == len(set(names))
    codes = (ecodes.KEY_A, ecodes.KEY_PAGEDOWN, ecodes.KEY_F13, ecodes.KEY_ESC, ecodes.KEY_ENTER)
    assert [key_name(ecodes.bytype[ecodes.EV_KEY][code]) for code in codes] == [
        "a",
        "page down",
        "f13",
        "escape",
        "enter",
    ]
    assert key_name(ecodes.bytype[ecodes.EV_KEY][ecodes.BTN_LEFT]) == "button left"


@pytest.mark.skipif(not Path("/dev/uinput").exists(), reason="no /dev/uinput on this machine")
def test_a_real_kernel_device_is_read() -> None:
    """A keyboard made with uinput is found by name, grabbed, and its press is heard."""
    evdev = pytest.importorskip("evdev")
    name = "companion test pedal"
    with evdev.UInput({evdev.ecodes.EV_KEY: [evdev.ecodes.KEY_F13]}, name=name) as made:
        pedal = EvdevPedal(name, BINDINGS, Timing(), 0.3, _Ear())
        pedal.connect()
        with _running(pedal) as commands:
            made.write(evdev.ecodes.EV_KEY, evdev.ecodes.KEY_F13, 1)
            made.write(evdev.ecodes.EV_KEY, evdev.ecodes.KEY_F13, 0)
            made.syn()
            assert commands.next() == "done"
