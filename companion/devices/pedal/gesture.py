"""Taps, holds and double taps out of key changes and their times; no clock, no device.

Two kinds of device need two readers. A pedal read from the kernel tells press and release
(`SwitchReader`). A terminal tells presses only, and a held key looks like many presses
(`TypedReader`); there the one thing that must never happen is that a foot left on the pedal
confirms several ends.

Contact bounce of ordinary switches lasts a few milliseconds, so 50 ms is generous (from memory:
J. Ganssle, "A Guide to Debouncing", 2004). The dead time before the same key counts again follows
EN 301 549 section 5.8 (double-strike key acceptance, adjustable to at least 0.5 s; from memory).
"""

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from enum import StrEnum
from functools import partial
from operator import itemgetter
from typing import NamedTuple

from companion.base.value import Value
from companion.command import Kind
from companion.devices.pedal.keys import BURST_PRESSES, KeyChange, KeyEvent, QuickText

QUICK_SECONDS = 0.5
"""A press is quick that follows another so soon. Our own choice: no weaver threads as fast."""


class Gesture(StrEnum):
    """What was done with one key."""

    TAP = "tap"
    HOLD = "hold"
    DOUBLE = "double"
    STUCK = "stuck"


class Act(NamedTuple):
    """A finished gesture."""

    key: str
    gesture: Gesture
    time: float
    """When the key went down, seconds; not when the gesture was decided."""


class Timing(Value):
    """How long is long, in seconds."""

    debounce_seconds: float = 0.05
    """A key counts as let go once it has been up this long; shorter is the contacts bouncing."""
    hold_seconds: float = 0.7
    """A key down this long is held."""
    double_seconds: float = 0.4
    """Two presses within this time are a double tap."""
    stuck_seconds: float = 10.0
    """A key down this long is reported as stuck."""
    repeat_gap_seconds: float = 0.12
    """Presses of one typed key closer than this are the keyboard repeating a held key."""
    repeat_delay_seconds: float = 1.2
    """The longest delay after which a keyboard may begin to repeat a held key."""


class Tempo:
    """Minds how soon presses follow one another: none acts again too soon.

    Presses of done that follow one another quickly ask for the choices.
    """

    def __init__(self, dead_time_seconds: float) -> None:
        self._dead_time = dead_time_seconds
        self._accepted: dict[str, float] = {}
        self._last, self._number = -math.inf, 0
        self._emitted = 0

    def accepts(self, time: float, *names: str) -> bool:
        """Say whether all `names` may act at `time`; if so, remember that they did."""
        if any(time - self._accepted.get(name, -math.inf) < self._dead_time for name in names):
            return False
        self._accepted.update(dict.fromkeys(names, time))
        return True

    def commands(self, command: str, time: float, *names: str) -> list[str]:
        """Return what a press for a command gives at `time`: that, the choices, or nothing."""
        if command != Kind.DONE:
            return [command] if self.accepts(time, *names) else []
        if time - self._last >= QUICK_SECONDS:
            self._number = self._emitted = 0
        self._last = time
        self._number += 1
        if self._number >= BURST_PRESSES:
            is_last = self._number == BURST_PRESSES
            return [QuickText(Kind.CHOICES, self._emitted, Kind.DONE)] if is_last else []
        if not self.accepts(time, *names):
            return []
        self._emitted += 1  # as done, since nobody knows what will follow
        return [command]


class _Switch:
    """One key that tells press and release: debounced first, then read as a gesture."""

    def __init__(self, key: str, timing: Timing, *, has_hold: bool, has_double: bool) -> None:
        self._key = key
        self._timing = timing
        self._has_hold = has_hold
        self._has_double = has_double
        self._is_raw_down = False
        self._is_down = False
        self._up_since = math.inf  # raw; infinity while down
        self._press_time = -math.inf
        self._is_spent = True  # this press has already become a gesture
        self._is_reported = True  # this press has already been reported as stuck
        self._waiting_since = math.inf  # a first tap that may become a double tap

    def feed(self, change: KeyChange, time: float) -> list[Act]:
        acts = self.tick(time)
        if change is KeyChange.REPEAT:
            self._seen_down(time)
            return acts
        self._is_raw_down = change is KeyChange.PRESS
        self._up_since = math.inf if self._is_raw_down else time
        # Going down counts at once; a worn contact that fails for a moment is still down.
        return acts + (self._pressed(time) if self._is_raw_down and not self._is_down else [])

    def _seen_down(self, time: float) -> None:
        """Note a key that was down before we listened: never acted on, but it may be stuck."""
        if not self._is_down:
            self._is_raw_down = self._is_down = True
            self._up_since, self._press_time = math.inf, time
            self._is_spent, self._is_reported = True, False

    def _pressed(self, time: float) -> list[Act]:
        self._is_down = True
        self._press_time = time
        self._is_spent = self._is_reported = False
        if self._waiting_since < math.inf:
            return self._spend(Gesture.DOUBLE)
        if self._has_double:
            self._waiting_since = time
        return [] if self._has_hold or self._has_double else self._spend(Gesture.TAP)

    def _released(self) -> list[Act]:
        self._is_down = False
        is_open = not self._is_spent and self._waiting_since == math.inf
        return self._spend(Gesture.TAP) if is_open else []

    def _spend(self, gesture: Gesture) -> list[Act]:
        self._is_spent = True
        self._waiting_since = math.inf
        return [Act(self._key, gesture, self._press_time)]

    def _window_closed(self) -> list[Act]:
        """No second tap came: a tap, unless the key is still down and may become a hold."""
        self._waiting_since = math.inf
        is_open = self._is_down and self._has_hold
        return [] if is_open else self._spend(Gesture.TAP)

    def _stuck(self) -> list[Act]:
        self._is_reported = True
        return [Act(self._key, Gesture.STUCK, self._press_time)]

    def _due(self) -> tuple[float, Callable[[], list[Act]]]:
        """The next thing that time alone will bring, and when."""
        timing, never = self._timing, math.inf
        is_holding = self._is_raw_down and self._has_hold and not self._is_spent
        is_watched = self._is_raw_down and not self._is_reported
        is_lifted = self._is_down and not self._is_raw_down
        coming: tuple[tuple[float, Callable[[], list[Act]]], ...] = (
            (
                self._press_time + timing.hold_seconds if is_holding else never,
                partial(self._spend, Gesture.HOLD),
            ),
            (self._up_since + timing.debounce_seconds if is_lifted else never, self._released),
            (self._press_time + timing.stuck_seconds if is_watched else never, self._stuck),
            (self._waiting_since + timing.double_seconds, self._window_closed),
        )
        return min(coming, key=itemgetter(0))

    def deadline(self) -> float:
        return self._due()[0]

    def tick(self, now: float) -> list[Act]:
        acts: list[Act] = []
        while (due := self._due())[0] <= now:
            acts += due[1]()
        return acts


