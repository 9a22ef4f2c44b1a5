"""What a command prints can be said too, and a plan made by ear alone."""

from __future__ import annotations

import io
import shutil
import sys
from contextlib import closing
from typing import TYPE_CHECKING, Any

import pytest
from front_door import PLANS, run

from companion.cli import FUNCTIONS, main
from companion.devices.speech.voice import Voice
from companion.session import setup

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from companion.devices.speech.voice import Item


class Heard(Voice):
    """Keeps what it is given to say; None where it falls silent."""

    def __init__(self) -> None:
        self.said: list[Item | None] = []

    def play(self, items: Sequence[Item], *, interrupt: bool = True) -> None:
        """Keep the items."""
        self.said += [*([None] if interrupt else []), *items]


@pytest.fixture
def heard(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Heard:
    """Return the voice that every command now speaks by."""
    voice = Heard()
    monkeypatch.setenv("COMPANION_HOME", str(tmp_path))

    def opened(*_wishes: Any) -> closing[Voice]:
        return closing(voice)

    monkeypatch.setattr(setup, "opened_voice", opened)
    return voice


class Typed(io.StringIO):
    """What somebody types, who is there to be asked."""

    def isatty(self) -> bool:
        """Be a terminal."""
        return True


def told(monkeypatch: pytest.MonkeyPatch, *words: object, typed: str = "") -> int:
    """Run a command here, and return how it ended."""
    monkeypatch.setattr(sys, "argv", ["companion", *map(str, words)])
    monkeypatch.setattr(sys, "stdin", Typed(typed))
    with pytest.raises(SystemExit) as ended:
        main()
    return int(ended.value.code or 0)


def test_what_a_plan_comes_to_is_said(monkeypatch: pytest.MonkeyPatch, heard: Heard) -> None:
    """Line by line, one after the other."""
    assert told(monkeypatch, "check", PLANS / "first-try.toml", "--aloud") == 0
    assert heard.said[:2] == ["First try, a narrow band", "Ends: forty in heddles."]
    assert None not in heard.said


def test_a_plan_is_made_by_ear(
    monkeypatch: pytest.MonkeyPatch, heard: Heard, tmp_path: Path
) -> None:
    """Each question is said, can be had again, and the voice stops when it is answered."""
    plan = tmp_path / "scarf.toml"
    assert told(monkeypatch, "new", plan, "--aloud", typed="Scarf\nrepeat\nrest\n") == 0
    asked = "Do you measure in inches or centimetres?"
    begun = [str(item).partition("?")[0] + "?" for item in heard.said if item is not None]
    assert begun.count(asked) == 2
    assert heard.said[2] is None
    assert "Ends: one hundred in heddles." in heard.said
    assert plan.exists()


@pytest.mark.parametrize(
    ("words", "is_said"),
    [
        (("thread", "{}"), True),
        (("thread", "{}", "--text"), False),
        (("check", "{}", "--aloud"), True),
        (("check", "{}"), False),
    ],
)
def test_what_a_draft_lacks_is_asked_aloud(
    monkeypatch: pytest.MonkeyPatch,
    heard: Heard,
    tmp_path: Path,
    words: tuple[str, ...],
    is_said: bool,  # noqa: FBT001 - a parameter of the table
) -> None:
    """By whatever speaks, also where that is said after the name of the file."""
    draft = shutil.copy(PLANS / "lattice-scarf.wif", tmp_path)
    assert told(monkeypatch, *(word.format(draft) for word in words), typed="repeat\nstop\n") == 2
    begun = [str(item).partition("?")[0] + "?" for item in heard.said if item is not None]
    assert begun.count("Do you measure in inches or centimetres?") == 2 * is_said


def test_a_mistake_is_said_too(monkeypatch: pytest.MonkeyPatch, heard: Heard) -> None:
    """It is printed elsewhere, and would be missed."""
    assert told(monkeypatch, "sessions", "--take-out", "scarf", "--aloud") == 2
    assert "scarf" in str(heard.said[-1])


def test_every_command_that_does_not_speak_can(tmp_path: Path) -> None:
    """Or else says by itself what it prints."""
    for name in FUNCTIONS:
        listed = run(tmp_path, name, "--help").stdout
        below = "convert" if name == "yarn" else "learn" if name == "pedal" else "list"
        if "Commands:" in listed:
            listed = run(tmp_path, name, below, "--help").stdout
        speaks = "Print only; say nothing aloud" in listed or "Hear" in listed or name == "doctor"
        assert speaks or "--aloud" in listed, name
