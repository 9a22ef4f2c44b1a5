"""The keyboard in front of the weaver, as a pure machine: key names and times to commands.

How typing works:

- A key of the table acts at once.
- A digit starts a number; Enter or space ends it as a count, and a few letters end it as something
  else (`table.NUMBER_ENDS`): `24` Enter is "count 24", `24b` is "rewind 24". Several numbers
  parted by commas, `1,2,3,4` Enter, are the row "1 2 3 4".
- `:` or `/` starts a line in words, Enter ends it: `:read back group 3` Enter. While letters are
  off, any letter starts a line by itself, and only Enter and space end a number.
- A word struck letter by letter, each soon after the one before, and ended by Enter is that word:
  what its letters did as keys is taken back. `back` Enter is "back", and not four commands.
- Backspace takes back a character, Escape clears what was typed. Keys that type nothing (page
  down, F13 ...) act meanwhile, so a pedal works in the middle of a number.

Nothing is drawn while typing; the finished line is echoed once, whole.
"""

import math
import re
from collections.abc import Callable, Iterable
from typing import Literal, NamedTuple

from companion.base.lines import MOST, TOO_LONG
from companion.devices.pedal.gesture import Act, Gesture, Tempo, Timing, TypedReader
from companion.devices.pedal.keys import KeyChange, KeyEvent, QuickText, TurnedText
from companion.devices.pedal.table import NUMBER_ENDS, Bindings

PAGE_TURNERS = frozenset({"page down", "page up"})
"""Keys that a page-turning pedal sends where nothing else was taught."""

_LINE_STARTS = frozenset(":/")
_WORD_SECONDS = 1.5
"""The longest time from letter to letter of a word. Our own choice: two fingers find most letters
in half of it, and keys pressed for themselves seldom spell a command."""


class Output(NamedTuple):
    """Something for the outside: a command, or a line to show."""

    kind: Literal["command", "line"]
    text: str


class Keyboard:
    """Turns the keys of a terminal into the text of commands; only single presses count.

    Args:
        bindings: the key table.
        timing: limits in seconds.
        dead_time_seconds: how long the same key or command is refused after it acted.
        has_letters: whether single letters act at once; else they start a typed line.
        own: keys the weaver has bound herself, which are known to be pressed by hand.
        is_command: whether words are a command, for words that are struck letter by letter.
    """

    def __init__(
        self,
        bindings: Bindings,
        timing: Timing,
        dead_time_seconds: float,
        *,
        has_letters: bool,
        own: Iterable[str] = (),
        is_command: Callable[[str], bool] = lambda _: False,
    ) -> None:
        self._bindings = bindings
        self._reader = TypedReader(timing)
        self._tempo = Tempo(dead_time_seconds)
        self._has_letters = has_letters
        self._turners = PAGE_TURNERS.difference(own)
        self._typed: str | None = None
        self._is_command = is_command
        self._struck, self._struck_at, self._given = "", -math.inf, 0

    def press(self, key: str, time: float) -> list[Output]:
        """Take one key, named as `KeyDecoder` names it, at `time` seconds."""
        outputs = self.tick(time)
        self._strike(key, time)
        if self.takes_text(key):
            return outputs + self._type(key)
        name = key.lower()  # so that Caps Lock changes nothing
        acts = self._reader.feed(KeyEvent(name, KeyChange.PRESS, time))
        return outputs + [output for act in acts for output in self._act(act)]

    def _strike(self, key: str, time: float) -> None:
        """Note a key that may belong to a word struck letter by letter."""
        is_late = time - self._struck_at > _WORD_SECONDS
        text = {"space": " ", "enter": ""}.get(key, key)
        if is_late or len(text) > 1 or not self._struck or (self._typed or "").startswith(" "):
            self._struck, self._given = "", 0
        self._struck_at = time
        self._struck = (self._struck + text).lstrip()

    def _word(self) -> QuickText | None:
        """Return the word that Enter ends, where the keys struck before it spell a command."""
        word, self._struck = self._struck, ""
        is_word = self._given and len(word) > 1 and word[0].isalpha() and self._is_command(word)
        return QuickText(word, self._given) if is_word else None

    def tick(self, now: float) -> list[Output]:
        """Return what the passing of time alone has decided by `now`."""
        return [output for act in self._reader.tick(now) for output in self._act(act)]

    def deadline(self) -> float:
        """Return when `tick` will next have something to say; infinity for never."""
        return self._reader.deadline()

    def takes_text(self, key: str) -> bool:
        """Say whether `key` belongs to a typed line rather than to the table."""
        if self._typed is not None:
            is_text = len(key) == 1 or key in {"space", "backspace", "escape"}
            return is_text and self._number_end(key.lower()) is None
        if self._bindings.command(key.lower()) is not None or len(key) != 1:
            return False
        return key.isdecimal() or key in _LINE_STARTS or not self._has_letters

    def _number_end(self, key: str) -> str | None:
        """Return what `key` makes of the number typed so far; None where it makes nothing."""
        if self._typed is None or not self._typed.isdecimal():
            return None
        is_able = self._has_letters or len(key) > 1
        return NUMBER_ENDS.get(key) if is_able else None

    def _type(self, key: str) -> list[Output]:
        if self._typed is None:
            self._typed = " " if key in _LINE_STARTS else key  # no number ends what it begins
            return []
        if key == "escape":
            self._typed = None
            return [Output("line", "Cleared what was typed.")]
        if len(self._typed) > MOST:
            return []  # told already: no part of it will be taken
        if key == "backspace":
            self._typed = self._typed[:-1] or None
            return []
        self._typed += " " if key == "space" else key
        if len(self._typed) <= MOST:
            return []
        return [Output("line", "That line is too long. Press Escape to clear it.")]

    def _act(self, act: Act) -> list[Output]:
        if act.gesture is Gesture.STUCK:
            return [Output("line", stuck_line(act.key))]
        word = self._word() if act.key == "enter" else None
        if word:
            self._typed = None
            self._reader.drop_waiting()  # a letter struck twice
            self._tempo.accepts(act.time, act.key)  # an Enter that bounces is not taken for done
            return [Output("line", f"Typed: {word}"), Output("command", word)]
        form = self._number_end(act.key)
        if form is not None or (act.key == "enter" and self._typed is not None):
            return self._finish(form) if self._tempo.accepts(act.time, act.key) else []
        command = self._bindings.command(act.key)
        if command is None:
            which = "That key" if act.key == "unknown" else f"The key {act.key}"
            return [Output("line", f"{which} does nothing here.")]
        text = TurnedText(command) if act.key in self._turners else command
        # Both names, so that an Enter that bounces after a number is not taken for done.
        given = self._tempo.commands(text, act.time, act.key, f"command {command}")
        self._given += len(given)
        return [Output("command", text) for text in given]

    def _finish(self, form: str | None) -> list[Output]:
        typed, self._typed = self._typed or "", None
        line = typed.strip()
        if not line or len(typed) > MOST:
            return [Output("line", TOO_LONG)] if line else []
        if form:
            text = form.format(n=int(line), end=int(line))
        else:
            is_row = re.fullmatch(r"\d+([\s,.;-]+\d+)+", line)
            text = " ".join(re.findall(r"\d+", line)) if is_row else line
        return [Output("line", f"Typed: {text}"), Output("command", text)]


stuck_line = "The key {} seems to be stuck down. It is ignored until it is let go.".format
