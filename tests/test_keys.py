"""The keyboard in front of the weaver: the key table, numbers and lines."""

from __future__ import annotations

import math

import pytest

from companion.base.errors import CommandError, PedalError
from companion.base.lines import MOST, TOO_LONG
from companion.command import Kind, parse
from companion.devices.pedal.gesture import Gesture, Timing
from companion.devices.pedal.keys import QuickText
from companion.devices.pedal.table import (
    CHARACTER_KEYS,
    NAMED_KEYS,
    NUMBER_ENDS,
    Bindings,
    keyboard_bindings,
    parse_key,
)
from companion.devices.pedal.typed import Keyboard, Output


def _keyboard(*, has_letters: bool = True, changes: dict[str, str] | None = None) -> Keyboard:
    bindings = keyboard_bindings(changes or {}, has_letters=has_letters)
    return Keyboard(bindings, Timing(), 0.3, has_letters=has_letters)


def _press(keyboard: Keyboard, *keys: str, start: float = 0.0, gap: float = 2.0) -> list[Output]:
    outputs = []
    for number, key in enumerate(keys):
        outputs += keyboard.press(key, start + gap * number)
    return outputs + keyboard.tick(start + gap * len(keys) + 100)


def _commands(outputs: list[Output]) -> list[str]:
    return [output.text for output in outputs if output.kind == "command"]


def _lines(outputs: list[Output]) -> list[str]:
    return [output.text for output in outputs if output.kind == "line"]


@pytest.mark.parametrize(("key", "command"), [*NAMED_KEYS.items(), *CHARACTER_KEYS.items()])
def test_each_key_of_the_table_gives_its_command(key: str, command: str) -> None:
    """Every default key gives its command, and the command language understands it."""
    assert _commands(_press(_keyboard(), key)) == [command]
    assert parse(command).kind == Kind(command)


def test_caps_lock_changes_nothing() -> None:
    """A capital letter is the same key."""
    assert _commands(_press(_keyboard(), "D")) == ["done"]


@pytest.mark.parametrize(
    ("keys", "command"),
    [
        (["2", "4", "enter"], "count 24"),
        (["2", "4", "space"], "count 24"),
        (["0", "0", "7", "enter"], "count 7"),
        (["2", "4", "b"], "rewind 24"),
        (["3", "l"], "read back group 3"),
        (["3", "7", "e"], "read back from 37"),
        (["2", "9", "backspace", "4", "enter"], "count 24"),
        (["1", ",", "2", ",", "3", "enter"], "1 2 3"),
        ([":", *"read", "space", *"back", "enter"], "read back"),
        ([":", "1", "space", "2", "space", "4", "space", "3", "enter"], "1 2 4 3"),
    ],
)
def test_what_is_typed_ends_as_one_command(keys: list[str], command: str) -> None:
    """Digits with what ends them, and lines in words, come out whole and are echoed once."""
    outputs = _press(_keyboard(), *keys)
    assert (_commands(outputs), _lines(outputs)) == ([command], [f"Typed: {command}"])
    assert parse(command).kind in Kind


def test_escape_clears_what_was_typed() -> None:
    """Escape drops a number, and says so; the next key acts as usual."""
    outputs = _press(_keyboard(), "2", "escape", "enter")
    assert (_commands(outputs), _lines(outputs)) == (["done"], ["Cleared what was typed."])


def test_backspace_over_everything_leaves_typing() -> None:
    """A number taken back to nothing is no longer a number."""
    assert _commands(_press(_keyboard(), "2", "backspace", "d")) == ["done"]


def test_a_pedal_works_in_the_middle_of_a_number() -> None:
    """A key that types nothing acts while a number waits for its end."""
    outputs = _press(_keyboard(), "2", "page down", "4", "enter")
    assert _commands(outputs) == ["done", "count 24"]


def test_digits_have_no_dead_time() -> None:
    """The same digit twice in quick succession is typed twice."""
    outputs = _press(_keyboard(), "1", "1", "enter", gap=0.05)
    assert _commands(outputs) == ["count 11"]


