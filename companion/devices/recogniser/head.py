"""The untaught head: which of the commands a row of speech embeddings is, or none of them.

Three small networks of one hidden layer vote. Their weights are our own, made again by
`tests/bench/hearing/train.py` and kept as 16 bit numbers in the folder of `weights_folder`.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from companion.base.errors import ModelError
from companion.base.value import Value

if TYPE_CHECKING:
    from companion.devices.recogniser.embedding import Embeddings

FOLDER = "untaught"
"""The folder of the weights among the models; it is no model that a weaver added."""
_STEPS = 14
OTHER = ""
"""The class of every sound that is no command."""

Vector = NDArray[np.float32]


class Net(Value):
    """One network: 14 stretched embeddings and the log duration to a score for each class."""

    into: NDArray[np.float32]
    """1345 rows, one column a hidden unit."""
    into_bias: Vector
    out: NDArray[np.float32]
    """One row a hidden unit, one column a class."""
    out_bias: Vector

    def scores(self, features: Vector) -> Vector:
        """Return the logarithm of each class's probability; rows of them for rows of features."""
        hidden = np.maximum(features @ self.into + self.into_bias, 0.0)
        raw = hidden @ self.out + self.out_bias
        raw = raw - raw.max(axis=-1, keepdims=True)
        return np.asarray(
            raw - np.log(np.sum(np.exp(raw), axis=-1, keepdims=True)), dtype=np.float32
        )


class Head:
    """The vote of the networks on the spoken forms, of which the last is `OTHER`."""

    def __init__(self, classes: tuple[str, ...], nets: tuple[Net, ...]) -> None:
        self.classes = classes
        self._nets = nets

    def judge(self, sound: Embeddings) -> dict[str, float]:
        """Return the logarithm of the probability of each class, natural, 0 at most."""
        given = features(sound)
        mean = np.mean([np.exp(net.scores(given)) for net in self._nets], axis=0)
        shares = np.log(np.maximum(mean, 1e-9))
        return dict(zip(self.classes, map(float, shares), strict=True))


def features(sound: Embeddings) -> Vector:
    """Return a sound of any length as 1345 numbers: 14 embeddings evenly spread, and how long."""
    places = np.linspace(0, len(sound) - 1, _STEPS)
    low = np.floor(places).astype(int)
    high = np.minimum(low + 1, len(sound) - 1)
    share = (places - low)[:, np.newaxis]
    rows = sound[low] * (1 - share) + sound[high] * share
    return np.append(rows.ravel(), np.log(len(sound))).astype(np.float32)


def weights_folder() -> Path:
    """Return where the weights are: beside the code in a checkout, else as installed."""
    checkout = Path(__file__).parents[3] / "models" / FOLDER
    if checkout.is_dir():
        return checkout
    # Found from where the package is, so that any --prefix or --target serves.
    for base in Path(__file__).parents:
        installed = base / "share" / "companion" / "models" / FOLDER
        if installed.is_dir():
            return installed
    return checkout


def weights_file(language: str) -> Path:
    """Return the file of a language's weights, there or not."""
    return weights_folder() / f"{language}.npz"


def read_weights(path: Path) -> dict[str, NDArray[np.generic]]:
    """Return the arrays of a weights file; ModelError where it is missing or damaged."""
    try:
        with np.load(path, allow_pickle=False) as kept:
            return {name: kept[name] for name in kept.files}
    except (OSError, ValueError, EOFError, KeyError) as error:
        raise ModelError(
            f"{path}: the weights of the untaught ear cannot be read ({error}). "
            "Install the companion again, or teach your words with `companion teach`."
        ) from error


def head_from(kept: dict[str, NDArray[np.generic]]) -> Head:
    """Return the head in a weights file's arrays."""
    parts = ("into", "into_bias", "out", "out_bias")
    count = sum(name.startswith("out_bias_") for name in kept)
    nets = tuple(
        Net(*(np.asarray(kept[f"{part}_{index}"], dtype=np.float32) for part in parts))
        for index in range(count)
    )
    return Head(tuple(map(str, kept["classes"])), nets)
