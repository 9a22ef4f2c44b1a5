"""The voice that is heard: new speech replaces old, and what is due goes before what may be."""

from __future__ import annotations

import time
from typing import TYPE_CHECKING

import pytest
from fakes import FakeMaker, FakePlayback, hum
from hypothesis import given, settings
from hypothesis import strategies as st

from companion.devices.audio.tones import ToneName, tone
from companion.devices.speech.live_voice import (
    PAUSE_AFTER_LINE,
    PAUSE_AFTER_TONE,
    TONE_RATE,
    LiveVoice,
)
from companion.devices.speech.voice import Voice

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator


@pytest.fixture
def maker() -> FakeMaker:
    return FakeMaker()


@pytest.fixture
def playback() -> FakePlayback:
    return FakePlayback()


@pytest.fixture
def messages() -> list[str]:
    return []


@pytest.fixture
def voice(maker: FakeMaker, playback: FakePlayback, messages: list[str]) -> Iterator[LiveVoice]:
    voice = LiveVoice(maker, playback, 160, messages.append)
    yield voice
    maker.release()
    voice.close()


def until(is_true: Callable[[], bool]) -> bool:
    end = time.monotonic() + 5
    while not is_true() and time.monotonic() < end:
        time.sleep(0.002)
    return is_true()


def test_items_are_heard_in_order(voice: LiveVoice, playback: FakePlayback) -> None:
    """A tone, a short pause, a line, a longer pause, a line."""
    voice.play([ToneName.CONFIRM, "end 37", "shaft 1 next"])
    assert playback.wait_for_clips(3)
    clips = [clip for _, clip in playback.queued]
    assert clips[0] == tone(ToneName.CONFIRM, TONE_RATE)
    assert clips[1].seconds == pytest.approx(PAUSE_AFTER_TONE, abs=0.001)
    assert clips[2] == hum(0.06)
    assert clips[3].seconds == pytest.approx(PAUSE_AFTER_LINE, abs=0.001)
    assert clips[4] == hum(0.12)


def test_new_speech_replaces_stale_speech(
    voice: LiveVoice, maker: FakeMaker, playback: FakePlayback
) -> None:
    """A line still being made when the next is wanted is never heard, nor what stood behind it."""
    maker.hold()
    voice.play(["end 1 stale", "end 2 stale too"])
    assert until(lambda: bool(maker.asked))
    voice.play(["end 3"])
    maker.release()
    assert playback.wait_for_clips(1)
    playback.hear()
    assert voice.wait(5)
    assert playback.clips == [hum(0.05)]


def test_the_end_of_a_cancelled_line_does_not_end_the_next(
    voice: LiveVoice, maker: FakeMaker, playback: FakePlayback
) -> None:
    """While the newer line sounds the voice is speaking, though the older one has ended."""
    maker.hold()
    voice.play(["end 1 stale"])
    assert until(lambda: bool(maker.asked))
    voice.play(["end 2"])
    assert not voice.wait(0.05)
    maker.release()
    assert playback.wait_for_clips(1)
    assert until(lambda: len(maker.made) == 2)
    assert voice.is_speaking
    assert not voice.wait(0.05)
    playback.hear()
    assert voice.wait(5)
    assert not voice.is_speaking


def test_speech_that_does_not_interrupt_waits_its_turn(
    voice: LiveVoice, playback: FakePlayback
) -> None:
    """Nothing is cut, and a pause parts the two."""
    voice.play(["end 1"])
    assert playback.wait_for_clips(1)
    cancels = playback.cancels
    voice.play(["then 2"], interrupt=False)
    assert playback.wait_for_clips(2)
    assert playback.cancels == cancels
    assert playback.queued[1][1].seconds == pytest.approx(PAUSE_AFTER_LINE, abs=0.001)


def test_what_is_due_goes_before_what_is_prepared(
    voice: LiveVoice, maker: FakeMaker, playback: FakePlayback
) -> None:
    """With ten lines to make ahead, a line to say now is made after one of them at most."""
    maker.hold()
    voice.prepare([f"end {number}" for number in range(10)])
    assert until(lambda: bool(maker.asked))
    voice.play(["say this now"])
    maker.release()
    assert playback.wait_for_clips(1)
    playback.hear()
    assert until(lambda: len(maker.made) == 11)
    assert [text for text, _ in maker.made].index("say this now") <= 1


