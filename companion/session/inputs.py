"""What the weaver gives, from wherever it comes, as one kind of event on one queue."""

import queue
import threading
from collections.abc import Callable
from typing import IO, Literal, NamedTuple, Protocol

from companion.base.errors import CompanionError
from companion.base.lines import TOO_LONG, read_lines
from companion.devices.pedal.keys import CommandSource, QuickText, TurnedText
from companion.guide.messages import Mode
from companion.record import Source
from companion.wording import notices


class Input(NamedTuple):
    """One event for the walk."""

    kind: Literal["command", "notice", "refused", "closed"]
    """A command's words; a plain message from a device; a sound that was no command, told by a
    tone and in print; or the end of a source."""
    text: str
    source: Source
    asks_back: bool = False
    """Whether the weaver must say yes before it is acted on."""
    is_due: Callable[[], bool] | None = None
    """Asked when its turn has come: whether the step it was given for is still the present one.
    None takes whatever step is present."""
    quick: int = 0
    """How many commands of its source just before it were quick presses that meant this one."""
    gave: str = ""
    """What each of those gave, so that no other command between them counts; "" is anything."""


Inbox = queue.Queue[Input]


class InputSource(Protocol):
    """Something that puts Inputs in the inbox from a thread of its own."""

    def start(self, inbox: Inbox) -> None:
        """Begin; must not block."""

    def follow(self, mode: Mode, largest_end: int) -> None:
        """Learn what the walk waits for now, and the last end of its stage; must not block."""

    def close(self) -> None:
        """End, and give the device back; safe to call twice."""


class _InThread:
    """A source with a thread of its own."""

    def __init__(self, source: Source) -> None:
        self._source = source

    def start(self, inbox: Inbox) -> None:
        """Begin in a daemon thread: a blocked read must not keep the program alive."""
        name = self._source
        threading.Thread(target=self._run, args=(inbox,), name=name, daemon=True).start()

    def _run(self, inbox: Inbox) -> None:
        raise NotImplementedError

    def follow(self, mode: Mode, largest_end: int) -> None:
        """Anything may come from it at any time."""

    def close(self) -> None:
        """Nothing is to be given back."""


class LineSource(_InThread):
    """Lines of text, one command each, until the stream ends, which belongs to the caller."""

    def __init__(self, stream: IO[str]) -> None:
        super().__init__("line")
        self._stream = stream

    def _run(self, inbox: Inbox) -> None:
        try:
            for line in read_lines(self._stream):
                if line is None:
                    inbox.put(Input("refused", TOO_LONG, "line"))
                elif (text := line.strip()) and not text.startswith("#"):
                    inbox.put(Input("command", text, "line"))
        except (OSError, ValueError) as error:
            inbox.put(Input("notice", notices.lines_lost(str(error)), "line"))
        inbox.put(Input("closed", "", "line"))


class DeviceSource(_InThread):
    """Keys or a pedal; a fault of the device becomes a notice, never the end of the walk."""

    def __init__(self, device: CommandSource, source: Source) -> None:
        super().__init__(source)
        self._device = device

    def _run(self, inbox: Inbox) -> None:
        try:
            self._device.run(lambda text: inbox.put(self._input(text)))
        except CompanionError as error:
            inbox.put(Input("notice", str(error), self._source))
        inbox.put(Input("closed", "", self._source))

    def _input(self, text: str) -> Input:
        quick, gave = (text.quick, text.gave) if isinstance(text, QuickText) else (0, "")
        source: Source = "pedal" if isinstance(text, TurnedText) else self._source
        return Input("command", text, source, quick=quick, gave=gave)

    def close(self) -> None:
        """Let the device go."""
        self._device.stop()


class LateSource(_InThread):
    """A source made in a thread of its own, since that takes a while; a fault is a notice."""

    def __init__(self, make: Callable[[], InputSource], source: Source) -> None:
        super().__init__(source)
        self._make = make
        self._lock = threading.Lock()
        self._made: InputSource | None = None
        self._is_closed = False
        self._wanted: tuple[Mode, int] | None = None

    def _run(self, inbox: Inbox) -> None:
        try:
            made = self._make()
        except CompanionError as error:
            inbox.put(Input("notice", str(error), self._source))
            inbox.put(Input("closed", "", self._source))
            return
        with self._lock:
            if self._is_closed:
                return
            self._made = made
            if self._wanted is not None:
                made.follow(*self._wanted)
            made.start(inbox)

    def follow(self, mode: Mode, largest_end: int) -> None:
        """Pass it on, now or once it is made."""
        with self._lock:
            self._wanted = (mode, largest_end)
            if self._made is not None:
                self._made.follow(mode, largest_end)

    def close(self) -> None:
        """Close it, or never start it."""
        with self._lock:
            self._is_closed = True
        if self._made is not None:
            self._made.close()