class SwitchReader:
    """Gestures of a device that tells when a key is let go.

    A key acts when it goes down, at once, unless a hold or a double tap is bound to it as well:
    then its tap acts when the key is let go or when no second tap has come.
    """

    def __init__(
        self, timing: Timing, hold_keys: Iterable[str] = (), double_keys: Iterable[str] = ()
    ) -> None:
        self._timing = timing
        self._hold_keys = frozenset(hold_keys)
        self._double_keys = frozenset(double_keys)
        self._switches: dict[str, _Switch] = {}

    def feed(self, event: KeyEvent) -> list[Act]:
        """Take one key change; return the gestures it finished, on any key, in order of time."""
        acts = self.tick(event.time)
        return acts + self._switch(event.key).feed(event.change, event.time)

    def _switch(self, key: str) -> _Switch:
        if key not in self._switches:
            self._switches[key] = _Switch(
                key,
                self._timing,
                has_hold=key in self._hold_keys,
                has_double=key in self._double_keys,
            )
        return self._switches[key]

    def tick(self, now: float) -> list[Act]:
        """Return the gestures that the passing of time alone has finished by `now`."""
        acts = [act for switch in self._switches.values() for act in switch.tick(now)]
        return sorted(acts, key=lambda act: act.time)

    def deadline(self) -> float:
        """Return when `tick` will next have something to say; infinity for never."""
        return min((switch.deadline() for switch in self._switches.values()), default=math.inf)

    def forget(self) -> None:
        """Forget every key's state, as after a device has come back; nothing acts by that."""
        self._switches.clear()


@dataclass(slots=True)
class _Typed:
    """What is known of one typed key."""

    last: float = -math.inf
    """When it last came."""
    since: float = -math.inf
    """When the present press, held or not, began."""
    pending: float = math.inf
    """When a press came that may be the first repeat of a held key; infinity for none."""
    is_repeating: bool = False
    is_reported: bool = False


class TypedReader:
    """Gestures of a terminal, which tells presses only.

    A keyboard repeats a held key after a first delay (often 250 to 660 ms, up to a second) and
    then every 30 to 100 ms. So a press that follows another of the same key within
    `repeat_delay_seconds` waits for `repeat_gap_seconds`: if more follow, it was the keyboard
    repeating and none of them counts; if not, it was a press. Later presses act at once.
    """

    def __init__(self, timing: Timing) -> None:
        self._timing = timing
        self._keys: dict[str, _Typed] = {}

    def feed(self, event: KeyEvent) -> list[Act]:
        """Take one press; return what it finished."""
        acts = self.tick(event.time)
        typed = self._keys.setdefault(event.key, _Typed())
        gap = event.time - typed.last
        typed.last = event.time
        if gap < self._longest_gap(typed):
            return acts + self._repeated(event, typed)
        typed.is_repeating = typed.is_reported = False
        typed.since = event.time
        if gap < self._timing.repeat_delay_seconds:
            typed.pending = event.time
            return acts
        return [*acts, Act(event.key, Gesture.TAP, event.time)]

    def _longest_gap(self, typed: _Typed) -> float:
        """A run of repeats may stutter on a busy machine; its end needs a longer silence."""
        gap = self._timing.repeat_gap_seconds
        return 2.5 * gap if typed.is_repeating else gap

    def _repeated(self, event: KeyEvent, typed: _Typed) -> list[Act]:
        typed.is_repeating = True
        typed.pending = math.inf
        if typed.is_reported or event.time - typed.since < self._timing.stuck_seconds:
            return []
        typed.is_reported = True
        return [Act(event.key, Gesture.STUCK, typed.since)]

    def tick(self, now: float) -> list[Act]:
        """Return the presses that turned out by `now` not to be a held key."""
        gap = self._timing.repeat_gap_seconds
        acts = []
        for key, typed in self._keys.items():
            if typed.pending + gap <= now:
                acts.append(Act(key, Gesture.TAP, typed.pending))
                typed.pending = math.inf
        return sorted(acts, key=lambda act: act.time)

    def drop_waiting(self) -> None:
        """Let no press act that may still turn out to be one of a held key."""
        for typed in self._keys.values():
            typed.pending = math.inf

    def deadline(self) -> float:
        """Return when `tick` will next have something to say; infinity for never."""
        first = min((typed.pending for typed in self._keys.values()), default=math.inf)
        return first + self._timing.repeat_gap_seconds
