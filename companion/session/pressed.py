"""What is pressed: the keys of the terminal and the foot pedal, as the settings want them."""

from companion.base.errors import PedalError
from companion.base.lines import Tell
from companion.command import parsed
from companion.devices.pedal.evdev_pedal import EvdevPedal
from companion.devices.pedal.gesture import Timing
from companion.devices.pedal.table import Bindings, keyboard_bindings, parse_key
from companion.devices.pedal.terminal import TerminalKeys
from companion.devices.pedal.typed import Keyboard
from companion.session.inputs import DeviceSource, InputSource
from companion.settings import Settings
from companion.wording import notices


def keys(settings: Settings, tell: Tell) -> TerminalKeys:
    """Return the keys of the terminal, as they are set."""
    wanted, language = settings.keys, settings.hearing.language
    keyboard = Keyboard(
        keyboard_bindings(wanted.bindings, has_letters=wanted.letters),
        Timing(),
        wanted.dead_time_seconds,
        has_letters=wanted.letters,
        own=[parse_key(key)[0] for key in wanted.bindings],
        is_command=lambda text: parsed(text, language) is not None,
    )
    return TerminalKeys(keyboard, tell)


def pedal(settings: Settings, tell: Tell) -> list[InputSource]:
    """Return the pedal; where it cannot be used the walk goes on without it."""
    wanted = settings.pedal
    try:
        foot = EvdevPedal(
            wanted.device,
            Bindings(wanted.bindings),
            Timing(hold_seconds=wanted.hold_seconds, double_seconds=wanted.double_seconds),
            wanted.dead_time_seconds,
            tell,
            is_grabbed=wanted.grab,
        )
        foot.connect()
    except PedalError as error:
        tell(notices.no_pedal(str(error)))
        return []
    return [DeviceSource(foot, "key" if wanted.by_hand else "pedal")]
