"""Clips, resampling, tones and the store of attempts, all without a device."""

from __future__ import annotations

import numpy as np
import pytest
from fakes import RATE, hum

from companion.devices.audio.backoff import Backoff
from companion.devices.audio.clip import Clip, from_waveform, resampled, silence, trimmed
from companion.devices.audio.tones import ToneName, tone


def test_resampling_keeps_a_sine_a_sine() -> None:
    """At another rate a 440 Hz sound is the same sine, computed afresh from its formula."""
    frames = 22050  # whole periods, so that the formula holds to the edges
    there = resampled(hum(1.0), 48000)
    times = np.arange(48000) / 48000
    error = there.samples / 32767 - 0.5 * np.sin(2 * np.pi * 440 * times)
    assert frames * 48000 // RATE == there.frames
    assert np.abs(error).max() < 1e-3


def test_resampling_agrees_with_the_soxr_library() -> None:
    """Speech-like noise comes out as the soxr library (its very high quality) makes it."""
    soxr = pytest.importorskip("soxr")
    noise = np.random.default_rng(1).normal(0, 0.1, RATE)
    window = np.hanning(RATE) * np.convolve(noise, np.hanning(16) / 8, "same")
    clip = from_waveform(window, RATE)
    expected = soxr.resample(clip.samples / 32767, RATE, 16000, quality="VHQ")
    ours = resampled(clip, 16000).samples / 32767
    error = np.sqrt(np.mean((ours - expected) ** 2) / np.mean(expected**2))
    assert error < 0.01


def test_trimming_leaves_a_known_silence() -> None:
    """10 ms before the first and 30 ms after the last sound are left of long silences."""
    long = Clip(silence(0.5, RATE).pcm + hum(0.25).pcm + silence(0.4, RATE).pcm, RATE)
    assert trimmed(long).seconds == pytest.approx(0.29, abs=0.002)
    assert trimmed(silence(0.5, RATE)).frames == 0


def test_a_waveform_too_loud_is_limited() -> None:
    """Nothing wraps round to the other sign."""
    assert from_waveform(np.array([2.0, -2.0]), RATE).samples.tolist() == [32767, -32767]


@pytest.mark.parametrize("rate", [8000, 22050, 48000])
@pytest.mark.parametrize("name", list(ToneName))
def test_a_tone_is_short_soft_edged_and_low(name: ToneName, rate: int) -> None:
    """Each lasts 80 to 200 ms, starts and ends near zero, and 99 % of it lies under 2 kHz."""
    clip = tone(name, rate)
    power = np.abs(np.fft.rfft(clip.samples.astype(float))) ** 2
    hertz = np.fft.rfftfreq(clip.frames, 1 / rate)
    assert 0.08 <= clip.seconds <= 0.2 + 1 / rate
    assert max(abs(int(clip.samples[0])), abs(int(clip.samples[-1]))) < 400
    assert power[hertz < 2000].sum() > 0.99 * power.sum()


def test_no_two_tones_share_rhythm_and_pitch() -> None:
    """Any two differ in how many rests they have, or in their length by two fifths."""
    outlines = {name: _outline(name) for name in ToneName}
    assert len(set(outlines.values())) == len(ToneName)


def _outline(name: ToneName) -> tuple[int, int]:
    """Return how many rests it has, and its length in 40 ms steps."""
    clip = tone(name, RATE)
    window = RATE // 200
    blocks = clip.samples[: clip.frames // window * window].reshape(-1, window)
    is_loud = np.abs(blocks.astype(int)).max(axis=1) > 2000
    return int(np.count_nonzero(np.diff(is_loud.astype(int)) == 1)), round(clip.seconds / 0.04)


def test_tries_are_put_off_longer_and_longer() -> None:
    """After failures the next try is due in 1, 2, 5, 10, 30, 30 seconds; success begins afresh."""
    now = [0.0]
    backoff = Backoff(lambda: now[0])
    waits = []
    for _ in range(6):
        assert backoff.is_due
        backoff.note_failure()
        start = now[0]
        while not backoff.is_due:
            now[0] += 0.5
        waits.append(now[0] - start)
    assert waits == [1, 2, 5, 10, 30, 30]
    backoff.note_success()
    backoff.note_failure()
    now[0] += 1
    assert backoff.is_due
