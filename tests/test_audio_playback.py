"""The way to the loudspeaker: order, cutting, the true end, and devices that come and go."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator

import numpy as np
import pytest
from fakes import RATE, FakeSoundSystem, hum, loud_seconds

from companion.base.errors import AudioError
from companion.devices.audio.clip import SAMPLE_BYTES
from companion.devices.audio.devices import Device, choose
from companion.devices.audio.feed import SampleFeed
from companion.devices.audio.playback import CALM_LATENCY_SECONDS, LATENCY_SECONDS, DevicePlayback

Make = Callable[..., DevicePlayback]


@pytest.fixture
def messages() -> list[str]:
    return []


@pytest.fixture
def make(messages: list[str]) -> Iterator[Make]:
    """Make playbacks that are closed at the end."""
    made: list[DevicePlayback] = []

    def on(system: FakeSoundSystem, keep_awake_seconds: float = 60.0) -> DevicePlayback:
        playback = DevicePlayback(
            lambda: system,
            "",
            messages.append,
            keep_awake_seconds=keep_awake_seconds,
            wake_seconds=0.05,
        )
        made.append(playback)
        return playback

    yield on
    for playback in made:
        playback.close()


def until(is_true: Callable[[], bool], seconds: float = 8.0) -> bool:
    end = time.monotonic() + seconds
    while not is_true() and time.monotonic() < end:
        time.sleep(0.005)
    return is_true()


def test_clips_are_taken_in_order_without_a_seam() -> None:
    """Blocks of any size give the queued clips sample for sample, then silence."""
    feed = SampleFeed()
    feed.add(hum(0.1))
    feed.add(hum(0.2, hertz=300))
    taken = b"".join(feed.take(frames) for frames in (100, 1, 2204, 4410, 500))
    expected = hum(0.1).pcm + hum(0.2, hertz=300).pcm
    assert taken[: len(expected)] == expected
    assert set(taken[len(expected) :]) == {0}


def test_a_cut_is_silent_within_a_block() -> None:
    """After a cut at most 5 ms of falling sound is taken, then silence, then what comes next."""
    feed = SampleFeed()
    feed.add(hum(1.0))
    feed.add(hum(1.0))
    feed.take(441)
    feed.cut()
    feed.add(hum(0.1, hertz=300))
    after = feed.take(RATE // 100 * 3)
    fall = SAMPLE_BYTES * round(0.005 * RATE)
    assert np.abs(np.frombuffer(after[fall - 8 : fall], dtype="<i2")).max() < 800
    assert after[fall:] == hum(0.1, hertz=300).pcm[: len(after) - fall]


def test_a_cut_before_the_first_sample_leaves_nothing() -> None:
    """What never began to sound is not heard at all."""
    feed = SampleFeed()
    feed.add(hum(1.0))
    feed.cut()
    assert loud_seconds(feed.take(1000), RATE) == 0


def test_the_end_is_when_the_last_sample_reaches_the_ear() -> None:
    """Sound taken is on its way for its own length and the loudspeaker's delay."""
    now = [10.0]
    feed = SampleFeed(lambda: now[0])
    feed.serve(RATE, 0.05)
    feed.add(hum(0.1))
    assert feed.silent_seconds < 0
    feed.take(round(0.2 * RATE))
    assert feed.silent_seconds == pytest.approx(-0.15)
    now[0] += 0.15
    assert feed.silent_seconds == pytest.approx(0.0)


def test_what_waits_is_fitted_to_the_loudspeakers_rate() -> None:
    """A clip queued before the device was opened still lasts as long at the device's rate."""
    feed = SampleFeed()
    feed.add(hum(0.5))
    feed.serve(48000, 0.0)
    assert loud_seconds(feed.take(48000), 48000) == pytest.approx(0.5, abs=0.01)


def test_a_clip_is_heard_whole(make: Make) -> None:
    """The loudspeaker takes the clip sample for sample; `wait` ends after it, not before."""
    system = FakeSoundSystem()
    playback = make(system)
    started = time.monotonic()
    playback.queue(hum(0.3))
    assert playback.wait(3)
    assert time.monotonic() - started >= 0.3
    assert hum(0.3).pcm in system.heard


