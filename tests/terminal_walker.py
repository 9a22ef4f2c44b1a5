"""A program under test: keys of a real terminal, printed one line each."""

from __future__ import annotations

import sys
import threading

from companion.devices.pedal.gesture import Timing
from companion.devices.pedal.table import keyboard_bindings
from companion.devices.pedal.terminal import TerminalKeys
from companion.devices.pedal.typed import Keyboard


def _line(text: str) -> None:
    sys.stdout.write(f"{text}\n")
    sys.stdout.flush()


def main() -> None:
    """Print commands until stop; "crash" in the arguments raises inside instead."""
    keyboard = Keyboard(keyboard_bindings({}), Timing(), 0.3, has_letters=True)
    keys = TerminalKeys(keyboard, lambda text: _line(f"LINE {text}"))
    stopped = threading.Event()

    def emit(text: str) -> None:
        _line(f"COMMAND {text}")
        if text == "stop":
            stopped.set()

    with keys.mode():
        thread = threading.Thread(target=keys.run, args=(emit,))
        thread.start()
        try:
            _line("READY")
            if "crash" in sys.argv:
                raise RuntimeError("meant by the test")
            stopped.wait()
        finally:
            keys.stop()
            thread.join()
    _line("ENDED")


if __name__ == "__main__":
    main()
