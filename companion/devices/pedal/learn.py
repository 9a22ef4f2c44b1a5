"""Learning a pedal: the weaver is asked to press each pedal in turn, by text and by ear.

A pure dialogue. Presses come in and lines go out through callables, and what was learnt comes back
as a value; `kept` puts it into the settings.
"""

from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from typing import NamedTuple

from companion.base.lines import Tell
from companion.command import Kind
from companion.settings import Settings

WANTED = (Kind.DONE, Kind.BACK, Kind.REPEAT)
"""The commands worth a pedal, the most used first."""

SKIP = "escape"
"""The key that leaves a pedal out; no pedal is likely to send it."""


class Press(NamedTuple):
    """One press of one pedal, however long it was held."""

    keys: tuple[str, ...]
    """All keys that came at once; a good pedal sends one."""
    device: str = ""
    """The pedal's "vendor:product"; "" for the keys of a terminal."""


Presses = Callable[[], Press | None]
"""Waits for the next press; None where none will come any more."""


@dataclass(frozen=True, slots=True)
class Learnt:
    """What the pedals send."""

    bindings: dict[str, str] = field(default_factory=dict)
    """From key to command."""
    device: str = ""
    """The pedal's "vendor:product"; "" for the keys of a terminal."""


class _Stopped(Exception):  # noqa: N818 - it ends the dialogue, nothing is wrong
    """No more presses will come."""


def learn(presses: Presses, say: Tell, wanted: Sequence[str] = WANTED) -> Learnt | None:
    """Ask for each pedal in turn; return what was learnt, or None where nothing is to be kept."""
    return _confirmed(lambda: _ask_all(presses, say, wanted), presses, say)


def learn_switch(presses: Presses, say: Tell) -> Learnt | None:
    """Learn one switch by its presses alone; read by itself, a hold of it reads the choices too."""
    return _confirmed(lambda: _ask_switch(presses, say), presses, say)


def _confirmed(ask: Callable[[], Learnt], presses: Presses, say: Tell) -> Learnt | None:
    with suppress(_Stopped):
        learnt = ask()
        if learnt.bindings and _is_confirmed(learnt, presses, say):
            return learnt
    say("Nothing was changed.")
    return None


def _ask_switch(presses: Presses, say: Tell) -> Learnt:
    say(f"Press your switch once for {WANTED[0]}.")
    learnt = _ask(WANTED[0], Learnt(), presses, say)
    is_alone = bool(learnt.device)
    held = {f"{key} hold": str(Kind.CHOICES) for key in learnt.bindings if is_alone}
    return Learnt({**learnt.bindings, **held}, learnt.device)


def _ask_all(presses: Presses, say: Tell, wanted: Sequence[str]) -> Learnt:
    learnt = Learnt()
    for command in wanted:
        say(f"Press the pedal for {command} once. Escape leaves it out.")
        learnt = _ask(command, learnt, presses, say)
    return learnt


def _ask(command: str, learnt: Learnt, presses: Presses, say: Tell) -> Learnt:
    """Ask until one good press has come, or the weaver leaves this command out."""
    while True:
        press = _next(presses)
        if press.keys == (SKIP,):
            say(f"No pedal for {command}.")
            return learnt
        if trouble := _trouble(press, learnt):
            say(trouble)
            continue
        key = press.keys[0]
        say(f"The key {key} is now {command}.")
        return Learnt({**learnt.bindings, key: str(command)}, press.device or learnt.device)


def _next(presses: Presses) -> Press:
    press = presses()
    if press is None:
        raise _Stopped
    return press


def _trouble(press: Press, learnt: Learnt) -> str | None:
    """Return why a press cannot be taken, and what to do; None for a good one."""
    if len(press.keys) > 1:
        return (
            f"That sent {len(press.keys)} keys at once: {', '.join(press.keys)}. "
            "Set that pedal to one key with its maker's tool, or press another."
        )
    key = press.keys[0]
    if key == "unknown":
        return "That sent something that is no key known here. Press another pedal."
    if key in learnt.bindings:
        return f"The key {key} is {learnt.bindings[key]} already. Press another pedal."
    if learnt.bindings and press.device != learnt.device:
        return "That came from another device than the first pedal. Press a pedal of the first."
    return None


def _is_confirmed(learnt: Learnt, presses: Presses, say: Tell) -> bool:
    summary = ", ".join(f"{key} is {command}" for key, command in learnt.bindings.items())
    first = next(iter(learnt.bindings))
    say(f"Learnt: {summary}.")
    say(f"Press {first} once more to keep this, or Escape to leave all as it was.")
    while (press := _next(presses)).keys != (first,):
        if press.keys == (SKIP,):
            return False
        say(f"That was {', '.join(press.keys)}. Press {first} to keep this, or Escape.")
    return True


def kept(settings: Settings, learnt: Learnt) -> Settings:
    """Return the settings with what was learnt: under `pedal` or, for typed keys, under `keys`.

    Keys that used to give one of these commands as a pedal no longer do; the default keys of the
    terminal stay.
    """
    name = "pedal" if learnt.device else "keys"
    table = getattr(settings, name)
    commands = set(learnt.bindings.values())
    others = {key: old for key, old in table.bindings.items() if old not in commands}
    change: dict[str, object] = {"bindings": {**others, **learnt.bindings}}
    if learnt.device:
        change["device"] = learnt.device
    return settings.model_copy(update={name: table.model_copy(update=change)})