def test_a_wait_that_is_too_short_says_so(make: Make) -> None:
    """While a second of sound is playing a wait of 50 ms fails."""
    playback = make(FakeSoundSystem())
    playback.queue(hum(1.0))
    assert not playback.wait(0.05)
    assert playback.is_busy


def test_cancel_falls_silent_at_once(make: Make) -> None:
    """Of two seconds of sound little more than what had been taken is heard."""
    system = FakeSoundSystem()
    playback = make(system)
    playback.queue(hum(2.0))
    assert until(lambda: loud_seconds(system.heard, RATE) > 0.1)
    playback.cancel()
    heard = loud_seconds(system.heard, RATE)
    assert playback.wait(1)
    assert loud_seconds(system.heard, RATE) - heard < 0.03


def test_a_refused_rate_is_replaced_by_the_devices_own(make: Make, messages: list[str]) -> None:
    """A loudspeaker that only takes 48 kHz plays the clip in its right length."""
    system = FakeSoundSystem(rate=48000, refused_rates=(RATE,))
    playback = make(system)
    playback.queue(hum(0.3))
    assert playback.wait(3)
    assert loud_seconds(system.heard, 48000) == pytest.approx(0.3, abs=0.01)
    assert messages == []


def test_silence_keeps_the_loudspeaker_awake_then_lets_it_rest(make: Make) -> None:
    """Silence is played on for the time set; after the rest new sound is led in by silence."""
    system = FakeSoundSystem()
    playback = make(system, keep_awake_seconds=0.3)
    playback.queue(hum(0.1))
    assert playback.wait(3)
    silent_from = time.monotonic()
    assert until(lambda: not system.opened[0].is_active)
    assert time.monotonic() - silent_from > 0.2
    blocks = system.blocks
    time.sleep(0.1)
    assert system.blocks == blocks
    system.heard = b""
    playback.queue(hum(0.1))
    assert playback.wait(3)
    lead = np.flatnonzero(np.frombuffer(system.heard, dtype="<i2"))[0] / RATE
    assert lead >= 0.05
    assert loud_seconds(system.heard, RATE) == pytest.approx(0.1, abs=0.005)


def test_no_loudspeaker_is_told_once_and_stops_nothing(make: Make, messages: list[str]) -> None:
    """Clips are dropped without a wait, and several tries make one message."""
    system = FakeSoundSystem()
    system.vanish()
    playback = make(system)
    assert not playback.wait_tried(3)
    playback.queue(hum(5.0))
    assert playback.wait(0.0)
    assert until(lambda: system.refreshes >= 1)
    assert len(messages) == 1
    assert messages[0].startswith("No loudspeaker was found")


def test_a_pulled_loudspeaker_is_noticed_and_used_again(make: Make, messages: list[str]) -> None:
    """It gives no error when pulled: no block for a second is the sign; it is told when back."""
    system = FakeSoundSystem()
    playback = make(system)
    playback.queue(hum(0.1))
    assert playback.wait(3)
    system.vanish()
    assert until(lambda: len(messages) == 1)
    assert messages[0].startswith("The loudspeaker has gone. All is printed meanwhile")
    assert system.open_streams == 0
    playback.queue(hum(0.2))
    system.heard = b""
    system.come_back()
    assert until(lambda: len(messages) == 2)
    assert messages[1] == "Sound is back: Fake speaker."
    playback.queue(hum(0.1))
    assert playback.wait(3)
    assert loud_seconds(system.heard, RATE) == pytest.approx(0.1, abs=0.005)


def test_a_stalled_stream_is_opened_again_in_silence(make: Make, messages: list[str]) -> None:
    """The sound goes on where it was after a pause, and nobody is told."""
    system = FakeSoundSystem()
    playback = make(system)
    playback.queue(hum(0.4))
    assert until(lambda: loud_seconds(system.heard, RATE) > 0.1)
    system.stall()
    assert playback.wait(5)
    assert len(system.opened) == 2
    assert loud_seconds(system.heard, RATE) == pytest.approx(loud_seconds(hum(0.4).pcm, RATE))
    assert messages == []