def test_a_held_enter_after_a_number_confirms_nothing_more() -> None:
    """Enter held down ends the number; its repeats are not taken for done."""
    keyboard = _keyboard()
    outputs = [*keyboard.press("9", 0.0), *keyboard.press("enter", 1.0)]
    for number in range(50):
        outputs += keyboard.press("enter", 1.5 + number * 0.03)
    assert _commands(outputs + keyboard.tick(20.0)) == ["count 9"]


def test_a_bouncing_enter_after_a_number_confirms_nothing_more() -> None:
    """A worn Enter key that fires twice ends the number and does not confirm an end as well."""
    keyboard = _keyboard()
    outputs = [*keyboard.press("9", 0.0), *keyboard.press("enter", 1.0)]
    outputs += keyboard.press("enter", 1.2)
    assert _commands(outputs + keyboard.tick(20.0)) == ["count 9"]


def test_a_held_pedal_is_one_command_and_reported_when_stuck() -> None:
    """A foot left on the pedal confirms one end; after ten seconds it is said to be stuck."""
    keyboard = _keyboard()
    outputs = keyboard.press("page down", 1.0)
    for number in range(400):
        outputs += keyboard.press("page down", 1.5 + number * 0.03)
    outputs += keyboard.tick(60.0)
    assert _commands(outputs) == ["done"]
    assert _lines(outputs) == [
        "The key page down seems to be stuck down. It is ignored until it is let go."
    ]


def test_two_keys_of_one_command_share_its_dead_time() -> None:
    """Space and Enter brushed together confirm one end."""
    keyboard = _keyboard()
    outputs = keyboard.press("space", 1.0) + keyboard.press("enter", 1.1)
    assert _commands(outputs + keyboard.tick(9.0)) == ["done"]


def test_letters_off_means_no_single_letter_acts() -> None:
    """With letters off a letter starts a line that Enter ends (WCAG 2.2, 2.1.4)."""
    keyboard = _keyboard(has_letters=False)
    assert _press(keyboard, *"done") == []
    assert _commands(_press(keyboard, "enter", start=500.0)) == ["done"]


def test_letters_off_leaves_the_named_keys_and_numbers() -> None:
    """With letters off space, paging keys and numbers still work, and a letter ends no number."""
    keyboard = _keyboard(has_letters=False)
    assert _commands(_press(keyboard, "space", "page up", "2", "4", "enter")) == [
        "done",
        "back",
        "count 24",
    ]
    assert _commands(_press(keyboard, "3", "space", "4", "b", "enter", start=900.0)) == [
        "count 3",
        "4b",
    ]


def test_an_unbound_key_says_so() -> None:
    """A key without a command is answered, not swallowed."""
    assert _lines(_press(_keyboard(), "f13")) == ["The key f13 does nothing here."]
    assert _lines(_press(_keyboard(), "unknown")) == ["That key does nothing here."]


def test_a_line_without_end_is_bounded() -> None:
    """A cat on the keyboard fills no memory, the way out is named once, and no part is taken."""
    keyboard = _keyboard()
    warned = "That line is too long. Press Escape to clear it."
    outputs = _press(keyboard, ":", *"x" * (MOST + 9), "escape")
    assert _lines(outputs) == [warned, "Cleared what was typed."]
    outputs = _press(keyboard, "1", *",2" * MOST, "backspace", "enter")
    assert (_lines(outputs), _commands(outputs)) == ([warned, TOO_LONG], [])


def test_keys_can_be_bound_anew_and_freed() -> None:
    """The weaver's changes go over the defaults; an empty command frees a key."""
    keyboard = _keyboard(changes={"F13": "done", "b": "", "PageDown": "repeat"})
    outputs = _press(keyboard, "f13", "page down", "b")
    assert _commands(outputs) == ["done", "repeat"]
    assert _lines(outputs) == ["The key b does nothing here."]


def test_a_binding_may_carry_a_whole_command() -> None:
    """A key may be bound to a command with its number."""
    assert _commands(_press(_keyboard(changes={"f5": "read back group 1"}), "f5")) == [
        "read back group 1"
    ]


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({"f13 hold": "repeat"}, "A terminal cannot tell when a key is let go"),
        ({"": "done"}, "Expected the name of a key"),
    ],
)
def test_bad_bindings_are_refused(changes: dict[str, str], told: str) -> None:
    """A wrong binding is one line that says what was expected and what came."""
    with pytest.raises(PedalError) as caught:
        keyboard_bindings(changes)
    assert str(caught.value).startswith(told)
    assert "\n" not in str(caught.value)


