"""How well a sound fits words, by a network that hears phonemes: the package hama (Apache 2.0).

The network gives each frame of 20 ms a probability for each phoneme (CTC, Graves et al., ICML
2006). A word's score is that of its best path, and is compared with the best path of all.
"""

from __future__ import annotations

from collections.abc import Sequence
from importlib import import_module
from importlib.util import find_spec

import numpy as np
from numpy.typing import NDArray

from companion.base.errors import ModelError
from companion.base.value import Value
from companion.devices.recogniser.embedding import power
from companion.devices.recogniser.taught import Samples

LogProbabilities = NDArray[np.float32]
"""One row a frame, one column a phoneme; the first column is "no phoneme here"."""

_LEVEL = 0.1
_PAD_SAMPLES = 3_200
_SURELY = np.log(0.999)
_NEVER = np.float32(-1e9)
_MISSING = (
    "Commands are heard without a lesson only where the package hama, which hears phonemes, can be "
    "used, that is on Linux and macOS; here it is missing or does not load."
)


class PhonemeNetwork:
    """The network; ModelError where the package is missing or has no build for this system."""

    @staticmethod
    def check() -> str:
        """Return what is missing for it to work, as one line or none."""
        return "" if find_spec("hama") else _MISSING

    def __init__(self) -> None:
        try:
            self._model = import_module("hama").ASRModel()
        except Exception as error:  # a missing package, and a native library, fail as they like
            raise ModelError(_MISSING) from error
        self.tokens: list[str] = self._model.decoder_tokens
        """The phonemes, from column 1 on."""

    def columns(self, spelling: str) -> tuple[int, ...]:
        """Return the columns of phonemes parted by spaces; ModelError for one it does not know."""
        try:
            return tuple(1 + self.tokens.index(phoneme) for phoneme in spelling.split())
        except ValueError as error:
            raise ModelError(f"hama lacks a phoneme of {spelling!r}; install hama 1.7.") from error

    def hear(self, samples: Samples) -> LogProbabilities:
        """Return what is heard in a sound at 16 kHz, full scale 1.0."""
        sound = np.pad(samples * (_LEVEL / max(power(samples), 1e-6)), _PAD_SAMPLES).clip(-1.0, 1.0)
        given = {
            "waveform": sound[np.newaxis].astype(np.float32),
            "waveform_lengths": np.array([len(sound)], dtype=np.int64),
        }
        rows = np.asarray(self._model.session.run(["log_probs", "out_lengths"], given)[0])[0]
        # The end of a word counts as silence: words may be parted or run together.
        nothing = np.logaddexp(rows[:, -1], rows[:, -2])
        # Of a run of frames that are surely nothing one is enough, and half the work.
        is_nothing = nothing > _SURELY
        kept = ~is_nothing | ~np.append(False, is_nothing[:-1])
        columns = np.column_stack([nothing, rows[:, :-2]])
        return np.asarray(columns[kept], dtype=np.float32)


class Spellings(Value):
    """Words as phonemes, ready to be compared with a sound: a row a word, 0 where it is over."""

    columns: NDArray[np.int16]

    @staticmethod
    def of(words: Sequence[Sequence[int]]) -> Spellings:
        """Return words of different lengths as one table."""
        table = np.zeros((len(words), max(map(len, words), default=1)), dtype=np.int16)
        for row, word in zip(table, words, strict=True):
            row[: len(word)] = word
        return Spellings(table)

    def fits(self, heard: LogProbabilities) -> NDArray[np.float32]:
        """Return how much worse each word fits than the freest path: 0 at most, in log units."""
        count, longest = self.columns.shape
        states = np.zeros((count, 2 * longest + 1), dtype=np.int64)
        states[:, 1::2] = self.columns
        # A state may be skipped to from two before, unless the phoneme is the same once more.
        before = np.concatenate([np.full((count, 2), -1), states[:, :-2]], axis=1)
        may_skip = (states > 0) & (states != before)
        relative = heard - heard.max(axis=1, keepdims=True)
        best = np.full(states.shape, _NEVER, dtype=np.float32)
        best[:, :2] = relative[0][states[:, :2]]
        for row in relative[1:]:
            came = np.maximum(best[:, 1:], best[:, :-1])
            new = np.concatenate([best[:, :1], came], axis=1)
            new[:, 2:] = np.where(may_skip[:, 2:], np.maximum(new[:, 2:], best[:, :-2]), new[:, 2:])
            best = new + row[states]
        ends = 2 * np.count_nonzero(self.columns, axis=1)
        rows = np.arange(count)
        return np.asarray(np.maximum(best[rows, ends], best[rows, np.maximum(ends - 1, 0)]))
