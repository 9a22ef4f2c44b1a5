"""Recorded people saying things that are no commands, from Debian packages.

pocketsphinx-testdata (read sentences), asterisk-core-sounds-*-g722 and asterisk-prompt-* (eight
people, telephone announcements, numbers and letters in five languages), tuxpaint-stamps-default
(names of things, in many languages), hedgewars-data (players' calls), ktuberling-data and
klettres-data (single words, syllables and letters in some thirty languages: as isolated as a
command), gcin-voice (Chinese syllables), flight-of-the-amazon-queen (actors speaking a play in
English, one line at a time), fillets-ng-data-* (actors' dialogues in Czech and Dutch). No file is
counted twice.
`fetch` downloads and unpacks the packages without installing them.

Some packages serve two ends: of every eight recordings three, drawn by their names, are for
training and choosing, the others for the figures.
"""

from __future__ import annotations

import hashlib
import struct
import subprocess
import sys
import tempfile
from functools import cache
from pathlib import Path

import numpy as np
import soundfile
import soxr
import whole
from filelock import FileLock
from voices import CACHE, RATE

PACKAGES = (
    "pocketsphinx-testdata",
    "alsa-utils",
    "asterisk-core-sounds-en-g722",
    "asterisk-core-sounds-es-g722",
    "asterisk-core-sounds-fr-g722",
    "asterisk-core-sounds-it-g722",
    "asterisk-core-sounds-ru-g722",
    "asterisk-prompt-es-co",
    "asterisk-prompt-fr-armelle",
    "asterisk-prompt-it-menardi-gsm",
    "fillets-ng-data-cs",
    "fillets-ng-data-nl",
    "flight-of-the-amazon-queen",
    "gcin-voice",
    "hedgewars-data",
    "tuxpaint-stamps-default",
    "klettres-data",
    "ktuberling-data",
)
ROOT = CACHE / "recorded"
SHARED = (
    "asterisk-core-sounds-en-g722",
    "asterisk-core-sounds-es-g722",
    "asterisk-core-sounds-fr-g722",
    "asterisk-core-sounds-it-g722",
    "flight-of-the-amazon-queen",
)
"""The packages that serve both ends; of the other announcements nobody is heard in training."""
CHOOSING, REPORTING = "choosing", "reporting"
_SOUNDS = frozenset({".wav", ".raw", ".ogg", ".opus", ".g722", ".gsm", ".mp3"})
_BY_LIBRARY = frozenset({".wav", ".ogg", ".opus", ".mp3"})
_AT_ONCE = 40
_FOR_CHOOSING = 3
"""Of every eight recordings of a package that serves both ends."""
_NOT_SPEECH = ("beep", "tone", "silence", "Noise", "monkeys", "weasels")
_ONLY = {"tuxpaint-stamps-default": "_desc", "hedgewars-data": "/voices/"}
"""Packages that hold music or noises too: what is in the path of their speech."""


def fetch() -> None:
    """Download and unpack every package not yet here (about 240 MB)."""
    ROOT.mkdir(parents=True, exist_ok=True)
    with FileLock(ROOT / "lock"):
        for package in PACKAGES:
            if not (ROOT / package).exists():
                _fetch(package)


def _fetch(package: str) -> None:
    """Have a package in its folder, whole."""
    with tempfile.TemporaryDirectory(dir=ROOT) as made:
        subprocess.run(["apt-get", "download", package], cwd=made, check=True)
        (archive,) = Path(made).glob("*.deb")
        subprocess.run(["dpkg", "-x", archive.name, "fetched"], cwd=made, check=True)
        for gathered in Path(made).rglob("queen.1c"):
            _take_apart(gathered)
        Path(made, "fetched").rename(ROOT / package)


def _take_apart(path: Path) -> None:
    """Write the lines of a play, which are all in one file, as files of their own beside it.

    The file begins with their number and, for each, its name, place and length.
    """
    whole = path.read_bytes()
    count = int.from_bytes(whole[13:15], "big")
    for entry in (whole[at : at + 21] for at in range(15, 15 + 21 * count, 21)):
        name, (start, length) = entry[:12].rstrip(b"\0").decode(), struct.unpack(">II", entry[13:])
        if name.endswith(".SB"):
            path.with_name(name).with_suffix(".mp3").write_bytes(whole[start : start + length])
    path.unlink()


