"""Trying a model in a process of its own, since a damaged one ends the process it is loaded in.

Run as `python -m companion.devices.recogniser.trial FOLDER`, this module is that process.
"""

import subprocess
import sys
from importlib import import_module
from pathlib import Path

from companion.devices.recogniser.interface import SAMPLE_RATE

_LONGEST_SECONDS = 300
"""A large model on a slow disk; a small one takes some seconds."""


def trial_faults(folder: Path, name: str = "") -> list[str]:
    """Return why the model does not work, as one line that names it; empty where it does."""
    name = name or folder.name
    command = [sys.executable, "-m", __name__, str(folder.absolute())]
    try:
        # The folder is an argument of our own module, and no shell reads it.
        done = subprocess.run(  # noqa: S603
            command,
            capture_output=True,
            text=True,
            errors="replace",
            check=False,
            timeout=_LONGEST_SECONDS,
            cwd=Path(__file__).parents[3],
        )
    except subprocess.TimeoutExpired:
        return [f"{name}: it did not load in {_LONGEST_SECONDS} seconds. Take a small model."]
    if done.returncode == 0:
        return []
    reason = _last_line(done.stderr) or f"it ended with code {done.returncode}"
    return [f"{name}: the model does not work here ({reason}). Get it again."]


def _last_line(text: str) -> str:
    lines = [line.strip() for line in text.splitlines() if line.strip()]
    return lines[-1][:200] if lines else ""


def main() -> None:
    """Load the model and let it hear half a second of near silence, with and without a list."""
    vosk = import_module("vosk")
    vosk.SetLogLevel(-1)
    model = vosk.Model(model_path=sys.argv[1])
    hiss = bytes(range(4)) * (SAMPLE_RATE // 4)
    for extra in ((), ('["[unk]"]',)):
        recogniser = vosk.KaldiRecognizer(model, SAMPLE_RATE, *extra)
        recogniser.AcceptWaveform(hiss)
        recogniser.FinalResult()


if __name__ == "__main__":
    main()
