"""A sound said again by another throat: more speakers than there are voices.

It is taken apart into pitch and spectral envelope, and put together again from pulses and noise, as
a vocoder does (Dudley, "Remaking speech", JASA 1939), so that each can be changed.
"""

from __future__ import annotations

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from voices import RATE

_HOP, _FRAME, _SIZE = 80, 400, 1024
_LAGS = slice(RATE // 450, RATE // 65)
_VOICED = 0.55
"""So alike must a sound and itself one period later be."""
_FINE = 45
"""How many cepstra hold what is kept of an envelope; a voice's harmonics lie beyond them."""
_ROUNDS = 8


def revoiced(sound: np.ndarray, random: np.random.Generator) -> np.ndarray:
    """Return a sound at 16 kHz with another length of throat, another pitch and other melody."""
    pitch = _moved(_pitch(_frames(sound, 640)), random)
    logs = _envelope(_frames(sound, _FRAME) * np.hanning(_FRAME))
    logs = _smoothed(_stretched(logs, random.uniform(0.85, 1.18)), random)
    pulses = np.repeat(pitch, _HOP) / RATE
    is_pulse = np.diff(np.floor(np.cumsum(pulses)), prepend=0.0) > 0
    buzz = np.where(is_pulse, 1 / np.sqrt(np.maximum(pulses, 1e-4)), 0.0)
    noise = random.standard_normal(len(buzz))
    # What is voiced is buzz up to some frequency, at times all of it, and breath above.
    hertz = np.fft.rfftfreq(_SIZE, 1 / RATE)
    is_buzz = (pitch > 0)[:, np.newaxis] & (hertz < random.uniform(3000, 10000))
    kind = np.where(is_buzz, _spectra(buzz), _spectra(noise))
    made = np.fft.irfft(kind * _least_delay(logs - np.log(np.where(is_buzz, 1.0, 1.6))))
    whole = np.zeros(len(buzz) + _SIZE)
    for number, frame in enumerate(made):
        whole[number * _HOP : number * _HOP + _SIZE] += frame
    return whole[_HOP // 2 :][: len(sound)].astype(np.float32)


def _frames(sound: np.ndarray, length: int) -> np.ndarray:
    """Return what lies round every 5 ms, a row each."""
    return sliding_window_view(np.pad(sound, length // 2), length)[::_HOP]


def _pitch(frames: np.ndarray) -> np.ndarray:
    """Return the pitch of each frame by its autocorrelation, 0 where nothing is voiced."""
    power = np.abs(np.fft.rfft(frames * np.hanning(frames.shape[1]), 2048)) ** 2
    alike = np.fft.irfft(power)[:, : _LAGS.stop]
    window = np.fft.irfft(np.abs(np.fft.rfft(np.hanning(frames.shape[1]), 2048)) ** 2)
    alike = alike / (alike[:, :1] + 1e-9) * window[0] / np.maximum(window[: _LAGS.stop], 1e-3)
    alike = (alike - np.arange(_LAGS.stop) * 5e-4)[:, _LAGS]
    best = RATE / (_LAGS.start + alike.argmax(axis=1))
    found = np.where(alike.max(axis=1) > _VOICED, best, 0.0)
    return np.asarray(np.median(sliding_window_view(np.pad(found, 3), 7), axis=1))


def _moved(pitch: np.ndarray, random: np.random.Generator) -> np.ndarray:
    """Move a voice by up to half an octave, and leave a fifth to all of its melody."""
    shift, kept = 2 ** random.uniform(-0.5, 0.5), random.uniform(0.2, 1.0)
    voiced = pitch > 0
    middle = np.exp(np.log(pitch[voiced]).mean()) if voiced.any() else 1.0
    moved = middle * shift * (np.maximum(pitch, 1.0) / middle) ** kept
    return np.where(voiced, moved.clip(60.0, 450.0), 0.0)


def _envelope(frames: np.ndarray) -> np.ndarray:
    """Return the logarithm of the curve over each spectrum's peaks (Roebel and Rodet, 2005)."""
    logs = np.log(np.abs(np.fft.rfft(frames, _SIZE)) / np.sqrt(_FRAME) + 1e-6)
    over = logs
    for _ in range(_ROUNDS):
        over = np.maximum(logs, _few(over, _FINE))
    return _few(over, _FINE)


def _few(logs: np.ndarray, count: int) -> np.ndarray:
    cepstra = np.fft.irfft(logs)
    cepstra[:, count : _SIZE - count + 1] = 0.0
    return np.fft.rfft(cepstra).real


def _stretched(logs: np.ndarray, factor: float) -> np.ndarray:
    """Move every formant: above 1 the throat is shorter."""
    bins = np.arange(logs.shape[1])
    return np.array([np.interp(bins / factor, bins, row) for row in logs])


def _smoothed(logs: np.ndarray, random: np.random.Generator) -> np.ndarray:
    """Now and then leave few cepstra and smooth them in time, as a voice of statistics does."""
    if random.random() < 0.5:
        return logs
    width = 2 * int(random.integers(0, 4)) + 1
    padded = np.pad(_few(logs, int(random.integers(18, 36))), ((width // 2,) * 2, (0, 0)), "edge")
    return np.asarray(sliding_window_view(padded, width, axis=0).mean(axis=-1))


def _spectra(source: np.ndarray) -> np.ndarray:
    return np.fft.rfft(
        _frames(source, 2 * _HOP)[: len(source) // _HOP] * np.hanning(2 * _HOP), _SIZE
    )


def _least_delay(logs: np.ndarray) -> np.ndarray:
    """Return the filters of these gains that sound at once (minimum phase)."""
    cepstra = np.fft.irfft(logs)
    cepstra[:, 1 : _SIZE // 2] *= 2
    cepstra[:, _SIZE // 2 + 1 :] = 0.0
    return np.exp(np.fft.rfft(cepstra))
