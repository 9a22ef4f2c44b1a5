# ruff: noqa: RUF001 - phonemes are written in their own signs
"""Two machine listeners that choose which of a closed set of texts was said.

They know nothing of one another: one is a network that writes down phonemes (PyPI `hama`), the
other the Gaussian models of US English in the package pocketsphinx with a grammar. Machines, not
people: what they agree on is likely so, no more.
"""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING, Protocol

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    Sound = NDArray[np.float64]

RATE = 16000
"""Samples per second that both listen at."""
PHONEMES = {
    "dent": ("d ɛ n t",),
    # The network was trained on its own letter-to-sound, which reads "one" as it is written.
    "one": ("w ʌ n", "o n e"),
    "two": ("t u", "t oʊ", "t w oʊ"),
    "three": ("θ ɹ i",),
    "four": ("f ɔ ɹ", "f ɔ"),
    "five": ("f aɪ v",),
    "six": ("s ɪ k s",),
    "seven": ("s ɛ v ə n",),
    "eight": ("eɪ t",),
    "nine": ("n aɪ n",),
    "ten": ("t ɛ n",),
    "eleven": ("ɪ l ɛ v ə n",),
    "twelve": ("t w ɛ l v",),
    "thirteen": ("θ ɝ t i n",),
    "fourteen": ("f ɔ ɹ t i n", "f ɔ t i n"),
    "fifteen": ("f ɪ f t i n",),
    "sixteen": ("s ɪ k s t i n",),
    "seventeen": ("s ɛ v ə n t i n",),
    "eighteen": ("eɪ t i n",),
    "nineteen": ("n aɪ n t i n",),
    "twenty": ("t w ɛ n t i", "t w ɛ n i"),
    "thirty": ("θ ɝ t i",),
    "forty": ("f ɔ ɹ t i", "f ɔ t i"),
    "fifty": ("f ɪ f t i",),
    "sixty": ("s ɪ k s t i",),
    "seventy": ("s ɛ v ə n t i", "s ɛ v ə n i"),
    "eighty": ("eɪ t i",),
    "ninety": ("n aɪ n t i",),
    "zero": ("z ɛ ɹ oʊ", "z ɪ ɹ oʊ"),
}
"""Of each word as American and British voices say it, in the network's own signs."""
_IMPOSSIBLE = np.float32(-1e9)


class Listener(Protocol):
    """Chooses among the texts it was made for."""

    name: str

    def hear(self, sound: Sound) -> int:
        """Return the key of the likeliest text; 0 where it hears none."""


class PhonemeListener:
    """The likeliest row of phonemes, by the best path through what the network gives."""

    name = "phonemes"

    def __init__(self, texts: Mapping[int, str]) -> None:
        from hama import ASRModel  # noqa: PLC0415 - loads for a while

        self._model = ASRModel()
        tokens = self._model.decoder_tokens
        self._blank, self._between = self._model.blank_id, tokens.index("<wb>")
        rows = [
            (key, [tokens.index(sign) for sign in " ".join(forms).split()])
            for key, text in texts.items()
            for forms in itertools.product(*(PHONEMES[word.strip(",")] for word in text.split()))
        ]
        self._keys = [key for key, _ in rows]
        self._ends = np.array([2 * len(signs) for _, signs in rows])
        self._labels = np.full((len(rows), int(self._ends.max()) + 1), self._blank)
        for row, (_, signs) in enumerate(rows):
            self._labels[row, 1 : 2 * len(signs) : 2] = signs
        skips = self._labels[:, 2:] != self._blank
        skips &= self._labels[:, 2:] != self._labels[:, :-2]
        self._skip = np.where(skips, np.float32(0), _IMPOSSIBLE)

    def hear(self, sound: Sound) -> int:
        likely = self._frames(sound)
        best = np.full(self._labels.shape, _IMPOSSIBLE)
        best[:, 0] = 0
        for frame in likely:
            come = best.copy()
            np.maximum(come[:, 1:], best[:, :-1], out=come[:, 1:])
            np.maximum(come[:, 2:], best[:, :-2] + self._skip, out=come[:, 2:])
            best = come + frame[self._labels]
        rows = np.arange(len(self._ends))
        scores = np.maximum(best[rows, self._ends], best[rows, self._ends - 1])
        return self._keys[int(scores.argmax())]

    def _frames(self, sound: Sound) -> NDArray[np.float32]:
        """Return log likelihoods of shape (frames, tokens); the gap between words is blank too."""
        model = self._model
        given = {
            model._waveform_input_name: sound.reshape(1, -1).astype(np.float32),  # noqa: SLF001
            model._waveform_lengths_input_name: np.array([len(sound)]),  # noqa: SLF001
        }
        wanted = [model._log_probs_output_name, model._out_lengths_output_name]  # noqa: SLF001
        logits, lengths = model.session.run(wanted, given)
        frames = np.array(logits[0][: int(np.ravel(lengths)[0])], np.float64)
        frames -= np.logaddexp.reduce(frames, axis=1)[:, None]
        both = np.logaddexp(frames[:, self._blank], frames[:, self._between])
        frames[:, self._blank] = both
        return frames.astype(np.float32)


class GrammarListener:
    """pocketsphinx with a grammar of just these texts."""

    name = "grammar"

    def __init__(self, texts: Mapping[int, str]) -> None:
        from pocketsphinx import Decoder  # noqa: PLC0415 - loads for a while

        self._keys = {text.replace(",", ""): key for key, text in texts.items()}
        grammar = f"#JSGF V1.0;\ngrammar g;\npublic <said> = {' | '.join(self._keys)} ;\n"
        self._decoder = Decoder(samprate=RATE, loglevel="FATAL", lm=None)
        self._decoder.add_jsgf_string("said", grammar)
        self._decoder.activate_search("said")

    def hear(self, sound: Sound) -> int:
        pcm = (np.clip(sound, -1, 1) * 32767).astype("<i2").tobytes()
        self._decoder.start_utt()
        self._decoder.process_raw(pcm, full_utt=True)
        self._decoder.end_utt()
        found = self._decoder.hyp()
        return self._keys.get(found.hypstr, 0) if found else 0


def in_noise(sound: Sound, decibels: float, seed: int) -> Sound:
    """Return speech in white noise, with 0.1 s of noise alone before and after it.

    Args:
        sound: speech at `RATE`, of shape (frames,).
        decibels: how far the noise lies below the mean power of what is not silence.
        seed: of the noise.
    """
    voiced = sound[np.abs(sound) > np.abs(sound).max() / 50]
    level = 0.1 / np.sqrt(np.mean(voiced**2))
    around = np.zeros(round(0.1 * RATE))
    whole = np.concatenate((around, level * sound, around))
    whole += 0.1 * 10 ** (-decibels / 20) * np.random.default_rng(seed).standard_normal(len(whole))
    return np.asarray(whole * min(1.0, 0.9 / np.abs(whole).max()))