def files(package: str, part: str = "") -> list[Path]:
    """List the sound files of a package that hold speech, each recording once; or a part of them.

    A part is `CHOOSING` or `REPORTING`.
    """
    every = sorted(path for path in (ROOT / package).rglob("*") if _is_speech(path, package))
    once = list({path.read_bytes(): path for path in reversed(every)}.values())[::-1]
    return [path for path in once if part in {"", _part(path, package)}]


def _part(path: Path, package: str) -> str:
    name = str(path.relative_to(ROOT / package))
    return CHOOSING if hashlib.sha256(name.encode()).digest()[0] % 8 < _FOR_CHOOSING else REPORTING


def _is_speech(path: Path, package: str) -> bool:
    return (
        path.suffix in _SOUNDS
        and path.is_file()
        and not path.is_symlink()
        and _ONLY.get(package, "") in str(path)
        and not any(word in path.name for word in _NOT_SPEECH)
    )


def read(path: Path) -> np.ndarray:
    """Read any of the files as float32 at 16 kHz."""
    if path.suffix in _BY_LIBRARY:
        sound, rate = soundfile.read(path, dtype="float32", always_2d=True)
        return np.asarray(soxr.resample(sound.mean(axis=1), rate, RATE), dtype=np.float32)
    return _decoded([path])[0]


def _decoded(paths: list[Path]) -> list[np.ndarray]:
    """Return what ffmpeg makes of files, by one call for all: it is slow to start."""
    raw = {
        ".raw": ["-f", "s16le", "-ar", "16000", "-ac", "1"],
        ".g722": ["-f", "g722"],
        ".gsm": ["-f", "gsm"],  # short ones are not known for what they are
    }
    command = ["ffmpeg", "-nostdin", "-v", "error"]
    for path in paths:
        command += [*raw.get(path.suffix, []), "-i", str(path)]
    with tempfile.TemporaryDirectory() as folder:
        made = [Path(folder) / f"{number}.raw" for number in range(len(paths))]
        for number, path in enumerate(made):
            command += ["-map", f"{number}", "-f", "s16le", "-ar", f"{RATE}", "-ac", "1", str(path)]
        subprocess.run(command, check=True)
        return [np.fromfile(path, "<i2").astype(np.float32) / 32768 for path in made]


def _read_each(paths: list[Path]) -> list[np.ndarray]:
    if any(path.suffix in _BY_LIBRARY for path in paths):
        return [read(path) for path in paths]
    groups = [paths[at : at + _AT_ONCE] for at in range(0, len(paths), _AT_ONCE)]
    return [sound for group in groups for sound in _decoded(group)]


@cache
def people() -> list[np.ndarray]:
    """Return pieces of talk by five people in five languages, to make babble of."""
    packages = [name for name in PACKAGES if name.startswith("asterisk-core")]
    pieces = [piece for package in packages for piece in _read_each(files(package)[::25])]
    return [piece for piece in pieces if len(piece) > RATE]


def load(package: str, part: str = "") -> np.ndarray:
    """Return the speech of a package in one piece, a second of silence between files; cached."""
    kept = ROOT / f"{'-'.join(filter(None, (package, part)))}.npy"

    def one() -> np.ndarray:
        pause = np.zeros(RATE, np.float32)
        every = _read_each(files(package, part))
        pieces = [piece for sound in every for piece in (sound, pause)]
        return (np.concatenate(pieces) * 32767).clip(-32768, 32767).astype("<i2")

    return whole.array(kept, one).astype(np.float32) / 32768


if __name__ == "__main__":
    fetch()
    for name in PACKAGES:
        sys.stdout.write(
            f"{name}: {len(files(name))} files, {len(load(name)) / RATE / 60:.1f} min\n"
        )