def test_later_preparing_replaces_earlier(voice: LiveVoice, maker: FakeMaker) -> None:
    """Of lines no longer likely only the one in hand is made."""
    maker.hold()
    voice.prepare([f"old {number}" for number in range(10)])
    assert until(lambda: bool(maker.asked))
    voice.prepare(["new"])
    maker.release()
    assert until(lambda: ("new", 160) in maker.made)
    assert len(maker.made) <= 2


def test_the_speed_changes_with_the_next_line(
    voice: LiveVoice, maker: FakeMaker, playback: FakePlayback
) -> None:
    """Lines asked for after a change have the new speed, kept within what the voice can do."""
    voice.play(["end 1"])
    assert playback.wait_for_clips(1)
    voice.set_rate(1000)
    voice.play(["end 2"])
    assert playback.wait_for_clips(2)
    assert maker.made == [("end 1", 160), ("end 2", 450)]


def test_a_voice_that_fails_is_told_once_and_again_when_back(
    voice: LiveVoice, maker: FakeMaker, playback: FakePlayback, messages: list[str]
) -> None:
    """Three lines that cannot be made are one message; tones sound all the same."""
    maker.fail()
    for number in range(3):
        voice.play([ToneName.TROUBLE, f"end {number}"], interrupt=False)
    assert playback.wait_for_clips(3)
    playback.hear()
    assert voice.wait(5)
    assert messages == ["No speech: the fake engine fails. Mend it"]
    maker.fail(is_failing=False)
    voice.play(["end 4"])
    assert playback.wait_for_clips(4)
    assert messages[1:] == ["Speech is back."]


def test_preparing_with_a_failed_engine_says_nothing(
    voice: LiveVoice, maker: FakeMaker, messages: list[str]
) -> None:
    """Only a line that was to be heard is missed."""
    maker.fail()
    voice.prepare(["end 1", "end 2"])
    time.sleep(0.05)
    assert messages == []


def test_without_a_loudspeaker_nothing_is_waited_for(
    voice: LiveVoice, playback: FakePlayback, maker: FakeMaker
) -> None:
    """Lines are lost, not kept for later; when it is back the next one is heard."""
    playback.vanish()
    voice.play(["end 1"])
    assert until(lambda: len(maker.made) == 1)
    assert voice.wait(1)
    playback.come_back()
    voice.play(["end 2 is heard"])
    assert playback.wait_for_clips(1)
    assert playback.clips == [hum(0.14)]


def test_close_lets_everything_go(maker: FakeMaker, playback: FakePlayback) -> None:
    """In the middle of a line, and twice."""
    voice = LiveVoice(maker, playback, 160, print)
    voice.play(["end 1", "end 2"])
    voice.close()
    voice.close()
    assert maker.is_closed
    assert playback.is_closed


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.integers(1, 3), st.booleans()), min_size=1, max_size=12))
def test_whatever_was_asked_the_last_word_is_heard_whole(plays: list[tuple[int, bool]]) -> None:
    """After any keys in any haste, what stands is all since the last interruption, in order."""
    maker, playback = FakeMaker(), FakePlayback()
    voice = LiveVoice(maker, playback, 160, pytest.fail)
    expected: list[str] = []
    number = 0
    for count, is_interrupting in plays:
        lines = ["x" * (number + one) for one in range(1, count + 1)]
        number += count
        voice.play(lines, interrupt=is_interrupting)
        voice.prepare(["made ahead"])
        expected = lines if is_interrupting else expected + lines
    assert until(lambda: len(playback.standing) == len(expected))
    playback.hear()
    assert voice.wait(5)
    assert [clip.seconds for clip in playback.standing] == [
        pytest.approx(len(line) / 100, abs=0.001) for line in expected
    ]
    voice.close()


def test_the_silent_voice_is_never_speaking() -> None:
    """It takes every call and is at rest at once."""
    voice = Voice()
    voice.play([ToneName.CONFIRM, "end 1"], interrupt=False)
    voice.prepare(["end 2"])
    voice.set_rate(200)
    assert voice.wait(0.0)
    assert not voice.is_speaking
    voice.close()