def test_a_stream_that_stalls_again_at_once_counts_as_gone(make: Make, messages: list[str]) -> None:
    """It is told, and a later try may bring it back."""
    system = FakeSoundSystem()
    playback = make(system)
    assert playback.wait_tried(3)
    system.stall()
    assert until(lambda: len(system.opened) == 2)
    system.stall()
    assert until(lambda: len(messages) == 2)
    assert messages[0].startswith("The loudspeaker has gone")
    assert messages[1] == "Sound is back: Fake speaker."


def test_a_loudspeaker_that_stutters_gets_more_time(make: Make, messages: list[str]) -> None:
    """After it ran dry often within one sound it is opened once more with a longer delay."""
    system = FakeSoundSystem()
    playback = make(system)
    system.is_dry = True
    for _ in range(2):
        playback.queue(hum(0.2))
        assert playback.wait(3)
        time.sleep(0.3)
    assert system.latencies == [LATENCY_SECONDS, CALM_LATENCY_SECONDS]
    assert messages == []


def test_running_dry_in_silence_is_no_stutter(make: Make) -> None:
    """A busy machine that drops blocks of silence is heard by nobody."""
    system = FakeSoundSystem()
    playback = make(system)
    assert playback.wait_tried(3)
    system.is_dry = True
    time.sleep(0.3)
    assert system.latencies == [LATENCY_SECONDS]


def test_opening_again_goes_on_where_the_sound_was() -> None:
    """What had been taken of a clip is not played a second time."""
    feed = SampleFeed()
    feed.add(hum(0.2))
    taken = feed.take(1000)
    feed.serve(RATE, 0.2)
    assert taken + feed.take(3410) == hum(0.2).pcm


def test_after_close_the_device_is_free(make: Make) -> None:
    """Closing in the middle of a sound lets go of the stream, and twice does no harm."""
    system = FakeSoundSystem()
    playback = make(system)
    playback.queue(hum(2.0))
    playback.close()
    playback.close()
    assert system.open_streams == 0
    assert not playback.is_busy


DEVICES = [
    Device(0, "Built-in", "ALSA", 0, 2, 48000, is_default=True),
    Device(4, "Headset", "MME", 1, 2, 44100),
    Device(7, "Headset", "Windows WASAPI", 1, 2, 48000),
]


@pytest.mark.parametrize(
    ("wanted", "number"),
    [("", 0), ("7", 7), ("built-in", 0), ("Headset, Windows WASAPI", 7), ("built", 0)],
)
def test_a_device_is_found_by_number_name_or_part(wanted: str, number: int) -> None:
    """Each way of naming gives the one device meant."""
    assert choose(DEVICES, wanted).number == number


def test_a_name_that_fits_two_lists_them() -> None:
    """The error offers just the two, each with the number to choose it by."""
    with pytest.raises(AudioError) as caught:
        choose(DEVICES, "headset")
    assert "4: Headset, MME; 7: Headset, Windows WASAPI" in str(caught.value)
    assert "Built-in" not in str(caught.value)


def test_a_name_that_fits_none_lists_all() -> None:
    """The error offers every device there is."""
    with pytest.raises(AudioError, match=r"No sound device is called 'horn'.*0: Built-in"):
        choose(DEVICES, "horn")
    with pytest.raises(AudioError, match="No loudspeaker was found"):
        choose([], "horn")


def test_a_few_dry_moments_are_no_stutter() -> None:
    """Within one sound five are let pass and six are not; silence begins the count anew."""
    feed = SampleFeed(lambda: 0.0)
    for _ in range(2):
        feed.add(hum(0.1))
        feed.take(1, underflows=5)
        assert not feed.is_stuttering
        feed.take(RATE)
        feed.take(1)
    feed.add(hum(0.1))
    feed.take(1, underflows=5)
    feed.take(1, underflows=1)
    assert feed.is_stuttering
