"""Make the weights of the untaught ear.

    PYTHONPATH=.:tests python tests/bench/hearing/train.py en

It fetches the voices and the recorded speech once (`neural.py`, `recordings.py`), makes every sound
that is not in the cache yet, and writes `models/untaught/LANGUAGE.npz`. Run it again after the
commands have changed: only what is new is spoken. The least sureness is chosen on one half of the
unseen speakers; `unseen.py` prints the figures of the other half.
"""

from __future__ import annotations

import hashlib
import sys
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import cache
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any

import material
import neural
import numpy as np
import ordinary
import recordings
import talk
import unseen
import whole
from voices import CACHE, Voice, speak

from companion.devices.recogniser.head import OTHER, Net
from companion.devices.recogniser.phonemes import PhonemeNetwork

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

MODELS = Path(__file__).parents[3] / "models" / "untaught"
HIDDEN, NETS, ROUNDS, BATCH = 96, 3, 30, 128
_RATE, _DROP, _DECAY, _SMOOTH = 2e-3, 0.3, 1e-4, 0.05
_MOST_WAYS = 12
_SAID = 0.7
"""So likely a command, recorded talk is taken to say it."""


@dataclass(slots=True)
class _Layer:
    """Weights that Adam (Kingma and Ba, ICLR 2015) brings down the slope."""

    value: np.ndarray
    mean: np.ndarray
    square: np.ndarray

    @staticmethod
    def of(value: np.ndarray) -> _Layer:
        kept = value.astype(np.float32)
        return _Layer(kept, np.zeros_like(kept), np.zeros_like(kept))

    def step(self, slope: np.ndarray, turn: int, rate: float) -> None:
        self.mean = 0.9 * self.mean + 0.1 * slope
        self.square = 0.999 * self.square + 0.001 * slope**2
        mean, square = self.mean / (1 - 0.9**turn), self.square / (1 - 0.999**turn)
        self.value -= rate * (mean / (np.sqrt(square) + 1e-8) + _DECAY * self.value)


