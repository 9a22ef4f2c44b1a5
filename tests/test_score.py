"""Scoring the ear: what is asked, what is made of the answers, and what is kept."""

from __future__ import annotations

import json
import wave
from typing import TYPE_CHECKING

import pytest
from hearing_fakes import FakeMicrophone, FakeRecogniser, blocks, hum, level_activity, room

from companion.devices.hearing.hearing import Refused
from companion.devices.hearing.listener import Listener
from companion.devices.recogniser.interface import Refusal, Vocabulary
from companion.devices.speech.voice import Voice
from companion.session.level import told as told_line
from companion.session.score import (
    ScoreSitting,
    Try,
    asked_for,
    keep,
    lines,
    summary,
)
from companion.session.spoken import BASIC, commands
from companion.wording.score import in_short

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence
    from pathlib import Path

    from companion.devices.audio.microphone import Block
    from companion.devices.speech.voice import Item

NEXT, DONE, BACK, NONSENSE = 300, 500, 700, 2000
KNOWN = {NEXT: "next one", DONE: "done", BACK: "step back"}


class Silence(Voice):
    """A voice that says nothing and remembers what it should have said."""

    def __init__(self) -> None:
        self.said: list[Item] = []

    def play(self, items: Sequence[Item], *, interrupt: bool = True) -> None:
        assert not interrupt
        self.said += items

    def wait(self, timeout: float) -> bool:
        assert timeout > 0
        self.said.append("until the end")
        return True


class Sitting:
    """A weaver who answers with sounds of a known pitch."""

    def __init__(self, sound: Iterable[Block]) -> None:
        self.told: list[str] = []
        self.voice = Silence()
        words = Vocabulary(frozenset(KNOWN.values()))
        listener = Listener(FakeRecogniser(KNOWN), level_activity, words)
        microphone = FakeMicrophone(sound)
        self.sitting = ScoreSitting(microphone, listener, self.voice, self.told.append)


def answers(*hertz: int) -> bytes:
    """Return sounds that stand alone."""
    return room(1.0) + b"".join(hum(each) + room(1.5) for each in hertz)


def test_each_form_is_asked_for_and_its_answer_judged() -> None:
    """Right, another form of the command, another command, no command, and nothing at all."""
    made = Sitting(blocks(answers(NEXT, DONE, BACK, NONSENSE) + room(8.0)))
    forms = ["next one", "next one", "next one", "step back", "step back"]
    tries = list(made.sitting.ask(forms))
    assert made.voice.said == [f'Say: "{form}".' for form in forms]
    outcomes = [each.outcome("en") for each in tries]
    assert outcomes == ["heard", "heard", "wrong", "missed", "missed"]
    assert [each.heard for each in tries] == ["next one", "done", "step back", "", ""]
    assert len(tries[0].sound) >= len(hum(NEXT))
    assert tries[4].sound == b""
    # 220 ms of silence end a sound; the rest is a frame and what the recogniser took.
    assert all(each.milliseconds >= 200 for each in tries[:3])


def test_a_recording_that_ends_early_is_counted_until_there() -> None:
    """Two answers to three questions."""
    assert len(list(Sitting(blocks(answers(NEXT, BACK))).sitting.ask(["next one"] * 3))) == 2


def test_talk_that_is_taken_is_told() -> None:
    """One command in talk of some seconds is a false one; the talk ends in time."""
    made = Sitting(blocks(answers(NONSENSE, DONE, NONSENSE) + room(60.0)))
    assert list(made.sitting.talk(20.0)) == ["done"]
    assert made.told == [made.voice.said[0]]


def test_talk_broken_off_is_counted_until_then() -> None:
    """Ctrl-C in the talk keeps what was taken from it."""

    def broken_off() -> Iterator[Block]:
        yield from blocks(answers(NONSENSE, DONE))
        raise KeyboardInterrupt

    made, taken = Sitting(broken_off()), list[str]()
    with pytest.raises(KeyboardInterrupt):
        taken.extend(made.sitting.talk(60.0))
    assert taken == ["done"]