def test_an_empty_command_frees_a_pedals_key() -> None:
    """As it does a terminal's; the settings allow it."""
    assert Bindings({"f13": "", "f14": "back"}).keys(Gesture.TAP) == {"f14"}


def test_a_key_bound_twice_is_refused() -> None:
    """Two spellings of one key with one gesture cannot both be bound."""
    with pytest.raises(PedalError, match="bound twice"):
        Bindings({"page down": "done", "PageDown": "back"})


@pytest.mark.parametrize(
    ("written", "expected"),
    [
        ("F13 hold", ("f13", Gesture.HOLD)),
        ("page_down double", ("page down", Gesture.DOUBLE)),
        ("pgdn", ("page down", Gesture.TAP)),
        ("b", ("b", Gesture.TAP)),
        (" ", ("space", Gesture.TAP)),
    ],
)
def test_key_names_have_one_spelling(written: str, expected: tuple[str, Gesture]) -> None:
    """However a key is written, it is the same key."""
    assert parse_key(written) == expected


def test_every_number_end_is_a_command() -> None:
    """What a key makes of a number is understood as a command."""
    forms = {form.format(n=24, end=24) for form in NUMBER_ENDS.values()}
    assert {parse(form).kind for form in forms} == {
        Kind.COUNT,
        Kind.REWIND,
        Kind.READ_BACK,
        Kind.AT_A_TIME,
        Kind.KEEP_GOING,
        Kind.LOOK,
    }


def test_a_quick_second_press_sets_a_deadline() -> None:
    """A press that may be a repeat asks to be looked at again, and then counts."""
    keyboard = _keyboard()
    keyboard.press("d", 1.0)
    assert keyboard.deadline() == math.inf
    assert keyboard.press("d", 1.6) == []
    assert keyboard.deadline() == pytest.approx(1.72)
    assert _commands(keyboard.tick(1.73)) == ["done"]


def _is_command(text: str) -> bool:
    try:
        parse(text, "de")
    except CommandError:
        return False
    return True


def _spelling() -> Keyboard:
    bindings = keyboard_bindings({})
    return Keyboard(bindings, Timing(), 0.3, has_letters=True, is_command=_is_command)


@pytest.mark.parametrize(
    "word", ["done", "back", "where am i", "look at group 2", "count 8", "fertig", "no"]
)
def test_a_word_struck_letter_by_letter_takes_its_letters_back(word: str) -> None:
    """Enter makes it the word, which knows how many commands its letters gave as keys."""
    keyboard = _spelling()
    keys = ["space" if letter == " " else letter for letter in word]
    *own, given = _commands(_press(keyboard, *keys, "enter", gap=0.4))
    assert given == word
    assert isinstance(given, QuickText)
    assert given.quick == len(own) > 0
    assert _commands(_press(keyboard, "enter", start=200)) == ["done"]


def test_a_letter_that_a_word_has_twice_does_nothing_after_it() -> None:
    """Struck soon after its like it waits, since a held key repeats; Enter does not wait for it."""
    keys = ["space" if letter == " " else letter for letter in "keep it short"]
    *own, given = _commands(_press(_spelling(), *keys, "enter", gap=0.05))
    assert given == "keep it short"
    assert isinstance(given, QuickText)
    assert given.quick == len(own) > 0


@pytest.mark.parametrize(
    ("keys", "gap", "commands"),
    [
        (["d", "o", "n", "e", "enter"], 2.0, ["done", "one by one", "no", "done"]),
        (["space", "2", "4", "enter"], 0.4, ["done", "count 24"]),
        (["d", "b", "enter"], 0.6, ["done", "back", "done"]),
        (["enter", "n", "o", "enter"], 0.4, ["done", "no", "one by one", "no"]),
        ([":", "b", "a", "c", "k", "enter"], 0.4, ["back"]),
    ],
)
def test_keys_that_spell_no_word_are_keys(keys: list[str], gap: float, commands: list[str]) -> None:
    """Slow letters, numbers and what was struck before a word act by themselves, as ever."""
    assert _commands(_press(_spelling(), *keys, gap=gap)) == commands
