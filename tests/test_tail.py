"""How long to be deaf after our own voice: measured on a loudspeaker whose lateness is known."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
from hearing_fakes import FRAME, RATE

from companion.devices.audio.microphone import Block
from companion.devices.audio.tones import ToneName, tone
from companion.devices.hearing.settings import FRAME_SECONDS, HearingSettings
from companion.devices.hearing.tail import TailMeter, tone_level
from companion.devices.speech.voice import Voice
from companion.session.level import measure_tail
from companion.session.measured import keep_score, keep_tail, score_of, tail_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

    from companion.devices.speech.voice import Item


class Loudspeaker(Voice):
    """A voice whose sound reaches the microphone late, again as an echo, or not at all.

    It believes its tone over as soon as its length has passed, as the machine's own mixer does.
    """

    def __init__(
        self, delay: float = 0.0, *, echo: float = 0.0, share: float = 0.5, noise: float = 30.0
    ) -> None:
        self._delay, self._echo, self._share, self._noise = delay, echo, share, noise
        self.hold_ups = (0.0, 0.0, 0.0)
        """Lever: how much later still each of the tones sounds."""
        self._random = np.random.default_rng(0)
        self._air = np.zeros(60 * RATE)
        self._now = 0
        self._until = 0
        self.played: list[ToneName] = []

    @property
    def is_speaking(self) -> bool:
        return self._now < self._until

    def play(self, items: Sequence[Item], *, interrupt: bool = True) -> None:
        assert interrupt
        (name,) = items
        assert isinstance(name, ToneName)
        self.played.append(name)
        sound = np.frombuffer(tone(name, RATE).pcm, "<i2") * self._share
        self._until = self._now + len(sound)
        late = self._delay + self.hold_ups[len(self.played) - 1]
        start = self._now + round(late * RATE)
        self._air[start : start + len(sound)] += sound
        if self._echo:
            count = round(self._echo * RATE)
            tail = np.repeat(sound[-FRAME:][np.newaxis], -(-count // FRAME), axis=0).ravel()[:count]
            fading = 10 ** (-3 * np.arange(count) / count)
            after = start + len(sound)
            self._air[after : after + count] += tail * fading * 0.5

    def microphone(self) -> Iterator[Block]:
        """Yield what is in the air, frame by frame, as time goes on."""
        while self._now + FRAME <= len(self._air):
            heard = self._air[self._now : self._now + FRAME]
            heard = heard + self._random.standard_normal(FRAME) * self._noise
            self._now += FRAME
            yield Block(heard.astype("<i2").tobytes())


@pytest.mark.parametrize("delay", [0.0, 0.05, 0.1, 0.15, 0.2, 0.3, 0.4])
def test_the_tail_covers_the_loudspeakers_delay(delay: float) -> None:
    """Never shorter than the delay, and longer by three frames at most; the usual least holds."""
    loudspeaker = Loudspeaker(delay)
    tail = measure_tail(loudspeaker.microphone(), loudspeaker)
    assert loudspeaker.played == [ToneName.FINISH] * 3
    least = max(delay, HearingSettings().tail_seconds)
    assert tail is not None
    assert least <= tail <= least + 3 * FRAME_SECONDS


def test_an_echo_is_waited_for() -> None:
    """A room that fades by 60 dB in 0.4 s is heard for about half of that: 30 dB."""
    late, room = Loudspeaker(0.2), Loudspeaker(0.2, echo=0.4)
    plain = measure_tail(late.microphone(), late)
    echoed = measure_tail(room.microphone(), room)
    assert plain is not None
    assert echoed is not None
    assert 0.1 <= echoed - plain <= 0.3


def test_a_tone_held_up_by_a_busy_machine_does_not_count() -> None:
    """One far later than the two others; a little later, it does."""
    busy, uneven = Loudspeaker(0.2), Loudspeaker(0.2)
    busy.hold_ups, uneven.hold_ups = (0.0, 0.7, 0.0), (0.0, 0.0, 0.1)
    tails = [measure_tail(each.microphone(), each) for each in (busy, uneven)]
    assert [tail is not None and int(10 * tail) for tail in tails] == [2, 3]


def test_noise_around_does_not_matter() -> None:
    """As loud as the tone itself is at the microphone, but all over the spectrum."""
    loudspeaker = Loudspeaker(0.3, share=0.2, noise=300.0)
    tail = measure_tail(loudspeaker.microphone(), loudspeaker)
    assert tail is not None
    assert 0.3 <= tail <= 0.46


def test_what_is_not_heard_sets_nothing() -> None:
    """Headphones, or a microphone that is off."""
    loudspeaker = Loudspeaker(0.1, share=0.0)
    assert measure_tail(loudspeaker.microphone(), loudspeaker) is None


def test_a_pitch_is_found_among_others() -> None:
    """A full sine of its own pitch is as loud as its peak's half; one far off is not there."""
    times = np.arange(FRAME) / RATE
    sine = (16384 * np.sin(2 * np.pi * 587 * times)).astype("<i2").tobytes()
    assert tone_level(sine, 587) == pytest.approx(-12.0, abs=0.5)  # 0.5 full scale, half of that
    assert tone_level(sine, 1500) < -60


def test_a_tone_that_never_ends_is_no_measure() -> None:
    """Nothing is made up where the end was not seen."""
    meter = TailMeter(587)
    for _ in range(10):
        meter.frame(bytes(2 * FRAME), is_sounding=True)
    assert (meter.is_over, meter.tail_seconds) == (False, None)


def test_figures_are_kept_for_each_loudspeaker(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each by its name, beside the scores; a damaged file is measured anew."""
    monkeypatch.setenv("COMPANION_HOME", str(tmp_path))
    assert tail_of("") is None
    keep_tail("", 0.12)
    keep_tail("Wireless", 0.4)
    keep_score("en", {"heard": 3})
    assert (tail_of(""), tail_of("Wireless"), score_of("en")) == (0.12, 0.4, {"heard": 3})
    (tmp_path / "hearing.json").write_text("no figures")
    assert (tail_of("Wireless"), score_of("en")) == (None, None)
