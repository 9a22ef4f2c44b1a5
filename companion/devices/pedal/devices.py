"""Which input devices Linux knows, read from sysfs, which anybody may read.

So a pedal that may not be opened is still found by name, and the reader can say what to install.
"""

import re
from pathlib import Path

from companion.base.errors import PedalError
from companion.base.value import Value

SYSFS_INPUT = Path("/sys/class/input")
DEV_INPUT = Path("/dev/input")
RULE_FILE = "/etc/udev/rules.d/70-companion-pedal.rules"
"""Before 73-seat-late.rules, where systemd turns the uaccess tag into a permission."""

_IDENTITY = re.compile(r"([0-9a-fA-F]{4}):([0-9a-fA-F]{4})")


class AbsentPedalError(PedalError):
    """The pedal is not plugged in (now)."""


class InputDevice(Value):
    """One event device; a pedal may have several."""

    path: str
    name: str
    vendor: str
    """Four hexadecimal digits, lower case."""
    product: str

    @property
    def identity(self) -> str:
        """The device's "vendor:product"."""
        return f"{self.vendor}:{self.product}"

    def matches(self, wanted: str) -> bool:
        """Say whether `wanted` is this device's vendor:product or a part of its name."""
        if _IDENTITY.fullmatch(wanted):
            return wanted.lower() == self.identity
        return wanted.lower() in self.name.lower()

    def __str__(self) -> str:
        return f"{self.identity} {self.name}"


def list_devices(sysfs: Path = SYSFS_INPUT, dev: Path = DEV_INPUT) -> tuple[InputDevice, ...]:
    """Return every event device, in the order of its number; none where there is no sysfs."""
    nodes = sorted(sysfs.glob("event*"), key=lambda node: (len(node.name), node.name))
    return tuple(
        InputDevice(
            path=str(dev / node.name),
            name=_read(node / "device/name"),
            vendor=_read(node / "device/id/vendor"),
            product=_read(node / "device/id/product"),
        )
        for node in nodes
    )


def _read(path: Path) -> str:
    try:
        return path.read_text(errors="replace").strip()
    except OSError:  # it went away while we looked
        return ""


def choose(wanted: str, devices: tuple[InputDevice, ...]) -> tuple[InputDevice, ...]:
    """Return the event devices of the one pedal that a "vendor:product" or part of a name means.

    Raises PedalError, which lists the choices, where none or more than one pedal fits.
    """
    if not wanted.strip():
        raise PedalError(
            "Expected a pedal as vendor:product or name, and none is set. "
            "Run companion pedal learn, or set pedal.device."
        )
    found = tuple(device for device in devices if device.matches(wanted.strip()))
    kinds = {device.identity for device in found}
    if len(kinds) == 1:
        return found
    choices = "; ".join(dict.fromkeys(str(device) for device in (found or devices)))
    if not found:
        raise AbsentPedalError(
            f"No pedal matching {wanted} is plugged in. "
            f"Plug it in, or choose one of: {choices or 'none found'}."
        )
    raise PedalError(f"More than one device matches {wanted}. Choose one of: {choices}.")


def permission_help(device: InputDevice) -> str:
    """Return what to do where the pedal may not be read: a rule for this one device only."""
    rule = (
        f'SUBSYSTEM=="input", KERNEL=="event*", ATTRS{{idVendor}}=="{device.vendor}", '
        f'ATTRS{{idProduct}}=="{device.product}", TAG+="uaccess"'
    )
    return (
        f"The pedal {device} may not be read by you. As root, put this one line in {RULE_FILE}:\n"
        f"{rule}\n"
        "then run: udevadm control --reload\n"
        "and plug the pedal in again."
    )