def test_what_is_to_come_is_said_to_its_end_first() -> None:
    """Else who answers the first word would be talked over, and the end of it might be heard."""
    made = Sitting(blocks(answers(NEXT)))
    made.sitting.begin(39, 120.0)
    (line,) = made.told
    assert line == (
        "Say each command after it is asked for: 39 times, then 120 seconds of talk, about 5 "
        "minutes in all. Control C ends it sooner."
    )
    assert made.voice.said == [line, "until the end"]


def test_a_score_is_said_aloud() -> None:
    """Who talked for two minutes need not look when they are over."""
    made = Sitting(blocks(room(1.0)))
    made.sitting.end("Score: heard 3 of 3.")
    assert made.voice.said == ["Score: heard 3 of 3.", "until the end"]


def test_a_form_refused_is_told_with_the_surer_one() -> None:
    """Where another form of the same command is safer for the ear, and only there."""
    unsure = Refused(Refusal.UNSURE, 1.0, 1.4, "done")
    assert told_line(unsure, "en") == (
        'Refused: not surely enough one word; nearest: done (surer: "next one"). '
        "It lasted 0.4 seconds."
    )
    for nearest, why in (("next one", Refusal.UNSURE), ("done", Refusal.UNKNOWN)):
        assert "surer" not in told_line(Refused(why, 1.0, 1.4, nearest), "en")


@pytest.mark.parametrize(
    ("why", "seconds"), [(Refusal.JOINED, 0.03), (Refusal.LONG, 2.0), (Refusal.SHORT, 0.03)]
)
def test_no_length_is_told_that_is_not_known_or_naught(why: Refusal, seconds: float) -> None:
    """One not set apart is refused as it begins, and a click lasts no tenth of a second."""
    assert told_line(Refused(why, 1.0, 1.0 + seconds), "en") == f"Refused: {why}."


def test_every_basic_command_is_asked_for_three_times() -> None:
    """In another order for each seed, in the table's own without one."""
    plain = asked_for("en", seed=None)
    assert len(plain) == 3 * len(BASIC)
    assert sorted(asked_for("en", seed=1)) == sorted(plain)
    assert asked_for("en", seed=1) != asked_for("en", seed=2)
    assert set(plain) <= commands("en").phrases


def tried(said: str, *heard: str) -> list[Try]:
    """Return tries of one form, each taken after 300 ms."""
    return [Try(said, words, 300 if words else 0, b"\0\0") for words in heard]


def test_a_score_says_what_to_change() -> None:
    """A form heard once of three times gets another form, or the advice to teach it."""
    tries = tried("next one", "next one", "done", "next one") + tried("hold on", "pause", "", "")
    score = summary(tries, 120.4, ["done"], "en")
    assert in_short(score) == (
        "heard 4 of 6, missed 2, wrong 0; 0.3 seconds from word to command. "
        "In 120 seconds of talk: 1 false."
    )
    told = lines(score, "en")
    assert told[0] == f"Score: {in_short(score)}"
    assert told[1] == "Taken from talk: done, 1."
    (advice,) = told[2:]
    assert advice == (
        'Change: "hold on" was heard 1 of 3 times. Say "take a break" instead, or teach it: '
        'companion teach "hold on"'
    )


def test_a_report_holds_figures_alone_unless_sounds_are_asked_for(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One file that can be sent; recordings only by choice, beside it."""
    monkeypatch.setenv("COMPANION_HOME", str(tmp_path))
    tries = tried("next one", "next one", "")
    score = {"made": "2026-01-02T03:04+00:00", "language": "en", **summary(tries, 0, [], "en")}
    (line,) = keep(score, tries, keeps_sounds=False)
    (report,) = (tmp_path / "scores").iterdir()
    assert str(report) in line
    assert json.loads(report.read_text()) == score
    assert "sound" not in report.read_text()
    list(keep(score, tries, keeps_sounds=True))
    wavs = sorted((tmp_path / "scores").glob("*/*.wav"))
    assert [path.name for path in wavs] == ["01 next-one heard.wav", "02 next-one missed.wav"]
    with wave.open(str(wavs[0])) as file:
        assert (file.getframerate(), file.getnframes()) == (16_000, 1)