def fit(rows: np.ndarray, wanted: np.ndarray, seed: int) -> dict[str, np.ndarray]:
    """Train one network and return its weights, for rows as they come."""
    random = np.random.default_rng(seed)
    centre, spread = rows.mean(axis=0), rows.std(axis=0) + 1e-3
    given = (rows - centre) / spread
    inputs, classes = rows.shape[1], wanted.shape[1]
    layers = [
        _Layer.of(random.standard_normal((inputs, HIDDEN)) * np.sqrt(2 / inputs)),
        _Layer.of(np.zeros(HIDDEN)),
        _Layer.of(random.standard_normal((HIDDEN, classes)) * np.sqrt(1 / HIDDEN)),
        _Layer.of(np.zeros(classes)),
    ]
    turn, turns = 0, ROUNDS * -(-len(rows) // BATCH)
    for _ in range(ROUNDS):
        order = random.permutation(len(rows))
        for at in range(0, len(rows), BATCH):
            turn += 1
            some = order[at : at + BATCH]
            slopes = _slopes(layers, given[some], wanted[some], random)
            rate = _RATE * 0.5 * (1 + np.cos(np.pi * turn / turns))
            for layer, slope in zip(layers, slopes, strict=True):
                layer.step(slope, turn, rate)
    into = layers[0].value / spread[:, np.newaxis]
    return {
        "into": into,
        "into_bias": layers[1].value - centre @ into,
        "out": layers[2].value,
        "out_bias": layers[3].value,
    }


def _slopes(
    layers: list[_Layer], given: np.ndarray, wanted: np.ndarray, random: np.random.Generator
) -> list[np.ndarray]:
    """Return how the mean cross entropy of a batch changes with each weight."""
    into, into_bias, out, out_bias = (layer.value for layer in layers)
    seen = given * _dropped(given.shape, _DROP / 2, random)
    raw = seen @ into + into_bias
    kept = _dropped(raw.shape, _DROP, random)
    hidden = np.maximum(raw, 0) * kept
    scores = hidden @ out + out_bias
    shares = np.exp(scores - scores.max(axis=1, keepdims=True))
    shares /= shares.sum(axis=1, keepdims=True)
    error = (shares - wanted) / len(given)
    back = (error @ out.T) * kept * (raw > 0)
    return [seen.T @ back, back.sum(axis=0), hidden.T @ error, error.sum(axis=0)]


def _dropped(shape: tuple[int, ...], share: float, random: np.random.Generator) -> np.ndarray:
    """Return 0 for a share of the units, and for the others what makes up for them."""
    kept = random.random(shape, dtype=np.float32) > share
    return kept * np.float32(1 / (1 - share))


def head(language: str) -> dict[str, np.ndarray]:
    """Return the weights of a language's head and its classes.

    It is trained twice: recorded talk holds commands now and then, an actor's "no" and "yes"; what
    the first training is sure of is left out of the second.
    """
    pairs = list(material.training(language))
    classes = (*material.forms(language), OTHER)
    rows = np.array([row for row, _ in pairs])
    said = np.array([classes.index(text) for _, text in pairs])
    learnt = talk.learnt(language)
    learnt = learnt[_most_likely(_fitted(rows, said, len(classes)), learnt) < _SAID]
    sys.stdout.write(f"{language}: {len(rows)} + {len(learnt)} sounds, {len(classes) - 1} forms\n")
    others = np.full(len(learnt), len(classes) - 1)
    nets = _fitted(np.concatenate([rows, learnt]), np.append(said, others), len(classes))
    weights = {f"{part}_{i}": net[part] for i, net in enumerate(nets) for part in net}
    halved = {name: value.astype(np.float16) for name, value in weights.items()}
    return {"classes": np.array(classes), **halved}


def _fitted(rows: np.ndarray, said: np.ndarray, classes: int) -> list[dict[str, np.ndarray]]:
    smooth = np.float32(_SMOOTH / classes)
    surely = np.eye(classes, dtype=np.float32) * np.float32(1 - _SMOOTH)
    wanted = (surely + smooth)[said]
    with ThreadPoolExecutor(NETS) as pool:
        return list(pool.map(lambda seed: fit(rows, wanted, seed), range(NETS)))


def _most_likely(nets: list[dict[str, np.ndarray]], rows: np.ndarray) -> np.ndarray:
    """Return the probability of the likeliest command for each sound."""
    shares = np.mean([np.exp(Net(**net).scores(rows)) for net in nets], axis=0)
    return np.asarray(shares[:, :-1].max(axis=1))


def spellings(language: str) -> dict[str, np.ndarray]:
    """Return how the phoneme network hears each form, and ordinary words, as phonemes.

    A word that sounds as a form does is not among the ordinary ones: the form could never be
    clear of it.
    """
    forms = material.forms(language)
    network = PhonemeNetwork()
    ways = _ways(network, language)
    texts = [text for form in forms for text in ways[form]]
    owners = [form for form in forms for _ in ways[form]]
    usual = _usual(network, language)
    return {
        "spellings": np.array(texts),
        "spelling_of": np.array(owners),
        "ordinary": np.array(sorted(set(filter(None, usual)) - set(texts))),
    }


def _usual(network: PhonemeNetwork, language: str) -> list[str]:
    """Return how ordinary words are spelt: by their letters, or, but for English, as heard."""
    if language == "en":
        forms = material.forms(language)
        own = {*forms, *ordinary.homophones(frozenset(forms))}
        return [letters(word) for word in ordinary.likely_words() if word not in own]
    once = {word: voice for voice, word in material.others(language)}
    return [_heard(network, voice, word) for word, voice in once.items()]


def _ways(network: PhonemeNetwork, language: str) -> dict[str, tuple[str, ...]]:
    """Return the ways each form is spelt: by its letters, and as heard from the neural voices."""
    heard: dict[str, Counter[str]] = {form: Counter() for form in material.forms(language)}
    for voice, form in material.spoken(language):
        if voice.engine != "espeak-ng":
            heard[form][_heard(network, voice, form)] += 1
    return {form: tuple(_spelt(form, language, heard[form])) for form in heard}


def _spelt(form: str, language: str, heard: Counter[str]) -> Iterator[str]:
    by_letters = [letters(form)] if language == "en" else []
    every = dict.fromkeys([*by_letters, *(text for text, _ in heard.most_common(_MOST_WAYS))])
    yield from filter(None, every)


def _heard(network: PhonemeNetwork, voice: Voice, form: str) -> str:
    """Return the phonemes heard from a speaker; kept in the cache."""
    key = hashlib.sha256(repr((voice, form)).encode()).hexdigest()[:24]
    return _kept("heard", key, lambda: _likeliest(network, speak(voice, form)))


def _likeliest(network: PhonemeNetwork, samples: np.ndarray) -> str:
    """Return the likeliest phonemes of a sound, written with a space between."""
    best = network.hear(samples).argmax(axis=1)
    kept = best[np.append(True, best[1:] != best[:-1])]
    return " ".join(network.tokens[column - 1] for column in kept if column)


def letters(text: str) -> str:
    """Return the phonemes that hama itself reads in letters, with a space between."""

    def read() -> str:
        each = (part.phoneme for part in _reader()(text).alignments)
        return " ".join(phoneme for phoneme in each if phoneme.strip())

    return _kept("letters", text, read)


def _kept(folder: str, name: str, make: Callable[[], str]) -> str:
    path = CACHE / folder / f"{name}.txt"
    return whole.content(path, lambda: make().encode()).decode()


@cache
def _reader() -> Any:
    return import_module("hama").G2PModel()


def _write(path: Path, kept: dict[str, np.ndarray]) -> None:
    np.savez_compressed(path, allow_pickle=False, **kept)


def main(languages: list[str]) -> None:
    """Write the weights of each language."""
    neural.fetch()
    recordings.fetch()
    MODELS.mkdir(parents=True, exist_ok=True)
    for language in languages:
        kept = {
            **head(language),
            **spellings(language),
            "least": np.zeros(len(material.forms(language))),
        }
        _write(MODELS / f"{language}.npz", kept)
        kept["least"] = unseen.choose(unseen.KeptOpinion(language), language)
        _write(MODELS / f"{language}.npz", kept)


if __name__ == "__main__":
    main(sys.argv[1:] or ["en", "es"])
